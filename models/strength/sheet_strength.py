"""Sheeting torn, crushed or sheared: its stress in grain axes, as the mean over the bay, judged by Norris."""

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
    factor = norris.factor(sheets.stress, strengths)
    along, across, shear = sheets.stress.T
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
