"""A plan of the wing from above: outline, sticks, ribs, webs, braces, rails and sheeting, all numbered.

Ribs and bays count from 1 outward, webs have the marks of the cut list. Once small enough for one page, and
once at full size to build on. Words are set where they meet no others, smaller where there is little room,
and left out where there is none.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np

from fea.arrays import Array
from models import units_out as say
from models.drawings.cut_list import Shape
from models.drawings.ink import Drawing, Item, Path, Point, Text, block, bounds, folded, letter, line, moved
from models.drawings.other_pieces import parted
from models.drawings.web_pieces import aside, face_words, span_of_web
from models.wing.parts import Cap, Planform, Rib, Spar, Web, Wing
from models.wing.words import number_runs, spar_words

SCALES = (1, 2, 2.5, 3, 4, 5, 6, 7.5, 8, 10, 12, 15, 20, 25, 30, 40, 50, 100, 200, 500)
"""How many times smaller than the wing an overview may be; the largest that fits is taken."""
_LEGEND = 2.4
_LEAST = 1.3
"""Smallest type of a number, mm."""


@dataclass
class _Side:
    """Items of one side at one scale; words claim their room."""

    turn: Callable[[float, float], Point]
    items: list[Item] = field(default_factory=list)
    taken: list[tuple[float, float, float, float]] = field(default_factory=list)
    lost: int = 0

    def ring(self, x: Array, y: Array, layer: str, *, grey: float | None = None, name: str = "") -> None:
        points = tuple(self.turn(float(a), float(b)) for a, b in zip(x, y, strict=True))
        self.items.append(Path(points, layer, True, grey, name))

    def strip(self, front: Array, rear: Array, y: Array, layer: str, **more: object) -> None:
        """What lies between two lines along the span."""
        x, along = np.concatenate([front, rear[::-1]]), np.concatenate([y, y[::-1]])
        self.ring(x, along, layer, **more)  # type: ignore[arg-type]

    def run(self, x: Array, y: Array, layer: str, name: str = "") -> None:
        self.items.append(
            line(*(self.turn(float(a), float(b)) for a, b in zip(x, y)), layer=layer, name=name)
        )

    def words(
        self,
        text: str,
        at: Point,
        up: float,
        sizes: Sequence[float],
        *,
        slope: float = 0.0,
        room: float = np.inf,
        away: Sequence[float] = (0.0, 1.4, 2.8),
    ) -> bool:
        """Over (`up` 1), under (-1) or about (0) a point, of the largest type that meets no other words.

        Words over or under a line that slopes stay clear of it; `room` is the most that they may be wide,
        `away` how much further off they may be set, in sizes of the type.
        """
        for size, further in ((s, f) for s in sizes for f in away):
            one = Text(at, text, size, "middle")
            if one.width > room:
                continue
            clear = 0.7 + abs(slope) * one.width / 2 + (0.0 if up > 0 else 0.8 * size)
            high = at[1] - 0.35 * size if not up else at[1] + up * (clear + further * size)
            one = Text((at[0] - (0.0 if up else further * size), high), text, size, "middle")
            box = bounds(one)
            if not any(_meet(box, other) for other in self.taken):
                self.items.append(one)
                self.taken.append(box)
                return True
        self.lost += 1
        return False


def _meet(a: tuple[float, float, float, float], b: tuple[float, float, float, float]) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def plans(wing: Wing, cut: Sequence[Shape], room: tuple[float, float]) -> tuple[tuple[Drawing, ...], ...]:
    """Overviews that fit a page laid sideways, and plans at full size, of the starboard side, or both where
    they differ; a specimen, without a planform, has no plan.

    The webs are those of `models.drawings.cut_list.shapes`; the room is the page's, mm.
    """
    if wing.planform is None:
        return (), ()
    sides = ("starboard", "port") if _unlike(wing) else ("starboard",)
    overviews = tuple(_overview(wing, cut, side, room, len(sides)) for side in sides)
    full = tuple(_drawn(wing, cut, side, 1.0, "plan", len(sides)) for side in sides)
    return overviews, full


def _unlike(wing: Wing) -> bool:
    """Whether webs or sheeting differ from side to side."""
    webs = [
        {(w.bay, w.face, w.thickness, w.material.name) for w in spar.webs if w.side == side}
        for spar in wing.spars
        for side in ("starboard", "port")
    ]
    sheets = any(
        {b for s, b in sheet.bays if s == "starboard"} != {b for s, b in sheet.bays if s == "port"}
        for sheet in wing.sheets
    )
    return sheets or any(a != b for a, b in zip(webs[::2], webs[1::2]))


def _overview(wing: Wing, cut: Sequence[Shape], side: str, room: tuple[float, float], count: int) -> Drawing:
    for scale in SCALES:
        drawing = _drawn(wing, cut, side, float(scale), "plan-overview", count, width=room[0])
        if drawing.width <= room[0] + 1e-9 and drawing.height <= room[1] + 1e-9:
            break
    return drawing


def _drawn(
    wing: Wing, cut: Sequence[Shape], side: str, scale: float, name: str, count: int, width: float = np.inf
) -> Drawing:
    plan = wing.planform
    assert plan is not None
    factor = 1e3 / scale
    sign = -1.0 if side == "port" else 1.0
    sheet = _Side(lambda x, y: (sign * factor * y, -factor * x))
    y = np.unique(np.concatenate([plan.chord.y, plan.leading_edge_x.y, [0.0, wing.semispan]]))
    y = y[(y >= 0) & (y <= wing.semispan + 1e-9)]
    nose, chord = plan.leading_edge_x.at(y), plan.chord.at(y)
    _sheeting(wing, sheet, side)
    _sticks(wing, sheet, y, nose, nose + chord)
    largest = 2.4 if scale > 1 else 3.2
    _ribs(wing, sheet, plan, largest, full=scale == 1)
    _spars(wing, sheet, largest, sign)
    _webs(wing, cut, sheet, side, largest, factor)
    for rail in wing.rails:
        if rail.y > 1e-9 or side == "starboard":
            x, half = np.array([rail.x_front, rail.x_rear]), rail.width / 2
            ends = np.array([rail.y - half, rail.y + half])
            sheet.ring(x[[0, 1, 1, 0]], ends[[0, 0, 1, 1]], "MARK", name=rail.name)
    sheet.run(np.array([nose[0], nose[0] + chord[0]]), np.zeros(2), "CENTRE", "centre line")
    boxes = np.array([bounds(item) for item in sheet.items])
    left, low = (float(v) for v in boxes[:, :2].min(axis=0))
    right, high = (float(v) for v in boxes[:, 2:].max(axis=0))
    wide = max(right - left, 120.0 if scale == 1 else min(width, 200.0))
    ribs = "R: ribs" if scale > 1 else f"R: ribs, their middle in {say.ruler_word()} from the centre"
    told = _legend(wing, sheet.lost, ribs)
    lines = [piece for text in told for piece in folded(text, _LEGEND, min(wide, 400.0))]
    below = 1.25 * _LEGEND * len(lines) + 3.0
    items = [*moved(sheet.items, -left, below - low), *block(lines, (0.0, below - 3.0), _LEGEND)]
    words = "full size" if scale == 1 else f"1 : {scale:g}"
    title = f"Plan of the {side} side from above, front up, {words}; ribs and bays count from 1 outward"
    if count == 1:
        title += "; port turned over"
    full_name = name if count == 1 else f"{name}-{side}"
    return Drawing(full_name, title, wide, high - low + below, tuple(items), from_top=True)


def _along(spar: Spar, semispan: float, *more: Array) -> Array:
    y = np.unique(np.concatenate([spar.x.y, spar.upper.width.y, [0.0, spar.y_end], *more]))
    return y[(y >= 0) & (y <= min(spar.y_end, semispan) + 1e-9)]


def _sticks(wing: Wing, sheet: _Side, y: Array, nose: Array, tail: Array) -> None:
    sheet.strip(nose, tail, y, "MARK", name="outline")
    for stick in wing.edges:
        inner = nose + stick.width if stick.kind == "leading" else tail - stick.width
        sheet.run(inner, y, "MARK", f"{stick.kind} edge")


def _ends(wing: Wing, plan: Planform, rib: Rib) -> list[tuple[float, float]]:
    """Where a rib has wood along the chord, m."""
    nose = float(plan.leading_edge_x.at(rib.y))
    tail = nose + float(plan.chord.at(rib.y))
    there = [s for s in wing.spars if rib.y <= s.y_end + 1e-7]
    caps = [(float(s.x.at(rib.y)), float(s.aslant.at(rib.y) * s.upper.width.at(rib.y)) / 2) for s in there]
    if rib.panel == "none":
        return [(x - half, x + half) for x, half in caps]
    if rib.panel == "between spars" and caps:
        return [(caps[0][0] - caps[0][1], caps[-1][0] + caps[-1][1])]
    widths = {stick.kind: stick.width for stick in wing.edges}
    return [(nose + widths.get("leading", 0.0), tail - widths.get("trailing", 0.0))]


def _ribs(wing: Wing, sheet: _Side, plan: Planform, largest: float, *, full: bool) -> None:
    sizes = _sizes(largest)
    for number, rib in enumerate(wing.ribs, 1):
        half = rib.thickness / 2
        for a, b in _ends(wing, plan, rib):
            x = np.array([a, b, b, a])
            sheet.ring(x, rib.y + np.array([-half, -half, half, half]), "MARK", name=f"rib {number}")
        front = sheet.turn(float(plan.leading_edge_x.at(rib.y)), rib.y)
        text = f"R{number}"
        if full:
            text += f" at {say.ruler.bare(rib.y, '.1f')}"
        sheet.words(text, front, 1.0, sizes, slope=_slope(plan.leading_edge_x.at, rib.y))
    edges = wing.bay_edges
    for k, (a, b) in enumerate(itertools.pairwise(edges)):
        middle = (a + b) / 2
        tail = float(plan.leading_edge_x.at(middle) + plan.chord.at(middle))
        number = wing.first_bay + k
        lean = _slope(lambda y: plan.leading_edge_x.at(y) + plan.chord.at(y), float(middle))
        words = f"bay {number}" if full else f"{number}"
        sheet.words(words, sheet.turn(tail, float(middle)), -1.0, sizes, slope=lean)


def _slope(line_at: Callable[[Array], Array], y: float) -> float:
    """The steeper of a line's slopes just inboard and outboard of a place."""
    at = line_at(np.array([max(y - 1e-3, 0.0), y, y + 1e-3]))
    return float(np.abs(np.diff(at)).max() / 1e-3)


