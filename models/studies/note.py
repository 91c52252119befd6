"""The whole picture of one wing: how it may be flown, what breaks first in every case, how it balances, what
its engine does to it, and how to test it."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass, replace

from models import units_out as say
from models.rounding import down, gees
from models.session import Session
from models.strength import Margin
from models.studies.balance import Balance, balance
from models.studies.balance import sentences as balance_sentences
from models.studies.envelope import Envelope, MassEnvelope, beyond_words, envelope, not_flown
from models.studies.load_cases import LoadStudy, far, load_cases
from models.studies.proof import Proof, proof
from models.studies.rails import CLEARANCE, RailStudy, rails
from models.studies.speed_limit import kmh, limit
from models.units_out import mass_beside_gees
from models.verdict import Verdict, verdict
from models.verdict import sentences as verdict_sentences
from models.wing.parts import Wing

_MOST_LISTED = 4
"""Failing cases that the verdict names."""
N_STEPS = 6
"""Steps that `note` reports."""
SECTIONS = ("Verdict", "In flight", "Critical case", "Weakest bay", "Balance", "Engine", "Test", "Do first")


@dataclass(frozen=True)
class Row:
    """One case with what it leaves.

    Parameters
    ----------
    group : str
        "flight", "engine", "landing", "launch" or "carrying".
    case : str
        Its name.
    acts : str
        What acts, in words.
    reserve : float
        Least reserve factor; inf where nothing is loaded.
    margin : Margin or None
        What has it.
    """

    group: str
    case: str
    acts: str
    reserve: float
    margin: Margin | None


@dataclass(frozen=True, eq=False)
class Note:
    """Everything that was worked out.

    Parameters
    ----------
    wing : Wing
        As read.
    envelope : Envelope
        Of manoeuvres and gusts, sheeting bowed as far as it is.
    cases : LoadStudy
        The pull-up and all cases beside it.
    balance : Balance
        Mass and balance.
    rails : RailStudy or None
        None without an engine on rails.
    proof : Proof
        How far a static test may go.
    verdict : Verdict
        What decides, as every command says it.
    """

    wing: Wing
    envelope: Envelope
    cases: LoadStudy
    balance: Balance
    rails: RailStudy | None
    proof: Proof
    verdict: Verdict

    @property
    def rows(self) -> list[Row]:
        """Every case, the hardest first; of the envelope its hardest corner at the hardest loading."""
        worst = self.envelope.worst
        corner = worst.critical
        out = [
            Row(
                "flight",
                corner.name,
                f"{gees(corner.load_factor)} g at {say.speed(corner.speed):.0f}, {worst.name}",
                corner.least,
                corner.weakest,
            )
        ]
        out += [
            Row(one.case.kind, one.name, one.case.acts, one.harder.reserve, one.harder.weakest)
            for one in self.cases.cases
        ]
        if self.rails is not None:
            out += [
                Row("engine", one.case.name, one.case.what, one.least, one.first) for one in self.rails.cases
            ]
        return sorted(out, key=lambda row: row.reserve)

    @property
    def shaken(self) -> bool:
        """Whether the engine's shaking meets a natural frequency."""
        return self.rails is not None and any(s.near for s in self.rails.shakers)

    @property
    def against(self) -> list[str]:
        """What speaks against flying it beside the verdict: the envelope, rails, engine."""
        beside = [row for row in self.rows if row.reserve < 1 and row.group == "engine"]
        corner = self.envelope.worst.critical
        beside += [row for row in self.rows if row.case == corner.name and row.reserve < 1]
        said = _listed(sorted(beside, key=lambda row: row.reserve))
        if self.shaken:
            said.append("the engine shakes it near a natural frequency")
        return said

    @property
    def fit(self) -> bool:
        """Fit by the verdict, and nothing speaks against it."""
        return self.verdict.fit and not self.against


