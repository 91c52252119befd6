"""A cap crushed: mean compression and bending of each layer, each against its own strength, added.

f_c/F_c + f_b/F_b = 1, with F_c the crushing strength along the grain and F_b the modulus of rupture. The
straight line is the cautious rule for short pieces: the design specification squares the first term and adds
the growth of a column's bending, which is `cap_column`'s business here.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from models.strength.cap_stress import CapStress
from models.strength.cap_tension import worst_fibre
from models.strength.finding import Finding

Array = NDArray[np.float64]

MODE = "cap compression"
SOURCE = (
    "f_c/F_c + f_b/F_b = 1: ANC-18, Design of Wood Aircraft Structures, combined compression and bending "
    "of short pieces [from memory]; F_b the modulus of rupture"
)


def used(mean: Array, bending: Array, crushing: Array, rupture: Array) -> Array:
    """Share of the strength used at the most pressed corner.

    Parameters
    ----------
    mean, bending : (...) float array
        Mean stress of the layer (tension positive) and largest bending stress about it (not negative), Pa.
    crushing, rupture : (...) float array
        Crushing strength along the grain and modulus of rupture, Pa.

    Returns
    -------
    (...) float array
        f_c/F_c + f_b/F_b, proportional to the load; a mean tension relieves the bending, (f_b - f_t)/F_b.
        Not below 0.

    References
    ----------
    ANC-18, Design of Wood Aircraft Structures (from memory): straight-line interaction for short pieces.
    """
    pull, push = np.maximum(mean, 0.0), np.maximum(-mean, 0.0)
    return np.asarray(push / crushing + np.maximum(bending - pull, 0.0) / rupture)


def findings(stress: CapStress) -> list[Finding]:
    """Compression of all caps, but for open bays where bending has the larger share (see `cap_bending`)."""
    share = used(stress.mean, stress.bending, stress.compression[:, None], stress.bending_strength[:, None])
    bent = np.maximum(stress.bending - np.maximum(stress.mean, 0.0), 0.0) / stress.bending_strength[:, None]
    fibre = np.maximum(stress.bending - stress.mean, 0.0)
    return worst_fibre(stress, MODE, SOURCE, share, fibre, stress.open[:, None, None] & (2 * bent > share))
