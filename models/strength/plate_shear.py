"""Shear buckling of a simply supported orthotropic plate, grain at any angle, by double sine series (Ritz).

w = sum A_mn sin(m pi x/a) sin(n pi y/b) makes bending energy and the work of the shear quadratic forms; the
least shear for which they balance is a generalised eigenvalue. With the grain along a side the stiffness is
diagonal and the series satisfies all edge conditions. With the grain askew it converges from above, more
slowly (bending and twist are coupled, and the edges are free of moment only in the mean): a few per cent high
at 45 degrees in very orthotropic sheet. Source: Timoshenko and Gere, Theory of Elastic Stability, 1961, art.
9.7 (isotropic); Lekhnitskii, Anisotropic Plates, 1968 (both from memory).
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from fea.arrays import Array


def buckling_flow(length: Array, width: Array, rigidity: Array, terms: tuple[int, int] = (12, 12)) -> Array:
    """Least shear flows of either sign that buckle rectangular plates.

    Parameters
    ----------
    length, width : (n,) float array
        Sides along x and y, m.
    rigidity : (n, 3, 3) float array
        D: moments from curvatures (w_xx, w_yy, 2 w_xy), N m.
    terms : (int, int)
        Half waves along x and y.

    Returns
    -------
    (n, 2) float array
        N_xy > 0 and N_xy < 0 (its size), N/m.
    """
    m, n, pull = _forms(*terms)
    a, b = length[:, None], width[:, None]
    d = rigidity
    fourth = np.pi**4 * a * b / 4
    along, across = (m / a) ** 2, (n / b) ** 2
    own = fourth * (
        d[:, 0, 0, None] * along**2
        + 2 * (d[:, 0, 1] + 2 * d[:, 2, 2])[:, None] * along * across
        + d[:, 1, 1, None] * across**2
    )
    twist = d[:, 0, 2, None] * m**2 / a**2, d[:, 1, 2, None] * n**2 / b**2
    either = sum(t[:, :, None] + t[:, None, :] for t in twist)
    stiff = 2 * np.pi**2 * pull * either
    stiff += own[:, :, None] * np.eye(len(m))
    # Stiffness K and work N S: K A = -2 N S A, solved as the largest root of L^-1 (-2 S) L^-T.
    lower = np.linalg.inv(np.linalg.cholesky(stiff))
    roots = np.linalg.eigvalsh(-2 * lower @ pull @ np.swapaxes(lower, 1, 2))
    return np.stack([1 / roots.max(axis=1), -1 / roots.min(axis=1)], axis=1)


@lru_cache(maxsize=8)
def _forms(n_x: int, n_y: int) -> tuple[Array, Array, Array]:
    """Half waves m, n of all terms and the form of int w_x w_y dA, (n_terms, n_terms)."""
    m, n = (
        v.ravel().astype(float)
        for v in np.meshgrid(np.arange(1, n_x + 1), np.arange(1, n_y + 1), indexing="ij")
    )
    by_m, by_n = m[:, None] ** 2 - m**2, n[:, None] ** 2 - n**2
    couples = ((m[:, None] + m) % 2 == 1) & ((n[:, None] + n) % 2 == 1)
    product = np.where(couples, by_m * by_n, 1.0)
    return m, n, np.where(couples, -4 * np.outer(m * n, m * n) / product, 0.0)
