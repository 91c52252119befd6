"""Engine rails: hardwood sticks from the engine over the leading edge to the spars, tied to the caps by ply
webs.

A rail runs between the caps of the spars it is tied to. At each of these a ply former stands between rail
and caps (two short posts), and between two spars a ply web fills the space above and below the rail.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np

from fea.arrays import Array, Ints
from fea.elements.beam import Beams, Sections
from fea.elements.membrane import Membranes
from fea.elements.plate import Plates
from models.section import rectangle_torsion
from models.structure.ground import Ground
from models.structure.model import Draft, Part
from models.structure.ribs import SheetPanels, sheet_blocks
from models.structure.spars import SparMesh, plane_moduli, sheet_moduli
from models.structure.stations import nearest
from models.wing.parts import Rail, Wing

_THIN = 1.5e-3
"""A gap between rail and cap below this carries no web: the rail is glued to the cap itself."""


_PIECES = 3
"""Elements of a rail between two crossings."""


class RailNodes(NamedTuple):
    """Nodes of a rail on one side, their x (m) and its mesh station."""

    nodes: Ints
    x: Array
    station: int


@dataclass(frozen=True, eq=False)
class RailBlocks:
    """Blocks of the rails, and of every rail built its nodes."""

    rails: Beams | None
    ties: Beams | None
    webs: Membranes | None
    web_plates: Plates | None
    carriers: tuple[RailNodes, ...]


def build_rails(ground: Ground, mesh: SparMesh) -> RailBlocks:
    """Rails, their ties to the caps and the ply webs between the spars."""
    wing, draft, y = ground.wing, ground.draft, ground.y
    stick_nodes, stick_rails, stick_part, shares = [], [], [], []
    ties: list[_Tie] = []
    panels: dict[str, list[Any]] = {
        k: [] for k in ("nodes", "corners", "thickness", "plane", "bent", "fibre", "density", "part")
    }
    carriers = []
    interior: set[int] = set()
    for rail in wing.rails:
        for sign in (1, -1) if ground.mirrored and rail.y > 1e-9 else (1,):
            j = nearest(y, sign * rail.y)
            share = 0.5 if not ground.mirrored and rail.y < 1e-9 and wing.flies else 1.0
            side = "" if rail.y < 1e-9 else ("starboard" if sign > 0 else "port")
            crossings = sorted(
                (float(mesh.x[s, j]), s)
                for s, spar in enumerate(wing.spars)
                if spar.name in rail.ties and mesh.cap_nodes[s, 0, j] >= 0
            )
            stops = sorted(
                {rail.x_front, rail.x_rear, *(x for x, _ in crossings if rail.x_front < x <= rail.x_rear)}
            )
            xs = [stops[0]]
            for a, b in itertools.pairwise(stops):
                xs += list(np.linspace(a, b, _PIECES + 1)[1:])
            x = np.array(xs)
            numbers = draft.add_nodes(np.stack([x, np.full(len(x), y[j]), np.full(len(x), rail.z)], axis=1))
            part = draft.part(Part("rail", "", rail.name, None, side))
            laid = _RailSide(
                rail, j, float(y[j]), share, draft.part(Part("rail tie", "", rail.name, None, side))
            )
            for a, b in itertools.pairwise(numbers):
                stick_nodes.append((a, b))
                stick_rails.append(rail)
                stick_part.append(part)
                shares.append(share)
            for x_s, s in crossings:
                at = int(numbers[np.argmin(np.abs(x - x_s))])
                for c in (0, 1):
                    ties.append(
                        _Tie(laid, s, c, int(mesh.cap_nodes[s, c, j]), at, float(mesh.inner[s, c, j]))
                    )
            for (x_a, s_a), (x_b, s_b) in itertools.pairwise(crossings):
                inside = np.flatnonzero((x >= x_a - 1e-9) & (x <= x_b + 1e-9))
                _web(laid, draft, mesh, (s_a, s_b), numbers[inside], x[inside], panels, interior)
            carriers.append(RailNodes(numbers, x, j))
    if not stick_nodes:
        return RailBlocks(None, None, None, None, ())
    width = np.array([r.width for r in stick_rails])
    height = np.array([r.height for r in stick_rails])
    beams = _stick_beams(
        np.array(stick_nodes),
        [r.material for r in stick_rails],
        width,
        height,
        np.array(shares),
        np.array(stick_part),
    )
    webs, plates = (None, None)
    if panels["nodes"]:
        ply = SheetPanels(**{name: np.array(rows) for name, rows in panels.items()})
        webs, plates = sheet_blocks(draft, ply, interior)
    return RailBlocks(beams, _tie_beams(draft, wing, ties), webs, plates, tuple(carriers))


def _stick_beams(
    nodes: Ints, materials: list, width: Array, height: Array, share: Array, part: Ints
) -> Beams:
    constants = [m.stick() for m in materials]
    e, g_up, g_aft = (np.array([getattr(c, f) for c in constants]) for f in ("E", "G_up", "G_aft"))
    area = width * height * share
    sections = Sections(
        e * area,
        e * area * height**2 / 12,
        e * area * width**2 / 12,
        rectangle_torsion(width, height, g_aft, g_up) * share,
        5 / 6 * g_aft * area,
        5 / 6 * g_up * area,
    )
    density = np.array([m.density for m in materials])
    return Beams(
        nodes,
        sections,
        np.tile([0.0, 0.0, 1.0], (len(nodes), 1)),
        mass_per_length=density * area,
        polar_inertia=density * area * (width**2 + height**2) / 12,
        part=part,
    )


class _RailSide(NamedTuple):
    """A rail on one side: its mesh station, y (m), the share that is modelled, the part of its ties."""

    rail: Rail
    station: int
    y: float
    share: float
    part: int


class _Tie(NamedTuple):
    """A post between a rail and a cap (0 upper, 1 lower): both nodes, height of the cap's inner face, m."""

    laid: _RailSide
    spar: int
    cap: int
    cap_node: int
    rail_node: int
    inner: float


