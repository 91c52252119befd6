"""The parts of a wing as surfaces of their true size: sticks as boxes, sheets as thin plates.

Every point of a surface knows the element and the corner that it belongs to, so that it moves with that
corner's node and takes that element's numbers. Elements share no points: a step in size or stress is drawn
as a step. Webs are drawn over their clear height between the caps, so that the caps stay in sight.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from fea.arrays import Array, Ints
from fea.structure import Block
from models.structure.model import Model

_BOX = np.array([[0, 3, 2, 1], [4, 5, 6, 7], [0, 1, 5, 4], [1, 2, 6, 5], [2, 3, 7, 6], [3, 0, 4, 7]])
"""Faces of a box whose points run round one end, then round the other."""


@dataclass(frozen=True, eq=False)
class Surface:
    """One block of elements as boxes of eight points and six faces.

    Parameters
    ----------
    points : (n_points, 3) float array
        m.
    arms : (n_points, 3) float array
        From the element's corner (on the beam's axis, in the plate's middle) to the point, m.
    nodes : (n_points,) int array
        Node that the point moves with.
    element, corner, layer : (n_points,) int array
        Row of the block, which of its corners, and which layer of a cap (0 elsewhere).
    stick : bool
        Boxes swept along an axis rather than laid over a plate's middle.
    """

    points: Array
    arms: Array
    nodes: Ints
    element: Ints
    corner: Ints
    layer: Ints
    stick: bool

    @property
    def quads(self) -> Ints:
        """Faces, (n_faces, 4) point numbers."""
        return self._faces(_BOX)

    @property
    def shell(self) -> Ints:
        """Faces without those between elements, and one side of a plate: for what is drawn see-through."""
        return self._faces(_BOX[2:] if self.stick else _BOX[:1])

    def _faces(self, of_box: Ints) -> Ints:
        boxes = len(self.points) // 8
        return np.asarray((of_box + 8 * np.arange(boxes)[:, None, None]).reshape(-1, 4))

    def only(self, rows: NDArray[np.bool_]) -> Surface:
        """The boxes all of whose points are among `rows` (n_points,)."""
        keep = np.repeat(rows.reshape(-1, 8).all(axis=1), 8)
        return self.with_each(lambda values: values[keep])

    def with_each(self, change: Callable[..., Array], *others: Surface) -> Surface:
        """Every array of it, with those of others beside it, changed alike."""
        arrays = [f.name for f in fields(self) if f.name != "stick"]
        changed: dict[str, Any] = {n: change(*(getattr(s, n) for s in (self, *others))) for n in arrays}
        return replace(self, **changed)

    def moves(self, positions: Array, displacements: Array) -> Array:
        """Movement of every point with its node, rigidly, (n_points, 3), m.

        Of the nodes: their positions, (n_nodes, 3), m, movements (m) and rotations (rad), (n_nodes, 6).
        """
        at = displacements[self.nodes]
        return np.asarray(at[:, :3] + np.cross(at[:, 3:], self.points - positions[self.nodes]))


def surfaces(model: Model) -> dict[str, Surface]:
    """Surfaces of all parts that are drawn, by the name of the block, those that the wing has.

    Strips lapped on caps, and plates that double a membrane, are not drawn twice.
    """
    out = {}
    for name, make in _MAKERS.items():
        block = model.structure.blocks.get(name)
        if block is not None and len(block.nodes):
            out[name] = make(model, block, model.structure.true_corners(block))
    return out


def _caps(model: Model, block: Block, corners: Array) -> Surface:
    """A box a layer, from the outer face inward; `centroid` is the depth of the axis below the outer face."""
    caps = model.caps
    inward = np.where(caps.upper, -1.0, 1.0)
    layers, start = [], -caps.centroid
    for k in range(caps.layer_heights.shape[1]):
        end = start + caps.layer_heights[:, k]
        there = np.flatnonzero(caps.layer_heights[:, k] > 0)
        z = np.sort(np.stack([inward * start, inward * end], axis=1), axis=1)
        layers.append(_sticks(block, corners, _rectangle(caps.width, z, across=0, up=2), there, k))
        start = end
    return layers[0].with_each(lambda *values: np.concatenate(values), *layers[1:])


def _rectangle(across_size: Array, up_range: Array, *, across: int, up: int) -> Array:
    """Section corners, (n, 4, 3): so wide about the axis, and between two heights (n, 2) from it."""
    out = np.zeros((len(across_size), 4, 3))
    out[:, :, across] = across_size[:, None] / 2 * np.array([-1.0, 1.0, 1.0, -1.0])
    out[:, :, up] = up_range[:, [0, 0, 1, 1]]
    return out


def _about_axis(height: Array) -> Array:
    return np.stack([-height / 2, height / 2], axis=1)


def _sticks(
    block: Block, corners: Array, section: Array, rows: Ints | None = None, layer: int = 0
) -> Surface:
    """Boxes between the two corners of every element, with one section (n, 4, 3) of offsets from the axis."""
    rows = np.arange(len(corners)) if rows is None else rows
    ring = section[rows]
    # Points run round the first end so that faces look outward, whichever way the axis goes.
    facing = np.cross(ring[:, 1] - ring[:, 0], ring[:, 3] - ring[:, 0])
    inside_out = np.einsum("ei,ei->e", facing, corners[rows, 1] - corners[rows, 0]) < 0
    ring = np.where(inside_out[:, None, None], ring[:, ::-1], ring)
    arms = np.repeat(ring[:, None], 2, axis=1)
    points = corners[rows][:, :, None] + arms
    corner = np.broadcast_to(np.repeat([0, 1], 4), (len(rows), 8))
    return _surface(block, rows, corner, points.reshape(-1, 3), arms.reshape(-1, 3), layer, stick=True)


def _plates(block: Block, corners: Array, thickness: Array) -> Surface:
    """Boxes over four corners, half the thickness to either side."""
    corners = corners[:, :4]
    normal = np.cross(corners[:, 2] - corners[:, 0], corners[:, 3] - corners[:, 1])
    normal /= np.linalg.norm(normal, axis=1, keepdims=True)
    half = normal * thickness[:, None] / 2
    arms = np.concatenate([np.repeat(-half[:, None], 4, axis=1), np.repeat(half[:, None], 4, axis=1)], axis=1)
    corner = np.broadcast_to(np.tile(np.arange(4), 2), (len(corners), 8))
    points = np.concatenate([corners, corners], axis=1) + arms
    return _surface(
        block, np.arange(len(corners)), corner, points.reshape(-1, 3), arms.reshape(-1, 3), 0, stick=False
    )


def _surface(
    block: Block, rows: Ints, corner: Ints, points: Array, arms: Array, layer: int, *, stick: bool
) -> Surface:
    element, at = np.repeat(rows, 8), corner.ravel()
    layers = np.full(len(element), layer, dtype=np.intp)
    return Surface(points, arms, block.nodes[element, at], element, at, layers, stick)


def _webs(model: Model, block: Block, corners: Array) -> Surface:
    return _plates(block, corners, model.webs.thickness)


def _sheets(model: Model, block: Block, corners: Array) -> Surface:
    thickness: Array = block.thickness  # type: ignore[attr-defined]
    return _plates(block, corners, thickness)


def _posts(model: Model, block: Block, corners: Array) -> Surface:
    posts = model.posts
    return _sticks(block, corners, _rectangle(posts.width, _about_axis(posts.thickness), across=0, up=1))


def _cap_strips(model: Model, block: Block, corners: Array) -> Surface:
    stations = np.array([rib.y for rib in model.wing.ribs])
    rib = np.abs(stations - np.abs(corners[:, 0, 1])[:, None]).argmin(axis=1)
    width = np.array([r.cap_strip_width for r in model.wing.ribs])[rib]
    height = np.array([r.cap_strip_thickness for r in model.wing.ribs])[rib]
    return _sticks(block, corners, _rectangle(width, _about_axis(height), across=1, up=2))


def _edges(model: Model, block: Block, corners: Array) -> Surface:
    """Edges as rectangles of their width and area: what is sanded off makes them lower."""
    assert model.edges is not None
    width, height = model.edges.width, model.edges.area / model.edges.width
    return _sticks(block, corners, _rectangle(width, _about_axis(height), across=0, up=2))


def _rails(model: Model, block: Block, corners: Array) -> Surface:
    sizes = {r.name: (r.width, r.height) for r in model.wing.rails}
    width, height = np.array([sizes[model.parts[p].place] for p in _parts(block)]).T
    return _sticks(block, corners, _rectangle(width, _about_axis(height), across=1, up=2))


def _rail_ties(model: Model, block: Block, corners: Array) -> Surface:
    """Ply posts, as long fore and aft as the cap is wide that they stand on."""
    thick = {r.name: r.tie_thickness for r in model.wing.rails}
    thickness = np.array([thick[model.parts[p].place] for p in _parts(block)])
    spar = [int(np.argwhere(model.cap_nodes == node)[0, 0]) for node in block.nodes[:, 0]]
    y = np.abs(corners[:, 0, 1])
    width = np.array([float(model.wing.spars[s].upper.width.at(at)) for s, at in zip(spar, y)])
    return _sticks(block, corners, _rectangle(width, _about_axis(thickness), across=0, up=1))


def _parts(block: Block) -> Ints:
    assert block.part is not None, "the wing's builder numbers the parts of every block"
    return block.part


_MAKERS: dict[str, Callable[[Model, Block, Array], Surface]] = {
    "caps": _caps,
    "webs": _webs,
    "posts": _posts,
    "ribs": _sheets,
    "sheeting": _sheets,
    "cap strips": _cap_strips,
    "edges": _edges,
    "rails": _rails,
    "rail ties": _rail_ties,
    "rail webs": _sheets,
}
