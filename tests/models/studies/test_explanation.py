"""Gaussian explanations against their own formulas, and the fit against wood that is known."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from models.studies.explanation import Maker, Prior, Problem, power_law, wood_prior
from models.studies.response import Moved
from models.studies.scatter.states import lognormal


def test_evidence_is_the_gaussian_density() -> None:
    # Against the density of a multivariate normal, by its own formula.
    draw = np.random.default_rng(3301)
    slope, error = draw.normal(size=(4, 2)), np.array([0.1, 0.2, 0.15, 0.3])
    spread, common = np.array([0.3, 0.2]), 0.05 * draw.normal(size=(4, 1))
    problem = Problem(draw.normal(size=4), slope, spread, error, common)
    reading = draw.normal(size=4)
    covariance = np.diag(error**2) + slope @ np.diag(spread**2) @ slope.T + common @ common.T
    gap = reading - problem.centre
    wanted = -0.5 * (np.linalg.slogdet(covariance)[1] + gap @ np.linalg.solve(covariance, gap))
    assert_allclose(problem.evidence(reading), wanted, rtol=1e-10)
    # The wood: ridge regression in another form.
    rest = np.diag(error**2) + common @ common.T
    precision = np.diag(spread**-2) + slope.T @ np.linalg.solve(rest, slope)
    mean = np.linalg.solve(precision, slope.T @ np.linalg.solve(rest, gap))
    found, doubt = problem.deviations(reading)
    assert_allclose(found, mean, rtol=1e-9)
    assert_allclose(doubt, np.sqrt(np.diag(np.linalg.inv(precision))), rtol=1e-9)


def test_draws_have_the_covariance_that_the_evidence_takes() -> None:
    draw = np.random.default_rng(3307)
    slope, error, spread = draw.normal(size=(3, 2)), np.array([0.1, 0.2, 0.3]), np.array([0.3, 0.2])
    problem = Problem(np.ones(3), slope, spread, error, 0.1 * np.ones((3, 1)))
    drawn = problem.draws(draw, 40_000)
    covariance = np.diag(error**2) + slope @ np.diag(spread**2) @ slope.T + 0.01
    white = np.linalg.solve(np.linalg.cholesky(covariance), (drawn - problem.centre).T).T
    assert_allclose([problem.distance(one) for one in drawn[:50]], (white[:50] ** 2).sum(axis=1), rtol=1e-9)
    # 40,000 draws: entries of the unit matrix stray by 0.005 to 0.007; five deviations.
    assert_allclose(np.cov(white.T), np.eye(3), atol=0.035)


def test_the_prior_is_what_scatter_draws() -> None:
    stiffness, size = np.array([0.22, 0.4]), np.array([0.035, 0.025])
    prior = wood_prior(stiffness, size)
    z = np.random.default_rng(3311).standard_normal((200_000, 2, 2))
    drawn = -np.log(lognormal(z[:, 0], stiffness) * lognormal(z[:, 1], size))
    assert_allclose(drawn.mean(axis=0), prior.mean, atol=0.005)  # five deviations of the mean
    assert_allclose(drawn.std(axis=0), prior.spread, rtol=0.01)


def two_springs(log_flexibility: np.ndarray) -> Moved:
    """Marks on two springs: one behind the other, side by side, and one alone."""
    a, b = np.exp(log_flexibility)
    side = a * b / (a + b)
    return Moved(
        np.array([a + b, side, a]), np.array([[a, b], [side * b / (a + b), side * a / (a + b)], [a, 0.0]])
    )


def test_powers_meet_movement_and_slope_and_double_with_all_wood() -> None:
    base = two_springs(np.zeros(2))
    law = power_law(base)
    assert_allclose(law(np.zeros(2)).moves, base.moves)
    assert_allclose(law(np.zeros(2)).slopes, base.slopes)
    assert_allclose(law(np.log([2.0, 2.0])).moves, 2 * base.moves)
    step = np.array([1e-6, -2e-6])
    assert_allclose(law(step).moves - base.moves, base.slopes @ step, rtol=1e-5, atol=1e-12)


def test_marks_where_pieces_pull_against_each_other_are_linear() -> None:
    base = Moved(np.array([0.1]), np.array([[1.0, -0.9]]))
    assert_allclose(power_law(base)(np.array([0.3, 0.0])).moves, [0.4])


@pytest.mark.parametrize("start", [0.0, 1.5])
def test_fit_finds_wood_from_exact_readings(start: float) -> None:
    truth = np.array([0.6, -0.5])
    reading = two_springs(truth).moves
    maker = Maker(Prior(np.zeros(2), np.full(2, 0.5)), 1e-4 * np.ones(3), np.zeros((3, 1)))
    found = maker.fit(two_springs, reading, np.full(2, start), 30, close=1e-6)
    assert_allclose(found.at, truth, atol=1e-3)  # the prior pulls by (1e-4/0.5)^2 of it
    assert_allclose(found.evidence, found.problem.evidence(reading))


def test_what_slopes_promise_beyond_the_wood_reached_does_not_count() -> None:
    reading = two_springs(np.array([2.5, -2.5])).moves
    maker = Maker(Prior(np.zeros(2), np.full(2, 1.0)), 1e-2 * np.ones(3), np.zeros((3, 1)))
    short = maker.fit(two_springs, reading, np.zeros(2), 1)
    full = maker.fit(two_springs, reading, np.zeros(2), 40, close=1e-6)
    assert short.evidence < short.problem.evidence(reading)
    assert short.evidence < full.evidence


def test_a_better_start_is_taken() -> None:
    truth = np.array([0.6, -0.5])
    reading = two_springs(truth).moves
    maker = Maker(Prior(np.zeros(2), np.full(2, 0.5)), 1e-3 * np.ones(3), np.zeros((3, 1)))
    found = maker.fit(two_springs, reading, np.full(2, 2.0), 1, other=(truth, two_springs(truth)))
    assert_allclose(found.at, truth)
