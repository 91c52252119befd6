"""A cap broken in bending where its spar has no web: the spar is then a Vierendeel girder of caps and rib
posts.

Without a web the shear is carried by the caps' own bending, greatest at the faces of the rib posts. The
rules are those of `cap_tension` and `cap_compression`; this mode answers where bending uses more of the
strength than the axial force.
"""

from __future__ import annotations

import numpy as np

from models.strength import cap_compression, cap_tension
from models.strength.cap_stress import mostly_bent, worst_of_layers
from models.strength.cap_tension import worst_fibre
from models.strength.finding import Array, Finding
from models.strength.mode import LOST, Layouts, Many, Mode, Rule, torn
from models.strength.solved import Solved


def findings(at: Solved) -> list[Finding]:
    """Bending of the caps of open bays, at the faces of the posts."""
    stress = at.caps
    if not stress.open.any():
        return []
    rupture = stress.bending_strength[:, None]
    tension, crushing = stress.tension[:, None], stress.compression[:, None]
    torn = cap_tension.used(stress.mean, stress.bending, tension, rupture)
    full = cap_compression.of_layers(stress)
    crushed = cap_compression.used(stress.mean, stress.bending, crushing, rupture, full[:, None])
    mostly = (
        mostly_bent(stress.mean, stress.bending, tension, rupture),
        mostly_bent(-stress.mean, stress.bending, crushing, rupture),
    )
    pull, push = np.maximum(stress.mean, 0.0), np.maximum(-stress.mean, 0.0)
    out = []
    for share, here, relief in zip((torn, crushed), mostly, (push, pull)):
        fibre = np.maximum(stress.bending + np.abs(stress.mean) - 2 * relief, 0.0)
        out += worst_fibre(MODE, stress, share, fibre, ~(stress.open[:, None, None] & here))
    return out


def many(of: Layouts) -> Array:
    """The same of all caps in many layouts."""
    pulled, pressed = ("tension", "rupture"), ("compression", "rupture", "fullness")
    return np.maximum(
        worst_of_layers(of, pulled, cap_tension.used, 1.0, bent_most=True),
        worst_of_layers(of, pressed, cap_compression.used, -1.0, bent_most=True),
    )


MODE = Mode(
    name="cap bending, open bay",
    words="breaks in bending at a rib",
    source=(
        "modulus of rupture against bending at the post's face; with tension f/F + f_b/F_b = 1: National "
        "Design Specification for Wood Construction, eq. 3.9-1 [from memory]; with compression: "
        f"{cap_compression.MODE.source}"
    ),
    block="caps",
    find=findings,
    ends_flight=True,
    reason="",
    joins=(),
    scatter=Rule("bending", size=1),
    proof=torn,
    remains=LOST,
    many=Many(family="caps", constants=lambda _: {}, used=many),
)
