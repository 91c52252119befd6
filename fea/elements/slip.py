"""Membranes that slip along their edges against what they hang on.

A panel hung on members shears with them. Where it is glued on by soft laps, it may also move across them as
a whole, by s(x) along its length: its shear is then that of the members and ds/dx more. Between two ends
the slip that costs least runs as sinh between the amplitudes at the ends (shear lag: Volkersen, Die
Nietkraftverteilung in zugbeanspruchten Nietverbindungen mit konstanten Laschenquerschnitten, 1938, from
memory, for laps that are pulled; here for a panel that is sheared). Energy of a piece of such a panel: that
of the membrane at its members' strain and ds/dx, and (1/2) s' H s of what resists slip.

The slip at an end is measured by a node of its own, from the middle between two nodes of the members there.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from fea.arrays import Array
from fea.elements.membrane import Membranes, element_axes, mean_strain_rows
from fea.offsets import flattened, flattening_matrix

_NONE = np.zeros(0)
N_NODES = 10
"""Of an element: its corners, two ends' slip, two members at either end."""


def _flat(corners: Array) -> tuple[Array, Array | None]:
    """The four corners of every piece moved to their mean plane, and the matrix that carries movements there;
    None where no piece is warped."""
    flat, stubs = flattened(np.ascontiguousarray(corners[:, :4]))
    return flat, flattening_matrix(flat, stubs, 3) if stubs.any() else None


@dataclass(frozen=True, eq=False)
class SlippingMembranes(Membranes):
    """A block of quadrilaterals, each a piece of a longer panel that slips.

    As `Membranes`, with ten nodes an element: the four that its corners hang on, in order round it; those of
    the slip at the panel's two ends; the two members' nodes at the first end and at the second, with the
    slip's node in their middle. Offsets and links of the last six are nought.

    Parameters
    ----------
    slope : (n_elements, 2) float array
        Mean ds/dx over the piece per slip at either end, 1/m.
    hold : (n_elements, 2, 2) float array
        H over the thickness, N/m2.
    upright : (n_elements, 3) float array
        Along which slip is measured, unit vectors.
    """

    slope: Array = field(default_factory=_NONE.copy)
    hold: Array = field(default_factory=_NONE.copy)
    upright: Array = field(default_factory=_NONE.copy)

    def slips(self) -> tuple[NDArray[np.intp], NDArray[np.bool_]]:
        """Nodes of the slip at both ends of every piece, and whether it holds them, (n_elements, 2)."""
        return self.nodes[:, 4:6], np.einsum("eaa->ea", self.hold) > 0

    def _slip(self) -> Array:
        """Slip at the two ends per movement of the ten corners, (n_elements, 2, 30)."""
        rows = np.zeros((len(self.nodes), 2, N_NODES, 3))
        for k in (0, 1):
            rows[:, k, 4 + k] = self.upright
            rows[:, k, 6 + 2 * k : 8 + 2 * k] = -self.upright[:, None] / 2
        return rows.reshape(-1, 2, 3 * N_NODES)

    def _sheared(self, corners: Array) -> Array:
        """Strains 1, 2, 12 of a unit shear between the panel's length and its height, (n_elements, 3)."""
        along = corners[:, 1] + corners[:, 2] - corners[:, 0] - corners[:, 3]
        up = corners[:, 2] + corners[:, 3] - corners[:, 0] - corners[:, 1]
        along = along / np.linalg.norm(along, axis=1, keepdims=True)
        up = up - np.einsum("ei,ei->e", up, along)[:, None] * along
        up /= np.linalg.norm(up, axis=1, keepdims=True)
        axes = element_axes(corners, self.grain)[:, :2]
        (c_1, c_2), (s_1, s_2) = (np.einsum("eki,ei->ke", axes, way) for way in (along, up))
        return np.stack([c_1 * s_1, c_2 * s_2, c_1 * s_2 + c_2 * s_1], axis=1)

    def unit_stiffness(self, corners: Array) -> Array:
        """Stiffness per unit thickness, (n_elements, 30, 30)."""
        flat, into = _flat(corners)
        plain = super().unit_stiffness(flat)
        strain, area = mean_strain_rows(flat, self.grain)
        if into is not None:
            plain, strain = np.swapaxes(into, 1, 2) @ plain @ into, strain @ into
        slip = self._slip()
        out = np.swapaxes(slip, 1, 2) @ self.hold @ slip
        out[:, :12, :12] += plain
        # Work of the members' stress on the strain that slip adds.
        stress = (self._sheared(flat)[:, None] @ self.effective @ strain)[:, 0] * area[:, None]
        mixed = stress[:, :, None] * (self.slope[:, None] @ slip)
        out[:, :12] += mixed
        out[:, :, :12] += np.swapaxes(mixed, 1, 2)
        return np.asarray(out)

    def mass(self, corners: Array) -> Array:
        """Lumped mass on the corners' movements; the slip has none."""
        out = np.zeros((len(corners), 3 * N_NODES, 3 * N_NODES))
        out[:, :12, :12] = super().mass(_flat(corners)[0])
        return out

    def mass_times(self, corners: Array, moves: Array) -> Array | None:
        """Mass times movements (n_elements, 10, 3, ...) of the corners; None where there is none."""
        carried = super().mass_times(_flat(corners)[0], moves[:, :4])
        if carried is None:
            return None
        out = np.zeros_like(moves)
        out[:, :4] = carried
        return out

    def recover(self, corners: Array, displacements: Array) -> dict[str, Array]:
        """Mean stress in material axes, as of `Membranes`, with that of the slip."""
        flat, into = _flat(corners)
        n, trailing = len(corners), displacements.shape[3:]
        moves = displacements[:, :4, :3].reshape(n, 12, -1)
        moves = moves if into is None else into @ moves
        found = super().recover(flat, moves.reshape(n, 4, 3, *trailing))
        every = displacements[:, :, :3].reshape(n, 3 * N_NODES, -1)
        amount = np.einsum("ek,eki,eic->ec", self.slope, self._slip(), every)
        strain = self._sheared(flat)
        if self.strain_map is not None:
            strain = np.einsum("eij,ej->ei", self.strain_map, strain)
        own = np.einsum("eij,ej->ei", self.constitutive, strain)
        added = (own[:, :, None] * amount[:, None]).reshape(n, 3, *trailing)
        return {**found, "stress": found["stress"] + added}

    def geometric_stiffness(self, corners: Array, recovered: dict[str, Array]) -> Array:
        """Stiffness of the stressed membrane against normal movement."""
        out = np.zeros((len(corners), 3 * N_NODES, 3 * N_NODES))
        out[:, :12, :12] = super().geometric_stiffness(_flat(corners)[0], recovered)
        return out
