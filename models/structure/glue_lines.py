"""Glue lines of a built wing: how much area is glued, and where, so that the glue can be weighed.

Areas follow from the pieces as they lap: webs and braces on caps, facings on caps, ribs on caps and edges,
cap strips and sheeting on ribs, sheeting on caps and leading edge, rails on their ties. What a fillet or a
film's adhesive adds is not in it.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np

from fea.arrays import Array
from models.structure.model import Model
from models.wing.parts import Rib, Sheet, Spar, Wing


@dataclass(frozen=True, eq=False)
class GlueLines:
    """Glued areas of what is modelled (one half, where the model is half a wing).

    `joint`: what is glued to what, of each line. `area` (n,): m2. `at` (n, 3): middle of each line, m.
    """

    joint: tuple[str, ...]
    area: Array
    at: Array


def glue_lines(model: Model) -> GlueLines:
    """The glue lines of a flying wing as built."""
    rows = [
        *_on_caps(model),
        *_facings(model),
        *_at_ribs(model),
        *_sheeting(model),
        *_rails(model),
    ]
    if not rows:
        return GlueLines((), np.zeros(0), np.zeros((0, 3)))
    joint, area, at = zip(*rows)
    return GlueLines(joint, np.array(area), np.array(at))


Row = tuple[str, float, tuple[float, float, float]]


def _place(*xyz: float) -> tuple[float, float, float]:
    x, y, z = (float(v) for v in xyz)
    return x, y, z


def _on_caps(model: Model) -> list[Row]:
    """Webs and braces, each on both caps of its spar, along every span of the mesh."""
    webs, caps, nodes = model.webs, model.cap_nodes, model.structure.nodes
    ends = np.stack([nodes[caps[webs.spar, :, webs.span + end]] for end in (0, 1)])
    area = (webs.lap * np.linalg.norm(ends[1] - ends[0], axis=2)).tolist()
    joint = np.where(webs.brace, "braces on caps", "shear webs on caps").tolist()
    at = ends.mean(axis=0).tolist()
    return [(joint[k], area[k][c], _place(*at[k][c])) for k in range(len(joint)) for c in (0, 1)]


def _facings(model: Model) -> list[Row]:
    """Layers of the caps on each other."""
    caps, nodes, found = model.caps, model.structure.nodes, []
    for e in np.flatnonzero((caps.layer_heights > 0).sum(axis=1) > 1):
        i = int(caps.span[e])
        ends = nodes[model.cap_nodes[caps.spar[e], 0 if caps.upper[e] else 1, [i, i + 1]]]
        length = float(np.linalg.norm(ends[1] - ends[0]))
        joints = int((caps.layer_heights[e] > 0).sum()) - 1
        found.append(("facings on caps", joints * float(caps.width[e]) * length, _place(*ends.mean(axis=0))))
    return found


def _at_ribs(model: Model) -> list[Row]:
    """Ribs on caps and edges, and cap strips on ribs."""
    wing, plan, found = model.wing, model.wing.planform, []
    assert plan is not None
    heights = {edge.kind: edge for edge in wing.edges}
    for j in model.rib_station:
        at = float(model.y[j])
        rib, span = _rib(wing, abs(at)), abs(at)
        share = 0.5 if model.half and span < 1e-9 else 1.0
        for s, spar in enumerate(wing.spars):
            for c, cap in ((0, spar.upper), (1, spar.lower)):
                node = int(model.cap_nodes[s, c, j])
                if node >= 0:
                    area = share * rib.post_thickness * float(spar.aslant.at(span) * cap.width.at(span))
                    found.append(("ribs on caps", area, _place(*model.structure.nodes[node])))
        if rib.panel == "none":
            continue
        front, chord = float(plan.leading_edge_x.at(span)), float(plan.chord.at(span))
        z = float(plan.leading_edge_z.at(span))
        for kind, edge in heights.items():
            x = front + edge.width if kind == "leading" else front + chord - edge.width
            found.append(("ribs on edges", share * rib.thickness * edge.height, _place(x, at, z)))
        if rib.cap_strip_width > 0:
            found.append(
                ("cap strips on ribs", 2 * share * rib.thickness * chord, _place(front + chord / 2, at, z))
            )
    return found


def _sheeting(model: Model) -> list[Row]:
    """Sheeting on the ribs that bound each of its bays, on the caps under it, and on the leading edge."""
    wing, plan, found = model.wing, model.wing.planform, []
    assert plan is not None
    edges = wing.bay_edges
    nose = next((edge.width for edge in wing.edges if edge.kind == "leading"), 0.0)
    for sheet in wing.sheets:
        for side, bay in sorted(sheet.bays):
            if model.half and side == "port":
                continue
            sign = -1.0 if side == "port" else 1.0
            low, high = (float(edges[bay - wing.first_bay + k]) for k in (0, 1))
            middle = (low + high) / 2
            z = float(plan.leading_edge_z.at(middle))
            for y in (low, high):
                if (y < 1e-9 and wing.first_bay == 0) or not _stands(wing, y):
                    continue
                front, rear = float(sheet.x_from.at(y)), float(sheet.x_to.at(y))
                area = _rib(wing, y).thickness / 2 * (rear - front)
                found.append(("sheeting on ribs", area, _place((front + rear) / 2, sign * y, z)))
            for spar in wing.spars:
                if spar.y_end < high - 1e-9:
                    continue
                area = (high - low) * _covered(sheet, spar, middle)
                if area > 0:
                    found.append(
                        ("sheeting on caps", area, _place(float(spar.x.at(middle)), sign * middle, z))
                    )
            if sheet.from_leading_edge and nose > 0:
                x = float(sheet.x_from.at(middle)) + nose / 2
                found.append(
                    ("sheeting on the leading edge", (high - low) * nose, _place(x, sign * middle, z))
                )
    return found


def _covered(sheet: Sheet, spar: Spar, y: float) -> float:
    """Width of a spar's cap that lies under a sheet, m."""
    cap = spar.upper if sheet.surface == "upper" else spar.lower
    aslant, x = float(spar.aslant.at(y)), float(spar.x.at(y))
    half = aslant * float(cap.width.at(y)) / 2
    lap = min(x + half, float(sheet.x_to.at(y))) - max(x - half, float(sheet.x_from.at(y)))
    return max(0.0, lap) / aslant


