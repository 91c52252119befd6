"""Drilling template of the engine rails: plan view, bolts as measured, figures to check the build by."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from models import units_out as say
from models.drawings.ink import (
    Circle,
    Drawing,
    Item,
    Path,
    Text,
    arrow,
    block,
    bounds,
    folded,
    line,
    moved,
    text_width,
)  # fmt: skip
from models.wing.parts import Rail, Wing
from models.wing.words import spar_words

SPACING_TOLERANCE = 0.5e-3
"""How far rails may be from their spacing, m; common practice, no source."""
DIAGONAL_TOLERANCE = 1.0e-3
"""How much the two diagonals may differ, m; common practice, no source."""
MEASURE = "Measure your engine: across and along its bolts, and from the rails' front end."
_SIZE = 2.4
_TICK = 5.0
_RULED = 120.0


@dataclass(frozen=True)
class RailCheck:
    """Figures of a rail, or of a pair, to build and check by.

    Parameters
    ----------
    name : str
        Of the rail.
    pair : bool
        Whether it has a twin.
    between, middles : float
        From inside face to inside face and from middle to middle of a pair, m; 0 for a single rail.
    length : float
        Of a rail, m.
    rail_diagonal : float
        Between opposite ends of the two middle lines, m; 0 for a single rail.
    bolts : tuple of (float, float)
        Centres, m: x aft of the rails' front end, y to starboard of the centre line; empty where the file has
        none.
    hole : float
        Diameter, m.
    bolt_diagonal : float
        Between the first bolt of one rail and the last of the other, m; 0 where there is no such pair.
    """

    name: str
    pair: bool
    between: float
    middles: float
    length: float
    rail_diagonal: float
    bolts: tuple[tuple[float, float], ...]
    hole: float
    bolt_diagonal: float


def rail_check(rail: Rail) -> RailCheck:
    """What a rail's template has to show."""
    pair = rail.y > 1e-9
    length = rail.x_rear - rail.x_front
    bolts: list[tuple[float, float]] = []
    diagonal = hole = 0.0
    if rail.bolts is not None:
        hole = rail.bolts.hole
        rows = (rail.bolts.across / 2, -rail.bolts.across / 2) if pair else (rail.y,)
        reach = [rail.bolts.from_front + k * rail.bolts.along for k in range(rail.bolts.per_rail)]
        bolts = [(x, y) for y in rows for x in reach]
        if pair and len(reach) > 1:
            diagonal = float(np.hypot(rail.bolts.across, reach[-1] - reach[0]))
    return RailCheck(
        name=rail.name,
        pair=pair,
        between=2 * rail.y - rail.width if pair else 0.0,
        middles=2 * rail.y if pair else 0.0,
        length=length,
        rail_diagonal=float(np.hypot(2 * rail.y, length)) if pair else 0.0,
        bolts=tuple(bolts),
        hole=hole,
        bolt_diagonal=diagonal,
    )


def checks(of: RailCheck) -> list[str]:
    """The build checks in words."""
    words = [f"{of.name}: {'a pair of rails' if of.pair else 'one rail'}, {say.length(of.length):.1f} long"]
    tolerance = f"+/- {say.length(SPACING_TOLERANCE):.1g}"
    if of.pair:
        words += [
            f"between the rails {say.length(of.between):.2f}, middle to middle {say.length(of.middles):.2f}, "
            f"{tolerance}",
            "square: both diagonals between the ends of the middle lines "
            f"{say.length(of.rail_diagonal):.2f}, equal within {say.length(DIAGONAL_TOLERANCE):.1g}",
        ]
    if not of.bolts:
        words.append(MEASURE)
        blank = f"________ {say.length.unit}"
        words.append(f"across {blank}   along {blank}   from front {blank}")
    else:
        words.append(
            f"{len(of.bolts)} holes of {say.size(of.hole):g}, measured on the engine (from the file)"
        )
    if of.bolt_diagonal:
        words.append(
            f"bolts square: both diagonals {say.length(of.bolt_diagonal):.2f}, equal within "
            f"{say.length(DIAGONAL_TOLERANCE):.1g}"
        )
    return words


def rail_drawings(wing: Wing) -> tuple[Drawing, ...]:
    """A template for every rail or pair, from above, nose up, starboard to the right."""
    many = len(wing.rails) > 1
    return tuple(
        _drawing(wing, rail, f"rail-template-{k}" if many else "rail-template")
        for k, rail in enumerate(wing.rails, 1)
    )


