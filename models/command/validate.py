"""How far is the engine from published, textbook and measured cases?

Prints computed, published, difference, tolerance and source; leaves with 1 if a case fails.

example: sparbay validate B1
"""

from __future__ import annotations

import argparse
from importlib import import_module

from models.command.exit_codes import ExitCode
from models.command.options import shared


def options(command: argparse.ArgumentParser) -> None:
    """What it may be told."""
    command.add_argument("names", nargs="*", metavar="CASE", help="cases to run; all if none is named")
    command.add_argument("--book", metavar="FILE.html",
        help="write every case, and the theory, into one page to read or print")  # fmt: skip
    shared(command, "json")


def run(options: argparse.Namespace) -> ExitCode:
    """Hand over to the validation, which uses the same exit codes.

    It lies a storey above this one, so that it is called by name and nothing here depends on it."""
    arguments = [*options.names, *(["--json"] if options.json else [])]
    if options.book is not None:
        arguments.append(f"--book={options.book}")
    return ExitCode(import_module("validation.__main__").main(arguments))
