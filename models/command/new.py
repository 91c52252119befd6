"""How do I begin a wing file of my own?

Writes a short wing file with comments that can be checked as it is; what is not said is taken from a plain
wing of 1.5 m. Caps are a first guess. A file that exists is left alone.

example: sparbay new my-wing.toml --span 1500mm --mass 1.5kg
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from models.command.exit_codes import ExitCode
from models.command.faults import InputFault
from models.command.files import refuse_file, write_new
from models.command.options import quantity
from models.command.progress import Progress

if TYPE_CHECKING:
    from models.command.starter import Answers


class Question(NamedTuple):
    """One thing to ask: in words, what a flag calls its value, how an answer is read, how one is written."""

    words: str
    metavar: str
    read: Callable[[str], Any]
    write: Callable[[Any], str]


def _plain(value: Any) -> str:
    return f"{value:g}" if isinstance(value, float) else str(value)


_LENGTH = ("LENGTH", quantity("length"), lambda value: f"{1e3 * value:.4g} mm")
STARTER_QUESTIONS = {
    "name": Question("name of the wing", "TEXT", str, _plain),
    "span": Question("span, tip to tip", *_LENGTH),
    "root_chord": Question("chord at the centre line", *_LENGTH),
    "tip_chord": Question("chord at the tip", *_LENGTH),
    "sweep": Question("leading edge at the tip, aft of that at the root", *_LENGTH),
    "section": Question("airfoil section", "TEXT", str, _plain),
    "mass": Question("mass of the whole aeroplane", "MASS", quantity("mass"), lambda value: f"{value:g} kg"),
    "load_factor": Question("load factor of the hardest pull-up", "G", quantity("number"), _plain),
    "spars": Question("spars, 1 or 2", "N", quantity("number of spars", 1, 2), _plain),
    "engine": Question(
        "mass of an engine on rails ahead of the leading edge, 0 g for none",
        "MASS", quantity("mass"), lambda value: f"{1e3 * value:g} g",
    ),
}  # fmt: skip


def options(command: argparse.ArgumentParser) -> None:
    """What it may be told."""
    add = command.add_argument
    add("file", metavar="FILE", help="the file to write")
    add("--ask", action="store_true", help="ask on the terminal for what was not given")
    for key, question in STARTER_QUESTIONS.items():
        add(f"--{key.replace('_', '-')}", metavar=question.metavar, type=question.read, help=question.words)


def run(options: argparse.Namespace) -> ExitCode:
    """Write the starter; a file that exists is left alone."""
    from models.command.sizing import fitted
    from models.command.starter import Answers, NoStarter

    path = Path(options.file)
    refuse_file(path)
    given = {key: getattr(options, key) for key in STARTER_QUESTIONS if getattr(options, key) is not None}
    answers = replace(Answers(name=path.stem.replace("-", " ").replace("_", " ").capitalize()), **given)
    if options.ask:
        answers = ask(answers, set(given))
    try:
        with Progress(None, quiet=True) as step:
            found = fitted(answers, path.parent, str(path), step)
    except NoStarter as error:
        raise InputFault(f"new: {error}") from None
    write_new(path, found.text)
    print(f"{path} is written. Check it with: sparbay check {path}")
    return ExitCode.DONE


def ask(answers: Answers, given: set[str]) -> Answers:
    """Ask on the terminal for whatever was not given; an empty line takes what stands in brackets.

    Parameters
    ----------
    answers : Answers
        What is offered.
    given : set of str
        Keys that were given already and are not asked for.

    Returns
    -------
    Answers

    Raises
    ------
    InputFault
        The input ends before the last question.
    """
    for key, question in STARTER_QUESTIONS.items():
        if key in given:
            continue
        offered = question.write(getattr(answers, key))
        while True:
            print(f"{question.words} [{offered}]: ", end="", file=sys.stderr, flush=True)
            line = sys.stdin.readline()
            if not line:
                raise InputFault(f"new: the input ended at the question for {question.words}.")
            if not line.strip():
                break
            try:
                value: Any = question.read(line.strip())
            except argparse.ArgumentTypeError as error:
                print(f"  {error}", file=sys.stderr)
                continue
            answers = replace(answers, **{key: value})
            break
    return answers
