"""A web pulled or pressed along the span with the caps that it is glued to.

A web whose grain runs along the span, or of plywood, shares the bending: at the caps' strain it is stressed
as E along the span times the strain. One with its grain upright stays out of it. Mean stress and bending of
the lapped strip are added like those of a cap, each against its own strength along the span, which off the
grain follows Norris.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from models.strength import norris
from models.strength.finding import Finding, ratio
from models.strength.mode import LOST, Mode, Rule, torn
from models.strength.solved import Solved
from models.strength.web_shear import strengths_of
from models.woods.off_axis import Strengths, to_grain

Array = NDArray[np.float64]


def strength_along(grain: Array, strengths: Strengths, *, tension: bool) -> Array:
    """Strength of a sheet along the span, its grain turned from it.

    Parameters
    ----------
    grain : (n,) float array
        From the span to the grain, rad.
    strengths : Strengths
        In grain axes, each (n,), Pa.
    tension : bool
        Pulled, or pressed.

    Returns
    -------
    (n,) float array
        Pa.

    References
    ----------
    Norris, Strength of Orthotropic Materials Subjected to Combined Stresses, FPL report 1816, 1950 (from
    memory).
    """
    sign = 1.0 if tension else -1.0
    zero = np.zeros_like(grain)
    return norris.factor(to_grain(zero + sign, zero, zero, grain), strengths)


def findings(at: Solved) -> list[Finding]:
    """Direct stress of all webs and braces at both caps."""
    webs, stress, edges = at.model.webs, at.webs, at.edges
    strengths = strengths_of(webs.materials, webs.material)
    rupture = np.array([m.bending for m in webs.materials])[webs.material]
    bent = strengths._replace(tension=rupture, compression=rupture)
    pull, push, bend = (
        strength_along(stress.grain, s, tension=t)
        for s, t in ((strengths, True), (strengths, False), (bent, True))
    )
    out = []
    lapped = np.array([f != "between" for f in webs.face])
    for c in (0, 1):
        mean = edges.young * np.where(lapped, edges.axis[:, c], edges.inner[:, c])
        outer = edges.young * edges.outer[:, c]
        extra = np.where(lapped, np.maximum(np.abs(outer) - np.abs(mean), 0.0), 0.0)
        share = np.where(mean > 0, mean / pull, -mean / push) + extra / bend
        fibre = np.abs(mean) + extra
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
)
