"""Pieces laid on sheets of stock with their grain along the sheet, by rectangles of one piece or two.

Two pieces of one shape that taper or rake are laid against each other, the second turned by half a turn where
that saves wood, which leaves its grain along the sheet; or pieces of all shapes are slid down upon one
another. The packing of rectangles is rectpack's (pure Python,
finished, no dependencies), in bins of one size and without turning them. Several of its rules are tried and
the one with the fewest sheets is kept; that no two pieces touch is checked here again.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from fea.arrays import Array
from models import units_out as say
from models.drawings.cut_list import Shape
from models.drawings.stock import SheetSize, choose
from models.drawings.web_pieces import area_of
from models.woods.wood import Material

_WORTH = 0.98
_UNIT = 1e-6
"""Sizes are packed as whole numbers of this, m, rounded up."""


class TooBig(ValueError):
    """A piece that no sheet of the stock holds; the message is complete."""


@dataclass(frozen=True, eq=False)
class Placed:
    """A piece on a sheet, in the sheet's axes: x across its grain, y along it.

    Parameters
    ----------
    name : str
        "W3-2"; of a blank that is glued up from strips "W3-2 strip 1 of 2".
    where : str
        The web's place in words.
    outline : (n, 2) float array
        Corners, m; of a strip its rectangle.
    box : (float, float, float, float)
        Left, bottom, right, top of its bounding rectangle, m.
    strip : (int, int)
        Which strip of how many; (1, 1) for a piece that is whole.
    """

    name: str
    where: str
    outline: Array
    box: tuple[float, float, float, float]
    strip: tuple[int, int]


@dataclass(frozen=True, eq=False)
class CutSheet:
    """One sheet of stock with what is cut from it."""

    material: Material
    thickness: float
    stock: SheetSize
    placed: tuple[Placed, ...]

    @property
    def used(self) -> float:
        """Share of the sheet's area that becomes webs."""
        return sum(area_of(p.outline) for p in self.placed) / (self.stock.width * self.stock.length)


@dataclass(frozen=True, eq=False)
class _Blank:
    """What is packed as one rectangle, its lower left corner at the origin: names, places and outlines."""

    names: tuple[str, ...]
    places: tuple[str, ...]
    outlines: tuple[Array, ...]
    strip: tuple[int, int] = (1, 1)

    @property
    def size(self) -> tuple[float, float]:
        width, length = np.concatenate(self.outlines).max(axis=0)
        return float(width), float(length)


def nest(of: Sequence[Shape], stocks: Sequence[SheetSize], gap: float) -> tuple[CutSheet, ...]:
    """Lay every piece of every shape on sheets, wood by wood and thickness by thickness as they first come.

    Parameters
    ----------
    of : sequence of Shape
    stocks : sequence of SheetSize
        Where none suits, `models.drawings.stock` has one.
    gap : float
        Least distance between two pieces, for the cut, m.

    Raises
    ------
    TooBig
        A piece is longer along its grain than the sheet, or a ply piece wider.
    """
    groups: dict[tuple[str, float], list[Shape]] = {}
    for shape in of:
        groups.setdefault((shape.first.material.name, round(shape.first.thickness, 9)), []).append(shape)
    sheets: list[CutSheet] = []
    for members in groups.values():
        material, thickness = members[0].first.material, members[0].first.thickness
        stock = choose(stocks, material, thickness)
        for placed in _best(members, stock, gap):
            _prove_apart(placed, gap)
            sheets.append(CutSheet(material, thickness, stock, placed))
    return tuple(sheets)


