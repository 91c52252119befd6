"""How far a long piece of work has come, on stderr: a bar on a terminal, else a line a step."""

from __future__ import annotations

import sys
from types import TracebackType

from models.report.text import LENGTH

_WIDTH = 24


def _columns() -> int:
    import shutil

    return shutil.get_terminal_size().columns - 1


class Progress:
    """Counts steps; use as a context.

    Parameters
    ----------
    n_steps : int or None
        How many there will be; None where that shows only in the end.
    quiet : bool
        Say nothing at all where stderr is no terminal.
    """

    def __init__(self, n_steps: int | None, *, quiet: bool = False) -> None:
        self._n, self._done = n_steps, 0
        self._bar = sys.stderr.isatty()
        self._quiet = (quiet or LENGTH.get().quiet) and not self._bar

    def __enter__(self) -> Progress:
        return self

    def __call__(self, what: str) -> None:
        """Begin the next step."""
        if self._bar:
            room = _columns()
            line = f"{self._drawn()} {what}"
            print(f"\r{line[:room]:<{room}}", end="", file=sys.stderr, flush=True)
        elif not self._quiet:
            of = "" if self._n is None else f"/{self._n}"
            print(f"{self._done + 1}{of} {what}", file=sys.stderr, flush=True)
        self._done += 1

    def _drawn(self) -> str:
        """The bar; of open end one that wanders."""
        if self._n is None:
            at = self._done % _WIDTH
            return f"[{'.' * at}#{'.' * (_WIDTH - at - 1)}] {self._done}"
        full = _WIDTH * self._done // max(self._n, 1)
        return f"[{'#' * full}{'.' * (_WIDTH - full)}] {self._done}/{self._n}"

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._bar:
            blank = " " * (_columns())
            print(f"\r{blank}\r", end="", file=sys.stderr, flush=True)
