"""What a wing is built of besides webs and ribs: braces, rails' ties and sheeting as flat pieces, caps,
edges, rails and cap strips as sticks; their templates at full size and their cut list.
"""

from __future__ import annotations

import itertools
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

import numpy as np

from fea.arrays import Array
from models import units_out as say
from models.drawings.cut_list import close, gathered, grain_words
from models.drawings.ink import Drawing, Item, Text, block, folded, grain_arrow, line, outline
from models.drawings.rib_outlines import covers
from models.drawings.stations import length_along
from models.drawings.stock import solid
from models.drawings.templates import MARK, SIZE, Cell, flow
from models.drawings.web_pieces import BEND, area_of, face_words, turns, unrolled
from models.structure.edge_sticks import where_skin_meets
from models.wing.parts import Brace, Cap, Edge, Line, Planform, Rail, Sheet, Spar, Web, Wing
from models.wing.words import number_runs, spar_words
from models.woods.wood import Material

THIN = 1.5e-3
"""A gap between rail and cap below this has no tie: the rail is glued to the cap itself, as in the model,
m."""
_POINTS = 80
_LEAST = 62.0


@dataclass(frozen=True, eq=False)
class Plate:
    """A flat piece.

    Parameters
    ----------
    mark : str
        "B1" of a brace, "T1" of a rail's tie, "S1" of sheeting.
    kind, where : str
        In words.
    count : int
        How many to cut for the whole wing; half of them turned over where `turned`.
    material : Material
        The wood.
    thickness : float
        m.
    outline : (n, 2) float array
        Corners in order, m, lower left corner at the origin.
    grain : float
        From the right towards up, rad.
    turned : bool
        Port pieces are the starboard ones turned over.
    notes : tuple of str
        For the template.
    lines : tuple of float
        Where a dashed line crosses it, m from the left.
    """

    mark: str
    kind: str
    where: str
    count: int
    material: Material
    thickness: float
    outline: Array
    grain: float
    turned: bool = False
    notes: tuple[str, ...] = ()
    lines: tuple[float, ...] = ()

    @property
    def area(self) -> float:
        """Of one, m2."""
        return area_of(self.outline)

    @property
    def mass(self) -> float:
        """Of one, kg."""
        return self.area * self.thickness * self.material.density


@dataclass(frozen=True, eq=False)
class Stick:
    """A stick.

    Parameters
    ----------
    mark : str
        "C1" of a cap, "E1" of an edge, "L1" of a rail, "K1" of cap strips.
    kind, where : str
        In words.
    count : int
        How many for the whole wing.
    material : Material
        The wood.
    width, height : float
        The largest, along the chord and upright, m.
    length : float
        Of one, m.
    volume : float
        Of one, m3.
    notes : tuple of str
        How it tapers, say.
    """

    mark: str
    kind: str
    where: str
    count: int
    material: Material
    width: float
    height: float
    length: float
    volume: float
    notes: tuple[str, ...] = ()

    @property
    def mass(self) -> float:
        """Of one, kg."""
        return self.volume * self.material.density


def plates(wing: Wing, longest: float | None = None) -> tuple[Plate, ...]:
    """Braces, ties of rails and sheeting.

    Parameters
    ----------
    wing : Wing
    longest : float or None
        Of a sheet of wood along the span, m: longer sheeting is parted at a rib; None for one as it is sold.
    """
    longest = solid().length if longest is None else longest
    spars = {spar.name: spar for spar in wing.spars}
    found = [_brace(spars[one.spar], one, wing.flies) for one in wing.braces]
    for rail in wing.rails:
        found += _ties(wing, rail)
    for sheet in wing.sheets:
        found += _sheeting(wing, sheet, longest)
    return _numbered(
        replace(own[0], count=sum(one.count for one in own), where="; ".join(one.where for one in own))
        for own in gathered(found, _alike)
    )


Piece = TypeVar("Piece", "Plate", "Stick")


def _numbered(pieces: Iterable[Piece]) -> tuple[Piece, ...]:
    """Pieces with a number to the letter of their mark, from 1 for each letter."""
    numbers: dict[str, Iterator[int]] = defaultdict(lambda: itertools.count(1))
    return tuple(replace(one, mark=f"{one.mark}{next(numbers[one.mark])}") for one in pieces)


