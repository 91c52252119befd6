"""The parser of the command line. A command is one module of this package, found by `COMMANDS`.

Its docstring is its help: the question that it answers, more in words, and "example: ..." as the last
paragraph. `options(command)` adds what it may be told; `run(options)` answers. Here are the options that
commands share, and one reader of quantities. For help nothing but the standard library is loaded, so that it
comes at once: a command loads what it works with in `run`.
"""

from __future__ import annotations

import argparse
import re
import textwrap
from collections.abc import Callable, Iterable, Sequence
from importlib import import_module
from pathlib import Path
from typing import Any, NoReturn

COMMANDS = {
    "demo": "begin", "new": "begin", "keys": "begin", "woods": "begin", "piece": "begin",
    "check": "judge", "note": "judge", "loads": "judge", "envelope": "judge", "speed": "judge",
    "balance": "judge", "rails": "judge", "buckle": "judge", "collapse": "judge", "scatter": "judge",
    "mend": "improve", "compare": "improve", "worth": "improve", "lightest": "improve", "grain": "improve",
    "family": "improve", "live": "improve",
    "draw": "build", "show": "build", "report": "build",
    "proof": "test", "bench": "test", "measured": "test", "hold": "test",
    "validate": "about", "completion": "about",
}  # fmt: skip
"""Every command, and the stage of the job that it serves; in the order of the help."""
MOST_PER_BAY = 64
"""Elements along a bay that still make sense; more only cost time."""
MOST_ROWS = 10_000
"""Rows of a table that anybody might ask for."""
FILE = "a wing file or, where there is no such file, the name of a shipped wing"
_WIDE = 100
"""Columns of help, the same everywhere, so that it can be compared with the README."""


def parser(only: str | None = None) -> argparse.ArgumentParser:
    """The parser of the whole command line; `command` of what it returns names a module of this package.

    Parameters
    ----------
    only : str or None
        The first word of the line. Where it names a command, the parser knows no other, and else the options
        of none: to make them all takes longer than to read the line. None for the whole parser.
    """
    top = _Parser(
        prog="sparbay",
        usage="sparbay [-h] [--version] COMMAND ...",
        description="What do shear webs buy in a built-up wooden wing, in bending and in twist, and which "
        "bay fails first in a pull-up?",
        epilog="exit codes: 0 done, 1 the wing is not fit, 2 the input or an option is wrong, 3 a fault "
        "of ours, 130 interrupted. Start with: sparbay demo",
        formatter_class=_Wide,
        allow_abbrev=False,
    )
    top.add_argument("--version", action=_Version)
    commands = top.add_subparsers(
        prog="sparbay", dest="command", required=True, metavar="COMMAND", parser_class=argparse.ArgumentParser
    )
    named = [only] if only is not None and only in COMMANDS else list(COMMANDS)
    questions = {name: _add(commands, name, whole=only in (None, name)) for name in named}
    if len(named) > 1:
        about = textwrap.fill(str(top.description), _WIDE)
        top.description = f"{about}\n\n{_by_stage(questions)}"
        top.epilog = textwrap.fill(str(top.epilog), _WIDE)
        top.formatter_class = _AsWritten
    return top


def _add(commands: argparse._SubParsersAction[argparse.ArgumentParser], name: str, *, whole: bool) -> str:
    """Add a command to the parser, with its options where it is `whole`; its question."""
    question, *more, example = told(name)
    command = commands.add_parser(
        name,
        help=question.replace("%", "%%"),
        description=" ".join([question, *more]),
        epilog=example,
        formatter_class=_Wide,
        allow_abbrev=False,
    )
    if whole:
        import_module(f"models.command.{name}").options(command)
    return question


def told(name: str) -> list[str]:
    """The paragraphs of a command's docstring, read from its source: to load it would take longer."""
    source = Path(__file__).with_name(f"{name}.py").read_text(encoding="utf-8")
    return [" ".join(part.split()) for part in source.split('"""', 2)[1].strip().split("\n\n")]


def _by_stage(questions: dict[str, str]) -> str:
    """A line for each command under its stage, folded where its question is long."""
    lines: list[str] = []
    for stage in dict.fromkeys(COMMANDS.values()):
        lines.append(f"to {stage}:" if stage != "about" else "about sparbay:")
        for name in (name for name in COMMANDS if COMMANDS[name] == stage):
            lines += textwrap.wrap(f"  {name:<11}{questions[name]}", _WIDE, subsequent_indent=" " * 13)
    return "\n".join(lines)


