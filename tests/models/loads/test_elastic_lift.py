"""Lift that follows the twist of a wing: against `speed`, by iteration on the whole structure, in balance."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fea.assembly import Assembly, rigid_motions
from fea.solve import Solution, free_body, pinned
from fea.structure import Loads
from models.analysis import solve
from models.loads.body import with_body
from models.loads.cases import Situation
from models.loads.elastic_lift import KEEPS, Influence, behind, steady
from models.loads.unsteady_lattice import Flap, Lattice
from models.structure import build
from models.studies.speed import condense, elastic, trim_ends
from models.wing.parts import Wing
from models.wing.reading import read, read_text
from tests.variants import limber

WINGS = Path(__file__).parents[3] / "models" / "wings"

SWEPT = """
[planform]
stations = [
    {{ y = "0 mm", chord = "200 mm", section = "NACA 0012" }},
    {{ y = "800 mm", chord = "200 mm", leading_edge = "{back} mm" }},
]
[ribs]
count = 5
thickness = "2 mm"
[[spars]]
name = "main"
at = "22 %"
caps = {{ width = "6 mm", height = "3 mm", wood = "spruce" }}
[[spars.webs]]
bays = "all"
face = "both"
thickness = "1.5 mm"
[[sheeting]]
to = "main"
thickness = "1.5 mm"
[case]
load_factor = 5.0
speed = "70 km/h"
mass = "1.5 kg"
"""


@dataclass(frozen=True, eq=False)
class Flown:
    """A wing of both sides in its pull-up, solved as built."""

    wing: Wing
    situation: Situation
    outer: np.ndarray
    solution: Solution
    influence: Influence

    @property
    def pressure(self) -> float:
        return self.wing.case.air_density * self.situation.speed**2

    @property
    def rigid(self) -> np.ndarray:
        return self.influence.twist(self.solution.displacements)[:, 0]


def flown(wing: Wing, kind: type[Influence] = Influence) -> Flown:
    model = build(wing, per_bay=1, whole=True)
    assembly = Assembly(model.structure)
    situation = Situation.of(model, assembly)
    outer = situation.lifted(situation.flight.load_factor, wing.case.speed)
    loads = Loads(with_body(model, assembly, outer, situation.body))
    solution = free_body(assembly, loads, keep_factor=True)
    influence = kind(model, assembly, solution.factor, situation.body, situation.flight.trimmed_by)
    return Flown(wing, situation, outer, solution, influence)


@cache
def _known(name: str, path: Path | None = None) -> Flown:
    wing = limber() if name == "limber" else read(path or WINGS / f"{name}.toml")
    # Slow enough to be well within what can be told.
    return flown(replace(wing, case=replace(wing.case, speed=min(wing.case.speed or 12.0, 20.0))))


@pytest.fixture(params=["limber", "short-tailless"])
def one(request, path_of):
    name = request.param
    return _known(name, None if name == "limber" else path_of(name))


def test_it_is_what_speed_says(one):
    """By condensed static answers and by the flexibility of the whole structure: lift, turn, end to 1e-9."""
    reduced = condense(one.wing, per_bay=1)
    expected = elastic(reduced)
    found = one.influence.bent("trim", one.pressure, one.rigid)
    s = len(expected.y)
    for ours, theirs in (
        (found.more_lift[s:], expected.more_lift),
        (found.more_lift[s - 1 :: -1], expected.more_lift),
        (found.more_moment[s:], expected.more_moment),
    ):
        assert_allclose(ours, theirs, rtol=0, atol=1e-9 * np.abs(theirs).max())
    assert_allclose(found.trim[0], expected.turn, rtol=1e-8)
    if not reduced.pull.tail:
        ends = one.situation.speed * one.influence.ends("trim", one.pressure)
        assert_allclose(ends, trim_ends(reduced), rtol=1e-8)


def test_the_bent_wing_is_in_balance(one):
    """What its lift adds moves nothing that is kept, to 1e-9; solved, the structure twists as said."""
    nodes = one.influence.model.structure.nodes
    size = one.situation.flight.lift * one.wing.semispan
    for keeps in KEEPS:
        found = one.influence.bent(keeps, one.pressure, one.rigid)
        about = nodes - np.array([one.situation.flight.balance_x, 0.0, 0.0])
        sums = np.einsum("nik,nic->k", rigid_motions(about).reshape(-1, 6, 6), found.nodal)
        assert np.abs(found.nodal).max() > 1e-4
        assert abs(sums[2]) < 1e-9 * size
        assert abs(sums[3]) < 1e-9 * size  # a pull-up does not roll
        assert keeps == "lift" or abs(sums[4]) < 1e-9 * size
        outer = one.outer + found.nodal
        both = with_body(one.influence.model, one.influence.assembly, outer, one.situation.body)
        solved = free_body(one.solution.factor, Loads(both))
        assert_allclose(one.influence.twist(solved.displacements)[:, 0], found.twist, atol=1e-8)
        assert solved.checks.free_reaction < 1e-9


def test_a_stiff_wing_has_the_lift_that_it_was_built_with(one):
    """Lift more over lift goes as the pressure over the stiffness, to nothing."""
    size = [
        np.abs(one.influence.bent("trim", one.pressure / by, one.rigid).more_lift).max()
        for by in (1e3, 1e6, 1e9)
    ]
    assert_allclose(size[1:], np.array([1e-3, 1e-6]) * size[0], rtol=5e-3)
    assert size[-1] < 1e-8 * one.situation.flight.lift


def test_from_nine_tenths_of_its_end_on_twist_is_that_of_nine_tenths(one):
    """It grows without a step up to there, stays beyond, and of a roll that begins nothing is told."""

    def most(share: float, keeps: str = "trim"):
        ends = one.influence.ends(keeps, one.pressure)
        found = one.influence.bent(keeps, one.pressure * (share * ends) ** 2, one.rigid)
        return found if found is None else np.abs(found.more_lift).max()

    assert most(0.9 - 1e-9) > 1.2 * most(0.8)
    assert_allclose([most(0.9 + 1e-9), most(1.5)], most(0.9 - 1e-9), rtol=1e-6)
    if not one.influence.model.half:
        assert most(0.89, "roll begun") is not None
        assert most(0.91, "roll begun") is None


def test_it_settles_where_lift_and_twist_run_after_each_other():
    """The whole structure solved again and again under its lattice's own lift, without any influence."""
    one = _known("limber")
    influence, strips = one.influence, one.influence.strips
    s = len(strips.y) // 2
    half = strips.starboard()
    at = np.concatenate([[0.0], np.cumsum(half.width)])
    plan = one.wing.planform
    lattice = Lattice(at, plan.leading_edge_x.at(at), plan.chord.at(at))
    arm = behind(plan, influence.y, half, influence.balance_x)

    def lift_of(angles):
        return one.pressure * lattice.harmonic(0.0, 1)[:, s:].real @ angles

    twist = one.rigid[s:]
    for _ in range(40):
        turn = -lift_of(twist)[:s].sum() / lift_of(np.ones(s))[:s].sum()
        added = lift_of(twist + turn)
        on = [np.concatenate([k[::-1], k]) for k in np.split(added, 2)]
        ribs = np.concatenate([strips.ribs.T @ k for k in on])
        nodal = (influence._unit @ ribs).reshape(-1, 6, 1)
        pitch = 2 * (added[s:].sum() - arm @ added[:s])
        nodal += one.situation.trimming(-pitch)
        both = with_body(influence.model, influence.assembly, one.outer + nodal, one.situation.body)
        solved = free_body(one.solution.factor, Loads(both))
        before, twist = twist, influence.twist(solved.displacements)[s:, 0]
    assert np.abs(twist - before).max() < 1e-10
    found = influence.bent("trim", one.pressure, one.rigid)
    assert_allclose(found.twist[s:], twist, rtol=1e-7)
    assert_allclose(found.more_lift[s:], added[:s], atol=1e-7 * np.abs(added[:s]).max())


