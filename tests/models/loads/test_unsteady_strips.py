"""Strips of air on a built wing: rigid motions, total lift and moment, flaps."""

from __future__ import annotations

from importlib import resources

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fea.assembly import rigid_motions
from models.loads import unsteady_strips
from models.loads.elevons import flap_effectiveness
from models.loads.unsteady_strips import lay, rib_forces
from models.structure import build
from models.wing.reading import read


@pytest.fixture(scope="module")
def model():
    return build(read(resources.files("models.wings") / "powered-tailless.toml"), per_bay=1, whole=True)


def _rigid(model):
    y, forces = rib_forces(model)
    ribs = forces.T @ rigid_motions(model.structure.nodes)
    return y, ribs[: len(y)], ribs[len(y) :]


def test_ribs_follow_rigid_motions(model):
    y, up, nose_up = _rigid(model)
    plan = model.wing.planform
    middle = plan.leading_edge_x.at(np.abs(y)) + plan.chord.at(np.abs(y)) / 2
    assert_allclose(up[:, 2], 1, atol=1e-9)
    assert_allclose(up[:, 4], -middle, atol=1e-9)
    assert_allclose(up[:, 3], y, atol=2e-3)  # the nodes of a plumb rib stand on the rib
    assert_allclose(nose_up[:, 4], 1, atol=1e-9)
    assert_allclose(nose_up[:, [0, 1, 2, 5]], 0, atol=1e-9)
    assert_allclose(up[:, [0, 1, 5]], 0, atol=1e-9)


def test_lift_and_moment_of_a_wing_at_an_angle(model):
    """Strips sum to 2 pi S, at the quarter chord, with ever less error of area."""
    y, up, nose_up = _rigid(model)
    plan = model.wing.planform
    for per_bay in (1, 2):
        strips = lay(plan, y, per_bay)
        steady = strips.air(up, nose_up).steady
        # Force for density V^2 is twice that for dynamic pressure.
        assert_allclose(2 * steady[2, 4], 2 * np.pi * plan.area, rtol=2e-3)
        assert_allclose(steady[:, 2], 0, atol=1e-12)
    fine = np.linspace(0, plan.semispan, 4001)
    quarter = plan.leading_edge_x.at(fine) + plan.chord.at(fine) / 4
    expected = -2 * 2 * np.pi * np.trapezoid(plan.chord.at(fine) * quarter, fine)
    assert_allclose(2 * steady[4, 4], expected, rtol=5e-3)


def test_one_side_stands_for_both(model):
    y, up, nose_up = _rigid(model)
    strips = lay(model.wing.planform, y)
    for kind in ([2, 4], [3]):
        whole = strips.air(up[:, kind], nose_up[:, kind])
        half = strips.starboard().air(up[:, kind], nose_up[:, kind])
        for name in ("mass", "damping", "stiffness", "steady", "steady_rate"):
            theirs = getattr(whole, name)
            assert_allclose(getattr(half, name), theirs, atol=1e-9 * (1 + np.abs(theirs).max()))


def test_many_bays_share_strips(model, monkeypatch):
    y, up, nose_up = _rigid(model)
    plan = model.wing.planform
    fine = lay(plan, y)
    monkeypatch.setattr(unsteady_strips, "_MOST", 8)
    few = lay(plan, y)
    side = len(few.y) // 2
    assert side <= 8 < len(fine.y) // 2
    assert_allclose(few.y, -few.y[::-1], atol=1e-12)
    edges = np.concatenate([[0.0], np.cumsum(few.width[side:])])
    assert_allclose(few.y[side:], (edges[1:] + edges[:-1]) / 2, rtol=1e-12)
    assert_allclose(few.ribs @ np.abs(y), np.abs(few.y), rtol=1e-2)
    assert_allclose(few.ribs.sum(axis=1), 1, rtol=1e-12)
    for name in ("steady", "steady_rate", "damping"):
        theirs = getattr(fine.air(up, nose_up), name)
        assert_allclose(getattr(few.air(up, nose_up), name), theirs, atol=3e-3 * np.abs(theirs).max())


def test_elevons_lift_roll_and_pitch(model):
    y, up, nose_up = _rigid(model)
    plan, elevons = model.wing.planform, model.wing.elevons
    strips = lay(plan, y, 4)
    both = strips.flap(elevons, up, nose_up, 1.0)
    opposite = strips.flap(elevons, up, nose_up, -1.0)
    along = np.linspace(elevons.y_from, elevons.y_to, 2001)
    slope = 2 * np.pi * flap_effectiveness(elevons.hinge)
    assert_allclose(both[2], 2 * slope * np.trapezoid(plan.chord.at(along), along), rtol=5e-3)
    assert_allclose(opposite[3], 2 * slope * np.trapezoid(plan.chord.at(along) * along, along), rtol=1e-2)
    assert_allclose([both[3], opposite[2]], 0, atol=2e-3 * both[2])
    assert both[4] < 0  # down elevons pitch a swept wing nose down