def _alike(one: Plate, other: Plate) -> bool:
    return (
        one.kind == other.kind
        and one.material.name == other.material.name
        and abs(one.thickness - other.thickness) < 1e-9
        and close(one.outline, other.outline, 1e-6)
        and bool(abs(np.sin(one.grain - other.grain)) < 1e-9)
        and one.notes == other.notes
    )


def _brace(spar: Spar, brace: Brace, both: bool) -> Plate:
    web = Web(1, "starboard", brace.face, brace.thickness, brace.material, brace.grain, brace.glue)
    strip = unrolled(spar, web, 0.0, brace.y_end)
    start = 0.0
    bends = list(turns(strip))
    notes, lines = [], []
    if both:
        middle = 2 * float(strip.heading[0])
        strip = strip.mirrored()
        start = float(strip.u[-1]) / 2
        bends = [(start, middle), *((start + s * v, t) for v, t in bends for s in (1, -1))]
        lines.append(start)
    for at, turn in bends:
        if abs(turn) > BEND:
            lines.append(at)
            notes.append(f"bends {np.degrees(abs(turn)):.1f} deg in plan at the dashed line: part it there")
    where = spar_words(spar.name) + (f", {face_words(brace.face)}, across the centre" if both else "")
    return Plate(
        "B", "brace", where, 1, brace.material, brace.thickness, _cornered(strip.ring), brace.grain,
        notes=tuple(dict.fromkeys(notes)), lines=tuple(dict.fromkeys(lines)),
    )  # fmt: skip


def _ties(wing: Wing, rail: Rail) -> list[Plate]:
    """Ply above and below a rail, from the caps of its first spar to those of its last."""
    passed = sorted(
        (s for s in wing.spars if s.name in rail.ties and s.y_end >= rail.y - 1e-9),
        key=lambda s: float(s.x.at(rail.y)),
    )
    y = np.array(rail.y)
    found = []
    for up, words in ((1.0, "above"), (-1.0, "below")):
        face = rail.z + up * rail.height / 2
        points = []
        for spar in passed:
            half = float(spar.aslant.at(y) * spar.upper.width.at(y)) / 2
            x = float(spar.x.at(y))
            inner = (
                float(spar.z_upper.at(y) - spar.upper.height(y))
                if up > 0
                else float(spar.z_lower.at(y) + spar.lower.height(y))
            )
            points += [(x - half, up * (inner - face)), (x + half, up * (inner - face))]
        high = np.array(points)
        if not len(high) or high[:, 1].max() < THIN:
            continue
        high[:, 1] = np.maximum(high[:, 1], 0.0)
        base = np.array([[high[-1, 0], 0.0], [high[0, 0], 0.0]])
        ring = np.concatenate([high, base])
        names = " and ".join(spar_words(s.name) for s in passed)
        found.append(Plate(
            "T", "rail tie", f"{words} rail {rail.name}, {names}", 2 if rail.y > 1e-9 else 1,
            rail.tie_material, rail.tie_thickness, _cornered(ring[::-1]), up * rail.tie_grain,
            notes=("the long straight edge lies on the rail; front to the left",),
        ))  # fmt: skip
    return found


