"""The wing in three dimensions for the page: surfaces of all parts, webs that may be there among them.

The surfaces are made once; every answer moves their points. A browser shows or leaves out a web by its part.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from fea.arrays import Array, Ints
from models.live.engine import Answer
from models.pictures.surfaces import surfaces
from models.structure import build
from models.structure.model import Part
from models.wing.parts import Wing

_CLEAR = ("sheeting", "ribs")
"""Blocks that are drawn see-through, so that the spars stay in sight."""
_LEFT_OUT = ("cap strips",)
"""They hide the ribs' edges and say nothing."""


@dataclass(frozen=True, eq=False)
class Solid:
    """Surfaces of a wing with every web that it may have.

    Parameters
    ----------
    points : (n_points, 3) float array
        m.
    nodes : (n_points,) int array
        Node that each moves with.
    part_of : (n_points,) int array
        Index into `parts`.
    parts : tuple of Part
        What is drawn.
    solid, clear : (n_triangles, 3) int array
        Triangles of what hides and of what is see-through.
    n_nodes : int
        Of the structure that it was made from.
    mirrored : bool
        The other half is its mirror image.
    """

    points: Array
    nodes: Ints
    part_of: Ints
    parts: tuple[Part, ...]
    solid: Ints
    clear: Ints
    n_nodes: int
    mirrored: bool

    def moved(self, answer: Answer) -> Array | None:
        """Movement of every point in an answer, (n_points, 3), m; None where the structure's nodes are
        others."""
        if len(answer.moves) != self.n_nodes:
            return None
        at = answer.moves[self.nodes]
        return np.asarray(at[:, :3] + np.cross(at[:, 3:], self.points - answer.points[self.nodes]))

    def described(self) -> dict[str, Any]:
        """Everything that a browser draws, as plain data; points in mm, to a hundredth."""
        return {
            "points": (1e3 * self.points).round(2).ravel().tolist(),
            "part_of": self.part_of.tolist(),
            "parts": [
                {key: getattr(p, key) for key in ("kind", "spar", "place", "bay", "side")} for p in self.parts
            ],
            "solid": self.solid.ravel().tolist(),
            "clear": self.clear.ravel().tolist(),
            "mirrored": self.mirrored,
        }


def solid(wing: Wing, per_bay: int) -> Solid:
    """The surfaces of a wing with every web that it may have; elements along a bay as the answers have."""
    model = build(wing, per_bay=per_bay)
    points, nodes, part_of = [], [], []
    hiding: list[Ints] = []
    clear: list[Ints] = []
    n = 0
    for name, surface in surfaces(model).items():
        if name in _LEFT_OUT:
            continue
        of_block = model.structure.blocks[name].part
        assert of_block is not None
        faces = surface.shell
        used, numbered = np.unique(faces, return_inverse=True)
        quads = numbered.reshape(faces.shape) + n
        triangles = np.concatenate([quads[:, [0, 1, 2]], quads[:, [0, 2, 3]]])
        (clear if name in _CLEAR else hiding).append(triangles)
        points.append(surface.points[used])
        nodes.append(surface.nodes[used])
        part_of.append(of_block[surface.element[used]])
        n += len(used)
    known, index = np.unique(np.concatenate(part_of), return_inverse=True)
    none = np.zeros((0, 3), dtype=np.intp)
    return Solid(
        np.concatenate(points),
        np.concatenate(nodes),
        index,
        tuple(model.parts[k] for k in known),
        np.concatenate([none, *hiding]),
        np.concatenate([none, *clear]),
        len(model.structure.nodes),
        model.half and wing.flies,
    )
