"""The fifth percentile of the load at first failure, with and without a web, in the same wood.

Every piece of wood, and every strength of every part, has random numbers of its own that hang on what it is
and on the seed, so that the same stick and the same sheet go into both wings (common random numbers). The
interval of the difference comes from drawing the sets of wood anew, with replacement, for both wings alike.

Source: Efron and Tibshirani, An Introduction to the Bootstrap, ch. 13, percentile interval (from memory).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.arrays import Array
from models.analysis import Analysis
from models.structure.model import Part
from models.studies.scatter.draws import reserves, spread_of, stream
from models.studies.scatter.states import Solver

DRAWS = 60
"""Half wings for each set of wood."""
SHARE = 0.05
"""One wing in twenty is weaker."""
CONFIDENCE = 0.95
_NEAR, _COVERED, _MOST = 0.05, 0.9, 6
"""Half wings within this share of the percentile tell what decides about it; how many of them, and how many
parts and modes at the most, are followed by slopes."""
_AGAIN = 400
"""Times that the sets of wood are drawn anew."""


@dataclass(frozen=True)
class Paired:
    """Change of the fifth percentile of the load factor at first failure, with its 95 % interval, in g."""

    change: float
    low: float
    high: float

    @property
    def within_noise(self) -> bool:
        """The interval holds zero."""
        return self.low <= 0.0 <= self.high


def _table(keys: Iterable[object], seed: int, shape: tuple[int, ...]) -> Array:
    """Standard normal variables that hang on a seed and on what each thing is, one column each."""
    return np.stack([stream(seed, key).standard_normal(shape) for key in keys], axis=-1)


@dataclass(frozen=True, eq=False)
class JudgedHalves:
    """Half wings (whole ones, where both halves are modelled) from sets of wood. `load_factors` (sets, draws)
    at first failure, `first` (sets, draws) what fails then, a number in `pairs` of part and mode."""

    load_factors: Array
    first: NDArray[np.intp]
    pairs: tuple[tuple[Part, str], ...]


def halves(analysis: Analysis, *, sets: int, seed: int, draws: int = DRAWS) -> JudgedHalves:
    """Load factors at first failure of half wings, and what fails.

    Parameters
    ----------
    analysis : Analysis
        Of the wing with everything as in the tables.
    sets : int
        Sets of wood that are solved.
    seed : int
        Of all that is drawn.
    draws : int
        Half wings for each set.
    """
    solver = Solver(analysis)
    pieces = solver.pieces
    wood = _table(pieces.keys, seed, (sets, 2))
    states = solver.states(wood[:, 0], wood[:, 1])
    spread = spread_of(states, pieces)
    quality = _table([(*key, "quality") for key in pieces.keys], seed, (sets * draws,))
    own = _table(spread.parts, seed, (sets * draws,))
    state = np.repeat(np.arange(sets), draws)
    every = reserves(states, spread, state, quality, own[:, spread.own])
    return JudgedHalves(
        (every.min(axis=1) * states.load_factor).reshape(sets, draws),
        every.argmin(axis=1).reshape(sets, draws),
        tuple((pair.part, pair.mode) for pair in states.pairs),
    )


def deciding(found: JudgedHalves, *, n_halves: int) -> list[tuple[tuple[Part, str], float]]:
    """What decides about the fifth percentile: parts and modes that fail first in half wings about as strong.
    The greatest share first, until `_COVERED` of those half wings are told of, `_MOST` at the most; the
    shares are scaled to a sum of 1. `n_halves` as for `fifth`."""
    at = fifth(found.load_factors, n_halves=n_halves)
    near = np.abs(found.load_factors / at - 1) < _NEAR
    counts = np.bincount(found.first[near], minlength=len(found.pairs))
    order = np.argsort(-counts, kind="stable")[:_MOST]
    told = np.cumsum(counts[order]) / max(counts.sum(), 1)
    order = order[: int(np.searchsorted(told, _COVERED)) + 1]
    total = counts[order].sum()
    return [(found.pairs[k], float(counts[k] / total)) for k in order.tolist() if counts[k]]


def fifth(load_factors: Array, *, n_halves: int) -> float:
    """Load factor that one wing in twenty does not reach. Of `load_factors` (sets, draws) of halves, the
    weaker of which decides: `n_halves` is 2 where half a wing is modelled, else 1. If a share q of the halves
    is weaker, 1 - (1 - q)^2 of the wings are."""
    return float(np.quantile(load_factors, 1 - (1 - SHARE) ** (1 / n_halves)))


def paired(before: Array, after: Array, *, n_halves: int, seed: int) -> Paired:
    """Difference of two wings' fifth percentiles.

    Parameters
    ----------
    before, after : (sets, draws) float array
        Of `JudgedHalves` from the same seed.
    n_halves : int
        As for `fifth`.
    seed : int
        Of the sets that are drawn anew.
    """
    generator = np.random.default_rng([seed, 3])
    found = np.empty(_AGAIN)
    for k in range(_AGAIN):
        rows = generator.integers(0, len(before), len(before))
        found[k] = fifth(after[rows], n_halves=n_halves) - fifth(before[rows], n_halves=n_halves)
    low, high = np.quantile(found, [(1 - CONFIDENCE) / 2, (1 + CONFIDENCE) / 2])
    change = fifth(after, n_halves=n_halves) - fifth(before, n_halves=n_halves)
    return Paired(change, float(low), float(high))
