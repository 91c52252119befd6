"""Ribs at full size: the section less what covers it, the edges' sticks, caps' notches, braces' slots and the
holes of joiners.

The section is the model's own at the rib's station, washout included. Sheeting and cap strips are taken off
square to the surface; notches are as wide as the caps fore and aft and are filed to the spar's sweep.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from fea.arrays import Array
from models import units_out as say
from models.drawings.cut_list import gathered
from models.drawings.ink import Drawing, Item, Text, block, folded, grain_arrow, line, outline
from models.drawings.templates import MARK, SIZE, Cell, flow
from models.wing.airfoil import FRACTIONS
from models.wing.parts import Joiner, Planform, Rib, Spar, Wing

BURIED = 1e-3
"""A cap with more wood than this over all its width has a slot, not an open notch, m; common practice, no
source."""
_SLIVER = 2e-6
"""Offcuts smaller than this are no part of a rib, m2."""
_SHAVED = 1e-4
_FAR = 1.0
_TOUCH = 1e-7
_FINE = 2e-6


@dataclass(frozen=True, eq=False)
class RibShape:
    """Ribs of one shape.

    Parameters
    ----------
    mark : str
        "R3", or "R2-R11".
    ribs : tuple of int
        Their numbers, 1 the innermost.
    count : int
        How many to cut for the whole wing; port ribs are turned over.
    rib : Rib
        The first of them.
    parts : tuple of shapely Polygon
        The wood, in one piece or in several where a brace parts it, m: x aft from the leading edge, z up.
    chord : ((float, float), (float, float))
        Ends of the chord line, m.
    spars : tuple of (str, float)
        Name and place of every spar that passes, m aft of the leading edge.
    covered : tuple of str
        What was taken off, in words.
    """

    mark: str
    ribs: tuple[int, ...]
    count: int
    rib: Rib
    parts: tuple[Any, ...]
    chord: tuple[tuple[float, float], tuple[float, float]]
    spars: tuple[tuple[str, float], ...]
    covered: tuple[str, ...]


def rib_shapes(wing: Wing) -> tuple[RibShape, ...]:
    """Ribs of a flying wing, those of one shape together, from the centre outward.

    Empty for a specimen, which has no sections. Where the edges' sticks leave no wood of a rib, its shape has
    no parts.
    """
    plan = wing.planform
    if plan is None:
        return ()
    cut = [(number, rib, *rib_wood(wing, plan, rib)) for number, rib in enumerate(wing.ribs, 1)]
    return tuple(_shape(wing, plan, group) for group in gathered(cut, _alike))


_CutRib = tuple[int, Rib, Any, tuple[str, ...]]
"""Number of a rib, the rib, its wood and what was taken off it."""


def _alike(one: _CutRib, other: _CutRib) -> bool:
    (_, first, known, told), (_, rib, wood, off) = one, other
    same = (first.material.name, first.thickness, told) == (rib.material.name, rib.thickness, off)
    return same and bool(known.symmetric_difference(wood).area < 1e-9)


def _shape(wing: Wing, plan: Planform, group: list[_CutRib]) -> RibShape:
    numbers = tuple(number for number, *_ in group)
    _, rib, wood, told = group[0]
    run = len(numbers) > 1 and numbers[-1] - numbers[0] == len(numbers) - 1
    mark = f"R{numbers[0]}-R{numbers[-1]}" if run else ", ".join(f"R{n}" for n in numbers)
    count = sum(1 if r.y < _TOUCH else 2 for _, r, *_ in group)
    ends = np.array([0.0, 1.0])
    x, z = plan.surface(rib.y, ends, True)
    lower_x, lower_z = plan.surface(rib.y, ends, False)
    nose = float(plan.leading_edge_x.at(rib.y))
    line_x, line_z = (x + lower_x) / 2 - nose, (z + lower_z) / 2 - float(plan.leading_edge_z.at(rib.y))
    parts = getattr(wood, "geoms", [wood])
    kept = sorted((p for p in parts if p.area > _SLIVER), key=lambda p: p.bounds[0])
    spars = tuple((s.name, float(s.x.at(rib.y)) - nose) for s in wing.spars if rib.y <= s.y_end + _TOUCH)
    chord = ((float(line_x[0]), float(line_z[0])), (float(line_x[1]), float(line_z[1])))
    return RibShape(mark, numbers, count, rib, tuple(kept), chord, spars, told)


def rib_wood(wing: Wing, plan: Planform, rib: Rib) -> tuple[Any, tuple[str, ...]]:
    """The rib's wood and what was taken off it; x from the leading edge, z from its height."""
    from shapely import Polygon, affinity, box

    upper = np.stack(plan.surface(rib.y, FRACTIONS, True), axis=1)
    lower = np.stack(plan.surface(rib.y, FRACTIONS, False), axis=1)
    wood = Polygon(np.concatenate([upper, lower[::-1]])).buffer(0)
    told: list[str] = []
    for name, edge in (("upper", upper), ("lower", lower)):
        bare = [(-_FAR, _FAR)]
        for sheet in wing.sheets:
            if sheet.surface != name or not covers(wing, sheet.bays, rib.y):
                continue
            x_from = -_FAR if sheet.from_leading_edge else float(sheet.x_from.at(rib.y))
            x_to = float(sheet.x_to.at(rib.y))
            wood = wood.difference(_skin(edge, x_from, x_to, sheet.thickness))
            bare = [part for a, b in bare for part in ((a, min(b, x_from)), (max(a, x_to), b))]
            told.append(f"{say.size(sheet.thickness):.4g} of sheeting")
        if rib.cap_strip_thickness > 0:
            for a, b in bare:
                wood = wood.difference(_skin(edge, a, b, rib.cap_strip_thickness))
            told.append(f"{say.size(rib.cap_strip_thickness):.4g} of cap strip")
    nose = float(plan.leading_edge_x.at(rib.y))
    tail = nose + float(plan.chord.at(rib.y))
    for stick in wing.edges:
        if stick.kind == "leading":
            wood = wood.difference(box(-_FAR, -_FAR, nose + stick.width, _FAR))
        else:
            wood = wood.difference(box(tail - stick.width, -_FAR, _FAR, _FAR))
    # Two skins that meet leave a sliver between them where the surface is curved.
    wood = wood.buffer(-_SHAVED, join_style="mitre").buffer(_SHAVED, join_style="mitre")
    for spar in wing.spars:
        if rib.y <= spar.y_end + _TOUCH:
            wood = _notched(wing, wood, spar, rib)
            told += [f"a hole for the {j.form}" for j in _joiners(wing, spar, rib)]
    level = float(plan.leading_edge_z.at(rib.y))
    wood = affinity.translate(wood.simplify(_FINE), -nose, -level)
    return wood, tuple(dict.fromkeys(told))