def _sizes(largest: float) -> list[float]:
    return [float(s) for s in np.arange(largest, _LEAST - 1e-9, -0.2)]


def _spars(wing: Wing, sheet: _Side, largest: float, sign: float) -> None:
    for k, spar in enumerate(wing.spars):
        y = _along(spar, wing.semispan, spar.upper.width.y + 1e-7)
        half = spar.aslant.at(y) * spar.upper.width.at(y) / 2
        x = spar.x.at(y)
        sheet.strip(x - half, x + half, y, "MARK", name=spar.name)
        for brace in wing.braces:
            if brace.spar == spar.name:
                own = np.unique(np.concatenate([y[y < brace.y_end], [brace.y_end]]))
                at = _offset(spar, brace.face, brace.thickness, own)
                thick = spar.aslant.at(own) * brace.thickness / 2
                sheet.strip(at - thick, at + thick, own, "HIDDEN", name="brace")
        root = sheet.turn(float(spar.x.at(0.0)), 0.0)
        sheet.words(letter(k), (root[0] - sign * 4.0, root[1]), 0.0, _sizes(largest))


def _offset(spar: Spar, face: str, thickness: float, y: Array) -> Array:
    """Middle of a plate on a face of a spar, m aft."""
    return spar.x.at(y) + spar.aslant.at(y) * aside(spar, face, thickness, y)


