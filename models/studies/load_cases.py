"""All load cases of a wing, solved and checked: which is the hardest, what is weakest in each, and the
section forces along the span.

Both sides are modelled; one for the pull-up alone, if they are alike. Cases of a free wing share one factor;
a wing that is carried is solved where it is held. Every part is checked in every case by the rules of
`models.strength`, and the section forces cut from the elements are compared with the loads outboard.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection
from dataclasses import dataclass, replace
from functools import cached_property, partial

import numpy as np

from fea.arrays import Array
from fea.solve import Checks, Solution, factorise, free_body, statics
from fea.structure import Loads, Supports
from models import small_movements
from models import units_out as say
from models.analysis import Analysis, from_centre, wing_twist
from models.loads.body import with_body
from models.loads.cases import IN_THE_AIR, KINDS, PULL_UP, CaseLoads, Situation, pull_up_case
from models.loads.cases import load_cases as every_case
from models.loads.diagrams import SectionForces, of_elements, of_loads
from models.loads.elastic_lift import Influence
from models.loads.elevon_cases import servo, servo_words, throws
from models.loads.elevons import flap_lift, rolling_moment
from models.session import Session
from models.strength import Margin, Margins, check, rounded_down
from models.strength.counted import with_joints
from models.strength.modes import named
from models.strength.sheet_buckling import BOWS
from models.strength.solved import Build
from models.studies.bowed import Bowing, bows_from, by_case, column, margins_bowed
from models.wing.parts import Wing


@dataclass(frozen=True, eq=False)
class CaseResult:
    """One case, solved and checked.

    Parameters
    ----------
    case : CaseLoads
        What acts.
    reserve : float
        Least reserve factor, with lift as the wing is built; inf where nothing is loaded.
    weakest : Margin or None
        What has it.
    bows : Margin or None
        Sheeting that bows under the load, the worst; None where none does. The reserves count that.
    twist : Array
        Greatest twist of port and starboard half against the centre, rad, nose up; (2,).
    tip_deflection : Array
        Upward, of port and starboard tip against the centre, m; (2,).
    checks : Checks
        What the solve proves.
    margins : Margins
        Of every part and mode.
    rows : tuple of Margin
        Those that count, as in the verdict: with joiners, and braces over caps that are cut.
    analysis : Analysis
        Of the case, all sheeting whole.
    bowing : Bowing
        What sheeting that bows takes from the rows.
    bent : CaseResult or None
        The same with the lift where the bent and twisted wing puts it, at the speed of the case; None where
        that was not asked, and near the speed at which it ends and beyond.
    ends : float
        Speed at which that ends, m/s: the wing twists off, or as fast as what keeps its balance; infinite if
        never, NaN where it was not asked.
    """

    case: CaseLoads
    reserve: float
    weakest: Margin | None
    bows: Margin | None
    twist: Array
    tip_deflection: Array
    checks: Checks
    margins: Margins
    rows: tuple[Margin, ...]
    analysis: Analysis
    bowing: Bowing
    bent: CaseResult | None = None
    ends: float = math.nan

    @property
    def name(self) -> str:
        """Of the case."""
        return self.case.name

    @property
    def harder(self) -> CaseResult:
        """The case, or the bent wing's where that has less reserve."""
        return self if self.bent is None or self.reserve <= self.bent.reserve else self.bent

    @cached_property
    def sections(self) -> SectionForces:
        """Along the span, from the loads and the inertia."""
        solution, k = self.analysis.solution, self.analysis.case
        held = solution.reactions[:, :, k] if self.case.held else 0.0
        return of_loads(self.analysis.model, solution.loads[:, :, k] + held)

    @cached_property
    def gap(self) -> float:
        """Largest difference of the forces cut from the elements, over the largest of each component."""
        solution, values = self.analysis.solution, self.sections.values
        moves = solution.displacements[:, :, self.analysis.case]
        cut = of_elements(self.analysis.model, solution.assembly, moves)
        scale = np.abs(values).max(axis=0)
        # Components that should be nothing have no size of their own: the largest force or moment stands in.
        scale = np.maximum(scale, 0.01 * np.repeat([scale[:3].max(), scale[3:].max()], 3))
        return float((np.abs(cut.values - values) / np.where(scale > 0, scale, 1.0)).max())

    def root(self, beyond: float) -> int:
        """Number of the innermost cut of the side that bends more there, outboard of a place, m."""
        each = [self.sections.root(side, beyond) for side in (1, -1)]
        return max(each, key=lambda k: abs(float(self.sections.bending[k])))


