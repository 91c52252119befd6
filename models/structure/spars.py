"""Spars: caps as beams along their axes, webs as panels and plates hung on the caps' faces, strips where
they overlap.

Nothing here knows a C or a box: a web on one face makes an open section, webs on both a closed one. What the
lapped joint gives, and how the caps' warping drives the webs, comes from `models.junction`.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from fea.arrays import Array, Ints
from fea.elements.bar import Bars
from fea.elements.beam import Beams, Sections, line_load_share
from fea.elements.membrane import Membranes, plane_stress
from fea.elements.plate import Plates
from fea.elements.slip import SlippingMembranes
from fea.elements.tie import Ties
from fea.offsets import Bow, bow_links, cross_matrix
from models.junction import CapSections, respond, respond_coupled
from models.structure.ground import Ground
from models.structure.model import CapElements, WebElements
from models.structure.stations import nearest
from models.wing.parts import Brace, Cap, Line, Spar, Web, Wing
from models.woods.off_axis import compliance, turned
from models.woods.solid_stiffness import sheet_stiffness, stick_stiffness
from models.woods.wood import Material

FACES = ("front", "between", "rear")
_STUB = 2.0
"""Height of the stub of web below a cap in the junction's section, in web thicknesses: beyond it the web is
plain."""
_FLUSH = 1e-6
"""A web between the caps that leaves less than this share of their width is as wide as they are."""
_ON_AXIS = 1e-6
"""A grain turned from the span or the upright by less than this sine counts as along it."""
_THIN_ROW = 0.4
"""A row of the junction's grid lower than this share of the highest gets by with a low degree."""


@dataclass(frozen=True, eq=False)
class SparMesh:
    """What the other parts need of the spars.

    `cap_nodes` (n_spars, 2, n_stations); `axis_z` (n_spars, 2, n_stations) heights of the nodes; `outer` and
    `inner` (n_spars, 2, n_stations) heights of the caps' outer and inner faces; `front` and `rear` (n_spars,
    n_stations) their faces fore and aft, webs included; `x` (n_spars, n_stations) centre lines. NaN and -1
    beyond a spar's end. `slip_nodes` (n_spars, 2, n_stations): what webs on the front and the rear face move
    upright at the bays' ends, in the middle between the caps' nodes; -1 elsewhere.
    """

    cap_nodes: Ints
    slip_nodes: Ints
    axis_z: Array
    outer: Array
    inner: Array
    front: Array
    rear: Array
    x: Array


@dataclass(frozen=True, eq=False)
class SheetStrip:
    """Sheeting that lies on a cap: thickness and moduli for each (spar, cap, span), zero where there is none.

    `across`, `up` shear moduli and `modulus` along the span, Pa; `density` kg/m3; `share` of the cap's
    width that is covered (lapped webs go with their face), and `centre` of what is covered from the middle,
    in that width, aft positive; all (n_spars, 2, n_spans).
    """

    thickness: Array
    across: Array
    up: Array
    modulus: Array
    density: Array
    share: Array
    centre: Array


class WebRow(NamedTuple):
    """A web or a brace on one span of a spar: thickness in m, grain in rad from the span towards upright."""

    spar: int
    face: str
    span: int
    thickness: float
    material: Material
    grain: float
    glue: str
    brace: bool


def web_table(ground: Ground) -> list[WebRow]:
    """Every span of every spar that carries a web or a brace."""
    wing, middle = ground.wing, (ground.y[1:] + ground.y[:-1]) / 2
    rows: list[WebRow] = []

    def lay(s: int, one: Web | Brace, on: NDArray[np.bool_]) -> None:
        figures = one.thickness, one.material, one.grain, one.glue, isinstance(one, Brace)
        rows.extend(WebRow(s, one.face, i, *figures) for i in np.flatnonzero(on).tolist())

    for s, spar in enumerate(wing.spars):
        inside = np.abs(middle) < spar.y_end
        for web in spar.webs:
            side = (middle > 0) == (web.side == "starboard") if wing.flies else True
            lay(s, web, inside & side & (ground.bay == web.bay))
        for brace in wing.braces:
            if brace.spar == spar.name:
                lay(s, brace, inside & (np.abs(middle) < brace.y_end))
    return rows


@lru_cache(maxsize=256)
def sheet_moduli(material: Material, grain: float) -> tuple[float, float, float]:
    """Of a sheet whose grain is turned from the span: E along the span, shear in plane, shear
    span-to-thickness, Pa."""
    at = turned(material.in_plane(), grain)
    g_13, g_23 = material.through_thickness_shear()
    return float(at.E_x), float(at.G_xy), float(np.cos(grain) ** 2 * g_13 + np.sin(grain) ** 2 * g_23)


def askew(grain: float) -> bool:
    """Whether a sheet's grain lies between span and upright, so that stretching shears it."""
    return bool(abs(np.sin(2 * grain)) > _ON_AXIS)


@lru_cache(maxsize=256)
def held_moduli(material: Material, grain: float) -> tuple[float, float, float]:
    """`sheet_moduli` of a sheet held from stretching along the span as it shears, free upright."""
    along, shear, through = sheet_moduli(material, grain)
    if askew(grain):
        give = compliance(material.in_plane(), grain)
        shear = float(1 / (give[2, 2] - give[0, 2] ** 2 / give[0, 0]))
    return along, shear, through


@dataclass(frozen=True, eq=False)
class SparBlocks:
    """Blocks of the spars and their figures.

    `cap_bow` (n_spars, 2, n_spans, 2): shares of the caps' bow, up and down and sideways, that what is glued
    along them feels.
    """

    caps: Beams
    webs: SlippingMembranes | None
    web_plates: Plates | None
    web_ends: Ties | None
    strips: Bars | None
    cap_elements: CapElements
    web_elements: WebElements
    skin_give: Array
    cap_bow: Array


def mesh_spars(ground: Ground) -> SparMesh:
    """Nodes of the caps and the spars' faces at every station."""
    wing, draft, y, span = ground.wing, ground.draft, ground.y, ground.span
    n_spars, n_y = len(wing.spars), len(y)
    nodes = np.full((n_spars, 2, n_y), -1, dtype=np.intp)
    axis, outer, inner = (np.full((n_spars, 2, n_y), np.nan) for _ in range(3))
    front, rear, centre = (np.full((n_spars, n_y), np.nan) for _ in range(3))
    laps = np.zeros((n_spars, 2, n_y))
    for row in web_table(ground):
        if row.face != "between":
            lap = laps[row.spar, 0 if row.face == "front" else 1, row.span : row.span + 2]
            np.maximum(lap, row.thickness, out=lap)
    for s, spar in enumerate(wing.spars):
        here = span <= spar.y_end + 1e-9
        x = spar.x.at(span)
        half, aslant = spar.upper.width.at(span) / 2, spar.aslant.at(span)
        centre[s] = x
        front[s], rear[s] = x - aslant * (half + laps[s, 0]), x + aslant * (half + laps[s, 1])
        for c, (cap, face_line, sign) in enumerate(_both_caps(spar)):
            outside = face_line.at(span)
            outer[s, c], inner[s, c] = outside, outside + sign * cap.height(span)
            axis[s, c] = outside + sign * _centroid(cap, span)
            nodes[s, c] = ground.nodes(x, axis[s, c], here)
        for table in (axis[s], outer[s], inner[s]):
            table[:, ~here] = np.nan
    slip = np.full((n_spars, 2, n_y), -1, dtype=np.intp)
    end_of_bay = np.array([nearest(y, sign * edge) for edge in wing.bay_edges for sign in (1, -1)])
    for s in range(n_spars):
        at = np.unique(end_of_bay[nodes[s, 0, end_of_bay] >= 0])
        middle = np.stack([centre[s, at], y[at], axis[s][:, at].mean(axis=0)], axis=1)
        for side in (0, 1):
            slip[s, side, at] = draft.add_nodes(middle)
    return SparMesh(nodes, slip, axis, outer, inner, front, rear, centre)


