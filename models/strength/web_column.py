"""A web buckling as a wide column between the caps, under the crushing of the bent spar.

The web is a strip as high as the clear height, hinged at the caps; ribs at its ends are not counted. With
the grain along the span it is soft upright and buckles at a hundredth of what an upright grain bears.
"""

from __future__ import annotations

import numpy as np

from fea.arrays import Array
from models.strength.finding import Finding, growing, reserve_of
from models.strength.mode import BUCKLES, Layouts, Many, Mode, Remains, buckled
from models.strength.solved import Solved
from models.strength.web_buckling import on_panels
from models.woods.off_axis import turned


def column_stress(modulus: Array, thickness: Array, clear: Array) -> Array:
    """Stress upright, pi^2 E t^2/(12 h^2), Pa, at which webs (n,) buckle as wide columns: modulus in
    bending upright (Pa), thickness and clear height (m).

    References
    ----------
    Timoshenko and Gere, Theory of Elastic Stability, 1961, art. 2.1 (from memory).
    """
    return np.asarray(np.pi**2 * modulus * thickness**2 / (12 * clear**2))


def panel_figures(at: Solved) -> tuple[Array, Array, Array]:
    """Of every panel: buckling stress, mean pressure in proportion to the load, and crushing by curvature,
    Pa."""
    webs, stress, edges = at.model.webs, at.webs, at.edges
    first = stress.first
    kinds = list(zip(webs.material[first].tolist(), webs.grain[first].tolist()))
    upright = {(m, g): float(turned(webs.materials[m].in_bending(), g).E_y) for m, g in set(kinds)}
    modulus = np.array([upright[kind] for kind in kinds])
    total = np.bincount(stress.panel, stress.length)
    crushing = np.bincount(stress.panel, edges.crushing * stress.length) / total
    critical = column_stress(modulus, webs.thickness[first], stress.panel_clear)
    return critical, np.maximum(-stress.panel_upright, 0.0), crushing


def findings(at: Solved) -> list[Finding]:
    """All panels of webs and braces; every element of a panel has the panel's reserve."""
    critical, pressed, crushing = at.the(panel_figures)
    factor = reserve_of(growing(pressed / critical, crushing / critical))
    return [on_panels(MODE, at.webs, factor, critical / factor, critical)]


def crushed(of: Layouts) -> tuple[Array, Array]:
    """Shares that pressure and crushing of all panels use in many layouts, (n_panels, n_layouts)."""
    critical = of.table["panels"]["critical"][:, None]
    return of.panel_pressed / critical, of.panel_crushing / critical


FLAT = Remains(
    0.0,
    0.0,
    "nothing",
    "a web that gives way between the caps no longer holds them apart, of plywood or not; what it bears "
    "while it bows is not counted (judgement, no source)",
)
MODE = Mode(
    name="web buckling under crushing",
    words="buckles under the crushing of the bent spar",
    source=(
        "wide column pi^2 E t^2/(12 h^2): Timoshenko and Gere, Theory of Elastic Stability, 1961 [from "
        "memory]; "
        "crushing M^2/(E I h) [computed]"
    ),
    block="webs",
    find=findings,
    ends_flight=True,
    reason="",
    joins=(),
    scatter=BUCKLES,
    proof=buckled,
    remains=FLAT,
    many=Many(
        family="panels",
        constants=lambda at: {"critical": at.the(panel_figures)[0]},
        used=lambda of: growing(*of.the(crushed)),
    ),
)
