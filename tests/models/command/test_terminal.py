"""The terminal: quiet mode, narrow windows, pipes."""

from __future__ import annotations

import io
from collections.abc import Callable

import pytest

from models.report.text import QUIET, Page


class Terminal(io.StringIO):
    """A text file that says it is a terminal."""

    def isatty(self) -> bool:
        return True


ROWS = [("front", "12.5", "the upper cap is crushed where the web ends"), ("rear", "7", "nothing")]
COLUMNS = ["<spar", "load\nfactor, g", "~what fails"]


def _table(columns: int, monkeypatch: pytest.MonkeyPatch) -> str:
    monkeypatch.setenv("COLUMNS", str(columns))
    monkeypatch.setenv("NO_COLOR", "1")
    window = Terminal()
    Page(window).table("First failures", COLUMNS, ROWS)
    return window.getvalue()


def test_a_narrow_window_gets_a_list_with_every_cell(monkeypatch: pytest.MonkeyPatch) -> None:
    text = _table(32, monkeypatch)
    assert max(map(len, text.splitlines())) <= 32
    words = " ".join(text.split())
    for cell in ("spar: front", "load factor, g: 12.5", "what fails: the upper cap is crushed", "spar: rear"):
        assert cell in words


def test_a_wide_window_gets_a_table(monkeypatch: pytest.MonkeyPatch) -> None:
    lines = _table(100, monkeypatch).splitlines()
    assert "12.5   the upper cap is crushed where the web ends" in lines[5]


def test_a_pipe_gets_the_table_whatever_the_width(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "20")
    pipe = io.StringIO()
    Page(pipe).table("First failures", COLUMNS, ROWS)
    assert "12.5   the upper cap is crushed where the web ends" in pipe.getvalue()
    assert "\x1b" not in pipe.getvalue()


COMMANDS = (
    "check", "compare", "proof", "grain", "buckle", "collapse", "balance", "envelope", "loads", "note",
    "speed",
)  # fmt: skip


@pytest.mark.parametrize("command", COMMANDS)
def test_quiet_keeps_answer_and_cautions_alone(command: str, sparbay: Callable, wing_file: Callable) -> None:
    # Few ribs, a coarse mesh and no section moment: what is printed does not hang on them.
    wing = wing_file(("count = 13", "count = 5"), ("1-10", "1-3"), ("1-3\" # a second", "1\" # a second"),
                     ("-0.05", "0"))  # fmt: skip
    mesh = () if command in ("balance", "buckle") else ("--mesh", "1")
    loud, quiet = sparbay(command, wing, *mesh), sparbay(command, wing, *mesh, "--quiet")
    assert quiet.code == loud.code
    assert not QUIET.get()
    lines = quiet.out.splitlines()
    assert lines[0] == loud.out.splitlines()[0]
    answer = loud.out.split("\n\n")[0].splitlines()
    assert lines[: len(answer)] == answer
    assert lines[len(answer)].startswith("Caution")
    assert all(line in loud.out.splitlines() for line in lines)
    assert "---" not in quiet.out
    assert quiet.out.count("Caution") == loud.out.count("Caution")


def test_quiet_and_json_exclude_each_other(sparbay: Callable) -> None:
    assert sparbay("check", "trainer", "--json", "--quiet").code == 2
