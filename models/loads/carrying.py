"""Carrying: the wing's own weight, held by one tip alone or by both.

What is part of the wing is carried: its structure and the masses in its file, without the rest of the
aeroplane. By one tip a hand grips the outermost bay; by both, the outermost rib of each side lies in a hand,
free to turn with the wing's bending.
"""

from __future__ import annotations

from functools import cache

import numpy as np

from fea.arrays import Array
from models.gravity import GRAVITY
from models.loads.cases import CaseLoads, Situation
from models.loads.pull_up import rib_nodes
from models.units_out import mass_beside_gees

_SIDE = {1: "starboard", -1: "port"}


def cases(situation: Situation) -> tuple[CaseLoads, ...]:
    """Carried by a tip, and by both; none where the file's load factor of carrying is 0."""
    factor = situation.landing.carrying_load_factor
    if not factor:
        return ()
    model, ribs = situation.model, situation.ribs
    weight = cache(lambda: factor * own_weight(situation))
    acts = f"own weight of {mass_beside_gees(situation.flight.wing_mass)} x {factor:g}"
    found = []
    for side in situation.sides:
        grip = ribs[-2:] if side > 0 else ribs[:2]
        nodes = np.unique(np.concatenate([rib_nodes(model, int(j))[0] for j in grip]))
        name = f"carried by {_SIDE[side]} tip"
        found.append(CaseLoads(name, "carrying", acts, True, weight, held=((nodes, "xyz"),)))
    ends = [rib_nodes(model, int(j))[0] for j in (ribs[0], ribs[-1])]
    held = ((np.unique(np.concatenate(ends)), "xz"), (ends[1][:1], "y"))
    found.append(CaseLoads("held at both tips", "carrying", acts, True, weight, held=held))
    return tuple(found)


def own_weight(situation: Situation) -> Array:
    """Weight of the wing with the masses in its file, (n_nodes, 6, 1), N and N m."""
    assembly = situation.assembly
    return -GRAVITY * assembly.nodal(assembly.rigid_inertia()[:, [2]])
