"""What each segment of a wing moves as one body, which costs it nothing.

Far out on a long wing a bay's own deformation is a thousandth of what it is carried along by the bays inboard
of it. Stiffness times the whole movement is then a small difference of large forces, and the rounding of each
acts as loads that nobody put on; taken along the span those make a hundred-millionth of what bends the wing.
What is left beside the movement of the segment as one body gives the same forces without them.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from fea.arrays import Array, Ints
from fea.assembly import rigid_motions
from fea.solve import unmoved


class Bodies:
    """Segments as bodies that may move.

    Parameters
    ----------
    freedoms : sequence of (n,) int array
        Of every segment, those of its two interfaces last.
    interfaces : sequence of int
        How many of these are of the interfaces.
    scale : (size,) float array
        Movement for a scaled one.
    held : (size,) bool array
        Freedoms that are held and have stiffness: a body moves none of its own.
    planes : (n_segments + 1,) float array
        Stations between which the segments lie, m.
    points : (n_nodes, 3) float array
        About where nodes stand, m.
    """

    def __init__(
        self,
        freedoms: Sequence[Ints],
        interfaces: Sequence[int],
        scale: Array,
        held: Any,
        planes: Array,
        points: Array,
    ) -> None:
        y = points[:, 1]
        held_nodes = np.flatnonzero(held.reshape(-1, 6).any(axis=1))
        self._amounts: list[Array] = []
        nodes, centres, at, counts = [], [], [], []
        begin = 0
        for m, (own, n_ends) in enumerate(zip(freedoms, interfaces)):
            ends = own[len(own) - n_ends :]
            mine, place = np.unique(own // 6, return_inverse=True)
            centre = points[mine].mean(axis=0)
            here = held_nodes[(y[held_nodes] > planes[m] - _NEAR) & (y[held_nodes] < planes[m + 1] + _NEAR)]
            stopped = rigid_motions(points[here] - centre).reshape(-1, 6, 6)[held.reshape(-1, 6)[here]]
            free = unmoved(stopped)
            moving = rigid_motions(points[ends // 6] - centre)[6 * np.arange(n_ends) + ends % 6] @ free
            self._amounts.append(free @ np.linalg.pinv(moving / scale[ends, None]))
            nodes.append(mine)
            centres.append(np.broadcast_to(centre, (len(mine), 3)))
            at.append(6 * (begin + place) + own % 6)
            counts.append(len(mine))
            begin += len(mine)
        self._nodes, self._centre = np.concatenate(nodes), np.concatenate(centres)
        self._of = np.repeat(np.arange(len(counts)), counts)
        self._at, self._scale = np.concatenate(at), scale[np.concatenate(freedoms)]
        self._cuts = np.cumsum([len(own) for own in freedoms])[:-1]

    def carried(self, ends: Sequence[Array], points: Array) -> list[Array]:
        """Of every segment the movement as one body that comes nearest to the scaled movements of its
        interfaces, `ends`, scaled, on all its freedoms. `points` (n_nodes, 3) are where nodes stand, m."""
        amount = np.stack([of @ moved for of, moved in zip(self._amounts, ends)])[self._of]
        x, y, z = (points[self._nodes] - self._centre).T
        a, b, c = amount[:, 3:].T
        moves = amount.copy()
        moves[:, 0] += b * z - c * y
        moves[:, 1] += c * x - a * z
        moves[:, 2] += a * y - b * x
        return np.split(moves.ravel()[self._at] / self._scale, self._cuts)


_NEAR = 1e-9
"""Lengths below which nodes stand on a plane, m."""