@dataclass(frozen=True, eq=False)
class LoadStudy:
    """All cases of a wing. The pull-up first; `reversal` is the speed at which ailerons or elevons would turn
    the wing as far against themselves as they roll it, m/s, inf where it does not twist that way, nan without
    any."""

    wing: Wing
    situation: Situation
    cases: tuple[CaseResult, ...]
    reversal: float

    @property
    def root_y(self) -> float:
        """Half the width of the centre section on which body or rails hang, m: roots lie outboard of it."""
        return max((rail.y for rail in self.wing.rails), default=0.0)

    @property
    def ranked(self) -> list[CaseResult]:
        """The hardest first, by the harder of both loads."""
        return sorted(self.cases, key=lambda one: one.harder.reserve)


def load_cases(
    wing: Wing,
    *,
    per_bay: int = 4,
    step: Callable[[str, int], None] | None = None,
    only: Collection[str] | None = None,
    kinds: Collection[str] = KINDS,
    bent: Collection[str] | None = (),
    session: Session | None = None,
    rough: bool = False,
) -> LoadStudy:
    """Solve and check every load case of a flying wing.

    Parameters
    ----------
    wing : Wing
        From `models.wing.reading.read`.
    per_bay : int, default 4
        Elements along a bay.
    step : callable or None
        Told the name of each case as its check begins, and how many cases there are.
    only : collection of str or None
        Names of the cases to work out; None for all.
    kinds : collection of str
        Kinds of case to work out, of `models.loads.cases.KINDS`.
    bent : collection of str or None
        Names of those that are worked out once more with the lift where the bent wing puts it; None for all
        that have a speed, none if nothing is said.
    session : Session or None
        Of the wing, where there is one; its mesh is taken.
    rough : bool
        Settle sheeting that bows no closer than for a wing that is only tried.

    Raises
    ------
    models.loads.pull_up.LightAeroplane
        The flying mass is less than the wing's own.
    fea.solve.Mechanism
        A part can move freely.
    """
    session = Session(wing, per_bay=per_bay) if session is None else session
    alone = only is not None and set(only) <= {PULL_UP}
    frame = session.side if alone else session.both
    model, assembly, situation = frame.model, frame.assembly, frame.situation
    every = (pull_up_case(situation),) if alone else every_case(situation)
    cases = [c for c in every if c.kind in kinds and (only is None or c.name in only)]
    free = [case for case in cases if not case.held]
    outer = np.concatenate([case.nodal for case in free], axis=2)
    loads = Loads(with_body(model, assembly, outer, situation.body))
    flown = free_body(frame.factor, loads, keep_factor=True)
    columns = {case.name: k for k, case in enumerate(free)}
    asked = [(columns[c.name], c) for c in free if c.keeps and (bent is None or c.name in bent)]
    twisted, ends = _bent(situation, flown, asked)
    if twisted:
        more = np.concatenate([case.nodal for case in twisted], axis=2)
        loads = Loads(with_body(model, assembly, more, situation.body))
        flown = _together(flown, free_body(frame.factor, loads))
    recovered = by_case(flown.assembly, flown.displacements)

    def solved(case: CaseLoads, k: int) -> Analysis:
        return Analysis(model, flown, k, situation.flight, case.load_factor, column(recovered, k))

    analyses: list[Analysis] = []
    margins: list[Margins] = []
    held: dict[int, Margins] = {}
    for case in cases:
        if step is not None:
            step(case.name, len(cases))
        if case.held:
            analysis, whole, held[len(margins)] = _held(situation, case, frame.build)
            analyses.append(analysis)
            margins.append(whole)
        else:
            analyses.append(solved(case, columns[case.name]))
            margins.append(check(analyses[-1], build=frame.build))
    for k, case in enumerate(twisted):
        analyses.append(solved(case, len(free) + k))
        margins.append(check(analyses[-1], build=frame.build))
    asked_of = [*cases, *twisted]
    bowed = _bowed(asked_of, len(cases), analyses, margins, frame.build, rough)
    bowed = [held.get(k, one) for k, one in enumerate(bowed)]
    told = [_result(situation, *one) for one in zip(asked_of, analyses, margins, bowed)]
    of_bent = {one.name: one for one in told[len(cases) :]}
    results = [
        replace(one, bent=of_bent.get(one.name), ends=ends.get(one.name, math.nan))
        for one in told[: len(cases)]
    ]
    return LoadStudy(wing, situation, tuple(results), _reversal(situation, flown, columns))


