"""Covering that goes slack: the lesser principal force of pretension and load comes to nothing, as the mean
over the bay in each strip of the chord."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from fea.elements.tension_field import factor_to, principal
from models.analysis import Analysis
from models.strength.finding import Finding

Array = NDArray[np.float64]
Ints = NDArray[np.intp]

MODE = "covering slack"
SOURCE = (
    "lesser principal force zero, in pure shear q = sqrt(N_x N_y): Wagner 1929, Reissner 1938, NASA TN D-813 "
    "[names looked up, formula computed from Mohr's circle]; mean over the bay"
)
REASON = "wrinkled covering still pulls along its folds, and the bare wing is judged by itself"


def strips(analysis: Analysis) -> tuple[Array, Array, Ints] | None:
    """Forces of the covering, meant along the span over the bay in each strip of the chord.

    Parameters
    ----------
    analysis : Analysis
        Of a covered wing; what its film recovers is what the load adds to the pretension.

    Returns
    -------
    start, change : (n, 3) float array
        Pretension and what the load adds, of every element's strip, in the film's axes, N/m.
    strip : (n,) int array
        Which strip each element belongs to.
    None of a bare wing.
    """
    model = analysis.model
    if model.films is None:
        return None
    block, films = model.structure.blocks["covering"], model.films
    assert block.part is not None
    key = np.stack([films.film, films.strip, block.part], axis=1)
    strip = np.unique(key, axis=0, return_inverse=True)[1].ravel()
    size = np.diff(model.y)[films.span]

    def mean(values: Array) -> Array:
        sums = [np.bincount(strip, values[:, k] * size) / np.bincount(strip, size) for k in range(3)]
        return np.stack(sums, axis=1)[strip]

    return mean(films.tension), mean(analysis.recovered["covering"]["stress"]), strip


def findings(analysis: Analysis) -> list[Finding]:
    """All covering."""
    found = strips(analysis)
    if found is None:
        return []
    start, change, _ = found
    factor = factor_to(start, change)
    there = np.flatnonzero(np.isfinite(factor))
    least = principal(start)[1]
    corners = analysis.model.structure.true_corners(analysis.model.structure.blocks["covering"])
    lost = least - principal(start + change)[1]
    return [
        Finding(
            MODE,
            "covering",
            there,
            factor[there],
            lost[there],
            least[there],
            "N/m",
            corners[there, :, 1].mean(axis=1),
            SOURCE,
            REASON,
        )
    ]
