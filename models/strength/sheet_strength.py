"""Sheeting torn, crushed or sheared: its stress in grain axes, as the mean over the bay, at the worst place
along the chord, judged by Norris; of sheeting that has bowed in shear with the pull of its folds and without,
since edges and folds bear unlike."""

from __future__ import annotations

import numpy as np

from models.strength import norris
from models.strength.finding import Array, Finding
from models.strength.mode import LOST, Many, Mode, Rule, torn
from models.strength.sheet_stress import FOLDS, sheet_stress
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
    stress = np.moveaxis(sheets.stress, 1, 0)
    folds = at.analysis.recovered["sheeting"].get(FOLDS)
    if folds is not None and folds.any():
        # As hard along as across: the same in whatever axes.
        stress = np.concatenate([stress, stress + folds[:, None] * [1.0, 1.0, 0.0]])
    every = np.stack([norris.factor(place, strengths) for place in stress])
    factor, worst = every.min(axis=0), np.argmin(every, axis=0)
    along, across, shear = stress[worst, np.arange(len(worst))].T
    applied = np.sqrt(along**2 - along * across + across**2 + 3 * shear**2)
    return [MODE.found(np.isfinite(factor) & (applied > 0), factor, applied, sheets.y)]


MODE = Mode(
    name="sheeting strength",
    words="breaks",
    source=(
        f"{norris.SOURCE}; mean over the bay; folds of bowed panels: Kuhn, NACA TN 687, 1939 [abstract "
        "looked up]"
    ),
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
