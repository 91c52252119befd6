"""Ribs and skins: posts between the caps, panels over the chord, sheeting, edges and cap strips on one net
of nodes.

Between every two anchors of the chord (leading edge, spars, trailing edge) the net has lines of nodes on the
upper and lower contour. Ribs are panels between the two contours at one station, sheeting panels between two
lines of one contour; both are membranes and plates in one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from functools import lru_cache
from itertools import pairwise
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from fea.arrays import Array, Ints
from fea.elements.bar import Bars
from fea.elements.beam import Beams, Sections
from fea.elements.membrane import Membranes
from fea.elements.plate import Plates
from models.junction import foot_press_flexibility, foot_rotation_flexibility
from models.rib_width import bent_upright, width_beside_caps
from models.section import rectangle_torsion
from models.structure.edge_sticks import stick_centroids, stick_sections, where_skin_meets
from models.structure.ground import Ground
from models.structure.kept import kept
from models.structure.model import Chordline, Draft, EdgeElements, Part, PostElements, SheetElements
from models.structure.spars import (
    SheetStrip,
    SparBlocks,
    SparMesh,
    bow_beside,
    bow_felt,
    plane_moduli,
    rotation_matrix,
    sheet_moduli,
    softened,
)
from models.structure.stations import nearest
from models.wing.parts import RIB_END, Covering, Edge, Planform, Rib, Sheet, Wing
from models.woods.off_axis import turned
from models.woods.wood import Material

_DRILLING = 1e-3
"""Share of the shear stiffness by which nodes of nothing but coplanar panels follow the panels' turning."""


_LEAST_LAP = 1e-3
"""Share of a cap's width under which a sheet that ends at its face does not count as lying on it."""

_FLUSH = 0.05
"""A sheet that ends within this share of a cap's width from its face is flush with it: nobody cuts it finer
(common practice, no source)."""


_HELD_S = np.array([1.0, 4.0, np.inf])
"""How much stiffer a post is against an S shape in the rib's plane where the rib goes on on no side, on one,
on both.

With free sides it bends into an S as the caps move along the chord against each other. Where the rib goes
on, the post's sides are the rib's: they stay straight as the rib shears, and the post shears evenly with it
(no parabola of free sides, so no 5/6). Held on one side it is half of a strip of twice its width: half of
(2 w)^3/12 is four times w^3/12. Held on both it does not bend into an S. By symmetry; nothing is fitted.
"""


_FREE_EDGES = 5 / 6
"""Share of its shear stiffness that a rib has where no sheeting is glued to its edges: the shear over its
height is a parabola, nought at both edges (any book on strength of materials, from memory). One panel stands
for the whole height and would shear evenly, as it does where sheeting hands shear to the edges."""


_OFF_FACE = 1e-5
"""How far off a spar's face sheeting is looked for that lies on the rib there, m: more than the places of two
edges meant alike may differ by, and less than any sheet's width."""


@dataclass(frozen=True, eq=False)
class NetLine:
    """One chordwise line of the net.

    Parameters
    ----------
    x_ahead, x_behind : (n_stations,) float array
        Where the panels ahead of the line and behind it end, m: a spar and an edge have two faces.
    top, bottom : (n_stations,) float array
        Heights of the contour, m.
    spar : int
        The spar whose caps carry the line; -1 for an edge or a line of panels alone.
    upper, lower : (n_stations,) int array
        Nodes, -1 where there is none.
    on_member : (n_stations,) bool array
        The panels hang beside the axis of a cap, or of the stick of an edge.
    stick_face : (n_stations,) float array or None
        Inner face of an edge's stick, where ribs end while skin may go on over the stick, m; None for other
        lines.
    rib_ends : (2, 2, n_stations) float array or None
        Heights of a rib's upper and lower edge where it ends ahead of the line and where it begins behind it,
        m; None where they are the line's own.
    """

    x_ahead: Array
    x_behind: Array
    top: Array
    bottom: Array
    spar: int
    upper: Ints
    lower: Ints
    on_member: NDArray[np.bool_]
    stick_face: Array | None = None
    rib_ends: Array | None = None

    def rib_end(self, behind: bool) -> Array:
        """Heights of the upper and the lower edge of ribs' panels ahead of the line or behind it, (2,
        n_stations), m."""
        return np.stack([self.top, self.bottom]) if self.rib_ends is None else self.rib_ends[int(behind)]


@dataclass(frozen=True, eq=False)
class Net:
    """Chordwise lines from leading to trailing edge; `interior` nodes are those on no cap."""

    lines: list[NetLine]
    interior: set[int]


def skin_on_caps(ground: Ground, mesh: SparMesh) -> SheetStrip:
    """Sheeting that lies on the caps, for each spar, cap and span."""
    wing = ground.wing
    shape = (len(wing.spars), 2, len(ground.bay))
    thickness, across, up, modulus, density, share, centre = (np.zeros(shape) for _ in range(7))
    middle = np.abs(ground.y[1:] + ground.y[:-1]) / 2
    spar_x = [spar.x.at(middle) for spar in wing.spars]
    half = [spar.aslant.at(middle) * spar.upper.width.at(middle) / 2 for spar in wing.spars]
    for sheet in wing.sheets:
        c = 0 if sheet.surface == "upper" else 1
        here = ground.lies(sheet.bays)
        x_from, x_to = sheet.x_from.at(middle), sheet.x_to.at(middle)
        e, g, g_up = (float(v) for v in sheet_moduli(sheet.material, sheet.grain))
        for s in range(len(wing.spars)):
            # A sheet that reaches a cap's face lies on the webs glued there as well: what counts is how
            # much of the cap's own width it covers, and the webs' edges go with it.
            wide = 2 * half[s]
            front, rear = spar_x[s] - half[s], spar_x[s] + half[s]
            first = np.where(x_from <= front + _FLUSH * wide, front, x_from)
            last = np.where(x_to >= rear - _FLUSH * wide, rear, x_to)
            covers = (last - first) / wide
            on = here & (covers > _LEAST_LAP) & (mesh.cap_nodes[s, 0, 1:] >= 0)
            on &= mesh.cap_nodes[s, 0, :-1] >= 0
            where = ((first + last) / 2 - spar_x[s]) / wide
            # Sheets that meet on a cap lie side by side: figures are means over what they cover together,
            # those of the wood by how much of it there is.
            part = np.where(on, covers, 0.0)
            total, stuff = share[s, c] + part, share[s, c] * thickness[s, c] + part * sheet.thickness
            by_width = np.divide(part, total, out=np.zeros_like(part), where=total > 0)
            by_wood = np.divide(part * sheet.thickness, stuff, out=np.zeros_like(part), where=stuff > 0)
            for table, value, weight in (
                (thickness, sheet.thickness, by_width),
                (centre, np.where(on, where, 0.0), by_width),
                (across, g, by_wood),
                (up, g_up, by_wood),
                (modulus, e, by_wood),
                (density, sheet.material.density, by_wood),
            ):
                table[s, c] += weight * (value - table[s, c])
            share[s, c] = np.minimum(total, 1.0)
    return SheetStrip(thickness, across, up, modulus, density, share, centre)


