"""How fast a wing may be flown, against how fast its file wants to: what speed has to say in a verdict.

Counted is the lowest speed at which it beats, twists off or loses its grip in roll, and where that is less,
the one from which one wing in twenty beats; five sixths of it are let (`MARGIN`).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from models import units_out as say
from models.wing.parts import Wing

if TYPE_CHECKING:
    from models.session import Session
    from models.studies.speed import Speeds
    from models.studies.speed_doubt import SpeedDoubt

MARGIN = 1.2
"""Speed of flutter, divergence or reversal over the greatest to be flown: rules for small aeroplanes ask for
it (14 CFR 23.629, from memory)."""
WORDS = {
    "beating": "begins to beat",
    "twist-off": "twists off",
    "reversal": "no longer obeys in roll",
    "trim": "twists as fast as it is trimmed",
}
"""What each of `models.studies.speed.Speeds.lowest` is."""


@dataclass(frozen=True)
class Limit:
    """How fast. `asked` is the fastest that the file says it is flown, 0 where it says nothing; `first` comes
    in mean wood, as `models.studies.speed.Speeds.lowest`, at the speed `onset`; nineteen wings in twenty pass
    `fifth` before they beat. In m/s, infinite where nothing does."""

    asked: float
    first: str
    onset: float
    fifth: float

    @property
    def counted(self) -> float:
        """m/s."""
        return min(self.onset, self.fifth)

    @property
    def advised(self) -> float:
        """Fastest to be flown, m/s; infinite where nothing limits it."""
        return self.counted / MARGIN

    @property
    def holds(self) -> bool:
        """The file asks for no more."""
        return self.asked <= self.advised * (1 + 1e-9)

    @property
    def sentence(self) -> str:
        """In words; empty where nothing limits it."""
        if math.isinf(self.counted):
            return ""
        if self.fifth < self.onset:
            mean = f" ({WORDS[self.first]} from {kmh(self.onset)} in mean wood)" if self.first else ""
            reason = f"{kmh(self.fifth)} from which one wing in twenty beats{mean}"
        else:
            reason = f"{kmh(self.onset)} at which the wing {WORDS[self.first]}"
        asked = "" if self.holds else f" Asked are {kmh(self.asked)}: too fast."
        most = say.speed.at_most(self.advised)
        return f"Do not fly faster than {most}: five sixths of the {reason}.{asked}"

    def record(self) -> dict[str, Any]:
        """As plain data."""
        return {
            "asked_m_per_s": self.asked or None,
            "comes_first": self.first or None,
            "at_m_per_s": _finite(self.onset),
            "beating_fifth_percentile_m_per_s": _finite(self.fifth),
            "advised_m_per_s": _finite(self.advised),
            "holds": self.holds,
        }


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None


def stated(wing: Wing) -> float:
    """Fastest speed in the file, m/s: of the case, the cruise, or never to be exceeded; 0 without any."""
    flight = wing.flight
    flown = (flight.cruise_speed, flight.never_exceed_speed) if flight is not None else ()
    return max(wing.case.speed, *flown, 0.0)


def limit_of(found: Speeds, sure: SpeedDoubt | None, asked: float) -> Limit:
    """From speeds that are there. `asked` in m/s."""
    return Limit(asked, *found.lowest, math.inf if sure is None else sure.fifth)


def limit(wing: Wing, *, per_bay: int = 4, session: Session | None = None) -> Limit:
    """Work it out for a flying wing."""
    # Every verdict knows the limit; few work it out.
    from models.studies.speed import condense, speeds
    from models.studies.speed_doubt import doubt

    found = speeds(condense(wing, per_bay=per_bay, session=session), n_modes=0)
    return limit_of(found, doubt(found), stated(wing))


def not_looked_at(wing: Wing) -> list[str]:
    """What a verdict without speeds says of what it leaves out."""
    asked = stated(wing)
    if wing.engine is not None:
        fast = f"it beats or twists off at the {kmh(asked)} of the file" if asked else "it beats"
        return [f"Not looked at: whether {fast}, and how the engine shakes it (`sparbay note`)."]
    if not asked:
        return ["How fast it may fly is not in that verdict: `sparbay speed`, or `sparbay check --speed`."]
    return [
        f"Whether it beats or twists off at the {kmh(asked)} of the file was not looked at: `sparbay "
        "speed`, or `sparbay check --speed`."
    ]


def kmh(speed: float) -> str:
    """A speed (m/s) in words."""
    return f"{say.speed(speed):.0f}"
