"""Drawings on paper: a frame with bars to check the printer, and large ones cut into tiles that join.

Tiles overlap by a centimetre. Crosses mark the same points of the drawing on all the sheets that meet there;
a small key plan shows which tile a page is and which tiles there are.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from models import units_out as say
from models.drawings.ink import (
    Drawing,
    Item,
    Path,
    Text,
    block,
    bounds,
    folded,
    letter,
    line,
    moved,
    text_width,
)  # fmt: skip

PAPERS: dict[str, tuple[float, float]] = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
"""Width and height of paper, mm (ISO 216; 8 1/2 x 11 in)."""

MARGIN = 8.0
"""Edge of the paper that printers leave white, mm."""
STRIP = 30.0
"""Height of the strip with scale bars and words at the foot of every page, mm."""
OVERLAP = 10.0
"""Overlap of neighbouring tiles, mm."""
METRIC_BAR, INCH_BAR = 100.0, 101.6
"""Lengths of the two bars, mm: 100 mm and 4 in."""
_BARE = 1.0
_ROOM = 5.0
_NO_WORK = frozenset(("SHEET", "GRAIN", "SMALL"))
_SMALL = 1.75
_CAUTION = (
    "Model aircraft only, never anything that carries people. Print at 100 %, then measure both bars; where "
    "one is off, do not cut from this page. Sizes are those of the file's model: offer every piece up to the "
    "frame before gluing. Proof-test before the first flight."
)


@dataclass(frozen=True)
class DrawingPage:
    """A page ready to be written, mm, its lower left corner at the origin.

    Parameters
    ----------
    name : str
        For a file of its own.
    width, height : float
        Of the paper, mm.
    frame : tuple of items
        Scale bars, title, marks of joins.
    items : tuple of items
        The drawing, or the part of it on this tile.
    clip : (float, float, float, float)
        Left, bottom, right, top of the window through which the drawing is seen, mm.
    """

    name: str
    width: float
    height: float
    frame: tuple[Item, ...]
    items: tuple[Item, ...]
    clip: tuple[float, float, float, float]


def window(paper: str) -> tuple[float, float]:
    """Width and height that a drawing may take up on one page of upright paper, mm."""
    width, height = PAPERS[paper]
    return width - 2 * MARGIN, height - 2 * MARGIN - STRIP


def whole_page(drawing: Drawing, wing: str, number: int, count: int) -> DrawingPage:
    """A drawing on one page as large as it needs, for a plotter or a laser.

    Parameters
    ----------
    drawing, wing, number, count
        Which page of how many; the wing's name.
    """
    least = window("a4")[0]
    width = max(drawing.width, least) + 2 * MARGIN
    height = drawing.height + 2 * MARGIN + STRIP
    low = MARGIN + STRIP
    clip = (MARGIN - _BARE, low - _BARE, width - MARGIN + _BARE, height - MARGIN + _BARE)
    words = f"page {number} of {count}" if count > 1 else ""
    frame = _frame(width, drawing.title, wing, words)
    return DrawingPage(drawing.name, width, height, tuple(frame), moved(drawing.items, MARGIN, low), clip)


def pages(drawings: Sequence[Drawing], paper: str, wing: str) -> tuple[DrawingPage, ...]:
    """Drawings on paper of one size: one page each where they fit, else as many tiles as it takes.

    Tiles with nothing on them are left out; `paper` is one of `PAPERS`, `wing` the wing's name.
    """
    plans = [_planned(drawing, paper) for drawing in drawings]
    count = sum(len(plan.used) for _, plan in plans)
    out: list[DrawingPage] = []
    for drawing, plan in plans:
        for tile in plan.used:
            out.append(_tile_page(drawing, plan, tile, wing, len(out) + 1, count))
    return tuple(out)


@dataclass(frozen=True)
class _Tiling:
    """How a drawing is cut up: paper, its window, the tiles' pitch, and the tiles with something on them."""

    paper: tuple[float, float]
    view: tuple[float, float]
    pitch: tuple[float, float]
    columns: int
    rows: int
    used: tuple[tuple[int, int], ...]

    @property
    def single(self) -> bool:
        return self.columns == self.rows == 1


def _planned(drawing: Drawing, paper: str) -> tuple[Drawing, _Tiling]:
    """A drawing and how it is cut up; one that needs tiles gets room around it for the crosses."""
    plan = _tiles(drawing, paper)
    if plan.single:
        return drawing, plan
    wider = replace(
        drawing,
        width=drawing.width + 2 * _ROOM,
        height=drawing.height + 2 * _ROOM,
        items=moved(drawing.items, _ROOM, _ROOM),
    )
    plan = _tiles(wider, paper)
    if not drawing.from_top:
        return wider, plan
    more = plan.rows * plan.pitch[1] - wider.height
    wider = replace(wider, height=wider.height + more, items=moved(wider.items, 0.0, more))
    return wider, _tiles(wider, paper)


