"""How far a long piece of work has come, on stderr: a bar on a terminal, else a line a step."""

from __future__ import annotations

import sys
from types import TracebackType

from models.report.text import QUIET

_WIDTH = 24


class Progress:
    """Counts steps; use as a context.

    Parameters
    ----------
    n_steps : int
        How many there will be.
    quiet : bool
        Say nothing at all where stderr is no terminal.
    """

    def __init__(self, n_steps: int, *, quiet: bool = False) -> None:
        self._n, self._done = n_steps, 0
        self._bar = sys.stderr.isatty()
        self._quiet = (quiet or QUIET.get()) and not self._bar

    def __enter__(self) -> Progress:
        return self

    def __call__(self, what: str) -> None:
        """Begin the next step."""
        if self._bar:
            full = _WIDTH * self._done // max(self._n, 1)
            bar = "#" * full + "." * (_WIDTH - full)
            print(f"\r[{bar}] {self._done}/{self._n} {what[:60]:<60}", end="", file=sys.stderr, flush=True)
        elif not self._quiet:
            print(f"{self._done + 1}/{self._n} {what}", file=sys.stderr, flush=True)
        self._done += 1

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._bar:
            print("\r" + " " * (_WIDTH + 75) + "\r", end="", file=sys.stderr, flush=True)
