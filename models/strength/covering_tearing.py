"""Covering torn: the greater principal force of pretension and load, as the mean over the bay in each strip
of the chord, against the film's strength times its thickness."""

from __future__ import annotations

import numpy as np

from fea.elements.tension_field import factor_to, principal
from models.analysis import Analysis
from models.strength.covering_slack import strips
from models.strength.finding import Finding
from models.structure.covering import taut

MODE = "covering tearing"
SOURCE = "greatest principal stress [textbook]; mean over the bay, holes and seams not counted"
REASON = "what is left without it is the bare wing, judged by itself"


def findings(analysis: Analysis) -> list[Finding]:
    """All covering of known strength."""
    found = strips(analysis)
    films = analysis.model.films
    if found is None or films is None:
        return []
    start, change, _ = found
    strengths = [np.inf if one.strength is None else one.strength for one in taut(analysis.wing)]
    strength = np.array(strengths)[films.film]
    known = np.isfinite(strength)
    factor = np.full(len(strength), np.inf)
    bound = strength[known]
    pulled = principal(start[known])[0]
    factor[known] = np.where(pulled < bound, factor_to(start[known], change[known], bound), 0.0)
    there = np.flatnonzero(np.isfinite(factor))
    corners = analysis.model.structure.true_corners(analysis.model.structure.blocks["covering"])
    return [
        Finding(
            MODE,
            "covering",
            there,
            factor[there],
            principal(start + change)[0][there],
            strength[there],
            "N/m",
            corners[there, :, 1].mean(axis=1),
            SOURCE,
            REASON,
        )
    ]
