"""Ties of a node to three others: along one direction it follows their plane, on a spring.

The middle of a taut string, say: it stands where the straight line between the string's ends is, and is
pulled back to it by the string's tension.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

import numpy as np
from numpy.typing import NDArray

from fea.arrays import Array


@dataclass(frozen=True, eq=False)
class Ties:
    """Springs on the movement of a node less that of a plane through three others.

    Parameters
    ----------
    nodes : (n_elements, 4) int array
        The node that follows, and the three that it follows.
    shares : (n_elements, 3) float array
        Weights of the three, with the sum 1. Where the node lies off their weighted mean along `direction`
        alone, rigid motion is free of force.
    direction : (n_elements, 3) float array
        Unit vectors square to the plane.
    rates : (n_elements,) float array
        N/m.
    part : (n_elements,) int array or None
        Which part of the structure each belongs to.
    """

    nodes: NDArray[np.intp]
    shares: Array
    direction: Array
    rates: Array
    part: NDArray[np.intp] | None = None
    offsets: ClassVar[None] = None
    freedoms: ClassVar[int] = 3
    kind: ClassVar[str] = "tie"

    @property
    def scale(self) -> Array:
        """Rates of the springs, (n_elements,), N/m."""
        return self.rates

    def _rows(self) -> Array:
        weights = np.concatenate([np.ones((len(self.shares), 1)), -self.shares], axis=1)
        return (weights[:, :, None] * self.direction[:, None, :]).reshape(-1, 12)

    def unit_stiffness(self, corners: Array) -> Array:
        """Stiffness per unit rate, (n_elements, 12, 12)."""
        rows = self._rows()
        return np.asarray(rows[:, :, None] * rows[:, None, :])

    def mass(self, corners: Array) -> Array:
        """No mass."""
        return np.zeros((len(corners), 12, 12))

    def mass_times(self, corners: Array, moves: Array) -> None:
        """No mass."""
        return

    def recover(self, corners: Array, displacements: Array) -> dict[str, Array]:
        """Pull of the springs: {"force": (n_elements, ...)}, N."""
        flat = displacements.reshape(len(self.nodes), 12, *displacements.shape[3:])
        return {"force": np.einsum("e,ei,ei...->e...", self.rates, self._rows(), flat)}

    def geometric_stiffness(self, corners: Array, recovered: dict[str, Array]) -> Array:
        """None: what a tie stands for is counted in its rate."""
        return np.zeros((len(corners), 12, 12))


def follow(points: Array) -> tuple[Array, Array]:
    """Weights with which points follow three others that do not lie on one line, (n, 3), the shares of
    their feet in the plane with the sum 1, and the unit normals of these planes, (n, 3); point and others
    (n, 4, 3), m."""
    one, two = points[:, 2] - points[:, 1], points[:, 3] - points[:, 1]
    normal = np.cross(one, two)
    normal /= np.linalg.norm(normal, axis=1, keepdims=True)
    frame = np.stack([one, two, normal], axis=2)
    along = np.linalg.solve(frame, (points[:, 0] - points[:, 1])[:, :, None])[:, :2, 0]
    return np.concatenate([1 - along.sum(axis=1, keepdims=True), along], axis=1), normal