class RibAt(NamedTuple):
    """A rib where the mesh has it; its share is half for one on the plane of symmetry of half a wing."""

    station: int
    rib: Rib
    share: float


def ribs_on(ground: Ground) -> list[RibAt]:
    """Where the mesh has the ribs."""
    found = []
    for rib in ground.wing.ribs:
        for sign in (1, -1) if ground.mirrored and rib.y > 1e-9 else (1,):
            share = 0.5 if ground.wing.flies and not ground.mirrored and rib.y < 1e-9 else 1.0
            found.append(RibAt(nearest(ground.y, sign * rib.y), rib, share))
    return found


def lay_net(
    ground: Ground, mesh: SparMesh, ribs: list[RibAt], between: int, films: Sequence[Covering] = ()
) -> Net:
    """Lines and nodes of the net, only where a rib, a sheet or a film needs them.

    Parameters
    ----------
    ground : Ground
        Takes the nodes.
    mesh : SparMesh
        From `mesh_spars`.
    ribs : list of RibAt
        From `ribs_on`.
    between : int
        Panels between two anchors along the chord.
    films : sequence of Covering
        Covering that needs nodes between the ribs, too.
    """
    wing = ground.wing
    order = np.argsort([float(np.nanmean(mesh.x[s])) for s in range(len(wing.spars))])
    chordwise = any(rib.panel == "chord" for _, rib, _ in ribs) and wing.planform is not None
    panels = chordwise or any(rib.panel == "between spars" for _, rib, _ in ribs) or bool(wing.sheets)
    lines: list[NetLine] = []
    interior: set[int] = set()
    if not panels:
        return Net([_spar_line(ground, mesh, int(s), []) for s in order], interior)
    covered = _covered(ground, [*wing.sheets, *films])
    anchors = [_spar_line(ground, mesh, int(s), covered) for s in order]
    if chordwise:
        ends = (_edge_geometry(ground, kind, covered) for kind in ("leading", "trailing"))
        anchors = [next(ends), *anchors, next(ends)]
    reach = np.zeros(len(ground.y), dtype=int)  # 1: between spars, 2: whole chord
    for j, rib, _ in ribs:
        reach[j] = {"none": 0, "between spars": 1, "chord": 2}[rib.panel]
    for k, anchor in enumerate(anchors):
        if anchor.spar >= 0:
            lines.append(_beyond_end(ground, anchor, reach == 2, covered, interior))
        else:
            kind = "leading" if k == 0 else "trailing"
            lines.append(_edge_line(ground, kind, anchor, reach == 2, covered))
        if k + 1 == len(anchors):
            break
        outer = min(anchor.spar, anchors[k + 1].spar) < 0
        there = reach >= (2 if outer else 1)
        lines += _between(ground, lines[-1], anchors[k + 1], there, covered, between)
    for line in lines:
        if line.spar < 0:
            interior.update(int(v) for v in np.concatenate([line.upper, line.lower]) if v >= 0)
    return Net(lines, interior)


def _spar_line(ground: Ground, mesh: SparMesh, s: int, covered: list[_Lying]) -> NetLine:
    """The caps' faces and nodes; beyond the spar's end the line runs on at its last fraction of the chord.

    Ribs end at the outline there, less what sheeting lies on them, and not at the caps' outer faces.
    """
    wing, here = ground.wing, mesh.cap_nodes[s, 0] >= 0
    front, rear = mesh.front[s].copy(), mesh.rear[s].copy()
    top, bottom = mesh.outer[s, 0].copy(), mesh.outer[s, 1].copy()
    plan = wing.planform
    if plan is not None and not here.all():
        end, span = wing.spars[s].y_end, ground.span
        share = (wing.spars[s].x.at(end) - plan.leading_edge_x.at(end)) / plan.chord.at(end)
        x = plan.leading_edge_x.at(span) + share * plan.chord.at(span)
        upper, lower = _contour(wing, ground.y, x)
        for table, beyond in ((front, x), (rear, x), (top, upper), (bottom, lower)):
            table[~here] = beyond[~here]
    nodes = mesh.cap_nodes[s, 0].copy(), mesh.cap_nodes[s, 1].copy()
    ends = _rib_ends(ground, front, rear, covered)
    return NetLine(front, rear, top, bottom, s, *nodes, here, rib_ends=ends)


def _rib_ends(ground: Ground, front: Array, rear: Array, covered: list[_Lying]) -> Array | None:
    """As `NetLine.rib_ends`, of a spar; of a specimen, which has no outline, None."""
    if ground.wing.planform is None:
        return None
    out = []
    for face, way in ((front, -1.0), (rear, 1.0)):
        upper, lower = _contour(ground.wing, ground.y, face)
        lie, _ = _lying(covered, face + way * _OFF_FACE)  # of what lies on the rib, not on the spar
        out.append((upper - lie[0], lower + lie[1]))
    return np.array(out)


def _beyond_end(
    ground: Ground, line: NetLine, rib: NDArray[np.bool_], covered: list[_Lying], interior: set[int]
) -> NetLine:
    """Nodes of panels alone where a spar has ended and ribs or sheeting go on."""
    gone = ~line.on_member & np.isfinite(line.top)
    for c, (nodes, z) in enumerate(((line.upper, line.top), (line.lower, line.bottom))):
        need = rib.copy()
        for one in covered:
            if one.contour == c:
                need |= one.at & (one.x_from <= line.x_ahead + 1e-6) & (one.x_to >= line.x_behind - 1e-6)
        new = gone & need
        nodes[new] = ground.nodes(line.x_ahead, z, new)[new]
        interior.update(nodes[new].tolist())
    return line


class _Lying(NamedTuple):
    """A sheet or film: contour (0 upper, 1 lower), from where to where along the chord at every station (m),
    the stations at which it lies, thickness (m; of film 0)."""

    contour: int
    x_from: Array
    x_to: Array
    at: NDArray[np.bool_]
    thickness: float


def _covered(ground: Ground, sheets: Sequence[Sheet | Covering]) -> list[_Lying]:
    out = []
    for sheet in sheets:
        here = ground.lies(sheet.bays)
        at = np.append(here, False) | np.append(False, here)
        thick = sheet.thickness if isinstance(sheet, Sheet) else 0.0
        c = 0 if sheet.surface == "upper" else 1
        out.append(_Lying(c, sheet.x_from.at(ground.span), sheet.x_to.at(ground.span), at, thick))
    return out


def _lying(covered: list[_Lying], x: Array) -> tuple[Array, NDArray[np.bool_]]:
    """How thick sheeting lies at a place x along the chord, m, and whether any does or film, (2, n_stations)
    each: sheets that meet at a rib lie side by side, and the thicker counts."""
    thick, there = np.zeros((2, len(x))), np.zeros((2, len(x)), dtype=bool)
    for one in covered:
        on = one.at & (one.x_from <= x + 1e-6) & (one.x_to >= x - 1e-6)
        there[one.contour] |= on
        thick[one.contour] = np.maximum(thick[one.contour], np.where(on, one.thickness, 0.0))
    return thick, there


def _contour(wing: Wing, y: Array, x: Array) -> tuple[Array, Array]:
    """Upper and lower surface heights at the stations, at given x, m."""
    if wing.planform is None:
        return np.full(len(y), np.nan), np.full(len(y), np.nan)
    top, bottom = _outline(wing.planform, y, x)
    return top, bottom


