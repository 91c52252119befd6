"""Strengths of many half wings, and what goes first in each.

ln f = sigma (r z_E + sqrt(w - r^2) z_S + sqrt(1 - w) z) - sigma^2/2: z_E is the piece's stiffness, z_S its
quality beyond that, z the part's and mode's own. Any two strengths of one piece are correlated by w, strength
and stiffness by r; pieces are independent. A glue line has a quality of its own, independent of the wood.
"""

from __future__ import annotations

import zlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.arrays import Array, Ints
from models.strength.cap_column import column_force
from models.structure.model import Part
from models.studies.scatter.pieces import Pieces
from models.studies.scatter.states import States, lognormal
from models.woods.glue import glue, glue_names

WITHIN = 0.6
"""Correlation of the logarithms of two strengths within one sheet or stick (common practice, no source)."""
STIFF_AND_STRONG = 0.5
"""Correlation of stiffness and strength of one piece: clear wood, between modulus of elasticity and strength,
0.5 to 0.7: Wood Handbook, on grading (from memory)."""
_CHUNK = 2000


@dataclass(frozen=True, eq=False)
class Spread:
    """Scatter of every pair's strength, all (n_pairs,): `sigma` of its logarithm, `own` the number of its own
    variable (one for each part and kind of strength: modes that ask the same strength of a part share it),
    whether it is glue, and whether it is a column.

    `parts` and `pieces`: what tells the own variables and the pieces of wood from each other, whatever else
    there is; their numbers where that is empty.
    """

    sigma: Array
    own: Ints
    glued: NDArray[np.bool_]
    column: NDArray[np.bool_]
    parts: tuple[object, ...] = ()
    pieces: tuple[object, ...] = ()


def spread_of(states: States, pieces: Pieces) -> Spread:
    """Scatter of the strengths of all pairs.

    Parameters
    ----------
    states : States
        Their pairs.
    pieces : Pieces
        With their woods.

    Returns
    -------
    Spread
    """
    joint = glue(glue_names()[0]).scatter
    variation = []
    numbers: dict[tuple[Part, str], int] = {}
    for pair in states.pairs:
        numbers.setdefault((pair.part, pair.rule.strength), len(numbers))
        named = pair.rule.strength
        wood = pieces.pieces[pair.piece].material if pair.piece >= 0 else None
        if named == "glue":
            variation.append(joint)
        elif not named or wood is None:
            variation.append(0.0)
        else:
            variation.append(wood.scatter[named])
    return Spread(
        np.sqrt(np.log1p(np.square(variation))),
        np.array([numbers[pair.part, pair.rule.strength] for pair in states.pairs], dtype=np.intp),
        np.array([pair.rule.strength == "glue" for pair in states.pairs], dtype=bool),
        np.array([pair.rule.column for pair in states.pairs], dtype=bool),
        tuple((*_place(part), strength) for part, strength in numbers),
        pieces.keys,
    )


def _place(part: Part) -> tuple[object, ...]:
    """What tells a part from all others, in no units that are spoken."""
    return part.kind, part.spar, part.place, part.bay, part.side, part.station


Seed = int | Sequence[int]


def stream(seed: Seed, what: object) -> np.random.Generator:
    """Random numbers of one thing that hang on a seed and on what it is, as its `repr` tells: whatever else
    is drawn beside it, in this wing or in a changed one, it draws the same (common random numbers)."""
    seeds = [seed] if isinstance(seed, int) else seed
    return np.random.default_rng([*seeds, zlib.crc32(repr(what).encode())])


@dataclass(frozen=True, eq=False)
class Halves:
    """Half wings: `state` (n,) their set of wood, `reserve` (n,) the least reserve, `first` (n,) its pair."""

    state: Ints
    reserve: Array
    first: Ints


