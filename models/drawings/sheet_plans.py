"""Sheets of stock at full size with every single web where it is cut, grain up the sheet."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from models import units_out as say
from models.drawings.ink import Drawing, Item, Path, Text, arrow, bounds, folded, moved, outline, text_width
from models.drawings.nesting import CutSheet, Placed

_BELOW = 7.0
"""Room under a sheet for what it is, mm."""
_LARGEST, _LEAST, _READABLE = 3.5, 1.6, 1.4
_CLEAR = 0.3


def sheet_plans(sheets: Sequence[CutSheet]) -> tuple[Drawing, ...]:
    """Every sheet as a drawing at full size."""
    return tuple(_plan(sheet, k, len(sheets)) for k, sheet in enumerate(sheets, 1))


def _plan(sheet: CutSheet, number: int, count: int) -> Drawing:
    width, length = 1e3 * sheet.stock.width, 1e3 * sheet.stock.length
    what = f"{sheet.material.name}, {say.size(sheet.thickness):.4g}, {sheet.stock.size}"
    name = f"cutting-sheet-{number:0{len(str(count))}}" if count > 1 else "cutting-sheet"
    edge = ((0.0, 0.0), (width, 0.0), (width, length), (0.0, length))
    items: list[Item] = [Path(edge, "SHEET", True, name="sheet")]
    title = f"Sheet {number} of {count}: {what}"
    size = min(4.0, 4.0 * width / text_width(title, 4.0))
    items.append(Text((0.0, -_BELOW + 1.5), title, size, layer="SHEET"))
    for placed in sheet.placed:
        items.append(outline(1e3 * placed.outline, name=placed.name))
        items += _label(placed)
    right = width + 5.0
    items += arrow((right, 10.0), (right, 60.0))
    items.append(Text((right + 4.5, 14.0), "grain", 3.0, angle=90, layer="GRAIN"))
    return Drawing(
        name, f"{title}; grain up the sheet", width + 10.0, length + _BELOW, moved(items, 0.0, _BELOW)
    )


def _label(placed: Placed) -> list[Item]:
    """Name in the middle of its piece, along its longer side, as large as fits within it; its place below."""
    from shapely import Polygon

    shape = Polygon(1e3 * placed.outline)
    width, height = (float(v) for v in np.ptp(1e3 * placed.outline, axis=0))
    lying = width >= height
    room = shape.buffer(-_CLEAR)
    for told in (True, False):
        for size in np.arange(_LARGEST, _LEAST - 1e-9, -0.1):
            if told and 0.5 * size < _READABLE:
                continue
            words = _words(placed, shape, float(size), lying=lying, told=told)
            if all(room.contains(box_of(text)) for text in words):
                return words
    return _words(placed, shape, _LEAST, lying=lying, told=False)


def _words(placed: Placed, shape: Any, size: float, *, lying: bool, told: bool) -> list[Item]:
    """Name and place of a piece, centred on it."""
    small = 0.5 * size
    along = max(np.ptp(1e3 * placed.outline, axis=0))
    lines = [(line, small) for line in folded(placed.where, small, 0.8 * along)] if told else []
    high = 0.8 * size + 1.35 * small * len(lines)
    at = high / 2 - 0.8 * size
    centre = shape.centroid
    words: list[Item] = []
    for text, s in [(placed.name, size), *lines]:
        if lying:
            words.append(Text((centre.x, centre.y + at), text, s, "middle"))
        else:
            words.append(Text((centre.x - at, centre.y), text, s, "middle", 90.0))
        at -= 1.35 * small
    return words


def box_of(text: Item) -> Any:
    """The rectangle that words take up, as a shapely polygon."""
    from shapely import box

    return box(*bounds(text))
