"""What a gram buys in speed: each row is the wing that it says, tried as `speed` tries it."""

from __future__ import annotations

from importlib import resources

import numpy as np
import pytest

from models.studies.layouts import apply, standard
from models.studies.speed import LAST, condense, speeds
from models.studies.speed_buys import Bought, Reach, buys, with_film
from models.wing.parts import Wing
from models.wing.reading import read, read_text

TRAINER = resources.files("models.wings") / "trainer.toml"


@pytest.fixture(scope="module")
def trainer() -> Wing:
    return read(TRAINER)


@pytest.mark.long
def test_rows_are_what_speed_says_of_each_layout(trainer: Wing) -> None:
    """To 1e-6, the lower of strips and lattice; grams are those of its webs."""
    rows = {row.name: row for row in buys(trainer, per_bay=1)}
    bare = rows["no webs"]
    for layout in standard(trainer):
        reduced = condense(apply(trainer, layout), per_bay=1)
        found = speeds(reduced, n_modes=0)
        row = rows[layout.name]
        expected = min(
            found.beating[0].speed, found.lattice.beating[0][1] if found.lattice.beating else np.inf
        )
        assert row.reach.beats == pytest.approx(expected, rel=1e-6)
        off = min(found.twist_off, found.lattice.twist_off)
        assert row.reach.twists_off == pytest.approx(off, rel=1e-6)
        assert np.isnan(row.reach.no_grip)
        assert row.grams == pytest.approx(reduced.web_mass, rel=1e-9)
        if row.grams:
            gained = (row.reach.beats - bare.reach.beats) / row.grams
            assert row.per_gram[0] == pytest.approx(gained, rel=1e-9)
    assert rows["webs on to the tip"].against is rows["as drawn"].reach
    assert rows["webs on to the tip"].grams > 0


def test_what_does_not_happen_buys_nothing() -> None:
    low, high = Reach(20.0, 2 * LAST, np.nan), Reach(30.0, 3 * LAST, np.nan)
    assert Bought("", 1e-3, high, low).per_gram[0] == pytest.approx(1e4)
    assert np.isnan(Bought("", 1e-3, high, low).per_gram[1:]).all()
    assert np.isnan(Bought("", 0.0, high, low).per_gram).all()


def test_a_covering_is_film_of_its_own_mass() -> None:
    text = (resources.files("models.wings") / "sailplane.toml").read_text(encoding="utf-8")
    wing = read_text(text)
    filmed = with_film(wing, text)
    assert filmed is not None
    assert filmed.coverings
    assert all(one.stretch is not None for one in filmed.coverings)
    assert filmed.covering_mass_per_area == wing.covering_mass_per_area
    assert with_film(filmed, text) is None
    assert with_film(wing, "") is None