def _drawing(wing: Wing, rail: Rail, name: str) -> Drawing:
    of = rail_check(rail)
    sides = (1.0, -1.0) if of.pair else (1.0,)
    rear, front = 1e3 * rail.x_rear, 1e3 * rail.x_front
    half = 1e3 * (rail.y + rail.width / 2)
    items: list[Item] = []

    def up(x: float) -> float:
        return rear - x

    for sign in sides:
        middle = sign * 1e3 * rail.y
        w = 500 * rail.width
        left, right = middle - w, middle + w
        ring = ((left, up(front)), (right, up(front)), (right, up(rear)), (left, up(rear)))
        items.append(Path(ring, "CUT", True, name=f"rail {'starboard' if sign > 0 else 'port'}"))
        items.append(
            line((middle, up(front) + 4), (middle, up(rear) - 4), layer="CENTRE", name="rail middle")
        )
    items.append(line((0.0, up(front) + 8), (0.0, -8.0), layer="CENTRE", name="centre line"))
    out = half + 10.0
    items += _crossings(wing, rail, out, up)
    for x, y in of.bolts:
        at = (1e3 * y, up(front + 1e3 * x))
        items.append(Circle(at, 500 * of.hole, "CUT", name="bolt"))
        reach = max(500 * of.hole + 2, 4.0)
        items.append(line((at[0] - reach, at[1]), (at[0] + reach, at[1]), layer="MARK"))
        items.append(line((at[0], at[1] - reach), (at[0], at[1] + reach), layer="MARK"))
    if not of.bolts:
        items += _rulers(rail, sides, front, up)
    top = up(front) + 9.0
    if of.pair:
        items += _spacing(of, half, top)
        items += _diagonals(of, rail, up)
        top += 17.0
    words = [piece for text in checks(of) for piece in folded(text, _SIZE, 118.0)]
    items.append(Text((0.0, top + 4.0), "front", 3.0, "middle"))
    high = top + 9.0 + 1.25 * _SIZE * len(words)
    wide = max(text_width(w, _SIZE) for w in words)
    items += block(words, (-min(wide, 118.0) / 2, high), _SIZE)
    boxes = [bounds(item) for item in items if isinstance(item, Text)]
    left, right = min(-out, *(box[0] for box in boxes)), max(out, *(box[2] for box in boxes))
    title = f"{rail.name}: drilling template from above, nose up, starboard to the right"
    return Drawing(name, title, right - left, high + 9.0, moved(items, -left, 9.0), from_top=True)


def _crossings(wing: Wing, rail: Rail, out: float, up: Callable[[float], float]) -> list[Item]:
    """The leading edge and both faces of every spar's caps where they pass under the rails."""
    items: list[Item] = []
    lines: list[tuple[str, list[tuple[float, float]]]] = []
    reach = np.linspace(0.0, 1e-3 * out, 9)
    if wing.planform is not None:
        nose = wing.planform.leading_edge_x.at(reach)
        lines.append(("leading edge", list(zip(1e3 * reach, 1e3 * nose))))
    for spar in wing.spars:
        for sign, word in ((-1, f"{spar_words(spar.name)}, front of caps"), (1, "rear of caps")):
            x = spar.x.at(reach) + sign * spar.aslant.at(reach) * spar.upper.width.at(reach) / 2
            lines.append((word, list(zip(1e3 * reach, 1e3 * x))))
    low, high = 1e3 * rail.x_front - 8, 1e3 * rail.x_rear + 8
    for word, points in lines:
        if not all(low <= x <= high for _, x in points):
            continue
        both = [(-y, up(x)) for y, x in points[:0:-1]] + [(y, up(x)) for y, x in points]
        items.append(line(*both, layer="HIDDEN", name=word))
        above = "front" in word or "leading" in word
        items.append(Text((out + 1.5, both[-1][1] + (0.2 if above else -1.6)), word, 2.2, layer="SMALL"))
    return items


def _rulers(rail: Rail, sides: tuple[float, ...], front: float, up: Callable[[float], float]) -> list[Item]:
    """Ticks every 5 mm (or 1/4 in) along the middle lines, to mark the bolts on once they are measured."""
    items: list[Item] = []
    tick = 25.4 / 4 if say.imperial() else _TICK
    count = int(min(_RULED, 1e3 * (rail.x_rear - rail.x_front)) / tick)
    for sign in sides:
        middle = sign * 1e3 * rail.y
        for k in range(1, count + 1):
            tall = 2.6 if k % 2 == 0 else 1.5
            at = up(front + tick * k)
            items.append(line((middle - tall, at), (middle + tall, at), layer="MARK", name="tick"))
            if k % 4 == 0:
                edge = middle + sign * (500 * rail.width + 1.2)
                anchor = "start" if sign > 0 else "end"
                items.append(
                    Text((edge, at - 0.7), say.length.bare(1e-3 * tick * k, "g"), 2.0, anchor, layer="SMALL")
                )
    return items


def _spacing(of: RailCheck, half: float, low: float) -> list[Item]:
    """Dimension lines over the front ends: between the rails, and from middle to middle."""
    items: list[Item] = []
    for k, (length, words) in enumerate(((of.between, "between"), (of.middles, "middles"))):
        y, reach = low + 1.5 + 7.0 * k, 500 * length
        items += arrow((-reach, y), (reach, y), "MARK")
        for side in (-reach, reach):
            items.append(line((side, y - 1.5), (side, y + 1.5), layer="MARK"))
        text = f"{words} {say.length.bare(length, '.2f')}"
        inside = text_width(text, _SIZE) < 2 * reach - 4
        at = (0.0, y + 1.0) if inside else (half + 2.0, y - 0.8)
        items.append(Text(at, text, _SIZE, "middle" if inside else "start"))
    return items


def _diagonals(of: RailCheck, rail: Rail, up: Callable[[float], float]) -> list[Item]:
    """Both diagonals that must be equal: between bolts where they are known, else between the rails' ends."""
    front, rear, y = 0.0, 1e3 * of.length, 1e3 * rail.y
    if of.bolt_diagonal:
        xs = [x for x, _ in of.bolts]
        front, rear, y = 1e3 * min(xs), 1e3 * max(xs), 1e3 * max(abs(y) for _, y in of.bolts)
    ends = up(1e3 * rail.x_front + front), up(1e3 * rail.x_front + rear)
    return [line((-side, ends[0]), (side, ends[1]), layer="JOIN", name="diagonal") for side in (y, -y)]