def _bent(
    situation: Situation, flown: Solution, asked: list[tuple[int, CaseLoads]]
) -> tuple[list[CaseLoads], dict[str, float]]:
    """Cases with what the bent wing's own lift adds to them, and the speeds at which that ends, m/s."""
    if not asked:
        return [], {}
    assert flown.factor is not None, "kept for that"
    flight, density = situation.flight, situation.model.wing.case.air_density
    influence = Influence(
        situation.model, situation.assembly, flown.factor, situation.body, flight.trimmed_by
    )
    rigid = influence.twist(flown.displacements[:, :, [k for k, _ in asked]])
    found, ends = [], {}
    for (_, case), twist in zip(asked, rigid.T):
        pressure = density * case.speed**2
        ends[case.name] = case.speed * influence.ends(case.keeps, pressure)
        bent = influence.bent(case.keeps, pressure, twist)
        if bent is not None:
            found.append(replace(case, put=partial(np.add, case.nodal, bent.nodal)))
    return found, ends


def _together(one: Solution, other: Solution) -> Solution:
    """Cases of one structure in one solution."""
    a, b = one.checks, other.checks
    checks = Checks(
        max(a.residual, b.residual),
        max(a.reaction_sum, b.reaction_sum),
        max(a.energy, b.energy),
        min(a.smallest_pivot, b.smallest_pivot),
        max(a.free_reaction, b.free_reaction),
    )
    return replace(
        one,
        displacements=np.concatenate([one.displacements, other.displacements], axis=2),
        loads=np.concatenate([one.loads, other.loads], axis=2),
        reactions=np.concatenate([one.reactions, other.reactions], axis=2),
        checks=checks,
        acceleration=np.concatenate([one.acceleration, other.acceleration], axis=1),
    )


def _reversal(situation: Situation, flown: Solution, columns: dict[str, int]) -> float:
    """Speed of reversal by one step: the twist of the steady roll, whose load rolls no more either.

    Twist and its rolling moment grow as the speed squared, those of the flaps' deflection alone as well; they
    are equal and opposite at V / sqrt(ratio). The twist does not turn the air's load in between.
    """
    wing = situation.model.wing
    steady = next((k for name, k in columns.items() if name.startswith("steady roll (starboard")), None)
    if wing.elevons is None or steady is None:
        return math.nan
    analysis = Analysis(situation.model, flown, steady, situation.flight, 1.0, {})
    y, twist = wing_twist(analysis, steady)
    out = y[y >= 0]
    odd = (np.interp(out, y, twist) - np.interp(-out, y, twist)) / 2
    flap = flap_lift(situation.planform, wing.elevons)
    own = flap.arm(flap.roll) * wing.elevons.deflection
    ratio = -rolling_moment(situation.planform, out, odd) / own
    speed = throws(situation)[0].speed
    return speed / math.sqrt(ratio) if ratio > 0 else math.inf


