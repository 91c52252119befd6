"""A web buckling under shear and crushing together: R_s^2 + R_c = 1.

R_s is the shear over that which buckles the panel alone, R_c the crushing over that which buckles it as a
wide column. The parabola is that of long plates in shear and compression; both parts are on the cautious
side here, the second without the ribs' help.
"""

from __future__ import annotations

import numpy as np

from fea.arrays import Array
from models.strength import web_buckling, web_column
from models.strength.finding import Finding, growing, reserve_of
from models.strength.mode import BUCKLES, Many, Mode, buckled
from models.strength.solved import Solved


def used(shear: Array, pressed: Array, crushing: Array) -> Array:
    """Share used: 1/k of the factor k on the load at which (k R_s)^2 + k R_c1 + k^2 R_c2 = 1.

    Parameters
    ----------
    shear, pressed, crushing : (...) float array
        R_s; R_c of the pressure that grows in proportion to the load, and of that which grows with its
        square; not negative.

    Returns
    -------
    (...) float array

    References
    ----------
    ANC-18, Design of Wood Aircraft Structures (from memory): R_s^2 + R_c = 1.
    """
    return growing(pressed, shear**2 + crushing)


def findings(at: Solved) -> list[Finding]:
    """All panels; every element of a panel has the panel's reserve."""
    stress = at.webs
    critical, pressed, crushing = at.the(web_column.panel_figures)
    allowable = at.the(web_buckling.panel_flow) / at.model.webs.thickness[stress.first]
    share = used(np.abs(stress.panel_shear) / allowable, pressed / critical, crushing / critical)
    factor = reserve_of(share)
    return [web_buckling.on_panels(MODE, stress, factor, allowable / factor, allowable)]


MODE = Mode(
    name="web buckling, shear and crushing",
    words="buckles under shear and crushing together",
    source=(
        "R_s^2 + R_c = 1: ANC-18 and NACA TN 1223, plates in shear and compression [from memory]; R_s and "
        "R_c as in web shear buckling and web buckling under crushing"
    ),
    block="webs",
    find=findings,
    ends_flight=True,
    reason="",
    joins=(web_buckling.MODE, web_column.MODE),
    scatter=BUCKLES,
    proof=buckled,
    remains=web_buckling.SPLIT,
    many=Many(
        family="panels",
        constants=lambda _: {},
        used=lambda of: used(of.the(web_buckling.many), *of.the(web_column.crushed)),
    ),
)
