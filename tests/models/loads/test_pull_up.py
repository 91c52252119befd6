"""The pull-up as a free body: lift, weight, inertia and trim balance; sections feel what beam theory says."""

from __future__ import annotations

from dataclasses import replace
from importlib import resources

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.integrate import quad

from fea.assembly import Assembly, rigid_motions, total
from models.analysis import analyse
from models.loads.elevons import flap_lift
from models.loads.pull_up import GRAVITY, LightAeroplane, dynamic_pressure, pull_up
from models.loads.schrenk import lift_per_length
from models.structure import build
from models.wing.reading import read

WINGS = ("trainer", "powered-tailless", pytest.param("sailplane", marks=pytest.mark.slow))
TAILLESS = 'load_factor = 4\nmoment_coefficient = -0.03\nlift = "schrenk"'


def shipped(name):
    with resources.as_file(resources.files("models.wings") / f"{name}.toml") as path:
        return read(path)


def balance(analysis):
    """Reaction of the pins, and acceleration, of a wing in its pull-up."""
    flight, n = analysis.pull_up, analysis.load_factor
    acceleration = analysis.solution.acceleration[:, 0]
    assert analysis.solution.checks.free_reaction < 1e-8
    assert analysis.solution.checks.residual < 1e-9
    assert analysis.solution.checks.reaction_sum < 1e-9
    assert np.abs(analysis.solution.reactions[:, :3]).sum() < 1e-6 * flight.lift or analysis.model.half
    assert_allclose(acceleration[2], n * GRAVITY, rtol=1e-9)
    chord = analysis.wing.planform.chord.at(0.0)
    assert_allclose(acceleration[[0, 1]], 0, atol=1e-8 * n * GRAVITY)
    assert_allclose(acceleration[3:] * chord, 0, atol=1e-8 * n * GRAVITY)


@pytest.mark.parametrize("whole", [False, True])
@pytest.mark.parametrize("name", WINGS)
def test_a_wing_in_flight_is_held_by_nothing(name, whole):
    analysis = analyse(replace(shipped(name), whole=whole), per_bay=2, across_chord=2)
    balance(analysis)
    flight, sides = analysis.pull_up, 1.0 if whole else 2.0
    assert_allclose(sides * flight.rib_lift.sum(), flight.lift, rtol=1e-9)
    assert_allclose(flight.lift, flight.load_factor * flight.flying_mass * GRAVITY, rtol=1e-12)
    carried = sum(m.mass * (2 if m.paired else 1) for m in analysis.wing.masses)
    structure = sum(flight.structural_mass.values())
    covering = flight.wing_mass - structure - carried
    # Each rib's share of covering is a strip of its own chord.
    film = 2 * analysis.wing.covering_mass_per_area * analysis.wing.planform.area
    assert_allclose(covering, film, rtol=5e-3, atol=1e-9)


@pytest.mark.parametrize("case", [TAILLESS, 'load_factor = 4\nmass = "0.9 kg"\nmoment_coefficient = -0.06'])
@pytest.mark.parametrize("posts_only", [False, True])
def test_trim(make_wing, case, posts_only):
    wing = make_wing(case=case)
    if posts_only:
        # Then a rib has nothing but the caps of one spar: its moment becomes a couple there.
        wing = replace(wing, ribs=tuple(replace(r, panel="none") for r in wing.ribs), edges=())
    analysis = analyse(wing)
    balance(analysis)
    flight = analysis.pull_up
    about = flight.rib_moment - flight.rib_lift * (flight.rib_x - flight.balance_x)
    if case is TAILLESS:
        assert flight.trim_coefficient != 0
        assert_allclose(about.sum(), 0, atol=1e-9 * np.abs(about).sum())
    else:
        assert flight.trim_coefficient == 0
        assert_allclose(2 * about.sum() + flight.trim_moment, 0, atol=1e-9 * np.abs(about).sum())


def test_moment_of_the_sections(make_wing):
    stations = '{ y = "0 mm", chord = "200 mm", section = "NACA 2412" }, { y = "600 mm", chord = "200 mm" }'
    case = (
        'speed = "20 m/s"\nload_factor = 3\nmass = "1 kg"\n'
        'moment_coefficient = -0.05\nair_density = "1.2 kg/m3"'
    )
    model = build(make_wing(stations=stations, case=case))
    flight = pull_up(model, Assembly(model.structure))
    # q S c c_m on one side.
    assert_allclose(flight.rib_moment.sum(), 0.5 * 1.2 * 20**2 * 0.12 * 0.2 * -0.05, rtol=1e-9)
    assert_allclose(flight.rib_x, 0.05, rtol=1e-12)
    assert_allclose(flight.lift_x, 0.05, rtol=1e-12)


