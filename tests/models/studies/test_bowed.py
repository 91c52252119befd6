"""Sheeting that bows: how its movements settle."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from models.strength import check
from models.studies.bowed import Sheeting, margins_bowed
from models.studies.load_cases import load_cases
from models.wing.reading import read
from models.wings import shipped


class _Straight(Sheeting):
    """Movements u = 1 + a u of two cases, which repetition alone finds in hundreds of steps."""

    def __init__(self) -> None:
        self.moves = np.ones((4, 6, 2))
        self.reserve = np.ones((1, 2))
        self._last = None
        self.asked = 0
        self.rate = np.array([0.9, 0.95])

    def _left(self, moves: np.ndarray, multiple: np.ndarray, at: np.ndarray) -> np.ndarray:
        self.at = at
        return np.ones((1, len(at)))

    def _answer(self, moves: np.ndarray, left: np.ndarray) -> np.ndarray:
        self.asked += 1
        return moves * self.rate[self.at]


def test_what_is_straight_settles_by_two_trials() -> None:
    """The mixture of two trials is exact; a trial that is overwritten later would spoil it."""
    sheeting = _Straight()
    found = sheeting.settle(np.ones(2))
    assert_allclose(found.moves[0, 0], [10, 20], rtol=1e-6)
    assert sheeting.asked <= 4
    assert (sheeting.moves == 1).all()


def test_a_case_settled_alone_leaves_the_others() -> None:
    sheeting = _Straight()
    found = sheeting.settle(np.ones(2), np.array([1]))
    assert_allclose(found.moves[0, 0], [1, 20], rtol=1e-6)
    assert_allclose(sheeting.settle(np.ones(2)).moves[0, 0], [10, 20], rtol=1e-6)


def test_whether_a_case_is_hard_hangs_on_its_own_group() -> None:
    """Beside a pull-up a landing is not hard and left at its bound; in a group of its own its load is found
    closer, as alone."""
    wing = read(shipped()["powered-tailless"])
    study = load_cases(wing, per_bay=1, only={"pull-up", "landing on all legs"})
    analyses = [one.analysis for one in study.cases]
    whole = [check(one) for one in analyses]
    model, solution = analyses[0].model, analyses[0].solution

    def landed(first: int, group: list[int] | None = None) -> float:
        found = margins_bowed(model, solution, analyses[first:], whole[first:], group=group)
        return found[-1].rows[0].reserve_factor

    alone = landed(1)
    assert landed(0, [0, 1]) == pytest.approx(alone, rel=1e-6)
    assert landed(0) < (1 - 1e-4) * alone < whole[1].rows[0].reserve_factor
