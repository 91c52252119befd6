"""The commands and their options, in words. Each command's help opens with the question that it answers.

Nothing but the standard library is loaded here, so that help comes at once.
"""

from __future__ import annotations

import argparse
import re
import textwrap
from collections.abc import Callable, Iterable, Sequence
from typing import Any, NoReturn

from models.command.questions import STARTER_QUESTIONS

MOST_PER_BAY = 64
"""Elements along a bay that still make sense; more only cost time."""
MOST_ROWS = 10_000
"""Rows of a table that anybody might ask for."""
LONGEST = 3600.0
"""Seconds that a proof load may be held: beyond an hour it is another test, of creep."""
SCENES = ("deflection", "cap stress", "shear flow", "reserve")
"""Names of the scenes, as in `models.pictures`, which takes too long to load for a line of help."""
FILE = "a wing file or, where there is no such file, the name of a shipped wing"


def parser(only: str | None = None) -> argparse.ArgumentParser:
    """The parser of the whole command line; `command` of what it returns names a module of this package.

    Parameters
    ----------
    only : str or None
        Where this names a command, the parser knows no other: to make them all takes longer than to read the
        line.
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
    every = {add.__name__[1:]: add for stage in _stages().values() for add in stage}
    for add in [every[only]] if only in every else every.values():
        add(commands)
    if only not in every:
        about = textwrap.fill(str(top.description), _WIDE)
        top.description = f"{about}\n\n{_by_stage(commands)}"
        top.epilog = textwrap.fill(str(top.epilog), _WIDE)
        top.formatter_class = _AsWritten
    return top


_WIDE = 100
"""Columns of help, the same everywhere, so that it can be compared with the README."""
_Add = Callable[["argparse._SubParsersAction[argparse.ArgumentParser]"], None]


def _stages() -> dict[str, tuple[_Add, ...]]:
    """The commands by the stage of the job that they serve."""
    return {
        "begin": (_demo, _new, _keys, _woods, _piece),
        "judge": (_check, _note, _loads, _envelope, _speed, _balance, _rails, _buckle, _collapse, _scatter),
        "improve": (_mend, _compare, _worth, _lightest, _grain, _family, _live),
        "build": (_steps, _draw, _show, _report),
        "test": (_proof, _bench, _measured, _hold),
        "about": (_validate, _completion),
    }  # fmt: skip


def _by_stage(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> str:
    """A line for each command under its stage, folded where its question is long."""
    questions = {one.dest: one.help or "" for one in commands._choices_actions}
    lines = []
    for stage, adds in _stages().items():
        lines.append(f"to {stage}:" if stage != "about" else "about sparbay:")
        for add in adds:
            name = add.__name__[1:]
            indent = " " * 13
            lines += textwrap.wrap(f"  {name:<11}{questions[name]}", _WIDE, subsequent_indent=indent)
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


class _AsWritten(argparse.RawDescriptionHelpFormatter):
    """Help whose description has its own lines, the commands among them."""

    def __init__(self, prog: str) -> None:
        super().__init__(prog, max_help_position=26, width=_WIDE)

    def add_argument(self, action: argparse.Action) -> None:
        """Of any option; the commands are told already."""
        if not isinstance(action, argparse._SubParsersAction):
            super().add_argument(action)


class _Wide(argparse.HelpFormatter):
    """Help of one width everywhere, so that it can be compared with the README."""

    def __init__(self, prog: str) -> None:
        super().__init__(prog, max_help_position=26, width=_WIDE)


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


def _note(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    command = _command(
        commands, "note",
        "Is this wing fit to fly: how hard, what breaks first, does it balance, do the rails hold?",
        "sparbay note powered-tailless",
        "One page: envelope, critical case, weakest bay, balance, engine rails, static test, what to do "
        "first. Leaves with 1 if a case fails, it balances out of range, or the engine shakes it.",
    )  # fmt: skip
    _file(command)
    _json(command)
    _mesh(command)
    _folder(command)


def _report(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    command = _command(
        commands, "report",
        "How do I show, send or print everything about this wing in one file?",
        "sparbay report trainer --out trainer.html",
        "One page that needs nothing beside it: answer and cautions, the wing to turn with the mouse, loads, "
        "movements, reserve factors, envelope, balance, layouts, inputs and what was assumed, proofs and "
        "sources. Leaves with 1 as sparbay note does.",
    )  # fmt: skip
    _file(command)
    _json(command)
    _mesh(command)
    command.add_argument(
        "--out", metavar="PAGE", required=True, help="the file to write: wing.html, or wing.pdf for paper"
    )
    command.add_argument("--overwrite", action="store_true", help="replace the file if it exists")
    command.add_argument(
        "--page", choices=("a4", "letter"), help="paper to print on (default: the printer's own; of a PDF a4)"
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
    command.add_argument(
        "--speed",
        action="store_true",
        help="let flutter, twist-off and reversal enter the verdict (longer; all of it: sparbay speed)",
    )
    command.add_argument(
        "--panels",
        action="store_true",
        help="show beside it what the classic model of booms and shear panels says",
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
    command.add_argument(
        "--speed", action="store_true", help="a column more: the speed at which flutter and the like begin"
    )
    _mesh(command)


def _family(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    command = _command(
        commands, "family", "Which wings of a whole family survive, and which is the lightest of them?",
        "sparbay family trainer --vary ribs.count=9,11,13 --workers 2",
        "Checks every file named, with every combination of the values given. Leaves with 1 if a wing fails, "
        "with 2 if one could not be checked; the others are answered all the same.",
    )  # fmt: skip
    command.add_argument("files", nargs="+", metavar="FILE", help=FILE)
    _json(command)
    _mesh(command)
    command.add_argument(
        "--vary",
        metavar="KEY=VALUES",
        action="append",
        default=[],
        help="set a key of every file to each of the values: KEY=A,B,C, or KEY=FIRST..LAST..N for N evenly "
        "spaced; several times for all combinations",
    )
    who = command.add_mutually_exclusive_group()
    who.add_argument(
        "--workers",
        metavar="N",
        type=_whole(1, 256),
        default=1,
        help="processes of this machine side by side (default: 1)",
    )
    who.add_argument(
        "--scheduler",
        metavar="ADDRESS",
        help="let the workers of a dask cluster do it; needs the extra: pip install 'sparbay[cluster]'",
    )


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


def _mend(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    command = _command(
        commands, "mend", "What are the smallest changes that make this wing fit to fly?",
        "sparbay mend trainer --out mended.toml",
        "Tries larger sizes on sale, webs of other bays and faces, other woods, strips and joints for what "
        "falls short in the hardest cases, solves each, and keeps what does most for its grams until the "
        "wing is fit; webs, sheeting and masses forward until it may fly as fast as its file asks. Leaves "
        "with 1 if nothing makes it fit.",
    )  # fmt: skip
    _file(command)
    _json(command)
    _mesh(command)
    command.add_argument(
        "--out", metavar="FILE", help="write the file with the changes here, its comments kept; a new file"
    )


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


def _envelope(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    command = _command(
        commands, "envelope",
        "How hard may the wing be flown at each speed, by lift, by strength and in gusts?",
        "sparbay envelope trainer",
        "Says what a full pull does, draws load factor over speed, and checks every corner. Leaves with 1 if "
        "a corner breaks the wing.",
    )  # fmt: skip
    _file(command)
    _json(command)
    _mesh(command)
    _folder(command)


def _bench(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    command = _command(
        commands, "bench", "Which bags load an upside-down wing as in flight, and how far should it bend?",
        "sparbay bench trainer --bags 20 --largest 500g --folder bench",
        "Says which bags to lay on which ribs, in steps up to a load that does not harm, which dials to "
        "read, "
        "what to expect of them, and which missing webs they would show. With a folder it draws the plan "
        "and writes the tables to take to the bench, "
        "for sparbay measured to judge. Leaves with 1 if the bags miss 3 % of bending or 5 % of torsion, or "
        "if the load would harm a sound wing.",
    )  # fmt: skip
    _file(command)
    _json(command)
    _mesh(command)
    command.add_argument(
        "--bags", metavar="N", type=_whole(2, 200), default=20, help="most bags, both sides (default: 20)"
    )
    command.add_argument(
        "--largest",
        metavar="MASS",
        type=_bag_mass,
        default=2.0,
        help="most that a bag may weigh, 500g say (default: 2kg)",
    )
    command.add_argument(
        "--bag-width",
        metavar="LENGTH",
        type=_bag_width,
        default=0.06,
        help="side of a bag as it lies, 60mm say (default: 60mm)",
    )
    command.add_argument(
        "--steps", metavar="N", type=_whole(1, 20), default=5, help="equal steps of load (default: 5)"
    )
    command.add_argument(
        "--reading-error",
        metavar="LENGTH",
        type=_small_length,
        default=0.2e-3,
        help="standard deviation of the dial at hand, 0.05mm say (default: 0.2mm)",
    )
    command.add_argument(
        "--twist",
        action="store_true",
        help="lay a couple besides: a bag on the outermost rib, first fore, then aft",
    )
    command.add_argument(
        "--load-factor",
        metavar="G",
        type=_load_factor,
        help="load factor of the last step (default: what sparbay proof suggests)",
    )
    command.add_argument(
        "--folder",
        metavar="DIR",
        help="write the plan, the bags and a table for the readings into this folder, new or empty",
    )


def _hold(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    command = _command(
        commands, "hold", "Held down at its middle: how far does the tip give under a bag or a twist?",
        'sparbay hold trainer --mass 500g --at "main" --rib 11',
        "The test by hand, for every layout of webs of the file: deflection, twist, stiffness, stresses half "
        "way along the bays. Starboard side alone; strength is not judged.",
    )  # fmt: skip
    _file(command)
    _json(command)
    _mesh(command)
    add = command.add_argument
    add("--mass", metavar="MASS", type=_any_mass, help="a bag hung from the wing, 500g say")
    add("--force", metavar="FORCE", type=_force, help="a push upward, 5N say; --force=-5N pushes down")
    add("--couple", metavar="MOMENT", type=_couple, help="a twist of a spar, nose up, '1 N m' say")
    add("--at", metavar="PLACE", help="a spar, leading edge or trailing edge (default: the first spar)")
    add("--rib", metavar="N", type=_rib, help="at which rib, 1 the innermost (default: the outermost)")
    add("--held-at", metavar="N", type=_rib, help="the rib up to which it is held (default: its centre line)")


def _steps(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    command = _command(
        commands, "steps",
        "In which order do I glue it, how stiff is it at each step, and when may it leave the jig?",
        "sparbay steps powered-tailless --folder steps",
        "Walks through ribs and caps, webs, rails, sheeting and covering: stiffness in bending and twist, "
        "what a "
        "hand's lift breaks, the twist that a warped board or a hand builds in, and webs before sheeting "
        "against "
        "after. Leaves with 1 if even the finished wing does not bear a hand's lift.",
    )  # fmt: skip
    _file(command)
    _json(command)
    _mesh(command)
    _folder(command)


def _measured(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    command = _command(
        commands, "measured", "Is the wing as stiff as computed, where is it not, and is a web missing?",
        "sparbay measured trainer bench/readings.csv",
        "Reads the table that sparbay bench --folder wrote, filled in, and compares it with what was "
        "computed: stiffness in bending and twist, what the wood would have to be, and which of named "
        "hypotheses explains them: all is sound; one or two webs gone, thinner or loose; other wood; a loose "
        "rib or sheet; a hold that gives; bags displaced; dials with an offset, a wrong sign or unit. Leaves "
        "with 1 if anything but wood is off or if nothing explains the readings.",
    )  # fmt: skip
    _file(command)
    command.add_argument(
        "readings",
        metavar="READINGS",
        help="table of readings, or tones as sparbay speed writes it (CSV)",
    )
    _json(command)
    _mesh(command)
    command.add_argument(
        "--bags", metavar="BAGS", help="table of what lay on the wing (default: bags.csv beside the readings)"
    )
    command.add_argument(
        "--noise",
        metavar="PERCENT",
        type=_share,
        help="standard deviation of a reading, of its value, 3%% say (default: from the scatter over the "
        "steps)",
    )
    command.add_argument(
        "--reading-error",
        metavar="LENGTH",
        type=_small_length,
        help="standard deviation of a dial, 0.2mm say (default: the same)",
    )
    command.add_argument(
        "--twist-error",
        metavar="ANGLE",
        type=_small_angle,
        help="standard deviation of a gauge of twist, 0.1deg say (default: the same)",
    )
    _folder(command)


def _speed(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    command = _command(
        commands, "speed",
        "How fast may it fly before the tips beat, it twists off, or the elevons lose their grip?",
        "sparbay speed powered-tailless",
        "Flutter, divergence and reversal of the wing in free flight, by unsteady strips of air, for every "
        "layout of webs of the file; frequency and damping over speed. Leaves with 1 if the pull-up of the "
        "file is flown faster than is advised.",
    )  # fmt: skip
    _file(command)
    _json(command)
    _mesh(command)
    _folder(command)
    command.add_argument(
        "--moving", action="store_true", help="write the shape that beats as a moving picture too (--folder)"
    )
    command.add_argument(
        "--buys", action="store_true",
        help="one table alone: what webs, fins, covering and fuel do to each speed, by the gram",
    )  # fmt: skip


def _balance(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    command = _command(
        commands, "balance",
        "Where does the aeroplane balance, is that right, and what must move if it is not?",
        "sparbay balance powered-tailless",
        "Weighs every part, with full tank and empty; gives centre of gravity, moments of inertia, neutral "
        "point and the range wanted. Leaves with 1 if the centre of gravity is outside it.",
    )  # fmt: skip
    _file(command)
    _json(command)
    _folder(command)


def _loads(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    command = _command(
        commands, "loads",
        "Which load is the hardest beside the pull-up: elevons, landing, launch, or carrying?",
        "sparbay loads trainer",
        "Solves and checks rolls and pitching with elevons, tip strike, belly and undercarriage, tow, bungee "
        "and hand launch, and carrying by the tips, as the file's [elevons], [landing] and [launch] say. "
        "Leaves with 1 if a case breaks the wing.",
    )  # fmt: skip
    _file(command)
    _json(command)
    _mesh(command)
    _folder(command)


def _piece(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    command = _command(
        commands, "piece", "What is this stick or sheet worth, by its weight and its sag under a load?",
        "sparbay piece --like spruce --width 6mm --thickness 10mm --span 600mm --load 500g --sag 3.5mm",
        "Density and stiffness with their errors, beside the table's wood of that density. With --into it "
        "shows how a wing file would change and, asked or told so, puts the wood there.",
    )  # fmt: skip
    add = command.add_argument
    add("--like", metavar="WOOD", required=True, help="the wood, by its name in sparbay woods")
    add("--cut", choices=("flat-sawn", "quarter-sawn"), help="how it is sawn (default: flat-sawn)")
    add("--width", metavar="LENGTH", type=_measure, required=True, help="width of the section")
    add("--thickness", metavar="LENGTH", type=_measure, required=True, help="thickness, as the load acts")
    add("--length", metavar="LENGTH", type=_measure, help="whole length, of a piece that was weighed")
    add("--mass", metavar="MASS", type=_any_mass, help="what it weighs")
    add("--span", metavar="LENGTH", type=_measure, help="free length in a bend test")
    add("--load", metavar="LOAD", type=_load, nargs="+", help="load added, 500g or 5N say; several in turn")
    add("--sag", metavar="LENGTH", type=_measure, nargs="+", help="sag that each load made, at the load")
    add(
        "--held", choices=("both ends", "one end"),
        help="on two supports with the load in the middle (default), or held at one end with the load at "
        "the other",
    )  # fmt: skip
    add("--flat", action="store_true", help="a strip of sheet lying flat, which shears through its thickness")
    add("--scales", metavar="MASS", type=_any_mass, default=0.5e-3, help="error of scales (default: 0.5g)")
    add("--tape", metavar="LENGTH", type=_measure, default=1e-3, help="of length and span (default: 1mm)")
    add(
        "--calliper", metavar="LENGTH", type=_measure, default=0.05e-3,
        help="error of width and thickness (default: 0.05mm)",
    )  # fmt: skip
    add("--dial", metavar="LENGTH", type=_measure, default=0.2e-3, help="error of the sag (default: 0.2mm)")
    add("--into", metavar="FILE", help="a wing file that shall have this wood")
    add("--name", metavar="NAME", help="its name there")
    add("--replace", action="store_true", help="replace the measured figures of a wood of that name")
    add("--yes", action="store_true", help="write without asking (else only after a yes on a terminal)")
    _json(command)


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


def _worth(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    command = _command(
        commands, "worth", "Which web is worth gluing in next, which may be left out, for how many grams?",
        "sparbay worth trainer --folder worth",
        "For every bay, face and wood: what a gram buys in load at first failure, tip deflection and twist, "
        "as a slope and for the whole web.",
    )  # fmt: skip
    _file(command)
    _json(command)
    _mesh(command)
    command.add_argument(
        "--scatter",
        action="store_true",
        help="add the load that one wing in twenty does not reach, in the same wood for each web",
    )
    command.add_argument(
        "--seed", metavar="S", type=_whole(0, 2**32 - 1), help="of the wood, with --scatter (default: 20261)"
    )
    command.add_argument(
        "--woods",
        action="store_true",
        help="try light, medium and hard balsa and 0.8 mm birch ply for every web",
    )
    command.add_argument(
        "--speed", action="store_true", help="add what thickening every web buys in the speed of flutter"
    )
    _folder(command)


def _lightest(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    command = _command(
        commands, "lightest",
        "Which layout of webs is the lightest that meets my limits, and what does each gram buy?",
        "sparbay lightest trainer --bays 1-6 --load-factor 7",
        "Every bay of every spar may be open, or carry a web on the front, the rear or both faces, the same "
        "on both sides. Leaves with 1 if no layout meets the limits.",
    )  # fmt: skip
    _file(command)
    _json(command)
    _mesh(command)
    command.add_argument(
        "--load-factor", metavar="N", type=_load_factor, help="to be borne (default: the file's)"
    )
    command.add_argument(
        "--survival",
        metavar="SHARE",
        type=_survival,
        default=0.95,
        help="share of wings that must bear it, wood being what it is; none: the wing with its woods as in "
        "the tables (default: 95 %%)",
    )
    command.add_argument("--deflection", metavar="LENGTH", type=_tip_length, help="most at the tip")
    command.add_argument("--twist", metavar="ANGLE", type=_tip_angle, help="most at the tip, either way")
    command.add_argument("--web-mass", metavar="MASS", type=_web_mass, help="most of all webs together")
    command.add_argument(
        "--speed", metavar="SPEED", type=_flown, help="at which it is flown, by flutter and the like: 90km/h"
    )
    command.add_argument(
        "--stock",
        metavar="SHEETS",
        action="append",
        help='sheets at hand, "balsa medium, 1.5 mm: 2 x 100 mm x 1000 mm", the wood left out for any; '
        "counted by area; may be given again (default: no limit)",
    )
    command.add_argument(
        "--runs", action="store_true", help="a web once ended is not begun again outboard, face by face"
    )
    command.add_argument(
        "--spar", metavar="NAME", action="append", help="spar whose webs may change (default: all)"
    )
    command.add_argument(
        "--bays", metavar="RANGE", type=_bay_range, help='bays that may change, "1-8" say (default: all)'
    )
    command.add_argument(
        "--seconds",
        metavar="S",
        type=_seconds,
        default=120.0,
        help="for a search where there are too many layouts to evaluate them all (default: 120)",
    )
    command.add_argument(
        "--layout-out", metavar="NEW", help="write the wing file with this layout, its comments kept"
    )
    _folder(command)


def _live(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    command = _command(
        commands, "live",
        "What if this bay were open, that web of ply, the loop flown harder? Answered as you click.",
        "sparbay live powered-tailless",
        "Opens a page of this computer alone, with the wing to turn and its bays to click; saves back into "
        "the file with its comments, and writes the report and the drawings.",
    )  # fmt: skip
    _file(command)
    _mesh(command)
    command.add_argument(
        "--no-browser", action="store_true", help="open no browser; print the address of the page alone"
    )


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


def _draw(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    command = _command(
        commands, "draw",
        "Which webs do I cut from how many sheets of wood, and where are they drawn at full size?",
        "sparbay draw trainer --folder drawings",
        "Writes a plan on one page and in tiles, webs, sheets with every web on them, ribs, templates of "
        "braces, ties and sheeting, jig blocks, rib stations and the rails' drilling template at full size, "
        "the cut lists, and one shopping list.",
    )  # fmt: skip
    _file(command)
    _json(command)
    command.add_argument(
        "--folder", metavar="DIR", required=True, help="write drawings into this folder, new or empty"
    )
    command.add_argument(
        "--page", choices=("a4", "letter"), default="a4", help="paper of the PDF pages (default: a4)"
    )
    command.add_argument(
        "--ribs",
        choices=("plumb", "square"),
        default="plumb",
        help="how ribs stand: plumb, as in the model, or square to a panel built flat (default: plumb)",
    )
    command.add_argument(
        "--stock",
        metavar="SIZE",
        action="append",
        help='sheet to cut from, grain along the second side: "100 mm x 1000 mm", or "birch ply, 1.5 mm: '
        '300 mm x 600 mm" for one wood or thickness; may be given again (default: 100 mm x 1000 mm, ply '
        "300 mm x 600 mm)",
    )
    command.add_argument(
        "--gap",
        metavar="LENGTH",
        type=_gap,
        default=1e-3,
        help='least distance between two webs on a sheet, for the cut, "1.5 mm" say (default: 1 mm)',
    )
    command.add_argument(
        "--formats",
        metavar="LIST",
        type=_formats,
        default="pdf,svg,dxf",
        help="kinds of drawing, of pdf, svg and dxf (default: pdf,svg,dxf)",
    )


def _new(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    command = _command(
        commands, "new", "How do I begin a wing file of my own?",
        'sparbay new my-wing.toml --span 1500mm --mass 1.5kg',
        "Writes a short wing file with comments that can be checked as it is; what is not said is taken from "
        "a plain wing of 1.5 m. Caps are a first guess. A file that exists is left alone.",
    )  # fmt: skip
    command.add_argument("file", metavar="FILE", help="the file to write")
    command.add_argument("--ask", action="store_true", help="ask on the terminal for what was not given")
    for key, question in STARTER_QUESTIONS.items():
        command.add_argument(
            f"--{key.replace('_', '-')}", metavar=question.metavar, type=question.read, help=question.words
        )


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
        "--book", metavar="FILE.html", help="write every case, and the theory, into one page to read or print"
    )
    _json(command)


def _keys(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    command = _command(
        commands,
        "keys",
        "Which keys may a wing file have, in which units, and what is assumed without them?",
        "sparbay keys",
    )
    command.add_argument(
        "--schema", metavar="FILE", help="write them as JSON Schema, so that an editor completes keys"
    )
    command.add_argument("--overwrite", action="store_true", help="replace the file if it exists")


def _completion(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    command = _command(
        commands, "completion", "How does my shell complete commands, options and file names?",
        "sparbay completion bash",
        "Prints a script for the shell; bash: put it where bash-completion looks, or source it.",
    )  # fmt: skip
    command.add_argument("shell", choices=("bash", "zsh", "tcsh"), help="the shell")


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
    form = command.add_mutually_exclusive_group()
    form.add_argument(
        "--json",
        action="store_true",
        help="print one JSON document with the same numbers in SI units, and nothing else",
    )
    form.add_argument("--quiet", action="store_true", help="print the answer and the cautions; no tables")
    form.add_argument("--full", action="store_true", help="print all tables whole, with what they rest on")
    rows = "print every table, with N rows at the most (default: what one screen holds)"
    form.add_argument("--rows", metavar="N", type=_whole(1, MOST_ROWS), help=rows)


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


def _bag_mass(text: str) -> float:
    from models.wing.units import QuantityError, read_quantity

    try:
        mass = read_quantity(text, "mass")
    except QuantityError as error:
        raise argparse.ArgumentTypeError(f"{text!r} {error}") from None
    if not 0.01 <= mass <= 1000:
        raise argparse.ArgumentTypeError(f"{text!r} is not a mass from 10 g to 1000 kg")
    return mass


def _gap(text: str) -> float:
    from models.wing.units import QuantityError, read_quantity

    try:
        gap = read_quantity(text, "length")
    except QuantityError as error:
        raise argparse.ArgumentTypeError(f"{text!r} {error}") from None
    if not 0 <= gap <= 0.02:
        raise argparse.ArgumentTypeError(f"{text!r} is not a distance from 0 to 20 mm")
    return gap


def _formats(text: str) -> str:
    asked = [word.strip().lower() for word in text.split(",")]
    if not all(word in ("pdf", "svg", "dxf") for word in asked):
        raise argparse.ArgumentTypeError(f"{text!r} is not a list of pdf, svg and dxf, parted by commas")
    return ",".join(dict.fromkeys(asked))


def _survival(text: str) -> float | None:
    if text == "none":
        return None
    return _bounded(text, "fraction", 0.5, 0.9999, "a share from 50 % to 99.99 %, or none")


def _tip_length(text: str) -> float:
    return _bounded(text, "length", 1e-6, 10.0, "a length from 0.001 mm to 10 m")


def _tip_angle(text: str) -> float:
    return _bounded(text, "angle", 1e-5, 1.6, "an angle from 0.001 deg to 90 deg")


def _flown(text: str) -> float:
    return _bounded(text, "speed", 0.1, 100.0, "a speed from 0.1 m/s to 100 m/s, or 360 km/h")


def _web_mass(text: str) -> float:
    return _bounded(text, "mass", 0.0, 100.0, "a mass from 0 g to 100 kg")


def _bay_range(text: str) -> tuple[int, int]:
    first, _, last = text.partition("-")
    try:
        low, high = int(first), int(last or first)
    except ValueError:
        low, high = 1, 0
    if low > high:
        raise argparse.ArgumentTypeError(f"{text!r} is not a bay, or a range of bays like 1-8")
    return low, high


def _share(text: str) -> float:
    return _bounded(text, "fraction", 0.0, 0.5, "a share from 0 % to 50 %")


def _bag_width(text: str) -> float:
    return _bounded(text, "length", 5e-3, 1.0, "a length from 5 mm to 1 m")


def _small_length(text: str) -> float:
    return _bounded(text, "length", 1e-6, 0.1, "a length from 0.001 mm to 100 mm")


def _small_angle(text: str) -> float:
    return _bounded(text, "angle", 1e-5, 0.2, "an angle from 0.001 deg to 11 deg")


def _measure(text: str) -> float:
    return _bounded(text, "length", 1e-6, 100.0, "a length from 0.001 mm to 100 m")


def _force(text: str) -> float:
    return _both_ways(text, "force", 1e4, "a force up to 10 kN, 5N say")


def _couple(text: str) -> float:
    return _both_ways(text, "torque", 1e4, "a couple up to 10 kN m, '1 N m' say")


def _both_ways(text: str, kind: str, most: float, words: str) -> float:
    value = _bounded(text, kind, -most, most, words)
    if value == 0:
        raise argparse.ArgumentTypeError(f"{text!r} is not {words}, other than none")
    return value


def _rib(text: str) -> int:
    if not text.isdecimal() or not 1 <= int(text) <= 10_000:
        raise argparse.ArgumentTypeError(f"{text!r} is not the number of a rib, 1 the innermost")
    return int(text)


def _any_mass(text: str) -> float:
    return _bounded(text, "mass", 1e-6, 100.0, "a mass from 0.001 g to 100 kg")


def _load(text: str) -> tuple[float, bool]:
    """A load in N, and whether it was given as a mass."""
    from models.wing.units import QuantityError, read_quantity

    try:
        return _bounded(text, "force", 1e-4, 1e4, "a load from 0.0001 N to 10 kN"), False
    except argparse.ArgumentTypeError:
        try:
            read_quantity(text, "mass")
        except QuantityError:
            words = f"{text!r} is neither a mass, 500g say, nor a force, 5N say"
            raise argparse.ArgumentTypeError(words) from None
    return 9.80665 * _bounded(text, "mass", 1e-5, 1e3, "a load from 0.01 g to 1000 kg"), True


def _bounded(text: str, kind: str, least: float, most: float, words: str) -> float:
    from models.wing.units import QuantityError, read_quantity

    try:
        value = read_quantity(text, kind)
    except QuantityError as error:
        raise argparse.ArgumentTypeError(f"{text!r} {error}") from None
    if not least <= value <= most:
        raise argparse.ArgumentTypeError(f"{text!r} is not {words}")
    return value


def _load_factor(text: str) -> float:
    try:
        n = float(text)
    except ValueError:
        n = 0.0
    if not 1 <= n <= 100:
        raise argparse.ArgumentTypeError(f"{text!r} is not a load factor from 1 to 100")
    return n