def covers(wing: Wing, bays: frozenset[tuple[str, int]], y: float) -> bool:
    """Whether sheeting in these bays lies on the rib at y, m: it does so in the bay inboard or outboard."""
    k = int(np.argmin(np.abs(wing.bay_edges - y)))
    return any(("starboard", wing.first_bay + i) in bays for i in (k - 1, k))


def _skin(edge: Array, x_from: float, x_to: float, thickness: float) -> Any:
    """What lies within a thickness of the surface between two places, square to it."""
    from shapely import LineString, Point

    x = edge[:, 0]
    order = x >= x[int(np.argmin(x))]
    inside = order & (x > x_from) & (x < x_to)
    points = [tuple(p) for p in edge[inside]]
    for at, front in ((x_from, True), (x_to, False)):
        if x.min() < at < x.max():
            along = edge[int(np.argmin(x)) :]
            z = float(np.interp(at, along[:, 0], along[:, 1]))
            points = [(at, z), *points] if front else [*points, (at, z)]
    if len(points) < 2:
        return Point()
    return LineString(points).buffer(thickness, cap_style="flat", quad_segs=32)


def _notched(wing: Wing, wood: Any, spar: Spar, rib: Rib) -> Any:
    from shapely import Polygon, box

    x = float(spar.x.at(rib.y))
    y = np.array(rib.y)
    faces = []
    for cap, outer, up in ((spar.upper, spar.z_upper, 1.0), (spar.lower, spar.z_lower, -1.0)):
        half = float(spar.aslant.at(rib.y) * cap.width.at(rib.y)) / 2
        face = float(outer.at(rib.y))
        inner = face - up * float(cap.height(y))
        places = (x - half + _SHAVED, x, x + half - _SHAVED)
        over = min(_reach(wood, at, up) for at in places) - up * face
        out = face if over > BURIED else up * _FAR
        wood = wood.difference(box(x - half, min(inner, out), x + half, max(inner, out)))
        faces.append((inner, out))
    for brace in wing.braces:
        if brace.spar != spar.name or rib.y > brace.y_end - rib.thickness / 2 - _TOUCH:
            continue
        aslant = float(spar.aslant.at(rib.y))
        half, thick = aslant * float(spar.upper.width.at(rib.y)) / 2, aslant * brace.thickness
        if brace.face == "between":
            left, low, high = x - thick / 2, faces[1][0], faces[0][0]
        else:
            left = x - half - thick if brace.face == "front" else x + half
            low, high = faces[1][1], faces[0][1]
        wood = wood.difference(box(left, low, left + thick, high))
    for joiner in _joiners(wing, spar, rib):
        middle = float(spar.z_upper.at(y) + spar.z_lower.at(y)) / 2
        half, tall = float(spar.aslant.at(rib.y)) * joiner.width / 2, joiner.height / 2
        if joiner.form == "blade":
            wood = wood.difference(box(x - half, middle - tall, x + half, middle + tall))
        else:
            angle = np.linspace(0.0, 2 * np.pi, 72, endpoint=False)
            # Outside the circle, so that the rod goes through.
            out = 1 / np.cos(np.pi / 72)
            ring = np.stack([x + out * half * np.cos(angle), middle + out * tall * np.sin(angle)], axis=1)
            wood = wood.difference(Polygon(ring))
    return wood


