"""The verdict on a wing: what it bears and whether that is enough, computed once, for whoever says it.

Fit means: of the wings that are built from the file, the share that the file wants (`case.survive`) survives
every case in the air and at launch that is asked, its centre of gravity does not lie behind the range wanted,
it is flown in none of them at nine tenths or more of the speed at which it twists off, and it does not beat
at the speed asked, where that was looked at. Landing and carrying are told
beside it: what they break does not end a flight. Caps butted on their brace count in every case, and sheeting
that bows in all but those in which the wing is held. In a case that is flown at a speed every part and mode
counts by the harder of two loads: lift as the wing is built, and lift where the bent and twisted wing puts it
(`models.loads.elastic_lift`). The twist hangs on stiffness, which scatters as strength does: of a wing that
is stiffer, or softer, than mean wood the load lies elsewhere between the two, so that what the twist takes
off is told and not counted, and what it adds is. From nine tenths of the speed at which it twists off what it
adds counts as of nine tenths, so that no wing seems better for being flown faster. Strengths and stiffness
scatter as in `models.studies.scatter.quick`, in the same wood in every case: with slopes by stiffness in the
pull-up, on the nominal stresses in the others; the lift of the bent wing is that of mean wood. The engine's
shaking and the corners of the flight envelope are not in it.

What is printed of it is rounded down, by `down`.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from models import units_out as say
from models.analysis import Analysis
from models.covering import cover
from models.loads.cases import IN_THE_AIR, KINDS, PULL_UP
from models.loads.elastic_lift import TOO_NEAR
from models.session import Session
from models.strength import Margin, Margins, brace_joint, down, sentence
from models.strength.counted import JOINER, JOINT, harder
from models.strength.margin import happens
from models.strength.solved import Build
from models.studies.balance import Balance, balance, off_by
from models.studies.bowed import Bowing
from models.studies.load_cases import LoadStudy, load_cases
from models.studies.proof import Proof, proof
from models.studies.scatter.quick import ALONE, TOGETHER, Loaded, Quick, quick_cases
from models.studies.speed_limit import Limit
from models.wing.parts import Spar, Wing
from models.wing.words import spar_words

ABOUT = (
    "Fit: that share of such wings survives every case in the air and at launch, the centre of gravity "
    "lies no farther aft than wanted, and none of those cases is flown at nine tenths or more of the speed"
    " at which the bare wing twists off or trim ends (not looked at as a roll begins, nor where film "
    "stiffens the wing: `sparbay speed`). Shares, and figures of one wing in twenty, are of strengths "
    "drawn on the stresses in mean wood: within 3 % of `sparbay scatter` on the shipped wings in the pull-"
    "up; in the cases beside it without slopes by stiffness, which was up to 7 % low. Flown cases count "
    "the harder of lift as built and lift where the bent wing puts it at the speed of the case (small "
    "angles, no stall); landing, launch and carrying have no speed that bends it. Figures are rounded "
    "down."
)
TRIAL_SAMPLES = 3000
"""Wings that a trial draws."""


@dataclass(frozen=True)
class CaseVerdict:
    """What a wing bears in one case, as reserve factors on what is asked.

    Parameters
    ----------
    name, kind, acts : str
        Of the case, as in `models.loads.cases`.
    load_factor : float
        n that is asked.
    mean : float
        In mean wood.
    fifth : float
        In one wing of twenty.
    survive : float
        Share of the wings that survive it.
    first : Margin or None
        What goes first in mean wood; None where nothing is loaded.
    fate : str
        What becomes of it, in words.
    rows : tuple of Margin
        Parts and modes that count, the least first; each by the harder of the two loads.
    speed : float
        At which the bent wing was looked at, m/s; 0 where a case has none.
    ends : float
        Speed at which that ends, m/s: the wing twists off, or as fast as what keeps its balance; infinite if
        never, NaN where it was not looked at.
    built : float
        In mean wood, of the wing as built alone.
    bent : float or None
        In mean wood, of the bent wing alone; None where it was not looked at, or
        `models.loads.elastic_lift.Influence.bent` tells nothing.
    """

    name: str
    kind: str
    acts: str
    load_factor: float
    mean: float
    fifth: float
    survive: float
    first: Margin | None
    fate: str
    rows: tuple[Margin, ...]
    speed: float = 0.0
    ends: float = math.nan
    built: float = math.nan
    bent: float | None = None

    @property
    def untold(self) -> bool:
        """It was looked at and is flown too near where the bent wing's answer ends: counted as built."""
        return self.bent is None and not math.isnan(self.ends)

    @property
    def over(self) -> float:
        """Speed over nine tenths of that at which the wing twists off or trim ends; 0 where the bent wing was
        not looked at or nothing is told of it."""
        return 0.0 if self.bent is None else self.speed / (TOO_NEAR * self.ends)


