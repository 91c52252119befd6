"""A second process beside the page's own: it builds what the next clicks need, and solves wings whole.

Python runs one thread at a time, so that work in the process that answers would hold its answers up. The two
speak over a pipe that no other process has. Once every layout is ready the second one yields to
everything else on the computer; it goes away with the first however that ends, and opens no page of its own.
What a build has shown comes back in small pieces; failure modes of parts, which either process numbers for
itself, come with their names.
"""

from __future__ import annotations

import contextlib
import multiprocessing
import os
import pickle
import signal
import threading
import time
from collections import deque
from collections.abc import Callable, Iterator
from multiprocessing.connection import Connection
from typing import TYPE_CHECKING, Any

from models import system

if TYPE_CHECKING:
    # What counts is imported once the process is on its way, so that both get ready at a time.
    import numpy as np
    from numpy.typing import NDArray

    from models.live.cells import LiveState
    from models.live.opened import Opened
    from models.live.shelf import Shelf
    from models.structure.model import Part
    from models.studies.lightest.cover import Cover
    from models.studies.lightest.portions import Portion, Portions, State

    Ints = NDArray[np.intp]
    Key = tuple[int, State]

_AT_ONCE = 8
"""Portions in one message: few enough that taking them in holds up no answer."""
_THREADS = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS")


class Aside:
    """The second process, as the first one sees it.

    Raises
    ------
    OSError, RuntimeError
        It cannot be started.
    """

    def __init__(self) -> None:
        context = multiprocessing.get_context("spawn")
        self._pipe, other = context.Pipe()
        self.process = context.Process(target=_work, args=(other,), name="aside", daemon=True)
        self._sending = threading.Lock()
        self._proofs: dict[int, deque[Any]] = {}
        self._count = 0
        self._told = threading.Condition()
        self._numbers: list[int] = []
        self._listened = False
        self.alive = True
        try:
            with _of_one_thread(), _without_interrupts():
                self.process.start()
        except BaseException:
            self._pipe.close()
            raise
        finally:
            other.close()

    def begin(self, portions: Portions) -> None:
        """Say whose portions are built there."""
        self._send(("begin", portions.alone()))

    def build(self, layouts: list[Ints]) -> None:
        """Build these layouts (n_cells,) first, as far as there is anything unknown in them."""
        self._send(("build", layouts))

    def knows(self, known: list[Key]) -> None:
        """Some portions need not be built, besides those that came from there."""
        self._send(("knows", known))

    def look(
        self, number: int, codes: Ints, choices: list[list[int]], most: int = 64, least: float = 1.0
    ) -> None:
        """Build for the layouts about one in hand, the likeliest first.

        Parameters
        ----------
        number, codes, choices, most, least
            Number that comes back with what is left; the layout, (n_cells,); of every cell the choices that
            count; states of a segment's webs that are looked at; weight of what is to be built, as in
            `models.studies.lightest.cover`.
        """
        self._send(("look", number, codes, choices, most, least))

    def step_back(self) -> None:
        """Yield to everything else on the computer from now on."""
        self._send(("step back",))

    def take(self, shelf: Shelf) -> None:
        """Go on with more choices."""
        self._send(("take", shelf.cells))

    def forget(self) -> None:
        """Take nothing for known."""
        self._send(("forget",))

    def proof(self, opened: Opened, state: LiveState, asked: float, per_bay: int, notes: Any) -> Any:
        """Solve the wing of a state whole over there, and wait for it.

        Parameters
        ----------
        opened, state, asked, per_bay, notes
            Load factor; elements along a bay; what makes sentences of the analysis.

        Returns
        -------
        tuple of (Answer, list of str, float) or None
            Answer, sentences, and how far forces are out of balance; None where it could not be done there.
        """
        try:
            asking = pickle.dumps((opened, state, asked, per_bay, notes))
        except (pickle.PicklingError, AttributeError, TypeError):
            return None
        with self._told:
            self._count += 1
            number = self._count
            box = self._proofs[number] = deque()
        self._send(("prove", number, asking))
        with self._told:
            while not box and self.alive:
                self._told.wait(0.5)
            del self._proofs[number]
        return box[0] if box else None

    def received(self) -> Iterator[tuple[str, Any]]:
        """What comes back, until the process ends; the caller's own thread waits here.

        Yields
        ------
        str, list
            "portions" with a list of (key, portion) and the names of modes of parts that are new in them;
            "left" with the number of the question, single changes that are not ready, how many there are, and
            whether nothing at all is left to build.
        """
        self._listened = True
        while self.alive:
            try:
                what, *data = self._pipe.recv()
            except (EOFError, OSError):
                break
            if what == "proof":
                with self._told:
                    if data[0] in self._proofs:
                        self._proofs[data[0]].append(data[1])
                    self._told.notify_all()
            else:
                yield what, data
        self.alive = False
        # Whoever is half way through a message finds out by itself, with the pipe still open.
        with self._sending:
            self._pipe.close()
        with self._told:
            self._told.notify_all()

    def numbers(self, names: list[tuple[str, Part]], number: Callable[[str, Part], int]) -> Ints:
        """Numbers here of all modes of parts numbered there, after some more of them came."""
        import numpy as np

        self._numbers += [number(mode, part) for mode, part in names]
        return np.array(self._numbers, dtype=np.intp)

    def end(self) -> None:
        """End the process; again does nothing."""
        self.alive = False
        with contextlib.suppress(OSError):
            self.process.terminate()
        self.process.join(5)
        if self.process.is_alive():
            self.process.kill()
            self.process.join(5)
        # Who listens learns from the pipe's other end that it is over, and must not find this one closed.
        if not self._listened:
            with self._sending:
                self._pipe.close()

    def _send(self, message: Any) -> None:
        with self._sending, contextlib.suppress(OSError, ValueError):
            self._pipe.send(message)


