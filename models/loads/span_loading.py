"""A lift distribution along the span as a curve of unit lift, and its share-out to the ribs."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from fea.arrays import Array

_GAUSS = np.polynomial.legendre.leggauss(40)
"""Gauss points of every piece of the span, and their weights."""


@dataclass(frozen=True, eq=False)
class SpanLoading:
    """Lift per length along the span for a lift of 1 N on both sides together.

    `semispan`, m. `shape`: lift per length, 1/m, at stations y, m, the same on both sides; smooth in
    arcsin(y/s) between kinks. `kinks` (n,): stations of one side where it is not smooth, m.
    """

    semispan: float
    shape: Callable[[Array], Array]
    kinks: Array

    @classmethod
    def normalised(cls, semispan: float, shape: Callable[[Array], Array], kinks: ArrayLike) -> SpanLoading:
        """Of a shape of any size, brought to unit lift."""
        at = np.asarray(kinks, dtype=float)
        raw = cls(semispan, shape, at)
        y, weight = raw.points(np.array([0.0, semispan]), both=False)
        total = 2 * float(shape(y) @ weight)
        return cls(semispan, lambda y: np.asarray(shape(y) / total), at)

    def per_length(self, y: ArrayLike, lift: float) -> Array:
        """Lift per length, N/m, at stations y, m, either side, for a lift of both sides together, N."""
        return lift * self.shape(np.abs(np.asarray(y, dtype=float)))

    def points(self, stations: Array, *, both: bool) -> tuple[Array, Array]:
        """Gauss points and weights over the half span or both, in pieces between stations and kinks, m."""
        low = -self.semispan if both else 0.0
        edges = np.unique(np.concatenate([[low, 0.0, self.semispan], stations, self.kinks, -self.kinks]))
        edges = edges[(edges >= low) & (edges <= self.semispan)]
        # sin maps the square root at the tip to a smooth function; Gauss points then integrate to rounding.
        x, w = _GAUSS
        angles = np.arcsin(np.clip(edges / self.semispan, -1, 1))
        half = np.diff(angles) / 2
        theta = (angles[:-1] + angles[1:])[:, None] / 2 + half[:, None] * x
        y = (self.semispan * np.sin(theta)).ravel()
        return y, (half[:, None] * w * self.semispan * np.cos(theta)).ravel()


def rib_shares(loading: SpanLoading, ribs: ArrayLike) -> tuple[Array, Array]:
    """Lift that goes to every rib per unit total lift, keeping force, and bending moment at every rib,
    exactly.

    Between two ribs the lift is carried to both by the lever rule; outboard of the last rib it goes to that
    rib, with the moment of its arm returned. Half a wing meets its mirror image: what lies inboard of its
    first rib goes to that rib, which gets from the other side as much as it gives.

    Parameters
    ----------
    loading : SpanLoading
        Lift along the span.
    ribs : (n_ribs,) float array
        Rib positions, m, in rising order; both sides if any is negative.

    Returns
    -------
    share : (n_ribs,) float array
        Fraction of the whole wing's lift.
    arm : (n_ribs,) float array
        Moment about the flight axis (x) that goes with it for the part outboard of the last rib, m.
    """
    at = np.asarray(ribs, dtype=float)
    both = bool(at.min() < -1e-9)
    y, weight = loading.points(at, both=both)
    force = loading.per_length(y, 1.0) * weight
    share, arm = np.zeros(len(at)), np.zeros(len(at))
    right = np.clip(np.searchsorted(at, y), 0, len(at) - 1)
    left = np.maximum(right - 1, 0)
    apart = at[right] - at[left]
    to_right = np.clip((y - at[left]) / np.where(apart > 0, apart, 1.0), 0.0, 1.0)
    np.add.at(share, left, force * (1 - to_right))
    np.add.at(share, right, force * to_right)
    arm[-1] = (force * np.maximum(y - at[-1], 0.0)).sum()
    if both:
        arm[0] += (force * np.minimum(y - at[0], 0.0)).sum()
    return share, arm