@dataclass(frozen=True)
class Bends:
    """The pull-up by its two loads apart.

    Parameters
    ----------
    speed : float
        Of the pull-up, m/s.
    stated : bool
        The file gives it; else it follows from the lift coefficient of the case.
    ends : float
        Speed at which it twists off, or as fast as it is trimmed, m/s; infinite if never.
    built : float
        Load factor at first failure in mean wood with lift as the wing is built.
    built_rows : tuple of Margin
        Parts and modes that count then, the least first.
    failing : float or None
        The same with the lift where the bent and twisted wing puts it, the twist following the load at that
        speed, as `CaseVerdict.bent` has it.
    first : Margin or None
        What goes first then.
    """

    speed: float
    stated: bool
    ends: float
    built: float
    built_rows: tuple[Margin, ...]
    failing: float | None
    first: Margin | None

    @property
    def counts(self) -> bool:
        """The bent wing fails first."""
        return self.failing is not None and self.failing < self.built


@dataclass(frozen=True)
class Verdict:
    """What decides about a flying wing.

    Parameters
    ----------
    wing : str
        Its name.
    wanted : float
        Share of the wings that must survive.
    pull_up : CaseVerdict
        The load of the file, sheeting bowed as far as it is.
    others : tuple of CaseVerdict
        In the air and at launch, the hardest first; empty while they are not worked out.
    ground : tuple of CaseVerdict
        Landing and carrying, the hardest first; their shares are those of wings left whole.
    survive : float
        Share of the wings that survive all that is asked in the air and at launch.
    whole : float
        Load factor at first failure in mean wood with sheeting taken as whole.
    harms : Margin or None
        What gives way first without ending the flight, below the failing load; `None` where nothing does.
    cut, unsaid : tuple of str
        Spars whose caps are taken as butted on their brace, and spars that kink where nothing joins them.
    covered : float or None
        Load factor that the covered wing bears in mean wood; None where no covering has stiffness.
    balanced : bool or None
        Within the range wanted; None where the file has only part of the aeroplane.
    behind : float or None
        How far the centre of gravity lies behind the rear end of that range, with full or empty tank,
        whichever is farther; m, below nought ahead of it. None where the file has only part of the aeroplane.
    test : float
        Load factor up to which a static test does no harm to a sound wing.
    complete : bool
        All cases were worked out; else the pull-up alone.
    shortfall : float
        Mean over the wings of ln(1/reserve factor) of those that fail, in the pull-up and in the worst of the
        other cases in the air, how far it balances too far aft in mean chords, and ln of how much too fast it
        is asked to fly for what it twists: 0 where all survive. It grows less by every change for the better,
        also where no wing survives yet.
    mass : float
        Of the wing with all that it carries, kg.
    speed : Limit or None
        How fast it may be flown; None where that was not looked at.
    bends : Bends or None
        The pull-up by its two loads apart, of which the harder counts; None where it was not worked out.
    """

    wing: str
    wanted: float
    pull_up: CaseVerdict
    others: tuple[CaseVerdict, ...]
    ground: tuple[CaseVerdict, ...]
    survive: float
    whole: float
    harms: Margin | None
    cut: tuple[str, ...]
    unsaid: tuple[str, ...]
    covered: float | None
    balanced: bool | None
    behind: float | None
    test: float
    complete: bool
    shortfall: float
    mass: float
    speed: Limit | None = None
    bends: Bends | None = None

    @property
    def asked(self) -> float:
        """Load factor of the pull-up."""
        return self.pull_up.load_factor

    @property
    def failing(self) -> float:
        """Load factor at which the wing fails in mean wood, covered or bare, whichever is less."""
        bare = self.pull_up.mean * self.asked
        return bare if self.covered is None else min(bare, self.covered)

    @property
    def fifth(self) -> float:
        """Load factor at which one wing in twenty has failed."""
        return self.pull_up.fifth * self.asked

    @property
    def hardest(self) -> CaseVerdict:
        """Of the cases asked for in the air and at launch, the one that fewest wings survive."""
        return min((self.pull_up, *self.others), key=lambda one: (one.survive, one.fifth))

    @property
    def governing(self) -> CaseVerdict:
        """Of those cases the one that breaks the wing at the least share of its load in mean wood."""
        return min((self.pull_up, *self.others), key=lambda one: one.mean)

    @property
    def least(self) -> float:
        """That share, in the pull-up of the covered wing where that bears less; infinite where nothing is
        loaded."""
        return min(self.governing.mean, self.failing / self.asked)

    @property
    def tail_heavy(self) -> bool:
        """It balances behind the range wanted."""
        return self.behind is not None and self.behind > 0

    @property
    def strong(self) -> bool:
        """Enough wings survive all that is asked."""
        return self.survive >= self.wanted and self.failing >= self.asked

    @property
    def twists_off(self) -> CaseVerdict | None:
        """The case that is flown farthest beyond nine tenths of the speed at which the wing twists off or
        trim ends; None where none is."""
        worst = max((self.pull_up, *self.others), key=lambda one: one.over)
        return worst if worst.over >= 1 else None

    @property
    def fit(self) -> bool:
        """Enough wings survive all that is asked, it is not tail-heavy, and the speeds asked are let."""
        let = self.twists_off is None and (self.speed is None or self.speed.holds)
        return self.strong and not self.tail_heavy and let


