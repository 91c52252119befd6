"""How does my shell complete commands, options and file names?

Prints a script for the shell; bash: put it where bash-completion looks, or source it.

example: sparbay keys --completion bash
"""

from __future__ import annotations

import argparse

from models.command.exit_codes import ExitCode
from models.command.faults import InputFault

_FILES = {"bash": "_shtab_compgen_files", "zsh": "_files", "tcsh": "f"}
_FOLDERS = {"bash": "_shtab_compgen_dirs", "zsh": "_files -/", "tcsh": "d"}


def options(command: argparse._ActionsContainer) -> None:
    """What it may be told."""
    command.add_argument("shell", nargs="?", choices=("bash", "zsh", "tcsh"), help="the shell")


def run(options: argparse.Namespace) -> ExitCode:
    """Print the script for the shell named."""
    if options.shell is None:
        raise InputFault("keys --completion: for which shell? Give bash, zsh or tcsh.")
    print(script(options.shell))
    return ExitCode.DONE


def script(shell: str) -> str:
    """The script for "bash", "zsh" or "tcsh", made from the parser itself."""
    import shtab

    from models.command.options import parser

    whole = parser()
    commands = next(a for a in whole._actions if isinstance(a, argparse._SubParsersAction))
    for command in commands.choices.values():
        for action in command._actions:
            if action.metavar == "DIR":
                action.complete = _FOLDERS
            elif action.metavar in ("FILE", "MORE", "READINGS"):
                action.complete = _FILES
    return str(shtab.complete(whole, shell=shell))
