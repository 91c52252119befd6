"""`sparbay new`: a commented starter wing file."""

from __future__ import annotations

import argparse
from pathlib import Path

from models.command.exit_codes import ExitCode
from models.command.files import write_new

STARTER = Path(__file__).with_name("starter.toml")


def run(options: argparse.Namespace) -> ExitCode:
    """Write the starter; a file that exists is left alone."""
    path = Path(options.file)
    write_new(path, STARTER.read_text(encoding="utf-8"))
    print(f"{path} is written. Check it with: sparbay check {path}")
    return ExitCode.DONE