@kept(128)
def _outline(plan: Planform, y: Array, x: Array) -> tuple[Array, ...]:
    """`_contour` of a planform."""
    out = []
    # Washout moves the surface fore and aft by a little; two corrections find the fraction of chord that
    # lands on x.
    chord, start = plan.chord.at(np.abs(y)), plan.leading_edge_x.at(np.abs(y))
    for upper in (True, False):
        fraction = (x - start) / chord
        for _ in range(3):
            at, z = plan.surface_at(np.abs(y), np.clip(fraction, 0.0, 1.0), upper)
            fraction = fraction + (x - at) / chord
        out.append(z)
    return tuple(out)


def _stick(wing: Wing, kind: str) -> Edge | None:
    """The stick of an edge, if it has one."""
    return next((e for e in wing.edges if e.kind == kind), None)


def _edge_face(ground: Ground, kind: str) -> Array:
    """Where the inner face of an edge is, m."""
    plan, stick, span = ground.wing.planform, _stick(ground.wing, kind), ground.span
    assert plan is not None, "edges belong to a wing with a planform"
    chord, start = plan.chord.at(span), plan.leading_edge_x.at(span)
    width = stick.width if stick is not None else RIB_END * chord
    return start + width if kind == "leading" else start + chord - width


def _edge_geometry(ground: Ground, kind: str, covered: list[_Lying]) -> NetLine:
    """Where ribs end at the leading or trailing edge: the outline, less what sheeting lies on the rib
    there."""
    wing, y = ground.wing, ground.y
    stick, face = _stick(wing, kind), _edge_face(ground, kind)
    meets = face
    if stick is None:
        top, bottom = _contour(wing, y, face)
    else:
        meets, top, bottom = where_skin_meets(wing, stick, y)
    lie, _ = _lying(covered, face)
    top, bottom = _not_thin(top - lie[0], bottom + lie[1])
    none = np.full(len(y), -1, dtype=np.intp)
    # Where the stick is lower than the outline, ribs end in a step and not in a slope.
    upper, lower = _contour(wing, y, face)
    ends = np.stack(_not_thin(upper - lie[0], lower + lie[1]))
    on = np.ones(len(y), dtype=bool)
    return NetLine(meets, meets, top, bottom, -1, none, none, on, face, np.stack([ends, ends]))


def _not_thin(top: Array, bottom: Array) -> tuple[Array, Array]:
    """Heights of a rib's edges at an edge of the wing, at least a millimetre apart."""
    thin = np.maximum(1e-3 - (top - bottom), 0) / 2
    return top + thin, bottom - thin


def _edge_line(
    ground: Ground, kind: str, shape: NetLine, there: NDArray[np.bool_], covered: list[_Lying]
) -> NetLine:
    """The geometry of an edge with its nodes."""
    stick, face = _stick(ground.wing, kind), _edge_face(ground, kind)
    need = there.copy()
    for one in covered:
        need |= one.at & (one.x_from <= face) & (one.x_to >= face)
    if stick is not None and ground.wing.flies:
        need |= ground.span < 1e-9  # where no rib stands there, the stick runs on to its mirror image
    x, z = shape.x_ahead, (shape.top + shape.bottom) / 2
    if stick is not None:
        x, z = stick_centroids(ground.wing, stick, ground.y)
    nodes = ground.nodes(x, z, need)
    return replace(shape, upper=nodes, lower=nodes)


def _between(
    ground: Ground,
    ahead: NetLine,
    behind: NetLine,
    there: NDArray[np.bool_],
    covered: list[_Lying],
    pieces: int,
) -> list[NetLine]:
    """Lines between two anchors, and where a sheet ends in between."""
    # Closer beside spars and edges, where ribs turn into their ends and a nose is most curved.
    shares = list((1 - np.cos(np.pi * np.arange(1, pieces) / pieces)) / 2)
    x_a, x_b, beside = _lines_between(ground, ahead, behind, shares[0] if shares else 0.0)
    for one in covered:
        for edge in (one.x_from, one.x_to) if one.at.any() else ():
            share = float(np.nanmean(((edge - x_a) / (x_b - x_a))[one.at]))
            least, most = (float(np.nanmean((wide / (x_b - x_a))[one.at])) for wide in beside)
            if max(0.02, 1.01 * least) < share < 1 - max(0.02, 1.01 * most):
                shares = [s for s in shares if abs(s - share) > 0.4 / pieces] + [share]
    shares = sorted(shares)
    part = np.array(shares)[:, None]
    places = x_a + part * (x_b - x_a)
    tops = ahead.top + part * (behind.top - ahead.top)
    bottoms = ahead.bottom + part * (behind.bottom - ahead.bottom)
    flies = ground.wing.planform is not None
    if flies:
        first = x_a if ahead.stick_face is None else ahead.x_behind
        last = x_b if behind.stick_face is None else behind.x_ahead
        tops, bottoms = _mean_facets(ground.wing, ground.y, np.concatenate([[first], places, [last]]))
    out = []
    for x, top, bottom in zip(places, tops, bottoms):
        lie, under = _lying(covered, x)
        need = there | under
        if flies:
            top, bottom = top - lie[0], bottom + lie[1]
        upper, lower = (
            ground.nodes(x, z, need[c] & np.isfinite(x) & np.isfinite(z)) for c, z in ((0, top), (1, bottom))
        )
        out.append(NetLine(x, x, top, bottom, -1, upper, lower, np.zeros(len(x), dtype=bool)))
    return out


def _lines_between(
    ground: Ground, ahead: NetLine, behind: NetLine, first: float
) -> tuple[Array, Array, tuple[Array, Array]]:
    """From where to where lines between two anchors are laid out, and the room of webs at both ends, m.

    Where the rib is: skin may go on over an edge stick. From cap to cap, whatever webs are glued to them, so
    that the net does not move with the webs; but from web to web where the `first` line might come to lie
    within a web of half a cap's width, the thickest that a cap carries on its face, or within a brace or a
    bench's web that is thicker. A facet beside that is left.
    """
    ends, room, clearance = [], [], []
    span, none = ground.span, np.zeros(len(ground.y))
    for line, way, face in ((ahead, 1, ahead.x_behind), (behind, -1, behind.x_ahead)):
        sheet = none
        if line.stick_face is not None:
            ends.append((line.stick_face, line.stick_face))
        elif line.spar < 0:
            ends.append((face, face))
        else:
            spar = ground.wing.spars[line.spar]
            half = np.where(line.on_member, spar.aslant.at(span) * spar.upper.width.at(span) / 2, 0.0)
            bare = spar.x.at(span) + way * half
            ends.append((np.where(line.on_member, bare, face), face))
            thick = [one.thickness for one in ground.wing.braces if one.spar == spar.name]
            thick += [one.thickness for one in spar.webs if ground.wing.clamped]
            widest = spar.aslant.at(span) * max(thick, default=0.0)
            sheet = np.where(line.on_member, np.maximum(half, widest), 0.0)
            clearance.append(sheet + half / 2)
        room.append(sheet)
    gap = ends[1][0] - ends[0][0]
    if all((first * gap > near)[np.isfinite(gap)].all() for near in clearance):
        return ends[0][0], ends[1][0], (room[0], room[1])
    return ends[0][1], ends[1][1], (none, none)


