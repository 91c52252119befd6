"""Who does the work: answers in order, and nothing lost with a process that is killed."""

from __future__ import annotations

import os
import signal
from pathlib import Path

import numpy as np
import pytest

from models.command.files import read_wing
from models.studies.scatter import scatter
from models.workers import LOST, processes


def _squared(number: int, kept: str) -> int:
    """The square; the process that is asked for 3 first is killed from outside in the middle of it."""
    mark = Path(kept) / "killed"
    if number == 3 and not mark.exists():
        mark.touch()
        os.kill(os.getpid(), signal.SIGKILL)
    return number**2


def _fatal(number: int) -> int:
    os.kill(os.getpid(), signal.SIGKILL)
    return number


@pytest.mark.skipif(os.name != "posix", reason="kills a process by its signal")
def test_a_worker_killed_in_the_middle_loses_nothing(tmp_path: Path) -> None:
    with processes(2) as run:
        assert list(run(_squared, range(8), [str(tmp_path)] * 8)) == [n**2 for n in range(8)]
    assert (tmp_path / "killed").exists()


@pytest.mark.skipif(os.name != "posix", reason="kills a process by its signal")
def test_work_that_kills_whoever_does_it_is_given_up() -> None:
    from concurrent.futures.process import BrokenProcessPool

    with pytest.raises(BrokenProcessPool), processes(1) as run:
        list(run(_fatal, range(LOST)))


def test_wood_that_others_solve_gives_the_same_wings() -> None:
    wing = read_wing("spar-c")
    asked = {"samples": 300, "states": 100, "per_bay": 1}
    alone = scatter(wing, **asked)
    with processes(1) as run:
        beside = scatter(wing, **asked, run=run)
    np.testing.assert_array_equal(alone.load_factors, beside.load_factors)
    assert alone.firsts == beside.firsts
