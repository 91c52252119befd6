"""A web pulled or pressed along the span with the caps that it is glued to.

A web whose grain runs along the span, or of plywood, shares the bending: at the caps' strain it is stressed
as E along the span times the strain. One with its grain upright stays out of it. Mean stress and bending of
the lapped strip are added like those of a cap, each against its own strength along the span, which off the
grain follows Norris.
"""

from __future__ import annotations

import numpy as np

from fea.arrays import Array
from models.strength import norris
from models.strength.finding import Finding, ratio
from models.strength.mode import LOST, Layouts, Many, Mode, Rule, torn
from models.strength.solved import Solved
from models.strength.web_shear import strengths_of
from models.woods.off_axis import Strengths, to_grain


def strength_along(grain: Array, strengths: Strengths, *, tension: bool) -> Array:
    """Strength of sheets (n,) along the span, pulled or pressed, Pa, with the grain turned from it (rad)
    and strengths in grain axes (Pa).

    References
    ----------
    Norris, Strength of Orthotropic Materials Subjected to Combined Stresses, FPL report 1816, 1950 (from
    memory).
    """
    sign = 1.0 if tension else -1.0
    zero = np.zeros_like(grain)
    return norris.factor(to_grain(zero + sign, zero, zero, grain), strengths)


def strip_used(
    young: Array,
    axis: Array,
    inner: Array,
    outer: Array,
    lapped: Array,
    pull: Array,
    push: Array,
    bend: Array,
) -> tuple[Array, Array]:
    """Share of the strength used by a web's edge at one cap, and its stress.

    Parameters
    ----------
    young : (...) float array
        Along the span, Pa.
    axis, inner, outer : (...) float array
        Strains, as in `web_edges`.
    lapped : (...) bool array
        Glued on the cap's face, not let in between the caps.
    pull, push, bend : (...) float array
        Strengths along the span, Pa.

    Returns
    -------
    share, stress : (...) float array
        f/F + f_b/F_b, and f + f_b in Pa.

    References
    ----------
    ANC-18, Design of Wood Aircraft Structures (from memory).
    """
    mean = young * np.where(lapped, axis, inner)
    extra = np.where(lapped, np.maximum(np.abs(young * outer) - np.abs(mean), 0.0), 0.0)
    return np.where(mean > 0, mean / pull, -mean / push) + extra / bend, np.abs(mean) + extra


def constants(at: Solved) -> dict[str, Array]:
    """Strengths along the span."""
    webs, grain = at.model.webs, at.webs.grain
    strengths = strengths_of(webs.materials, webs.material)
    rupture = np.array([m.bending for m in webs.materials])[webs.material]
    bent = strengths._replace(tension=rupture, compression=rupture)
    return {
        "lapped": np.array([f != "between" for f in webs.face]),
        "pull": strength_along(grain, strengths, tension=True),
        "push": strength_along(grain, strengths, tension=False),
        "bend": strength_along(grain, bent, tension=True),
    }


def many(of: Layouts) -> Array:
    """Most that either edge uses of all webs in many layouts."""
    table = of.table["webs"]
    young, *bounds = (table[name][:, None] for name in ("young", "lapped", "pull", "push", "bend"))
    bounds[0] = bounds[0].astype(bool)
    upper, lower = (
        strip_used(young, of.axis[:, c], of.inner[:, c], of.outer[:, c], *bounds)[0] for c in (0, 1)
    )
    return np.maximum(upper, lower)


def findings(at: Solved) -> list[Finding]:
    """Direct stress of all webs and braces at both caps."""
    stress, edges, bounds = at.webs, at.edges, at.of_build(constants).values()
    out = []
    for c in (0, 1):
        strains = (v[:, c] for v in (edges.axis, edges.inner, edges.outer))
        share, fibre = strip_used(edges.young, *strains, *bounds)
        factor = ratio(np.ones(len(share)), share)
        out.append(MODE.found(share > 0, factor, fibre, stress.y))
    return out


MODE = Mode(
    name="web direct stress",
    words="breaks with the caps' strain",
    source=(
        "f/F + f_b/F_b = 1 at the caps' strain: ANC-18, Design of Wood Aircraft Structures [from memory]; "
        "off the grain Norris, FPL report 1816 [from memory]"
    ),
    block="webs",
    find=findings,
    ends_flight=True,
    reason="",
    joins=(),
    scatter=Rule("tension"),
    proof=torn,
    remains=LOST,
    many=Many(family="webs", constants=constants, used=many),
)
