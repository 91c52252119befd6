"""Thin plate triangles in bending, without shear strain: the discrete Kirchhoff triangle for any orthotropy.

Slopes vary quadratically over the element; Kirchhoff's condition ties them to the displacement at the corners
and along the sides (J.-L. Batoz, K.-J. Bathe, L.-W. Ho, 'A study of three-node triangular plate bending
elements', International Journal for Numerical Methods in Engineering 15, 1980, from memory and derived again
here).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

import numpy as np
from numpy.typing import NDArray

from fea.elements.membrane_triangle import local_axes, strain_turn

Array = NDArray[np.float64]

CENTROID = np.full((1, 3), 1 / 3)
SIDE_MIDDLES = np.array([[0.5, 0.5, 0], [0, 0.5, 0.5], [0.5, 0, 0.5]])


def unit_stiffness(corners: Array, bending_rigidity: Array) -> Array:
    """Stiffness of the discrete Kirchhoff triangle in global axes: integral of B' D B.

    Parameters
    ----------
    corners : (n_elements, 3, 3) float array
        Corner positions, m.
    bending_rigidity : (n_elements, 3, 3) float array
        D = E t^3/12 with E the plane stress matrix, in the element's own axes
        (`membrane_triangle.local_axes`), N m.

    Returns
    -------
    (n_elements, 18, 18) float array
        N/m, N, N m; unknowns u v w rx ry rz at each corner. Rank 6: only displacements along the normal and
        turns about axes in the plane are resisted.

    Raises
    ------
    DegenerateElement
        The corners lie on one line; carries the element numbers.

    Notes
    -----
    Thin plates only: no shear strain. Integrated exactly by the three points at the middles of the sides.

    References
    ----------
    Batoz, Bathe, Ho, A study of three-node triangular plate bending elements, IJNME 15 (1980), 1771-1812
    (memory).
    """
    axes, xy = _own_frame(corners)
    curvature = _curvature(xy, SIDE_MIDDLES) @ _to_plate_unknowns(axes)[:, None]
    area = _twice_area(xy) / 2
    stiffness = (curvature.swapaxes(2, 3) @ (bending_rigidity[:, None] @ curvature)).sum(axis=1)
    stiffness *= area[:, None, None] / 3
    return (stiffness + stiffness.transpose(0, 2, 1)) / 2


def moments(corners: Array, displacements: Array, bending_rigidity: Array) -> Array:
    """Bending moments at the centroid in the element's own axes.

    Parameters
    ----------
    corners : (n_elements, 3, 3) float array
        Corner positions, m.
    displacements : (n_elements, 18) float array
        u v w rx ry rz at each corner, m and rad.
    bending_rigidity : (n_elements, 3, 3) float array
        As for `unit_stiffness`, N m.

    Returns
    -------
    (n_elements, 3) float array
        m1, m2, m12 in N m/m; positive where they pull the face on the side of e3, so that the stress there is
        6 m/t^2 with tension positive.

    Raises
    ------
    DegenerateElement
        The corners lie on one line.
    """
    axes, xy = _own_frame(corners)
    plate = np.einsum("eij,ej->ei", _to_plate_unknowns(axes), displacements)
    curvature = np.einsum("eij,ej->ei", _curvature(xy, CENTROID)[:, 0], plate)
    return np.einsum("eij,ej->ei", bending_rigidity, curvature)


def _own_frame(corners: Array) -> tuple[Array, Array]:
    axes = local_axes(corners)
    return axes, (corners - corners[:, :1]) @ axes[:, :2].transpose(0, 2, 1)


def _twice_area(xy: Array) -> Array:
    (x21, y21), (x31, y31) = (xy[:, 1] - xy[:, 0]).T, (xy[:, 2] - xy[:, 0]).T
    return x21 * y31 - x31 * y21


def _curvature(xy: Array, points: Array) -> Array:
    """Curvature of the face (d b1/d1, d b2/d2, d b1/d2 + d b2/d1) per plate unknown, (n, n_points, 3, 9).

    b = (-dw/d1, -dw/d2) is the turn that carries the +e3 face; (turn about e1, about e2) = (-b2, b1).
    """
    gradient = _quadratic_gradients(xy, points)
    slopes = _slopes_at_six_points(xy)
    d1 = np.einsum("epk,eksa->epsa", gradient[:, :, 0], slopes)
    d2 = np.einsum("epk,eksa->epsa", gradient[:, :, 1], slopes)
    return np.stack([d1[:, :, 0], d2[:, :, 1], d2[:, :, 0] + d1[:, :, 1]], axis=2)


def _quadratic_gradients(xy: Array, points: Array) -> Array:
    """Gradients of the quadratic functions of corners and side middles (12, 23, 31), (n, n_points, 2, 6)."""
    x, y = xy[:, :, 0], xy[:, :, 1]
    linear = np.stack(
        [np.roll(y, -1, axis=1) - np.roll(y, -2, axis=1), np.roll(x, -2, axis=1) - np.roll(x, -1, axis=1)],
        axis=1,
    )
    linear = linear / _twice_area(xy)[:, None, None]
    at_corners = linear[:, None] * (4 * points[:, None, :] - 1)
    following = np.roll(linear, -1, axis=2)
    share, share_following = points[:, None, :], np.roll(points, -1, axis=1)[:, None, :]
    at_middles = 4 * (linear[:, None] * share_following + following[:, None] * share)
    return np.concatenate([at_corners, at_middles], axis=3)


def _slopes_at_six_points(xy: Array) -> Array:
    """Turns b1, b2 at corners and side middles per plate unknown (w, two turns a corner), (n, 6, 2, 9).

    Along a side w is the cubic through its ends, so at the middle the slope along it is
    3 (w_j - w_i)/2L - (slope_i + slope_j)/4; the slope across it is the mean of the ends.
    """
    slopes = np.zeros((len(xy), 6, 2, 3, 3))
    for corner in range(3):
        slopes[:, corner, 0, corner, 2] = 1
        slopes[:, corner, 1, corner, 1] = -1
    for side in range(3):
        i, j = side, (side + 1) % 3
        along = xy[:, j] - xy[:, i]
        length2 = (along**2).sum(axis=1)
        mean = (slopes[:, i] + slopes[:, j]) / 2
        middle = slopes[:, 3 + side]
        # mean - t (t . mean) + t (-(3/2L)(w_j - w_i) - (t . mean)/2), with t = along/L
        onto_side = along[:, :, None] * along[:, None, :] / length2[:, None, None]
        middle += mean - 1.5 * np.einsum("eij,ejkl->eikl", onto_side, mean)
        chord = 1.5 * along / length2[:, None]
        middle[:, :, i, 0] += chord
        middle[:, :, j, 0] -= chord
    return slopes.reshape(-1, 6, 2, 9)


def _to_plate_unknowns(axes: Array) -> Array:
    """Displacement along e3 and turns about e1, e2 at each corner from global u v w rx ry rz, (n, 9, 18)."""
    change = np.zeros((len(axes), 3, 3, 3, 6))
    for corner in range(3):
        change[:, corner, 0, corner, :3] = axes[:, 2]
        change[:, corner, 1:, corner, 3:] = axes[:, :2]
    return change.reshape(-1, 9, 18)


@dataclass(frozen=True, eq=False)
class PlateTriangles:
    """A block of triangular plates in bending.

    Parameters
    ----------
    nodes : (n_elements, 3) int array
        Node numbers, in order round the element.
    thickness : (n_elements,) float array
        m.
    constitutive : (n_elements, 3, 3) float array
        Plane-stress moduli in bending along the material axes, Pa.
    grain : (n_elements, 3) float array
        Direction of material axis 1; its part in the element's plane counts.
    offsets : (n_elements, 3, 3) float array or None
        Node to corner, m.
    part : (n_elements,) int array or None
        Which part of the structure each belongs to.
    """

    nodes: NDArray[np.intp]
    thickness: Array
    constitutive: Array
    grain: Array
    offsets: Array | None = None
    part: NDArray[np.intp] | None = None
    freedoms: ClassVar[int] = 6
    kind: ClassVar[str] = "plate triangle"

    @property
    def scale(self) -> Array:
        """Factor (thickness cubed, m3) on the unit stiffness, (n_elements,)."""
        return self.thickness**3

    def unit_stiffness(self, corners: Array) -> Array:
        """Stiffness per unit of thickness cubed, (n_elements, 18, 18)."""
        turn = strain_turn(corners, self.grain)
        return unit_stiffness(corners, turn.transpose(0, 2, 1) @ (self.constitutive / 12) @ turn)

    def mass(self, corners: Array) -> Array:
        """No mass: the membrane that shares the sheet carries it."""
        return np.zeros((len(corners), 18, 18))

    def recover(self, corners: Array, displacements: Array) -> dict[str, Array]:
        """Moments per length at the centroid in material axes: {"moment": (n_elements, 3, ...)}, N."""
        axes, xy = _own_frame(corners)
        plate = _to_plate_unknowns(axes) @ displacements.reshape(len(corners), 18, -1)
        curvature = strain_turn(corners, self.grain) @ (_curvature(xy, CENTROID)[:, 0] @ plate)
        moment = self.constitutive * (self.thickness**3 / 12)[:, None, None] @ curvature
        return {"moment": moment.reshape(len(corners), 3, *displacements.shape[3:])}

    def geometric_stiffness(self, corners: Array, recovered: dict[str, Array]) -> Array:
        """None of its own: the membrane's stress does the work."""
        return np.zeros((len(corners), 18, 18))
