"""A static proof test: up to which load factor it may go without harm to a sound wing, and what it proves.

Wood that is stressed beyond its proportional limit has begun to crush or to tear and does not come back. So
every part and mode is allowed a share of its strength that the mode states, and the least of them sets the
highest load of the test. A test that is held for a minute strains wood more than the same load for the
second that a pull-up lasts; what passing it proves is stated for the spread of load and the duration tried,
and for nothing else.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from models.analysis import Analysis
from models.loads.pull_up import GRAVITY
from models.rounding import down
from models.session import Session
from models.strength import Margin, check
from models.strength.counted import counted
from models.strength.mode import Share
from models.strength.modes import named
from models.strength.sheet_buckling import BOWS
from models.studies.bowed import Bowing, bows_from
from models.studies.collapse import DamagedWing
from models.wing.parts import Wing

HOLD = 60.0
"""Seconds that a proof load is held where nothing else is said (common practice, no source)."""
PULL_UP = 1.0
"""Seconds that the peak of a pull-up lasts (common practice, no source)."""
STANDARD_TEST = 300.0
"""Seconds to failure of the tests that handbook strengths come from (from memory)."""
PER_DECADE = 0.075
"""Loss of strength for each tenfold duration of load: Wood Handbook 1999, chapter 4, about 7 to 8 % (from
memory)."""
TARGET = (1.0, 1.15)
"""Proof load over the highest load factor expected in flight, least and most (common practice, no source)."""


def share_of(mode: str, materials: tuple[str, ...]) -> Share:
    """Share of the strength that a proof test may use. Of a mode of `models.strength` in woods by their
    names.

    References
    ----------
    ANC-18, Design of Wood Aircraft Structures, 1951, 2.1000 and 2.1001 (looked up).
    """
    return named(mode).proof(materials)


@dataclass(frozen=True)
class ProofLimit:
    """How far the test may load one part in one mode. At `load_factor` n (of a specimen: multiple of its
    load) it uses that share of its strength."""

    load_factor: float
    share: Share
    margin: Margin


@dataclass(frozen=True, eq=False)
class Proof:
    """A proof test of a wing.

    Parameters
    ----------
    limits : tuple of ProofLimit
        Worst of every part and mode, the lowest first.
    asked : float
        Load factor of the pull-up asked for (1 for a specimen).
    first_failure : float
        n at first failure, with sheeting bowed as far as it is there.
    whole : float
        The same with all sheeting whole, as the check takes it.
    sheeting : float or None
        n from which on sheeting bows, None where none does below the highest load of the test.
    hold : float
        Seconds that the load is held.
    equivalent : float
        Seconds-long pull-up over the proof load that use the wood alike.
    lesser : tuple of Margin
        Small parts that may crack or be dented below the highest load of the test without the spars noticing,
        the worst first.
    loads : tuple of (y, mass)
        Of the starboard side at the proof load: station of each rib, m, and what to hang there, kg (negative:
        what the support bears); empty for a specimen.
    analysis : Analysis or None
        Of the wing with all sheeting whole.
    failing : tuple of Margin
        At first failure, with sheeting bowed as far as it is there: what is left, the least first, and what
        counts on a condition only, with its reason.
    bowing : Bowing or None
        What sheeting that bows takes from what counts; None of none that was worked out.
    """

    limits: tuple[ProofLimit, ...]
    asked: float
    first_failure: float
    whole: float
    sheeting: float | None
    hold: float
    equivalent: float
    lesser: tuple[Margin, ...]
    loads: tuple[tuple[float, float], ...]
    analysis: Analysis | None = None
    failing: tuple[Margin, ...] = ()
    bowing: Bowing | None = None

    @property
    def highest(self) -> float:
        """Load factor up to which the test may go; infinite where nothing is loaded."""
        return self.limits[0].load_factor if self.limits else float("inf")

    @property
    def suggested(self) -> float:
        """Load factor to test at: 1.15 of the pull-up asked for, or the highest allowed."""
        return min(TARGET[1] * self.asked, self.highest)

    @property
    def possible(self) -> bool:
        """Whether the pull-up asked for can be proved without harm."""
        return self.highest >= TARGET[0] * self.asked

    @property
    def proves(self) -> float:
        """Load factor of a pull-up of a second that passing at `suggested` proves."""
        return self.suggested * self.equivalent


def proof(
    wing: Wing,
    *,
    per_bay: int = 4,
    hold: float = HOLD,
    session: Session | None = None,
    failure_alone: bool = False,
) -> Proof:
    """How far a proof test may go.

    Sheeting that bows under the test is let bow (it comes back flat), and what it then leaves to the caps is
    counted, as in `models.studies.collapse`.

    Parameters
    ----------
    wing : Wing
        The wing in the file.
    per_bay : int, default 4
        Elements along a bay.
    hold : float, default 60
        Seconds that the load is held.
    session : Session or None
        Of the wing, where there is one; its mesh is taken.
    failure_alone : bool, default False
        Only its first failure is wanted: no limits of the test are worked out.
    """
    session = Session(wing, per_bay=per_bay) if session is None else session
    state = DamagedWing(wing, frame=session.side)
    known = session.side.build
    asked, used = state.analysis.load_factor, partial(share_for, wing)
    failure, broken, broken_at, _ = state.settle(lambda rows: rows[0].reserve_factor)
    failing = (*broken, *check(broken_at, build=known).secondary)
    counts = counted(wing, failing)
    joints = [row for row in counts if row.reason]
    first = min([failure, *(row.reserve_factor * asked for row in joints)])
    equivalent = duration_factor(PULL_UP) / duration_factor(hold)
    bowing = Bowing(state.margins.rows, counts, bows_from(state.margins), failure / asked)
    if failure_alone:
        sound = state.analysis
        return Proof((), asked, first, state.whole, None, hold, equivalent, (), (), sound, failing, bowing)

    def to_the_share(rows: list[Margin]) -> float:
        return min(row.reserve_factor * used(row).value for row in rows)

    highest, rows, at, _ = state.settle(to_the_share, failure)
    # The joints of caps that are cut end the flight, and so the test, though they count on a condition.
    held = [row for row in counted(wing, check(at, build=known).secondary) if row.reason]
    limits = [
        ProofLimit(row.reserve_factor * asked * used(row).value, used(row), row) for row in (*rows, *held)
    ]
    limits.sort(key=lambda limit: limit.load_factor)
    highest = min([highest, *(limit.load_factor for limit in limits)])
    bows = [n for _, n in state.bowed(highest)]
    lesser = [
        row
        for row in state.margins.secondary
        if not counted(wing, [row])
        and row.reserve_factor * asked < highest
        and named(row.mode).remains is not BOWS
    ]
    out = Proof(
        tuple(limits),
        asked,
        first,
        state.whole,
        bows[0] if bows else None,
        hold,
        equivalent,
        tuple(sorted(lesser, key=lambda row: row.reserve_factor)),
        (),
        state.analysis,
        failing,
        bowing,
    )
    if at.pull_up is None or not limits:
        return out
    return replace(out, loads=_hung(at, out.suggested))


def duration_factor(seconds: float) -> float:
    """Strength of wood under a load of so many seconds over that of a standard test. 1 + 0.075 log10(300
    s/seconds).

    References
    ----------
    Wood Handbook, 1999, chapter 4, duration of load (from memory).
    """
    return float(1 + PER_DECADE * np.log10(STANDARD_TEST / seconds))


def share_for(wing: Wing, row: Margin) -> Share:
    """`share_of` a part's mode in its own woods."""
    return share_of(row.mode, materials_of(wing, row))