def _held(situation: Situation, case: CaseLoads, known: Build) -> tuple[Analysis, Margins, Margins]:
    """A case in which the wing is held, its margins with all sheeting whole and with sheeting that bows."""
    model, supports = situation.model, Supports.none()
    for nodes, freedoms in case.held:
        supports = supports + Supports.fixed(nodes, freedoms)
    factor = factorise(situation.assembly, supports)
    solution = statics(factor, Loads(case.nodal))
    analysis = Analysis(model, solution, 0, situation.flight, case.load_factor, solution.recover(0))
    whole = check(analysis, build=known)
    kept = replace(solution, factor=factor)  # of a large wing it takes much room: no longer than it is wanted
    return analysis, whole, margins_bowed(model, kept, [analysis], [whole], known)[0]


def _bowed(
    cases: list[CaseLoads],
    n_built: int,
    analyses: list[Analysis],
    margins: list[Margins],
    known: Build,
    rough: bool,
) -> list[Margins]:
    """Margins with sheeting that bows, of cases in which nothing holds the wing; those from a number on are
    of the bent wing.

    All are settled at once, but as if wings as built, bent in a pull-up, bent elsewhere and on the ground
    were alone: the pull-up must not hang on which others are asked for, nor what a wing bears in the air be
    left at its bound since it is dropped hard.
    """

    def apart(k: int) -> int:
        if cases[k].kind not in IN_THE_AIR:
            return 3
        return 0 if k < n_built else 1 if cases[k].keeps == "trim" else 2

    free = [k for k, case in enumerate(cases) if not case.held]
    out = list(margins)
    if free:
        group = [apart(k) for k in free]
        some = [analyses[k] for k in free]
        model, solution, of_free = some[0].model, some[0].solution, [margins[k] for k in free]
        found = margins_bowed(model, solution, some, of_free, known, group, rough=rough)
        for k, one in zip(free, found):
            out[k] = one
    return out


def _result(
    situation: Situation, case: CaseLoads, analysis: Analysis, whole: Margins, margins: Margins
) -> CaseResult:
    model, solution, k = analysis.model, analysis.solution, analysis.case
    rows = with_joints(model.wing, margins).rows
    y, twist = wing_twist(analysis, k)
    moves = from_centre(model, solution.displacements[:, :, k])
    port = (y >= 0, -1) if model.half else (y <= 0, 0)
    sides = (port, (y >= 0, -1))
    bows = [m for m in whole.secondary if m.reserve_factor < 1 and named(m.mode).remains is BOWS]
    return CaseResult(
        case,
        rows[0].reserve_factor if rows else math.inf,
        rows[0] if rows else None,
        bows[0] if bows else None,
        np.array([_largest(twist[side]) for side, _ in sides]),
        np.array([_tip(situation, moves, end) for _, end in sides]),
        solution.checks,
        margins,
        rows,
        analysis,
        Bowing(
            whole.rows,
            rows,
            bows_from(whole),
            margins.rows[0].reserve_factor if margins.rows else math.inf,
        ),
    )


def _largest(values: Array) -> float:
    return float(values[np.argmax(np.abs(values))])


def _tip(situation: Situation, moves: Array, end: int) -> float:
    """Upward movement of the spar caps farthest out on one side against those at the centre, m."""
    model = situation.model
    there = np.flatnonzero((model.cap_nodes >= 0).all(axis=1).any(axis=0))
    j = int(there[end])
    caps = model.cap_nodes[:, :, j].ravel()
    tip, centre = moves[caps[caps >= 0], 2].mean(), moves[model.centre_caps, 2].mean()
    return float(tip - centre)