def _sheeting(wing: Wing, sheet: Sheet, longest: float) -> list[Plate]:
    edges = wing.bay_edges
    sides = {side: sorted(bay for s, bay in sheet.bays if s == side) for side in ("starboard", "port")}
    groups = [(sides["starboard"], 2, "")] if sides["starboard"] == sides["port"] else [
        (bays, 1, side) for side, bays in sides.items()
    ]  # fmt: skip
    trim = f"leave {'1/8 in' if say.imperial() else '3 mm'} all round and trim it on the wing"
    notes = (f"unrolled, front up, outboard to the right: {trim}",)
    found = []
    for bays, count, side in groups:
        for run in parted(bays, edges, wing.first_bay, longest * _swept(sheet, edges)):
            y0, y1 = float(edges[run[0] - wing.first_bay]), float(edges[run[-1] - wing.first_bay + 1])
            ring = _developed(wing, sheet, y0, y1)
            # The grain follows the sheet's own lines along the span, as in the model.
            middle = (ring[: len(ring) // 2] + ring[: len(ring) // 2 - 1 : -1]) / 2
            lean = float(np.arctan2(middle[-1, 1] - middle[0, 1], middle[-1, 0] - middle[0, 0]))
            # Turned so that these lie level, which takes the fewest pages.
            c, s = np.cos(lean), np.sin(lean)
            ring = ring @ np.array([[c, -s], [s, c]])
            bay = f"bay{'s' if len(run) > 1 else ''} {', '.join(number_runs(run))}"
            where = ", ".join(w for w in (f"{sheet.surface} surface", bay, side) if w)
            found.append(Plate(
                "S", "sheeting", where, count, sheet.material, sheet.thickness, _cornered(ring), -sheet.grain,
                turned=True, notes=notes,
            ))  # fmt: skip
    return found


def _swept(sheet: Sheet, edges: Array) -> float:
    """Cosine of the steepest lean of a sheet's edges, seen from above."""
    y = np.unique(np.concatenate([edges, sheet.x_from.y, sheet.x_to.y]))
    leans = [np.abs(np.diff(run.at(y)) / np.diff(y)).max() for run in (sheet.x_from, sheet.x_to)]
    return float(1 / np.hypot(1.0, max(leans)))


def parted(bays: Sequence[int], edges: Array, first: int, longest: float = np.inf) -> list[list[int]]:
    """Neighbouring bays together, as many as a sheet is long, m.

    Parameters
    ----------
    bays, edges, first, longest
        Numbers in order; edges of all bays, m, and the number of the first.
    """
    runs: list[list[int]] = []
    for bay in bays:
        if runs and bay == runs[-1][-1] + 1:
            length = edges[bay - first + 1] - edges[runs[-1][0] - first]
            if length <= longest + 1e-9:
                runs[-1].append(bay)
                continue
        runs.append([bay])
    return runs


def _developed(wing: Wing, sheet: Sheet, y0: float, y1: float) -> Array:
    """Outline of sheeting laid flat: true lengths along the span, the rear edge as in plan, widths round the
    section.

    Exact for a section that stays the same along the span; a taper's warp is left out.
    """
    plan = wing.planform
    marks = [wing.bay_edges, sheet.x_from.y, sheet.x_to.y, np.array([y0, y1])]
    if plan is not None:
        marks += [plan.chord.y, plan.leading_edge_x.y, plan.leading_edge_z.y]
    y = np.unique(np.round(np.concatenate(marks), 9))
    y = y[(y >= y0 - 1e-9) & (y <= y1 + 1e-9)]
    if plan is None:
        low, high = -sheet.x_to.at(y), -sheet.x_from.at(y)
        return np.concatenate([np.stack([y, low], 1), np.stack([y, high], 1)[::-1]])
    height = plan.leading_edge_z.at(y)
    along = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(y), np.diff(height)))])
    both = [_round(wing, plan, sheet, float(at)) for at in y]
    width = np.array([one for one, _ in both])
    rear = -np.array([to for _, to in both])
    lower, upper = np.stack([along, rear], 1), np.stack([along, rear + width], 1)
    return np.concatenate([lower, upper[::-1]])


def _round(wing: Wing, plan: Planform, sheet: Sheet, y: float) -> tuple[float, float]:
    """Length round the section from a sheet's front edge to its rear one, and where that is, m.

    A sheet to the edges ends where it comes down on their sticks, as in the model.
    """
    nose, chord = float(plan.leading_edge_x.at(y)), float(plan.chord.at(y))
    front = nose if sheet.from_leading_edge else float(sheet.x_from.at(y))
    rear = float(sheet.x_to.at(y))
    for stick in wing.edges:
        at = float(where_skin_meets(wing, stick, np.array([y]))[0][0])
        if stick.kind == "leading":
            front = max(front, at)
        else:
            rear = min(rear, at)
    share = (np.array([front, rear]) - nose) / chord
    # Evenly in the angle whose cosine runs over the chord, so that the nose is seen.
    first, last = np.arccos(1 - 2 * np.clip(share, 0.0, 1.0))
    angle = np.linspace(float(first), float(last), _POINTS)
    x, z = plan.surface(y, (1 - np.cos(angle)) / 2, sheet.surface == "upper")
    return float(np.hypot(np.diff(x), np.diff(z)).sum()), rear


