"""A rib's panel under the load that it hands from skin to spars: mean stresses of each of its panels, Norris.

Ribs are judged between the lines of the net along the chord, on the stress half way up.
"""

from __future__ import annotations

import numpy as np

from models.analysis import Analysis
from models.strength import norris
from models.strength.finding import Finding

MODE = "rib shear"
SOURCE = norris.SOURCE


def findings(analysis: Analysis) -> list[Finding]:
    """All ribs' panels."""
    model = analysis.model
    if "ribs" not in model.structure.blocks:
        return []
    block = model.structure.blocks["ribs"]
    assert block.part is not None
    woods = {round(rib.y, 9): rib.material for rib in model.wing.ribs}
    at = np.array([model.parts[p].station for p in block.part], dtype=float)
    of = [woods[round(abs(y), 9)] for y in at.tolist()]
    strengths = norris.strengths_of(of)
    stress = analysis.recovered["ribs"]["stress"]
    factor = norris.factor(stress, strengths)
    applied = np.sqrt(
        stress[:, 0] ** 2 + stress[:, 1] ** 2 - stress[:, 0] * stress[:, 1] + 3 * stress[:, 2] ** 2
    )
    there = np.flatnonzero(np.isfinite(factor) & (applied > 0))
    return [
        Finding(
            MODE,
            "ribs",
            there,
            factor[there],
            applied[there],
            applied[there] * factor[there],
            "Pa",
            at[there],
            SOURCE,
        )
    ]
