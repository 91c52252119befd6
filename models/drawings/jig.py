"""Blocks that hold every rib over a flat board in its place: height by dihedral, angle by washout.

A block stands on edge along the chord, under its rib, while the webs set. Its top follows the rib's lower
edge, bare of sheeting and cap strips; all are drawn over one board, so that their heights alone make
dihedral and washout.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from fea.arrays import Array
from models import units_out as say
from models.drawings.cut_list import close, gathered
from models.drawings.ink import Drawing, Item, Text, block, folded, line, outline
from models.drawings.rib_outlines import rib_wood
from models.drawings.templates import MARK, SIZE, Cell, flow
from models.wing.parts import Wing
from models.wing.words import number_runs

LOWEST = 10e-3
"""Height of the lowest block where it is lowest, m: common practice, no source."""
_ALIKE = 1e-5
_POINTS = 121
_FINE = 1e-5


@dataclass(frozen=True, eq=False)
class JigBlock:
    """A block of the jig.

    Parameters
    ----------
    mark : str
        "J3": that of rib 3; "J2-J4" of ribs held alike.
    ribs : tuple of int
        Their numbers.
    count : int
        How many for the whole wing.
    top : (n, 2) float array
        Upper edge from front to rear: m aft of the leading edge there, m over the board.
    spars : tuple of float
        Where spars pass, m aft of the leading edge.
    washout : float
        Of the first of its ribs, nose down, rad.
    y : tuple of float
        Where they stand, m from the centre line.
    """

    mark: str
    ribs: tuple[int, ...]
    count: int
    top: Array
    spars: tuple[float, ...]
    washout: float
    y: tuple[float, ...]

    @property
    def outline(self) -> Array:
        """Corners, m: its foot on the board at 0."""
        (front, rear) = self.top[0, 0], self.top[-1, 0]
        return np.concatenate([[[front, 0.0], [rear, 0.0]], self.top[::-1]])


def jig_blocks(wing: Wing) -> tuple[JigBlock, ...]:
    """Blocks under the ribs of one side of a wing, from the centre one outward; a specimen needs none.

    Ribs without wood between the edges' sticks have none.
    """
    plan = wing.planform
    if plan is None:
        return ()
    # Lower caps lie flush in their notches, so that the block passes under them.
    whole = replace(wing, spars=(), braces=())
    edges: list[tuple[int, Array]] = []
    for number, rib in enumerate(wing.ribs, 1):
        wood, _ = rib_wood(whole, plan, rib)
        found = _lower(wood)
        if found is not None:
            found[:, 1] += float(plan.leading_edge_z.at(rib.y))
            edges.append((number, found))
    if not edges:
        return ()
    board = min(float(edge[:, 1].min()) for _, edge in edges) - LOWEST
    tops = [(number, edge - [0.0, board]) for number, edge in edges]
    out = []
    for group in gathered(tops, lambda one, other: close(one[1], other[1], _ALIKE)):
        numbers = tuple(number for number, _ in group)
        ribs = [wing.ribs[n - 1] for n in numbers]
        y = ribs[0].y
        nose = float(plan.leading_edge_x.at(y))
        spars = tuple(float(s.x.at(y)) - nose for s in wing.spars if y <= s.y_end + 1e-7)
        count = sum(1 if rib.y < 1e-7 else 2 for rib in ribs)
        mark = ", ".join(f"J{run}" for run in number_runs(numbers))
        washout = float(plan.washout.at(y))
        places = tuple(rib.y for rib in ribs)
        out.append(JigBlock(mark, numbers, count, _straightened(group[0][1]), spars, washout, places))
    return tuple(out)


def _lower(wood: Any) -> Array | None:
    """Lower edge of a rib's wood by points from front to rear, or None where there is none."""
    from shapely import LineString

    if wood.is_empty:
        return None
    left, low, right, high = wood.bounds
    if right - left < 1e-3:
        return None
    out = []
    for x in np.linspace(left + 1e-6, right - 1e-6, _POINTS):
        cut = wood.intersection(LineString([(x, low - 1.0), (x, high + 1.0)]))
        if not cut.is_empty:
            out.append((x, cut.bounds[1]))
    return np.array(out) if len(out) > 1 else None


def _straightened(top: Array) -> Array:
    from shapely import LineString

    return np.array(LineString(top).simplify(_FINE).coords)


def jig_drawings(blocks: Sequence[JigBlock], room: tuple[float, float]) -> tuple[Drawing, ...]:
    """Blocks at full size on drawings that fit a page's room, mm; one that is too long has one to itself."""
    title = "Jig blocks, full size, nose to the left: on a flat board under the ribs (port turned over)"
    return flow([_cell(one) for one in blocks], room, "jig-blocks", title)


def _cell(one: JigBlock) -> Cell:
    corners = 1e3 * one.outline
    left = float(corners[:, 0].min())
    corners = corners - [left, 0.0]
    wide, high = (float(v) for v in corners.max(axis=0))
    front, rear = 1e3 * float(one.top[0, 1]), 1e3 * float(one.top[-1, 1])
    y = ", ".join(say.ruler.bare(float(v), ".1f") for v in one.y)
    ribs = ", ".join(number_runs(one.ribs))
    plural = "s" if len(one.ribs) > 1 else ""
    words = [
        f"under rib{plural} {ribs} at {y} {say.ruler.unit} from the centre",
        f"{say.length(1e-3 * front):.2f} high at the front end, {say.length(1e-3 * rear):.2f} at the rear; "
        f"front end {say.ruler(1e-3 * left):.1f} aft of the leading edge",
    ]
    if abs(one.washout) > np.radians(0.05):
        words.append(
            f"washout {np.degrees(one.washout):.2f} deg; foot on the board, long marks: the spars' middles"
        )
    else:
        words.append("foot on the board, long marks: the spars' middles")
    width = max(wide, 70.0)
    lines = [piece for text in words for piece in folded(text, SIZE, width)]
    below = 1.25 * SIZE * len(lines) + 2.5
    items: list[Item] = [outline(corners + np.array([0.0, below]), name=one.mark)]
    for x in one.spars:
        at = 1e3 * x - left
        if 0 < at < wide:
            top = float(np.interp(at, 1e3 * one.top[:, 0] - left, 1e3 * one.top[:, 1]))
            items.append(line((at, below), (at, below + top), layer="CENTRE", name=f"{one.mark} spar"))
    items.append(title := Text((0.0, below + high + 1.5), f"{one.mark}   cut {one.count}", MARK))
    items += block(lines, (0.0, below - 1.8), SIZE)
    return max(width, title.width), high + below + MARK + 2.0, items
