"""Cubic splines through points, smooth over the first and the last but one of them too ("not a knot").

As SciPy's `CubicSpline`, whose package takes longer to load than a wing to solve.

References
----------
de Boor, A Practical Guide to Splines, 1978, chapter IV (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import scipy.linalg as sl
from numpy.typing import NDArray

from fea.arrays import Array


@dataclass(frozen=True, eq=False)
class Cubic:
    """A spline.

    Parameters
    ----------
    x : (n,) float array
        Rising.
    parts : (4, n - 1, ...) array
        Factors of the third, second, first and no power of the distance from the start of each piece.
    """

    x: Array
    parts: NDArray[Any]

    def __call__(self, at: Array | float) -> NDArray[Any]:
        """Values, of the shape of `at` and then that of a point; beyond the ends the last pieces go on."""
        where = np.asarray(at, dtype=float)
        k = np.clip(np.searchsorted(self.x, where, side="right") - 1, 0, len(self.x) - 2)
        past = (where - self.x[k]).reshape((*where.shape, *(1,) * (self.parts.ndim - 2)))
        third, second, first, none = self.parts[:, k]
        square = past * past
        return np.asarray(none + first * past + second * square + third * (square * past))


def cubic(x: Array, y: NDArray[Any]) -> Cubic:
    """The spline through values (n, ...) at points x (n,), rising, at least four."""
    n = len(x)
    if n < 4:
        raise ValueError(f"a spline through {n} points; it takes four")
    wide = np.diff(x)
    step = wide.reshape((-1, *(1,) * (y.ndim - 1)))
    rise = np.diff(y, axis=0) / step
    # Above, on and below the diagonal.
    rows, right = np.zeros((3, n)), np.empty_like(rise, shape=y.shape)
    rows[1, 1:-1] = 2 * (wide[:-1] + wide[1:])
    rows[0, 2:], rows[2, :-2] = wide[:-1], wide[1:]
    right[1:-1] = 3 * (step[1:] * rise[:-1] + step[:-1] * rise[1:])
    first, last = x[2] - x[0], x[-1] - x[-3]
    rows[1, 0], rows[0, 1], rows[1, -1], rows[2, -2] = wide[1], first, wide[-2], last
    right[0] = ((wide[0] + 2 * first) * wide[1] * rise[0] + wide[0] ** 2 * rise[1]) / first
    right[-1] = (wide[-1] ** 2 * rise[-2] + (2 * last + wide[-1]) * wide[-2] * rise[-1]) / last
    slope = sl.solve_banded((1, 1), rows, right.reshape(n, -1)).reshape(y.shape)
    bend = (slope[:-1] + slope[1:] - 2 * rise) / step
    return Cubic(x, np.stack([bend / step, (rise - slope[:-1]) / step - bend, slope[:-1], y[:-1]]))