def _tiles(drawing: Drawing, paper: str) -> _Tiling:
    """The way round of the paper that takes fewer pages; upright where it is the same."""
    upright = PAPERS[paper]
    best: _Tiling | None = None
    for size in (upright, upright[::-1]):
        view = (size[0] - 2 * MARGIN, size[1] - 2 * MARGIN - STRIP)
        pitch, counts = [], []
        for room, need in zip(view, (drawing.width, drawing.height)):
            one = need <= room + 1e-9
            step = room if one else room - OVERLAP
            pitch.append(step)
            counts.append(1 if one else math.ceil((need - 1e-9) / step))
        plan = _Tiling(size, view, (pitch[0], pitch[1]), counts[0], counts[1], ())
        used = tuple(
            (column, row)
            for row in reversed(range(plan.rows))
            for column in range(plan.columns)
            if plan.single or _anything(drawing, plan, (column, row))
        )
        plan = _Tiling(size, view, plan.pitch, plan.columns, plan.rows, used)
        if best is None or len(used) < len(best.used):
            best = plan
    assert best is not None
    return best


def _region(plan: _Tiling, tile: tuple[int, int]) -> tuple[float, float, float, float]:
    """The part of the drawing between the joins of a tile, mm."""
    left, bottom = tile[0] * plan.pitch[0], tile[1] * plan.pitch[1]
    return left, bottom, left + plan.pitch[0], bottom + plan.pitch[1]


def _touches(item: Item, region: tuple[float, float, float, float]) -> bool:
    left, bottom, right, top = bounds(item)
    if left > region[2] or right < region[0] or bottom > region[3] or top < region[1]:
        return False
    if isinstance(item, Path) and item.grey is None:
        from shapely import LineString, box

        points = [*item.points, item.points[0]] if item.closed else item.points
        return bool(LineString(points).intersects(box(*region)))
    return True


def _anything(drawing: Drawing, plan: _Tiling, tile: tuple[int, int]) -> bool:
    """Whether a tile shows more than the edge of a sheet and what is said of it."""
    own = (item for item in drawing.items if item.layer not in _NO_WORK)
    return any(_touches(item, _region(plan, tile)) for item in own)


def _tile_page(
    drawing: Drawing, plan: _Tiling, tile: tuple[int, int], wing: str, number: int, count: int
) -> DrawingPage:
    width, height = plan.paper
    region = _region(plan, tile)
    lap_x = OVERLAP / 2 if plan.columns > 1 else 0.0
    lap_y = OVERLAP / 2 if plan.rows > 1 else 0.0
    low = MARGIN + STRIP
    right, up = MARGIN + lap_x - region[0], low + lap_y - region[1]
    if plan.columns == 1:
        right += (plan.view[0] - drawing.width) / 2
    if plan.single:
        up += plan.view[1] - drawing.height
    clip = (MARGIN - _BARE, low - _BARE, width - MARGIN + _BARE, height - MARGIN + _BARE)
    seen = (clip[0] - right, clip[1] - up, clip[2] - right, clip[3] - up)
    items = tuple(item for item in drawing.items if _touches(item, seen))
    words = f"page {number} of {count}"
    if not plan.single:
        words += f", tile {_name(plan, tile)}"
    frame = _frame(width, drawing.title, wing, words)
    if not plan.single:
        frame += _joins(plan, tile, right, up, drawing)
        frame += _key_plan(plan, tile, width)
    return DrawingPage(f"{drawing.name}-{number}", width, height, tuple(frame), moved(items, right, up), clip)


def _name(plan: _Tiling, tile: tuple[int, int]) -> str:
    """Rows are letters from the top, columns numbers from the left: "B3"."""
    return f"{letter(plan.rows - 1 - tile[1])}{tile[0] + 1}"


