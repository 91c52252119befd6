"""The parser of the command line. A command is one module of this package, found by `COMMANDS`.

Its docstring is its help: the question that it answers, more in words, and "example: ..." as the last
paragraph. `options(command)` adds what it may be told; `run(options)` answers. `compare_grain.py` is of the
same form and answers `compare --grain`. Here are the options that commands share, and one reader of
quantities. For help nothing but the standard library is loaded, so that it comes at once: a command loads
what it works with in `run`.
"""

from __future__ import annotations

import argparse
import re
import sys
import textwrap
from collections.abc import Callable, Iterable, Sequence
from contextlib import AbstractContextManager, nullcontext
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

if TYPE_CHECKING:
    from models.workers import Run

COMMANDS = {
    "demo": "begin", "new": "begin", "keys": "begin", "woods": "begin",
    "check": "judge", "note": "judge", "loads": "judge", "envelope": "judge", "speed": "judge",
    "balance": "judge", "collapse": "judge", "scatter": "judge",
    "mend": "improve", "compare": "improve", "worth": "improve", "lightest": "improve", "live": "improve",
    "steps": "build", "draw": "build", "report": "build",
    "bench": "test", "measured": "test",
    "validate": "about",
}  # fmt: skip
"""Every command, and the stage of the job that it serves; in the order of the help."""
MOVED = {
    "grain": "compare --grain", "family": "compare --family", "proof": "bench --proof",
    "hold": "bench --by-hand", "buckle": "collapse --buckle", "rails": "loads --rails",
    "piece": "woods --piece", "completion": "keys --completion", "show": "check --show",
}  # fmt: skip
"""Commands of old, and what answers their question now."""
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
        The first word of the line that is no option. Where it names a command, the parser knows no other, and
        else the options of none: to make them all takes longer than to read the line. None for the whole.
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
        prog="sparbay", dest="command", required=True, metavar="COMMAND", parser_class=_Command
    )
    named = [only] if only is not None and only in COMMANDS else list(COMMANDS)
    questions = {name: _add(commands, name, whole=only in (None, name)) for name in named}
    if len(named) > 1:
        about = textwrap.fill(str(top.description), _WIDE)
        top.description = f"{about}\n\n{_by_stage(questions)}"
        top.epilog = textwrap.fill(str(top.epilog), _WIDE)
        top.formatter_class = _AsWritten
    return top


def _add(commands: argparse._SubParsersAction[_Command], name: str, *, whole: bool) -> str:
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
        command.answers = [_Answer(command, flag) for flag in flags(name)]
    return question


def flags(name: str) -> list[str]:
    """Flags, without dashes, by which a command answers other questions: --grain where `NAME_grain.py` is."""
    return [found.stem[len(name) + 1 :].replace("_", "-") for found in _sources(f"{name}_*")]


def _sources(name: str) -> list[Path]:
    import models.command

    return sorted(found for folder in models.command.__path__ for found in Path(folder).glob(f"{name}.py"))


def _module(name: str, flag: str) -> str:
    return f"{name}_{flag}".replace("-", "_")


def told(name: str) -> list[str]:
    """The paragraphs of a command's docstring, read from its source: to load it would take longer."""
    source = _sources(name)[0].read_text(encoding="utf-8")
    return [" ".join(part.split()) for part in source.split('"""', 2)[1].strip().split("\n\n")]


def _by_stage(questions: dict[str, str]) -> str:
    """A line for each command under its stage, folded where its question is long."""
    lines: list[str] = []
    for stage in dict.fromkeys(COMMANDS.values()):
        lines.append(f"to {stage}:" if stage != "about" else "about sparbay:")
        for name in (name for name in COMMANDS if COMMANDS[name] == stage):
            lines += textwrap.wrap(f"  {name:<11}{questions[name]}", _WIDE, subsequent_indent=" " * 13)
            for flag in flags(name):
                also = f"{'':13}--{flag}: {told(_module(name, flag))[0]}"
                lines += textwrap.wrap(also, _WIDE, subsequent_indent=" " * 15)
    return "\n".join(lines)


class _Telling(argparse.ArgumentParser):
    """Does not keep it to itself where its help cannot be written."""

    def _print_message(self, message: str, file: Any = None) -> None:
        if message and file is not None and file is sys.stdout:
            file.write(message)
            file.flush()
        else:
            super()._print_message(message, file)


class _Parser(_Telling):
    """Says what a misspelt command or option may have been meant for."""

    def error(self, message: str) -> NoReturn:
        wrong = re.search(r"argument COMMAND: invalid choice: '(.*?)' \(choose from (.*)\)", message)
        if wrong is not None and wrong[1] in MOVED:
            self.exit(2, f"sparbay {wrong[1]} is now sparbay {MOVED[wrong[1]]}\n")
        if wrong is not None:
            near = _near(wrong[1], [*re.findall(r"[a-z]+", wrong[2]), *MOVED])
            meant = f"did you mean {MOVED.get(near[0], near[0])}?" if near else "the commands: sparbay --help"
            message = f"there is no command {wrong[1][:40]!r}; {meant}"
        _wrong(self, _with_meant(message))

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


def _wrong(command: argparse.ArgumentParser, message: str) -> NoReturn:
    """Say in one line of ordinary letters what is wrong with the options, and leave."""
    from models.wing.intake import shown

    words = shown(" ".join(message.split())).removesuffix(".")
    words = words if len(words) <= _LONG else f"{words[: _LONG - 4]} ..."
    command.exit(2, f"{command.prog}: error: {words}; {command.prog} --help tells more\n")


_LONG = 400
"""Letters of a message about options."""


