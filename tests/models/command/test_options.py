"""A command is one file and one line in a list: one that is made up is parsed, told, suggested, completed and
run; and the one reader of quantities."""

from __future__ import annotations

import argparse
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

import models.command
from models.command.options import COMMANDS, parser, quantity

MADE_UP = '''"""Which way does the wind blow?

A wet finger is held up.

example: sparbay wind trainer --finger 2
"""

from models.cautions import CAUTIONS
from models.command.document import document, give
from models.command.options import quantity, shared


def options(command):
    shared(command, "file", "json", "mesh")
    command.add_argument("--finger", type=quantity("whole number", 1, 10), default=2, help="which finger")


def run(options):
    figures = {"answer": {"sentences": ["From the west."]}, "finger": options.finger, "speed": float("inf")}
    return give(options, document("wind", options.file, figures), page, holds=options.finger == 2)


def page(out, record):
    out.say(record["answer"]["sentences"][0])
    out.cautions(record["cautions"])
'''
ANOTHER = '''"""Does it blow at all?

example: sparbay wind --calm
"""


def options(command):
    command.add_argument("--leaf", required=True, help="that stirs")


def run(options):
    print(options.leaf)
    return 0
'''


@pytest.fixture
def wind(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    (tmp_path / "wind.py").write_text(MADE_UP, encoding="utf-8")
    monkeypatch.setattr(models.command, "__path__", [*models.command.__path__, str(tmp_path)])
    monkeypatch.setitem(COMMANDS, "wind", "judge")
    for name in ("wind", "wind_calm"):
        monkeypatch.delitem(sys.modules, f"models.command.{name}", raising=False)


@pytest.mark.usefixtures("wind")
def test_a_made_up_command(sparbay: Callable) -> None:
    assert "  wind       Which way does the wind blow?" in sparbay("--help").out
    shown = sparbay("wind", "--help").out
    assert "Which way does the wind blow? A wet finger is held up." in shown
    assert shown.endswith("example: sparbay wind trainer --finger 2\n")
    assert sparbay("wind", "trainer").out.splitlines()[0] == "From the west."
    run = sparbay("wind", "trainer", "--finger", "3", "--json")
    assert run.code == 1
    assert run.document["finger"] == 3
    assert run.document["speed"] is None
    assert list(run.document)[:4] == ["command", "version", "file", "cautions"]
    assert "did you mean wind?" in sparbay("wnd").err
    assert "did you mean compare --grain?" in sparbay("grian").err
    assert "did you mean --finger?" in sparbay("wind", "trainer", "--fingre", "3").err
    assert "'11' is not a whole number from 1 to 10" in sparbay("wind", "trainer", "--finger", "11").err
    assert "--finger" in sparbay("keys", "--completion", "bash").out


@pytest.mark.usefixtures("wind")
def test_a_made_up_question_of_a_command(sparbay: Callable, tmp_path: Path) -> None:
    (tmp_path / "wind_calm.py").write_text(ANOTHER, encoding="utf-8")
    assert "--calm: Does it blow at all?" in sparbay("--help").out
    assert "with --calm:\n  example: sparbay wind --calm" in sparbay("wind", "--help").out
    assert "FILE means nothing with --calm" in sparbay("wind", "trainer", "--calm", "--leaf", "oak").err
    assert "--leaf is for --calm" in sparbay("wind", "trainer", "--leaf", "oak").err


def test_help_loads_no_library() -> None:
    code = (
        "import sys; from models.command.options import COMMANDS, parser; parser();"
        "print({'numpy', 'scipy', 'pydantic', 'pyvista', 'matplotlib', 'fea'} & {*sys.modules})"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout == "set()\n"


def test_no_command_is_parsed_where_another_is_named() -> None:
    only = next(a for a in parser("check")._actions if isinstance(a, argparse._SubParsersAction))
    assert list(only.choices) == ["check"]


@pytest.mark.parametrize(
    ("reader", "text", "value"),
    [
        (quantity("length", "5 mm", "1 m"), "5 mm", 5e-3),
        (quantity("length", "5 mm", "1 m"), "1 m", 1.0),
        (quantity("fraction", "0 %", "50 %"), "0 %", 0.0),
        (quantity("whole number", 1, 20), "20", 20),
        (quantity("load factor", 1, 100), "1.5", 1.5),
        (quantity("force", "-10 N", "10 N", zero=False), "-5N", -5.0),
        (quantity("mass"), "1 kg", 1.0),
    ],
)
def test_a_quantity_within_its_bounds(reader: Callable, text: str, value: float) -> None:
    assert reader(text) == value


@pytest.mark.parametrize(
    ("reader", "text", "says"),
    [
        (quantity("length", "5 mm", "1 m"), "4.9 mm", "is not a length from 5 mm to 1 m"),
        (quantity("length", "5 mm", "1 m"), "1.001 m", "is not a length from 5 mm to 1 m"),
        (quantity("length", "5 mm", "1 m"), "5 g", "is a mass, not a length"),
        (quantity("length", "5 mm", "1 m"), "5", "has no unit"),
        (quantity("whole number", 1, 20), "1.5", "is not a whole number from 1 to 20"),
        (quantity("load factor", 1, 100), "nan", "is not a load factor from 1 to 100"),
        (quantity("force", "-10 N", "10 N", zero=False), "0 N", "from -10 N to 10 N, other than none"),
    ],
)
def test_a_quantity_out_of_them(reader: Callable, text: str, says: str) -> None:
    with pytest.raises(argparse.ArgumentTypeError, match=says):
        reader(text)


@pytest.mark.parametrize("name", COMMANDS)
def test_a_number_that_is_none_is_one_line_about_that_option(name: str, capsys) -> None:
    command = parser(name)._subparsers._group_actions[0].choices[name]
    places = ["x"] * sum(not action.option_strings for action in command._actions)
    for action in command._actions:
        if not action.option_strings or action.nargs == 0:
            continue
        flag = next((one.flag for one in command.answers if action in one._group_actions), None)
        if action.dest in ("section", "name", "load_factor") and name == "new":  # looked at as it runs
            continue
        for value in ("nan", "-inf", "1e400", "-7", "9" * 5000, "", "--") if action.type else ("--",):
            words = [name, *([flag] if flag else []), *places, f"{action.option_strings[-1]}={value}"]
            with pytest.raises(SystemExit) as left:
                parser(name).parse_args(words)
            (line,) = capsys.readouterr().err.splitlines()
            assert left.value.code == 2
            assert action.option_strings[0] in line or action.option_strings[-1] in line or places, line
            assert len(line) < 600