def _cornered(ring: Array) -> Array:
    return np.asarray(ring - ring.min(axis=0))


def sticks(wing: Wing) -> tuple[Stick, ...]:
    """Caps with their facings, edges, rails and cap strips."""
    both = 2 if wing.flies else 1
    found: list[Stick] = []
    for spar in wing.spars:
        pairs = [
            (_layers(spar, cap, f"{name} cap", both), cap)
            for name, cap in (("upper", spar.upper), ("lower", spar.lower))
        ]
        for one, other in itertools.zip_longest(pairs[0][0], pairs[1][0]):
            if one and other and _same(one, other):
                kind = one.kind.replace("upper ", "")
                found.append(replace(one, count=2 * both, kind=kind, where=f"{one.where}, upper and lower"))
            else:
                found += [s for s in (one, other) if s is not None]
    found += [_edge_stick(wing, edge) for edge in wing.edges]
    for rail in wing.rails:
        length = rail.x_rear - rail.x_front
        count = 2 if rail.y > 1e-9 else 1
        found.append(
            Stick("L", "rail", rail.name, count, rail.material, rail.width, rail.height, length,
                  length * rail.width * rail.height)
        )  # fmt: skip
    found += _strips(wing)
    return _numbered(found)


def _same(one: Stick, other: Stick) -> bool:
    return (
        one.material.name == other.material.name
        and one.notes == other.notes
        and bool(np.allclose([one.width, one.height, one.length, one.volume],
                             [other.width, other.height, other.length, other.volume], rtol=1e-6))
    )  # fmt: skip


def _layers(spar: Spar, cap: Cap, name: str, count: int) -> list[Stick]:
    found = []
    for k, layer in enumerate(cap.layers):
        y = np.unique(np.concatenate([[0.0], cap.width.y, layer.height.y, [spar.y_end]]))
        y = y[y <= spar.y_end + 1e-9]
        inner, outer = _ends(layer.height, y, spar.y_end)
        if outer - inner < 1e-9:
            continue
        fine = np.unique(np.concatenate([np.linspace(inner, outer, 400), y[(y > inner) & (y < outer)]]))
        middle = (fine[1:] + fine[:-1]) / 2
        steps = np.diff(length_along(spar, fine))
        wide, high = cap.width.at(middle), layer.height.at(middle)
        ends = cap.width.at(fine), layer.height.at(fine)
        length = float(steps.sum())
        kind = name if k == 0 or len(cap.layers) == 1 else f"{name}'s facing"
        if len(cap.layers) > 1 and layer.material.kind != "solid" and k == 0:
            kind = f"{name}'s facing"
        found.append(Stick(
            "C", kind, spar_words(spar.name), count, layer.material, float(ends[0].max()),
            float(ends[1].max()), length, float((steps * wide * high).sum()), _taper(*ends, fine),
        ))  # fmt: skip
    return found


def _ends(height: Line, y: Array, end: float) -> tuple[float, float]:
    """Where a layer has height at all, m."""
    fine = np.unique(np.concatenate([np.linspace(0.0, end, 2001), y, y + 1e-9]))
    there = fine[(height.at(fine) > 1e-6) & (fine <= end)]
    return (float(there[0]), float(there[-1])) if len(there) else (0.0, 0.0)


def _taper(wide: Array, high: Array, y: Array) -> tuple[str, ...]:
    """Sizes where a stick steps or tapers, in words; none where it stays the same."""
    sizes = np.stack([wide, high], 1)
    if np.ptp(sizes, axis=0).max() < 1e-6:
        return ()
    jump = np.abs(np.diff(sizes, axis=0)).max(axis=1)
    smooth = float(np.median(jump))
    steps = [k for k, j in enumerate(jump) if j > 5 * smooth + 5e-5]
    words = []
    for a, b in itertools.pairwise([0, *(k + 1 for k in steps), len(sizes)]):
        first, last = (" x ".join(say.size.bare(float(side), ".3g") for side in sizes[k]) for k in (a, b - 1))
        to = "" if b == len(sizes) else f" to {say.ruler(float(y[b - 1])):.0f}"
        words.append((first if first == last else f"{first} tapering to {last}") + f" {say.size.unit}{to}")
    return ("; then ".join(words),)


