"""Who does the work: answers in order, and nothing lost with a process that is killed."""

from __future__ import annotations

import contextlib
import os
import pickle
import signal
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from models.command.files import read_wing
from models.studies.lightest import Limits, lightest
from models.studies.scatter import scatter
from models.workers import LOST, Run, processes


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


def _found(name: str, free: tuple[tuple[str, int], ...], limits: Limits, run: Run | None) -> list[Any]:
    """All that `lightest` tells of every layout that it names."""
    found = lightest(read_wing(name), limits, free=free, per_bay=1, run=run)
    told: list[Any] = [found.evaluated, found.thrown, found.proven, found.lower_bound, len(found.judged)]
    assert found.best is not None
    for one in (found.best, *found.strength, *found.stiffness, *found.judged):
        told += [one.codes.tolist(), one.web_mass, one.load_factor, one.mode, one.part, one.deflection]
        told += [one.twist, one.survival, None if one.verdict is None else one.verdict.least]
    return told


def test_what_others_build_gives_the_same_lightest_layout() -> None:
    asked = "spar-box", tuple(("spar", bay) for bay in range(1, 4)), Limits(1.0)
    pieces = []

    def run(work: Callable[..., Any], *members: Any) -> Iterator[Any]:
        for given in zip(*members):
            pieces.append(work.__name__)
            yield pickle.loads(pickle.dumps(work(*pickle.loads(pickle.dumps(given)))))

    assert _found(*asked, run) == _found(*asked, None)
    assert set(pieces) == {"built"}
    assert len(pieces) > 1


def _once_killed(kept: str, work: Callable[..., Any], *given: Any) -> Any:
    """Another's work; the first process that is asked is killed from outside in the middle of it."""
    found = work(*given)
    with contextlib.suppress(FileExistsError):
        (Path(kept) / f"killed at {work.__name__}").touch(exist_ok=False)
        os.kill(os.getpid(), signal.SIGKILL)
    return found


@pytest.mark.long
@pytest.mark.skipif(os.name != "posix", reason="kills a process by its signal")
def test_a_worker_killed_in_the_middle_of_the_lightest_layout_loses_nothing(tmp_path: Path) -> None:
    asked = "trainer", tuple(("main", bay) for bay in range(1, 4)), Limits(6.0, survival=0.5)
    with processes(2) as run:

        def killing(work: Callable[..., Any], *members: Any) -> Iterable[Any]:
            every = list(zip(*members))
            many = len(every)
            return run(_once_killed, [str(tmp_path)] * many, [work] * many, *zip(*every))

        beside = _found(*asked, killing)
    killed = {path.name for path in tmp_path.iterdir()}
    assert killed == {"killed at built", "killed at judged", "killed at _verdict"}
    assert beside == _found(*asked, None)