def _mean_facets(wing: Wing, y: Array, x: Array) -> tuple[Array, Array]:
    """Heights of lines between two anchors for which the facets between them follow the outline in the mean.

    Facets with corners on a curved outline lie inside it: too little is enclosed, and skin too low. These
    are the broken line nearest to the outline in the mean square (its projection on hat functions, two points
    to a facet), held to it at the anchors.

    Parameters
    ----------
    wing : Wing
        With a planform.
    y : (n_stations,) float array
        m.
    x : (n_lines + 2, n_stations) float array
        The anchor ahead, the lines, and the anchor behind, m.

    Returns
    -------
    upper, lower : (n_lines, n_stations) float arrays
        m.
    """
    n, lengths = len(x) - 2, np.diff(x, axis=0)
    if not n:
        return np.zeros((0, len(y))), np.zeros((0, len(y)))
    behind = (1 + np.array([-1, 1]) / np.sqrt(3)) / 2
    points = x[:-1, None] + lengths[:, None] * behind[:, None]  # (facet, point, station)
    at = np.concatenate([x[[0, -1]], points.reshape(-1, len(y))])
    masses = np.zeros((len(y), n, n))
    inner = np.arange(n)
    masses[:, inner, inner] = (lengths[:-1] + lengths[1:]).T / 3
    masses[:, inner[1:], inner[:-1]] = masses[:, inner[:-1], inner[1:]] = lengths[1:-1].T / 6
    found = []
    for surface in _contour(wing, np.tile(y, len(at)), at.ravel()):
        z = surface.reshape(len(at), -1)
        ends, between = z[:2], z[2:].reshape(points.shape) * (lengths / 2)[:, None]
        before, after = ((1 - behind)[:, None] * between).sum(axis=1), (behind[:, None] * between).sum(axis=1)
        right = after[:-1] + before[1:]
        right[0] -= lengths[0] / 6 * ends[0]
        right[-1] -= lengths[-1] / 6 * ends[1]
        found.append(np.linalg.solve(masses, right.T[:, :, None])[:, :, 0].T)
    return found[0], found[1]


@dataclass(frozen=True, eq=False)
class RibBlocks:
    """Blocks of the ribs, sheeting, edges and cap strips; None where there is nothing of the kind."""

    posts: Beams | None
    post_elements: PostElements
    panels: Membranes | None
    panel_plates: Plates | None
    sheeting: Membranes | None
    sheeting_plates: Plates | None
    sheet_elements: SheetElements
    cap_strips: Bars | None
    edges: Beams | None
    edge_elements: EdgeElements | None
    chordlines: tuple[Chordline, ...]


def build_ribs(
    ground: Ground,
    mesh: SparMesh,
    ribs: list[RibAt],
    net: Net,
    spars: SparBlocks,
    *,
    rigid_joints: bool = False,
) -> RibBlocks:
    """Posts, panels, sheeting, cap strips and edges.

    Parameters
    ----------
    ground : Ground
        Takes the parts.
    mesh, ribs
        As for `lay_net`.
    net : Net
        From `lay_net`.
    spars : SparBlocks
        What laps on caps gives, and how their bow is felt.
    rigid_joints : bool
        Leave out the rocking of the posts' feet on the caps.
    """
    posts, post_elements = _posts(ground, mesh, ribs, net, rigid_joints)
    panels, plates = _panels(ground, net, ribs, rigid_joints)
    edges, edge_elements = _edges(ground, net)
    bow = {line: spars.cap_bow[line.spar] for line in net.lines if line.spar >= 0}
    bow |= _edge_bow(ground.draft, net, edges)
    sheeting, sheet_plates, sheet_elements = _sheeting(ground, net, spars.skin_give, bow)
    return RibBlocks(
        posts,
        post_elements,
        panels,
        plates,
        sheeting,
        sheet_plates,
        sheet_elements,
        _cap_strips(ground, net, ribs),
        edges,
        edge_elements,
        tuple(Chordline((line.x_ahead + line.x_behind) / 2, line.upper, line.lower) for line in net.lines),
    )


@lru_cache(maxsize=64)
def _upright_figures(material: Material, grain: float) -> tuple[float, float, float, float, float, float]:
    """Of a rib's sheet with its grain turned from the chord: E along the chord and upright in bending, G
    in its plane and through its thickness with the chord and with the upright, Pa; Poisson's ratio."""
    at = turned(material.in_bending(), grain)
    through_chord = sheet_moduli(material, grain)[2]
    through_up = sheet_moduli(material, np.pi / 2 - grain)[2]
    figures = (at.E_x, at.E_y, at.G_xy, through_chord, through_up, at.nu_xy)
    e_x, e_z, g, g_x, g_z, nu = (float(v) for v in figures)
    return e_x, e_z, g, g_x, g_z, nu


def _with_ribs(
    wing: Wing, net: Net, mesh: SparMesh, s: int, ribs: list[RibAt], wide: Array, upright: Array
) -> tuple[Array, Ints]:
    """Bending stiffness of posts (n,) at a spar and the width of rib that bends with them, over that of the
    posts alone; on how many sides the ribs go on. `wide` m, and `upright` (n, 3) as of `sheet_moduli`, of the
    posts."""
    j, y = np.array([r.station for r in ribs]), np.array([abs(r.rib.y) for r in ribs])
    height = np.abs(mesh.outer[s][:, j] - mesh.inner[s][:, j])
    clear = mesh.inner[s, 0, j] - mesh.inner[s, 1, j]
    figures = np.array([_upright_figures(r.rib.material, r.rib.grain) for r in ribs]).T
    thickness = np.array([r.rib.thickness for r in ribs])
    beside = width_beside_caps(clear, height.sum(axis=0) / 2, thickness, *figures)
    last = len(net.lines) - 1
    anchors = [line for k, line in enumerate(net.lines) if line.spar >= 0 or k in (0, last)]
    at = next(k for k, line in enumerate(anchors) if line.spar == s)
    inner = np.array([r.rib.panel == "between spars" for r in ribs])
    none = np.array([r.rib.panel == "none" for r in ribs])
    total, sides = np.zeros(len(ribs)), np.zeros(len(ribs), dtype=np.intp)
    for way in (-1, 1):
        if not 0 <= at + way < len(anchors):
            continue
        anchor = anchors[at + way]
        on = ~none & ~(inner & (anchor.spar < 0))
        gap = np.abs(_face(wing, anchor, j, y, -way) - _face(wing, anchors[at], j, y, way))
        # The rib may end sooner, at an edge; of what lies between two spars half belongs to each.
        total += np.where(on, np.minimum(beside, gap * (0.5 if anchor.spar >= 0 else 1.0)), 0.0)
        sides += on
    young, _, across = upright.T
    post = bent_upright(young, across, [r.rib.post_thickness for r in ribs], clear) * wide
    with_rib = total * bent_upright(figures[1], figures[4], thickness, clear) / post
    return np.where(none, 1.0, 1.0 + with_rib), sides