def _edge_stick(wing: Wing, edge: Edge) -> Stick:
    plan = wing.planform
    assert plan is not None
    y = np.unique(np.concatenate([plan.chord.y, plan.leading_edge_x.y, [0.0, wing.semispan]]))
    x = plan.leading_edge_x.at(y) + (0.0 if edge.kind == "leading" else plan.chord.at(y))
    z = plan.leading_edge_z.at(y)
    length = float(np.sqrt(np.diff(x) ** 2 + np.diff(y) ** 2 + np.diff(z) ** 2).sum())
    return Stick(
        "E", f"{edge.kind} edge", "one a side", 2, edge.material, edge.width, edge.height, length,
        length * edge.width * edge.height, ("before it is sanded to the section",),
    )  # fmt: skip


def _strips(wing: Wing) -> list[Stick]:
    """Cap strips of all ribs together, by wood and size, where no sheeting lies."""
    plan = wing.planform
    if plan is None:
        return []
    sums: dict[tuple[str, float, float], tuple[Material, float]] = {}
    for rib in wing.ribs:
        if rib.cap_strip_thickness <= 0 or rib.cap_strip_material is None:
            continue
        nose, chord = float(plan.leading_edge_x.at(rib.y)), float(plan.chord.at(rib.y))
        bare = 0.0
        for surface in ("upper", "lower"):
            x = nose + chord * np.linspace(0.0, 1.0, 1001)
            free = np.ones(len(x), dtype=bool)
            for stick in wing.edges:
                leading = stick.kind == "leading"
                free &= x > nose + stick.width if leading else x < nose + chord - stick.width
            for sheet in wing.sheets:
                if sheet.surface == surface and covers(wing, sheet.bays, rib.y):
                    free &= (x < float(sheet.x_from.at(rib.y))) | (x > float(sheet.x_to.at(rib.y)))
            bare += float(free.mean()) * chord
        key = (rib.cap_strip_material.name, rib.cap_strip_width, rib.cap_strip_thickness)
        times = 1 if rib.y < 1e-7 else 2
        sums[key] = (rib.cap_strip_material, sums.get(key, (rib.cap_strip_material, 0.0))[1] + times * bare)
    return [
        Stick("K", "cap strips", "ribs, in all", 1, wood, width, thick, length, length * width * thick)
        for (_, width, thick), (wood, length) in sums.items()
    ]


# ---- the list ---------------------------------------------------------------------------------------------

COLUMNS = (
    "piece", "quantity", "kind", "wood", "thickness_mm", "width_mm", "length_mm", "grain", "mass_g", "where",
    "notes",
)  # fmt: skip


def rows(flat: Sequence[Plate], long: Sequence[Stick]) -> list[dict[str, object]]:
    """The cut list of these pieces as plain rows in builder's units, `COLUMNS`; mass is of one piece."""
    found: list[dict[str, object]] = []
    for one in flat:
        length, width = np.ptp(one.outline, axis=0)
        cells = (
            one.mark, one.count, one.kind, one.material.name, round(1e3 * one.thickness, 3),
            round(1e3 * float(width), 2), round(1e3 * float(length), 2), _grain(one), round(1e3 * one.mass,
            3), one.where, "; ".join(one.notes),
        )  # fmt: skip
        found.append(dict(zip(COLUMNS, cells, strict=True)))
    for stick in long:
        cells = (
            stick.mark, stick.count, stick.kind, stick.material.name, round(1e3 * stick.height, 3),
            round(1e3 * stick.width, 2), round(1e3 * stick.length, 2), "along it", round(1e3 * stick.mass, 3),
            stick.where, "; ".join(stick.notes),
        )  # fmt: skip
        found.append(dict(zip(COLUMNS, cells, strict=True)))
    return found


def _grain(one: Plate) -> str:
    if one.kind == "sheeting":
        return "as the arrow on its template"
    words = grain_words(one.grain)
    return words.replace("along the span", "along it") if one.kind == "rail tie" else words


# ---- templates --------------------------------------------------------------------------------------------


