"""Point masses carried by one node on a rigid arm, or shared by several: weight and inertia without
stiffness."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

import numpy as np
from numpy.typing import NDArray

from fea.arrays import Array


@dataclass(frozen=True, eq=False)
class Masses:
    """Point masses carried on rigid arms.

    A mass moves as its corners do in the mean, each by its share, so that its weight and inertia act on them
    in these shares and a lever is carried by forces alone.

    Parameters
    ----------
    nodes : (n_elements, k) int array
        Node numbers.
    mass_values : (n_elements,) float array
        kg.
    offsets : (n_elements, k, 3) float array or None
        Node to corner, m; the mass is where the corners are in the mean.
    shares : (n_elements, k) float array or None
        Of every corner, one together; beyond the corners one of two may be negative. None: of one corner.
    part : (n_elements,) int array or None
        Which part of the structure each belongs to.
    one : (n_elements,) int array or None
        Number of the point mass that each is a share of: those of one number stand where they do in the mean.
        None: each is a mass of its own.
    """

    nodes: NDArray[np.intp]
    mass_values: Array
    offsets: Array | None = None
    shares: Array | None = None
    part: NDArray[np.intp] | None = None
    one: NDArray[np.intp] | None = None
    freedoms: ClassVar[int] = 3
    kind: ClassVar[str] = "mass"

    @property
    def scale(self) -> Array:
        """Factor on the unit stiffness, (n_elements,)."""
        return np.ones(len(self.nodes))

    @property
    def carried(self) -> Array:
        """Share of each corner, (n_elements, k)."""
        return np.ones(self.nodes.shape) if self.shares is None else self.shares

    def places(self, corners: Array) -> Array:
        """Where the masses are, (n_elements, 3), m, from their corners (n_elements, k, 3)."""
        own: Array = np.einsum("ek,eki->ei", self.carried, corners)
        if self.one is None:
            return own
        _, at = np.unique(self.one, return_inverse=True)
        moment = np.zeros((at.max(initial=-1) + 1, 3))
        np.add.at(moment, at, self.mass_values[:, None] * own)
        mass = np.bincount(at, self.mass_values)
        return np.where(mass[at, None] > 0, (moment / np.where(mass > 0, mass, 1.0)[:, None])[at], own)

    def unit_stiffness(self, corners: Array) -> Array:
        """No stiffness."""
        size = 3 * self.nodes.shape[1]
        return np.zeros((len(corners), size, size))

    def mass(self, corners: Array) -> Array:
        """Mass on the movements of the corners, (n_elements, 3 k, 3 k), kg."""
        size, share = 3 * self.nodes.shape[1], self.carried
        pairs = self.mass_values[:, None, None] * share[:, :, None] * share[:, None, :]
        return np.einsum("eij,ab->eiajb", pairs, np.eye(3)).reshape(-1, size, size)

    def recover(self, corners: Array, displacements: Array) -> dict[str, Array]:
        """Nothing to recover."""
        return {}

    def geometric_stiffness(self, corners: Array, recovered: dict[str, Array]) -> Array:
        """None."""
        return self.unit_stiffness(corners)
