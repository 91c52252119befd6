"""Lift of a straight wing by the lifting line, with Glauert's sine series.

Circulation 2 b U sum A_n sin n theta, y = (b/2) cos theta, n odd; at every station sum A_n sin n theta
(n mu + sin theta) = mu alpha sin theta with mu = a_0 c/(4 b). H. Glauert, The Elements of Aerofoil and
Airscrew Theory, 1926, chapter XI (from memory). It knows the chord's influence only through the
section's slope a_0: no sweep, no chordwise extent.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from fea.arrays import Array
from fea.dense import solved
from models.wing.parts import Planform

TERMS = 200
"""Terms of the series."""


@dataclass(frozen=True, eq=False)
class LiftingLine:
    """A straight wing's lift per radian.

    `span`: of both sides, m. `area`: m2. `series` (n_terms,): coefficients A_1, A_3, A_5 ... per radian.
    """

    span: float
    area: float
    series: Array

    @property
    def lift_slope(self) -> float:
        """dC_L/dalpha per radian, pi A A_1."""
        return float(np.pi * self.span**2 / self.area * self.series[0])

    @property
    def drag_factor(self) -> float:
        """Induced drag over that of an ellipse, less 1: sum of n (A_n/A_1)^2 from n = 3."""
        n = 2 * np.arange(len(self.series)) + 1
        return float((n[1:] * (self.series[1:] / self.series[0]) ** 2).sum())

    def load(self, y: ArrayLike) -> Array:
        """c c_l per radian at stations y (m), m."""
        theta = np.arccos(np.clip(np.abs(np.asarray(y, dtype=float)) / (self.span / 2), 0.0, 1.0))
        n = 2 * np.arange(len(self.series)) + 1
        return np.asarray(4 * self.span * (np.sin(theta[..., None] * n) @ self.series))


def lifting_line(planform: Planform) -> LiftingLine:
    """Solve the series for a planform at one angle all along the span: of the planform the chord counts and
    nothing else; sections lift 2 pi per radian."""
    span = 2 * planform.semispan
    theta = np.arange(1, TERMS + 1) * np.pi / (2 * TERMS)
    n = 2 * np.arange(TERMS) + 1
    mu = 2 * np.pi * planform.chord.at(span / 2 * np.cos(theta)) / (4 * span)
    rows = np.sin(theta[:, None] * n) * (n * mu[:, None] + np.sin(theta)[:, None])
    series = np.asarray(solved(rows, mu * np.sin(theta)), dtype=np.float64)
    return LiftingLine(span, planform.area, series)