def _joiners(wing: Wing, spar: Spar, rib: Rib) -> list[Joiner]:
    """Joiners of a spar that pass through a rib."""
    return [j for j in wing.joiners if j.spar == spar.name and abs(rib.y - j.at) < j.reach - _TOUCH]


def _reach(wood: Any, x: float, up: float) -> float:
    """How far the wood reaches up (or down) at x, m; its own sign, so that more is further out."""
    from shapely import LineString

    cut = wood.intersection(LineString([(x, -_FAR), (x, _FAR)]))
    if cut.is_empty:
        return -_FAR
    return float(cut.bounds[3]) if up > 0 else -float(cut.bounds[1])


_BEYOND = 3.0
"""How far the chord line is drawn behind the wood, mm."""
_TICK = 3.0
"""How far the mark of a spar goes above and below the chord line, mm."""


def rib_drawings(shapes: Sequence[RibShape], room: tuple[float, float]) -> tuple[Drawing, ...]:
    """Outlines of ribs on drawings that fit a page's room, mm; a rib that is too long has one to itself."""
    cells = [_cell(shape) for shape in shapes if shape.parts]
    return flow(cells, room, "ribs", "Ribs, full size, nose to the left (starboard; port turned over)")


def _cell(shape: RibShape) -> Cell:
    corners = np.concatenate([1e3 * np.array(p.exterior.coords) for p in shape.parts])
    low, high = corners.min(axis=0), corners.max(axis=0)
    width = max(float(high[0]) + _BEYOND, 70.0)
    rib = shape.rib
    ends = 1e3 * np.array(shape.chord)
    length = float(np.hypot(*(ends[1] - ends[0])))
    turn = np.degrees(np.arctan2(ends[1, 1] - ends[0, 1], ends[1, 0] - ends[0, 0]))
    words = [
        f"{shape.mark}, cut {shape.count}: {rib.material.name}, {say.size(rib.thickness):.4g}, grain "
        f"{_grain(rib.grain)}",
        f"chord {say.ruler(1e-3 * length):.1f}"
        + (f", tail up {turn:.1f} deg by washout" if abs(turn) > 0.05 else ""),
        "spars at "
        + ", ".join(f"{name} {say.ruler(x):.1f}" for name, x in shape.spars)
        + " from the leading edge",
    ]
    if shape.covered:
        words.append("taken off for " + " and ".join(shape.covered))
    if len(shape.parts) > 1:
        words.append(f"a brace parts it into {len(shape.parts)}")
    if abs(rib.post_thickness - rib.thickness) > 1e-9 or rib.post_material.name != rib.material.name:
        words.append(
            f"between the caps a post of {rib.post_material.name}, {say.size(rib.post_thickness):.4g}"
        )
    lines = [piece for text in words for piece in folded(text, SIZE, width)]
    below = 1.25 * SIZE * len(lines) + 2.5
    level_at = [float(np.interp(1e3 * x, ends[:, 0], ends[:, 1])) for _, x in shape.spars]
    lowest = min([float(low[1]), float(ends[:, 1].min()), *(z - _TICK for z in level_at)])
    shift = np.array([0.0, below - lowest])
    items: list[Item] = []
    for part in shape.parts:
        for ring in (part.exterior, *part.interiors):
            items.append(outline(1e3 * np.array(ring.coords)[:-1] + shift, name=shape.mark))
    tail = float(high[0]) + _BEYOND
    level = float(np.interp(tail, ends[:, 0], ends[:, 1]))
    a, b = np.array([ends[0], (tail, level)]) + shift
    items.append(line((a[0], a[1]), (b[0], b[1]), layer="CENTRE", name="chord line"))
    for (_, x), z in zip(shape.spars, level_at):
        at, base = 1e3 * x, z + shift[1]
        items.append(line((at, base - _TICK), (at, base + _TICK), layer="CENTRE", name="spar"))
    items += _marks(shape, shift)
    items += block(lines, (0.0, below - 2.0), SIZE)
    return width, float(high[1] + shift[1]), items


