"""A cap buckling as a column between ribs: sideways everywhere, and in the spar's own plane where it has no
web.

A web glued to the cap holds it in the spar's plane over its whole length, sheeting glued to it holds it
sideways; the ribs hold it at both ends of the bay, taken as hinges. Short columns are crushed, slim ones
buckle after Euler, and between them the fourth-power rule applies.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from models.analysis import Analysis
from models.strength.cap_stress import CapStress
from models.strength.finding import Finding, ratio

Array = NDArray[np.float64]

MODE = "cap buckling"
SOURCE = (
    "fourth-power and Euler column rule: Wood Handbook 1999, chapter 8 "
    "[from memory; its working-stress form looked up]"
)


def column_force(crushing: Array, euler: Array) -> Array:
    """Ultimate force of a column, crushing to Euler.

    Parameters
    ----------
    crushing : (...) float array
        Force that crushes a short piece, N.
    euler : (...) float array
        pi^2 E I/L^2, N; infinite where the piece is held all along.

    Returns
    -------
    (...) float array
        P_c [1 - (1/3) (2 P_c/(3 P_E))^2] down to P_E = 2/3 P_c, below it P_E; N.

    Notes
    -----
    The same as F_c [1 - (1/3)((L/d)/K)^4], K = pi sqrt(E/(8 F_c)), of a rectangle. The handbook counts L/d
    up to 11 as short; here the curve is kept, at most a few per cent lower there.

    References
    ----------
    Wood Handbook, 1999, chapter 8, columns (FPL fourth-power rule, from memory); Civil Engineering Formulas,
    eqs. 6.11 to 6.15 (working-stress form, looked up).
    """
    slender = 2 * crushing / (3 * euler)
    return np.asarray(np.where(slender <= 1, crushing * (1 - np.minimum(slender, 1.0) ** 2 / 3), euler))


def findings(analysis: Analysis, stress: CapStress) -> list[Finding]:
    """Column buckling of the caps, bay by bay, under the bay's mean axial force."""
    model = analysis.model
    caps = model.caps
    length = np.diff(model.y)[caps.span]
    parts = analysis.model.structure.blocks["caps"].part
    assert parts is not None
    _, bay = np.unique(parts, return_inverse=True)
    total = np.bincount(bay, length)
    clear = _clear_length(analysis, bay, length)
    push = np.maximum(-np.bincount(bay, stress.axial_force * length) / total, 0.0)
    stiff = caps.layer_modulus * caps.layer_heights * caps.width[:, None]
    axial = stiff.sum(axis=1)
    # Layers shorten together: the first to reach its crushing strain decides.
    strain = np.min(stress.compression / np.where(caps.layer_modulus > 0, caps.layer_modulus, 1.0), axis=1)
    middles = np.cumsum(caps.layer_heights, axis=1) - caps.layer_heights / 2 - caps.centroid[:, None]
    upright = (stiff * (middles**2 + caps.layer_heights**2 / 12)).sum(axis=1)
    sideways = axial * caps.width**2 / 12
    free_up, free_aft = stress.open, ~stress.sheeted
    bending = np.minimum(np.where(free_up, upright, np.inf), np.where(free_aft, sideways, np.inf))
    force = column_force(strain * axial, np.pi**2 * bending / clear[bay] ** 2)
    reserve = ratio(force, push[bay])
    area = caps.layer_heights.sum(axis=1) * caps.width
    y = (model.y[caps.span] + model.y[caps.span + 1]) / 2
    there = push[bay] > 0
    applied = push[bay] / area
    return [
        Finding(
            MODE,
            "caps",
            np.flatnonzero(there),
            reserve[there],
            applied[there],
            (force / area)[there],
            "Pa",
            y[there],
            SOURCE,
        )
    ]


def _clear_length(analysis: Analysis, bay: NDArray[np.intp], length: Array) -> Array:
    """Free length of the caps of every bay, rib middle to rib middle; across the centre both halves count."""
    caps, wing = analysis.model.caps, analysis.model.wing
    spans = np.bincount(bay, length)
    middle = wing.root == "symmetry" and wing.first_bay == 0
    across = np.zeros(len(spans), dtype=bool)
    across[bay] = middle & (analysis.model.bay[caps.span] == 0)
    return np.where(across, 2 * spans, spans)
