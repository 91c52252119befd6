"""Covering torn: the greater principal force of pretension and load, as the mean over the bay in each strip
of the chord, against the film's strength times its thickness."""

from __future__ import annotations

import numpy as np

from fea.elements.tension_field import factor_to, principal
from models.strength.covering_slack import strips
from models.strength.finding import Finding
from models.strength.mode import Mode, Remains, Rule, torn
from models.strength.solved import Solved
from models.structure.covering import taut


def findings(at: Solved) -> list[Finding]:
    """All covering of known strength."""
    start, change, _ = at.the(strips)
    films = at.model.films
    assert films is not None
    strengths = [np.inf if one.strength is None else one.strength for one in taut(at.analysis.wing)]
    strength = np.array(strengths)[films.film]
    known = np.isfinite(strength)
    factor = np.full(len(strength), np.inf)
    bound = strength[known]
    pulled = principal(start[known])[0]
    factor[known] = np.where(pulled < bound, factor_to(start[known], change[known], bound), 0.0)
    corners = at.model.structure.true_corners(at.model.structure.blocks["covering"])
    y, pulled = corners[:, :, 1].mean(axis=1), principal(start + change)[0]
    return [MODE.found(np.isfinite(factor), factor, pulled, y, allowable=strength, unit="N/m")]


MODE = Mode(
    name="covering tearing",
    words="tears",
    source="greatest principal stress [textbook]; mean over the bay, holes and seams not counted",
    block="covering",
    find=findings,
    ends_flight=False,
    reason="what is left without it is the bare wing, judged by itself",
    joins=(),
    scatter=Rule(""),
    proof=torn,
    remains=Remains(0.0, 0.0, "nothing", "torn covering pulls at nothing"),
    many=None,
)