def verdict(
    wing: Wing,
    *,
    per_bay: int = 4,
    session: Session | None = None,
    tested: Proof | None = None,
    cases: LoadStudy | None = None,
    covered: float | None = None,
    alone: bool = False,
    speed: Limit | None = None,
    test: bool = True,
    landing: bool = True,
) -> Verdict:
    """Work out the verdict on a flying wing.

    Parameters
    ----------
    wing : Wing
        As read; with a planform.
    per_bay : int, default 4
        Elements along a bay.
    session : Session or None
        Of the wing, where there is one; its mesh is taken, and what it has solved.
    tested : Proof or None
        Of the wing, where it is there already.
    cases : LoadStudy or None
        The same.
    covered : float or None
        Load factor that the covered wing bears in mean wood, where it is known already.
    alone : bool, default False
        The pull-up alone.
    speed : Limit or None
        Where it was looked at how fast the wing may fly.
    test : bool, default True
        How far a static test may go is wanted; else it is NaN where no proof test is handed over.
    landing : bool, default True
        What landing and carrying break is wanted too.
    """
    session = Session(wing, per_bay=per_bay) if session is None else session
    if tested is None:
        tested = proof(wing, session=session, failure_alone=not test)
        highest = tested.highest if test else math.nan
    else:
        highest = tested.highest
    known = None
    if cases is None:
        only, kinds = {PULL_UP} if alone else None, KINDS if landing else IN_THE_AIR
        cases = load_cases(wing, session=session, bent=None, only=only, kinds=kinds)
        known = None if alone else session.both.build
    assert tested.analysis is not None, "a proof test that was worked out has its analysis"
    first, drawn, bends = _pulled_up(tested, cases, tested.analysis, session.side.build)
    others: tuple[CaseVerdict, ...] = ()
    ground: tuple[CaseVerdict, ...] = ()
    survive = drawn.survive
    shortfall = _shortfall([drawn])
    if not alone:
        found = _others(cases, build=known)
        flown = [(one, many) for one, many in found if one.kind in IN_THE_AIR]
        beside = [(one, many) for one, many in flown if one.name != first.name]
        others = _hardest_first([one for one, _ in beside])
        ground = _hardest_first([one for one, _ in found if one.kind not in IN_THE_AIR])
        shortfall += _shortfall([many for _, many in beside])
        survive = _all(drawn, flown, first.name)
    if covered is None and wing.coverings:
        found_covered = cover(wing, per_bay=session.per_bay, rigid_joints=session.rigid_joints, bent=True)
        covered = None if found_covered is None else found_covered.least_load
    balanced = balance(wing, model=tested.analysis.model, assembly=tested.analysis.solution.assembly)
    lesser = [
        row
        for row in tested.failing
        if row.reason and row.mode not in (*JOINT, *JOINER) and row.reserve_factor < first.mean
    ]
    return Verdict(
        wing.name,
        wing.case.survive,
        first,
        others,
        ground,
        survive,
        tested.whole,
        min(lesser, key=lambda row: row.reserve_factor, default=None),
        *_joints(wing, first.rows),
        covered,
        balanced.inside,
        balanced.behind,
        highest,
        not alone,
        shortfall + _tail_heavy(balanced) + _over((first, *others)),
        0.0 if tested.analysis.pull_up is None else tested.analysis.pull_up.wing_mass,
        speed,
        bends,
    )


