"""Bending moment of a spar at a place, and how caps and webs share it."""

from __future__ import annotations

import numpy as np

from fea.arrays import Array
from models.analysis import Analysis
from models.strength.cap_stress import CapStress
from models.strength.solved import Solved
from models.strength.web_edges import WebEdges, cap_rows


def along_spans(at: Solved) -> tuple[Array, Array]:
    """Moment of every spar half way along every span of the mesh, caps, webs and braces together: y
    (n_spans,), m, and moments (n_spars, n_spans), N m, positive where the upper cap is pressed; nan where
    there is no spar."""
    model, caps = at.model, at.model.caps
    n = len(model.y) - 1
    rows = np.full((len(model.wing.spars), 2, n), -1, dtype=np.intp)
    rows[caps.spar, np.where(caps.upper, 0, 1), caps.span] = np.arange(len(caps.spar))
    depth = (model.depth[:, :-1] + model.depth[:, 1:]) / 2
    force = at.caps.axial_force[rows]
    own = at.analysis.recovered["caps"]["forces"][:, :, 4].mean(axis=1)[rows].sum(axis=1)
    total = np.where(rows[:, 0] >= 0, (force[:, 1] - force[:, 0]) / 2 * depth - own, np.nan)
    if at.has("webs"):
        _, of_webs = moments(at.analysis, at.caps, at.edges)
        np.add.at(total, (model.webs.spar, model.webs.span), of_webs)
    return (model.y[:-1] + model.y[1:]) / 2, total


def moments(analysis: Analysis, caps: CapStress, edges: WebEdges) -> tuple[Array, Array]:
    """Moment of the caps, and of each web or brace, at every web element.

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