def _best(members: Sequence[Shape], stock: SheetSize, gap: float) -> list[tuple[Placed, ...]]:
    """Sheets of one wood and thickness: pieces singly, or in pairs where that takes less."""
    best: list[tuple[Placed, ...]] = []
    score = (math.inf, math.inf)
    for pairs in (False, True):
        blanks = [b for shape in members for b in _blanks(shape, stock, gap, pairs=pairs)]
        places = pack([b.size for b in blanks], (stock.width, stock.length), gap)
        count = max(p[0] for p in places) + 1
        sheets = [
            tuple(one for b, p in zip(blanks, places) if p[0] == number for one in _put(b, p[1], p[2]))
            for number in range(count)
        ]
        reach = max(one.box[3] for one in sheets[-1])
        if (count, reach) < score:
            best, score = sheets, (count, reach)
    blanks = [b for shape in members for b in _blanks(shape, stock, gap, pairs=False)]
    sheets = in_columns(blanks, stock, gap)
    if (len(sheets), max(one.box[3] for one in sheets[-1])) < score:
        best = sheets
    return best


_NEAR = 4
"""Pieces on top of a column beside which the next may come to lie."""


def in_columns(blanks: Sequence[_Blank], stock: SheetSize, gap: float) -> list[tuple[Placed, ...]]:
    """Single pieces one above the other, each slid down along the grain until it is clear of those below.

    Slanting pieces, such as webs with their grain at 45 degrees, lie into one another so, which no
    rectangles round them do. Either way round of each is tried; it is turned by half a turn at the most.
    Blanks are of one outline each, the gap is in m; a tuple a sheet.
    """
    from shapely import Polygon
    from shapely.affinity import translate

    sheets: list[list[Placed]] = []
    column: list[Any] = []
    left = right = 0.0
    for blank in sorted(blanks, key=lambda b: (-b.size[0], -b.size[1])):
        size = np.array(blank.size)
        best: tuple[float, Array] | None = None
        for outline in (blank.outlines[0], size - blank.outlines[0]):
            at = _down(column, Polygon(outline + np.array([left, 0.0])), gap) if column else 0.0
            if best is None or at < best[0] - _UNIT:
                best = at, outline
        assert best is not None
        up, outline = best
        if not column or up + size[1] > stock.length + 1e-9:
            beside = right + gap
            if not column or beside + size[0] > stock.width + 1e-9:
                sheets.append([])
                beside = 0.0
            left, right, up, column, outline = beside, beside + float(size[0]), 0.0, [], blank.outlines[0]
        column.append(translate(Polygon(outline), left, up))
        one = _Blank(blank.names, blank.places, (outline,), blank.strip)
        sheets[-1] += _put(one, left, up)
    return [tuple(sheet) for sheet in sheets]


def _down(below: Sequence[Any], piece: Any, gap: float) -> float:
    """How far a piece stays up so that it is clear of those below it, m."""
    from shapely.affinity import translate

    low = max(one.bounds[1] for one in below[-_NEAR:])
    high = max(one.bounds[3] for one in below) + gap
    return _least(low, high, lambda up: _clear(below, translate(piece, 0.0, up), gap))


def _clear(those: Sequence[Any], piece: Any, gap: float) -> bool:
    return all(one.distance(piece) >= gap for one in those)


def _least(low: float, high: float, holds: Callable[[float], bool]) -> float:
    """The least place from `low` (does not hold) to `high` (holds) that holds, m, by halving."""
    while high - low > _UNIT / 2:
        middle = (low + high) / 2
        if holds(middle):
            high = middle
        else:
            low = middle
    return high


def against(outline: Array, gap: float) -> tuple[Array, Array] | None:
    """Two pieces of one outline laid against each other so that their common rectangle is small.

    Outline and both answers are (n, 2), m, the first with its rectangle's lower left corner at the origin;
    the gap is the least distance between the two, m. None where two rectangles are as good.
    """
    size = outline.max(axis=0)
    best, least = None, _WORTH * 2 * float(np.prod(size + gap))
    for other in (outline, size - outline):
        for axis in (0, 1):
            moved = other.copy()
            moved[:, axis] += _clearance(outline, other, axis, gap)
            both = np.concatenate([outline, moved])
            area = float(np.prod(np.ptp(both, axis=0) + gap))
            if area < least:
                best, least = (outline - both.min(axis=0), moved - both.min(axis=0)), area
    return best