def _face(wing: Wing, line: NetLine, j: Ints, y: Array, way: int) -> Array:
    """Front (way -1) or rear (1) face of a spar's caps without webs, or where ribs end at an edge, at
    stations (n,) y from the centre line, m."""
    if line.spar < 0:
        assert line.stick_face is not None, "a line without a spar that ends a rib is an edge"
        return line.stick_face[j]
    spar = wing.spars[line.spar]
    half = np.maximum(spar.upper.width.at(y), spar.lower.width.at(y)) / 2
    return spar.x.at(y) + way * spar.aslant.at(y) * half


def _posts(
    ground: Ground, mesh: SparMesh, ribs: list[RibAt], net: Net, rigid_joints: bool
) -> tuple[Beams | None, PostElements]:
    wing, draft = ground.wing, ground.draft
    thick = np.array([r.rib.post_thickness for r in ribs])
    at_rib = np.array([r.station for r in ribs], dtype=np.intp)
    there = (mesh.cap_nodes[:, 0, at_rib] >= 0).T & (thick[:, None] > 0)
    rib_of, spar_of = np.nonzero(there)
    n = len(rib_of)
    if not n:
        none, nothing = np.zeros(0, dtype=np.intp), np.zeros(0)
        return None, PostElements(none, none, nothing, nothing, nothing, (), nothing, nothing)
    rows = [ribs[k] for k in rib_of]
    station, thickness = at_rib[rib_of], thick[rib_of]
    shares = np.array([r.share for r in rows])
    width, with_rib = np.zeros(n), np.ones(n)
    sides = np.zeros(n, dtype=np.intp)
    feet = np.zeros((n, 2, 4))
    # The post stands upright, so the angle from its axis to the grain is the rest to a right angle.
    figures = np.array([sheet_moduli(r.rib.post_material, np.pi / 2 - r.rib.post_grain) for r in rows])
    for s, spar in enumerate(wing.spars):
        mine = np.flatnonzero(spar_of == s)
        if not len(mine):
            continue
        of_spar = [rows[k] for k in mine]
        span = np.array([abs(r.rib.y) for r in of_spar])
        width[mine] = spar.aslant.at(span) * np.minimum(spar.upper.width.at(span), spar.lower.width.at(span))
        with_rib[mine], sides[mine] = _with_ribs(wing, net, mesh, s, of_spar, width[mine], figures[mine])
        for c, cap in enumerate((spar.upper, spar.lower)):
            stick = cap.layers[-1].material.stick()
            feet[mine, c] = (stick.E, stick.E_up, stick.G_up, stick.nu_L_up)
    nodes = np.stack([mesh.cap_nodes[spar_of, 0, station], mesh.cap_nodes[spar_of, 1, station]], axis=1)
    at = draft.positions()[nodes]
    offsets = np.zeros((n, 2, 3))
    offsets[:, 0, 2] = mesh.inner[spar_of, 0, station] - at[:, 0, 2]
    offsets[:, 1, 2] = mesh.inner[spar_of, 1, station] - at[:, 1, 2]
    young, in_plane, across = figures.T
    area = width * thickness * shares
    bending_z = young * area * width**2 / 12
    sections = Sections(
        axial=young * area,
        bending_y=young * area * thickness**2 / 12 * with_rib,
        bending_z=bending_z,
        torsion=rectangle_torsion(width, thickness, in_plane, across) * shares,
        shear_y=np.where(sides == 2, 1.0, 5 / 6) * in_plane * area,
        shear_z=5 / 6 * across * area * with_rib,
        s_bending_z=bending_z * _HELD_S[sides],
    )
    give = np.zeros((n, 2, 6, 6))
    for c in (0, 1):
        along, upward, shear, ratio = feet[:, c].T
        rocking = foot_rotation_flexibility(along, upward, shear, ratio, thickness, width)
        # The rib beside the post is held by the same wood of the cap, so a wider foot gives less.
        rocking = rocking / (shares * with_rib)
        if not rigid_joints:
            give[:, c, 4, 4] = rocking
    half = [
        "" if wing.clamped or r.rib.y < 1e-9 else ("starboard" if at[k, 0, 1] > 0 else "port")
        for k, r in enumerate(rows)
    ]
    number = {rib.y: wing.rib_number(rib.y) for rib in wing.ribs}
    part = [
        Part("post", wing.spars[s].name, "", None, side, r.rib.y, number[r.rib.y])
        for r, s, side in zip(rows, spar_of.tolist(), half)
    ]
    density = np.array([r.rib.post_material.density for r in rows])
    # Local z along the span, so that bending_y is bending in the spar's plane.
    up = np.tile([0.0, 1.0, 0.0], (n, 1))
    beams = Beams(
        nodes,
        sections,
        up,
        offsets,
        end_flexibility=give,
        mass_per_length=density * area,
        polar_inertia=density * area * (width**2 + thickness**2) / 12,
        part=np.array([draft.part(p) for p in part], dtype=np.intp),
    )
    length = mesh.inner[spar_of, 0, station] - mesh.inner[spar_of, 1, station]
    return beams, PostElements(
        spar_of,
        station,
        thickness,
        width,
        length,
        tuple(r.rib.post_material for r in rows),
        give[:, 0, 4, 4],
        with_rib,
    )


def _drilling(nodes: Ints, interior: set[int]) -> Array:
    inside = np.zeros(int(nodes.max()) + 1, dtype=bool)
    known = np.fromiter(interior, dtype=np.intp, count=len(interior))
    inside[known[known < len(inside)]] = True
    return np.where(inside[nodes], _DRILLING, 0.0)


def _rib_feet(wing: Wing, lines: list[NetLine], thickness: Array) -> Array:
    """Rotation of ribs' ends (n,) on the faces of caps per unit bending moment a unit depth, (n, n_lines),
    rad/N; nought where a line is no spar."""
    out = np.zeros((len(thickness), len(lines)))
    for k, line in enumerate(lines):
        if line.spar >= 0:
            stick = wing.spars[line.spar].upper.layers[-1].material.stick()
            e, e_aft, g, nu = (np.array([v]) for v in (stick.E, stick.E_aft, stick.G_aft, stick.nu_L_aft))
            out[:, k] = foot_rotation_flexibility(e, e_aft, g, nu, thickness, np.array([1.0]))
    return out


def _rocking(bent: Array, grain: Array, thickness: Array, reach: Array, feet: Array) -> Array:
    """Bending moduli of ribs' panels whose ends rock on the spars: the feet's give spread over the panel's
    length.

    Parameters
    ----------
    bent : (n, 3, 3) float array
        Moduli in grain axes, Pa.
    grain, thickness, reach : (n,) float array
        Angle from the chord (rad), thickness and length along the chord of each panel, m.
    feet : (n,) float array
        Rotation of the panel's feet on the spars together per unit moment a unit depth, rad/N.
    """
    turn, back = rotation_matrix(grain), rotation_matrix(-grain)
    compliance = np.linalg.inv(np.swapaxes(turn, 1, 2) @ bent @ turn)
    compliance[:, 0, 0] += feet * thickness**3 / (12 * reach)
    return np.asarray(np.swapaxes(back, 1, 2) @ np.linalg.inv(compliance) @ back)