def note(
    wing: Wing,
    *,
    per_bay: int = 4,
    step: Callable[[str], None] | None = None,
    session: Session | None = None,
) -> Note:
    """Work out the whole picture of a flying wing.

    Parameters
    ----------
    wing : Wing
        As read; with a planform.
    per_bay : int, default 4
        Elements along a bay.
    step : callable or None
        Told in words what begins, `N_STEPS` times.
    session : Session or None
        Of the wing, where there is one; its mesh is taken.

    Raises
    ------
    models.studies.envelope.Heavy, models.studies.envelope.Slow, models.loads.pull_up.LightAeroplane
        Masses or speeds of the file contradict each other.
    fea.solve.Mechanism
        A part can move freely.
    """
    say = step if step is not None else lambda _: None
    say("envelope of manoeuvres and gusts")
    session = Session(wing, per_bay=per_bay) if session is None else session
    flown = envelope(wing, session=session)
    say("landing, launch, elevons, carrying")
    cases = load_cases(wing, session=session, bent=None)
    say("mass and balance")
    balanced = balance(wing, model=session.side.model, assembly=session.side.assembly)
    say("engine rails")
    engine = rails(wing, per_bay=per_bay) if wing.engine is not None and wing.rails else None
    say("static test")
    tested = proof(wing, session=session)
    say("how fast")
    fast = limit(wing, session=session)
    decided = verdict(wing, session=session, tested=tested, cases=cases, speed=fast)
    return Note(wing, replace(flown, speed=fast), cases, balanced, engine, tested, decided)


def paragraphs(found: Note) -> dict[str, list[str]]:
    """The note in words. Sentences under each of `SECTIONS` that has any."""
    out = {
        "Verdict": _verdict(found),
        "In flight": _flight(found),
        "Critical case": _critical(found),
        "Weakest bay": _weakest_bay(found),
        "Balance": balance_sentences(found.balance)[:2],
        "Engine": _engine(found),
        "Test": _test(found),
        "Do first": _do_first(found),
    }
    return {name: said for name, said in out.items() if said}


def where(margin: Margin) -> str:
    """Part and mode in words, short."""
    return f"{margin.part.name_without_side} ({margin.mode})"


def _factor(reserve: float) -> str:
    """A reserve factor rounded down to two places, so that a failure is never written as 1.00."""
    return down(reserve, 2)


def _failing(found: Note, *groups: str) -> list[Row]:
    return [row for row in found.rows if row.reserve < 1 and row.group in groups]


def _verdict(found: Note) -> list[str]:
    said = verdict_sentences(found.verdict, found.against)
    if found.balance.inside is None:
        said.append("Balance is open: the file has only part of the aeroplane.")
    return said


def _listed(rows: list[Row]) -> list[str]:
    """Cases that fail, the hardest first; what goes beyond a few is counted."""
    said = [f"{row.case}, reserve factor {_factor(row.reserve)}" for row in rows[:_MOST_LISTED]]
    more = len(rows) - _MOST_LISTED
    return [*said, f"and {more} more {'case' if more == 1 else 'cases'}"] if more > 0 else said


def _flight(found: Note) -> list[str]:
    one = found.envelope.worst
    name = f" ({one.name}, {mass_beside_gees(one.mass)})" if len(found.envelope.masses) > 1 else ""
    row = one.at_cruise
    said = [
        f"Stalls at {kmh(one.stall_speed)}{name}; corner speed {kmh(one.corner_speed)}, cruise "
        f"{kmh(one.cruise)}, never exceed {kmh(one.limits.never_exceed)}.",
        *not_flown(found.envelope),
    ]
    if row.safe > 1:
        said.append(
            f"Fastest safe pull-up at cruise {gees(row.safe)} g, a loop of {say.span(row.radius):.3g} radius."
        )
    else:
        said.append("No pull-up at cruise is without harm.")
    said.append(_full_pull(one))
    said += beyond_words(found.verdict.speed, one)
    gust = min((c for c in one.corners if "gust" in c.name), key=lambda c: c.least, default=None)
    if gust is not None:
        said.append(
            f"Hardest gust: {gust.name}, {gees(gust.load_factor)} g, reserve factor {_factor(gust.least)}."
        )
    return said


def _full_pull(one: MassEnvelope) -> str:
    if one.harms is None:
        return "A full pull stalls it before it is harmed, at every speed."
    if one.breaks is not None and one.breaks.load_factor < 1:
        return "Level flight breaks it."
    harms = f"A full pull harms it above {kmh(one.harms.speed)}"
    if one.harms.load_factor < 1:
        harms = "Level flight harms it"
    if one.breaks is None:
        return f"{harms}."
    it = "a full pull" if one.harms.load_factor < 1 else ""
    return f"{harms} and {it} breaks it above {kmh(one.breaks.speed)}.".replace("  ", " ")


