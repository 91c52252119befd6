"""The width of a rib that bends with the post between the caps.

Beside an open bay the caps turn about the chordwise axis at every rib, and the wood between them bends
into an S. A rib does not end at the post: it goes on ahead of the caps and behind them, glued to their inner
and side faces, so beside the caps it is a plate that is clamped to the turning caps over their height and
free between them. With its grain along the chord it is stiff along x and weak upright, and carries the
post's S shape far along the chord before it dies. The width of plain strip that would take the same moment,
on each side, comes from the plate's own equation

    D_x v,xxxx + 2 H v,xxzz + D_z v,zzzz = 0,  H = (nu E_z + 2 G_xz) t^3 / 12,

whose decaying roots give b k = sqrt(2) M with M = sqrt(H/D_z + sqrt(D_x/D_z)) for an edge shape of wave
number k (Lekhnitskii, Anisotropic Plates, and Timoshenko and Woinowsky-Krieger, Theory of Plates and Shells:
from memory). The wave number of the S shape between two clamps of height h, and what shear through the
thickness takes away, are from orthotropic solids of strips of rib between rigid caps (27-node bricks, mesh
good to 0.7 %, computed for this project: balsa of three weights and plies, t 0.1 to 4 mm, clear height 6 to
45 mm, h 2 to 6 mm); the form follows them within 8.4 % for balsa along the chord and 18 % for plies. No
figure in it comes from a wing.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from fea.arrays import Array


def width_beside_caps(
    clear: ArrayLike,
    cap_height: ArrayLike,
    thickness: ArrayLike,
    modulus_chord: ArrayLike,
    modulus_up: ArrayLike,
    shear: ArrayLike,
    shear_chord: ArrayLike,
    shear_up: ArrayLike,
    nu: ArrayLike = 0.0,
) -> Array:
    """Width of plain strip that bends upright with the same moment as the rib on one side of the caps.

    Parameters
    ----------
    clear, cap_height, thickness : (...) float array
        Between the caps, of a cap, and of the rib, m.
    modulus_chord, modulus_up : (...) float array
        E along the chord and upright, Pa.
    shear, shear_chord, shear_up : (...) float array
        G in the rib's plane, and through its thickness with the chord and with the upright, Pa.
    nu : (...) float array
        Poisson's ratio: shrinkage upright per stretch along the chord.

    Returns
    -------
    (...) float array
        m; a rib has two such sides where it goes on both ways.

    Notes
    -----
    Held within 8.5 % of the solids' widths by a test, balsa along the chord.
    """
    height, h, t = (np.asarray(v, dtype=float) for v in (clear, cap_height, thickness))
    e_x, e_z, g, g_x, g_z, ratio = (
        np.asarray(v, dtype=float) for v in (modulus_chord, modulus_up, shear, shear_chord, shear_up, nu)
    )
    decay = np.sqrt((ratio * e_z + 2 * g) / e_z + np.sqrt(e_x / e_z))
    wave = height / (2.6 + 1.05 * np.sqrt(height / h))
    thin = decay * wave
    sheared = 1 + t**2 * e_z / (5 / 6 * g_z * height**2)
    softer = 1 + 0.19 * t * np.sqrt(e_z / g_z) / wave + 0.10 * t * np.sqrt(e_x / g_x) / thin
    softer = softer + 0.056 * t**2 * e_z / (g_z * wave**2)
    return np.asarray(thin * sheared / softer)


def bent_upright(modulus_up: ArrayLike, shear_up: ArrayLike, thickness: ArrayLike, clear: ArrayLike) -> Array:
    """Stiffness of a unit width in the S shape, its shear counted: E t^3/12 over 1 + E t^2/(5/6 G H^2), N m.

    Parameters
    ----------
    modulus_up, shear_up : (...) float array
        E upright and G between upright and thickness, Pa.
    thickness, clear : (...) float array
        m.

    Returns
    -------
    (...) float array
        N m.
    """
    e, t = np.asarray(modulus_up, dtype=float), np.asarray(thickness, dtype=float)
    return np.asarray(
        e * t**3 / 12 / (1 + e * t**2 / (5 / 6 * np.asarray(shear_up) * np.asarray(clear) ** 2))
    )