def _webs(wing: Wing, cut: Sequence[Shape], sheet: _Side, side: str, largest: float, factor: float) -> None:
    told: list[tuple[str, Point, float, float, float]] = []
    marks = {
        (p.spar, p.bay, p.side, p.face): name
        for shape in cut
        for name, p in zip(shape.names(), shape.pieces, strict=True)
    }
    for index, spar in enumerate(wing.spars):
        for web in spar.webs:
            if web.side != side:
                continue
            sides = ((spar.name, web.bay, one, web.face) for one in (side, "both"))
            mark = next((marks[one] for one in sides if one in marks), None)
            if mark is not None:
                told.append(_web(wing, index, web, mark, sheet, factor))
    before = len(sheet.items), len(sheet.taken)
    # All of one size, the largest that has room everywhere; the smallest where none has.
    for size in _sizes(largest):
        del sheet.items[before[0] :], sheet.taken[before[1] :]
        sheet.lost = 0
        for mark, at, up, lean, room in told:
            sheet.words(mark, at, up, [size], slope=lean, room=room, away=(0.0,))
        if not sheet.lost:
            break


def _web(
    wing: Wing, index: int, web: Web, mark: str, sheet: _Side, factor: float
) -> tuple[str, Point, float, float, float]:
    """Draw a web; its mark, where that goes, over or under it, how the web slopes, and its length, mm."""
    spar = wing.spars[index]
    inner, outer, _, _ = span_of_web(wing, index, web)
    y = np.array([inner, outer])
    x, half = _offset(spar, web.face, web.thickness, y), spar.aslant.at(y) * web.thickness / 2
    sheet.strip(x - half, x + half, y, "MARK", grey=0.45, name=mark)
    middle = float(y.mean())
    cap = float(spar.aslant.at(middle) * spar.upper.width.at(middle)) / 2
    forward = web.face != "rear"
    edge = float(spar.x.at(middle)) + (-1 if forward else 1) * (cap + web.thickness)
    at = sheet.turn(edge, middle)
    up = 1.0 if forward else -1.0
    lean = float(spar.x.at(outer) - spar.x.at(inner)) / (outer - inner)
    return mark, at, up, lean, factor * (outer - inner)