def _panels(
    ground: Ground, net: Net, ribs: list[RibAt], rigid_joints: bool
) -> tuple[Membranes | None, Plates | None]:
    wing, y, lines = ground.wing, ground.y, net.lines
    if len(lines) < 2 or not ribs:
        return None, None
    station = np.array([r.station for r in ribs])
    lower, upper = (np.stack([getattr(line, c)[station] for line in lines]) for c in ("lower", "upper"))
    every = np.stack([lower[:-1], lower[1:], upper[1:], upper[:-1]], axis=-1)  # (n_gaps, n_ribs, 4)
    reach_of = np.array([r.rib.panel for r in ribs])
    spars = [k for k, line in enumerate(lines) if line.spar >= 0]
    gap = np.arange(len(lines) - 1)
    between = (gap >= spars[0]) & (gap < spars[-1])
    there = (every >= 0).all(axis=2) & (reach_of != "none")
    there &= between[:, None] | (reach_of != "between spars")
    rib_of, ahead = np.nonzero(there.T)
    if not len(rib_of):
        return None, None
    j, behind = station[rib_of], ahead + 1
    front = np.stack([a.x_behind if a.stick_face is None else a.stick_face for a in lines])[ahead, j]
    rear = np.stack([b.x_ahead if b.stick_face is None else b.stick_face for b in lines])[behind, j]
    begins = np.stack([line.rib_end(True) for line in lines])[ahead, :, j]
    ends = np.stack([line.rib_end(False) for line in lines])[behind, :, j]
    x = np.stack([front, rear, rear, front], axis=1)
    z = np.stack([begins[:, 1], ends[:, 1], ends[:, 0], begins[:, 0]], axis=1)
    of = [ribs[k].rib for k in rib_of]
    thick = np.array([r.rib.thickness for r in ribs])
    share_of, grain = np.array([r.share for r in ribs])[rib_of], np.array([rib.grain for rib in of])
    feet = np.zeros((len(ribs), len(lines))) if rigid_joints else _rib_feet(wing, lines, thick)
    even = np.where(_sheeted(ground, net)[ahead, j], 1.0, _FREE_EDGES)
    full = thick[rib_of]
    bent = _rocking(
        np.stack([plane_moduli(rib.material, True) for rib in of]),
        grain,
        full,
        rear - front,
        feet[rib_of, ahead] + feet[rib_of, behind],
    )
    give = None
    if not rigid_joints:
        # Movement per force over thickness, as the panel's own stiffness goes with its thickness.
        pressed = np.array([_pressed(wing, net, line, ribs) for line in lines])
        give = np.zeros((len(of), 4, 4))
        give[:, [0, 3], :2] = pressed[ahead, 1, rib_of]
        give[:, [1, 2], 2:] = pressed[behind, 0, rib_of]
    kept, back = np.unique(rib_of, return_inverse=True)
    number = [
        ground.draft.part(Part("rib", station=float(y[ribs[k].station]), rib=wing.rib_number(ribs[k].rib.y)))
        for k in kept.tolist()
    ]
    panels = SheetPanels(
        every[ahead, rib_of],
        np.stack([x, np.repeat(y[j][:, None], 4, axis=1), z], axis=2),
        full * share_of,
        softened(np.stack([plane_moduli(rib.material, False) for rib in of]), grain, even),
        # Half a rib on the plane of symmetry has half the bending stiffness, not an eighth.
        bent / (share_of**2)[:, None, None],
        np.stack([np.cos(grain), np.zeros(len(of)), np.sin(grain)], axis=1),
        np.array([rib.material.density for rib in of]),
        np.array(number)[back],
        give=give,
    )
    return sheet_blocks(ground.draft, panels, net.interior)


def _sheeted(ground: Ground, net: Net) -> NDArray[np.bool_]:
    """Stations at which sheeting of either surface lies beside a rib and hands shear to its edge, for every
    two neighbouring lines, (n_lines - 1, n_stations)."""
    out = np.zeros((len(net.lines) - 1, len(ground.y) + 1), dtype=bool)  # nothing beyond the ends
    for sheet in ground.wing.sheets:
        here = ground.lies(sheet.bays)
        for k, (a, b) in enumerate(pairwise(net.lines)):
            out[k, 1:-1] |= here & reaches(ground, sheet, a, b)
    return out[:, :-1] | out[:, 1:]


def _pressed(wing: Wing, net: Net, line: NetLine, ribs: list[RibAt]) -> Array:
    """What ends of ribs' panels ahead of a line and behind it give where they press on the sides of caps and
    edge sticks, for `Membranes.give`.

    Between the caps' own pieces of rib nothing else holds it there: bent up and down behind the spar, a rib
    pushes one cap and pulls the other across the grain. Sheeting that lies on the rib and laps over on the
    cap or stick is left out, for across its grain it is soft.

    Returns
    -------
    (2, n_ribs, 2, 2) float array
        Ahead and behind; lower and upper corner by moving and turning of the foot, square roots of m2/N.
    """
    out = np.zeros((2, len(ribs), 2, 2))
    z, height, stiff = _touched(wing, net, line, ribs)
    whole = stiff.sum(axis=0)
    on = np.flatnonzero(whole > 0)
    z, height, stiff, whole = z[:, on], height[:, on], stiff[:, on], whole[on]
    thickness = np.array([r.rib.thickness for r in ribs])[on]
    station = [ribs[k].station for k in on]
    middle = (stiff * z).sum(axis=0) / whole
    turning = (stiff * ((z - middle) ** 2 + height**2 / 12)).sum(axis=0)
    for behind in (0, 1):
        out[behind, on, :, 0] = np.sqrt(thickness / whole)[:, None]
        ends = line.rib_end(bool(behind))[::-1, station]
        out[behind, on, :, 1] = ((ends - middle) * np.sqrt(thickness / turning)).T
    return out


def _touched(wing: Wing, net: Net, line: NetLine, ribs: list[RibAt]) -> tuple[Array, Array, Array]:
    """Middle (m), height (m) and stiffness against pressing (N/m) of pieces of wood on whose side ribs end,
    (n_pieces, n_ribs) each: layers of caps over their own heights, an edge stick over the rib's. Nought where
    there is none."""
    j, span = np.array([r.station for r in ribs]), np.array([abs(r.rib.y) for r in ribs])
    pieces: list[tuple[Array, Array, Array]] = []
    thickness = [r.rib.thickness for r in ribs]
    if line.spar >= 0:
        spar = wing.spars[line.spar]
        for cap, face, sign in ((spar.upper, line.top, -1.0), (spar.lower, line.bottom, 1.0)):
            z, width = face[j], cap.width.at(span).tolist()
            for layer in cap.layers:
                height = layer.height.at(span)
                give = np.array([_press(layer.material, t, w) for t, w in zip(thickness, width)])
                pieces.append((z + sign * height / 2, height, height / give))
                z = z + sign * height
    elif line in (net.lines[0], net.lines[-1]):
        kind = "leading" if line is net.lines[0] else "trailing"
        stick = _stick(wing, kind)
        if stick is not None:
            top, bottom = line.rib_end(kind == "leading")
            top, bottom = np.minimum(top, line.top)[j], np.maximum(bottom, line.bottom)[j]
            height = top - bottom
            give = np.array([_press(stick.material, t, stick.width) for t in thickness])
            pieces.append(((top + bottom) / 2, height, height / give))
    if not pieces:
        return (np.zeros((0, len(ribs))),) * 3
    on = line.on_member[j]
    z, height, stiff = (np.where(on, np.stack(one), 0.0) for one in zip(*pieces))
    return z, height, stiff


