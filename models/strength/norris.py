"""Norris' criterion as all modes of combined stress use it: without credit for stresses that help each other.

Norris subtracts the product of the stresses along and across the grain. Where both have one sign that makes
the wood stronger than under either alone, and, absurdly, weaker the stronger it is in one direction. No test
of wood that we know speaks for it, so a product that helps is left out, and one that hurts is counted.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from fea.arrays import Array
from models.woods.off_axis import Strengths
from models.woods.wood import Material

NAMES = ("tension", "compression", "tension_across", "compression_across", "shear")
SOURCE = (
    "Norris, Strength of Orthotropic Materials Subjected to Combined Stresses, FPL report 1816 "
    "[from memory], no credit for stresses of one sign"
)


def left_side(stress: Array, strengths: Strengths) -> Array:
    """Left side of the criterion, (n,), failure at 1, for sigma_L, sigma_T, tau_LT (n, 3), Pa:
    (s_L/F_L)^2 - s_L s_T/(F_L F_T) + (s_T/F_T)^2 + (tau/S)^2, the product only where it adds; each F by
    the sign of its stress. It falls as any strength grows.

    References
    ----------
    Norris, Strength of Orthotropic Materials Subjected to Combined Stresses, FPL report 1816, 1950 (from
    memory).
    """
    along, across, shear = stress.T
    first = along / np.where(along >= 0, strengths.tension, strengths.compression)
    second = across / np.where(across >= 0, strengths.tension_across, strengths.compression_across)
    third = shear / np.asarray(strengths.shear)
    return np.asarray(first**2 + second**2 + third**2 - np.minimum(first * second, 0.0))


def as_column(strengths: Strengths) -> dict[str, Array]:
    """Strengths (n) as a column of a table, (n, 5)."""
    return {"strength": np.stack([np.asarray(s, dtype=float) for s in strengths], axis=1)}


def many(rows: Array, strength: Array) -> Array:
    """Share used by stresses (n, 3, n_layouts), (n, n_layouts), from a column of strengths."""
    strengths = Strengths(*(strength[:, k, None] for k in range(5)))
    return np.sqrt(left_side(np.moveaxis(rows, 1, 0).T, strengths))


def strengths_of(woods: Sequence[Material]) -> Strengths:
    """Strengths of pieces (n) in their grain axes, each (n,), Pa."""
    # Pieces share few woods: looked up by identity, since telling woods apart by their figures takes longer.
    figures = {
        id(wood): [getattr(wood, name) for name in NAMES] for wood in {id(w): w for w in woods}.values()
    }
    return Strengths(*np.array([figures[id(wood)] for wood in woods]).reshape(-1, len(NAMES)).T)


def factor(stress: Array, strengths: Strengths) -> Array:
    """Factor on stresses (n, 3) at which the criterion is met, (n,); infinite where nothing acts."""
    with np.errstate(divide="ignore"):
        return np.asarray(1 / np.sqrt(left_side(stress, strengths)))
