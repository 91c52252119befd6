"""Point masses carried on rigid arms: weight and inertia without stiffness."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Masses:
    """Point masses carried on rigid arms.

    Parameters
    ----------
    nodes : (n_elements, 1) int array
        Node numbers.
    mass_values : (n_elements,) float array
        kg.
    offsets : (n_elements, 1, 3) float array or None
        Node to mass, m.
    part : (n_elements,) int array or None
        Which part of the structure each belongs to.
    """

    nodes: NDArray[np.intp]
    mass_values: Array
    offsets: Array | None = None
    part: NDArray[np.intp] | None = None
    freedoms: ClassVar[int] = 3
    kind: ClassVar[str] = "mass"

    @property
    def scale(self) -> Array:
        """Factor on the unit stiffness, (n_elements,)."""
        return np.ones(len(self.nodes))

    def unit_stiffness(self, corners: Array) -> Array:
        """No stiffness."""
        return np.zeros((len(corners), 3, 3))

    def mass(self, corners: Array) -> Array:
        """Mass on the movement of the arm's end, (n_elements, 3, 3), kg."""
        return self.mass_values[:, None, None] * np.eye(3)

    def recover(self, corners: Array, displacements: Array) -> dict[str, Array]:
        """Nothing to recover."""
        return {}

    def geometric_stiffness(self, corners: Array, recovered: dict[str, Array]) -> Array:
        """None."""
        return np.zeros((len(corners), 3, 3))
