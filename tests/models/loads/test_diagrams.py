"""Section forces along the span: flight balances, cuts through elements and beam theory say the same."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from importlib import resources

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fea.solve import total
from models.analysis import Analysis, analyse
from models.loads.diagrams import (
    SectionForces,
    axis_points,
    cuts,
    lumped,
    of_elements,
    of_loads,
)
from models.loads.elevons import flap_lift, moment_pieces, pieces
from models.loads.pull_up import GRAVITY, dynamic_pressure, span_loading
from models.wing.mean_line import section_moments
from models.wing.parts import Wing
from models.wing.reading import read

WINGS = ("trainer", "powered-tailless", "sailplane")
EVERY = pytest.mark.parametrize(
    ("name", "whole", "method"),
    [(n, w, m) for n in WINGS for w in (False, True) for m in ("schrenk", "surface")],
)


@cache
def shipped(name: str) -> Wing:
    with resources.as_file(resources.files("models.wings") / f"{name}.toml") as path:
        return read(path)


@cache
def flown(name: str, whole: bool, method: str) -> Analysis:
    """A shipped wing in its pull-up."""
    wing = shipped(name)
    return analyse(
        replace(wing, whole=whole, case=replace(wing.case, lift_method=method)), per_bay=1, across_chord=2
    )


def inertia(analysis: Analysis, at: np.ndarray) -> SectionForces:
    """Section forces of the wing's own mass under n g."""
    assembly, flight = analysis.solution.assembly, analysis.pull_up
    upward = np.zeros((len(analysis.model.structure.nodes), 6, 1))
    upward[:, 2] = -flight.load_factor * GRAVITY
    pull = assembly.nodal(assembly.mass() @ assembly.vector(upward))[:, :, 0]
    return of_loads(analysis.model, pull, at)


def three(sections: SectionForces) -> np.ndarray:
    return np.stack([sections.shear, sections.bending, sections.torsion], axis=1)


@EVERY
def test_lift_is_n_times_the_weight_and_nothing_turns(name: str, whole: bool, method: str) -> None:
    analysis = flown(name, whole, method)
    flight = analysis.pull_up
    sides = 1.0 if whole else 2.0
    assert_allclose(
        sides * flight.rib_lift.sum(), flight.load_factor * flight.flying_mass * GRAVITY, rtol=1e-9
    )
    acting = analysis.solution.loads
    sums = total(analysis.model.structure.nodes, acting)[:, 0]
    # Half a wing: its mirror image takes up side force, roll and yaw.
    free = [0, 1, 2, 3, 4, 5] if whole else [0, 2, 4]
    scale = np.array([flight.lift] * 3 + [flight.lift * analysis.wing.semispan] * 3)
    assert np.abs(sums / scale)[free].max() < 1e-9


@EVERY
def test_the_elements_cut_carry_what_acts_outboard(name: str, whole: bool, method: str) -> None:
    analysis = flown(name, whole, method)
    model, solution = analysis.model, analysis.solution
    loads = three(of_loads(model, solution.loads[:, :, 0]))
    inner = three(of_elements(model, solution.assembly, solution.displacements[:, :, 0]))
    assert loads.shape == (2 * (len(model.y) - 1), 3)
    # Rounding of the solve, of the largest of each.
    assert (np.abs(inner - loads) <= 1e-6 * np.abs(loads).max(axis=0)).all()


@EVERY
def test_ribs_as_a_beam_with_single_loads(name: str, whole: bool, method: str) -> None:
    """The same loads, integrated as a beam's; inertia by the mass matrix under n g."""
    analysis = flown(name, whole, method)
    flight, model = analysis.pull_up, analysis.model
    at = cuts(model)
    plan = analysis.wing.planform
    x = axis_points(plan, flight.rib_y)[:, 0]
    # What acts off the quarter chord is a moment about it.
    moment = flight.rib_moment - flight.rib_lift * (flight.rib_x - x)
    beam = spread(plan, at, flight.rib_y, flight.rib_lift, moment) + three(inertia(analysis, at))
    found = three(of_loads(model, analysis.solution.loads[:, :, 0]))
    assert (np.abs(found - beam) <= 1e-6 * np.abs(beam).max(axis=0)).all()


def spread(planform, at, y, lift, moment=0.0):
    """Shear, bending and torsion of a load along the span by beam theory, about the quarter-chord axis:
    V = int l dy, M = int l (y - y_cut) dy, T = int m dy - int l (x - x_cut) dy over what lies outboard; any
    beam book, from memory. Lift (N) and nose-up moment about the quarter chord (N m) stand at points y of a
    quadrature, times their weight; (n_cuts, 3), signs as `SectionForces`."""
    side = np.where(at < 0, -1.0, 1.0)
    outboard = (y * side[:, None] > (at * side)[:, None]).astype(float)
    x = axis_points(planform, y)[:, 0]
    x_cut = axis_points(planform, at)[:, 0]
    shear = outboard @ lift
    bending = side * (outboard @ (lift * y) - at * shear)
    torsion = x_cut * shear - outboard @ (lift * x) + outboard @ moment
    return np.stack([shear, bending, torsion], axis=1)


