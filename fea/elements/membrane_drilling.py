"""Plane quadrilateral membranes with rotations about their normal: hybrid stress, nine terms, bent edges.

Stress satisfies equilibrium inside (complete linear, and the two parabolas of bending under a shear force);
the edges move as Allman's, a parabola across the edge for the difference of its ends' turns. Unlike one
of movements alone it stays right in in-plane bending when its sides lean. After Aminpour, An assumed-stress
hybrid 4-node shell element with drilling degrees of freedom, International Journal for Numerical Methods in
Engineering 33, 1992 (from memory, checked by its patch and bending tests).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

import numpy as np
from numpy.typing import NDArray

from fea.elements.faults import DegenerateElement
from fea.elements.membrane import element_axes, geometric_stiffness, lumped_mass

Array = NDArray[np.float64]

# Share of the shear stiffness against turning all four corners alike, which the edges' shape does not feel.
EQUAL_TURN_SHARE = 1e-3
_XI, _ETA = np.array([-1.0, 1.0, 1.0, -1.0]), np.array([-1.0, -1.0, 1.0, 1.0])
_INSIDE, _INSIDE_WEIGHTS = np.polynomial.legendre.leggauss(3)


@dataclass(frozen=True, eq=False)
class DrillingMembranes:
    """A block of quadrilateral membranes with rotations about their normal.

    Parameters
    ----------
    nodes : (n_elements, 4) int array
        Node numbers, in order round the element.
    thickness : (n_elements,) float array
        m.
    constitutive : (n_elements, 3, 3) float array
        Plane-stress moduli along the material axes 1, 2 and 12, Pa.
    grain : (n_elements, 3) float array
        Direction of material axis 1; its part in the element's plane counts.
    offsets : (n_elements, 4, 3) float array or None
        Node to corner, m.
    density : (n_elements,) float array or None
        kg/m3.
    part : (n_elements,) int array or None
        Which part of the structure each belongs to.
    """

    nodes: NDArray[np.intp]
    thickness: Array
    constitutive: Array
    grain: Array
    offsets: Array | None = None
    density: Array | None = None
    part: NDArray[np.intp] | None = None
    freedoms: ClassVar[int] = 6
    kind: ClassVar[str] = "drilling membrane"

    @property
    def scale(self) -> Array:
        """Factor (thickness, m) on the unit stiffness, (n_elements,)."""
        return self.thickness

    def unit_stiffness(self, corners: Array) -> Array:
        """Stiffness per unit thickness, (n_elements, 24, 24)."""
        return unit_stiffness(corners, self.constitutive, self.grain)

    def mass(self, corners: Array) -> Array:
        """Lumped mass on the corners' movements."""
        density = np.zeros(len(corners)) if self.density is None else self.density
        return lumped_mass(corners, self.thickness * density, self.freedoms)

    def recover(self, corners: Array, displacements: Array) -> dict[str, Array]:
        """Stress in material axes at the centre: {"stress": (n_elements, 3, ...)}, Pa, order 1, 2, 12."""
        points = np.zeros((1, 2))
        return {"stress": stresses(corners, displacements, self.constitutive, self.grain, points)[:, 0]}

    def geometric_stiffness(self, corners: Array, recovered: dict[str, Array]) -> Array:
        """Stiffness of the stressed membrane against normal movement, (n_elements, 24, 24)."""
        plain = geometric_stiffness(corners, self.thickness[:, None] * recovered["stress"], self.grain)
        out = np.zeros((len(corners), 4, 6, 4, 6))
        out[:, :, :3, :, :3] = plain.reshape(-1, 4, 3, 4, 3)
        return out.reshape(-1, 24, 24)


