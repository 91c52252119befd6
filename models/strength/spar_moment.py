"""Bending moment of a spar at a place, and how caps and webs share it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from models.analysis import Analysis
from models.strength.cap_stress import CapStress
from models.strength.web_edges import WebEdges, cap_rows

Array = NDArray[np.float64]


def moments(analysis: Analysis, caps: CapStress, edges: WebEdges) -> tuple[Array, Array]:
    """Moment of the caps, and of each web or brace, at every web element.

    Parameters
    ----------
    analysis : Analysis
        Solved.
    caps, edges
        Stress of its caps and strain of its webs.

    Returns
    -------
    caps : (n_webs,) float array
        Couple of the caps' forces and their own bending, N m, positive where the upper cap is pressed.
    webs : (n_webs,) float array
        Of each web with its lapped strips at the caps' strain, N m, same sign.

    References
    ----------
    Elementary theory of bending: Timoshenko, Strength of Materials (from memory).
    """
    model = analysis.model
    webs, rows = model.webs, cap_rows(analysis)
    depth = (model.depth[webs.spar, webs.span] + model.depth[webs.spar, webs.span + 1]) / 2
    force = caps.axial_force[rows]
    # M_y pulls the upper side, which is the other sense.
    own = analysis.recovered["caps"]["forces"][:, :, 4].mean(axis=1)[rows].sum(axis=1)
    lapped = np.array([f != "between" for f in webs.face])
    lap = np.where(lapped, webs.lap.sum(axis=1), 0.0)
    strain = (edges.axis[:, 1] - edges.axis[:, 0]) / 2
    # Strips at the caps' axes, and between them a strain that runs straight from edge to edge.
    arm = lap * depth / 2 + webs.clear**3 / (6 * depth)
    return (force[:, 1] - force[:, 0]) / 2 * depth - own, edges.young * webs.thickness * strain * arm
