"""`sparbay new`: a commented starter wing file, from a few answers."""

from __future__ import annotations

import argparse
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

from models.command.exit_codes import ExitCode
from models.command.faults import InputFault
from models.command.files import refuse_file, write_new
from models.command.progress import Progress
from models.command.questions import STARTER_QUESTIONS
from models.command.sizing import fitted
from models.command.starter import Answers, NoStarter


def run(options: argparse.Namespace) -> ExitCode:
    """Write the starter; a file that exists is left alone."""
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
