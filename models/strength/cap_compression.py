"""A cap crushed: mean compression and bending of each layer together.

Wood that is pressed along the grain goes on bearing its crushing strength F_c while it gives, and pulled wood
is elastic until it tears. A rectangle of such wood, bent alone, bears more than F_c by the ordinary formula:
that is its modulus of rupture R, and R/F_c tells how far the pulled fibres go before they tear (n F_c with
R/F_c = (3n - 1)/(n + 1)). The same rectangle pressed by m and bent to b (both by the ordinary formulas) fails
when, with u = 1 - m/F_c,

    b = 3 F_c u (1 - u) + R u^2

which is F_c in pure compression and R in pure bending. It follows from equilibrium: all of the section bears
F_c but for a wedge at the pulled edge, of the share c = 2u/(1 + n) of the height, over which the stress runs
to n F_c; so m = F_c (1 - u), b = F_c u (3 - 2c). At R = 1.5 F_c it is (m/F_c)^2 + b/R = 1, the interaction of
the National Design Specification, eq. 3.9-3 [from memory], and below it where R is greater (spruce 1.8 F_c).
Where R is less (balsa 1.45 F_c) it would rise above R, because a push spares the pulled edge; there the
specification's curve is kept, which does not.

Bending about both axes counts by its sum at the corner; what a section bears in two ways it bears in their
mixture too, so that this is on the safe side [computed].

The layer's own force and moment are judged, as they are in the elastic spar. Between webs a cap that gives
would be relieved of its bending by the rest of the spar; forces and moments that are in equilibrium and that
every section can bear are a lower bound of what the whole bears (the static theorem of plasticity), and in an
open bay nothing else could bear the moment. The wood is taken to give without limit. If its pressed edge
could go no further than in pure bending, 1 % more of the strength would be used at b = m/9, and at most 10 %
(spruce, near m = 0.4 F_c) [computed].

Carbon and wire do not crush slowly: there m/F_c + b/R = 1.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from fea.arrays import Array
from models.strength.cap_stress import CapStress, bent, mostly_bent, worst_of_layers
from models.strength.cap_tension import worst_fibre
from models.strength.finding import Finding
from models.strength.mode import Many, Mode, Remains, Rule, pressed
from models.strength.solved import Solved


def fullness(crushing: Array, rupture: Array, slowly: NDArray[np.bool_]) -> Array:
    """How far the curve of compression and bending bulges beyond the straight line m/F_c + b/R = 1,
    (...): 3 F_c/R - 1, which is 4/(3n - 1), for what goes on bearing its crushing strength while it gives
    (`slowly`), but not above 1, the design specification's curve; 0, the straight line, for what does not
    and where R is 3 F_c or more (no tension could be so strong). F_c and R in Pa, both infinite for what
    is not there.

    References
    ----------
    Elastic-plastic section: (3n - 1)/(n + 1) for pure bending, Bechtel and Norris, FPL report 1910, 1952
    (from memory).
    """
    present = np.isfinite(crushing) & np.isfinite(rupture)
    ratio = np.where(present, crushing, 0.0) / np.where(present, rupture, 1.0)
    return np.where(slowly, np.clip(3 * ratio - 1, 0.0, 1.0), 0.0)


def of_layers(stress: CapStress) -> Array:
    """Fullness of the layers of caps, (n, n_layers)."""
    return fullness(stress.compression, stress.bending_strength, stress.slowly)


def used(mean: Array, bending: Array, crushing: Array, rupture: Array, full: Array) -> Array:
    """Share of the strength used at the most pressed corner.

    With mu = m/F_c, beta = b/R and kappa the fullness, a load 1/w times as great fails where

        w^2 - (beta + (1 - kappa) mu) w - kappa mu^2 = 0

    Parameters
    ----------
    mean, bending : (...) float array
        Mean stress of the layer (tension positive) and largest bending stress about it (not negative), Pa.
    crushing, rupture : (...) float array
        Crushing strength along the grain and modulus of rupture, Pa.
    full : (...) float array
        See `fullness`.

    Returns
    -------
    (...) float array
        w, proportional to the load and smooth in both stresses for a mean compression; a mean tension
        relieves the bending, (b - f_t)/R. Not below 0.

    References
    ----------
    Derived in this module; see the source of `MODE`.
    """
    push = np.maximum(-mean, 0.0) / crushing
    linear = bent(-mean, bending, rupture) + (1 - full) * push
    return np.asarray((linear + np.sqrt(linear**2 + 4 * full * push**2)) / 2)


def findings(at: Solved) -> list[Finding]:
    """Compression of all caps, but for open bays where bending has the larger share (see `cap_bending`)."""
    stress = at.caps
    crushing, rupture = stress.compression[:, None], stress.bending_strength[:, None]
    share = used(stress.mean, stress.bending, crushing, rupture, of_layers(stress)[:, None])
    fibre = np.maximum(stress.bending - stress.mean, 0.0)
    others = stress.open[:, None, None] & mostly_bent(-stress.mean, stress.bending, crushing, rupture)
    return worst_fibre(MODE, stress, share, fibre, others)


CRUSHED = Remains(
    0.3,
    0.5,
    "half its force",
    "a kink band crushes on at a plateau below the first peak (Da Silva and Kyriakides 2007, abstract looked "
    "up); half the force and 0.3 of the stiffness are a judgement, no source",
)
MODE = Mode(
    name="cap compression",
    words="is crushed",
    source=(
        "rectangle of wood plastic in compression and elastic in tension, b = 3 F_c u (1 - u) + R u^2 with "
        "u = 1 - m/F_c and R the modulus of rupture [computed]; the assumption: Buchanan, Johns and Madsen, "
        "Column design methods for timber engineering, Canadian Journal of Civil Engineering 12, 1985 "
        "[abstract looked up]; not above National Design Specification, eq. 3.9-3 [from memory]"
    ),
    block="caps",
    find=findings,
    ends_flight=True,
    reason="",
    joins=(),
    scatter=Rule("compression", size=1),
    proof=pressed,
    remains=CRUSHED,
    many=Many(
        family="caps",
        constants=lambda at: {"compression": at.caps.compression, "fullness": of_layers(at.caps)},
        used=lambda of: worst_of_layers(
            of, ("compression", "rupture", "fullness"), used, -1.0, bent_most=False
        ),
    ),
)