def materials_of(wing: Wing, row: Margin) -> tuple[str, ...]:
    """Names of the woods of a part that bear in its mode: a cap's layers, a post's or web's sheet."""
    part = row.part
    spar = next((s for s in wing.spars if s.name == part.spar), None)
    if part.kind == "cap" and spar is not None:
        cap = spar.upper if part.place == "upper" else spar.lower
        return tuple(layer.material.name for layer in cap.layers)
    if part.kind == "post":
        here = [r for r in wing.ribs if part.station is not None and abs(r.y - part.station) < 1e-6]
        return tuple({r.post_material.name for r in here})
    return ()


def _hung(analysis: Analysis, load_factor: float) -> tuple[tuple[float, float], ...]:
    """What to hang at every rib of the starboard side: lift less inertia, turned upside down, kg."""
    model = analysis.model
    force = analysis.solution.loads[:, 2, analysis.case] * load_factor / analysis.load_factor
    y = model.structure.nodes[:, 1]
    ribs = np.unique(np.abs(model.y[model.rib_station]))
    mine = y >= -1e-9
    near = np.abs(y[mine, None] - ribs).argmin(axis=1)
    centre = np.abs(y[mine]) < 1e-9
    # Of a whole wing the centre line belongs to both sides.
    half = np.where(centre & (not model.half), 0.5, 1.0)
    each = np.bincount(near, force[mine] * half, len(ribs)) / GRAVITY
    return tuple(zip(ribs.tolist(), each.tolist()))


