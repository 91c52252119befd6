"""Whether a plate glued on one face of a spar lies on both caps: their faces in one plane along all of it.

Both caps of a spar stand on one middle line, so the face of the narrower lies back by half of what they
differ; and where a cap steps in width, its face steps by half of that. A plate across either would miss
wood. Ends of a stretch are looked at from within it: a step at a rib belongs to neither bay.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from models import units_out as say
from models.wing.parts import Line, Spar, Wing

GAP = 1e-4
"""Gap that sanding and the glue close, m: a tenth of a millimetre (common practice, no source)."""

_BESIDE = 1e-7
"""What lies closer to the end of a stretch than this is at its end, m."""


@dataclass(frozen=True)
class Miss:
    """Where a plate on the face of a spar misses a cap by most.

    Parameters
    ----------
    y : float
        Place along the span, m.
    gap : float
        Between the plate and the face that lies back, m.
    one, other : float
        Widths that differ, m: the upper and the lower cap's, or a cap's inboard and outboard of its step.
    which : str
        "" where the upper and the lower cap differ; "upper" or "lower" of the cap that steps.
    """

    y: float
    gap: float
    one: float
    other: float
    which: str

    def words(self, what: str) -> str:
        """The fault in words, with its mend; `what` is "web" or "brace"."""
        gap, at, one, other = (say.quantity(v, "length") for v in (self.gap, self.y, self.one, self.other))
        if self.which:
            return (
                f"needs caps whose faces lie in one plane: at y = {at} the {self.which} cap steps from {one} "
                f"to {other} in width, and a {what} across the step would stand {gap} off it; let the {what} "
                'end where the step is (webs end at ribs), or let it in with face = "between".'
            )
        return (
            f"needs caps whose faces lie in one plane: at y = {at} the upper cap is {one} wide, the lower "
            f"{other}, on one middle line, and the {what} would miss the narrower by {gap}; give both one "
            f'width there, or let the {what} in with face = "between".'
        )


def miss(upper: Line, lower: Line, start: float, end: float) -> Miss | None:
    """The widest gap under a plate on a spar's face, None where it lies on both caps.

    Parameters
    ----------
    upper, lower : Line
        Widths of the caps, m.
    start, end : float
        The plate's ends along the span, m, start below end.

    Returns
    -------
    Miss or None
        None also where the gap is no wider than `GAP`.
    """
    points = np.concatenate([upper.y, lower.y])
    inside = np.unique(points[(points > start + _BESIDE) & (points < end - _BESIDE)])
    y = np.concatenate([[start + _BESIDE], inside, inside + _BESIDE, [end - _BESIDE]])
    widths = upper.at(y), lower.at(y)
    gaps = np.abs(widths[0] - widths[1]) / 2
    k = int(gaps.argmax())
    found = [Miss(float(np.round(y[k], 6)), float(gaps[k]), float(widths[0][k]), float(widths[1][k]), "")]
    for line, which in ((upper, "upper"), (lower, "lower")):
        before, after = line.at(inside), line.at(inside + _BESIDE)
        for at, a, b in zip(inside, before, after):
            found.append(Miss(float(at), float(abs(a - b)) / 2, float(a), float(b), which))
    # A step of one cap alone is told as what it leaves: caps that differ.
    worst = max(found, key=lambda each: each.gap)
    return worst if worst.gap > GAP * (1 + 1e-6) else None


def takes_webs(wing: Wing, spar: Spar, bay: int) -> bool:
    """Whether a web on a face of a spar lies on both caps in one of its bays."""
    k = bay - wing.first_bay
    start, end = float(wing.bay_edges[k]), float(wing.bay_edges[k + 1])
    return miss(spar.upper.width, spar.lower.width, start, end) is None