def unit_stiffness(corners: Array, constitutive: Array, grain: Array) -> Array:
    """Stiffness per unit thickness in global axes: G' H^-1 G, and a slight hold on turning all corners alike.

    Parameters
    ----------
    corners : (n_elements, 4, 3) float array
        Corner positions in a plane, in order round the element, m.
    constitutive : (n_elements, 3, 3) float array
        Plane-stress moduli in material axes, Pa.
    grain : (n_elements, 3) float array
        Direction of material axis 1.

    Returns
    -------
    (n_elements, 24, 24) float array
        N/m, N, N m per m of thickness; unknowns u v w rx ry rz of each corner. Rank 9.

    Raises
    ------
    DegenerateElement
        No area, a corner turned inside out, or the grain square to the element.

    Notes
    -----
    H is the integral of the stress terms' compliance, G the work of their tractions on the edges' movement.
    Neighbours must have the same rotations: beside a membrane of movements alone the patch test fails.

    References
    ----------
    Aminpour 1992; Allman 1984 for the edges (both from memory).
    """
    frame = _Frame(corners, constitutive, grain)
    work, compliance = frame.work, frame.compliance
    plane = np.swapaxes(work, 1, 2) @ np.linalg.solve(compliance, work)
    turn = frame.equal_turn
    hold = EQUAL_TURN_SHARE * constitutive[:, 2, 2] * frame.area
    plane = plane + hold[:, None, None] * turn[:, :, None] * turn[:, None, :]
    carry = frame.carry
    return np.swapaxes(carry, 1, 2) @ ((plane + np.swapaxes(plane, 1, 2)) / 2) @ carry


def stresses(corners: Array, displacements: Array, constitutive: Array, grain: Array, points: Array) -> Array:
    """Stresses in material axes at points of the reference square.

    Parameters
    ----------
    corners : (n_elements, 4, 3) float array
        Corner positions, m.
    displacements : (n_elements, 4, 6, ...) float array
        Movements (m) and rotations (rad) of the corners.
    constitutive : (n_elements, 3, 3) float array
        Plane-stress moduli in material axes, Pa.
    grain : (n_elements, 3) float array
        Direction of material axis 1.
    points : (n_points, 2) float array
        Where, -1 to 1 in both directions.

    Returns
    -------
    (n_elements, n_points, 3, ...) float array
        Pa; along the grain, across it, shear.
    """
    frame = _Frame(corners, constitutive, grain)
    n = len(corners)
    moves = frame.carry @ displacements.reshape(n, 24, -1)
    terms = np.linalg.solve(frame.compliance, frame.work @ moves)
    shape = (1 + points[:, :1] * _XI) * (1 + points[:, 1:] * _ETA) / 4
    own = _stress_terms(np.einsum("pc,eci->epi", shape, frame.scaled)) @ terms[:, None]
    # Stress turns by the transpose of the inverse of the strain's turn.
    turned = np.linalg.solve(np.swapaxes(frame.strain_turn, 1, 2)[:, None], own)
    return np.asarray(turned, dtype=np.float64).reshape(n, len(points), 3, *displacements.shape[3:])


