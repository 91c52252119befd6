"""The commands and their options, in words. Each command's help opens with the question that it answers.

Nothing but the standard library is loaded here, so that help comes at once.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable, Sequence

MOST_PER_BAY = 64
"""Elements along a bay that still make sense; more only cost time."""
LONGEST = 3600.0
"""Seconds that a proof load may be held: beyond an hour it is another test, of creep."""
SCENES = ("deflection", "cap stress", "shear flow", "reserve")
"""Names of the scenes, as in `models.pictures`, which takes too long to load for a line of help."""
FILE = "a wing file or, where there is no such file, the name of a shipped wing"


def parser() -> argparse.ArgumentParser:
    """The parser of the whole command line; `command` of what it returns names a module of this package."""
    top = argparse.ArgumentParser(
        prog="sparbay",
        description="What do shear webs buy in a built-up wooden wing, in bending and in twist, and which "
        "bay fails first in a pull-up?",
        epilog="exit codes: 0 done, 1 the wing fails the check, 2 the input or an option is wrong, 3 a fault "
        "of ours, 130 interrupted. Start with: sparbay demo",
        formatter_class=_Wide,
        allow_abbrev=False,
    )
    top.add_argument("--version", action=_Version)
    commands = top.add_subparsers(dest="command", required=True, metavar="COMMAND", title="commands")
    for add in (
        _check, _compare, _grain, _buckle, _collapse, _proof,
        _rails, _scatter, _show, _new, _demo, _validate, _keys, _woods,
    ):  # fmt: skip
        add(commands)
    return top


class _Wide(argparse.HelpFormatter):
    """Help of one width everywhere, so that it can be compared with the README."""

    def __init__(self, prog: str) -> None:
        super().__init__(prog, max_help_position=26, width=100)


class _Version(argparse.Action):
    """Print the version; it is looked up only when it is asked for."""

    def __init__(self, option_strings: Sequence[str], dest: str) -> None:
        super().__init__(option_strings, dest, nargs=0, help="print the version and leave")

    def __call__(self, parser: argparse.ArgumentParser, *_: object) -> None:
        from models.command.faults import version

        print(f"sparbay {version()}")
        parser.exit()


def _command(
    commands: argparse._SubParsersAction[argparse.ArgumentParser],
    name: str,
    question: str,
    example: str,
    more: str = "",
) -> argparse.ArgumentParser:
    return commands.add_parser(
        name,
        help=question,
        description=f"{question}{' ' + more if more else ''}",
        epilog=f"example: {example}",
        formatter_class=_Wide,
        allow_abbrev=False,
    )


def _check(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    command = _command(
        commands, "check", "Does the wing survive the load in its file, and which bay fails first?",
        "sparbay check powered-tailless",
        "Answers in words, then with tables: bays by reserve factor, deflection and twist at the ribs, mass, "
        "what the solve had to prove, and what was assumed.",
    )  # fmt: skip
    _file(command)
    _json(command)
    _mesh(command)
    command.add_argument(
        "--rigid-joints",
        action="store_true",
        help="hold the feet of the rib posts rigidly on the caps, to see how much their give matters",
    )


def _compare(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    command = _command(
        commands, "compare",
        "What does each layout of webs buy in bending, twist and strength, and for how many grams?",
        "sparbay compare trainer",
        "Compares no webs, C on either face, box, box with the grain along the span, the file's own webs and "
        "the layouts that it names, on the whole wing and on each spar alone.",
    )  # fmt: skip
    _file(command)
    _json(command)
    _mesh(command)


def _grain(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    command = _command(
        commands, "grain", "What does it buy on this wing to run the webs' grain upright, mode by mode?",
        "sparbay grain trainer",
        "Solves the wing with the grain of all its webs upright, along the span and at 45 degrees, and says "
        "what governs in every bay: shear, glue, buckling, splitting or crushing.",
    )  # fmt: skip
    _file(command)
    _json(command)
    _mesh(command)


def _buckle(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    command = _command(
        commands, "buckle", "At which load factor does the wing buckle, in which bay, and how?",
        "sparbay buckle trainer",
        "Linear buckling of the whole wing under the load in its file: caps that bow between ribs, sheeting "
        "that bows, the wing that twists. Webs within a bay are the business of check. Leaves with 1 if a "
        "part other than sheeting buckles at the load asked for.",
    )  # fmt: skip
    _file(command)
    _json(command)
    _mesh(command, least=4)
    command.add_argument(
        "--panels",
        metavar="N",
        type=_whole(2, 32),
        default=8,
        help="panels of sheeting and ribs between spars and edges (default: 8); more show curvature better",
    )
    _folder(command)


def _collapse(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    command = _command(
        commands, "collapse", "What follows the first failure, and does it end the flight?",
        "sparbay collapse trainer",
        "Breaks what fails first, solves again, and tells the story until the wing can carry no more. Leaves "
        "with 1 if the first failure comes below the load asked for.",
    )  # fmt: skip
    _file(command)
    _json(command)
    _mesh(command)
    command.add_argument(
        "--one-side",
        action="store_true",
        help="let only the weaker side of a flying wing break, not both at once",
    )
    _folder(command)


def _proof(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    command = _command(
        commands, "proof", "How far may a static test go without harm, and what does it prove?",
        "sparbay proof trainer",
        "Says what to hang on which rib. Leaves with 1 if the load asked for cannot be proved without harm.",
    )  # fmt: skip
    _file(command)
    _json(command)
    _mesh(command)
    command.add_argument(
        "--hold",
        metavar="SECONDS",
        type=_seconds,
        default=60.0,
        help="how long the load is held (default: 60); wood bears less for longer",
    )


def _rails(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    command = _command(
        commands, "rails",
        "Do the engine's rails hold, with what carries them, and are they clear of its shaking?",
        "sparbay rails powered-tailless",
        "Pull-up, thrust, torque, gyroscopic couples, shaking, nose-over and hard landing of the [engine] in "
        "the file; natural frequencies against firing and blades. Leaves with 1 if a reserve factor is below "
        "1 or a frequency is too near.",
    )  # fmt: skip
    _file(command)
    _json(command)
    _mesh(command)


def _scatter(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    command = _command(
        commands, "scatter", "Which bay lets go first, at what load, and how surely, wood being what it is?",
        "sparbay scatter trainer",
        "Builds the drawing many times from other wood, solves the real structure for each set of wood, and "
        "counts what goes first. The same seed gives the same wings.",
    )  # fmt: skip
    _file(command)
    _json(command)
    _mesh(command)
    command.add_argument(
        "--samples", metavar="N", type=_whole(100, 1_000_000), default=10_000, help="wings (default: 10000)"
    )
    command.add_argument(
        "--sets",
        metavar="N",
        type=_whole(20, 100_000),
        default=1000,
        help="sets of wood that are solved, at most two for each wing (default: 1000; 320 for each layout)",
    )
    command.add_argument(
        "--seed", metavar="S", type=_whole(0, 2**32 - 1), default=20261, help="of the draws (default: 20261)"
    )
    command.add_argument("--layouts", action="store_true", help="compare layouts of webs by it as well")
    _folder(command)


def _show(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    command = _command(
        commands, "show", "What do deflection, stress and reserve factors look like on the wing?",
        "sparbay show trainer --folder pictures",
        "Opens a window or, with a folder, writes every picture there.",
    )  # fmt: skip
    _file(command)
    where = command.add_mutually_exclusive_group()
    where.add_argument("--folder", metavar="DIR", help="write all pictures into this folder; no window")
    names = ", ".join(f'"{name}"' for name in SCENES)
    where.add_argument(
        "--scene",
        metavar="NAME",
        choices=SCENES,
        help=f"the scene in the window: {names} (default: the first)",
    )


def _new(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    command = _command(
        commands, "new", "How do I begin a wing file of my own?", "sparbay new my-wing.toml",
        "Writes a short wing file with comments that can be checked as it is. A file that exists is left "
        "alone.",
    )  # fmt: skip
    command.add_argument("file", metavar="FILE", help="the file to write")


def _demo(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    command = _command(
        commands, "demo", "What does the whole job look like on a shipped wing?", "sparbay demo",
        "Checks the powered tailless wing, compares its layouts, and writes wing file, report, tables, "
        "pictures and a VTU file for any viewer into ./sparbay-demo.",
    )  # fmt: skip
    command.add_argument(
        "--overwrite",
        action="store_true",
        help="replace the files of an earlier run; others in the folder are left alone",
    )


def _validate(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    command = _command(
        commands, "validate", "How far is the engine from published, textbook and measured cases?",
        "sparbay validate B1",
        "Prints computed, published, difference, tolerance and source; leaves with 1 if a case fails.",
    )  # fmt: skip
    command.add_argument("names", nargs="*", metavar="CASE", help="cases to run; all if none is named")
    command.add_argument(
        "--json", action="store_true", help="print a list with one object a case, and nothing else"
    )


def _keys(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    _command(
        commands,
        "keys",
        "Which keys may a wing file have, in which units, and what is assumed without them?",
        "sparbay keys",
    )


def _woods(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    command = _command(
        commands, "woods", "Which woods are known, with which figures, and where is each figure from?",
        "sparbay woods spruce",
        "Without a name, a table of all; with one, every figure of that wood with its source.",
    )  # fmt: skip
    command.add_argument("name", nargs="?", metavar="WOOD", help="one wood, in full")
    _json(command)


def _file(command: argparse.ArgumentParser) -> None:
    command.add_argument("file", metavar="FILE", help=FILE)


def _json(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "--json",
        action="store_true",
        help="print one JSON document with the same numbers in SI units, and nothing else",
    )


def _folder(command: argparse.ArgumentParser) -> None:
    command.add_argument("--folder", metavar="DIR", help="write pictures into this folder, new or empty")


def _mesh(command: argparse.ArgumentParser, least: int = 1) -> None:
    words = f"elements along each bay (default: 4{', the least' if least == 4 else ''})"
    command.add_argument("--mesh", metavar="N", type=_whole(least, MOST_PER_BAY), default=4, help=words)


def _whole(least: int, most: int) -> Callable[[str], int]:
    """A reader of whole numbers within bounds."""

    def read(text: str) -> int:
        try:
            n = int(text)
        except ValueError:
            n = least - 1
        if not least <= n <= most:
            raise argparse.ArgumentTypeError(f"{text!r} is not a whole number from {least} to {most}")
        return n

    return read


def _seconds(text: str) -> float:
    try:
        seconds = float(text)
    except ValueError:
        seconds = 0.0
    if not 1 <= seconds <= LONGEST:
        raise argparse.ArgumentTypeError(f"{text!r} is not a number of seconds from 1 to {LONGEST:.0f}")
    return seconds
