"""Scatter of a flutter speed: slopes against built wings, and what they add up to."""

from __future__ import annotations

from dataclasses import replace
from importlib import resources

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fea.aeroelastic import flutter, with_damping
from models.structure import build
from models.studies.scatter.pieces import pieces_of
from models.studies.speed import _SPEEDS, LOSS, condense, speeds
from models.studies.speed_doubt import doubt
from models.wing.reading import read


@pytest.fixture(scope="module")
def trainer():
    return read(resources.files("models.wings") / "trainer.toml")


@pytest.fixture(scope="module")
def found(trainer):
    return speeds(condense(trainer, per_bay=1))


def _onset(reduced, kind):
    half = next(one for one in reduced.halves if one.kind == kind)
    return flutter(with_damping(half.free, LOSS[0]), reduced.wing.case.air_density, _SPEEDS)[0].speed


def test_all_wood_stiffer_is_the_whole_structure_stiffer(found):
    """Kinetic and elastic energy of the mode that beats: pieces add up to what the reduced system says."""
    sure = doubt(found)
    half = next(one for one in found.reduced.halves if one.kind == found.beating[0].kind)
    step, ends = 1e-4, []
    for s in (step, -step):
        stiff = replace(half.free, stiffness=(1 + s) * half.free.stiffness)
        reduced = replace(found.reduced, halves=(replace(half, free=stiff),))
        ends.append(_onset(reduced, half.kind))
    whole = (np.log(ends[0]) - np.log(ends[1])) / (2 * step)
    # Damping follows stiffness in the difference, not in the slopes, and is small.
    assert_allclose(sure.by_stiffness.sum(), whole, rtol=2e-2)


def test_nineteen_wings_in_twenty_beat_later_than_the_fifth(found):
    sure = doubt(found)
    assert sure.fifth < sure.speed
    assert 0.01 < sure.deviation < 0.3
    assert len(sure.names) == len(sure.by_stiffness) == len(sure.by_size)
    assert np.abs(sure.by_stiffness).max() > 0.01
    assert len(pieces_of(build(found.reduced.wing, per_bay=1, whole=True)).pieces) == len(sure.names)