def draw_halves(states: States, spread: Spread, state: Ints, seed: Seed) -> Halves:
    """Draw strengths for half wings and find what fails first.

    Parameters
    ----------
    states : States
        Sets of wood.
    spread : Spread
        Scatter of their pairs.
    state : (n,) int array
        Set of wood of each half wing.
    seed : int or sequence of int
        Of what is drawn.

    Returns
    -------
    Halves
    """
    reserve, first = np.empty(len(state)), np.empty(len(state), dtype=np.intp)
    for rows, factor in strengths(states, spread, state, seed):
        every = states.reserve[state[rows]] * factor
        first[rows] = every.argmin(axis=1)
        reserve[rows] = every.min(axis=1)
    return Halves(state, reserve, first)


def strengths(states: States, spread: Spread, state: Ints, seed: Seed) -> Iterator[tuple[slice, Array]]:
    """Factors that the strengths of half wings, some at a time, put on the reserves of all pairs.

    Parameters
    ----------
    states, spread, state, seed
        As for `draw_halves`; reserves are not looked at.

    Yields
    ------
    rows : slice
        Which half wings.
    factor : (n, n_pairs) float array
        Of theirs.
    """
    n_pieces, n_own = states.stiffness_z.shape[1], int(spread.own.max()) + 1
    of_pieces = [stream(seed, ("quality", key)) for key in spread.pieces or range(n_pieces)]
    of_parts = [stream(seed, key) for key in spread.parts or range(n_own)]
    for start in range(0, len(state), _CHUNK):
        rows = slice(start, start + _CHUNK)
        n = len(state[rows])
        quality, own = (
            np.stack([each.standard_normal(n) for each in some]).T for some in (of_pieces, of_parts)
        )
        yield rows, _strength(states, spread, state[rows], quality, own[:, spread.own])


def reserves(states: States, spread: Spread, state: Ints, quality: Array, own: Array) -> Array:
    """Reserve of every pair.

    Parameters
    ----------
    states : States
        Sets of wood.
    spread : Spread
        Scatter of their pairs.
    state : (n,) int array
        Set of wood.
    quality : (n, n_pieces) float array
        z_S.
    own : (n, n_pairs) float array
        z, spread over the pairs that share it.

    Returns
    -------
    (n, n_pairs) float array
    """
    return np.asarray(states.reserve[state] * _strength(states, spread, state, quality, own))


def _strength(states: States, spread: Spread, state: Ints, quality: Array, own: Array) -> Array:
    """What strengths put on the reserve of every pair, as `reserves`."""
    factor = np.exp(spread.sigma * standard(states, spread, state, quality, own) - spread.sigma**2 / 2)
    column = spread.column
    if column.any():
        factor[:, column] = column_factor(
            factor[:, column], states.stiffness[state][:, column], states.slenderness[column]
        )
    return np.asarray(factor)


def standard(states: States, spread: Spread, state: Ints, quality: Array, own: Array) -> Array:
    """Standard normal variable of every pair's strength.

    Parameters
    ----------
    states, spread, state, quality, own
        As for `reserves`.

    Returns
    -------
    (n, n_pairs) float array
    """
    common = STIFF_AND_STRONG * states.stiffness_z[state] + np.sqrt(WITHIN - STIFF_AND_STRONG**2) * quality
    mixed = common[:, states.piece] + np.sqrt(1 - WITHIN) * own
    return np.where(spread.glued, own, mixed)


def column_factor(strength: Array, stiffness: Array, slenderness: Array) -> Array:
    """Load of a column with changed crushing strength and stiffness over the nominal one.

    Parameters
    ----------
    strength, stiffness : (n, n_columns) float array
        Factors on P_c and P_E.
    slenderness : (n_columns,) float array
        2 P_c/(3 P_E), nominal.

    Returns
    -------
    (n, n_columns) float array
    """
    euler = 2 / (3 * np.maximum(slenderness, 1e-12))
    return np.asarray(column_force(strength, stiffness * euler) / column_force(np.ones_like(euler), euler))


__all__ = ["Halves", "Spread", "draw_halves", "lognormal", "reserves", "spread_of", "strengths"]