@lru_cache(maxsize=4096)
def _press(material: Material, thickness: float, depth: float) -> float:
    """How far a rib's end goes into the side of a stick per force a unit height, m2/N."""
    stick = material.stick()
    return foot_press_flexibility(
        float(stick.E), float(stick.E_aft), float(stick.G_aft), float(stick.nu_L_aft), thickness, depth
    )


@dataclass(frozen=True, eq=False)
class SheetPanels:
    """Flat panels of sheet of four nodes, that stretch and bend.

    Parameters
    ----------
    nodes, corners : (n, 4) int and (n, 4, 3) float array
        What carries each corner, and where that is, m; round one way.
    thickness : (n,) float array
        m.
    plane, bent : (n, 3, 3) float array
        Moduli in grain axes, stretched and bent, Pa.
    fibre : (n, 3) float array
        Direction of the grain.
    density : (n,) float array
        kg/m3.
    part : (n,) int array
        Numbers of parts.
    straight : (n, 4) bool array or None
        Edges that slope as their chord does; None for none.
    felt : (n, 4, 2) float array or None
        Share of the bow of the edge's stick, or of the cap there, that each corner feels; None for none.
    give : (n, 4, 4) float array or None
        Of the panels' edges; None for none.
    """

    nodes: Ints
    corners: Array
    thickness: Array
    plane: Array
    bent: Array
    fibre: Array
    density: Array
    part: Ints
    straight: NDArray[np.bool_] | None = None
    felt: Array | None = None
    give: Array | None = None


def sheet_blocks(draft: Draft, panels: SheetPanels, interior: set[int]) -> tuple[Membranes, Plates]:
    """Panels as membranes and as plates; no cap holds the `interior` nodes from turning."""
    at, positions = panels.nodes, draft.positions()
    offsets = panels.corners - positions[at]
    membranes = Membranes(
        at,
        panels.thickness,
        panels.plane,
        panels.fibre,
        offsets,
        drilling=_drilling(at, interior),
        density=panels.density,
        bow=None if panels.felt is None else bow_beside(positions[at], offsets, (3, 2, 1, 0), panels.felt),
        part=panels.part,
        give=panels.give,
    )
    plates = Plates(
        at, panels.thickness, panels.bent, panels.fibre, offsets, straight=panels.straight, part=panels.part
    )
    return membranes, plates


def _edge_bow(draft: Draft, net: Net, edges: Beams | None) -> dict[NetLine, Array]:
    """Shares of the edge sticks' bow that sheeting beside them feels, as of the caps, (2, n_spans, 2) a line;
    nought where a stick reaches over several spans."""
    if edges is None:
        return {}
    felt = bow_felt(edges.sections, draft.positions()[edges.nodes])
    number = {(int(i), int(k)): e for e, (i, k) in enumerate(edges.nodes)}
    out = {}
    for line in (net.lines[0], net.lines[-1]):
        if line.spar < 0:
            of = np.array([number.get((int(i), int(k)), -1) for i, k in zip(line.upper, line.upper[1:])])
            out[line] = np.stack([np.where(of[:, None] >= 0, felt[of], 0.0)] * 2)
    return out


def _sheeting(
    ground: Ground, net: Net, skin_give: Array, bow: dict[NetLine, Array]
) -> tuple[Membranes | None, Plates | None, SheetElements]:
    strips = [
        (k, spans, _strip(ground, sheet, (a, b), spans, skin_give, bow))
        for k, sheet in enumerate(ground.wing.sheets)
        for a, b in pairwise(net.lines)
        if len(spans := _spans_of(ground, sheet, a, b))
    ]
    if not strips:
        return None, None, SheetElements(np.zeros(0, dtype=np.intp), np.zeros(0, dtype=np.intp), np.zeros(0))
    columns = [column.name for column in fields(SheetPanels) if column.name != "give"]
    panels = SheetPanels(
        **{name: np.concatenate([getattr(strip, name) for _, _, strip in strips]) for name in columns}
    )
    membranes, plates = sheet_blocks(ground.draft, panels, net.interior)
    of = np.concatenate([np.full(len(spans), k) for k, spans, _ in strips])
    on = np.concatenate([spans for _, spans, _ in strips])
    return replace(membranes, slopes=True), plates, SheetElements(of, on, panels.thickness)


def _spans_of(ground: Ground, sheet: Sheet, a: NetLine, b: NetLine) -> Ints:
    """Spans on which a sheet lies between two neighbouring lines of the net."""
    return np.flatnonzero(ground.lies(sheet.bays) & reaches(ground, sheet, a, b) & laid_under(sheet, a, b))


def laid_under(sheet: Sheet | Covering, a: NetLine, b: NetLine) -> NDArray[np.bool_]:
    """Spans between two lines of the net that have their nodes under a sheet or film, (n_spans,)."""
    rows = [line.upper if sheet.surface == "upper" else line.lower for line in (a, b)]
    return np.asarray(np.min([(row[:-1], row[1:]) for row in rows], axis=(0, 1)) >= 0)


def _strip(
    ground: Ground,
    sheet: Sheet,
    between: tuple[NetLine, NetLine],
    i: Ints,
    skin_give: Array,
    bow: dict[NetLine, Array],
) -> SheetPanels:
    """Panels of one sheet between two neighbouring lines of the net, one for each of the spans i."""
    a, b = between
    upper = sheet.surface == "upper"
    x_a, x_b = a.x_behind, b.x_ahead
    n = len(i)
    nodes, corners = panels_between(a, b, upper, sheet.thickness / 2, ground.y, i)
    c = 0 if upper else 1
    give = sum(
        (skin_give[line.spar, c, i, edge] for line, edge in ((a, 1), (b, 0)) if line.spar >= 0), np.zeros(n)
    )
    reach = (x_b[i] + x_b[i + 1] - x_a[i] - x_a[i + 1]) / 2
    give = give * sheet_moduli(sheet.material, sheet.grain)[1] * sheet.thickness
    plain = np.broadcast_to(plane_moduli(sheet.material, False), (n, 3, 3))
    # In the panels' own sense, from fore to the next station: a grain towards aft turns the other way.
    outboard = np.where(corners[:, :, 1].sum(axis=1) >= 0, 1.0, -1.0)
    plane = softened(plain, -outboard * sheet.grain, reach / (reach + give)) if give.any() else plain
    fibre = sheet_fibre(corners, sheet.grain)
    part = [ground.part("sheeting", "", sheet.surface, e) for e in i]
    bent = np.broadcast_to(plane_moduli(sheet.material, True), (n, 3, 3))
    # Beside the axis of a member that twists, a panel's edge slopes as its chord does and not as the section
    # turns.
    straight = np.zeros((n, 4), dtype=bool)
    straight[:, 1] = b.on_member[i] & b.on_member[i + 1]
    straight[:, 3] = a.on_member[i] & a.on_member[i + 1]
    felt = np.zeros((n, 4, 2))
    for line, both in ((a, (0, 3)), (b, (1, 2))):
        if line in bow:
            felt[:, both] = bow[line][c, i][:, None]
    return SheetPanels(
        nodes,
        corners,
        np.full(n, sheet.thickness),
        plane,
        bent,
        fibre,
        np.full(n, sheet.material.density),
        np.array(part, dtype=np.intp),
        straight,
        felt,
    )


