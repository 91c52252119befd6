"""Sheeting that bows: how its movements settle."""

from __future__ import annotations

import numpy as np
from numpy.testing import assert_allclose

from models.studies.bowed import Sheeting


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
