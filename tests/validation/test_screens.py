"""The table of lines that commands print."""

from __future__ import annotations

import pytest

from validation.screens import main


def test_a_short_answer_stands_on_every_screen(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["spar-c", "--only", "check"]) == 0
    head, row = capsys.readouterr().out.splitlines()
    assert head.split() == ["wing", "question", "exit", "80", "60", "pipe", "too", "wide"]
    name, question, code, *lines = row.split()
    assert (name, question, code) == ("spar-c", "check", "0")
    assert all(5 < int(many) < 40 for many in lines)


def test_a_question_that_cannot_be_asked_says_why(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["spar-c", "--only", "speed"]) == 0
    assert "spar-c" in capsys.readouterr().out.splitlines()[2]