def begun() -> Aside | None:
    """The second process, or None where whatever it is keeps it from starting: its work is then done by a
    thread."""
    with contextlib.suppress(Exception):
        return Aside()
    return None


@contextlib.contextmanager
def _of_one_thread() -> Iterator[None]:
    """A process that starts in here does its linear algebra in one thread."""
    before = {name: os.environ.get(name) for name in _THREADS}
    os.environ.update(dict.fromkeys(_THREADS, "1"))
    try:
        yield
    finally:
        for name, value in before.items():
            if value is None:
                del os.environ[name]
            else:
                os.environ[name] = value


@contextlib.contextmanager
def _without_interrupts() -> Iterator[None]:
    """A process that starts in here is not interrupted from the terminal; it is ended by its parent."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)


# ---- over there -------------------------------------------------------------------------------------------


def _work(pipe: Connection) -> None:
    """All that the second process does."""
    system.interrupted_by_parent_alone()
    system.end_with_parent()
    import models.live.engine  # noqa: F401 - while the first process reads the wing

    with contextlib.suppress(EOFError, OSError):
        _Worker(pipe).run()


class _Worker:
    portions: Portions

    def __init__(self, pipe: Connection) -> None:
        self.pipe = pipe
        self.known: set[Key] = set()
        self.first: deque[Ints] = deque()
        self.cover: Cover | None = None
        self.proofs: deque[tuple[int, bytes]] = deque()
        self.told = self.number = 0
        self.least = 1.0
        self.behind = False

    def run(self) -> None:
        while True:
            idle = self.cover is None and not self.proofs and not self.first
            while self.pipe.poll(None if idle else 0):
                self.take(*self.pipe.recv())
                idle = False
            if self.proofs:
                number, asking = self.proofs.popleft()
                self.pipe.send(("proof", number, _proven(asking)))
            elif self.first:
                self.build(self.first.popleft())
            elif self.cover is not None:
                codes = self.cover.most(self.known, self.least)
                if codes is not None:
                    self.build(codes)
                left = (self.cover.left(self.known), len(self.cover.changes), codes is None)
                self.pipe.send(("left", self.number, *left))
                self.cover = self.cover if codes is not None else None

    def take(self, what: str, *data: Any) -> None:
        from models.live.shelf import Shelf
        from models.studies.lightest.cover import Cover

        if what == "begin":
            (self.portions,) = data
        elif what == "look":
            self.number, codes, choices, most, self.least = data
            self.cover = Cover(self.portions, codes, choices, most=most)
        elif what == "build":
            self.first.extend(data[0])
        elif what == "knows":
            self.known.update(data[0])
        elif what == "take":
            self.portions.take(Shelf(self.portions.places.wing, data[0]))
        elif what == "forget":
            self.known.clear()
        elif what == "step back" and not self.behind:
            self.behind = True
            system.step_back()
        elif what == "prove":
            self.proofs.append((data[0], data[1]))

    def build(self, codes: Ints) -> None:
        wanted = [one for one in enumerate(self.portions.states(codes)) if one not in self.known]
        if wanted:
            self.known.update(wanted)
            # What cannot be built is answered, or refused, when it is asked for.
            with contextlib.suppress(Exception):
                self.send(list(self.portions.shown(codes, wanted).items()))

    def send(self, shown: list[tuple[Key, Portion]]) -> None:
        names = self.portions.register.names()
        for first in range(0, len(shown), _AT_ONCE):
            self.pipe.send(("portions", shown[first : first + _AT_ONCE], names[self.told :]))
            self.told = len(names)


def _proven(asking: bytes) -> Any:
    from models.analysis import analyse
    from models.live.engine import whole_answer

    try:
        opened, state, asked, per_bay, notes = pickle.loads(asking)
        start = time.perf_counter()
        analysis = analyse(opened.wing_of(state), per_bay=per_bay)
        found = whole_answer(analysis, asked, start)
        return found, notes(analysis), analysis.solution.checks.residual
    except Exception:
        return None  # done again where it can be said what is wrong
