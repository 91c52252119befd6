"""Shear, bending and torsion along the span: of the loads outboard of a cut, and of the elements cut through.

A cut lies between two stations of the mesh, beside a rib say. What acts on the nodes outboard of it, inertia
and reactions included, gives the one diagram; the forces that the elements across it hand to those nodes
give the other. In equilibrium both are the same. `lumped` shares a load along the span out to the ribs, and
`spread` is the integral that beam theory puts beside the first.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fea.arrays import Array
from fea.assembly import Assembly
from models.structure.model import Model
from models.wing.parts import Planform

QUARTER_CHORD = 0.25
"""Where the axis lies unless another is asked for, of the chord."""
_BESIDE = 1e-9
"""How far beside a station of the mesh it is cut, m."""


@dataclass(frozen=True, eq=False)
class SectionForces:
    """What a wing's sections carry: force and moment of all that lies outboard, about an axis along the span.

    `y` (n_cuts,): cuts, m, port negative. `axis` (n_cuts, 3): points of the axis there, m. `values` (n_cuts,
    6): force along x, y, z (N) and moment about the same axes at that point (N m).
    """

    y: Array
    axis: Array
    values: Array

    @property
    def _side(self) -> Array:
        return np.where(self.y < 0, -1.0, 1.0)

    @property
    def shear(self) -> Array:
        """Upward, N."""
        return self.values[:, 2]

    @property
    def bending(self) -> Array:
        """Moment about the flight axis, N m; positive lifts the tip."""
        return self._side * self.values[:, 3]

    @property
    def torsion(self) -> Array:
        """Moment about the spanwise axis, N m; positive nose up."""
        return self.values[:, 4]

    @property
    def drag(self) -> Array:
        """Shear along the chord, N; positive aft."""
        return self.values[:, 0]

    @property
    def sweeping(self) -> Array:
        """Bending in the plane of the wing, N m; positive takes the tip aft."""
        return -self._side * self.values[:, 5]

    def root(self, side: int, beyond: float = 0.0) -> int:
        """Number of the innermost cut, starboard (1) or port (-1), that lies outboard of a place, m."""
        own = np.flatnonzero(self.y * side > beyond)
        return int(own[np.argmin(np.abs(self.y[own]))])


def cuts(model: Model) -> Array:
    """Cuts at both ends of every span between two stations of the mesh, m; (2 n_spans,) in rising order.

    What acts at a station makes a step between the cut just before it and that just after.
    """
    return np.stack([model.y[:-1] + _BESIDE, model.y[1:] - _BESIDE], axis=1).ravel()


def of_loads(
    model: Model, nodal: Array, at: Array | None = None, *, axis: float = QUARTER_CHORD
) -> SectionForces:
    """Section forces from what acts on the nodes outboard.

    Parameters
    ----------
    model : Model
        A flying wing.
    nodal : (n_nodes, 6) float array
        All that acts, inertia and reactions included, N and N m.
    at : (n_cuts,) float array or None
        Cuts, m; None for those of `cuts`. None may be a station of the mesh.
    axis : float, default 0.25
        Place of the axis, of the chord.
    """
    y, points = _axis(model, at, axis)
    nodes = model.structure.nodes
    outboard = np.where(y[:, None] < 0, nodes[:, 1] < y[:, None], nodes[:, 1] > y[:, None]).astype(float)
    # Moments about the origin first: one product for all cuts, then each is carried to its own point.
    about = np.concatenate([nodal[:, :3], nodal[:, 3:] + np.cross(nodes, nodal[:, :3])], axis=1)
    return SectionForces(y, points, _carried(outboard @ about, points))


def of_elements(
    model: Model, assembly: Assembly, moves: Array, at: Array | None = None, *, axis: float = QUARTER_CHORD
) -> SectionForces:
    """Section forces from the solution: what all elements that cross a cut hand to their outboard nodes.

    Parameters
    ----------
    model : Model
        A flying wing.
    assembly : Assembly
        Of its structure.
    moves : (n_nodes, 6) float array
        Movements of one case, m and rad.
    at, axis
        As for `of_loads`.
    """
    y, points = _axis(model, at, axis)
    nodes = model.structure.nodes
    origin = np.zeros((len(y), 6))
    side = np.where(y < 0, -1.0, 1.0)[:, None]
    for name, stiffness in assembly.unit_stiffness().items():
        block = model.structure.blocks[name]
        n, k = block.nodes.shape
        d = stiffness.shape[2]
        moved = moves[block.nodes][..., :d].reshape(n, k * d, 1)
        forces = (stiffness.reshape(n, k * d, k * d) @ moved).reshape(n, k, d) * block.scale[:, None, None]
        if d < 6:
            forces = np.concatenate([forces, np.zeros((n, k, 6 - d))], axis=2)
        place = nodes[block.nodes]
        about = np.concatenate(
            [forces[..., :3], forces[..., 3:] + np.cross(place, forces[..., :3])], axis=2
        ).reshape(n * k, 6)
        out = place[..., 1].ravel() * side
        inner = np.where(side > 0, place[..., 1].min(axis=1), -place[..., 1].max(axis=1))
        crossing = (out > y[:, None] * side) & (np.repeat(inner, k, axis=1) < y[:, None] * side)
        origin += crossing.astype(float) @ about
    return SectionForces(y, points, _carried(origin, points))


def _axis(model: Model, at: Array | None, fraction: float) -> tuple[Array, Array]:
    plan = model.wing.planform
    assert plan is not None, "sections along the span need a planform"
    y = cuts(model) if at is None else np.asarray(at, dtype=float)
    return y, axis_points(plan, y, fraction)


def axis_points(planform: Planform, y: Array, fraction: float = QUARTER_CHORD) -> Array:
    """Points of the axis at a fraction of the chord, at the height of the leading edge; (n, 3), m."""
    span = np.abs(y)
    x = planform.leading_edge_x.at(span) + fraction * planform.chord.at(span)
    return np.stack([x, y, planform.leading_edge_z.at(span)], axis=1)


def _carried(about_origin: Array, points: Array) -> Array:
    force = about_origin[:, :3]
    return np.concatenate([force, about_origin[:, 3:] - np.cross(points, force)], axis=1)


def lumped(ribs: Array, y: Array, amount: Array) -> tuple[Array, float, float]:
    """Amounts along the span shared out to the ribs by the lever rule.

    Force, and its moment about any rib, are kept exactly; what lies beyond the first or the last rib goes to
    that rib whole.

    Parameters
    ----------
    ribs : (n_ribs,) float array
        Stations, m, in rising order.
    y, amount : (n,) float arrays
        Where (m) and how much.

    Returns
    -------
    share : (n_ribs,) float array
        In the unit of the amounts.
    first, last : float
        Moment of arm (unit of the amounts times m) of what lies beyond the first and the last rib.
    """
    share = np.zeros(len(ribs))
    right = np.clip(np.searchsorted(ribs, y), 0, len(ribs) - 1)
    left = np.maximum(right - 1, 0)
    apart = ribs[right] - ribs[left]
    to_right = np.clip((y - ribs[left]) / np.where(apart > 0, apart, 1.0), 0.0, 1.0)
    np.add.at(share, left, amount * (1 - to_right))
    np.add.at(share, right, amount * to_right)
    first = float((amount * np.minimum(y - ribs[0], 0.0)).sum())
    return share, first, float((amount * np.maximum(y - ribs[-1], 0.0)).sum())