class _Answer(argparse._ArgumentGroup):
    """Another question that a command answers, asked by a flag: its options, and those that it shares.

    Parameters
    ----------
    command, flag : argparse.ArgumentParser, str
        Whose, and the flag without its dashes; a module of both names has the answer.
    """

    def __init__(self, command: argparse.ArgumentParser, flag: str) -> None:
        self.flag, self.module = f"--{flag}", _module(command.prog.split()[-1], flag)
        self.shares: set[str] = set()
        question, *more = told(self.module)
        self.action = command.add_argument(self.flag, action="store_true", help=question.replace("%", "%%"))
        super().__init__(command, f"with {self.flag}", " ".join(more))
        command._action_groups.append(self)
        import_module(f"models.command.{self.module}").options(self)
        self.needed = [one for one in self._group_actions if one.required and one.option_strings]
        for one in self.needed:
            one.required = False


class _Command(_Telling):
    """A command's own parser: what is not for the question asked is refused."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.answers: list[_Answer] = []

    def error(self, message: str) -> NoReturn:
        """One mistake, one line, with the choice that was meant."""
        _wrong(self, _with_meant(message))

    def parse_known_args(self, args: Any = None, namespace: Any = None) -> Any:
        """As the library's; `answer` is the module that answers, where it is not the command's own."""
        found, left = super().parse_known_args(args, namespace)
        for action in self._actions:
            value = getattr(found, action.dest, None)
            # "--name=--": the library takes the dashes for the end of the options, and the value for a list.
            if action.option_strings and action.nargs is None and (value == [] != action.default or (
                isinstance(value, list) and [] in value
            )):  # fmt: skip
                self.error(f"argument {_called(action)}: expected one argument")
        asked = [one for one in self.answers if getattr(found, one.action.dest)]
        if len(asked) > 1:
            self.error(f"{asked[0].flag} and {asked[1].flag} are two questions; ask one at a time")
        one = asked[0] if asked else None
        for action in self._actions:
            if getattr(found, action.dest, None) in (None, False, [], action.default):
                if one is not None and action in one.needed:
                    self.error(f"the following arguments are required: {_called(action)}")
                continue
            owner = next((each for each in self.answers if action in each._group_actions), None)
            if owner is not None and owner is not one:
                self.error(f"{_called(action)} is for {owner.flag}")
            if one is not None and owner is None and action.dest not in one.shares | {one.action.dest}:
                self.error(f"{_called(action)} means nothing with {one.flag}")
        found.answer = one.module if one is not None else ""
        return found, left


def _called(action: argparse.Action) -> str:
    return action.option_strings[0] if action.option_strings else str(action.metavar or action.dest)


def _with_meant(message: str) -> str:
    """The library's words of a value that is none of an option's choices, with the one that was meant."""
    wrong = re.search(r"invalid choice: '(.*?)' \(choose from (.*)\)", message)
    near = _near(wrong[1], [word.strip(" '") for word in wrong[2].split(",")]) if wrong else []
    return f"{message}; did you mean {near[0]}?" if near else message


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


def shared(command: argparse._ActionsContainer, *names: str) -> None:
    """Add options that commands share: "file", "json" (and how much is printed), "mesh", "folder".

    Where a command has them already, another question that it answers shares them.
    """
    add, there = command.add_argument, {one.dest for one in command._actions}
    if isinstance(command, _Answer):
        command.shares |= {*names, *(("quiet", "full", "rows") if "json" in names else ())}
        command.shares |= {"units"} if "file" in names else set()
    if "file" in names and "file" not in there:
        add("file", metavar="FILE", help=FILE)
        add_units(command)
    if "json" in names and "json" not in there:
        form = command.add_mutually_exclusive_group()
        words = "print one JSON document with the same numbers in SI units, and nothing else"
        form.add_argument("--json", action="store_true", help=words)
        words = "print the answer and the cautions; no tables"
        form.add_argument("--quiet", action="store_true", help=words)
        words = "print all tables whole, with what they rest on"
        form.add_argument("--full", action="store_true", help=words)
        words = "print every table, with N rows at the most (default: what one screen holds)"
        form.add_argument("--rows", metavar="N", type=quantity("whole number", 1, MOST_ROWS), help=words)
    if "mesh" in names and "mesh" not in there:
        words = "elements along each bay (default: 4)"
        add("--mesh", metavar="N", type=quantity("whole number", 1, MOST_PER_BAY), default=4, help=words)
    if "folder" in names and "folder" not in there:
        add("--folder", metavar="DIR", help="write pictures into this folder, new or empty")


def add_units(command: argparse._ActionsContainer, words: str = "") -> None:
    """Add --units."""
    from models.units_out import SYSTEMS

    words = words or "units of what is printed and drawn (default: the wing file's own); --json stays in SI"
    command.add_argument("--units", choices=SYSTEMS, help=words)


def add_workers(command: argparse._ActionsContainer) -> None:
    """Add --workers and --scheduler."""
    who = command.add_mutually_exclusive_group()
    who.add_argument("--workers", metavar="N", type=quantity("whole number", 1, 256), default=1,
        help="processes of this machine side by side (default: 1)")  # fmt: skip
    who.add_argument("--scheduler", metavar="ADDRESS",
        help="let the workers of a dask cluster do it; needs the extra: pip install 'sparbay[cluster]'",
    )  # fmt: skip


def workers_asked(options: argparse.Namespace) -> AbstractContextManager[Run]:
    """Whom the options of `add_workers` name."""
    from models.workers import cluster, processes

    if options.scheduler is not None:
        return cluster(options.scheduler)
    return processes(options.workers) if options.workers > 1 else nullcontext(map)


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