def _pulled_up(
    tested: Proof, cases: LoadStudy, sound: Analysis, build: Build
) -> tuple[CaseVerdict, Quick, Bends | None]:
    """The pull-up, by the harder of its two loads."""
    asked = tested.asked
    assert tested.bowing is not None, "a proof test that was worked out has it"
    # The rows of the settled state are reserves on the load asked for, as the wing is at its first failure.
    built = tested.bowing.bowed
    bends, bent = _bends(cases, built, sound)
    loads = [tested.bowing] if bent is None else [tested.bowing, bent]
    rows = harder(*(one.bowed for one in loads))
    drawn = quick_cases([Loaded(rows, sound, True, _as_bowed(loads))], samples=ALONE, build=build)[0]
    first = _case(PULL_UP, "flight", f"{down(asked)} g, trimmed", asked, rows, drawn)
    if bends is not None:
        told = None if bends.failing is None else bends.failing / asked
        first = replace(first, speed=bends.speed, ends=bends.ends, built=bends.built / asked, bent=told)
    return first, drawn, bends


def _as_bowed(loads: Sequence[Bowing]) -> Callable[[float, float], Sequence[Margin]] | None:
    """Reserves by the harder of one or two loads at another multiple of them, as `Bowing.at` has them; None
    where they do not hang on it."""
    if not any(one.counts for one in loads):
        return None
    return lambda multiple, within: harder(*(one.at(multiple, within) for one in loads))


def _bends(cases: LoadStudy, built: Sequence[Margin], side: Analysis) -> tuple[Bends | None, Bowing | None]:
    """The pull-up by its two loads apart, and what counts of the bent wing on the side that is solved; None
    where that is not known."""
    found = next((one for one in cases.cases if one.name == PULL_UP), None)
    if found is None or math.isnan(found.ends):
        return None, None
    asked, own = found.case.load_factor, set(side.model.parts)
    bent = found.bent
    rows = [] if bent is None else [row for row in bent.rows if row.part in own]
    bends = Bends(
        found.case.speed,
        bool(cases.wing.case.speed),
        found.ends,
        built[0].reserve_factor * asked if built else math.inf,
        tuple(built),
        rows[0].reserve_factor * asked if rows else None,
        rows[0] if rows else None,
    )
    return bends, None if bent is None else replace(bent.bowing, bowed=rows)