def test_half_a_wing_says_the_same(one):
    model = build(one.wing, per_bay=1)
    solved = solve(model)
    assembly = solved.solution.assembly
    half = Influence(model, assembly, pinned(assembly), one.situation.body, solved.pull_up.trimmed_by)
    found = half.bent("trim", one.pressure, half.twist(solved.solution.displacements)[:, 0])
    whole = one.influence.bent("trim", one.pressure, one.rigid)
    size = np.abs(whole.more_lift).max()
    assert_allclose(found.more_lift, whole.more_lift[len(found.y) :], atol=1e-9 * size)
    assert_allclose(half.ends("trim", 1.0), one.influence.ends("trim", 1.0), rtol=1e-8)


def test_both_kinds_of_movement_at_once_say_the_same_as_apart(one):
    """As for a wing whose sides differ."""

    class Unlike(Influence):
        @property
        def alike(self):
            return False

    other = flown(one.wing, Unlike)
    opposite = one.rigid * np.sign(one.influence.strips.y)
    for keeps, rigid in (
        ("trim", one.rigid),
        ("steady roll", one.rigid + opposite),
        ("roll begun", opposite),
    ):
        apart = one.influence.bent(keeps, one.pressure, rigid)
        once = other.influence.bent(keeps, one.pressure, rigid)
        size = np.abs(apart.more_lift).max()
        assert_allclose(once.more_lift, apart.more_lift, atol=1e-8 * size)