def _both_caps(spar: Spar) -> tuple[tuple[Cap, Line, int], tuple[Cap, Line, int]]:
    """Upper and lower cap, their outer faces, and which way is inward."""
    return (spar.upper, spar.z_upper, -1), (spar.lower, spar.z_lower, 1)


def _centroid(cap: Cap, y: Array) -> Array:
    """Depth of a cap's axis (centroid of its layers, weighted with their moduli) below its outer face, m."""
    heights = np.stack([layer.height.at(y) for layer in cap.layers], axis=-1)
    modulus = np.array([layer.material.E_L for layer in cap.layers])
    middles = np.cumsum(heights, axis=-1) - heights / 2
    return np.asarray((middles * heights * modulus).sum(axis=-1) / (heights * modulus).sum(axis=-1))


def build_spars(ground: Ground, mesh: SparMesh, skin: SheetStrip) -> SparBlocks:
    """Beams of the caps, panels and plates of the webs, bars of the strips lapped on the caps, on which
    sheeting `skin` lies."""
    wing = ground.wing
    rows = web_table(ground)
    caps = _cap_rows(ground, mesh)
    beside = _beside(caps, rows)
    response = _junctions(caps, rows, beside, skin)
    sections = _cap_sections(caps, response)
    bow = bow_felt(sections, ground.draft.positions()[caps.nodes])
    known = _Known(ground, mesh, caps, rows)
    webs, web_plates, web_elements = _webs(known, response, bow)
    overlap = _widths(rows, beside)[:, [0, 2]]
    height = caps.heights.sum(axis=1)
    density = (caps.density * caps.heights).sum(axis=1) * caps.width
    part = [
        ground.part("cap", wing.spars[s].name, "upper" if u else "lower", i)
        for s, u, i in zip(caps.spar.tolist(), caps.upper.tolist(), caps.span.tolist())
    ]
    beams = Beams(
        caps.nodes,
        sections,
        np.tile([0.0, 0.0, 1.0], (len(part), 1)),
        offsets=caps.offsets,
        mass_per_length=density,
        polar_inertia=density * (caps.width**2 + height**2) / 12,
        polar_radius2=(sections.bending_y + sections.bending_z) / sections.axial,
        part=np.array(part, dtype=np.intp),
    )
    elements = CapElements(
        caps.spar,
        caps.upper,
        caps.span,
        caps.width,
        caps.heights,
        caps.modulus,
        caps.centroid,
        caps.materials,
        overlap,
    )
    strips = _strips(known, skin, response)
    shares = np.zeros((len(wing.spars), 2, len(ground.bay), 2))
    shares[caps.spar, np.where(caps.upper, 0, 1), caps.span] = bow
    ends = _web_ends(known, part)
    return SparBlocks(
        beams, webs, web_plates, ends, strips, elements, web_elements, response.skin_give, shares
    )


def _cap_sections(caps: _CapRows, response: _Junctions) -> Sections:
    """Rigidities of the caps' beams."""
    middles = np.cumsum(caps.heights, axis=1) - caps.heights / 2 - caps.centroid[:, None]
    stiff = caps.modulus * caps.heights * caps.width[:, None]
    return Sections(
        axial=stiff.sum(axis=1),
        bending_y=(stiff * (middles**2 + caps.heights**2 / 12)).sum(axis=1),
        bending_z=stiff.sum(axis=1) * caps.width**2 / 12,
        torsion=response.torsion,
        shear_y=response.shear_aft,
        shear_z=response.shear_up,
    )


def bow_felt(sections: Sections, ends: Array) -> Array:
    """Shares of (n,) members' bow between ends (n, 2, 3), m, up and down and sideways, that what is glued
    along them feels, (n, 2)."""
    length = np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1)
    up = line_load_share(sections.bending_y, sections.shear_z, length)
    return np.stack([up, line_load_share(sections.bending_z, sections.shear_y, length)], axis=1)


@dataclass(frozen=True, eq=False)
class _CapRows:
    """All cap elements: figures at mid-length, (n,) or (n, n_layers), layers from the outer face inward.

    `row_of` (n_spars, 2, n_spans) is which of them lies on a span, -1 beyond a spar's end.
    """

    spar: Ints
    upper: NDArray[np.bool_]
    span: Ints
    nodes: Ints
    offsets: Array | None
    width: Array
    heights: Array
    modulus: Array
    g_up: Array
    g_aft: Array
    density: Array
    centroid: Array
    materials: tuple[tuple[Material, ...], ...]
    row_of: Ints


def _cap_rows(ground: Ground, mesh: SparMesh) -> _CapRows:
    wing, y = ground.wing, ground.y
    n_layers = max(len(cap.layers) for spar in wing.spars for cap in (spar.upper, spar.lower))
    middle = np.abs(y[1:] + y[:-1]) / 2
    found: dict[str, list[Any]] = {}
    materials: list[tuple[Material, ...]] = []
    row_of = np.full((len(wing.spars), 2, len(middle)), -1, dtype=np.intp)
    for s, spar in enumerate(wing.spars):
        spans = np.flatnonzero((mesh.cap_nodes[s, 0, :-1] >= 0) & (mesh.cap_nodes[s, 0, 1:] >= 0))
        for c, (cap, line, sign) in enumerate(_both_caps(spar)):
            n = len(spans)
            sticks = [layer.material.stick() for layer in cap.layers]
            heights, modulus, g_up, g_aft, density = (np.zeros((n, n_layers)) for _ in range(5))
            g_up += 1.0  # an absent layer has no height; any modulus will do
            for k, layer in enumerate(cap.layers):
                heights[:, k] = layer.height.at(middle[spans])
                modulus[:, k], g_up[:, k], g_aft[:, k] = sticks[k].E, sticks[k].G_up, sticks[k].G_aft
                density[:, k] = layer.material.density
            tops = np.cumsum(heights, axis=1) - heights / 2
            centroid = (tops * heights * modulus).sum(axis=1) / (heights * modulus).sum(axis=1)
            inside = ground.ends[spans]
            ends = line.at(inside) + sign * _centroid(cap, inside)  # heights of the axis, seen from within
            node_z = np.stack([mesh.axis_z[s, c, spans], mesh.axis_z[s, c, spans + 1]], axis=1)
            offset = np.zeros((n, 2, 3))
            offset[:, :, 2] = np.where(np.abs(ends - node_z) > 1e-9, ends - node_z, 0.0)
            nodes = np.stack([mesh.cap_nodes[s, c, spans], mesh.cap_nodes[s, c, spans + 1]], axis=1)
            row_of[s, c, spans] = len(materials) + np.arange(n)
            materials += [tuple(layer.material for layer in cap.layers)] * n
            for key, value in (
                ("spar", np.full(n, s)),
                ("upper", np.full(n, c == 0)),
                ("span", spans),
                ("nodes", nodes),
                ("offsets", offset),
                ("width", cap.width.at(middle[spans])),
                ("heights", heights),
                ("modulus", modulus),
                ("g_up", g_up),
                ("g_aft", g_aft),
                ("density", density),
                ("centroid", centroid),
            ):
                found.setdefault(key, []).append(value)
    joined: dict[str, Any] = {key: np.concatenate(value) for key, value in found.items()}
    offsets = joined.pop("offsets")
    return _CapRows(
        offsets=offsets if offsets.any() else None, materials=tuple(materials), row_of=row_of, **joined
    )


