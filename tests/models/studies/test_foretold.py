"""Half wings of wood of their own, foretold from few sets, against solving all of them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fea.arrays import Array, Ints
from fea.solve import pinned
from models.analysis import analyse
from models.strength.mode import Rule
from models.structure.model import Part
from models.studies.bent_pull_up import bent_pull_up
from models.studies.scatter import Scatter, foretold, scatter, sets_of_wood
from models.studies.scatter.draws import Spread, draw_halves
from models.studies.scatter.foretold import OwnWood, foretell, own_wood, pays
from models.studies.scatter.states import Pair, Solver, States
from models.wing.reading import read

SEED = 80111


def made_up(n: int, rough: float = 0.0) -> tuple[States, Spread, Array, Array]:
    """Sets of two pieces that share a load, with the reserves of three pairs, the second of which changes
    its place; `rough` is what cannot be foretold."""
    rng = np.random.default_rng(SEED)
    z = rng.standard_normal((n, 2, 2))
    points = np.concatenate([0.3 * z[:, 0] + 0.05 * z[:, 1], 0.05 * z[:, 1]], axis=1)
    stiff = np.exp(points[:, :2])
    share = stiff / stiff.sum(axis=1, keepdims=True)
    two = np.minimum(1.0 / (1.3 * share[:, 1]), 3.0 * stiff[:, 0] * stiff[:, 1])
    reserve = np.stack([1.2 / (2 * share[:, 0]), two, 4 * np.exp(points[:, 2])], axis=1)
    reserve *= 1.6 * np.exp(rough * rng.standard_normal(reserve.shape))
    pairs = tuple(Pair(Part("cap", bay=k), "cap tension", Rule("tension"), min(k, 1)) for k in range(3))
    piece = np.array([0, 1, 1])
    states = States(pairs, piece, z[:, 0], z[:, 1], reserve, stiff[:, piece], np.full(3, np.nan), 4.0, 4.0)
    none = np.zeros(3, dtype=bool)
    return states, Spread(np.full(3, 0.15), np.arange(3), none, none), points, reserve


def known_of(states: States, n: int) -> States:
    return States(
        states.pairs, states.piece, states.stiffness_z[:n], states.size_z[:n], states.reserve[:n],
        states.stiffness[:n], states.slenderness, states.load_factor, states.nominal,
    )  # fmt: skip


def assert_the_same_wings_survive(states: States, spread: Spread, found: OwnWood) -> tuple[Array, Array]:
    """Reserves of all wings, true and told."""
    n = len(states.reserve)
    everything = draw_halves(states, spread, np.arange(n), SEED).reserve
    true, told = (one.reshape(-1, 2).min(axis=1) for one in (everything, found.halves.reserve))
    assert np.array_equal(true >= 1, told >= 1)
    return true, told


def test_who_survives_and_the_fifth_percentile_are_those_of_solving_all() -> None:
    states, spread, points, reserve = made_up(6000)
    asked: list[int] = []

    def solve(rows: Ints) -> Array:
        asked.extend(rows.tolist())
        return reserve[rows]

    found = own_wood(known_of(states, 500), spread, states, points, solve, SEED, 2, 1000)
    assert found is not None
    true, told = assert_the_same_wings_survive(states, spread, found)
    fifth = [np.quantile(one, 0.05, method="inverted_cdf") for one in (true, told)]
    assert fifth[0] == fifth[1]
    assert 0 < len(asked) == len(set(asked)) == found.n_solved - 500 < 500
    assert min(asked) >= 500
    middle, most = found.missed
    assert 1e-6 < middle < 1e-3 < most
    # Of those that were not solved too.
    assert np.median(np.abs(np.log(told / true))) < 1e-3


def test_what_cannot_be_foretold_is_not() -> None:
    states, spread, points, reserve = made_up(1200, rough=0.2)
    found = own_wood(
        known_of(states, 300), spread, states, points, lambda rows: reserve[rows],
        SEED, 2, 600,
    )  # fmt: skip
    assert found is None


def test_where_some_bear_nothing_all_are_solved() -> None:
    states, spread, points, reserve = made_up(1400)
    reserve[::7, 0] = 0.0
    found = own_wood(
        known_of(states, 700), spread, states, points, lambda rows: reserve[rows],
        SEED, 2, 1400,
    )  # fmt: skip
    assert found is not None
    assert 1390 < found.n_solved <= 1400  # where one surely bears nothing it need not be
    assert_the_same_wings_survive(states, spread, found)
    assert np.isfinite(found.missed).all()


def test_what_jumps_is_doubtful_for_itself_alone() -> None:
    """A part that fails by another name in some sets, whose share cannot be told, but is small."""
    states, spread, points, reserve = made_up(4000)
    jumps = replace(states, reserve=np.where(points[:, [0]] > 0.2, [1, 1, 0.5], 1.0) * reserve)
    solved = []
    for one in (states, jumps):
        found = own_wood(
            known_of(one, 500), spread, one, points, lambda rows, own=one: own.reserve[rows],
            SEED, 2, 1000,
        )  # fmt: skip
        assert found is not None
        assert_the_same_wings_survive(one, spread, found)
        solved.append(found.n_solved - 500)
    # Half of all would have to be solved if all pairs were as doubtful as that one.
    assert solved[0] < solved[1] < solved[0] + 300


def test_coordinates_count_by_the_root_of_what_follows_them() -> None:
    points = np.random.default_rng(SEED).standard_normal((50, 3))
    value = np.stack([9 * points[:, 0] + points[:, 1], np.full(50, 7.0)], axis=1)
    value -= value.mean(axis=0)
    assert_allclose(foretold._stretch(points, value), np.sqrt([9, 1, 0]) / np.sqrt(10 / 3), atol=1e-6)
    assert_allclose(foretold._stretch(points, 0 * value), 1.0)


def test_what_lets_many_hang_is_foretold_by_itself(monkeypatch: pytest.MonkeyPatch) -> None:
    """A part that hangs on one piece alone, which among others that hang on many is told less well."""
    n, pieces = 3000, 8
    pairs = tuple(Pair(Part("cap", bay=k), "cap tension", Rule("tension"), 0) for k in range(pieces + 1))
    count, none = len(pairs), np.zeros(len(pairs), dtype=bool)
    zero = np.zeros(count, dtype=np.intp)
    spread = Spread(np.full(count, 0.15), np.arange(count), none, none)
    monkeypatch.setattr(foretold, "_ROWS", 0)  # never all of them once more
    solved = np.zeros(2)
    for seed in (SEED, SEED + 1, SEED + 2):
        z = np.random.default_rng(seed).standard_normal((n, 2, pieces))
        points = np.concatenate([0.3 * z[:, 0], 0.03 * z[:, 1]], axis=1)
        stiff = np.exp(points[:, :pieces])
        alone = 1.6 * np.exp(0.1 * np.sin(8 * points[:, 0]))
        reserve = np.stack([alone, *(2.5 * stiff.mean(axis=1) / stiff.T)], axis=1)
        states = States(
            pairs, zero, z[:, 0], z[:, 1], reserve, stiff[:, zero], np.full(count, np.nan), 4.0, 4.0
        )
        for k, worth in enumerate((n, 5)):
            monkeypatch.setattr(foretold, "_WORTH", worth)
            known, every = known_of(states, 500), reserve
            found = own_wood(known, spread, states, points, lambda rows, of=every: of[rows], SEED, 2, n)
            assert found is not None
            assert_the_same_wings_survive(states, spread, found)
            solved[k] += found.n_solved - 500
    assert 0 < solved[1] < 0.8 * solved[0]


def test_where_many_still_hang_all_are_foretold_once_more(monkeypatch: pytest.MonkeyPatch) -> None:
    """From those solved meanwhile too, and then the same wings survive, fewer of them solved."""
    rng = np.random.default_rng(SEED)
    n, pieces = 6000, 6
    z = rng.standard_normal((n, 2, pieces))
    points = np.concatenate([0.3 * z[:, 0], 0.03 * z[:, 1]], axis=1)
    stiff = np.exp(points[:, :pieces])
    # The more curved, the more sets it takes to tell others.
    reserve = 1.8 * np.exp(0.1 * np.sin(4 * points[:, :pieces])) * stiff.mean(axis=1, keepdims=True) ** 2
    pairs = tuple(Pair(Part("cap", bay=k), "cap tension", Rule("tension"), 0) for k in range(pieces))
    zero, none = np.zeros(pieces, dtype=np.intp), np.zeros(pieces, dtype=bool)
    states = States(pairs, zero, z[:, 0], z[:, 1], reserve, stiff[:, zero], np.full(pieces, np.nan), 4.0, 4.0)
    spread = Spread(np.full(pieces, 0.15), np.arange(pieces), none, none)
    solved = []
    for rows in (0, 3000):
        monkeypatch.setattr(foretold, "_ROWS", rows)
        monkeypatch.setattr(foretold, "_WORTH", n)  # none by itself
        found = own_wood(known_of(states, 300), spread, states, points, lambda k: reserve[k], SEED, 2, n)
        assert found is not None
        assert_the_same_wings_survive(states, spread, found)
        solved.append(found.n_solved)
    assert 300 < solved[1] < 0.8 * solved[0]


@pytest.mark.parametrize(
    ("known", "n", "paid"),
    [
        (1000, 20_000, True), (1000, 1000, False), (320, 20_000, False),
        (1000, 2_000_000, False), (1001, 40_000, False),
    ],
)  # fmt: skip
def test_neither_few_sets_nor_more_than_can_be_held_are_foretold_from(known: int, n: int, paid: bool) -> None:
    assert pays(known, n) is paid


def test_left_out_is_told_as_a_new_one(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(foretold, "_WIDTHS", (2.0,))
    monkeypatch.setattr(foretold, "_NUGGETS", (1e-4,))
    monkeypatch.setattr(foretold, "_stretch", lambda known, value: np.ones(known.shape[1]))
    _, _, points, reserve = made_up(60)
    value = np.log(reserve) - np.log(reserve).mean(axis=0)
    known = foretell(points, value, points[:0])
    kernel = np.exp(-((points[:, None] - points) ** 2).sum(axis=2) / 4) + 1e-4 * np.eye(60)
    for k in (0, 17, 59):
        rest = np.arange(60) != k
        weight = np.linalg.solve(kernel[np.ix_(rest, rest)], kernel[rest, k])
        assert_allclose(known.left_out[k], weight @ value[rest], rtol=1e-6)
        assert_allclose(known.doubt_left_out[k] ** 2, kernel[k, k] - weight @ kernel[rest, k], rtol=1e-6)
        of_rest = foretell(points[rest], value[rest], points[[k]])
        assert_allclose(of_rest.doubt[0], known.doubt_left_out[k], rtol=1e-6)


def as_solved(path: Path, samples: int, n_known: int, per_bay: int = 4) -> tuple[Scatter, Array]:
    """A study, and load factors of its wings where every set is solved, with the pairs that the known sets
    find: of more sets some find one more."""
    analysis = analyse(read(path), per_bay=per_bay)
    bent = bent_pull_up(analysis, pinned(analysis.solution.assembly))
    solver = Solver(analysis, beside=bent, bows=True)
    known, spread = sets_of_wood(solver, SEED, n_known)
    told = scatter(read(path), samples=samples, states=n_known, seed=SEED, per_bay=per_bay)
    n = 2 * samples
    z = np.random.default_rng([SEED, 0]).standard_normal((n, 2, len(solver.pieces.pieces)))
    every = solver.more(known, z[:, 0], z[:, 1])
    halves = draw_halves(every, spread, np.arange(n), [SEED, 1])
    return told, halves.reserve.reshape(samples, 2).min(axis=1) * known.load_factor


def assert_those_of_solving_all(told: Scatter, solved: Array) -> None:
    assert told.missed is not None
    assert told.design_effect == 1.0
    assert told.survival == (solved >= told.asked).mean()
    # Rounding: sets are solved in other company.
    assert_allclose(told.fifth, np.quantile(solved, 0.05, method="inverted_cdf"), rtol=1e-9)
    assert_allclose(told.median, np.median(solved), rtol=5e-3)


@pytest.mark.parametrize("name", ["trainer", "short-tailless"])
def test_of_few_sets_too_who_survives_and_the_fifth_are_those_of_solving_all(
    name: str, path_of: Callable[[str], Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(foretold, "FEWEST", 60)
    told, solved = as_solved(path_of(name), 70, 80, per_bay=1)
    assert_those_of_solving_all(told, solved)
    assert told.n_states < 140


@pytest.mark.long
@pytest.mark.parametrize("name", ["trainer", "short-tailless", "powered-tailless"])
def test_a_wing_foretold_survives_as_one_solved(name: str, path_of: Callable[[str], Path]) -> None:
    told, solved = as_solved(path_of(name), 2000, 700)
    assert_those_of_solving_all(told, solved)
    assert told.n_states < 1200