def _joins(plan: _Tiling, tile: tuple[int, int], right: float, up: float, drawing: Drawing) -> list[Item]:
    """Crosses at the corners between tiles, dashed lines along the joins, and which tile comes next."""
    left, bottom, far, top = _region(plan, tile)
    if plan.columns == 1:
        left, far = 0.0, drawing.width
    if plan.rows == 1:
        bottom, top = 0.0, drawing.height
    x = [left + right, far + right]
    y = [bottom + up, top + up]
    out: list[Item] = []
    for px in x:
        for py in y:
            out += [
                line((px - 4, py), (px + 4, py), layer="FRAME", name="cross"),
                line((px, py - 4), (px, py + 4), layer="FRAME", name="cross"),
            ]
    for k, (column, row), (a, b) in (
        (0, (tile[0] - 1, tile[1]), ((x[0], y[0]), (x[0], y[1]))),
        (1, (tile[0] + 1, tile[1]), ((x[1], y[0]), (x[1], y[1]))),
        (2, (tile[0], tile[1] - 1), ((x[0], y[0]), (x[1], y[0]))),
        (3, (tile[0], tile[1] + 1), ((x[0], y[1]), (x[1], y[1]))),
    ):
        if (column, row) not in plan.used:
            continue
        out.append(line(a, b, layer="JOIN"))
        words = f"joins {_name(plan, (column, row))}"
        half = text_width(words, _SMALL) / 2
        # Beside the join in the overlap, where nothing but the neighbour's own strip is drawn.
        if k == 0:
            out.append(Text((x[0] - 1.2, y[0] + 6), words, _SMALL, angle=90, layer="SMALL"))
        elif k == 1:
            out.append(Text((x[1] + 2.6, y[0] + 6), words, _SMALL, angle=90, layer="SMALL"))
        else:
            at = y[0] - 2.6 if k == 2 else y[1] + 1.2
            out.append(Text((x[0] + 6 + half, at), words, _SMALL, "middle", layer="SMALL"))
    return out


def _key_plan(plan: _Tiling, tile: tuple[int, int], width: float) -> list[Item]:
    """The tiles in small, this one filled with grey, those left out crossed."""
    room_x, room_y = 34.0, 20.0
    scale = min(room_x / (plan.columns * plan.pitch[0]), room_y / (plan.rows * plan.pitch[1]))
    w, h = plan.pitch[0] * scale, plan.pitch[1] * scale
    x0, y0 = width - MARGIN - plan.columns * w, MARGIN + 7.5
    out: list[Item] = []
    for row in range(plan.rows):
        for column in range(plan.columns):
            x, y = x0 + column * w, y0 + row * h
            ring = ((x, y), (x + w, y), (x + w, y + h), (x, y + h))
            here = (column, row) == tile
            out.append(Path(ring, "FRAME", True, 0.75 if here else None))
            if (column, row) not in plan.used:
                out += [line(ring[0], ring[2], layer="SMALL"), line(ring[1], ring[3], layer="SMALL")]
                continue
            size = min(2.4, 0.5 * h, 0.4 * w)
            if size > 0.9:
                at = (x + w / 2, y + h / 2 - 0.35 * size)
                out.append(Text(at, _name(plan, (column, row)), size, "middle", layer="SMALL"))
    return out


def scale_bars(left: float, low: float) -> list[Item]:
    """The two bars that show whether a print is true: 100 mm, or 3 in for who reads inches, and 4 in.

    From their lower left corner, mm; they take 103 by 19 mm.
    """
    out: list[Item] = []
    other = (low + 11.0, METRIC_BAR, 10.0, "this bar is 100 mm long")
    if say.imperial():
        other = (low + 11.0, 0.75 * INCH_BAR, 25.4 / 4, "this bar is 3 in long")
    for y, length, step, words in (other, (low + 1.0, INCH_BAR, 25.4, "this bar is 4 in long")):
        out.append(line((left, y), (left + length, y), layer="FRAME", name=words))
        for k in range(round(length / step) + 1):
            tall = 3.0 if k in (0, round(length / step)) else 1.8
            out.append(line((left + k * step, y), (left + k * step, y + tall), layer="FRAME"))
        out.append(Text((left + length / 2, y + 3.8), words, 2.4, "middle"))
    return out


def _frame(width: float, title: str, wing: str, words: str) -> list[Item]:
    left, low = MARGIN, MARGIN
    out: list[Item] = [line((left, low + STRIP - 2), (width - MARGIN, low + STRIP - 2), layer="FRAME")]
    out += scale_bars(left, low + 7.5)
    column = left + INCH_BAR + 5
    room = width - MARGIN - column - 37
    top = low + STRIP - 3.5
    lines = folded(wing, 2.8, room)[:2]
    out += [*block(lines, (column, top), 2.8)]
    under = top - 3.5 * len(lines) - 0.6
    size = 2.4
    told = folded(title, size, room)[:4]
    out += block(told, (column, under), size)
    out += block([words] if words else [], (column, under - 3.0 * len(told) - 0.6), size)
    caution = folded(_CAUTION, _SMALL, width - 2 * MARGIN)
    out += block(caution, (left, low + 2.2 * len(caution) - 0.2), _SMALL, "SMALL")
    return out
