"""Springs between two nodes: lumped stiffness along and about given axes.

Both corners are meant to lie at one place, so that the forces of a spring balance without a couple (common
knowledge).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

import numpy as np
from numpy.typing import NDArray

from fea.arrays import Array


@dataclass(frozen=True, eq=False)
class Springs:
    """Springs that resist the movement and rotation of one corner against another at the same place.

    Parameters
    ----------
    nodes : (n_elements, 2) int array
        Node numbers.
    rates : (n_elements, 6) float array
        Stiffness along and about the spring's axes, N/m and N m/rad.
    axes : (n_elements, 3, 3) float array
        Rows: the spring's axes.
    offsets : (n_elements, 2, 3) float array or None
        Node to corner, m; both corners should coincide, or a force along the spring would turn the structure.
    part : (n_elements,) int array or None
        Which part of the structure each belongs to.
    """

    nodes: NDArray[np.intp]
    rates: Array
    axes: Array
    offsets: Array | None = None
    part: NDArray[np.intp] | None = None
    freedoms: ClassVar[int] = 6
    kind: ClassVar[str] = "spring"

    @property
    def scale(self) -> Array:
        """Factor on the unit stiffness, (n_elements,)."""
        return np.ones(len(self.nodes))

    def unit_stiffness(self, corners: Array) -> Array:
        """Stiffness, (n_elements, 12, 12)."""
        return stiffness(self.rates, self.axes)

    def mass(self, corners: Array) -> Array:
        """No mass."""
        return np.zeros((len(corners), 12, 12))

    def recover(self, corners: Array, displacements: Array) -> dict[str, Array]:
        """Forces of the springs in their own axes: {"force": (n_elements, 6, ...)}, N and N m."""
        gap = displacements[:, 1] - displacements[:, 0]
        local = np.concatenate(
            [
                np.einsum("eij,ej...->ei...", self.axes, gap[:, :3]),
                np.einsum("eij,ej...->ei...", self.axes, gap[:, 3:]),
            ],
            axis=1,
        )
        return {"force": np.einsum("ei,ei...->ei...", self.rates, local)}

    def geometric_stiffness(self, corners: Array, recovered: dict[str, Array]) -> Array:
        """None: a spring has no length."""
        return np.zeros((len(corners), 12, 12))


def stiffness(rates: Array, axes: Array) -> Array:
    """Stiffness of springs in global axes, from rates (n, 6) along and about `axes` (n, 3, 3): (n, 12,
    12)."""
    block = np.zeros((len(rates), 6, 6))
    for first in (0, 3):
        cut = slice(first, first + 3)
        block[:, cut, cut] = np.einsum("eji,ej,ejk->eik", axes, rates[:, cut], axes, optimize=True)
    return np.block([[block, -block], [-block, block]])
