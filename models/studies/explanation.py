"""What may explain readings, as Gaussian problems: readings = movements(g) + shared errors + noise, g the
logarithms of the flexibilities of pieces of wood with a normal prior.

Movements are linear in flexibilities or nearly so, not in their logarithms, but wood scatters lognormally: a
normal prior on the flexibility itself would count a soft sheet as far rarer than it is, and a web that is
missing as its better explanation. The best g is found by Gauss-Newton; about it the problem is Gaussian, and
the marginal likelihood with g integrated out follows in closed form (Laplace).

Sources: Gaussian marginal likelihood: Rasmussen and Williams, Gaussian Processes for Machine Learning, 2006,
section 2.7 (explicit basis functions), Laplace's approximation section 3.4; least squares with a prior on
structural parameters: Friswell and Mottershead, Finite Element Model Updating in Structural Dynamics, 1995
(all from memory).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.special import gammaincc

from fea.arrays import Array
from models.studies.response import Moved

Law = Callable[[Array], Moved]

_STRIDE = 0.7
"""Longest step of Gauss-Newton: a factor of 2 on a piece's stiffness."""
_CLOSE = 0.08
"""A step below this is taken without solving anew: what the slopes do not tell is half its square."""


@dataclass(frozen=True, eq=False)
class Prior:
    """Normal prior of the logarithms of flexibilities: mean and standard deviation, (n_pieces,)."""

    mean: Array
    spread: Array

    def draws(self, generator: np.random.Generator, n: int) -> Array:
        """Sets of wood, (n, n_pieces)."""
        return np.asarray(self.mean + self.spread * generator.standard_normal((n, len(self.mean))))


def wood_prior(stiffness: Array, size: Array) -> Prior:
    """Prior of pieces whose modulus and size are lognormal of mean 1, as `studies.scatter` draws them. Of
    coefficients of variation (n_pieces,)."""
    variance = np.log1p(stiffness**2) + np.log1p(size**2)
    return Prior(variance / 2, np.sqrt(variance))


def power_law(base: Moved) -> Law:
    """Movements as products of powers of the flexibilities, from those for flexibilities of 1 and their
    slopes.

    A movement to which all pieces add with one sign lies between a sum (spars one behind another) and a
    harmonic mean (side by side) of flexibilities; a product of powers does too, and doubles with all of them.
    Where pieces pull against each other the movement is taken linear in the logarithms.
    """
    size = np.where(base.moves != 0, base.moves, 1.0)[:, None]
    powers = base.slopes / size
    of_one_sign = (base.moves != 0) & (np.abs(powers).max(axis=1, initial=0.0) <= 1.0)

    def law(log_flexibility: Array) -> Moved:
        more = powers @ log_flexibility
        factor = np.exp(np.where(of_one_sign, more, 0.0))
        moves = np.where(of_one_sign, base.moves * factor, base.moves + size[:, 0] * more)
        return Moved(np.asarray(moves), base.slopes * factor[:, None])

    return law


class Problem:
    """Readings = centre + slope (g - mean) + shared + noise, all Gaussian.

    Parameters
    ----------
    centre : (n_marks,) float array
        Movements for g at the prior's mean, m and rad.
    slope : (n_marks, n_pieces) float array
        Of the movements over g.
    spread : (n_pieces,) float array
        Standard deviation of g.
    error : (n_marks,) float array
        Standard deviation of the readings.
    common : (n_marks, n_common) float array
        Errors that readings share, one standard deviation each.
    """

    def __init__(self, centre: Array, slope: Array, spread: Array, error: Array, common: Array) -> None:
        self.centre, self.slope, self.spread, self.error, self.common = centre, slope, spread, error, common
        # In units of each reading's own error, what they share is of low rank: 1 + B B' (Woodbury).
        self.shared = np.concatenate([slope * spread, common], axis=1) / error[:, None]
        inner = self.shared.T @ self.shared
        inner[np.diag_indices(len(inner))] += 1.0
        self.lower = np.linalg.cholesky(inner)
        self.level = -float(np.log(np.diag(self.lower)).sum() + np.log(error).sum())

    @cached_property
    def gain(self) -> Array:
        """Of the readings' departures, each over its error, to unknowns of unit scatter, whitened,
        (n, n_marks)."""
        return np.asarray(np.linalg.solve(self.lower, self.shared.T))

    def evidences(self, readings: Array) -> Array:
        """ln of the marginal likelihood, without what all explanations share, of (n, n_marks) readings."""
        return np.asarray(self.level - self._squares((readings - self.centre) / self.error) / 2)

    def _squares(self, away: Array) -> Array:
        """Squares of distances (n,) of departures over their errors (n, n_marks)."""
        told = away @ self.gain.T
        return np.asarray(np.einsum("nm,nm->n", away, away) - np.einsum("nm,nm->n", told, told))

    def evidence(self, reading: Array) -> float:
        """The same of one set of readings."""
        return float(self.evidences(reading[None])[0])

    def distance(self, reading: Array) -> float:
        """Square of the distance of readings from the centre, in standard deviations."""
        return float(self._squares(((reading - self.centre) / self.error)[None])[0])

    def information(self, column: Array) -> float:
        """1 over the variance with which the readings alone tell an unknown, of which a unit adds `column`
        (n_marks,) to them; what else may be is all allowed for."""
        return float(self._squares((column / self.error)[None])[0])

    def misfit(self, reading: Array) -> float:
        """Chance of readings at least as far off, by the chi-square of all of them together."""
        return float(gammaincc(len(reading) / 2, self.distance(reading) / 2))

    def draws(self, generator: np.random.Generator, n: int) -> Array:
        """Readings (n, n_marks) as this explanation makes them."""
        k, c = len(self.spread), self.common.shape[1]
        z = generator.standard_normal((n, k + c + len(self.centre)))
        wood, shared = self.spread * z[:, :k], z[:, k : k + c]
        return np.asarray(
            self.centre + wood @ self.slope.T + shared @ self.common.T + z[:, k + c :] * self.error
        )

    def deviations(self, reading: Array) -> tuple[Array, Array]:
        """g less the prior's mean after the readings, and its standard deviation."""
        inverse = np.linalg.inv(self.lower)
        k = len(self.spread)
        mean = inverse.T @ (self.gain @ ((reading - self.centre) / self.error))
        return self.spread * mean[:k], self.spread * np.sqrt((inverse[:, :k] ** 2).sum(axis=0))

    def shared_errors(self, reading: Array) -> tuple[Array, Array]:
        """Errors that readings share, in their own standard deviations, after the readings, (n_common,), and
        their covariance, (n_common, n_common)."""
        inverse = np.linalg.inv(self.lower)[:, len(self.spread) :]
        mean = inverse.T @ (self.gain @ ((reading - self.centre) / self.error))
        return np.asarray(mean), np.asarray(inverse.T @ inverse)

    def explained(self, reading: Array) -> Array:
        """Movements without the noise of the readings."""
        away = (reading - self.centre) / self.error
        return np.asarray(reading - self.error * (away - self.gain.T @ (self.gain @ away)))


