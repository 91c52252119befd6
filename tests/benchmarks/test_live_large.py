"""The page on large wings: when the first click is answered, when every single click is answered at once, and
how much memory that takes.

`pytest -s --benchmark-only tests/benchmarks/test_live_large.py` prints the figures. Seconds on the clock hang
on what else the computer does; processor seconds of both processes stand beside them.
"""

from __future__ import annotations

import random
import resource
import sys
import time
from pathlib import Path

import pytest

from models.live.aside import begun
from models.live.cells import LiveState, own_state
from models.live.engine import LiveEngine, largest_difference
from models.live.opened import Opened
from models.live.page import frame
from models.live.solid import solid
from models.live.words import told
from tests.models.live.large import large

SAME = 1e-9

WINGS = {
    "three-25": large(3, 25, sheeted=True),
    "three-33": large(3, 33, sheeted=True),
    "four-25": large(4, 25, sheeted=True),
    "two-60": large(2, 60, sheeted=True),
}


class Used:
    """A page's engine with its second process, as the server starts them."""

    def __init__(self, text: str) -> None:
        self.aside = begun()
        self.start, self.busy = time.perf_counter(), time.process_time()
        self.opened = Opened(text, Path(), "wing.toml", "wing")
        self.engine = LiveEngine(self.opened, aside=self.aside)
        self.own = own_state(self.opened.cells)
        self.shapes = solid(self.engine.with_every_web(), 4)
        self.dice = random.Random(3)

    def begin(self) -> None:
        self.engine.work_ahead()
        self.engine.answer(self.own)
        self.engine.begin_first()

    def seconds(self) -> tuple[float, float]:
        """On the clock and of the processors, since it began."""
        other = 0.0
        if self.aside is not None and sys.platform == "linux":
            fields = Path(f"/proc/{self.aside.process.pid}/stat").read_text().rpartition(")")[2].split()
            other = (int(fields[11]) + int(fields[12])) / 100
        return time.perf_counter() - self.start, time.process_time() - self.busy + other

    def single(self, of: LiveState | None = None) -> LiveState:
        of = self.own if of is None else of
        k = self.dice.randrange(len(self.opened.cells))
        choice = self.dice.randrange(len(self.opened.cells[k].choices))
        return LiveState((*of.choices[:k], choice, *of.choices[k + 1 :]), of.changes)

    def differences(self, rounds: int) -> list[float]:
        """The largest to the whole solve of first, second and third clicks, each on top of the last."""
        out = [0.0] * 3
        for _ in range(rounds):
            state = self.own
            for k in range(3):
                state = self.single(state)
                found = largest_difference(self.engine.answer(state), self.engine.proven(state)[0])
                out[k] = max(out[k], found)
        return out

    def click(self, state: LiveState) -> tuple[float, float]:
        """Seconds of an answer with all that the page is sent, on the clock and of this thread."""
        start, busy = time.perf_counter(), time.thread_time()
        found = self.engine.answer(state)
        frame(told(self.opened.wing, self.opened.cells, state, found, self.shapes), self.shapes.moved(found))
        return time.perf_counter() - start, time.thread_time() - busy

    def memory(self) -> tuple[float, float]:
        """MB of this process at most, and of the other one now."""
        other = 0.0
        if self.aside is not None and sys.platform == "linux":
            status = Path(f"/proc/{self.aside.process.pid}/status").read_text()
            other = float(status.partition("VmRSS:")[2].split()[0]) / 1024
        return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024, other


@pytest.mark.parametrize("name", WINGS)
def test_from_the_start_until_every_click_is_at_once(benchmark, name):
    used = Used(WINGS[name])
    try:
        used.begin()
        opened = used.seconds()
        first = used.click(used.single())
        answered = used.seconds()

        def wait() -> None:
            while used.engine.left_to_do()[0] or used.engine.first_left()[0]:
                time.sleep(0.05)

        benchmark.pedantic(wait, rounds=1)
        ready = used.seconds()
        clicks = [used.click(used.single()) for _ in range(60)]
        memory = used.memory()
        differences = used.differences(6)
    finally:
        used.engine.stop()
    wall, cpu = (sorted(values) for values in zip(*clicks))
    print(
        f"\n  {name}: {len(used.opened.cells)} cells; clock (processors), s: open {opened[0]:.1f} "
        f"({opened[1]:.1f}), first click took {first[0]:.2f} ({first[1]:.2f}) and was answered at "
        f"{answered[0]:.1f}, all ready at {ready[0]:.1f} ({ready[1]:.1f})"
        f"\n  then {len(wall)} single clicks, ms on the clock: median {1e3 * wall[30]:.0f}, nine tenths "
        f"{1e3 * wall[53]:.0f}, most {1e3 * wall[-1]:.0f}; processor: median {1e3 * cpu[30]:.0f}, most "
        f"{1e3 * cpu[-1]:.0f}"
        f"\n  memory {memory[0]:.0f} and {memory[1]:.0f} MB; largest difference to the whole solve "
        f"after one, two and three clicks {', '.join(f'{d:.0e}' for d in differences)}",
        end="",
    )
    assert max(differences) < SAME
