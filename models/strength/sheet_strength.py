"""Sheeting torn, crushed or sheared: its stress in grain axes, as the mean over the bay, at the worst place
along the chord, judged by Norris."""

from __future__ import annotations

import numpy as np

from models.analysis import Analysis
from models.strength import norris
from models.strength.finding import Finding
from models.strength.sheet_stress import SheetStress

MODE = "sheeting strength"
SOURCE = f"{norris.SOURCE}; mean over the bay"


def findings(analysis: Analysis, sheets: SheetStress) -> list[Finding]:
    """All sheeting."""
    strengths = norris.strengths_of(sheets.materials)
    both = np.stack([norris.factor(sheets.stress[:, edge], strengths) for edge in (0, 1)])
    factor, worst = both.min(axis=0), np.argmin(both, axis=0)
    along, across, shear = sheets.stress[np.arange(len(worst)), worst].T
    applied = np.sqrt(along**2 - along * across + across**2 + 3 * shear**2)
    there = np.flatnonzero(np.isfinite(factor) & (applied > 0))
    return [
        Finding(
            MODE,
            "sheeting",
            there,
            factor[there],
            applied[there],
            applied[there] * factor[there],
            "Pa",
            sheets.y[there],
            SOURCE,
        )
    ]