@dataclass(frozen=True, eq=False)
class _Junctions:
    """What the junctions' sections give.

    `torsion`, `shear_aft` and `shear_up` of every cap element with its strips, (n_caps,), N m2 and N;
    `warping` (m2) and `give` (m2/N, beyond that of the caps' beams) at every web's edges, (n_webs, 2), upper
    and lower; `skin_give` the same at the front and rear edge of sheeting on a cap, (n_spars, 2, n_spans, 2).
    """

    torsion: Array
    shear_aft: Array
    shear_up: Array
    warping: Array
    give: Array
    skin_give: Array
    strip: Array
    turn: Array
    slip: Array


def _beside(caps: _CapRows, rows: list[WebRow]) -> Ints:
    """Number of the web on the front face, between the caps and on the rear face of each cap element, (n, 3);
    -1 where there is none."""
    table = np.full((caps.row_of.shape[0], len(FACES), caps.row_of.shape[2]), -1, dtype=np.intp)
    for k, row in enumerate(rows):
        table[row.spar, FACES.index(row.face), row.span] = k
    return table[caps.spar, :, caps.span]


def _widths(rows: list[WebRow], beside: Ints) -> Array:
    """Thickness of each of some webs (n, 3), m; nought where there is none."""
    return np.array([*(row.thickness for row in rows), 0.0])[beside]


def _junctions(caps: _CapRows, rows: list[WebRow], beside: Ints, skin: SheetStrip) -> _Junctions:
    """Solve the antiplane problem of every distinct cap section, those of one kind together."""
    torsion = np.zeros(len(caps.spar))
    warping, give = np.zeros((len(rows), 2)), np.zeros((len(rows), 2))
    skin_give = np.zeros((*skin.thickness.shape, 2))
    moduli = np.array([held_moduli(row.material, row.grain) for row in rows]).reshape(-1, 3)
    shear_up, shear_aft = _beam_shear(caps, rows, beside, moduli)
    strip = np.repeat(moduli[:, :1], 2, axis=1)
    turn, slip = np.zeros((len(rows), 2)), np.zeros((len(rows), 2))
    thickness = np.array([row.thickness for row in rows])
    for kind, at in _kinds(caps, rows, beside, skin):
        front, rear = kind.front, kind.rear
        webs = beside[at]
        sections, edges, across, up = _sections(caps, at, webs, rows, moduli, skin, kind)
        fields_of = ("widths", "heights", "shear_across", "shear_up", "modulus", "centre")
        figures = [getattr(sections, f) for f in fields_of]
        if kind.askew:
            figures.append(_stiffnesses(caps, at, webs, rows, sections, kind))
        first, back = _distinct(figures)
        distinct = CapSections(*(v[first] for v in figures[: len(fields_of)]))
        # A stub twists and shears as the web's own panel does, G t^3/3 a metre; what its energy is beyond
        # that comes from the corner and belongs to the junction, as does all of the energy above the stubs.
        # Both are sums of squares or held above zero: positive however thick and hard a web is. (The panel's
        # share taken off the whole turns negative for webs thicker than half a cap of softer wood, whose stub
        # holds less than a plain wall, for its free end and for the soft cap that does not hold its root.)
        columns = [w for w, there in enumerate((front, kind.middle, rear)) if there]
        cap = np.where(caps.upper[at], 0, 1)
        if kind.askew:
            last = distinct.widths.shape[1] - 1
            strips = {w: (last if w else 0, k) for k, w in enumerate(columns) if w != 1}
            both = respond_coupled(
                distinct, figures[-1][first], edges, tuple(strips.values()), across, up, apart=1
            )
            found = both.cap
            for k, w in enumerate(strips):
                of = webs[:, w]
                area = thickness[of] * caps.heights[at].sum(axis=1)
                strip[of, cap] = both.stretch[back, k] / area
                turn[of, cap], slip[of, cap] = both.turn[back, k], both.slip[back, k]
        else:
            found = respond(distinct, edges, across, up, apart=1 if columns else 0)
        stub = sections.heights[:, 0]
        arms, own = np.zeros((len(at), len(columns))), np.zeros((len(at), len(columns)))
        plain = np.zeros(len(at))
        for k, w in enumerate(columns):
            of = webs[:, w]
            thick, shear = thickness[of], moduli[of, 1]
            arms[:, k] = (w - 1) * (caps.width[at] + thick) / 2
            own[:, k] = stub / (shear * thick)
            plain += shear * thick**3 * stub / 3
            warping[of, cap] = found.warping[back, k] + arms[:, k] * stub
        stubs = (found.torsion - found.torsion_above)[back]
        torsion[at] = found.torsion_above[back] + np.maximum(stubs - plain, 0.0)
        for k, w in enumerate(columns):
            twin = columns.index(2 - w) if w != 1 and (2 - w) in columns else None
            flow = found.give[back, k, k] - own[:, k]
            inner = caps.heights[at].sum(axis=1) - caps.centroid[at]
            push_up, push_aft = inner, arms[:, k]
            if twin is not None:  # both webs at once, as in bending
                flow = flow + found.give[back, k, twin]
                push_up, push_aft = 2 * inner, arms[:, k] + arms[:, twin]
            give[webs[:, w], cap] = (
                flow - inner * push_up / shear_up[at] - arms[:, k] * push_aft / shear_aft[at]
            )
        if front and rear:  # webs against each other, as in torsion: what the cap gives sideways between them
            i, j = 0, len(columns) - 1
            against = (
                found.give[back, i, i]
                - own[:, i]
                + found.give[back, j, j]
                - own[:, j]
                - 2 * found.give[back, i, j]
            )
            rest = against - give[webs[:, 0], cap] - give[webs[:, 2], cap]
            sideways = (arms[:, i] - arms[:, j]) ** 2 / np.maximum(rest, 1e-300)
            shear_aft[at] = np.clip(sideways, shear_aft[at], 4 * shear_aft[at])
        if kind.cover:
            half = (sections.widths.sum(axis=1)) / 2
            height = caps.centroid[at] + skin.thickness[caps.spar[at], cap, caps.span[at]] / 2
            beam = height**2 / shear_up[at] + half**2 / shear_aft[at]
            for side in (0, 1):
                k = len(columns) + side
                skin_give[caps.spar[at], cap, caps.span[at], side] = found.give[back, k, k] - beam
    return _Junctions(
        torsion, shear_aft, shear_up, warping, give, np.maximum(skin_give, 0.0), strip, turn, slip
    )


def _distinct(figures: list[Array]) -> tuple[Ints, Ints]:
    """First of those that are alike in all figures, and which of these each is."""
    table = np.concatenate([v.reshape(len(v), -1) for v in figures], axis=1)
    largest = np.maximum(np.abs(table).max(axis=0), 1e-300)
    _, first, back = np.unique(np.round(table / largest, 9), axis=0, return_index=True, return_inverse=True)
    return first, back.ravel()


