"""A rib's panel under the load that it hands from skin to spars: mean stresses of each of its panels, Norris.

Ribs are judged between the lines of the net along the chord, on the stress half way up.
"""

from __future__ import annotations

import numpy as np

from models.strength import norris
from models.strength.finding import Array, Finding
from models.strength.mode import LOST, Many, Mode, Rule, sheared
from models.strength.solved import Solved
from models.woods.off_axis import Strengths


def strengths(at: Solved) -> Strengths:
    """Of all ribs' panels, each (n,), Pa."""
    model = at.model
    part = model.structure.blocks["ribs"].part
    assert part is not None
    woods = {round(rib.y, 9): rib.material for rib in model.wing.ribs}
    return norris.strengths_of([woods[round(abs(model.parts[p].station or 0.0), 9)] for p in part])


def stations(at: Solved) -> Array:
    """Of all ribs' panels along the span, (n,), m."""
    part = at.model.structure.blocks["ribs"].part
    assert part is not None
    return np.array([at.model.parts[p].station for p in part], dtype=float)


def findings(at: Solved) -> list[Finding]:
    """All ribs' panels."""
    stress = at.analysis.recovered["ribs"]["stress"]
    factor = norris.factor(stress, at.of_build(strengths))
    applied = np.sqrt(
        stress[:, 0] ** 2 + stress[:, 1] ** 2 - stress[:, 0] * stress[:, 1] + 3 * stress[:, 2] ** 2
    )
    return [MODE.found(np.isfinite(factor) & (applied > 0), factor, applied, at.of_build(stations))]


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
    many=Many(
        family="rib panels",
        constants=lambda at: norris.as_column(at.the(strengths)),
        used=lambda of: norris.many(of.rows("rib panels"), of.table["rib panels"]["strength"]),
    ),
)
