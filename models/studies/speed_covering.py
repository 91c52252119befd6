"""Which film counts in the speeds: that which is still taut under the load of the case.

Taut film carries with its full stiffness. Where it wrinkles or hangs under the case's load
(`models.covering.wrinkled`) it is left out, though along its folds it still pulls.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from fea.elements.membrane import Membranes
from fea.elements.tension_field import factor_to
from fea.solve import pinned
from models.analysis import solve
from models.covering import NoRest, slack_share, wrinkled
from models.strength.covering_slack import strips
from models.strength.solved import Solved
from models.structure.model import Model

_HELD = 1e-4
"""Stiffness left to slack film, of its own, so that nodes of film alone have a hold: a choice."""


@dataclass(frozen=True)
class TautFilm:
    """What counts of the covering. So much of the film's area, and the load factor at which the first of it
    goes slack, infinite where none does."""

    share: float
    slack_load: float


def taut_part(model: Model) -> tuple[Model, TautFilm]:
    """A covered wing with what is slack under its case's load left out. Of both sides, with film."""
    analysis = solve(model)
    start, change, _ = strips(Solved(analysis))
    load = float(factor_to(start, change).min()) * analysis.load_factor
    if load >= analysis.load_factor:
        return model, TautFilm(1.0, load)
    block = model.structure.blocks["covering"]
    assert isinstance(block, Membranes), "film is membranes"
    try:
        _, found = wrinkled(analysis, pinned(analysis.solution.assembly))
        slack, share = found.slack, 1 - slack_share(analysis, found)
    except NoRest:
        slack, share = np.ones(len(block.nodes), dtype=bool), 0.0
    left = np.where(slack, _HELD, 1.0)[:, None, None] * block.constitutive
    blocks = {**model.structure.blocks, "covering": replace(block, constitutive=left)}
    return replace(model, structure=replace(model.structure, blocks=blocks)), TautFilm(share, load)
