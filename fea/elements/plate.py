"""Thin quadrilateral plates in bending (discrete Kirchhoff), orthotropic: cubic movement along every edge.

The element of Batoz and Ben Tahar (Evaluation of a new quadrilateral thin plate bending element,
International Journal for Numerical Methods in Engineering 18, 1982, 1655-1677; from memory). One element
across the clear height of a web bends into an S exactly as a beam does, which is how a web holds two caps
upright.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

import numpy as np
from numpy.typing import NDArray

from fea.arrays import Array
from fea.elements.faults import NonPositiveRigidity
from fea.elements.membrane import GAUSS_POINTS, element_axes, in_plane, shape_gradients


@dataclass(frozen=True, eq=False)
class Plates:
    """A block of quadrilateral plates in bending.

    Parameters
    ----------
    nodes : (n_elements, 4) int array
        Node numbers, in order round the element.
    thickness : (n_elements,) float array
        m.
    constitutive : (n_elements, 3, 3) float array
        Plane-stress moduli in bending along the material axes, Pa (those of the plies of plywood differ from
        the membrane's).
    grain : (n_elements, 3) float array
        Direction of material axis 1.
    offsets : (n_elements, 4, 3) float array or None
        Node to corner, m.
    straight : (n_elements, 4) bool array or None
        Edges (first to second corner, second to third ...) that lie on a member which bends far less than
        the plate and may shear: along them the plate's slope is that of the chord and not the member's
        rotation of section.
    part : (n_elements,) int array or None
        Which part of the structure each belongs to.
    """

    nodes: NDArray[np.intp]
    thickness: Array
    constitutive: Array
    grain: Array
    offsets: Array | None = None
    straight: NDArray[np.bool_] | None = None
    part: NDArray[np.intp] | None = None
    freedoms: ClassVar[int] = 6
    kind: ClassVar[str] = "plate"

    @property
    def scale(self) -> Array:
        """Factor (thickness cubed, m3) on the unit stiffness, (n_elements,)."""
        return self.thickness**3

    def unit_stiffness(self, corners: Array) -> Array:
        """Stiffness per unit of thickness cubed."""
        plain = unit_stiffness(corners, self.constitutive / 12, self.grain)
        if self.straight is None:
            return plain
        on = np.flatnonzero(self.straight.any(axis=1))
        chords = straight_edges(corners[on], self.straight[on])
        plain[on] = unit_stiffness(corners[on], self.constitutive[on] / 12, self.grain[on], chords)
        return plain

    def mass(self, corners: Array) -> Array:
        """No mass: the membrane that shares the sheet carries it."""
        return np.zeros((len(corners), 24, 24))

    def mass_times(self, corners: Array, moves: Array) -> None:
        """Mass times movements of the corners: None, no mass."""

    def recover(self, corners: Array, displacements: Array) -> dict[str, Array]:
        """Bending moments per length at the centre in material axes: {"moment": (n_elements, 3, ...)}, N."""
        rigidity = self.constitutive * (self.thickness**3 / 12)[:, None, None]
        if self.straight is not None:
            flat = displacements.reshape(len(corners), 24, -1).copy()
            on = np.flatnonzero(self.straight.any(axis=1))
            flat[on] = straight_edges(corners[on], self.straight[on]) @ flat[on]
            displacements = flat.reshape(displacements.shape)
        return {"moment": moments(corners, displacements, rigidity, self.grain, np.zeros((1, 2)))[:, 0]}

    def geometric_stiffness(self, corners: Array, recovered: dict[str, Array]) -> Array:
        """None of its own: the membrane's stress does the work."""
        return np.zeros((len(corners), 24, 24))


def straight_edges(corners: Array, straight: NDArray[np.bool_]) -> Array:
    """Matrix, (n_elements, 24, 24), from corner freedoms to the plate's own, that replaces the corners'
    rotation across straight edges (n_elements, 4), from each corner to the next, by the slope of the
    edge's chord.

    Rigid motions pass through it unchanged.
    """
    n = len(corners)
    out = np.broadcast_to(np.eye(24), (n, 24, 24)).copy().reshape(n, 4, 6, 4, 6)
    normal = element_axes(corners, corners[:, 1] - corners[:, 0])[:, 2]
    for k in range(4):
        follow = (k + 1) % 4
        along = corners[:, follow] - corners[:, k]
        length = np.linalg.norm(along, axis=1)
        along = along / length[:, None]
        across = np.cross(
            along, normal
        )  # rotation about it is the slope of the normal movement along the edge
        on = straight[:, k].astype(float)
        drop = on[:, None, None] * across[:, :, None] * across[:, None, :]
        slope = (on / length)[:, None, None] * across[:, :, None] * normal[:, None, :]
        for corner in (k, follow):
            out[:, corner, 3:, corner, 3:] -= drop
            out[:, corner, 3:, follow, :3] += slope
            out[:, corner, 3:, k, :3] -= slope
    return out.reshape(n, 24, 24)


def _shapes(points: Array) -> tuple[Array, Array]:
    """Derivatives of the eight serendipity shapes with xi and eta, each (n_points, 8): corners, then
    mid-sides 1-2 ...
    """
    xi, eta = points[:, 0], points[:, 1]
    d_xi = [
        (1 - eta) * (2 * xi + eta) / 4, (1 - eta) * (2 * xi - eta) / 4,
        (1 + eta) * (2 * xi + eta) / 4, (1 + eta) * (2 * xi - eta) / 4,
        -xi * (1 - eta), (1 - eta**2) / 2, -xi * (1 + eta), -(1 - eta**2) / 2,
    ]  # fmt: skip
    d_eta = [
        (1 - xi) * (2 * eta + xi) / 4, (1 + xi) * (2 * eta - xi) / 4,
        (1 + xi) * (2 * eta + xi) / 4, (1 - xi) * (2 * eta - xi) / 4,
        -(1 - xi**2) / 2, -eta * (1 + xi), (1 - xi**2) / 2, -eta * (1 - xi),
    ]  # fmt: skip
    return np.stack(d_xi, axis=1), np.stack(d_eta, axis=1)


def _curvature_rows(plane: Array, points: Array) -> Array:
    """Curvatures (b_x,x; b_y,y; b_x,y + b_y,x) per corner freedom w, theta_x, theta_y, (n_elements, n_points,
    3, 12).
    """
    side = plane - np.roll(plane, -1, axis=1)  # x_ij = x_i - x_j on sides 1-2, 2-3, 3-4, 4-1
    x, y = side[..., 0], side[..., 1]
    square = x**2 + y**2
    a, d = -x / square, -y / square
    b = 0.75 * x * y / square
    c = (0.25 * x**2 - 0.5 * y**2) / square
    e = (0.25 * y**2 - 0.5 * x**2) / square
    n = len(plane)
    d_xi, d_eta = _shapes(points)

    def rows(shape: Array) -> tuple[Array, Array]:
        corner, ahead = shape[:, :4], shape[:, 4:]
        behind = np.roll(ahead, 1, axis=1)
        out_x = np.zeros((n, len(points), 4, 3))
        out_y = np.zeros_like(out_x)
        a_b, b_b, c_b, d_b, e_b = (np.roll(v, 1, axis=1)[:, None] for v in (a, b, c, d, e))
        a_a, b_a, c_a, d_a, e_a = (v[:, None] for v in (a, b, c, d, e))
        out_x[..., 0] = 1.5 * (a_a * ahead - a_b * behind)
        out_x[..., 1] = b_a * ahead + b_b * behind
        out_x[..., 2] = corner - c_a * ahead - c_b * behind
        out_y[..., 0] = 1.5 * (d_a * ahead - d_b * behind)
        out_y[..., 1] = -corner + e_a * ahead + e_b * behind
        out_y[..., 2] = -b_a * ahead - b_b * behind
        return out_x.reshape(n, len(points), 12), out_y.reshape(n, len(points), 12)

    x_xi, y_xi = rows(d_xi)
    x_eta, y_eta = rows(d_eta)
    xi, eta = points[:, 0, None], points[:, 1, None]
    corner_xi, corner_eta = np.array([-1.0, 1.0, 1.0, -1.0]), np.array([-1.0, -1.0, 1.0, 1.0])
    local = np.stack([corner_xi * (1 + eta * corner_eta) / 4, corner_eta * (1 + xi * corner_xi) / 4], axis=1)
    jacobian = local @ plane[:, None]
    a, b, c, d = (jacobian[..., i, k, None] for i in (0, 1) for k in (0, 1))
    size = a * d - b * c
    a, b, c, d = d / size, -b / size, -c / size, a / size  # of the inverse
    out = np.empty((n, len(points), 3, 12))
    out[:, :, 0] = a * x_xi + b * x_eta
    out[:, :, 1] = c * y_xi + d * y_eta
    out[:, :, 2] = c * x_xi + d * x_eta + a * y_xi + b * y_eta
    return out


def _to_local(axes: Array) -> Array:
    """Map from corner freedoms u v w rx ry rz to w, theta_x, theta_y in element axes, (n_elements, 3, 6)."""
    out = np.zeros((len(axes), 3, 6))
    out[:, 0, :3] = axes[:, 2]
    out[:, 1, 3:], out[:, 2, 3:] = axes[:, 0], axes[:, 1]
    return out


def unit_stiffness(corners: Array, rigidity: Array, grain: Array, through: Array | None = None) -> Array:
    """Bending stiffness of quadrilateral plates, in global axes.

    Parameters
    ----------
    corners : (n_elements, 4, 3) float array
        Corner positions in a plane, in order round the element, m.
    rigidity : (n_elements, 3, 3) float array
        Plate rigidities in material axes, N m (or per thickness cubed, Pa).
    grain : (n_elements, 3) float array
        Direction of material axis 1.
    through : (n_elements, 24, 24) float array or None
        From other freedoms to the plate's own, as `straight_edges`. It acts on the curvatures: on the
        finished stiffness it would have to cancel what a sliver of a plate has in huge amounts, and leave
        rounding.

    Returns
    -------
    (n_elements, 24, 24) float array
        Unknowns u v w rx ry rz of each corner; movements in the plane and turning about the normal get none.
        Rank 9.

    Raises
    ------
    DegenerateElement
        No area, a corner turned inside out, or the grain square to the element.
    NonPositiveRigidity
        A plate would do work on what bends it.

    References
    ----------
    Batoz and Ben Tahar, 1982 (from memory).
    """
    axes = element_axes(corners, grain)
    plane = in_plane(corners, axes)
    n = len(corners)
    negative = (np.einsum("eii->ei", rigidity) < 0).any(axis=1)
    if negative.any():
        raise NonPositiveRigidity("plate", "bending", np.flatnonzero(negative))
    _, determinant = shape_gradients(plane, GAUSS_POINTS)
    rows = _curvature_rows(plane, GAUSS_POINTS)
    if through is not None:
        carried = (rows.reshape(n, 48, 3) @ _to_local(axes)).reshape(n, 12, 24) @ through
        bent = determinant[:, :, None, None] * (rigidity[:, None] @ carried.reshape(n, 4, 3, 24))
        return np.asarray(np.swapaxes(carried, 1, 2) @ bent.reshape(n, 12, 24))
    weighted = (determinant[:, :, None, None] * (rigidity[:, None] @ rows)).reshape(n, 12, 12)
    stiff = np.swapaxes(rows.reshape(n, 12, 12), 1, 2) @ weighted
    carry = _to_local(axes)
    right = (stiff.reshape(n, 48, 3) @ carry).reshape(n, 4, 3, 24)
    return (np.swapaxes(carry, 1, 2)[:, None] @ right).reshape(n, 24, 24)


def moments(corners: Array, displacements: Array, rigidity: Array, grain: Array, points: Array) -> Array:
    """Bending moments per length in material axes at points of the reference square.

    Parameters
    ----------
    corners : (n_elements, 4, 3) float array
        Corner positions, m.
    displacements : (n_elements, 4, 6, ...) float array
        Movements (m) and rotations (rad) of the corners.
    rigidity : (n_elements, 3, 3) float array
        Plate rigidities in material axes, N m.
    grain : (n_elements, 3) float array
        Direction of material axis 1.
    points : (n_points, 2) float array
        Where, -1 to 1 in both directions.

    Returns
    -------
    (n_elements, n_points, 3, ...) float array
        N: m_1 and m_2 (stress 12 z m/t^3, positive: tension on the side of the normal), m_12.
    """
    axes = element_axes(corners, grain)
    n = len(corners)
    trailing = displacements.shape[3:]
    local = np.einsum("eij,ecj...->eci...", _to_local(axes), displacements).reshape(n, 12, -1)
    rows = _curvature_rows(in_plane(corners, axes), points).reshape(n, -1, 12)
    curvature = (rows @ local).reshape(n, len(points), 3, -1)
    return (rigidity[:, None] @ curvature).reshape(n, len(points), 3, *trailing)
