"""The wing from above for the page: its outline, its ribs, and a field for every cell that may be clicked.

Starboard points to the right, aft points down. Of a wing whose sides are alike starboard is drawn for both.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from fea.arrays import Array
from models.live.cells import Cell
from models.wing.parts import Spar, Wing

WIDTH = 1000.0
"""Of the drawing, in its own units."""
_MARGIN = 14.0
_HALF = 24.0
"""Half the height of a field, at most."""
_LEAST = 15.0
_BAR = 6.0
_TOP = 34.0


@dataclass(frozen=True)
class CellOutline:
    """A cell on the drawing.

    Parameters
    ----------
    outline, front, rear, between : str
        Corners as SVG writes them: of the field, and of the bars that stand for webs.
    x, y : float
        Where its figure stands.
    """

    outline: str
    front: str
    rear: str
    between: str
    x: float
    y: float


@dataclass(frozen=True)
class Plan:
    """The drawing.

    Parameters
    ----------
    height : float
        Of the drawing; its width is `WIDTH`.
    outline : str
        Corners of the wing.
    ribs : tuple of (float, float, float)
        Place along the drawing, top and bottom of every rib.
    bays : tuple of (float, str)
        Where the numbers of the bays stand.
    fields : tuple of CellOutline
        One a cell.
    spars : tuple of (float, str)
        Height of every spar's line at the root and its name.
    """

    height: float
    outline: str
    ribs: tuple[tuple[float, float, float], ...]
    bays: tuple[tuple[float, str], ...]
    fields: tuple[CellOutline, ...]
    spars: tuple[tuple[float, str], ...]


def plan(wing: Wing, cells: tuple[Cell, ...]) -> Plan:
    """Draw a wing from above."""
    edges = wing.bay_edges
    both = any(cell.sides == ("port",) for cell in cells)
    low = -wing.semispan if both else 0.0
    if not both and wing.first_bay == 0:
        low = -float(edges[1]) if wing.flies else 0.0
    left = _MARGIN + 8.0 * max(len(spar.name) for spar in wing.spars)
    scale = (WIDTH - left - _MARGIN) / (wing.semispan - low)
    y = np.unique(np.concatenate([np.linspace(low, wing.semispan, 41), [0.0]]))
    span = np.abs(y)
    if wing.planform is not None:
        front = wing.planform.leading_edge_x.at(span)
        rear = front + wing.planform.chord.at(span)
    else:
        halves = [s.aslant.at(span) * s.upper.width.at(span) / 2 for s in wing.spars]
        front = np.min([s.x.at(span) - half for s, half in zip(wing.spars, halves)], axis=0)
        rear = np.max([s.x.at(span) + half for s, half in zip(wing.spars, halves)], axis=0)
    middle = [spar.x.at(span) for spar in wing.spars]
    gap = min((float((b - a).min()) for a, b in pairwise(middle)), default=np.inf) * scale
    stretch = max(1.0, 2.4 * _LEAST / gap) if np.isfinite(gap) else 1.0
    half = min(_HALF, 0.42 * gap * stretch)
    sheet = _Frame(left, low, scale, scale * stretch, 0.0)
    # Fields keep a height that a finger finds; of a slender specimen they reach beyond its outline.
    top = min(float(sheet.down(front).min()), *(float(sheet.down(m).min()) - half for m in middle))
    bottom = max(float(sheet.down(rear).max()), *(float(sheet.down(m).max()) + half for m in middle))
    sheet = replace(sheet, top=_TOP - top)
    upper = [(sheet.across(float(a)), float(sheet.down(b))) for a, b in zip(y, front)]
    lower = [(sheet.across(float(a)), float(sheet.down(b))) for a, b in zip(y, rear)]
    ribs = []
    for sign in (1, -1) if both or low < 0 else (1,):
        for at in edges:
            if sign * at < low - 1e-9 or (sign < 0 and at < 1e-9):
                continue
            ahead, behind = (
                float(sheet.down(float(np.interp(at, span[y >= 0], side[y >= 0])))) for side in (front, rear)
            )
            ribs.append((sheet.across(sign * float(at)), ahead, behind))
    fields, named = [], {}
    for cell in cells:
        k = cell.bay - wing.first_bay
        inner, outer = float(edges[k]), float(edges[k + 1])
        if cell.sides == ("port",):
            inner, outer = -outer, -inner
        elif cell.bay == 0 and low < 0:
            inner = -outer
        spar = next(s for s in wing.spars if s.name == cell.spar)
        fields.append(sheet.field(spar, inner, outer, half))
        named[(inner + outer) / 2] = str(cell.bay)
    return Plan(
        bottom - top + _TOP + 10.0,
        _corners([*upper, *reversed(lower)]),
        tuple(ribs),
        tuple((sheet.across(at), name) for at, name in named.items()),
        tuple(fields),
        tuple((float(sheet.down(spar.x.at(abs(low)))), spar.name) for spar in wing.spars),
    )


@dataclass(frozen=True)
class _Frame:
    """Where a place of the wing lies on the drawing."""

    left: float
    low: float
    along: float
    deep: float
    top: float

    def across(self, y: float) -> float:
        return self.left + (y - self.low) * self.along

    def down(self, x: Array | float) -> Array:
        return np.asarray(x) * self.deep + self.top

    def field(self, spar: Spar, inner: float, outer: float, half: float) -> CellOutline:
        at = [self.across(inner) + 1.5, self.across(outer) - 1.5]
        line = [float(self.down(spar.x.at(abs(end)))) for end in (inner, outer)]

        def band(a: float, b: float) -> str:
            corners = zip((*at, *at[::-1]), (line[0] + a, line[1] + a, line[1] + b, line[0] + b))
            return _corners(list(corners))

        return CellOutline(
            band(-half, half),
            band(-half, -half + _BAR),
            band(half - _BAR, half),
            band(-_BAR / 2 - 9, _BAR / 2 - 9),
            (at[0] + at[1]) / 2,
            (line[0] + line[1]) / 2,
        )


def _corners(points: list[tuple[float, float]]) -> str:
    return " ".join(f"{a:.1f},{b:.1f}" for a, b in points)
