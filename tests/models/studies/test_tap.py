"""Tones of a tap test: limits, and what a missing web does to them."""

from __future__ import annotations

from dataclasses import replace
from importlib import resources

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fea.vibration import natural_modes
from models.structure import build
from models.studies.layouts import apply, standard
from models.studies.speed import condense
from models.studies.tap import tones
from models.wing.reading import read


@pytest.fixture(scope="module")
def trainer():
    return read(resources.files("models.wings") / "trainer.toml")


def _in(wing, density):
    return replace(wing, case=replace(wing.case, air_density=density))


def test_without_air_the_bare_wing_sounds_as_its_whole_structure(trainer):
    thin = _in(trainer, 1e-9)
    heard = [one for one in tones(thin, condense(thin, per_bay=1), per_bay=1) if not one.held]
    bare = replace(thin, covering_mass_per_area=0.0, coverings=())
    exact, _ = natural_modes(build(bare, per_bay=1, whole=True).structure, 8, free=True)
    for one in heard[:3]:
        assert_allclose(one.frequency, exact[np.argmin(np.abs(exact - one.frequency))], rtol=1e-2)


def test_still_air_and_a_missing_web_lower_the_tones(trainer):
    box = apply(trainer, next(one for one in standard(trainer) if one.name == "box"))
    none = apply(trainer, next(one for one in standard(trainer) if one.name == "no webs"))
    full, thin, open_ = (
        tones(wing, condense(wing, per_bay=1), per_bay=1) for wing in (box, _in(box, 1e-9), none)
    )
    assert full[0].frequency < thin[0].frequency
    for held in (False, True):
        low = [min(t.frequency for t in heard if t.held == held) for heard in (open_, full)]
        assert low[0] < 0.9 * low[1]
    for one in full:
        assert one.tap_at in ("leading edge", "trailing edge")
        assert 0 <= one.still_y <= trainer.semispan + 1e-6
        assert 0 <= one.tap_y <= trainer.semispan + 1e-6
        # Held at its middle it is still there; free, a tone of twist may be largest inboard.
        assert one.still_y < one.tap_y if one.held else one.still_y != one.tap_y