def _tie_beams(draft: Draft, wing: Wing, rows: list[_Tie]) -> Beams:
    """Ply posts from the caps' inner faces to the rail, as long fore and aft as the cap is wide."""
    points = draft.positions()
    nodes = np.array([(row.cap_node, row.rail_node) for row in rows])
    offsets = np.zeros((len(rows), 2, 3))
    figures, thickness, width = np.zeros((len(rows), 3)), np.zeros(len(rows)), np.zeros(len(rows))
    for k, row in enumerate(rows):
        rail, inner = row.laid.rail, row.inner
        cap_z, rail_z = points[nodes[k], 2]
        face = rail_z + (1 if row.cap == 0 else -1) * rail.height / 2
        gap = (inner - face) if row.cap == 0 else (face - inner)
        offsets[k, 0, 2] = inner - cap_z
        offsets[k, 1, 2] = face - rail_z
        if gap < _THIN:  # rail against cap: a short stiff block between their axes
            offsets[k] = 0.0
        offsets[k, 1, 0] = points[nodes[k, 0], 0] - points[nodes[k, 1], 0]
        figures[k] = [float(v) for v in sheet_moduli(rail.tie_material, np.pi / 2 - rail.tie_grain)]
        thickness[k] = rail.tie_thickness * row.laid.share
        spar, at = wing.spars[row.spar], abs(float(points[nodes[k, 0], 1]))
        width[k] = float(spar.aslant.at(at) * spar.upper.width.at(at))
    young, in_plane, across = figures.T
    area = thickness * width
    sections = Sections(
        young * area,
        young * area * thickness**2 / 12,
        young * area * width**2 / 12,
        rectangle_torsion(width, thickness, in_plane, across),
        5 / 6 * in_plane * area,
        5 / 6 * across * area,
    )
    density = np.array([row.laid.rail.tie_material.density for row in rows])
    return Beams(
        nodes,
        sections,
        np.tile([0.0, 1.0, 0.0], (len(rows), 1)),
        offsets,
        mass_per_length=density * area,
        part=np.array([row.laid.part for row in rows], dtype=np.intp),
    )


def _web(
    laid: _RailSide,
    draft: Draft,
    mesh: SparMesh,
    spars: tuple[int, int],
    numbers: Ints,
    x: Array,
    panels: dict[str, list[Any]],
    interior: set[int],
) -> None:
    """Ply web between two spars above and below a rail, whose nodes and their x (m) are those in between."""
    rail, j, y, share = laid.rail, laid.station, laid.y, laid.share
    s_a, s_b = spars
    for c, sign in ((0, 1), (1, -1)):
        z = np.interp(x, [x[0], x[-1]], [mesh.inner[s_a, c, j], mesh.inner[s_b, c, j]])
        if (sign * (z - rail.z) < _THIN + rail.height / 2).any():
            continue
        middle = draft.add_nodes(np.stack([x[1:-1], np.full(len(x) - 2, y), z[1:-1]], axis=1))
        edge = np.array([mesh.cap_nodes[s_a, c, j], *middle, mesh.cap_nodes[s_b, c, j]], dtype=np.intp)
        interior.update(int(v) for v in middle)
        x_edge = x.copy()
        x_edge[0], x_edge[-1] = mesh.rear[s_a, j], mesh.front[s_b, j]
        face = rail.z + sign * rail.height / 2
        for k in range(len(x) - 1):
            low = [[x_edge[k], y, face], [x_edge[k + 1], y, face]]
            high = [[x_edge[k + 1], y, z[k + 1]], [x_edge[k], y, z[k]]]
            ring = [numbers[k], numbers[k + 1], edge[k + 1], edge[k]]
            corners = low + high
            if sign < 0:  # keep the corners running round the same way
                ring, corners = ring[::-1], corners[::-1]
            panels["nodes"].append(ring)
            panels["corners"].append(corners)
            panels["thickness"].append(rail.tie_thickness * share)
            panels["plane"].append(plane_moduli(rail.tie_material, False))
            panels["bent"].append(plane_moduli(rail.tie_material, True) / share**2)
            panels["fibre"].append([np.cos(rail.tie_grain), 0.0, np.sin(rail.tie_grain)])
            panels["density"].append(rail.tie_material.density)
            panels["part"].append(laid.part)
