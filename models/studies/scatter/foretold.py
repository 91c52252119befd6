"""Every half wing of wood of its own: most sets foretold from those that are solved, and solved themselves
where an answer hangs on them.

Solving a set costs 1 ms on a small wing and 8 on a large one. Of a thousand that are solved the logarithm of
each part's and mode's reserve is interpolated in the logarithms of the pieces' stiffness and size (Gaussian
process; its width is the one that tells sets left out best), which gives its own standard deviation too: a
set far from all others is told as doubtful. How many of those deviations a half wing's reserve is missed by
at most is seen where each of the thousand is left out in its turn, and on each that is solved later and was
foretold before. A half wing that is nearer than that to the load asked for, or to the fifth percentile, is
solved, until none is left: which wings bear the load asked for, and the fifth percentile, are those of
solving all, unless a set is missed by more deviations than any that was looked at. Of the median, of the ends
of the fifth percentile's interval, and of what goes first in a wing that was not solved, the foretold counts.

Source: Rasmussen and Williams, Gaussian Processes for Machine Learning, 2006, chapters 2 and 5 (what is left
out: equation 5.12; from memory).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

import numpy as np
from scipy.linalg import cho_solve, cholesky
from scipy.linalg.blas import dtrsm
from scipy.linalg.lapack import dtrtri

from fea.arrays import Array, Ints
from models.studies.scatter.draws import Halves, Spread, draw_halves
from models.studies.scatter.states import States

FEWEST, MOST = 500, 2000
"""Sets that are solved, at least, before others are foretold, and at most: a matrix of as many rows is
factorised for every width and share of noise (choices)."""
MOST_OF_EACH = 200
"""Half wings for each of those at most (a choice). Of more, about as many lie near where the answer hangs on
them as are solved already (495 of 200 000 on the trainer, beside 1000), and all are held at once."""
_WIDTHS = (2.0, 4.0, 8.0)
_NUGGETS = (1e-6, 1e-5, 1e-4)
"""Squares of the length over which logarithms of reserves change, and shares of the variance that are taken
for noise (the corners where another place of a part comes first), to choose from."""
_CAP = 6.0
"""Reserves beyond this many times the greatest least reserve, endless ones too, count as this."""
_SHARE = 2000
_LEAST = 1e-9
"""Reserves below, what bears nothing too, count as this where logarithms are taken."""


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
    doubt : callable
        The same of new ones, by their numbers: the dearest part, so only for those that are asked for.
    most_doubt : float
        None of a new one is greater.
    """

    left_out: Array
    told: Array
    doubt_left_out: Array
    doubt: Callable[[Ints], Array]
    most_doubt: float


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
    apart = _square_distance(known, known)

    def fits() -> Iterator[tuple[float, float, float, Array, Array, Array]]:
        """How badly each width and share of noise tells what is left out, both, and what is told by."""
        for width in _WIDTHS:
            kernel = np.exp(-apart / (2 * width))
            for nugget in _NUGGETS:
                root = cholesky(kernel + nugget * np.eye(len(known)), lower=True, check_finite=False)
                own = (dtrtri(root, lower=1)[0] ** 2).sum(axis=0)  # the inverse's diagonal
                weight = cho_solve((root, True), value - mean, check_finite=False)
                yield float(((weight / own[:, None]) ** 2).mean()), width, nugget, root, own, weight

    _, width, nugget, root, own, weight = min(fits(), key=lambda one: one[0])

    def likeness(some: Array) -> Array:
        return np.asarray(np.exp(-_square_distance(some, known) / (2 * width)))

    def doubt(rows: Ints) -> Array:
        explained = dtrsm(1.0, root, likeness(new[rows]).T, lower=1, overwrite_b=1)
        return np.asarray(np.sqrt(np.maximum(1 + nugget - (explained**2).sum(axis=0), nugget)))

    told = [mean + likeness(new[k : k + _SHARE]) @ weight for k in range(0, max(1, len(new)), _SHARE)]
    return Foretold(
        value - weight / own[:, None],
        np.concatenate(told),
        1 / np.sqrt(own),
        doubt,
        float(np.sqrt(1 + nugget)),
    )


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
    missed : float
        Most that the logarithm of a half wing's reserve was missed by where it was looked at.
    """

    halves: Halves
    n_solved: int
    missed: float


def own_wood(
    known: States,
    spread: Spread,
    every: States,
    points: Array,
    solve: Callable[[Ints], Array],
    generator: Callable[[], np.random.Generator],
    n_sides: int,
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
    generator : callable
        Gives the generator of the strengths, each time anew.
    n_sides : int
        Half wings of a wing.

    Returns
    -------
    OwnWood or None
        None where they are foretold so badly that more had to be solved than are known.
    """
    n = len(known.reserve)
    most = _CAP * known.reserve.min(axis=1).max()
    value = np.log(np.clip(known.reserve, _LEAST, most))
    found = foretell(points[:n], value, points[n:])
    reserve = np.concatenate([known.reserve, np.exp(found.told)])
    numbers = np.arange(len(reserve))

    def drawn(rows: Array) -> Halves:
        return draw_halves(replace(every, reserve=rows), spread, numbers[: len(rows)], generator())

    halves = drawn(reserve)
    miss = _missed(halves.reserve[:n], drawn(np.exp(found.left_out)).reserve)  # the first are drawn alike
    missed, deviations = float(miss.max()), float((miss / found.doubt_left_out).max())
    doubt = np.where(numbers < n, 0.0, found.most_doubt)
    solved, asked = numbers < n, numbers < n
    while True:
        borne = np.maximum(halves.reserve, _LEAST)
        fifth = np.quantile(borne.reshape(-1, n_sides).min(axis=1), 0.05, method="inverted_cdf")
        away = np.abs(np.log(borne[:, None] / [1.0, fifth])).min(axis=1)
        near = np.flatnonzero((away <= deviations * doubt) & ~asked)
        near = near[np.argsort(away[near], kind="stable")]
        for k in range(0, len(near), _SHARE):
            doubt[near[k : k + _SHARE]] = found.doubt(near[k : k + _SHARE] - n)
            asked[near[k : k + _SHARE]] = True
            if np.count_nonzero((away <= deviations * doubt) & asked | solved) > 2 * n:
                return None
        rows = np.flatnonzero((away <= deviations * doubt) & ~solved)
        if not len(rows):
            return OwnWood(halves, int(solved.sum()), missed)
        reserve[rows] = solve(rows)
        solved[rows] = True
        before, halves = halves.reserve[rows], drawn(reserve)
        miss = _missed(halves.reserve[rows], before)
        missed = max(missed, float(miss.max()))
        deviations = max(deviations, float((miss / doubt[rows]).max()))


def _missed(true: Array, told: Array) -> Array:
    return np.asarray(np.abs(np.log(np.maximum(told, _LEAST) / np.maximum(true, _LEAST))))