def sentences(test: Proof, *, specimen: bool = False) -> list[str]:
    """The answer in words: how far, what it proves, and what not. Of a specimen in multiples of the load."""
    if not test.limits:
        return ["Nothing is loaded, so there is nothing to prove."]

    def at(n: float) -> str:
        return f"{n:.3g} times its load" if specimen else f"{down(n)} g"

    first = test.limits[0]
    part = first.margin.part
    what = part.name_without_side
    said = [
        f"A static test may go up to {at(test.highest)} without harm to a sound wing: there {what} has used "
        f"{100 * first.share.value:.0f} % of its strength ({first.margin.mode}). First failure is due at "
        f"{at(test.first_failure)}."
    ]
    if test.sheeting is not None:
        said.append(
            f"From {at(test.sheeting)} on sheeting may be seen to bow between the ribs and comes back flat; "
            f"it leaves more to the caps (with all of it whole first failure would be at {at(test.whole)})."
        )
    if test.lesser:
        worst = test.lesser[0]
        name = worst.part.name_without_side
        said.append(
            f"Of small parts that the spars can do without, {len(test.lesser)} may crack or be dented below "
            f"that, {name} first ({worst.mode}, {at(worst.reserve_factor * test.asked)}): look at them after "
            "the test."
        )
    ratio = test.highest / test.asked
    if not test.possible:
        said.append(
            f"The load asked for, {at(test.asked)}, is more than that ({ratio:.2f} of it is safe): no test "
            "can prove it without harm. Strengthen that part, or ask less of the wing: a test at "
            f"{at(test.highest)} proves that much and no more."
        )
        return said
    said.append(
        f"Test at {at(test.suggested)}, {test.suggested / test.asked:.2f} times the load asked for "
        f"(common practice: {TARGET[0]:.0f} to {TARGET[1]:.2f}), held for {test.hold:.0f} s."
    )
    said.append(
        f"Passing proves that this wing, with its own wood and glue, holds {at(test.suggested)} spread as in "
        f"this pull-up; for a second, as in flight, about {at(test.proves)}."
        if not specimen
        else f"Passing proves that this specimen holds {at(test.suggested)} at its tip."
    )
    return said


CAUTIONS = (
    "The test proves nothing of other loads: a dive with the nose-down moment of a cambered section, gusts "
    "on a deflected control surface, landings and the launch load the wing otherwise.",
    "It proves nothing of tomorrow: damp, knocks and ageing glue are not in it. Test again after a crash.",
    "Sheeting may bow in and out under load and must come back flat; creaking, whitened wood, a glue line "
    "that opens, or a tip that does not come back to where it was end the test, and the wing is not sound.",
    "Load in steps of a tenth, upside down, on the ribs and not between them, with the centre section held "
    "as the fuselage holds it. Keep hands and faces out of the way.",
)
"""Cautions of a proof test (common practice, no source)."""
