"""A rod in a socket: how the load of half a wing passes from its box into a joiner.

Over the box the rod lies between wood above and below. What presses is the line load p(s), s from the mouth
outward; the half wing's moment M and shear force V at the mouth ask for

    integral of p ds = V,    integral of p s ds = M.

A stiff rod turns in the wood as a line, and p is linear: over a box of length b p(0) = (4 V b - 6 M)/b^2 and
p(b) = (6 M - 2 V b)/b^2. Wood that is crushed across its grain goes on bearing, so that this line, in
equilibrium, is on the safe side for crushing (lower-bound theorem of plasticity).

What shears has no such reserve. A slender rod hands its moment over near the mouth: rod (E I) and spar, two
beams bedded on one another, the spar stiff in bending and soft in the shear of its webs (G A). With u the
rod's movement in its box, p = -k u and the rod's moment m = E I (u'' - k u/(G A)),

    u'''' - k/(G A) u'' + k/(E I) u = 0,    m = M, m' = -V at the mouth,    m = m' = 0 at the end.
"""

from __future__ import annotations

import cmath

import numpy as np
from numpy.typing import NDArray

from fea.arrays import Array

SOURCE = (
    "line load of a rod in its socket: equilibrium [computed]; shear by two beams on one another, from the "
    "beam on an elastic bed, Hetenyi, Beams on Elastic Foundation, 1946 [from memory]"
)
_STIFF = 0.3
"""Length of the box over the rod's characteristic lengths up to which the rod is as good as rigid."""


def straight(moment: float, shear: float, length: float) -> tuple[float, float]:
    """Line load of a rigid rod at the mouth and at the end of its box, N/m, positive where the half wing
    pushes the rod up: moment (N m) and shear (N) of the half wing at the mouth, positive where they lift
    it, and the box's length (m).

    References
    ----------
    Equilibrium (see the module).
    """
    return (4 * shear * length - 6 * moment) / length**2, (6 * moment - 2 * shear * length) / length**2


def bedded(
    moment: float, shear: float, place: Array, stiffness: float, bed: float, spar: float
) -> tuple[Array, Array]:
    """Bending moment and shear force of a rod that bends in its box.

    Parameters
    ----------
    moment, shear : float
        Of the half wing at the mouth, N m and N.
    place : (n,) float array
        From the mouth (0, first) to the end of the box (last), m.
    stiffness : float
        E I of the rod, N m2.
    bed : float
        Line load for each movement of the rod against its box, N/m2.
    spar : float
        G A of the spar in shear, N; inf where it does not give.

    Returns
    -------
    moment, force : (n,) float array
        Of the rod, N m and N.

    References
    ----------
    See the module; without shear of the spar Hetenyi, Beams on Elastic Foundation, 1946 (from memory).
    """
    length = float(place[-1])
    give, own = bed / spar, bed / stiffness
    between = cmath.sqrt(give**2 * (1 + 1e-9) - 4 * own)
    roots = [cmath.sqrt((give + way * between) / 2) for way in (1, -1)]
    if max(abs(root) for root in roots) * length < _STIFF:
        mouth, end = straight(moment, shear, length)
        slope, left = (end - mouth) / length, length - place
        # Integrals of p and p (t - s) from s to the end.
        return left**2 * (mouth / 2 + slope * (place + 2 * length) / 6), left * (
            mouth + slope * (place + length) / 2
        )

    def shapes(s: Array, order: int) -> NDArray[np.complex128]:
        """Rod's moment (order 0) or its slope (1) of the four solutions, E I left out, (len(s), 4)."""
        rows = []
        for root in roots:
            rows.append((root**2 - give) * (-root) ** order * np.exp(-root * s))
        for root in roots:
            rows.append((root**2 - give) * root**order * np.exp(-root * (length - s)))
        return np.stack(rows, axis=1)

    ends = np.array([0.0, length])
    asked = np.array([moment, 0.0, -shear, 0.0])
    four = np.linalg.solve(np.concatenate([shapes(ends, 0), shapes(ends, 1)]), asked)
    return (shapes(place, 0) @ four).real, -(shapes(place, 1) @ four).real


def mean_shear(place: Array, moment: Array, over: float) -> float:
    """Greatest mean of the shear force of a rod over a length, N, with its sign.

    Parameters
    ----------
    place, moment : (n,) float array
        As for and from `bedded`.
    over : float
        m; the whole box where that is shorter.
    """
    over = min(over, float(place[-1]))
    begin = place[place <= place[-1] - over + 1e-12]
    mean = (np.interp(begin, place, moment) - np.interp(begin + over, place, moment)) / over
    return float(mean[np.abs(mean).argmax()])
