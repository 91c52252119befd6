"""Every half wing of wood of its own: most sets foretold from those that are solved, and solved themselves
where an answer hangs on them.

Solving a set costs 1 ms on a small wing and 20 on a large one. Of 500 that are solved the share of its
strength that each part uses in each mode, which follows the stresses, is interpolated in the logarithms of
the pieces' stiffness and size, each the longer the more follows it (Gaussian process; its width is the one
that tells sets left out best), which gives its own standard deviation too: a set far from all others is told
as doubtful. How far a part and mode is missed at most, to either side, and by how many of those deviations,
is seen where each of them is left out in its turn, and on each that is solved later and was foretold
before. Most are smooth, and miss by so many deviations; those that jump, where another place of a part comes
first, or another name for how it fails, miss by so far, and are doubtful for themselves alone. The lesser
counts, threefold, and more beyond the sets that were looked at. So each half wing has a least and a greatest
reserve. Where the load asked for, or the fifth percentile, lies between these, an answer hangs on it. Parts
and modes that let many hang are foretold once more, each by itself, by the pieces that it follows; what still
hangs is solved, and where that leaves many that hang, all are foretold once more from all that are solved,
until none is left: which wings bear the load asked for, and the fifth percentile, are those
of solving all, unless a share is missed by more than three times what any was that was looked at. Of the
median, of the ends of the fifth percentile's interval, and of what goes first in a wing that was not solved,
the foretold counts.

Shares used are foretold rather than logarithms of reserves: what is hardly loaded, and may be pulled or
pushed, has a reserve anywhere, whose logarithm cannot be told, while its share is told to be small.

Source: Rasmussen and Williams, Gaussian Processes for Machine Learning, 2006, chapters 2 and 5 (what is left
out: equation 5.12; from memory).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cho_solve, cholesky
from scipy.linalg.blas import dtrsm
from scipy.linalg.lapack import dtrtri

from fea.arrays import Array, Ints
from models.studies.scatter.draws import Halves, Seed, Spread, strengths
from models.studies.scatter.states import States

FEWEST, MOST = 500, 1000
"""Sets that are solved before others are foretold, of few half wings and of many (choices)."""
_ROWS = 2000
"""Sets from which others are foretold at most: a matrix of as many rows is factorised, and a new set costs
its square (a choice)."""
_MANY = 100
"""Half wings that still hang for which all are foretold once more, from half as many sets again: that takes
as long as to solve some hundreds (a choice)."""
MOST_OF_EACH = 200
"""Half wings for each of those at most (a choice). Of more, about as many lie near where the answer hangs on
them as are solved already, and all are held at once."""
_SURE = 3.0
"""A share may be missed by so many times what it was missed by at most where that was looked at (a judgement,
no source). Of 12 000 half wings of four wings that were solved as well the reserve of two lay beyond 2, of 55
beyond 1; of 4000 others one beyond 2 was taken for the fifth percentile."""
_WIDTHS = (2.0, 8.0, 32.0, 64.0)
_NUGGETS = (1e-6, 1e-5)
"""Squares of the length over which shares change, and shares of the variance that are taken for noise, to
choose from."""
_TRIED = 400
"""Sets on which these are tried (a choice)."""
_WORTH = 20
"""Half wings that a part and mode lets hang for which it is foretold once more (a choice): that takes as long
as to solve some tens of them."""
_STILL = 1e-6
"""What scatters less than this share of the most does not move."""
_SHARE = 2000
_LEAST = 1e-9
"""Reserves below, what bears nothing too, count as this, and shares used."""


def pays(n_known: int, n: int) -> bool:
    """Whether n half wings are to be foretold from sets that are solved."""
    return FEWEST <= n_known <= MOST and n_known < n <= MOST_OF_EACH * n_known


@dataclass(frozen=True, eq=False)
class Foretold:
    """What is told of sets from others.

    Parameters
    ----------
    left_out : (n_known, n_pairs) float array
        Of each known set, from all others.
    told : (n_new, n_pairs) float array
        Of new ones.
    doubt_left_out : (n_known,) float array
        Their standard deviations, but for one factor.
    doubt : (n_new,) float array
        The same of new ones.
    """

    left_out: Array
    told: Array
    doubt_left_out: Array
    doubt: Array


def foretell(known: Array, value: Array, new: Array) -> Foretold:
    """Values of new points from those of known ones.

    Parameters
    ----------
    known : (n_known, n) float array
        Points.
    value : (n_known, n_pairs) float array
        Their values.
    new : (n_new, n) float array
        Points.

    Returns
    -------
    Foretold
    """
    mean = value.mean(axis=0)
    stretch = _stretch(known, value - mean)
    known, new = known * stretch, new * stretch

    def fitted(n: int, width: float, nugget: float) -> tuple[Array, Array, Array]:
        """Of the first n: the kernel's root, what it makes of the values, and how far each is missed by the
        others over that."""
        kernel = np.exp(-_square_distance(known[:n], known[:n]) / (2 * width))
        kernel.flat[:: n + 1] += nugget
        root = cholesky(kernel, lower=True, overwrite_a=True, check_finite=False)
        own = (dtrtri(root, lower=1)[0] ** 2).sum(axis=0)  # the inverse's diagonal
        return root, cho_solve((root, True), value[:n] - mean, check_finite=False), own

    def missed(choice: tuple[float, float]) -> float:
        _, weight, own = fitted(min(_TRIED, len(known)), *choice)
        # The few that jump are told badly by any.
        return float(np.median(((weight / own[:, None]) ** 2).mean(axis=0)))

    width, nugget = min(product(_WIDTHS, _NUGGETS), key=missed)
    root, weight, own = fitted(len(known), width, nugget)
    told, doubt = np.empty((len(new), value.shape[1])), np.empty(len(new))
    for k in range(0, len(new), _SHARE):
        at = slice(k, k + _SHARE)
        likeness = np.exp(-_square_distance(new[at], known) / (2 * width))
        told[at] = mean + likeness @ weight
        explained = dtrsm(1.0, root, likeness.T, lower=1, overwrite_b=1)
        doubt[at] = np.sqrt(np.maximum(1 + nugget - np.einsum("ij,ij->j", explained, explained), nugget))
    return Foretold(value - weight / own[:, None], told, 1 / np.sqrt(own), doubt)


def _stretch(known: Array, value: Array) -> Array:
    """Factor on every coordinate of the points, (n,): the root of how much values, whose mean is 0, follow it
    on a plane through all. What nothing follows does not set points apart."""
    spread = value.std(axis=0)
    moving = spread > _STILL * spread.max()
    if not moving.any():
        return np.ones(known.shape[1])
    slope = np.linalg.lstsq(known - known.mean(axis=0), value[:, moving] / spread[moving], rcond=None)[0]
    weight = np.sqrt(np.sqrt((slope**2).mean(axis=1)))
    return np.asarray(weight / np.sqrt((weight**2).mean()))


def _square_distance(one: Array, two: Array) -> Array:
    squares = (one**2).sum(axis=1)[:, None] + (two**2).sum(axis=1)
    return np.asarray(np.maximum(squares - 2 * one @ two.T, 0.0))


@dataclass(frozen=True, eq=False)
class OwnWood:
    """Half wings of wood of their own.

    Parameters
    ----------
    halves : Halves
        With the number of each as that of its set.
    n_solved : int
        Sets that were solved.
    missed : (float, float)
        By how much the logarithm of a half wing's reserve was missed where it was looked at: in the middle of
        those that were left out, and at most.
    """

    halves: Halves
    n_solved: int
    missed: tuple[float, float]


def own_wood(
    known: States,
    spread: Spread,
    every: States,
    points: Array,
    solve: Callable[[Ints], Array],
    seed: Seed,
    n_sides: int,
    most: int,
) -> OwnWood | None:
    """Draw half wings, each of its own set.

    Parameters
    ----------
    known : States
        Sets that are solved, the first of all.
    spread : Spread
        Scatter of the strengths of their pairs.
    every : States
        All sets, one for each half wing; reserves of the known ones alone are looked at.
    points : (n_halves, n) float array
        Where sets lie: logarithms of stiffness and size.
    solve : callable
        Numbers of sets to their reserves, (n, n_pairs).
    seed : int or sequence of int
        Of the strengths.
    n_sides : int
        Half wings of a wing.
    most : int
        Sets that may be solved, the known ones among them.

    Returns
    -------
    OwnWood or None
        None where they are foretold so badly that more had to be solved.
    """
    n = told_from = len(known.reserve)
    sets = _Sets(every, spread, points, known.reserve, seed)
    left_out = sets.tell_all(n_sides)
    most_missed = float(left_out.max())
    while len(rows := sets.hanging(n_sides)):
        # What is missed by more than was known lets some more hang, who are few; else more is known by now.
        if sets.n_solved + len(rows) > (most if sets.n_solved == n else 2 * most):
            return None
        if len(rows) > _MANY and 1.5 * told_from < sets.n_solved <= _ROWS:
            left_out, told_from = sets.tell_all(n_sides), sets.n_solved
            most_missed = max(most_missed, float(left_out.max()))
            continue
        before = sets.least[rows]
        sets.solved(rows, solve(rows))
        sets.look()
        most_missed = max(most_missed, float(_missed(sets.least[rows], before).max()))
    halves = Halves(np.arange(len(points)), sets.least, sets.first)
    return OwnWood(halves, sets.n_solved, (float(np.median(left_out)), most_missed))


class _Misses:
    """By how much shares used of all pairs were missed at most.

    Parameters
    ----------
    missed : (n, n_pairs) float array
        Shares of sets that were left out, true less told.
    doubt : (n,) float array
        Of those sets.
    """

    def __init__(self, missed: Array, doubt: Array) -> None:
        self._far, self._deviations = np.zeros((2, 2, missed.shape[1]))
        self._most_doubt = 0.0
        self.learn(missed, doubt)

    def learn(self, missed: Array, doubt: Array) -> None:
        """More of them."""
        self._most_doubt = max(self._most_doubt, float(doubt.max()))
        for most, each in ((self._far, missed), (self._deviations, missed / doubt[:, None])):
            np.maximum(most, [each.max(axis=0), -each.min(axis=0)], out=most)

    def between(self, doubt: Array) -> Array:
        """How much more, and how much less, than foretold is used of sets of such doubt (n,), at most, (2, n,
        n_pairs)."""
        beyond = np.maximum(1.0, doubt / self._most_doubt)
        of_each = (self._far[:, None] * beyond[:, None], self._deviations[:, None] * doubt[:, None])
        return np.asarray(_SURE * np.minimum(*of_each))


@dataclass(frozen=True, eq=False)
class _Alone:
    """A pair foretold by itself: `doubt` (n_halves,) of each set, nan of those that it is not of, and by how
    much it was missed."""

    pair: int
    doubt: Array
    misses: _Misses


class _Sets:
    """Sets of wood, foretold and solved, and between what and what the reserves of their half wings lie.

    Parameters
    ----------
    every : States
        All of them.
    spread : Spread
        Scatter of the strengths of their pairs.
    points : (n_halves, n) float array
        Where they lie.
    known : (n_known, n_pairs) float array
        Reserves of the first.
    seed : int or sequence of int
        Of the strengths.
    """

    def __init__(self, every: States, spread: Spread, points: Array, known: Array, seed: Seed) -> None:
        self.every, self.spread, self._points, self._seed = every, spread, points, seed
        n = len(points)
        self.reserve = np.empty((n, known.shape[1]))
        self.reserve[: len(known)] = known
        self._doubt = np.where(np.arange(n) < len(known), 0.0, np.inf)
        self.least, self._worst, self._best = (np.empty(n) for _ in range(3))
        self.first = np.empty(n, dtype=np.intp)
        self._alone: list[_Alone] = []

    def _strengths(self, n: int) -> Iterator[tuple[slice, Array]]:
        """Of the first n half wings."""
        return strengths(self.every, self.spread, np.arange(n), self._seed)

    def tell_all(self, n_sides: int) -> Array:
        """Foretell all sets from those that are solved, of what lets many hang each by itself as well, and
        look; by how much the logarithm of the reserve of each that is solved is missed where it is left
        out."""
        solved = self._doubt == 0
        found, left_out, self.misses = self._foretold(~solved, slice(None))
        told = np.maximum(found.told, _LEAST, out=found.told)  # many: in place
        self.reserve[~solved] = np.divide(1.0, told, out=told)
        self._doubt[~solved] = found.doubt
        self._alone = []
        at, count, by_left_out = np.flatnonzero(solved), 0, []
        for rows, factor in self._strengths(int(at[-1]) + 1):  # the first are drawn alike
            factor = factor[solved[rows][: len(factor)]]
            by_left_out.append((factor / left_out[count : count + len(factor)]).min(axis=1))
            count += len(factor)
        self.look()
        missed = _missed(self.least[at], np.concatenate(by_left_out))
        hanging = self.hanging(n_sides)
        pairs = self.letting_hang(hanging, n_sides).tolist()
        for pair in pairs:
            self.tell(pair, hanging)
        if pairs:
            self.look()
        return missed

    def _foretold(
        self, rows: Ints | NDArray[np.bool_], pairs: slice | list[int]
    ) -> tuple[Foretold, Array, _Misses]:
        """What is told of some pairs in some sets from those that are solved, what of these where each is
        left out, and by how much that is missed."""
        solved = self._doubt == 0
        used = _used(self.reserve[solved][:, pairs])
        found = foretell(self._points[solved], used, self._points[rows])
        left_out = np.maximum(found.left_out, _LEAST)
        return found, left_out, _Misses(used - left_out, found.doubt_left_out)

    @property
    def n_solved(self) -> int:
        """How many are solved."""
        return int(np.count_nonzero(self._doubt == 0))

    def tell(self, pair: int, rows: Ints) -> None:
        """Foretell a pair by itself in some sets."""
        found, _, misses = self._foretold(rows, [pair])
        doubt = np.full(len(self.reserve), np.nan)
        doubt[rows] = found.doubt
        self._alone.append(_Alone(pair, doubt, misses))
        self.reserve[rows, pair] = 1 / np.maximum(found.told[:, 0], _LEAST)

    def solved(self, rows: Ints, reserve: Array) -> None:
        """Take reserves of sets that were foretold."""
        missed = _used(reserve) - _used(self.reserve[rows])
        for one in self._alone:
            its = np.isfinite(one.doubt[rows])
            if its.any():
                one.misses.learn(missed[its][:, [one.pair]], one.doubt[rows[its]])
                missed[its, one.pair] = 0.0
                one.doubt[rows] = np.nan
        self.misses.learn(missed, self._doubt[rows])
        self.reserve[rows] = reserve
        self._doubt[rows] = 0.0

    def _between(self, rows: slice, factor: Array) -> tuple[Array, Array]:
        """Least and greatest reserve of every pair, (n, n_pairs), by the factors of strengths."""
        used = _used(self.reserve[rows])
        more, less = self.misses.between(self._doubt[rows])
        for one in self._alone:
            its = np.isfinite(one.doubt[rows])
            more[its, one.pair], less[its, one.pair] = one.misses.between(one.doubt[rows][its])[:, :, 0]
        return factor / (used + more), factor / np.maximum(used - less, _LEAST)

    def look(self) -> None:
        """Find the reserve of every half wing, what goes first, and what the reserve lies between."""
        for rows, factor in self._strengths(len(self.reserve)):
            drawn = self.reserve[rows] * factor
            self.first[rows] = drawn.argmin(axis=1)
            self.least[rows] = drawn.min(axis=1)
            worst, best = self._between(rows, factor)
            self._worst[rows], self._best[rows] = worst.min(axis=1), best.min(axis=1)

    def _asked(self, n_sides: int) -> tuple[float, float]:
        """What answers hang on: the load asked for and the fifth percentile."""
        wings = self.least.reshape(-1, n_sides).min(axis=1)
        return 1.0, float(np.quantile(wings, 0.05, method="inverted_cdf"))

    def hanging(self, n_sides: int) -> Ints:
        """Numbers of the half wings on whose true reserve an answer hangs."""
        best = self._best.reshape(-1, n_sides)
        itself = np.eye(n_sides, dtype=bool)
        other = np.where(itself, np.inf, best[:, None]).min(axis=2).ravel()
        # Where another half surely fails before, the wing does.
        hangs = [(self._worst <= at) & (self._best >= at) & (other >= at) for at in self._asked(n_sides)]
        return np.flatnonzero(np.logical_or(*hangs) & (self._doubt > 0))

    def letting_hang(self, rows: Ints, n_sides: int) -> Ints:
        """Pairs whose doubt lets many of some half wings hang."""
        count = np.zeros(self.reserve.shape[1])
        if len(rows) >= _WORTH:
            hangs, asked = np.zeros(len(self.reserve), dtype=bool), self._asked(n_sides)
            hangs[rows] = True
            for some, factor in self._strengths(len(hangs)):
                worst, best = (bound[hangs[some]] for bound in self._between(some, factor))
                either = [(worst <= at) & (best >= at) for at in asked]
                count += np.logical_or(*either).sum(axis=0)
        return np.flatnonzero(count >= _WORTH)


def _used(reserve: Array) -> Array:
    """Share of the strength that is used, by its reserve."""
    return np.asarray(np.maximum(1 / np.maximum(reserve, _LEAST), _LEAST))


def _missed(true: Array, told: Array) -> Array:
    return np.asarray(np.abs(np.log(np.maximum(told, _LEAST) / np.maximum(true, _LEAST))))
