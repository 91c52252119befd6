"""Ties between nodes in a row: a node follows what others do on average along one direction, on a spring.

The middle of a taut string, say: it stands where the straight line between the string's ends is, and is
pulled back to it by the string's tension.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Ties:
    """Springs on the movement of one node less the weighted movement of two others.

    Parameters
    ----------
    nodes : (n_elements, 3) int array
        The node that follows, and the two that it follows.
    share : (n_elements,) float array
        Weight of the second of the two; the first has the rest. Where the three lie on a straight line in
        that proportion, or off it along `direction` only, rigid motion is free of force.
    direction : (n_elements, 3) float array
        Unit vectors.
    rates : (n_elements,) float array
        N/m.
    part : (n_elements,) int array or None
        Which part of the structure each belongs to.
    """

    nodes: NDArray[np.intp]
    share: Array
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
        weights = np.stack([np.ones_like(self.share), self.share - 1, -self.share], axis=1)
        return (weights[:, :, None] * self.direction[:, None, :]).reshape(-1, 9)

    def unit_stiffness(self, corners: Array) -> Array:
        """Stiffness per unit rate, (n_elements, 9, 9)."""
        rows = self._rows()
        return np.asarray(rows[:, :, None] * rows[:, None, :])

    def mass(self, corners: Array) -> Array:
        """No mass."""
        return np.zeros((len(corners), 9, 9))

    def mass_times(self, corners: Array, moves: Array) -> None:
        """No mass."""
        return

    def recover(self, corners: Array, displacements: Array) -> dict[str, Array]:
        """Pull of the springs: {"force": (n_elements, ...)}, N."""
        flat = displacements.reshape(len(self.nodes), 9, *displacements.shape[3:])
        return {"force": np.einsum("e,ei,ei...->e...", self.rates, self._rows(), flat)}

    def geometric_stiffness(self, corners: Array, recovered: dict[str, Array]) -> Array:
        """None: what a tie stands for is counted in its rate."""
        return np.zeros((len(corners), 9, 9))
