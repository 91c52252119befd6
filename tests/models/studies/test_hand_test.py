"""The hand test against a specimen's clamp, statics and symmetry."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fea.structure import Loads
from models.analysis import analyse, spar_motion
from models.loads.hand_test import GRAVITY, BadHandLoad, HandLoad, hand_loads, held
from models.mid_bay import sheet_mid_bays
from models.studies.hand_test import given, half, hold
from models.wing.parts import GRAIN_UPRIGHT

SPAR = """
[[spars]]
name = "main"
at = "30 %"
caps = { width = "10 mm", height = "6 mm", wood = "reference-balsa" }
[[spars.webs]]
bays = "all"
face = "both"
thickness = "1.6 mm"
wood = "reference-balsa"
grain = "upright"
"""
STATIONS = '{ y = "0 mm", chord = "250 mm", section = "NACA 0012" }, { y = "360 mm", chord = "250 mm" }'
SHEETED = """
[[sheeting]]
surface = "both"
from = "0 %"
to = "30 %"
thickness = "1.5 mm"
bays = "all"
wood = "balsa medium"
"""


TIP = [HandLoad("main", -1, force=1.0), HandLoad("main", -1, couple=1.0)]


@pytest.fixture
def bare(make_wing):
    """A straight wing of a spar and posts alone: what a specimen is."""
    ribs = 'count = 7\nthickness = "2 mm"\nwood = "reference-balsa"'
    wing = make_wing(stations=STATIONS, ribs=ribs, spars=SPAR, edges="")
    return replace(wing, ribs=tuple(replace(rib, panel="none") for rib in wing.ribs))


@pytest.mark.parametrize(("flush", "deflection", "twist"), [(False, 1e-9, 1e-9), (True, 1e-3, 4e-3)])
def test_a_straight_spar_gives_as_the_same_specimen_file(bare, make_specimen, flush, deflection, twist):
    # A specimen's posts stand with the grain upright, a wing's as its ribs' lies, along the chord: that alone
    # is 2 % of the twist at the tip.
    wing = replace(bare, ribs=tuple(replace(rib, post_grain=GRAIN_UPRIGHT) for rib in bare.ribs))
    model = half(wing)
    depth = float(model.depth[0, 0] + 6e-3) * 1e3
    specimen = make_specimen("both", depth=round(depth, 9))
    # Nor do the files have one mesh: a specimen's last post ends flush with its caps, half its 2 mm inboard,
    # a wing's stands in the middle of its station; its web's end touches but half of it.
    if not flush:
        last = replace(specimen.ribs[-1], y=specimen.semispan)
        specimen = replace(specimen, ribs=(*specimen.ribs[:-1], last))
    clamped = analyse(specimen)
    force, couple = given(hold(model, TIP), TIP)
    assert_allclose(force.deflection, spar_motion(clamped, 0, 0).deflection[-1], rtol=deflection)
    assert_allclose(couple.twist, spar_motion(clamped, 0, 1).twist[-1], rtol=twist)


def test_posts_with_the_rib_s_own_grain_twist_more(bare):
    upright = replace(bare, ribs=tuple(replace(rib, post_grain=GRAIN_UPRIGHT) for rib in bare.ribs))
    twist = [given(hold(half(wing), TIP), TIP)[1].twist for wing in (bare, upright)]
    assert 1.01 < twist[0] / twist[1] < 1.03


def test_stiffness_is_load_over_movement(bare):
    model = half(bare)
    loads = [HandLoad("main", -1, force=-3.0), HandLoad("main", -1, couple=2.0)]
    force, couple = given(hold(model, loads), loads)
    assert_allclose(force.stiffness, -3.0 / force.deflection)
    assert_allclose(couple.torsional_stiffness, 2.0 / couple.twist)
    assert np.isnan(force.torsional_stiffness)
    assert np.isnan(couple.stiffness)


def test_equilibrium_of_hand_and_load(make_wing):
    model = half(make_wing(ribs='count = 7\nthickness = "2 mm"'))
    loads = [HandLoad.hung(0.5, "main", 4), HandLoad("main", 7, couple=0.7), HandLoad("leading edge", 7, 2.0)]
    nodal = hand_loads(model, loads).nodal
    assert_allclose(nodal.sum(axis=0)[2], [-0.5 * GRAVITY, 0.0, 2.0], atol=1e-12)
    at = model.structure.nodes
    about_span = at[:, 2] @ nodal[:, 0] - at[:, 0] @ nodal[:, 2]
    upper, lower = at[model.cap_nodes[0, :, -1]]
    assert_allclose(about_span[1], 0.7, rtol=1e-3)  # h of the axes, upright
    assert_allclose(0.7 / model.depth[0, -1] * (upper[2] - lower[2]), about_span[1], rtol=1e-9)
    analysis = hold(model, loads)
    assert analysis.solution.checks.residual < 1e-8
    assert analysis.solution.checks.reaction_sum < 1e-8


def test_columns_of_ones_own_are_the_same(make_wing):
    model = half(make_wing())
    loads = [HandLoad("main", 7, 3.0), HandLoad("trailing edge", 5, 1.0)]
    ours, own = hold(model, loads), hold(model, Loads(hand_loads(model, loads).nodal))
    assert_allclose(own.solution.displacements, ours.solution.displacements)


def test_reciprocity(make_wing):
    model = half(make_wing())
    loads = [HandLoad("leading edge", 7, 1.0), HandLoad("main", 4, 1.0)]
    moves = hold(model, loads).solution.displacements
    nodal = hand_loads(model, loads).nodal
    work = np.einsum("nfa,nfb->ab", nodal, moves)
    assert_allclose(work[0, 1], work[1, 0], rtol=1e-8)


def test_held_farther_out_gives_less_and_stands_still_inboard(make_wing):
    model = half(make_wing())
    loads = [HandLoad.hung(0.5, "main", -1)]
    centre, third = hold(model, loads), hold(model, loads, 3)
    assert given(third, loads)[0].deflection > given(centre, loads)[0].deflection  # both down
    motion = spar_motion(third, 0)
    inboard = motion.y < model.wing.ribs[2].y + 1e-9
    assert_allclose(motion.deflection[inboard], 0.0, atol=1e-15)
    assert abs(motion.deflection[~inboard]).min() > 0
    assert len(set(held(model, 3).node)) > len(set(held(model).node))


def test_a_wing_without_a_centre_rib_is_held_at_all_its_centre_nodes(make_wing):
    ribs = 'stations = ["50 mm", "200 mm", "400 mm", "600 mm"]\nthickness = "2 mm"'
    model = half(make_wing(ribs=ribs, extra=SHEETED))
    at = np.flatnonzero(np.abs(model.structure.nodes[:, 1]) < 1e-9)
    assert set(held(model).node) == set(at)
    assert len(at) > 2
    assert given(hold(model, [HandLoad.hung(0.5, "main", -1)]), [HandLoad.hung(0.5, "main", -1)])


def test_sheeting_is_pressed_above_when_the_tip_is_pushed_up(make_wing):
    analysis = hold(
        half(make_wing(extra=SHEETED)), [HandLoad("main", -1, 1.0), HandLoad("main", -1, couple=1.0)]
    )
    first = {row.surface: row for row in sheet_mid_bays(analysis, 0) if row.bay == 1}
    assert first["upper"].span_stress < 0 < first["lower"].span_stress
    # Nose up at the tip pulls the upper skin aft there and the lower one forward: the flow round the nose.
    twisted = {row.surface: row for row in sheet_mid_bays(analysis, 1) if row.bay == 3}
    assert twisted["upper"].shear > 0 > twisted["lower"].shear


@pytest.mark.parametrize(
    ("load", "held_at", "what"),
    [
        (HandLoad("rear", 7, 1.0), None, "at"),
        (HandLoad("main", 8, 1.0), None, "rib"),
        (HandLoad("main", 1, 1.0), None, "rib"),
        (HandLoad("main", 3, 1.0), 3, "rib"),
        (HandLoad("main", 7, 1.0), 9, "held_at"),
        (HandLoad("leading edge", 7, couple=1.0), None, "at"),
    ],
)
def test_places_that_do_not_exist(make_wing, load, held_at, what):
    with pytest.raises(BadHandLoad) as caught:
        hold(half(make_wing()), [load], held_at)
    assert caught.value.what == what


def test_a_specimen_is_refused(make_specimen):
    with pytest.raises(BadHandLoad, match="specimen"):
        half(make_specimen())