def test_loads_on_the_nodes_are_those_of_the_ribs(make_wing):
    model = build(make_wing(case=TAILLESS))
    flight = pull_up(model, Assembly(model.structure))
    sums = total(model.structure.nodes, flight.loads.nodal)[:, 0]
    assert_allclose(sums[2], flight.rib_lift.sum(), rtol=1e-10)
    pitch = flight.rib_moment.sum() - (flight.rib_lift * flight.rib_x).sum()
    assert_allclose(sums[4], pitch, rtol=1e-9)
    plan = model.wing.planform
    roll = quad(lambda y: float(lift_per_length(plan, y, flight.lift)) * y, 0, 0.6, epsabs=1e-12)[0]
    assert_allclose(sums[3], roll, rtol=1e-8)


def test_a_mass_less_than_the_wings_own(make_wing):
    wing = make_wing()
    own = analyse(replace(wing, case=replace(wing.case, flying_mass=0.0))).pull_up.wing_mass
    exactly = analyse(replace(wing, case=replace(wing.case, flying_mass=own)))
    assert_allclose(exactly.pull_up.flying_mass, own, rtol=1e-12)
    with pytest.raises(LightAeroplane) as caught:
        analyse(replace(wing, case=replace(wing.case, flying_mass=0.999 * own)))
    assert_allclose([caught.value.flying, caught.value.wing], [0.999 * own, own], rtol=1e-9)


def by_elevons(analysis, cut):
    """Bending at a cut of the starboard side by elevons that trim, N m."""
    wing, flight = analysis.wing, analysis.pull_up
    if not flight.elevon:
        return 0.0
    flap = flap_lift(wing.planform, wing.elevons)
    edges = np.concatenate([[0.0], np.cumsum(flap.width)])
    low, high = np.maximum(edges[:-1], cut), np.maximum(edges[1:], cut)
    pressure = dynamic_pressure(wing.case, flight.lift, wing.planform.area)
    return pressure * flight.elevon * float(flap.pitch @ ((high - cut) ** 2 - (low - cut) ** 2)) / 2


@pytest.mark.parametrize("name", WINGS)
def test_every_section_carries_lift_less_inertia(name):
    """Forces of all elements that end at a rib from inboard, against the net load outboard as on a beam."""
    wing = shipped(name)
    wing = replace(wing, whole=False, case=replace(wing.case, lift_method="schrenk"))
    analysis = analyse(wing, per_bay=2, across_chord=2)
    model, flight = analysis.model, analysis.pull_up
    assembly = analysis.solution.assembly
    nodes, moves = model.structure.nodes, analysis.solution.displacements[:, :, 0]
    motions = rigid_motions(nodes).reshape(-1, 6, 6)
    stiffness = assembly.unit_stiffness()
    for k in (1, len(flight.rib_y) // 2):
        cut = float(flight.rib_y[k])
        inner, inertia = np.zeros(2), np.zeros(2)
        about = motions[:, :, [2, 3]] - np.array([0.0, cut]) * motions[:, :, [2]]  # up; about x at the cut
        for block_name, block in model.structure.blocks.items():
            y = nodes[block.nodes, 1]
            assert not ((y.min(axis=1) < cut - 1e-9) & (y.max(axis=1) > cut + 1e-9)).any()
            inboard = y.min(axis=1) < cut - 1e-9
            forces = np.einsum("eiajb,ejb->eia", stiffness[block_name], moves[block.nodes])
            forces *= block.scale[:, None, None]
            at_cut = (inboard[:, None] & (np.abs(y - cut) < 1e-9))[..., None]
            masses = assembly.on_nodes(block_name, block.mass(assembly.corners(block_name)))
            pull = np.einsum("eiajb,ejb->eia", masses, motions[:, :, 2][block.nodes])
            pull *= flight.load_factor * GRAVITY
            # What an element hands over at its end is its elastic force and the inertia it has there.
            inner += np.einsum("eia,eiak->k", (forces + pull) * at_cut, about[block.nodes])
            inertia += np.einsum("eia,eiak->k", pull * ~inboard[:, None, None], about[block.nodes])
        plan = model.wing.planform

        def arm(y, cut=cut, plan=plan, lift=flight.lift):
            return float(lift_per_length(plan, y, lift)) * (y - cut)

        kinks = [y for y in plan.chord.y if cut < y < plan.semispan]
        bending = quad(arm, cut, plan.semispan, points=kinks or None, epsabs=1e-12, limit=200)[0]
        bending += by_elevons(analysis, cut)
        shear = flight.rib_lift[k:].sum()
        assert_allclose(inner, [shear - inertia[0], bending - inertia[1]], rtol=1e-6)
