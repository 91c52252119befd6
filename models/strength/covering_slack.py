"""Covering that goes slack: the lesser principal force of pretension and load comes to nothing, as the mean
over the bay in each strip of the chord."""

from __future__ import annotations

import numpy as np

from fea.arrays import Array, Ints
from fea.elements.tension_field import factor_to, principal
from models.strength.finding import Finding
from models.strength.mode import Mode, Remains, Rule, Share
from models.strength.solved import Solved


def strips(at: Solved) -> tuple[Array, Array, Ints]:
    """Forces of the covering, meant along the span over the bay in each strip of the chord.

    Parameters
    ----------
    at : Solved
        A covered wing; what its film recovers is what the load adds to the pretension.

    Returns
    -------
    start, change : (n, 3) float array
        Pretension and what the load adds, of every element's strip, in the film's axes, N/m.
    strip : (n,) int array
        Which strip each element belongs to.
    """
    model = at.model
    block, films = model.structure.blocks["covering"], model.films
    assert films is not None
    assert block.part is not None
    key = np.stack([films.film, films.strip, block.part], axis=1)
    strip = np.unique(key, axis=0, return_inverse=True)[1].ravel()
    size = np.diff(model.y)[films.span]

    def mean(values: Array) -> Array:
        sums = [np.bincount(strip, values[:, k] * size) / np.bincount(strip, size) for k in range(3)]
        return np.stack(sums, axis=1)[strip]

    return mean(films.tension), mean(at.analysis.recovered["covering"]["stress"]), strip


def findings(at: Solved) -> list[Finding]:
    """All covering."""
    start, change, _ = at.the(strips)
    factor = factor_to(start, change)
    least = principal(start)[1]
    lost = least - principal(start + change)[1]
    corners = at.model.structure.true_corners(at.model.structure.blocks["covering"])
    y = corners[:, :, 1].mean(axis=1)
    return [MODE.found(np.isfinite(factor), factor, lost, y, allowable=least, unit="N/m")]


def unharmed(_: tuple[str, ...]) -> Share:
    """Share of what takes no harm."""
    return Share(1.0, "covering that goes slack is taut again without the load (common practice, no source)")


MODE = Mode(
    name="covering slack",
    words="goes slack",
    source=(
        "lesser principal force zero, in pure shear q = sqrt(N_x N_y): Wagner 1929, Reissner 1938, NASA TN "
        "D-813 [names looked up, formula computed from Mohr's circle]; mean over the bay"
    ),
    block="covering",
    find=findings,
    ends_flight=False,
    reason="wrinkled covering still pulls along its folds, and the bare wing is judged by itself",
    joins=(),
    scatter=Rule(""),
    proof=unharmed,
    remains=Remains(
        1.0, 1.0, "its folds", "wrinkled covering pulls along its folds: Wagner 1929 [name looked up]"
    ),
    many=None,
)