def _sheeting(wing: Wing, sheet: _Side, side: str) -> None:
    """The edges of sheeting, run by run of bays; the upper and the lower one in one place once."""
    edges, known = wing.bay_edges, set()
    for one in wing.sheets:
        bays = sorted(bay for s, bay in one.bays if s == side)
        for run in parted(bays, edges, wing.first_bay):
            first, last = edges[run[0] - wing.first_bay], edges[run[-1] - wing.first_bay + 1]
            y = np.unique(np.concatenate([one.x_from.y, one.x_to.y, [first, last]]))
            y = y[(y >= first) & (y <= last)]
            front, rear = one.x_from.at(y), one.x_to.at(y)
            key = tuple(np.round(np.concatenate([y, front, rear]), 6))
            if key not in known:
                known.add(key)
                sheet.strip(front, rear, y, "SHEET", name="sheeting")


def _legend(wing: Wing, lost: int, ribs: str) -> list[str]:
    """What is what, a line each."""
    plan = wing.planform
    assert plan is not None
    chords = [say.ruler(float(plan.chord.at(y))) for y in (0.0, wing.semispan)]
    told = [
        f"Semispan {say.ruler(wing.semispan):.1f}, chord {chords[0]:.1f} at the centre, {chords[1]:.1f} at "
        f"the tip. {ribs}; numbers under the outline: bays; grey: webs, with their marks of the cut list."
    ]
    for k, spar in enumerate(wing.spars):
        caps = [_cap(cap, spar.y_end) for cap in (spar.upper, spar.lower)]
        both = f"caps {caps[0]}" if caps[0] == caps[1] else f"upper cap {caps[0]}, lower {caps[1]}"
        to = "" if spar.y_end > wing.semispan - 1e-6 else f", to {say.ruler(spar.y_end):.1f}"
        told.append(f"{letter(k)}: {spar_words(spar.name)}, {both}{to}.")
    for brace in wing.braces:
        told.append(
            f"Brace (dashed) on {spar_words(brace.spar)}, {face_words(brace.face)}: "
            f"{say.size(brace.thickness):.4g} {brace.material.name}, to {say.ruler(brace.y_end):.1f}."
        )
    for rail in wing.rails:
        told.append(
            f"Rail {rail.name}: {say.size.each(rail.width, rail.height, spec='.4g')} "
            f"{rail.material.name}, its middle {say.ruler(rail.y):.1f} from the centre."
        )
    sheeting: dict[str, list[str]] = {}
    for one in wing.sheets:
        bays = ", ".join(number_runs(sorted({bay for _, bay in one.bays})))
        words = f"{say.size(one.thickness):.4g} {one.material.name} in bays {bays}{_slant(one.grain)}"
        sheeting.setdefault(words, []).append(one.surface)
    for words, surfaces in sheeting.items():
        told.append(f"Sheeting (dash-dotted), {' and '.join(dict.fromkeys(surfaces))}: {words}.")
    if lost:
        told.append(f"{lost} numbers found no room here; the plan at full size and the cut list have all.")
    return told


def _slant(grain: float) -> str:
    """Of sheeting whose grain is neither along the span nor square to it, which way it runs; else ""."""
    if abs(np.sin(2 * grain)) < 1e-6:
        return ""
    return f", grain {np.degrees(abs(grain)):.0f} deg {'aft' if grain > 0 else 'forward'} of outboard"


def _cap(cap: Cap, to: float) -> str:
    first = cap.layers[0]
    sizes = [
        " x ".join(say.size.bare(float(line.at(y)), ".4g") for line in (cap.width, first.height))
        for y in (0.0, to)
    ]
    size = sizes[0] if sizes[0] == sizes[1] else f"{sizes[0]} to {sizes[1]}"
    more = " with facings" if len(cap.layers) > 1 else ""
    return f"{size} {say.size.unit} {first.material.name}{more}"