def _kinds(caps: _CapRows, rows: list[WebRow], beside: Ints, skin: SheetStrip) -> list[tuple[_Kind, Ints]]:
    """Cap elements by what their sections have alike."""
    sheet = skin.thickness[caps.spar, np.where(caps.upper, 0, 1), caps.span]
    there, widths = beside >= 0, _widths(rows, beside)
    # Which rows are thin is asked of each section by itself: no cap's answer hangs on another's size.
    thin = _thin_rows(caps, widths.max(axis=1), sheet)
    # A web between as wide as its cap leaves no cap beside it: a grid without those columns.
    flush = there[:, 1] & (caps.width - widths[:, 1] <= _FLUSH * caps.width)
    askew_rows = np.array([*(askew(row.grain) for row in rows), False])
    slanted = askew_rows[beside[:, 0]] | askew_rows[beside[:, 2]]
    present = caps.heights > 0  # a facing that has ended has no height
    marks = np.column_stack([there, flush, sheet > 0, slanted, present, thin])
    _, first, of = np.unique(marks, axis=0, return_index=True, return_inverse=True)
    out = []
    for k, e in enumerate(first.tolist()):
        front, middle, rear = there[e].tolist()
        kind = _Kind(
            front,
            middle,
            rear,
            bool(flush[e]),
            tuple(present[e].tolist()),
            bool(sheet[e] > 0),
            bool(slanted[e]),
            tuple(thin[e].tolist()),
        )
        out.append((kind, np.flatnonzero(of.ravel() == k)))
    return out


class _Kind(NamedTuple):
    """What sections of caps solved together have alike: webs before, between and behind, the one between as
    wide as the cap; layers that are there; sheeting; grain of a lapped web askew; rows that are thin."""

    front: bool
    middle: bool
    rear: bool
    flush: bool
    present: tuple[bool, ...]
    cover: bool
    askew: bool
    thin: tuple[bool, ...]


def _stiffnesses(
    caps: _CapRows,
    at: Ints,
    webs: Ints,
    rows: list[WebRow],
    sections: CapSections,
    kind: _Kind,
) -> Array:
    """Stiffness in all directions of the cells of `_sections`, (n, n_columns, n_rows, 6, 6), Pa.

    A grid of a lower cap is its mirror image. What is odd in the grain's angle comes out as for an upper cap,
    to which half a turn about the chord's direction brings it.
    """
    n, n_columns, n_rows = sections.modulus.shape
    out = np.zeros((n, n_columns, n_rows, 6, 6))
    n_layers = sum(kind.present)
    strips = {0: 0} if kind.front else {}
    if kind.rear:
        strips[n_columns - 1] = 2
    layers = [
        [stick_stiffness(m) for m, there in zip(caps.materials[e], kind.present) if there][::-1] for e in at
    ]
    lines = np.array(layers)
    for c in range(n_columns):
        if c in strips:
            sheets = np.array([sheet_stiffness(rows[k].material, rows[k].grain) for k in webs[:, strips[c]]])
            out[:, c, : 1 + n_layers] = sheets[:, None]
            continue
        out[:, c, 1 : 1 + n_layers] = lines
        if sections.shear_up[:, c, 0].any():  # the stub of a web between the caps
            out[:, c, 0] = np.array([sheet_stiffness(rows[k].material, rows[k].grain) for k in webs[:, 1]])
    # Sheeting on the cap follows the plane: what it does across the span counts in the ribs' net.
    for row, figure in ((1, sections.modulus), (3, sections.shear_up), (5, sections.shear_across)):
        out[:, :, 1 + n_layers :, row, row] = figure[:, :, 1 + n_layers :]
    return out


def _beam_shear(caps: _CapRows, rows: list[WebRow], beside: Ints, moduli: Array) -> tuple[Array, Array]:
    """Shear stiffness of the caps' beams up and down (with the lapped strips) and fore and aft, N; `moduli`
    (n_webs, 3) as of `held_moduli`."""
    heights = caps.heights
    height = heights.sum(axis=1)
    shear = np.array([*moduli[:, 1], 0.0])
    laps = beside[:, [0, 2]]
    strips = (shear[laps] * _widths(rows, laps)).sum(axis=1) * height
    # Layers one above the other carry the vertical shear in series, the horizontal side by side.
    up = caps.width * height / (heights / height[:, None] / caps.g_up).sum(axis=1) + strips
    aft = (caps.g_aft * heights).sum(axis=1) * caps.width
    return 5 / 6 * up, 5 / 6 * aft


def _thin_rows(caps: _CapRows, web: Array, sheet: Array) -> NDArray[np.bool_]:
    """Which layers of caps' sections (n,), stub of the widest web (m) and sheet besides, are thin beside the
    highest, (n, 1 + n_layers + 1)."""
    stub = np.minimum(_STUB * web, caps.heights.sum(axis=1))
    heights = np.column_stack([stub, caps.heights, sheet])
    return np.asarray(heights < _THIN_ROW * heights.max(axis=1, keepdims=True))


def _sections(
    caps: _CapRows,
    at: Ints,
    webs: Ints,
    rows: list[WebRow],
    moduli: Array,
    skin: SheetStrip,
    kind: _Kind,
) -> tuple[CapSections, tuple[tuple[str, int, int], ...], tuple[int, ...], tuple[int, ...]]:
    """Grids of cap elements of one kind: columns fore to aft, rows from the web side outward."""
    n, present = len(at), np.array(kind.present)
    front, middle, rear, cover, flush = kind.front, kind.middle, kind.rear, kind.cover, kind.flush
    web_width = _widths(rows, webs)
    columns: list[tuple[str, Array]] = []
    if front:
        columns.append(("front", web_width[:, 0]))
    if middle and not flush:
        rest = (caps.width[at] - web_width[:, 1]) / 2
        columns += [("cap", rest), ("cap", web_width[:, 1]), ("cap", rest)]
    else:
        columns.append(("cap", caps.width[at]))
    if rear:
        columns.append(("rear", web_width[:, 2]))
    n_layers = int(present.sum())
    layers = caps.heights[at][:, present][:, ::-1]  # inner layer first
    # A stub of every web hangs below the cap, so that the corner between them is part of the section.
    stub = np.minimum(_STUB * web_width.max(axis=1), layers.sum(axis=1))
    below = 1 if front or middle or rear else 0
    heights = np.concatenate([stub[:, None], layers], axis=1) if below else layers
    s, c, i = caps.spar[at], np.where(caps.upper[at], 0, 1), caps.span[at]
    if cover:
        heights = np.concatenate([heights, skin.thickness[s, c, i][:, None]], axis=1)
    shape = (n, len(columns), heights.shape[1])
    across, up, young = np.zeros(shape), np.zeros(shape), np.zeros(shape)
    first, last = below, below + n_layers
    for k, (what, _) in enumerate(columns):
        if what == "cap":
            across[:, k, first:last] = caps.g_aft[at][:, present][:, ::-1]
            up[:, k, first:last] = caps.g_up[at][:, present][:, ::-1]
            young[:, k, first:last] = caps.modulus[at][:, present][:, ::-1]
        else:
            of = webs[:, 0 if what == "front" else 2]
            figures = moduli[of]
            young[:, k, first:last] = figures[:, 0, None]  # a stub's own stretch is the panel's business
            up[:, k, :last] = figures[:, 1, None]
            across[:, k, :last] = figures[:, 2, None]
        if cover:
            # A sheet that ends over the cap counts by its share, spread over the width: small in twist,
            # and its stretch is carried where it lies, by the bars of the strip.
            across[:, k, last] = skin.across[s, c, i] * skin.share[s, c, i]
            up[:, k, last] = skin.up[s, c, i] * skin.share[s, c, i]
            young[:, k, last] = skin.modulus[s, c, i] * skin.share[s, c, i]
    if middle:
        figures = moduli[webs[:, 1]]
        k = int(front) + (0 if flush else 1)
        up[:, k, 0], across[:, k, 0] = figures[:, 1], figures[:, 2]
    widths = np.stack([w for _, w in columns], axis=1)
    centre_x = (widths[:, 0] if front else 0.0) + caps.width[at] / 2
    centre_z = layers.sum(axis=1) - caps.centroid[at] + (stub if below else 0.0)
    centre = np.stack([np.broadcast_to(centre_x, (n,)), centre_z], axis=1)
    edges = []
    if front:
        edges.append(("inner", 0, 0))
    if middle:
        edges.append(("inner", int(front) + (0 if flush else 1), 0))
    if rear:
        edges.append(("inner", len(columns) - 1, 0))
    if cover:
        top = heights.shape[1] - 1
        edges += [("fore", 0, top), ("aft", len(columns) - 1, top)]
    # Corners between web and cap make convergence slow. These keep a spar's deflection and twist within 0.3
    # % of far higher degrees over the caps and webs that builders use (tests hold this), the give itself
    # within 1 %.
    degrees = ([4] if front else []) + ([4, 4, 4] if middle and not flush else [7]) + ([4] if rear else [])
    thin = heights.max(axis=0) < _THIN_ROW * heights.max()
    degrees_up = [4] * below + [2 if t else 6 for t in thin[below:]]
    return (
        CapSections(widths, heights, across, up, young, centre),
        tuple(edges),
        tuple(degrees),
        tuple(degrees_up),
    )