def trial(wing: Wing, names: Collection[str], *, per_bay: int = 4) -> Verdict:
    """The verdict on a wing that is only tried: in the pull-up and some other cases, on one build of both
    sides (of one in the pull-up alone, if they are alike), without slopes by stiffness, without covering and
    without what becomes of it on the ground.

    Other cases by their names. Not complete: to be held against that of another trial of the same cases."""
    study = load_cases(wing, per_bay=per_bay, only={PULL_UP, *names}, bent=None, rough=True)
    found = _others(study, TRIAL_SAMPLES)
    (first, drawn), *rest = found
    balanced = balance(wing, model=study.situation.model, assembly=study.situation.assembly)
    return Verdict(
        wing.name,
        wing.case.survive,
        first,
        _hardest_first([one for one, _ in rest]),
        (),
        float(np.mean([np.min([many.reserve for _, many in found], axis=0) >= 1])),
        first.mean * first.load_factor,
        None,
        *_joints(wing, first.rows),
        None,
        balanced.inside,
        balanced.behind,
        np.inf,
        False,
        _shortfall([drawn])
        + _shortfall([many for _, many in rest])
        + _tail_heavy(balanced)
        + _over([one for one, _ in found]),
        study.situation.flight.wing_mass,
    )


def _hardest_first(cases: Sequence[CaseVerdict]) -> tuple[CaseVerdict, ...]:
    return tuple(sorted(cases, key=lambda one: (one.survive, one.fifth)))


def _tail_heavy(found: Balance) -> float:
    """How far it balances behind the range wanted, in mean chords."""
    return 0.0 if found.behind is None else max(found.behind, 0.0) / found.mean_chord


def _over(cases: Sequence[CaseVerdict]) -> float:
    """ln of how much too fast the worst of its cases is for what the wing bears of twist."""
    return max(math.log(max(one.over, 1.0)) for one in cases)


def _shortfall(drawn: Sequence[Quick]) -> float:
    """Mean of ln(1/reserve factor) of the wings that fail, in the worst case of each."""
    if not drawn:
        return 0.0
    worst = np.min([one.reserve for one in drawn], axis=0)
    return float(np.mean(np.maximum(-np.log(np.maximum(worst, 1e-12)), 0.0)))


def _case(
    name: str, kind: str, acts: str, load_factor: float, rows: Sequence[Margin], drawn: Quick
) -> CaseVerdict:
    return CaseVerdict(
        name,
        kind,
        acts,
        load_factor,
        drawn.nominal,
        drawn.fifth,
        drawn.survive,
        rows[0] if rows else None,
        happens(rows) if rows else "",
        tuple(rows),
    )


def _others(
    study: LoadStudy, samples: int = TOGETHER, build: Build | None = None
) -> list[tuple[CaseVerdict, Quick]]:
    """All cases of a study in the same wood, on the nominal stresses."""
    loads = [[one.bowing] if one.bent is None else [one.bowing, one.bent.bowing] for one in study.cases]
    rows = [harder(*(one.bowed for one in of_case)) for of_case in loads]
    every = quick_cases(
        [Loaded(rows[k], one.analysis, at=_as_bowed(loads[k])) for k, one in enumerate(study.cases)],
        samples=samples,
        build=build,
    )

    def told(k: int) -> CaseVerdict:
        one = study.cases[k]
        found = _case(one.name, one.case.kind, one.case.acts, one.case.load_factor, rows[k], every[k])
        return replace(
            found,
            speed=one.case.speed,
            ends=one.ends,
            built=one.reserve,
            bent=one.bent.reserve if one.bent is not None and one.bent.rows else None,
        )

    return [(told(k), drawn) for k, drawn in enumerate(every)]


def _all(drawn: Quick, flown: list[tuple[CaseVerdict, Quick]], first: str) -> float:
    """Share of the wings that survive everything in the air: those of the pull-up, by the share of them that
    the other cases leave in the same wood; never more than survive the hardest case."""
    if not flown:
        return drawn.survive
    borne = next((many.reserve >= 1 for one, many in flown if one.name == first), np.ones(1, dtype=bool))
    wings = np.all([many.reserve >= 1 for _, many in flown], axis=0)
    left = drawn.survive * float(wings.mean() / max(borne.mean(), 1 / len(wings)))
    return min([left, *(many.survive for one, many in flown if one.name != first)])


