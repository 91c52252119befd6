"""What is read off a solved wing: movements seen from the centre, section forces along the caps."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fea.assembly import rigid_motions
from fea.solve import Mechanism
from models.analysis import analyse, from_centre, spar_motion, wing_twist

SWEPT = (
    '{ y = "0 mm", chord = "240 mm", section = "NACA 1412" }, '
    '{ y = "600 mm", chord = "150 mm", leading_edge = "150 mm", washout = "2 deg" }'
)
TWO = """[[spars]]
name = "front"
at = "25 %"
caps = { width = "8 mm", height = "4 mm", wood = "spruce" }
[[spars.webs]]
bays = "all"
face = "front"
thickness = "1.5 mm"
[[spars]]
name = "rear"
at = "60 %"
caps = { width = "6 mm", height = "3 mm", wood = "spruce" }
"""


def moved(analysis, amount):
    """The same analysis after a rigid motion."""
    model, solution = analysis.model, analysis.solution
    motion = (rigid_motions(model.structure.nodes) @ amount).reshape(-1, 6, 1)
    return replace(analysis, solution=replace(solution, displacements=solution.displacements + motion))


@pytest.mark.parametrize("whole", [False, True])
def test_where_a_free_wing_ends_up_does_not_matter(make_wing, whole):
    analysis = analyse(replace(make_wing(stations=SWEPT, spars=TWO), whole=whole))
    pushed = moved(analysis, np.array([0.02, 0.0, -0.3, 0.4 if whole else 0.0, -0.2, 0.1 if whole else 0.0]))
    for s in (0, 1):
        one, other = spar_motion(analysis, s), spar_motion(pushed, s)
        assert_allclose(other.deflection, one.deflection, rtol=1e-9, atol=1e-9 * np.abs(one.deflection).max())
        assert_allclose(other.twist, one.twist, rtol=1e-7, atol=1e-7 * np.abs(one.twist).max())
    assert_allclose(wing_twist(pushed)[1], wing_twist(analysis)[1], atol=1e-8)


def test_a_rigid_motion_is_nothing_seen_from_the_centre(make_wing):
    analysis = analyse(make_wing(stations=SWEPT))
    motion = (rigid_motions(analysis.model.structure.nodes) @ [0.1, 0, 0.2, 0, 0.3, 0]).reshape(-1, 6)
    assert_allclose(from_centre(analysis.model, motion), 0, atol=1e-12)


def test_the_centre_stands_still_and_the_tip_goes_up(make_wing):
    analysis = analyse(make_wing(stations=SWEPT, spars=TWO))
    for s in (0, 1):
        motion = spar_motion(analysis, s)
        assert motion.deflection[0] == 0
        assert motion.twist[0] == 0
        assert motion.deflection[-1] == motion.deflection.max() > 0
    y, twist = wing_twist(analysis)
    front, rear = spar_motion(analysis, 0), spar_motion(analysis, 1)
    x = [spar.x.at(0.6) for spar in analysis.wing.spars]
    assert_allclose(twist[-1], (front.deflection[-1] - rear.deflection[-1]) / (x[1] - x[0]), rtol=1e-12)
    assert_allclose(y, front.y, rtol=1e-12, atol=1e-15)


def test_a_specimen_is_seen_from_its_clamp(make_specimen):
    analysis = analyse(make_specimen("front"))
    moves = analysis.solution.displacements[:, :, 0]
    assert from_centre(analysis.model, moves) is moves
    y, twist = wing_twist(analysis, 1)
    assert_allclose(twist, spar_motion(analysis, 0, 1).twist, rtol=1e-12)
    assert_allclose(y[[0, -1]], [0, 0.36], rtol=1e-12)
    # Torque and force together are the sum of both.
    assert analysis.case == 2
    assert_allclose(twist + wing_twist(analysis, 0)[1], wing_twist(analysis)[1], rtol=1e-9, atol=1e-12)


def test_caps_of_an_open_spar_carry_the_force_and_its_moment(make_specimen):
    analysis = analyse(make_specimen(""))
    model = analysis.model
    forces = analysis.cap_forces(0, np.array([0.25, 0.5]))
    y = model.y[model.caps.span][:, None] + np.diff(model.y)[model.caps.span][:, None] * [0.25, 0.5]
    assert forces.shape == (len(y), 2, 6)
    up, low = model.caps.upper, ~model.caps.upper
    # Both caps share 1 N in shear; their own moments and the couple of their forces are 1 N times the arm.
    assert_allclose(np.abs(forces[up, :, 2] + forces[low, :, 2]), 1.0, rtol=1e-8)
    couple = (forces[low, :, 0] - forces[up, :, 0]) * 12e-3
    own = forces[up, :, 4] + forces[low, :, 4]
    assert_allclose(couple - own, 0.36 - y[up], rtol=1e-7, atol=1e-9)


def test_a_mechanism_is_told_by_its_part(make_specimen):
    wing = make_specimen("")
    loose = replace(wing, ribs=tuple(replace(r, post_thickness=0.0) for r in wing.ribs))
    # Without posts each cap is a cantilever of its own: soft, but no mechanism.
    assert (
        spar_motion(analyse(loose), 0, 0).deflection[-1] > 2 * spar_motion(analyse(wing), 0, 0).deflection[-1]
    )
    assert issubclass(Mechanism, ValueError)