def test_a_steady_roll_keeps_no_moment_and_one_begun_does(one):
    nodes = one.influence.model.structure.nodes
    opposite = one.rigid * np.sign(one.influence.strips.y)
    size = one.situation.flight.lift * one.wing.semispan
    for keeps, rolls in (("steady roll", False), ("roll begun", True)):
        found = one.influence.bent(keeps, one.pressure, opposite)
        sums = np.einsum("nik,nic->k", rigid_motions(nodes).reshape(-1, 6, 6), found.nodal)
        assert bool(abs(sums[3]) > 1e-6 * size) is rolls
        outer = one.outer + found.nodal
        both = with_body(one.influence.model, one.influence.assembly, outer, one.situation.body)
        solved = free_body(one.solution.factor, Loads(both))
        now = one.influence.twist(solved.displacements)[:, 0] - one.rigid
        assert_allclose(now, found.twist - opposite, atol=1e-8)


def test_a_swept_wing_sheds_load_from_its_tips_and_one_without_sweep_takes_more():
    found = {}
    for back in (0, 600):
        one = flown(read_text(SWEPT.format(back=back)))
        assert one.situation.flight.trimmed_by == "tail"
        more = one.influence.bent("trim", one.pressure, one.rigid)
        starboard = more.y > 0
        found[back] = more.more_lift[starboard] @ more.y[starboard] / one.situation.flight.lift
    assert found[600] < -1e-3
    assert found[0] > 1e-3


def test_the_lattice_at_rest_is_that_of_harmonic_movement_without_any():
    edges = np.array([0.0, 0.2, 0.35, 0.6])
    lattice = Lattice(edges, 0.3 * edges, 0.25 - 0.1 * edges)
    covered, hinge = np.array([0.0, 0.5, 1.0]), 0.77
    for sign in (1, -1):
        twist, flap, rate = lattice.at_rest(sign, covered, hinge)
        harmonic = lattice.harmonic(0.0, sign, Flap(covered, hinge)).real
        assert_allclose(twist, harmonic[:6, 3:6], rtol=1e-9, atol=1e-12)
        assert_allclose(flap, lattice.flap(covered, hinge, sign), rtol=1e-9, atol=1e-12)
        middle = (edges[1:] + edges[:-1]) / 2
        assert_allclose(rate, lattice.lasting(sign)[:, :3] @ middle, rtol=1e-9, atol=1e-12)


def test_a_lattice_is_solved_once_for_a_wing():
    one = _known("limber")
    half = one.influence.strips.starboard()
    assert steady(one.wing, half) is steady(one.wing, half)
