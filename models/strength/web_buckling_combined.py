"""A web buckling under shear and crushing together: R_s^2 + R_c = 1.

R_s is the shear over that which buckles the panel alone, R_c the crushing over that which buckles it as a
wide column. The parabola is that of long plates in shear and compression; both parts are on the cautious
side here, the second without the ribs' help.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from models.analysis import Analysis
from models.strength.finding import Finding, growing
from models.strength.web_column import panel_figures
from models.strength.web_edges import WebEdges
from models.strength.web_stress import WebStress

Array = NDArray[np.float64]

MODE = "web buckling, shear and crushing"
SOURCE = (
    "R_s^2 + R_c = 1: ANC-18 and NACA TN 1223, plates in shear and compression [from memory]; R_s and R_c "
    "as in web shear buckling and web buckling under crushing"
)


def combined(shear: Array, pressed: Array, crushing: Array) -> Array:
    """Factor k on the load at which (k R_s)^2 + k R_c1 + k^2 R_c2 = 1.

    Parameters
    ----------
    shear, pressed, crushing : (n,) float array
        R_s; R_c of the pressure that grows in proportion to the load, and of that which grows with its
        square; not negative.

    Returns
    -------
    (n,) float array
        Infinite where nothing acts.

    References
    ----------
    ANC-18, Design of Wood Aircraft Structures (from memory): R_s^2 + R_c = 1.
    """
    return growing(pressed, shear**2 + crushing)


def findings(analysis: Analysis, stress: WebStress, edges: WebEdges, flow: Array) -> list[Finding]:
    """All panels; every element of a panel has the panel's reserve.

    Parameters
    ----------
    analysis : Analysis
        Solved.
    stress, edges
        Of its webs.
    flow : (n_panels,) float array
        Shear flow that buckles each panel, N/m, from `web_buckling.panel_flow`.
    """
    critical, pressed, crushing = panel_figures(analysis, stress, edges)
    allowable = flow / analysis.model.webs.thickness[stress.first]
    factor = combined(np.abs(stress.panel_shear) / allowable, pressed / critical, crushing / critical)
    panel = stress.panel
    there = np.flatnonzero(np.isfinite(factor[panel]))
    at = panel[there]
    middle = np.bincount(panel, stress.y * stress.length) / np.bincount(panel, stress.length)
    return [
        Finding(
            MODE,
            "webs",
            there,
            factor[at],
            allowable[at] / factor[at],
            allowable[at],
            "Pa",
            middle[at],
            SOURCE,
        )
    ]
