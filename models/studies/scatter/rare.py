"""Chance that a half wing fails below a load, however small: conditional expectation, importance sampling.

Given a set of wood and the quality of every piece, the parts' own variables are independent of each other, so
that the chance is 1 - prod(1 - Phi) over the pairs, without a draw. What is left to be drawn are the pieces'
qualities: from a mixture of normal laws moved to the design points of the pieces that matter, each draw
weighed with the ratio of the densities. A share of the draws stays where it was, which bounds the weights.

Source: Melchers, Structural Reliability Analysis and Prediction, chapter 3, on importance sampling and on
conditional expectation (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fea.arrays import Array, Ints
from models.studies.scatter.draws import STIFF_AND_STRONG, WITHIN, Spread
from models.studies.scatter.states import States

_UNMOVED = 0.3
"""Share of the draws that stay with the plain law."""
_COMPONENTS = 6


@dataclass(frozen=True)
class Chance:
    """A probability with its confidence interval of 95 %; `n_draws` half wings were looked at."""

    value: float
    low: float
    high: float
    n_draws: int


def chance_below(
    states: States,
    spread: Spread,
    load_factor: float,
    generator: np.random.Generator,
    *,
    draws: int = 20,
    halves: int = 2,
) -> Chance:
    """Chance that a wing fails below a load.

    Parameters
    ----------
    states : States
        Sets of wood.
    spread : Spread
        Scatter of their pairs.
    load_factor : float
        The load.
    generator : Generator
        Of random numbers.
    draws : int
        Qualities drawn for each set of wood.
    halves : int
        Independent halves of a wing, the weaker of which decides.

    Returns
    -------
    Chance
        1 - (1 - p)^halves; its interval from the spread between sets of wood.
    """
    n_states, n_pieces = states.stiffness_z.shape
    level = _level(states, spread, load_factor / states.load_factor)
    piece, point, weight = _components(states, spread, level)
    bounds = np.cumsum(weight, axis=1)
    each = np.zeros(n_states)
    for _ in range(draws):
        which = (generator.random((n_states, 1)) > bounds[:, :-1]).sum(axis=1)
        quality = generator.standard_normal((n_states, n_pieces))
        moved = np.flatnonzero(which)
        quality[moved, piece[which[moved] - 1]] += point[moved, which[moved] - 1]
        density = weight[:, 0] + (weight[:, 1:] * np.exp(quality[:, piece] * point - point**2 / 2)).sum(
            axis=1
        )
        each += _failing(states, spread, level, quality) / density
    each /= draws
    half = float(each.mean())
    error = float(each.std(ddof=1) / np.sqrt(n_states)) if n_states > 1 else 0.0
    ends = [
        1 - (1 - np.clip(p, 0.0, 1.0)) ** halves for p in (half, half - 1.96 * error, half + 1.96 * error)
    ]
    return Chance(float(ends[0]), float(ends[1]), float(ends[2]), draws * n_states)


def _level(states: States, spread: Spread, share: float) -> Array:
    """Standard normal value of every pair's strength below which it fails, (n_states, n_pairs)."""
    with np.errstate(divide="ignore"):
        needed = share / states.reserve
    if spread.column.any():
        columns = spread.column
        needed[:, columns] = _strength_needed(
            needed[:, columns], states.stiffness[:, columns], states.slenderness[columns]
        )
    with np.errstate(divide="ignore", invalid="ignore"):
        level = (np.log(needed) + spread.sigma**2 / 2) / spread.sigma
    sure = np.where(needed >= 1, np.inf, -np.inf)
    return np.where(spread.sigma > 0, level, sure)


def _strength_needed(load: Array, stiffness: Array, slenderness: Array) -> Array:
    """Factor on the crushing strength at which a column bears `load` times its nominal load.

    From f (1 - (f/e)^2 lambda^2/3) = load (1 - lambda^2/3) below f lambda = e by Newton's method; a column
    that Euler's load decides bears no more however strong.
    """
    euler = 2 / (3 * np.maximum(slenderness, 1e-12))
    nominal = np.where(slenderness <= 1, 1 - slenderness**2 / 3, euler)
    target = load * nominal
    limit = stiffness / np.maximum(slenderness, 1e-12)
    f = np.minimum(target, limit)
    curve = (slenderness / stiffness) ** 2 / 3
    for _ in range(40):  # the slope vanishes only at the limit, where the root is double
        slope = np.maximum(1 - 3 * curve * f**2, 1e-6)
        f = np.clip(f - (f - curve * f**3 - target) / slope, 0.0, limit)
    return np.where(target >= 2 / 3 * limit, np.inf, f)


def _failing(states: States, spread: Spread, level: Array, quality: Array) -> Array:
    """Chance that any pair fails, given the pieces' qualities, (n_states,)."""
    from scipy.special import log_ndtr

    common = STIFF_AND_STRONG * states.stiffness_z + np.sqrt(WITHIN - STIFF_AND_STRONG**2) * quality
    mixed = (level - common[:, states.piece]) / np.sqrt(1 - WITHIN)
    pairs = np.where(spread.glued, level, mixed)
    # Of pairs that ask one strength of a part the weakest decides.
    order = np.argsort(spread.own, kind="stable")
    starts = np.searchsorted(spread.own[order], np.arange(int(spread.own.max()) + 1))
    own = np.maximum.reduceat(pairs[:, order], starts, axis=1)
    return -np.expm1(log_ndtr(-own).sum(axis=1))


def _components(states: States, spread: Spread, level: Array) -> tuple[Ints, Array, Array]:
    """Pieces that matter (n_components,), by how much their quality is moved in each set of wood (n_states,
    n_components), and the mixture's weights, the plain law's first (n_states, 1 + n_components)."""
    from scipy.special import ndtr

    along2 = WITHIN - STIFF_AND_STRONG**2
    rest2 = along2 + 1 - WITHIN
    left = level - STIFF_AND_STRONG * states.stiffness_z[:, states.piece]
    wood = ~spread.glued & (spread.sigma > 0)
    left = np.where(wood & np.isfinite(left), left, -np.inf)
    chance = ndtr(left / np.sqrt(rest2))
    n_pieces = states.stiffness_z.shape[1]
    matter = np.bincount(states.piece, chance.mean(axis=0), minlength=n_pieces)
    piece = np.argsort(-matter, kind="stable")[:_COMPONENTS]
    piece = piece[matter[piece] > 0]
    worst = (
        np.stack([left[:, states.piece == p].max(axis=1) for p in piece], axis=1)
        if len(piece)
        else left[:, :0]
    )
    of_piece = ndtr(worst / np.sqrt(rest2))
    # The nearest point of failure shares the way between the piece's quality and the part's own variable.
    point = np.minimum(np.where(np.isfinite(worst), worst, 0.0), 0.0) * np.sqrt(along2) / rest2
    total = of_piece.sum(axis=1, keepdims=True)
    moved = np.where(total > 0, (1 - _UNMOVED) * of_piece / np.where(total > 0, total, 1.0), 0.0)
    return piece, point, np.concatenate([1 - moved.sum(axis=1, keepdims=True), moved], axis=1)
