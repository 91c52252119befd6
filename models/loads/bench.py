"""Bench loads of a specimen clamped at its root: a force up and a torque nose-up at the tip of one spar."""

from __future__ import annotations

import numpy as np

from fea.structure import Loads
from models.structure.model import Model


def bench(model: Model) -> Loads:
    """Three cases, (n_nodes, 6, 3), N and N m: the file's tip force alone, its tip torque alone, and
    both.

    The force is shared equally by both caps; the torque is a couple of chordwise forces on them.
    """
    case = model.wing.case
    names = [spar.name for spar in model.wing.spars]
    spar = names.index(case.tip_spar) if case.tip_spar in names else 0
    upper, lower = model.cap_nodes[spar, :, -1]
    couple = case.tip_torque / model.depth[spar, -1]
    nodal = np.zeros((len(model.structure.nodes), 6, 3))
    for column, (force, pull) in enumerate(((case.tip_force, 0.0), (0.0, couple), (case.tip_force, couple))):
        nodal[[upper, lower], 2, column] = force / 2
        nodal[upper, 0, column], nodal[lower, 0, column] = pull, -pull
    return Loads(nodal)
