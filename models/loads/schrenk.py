"""Lift along the span by Schrenk's approximation: half way between the planform's own shape and an ellipse.

O. Schrenk, A simple approximation method for obtaining the spanwise lift distribution, NACA TM 948, 1940
(assumption read in its opening).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from models.wing.parts import Planform

Array = NDArray[np.float64]

_POINTS = 40
"""Gauss points of every piece of the span."""


def schrenk_loading(chord_over_mean: ArrayLike, eta: ArrayLike) -> Array:
    """Lift per length over the mean lift per length, c c_l/(c_mean C_L) = [c/c_mean + (4/pi) sqrt(1 -
    eta^2)]/2.

    Parameters
    ----------
    chord_over_mean : (...) float array
        Local chord over the mean chord.
    eta : (...) float array
        Spanwise position over the semispan, -1 to 1.

    Returns
    -------
    (...) float array
        Integrates to 1 over eta from 0 to 1.

    References
    ----------
    Schrenk 1940, NACA TM 948.
    """
    eta = np.asarray(eta, dtype=float)
    return (np.asarray(chord_over_mean) + 4 / np.pi * np.sqrt(np.maximum(1 - eta**2, 0.0))) / 2


def lift_per_length(planform: Planform, y: ArrayLike, lift: float) -> Array:
    """Lift per length of span, N/m.

    Parameters
    ----------
    planform : Planform
        The wing's outline.
    y : (...) float array
        Spanwise positions, m, either side.
    lift : float
        Lift of both sides together, N.

    Returns
    -------
    (...) float array
        N/m.
    """
    span = np.abs(np.asarray(y, dtype=float))
    mean = planform.area / (2 * planform.semispan)
    shape = schrenk_loading(planform.chord.at(span) / mean, span / planform.semispan)
    return lift / (2 * planform.semispan) * shape


def rib_shares(planform: Planform, ribs: ArrayLike) -> tuple[Array, Array]:
    """Lift that goes to every rib per unit total lift, keeping force, and bending moment at every rib,
    exactly.

    Between two ribs the lift is carried to both by the lever rule; outboard of the last rib it goes to that
    rib, with the moment of its arm returned. Half a wing meets its mirror image: what lies inboard of its
    first rib goes to that rib, which gets from the other side as much as it gives.

    Parameters
    ----------
    planform : Planform
        The wing's outline.
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
    low = -planform.semispan if both else 0.0
    # The chord has kinks at the stations of its outline: no Gauss point of one piece may look past one.
    kinks = planform.chord.y
    edges = np.unique(np.concatenate([[low, 0.0, planform.semispan], at, kinks, -kinks]))
    edges = edges[(edges >= low) & (edges <= planform.semispan)]
    # sin maps the square root at the tip to a smooth function; Gauss points then integrate it to rounding.
    x, w = np.polynomial.legendre.leggauss(_POINTS)
    angles = np.arcsin(np.clip(edges / planform.semispan, -1, 1))
    half = np.diff(angles) / 2
    theta = (angles[:-1] + angles[1:])[:, None] / 2 + half[:, None] * x
    y = (planform.semispan * np.sin(theta)).ravel()
    weight = (half[:, None] * w * planform.semispan * np.cos(theta)).ravel()
    force = lift_per_length(planform, y, 1.0) * weight
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
