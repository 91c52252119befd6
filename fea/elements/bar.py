"""Straight bars: two ends, constant axial force; stiffness (EA/L) s s' with s the change of length per unit
movement.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

import numpy as np
from numpy.typing import NDArray

from fea.arrays import Array
from fea.elements.faults import DegenerateElement


@dataclass(frozen=True, eq=False)
class Bars:
    """A block of bars.

    Parameters
    ----------
    nodes : (n_elements, 2) int array
        Node numbers.
    axial_rigidity : (n_elements,) float array
        E A, N.
    offsets : (n_elements, 2, 3) float array or None
        Node to bar end, m; None where the ends are the nodes.
    mass_per_length : (n_elements,) float array or None
        kg/m; None for none.
    part : (n_elements,) int array or None
        Which part of the structure each belongs to.
    extra_links : (n_elements, 2, 3, 3) float array or None
        Movement of each end per rotation of its node besides that of the rigid offset, m: how a bar stretches
        by the twist of the member that it is glued to.
    """

    nodes: NDArray[np.intp]
    axial_rigidity: Array
    offsets: Array | None = None
    mass_per_length: Array | None = None
    part: NDArray[np.intp] | None = None
    extra_links: Array | None = None
    freedoms: ClassVar[int] = 3
    kind: ClassVar[str] = "bar"

    @property
    def scale(self) -> Array:
        """Factor (E A, N) on the unit stiffness, (n_elements,)."""
        return self.axial_rigidity

    def unit_stiffness(self, corners: Array) -> Array:
        """Stiffness per unit E A, (n_elements, 6, 6), 1/m."""
        return stiffness(corners, np.ones(len(corners)))

    def mass(self, corners: Array) -> Array:
        """Consistent mass, (n_elements, 6, 6), kg."""
        return consistent_mass(corners, _or_zero(self.mass_per_length, len(corners)))

    def recover(self, corners: Array, displacements: Array) -> dict[str, Array]:
        """Axial forces (N) under displacements (n_elements, 2, 3, ...): {"axial_force": (n_elements,
        ...)}."""
        return {"axial_force": axial_forces(corners, displacements, self.axial_rigidity)}

    def geometric_stiffness(self, corners: Array, recovered: dict[str, Array]) -> Array:
        """Stiffness of the stressed bar against sideways movement, (n_elements, 6, 6), N/m."""
        return geometric_stiffness(corners, recovered["axial_force"])


def _or_zero(values: Array | None, n: int) -> Array:
    return np.zeros(n) if values is None else values


def _length_and_axis(ends: Array) -> tuple[Array, Array]:
    span = ends[:, 1] - ends[:, 0]
    length = np.linalg.norm(span, axis=1)
    if not length.all():
        raise DegenerateElement("bar", np.flatnonzero(length == 0))
    return length, span / length[:, None]


def stiffness(ends: Array, axial_rigidity: Array) -> Array:
    """Stiffness of straight bars in global axes: (EA/L) s s', with s the change of length per unit
    displacement.

    Parameters
    ----------
    ends : (n_elements, 2, 3) float array
        End positions, m.
    axial_rigidity : (n_elements,) float array
        E A, N.

    Returns
    -------
    (n_elements, 6, 6) float array
        N/m; unknowns in the order u1 v1 w1 u2 v2 w2. Rank 1: a bar resists one of its six motions.

    Raises
    ------
    DegenerateElement
        Ends coincide; carries the element numbers.

    References
    ----------
    Any text on matrix structural analysis, the direct stiffness of a pin-jointed bar (common knowledge).
    """
    length, axis = _length_and_axis(ends)
    stretch = np.concatenate([-axis, axis], axis=1)
    return (axial_rigidity / length)[:, None, None] * stretch[:, :, None] * stretch[:, None, :]


def axial_forces(ends: Array, displacements: Array, axial_rigidity: Array) -> Array:
    """Axial force of bars, tension positive, (n_elements, ...), N, from their ends, (n_elements, 2, 3), m,
    movements of these, (n_elements, 2, 3, ...), m, and E A, (n_elements,), N."""
    length, axis = _length_and_axis(ends)
    stretch = np.einsum("ej,ej...->e...", axis, displacements[:, 1] - displacements[:, 0])
    rate = axial_rigidity / length
    return rate.reshape(-1, *([1] * (stretch.ndim - 1))) * stretch


def geometric_stiffness(ends: Array, axial_force: Array) -> Array:
    """Stiffness of bars under an axial force, (n_elements,), N, tension positive, against sideways movement:
    (N/L)(1 - a a') between the ends, (n_elements, 2, 3), m; (n_elements, 6, 6), N/m."""
    length, axis = _length_and_axis(ends)
    sideways = np.eye(3) - axis[:, :, None] * axis[:, None, :]
    block = (axial_force / length)[:, None, None] * sideways
    return np.block([[block, -block], [-block, block]])


def consistent_mass(ends: Array, mass_per_length: Array) -> Array:
    """Consistent mass of bars with linear movement between the ends, (n_elements, 2, 3), m: (m L/6) [[2, 1],
    [1, 2]] in each direction, (n_elements, 6, 6), kg, from (n_elements,) kg/m."""
    length, _ = _length_and_axis(ends)
    pattern = np.kron(np.array([[2.0, 1.0], [1.0, 2.0]]), np.eye(3)) / 6
    return (mass_per_length * length)[:, None, None] * pattern
