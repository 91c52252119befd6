"""Where everything of a wing is laid: its mesh along the span, and the draft that takes nodes and parts."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from fea.arrays import Array, Ints
from models.structure.model import Draft, Part
from models.wing.parts import Wing

_INSIDE = 1e-7
"""Fraction of an element by which its ends are looked at from within, so that a step belongs to one side."""


@dataclass(frozen=True, eq=False)
class Ground:
    """A wing on the stations of its mesh.

    `y` (n_stations,) m, port negative; `bay` (n_spans,) of each span and `side`, "port" or "starboard" ("" of
    a specimen); `mirrored` where both sides are modelled.
    """

    wing: Wing
    draft: Draft
    y: Array
    bay: Ints
    side: list[str]
    mirrored: bool

    @cached_property
    def span(self) -> Array:
        """Distance of every station from the centre line, (n_stations,), m."""
        return np.abs(self.y)

    @cached_property
    def ends(self) -> Array:
        """Distance of both ends of every span from the centre line, just within it so that a step is on one
        side, (n_spans, 2), m."""
        inset = np.diff(self.y) * _INSIDE
        return np.asarray(np.abs(np.stack([self.y[:-1] + inset, self.y[1:] - inset], axis=1)))

    def lies(self, bays: frozenset[tuple[str, int]]) -> NDArray[np.bool_]:
        """Which spans lie in the bays, (n_spans,)."""
        spans = zip(self.side, self.bay.tolist())
        return np.array([(s or "starboard", b) in bays or ("", b) in bays for s, b in spans])

    def part(self, kind: str, spar: str, place: str, span: int) -> int:
        """Number of a part that lies along a span.

        Parameters
        ----------
        kind, spar, place
            As of `Part`.
        span : int
            In the mesh.
        """
        return self.draft.part(Part(kind, spar, place, int(self.bay[span]), self.side[span]))

    def nodes(self, x: Array, z: Array, where: Ints | NDArray[np.bool_]) -> Ints:
        """New nodes at some stations, from x and z of all (m): (n_stations,) numbers, -1 elsewhere."""
        numbers = np.full(len(self.y), -1, dtype=np.intp)
        numbers[where] = self.draft.add_nodes(np.stack([x, self.y, z], axis=1)[where])
        return numbers
