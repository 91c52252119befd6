"""A web sheared through: the mean shear stress over its clear height against the wood's shear strength.

Along the grain and square to it that is the plain shear strength (the weak plane runs along the span or
upright, both equally stressed); between them the shear is resolved along and across the grain and judged by
Norris' criterion. Plywood at 45 degrees carries it as tension and compression of its plies, solid sheet
splits.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from fea.arrays import Array
from models.strength.finding import Finding, ratio
from models.strength.mode import LOST, Layouts, Many, Mode, Rule, sheared
from models.strength.solved import Solved
from models.woods.off_axis import Strengths, interaction, to_grain
from models.woods.wood import Material


def shear_at(grain: Array, shear: Array, strengths: Strengths) -> Array:
    """Share of the strength used by pure shear in axes turned from the grain by (n,) rad: square root of
    Norris' left side, proportional to the load, failure at 1. The sign of the shear (Pa) decides which of
    tension and compression lies across the grain; strengths in grain axes, Pa.

    References
    ----------
    Norris, Strength of Orthotropic Materials Subjected to Combined Stresses, FPL report 1816, 1950 (from
    memory).
    """
    zero = np.zeros_like(shear)
    return np.sqrt(np.maximum(interaction(to_grain(zero, zero, shear, grain), strengths), 0.0))


def strengths_of(materials: tuple[Material, ...], which: NDArray[np.intp]) -> Strengths:
    """Strengths of many pieces in their grain axes, each (n,), Pa."""
    names = ("tension", "compression", "tension_across", "compression_across", "shear")
    table = np.array([[getattr(m, name) for name in names] for m in materials]).reshape(-1, 5)
    return Strengths(*table[which].T)


def strengths(at: Solved) -> Strengths:
    """Of all webs and braces, each (n,), Pa."""
    return strengths_of(at.model.webs.materials, at.model.webs.material)


def findings(at: Solved) -> list[Finding]:
    """Shear of all webs and braces."""
    stress = at.webs
    used = shear_at(stress.grain, stress.shear, at.of_build(strengths))
    return [MODE.found(used > 0, ratio(np.ones(len(used)), used), np.abs(stress.shear), stress.y)]


def constants(at: Solved) -> dict[str, Array]:
    """Share used by 1 Pa of shear of either sign."""
    webs, grain = at.model.webs, at.webs.grain
    strengths = strengths_of(webs.materials, webs.material)
    up, down = (shear_at(grain, np.full(len(grain), sign), strengths) for sign in (1.0, -1.0))
    return {"shear_up": up, "shear_down": down}


def many(of: Layouts) -> Array:
    """The same of all webs in many layouts."""
    table = of.table["webs"]
    each = np.where(of.shear >= 0, table["shear_up"][:, None], table["shear_down"][:, None])
    return np.asarray(np.abs(of.shear) * each)


MODE = Mode(
    name="web shear",
    words="is sheared through",
    source="mean shear over the clear height; Norris, FPL report 1816 [from memory]",
    block="webs",
    find=findings,
    ends_flight=True,
    reason="",
    joins=(),
    scatter=Rule("shear"),
    proof=sheared,
    remains=LOST,
    many=Many(family="webs", constants=constants, used=many),
)
