"""Lift along the span by Schrenk's approximation: half way between the planform's own shape and an ellipse.

O. Schrenk, A simple approximation method for obtaining the spanwise lift distribution, NACA TM 948, 1940
(assumption read in its opening).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from fea.arrays import Array
from models.loads.span_loading import SpanLoading
from models.wing.parts import Planform


def schrenk_loading(chord_over_mean: ArrayLike, eta: ArrayLike) -> Array:
    """Lift per length over the mean lift per length, (...), c c_l/(c_mean C_L) = [c/c_mean + (4/pi)
    sqrt(1 - eta^2)]/2, by local over mean chord and spanwise position over the semispan, -1 to 1; it
    integrates to 1 over eta from 0 to 1.

    References
    ----------
    Schrenk 1940, NACA TM 948.
    """
    eta = np.asarray(eta, dtype=float)
    return (np.asarray(chord_over_mean) + 4 / np.pi * np.sqrt(np.maximum(1 - eta**2, 0.0))) / 2


def lift_per_length(planform: Planform, y: ArrayLike, lift: float) -> Array:
    """Lift per length of span, N/m, at spanwise positions of either side, m, of a lift of both sides
    together, N."""
    span = np.abs(np.asarray(y, dtype=float))
    mean = planform.area / (2 * planform.semispan)
    shape = schrenk_loading(planform.chord.at(span) / mean, span / planform.semispan)
    return lift / (2 * planform.semispan) * shape


def schrenk_span(planform: Planform) -> SpanLoading:
    """Schrenk's lift along the span of a planform, for a lift of 1 N."""
    return SpanLoading(planform.semispan, lambda y: lift_per_length(planform, y, 1.0), planform.chord.y)
