"""A static test on the bench: bags for a flight case, and what deflection and twist to expect at each step.

The bare wing lies upside down, held at its centre section; bags are filled in equal steps. Its own weight
pulls the same way as lift and is there from the start, so that a dial set to zero on the bare wing shows the
bags alone. Predictions come from the model with the caps (and engine bearers) of the centre held.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.arrays import Array
from fea.solve import factorise, statics
from fea.structure import Loads, Supports
from models import units_out as say
from models.analysis import analyse
from models.loads.bags import (
    BAG_WIDTH,
    BENDING_ALLOWED,
    LOCAL_SHARE,
    TORSION_ALLOWED,
    Bag,
    BagPlan,
    hold,
    own_weight,
    plan_bags,
    rib_stations,
)
from models.loads.laying import clashes, packer
from models.loads.pull_up import GRAVITY
from models.rounding import gees
from models.structure.model import Model
from models.studies.proof import Proof, proof
from models.wing.parts import Wing
from models.wing.words import number_runs

BAGS = 20
"""The most bags, both sides together, where nothing else is said."""
LARGEST = 2.0
"""The most that a bag may weigh where nothing else is said, kg."""
N_STEPS = 2
"""Steps that `bench_test` tells its progress of."""
STEP = 0.01
"""Masses are told in steps of this, kg."""
TAIL = 0.9
"""Where a wing of one spar is measured besides on its spar, of the chord: twist needs two points."""
SAND = 1600.0
"""Density of dry sand as poured, kg/m3 (from memory)."""
_AGAIN, _LESS = 4, 0.002


class NoBench(ValueError):
    """A specimen has a load of its own and needs no bags."""


class NoBags(ValueError):
    """A wing that bears so little that no bag is light enough."""


@dataclass(frozen=True)
class Mark:
    """A point to measure: on a rib of either side, `aft` m behind its leading edge; `place` in words."""

    rib: int
    y: float
    x: float
    aft: float
    place: str


@dataclass(frozen=True, eq=False)
class BenchTest:
    """A bench test and its prediction; movements of the starboard side, towards the wing's upper side.

    Parameters
    ----------
    plan : BagPlan
        What to lay where.
    marks : tuple of Mark
        Where to measure.
    full : (n_marks,) float array
        Deflection by all bags, m.
    own : (n_marks,) float array
        Deflection by the wing's own weight, m.
    twist, own_twist : (n_ribs,) float arrays
        Nose-up twist at the ribs of the marks by the same, rad.
    ribs : (n_ribs,) int array
        Their numbers.
    fractions : (n_steps,) float array
        Of the bags' mass at each step.
    load_factors : (n_steps,) float array
        Load factor whose bending at the hold the step makes, own weight included.
    hold : float
        Half the width over which the wing is held, m.
    proof : Proof
        How far a test may go.
    asked : float
        Load factor in the file.
    width : float
        Side of a bag as it lies, m.
    packers : tuple of float
        Height of what lies under both ends of each bag's batten, m; 0 for a bag on a rib.
    """

    plan: BagPlan
    marks: tuple[Mark, ...]
    full: Array
    own: Array
    twist: Array
    own_twist: Array
    ribs: NDArray[np.intp]
    fractions: Array
    load_factors: Array
    hold: float
    proof: Proof
    asked: float
    width: float = BAG_WIDTH
    packers: tuple[float, ...] = ()

    @property
    def reached(self) -> float:
        """Load factor whose bending the last step nowhere exceeds: that of the plan with its error added."""
        return self.plan.load_factor * (1 + self.plan.excess)

    @property
    def safe(self) -> bool:
        """Whether the test stays below the load that harms a sound wing, everywhere."""
        return bool(self.reached <= self.proof.highest * (1 + 1e-9))


def bench_test(
    wing: Wing,
    *,
    bags: int = BAGS,
    largest: float = LARGEST,
    steps: int = 5,
    load_factor: float | None = None,
    width: float = BAG_WIDTH,
    per_bay: int = 4,
    progress: Callable[[str], None] | None = None,
) -> BenchTest:
    """Plan a bench test of a flying wing.

    Parameters
    ----------
    wing : Wing
        The wing in the file.
    bags : int
        The most bags, both sides together.
    largest : float
        The most that a bag may weigh, kg.
    steps : int
        Equal steps in which the bags are filled.
    load_factor : float or None
        n of the test; None for the one that `models.studies.proof` suggests, or so much less that bags which
        bend a little too much do no harm either.
    width : float
        Side of a bag as it lies, m.
    per_bay : int
        Elements along a bay.
    progress : callable or None
        Told before each of `N_STEPS` steps.

    Raises
    ------
    NoBench
        The file is of a specimen.
    NoBags
        What may be laid on weighs too little to be weighed out.
    """
    if wing.clamped:
        raise NoBench("a specimen has its load in the file already")
    tell = progress or (lambda _: None)
    tell("how far the test may go")
    limit = proof(wing, per_bay=per_bay)
    analysis = analyse(wing, per_bay=per_bay)
    model, assembly = analysis.model, analysis.solution.assembly
    flight = analysis.solution.loads[:, :, analysis.case] / analysis.load_factor
    own = own_weight(model, assembly)
    tell("which bags on which ribs")

    def planned(n: float) -> BagPlan:
        return plan_bags(model, flight * n, own, n, bags=bags, largest=largest, step=STEP, width=width)

    if load_factor is not None:
        plan = planned(load_factor)
    else:
        plan = planned(min(limit.suggested, limit.highest / (1 + BENDING_ALLOWED)))
        for _ in range(_AGAIN):
            # Few bags may miss by more than is allowed: less is then asked of them.
            over = plan.load_factor * (1 + plan.excess) / limit.highest
            if over <= 1:
                break
            plan = planned(plan.load_factor / over * (1 - _LESS))
    if not plan.bags:
        raise NoBags(
            f"a test at {plan.load_factor:.2g} g takes less than half of {say.quantity(STEP, 'mass')} on "
            f"every rib, and the wing may be tested up to {limit.highest:.2g} g"
        )
    n = plan.load_factor
    moves = statics(
        factorise(assembly, held(model)), Loads(np.stack([bag_loads(model, plan.bags), own], axis=-1))
    ).displacements
    marks = _marks(model)
    at = np.stack([point_deflection(model, moves, mark.x, mark.y) for mark in marks])
    ribs = np.unique([mark.rib for mark in marks])
    twist = np.array([_twist(marks, at, int(rib)) for rib in ribs])
    fractions = np.arange(1, steps + 1) / steps
    bending, weight = plan.bench.values[0, 1], plan.own.values[0, 1]
    factors = n * (fractions * (bending - weight) + weight) / plan.flight.values[0, 1]
    return BenchTest(
        plan, marks, at[:, 0], at[:, 1], twist[:, 0], twist[:, 1], ribs, fractions, factors, hold(model),
        limit, analysis.load_factor, width, tuple(packer(model, bag) for bag in plan.bags),
    )  # fmt: skip


def held(model: Model) -> Supports:
    """Supports of the bench: caps on the centre line, and engine bearers over their length, hold still.

    A half wing's nodes on the centre line keep the conditions of symmetry besides.
    """
    caps = np.unique(model.centre_caps)
    rails = model.structure.blocks.get("rails")
    bearers = np.zeros(0, dtype=np.intp) if rails is None else np.unique(rails.nodes)
    clamped = np.union1d(caps, bearers)
    own = model.structure.supports
    rest = ~np.isin(own.node, clamped)
    kept = Supports(own.node[rest], own.turns[rest], own.direction[rest], own.value[rest])
    return kept + Supports.fixed(caps) + Supports.fixed(np.setdiff1d(bearers, caps), "xyz")


def bag_loads(model: Model, bags: tuple[Bag, ...]) -> Array:
    """Weight of bags on the nodes of their ribs by the lever rule, towards the upper side, (n_nodes, 6), N
    and N m.

    A whole wing gets them on both sides.
    """
    nodal = np.zeros((len(model.structure.nodes), 6))
    for bag in bags:
        for x, y, on_rib in zip(bag.x, bag.y, bag.shares):
            for side in (1.0,) if model.half else (1.0, -1.0):
                for node, share in levers(model, x, side * y):
                    nodal[node, 2] += share * on_rib * bag.mass * GRAVITY
    return nodal


def levers(model: Model, x: float, y: float) -> list[tuple[int, float]]:
    """Nodes of a rib's lower edge (which lies on top) on both sides of a point, and their shares of a load.
    `x` and `y` in m, y of a rib.

    Beyond the ends of the rib the shares run on in a straight line, as a stick laid on it hands them over."""
    j = int(np.argmin(np.abs(model.y - y)))
    there = [line for line in model.chordlines if line.upper[j] >= 0 and line.lower[j] >= 0]
    nodes = np.array([int(line.lower[j]) for line in there])
    at = model.structure.nodes[nodes, 0]
    order = np.argsort(at)
    nodes, at = nodes[order], at[order]
    k = int(np.clip(np.searchsorted(at, x) - 1, 0, len(at) - 2))
    share = float((x - at[k]) / (at[k + 1] - at[k]))
    return [(int(nodes[k]), 1 - share), (int(nodes[k + 1]), share)]


def _marks(model: Model) -> tuple[Mark, ...]:
    wing, plan = model.wing, model.wing.planform
    assert plan is not None
    out = []
    for number, y in enumerate(rib_stations(model).tolist(), 1):
        if y <= hold(model) + 1e-9:
            continue
        edge, chord = float(plan.leading_edge_x.at(y)), float(plan.chord.at(y))
        here = [(f"{spar.name} spar", float(spar.x.at(y))) for spar in wing.spars if y <= spar.y_end + 1e-9]
        if len(here) == 1:
            here.append(("trailing edge", edge + TAIL * chord))
        out += [Mark(number, y, x, x - edge, place) for place, x in here]
    return tuple(out)


def point_deflection(model: Model, moves: Array, x: float, y: float) -> Array:
    """Movement up of a point of a rib.

    Parameters
    ----------
    model : Model
        Of the wing.
    moves : (n_nodes, 6, n_cases) float array
        m and rad.
    x, y : float
        The point, m.

    Returns
    -------
    (n_cases,) float array
        m.
    """
    return np.asarray(sum(share * moves[node, 2] for node, share in levers(model, x, y)))


def _twist(marks: tuple[Mark, ...], at: Array, rib: int) -> Array:
    """Nose-up twist of a rib from its foremost and rearmost marks, rad."""
    here = sorted((mark.x, k) for k, mark in enumerate(marks) if mark.rib == rib)
    (fore, a), (aft, b) = here[0], here[-1]
    return np.asarray((at[a] - at[b]) / (aft - fore))


def sentences(test: BenchTest) -> list[str]:
    """The answer in words."""
    plan, n = test.plan, test.plan.load_factor
    shear, bending, torsion = (100 * plan.errors).tolist()
    bags = [bag for bag in plan.bags if bag.mass > 0]
    heaviest = max((bag.mass for bag in bags), default=0.0)
    said = [
        f"{2 * len(bags)} bags of at most {say.bag_mass(heaviest):.0f}, {say.whole_mass(plan.mass):.2f} in "
        f"all, load the wing as {gees(n)} g of the pull-up in the file do, with errors of at most "
        f"{bending:.1f} % in bending and {torsion:.1f} % in torsion at the ribs ({shear:.0f} % in shear, "
        "which a few bags make steps of)."
    ]
    faint = {what: plan.faint(k) for k, what in ((1, "bending"), (2, "torsion"))}
    parts = [f"{what} at rib {_ribs(ribs)}" for what, ribs in faint.items() if ribs]
    if parts:
        share = 100 * LOCAL_SHARE
        said.append(
            f"Errors are of the value at each rib; where it is less than {share:.0f} % of the diagram's "
            f"greatest ({'; '.join(parts)}) a per cent of next to nothing would say nothing, and the "
            f"error is of those {share:.0f} %. Against the greatest values no error exceeds "
            f"{100 * plan.of_greatest[1]:.1f} % in bending and {100 * plan.of_greatest[2]:.1f} % in torsion."
        )
    if not plan.kept:
        said.append(
            f"A poor plan: it is to keep within {100 * BENDING_ALLOWED:.0f} % of bending and "
            f"{100 * TORSION_ALLOWED:.0f} % of torsion, and misses {_worst(plan)}; so loaded the wing is not "
            "there what it is in flight. Allow more or heavier bags (--bags, --largest)."
        )
    crowded = clashes(plan.bags, test.width)
    if crowded:
        said.append(f"This cannot be laid as it stands: {'; '.join(crowded)}.")
    sand = SAND * test.width**3
    if heaviest > sand:
        said.append(
            f"A bag {say.size(test.width):.0f} wide and as high holds {say.mass(sand):.0f} of dry sand: fill "
            "the heavier ones with lead shot, or take wider bags (--bag-width)."
        )
    cords = [bag for bag in plan.bags if bag.mass < 0]
    if cords:
        ribs = _ribs(tuple(bag.ribs[0] for bag in cords))
        said.append(
            f"At rib {ribs} the wing is to be pulled the other way (in flight the mass there outweighs "
            "the lift, or twists the wing), which no bag does: a cord over a pulley with a counterweight "
            "lifts it there (counted among the bags)."
        )
    if any(min(bag.aft) < 0 for bag in plan.bags):
        said.append("Some bags hang ahead of the leading edge, on a stick laid along the rib and tied to it.")
    limit, reached = test.proof.highest, test.reached
    bends = f"bags that bend the wing up to {100 * plan.excess:.1f} % more make it {reached:.2f} g"
    if not test.safe:
        more = f" ({bends})" if n <= limit else ""
        said.append(
            f"Beware: above {limit:.2f} g wood is crushed or torn for good; this test goes to {n:.2f} g"
            f"{more}."
        )
    elif n < test.asked * (1 - 1e-9):
        said.append(
            f"A sound wing takes no harm up to {limit:.2f} g; the {gees(test.asked)} g asked for cannot be "
            "tested" + (f", for {bends}." if limit >= test.asked else ".")
        )
    elif n < test.proof.suggested * (1 - 1e-9):
        said.append(f"A sound wing takes no harm up to {limit:.2f} g, and {bends}.")
    else:
        said.append(f"A sound wing takes no harm up to {limit:.1f} g.")
    return said


def _worst(plan: BagPlan) -> str:
    """Where bending and torsion miss most of what they may."""
    error = np.abs(plan.flight.error(plan.bench))
    told = []
    for k, what, allowed in ((1, "bending", BENDING_ALLOWED), (2, "torsion", TORSION_ALLOWED)):
        at = int(np.argmax(error[:, k]))
        if error[at, k] > allowed:
            rib = f"rib {plan.rib[at]}" if plan.rib[at] else "the hold"
            told.append(f"{what} by {100 * error[at, k]:.1f} % at {rib}")
    return " and ".join(told)


def _ribs(numbers: tuple[int, ...]) -> str:
    """Numbers of ribs, 0 for the hold, as ranges."""
    told = ", ".join(number_runs(numbers))
    return told.replace("0-", "the hold-") if 0 in numbers else told


CAUTIONS = (
    "Bare wing, without equipment, upside down. Its own weight pulls as lift does and is allowed for; "
    "set the dials to zero on the bare wing.",
    "Fill all bags alike, from the centre outward, both sides together; lay them on ribs and battens, "
    "never on the covering between.",
    "Lay bags within {near} of where they are told to lie, fore and aft: so much is allowed for when the "
    "readings are judged. Put the packers that are told under both ends of a batten, on "
    "the ribs alone, so that it touches nothing between.",
    "Hold the caps alone at the centre line, between blocks so that they can neither turn nor slide (and "
    "engine bearers over their length, if there are any): so the prediction takes it. Sheeting and edges "
    "stay free there; with the whole centre section clamped the twist is another by 0.1 to 0.2 degrees.",
    "Hold each step a minute and read again: what creeps on, creaks or does not come back ends the test.",
    "Keep hands and faces out of the way; put something soft a hand's breadth under the tips.",
)
"""Cautions of a bench test (common practice, no source)."""