@dataclass(frozen=True, eq=False)
class Fit:
    """The best wood found for a reading. `at` (n_pieces,) are logarithms of flexibilities, `problem` is
    Gaussian about the wood that was solved last, `evidence` ln of the marginal likelihood: where no best was
    reached, of the wood reached, for what the slopes promise beyond it is not counted."""

    at: Array
    problem: Problem
    evidence: float


@dataclass(frozen=True, eq=False)
class Maker:
    """Makes problems of laws of movement: what all of them share.

    Parameters
    ----------
    prior : Prior
        Of the wood.
    error : (n_marks,) float array
        Standard deviation of the readings.
    shared : (n_marks, n_common) float array
        Errors that readings share, as a share of the movement.
    fixed : (n_marks, n_fixed) float array or None
        Errors that readings share, one standard deviation each, m and rad.
    """

    prior: Prior
    error: Array
    shared: Array
    fixed: Array | None = None

    def common(self, size: Array) -> Array:
        """Errors that readings share where the movements are `size`, (n_marks, n)."""
        mine = self.shared * size[:, None]
        return mine if self.fixed is None else np.concatenate([mine, self.fixed], axis=1)

    def about(self, moved: Moved, at: Array, size: Array | None = None) -> Problem:
        """The problem, Gaussian about some wood; `size` is what shared errors are a share of, the movements
        if left out."""
        centre = moved.moves + moved.slopes @ (self.prior.mean - at)
        common = self.common(moved.moves if size is None else size)
        return Problem(centre, moved.slopes, self.prior.spread, self.error, common)

    def fit(
        self,
        law: Law,
        reading: Array,
        start: Array,
        rounds: int,
        *,
        other: tuple[Array, Moved] | None = None,
        close: float = _CLOSE,
    ) -> Fit:
        """The wood that explains a reading best, and the problem about it, by damped Gauss-Newton.

        A step that would fit worse is halved, since far from the best the slopes mislead.

        Parameters
        ----------
        law : callable
            Movements and slopes for the wood's logarithms, (n_pieces,).
        reading : (n_marks,) float array
            m and rad.
        start : (n_pieces,) float array
            First guess.
        rounds : int
            Solves at the most.
        other : ((n_pieces,) float array, Moved) or None
            Wood that is solved already, to start from where it fits better than the first guess.
        close : float
            A step not longer than this is the last.
        """
        at, moved = start, law(start)
        size = moved.moves
        worth = self._worth(moved, at, reading, size)
        if other is not None:
            size = other[1].moves
            worth, there = (self._worth(m, g, reading, size) for g, m in ((at, moved), other))
            if there < worth:
                (at, moved), worth = other, there
        share, problem = 1.0, self.about(moved, at, size)
        step = self.prior.mean + problem.deviations(reading)[0] - at
        for _ in range(rounds - 1):
            longest = float(np.abs(step).max(initial=0.0)) * share
            if longest <= close:
                break
            trial = at + step * share * min(1.0, _STRIDE / longest)
            tried = law(trial)
            new = self._worth(tried, trial, reading, size)
            if new < worth:
                at, moved, worth, share = trial, tried, new, min(1.0, 2 * share)
                problem = self.about(moved, at, size)
                step = self.prior.mean + problem.deviations(reading)[0] - at
            else:
                share *= min(1.0, _STRIDE / longest) / 2
        evidence = problem.evidence(reading)
        if np.abs(step).max(initial=0.0) > close:
            evidence -= max(0.0, worth - problem.distance(reading)) / 2
        return Fit(at, problem, evidence)

    def _worth(self, moved: Moved, at: Array, reading: Array, size: Array) -> float:
        """What the best wood makes least: squares of what is left of the reading and of the wood's strays."""
        left = (reading - moved.moves) / self.error
        shared = self.common(size) / self.error[:, None]
        pull = shared.T @ left
        inner = np.eye(len(pull)) + shared.T @ shared
        strays = (at - self.prior.mean) / self.prior.spread
        return float(left @ left - pull @ np.linalg.solve(inner, pull) + strays @ strays)