def other_templates(wing: Wing, flat: Sequence[Plate], room: tuple[float, float]) -> tuple[Drawing, ...]:
    """Templates of the flat pieces, and the sections that the edges are sanded to, for a page's room, mm."""
    cells = [_cell(one) for one in flat] + [_section(wing, edge) for edge in wing.edges]
    title = "Braces, ties, sheeting and edges, full size; braces seen from behind, sheeting from outside"
    return flow(cells, room, "other-templates", title)


def _cell(one: Plate) -> Cell:
    corners = 1e3 * one.outline
    wide, high = (float(v) for v in corners.max(axis=0))
    width = max(wide, _LEAST)
    cut = f"cut {one.count}" + (", half of them turned over" if one.turned and one.count > 1 else "")
    words = [
        f"{one.kind}, {one.where}",
        f"{one.material.name}, {say.size(one.thickness):.4g}; grain "
        + ("as the arrow" if one.kind == "sheeting" else _grain(one)),
        f"{say.length(1e-3 * wide):.2f} long, {say.length(1e-3 * high):.2f} high overall",
        *one.notes,
    ]
    lines = [piece for text in words for piece in folded(text, SIZE, min(width, 180.0))]
    below = 1.25 * SIZE * len(lines) + 2.0
    items: list[Item] = [outline(corners + np.array([0.0, below]), name=one.mark)]
    items += [
        line((1e3 * at, below), (1e3 * at, below + high), layer="HIDDEN", name=f"{one.mark} line")
        for at in one.lines
    ]
    items.append(title := Text((0.0, below + high + 1.5), f"{one.mark}   {cut}", MARK))
    from shapely import Polygon
    from shapely.ops import polylabel

    spot = polylabel(Polygon(corners), tolerance=0.5)
    half = min(0.8 * float(Polygon(corners).exterior.distance(spot)), 12.0)
    items += grain_arrow((spot.x, spot.y + below), one.grain, half)
    items += block(lines, (0.0, below - 1.5), SIZE)
    return max(width, title.width), high + below + MARK + 2.0, items


def _section(wing: Wing, edge: Edge) -> Cell:
    """What is left of an edge's stick at the centre and at the tip, within its rectangle."""
    plan = wing.planform
    assert plan is not None
    items: list[Item] = []
    across, tallest = 0.0, 0.0
    places = [(0.0, "centre"), (wing.semispan, "tip")]
    rings = []
    for y, words in places:
        chord = float(plan.chord.at(y))
        angle = np.linspace(0.0, np.pi, 400)
        fraction = (1 - np.cos(angle)) / 2
        share = edge.width / chord
        inside = fraction <= share if edge.kind == "leading" else fraction >= 1 - share
        own = np.unique(np.concatenate([fraction[inside], [share if edge.kind == "leading" else 1 - share]]))
        # In the section's own axes, so that washout and dihedral do not turn it.
        flat = replace(plan, washout=Line.constant(0.0), leading_edge_z=Line.constant(0.0))
        x, top = flat.surface(y, own, True)
        _, low = flat.surface(y, own, False)
        inner = -1 if edge.kind == "leading" else 0
        middle = float(top[inner] + low[inner]) / 2
        top = np.minimum(top, middle + edge.height / 2)
        low = np.maximum(low, middle - edge.height / 2)
        ring = 1e3 * np.concatenate([np.stack([x, low], 1), np.stack([x, top], 1)[::-1]])
        rings.append((ring - ring.min(axis=0), words))
    lines = [
        f"{edge.kind} edge: sand the stick of {say.size.each(edge.width, edge.height, spec='.4g')}",
        f"{edge.material.name} to these sections, nose to the left",
    ]
    below = 1.25 * SIZE * len(lines) + 2.0 + 4.0
    for ring, words in rings:
        wide, high = ring.max(axis=0)
        items.append(outline(ring + np.array([across, below]), name=f"{edge.kind} edge at the {words}"))
        items.append(Text((across, below - 3.2), words, SIZE))
        across += max(float(wide), 14.0) + 6.0
        tallest = max(tallest, float(high))
    items += block(lines, (0.0, below - 5.0), SIZE)
    return max(across, _LEAST), tallest + below, items