def _joints(wing: Wing, rows: Sequence[Margin]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Spars taken as butted since they kink and their file does not say, and kinked ones without a brace."""
    braced = {row.spar for row in rows if row.mode in JOINT}
    butted = tuple(s.name for s in wing.spars if s.name in braced and not s.joint)
    return butted, unheld(wing)


def unheld(wing: Wing) -> tuple[str, ...]:
    """Names of spars whose caps are cut somewhere with neither a brace nor a joiner across."""
    return tuple(s.name for s in wing.spars if any(_bare(wing, s, y) for y in brace_joint.joints(s, s.y_end)))


def _bare(wing: Wing, spar: Spar, y: float) -> bool:
    """Whether a spar's caps are cut at a joint (y in m) where neither a brace nor a joiner holds them."""
    held = [b for b in wing.braces if b.spar == spar.name and b.y_end > y + 1e-9]
    # Beside a joiner on the centre line a spar that is cut hands its load to it.
    there = [j for j in wing.joiners if abs(j.at - y) < 1e-3 and (y < 1e-9 or j.spar == spar.name)]
    return brace_joint.cut(spar, y) and not held and not there


def share(value: float) -> str:
    """A share of wings in a hundred, rounded down."""
    return f"{down(100 * value, 0)} of 100"


def sentences(found: Verdict, against: Sequence[str] = ()) -> list[str]:
    """The verdict in words. `against`: what was looked at beside it and speaks against flying."""
    hardest = found.hardest
    what = f"the {down(found.asked)} g asked for" if not found.others else "all that is asked in the air"
    alone = "" if found.complete else " Pull-up alone: the other cases are still being worked out."
    survive = (
        f"{share(found.survive)} such wings survive {what}, {down(100 * found.wanted, 0)} are wanted.{alone}"
    )
    why = _why_not(found)
    if found.fit and against:
        begins = f"Fit by strength, but not fit to fly as drawn: {'; '.join(against)}. "
    elif why:
        begins = f"Not fit to fly as drawn: {why}. "
    elif found.fit and found.speed is not None and math.isfinite(found.speed.advised):
        begins = f"Fit to fly as drawn, up to {say.speed.at_most(found.speed.advised)}: "
    else:
        begins = f"{'Fit' if found.fit else 'Not fit'} to fly as drawn: "
    said = [begins + survive, pull_up_sentence(found), *bent_words(found)]
    if against and not found.fit:
        said.append(f"Against flying it speaks also: {'; '.join(against)}.")
    if hardest is not found.pull_up:
        said.append(
            f"Hardest is {hardest.name}: reserve factor {down(hardest.mean, 2)} in mean wood"
            f"{_as_built(hardest)}, "
            f"{down(hardest.fifth, 2)} in one wing of twenty; {share(hardest.survive)} survive it"
            + (f"; first goes {name(hardest.first)}." if hardest.first is not None else ".")
        )
    said += remarks(found)
    if found.speed is not None and not found.speed.holds:
        said.append("What lets it fly faster: `sparbay speed`.")
    if (not found.strong or found.twists_off is not None) and found.complete:
        said.append("What to change, each change solved: `sparbay mend`.")
    return said


def _why_not(found: Verdict) -> str:
    """What makes a wing unfit beside its strength; empty where nothing does."""
    if found.tail_heavy:
        return f"it does not balance, {_too_far_aft(found)}"
    if found.twists_off is not None:
        # Strips and the lattice differ: where both were asked, the lower is told, as the limit of speed does.
        ends, fast = found.twists_off.ends, found.speed
        if fast is not None and fast.first in ("twist-off", "trim"):
            ends = min(ends, fast.onset)
        alone = " (by the lattice alone)" if fast is None else ""
        return f"it twists off, or trim ends, near {say.speed(ends):.0f}{alone}"
    if found.speed is not None and not found.speed.holds:
        return "it is asked to fly too fast"
    return ""


def in_short(found: Verdict) -> list[str]:
    """The first two sentences: whether it is fit, and what it bears in the pull-up."""
    return sentences(found)[:2]


def first_failure(found: Verdict, margins: Margins) -> str:
    """What fails first in the pull-up with lift as the wing is built, in mean wood, with sheeting bowed as
    far as it is there: for pictures, which show the wing so. `margins` are of its pull-up, all sheeting
    whole."""
    if found.bends is None or not found.bends.counts:
        return sentence(replace(margins, rows=found.pull_up.rows))
    said = sentence(replace(margins, rows=found.bends.built_rows))
    return f"{said.removesuffix('.')} (lift as built)."


def pull_up_sentence(found: Verdict) -> str:
    """What the wing bears in the pull-up, and what goes first."""
    first = found.pull_up.first
    if first is None:
        return "Nothing is loaded in the pull-up, so nothing fails."
    return (
        f"The pull-up asked for is {down(found.asked)} g; it fails at {down(found.failing)} g in mean wood "
        f"and at {down(found.fifth)} g in one wing of twenty: {first.part.name} {found.pull_up.fate}."
    )


def _as_built(one: CaseVerdict) -> str:
    """In brackets, what the bent wing takes from a case."""
    if one.bent is None or one.bent >= one.built or down(one.built, 2) == down(one.bent, 2):
        return ""
    return f" (as built {down(one.built, 2)}, the bent wing less)"


def _both_loads(bends: Bends, speed: str, beside: str) -> list[str]:
    """Which load of the pull-up counts and what the other fails at; nothing where one alone is known."""
    if bends.failing is None or bends.first is None or not bends.built_rows:
        return []
    if bends.counts:
        guess = "" if bends.stated else " (no speed in the file: of its lift coefficient)"
        return [
            f"That is with its lift where the bent wing puts it at {speed}{guess}; as built it fails at "
            f"{down(bends.built)} g{beside}, by {name(bends.built_rows[0])}."
        ]
    return [
        f"That is with its lift as built; where the bent wing puts it at {speed} it fails at "
        f"{down(bends.failing)} g{beside}, by {name(bends.first)}: a relief that hangs on stiffness, "
        "which scatters, and is not counted."
    ]


def bent_words(found: Verdict) -> list[str]:
    """Which of its two loads the pull-up counts and what the other fails at, and in which cases none is known
    of the bent wing; nothing if not looked at."""
    bends = found.bends
    if bends is None:
        return []
    near = f"near {say.speed(bends.ends):.0f} it twists off, or as fast as it is trimmed"
    speed = f"{say.speed(bends.speed):.0f}"
    if found.pull_up.over >= 1:
        speed = f"nine tenths of that speed, for one of {speed}"
    said = _both_loads(bends, speed, "" if found.covered is None else ", bare")
    untold = [one.name for one in found.others if one.untold]
    if found.pull_up.untold:
        more = f" and {len(untold)} more {'case' if len(untold) == 1 else 'cases'}" if untold else ""
        said.append(
            f"What its own twist adds bare is not known, and not counted, in the pull-up at {speed}{more}: "
            f"{near}."
        )
    elif untold:
        where = untold[0] if len(untold) == 1 else f"{len(untold)} cases, {untold[0]} among them"
        said.append(
            f"What its own twist adds is not known, and not counted, in {where}: too near where it twists "
            "off or trim ends."
        )
    return said


def name(margin: Margin) -> str:
    """Part and mode, short."""
    return f"{margin.part.name_without_side} ({margin.mode})"


def remarks(found: Verdict) -> list[str]:
    """What stands beside the verdict: speed, the ground, joints and balance."""
    said = [found.speed.sentence] if found.speed is not None and found.speed.sentence else []
    broken = [one for one in found.ground if one.mean < 1]
    landing = [one.name for one in broken if one.kind != "carrying"]
    if landing:
        said.append(f"On landing it is damaged: {', '.join(landing)}.")
    if any(one.kind == "carrying" for one in broken):
        said.append("Do not lift it by the tips: carry it with a hand under the centre section.")
    if found.cut:
        said.append(
            f"Taken as butted on its brace where it kinks, since the file does not say: {_spars(found.cut)} "
            '(`joint = "scarfed"` if it is).'
        )
    if found.unsaid:
        said.append(
            f"Not checked, for neither brace nor joiner is there where its caps kink: {_spars(found.unsaid)}."
        )
    if found.balanced is False and not found.tail_heavy:
        said.append("It balances ahead of the range wanted (`sparbay balance`), which is no danger.")
    return said


def _too_far_aft(found: Verdict) -> str:
    """By how much."""
    assert found.behind is not None
    return f"{off_by(found.behind)} {say.length.unit} too far aft (`sparbay balance`)"


def _spars(names: Sequence[str]) -> str:
    return ", ".join(map(spar_words, names))


def record(found: Verdict) -> dict[str, Any]:
    """The verdict as plain data; figures as they are, not rounded."""
    return {
        "fit": found.fit,
        "complete": found.complete,
        "load_factor_asked": found.asked,
        "load_factor_failing_mean_wood": found.failing,
        "load_factor_failing_one_in_twenty": found.fifth,
        "share_surviving_pull_up": found.pull_up.survive,
        "share_surviving_all": found.survive,
        "share_wanted": found.wanted,
        "hardest": _case_record(found.hardest),
        "cases": [_case_record(one) for one in (found.pull_up, *found.others, *found.ground)],
        "harms_first": None
        if found.harms is None
        else {
            "part": found.harms.part.name,
            "mode": found.harms.mode,
            "load_factor": found.harms.reserve_factor * found.asked,
            "reason": found.harms.reason,
        },
        "spars_taken_as_butted": list(found.cut),
        "spars_without_brace": list(found.unsaid),
        "load_factor_covered": found.covered,
        "balanced": found.balanced,
        "centre_of_gravity_behind_range_m": found.behind,
        "load_factor_of_test": found.test,
        "speed": None if found.speed is None else found.speed.record(),
        "twists_off_in": None if found.twists_off is None else found.twists_off.name,
        "bent": None if found.bends is None else _bent_record(found.bends),
        "about": ABOUT,
        "sentences": sentences(found),
    }


def brief(found: Verdict) -> dict[str, Any]:
    """The verdict in its figures alone, as `record` has them."""
    governing, first = found.governing, found.pull_up.first
    return {
        "load_factor_failing_mean_wood": found.failing if np.isfinite(found.failing) else None,
        "load_factor_failing_one_in_twenty": found.fifth if np.isfinite(found.fifth) else None,
        "part": None if first is None else first.part.name,
        "mode": None if first is None else first.mode,
        "share_surviving_all": found.survive,
        "governing_case": governing.name,
        "governing_reserve_factor_mean_wood": found.least if np.isfinite(found.least) else None,
        "governing_part": None if governing.first is None else governing.first.part.name,
        "governing_mode": None if governing.first is None else governing.first.mode,
        "fit": found.fit,
    }


def _bent_record(bends: Bends) -> dict[str, Any]:
    return {
        "speed_m_per_s": bends.speed,
        "load_factor_failing_as_built": bends.built if np.isfinite(bends.built) else None,
        "ends_at_m_per_s": bends.ends if np.isfinite(bends.ends) else None,
        "load_factor_failing_mean_wood": bends.failing,
        "part": None if bends.first is None else bends.first.part.name,
        "mode": None if bends.first is None else bends.first.mode,
        "counts": bends.counts,
    }


def _case_record(one: CaseVerdict) -> dict[str, Any]:
    return {
        "case": one.name,
        "kind": one.kind,
        "acts": one.acts,
        "asked_of_fit": one.kind in IN_THE_AIR,
        "reserve_factor_mean_wood": one.mean,
        "reserve_factor_as_built": None if np.isnan(one.built) else one.built,
        "reserve_factor_bent_wing": one.bent,
        "bent_wing_ends_at_m_per_s": one.ends if np.isfinite(one.ends) else None,
        "reserve_factor_one_in_twenty": one.fifth,
        "share_surviving": one.survive,
        "part": None if one.first is None else one.first.part.name,
        "mode": None if one.first is None else one.first.mode,
    }


__all__ = [
    "CaseVerdict",
    "Verdict",
    "brief",
    "down",
    "in_short",
    "record",
    "sentences",
    "share",
    "trial",
    "verdict",
]
