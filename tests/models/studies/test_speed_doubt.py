"""Scatter of a flutter speed: slopes against built wings, and what they add up to."""

from __future__ import annotations

from dataclasses import replace
from importlib import resources

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fea.aeroelastic import Air, System, flutter, with_damping
from models.structure import build
from models.studies.scatter.pieces import pieces_of
from models.studies.speed import _SPEEDS, LOSS, condense, speeds
from models.studies.speed_doubt import _damping_pairs, doubt
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
    assert_allclose(sure.by_stiffness.sum(), whole, rtol=1e-4)


@pytest.mark.parametrize("what", ["stiffness", "mass"])
def test_damping_follows_what_the_structure_is_made_of(what):
    """Against the difference of the damping matrix, with a rigid motion among the modes."""
    rng = np.random.default_rng(4)
    n = 6
    root, other = rng.normal(size=(2, n, n))
    nothing = Air(*(np.zeros((n, n)),) * 3, np.zeros((n, 0)), np.zeros((0, n)), np.zeros((0, n)), np.zeros(0))
    free = np.eye(n) - np.full((n, n), 1 / n)
    system = System(np.eye(n) + root @ root.T, free @ other @ other.T @ free, np.zeros((n, n)), nothing)
    change = rng.normal(size=(n, n))
    change = change @ change.T if what == "mass" else free @ change @ change.T @ free
    left, right = rng.normal(size=(2, n)) + 1j * rng.normal(size=(2, n))
    step, ends = 1e-6, []
    for s in (step, -step):
        moved = replace(system, **{what: getattr(system, what) + s * change})
        ends.append(left.conj() @ with_damping(moved, 0.02).damping @ right)
    y, x = _damping_pairs(system, left, right, 0.02)[what == "mass"]
    assert_allclose(np.einsum("ik,ij,jk->", y.conj(), change, x), (ends[0] - ends[1]) / (2 * step), rtol=1e-6)


def test_nineteen_wings_in_twenty_beat_later_than_the_fifth(found):
    sure = doubt(found)
    assert sure.fifth < sure.speed
    assert 0.01 < sure.deviation < 0.3
    assert len(sure.names) == len(sure.by_stiffness) == len(sure.by_size)
    assert np.abs(sure.by_stiffness).max() > 0.01
    assert len(pieces_of(build(found.reduced.wing, per_bay=1, whole=True)).pieces) == len(sure.names)