def continuous(analysis: Analysis, at: np.ndarray) -> np.ndarray:
    """Shear, bending and torsion of lift and section moment as they are along the span, starboard cuts."""
    flight, plan, case = analysis.pull_up, analysis.wing.planform, analysis.wing.case
    pressure = dynamic_pressure(case, flight.lift, plan.area)
    loading = span_loading(plan, case, flight.lift / (pressure * plan.area))
    out = []
    for cut in at:
        # The arcsine makes the root of the ellipse smooth; the error of middles goes with the step squared.
        edges = np.linspace(np.arcsin(cut / plan.semispan), np.pi / 2, 20001)
        theta = (edges[1:] + edges[:-1]) / 2
        y, weight = plan.semispan * np.sin(theta), np.diff(edges) * plan.semispan * np.cos(theta)
        lift, chord = loading.per_length(y, flight.lift) * weight, plan.chord.at(y)
        line = plan.leading_edge_x.at(y) + case.lift_line * chord
        moment = pressure * (section_moments(plan, case, y) + flight.trim_coefficient) * chord**2 * weight
        moment = moment - lift * (line - axis_points(plan, y)[:, 0])
        out.append(spread(plan, np.array([cut]), y, lift, moment)[0])
    return np.array(out) + of_elevons(analysis, at)


def of_elevons(analysis: Analysis, at: np.ndarray) -> np.ndarray:
    """The same of elevons that trim; nothing where others do."""
    flight, wing = analysis.pull_up, analysis.wing
    if not flight.elevon:
        return np.zeros((len(at), 3))
    size = dynamic_pressure(wing.case, flight.lift, wing.planform.area) * flight.elevon
    flap = flap_lift(wing.planform, wing.elevons)
    found = np.zeros((len(at), 3))
    for amounts, lifts in (
        (pieces(flap, flap.pitch, at, 1.0), True),
        (moment_pieces(wing.planform, wing.elevons, at, 1.0), False),
    ):
        y, amount = (a[amounts[0] > 0] for a in amounts)
        nothing = np.zeros_like(y)
        lift, moment = (size * amount, nothing) if lifts else (nothing, size * amount)
        found += spread(wing.planform, at, y, lift, moment)
    return found


@EVERY
def test_against_the_lift_as_it_is_along_the_span(name: str, whole: bool, method: str) -> None:
    """Bending at every rib is that of the lift along the span; shear and torsion are short of it by what the
    ribs gather from the bay beside the cut."""
    analysis = flown(name, whole, method)
    flight, model = analysis.pull_up, analysis.model
    ribs = np.sort(flight.rib_y[flight.rib_y > 1e-9])
    at = ribs[:-1] - 1e-9
    found = three(of_loads(model, analysis.solution.loads[:, :, 0], at)) - three(inertia(analysis, at))
    beam = continuous(analysis, at)
    root = continuous(analysis, np.array([1e-9]))[0]
    assert_allclose(found[:, 1], beam[:, 1], rtol=0, atol=1e-6 * root[1])
    gaps = np.abs(found - beam)
    edges = np.concatenate([[1e-9], ribs - 1e-9])
    whole_bays = np.abs(np.diff(continuous(analysis, edges[:-1]), axis=0))
    assert 0 < gaps[:, 0].max() <= whole_bays[:, 0].max()
    # Torsion: a bay's section moment, and its lift on a swept line.
    sweep = np.abs(np.diff(axis_points(analysis.wing.planform, edges)[:, 0])).max()
    assert gaps[:, 2].max() <= whole_bays[:, 2].max() + whole_bays[:, 0].max() * sweep


def test_the_axis_moves_torsion_alone() -> None:
    analysis = flown("sailplane", False, "schrenk")
    nodal = analysis.solution.loads[:, :, 0]
    front, rear = (of_loads(analysis.model, nodal, axis=a) for a in (0.25, 0.5))
    assert_allclose(rear.shear, front.shear, rtol=1e-12, atol=1e-9)
    assert_allclose(rear.bending, front.bending, rtol=1e-9, atol=1e-9)
    back = rear.axis[:, 0] - front.axis[:, 0]
    assert_allclose(rear.torsion, front.torsion + back * front.shear, rtol=1e-9, atol=1e-9)


def test_both_sides_of_an_even_wing_read_alike() -> None:
    analysis = flown("powered-tailless", True, "schrenk")
    found = three(of_loads(analysis.model, analysis.solution.loads[:, :, 0]))
    assert_allclose(found[::-1], found, rtol=0, atol=1e-7 * np.abs(found).max())


def test_lumps_keep_force_and_moment_at_every_rib() -> None:
    ribs, y = np.array([-0.3, 0.1, 0.5]), np.array([-0.5, -0.1, 0.2, 0.4, 0.7])
    amount = np.array([1.0, 2.0, -3.0, 4.0, 5.0])
    share, first, last = lumped(ribs, y, amount)
    assert_allclose(share.sum(), amount.sum(), rtol=1e-12)
    assert_allclose((share * ribs).sum() + first + last, (amount * y).sum(), rtol=1e-12)
    assert_allclose([first, last], [1.0 * -0.2, 5.0 * 0.2], rtol=1e-12)
    at_middle = share[2] * (ribs[2] - ribs[1]) + last
    out = y > ribs[1]
    assert_allclose(at_middle, (amount * (y - ribs[1]))[out].sum(), rtol=1e-12)


def test_root_is_outboard_of_what_hangs_on_the_centre() -> None:
    y = np.array([-0.2, -0.05, 0.05, 0.2])
    one = SectionForces(y, np.zeros((4, 3)), np.zeros((4, 6)))
    assert [one.root(1), one.root(-1), one.root(1, 0.1), one.root(-1, 0.1)] == [2, 1, 3, 0]