class _Known(NamedTuple):
    """What webs and strips are laid by."""

    ground: Ground
    mesh: SparMesh
    caps: _CapRows
    rows: list[WebRow]


def _frame(spar: Spar, y: Array) -> tuple[Array, Array, Array, Array]:
    """Of a spar: 1/cos of its sweep, width of its upper cap, and heights of its caps' inner faces, m."""
    top = spar.z_upper.at(y) - spar.upper.height(y)
    bottom = spar.z_lower.at(y) + spar.lower.height(y)
    return spar.aslant.at(y), spar.upper.width.at(y), top, bottom


def _webs(
    known: _Known, response: _Junctions, bow: Array
) -> tuple[SlippingMembranes | None, Plates | None, WebElements]:
    ground, mesh, caps, rows = known
    wing, y = ground.wing, ground.y
    n = len(rows)
    materials = list(dict.fromkeys(row.material for row in rows))
    number = {material: k for k, material in enumerate(materials)}
    which = np.array([number[row.material] for row in rows], dtype=np.intp)
    s = np.array([row.spar for row in rows], dtype=np.intp)
    span = np.array([row.span for row in rows], dtype=np.intp)
    side = np.array([FACES.index(row.face) for row in rows], dtype=np.intp) - 1
    thickness, grain = np.array([row.thickness for row in rows]), np.array([row.grain for row in rows])
    upper, lower = caps.row_of[s, 0, span], caps.row_of[s, 1, span]
    two = np.stack([span, span + 1], axis=1)
    nodes = np.concatenate(
        [mesh.cap_nodes[s[:, None], 1, two], mesh.cap_nodes[s[:, None], 0, two[:, ::-1]]], axis=1
    )
    frames = np.array([_frame(spar, ground.ends) for spar in wing.spars])
    aslant, cap_width, top, bottom = np.moveaxis(frames[s, :, span], 1, 0)
    off = aslant * (side[:, None] * (cap_width + thickness[:, None]) / 2)
    x, ends = mesh.x[s[:, None], two] + off, [0, 1, 1, 0]
    heights = np.concatenate([bottom, top[:, ::-1]], axis=1)
    corners = np.stack([x[:, ends], y[two][:, ends], heights], axis=2)
    clear, width = (top - bottom).mean(axis=1), np.minimum(caps.width[upper], caps.width[lower])
    cap_height = caps.heights.sum(axis=1)
    lap = np.where(
        side[:, None] != 0, np.stack([cap_height[upper], cap_height[lower]], axis=1), thickness[:, None]
    )
    # Give of the joints beyond what the caps' beams already have in shear under the same flow.
    shear = np.array([sheet_moduli(row.material, row.grain)[1] for row in rows])
    beyond = shear * thickness * response.give.sum(axis=1)
    factor = clear / (clear + np.maximum(beyond, -0.5 * clear))  # `softened` has the limit askew
    # Warping of the caps by twist acts as a longer arm of the web about the caps' axes.
    shift = -response.warping.sum(axis=1) / clear
    # Strips that stretch with the caps and shear by it move the web's edges: shear per mean strain.
    pull = response.slip.sum(axis=1) / clear
    part = np.array(
        [
            ground.part("brace" if row.brace else "web", wing.spars[row.spar].name, row.face, row.span)
            for row in rows
        ],
        dtype=np.intp,
    )
    elements = WebElements(
        s,
        tuple(row.face for row in rows),
        span,
        thickness,
        clear,
        grain,
        lap,
        width,
        factor,
        which,
        tuple(materials),
        tuple(row.glue for row in rows),
        np.array([row.brace for row in rows], dtype=bool),
    )
    if not n:
        return None, None, elements
    at = ground.draft.positions()[nodes]
    offsets = corners - at
    outboard = np.where(y[span] + y[span + 1] >= 0, 1.0, -1.0)
    along, up, aft = _web_axes(corners)
    fibre = np.cos(grain)[:, None] * along * outboard[:, None] + np.sin(grain)[:, None] * up
    plane = np.stack([plane_moduli(m, False) for m in materials])[which]
    bent = np.stack([plane_moduli(m, True) for m in materials])[which]
    # The joint's give lies in shear between span and depth: soften that component alone, whatever the grain.
    turned_to = np.where(outboard > 0, grain, np.pi - grain)  # in the elements' own sense, from y to z
    plane = softened(plane, turned_to, factor)
    arm = np.einsum("ei,eij->ej", up, cross_matrix(shift[:, None] * aft))
    links = np.repeat((up[:, :, None] * arm[:, None, :])[:, None], 4, axis=1)
    strains = _strain_map(outboard * pull, turned_to) if pull.any() else None
    density = np.array([m.density for m in materials])[which]
    felt = bow[np.stack([lower, lower, upper, upper], axis=1)]
    membranes = Membranes(
        nodes,
        thickness,
        plane,
        fibre,
        offsets,
        density=density,
        extra_links=links,
        bow=bow_beside(at, offsets, (1, 0, 3, 2), felt),
        part=part,
        strain_map=strains,
    )
    on_caps = np.tile(np.array([True, False, True, False]), (n, 1))
    plates = Plates(nodes, thickness, bent, fibre, offsets, straight=on_caps, part=part)
    to_span = rotation_matrix(turned_to)
    sheared = (np.swapaxes(to_span, 1, 2) @ membranes.effective @ to_span)[:, 2, 2]
    return _slipping(known, elements, membranes, sheared), plates, elements