def _clearance(outline: Array, other: Array, axis: int, gap: float) -> float:
    """How far the other must move along an axis to be clear, m."""
    from shapely import Polygon
    from shapely.affinity import translate

    one, two = Polygon(outline), Polygon(other)

    def clear(by: float) -> bool:
        moved = translate(two, *((by, 0.0) if axis == 0 else (0.0, by)))
        return bool(one.distance(moved) >= gap and not one.intersects(moved))

    return _least(0.0, float(outline[:, axis].max()) + gap, clear)


def _prove_apart(placed: Sequence[Placed], gap: float) -> None:
    from shapely import Polygon

    rings = [Polygon(p.outline) for p in placed]
    for k, one in enumerate(rings):
        for other in rings[:k]:
            if one.distance(other) < gap - 3 * _UNIT or one.intersection(other).area > _UNIT * gap + 1e-9:
                raise RuntimeError("pieces on a sheet touch")


def on_sheet(outline: Array, grain: float) -> Array:
    """An outline, (n, 2), along the span and up, turned so that its grain lies along the sheet's length:
    across and along it, its corner at the origin, m. The grain is from the span towards upright, rad.
    """
    turn = np.pi / 2 - grain
    c, s = math.cos(turn), math.sin(turn)
    turned = outline @ np.array([[c, s], [-s, c]])
    return np.asarray(turned - turned.min(axis=0))


def _larger(side: float, mm: int, inches: int) -> str:
    """A side of a sheet (m) that is large enough, in whole steps."""
    if say.imperial():
        return f"{math.ceil(side / say.INCH / inches) * inches} in"
    return f"{math.ceil(1e3 * side / mm) * mm} mm"


def _blanks(shape: Shape, stock: SheetSize, gap: float, *, pairs: bool) -> list[_Blank]:
    outline = on_sheet(shape.outline, shape.grain)
    width, length = outline.max(axis=0)
    fits_along = length <= stock.length + 1e-9
    if _fits(outline, stock):
        names, places = shape.names(), tuple(p.where for p in shape.pieces)
        two = against(outline, gap) if pairs and len(names) > 1 else None
        if two is None or not _fits(np.concatenate(two), stock):
            return [_Blank((n,), (w,), (outline,)) for n, w in zip(names, places)]
        found = [_Blank(names[k : k + 2], places[k : k + 2], two) for k in range(0, len(names) - 1, 2)]
        return found + [_Blank((n,), (w,), (outline,)) for n, w in zip(names, places)][2 * len(found) :]
    one = shape.first
    size = f"{say.length(width):.1f} across and {say.length(length):.1f} along its grain"
    if not fits_along or one.material.kind == "ply":
        raise TooBig(
            f"piece {shape.mark} ({one.where}) is {size}, more than a sheet of {one.material.name} of "
            f"{stock.size}; give a larger one, like "
            f'--stock "{one.material.name}: {_larger(width, 50, 2)} x {_larger(length, 100, 4)}".'
        )
    n = math.ceil(width / stock.width - 1e-9)
    strip = np.array([[0, 0], [width / n, 0], [width / n, length], [0, length]])
    return [
        _Blank((f"{name} strip {k} of {n}",), (p.where,), (strip,), (k, n))
        for name, p in zip(shape.names(), shape.pieces)
        for k in range(1, n + 1)
    ]


def _fits(outline: Array, stock: SheetSize) -> bool:
    width, length = outline.max(axis=0)
    return bool(width <= stock.width + 1e-9 and length <= stock.length + 1e-9)


def _put(blank: _Blank, x: float, y: float) -> list[Placed]:
    found = []
    for name, where, outline in zip(blank.names, blank.places, blank.outlines, strict=True):
        there = outline + np.array([x, y])
        low, high = there.min(axis=0), there.max(axis=0)
        box = float(low[0]), float(low[1]), float(high[0]), float(high[1])
        found.append(Placed(name, where, there, box, blank.strip))
    return found