def reaches(ground: Ground, sheet: Sheet | Covering, a: NetLine, b: NetLine) -> NDArray[np.bool_]:
    """Spans on which a sheet or film reaches between two neighbouring lines of the net, a ahead of b,
    whatever its bays, (n_spans,).

    At both ends: where a web ends, a panel beside it may lean by as much as it is wide.

    Parameters
    ----------
    ground : Ground
        The mesh.
    sheet : Sheet or Covering
        What lies there.
    a, b : NetLine
        Ahead and behind.
    """
    ends, middle = ground.ends, (a.x_behind + b.x_ahead) / 2
    middle = np.stack([middle[:-1], middle[1:]], axis=1)
    within = (sheet.x_from.at(ends) < middle) & (middle < sheet.x_to.at(ends))
    return np.asarray(within.all(axis=1))


def panels_between(
    a: NetLine, b: NetLine, upper: bool, out: float, y: Array, spans: Ints
) -> tuple[Ints, Array]:
    """Nodes and corners of panels between two neighbouring lines of the net.

    Parameters
    ----------
    a, b : NetLine
        Ahead and behind.
    upper : bool
        On the upper contour.
    out : float
        How far the panels lie outside it, m.
    y : (n_stations,) float array
        m.
    spans : (n,) int array
        One panel each.

    Returns
    -------
    nodes : (n, 4) int array
        Fore and aft at one station, aft and fore at the next.
    corners : (n, 4, 3) float array
        m.
    """
    round_it = ((a, a.x_behind, 0), (b, b.x_ahead, 0), (b, b.x_ahead, 1), (a, a.x_behind, 1))
    nodes = [(line.upper if upper else line.lower)[spans + next_] for line, _, next_ in round_it]
    corners = [
        np.stack([x[e], y[e], line.top[e] + out if upper else line.bottom[e] - out], axis=1)
        for line, x, e in ((line, x, spans + next_) for line, x, next_ in round_it)
    ]
    return np.stack(nodes, axis=1), np.stack(corners, axis=1)


def sheet_fibre(corners: Array, grain: float) -> Array:
    """Direction of a sheet's grain in its panels, turned from the panel's own spanwise lines towards aft.

    A sheet is laid with its grain along the lines of the wing that it covers, which on a swept or
    tapered wing are not parallel to y; panels of one sheet fan out as those lines do.

    Parameters
    ----------
    corners : (n, 4, 3) float array
        Fore and aft corner at one station, aft and fore at the next, m.
    grain : float
        From the span towards aft, rad.

    Returns
    -------
    (n, 3) float array
        Unit vectors in the panels' mean planes.
    """
    along = corners[:, 3] - corners[:, 0] + corners[:, 2] - corners[:, 1]
    along *= np.where(corners[:, :, 1].sum(axis=1) >= 0, 1.0, -1.0)[:, None]  # outboard
    along /= np.linalg.norm(along, axis=1, keepdims=True)
    aft = corners[:, 1] - corners[:, 0] + corners[:, 2] - corners[:, 3]
    aft -= np.einsum("ei,ei->e", aft, along)[:, None] * along
    aft /= np.linalg.norm(aft, axis=1, keepdims=True)
    return np.asarray(np.cos(grain) * along + np.sin(grain) * aft)


def _cap_strips(ground: Ground, net: Net, ribs: list[RibAt]) -> Bars | None:
    draft, y = ground.draft, ground.y
    nodes, corners, rigidity, mass, part = [], [], [], [], []
    for j, rib, share in ribs:
        if rib.cap_strip_width <= 0 or rib.cap_strip_material is None or rib.panel == "none":
            continue
        area = rib.cap_strip_width * rib.cap_strip_thickness * share
        number = ground.wing.rib_number(rib.y)
        here = [
            draft.part(Part("cap strip", "", surface, station=float(y[j]), rib=number))
            for surface in ("upper", "lower")
        ]
        for a, b in zip(net.lines[:-1], net.lines[1:]):
            for c, lift in ((0, 0.5), (1, -0.5)):
                ids = [(line.upper if c == 0 else line.lower)[j] for line in (a, b)]
                if min(ids) < 0 or ids[0] == ids[1]:
                    continue
                z = [
                    (line.top if c == 0 else line.bottom)[j] + lift * rib.cap_strip_thickness
                    for line in (a, b)
                ]
                nodes.append(ids)
                corners.append([[a.x_behind[j], y[j], z[0]], [b.x_ahead[j], y[j], z[1]]])
                rigidity.append(rib.cap_strip_material.E_L * area)
                mass.append(rib.cap_strip_material.density * area)
                part.append(here[c])
    if not nodes:
        return None
    at = np.array(nodes, dtype=np.intp)
    return Bars(
        at,
        np.array(rigidity),
        np.array(corners) - draft.positions()[at],
        np.array(mass),
        np.array(part, dtype=np.intp),
    )


def _edges(ground: Ground, net: Net) -> tuple[Beams | None, EdgeElements | None]:
    blocks, y = [], ground.y
    for edge in ground.wing.edges:
        line = net.lines[0 if edge.kind == "leading" else -1]
        there = np.flatnonzero(line.upper >= 0)
        if line.spar >= 0 or len(there) < 2:
            continue
        i, k = there[:-1], there[1:]
        found = stick_sections(ground.wing, edge, (y[i] + y[k]) / 2)
        n, stick = len(i), edge.material.stick()
        part = [ground.part("edge", "", edge.kind, a) for a in i]
        density = edge.material.density
        blocks.append(
            {
                "nodes": np.stack([line.upper[i], line.upper[k]], axis=1),
                "axial": stick.E * found.area,
                "bending_y": stick.E * found.second_up,
                "bending_z": stick.E * found.second_aft,
                "torsion": found.torsion,
                "shear_y": 5 / 6 * stick.G_aft * found.area,
                "shear_z": 5 / 6 * stick.G_up * found.area,
                "mass": density * found.area,
                "polar": density * (found.second_up + found.second_aft),
                "part": np.array(part, dtype=np.intp),
                "area": found.area,
                "modulus_up": found.modulus_up,
                "modulus_aft": found.modulus_aft,
                "width": np.full(n, edge.width),
            }
        )
    if not blocks:
        return None, None
    row = {key: np.concatenate([block[key] for block in blocks]) for key in blocks[0]}
    sections = Sections(
        *(row[k] for k in ("axial", "bending_y", "bending_z", "torsion", "shear_y", "shear_z"))
    )
    up = np.tile([0.0, 0.0, 1.0], (len(row["axial"]), 1))
    beams = Beams(
        row["nodes"], sections, up, mass_per_length=row["mass"], polar_inertia=row["polar"], part=row["part"]
    )
    return beams, EdgeElements(*(row[k] for k in ("width", "area", "modulus_up", "modulus_aft")))