def _rails(model: Model) -> list[Row]:
    """Each rail along its tie plate, from the first to the last spar that it is tied to."""
    wing, found = model.wing, []
    for rail in wing.rails:
        tied = [spar for spar in wing.spars if spar.name in rail.ties]
        crossings = [float(spar.x.at(rail.y)) for spar in tied]
        half = max(float(spar.upper.width.at(rail.y)) for spar in tied) / 2
        run = max(crossings) - min(crossings) + 2 * half
        x = (max(crossings) + min(crossings)) / 2
        both = rail.y > 1e-9 and not model.half
        share = 0.5 if model.half and rail.y < 1e-9 else 1.0
        for sign in (1.0, -1.0) if both else (1.0,):
            found.append(("rails on ties", share * run * rail.height, _place(x, sign * rail.y, rail.z)))
            for spar, at in itertools.product(tied, (rail.y,)):
                depth = float(spar.z_upper.at(at) - spar.z_lower.at(at))
                area = share * rail.tie_thickness * depth
                found.append(("rail ties on spars", area, _place(float(spar.x.at(at)), sign * at, rail.z)))
    return found


def _rib(wing: Wing, y: float) -> Rib:
    return min(wing.ribs, key=lambda rib: abs(rib.y - y))


def _stands(wing: Wing, y: float) -> bool:
    return abs(_rib(wing, y).y - y) < 1e-6
