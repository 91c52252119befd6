"""Segments put together from portions against those cut out of a built wing."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose

from models.studies.lightest import places
from models.studies.lightest.condensed import Condensed
from models.wing.reading import read

WINGS = Path(__file__).parents[4] / "models" / "wings"


@pytest.mark.parametrize(
    "name",
    [
        "box-two-spars-sheeted",
        "short-tailless",
        "trainer",
        pytest.param("powered-tailless", marks=pytest.mark.long),
    ],
)
def test_they_are_those_of_a_build(name: str, path_of: Callable[[str], Path], cut_out: Callable) -> None:
    where = places(read(path_of(name)))
    rng = np.random.default_rng(18211)
    some = np.stack([rng.integers(0, len(cell.choices), 12) for cell in where.cells], axis=1)
    condensed = Condensed(where, per_bay=1)
    condensed.prepare(some)
    # A layout that no build was made of.
    codes = np.array([some[k % 12, k] for k in range(some.shape[1])])
    for one, other in zip(condensed.segments(codes), cut_out(condensed, codes)):
        width = np.abs(other.link.stiffness).max()
        assert_allclose(one.link.stiffness, other.link.stiffness, atol=1e-9 * width)
        for a, b in ((one.link.load, other.link.load), (one.inertia, other.inertia)):
            assert_allclose(a, b, atol=1e-9 * np.abs(b).max())
        assert_allclose(one.web_mass, other.web_mass, rtol=1e-9)
        # Things come in another order: their rows as a whole, and each family's.
        assert {f for f in one.table if len(next(iter(one.table[f].values())))} == {
            f for f in other.table if len(next(iter(other.table[f].values())))
        }
        for got, wanted in ((one.rows, other.rows), (one.given, other.given)):
            assert_allclose(np.linalg.norm(got, axis=0), np.linalg.norm(wanted, axis=0), rtol=1e-7, atol=1e-6)


def test_a_dozen_layouts_of_two_spars_take_few_builds() -> None:
    """What one build shows serves all layouts, so that builds do not grow with them."""
    where = places(read(WINGS / "box-two-spars.toml"))
    rng = np.random.default_rng(90111)
    condensed = Condensed(where, per_bay=1)
    for n in (12, 200):
        condensed.prepare(np.stack([rng.integers(0, len(c.choices), n) for c in where.cells], axis=1))
    assert condensed.builds < 40
    assert len(condensed.found) > 300
