"""A cap torn: mean tension and bending of each layer, each against its own strength, added.

f_t/F_t + f_b/F_b = 1, with F_t the tension strength along the grain and F_b the modulus of rupture: right at
both ends. Pulled wood tears without giving first, so that between them nothing is gained as it is where wood
is crushed (`cap_compression`).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from fea.arrays import Array
from models.strength.cap_stress import CapStress, bent, mostly_bent, worst_of_layers
from models.strength.finding import Finding, ratio
from models.strength.mode import LOST, Many, Mode, Rule, torn
from models.strength.solved import Solved


def used(mean: Array, bending: Array, tension: Array, rupture: Array) -> Array:
    """Share of the strength used at the most pulled corner.

    Parameters
    ----------
    mean, bending : (...) float array
        Mean stress of the layer (tension positive) and largest bending stress about it (not negative), Pa.
    tension, rupture : (...) float array
        Tension strength and modulus of rupture, Pa.

    Returns
    -------
    (...) float array
        f_t/F_t + f_b/F_b, proportional to the load; a mean compression relieves the bending, (f_b -
        f_c)/F_b. Not below 0.

    References
    ----------
    National Design Specification for Wood Construction, eqs. 3.9-1 and 3.9-2 (from memory).
    """
    return np.asarray(np.maximum(mean, 0.0) / tension + bent(mean, bending, rupture))


def findings(at: Solved) -> list[Finding]:
    """Tension of all caps, but for open bays where bending has the larger share (see `cap_bending`)."""
    stress = at.caps
    tension, rupture = stress.tension[:, None], stress.bending_strength[:, None]
    share = used(stress.mean, stress.bending, tension, rupture)
    fibre = np.maximum(stress.mean + stress.bending, 0.0)
    others = stress.open[:, None, None] & mostly_bent(stress.mean, stress.bending, tension, rupture)
    return worst_fibre(MODE, stress, share, fibre, others)


def worst_fibre(
    mode: Mode, stress: CapStress, share: Array, fibre: Array, left_out: NDArray[np.bool_]
) -> list[Finding]:
    """The worst layer of every point as a finding.

    Parameters
    ----------
    share, fibre : (n, 2, n_layers) float array
        Share of the strength used; stress of that fibre, Pa.
    left_out : (n, 2, n_layers) bool array
        Points that another mode answers for.
    """
    share = np.where(left_out, -1.0, share)
    layer = np.argmax(np.nan_to_num(share, nan=-1.0), axis=2)[..., None]
    share, fibre = (np.take_along_axis(v, layer, axis=2)[..., 0].ravel() for v in (share, fibre))
    element, y = np.repeat(np.arange(len(stress.y)), 2), stress.y.ravel()
    reserve = ratio(np.ones(len(share)), share)
    # Stress of the same fibre when the load has grown to failure.
    allowable = fibre * np.where(share > 0, reserve, 0.0)
    return [mode.found(share >= 0, reserve, fibre, y, allowable=allowable, element=element)]


MODE = Mode(
    name="cap tension",
    words="is torn",
    source=(
        "f_t/F_t + f_b/F_b = 1: National Design Specification for Wood Construction, eq. 3.9-1 [from memory]"
    ),
    block="caps",
    find=findings,
    ends_flight=True,
    reason="",
    joins=(),
    scatter=Rule("tension", size=1),
    proof=torn,
    remains=LOST,
    many=Many(
        family="caps",
        constants=lambda at: {"tension": at.caps.tension, "rupture": at.caps.bending_strength},
        used=lambda of: worst_of_layers(of, ("tension", "rupture"), used, 1.0, bent_most=False),
    ),
)