def pack(
    sizes: Sequence[tuple[float, float]], sheet: tuple[float, float], gap: float
) -> list[tuple[int, float, float]]:
    """Rectangles on sheets of one size, none turned, none nearer to another than the gap; all in m.

    Parameters
    ----------
    sizes, sheet, gap
        None of the sizes larger than the sheet.

    Returns
    -------
    list of (int, float, float)
        Of each rectangle: the number of its sheet from 0, and its lower left corner, m.

    Raises
    ------
    RuntimeError
        What the library returned overlaps or is not all there.
    """
    import rectpack

    whole = [(_units(w + gap), _units(h + gap)) for w, h in sizes]
    # A rectangle with its gap may touch the edge of a sheet that is larger by a gap.
    room = (_units(sheet[0] + gap) + 1, _units(sheet[1] + gap) + 1)
    best: list[tuple[int, int, int]] | None = None
    score = (math.inf, math.inf)
    for algorithm in (rectpack.MaxRectsBssf, rectpack.MaxRectsBl, rectpack.SkylineBlWm):
        for order in (rectpack.SORT_AREA, rectpack.SORT_LSIDE, rectpack.SORT_SSIDE):
            found = _packed(rectpack, whole, room, algorithm, order)
            last = max(b for b, _, _ in found)
            reach = max(y + whole[k][1] for k, (b, _, y) in enumerate(found) if b == last)
            # Fewest sheets; of equals the one that leaves the longest offcut.
            if (last, reach) < score:
                best, score = found, (last, reach)
    assert best is not None
    places = [(b, x * _UNIT, y * _UNIT) for b, x, y in best]
    _prove(places, sizes, sheet, gap)
    return places


def _units(length: float) -> int:
    return math.ceil(length / _UNIT - 1e-3)


def _packed(
    rectpack: Any, whole: Sequence[tuple[int, int]], room: tuple[int, int], algorithm: Any, order: Any
) -> list[tuple[int, int, int]]:
    packer = rectpack.newPacker(
        mode=rectpack.PackingMode.Offline,
        bin_algo=rectpack.PackingBin.BBF,
        pack_algo=algorithm,
        sort_algo=order,
        rotation=False,
    )
    for k, (width, height) in enumerate(whole):
        packer.add_rect(width, height, k)
    packer.add_bin(*room, count=math.inf)
    packer.pack()
    found: dict[int, tuple[int, int, int]] = {}
    for number, x, y, width, height, k in packer.rect_list():
        if (width, height) != whole[k]:
            raise RuntimeError("a piece was turned against its grain")
        found[k] = (number, x, y)
    if len(found) != len(whole):
        raise RuntimeError(f"{len(whole) - len(found)} pieces were left out of the sheets")
    return [found[k] for k in range(len(whole))]


def _prove(
    places: Sequence[tuple[int, float, float]],
    sizes: Sequence[tuple[float, float]],
    sheet: tuple[float, float],
    gap: float,
) -> None:
    number, x, y = np.array(places).T
    width, height = np.array(sizes).T
    slack = 3 * _UNIT
    inside = (x > -slack) & (y > -slack) & (x + width < sheet[0] + slack) & (y + height < sheet[1] + slack)
    apart_x = (x[:, None] + width[:, None] + gap < x[None] + slack) | (
        x[None] + width[None] + gap < x[:, None] + slack
    )
    apart_y = (y[:, None] + height[:, None] + gap < y[None] + slack) | (
        y[None] + height[None] + gap < y[:, None] + slack
    )
    clear = (number[:, None] != number[None]) | apart_x | apart_y | np.eye(len(x), dtype=bool)
    if not (inside.all() and clear.all()):
        raise RuntimeError("pieces overlap or stand over the edge of a sheet")
