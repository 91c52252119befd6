"""A thin wide cap twisting under compression: a strip held along one edge by its web, the other edge free.

The whole width of a cap that a web holds on one face, both halves of one held by nothing, or what stands
free on either side of a web between, turn about the held line against the wood's small shear stiffness. Webs
on both faces or sheeting hold both edges, and nothing is checked.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from fea.arrays import Array
from models.analysis import Analysis
from models.strength.cap_column import (
    BOWED,
    bays_of_caps,
    clear_length,
    column_force,
    crushing_force,
    least_of_bays,
)
from models.strength.finding import Finding, ratio
from models.strength.mode import Many, Mode, Rule, pressed
from models.strength.solved import Solved


def flow_of_strip(twist: Array, bending: Array, free: Array, length: Array) -> Array:
    """Compression per width at which a long strip with one edge free buckles.

    Parameters
    ----------
    twist : (n,) float array
        D66, for one wood G t^3/12, N m.
    bending : (n,) float array
        D11, for one wood E t^3/12, N m.
    free : (n,) float array
        Width from the held line to the free edge, m.
    length : (n,) float array
        Between ribs, m.

    Returns
    -------
    (n,) float array
        12 D66/b^2 + pi^2 D11/a^2, N/m; for one wood t (G (t/b)^2 + pi^2 E t^2/(12 a^2)).

    References
    ----------
    Timoshenko and Gere, Theory of Elastic Stability, 1961, art. 9.3 (from memory).
    """
    return np.asarray(12 * twist / free**2 + np.pi**2 * bending / length**2)


def _let_in(analysis: Analysis) -> Array:
    """Thickness of the web let in between each cap element and its opposite, 0 without one, (n_caps,), m."""
    caps, webs = analysis.model.caps, analysis.model.webs
    thick = {
        (s, i): t
        for s, face, i, t in zip(
            webs.spar.tolist(), webs.face, webs.span.tolist(), webs.thickness.tolist(), strict=True
        )
        if face == "between"
    }
    return np.array([thick.get(key, 0.0) for key in zip(caps.spar.tolist(), caps.span.tolist())])


def findings(at: Solved) -> list[Finding]:
    """All caps with a free edge, bay by bay, under the bay's mean axial force."""
    model, caps, stress = at.model, at.model.caps, at.caps
    bay, push = bays_of_caps(at.analysis, stress)
    force, there = at.of_build(_bears)
    reserve = ratio(force, push[bay])
    area = caps.layer_heights.sum(axis=1) * caps.width
    y = (model.y[caps.span] + model.y[caps.span + 1]) / 2
    return [MODE.found((push[bay] > 0) & there, reserve, push[bay] / area, y, allowable=force / area)]


def _bears(at: Solved) -> tuple[Array, NDArray[np.bool_]]:
    """Force at which each cap element twists, (n,), N, and whether it can."""
    analysis, stress = at.analysis, at.caps
    caps = analysis.model.caps
    bay, _ = bays_of_caps(analysis, stress)
    held = caps.overlap > 0
    free = np.where(held.any(axis=1), caps.width, (caps.width - _let_in(analysis)) / 2)
    heights = caps.layer_heights
    total = heights.sum(axis=1)
    outer = np.cumsum(heights, axis=1)
    top, bottom = outer - heights - total[:, None] / 2, outer - total[:, None] / 2
    cubes = (bottom**3 - top**3) / 3
    woods = {key: [w.stick().G_aft for w in m] for key, m in {id(m): m for m in caps.materials}.items()}
    shear = np.zeros_like(heights)
    for e, m in enumerate(caps.materials):
        shear[e, : len(m)] = woods[id(m)]
    middles = outer - heights / 2 - caps.centroid[:, None]
    upright = (caps.layer_modulus * heights * (middles**2 + heights**2 / 12)).sum(axis=1)
    # A web as wide as its cap leaves nothing free; such caps are not checked.
    loose = free > 1e-6 * caps.width
    free = np.where(loose, free, caps.width)
    flow = flow_of_strip((shear * cubes).sum(axis=1), upright, free, clear_length(analysis, bay)[bay])
    force = column_force(crushing_force(analysis, stress), flow * caps.width)
    return force, loose & ~held.all(axis=1) & ~stress.sheeted


MODE = Mode(
    name="cap twist",
    words="twists and buckles",
    source=(
        "strip with one edge free, G (t/b)^2 + pi^2 E t^2/(12 a^2): Timoshenko and Gere, Theory of Elastic "
        "Stability, "
        "1961, art. 9.3 [from memory]; fourth-power rule below crushing"
    ),
    block="caps",
    find=findings,
    ends_flight=True,
    reason="",
    joins=(),
    scatter=Rule("compression", size=1, column=True),
    proof=pressed,
    remains=BOWED,
    many=Many(
        family="cap bays",
        constants=lambda at: {"twist": least_of_bays(at, findings(at))},
        used=lambda of: of.push / of.table["cap bays"]["twist"][:, None],
    ),
)
