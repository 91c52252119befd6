"""Lines that each command prints on 80 and 60 columns and in a pipe: `python -m validation.screens WING...`

A screen has 40 lines, of which the prompt takes one. Every wing is analysed once and its answer printed
three times, on the coarsest mesh unless `--mesh N` says otherwise; `--dear` asks the questions too that take
minutes. Leaves with 1 where an answer is longer than a screen of 80 columns, or a line wider than its screen.
"""

from __future__ import annotations

import argparse
import io
import os
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, redirect_stderr
from typing import Any
from unittest import mock

from models.command import main as sparbay
from models.report import text
from models.report.text import SCREEN, Page

QUESTIONS = (
    "check", "check --speed", "note", "loads", "loads --rails", "envelope", "speed", "balance", "collapse",
    "collapse --buckle", "compare", "compare --speed", "compare --grain", "steps", "bench --proof",
    "bench --by-hand --mass 500g", "draw --folder DIR",
)  # fmt: skip
DEAR = (
    "bench", "bench --folder DIR", "scatter", "worth", "worth --folder DIR", "worth --speed",
    "lightest --bays 1-3 --folder DIR", "mend", "check --show --folder DIR", "report --out FILE",
)  # fmt: skip
MESHLESS = ("balance", "collapse --buckle", "draw")
"""Questions without a mesh, or for which the coarsest will not do."""
WAYS = {"80": 80, "60": 60, "pipe": 0}
"""Columns of a terminal; none of a pipe."""


class Terminal(io.StringIO):
    """A text file that says whether it is a terminal."""

    def __init__(self, columns: int) -> None:
        super().__init__()
        self.columns = columns

    def isatty(self) -> bool:
        """Of so many columns."""
        return bool(self.columns)


@contextmanager
def three_times() -> Iterator[dict[str, list[str]]]:
    """Lines of what is told meanwhile, in every of `WAYS`."""
    told: dict[str, list[str]] = {}

    def tell(write: Any, record: Any) -> None:
        for way, columns in WAYS.items():
            held = Terminal(columns)
            named = {"COLUMNS": str(columns)} if columns else {}
            with mock.patch.object(sys, "stdout", held), mock.patch.dict(os.environ, named):
                page = Page()
                write(page, record)
                page.end()
            told[way] = held.getvalue().splitlines()

    with mock.patch.object(text, "tell", tell), mock.patch.dict(os.environ, {"NO_COLOR": "1"}):
        yield told


def asked(question: str, wing: str, mesh: int, folder: str) -> list[str]:
    """The arguments of a question about a wing."""
    words = question.replace("DIR", os.path.join(folder, "d")).replace("FILE", os.path.join(folder, "w.html"))
    first, *rest = words.split()
    meshed = [] if question.startswith(MESHLESS) else ["--mesh", str(mesh)]
    return [first, wing, *rest, *meshed]


def main(words: list[str]) -> int:
    """Print the table; 1 where something has no room."""
    options = argparse.ArgumentParser(prog="validation.screens")
    options.add_argument("wings", nargs="+", metavar="WING")
    options.add_argument("--dear", action="store_true")
    options.add_argument("--mesh", type=int, default=1)
    options.add_argument("--only", help="questions, parted by commas")
    given = options.parse_args(words)
    only = None if given.only is None else given.only.split(",")
    short = True
    print(
        f"{'wing':<22} {'question':<30} {'exit':>4} " + " ".join(f"{way:>5}" for way in WAYS) + "  too wide"
    )
    for wing in given.wings:
        for question in (*QUESTIONS, *(DEAR if given.dear or only else ())):
            if only is not None and question not in only:
                continue
            said = io.StringIO()
            with tempfile.TemporaryDirectory() as folder, three_times() as told, redirect_stderr(said):
                code = int(sparbay(asked(question, wing, given.mesh, folder)))
            wide = [way for way, columns in WAYS.items() if columns and any(
                len(line) > columns for line in told.get(way, []))]  # fmt: skip
            counts = " ".join(f"{len(told[way]) if way in told else '-':>5}" for way in WAYS)
            name = os.path.basename(wing).removesuffix(".toml")
            print(f"{name:<22} {question:<30} {code:>4} {counts}  {', '.join(wide)}", flush=True)
            if not told and code == 2:
                print(f"{'':<22} {said.getvalue().strip()[:86]}")
            short &= len(told.get("80", [])) <= SCREEN[1] and not wide
    return 0 if short else 1


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
