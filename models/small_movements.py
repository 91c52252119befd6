"""Where small movements no longer hold: the one rule on deflection and twist that every answer asks.

Stiffness and loads are those of the wing as drawn. A wing that bends or twists far turns its lift and its
parts with it, and what is reckoned for the wing as drawn is then only an indication.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np

from models.analysis import Analysis, spar_motion, wing_twist
from models.wing.parts import Wing

TWIST = math.radians(10)
"""Twist beyond which small movements no longer hold, rad: common practice, no source."""
DEFLECTION = 0.1
"""Deflection beyond which they no longer hold, over the semispan of a wing or the length of a specimen:
common practice, no source."""
_ROUND = math.pi / 2
"""Twist beyond which its figure says nothing at all."""


@dataclass(frozen=True)
class Movement:
    """How far a wing or a specimen moves, against its centre or its clamp. The largest deflection, up or
    down, m, and twist, nose up or down, rad; semispan of a wing or length of a specimen, m."""

    deflection: float
    twist: float
    length: float
    specimen: bool = False

    @property
    def hold(self) -> bool:
        """Whether small movements hold: neither limit is passed."""
        return abs(self.twist) <= TWIST and abs(self.deflection) <= DEFLECTION * self.length

    @property
    def beyond(self) -> float:
        """The larger of the two movements over its limit."""
        return max(abs(self.twist) / TWIST, abs(self.deflection) / (DEFLECTION * self.length))


def of_tip(wing: Wing, deflection: float, twist: float) -> Movement:
    """Movement of a wing or specimen of which only that of the tip is known, m and rad."""
    return Movement(abs(deflection), abs(twist), wing.semispan, wing.clamped)


def of(analysis: Analysis, case: int | None = None) -> Movement:
    """Largest deflection of any spar, and largest twist of the wing or any spar. `case` is the solution's
    column, None the analysis's own (of a specimen the farthest of its three)."""
    wing = analysis.wing
    if case is None and wing.clamped:
        cases = range(analysis.solution.displacements.shape[2])
        return max((of(analysis, k) for k in cases), key=lambda one: one.beyond)
    motions = [spar_motion(analysis, s, case) for s in range(len(wing.spars))]
    deflection = max(float(np.abs(m.deflection).max()) for m in motions)
    twists = [*(m.twist for m in motions), wing_twist(analysis, case)[1]]
    twist = max(float(np.abs(t).max()) for t in twists if len(t))
    return Movement(deflection, twist, wing.semispan, wing.clamped)


def warning(movement: Movement, where: str = "") -> str | None:
    """The sentence that an answer carries where small movements no longer hold. `where` begins it: under
    which load, in which case or layout; "" for the load of the answer. None where they hold."""
    if movement.hold:
        return None
    whole, length = ("specimen", "length") if movement.specimen else ("wing", "semispan")
    moves = []
    twist, deflection = abs(movement.twist), abs(movement.deflection) / movement.length
    if twist > TWIST:
        by = f"{_plain(math.degrees(twist))} deg" if twist <= _ROUND else "more than a quarter turn"
        moves.append(f"twists by {by}")
    if deflection > DEFLECTION:
        by = f"{_plain(100 * deflection)} %" if deflection <= 1 else "more than all"
        moves.append(f"bends by {by} of its {length}")
    start = f"{where} the" if where else "The"
    return (
        f"{start} {whole} {' and '.join(moves)}: beyond {math.degrees(TWIST):.0f} deg or a tenth of the "
        f"{length} small movements no longer hold, and the figures are only an indication."
    )


def _plain(value: float) -> str:
    """Without places, except just beyond ten, so that it is not written as ten."""
    return f"{value:.{0 if value >= 10.5 else 1}f}"


def worst(named: Iterable[tuple[str, Movement]], what: str) -> str | None:
    """One sentence for several answers: that of the farthest, and how many are beyond. Answers by their
    names; `what` they are, such as "case" or "layout". None where small movements hold in all."""
    beyond = [(name, one) for name, one in named if not one.hold]
    if not beyond:
        return None
    name, farthest = max(beyond, key=lambda pair: pair[1].beyond)
    said = warning(farthest, f"In {what} {name}" if name.isdecimal() else f"In the {what} {name}")
    if len(beyond) == 1 or said is None:
        return said
    more = len(beyond) - 1
    return f"{said} So it is in {more} more {what}{'s' if more > 1 else ''}."


def record(movement: Movement, said: str | None) -> dict[str, Any]:
    """The rule as plain data for `--json`: whether small movements hold, the largest, the limits, the words.
    The movement is the farthest of several; `said` its sentence. SI, units in the keys."""
    return {
        "hold": movement.hold,
        "largest_deflection_m": movement.deflection,
        "largest_twist_rad": movement.twist,
        "deflection_limit_m": DEFLECTION * movement.length,
        "twist_limit_rad": TWIST,
        "sentence": said,
    }
