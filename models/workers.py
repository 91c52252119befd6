"""Who does the work of a study with many like pieces: this process, processes beside it, or a cluster.

One door for all commands (`--workers`, `--scheduler`). Answers come in the order in which they were asked, so
that they are the same whoever works, and what a lost worker was at is asked once more.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from typing import Any, TypeVar

from models import system
from models import units_out as say

T = TypeVar("T")
Run = Callable[..., Iterable[Any]]
"""Calls a function for every member of some iterables, as `map` does, answers in their order."""
LOST = 3
"""Processes that one piece of work may take with it before it is given up."""


class NoWorkers(ValueError):
    """Nobody is there to do the work; the message is complete."""


@contextmanager
def processes(n_workers: int) -> Iterator[Run]:
    """Processes of this machine to work side by side. Where one is lost, others begin, and what was under way
    is done once more."""
    pool = _Pool(n_workers)
    try:
        yield pool.map
    except BaseException:
        # Nobody waits for what they are at, nor for one that was just being started.
        pool.kill()
        raise
    pool.end()


class _Pool:
    """A pool of processes that is begun anew where one of them is lost."""

    def __init__(self, n_workers: int) -> None:
        self.n_workers = n_workers
        self.left = False
        self._begin()

    def _begin(self) -> None:
        from concurrent.futures import ProcessPoolExecutor
        from multiprocessing import get_context

        # Fresh processes: a fork would inherit whatever threads numpy's libraries have begun.
        self.pool = ProcessPoolExecutor(
            self.n_workers,
            mp_context=get_context("spawn"),
            initializer=_of_this_process,
            initargs=(say.system(),),
        )

    def kill(self) -> None:
        """End all processes at once."""
        from multiprocessing import active_children

        self.pool.shutdown(wait=False, cancel_futures=True)
        for process in active_children():
            process.kill()

    def end(self) -> None:
        """End in order; at once where somebody has gone away from answers."""
        if self.left:
            self.kill()
        self.pool.shutdown()

    def map(self, work: Callable[..., T], *members: Iterable[Any]) -> Iterator[T]:
        """As `map`, in order."""
        from concurrent.futures.process import BrokenProcessPool

        every = list(zip(*members))
        waiting = deque(self.pool.submit(work, *one) for one in every)
        try:
            for k in range(len(every)):
                for tried in range(LOST):
                    try:
                        found = waiting[0].result()
                        break
                    except BrokenProcessPool:
                        if tried == LOST - 1:
                            raise
                        self._begin()
                        # What is done is done; all else is asked again.
                        waiting = deque(
                            one if one.done() and one.exception() is None else self.pool.submit(work, *what)
                            for one, what in zip(waiting, every[k:])
                        )
                waiting.popleft()
                yield found
        finally:
            # Who has heard enough wants none of the rest.
            self.left = self.left or any(not one.done() for one in waiting)
            for one in waiting:
                one.cancel()


def _of_this_process(units: str) -> None:
    """A worker ends with the process that it works for, leaves the terminal's interrupt to that, and speaks
    its units."""
    say.adopt(units)
    system.interrupted_by_parent_alone()
    system.end_with_parent()


@contextmanager
def cluster(address: str) -> Iterator[Run]:
    """The workers of a dask cluster. `address` is its scheduler's, "tcp://10.0.0.5:8786" say.

    Raises
    ------
    NoWorkers
        The library is not installed, or nobody answers.
    """
    try:
        from distributed import Client
    except ImportError:
        raise NoWorkers(
            "a scheduler needs the library distributed; install it with: pip install 'sparbay[cluster]'."
        ) from None
    try:
        client = Client(address, timeout="10s", set_as_default=False)
    except (OSError, ValueError) as error:
        raise NoWorkers(f"{address}: no scheduler answers there: {error}.") from None
    with client:

        def run(work: Callable[..., T], *members: Iterable[Any]) -> Iterator[T]:
            # Pure: a member that comes twice is judged once, and a lost worker's share again elsewhere.
            for future in client.map(work, *(list(column) for column in members), pure=True):
                yield future.result()

        yield run
