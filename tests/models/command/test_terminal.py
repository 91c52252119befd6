"""The terminal: quiet mode, narrow windows, pipes."""

from __future__ import annotations

import io
from collections.abc import Callable

import pytest

from models.report.text import LENGTH, SCREEN, Length, Page
from models.report.text import ROWS as MOST


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
    page = Page(window)
    page.table("First failures", COLUMNS, ROWS)
    page.end()
    return window.getvalue()


def test_a_narrow_window_gets_a_list_with_every_cell(monkeypatch: pytest.MonkeyPatch) -> None:
    text = _table(32, monkeypatch)
    assert max(map(len, text.splitlines())) <= 32
    words = " ".join(text.split())
    for cell in ("spar: front", "load factor, g: 12.5", "what fails: the upper cap is crushed", "spar: rear"):
        assert cell in words


def test_a_wide_window_gets_a_table(monkeypatch: pytest.MonkeyPatch) -> None:
    lines = _table(100, monkeypatch).splitlines()
    assert "12.5  the upper cap is crushed where the web ends" in lines[5]


def test_a_pipe_gets_the_table_whatever_the_width(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "20")
    pipe = io.StringIO()
    page = Page(pipe)
    page.table("First failures", COLUMNS, ROWS)
    page.end()
    assert "12.5  the upper cap is crushed where the web ends" in pipe.getvalue()
    assert "\x1b" not in pipe.getvalue()


COMMANDS = (
    "check", "compare", "bench --proof", "compare --grain", "collapse --buckle", "collapse", "balance",
    "envelope", "loads", "note", pytest.param("speed", marks=pytest.mark.long), "steps",
)  # fmt: skip


@pytest.mark.parametrize("command", COMMANDS)
def test_quiet_keeps_answer_and_cautions_alone(command: str, sparbay: Callable, wing_file: Callable) -> None:
    # Few ribs, a coarse mesh and no section moment: what is printed does not hang on them.
    wing = wing_file(("count = 13", "count = 5"), ("1-10", "1-3"), ("1-3\" # a second", "1\" # a second"),
                     ("-0.05", "0"))  # fmt: skip
    mesh = () if command in ("balance", "collapse --buckle") else ("--mesh", "1")
    asked = (*command.split(), wing, *mesh)
    loud, quiet = sparbay(*asked), sparbay(*asked, "--quiet")
    assert quiet.code == loud.code
    assert len(loud.out.splitlines()) <= SCREEN[1]
    assert not LENGTH.get().quiet
    lines = quiet.out.splitlines()
    assert lines[0] == loud.out.splitlines()[0]
    answer = loud.out.split("\n\n")[0].splitlines()
    assert all(line in lines for line in answer)
    assert [line for line in lines if line in loud.out.splitlines()][-2:] == lines[-2:]
    assert lines[-2].startswith("Caution: model aircraft only")
    assert "---" not in quiet.out
    assert quiet.out.count("Caution") == loud.out.count("Caution")


@pytest.mark.parametrize(("name", "columns"), [("trainer", 60), ("powered-tailless", 80)])
def test_an_answer_stands_on_one_screen(
    name: str, columns: int, sparbay: Callable, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("models.report.text.SCREEN", (columns, SCREEN[1]))
    short = sparbay("check", name).out.splitlines()
    assert len(short) <= SCREEN[1]
    assert max(map(len, short)) <= columns
    assert "--full" in " ".join(short[-3:])


def _long(length: Length) -> list[str]:
    written = io.StringIO()
    page = Page(written, length=length)
    page.say("It holds.")
    page.cautions([])
    for title in ("Bays, the weakest first", "Ribs"):
        rows = [(str(k), "goes " * 9, "since " * 12) for k in range(40)]
        page.table(title, ["bay", "~what", "?<why"], rows)
    page.say("A remark.")
    page.end()
    return written.getvalue().splitlines()


def test_a_long_table_is_cut_and_the_rest_is_named() -> None:
    lines = _long(Length())
    assert len(lines) <= SCREEN[1]
    assert f"Bays, the weakest first ({MOST} of 40)" in lines
    words = " ".join(lines)
    assert f"bays ({40 - MOST} more)" in words
    assert "since" not in words
    assert "A remark." not in words


def test_of_a_long_caution_the_first_part_is_told_and_one_without_parts_whole() -> None:
    written = io.StringIO()
    page = Page(written, length=Length())
    page.cautions([f"{'First part ' * 9}ends here. The rest is told in full.", "without end " * 12 + "here"])
    page.end()
    words = " ".join(written.getvalue().split())
    assert "ends here." in words
    assert "The rest" not in words
    assert words.count("without end") == 12


def test_rows_are_as_many_as_asked_of_every_table_and_full_has_all() -> None:
    assert sum("goes goes" in line for line in _long(Length(rows=7))) == 2 * 7
    whole = _long(Length(whole=True))
    assert sum("goes goes" in line for line in whole) == 2 * 40
    assert "A remark." in whole


def test_quiet_and_json_exclude_each_other(sparbay: Callable) -> None:
    assert sparbay("check", "trainer", "--json", "--quiet").code == 2
