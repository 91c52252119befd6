"""A rib's panel under the load that it hands from skin to spars: mean stresses of each of its panels, Norris.

Ribs are judged between the lines of the net along the chord, on the stress half way up.
"""

from __future__ import annotations

import numpy as np

from models.strength import norris
from models.strength.finding import Finding
from models.strength.mode import LOST, Mode, Rule, sheared
from models.strength.solved import Solved


def findings(at: Solved) -> list[Finding]:
    """All ribs' panels."""
    model = at.model
    block = model.structure.blocks["ribs"]
    assert block.part is not None
    woods = {round(rib.y, 9): rib.material for rib in model.wing.ribs}
    y = np.array([model.parts[p].station for p in block.part], dtype=float)
    of = [woods[round(abs(one), 9)] for one in y.tolist()]
    strengths = norris.strengths_of(of)
    stress = at.analysis.recovered["ribs"]["stress"]
    factor = norris.factor(stress, strengths)
    applied = np.sqrt(
        stress[:, 0] ** 2 + stress[:, 1] ** 2 - stress[:, 0] * stress[:, 1] + 3 * stress[:, 2] ** 2
    )
    return [MODE.found(np.isfinite(factor) & (applied > 0), factor, applied, y)]


MODE = Mode(
    name="rib shear",
    words="is sheared through",
    source=norris.SOURCE,
    block="ribs",
    find=findings,
    ends_flight=True,
    reason="",
    joins=(),
    scatter=Rule("shear"),
    proof=sheared,
    remains=LOST,
)