def sentences(study: LoadStudy) -> list[str]:
    """The answer in words."""
    # To be lifted by a tip is handling, told apart.
    ranked = sorted(study.ranked, key=lambda one: one.case.kind == "carrying")
    hardest = ranked[0]
    if hardest.harder.weakest is None:
        return ["Nothing is loaded, so nothing fails."]
    out = [f"Hardest case: {hardest.name}, {_words(hardest)}. It is {hardest.case.acts}."]
    if len(ranked) > 1 and ranked[1].harder.weakest is not None:
        out.append(f"Second: {ranked[1].name}, {_words(ranked[1])}.")
    failed = [one for one in ranked if one.harder.reserve < 1]
    if failed:
        names = ", ".join(one.name for one in failed)
        out.append(f"In mean wood the wing fails {len(failed)} of {len(ranked)} cases: {names}.")
    else:
        out.append(f"In mean wood the wing survives all {len(ranked)} cases.")
    if any(one.case.kind == "carrying" for one in failed):
        out.append("Do not lift it by the tips: carry it with a hand under the centre section.")
    out += _of_bent(study)
    needed = servo(study.situation)
    if needed is not None and study.wing.elevons is not None:
        out.append(servo_words(needed, study.wing.elevons))
    out += _of_twist(study)
    bowed = [one for one in study.cases if one.bows is not None]
    if bowed:
        out.append(
            f"Sheeting bows in {len(bowed)} of {len(ranked)} cases; then more of the bending goes to the "
            "caps, which the reserves count; deflection and twist do not."
        )
    return out


def _of_bent(study: LoadStudy) -> list[str]:
    """Where the bent wing's own lift is harder, and where that is not known."""
    told = [one for one in study.cases if one.bent is not None and one.bent.weakest is not None]
    out = []
    if told:
        harder = [one for one in told if one.harder is not one]
        one = min(harder or told, key=lambda each: each.harder.reserve)
        assert one.bent is not None
        which = f"in {len(harder)} of {len(told)} cases the latter" if harder else "in all the former"
        out.append(
            f"Of lift as built and lift where the bent wing puts it the harder counts, {which}: {one.name} "
            f"has reserve factor {rounded_down(one.reserve)} as built and {rounded_down(one.bent.reserve)} "
            "bent."
        )
    near = [one for one in study.cases if one.bent is None and not math.isnan(one.ends)]
    if near:
        flown = len(told) + len(near)
        where = f"{len(near)} of {flown} cases" if len(near) > 1 else near[0].name
        out.append(
            f"Counted as built alone: {where}, faster than nine tenths of "
            "the speed at which it twists off, or twists as fast as what balances it."
        )
    return out


def movement(one: CaseResult, wing: Wing) -> small_movements.Movement:
    """How far a wing moves in a case, the side that moves more."""
    return small_movements.of_tip(
        wing, float(np.abs(one.tip_deflection).max()), float(np.abs(one.twist).max())
    )


def far(study: LoadStudy) -> tuple[small_movements.Movement, str | None]:
    """The movement of the case that moves farthest, and what is said where that is too far."""
    moved = [(one.name, movement(one, study.wing)) for one in study.cases]
    return max((one for _, one in moved), key=lambda one: one.beyond), small_movements.worst(moved, "case")


def _of_twist(study: LoadStudy) -> list[str]:
    """Words on reversal, and on movements beyond small ones."""
    out = []
    elevons = study.wing.elevons
    if elevons is not None and math.isfinite(study.reversal):
        flown = throws(study.situation)[-1].speed
        name = "Ailerons" if elevons.acts == "roll" else "Elevons"
        where = "below" if study.reversal < flown else "above"
        end = ": the wing is too soft in twist for them." if where == "below" else "."
        out.append(
            f"{name} twist the wing against themselves and lose all their grip near "
            f"{say.speed(study.reversal):.0f} (an estimate), {where} the {say.speed(flown):.0f} at which "
            f"they are thrown{end}"
        )
    said = far(study)[1]
    if said is not None:
        out.append(f"{said} Covering adds no stiffness here.")
    return out


def _words(one: CaseResult) -> str:
    hard = one.harder
    assert hard.weakest is not None
    return f"reserve factor {rounded_down(hard.reserve)}, by {hard.weakest.part.name} ({hard.weakest.mode})"
