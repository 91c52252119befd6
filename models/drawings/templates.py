"""Full-size templates of the webs, one a shape, its words beside it, several to a page."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from models import units_out as say
from models.drawings.cut_list import Shape, grain_words, where
from models.drawings.ink import Drawing, Item, Text, block, folded, grain_arrow, line, moved, outline
from models.drawings.pages import STRIP

SIZE, MARK = 2.2, 4.0
"""Types of words and of marks on templates, mm."""
_APART = 6.0
_RISES = 3e-4
_LEAST = 58.0
"""Least width for the words under a piece, mm."""


def templates(of: Sequence[Shape], room: tuple[float, float]) -> tuple[Drawing, ...]:
    """Templates on drawings that fit a page's room, mm; one that is too long has a drawing to itself."""
    cells = [_cell(shape) for shape in of]
    title = "Web templates, full size, seen from behind, outboard to the right"
    return flow(cells, room, "web-templates", title)


Cell = tuple[float, float, Sequence[Item]]
"""Width, height and items of a piece with its words, its lower left corner at the origin, mm."""


def flow(cells: Sequence[Cell], room: tuple[float, float], name: str, title: str) -> tuple[Drawing, ...]:
    """Set cells in rows from the top left, and begin a new drawing where a page is full.

    Parameters
    ----------
    cells, room, name, title
        The room of a page, mm; the drawings' number is added to their name.
    """
    drawings: list[tuple[float, float, list[Item]]] = []
    placed: list[tuple[float, float, Cell]] = []
    x = y = tallest = 0.0

    def close() -> None:
        if placed:
            high = max(down + cell[1] for _, down, cell in placed)
            wide = max(at + cell[0] for at, _, cell in placed)
            items = [i for at, down, cell in placed for i in moved(cell[2], at, high - down - cell[1])]
            drawings.append((wide, high, items))
            placed.clear()

    for cell in cells:
        width, height, _ = cell
        if x > 0 and x + width > room[0]:
            x, y, tallest = 0.0, y + tallest + _APART, 0.0
        # Wide cells are tiled on paper laid sideways, which is lower.
        most = room[1] if width <= room[0] else room[0] - STRIP - 2 * _APART
        mixed = placed and (width > room[0]) != (placed[-1][2][0] > room[0])
        if placed and (y + height > most or mixed):
            close()
            x = y = tallest = 0.0
        placed.append((x, y, cell))
        x, tallest = x + width + _APART, max(tallest, height)
    close()
    digits = len(str(len(drawings)))
    return tuple(
        Drawing(f"{name}-{k:0{digits}}" if len(drawings) > 1 else name, title, w, h, tuple(items))
        for k, (w, h, items) in enumerate(drawings, 1)
    )


def _cell(shape: Shape) -> Cell:
    from shapely import LineString, Polygon

    one = shape.first
    corners = 1e3 * (shape.outline - shape.outline.min(axis=0))
    wide, high = corners.max(axis=0)
    words = [
        where(shape.pieces),
        f"{one.material.name}, {say.size(one.thickness):.4g}; grain {grain_words(shape.grain)}",
        f"length {say.length(one.length):.2f}, depth {say.length(one.depth_inner):.2f} at the inner end, "
        f"{say.length(one.depth_outer):.2f} at the outer",
    ]
    if abs(one.rise) > _RISES:
        which = "higher" if one.rise > 0 else "lower"
        words.append(f"plumb ends, the outer {say.length(abs(one.rise)):.2f} {which} at its middle")
    bevel = 1e3 * one.thickness * np.tan(one.bevel)
    if bevel > 0.1:
        words.append(
            f"bevel both ends {np.degrees(one.bevel):.1f} deg; leave {say.length(1e-3 * bevel):.1f} for it"
        )
    words += [f"bends {np.degrees(turn):+.1f} deg at the dashed line" for _, turn in one.bends]
    width = max(float(wide), _LEAST)
    lines = [piece for text in words for piece in folded(text, SIZE, width)]
    below = 1.25 * SIZE * len(lines) + 2.0
    items: list[Item] = [outline(corners + np.array([0.0, below]), name=shape.mark)]
    for at, _ in one.bends:
        items.append(line((1e3 * at, below), (1e3 * at, below + high), layer="HIDDEN"))
    above = 0.0
    whole = Polygon(corners)
    centre = whole.centroid
    cut = whole.intersection(LineString([(centre.x, -1.0), (centre.x, corners[:, 1].max() + 1.0)]))
    clear = float(cut.length)
    upright = abs(np.sin(shape.grain)) > 0.9
    mark = Text((0.0, below + float(high) + 1.5), f"{shape.mark}   cut {len(shape.pieces)}", MARK)
    x, y, half = float(centre.x), float(centre.y + below), 0.32 * (clear if upright else min(clear, wide))
    fits = mark.width < 0.6 * wide and clear > (2.2 if upright else 5.5) * MARK
    if fits and upright:
        mark = replace(mark, at=(x - mark.width / 2 - 3, y - 1.4))
        x += mark.width / 2 + 4
    elif fits:
        mark = replace(mark, at=(x, y + 0.22 * clear), anchor="middle")
        y -= 0.12 * clear
        half = 0.25 * clear if abs(np.sin(shape.grain)) > 0.1 else 0.25 * float(wide)
    else:
        above = MARK + 2.0
    items += [mark, *grain_arrow((x, y), shape.grain, half), *block(lines, (0.0, below - 1.5), SIZE)]
    return width, float(high) + below + above, items
    x = shape.centroid.x
    cut = shape.intersection(LineString([(x, -1.0), (x, corners[:, 1].max() + 1.0)]))
    return float(cut.length)
