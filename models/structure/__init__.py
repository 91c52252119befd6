"""From a wing to a structure, with the map from every part of the wing to its elements.

The caps are beams, webs and ribs and sheeting panels; see `spars`, `ribs` and `rails` for each, `stations`
for the mesh along the span and `model` for what comes out.
"""

from __future__ import annotations

import itertools
from typing import Any

import numpy as np
from numpy.typing import NDArray

from fea.structure import Structure, Supports
from models.structure.covering import build_covering, taut
from models.structure.ground import Ground
from models.structure.masses import Carriers, point_masses
from models.structure.model import Draft, Model, Part
from models.structure.rails import RailBlocks, build_rails
from models.structure.ribs import RibBlocks, build_ribs, lay_net, ribs_on, skin_on_caps
from models.structure.spars import SparBlocks, build_spars, mesh_spars
from models.structure.stations import stations
from models.wing.parts import Wing

__all__ = ["ACROSS_CHORD", "Draft", "Model", "Part", "build"]

ACROSS_CHORD = 5
"""Panels of ribs and sheeting between two neighbours of spars and edges."""


def build(
    wing: Wing,
    *,
    per_bay: int = 4,
    across_chord: int = ACROSS_CHORD,
    rigid_joints: bool = False,
    whole: bool | None = None,
    covered: bool = False,
) -> Model:
    """Build the structure of a wing or specimen.

    Parameters
    ----------
    wing : Wing
        From `models.wing.reading.read`.
    per_bay : int, default 4
        Elements along each bay.
    across_chord : int, default 5
        Panels of ribs and sheeting between two neighbouring spars or edges.
    rigid_joints : bool, default False
        Hold the feet of rib posts rigidly on the caps instead of letting them rock (to see how much that
        matters).
    whole : bool or None, default None
        Model both sides of a flying wing; None follows the wing.
    covered : bool, default False
        With the stiffness of taut covering; else the wing is built bare, covering being mass alone.

    Examples
    --------
    >>> import sparbay
    >>> model = sparbay.build(sparbay.read("spar-c"), per_bay=2)
    >>> sorted({part.kind for part in model.parts})
    ['cap', 'post', 'web', 'web strip']
    >>> model.structure.nodes.shape[1], model.y[0].item(), model.y[-1].item()  # (n_nodes, 3), m
    (3, 0.0, 0.36)
    """
    mirrored = wing.flies and (wing.whole if whole is None else whole)
    draft = Draft()
    y, bay = stations(wing, per_bay, mirrored)
    side = ["" if wing.clamped else ("starboard" if a + b > 0 else "port") for a, b in itertools.pairwise(y)]
    ground = Ground(wing, draft, y, bay, side, mirrored)
    mesh = mesh_spars(ground)
    spars = build_spars(ground, mesh, skin_on_caps(ground, mesh))
    ribs = ribs_on(ground)
    net = lay_net(ground, mesh, ribs, across_chord, taut(wing) if covered else ())
    rest = build_ribs(ground, mesh, ribs, net, spars, rigid_joints=rigid_joints)
    rails = build_rails(ground, mesh)
    blocks = _blocks(spars, rest, rails)
    rib_station = np.array([rib.station for rib in ribs], dtype=np.intp)
    film = ties = films = None
    if covered:
        held = np.unique(np.concatenate([block.nodes.ravel() for block in blocks.values()]))
        film, ties, films = build_covering(ground, net, rib_station, held)
        blocks |= {k: b for k, b in (("covering", film), ("covering ties", ties)) if b is not None}
    structural = _mass_by_kind(draft, blocks)
    lines, last = rest.chordlines, len(net.lines) - 1
    anchors = tuple(
        c for k, (c, line) in enumerate(zip(lines, net.lines)) if line.spar >= 0 or k in (0, last)
    )
    caps = mesh.cap_nodes[:, :, int(np.argmin(np.abs(y)))].ravel()
    on = Carriers(rib_station, lines, anchors, rails.carriers, caps[caps >= 0])
    masses = point_masses(ground, on)
    if masses is not None:
        blocks["masses"] = masses
    nodes = draft.positions()
    structure = Structure(nodes, blocks, _supports(wing, nodes, mirrored), tuple(p.name for p in draft.parts))
    return Model(
        wing=wing,
        structure=structure,
        parts=tuple(draft.parts),
        y=y,
        bay=bay,
        cap_nodes=mesh.cap_nodes,
        depth=mesh.axis_z[:, 0] - mesh.axis_z[:, 1],
        caps=spars.cap_elements,
        webs=spars.web_elements,
        posts=rest.post_elements,
        sheets=rest.sheet_elements,
        rib_station=np.sort(rib_station),
        chordlines=rest.chordlines,
        half=wing.flies and not mirrored,
        structural_mass=structural,
        edges=rest.edge_elements,
        films=films,
    )


def _blocks(spars: SparBlocks, rest: RibBlocks, rails: RailBlocks) -> dict[str, Any]:
    """Blocks by their names, those that there are."""
    candidates: dict[str, Any] = {
        "caps": spars.caps,
        "webs": spars.webs,
        "web ends": spars.web_ends,
        "web plates": spars.web_plates,
        "strips": spars.strips,
        "posts": rest.posts,
        "ribs": rest.panels,
        "rib plates": rest.panel_plates,
        "sheeting": rest.sheeting,
        "sheeting plates": rest.sheeting_plates,
        "cap strips": rest.cap_strips,
        "edges": rest.edges,
        "rails": rails.rails,
        "rail ties": rails.ties,
        "rail webs": rails.webs,
        "rail web plates": rails.web_plates,
    }
    return {name: block for name, block in candidates.items() if block is not None}


def _supports(wing: Wing, nodes: NDArray[np.float64], mirrored: bool) -> Supports:
    """A specimen is clamped over its root section; half a flying wing meets its mirror image; a whole one is
    free."""
    centre = np.flatnonzero(np.abs(nodes[:, 1]) < 1e-9)
    if wing.clamped:
        return Supports.fixed(centre)
    return Supports.none() if mirrored else Supports.fixed(centre, "yXZ")


def _mass_by_kind(draft: Draft, blocks: dict[str, Any]) -> dict[str, float]:
    """Structural mass of every kind of part, kg."""
    nodes = draft.positions()
    probe = Structure(nodes, blocks)
    kinds = np.array([p.kind for p in draft.parts])
    out: dict[str, float] = {}
    for block in blocks.values():
        matrices = block.mass(probe.corners(block)[0])
        size = block.nodes.shape[1]
        d = matrices.shape[1] // size
        mass = matrices[:, ::d, ::d].sum(axis=(1, 2))  # all corners moved alike along x
        of_part = np.bincount(block.part, mass, len(kinds))
        for kind in dict.fromkeys(kinds[block.part].tolist()):
            out[kind] = out.get(kind, 0.0) + float(of_part[kinds == kind].sum())
    return out
