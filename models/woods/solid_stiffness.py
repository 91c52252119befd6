"""Stiffness of wood in all three directions: of a stick along the span and of a sheet glued on its side.

Axes x aft, y along the span, z up. Strains in the order xx, yy, zz, yz, xz, xy, shears as engineering
strains. Sources: Jones, Mechanics of Composite Materials, ch. 2 (orthotropic compliance and its turning, from
memory).
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from fea.arrays import Array
from models.woods.wood import Material

PAIRS = ((0, 0), (1, 1), (2, 2), (1, 2), (0, 2), (0, 1))
"""The strains' order, as pairs of axes."""


def orthotropic(
    moduli: tuple[float, float, float],
    shear: tuple[float, float, float],
    shrinking: tuple[float, float, float],
) -> Array:
    """Stiffness in an orthotropic material's own axes.

    Parameters
    ----------
    moduli : three floats
        Along x, y, z, Pa.
    shear : three floats
        Of yz, xz and xy, Pa.
    shrinking : three floats
        Compliances between xx and yy, xx and zz, yy and zz (minus nu over E), 1/Pa.

    Returns
    -------
    (6, 6) float array
        Pa.
    """
    compliance = np.diag([1 / v for v in (*moduli, *shear)])
    for (i, j), value in zip(((0, 1), (0, 2), (1, 2)), shrinking):
        compliance[i, j] = compliance[j, i] = value
    return np.asarray(np.linalg.inv(compliance))


@lru_cache(maxsize=256)
def stick_stiffness(material: Material) -> Array:
    """Of a stick along the span, (6, 6), Pa; not to be changed."""
    s = material.stick()
    out = orthotropic(
        (s.E_aft, s.E, s.E_up),
        (s.G_up, s.G_cross, s.G_aft),
        (-s.nu_L_aft / s.E, -s.nu_aft_up / s.E_aft, -s.nu_L_up / s.E),
    )
    out.flags.writeable = False
    return out


@lru_cache(maxsize=256)
def sheet_stiffness(material: Material, grain: float) -> Array:
    """Of a sheet in the plane of span and height, grain turned from the span towards upright (rad), (6, 6).

    Pa; not to be changed.
    """
    m = material
    lr, lt, rt = -m.nu_LR / m.E_L, -m.nu_LT / m.E_L, -m.nu_RT / m.E_R
    if m.cut == "quarter-sawn":  # rays in the sheet, rings through its thickness
        own = orthotropic((m.E_T, m.E_L, m.E_R), (m.G_LR, m.G_RT, m.G_LT), (lt, rt, lr))
    else:
        own = orthotropic((m.E_R, m.E_L, m.E_T), (m.G_LT, m.G_RT, m.G_LR), (lr, rt, lt))
    out = turned_about_x(own, grain)
    out.flags.writeable = False
    return out


def turned_about_x(stiffness: Array, angle: float) -> Array:
    """Stiffness of the same material turned from y towards z, (6, 6), Pa."""
    c, s = np.cos(angle), np.sin(angle)
    turn = np.array([[1.0, 0.0, 0.0], [0.0, c, -s], [0.0, s, c]])
    # Stresses of the turned material from those in its own axes: s' = R s R'.
    stresses = np.zeros((6, 6))
    for row, (i, j) in enumerate(PAIRS):
        for column, (m, n) in enumerate(PAIRS):
            stresses[row, column] = turn[i, m] * turn[j, n]
            if m != n:
                stresses[row, column] += turn[i, n] * turn[j, m]
    return np.asarray(stresses @ stiffness @ stresses.T)
