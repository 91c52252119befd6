"""Sheeting torn, crushed or sheared: its stress in grain axes, as the mean over the bay, at the worst place
along the chord, judged by Norris."""

from __future__ import annotations

import numpy as np

from models.strength import norris
from models.strength.finding import Array, Finding
from models.strength.mode import LOST, Many, Mode, Rule, torn
from models.strength.sheet_stress import sheet_stress
from models.strength.solved import Solved
from models.woods.off_axis import Strengths


def constants(at: Solved) -> dict[str, Array]:
    """Strengths of the strips of sheeting over a bay, for their fore edges and then their aft ones."""
    sheets = at.the(sheet_stress)
    _, member = np.unique(sheets.strip, return_index=True)
    return norris.as_column(norris.strengths_of([sheets.materials[k] for k in np.tile(member, 2)]))


def _strengths(at: Solved) -> Strengths:
    return norris.strengths_of(at.the(sheet_stress).materials)


def findings(at: Solved) -> list[Finding]:
    """All sheeting."""
    sheets = at.the(sheet_stress)
    strengths = at.of_build(_strengths)
    both = np.stack([norris.factor(sheets.stress[:, edge], strengths) for edge in (0, 1)])
    factor, worst = both.min(axis=0), np.argmin(both, axis=0)
    along, across, shear = sheets.stress[np.arange(len(worst)), worst].T
    applied = np.sqrt(along**2 - along * across + across**2 + 3 * shear**2)
    return [MODE.found(np.isfinite(factor) & (applied > 0), factor, applied, sheets.y)]


MODE = Mode(
    name="sheeting strength",
    words="breaks",
    source=f"{norris.SOURCE}; mean over the bay",
    block="sheeting",
    find=findings,
    ends_flight=True,
    reason="",
    joins=(),
    scatter=Rule("compression"),
    proof=torn,
    remains=LOST,
    many=Many(
        family="sheeting strips",
        constants=constants,
        used=lambda of: norris.many(of.rows("sheeting strips"), of.table["sheeting strips"]["strength"]),
    ),
)