def _critical(found: Note) -> list[str]:
    # To be carried wrong is handling, told apart.
    row = next(row for row in found.rows if row.group != "carrying")
    if row.margin is None:
        return ["Nothing is loaded."]
    too_far = far(found.cases)[1]
    said = [
        f"Of {len(found.rows)} cases {row.case} ({row.acts}): {where(row.margin)}, reserve factor "
        f"{_factor(row.reserve)}."
    ]
    if row.group != "flight":
        air = next(r for r in found.rows if r.group == "flight")
        if air.margin is not None:
            said.append(f"In flight: {air.case} ({air.acts}), reserve factor {_factor(air.reserve)}.")
    return said if too_far is None else [*said, too_far]


def _weakest_bay(found: Note) -> list[str]:
    """Of the pull-up asked for, as the verdict has it."""
    first = found.verdict.pull_up.first
    if first is None:
        return []
    return [
        f"In the pull-up asked for, {down(found.proof.asked)} g, {where(first)} fails first, at "
        f"{down(found.verdict.failing)} g."
    ]


_ENGINE = re.compile(r"\b(engine|motor)s?\b", re.IGNORECASE)


def undescribed(wing: Wing) -> list[str]:
    """That an engine is among the masses, or on rails, and nothing says what it does."""
    if wing.engine is not None or (wing.launch is not None and wing.launch.motor):
        return []
    named = [m.name for m in wing.masses if _ENGINE.search(m.name)]
    named += [m.name for m in wing.masses if m.carried_by == "rails"]
    if not named:
        return []
    how = "[engine]" if wing.rails else "[launch] motor, of an engine on a bulkhead,"
    return [
        f"Named but not described: {named[0]}. Its thrust, torque and shaking are not looked at; give {how} "
        "to have them checked."
    ]


def _engine(found: Note) -> list[str]:
    study = found.rails
    if study is None:
        return undescribed(found.wing)
    worst, first = study.worst, study.worst.first
    said = []
    if first is not None:
        holds = "hold" if worst.least >= 1 else "do not hold"
        said.append(
            f"Rails and what carries them {holds}: least reserve factor {_factor(worst.least)}, "
            f"{worst.case.name}, {first.mode}."
        )
    near = [s for s in study.shakers if s.near]
    for shaker in near:
        said.append(
            f"Too near a natural frequency: {shaker.name}, {shaker.frequency:.0f} Hz (keep "
            f"{100 * CLEARANCE:.0f} % clear)."
        )
    if study.shakers and not near:
        said.append(
            f"No natural frequency lies within {100 * CLEARANCE:.0f} % of what the engine shakes it with at "
            "full speed."
        )
    return said


def _test(found: Note) -> list[str]:
    test = found.proof
    if not test.limits:
        return []
    said = [f"A static test may go to {down(test.highest)} g without harm to a sound wing"]
    if test.possible:
        said[0] += f"; test at {down(test.suggested)} g before the first flight."
    else:
        said[0] += f", less than the {down(test.asked)} g asked for: that load cannot be proved without harm."
    said.append("`sparbay bench` says what to lay where.")
    return said


def _do_first(found: Note) -> list[str]:
    said = []
    flying = _failing(found, "flight", "launch", "engine")
    seen: set[str] = set()
    for row in flying:
        if row.margin is not None and where(row.margin) not in seen:
            seen.add(where(row.margin))
            said.append(f"Strengthen {where(row.margin)} {_by(row.reserve)} for {row.case}.")
    one = found.envelope.worst
    let = math.inf if found.verdict.speed is None else found.verdict.speed.advised
    breaks = math.inf if one.breaks is None else one.breaks.speed
    words = []
    if let < one.limits.never_exceed or let < breaks < math.inf:
        words.append(f"never faster than {say.speed.at_most(let)}")
    if breaks < let and not any(row.group == "flight" for row in flying):
        words.append(f"no full pull above {kmh(breaks)}")
    if words:
        said.append(f"Mark the transmitter: {', '.join(words)}.")
    for row in _failing(found, "carrying"):
        said.append(f"Never let it be {row.case}.")
    landing = _failing(found, "landing")
    if landing:
        parts = dict.fromkeys(where(row.margin) for row in landing if row.margin is not None)
        said.append(f"After a hard landing look first at {'; '.join(parts)}.")
    if found.balance.inside is False:
        said += balance_sentences(found.balance)[1:2]
    return said


def _by(reserve: float) -> str:
    """How much more strength brings a reserve factor to 1; rounded up."""
    if reserve >= 0.5:
        return f"by {math.ceil(100 * (1 / reserve - 1) - 1e-9):d} % or more"
    times = f"{math.ceil(10 / reserve) / 10:g}" if reserve > 0.01 else "over 100"
    return f"to {times} times its strength"
