"""`sparbay keys`: every key of a wing file with its unit, its meaning and what is assumed without it."""

from __future__ import annotations

import argparse

from models.command.exit_codes import ExitCode
from models.wing.tables import describe


def run(options: argparse.Namespace) -> ExitCode:
    """Print the reference, made from the schema that files are read with."""
    del options
    print(describe(), end="")
    return ExitCode.DONE