class _Parser(argparse.ArgumentParser):
    """Says what a misspelt command or option may have been meant for."""

    def error(self, message: str) -> NoReturn:
        wrong = re.search(r"argument COMMAND: invalid choice: '(.*?)' \(choose from (.*)\)", message)
        if wrong is not None:
            near = _near(wrong[1], re.findall(r"[a-z]+", wrong[2]))
            meant = f"did you mean {near[0]}?" if near else "the commands: sparbay --help"
            message = f"there is no command {wrong[1][:40]!r}; {meant}"
        super().error(message)

    def parse_args(self, args: Any = None, namespace: Any = None) -> Any:
        """As the library's, but for a misspelt option, for which its own command answers."""
        found, left = self.parse_known_args(args, namespace)
        if left:
            inner = self._inner(getattr(found, "command", None))
            option = left[0].partition("=")[0]
            near = _near(option, inner._option_string_actions)
            meant = f"; did you mean {near[0]}?" if near else ""
            inner.error(f"unrecognized arguments: {' '.join(left)[:80]}{meant}")
        return found

    def _inner(self, command: str | None) -> argparse.ArgumentParser:
        choices = self._subparsers._group_actions[0].choices if self._subparsers else None
        return choices[command] if isinstance(choices, dict) and command in choices else self


def _near(word: str, words: Iterable[str]) -> list[str]:
    """The word that was meant, if any is near."""
    from difflib import get_close_matches

    return get_close_matches(word, list(words), 1)


class _Wide(argparse.HelpFormatter):
    """Help of one width everywhere, so that it can be compared with the README."""

    def __init__(self, prog: str) -> None:
        super().__init__(prog, max_help_position=26, width=_WIDE)


class _AsWritten(_Wide, argparse.RawDescriptionHelpFormatter):
    """Help whose description has its own lines, the commands among them."""

    def add_argument(self, action: argparse.Action) -> None:
        """Of any option; the commands are told already."""
        if not isinstance(action, argparse._SubParsersAction):
            super().add_argument(action)


class _Version(argparse.Action):
    """Print the version; it is looked up only when it is asked for."""

    def __init__(self, option_strings: Sequence[str], dest: str) -> None:
        super().__init__(option_strings, dest, nargs=0, help="print the version and leave")

    def __call__(self, parser: argparse.ArgumentParser, *_: object) -> None:
        from models.version import VERSION

        print(f"sparbay {VERSION}")
        parser.exit()


def shared(command: argparse.ArgumentParser, *names: str, least: int = 1) -> None:
    """Add options that commands share: "file", "json" (and how much is printed), "mesh", "folder".

    `least` is of the mesh.
    """
    add = command.add_argument
    if "file" in names:
        add("file", metavar="FILE", help=FILE)
    if "json" in names:
        form = command.add_mutually_exclusive_group()
        words = "print one JSON document with the same numbers in SI units, and nothing else"
        form.add_argument("--json", action="store_true", help=words)
        words = "print the answer and the cautions; no tables"
        form.add_argument("--quiet", action="store_true", help=words)
        words = "print all tables whole, with what they rest on"
        form.add_argument("--full", action="store_true", help=words)
        words = "print every table, with N rows at the most (default: what one screen holds)"
        form.add_argument("--rows", metavar="N", type=quantity("whole number", 1, MOST_ROWS), help=words)
    if "mesh" in names:
        words = f"elements along each bay (default: 4{', the least' if least == 4 else ''})"
        add("--mesh", metavar="N", type=quantity("whole number", least, MOST_PER_BAY), default=4, help=words)
    if "folder" in names:
        add("--folder", metavar="DIR", help="write pictures into this folder, new or empty")


_FRACTIONAL = ("number", "load factor", "number of seconds")
"""Kinds without a unit that need not be whole numbers."""


def quantity(
    kind: str, least: str | int | None = None, most: str | int | None = None, *, zero: bool = True
) -> Callable[[str], Any]:
    """A reader of an option's value within bounds, SI.

    Parameters
    ----------
    kind : str
        As `models.wing.units` has it; or what a number without a unit is called.
    least, most : str or int or None
        Bounds as they are told, with their unit where there is one; None for none.
    zero : bool, default True
        Whether nought will do.
    """

    def read(text: str) -> Any:
        from models.wing.units import KINDS, QuantityError, read_quantity

        bounds: list[Any] = [least, most]
        words = KINDS[kind].name if kind in KINDS else f"a {kind}"
        words += "" if least is None else f" from {least} to {most}"
        words += "" if zero else ", other than none"
        try:
            if kind in KINDS:
                value: float = read_quantity(text, kind)
                bounds = [one and read_quantity(one, kind) for one in bounds]
            else:
                value = (float if kind in _FRACTIONAL else int)(text)
        except QuantityError as error:
            raise argparse.ArgumentTypeError(f"{text!r} {error}") from None
        except ValueError:
            raise argparse.ArgumentTypeError(f"{text!r} is not {words}") from None
        if not (least is None or bounds[0] <= value <= bounds[1]) or not (value or zero):
            raise argparse.ArgumentTypeError(f"{text!r} is not {words}")
        return value

    return read