class _Frame:
    """Geometry in axes that bisect the element, lengths over its size so that the terms are of one order."""

    def __init__(self, corners: Array, constitutive: Array, grain: Array) -> None:
        material = element_axes(corners, grain)
        self.axes = _bisecting_axes(corners, material[:, 2])
        plane = np.einsum("ecj,eij->eci", corners - corners.mean(axis=1, keepdims=True), self.axes[:, :2])
        self.size = np.sqrt((plane**2).sum(axis=(1, 2)) / 4)
        self.scaled = plane / self.size[:, None, None]
        c, s = np.einsum("eij,ej->ei", self.axes[:, :2], material[:, 0]).T
        rows = [[c * c, s * s, c * s], [s * s, c * c, -c * s], [-2 * c * s, 2 * c * s, c * c - s * s]]
        self.strain_turn = np.array(rows).transpose(2, 0, 1)
        own = np.swapaxes(self.strain_turn, 1, 2) @ constitutive @ self.strain_turn
        self.compliance, self.area = self._compliance(np.linalg.inv(own).astype(np.float64))
        self.work = self._work()

    @property
    def carry(self) -> Array:
        """From u v w rx ry rz of the corners to movement in the plane over the size and turn, (n, 12, 24)."""
        n = len(self.axes)
        out = np.zeros((n, 4, 3, 4, 6))
        for corner in range(4):
            out[:, corner, :2, corner, :3] = self.axes[:, :2] / self.size[:, None, None]
            out[:, corner, 2, corner, 3:] = self.axes[:, 2]
        return out.reshape(n, 12, 24)

    def _compliance(self, inverse: Array) -> tuple[Array, Array]:
        """Integral of the terms' compliance over the element, (n, 9, 9), and its area, (n,), m2."""
        xi, eta = (grid.ravel() for grid in np.meshgrid(_INSIDE, _INSIDE, indexing="ij"))
        weights = np.outer(_INSIDE_WEIGHTS, _INSIDE_WEIGHTS).ravel()
        shape = (1 + np.outer(xi, _XI)) * (1 + np.outer(eta, _ETA)) / 4
        slopes = np.stack([_XI * (1 + np.outer(eta, _ETA)), _ETA * (1 + np.outer(xi, _XI))], axis=1) / 4
        jacobian = np.einsum("pdc,eci->epdi", slopes, self.scaled)
        determinant = jacobian[..., 0, 0] * jacobian[..., 1, 1] - jacobian[..., 0, 1] * jacobian[..., 1, 0]
        if (determinant <= 0).any():
            raise DegenerateElement("quadrilateral", np.flatnonzero((determinant <= 0).any(axis=1)))
        terms = _stress_terms(np.einsum("pc,eci->epi", shape, self.scaled))
        share = weights * determinant * (self.size**2)[:, None]
        strain = share[..., None, None] * (inverse[:, None] @ terms)
        n = len(inverse)
        return np.swapaxes(terms.reshape(n, -1, 9), 1, 2) @ strain.reshape(n, -1, 9), share.sum(axis=1)

    def _work(self) -> Array:
        """Work of the terms' tractions on the corners' movement over the size, and turns, (n, 9, 12)."""
        n = len(self.scaled)
        work = np.zeros((n, 9, 12))
        for first in range(4):
            second = (first + 1) % 4
            along = self.scaled[:, second] - self.scaled[:, first]
            # Outward normal times length; a turn moves the edge across itself by half its length x s (1 - s).
            normal = np.stack([along[:, 1], -along[:, 0]], axis=1)
            for at, weight in zip((_INSIDE + 1) / 2, _INSIDE_WEIGHTS / 2):
                terms = _stress_terms((self.scaled[:, first] + at * along)[:, None])[:, 0]
                traction = np.stack(
                    [
                        terms[:, 0] * normal[:, :1] + terms[:, 2] * normal[:, 1:],
                        terms[:, 2] * normal[:, :1] + terms[:, 1] * normal[:, 1:],
                    ],
                    axis=2,
                )
                across = (traction @ normal[:, :, None])[..., 0] * (at * (1 - at) / 2)
                work[:, :, 3 * first : 3 * first + 2] += weight * (1 - at) * traction
                work[:, :, 3 * second : 3 * second + 2] += weight * at * traction
                work[:, :, 3 * first + 2] -= weight * across
                work[:, :, 3 * second + 2] += weight * across
        return work * (self.size**2)[:, None, None]

    @property
    def equal_turn(self) -> Array:
        """Mean of the corners' turns less the rotation of the movement at the centre, (n, 12)."""
        slopes = np.stack([_XI, _ETA]) / 4
        jacobian = slopes @ self.scaled
        gradient = np.linalg.solve(jacobian, np.broadcast_to(slopes, (len(jacobian), 2, 4)))
        out = np.zeros((len(jacobian), 4, 3))
        out[:, :, 0], out[:, :, 1], out[:, :, 2] = gradient[:, 1] / 2, -gradient[:, 0] / 2, 0.25
        return out.reshape(-1, 12)


def _bisecting_axes(corners: Array, normal: Array) -> Array:
    """Axes (n, 3, 3) as near as can be to both mid-lines, the same whichever corner is the first."""
    first = corners[:, 1] + corners[:, 2] - corners[:, 0] - corners[:, 3]
    second = corners[:, 2] + corners[:, 3] - corners[:, 0] - corners[:, 1]
    first = first / np.linalg.norm(first, axis=1, keepdims=True)
    second = second / np.linalg.norm(second, axis=1, keepdims=True)
    x = first + np.cross(second, normal)
    x = x / np.linalg.norm(x, axis=1, keepdims=True)
    return np.stack([x, np.cross(normal, x), normal], axis=1)


def _stress_terms(points: Array) -> Array:
    """Nine stress states in equilibrium at points (n, n_points, 2): (n, n_points, 3, 9)."""
    x, y = points[..., 0], points[..., 1]
    out = np.zeros((*x.shape, 3, 9))
    out[..., 0, 0] = out[..., 1, 1] = out[..., 2, 2] = 1.0
    out[..., 0, 3], out[..., 1, 4] = y, x
    out[..., 0, 5], out[..., 2, 5] = x, -y
    out[..., 1, 6], out[..., 2, 6] = y, -x
    out[..., 0, 7], out[..., 1, 8] = y * y, x * x
    return out