def _strain_map(pull: Array, turned_to: Array) -> Array:
    """`Membranes.strain_map` of panels that shear by so much per strain along the span."""
    strains = np.tile(np.eye(3), (len(pull), 1, 1))
    strains[:, 2, 0] = pull
    return np.asarray(rotation_matrix(turned_to) @ strains @ rotation_matrix(-turned_to))


def _web_axes(corners: Array) -> tuple[Array, Array, Array]:
    """Unit vectors of panels along the span, upright, and square to both, (n, 3)."""
    along = (corners[:, 1] + corners[:, 2] - corners[:, 0] - corners[:, 3]) / 2
    along /= np.linalg.norm(along, axis=1, keepdims=True)
    up = (corners[:, 3] + corners[:, 2] - corners[:, 0] - corners[:, 1]) / 2
    up -= np.einsum("ei,ei->e", up, along)[:, None] * along
    up /= np.linalg.norm(up, axis=1, keepdims=True)
    return along, up, np.cross(along, up)


_POINTS, _WEIGHTS = np.polynomial.legendre.leggauss(8)


def _slipping(known: _Known, webs: WebElements, panels: Membranes, shear: Array) -> SlippingMembranes:
    """Webs that move upright on their laps towards their ends, where nothing holds their shear.

    A web goes from the end of one bay to that of the next, or ends with a brace between them; the slip at a
    bay's end belongs to both bays. One let in between the caps does not slip. `shear` (n,) modulus of the
    panels between span and upright, Pa.
    """
    ground, mesh, caps, _ = known
    y, n = ground.y, len(webs.span)
    slope, hold = np.zeros((n, 2)), np.zeros((n, 2, 2))
    nodes = np.concatenate([panels.nodes, panels.nodes[:, :1].repeat(6, axis=1)], axis=1)
    on, of, spar, face, at = _runs(mesh, webs)
    slips = mesh.slip_nodes[spar[:, None], face[:, None], at]
    there = slips >= 0
    # An end that does not slip takes the other's place, and counts for nothing.
    places = np.where(there, at, np.where(there, at, -1).max(axis=1, keepdims=True))
    slips = mesh.slip_nodes[spar[:, None], face[:, None], places]
    beside = mesh.cap_nodes[spar[:, None, None], [1, 0], places[:, :, None]].reshape(-1, 4)
    nodes[on, 4:] = np.concatenate([slips, beside], axis=1)[of]
    through, caught = shear * webs.thickness * webs.clear, _upright_hold(webs, caps)
    start, end = y[at].T
    length = np.sqrt(np.bincount(of, through[on]) / np.bincount(of, caught[on]))
    run = tuple(figure[of, None] for figure in (start, end, length))
    sides = np.stack([y[webs.span[on]], y[webs.span[on] + 1]], axis=1)
    reach = np.diff(sides, axis=1)
    shapes, slopes = _shapes(sides.sum(axis=1)[:, None] / 2 + _POINTS * reach / 2, *run)
    weight = _WEIGHTS * reach / 2
    own = np.einsum("e,eq,aeq,beq->eab", through[on], weight, slopes, slopes)
    own += np.einsum("e,eq,aeq,beq->eab", caught[on], weight, shapes, shapes)
    for a in (0, 1):
        last = np.flatnonzero(webs.span[on] + a == at[of, a])
        own[last, a, a] += _rib_hold(ground.wing, webs, on[last], y[at[of[last]]], a)
    steps = _shapes(sides, *run)[0]
    counts = there.astype(float)[of]
    slope[on] = counts * ((steps[..., 1] - steps[..., 0]) / reach[:, 0]).T
    hold[on] = own * counts[:, :, None] * counts[:, None] / webs.thickness[on, None, None]
    offsets, links, bow = panels.offsets, panels.extra_links, panels.bow
    assert offsets is not None
    assert links is not None
    assert bow is not None
    return SlippingMembranes(
        nodes,
        panels.thickness,
        panels.constitutive,
        panels.grain,
        np.concatenate([offsets, np.zeros((n, 6, 3))], axis=1),
        density=panels.density,
        extra_links=np.concatenate([links, np.zeros((n, 6, 3, 3))], axis=1),
        bow=Bow(
            np.concatenate([bow.mates, np.broadcast_to(np.arange(4, 10), (n, 6))], axis=1),
            np.concatenate([bow.links, np.zeros((n, 6, 3, 6))], axis=1),
        ),
        part=panels.part,
        strain_map=panels.strain_map,
        slope=slope,
        hold=hold,
        upright=np.tile([0.0, 0.0, 1.0], (n, 1)),
    )


def _runs(mesh: SparMesh, webs: WebElements) -> tuple[Ints, Ints, Ints, Ints, Ints]:
    """Runs of webs on one face without an end between them, of those with an end that slips: webs (n,) and
    the run of each (n,), and of the runs their spar and face (n_runs,) and first and last station
    (n_runs, 2)."""
    which = np.array([FACES.index(name) for name in webs.face], dtype=np.intp)
    ends = mesh.slip_nodes[:, 0] >= 0
    # A run begins at the last end of a bay that is not beyond it.
    before = np.where(ends, np.arange(ends.shape[1]), -1)
    first = np.maximum.accumulate(before, axis=1)[webs.spar, webs.span]
    on = np.flatnonzero(which != FACES.index("between"))
    keys = np.stack([webs.spar, which, webs.brace, first], axis=1)[on]
    _, one, of = np.unique(keys, axis=0, return_index=True, return_inverse=True)
    of = of.ravel()
    at = np.stack([webs.span[on[one]], webs.span[on[one]] + 1], axis=1)
    np.minimum.at(at[:, 0], of, webs.span[on])
    np.maximum.at(at[:, 1], of, webs.span[on] + 1)
    spar, face = webs.spar[on[one]], (which[on[one]] == FACES.index("rear")).astype(np.intp)
    slips = (mesh.slip_nodes[spar[:, None], face[:, None], at] >= 0).any(axis=1)
    number = np.cumsum(slips) - 1
    kept = slips[of]
    return on[kept], number[of[kept]], spar[slips], face[slips], at[slips]


def _shapes(at: Array, start: Array, end: Array, length: Array) -> tuple[Array, Array]:
    """Slip at places (n, n_places) of a web between two ends per slip at its first and at its last, (2, n,
    n_places), and its slope; ends and length to die away, m, (n, 1)."""
    whole = end - start
    values, slopes = [], []
    for d, sign in ((at - start, -1.0), (end - at, 1.0)):
        near, far = np.exp(-d / length), np.exp(-(2 * whole - d) / length)
        values.append((near - far) / -np.expm1(-2 * whole / length))
        slopes.append(sign * (near + far) / (-np.expm1(-2 * whole / length) * length))
    return np.stack(values), np.stack(slopes)


_FLOOR = 1e-5
"""Stiffness of the slip of an end that no web has, next to nothing: of the cap's modulus times its height."""


