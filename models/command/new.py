"""How do I begin a wing file of my own?

Writes a short wing file with comments that can be checked as it is; what is not said is taken from a plain
wing of 1.5 m. Caps are a first guess. A file that exists is left alone. A span
in inches, --span 60in --mass 3lb, makes a file in inches and ounces.

example: sparbay new my-wing.toml --span 1500mm --mass 1.5kg
"""

from __future__ import annotations

import argparse
import re
import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from models import units_out as say
from models.command.exit_codes import ExitCode
from models.command.faults import InputFault
from models.command.files import refuse_file, write_new
from models.command.options import add_units, quantity
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


class Inches(float):
    """A length (m) that was typed in inches or feet."""


def _length(text: str) -> float:
    value: float = quantity("length")(text)
    metric = re.search(r"m\s*$", text) is not None
    return value if metric else Inches(value)


def _one_of(key: str) -> Callable[[str], str]:
    """A reader of an answer that is one of a few words."""

    def read(text: str) -> str:
        from models.command import starter

        choices = {"joint": starter.JOINTS, "sheeting": starter.SHEETINGS, "covering": starter.COVERINGS}[key]
        if text.lower() not in choices:
            raise argparse.ArgumentTypeError(f"{text!r} is none of: {', '.join(choices)}")
        return text.lower()

    return read


_LENGTH = ("LENGTH", _length, lambda value: f"{say.length(value):.4g}")
STARTER_QUESTIONS = {
    "name": Question("name of the wing", "TEXT", str, _plain),
    "span": Question("span, tip to tip", *_LENGTH),
    "root_chord": Question("chord at the centre line", *_LENGTH),
    "tip_chord": Question("chord at the tip", *_LENGTH),
    "sweep": Question("leading edge at the tip, aft of that at the root", *_LENGTH),
    "section": Question("airfoil section", "TEXT", str, _plain),
    "mass": Question("mass of the whole aeroplane", "MASS", quantity("mass"),
                     lambda value: f"{say.whole_mass(value):g}"),
    "load_factor": Question("load factor of the hardest pull-up", "G", quantity("number"), _plain),
    "spars": Question("spars, 1 or 2", "N", quantity("number of spars", 1, 2), _plain),
    "engine": Question(
        "mass of an engine on rails ahead of the leading edge, 0 g for none",
        "MASS", quantity("mass"), lambda value: f"{say.mass(value):g}",
    ),
    "joint": Question(
        "how the caps meet at the centre: butted on a brace, scarfed, or any", "HOW", _one_of("joint"), str,
    ),
    "sheeting": Question("sheeting: none, or nose (from the leading edge to the spar)", "WHERE",
                         _one_of("sheeting"), str),
    "covering": Question("covering, for what it weighs: none, tissue or film", "WHAT",
                         _one_of("covering"), str),
}  # fmt: skip


def options(command: argparse.ArgumentParser) -> None:
    """What it may be told."""
    add = command.add_argument
    add("file", metavar="FILE", help="the file to write")
    add_units(command, "units of the file (default: those of the lengths that are given)")
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
    lengths = [value for key, value in given.items() if key in _LENGTHS]
    inches = sum(isinstance(value, Inches) for value in lengths)
    say.adopt(say.IMPERIAL if 2 * inches > len(lengths) else say.METRIC)
    plain = Answers(name=path.stem.replace("-", " ").replace("_", " ").capitalize())
    if say.imperial():
        plain = _whole_inches(plain)
    answers = replace(plain, **given)
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


_LENGTHS = ("span", "root_chord", "tip_chord", "sweep")


def _whole_inches(answers: Answers) -> Answers:
    """What is offered where nothing is given, the span to two inches, other lengths to a quarter."""
    step = {key: (2.0 if key == "span" else 0.25) * say.INCH for key in _LENGTHS}
    lengths = {key: step[key] * round(getattr(answers, key) / step[key]) for key in _LENGTHS}
    return replace(answers, mass=3.25 * say.POUND, **lengths)


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
