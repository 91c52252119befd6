"""The mixture of trials finds fixed points: of linear functions in as many trials as they have directions, of
each case by itself, however small the last steps are."""

import numpy as np
from numpy.testing import assert_allclose

from fea.mixing import mixed

SEED = 20431


def found(function, start, rounds, counted=None):
    """Gaps over the first of all rounds, and the last trial."""
    tried, gaps, sizes = [], [], []
    trial = start
    for _ in range(rounds):
        gap = function(trial) - trial
        sizes.append(np.linalg.norm(gap, axis=(0, 1)))
        tried, gaps = [*tried, trial], [*gaps, gap]
        trial = mixed(tried, gaps, counted)
    return np.array(sizes) / sizes[0], trial


def test_a_linear_function_of_three_directions_is_found_in_five_trials() -> None:
    """x = b + A x with A of rank three, its values 0.9, -0.7 and 3, for which plain trials run away: the
    directions of A and what lies beside them, and one to begin with."""
    draw = np.random.default_rng(SEED)
    basis = np.linalg.qr(draw.standard_normal((24, 3)))[0]
    matrix, right = basis * [0.9, -0.7, 3.0] @ basis.T, draw.standard_normal((24, 2))
    exact = np.linalg.solve(np.eye(24) - matrix, right).reshape(8, 3, 2)
    _, last = found(lambda x: (right + matrix @ x.reshape(24, 2)).reshape(8, 3, 2), np.zeros((8, 3, 2)), 5)
    assert_allclose(last, exact, rtol=0, atol=1e-8 * np.abs(exact).max())


def test_a_case_does_not_hang_on_those_beside_it() -> None:
    draw = np.random.default_rng(SEED + 1)
    right = draw.standard_normal((5, 2, 3)) * [1.0, 1e-3, 1e6]

    def function(x):
        return right + 0.5 * np.tanh(x / np.abs(right).max(axis=(0, 1))) * np.abs(right).max(axis=(0, 1))

    together = found(function, np.zeros((5, 2, 3)), 6)[1]
    for k in range(3):
        alone = right[:, :, k : k + 1]
        size = np.abs(alone).max()
        one = found(lambda x, a=alone, s=size: a + 0.5 * np.tanh(x / s) * s, np.zeros((5, 2, 1)), 6)[1]
        assert_allclose(together[:, :, k], one[:, :, 0], rtol=0, atol=1e-12 * size)


def test_small_steps_are_not_lost_beside_large_ones() -> None:
    """A smooth function of a few directions goes on closing in, to rounding, as in the first rounds."""
    draw = np.random.default_rng(SEED + 2)
    push = draw.standard_normal((30, 4))

    def function(x):
        seen = push.T @ x.reshape(30, 1) / 30
        return (1.0 + 0.4 * push @ np.tanh(seen)).reshape(10, 3, 1)

    sizes = found(function, np.zeros((10, 3, 1)), 14)[0]
    assert sizes[-1] < 1e-13


def test_figures_that_do_not_count_do_not_change_the_shares() -> None:
    draw = np.random.default_rng(SEED + 3)
    tried = [draw.standard_normal((6, 4, 2)) for _ in range(3)]
    gaps = [draw.standard_normal((6, 4, 2)) for _ in range(3)]
    other = [np.concatenate([gap[:, :2], 1e5 * gap[:, 2:]], axis=1) for gap in gaps]
    assert_allclose(mixed(tried, gaps, 2)[:, :2], mixed(tried, other, 2)[:, :2], rtol=1e-12)