def _web_ends(known: _Known, part: list[int]) -> Ties | None:
    """What keeps the slip of webs' ends a freedom where there is no web; counted to the upper cap there."""
    ground, mesh, caps, _ = known
    y = ground.y
    s, face, j = np.nonzero(mesh.slip_nodes >= 0)
    if not len(s):
        return None
    upper, lower = mesh.cap_nodes[s, 0, j], mesh.cap_nodes[s, 1, j]
    nodes = np.stack([mesh.slip_nodes[s, face, j], upper, lower, lower], axis=1)
    upright = np.tile([0.0, 0.0, 1.0], (len(s), 1))
    # The cap outboard of the end, of both sides alike; at a spar's end that inboard.
    out = np.where(y[j] < -1e-9, -1, 0)
    row_of = np.pad(caps.row_of[:, 0], ((0, 0), (1, 1)), constant_values=-1)
    first, second = row_of[s, j + out + 1], row_of[s, j - out]
    beside = np.where(first >= 0, first, np.maximum(second, 0))
    rates = _FLOOR * (caps.modulus * caps.heights).sum(axis=1)[beside]
    if ground.wing.flies and not ground.mirrored:  # half of what stands on the plane of symmetry
        rates[np.abs(y[j]) < 1e-9] /= 2
    return Ties(
        nodes, np.tile([0.5, 0.25, 0.25], (len(s), 1)), upright, rates, np.array(part, dtype=np.intp)[beside]
    )


def _rib_hold(wing: Wing, webs: WebElements, which: Ints, between: Array, side: int) -> Array:
    """Force that moves ends of some webs upright by a unit against a rib that they are glued to, N/m, (n,); 0
    where there is none. Each lies between two places, (n, 2), m, and ends at the first or second (0, 1).

    Between the caps a rib's edge that moves upright by s takes the rib along: G h v'' = (12 E/h) v for the
    mean v over the height h (parabolas, held at the caps), so t sqrt(12 E G) tanh(b sqrt(12 E/G)/h) over the
    length b along the chord. A web glued on the edge of a rib that ends there shears through its thickness
    where they touch, over w along the span: h sqrt(3 G'' G') tanh(w/t sqrt(3 G''/G')), G'' through the
    thickness (lag of a lap, as in `_upright_hold`). One that butts on a rib that goes on has its whole end.
    """
    if not wing.ribs:
        return np.zeros(len(which))
    y, thick = np.array([rib.y for rib in wing.ribs]), np.array([rib.post_thickness for rib in wing.ribs])
    reach = np.maximum(thick, [rib.thickness for rib in wing.ribs])
    away = np.abs(y - np.abs(between[:, side, None]))
    away[away > reach] = np.inf
    rib = away.argmin(axis=1)
    low, high = np.sort(np.abs(between), axis=1).T
    touched = np.minimum(high, y[rib] + thick[rib] / 2) - np.maximum(low, y[rib] - thick[rib] / 2)
    held = np.flatnonzero((touched > 0) & np.isfinite(away.min(axis=1)))
    rib, touched, one = rib[held], touched[held], which[held]
    widths = np.array([np.minimum(spar.upper.width.at(y), spar.lower.width.at(y)) for spar in wing.spars])
    height = webs.clear[one]
    of_posts = np.array([_post_figures(r.post_material, r.post_grain) for r in wing.ribs])
    upright, shear = of_posts[rib].T
    reach_in = np.tanh(widths[webs.spar[one], rib] / height * np.sqrt(12 * upright / shear))
    own = touched * (np.sqrt(12 * upright * shear) * reach_in)
    bare = np.flatnonzero(np.array([r.panel == "none" for r in wing.ribs])[rib])
    edge = one[bare]
    wood = [(webs.materials[m], g) for m, g in zip(webs.material[edge], webs.grain[edge].tolist())]
    in_plane = np.array([sheet_moduli(*of)[1] for of in wood])
    through = np.array([_upright_figures(*of)[1] for of in wood])
    lag = touched[bare] / webs.thickness[edge] * np.sqrt(3 * through / in_plane)
    lap = height[bare] * np.sqrt(3 * through * in_plane) * np.tanh(lag)
    own[bare] = 1 / (1 / own[bare] + 1 / lap)
    out = np.zeros(len(which))
    out[held] = own
    return out


@lru_cache(maxsize=256)
def _post_figures(material: Material, grain: float) -> tuple[float, float]:
    """Of a post whose grain is turned from the chord: E upright, and shear modulus in its plane, Pa."""
    wood = turned(material.in_plane(), grain)
    return float(wood.E_y), float(wood.G_xy)


@lru_cache(maxsize=256)
def _upright_figures(material: Material, grain: float) -> tuple[float, float]:
    """Of a sheet whose grain is turned from the span: E upright, and shear modulus between upright and
    thickness, Pa."""
    g_13, g_23 = material.through_thickness_shear()
    through = np.sin(grain) ** 2 * g_13 + np.cos(grain) ** 2 * g_23
    return float(turned(material.in_plane(), grain).E_y), float(through)


def _upright_hold(webs: WebElements, caps: _CapRows) -> Array:
    """Force upright per length that moves each web's panel by a unit against its caps, (n,), Pa.

    Each lap is a strip pulled upright at its edge and held by what shears across web and cap (lag of a lap;
    Volkersen, Die Nietkraftverteilung in zugbeanspruchten Nietverbindungen, 1938, from memory):
    k = sqrt(q E t) tanh(a sqrt(q/(E t))), a the lap's height, 1/q = t/(3 G) + b/(3 G'), as shear falls from
    the glue to nought at the far face of either (parabolas). The panel itself gives h/(12 E t): load even
    over its height.
    """
    figures = [_upright_figures(webs.materials[m], g) for m, g in zip(webs.material, webs.grain.tolist())]
    young, through = np.array(figures).reshape(-1, 2).T
    stretch, laps = young * webs.thickness, np.zeros(len(young))
    for c in (0, 1):
        rows = caps.row_of[webs.spar, c, webs.span]
        heights = caps.heights[rows].tolist()
        cross = np.array([_cross_shear(caps.materials[r], tuple(h)) for r, h in zip(rows, heights)])
        q = 1 / (webs.thickness / (3 * through) + caps.width[rows] / (3 * cross))
        laps += np.sqrt(q * stretch) * np.tanh(webs.lap[:, c] * np.sqrt(q / stretch))
    return np.asarray(1 / (1 / laps + webs.clear / (12 * stretch)))


@lru_cache(maxsize=1024)
def _cross_shear(materials: tuple[Material, ...], heights: tuple[float, ...]) -> float:
    """Mean shear modulus of a cap's layers in the plane of its section, Pa."""
    return float(np.average([m.stick().G_cross for m in materials], weights=heights[: len(materials)]))


def bow_beside(at: Array, offsets: Array, mates: tuple[int, ...], felt: Array) -> Bow:
    """How panels' corners move with the bow of the members that they hang beside.

    Parameters
    ----------
    at : (n, 4, 3) float array
        Nodes of the corners, m.
    offsets : (n, 4, 3) float array
        Nodes to corners, m.
    mates : tuple of int
        The corner at the other end of each corner's member.
    felt : (n, 4, 2) float array
        Shares of the members' bow up and down and sideways, 0 where there is no member.
    """
    up = np.array([0.0, 0.0, 1.0])
    links = bow_links(offsets, at[:, mates] - at, up, felt[..., 0], felt[..., 1])
    return Bow(np.broadcast_to(np.array(mates, dtype=np.intp), offsets.shape[:2]), links)


@lru_cache(maxsize=128)
def plane_moduli(material: Material, bending: bool) -> Array:
    """Plane-stress moduli of a sheet in grain axes, (3, 3), Pa."""
    at = material.in_bending() if bending else material.in_plane()
    return plane_stress(*(np.array(v) for v in (at.E_1, at.E_2, at.G_12, at.nu_12)))


