"""Which keys may a wing file have, in which units, and what is assumed without them?

example: sparbay keys
"""

from __future__ import annotations

import argparse
import json
from pathlib import Path

from models.command.exit_codes import ExitCode
from models.command.files import refuse_file, write_new, write_text


def options(command: argparse.ArgumentParser) -> None:
    """What it may be told."""
    command.add_argument("--schema", metavar="FILE",
        help="write them as JSON Schema, so that an editor completes keys")  # fmt: skip
    command.add_argument("--overwrite", action="store_true", help="replace the file if it exists")


def run(options: argparse.Namespace) -> ExitCode:
    """Print the reference, made from the schema that files are read with, or write that for editors."""
    from models.wing.tables import describe

    if options.schema is None:
        print(describe(), end="")
        return ExitCode.DONE
    from models.wing.editor import editor_schema

    path = Path(options.schema)
    refuse_file(path, overwrite=options.overwrite, mend="give another name, or --overwrite to replace it")
    (write_text if options.overwrite else write_new)(path, json.dumps(editor_schema(), indent=1) + "\n")
    print(
        f"{path} is written. Editors that know JSON Schema for TOML complete keys and mark faults once the "
        f"wing file begins with the line\n#:schema {path}"
    )
    return ExitCode.DONE
