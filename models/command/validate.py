"""`sparbay validate`: the published, textbook and measured cases."""

from __future__ import annotations

import argparse
from importlib import import_module

from models.command.exit_codes import ExitCode


def run(options: argparse.Namespace) -> ExitCode:
    """Hand over to the validation, which uses the same exit codes.

    It lies a storey above this one, so that it is called by name and nothing here depends on it.
    """
    arguments = [*options.names, *(["--json"] if options.json else [])]
    if options.book is not None:
        arguments.append(f"--book={options.book}")
    return ExitCode(import_module("validation.__main__").main(arguments))
