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
    # The flow is D11/b^2 times a figure of the plate's shape and the ratios of its stiffness alone.
    ratios = np.stack([rigidity[:, i, k] for i, k in _ENTRIES], axis=1) / rigidity[:, :1, 0]
    figures = np.array([float(f"{v:.12e}") for v in np.column_stack([length / width, ratios]).ravel()])
    shapes, which = np.unique(figures.reshape(len(length), -1), axis=0, return_inverse=True)
    found = np.array([_remembered(tuple(shape), terms) for shape in shapes.tolist()]).reshape(-1, 2)
    return np.asarray(found[which.ravel()] * (rigidity[:, 0, 0] / width**2)[:, None])


_ENTRIES = ((0, 1), (0, 2), (1, 1), (1, 2), (2, 2))


@lru_cache(maxsize=4096)
def _remembered(shape: tuple[float, ...], terms: tuple[int, int]) -> tuple[float, float]:
    """Least flows of either sign of a plate of width 1 and D11 = 1, kept: studies ask for the same plates
    over and over. Terms with an even sum of half waves and those with an odd one do not mix."""
    a, d12, d16, d22, d26, d66 = shape
    m, n, pull = wave_forms(*terms)
    fourth = np.pi**4 * a / 4
    along, across = (m / a) ** 2, n**2
    own = fourth * (along**2 + 2 * (d12 + 2 * d66) * along * across + d22 * across**2)
    twist = d16 * m**2 / a**2 + d26 * n**2
    roots = []
    for odd in (0, 1):
        k = np.flatnonzero((m + n) % 2 == odd)
        work = pull[np.ix_(k, k)]
        stiff = 2 * np.pi**2 * work * (twist[k][:, None] + twist[k])
        stiff[np.diag_indices(len(k))] += own[k]
        # Stiffness K and work N S: K A = -2 N S A, solved as the largest root of L^-1 (-2 S) L^-T.
        lower = np.linalg.inv(np.linalg.cholesky(stiff))
        roots.append(np.linalg.eigvalsh(-2 * lower @ work @ lower.T))
    return float(1 / max(r[-1] for r in roots)), float(-1 / min(r[0] for r in roots))


@lru_cache(maxsize=8)
def wave_forms(n_x: int, n_y: int) -> tuple[Array, Array, Array]:
    """Half waves m, n of all terms and the form of int w_x w_y dA, (n_terms, n_terms)."""
    m, n = (
        v.ravel().astype(float)
        for v in np.meshgrid(np.arange(1, n_x + 1), np.arange(1, n_y + 1), indexing="ij")
    )
    by_m, by_n = m[:, None] ** 2 - m**2, n[:, None] ** 2 - n**2
    couples = ((m[:, None] + m) % 2 == 1) & ((n[:, None] + n) % 2 == 1)
    product = np.where(couples, by_m * by_n, 1.0)
    return m, n, np.where(couples, -4 * np.outer(m * n, m * n) / product, 0.0)