def rotation_matrix(angle: Array) -> Array:
    """Strains in turned axes from those in the first axes, (n, 3, 3), engineering shear; angles (n,) from
    the first to the turned ones, rad."""
    c, s = np.cos(angle), np.sin(angle)
    return np.stack(
        [
            np.stack([c * c, s * s, c * s], -1),
            np.stack([s * s, c * c, -c * s], -1),
            np.stack([-2 * c * s, 2 * c * s, c * c - s * s], -1),
        ],
        axis=-2,
    )


def softened(plane: Array, grain: Array, factor: Array) -> Array:
    """Moduli in grain axes after adding compliance to the shear between span and depth: 1/G grows by
    1/factor.

    A joint may give less than the caps' beams say (factor above 1), and the sheet then makes up for it. It
    can do so with what it gives in shear while nothing stretches and no more: with the grain at a slant the
    rest of 1/G comes from stretch, and taking that away too would leave stiffness below zero. Half of
    the former is the limit, as it is without a slant.

    Parameters
    ----------
    plane : (n, 3, 3) float array
        Moduli in plane stress in grain axes, Pa.
    grain : (n,) float array
        From the span to the grain, rad.
    factor : (n,) float array
        Effective shear modulus over the sheet's own, above 0.

    Returns
    -------
    (n, 3, 3) float array
        Pa.
    """
    to_span = rotation_matrix(-grain)
    from_span = rotation_matrix(grain)
    turned_plane = np.swapaxes(from_span, 1, 2) @ plane @ from_span
    compliance = np.linalg.inv(turned_plane)
    free_shear = compliance[:, 2, 2].copy()
    compliance[:, 2, 2] += np.maximum(free_shear * (1 / factor - 1), -0.5 / turned_plane[:, 2, 2])
    return np.swapaxes(to_span, 1, 2) @ np.linalg.inv(compliance) @ to_span


def _strips(known: _Known, skin: SheetStrip, response: _Junctions) -> Bars | None:
    """Strips of webs and sheeting lapped on caps: bars at the two Gauss points of each, so that they bend
    with it."""
    ground, mesh, *_ = known
    wing, y = ground.wing, ground.y
    spread = np.array([-1, 1]) / (2 * np.sqrt(3.0))
    web = _web_strips(known, response)
    skins = np.nonzero(skin.thickness)
    s, c, i = skins
    t, two = skin.thickness[skins], np.stack([i, i + 1])
    front, rear = mesh.front[s, two], mesh.rear[s, two]
    aslant = np.array([spar.aslant.at(ground.span) for spar in wing.spars])[s, two]
    width = skin.share[skins] * ((rear - front) / aslant).mean(axis=0)
    z = mesh.outer[s, c, two] + np.where(c == 0, 1, -1) * t / 2
    parts = [
        ground.part("sheeting", wing.spars[a].name, ("upper", "lower")[b], e)
        for a, b, e in zip(*(index.tolist() for index in skins))
    ]
    lying = _Strips(
        mesh.cap_nodes[s, c, two],
        (front + rear) / 2
        + (skin.centre[skins] + spread[:, None, None] * skin.share[skins]) * (rear - front),
        y[two],
        np.stack([z, z]),
        skin.modulus[skins] * t * width / 2,
        skin.density[skins] * t * width / 2,
        np.array(parts, dtype=np.intp),
        np.zeros(len(t)),
    )
    found = [strips for strips in (web, lying) if len(strips.part)]
    if not found:
        return None
    joined = [np.concatenate(column) for column in zip(*(strips.columns() for strips in found))]
    at, ends, rigidity, mass, part, turn = joined
    offsets = ends - ground.draft.positions()[at]
    if not turn.any():
        return Bars(at, rigidity, offsets, mass, part)
    along = ends[:, 1] - ends[:, 0]
    along /= np.linalg.norm(along, axis=1, keepdims=True)
    twisted = turn[:, None, None] * along[:, :, None] * along[:, None, :]
    return Bars(at, rigidity, offsets, mass, part, np.repeat(twisted[:, None], 2, axis=1))


@dataclass(frozen=True, eq=False)
class _Strips:
    """Strips of (n,) spans between two stations (2, n), each two bars (2, ...) side by side or one above the
    other."""

    nodes: Ints  # (2, n)
    x: Array  # (2 bars, 2 stations, n)
    y: Array  # (2, n)
    z: Array  # (2, 2, n)
    rigidity: Array  # (n,), of each bar
    mass: Array
    part: Ints
    turn: Array  # (n,), stretch of the strip per rate of twist of its cap, m

    def columns(self) -> tuple[Array, ...]:
        """Nodes, end points, rigidity, mass, part and turn, bar after bar, the two of a strip together."""
        ends = np.stack([self.x, np.broadcast_to(self.y, self.x.shape), self.z])
        twice = [np.repeat(v, 2) for v in (self.rigidity, self.mass, self.part, self.turn)]
        return np.repeat(self.nodes.T, 2, axis=0), ends.transpose(3, 1, 2, 0).reshape(-1, 2, 3), *twice


def _web_strips(known: _Known, response: _Junctions) -> _Strips:
    """Strips of webs lapped on the upper and the lower cap, web by web."""
    ground, mesh, caps, rows = known
    wing, y, away = ground.wing, ground.y, ground.span
    which_row = np.array([k for k, row in enumerate(rows) if row.face != "between"], dtype=np.intp)
    lapped = [rows[k] for k in which_row]
    n = len(lapped)
    span = np.array([row.span for row in lapped], dtype=np.intp)
    outboard = np.where(y[span] + y[span + 1] >= 0, 1.0, -1.0)
    s = np.repeat(np.array([row.spar for row in lapped], dtype=np.intp), 2)
    i = np.repeat(span, 2)
    c = np.tile(np.array([0, 1], dtype=np.intp), n)
    t = np.repeat(np.array([row.thickness for row in lapped]), 2)
    density = np.repeat(np.array([row.material.density for row in lapped]), 2)
    aft = np.repeat(np.array([-1 if row.face == "front" else 1 for row in lapped]), 2)
    widths = np.array([[cap.width.at(away) for cap in (spar.upper, spar.lower)] for spar in wing.spars])
    aslant = np.array([spar.aslant.at(away) for spar in wing.spars])
    two = np.stack([i, i + 1])
    height = caps.heights[caps.row_of[s, c, i]].sum(axis=1)
    x = mesh.x[s, two] + aslant[s, two] * aft * (widths[s, c, two] + t) / 2
    middle = mesh.outer[s, c, two] + np.where(c == 0, -1, 1) * height / 2
    spread = np.array([-1, 1]) / (2 * np.sqrt(3.0))
    part = [
        ground.part(
            "brace strip" if row.brace else "web strip",
            wing.spars[row.spar].name,
            f"{row.face} {which}",
            row.span,
        )
        for row in lapped
        for which in ("upper", "lower")
    ]
    return _Strips(
        mesh.cap_nodes[s, c, two],
        np.stack([x, x]),
        y[two],
        middle + spread[:, None, None] * height,
        response.strip[which_row].ravel() * t * height / 2,
        density * t * height / 2,
        np.array(part, dtype=np.intp),
        # The grain of a port web is the mirror image.
        (response.turn[which_row] * outboard[:, None]).ravel(),
    )