def _grain(angle: float) -> str:
    """Grain of a rib in words, from the chord towards upright, rad."""
    turned = abs(np.degrees(angle))
    if turned < 0.05:
        return "along the chord"
    return "upright" if abs(turned - 90) < 0.05 else f"{np.degrees(angle):.3g} deg from the chord"


def _marks(shape: RibShape, shift: Array) -> list[Item]:
    """The mark and the grain side by side in the roomiest place of every part."""
    from shapely.ops import polylabel

    out: list[Item] = []
    for k, part in enumerate(shape.parts):
        spot = polylabel(part, tolerance=2e-4)
        room = 1e3 * float(part.exterior.distance(spot))
        if room < 2.5:
            continue
        x, z = 1e3 * spot.x + shift[0], 1e3 * spot.y + shift[1]
        size = min(MARK, 0.55 * room)
        mark = shape.mark if len(shape.parts) == 1 else f"{shape.mark}{'abcdefgh'[k % 8]}"
        size = min(size, 1.7 * room / max(Text((0, 0), mark, 1.0).width, 0.1))
        if size <= 1.4:
            continue
        wide = Text((0, 0), mark, size).width
        half = min(0.5 * room, 6.0)
        out.append(Text((x - half - 1.0, z + 0.1 * room), mark, size, "middle"))
        at = (x + wide / 2 + 1.0, z + 0.1 * room + 0.35 * size)
        out += grain_arrow(at, shape.rib.grain, half, head=1.2)
    return out
