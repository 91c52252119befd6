"""The count of how often `measured` is right."""

from __future__ import annotations

import re

import pytest

from models.studies.measured import Suspect
from validation.rates import Rate, calibration, main


def test_a_few_wings_are_judged_and_counted(capsys: pytest.CaptureFixture[str]) -> None:
    main(["--wing", "trainer", "--sound", "2", "--each", "1"])
    lines = capsys.readouterr().out.splitlines()
    assert re.fullmatch(r"trainer: \d+ marks, 7 webs and braces", lines[0])
    assert "of 2 (0.0 due)" in lines[1]
    (bay,) = (line for line in lines if "bay 6" in line)
    # A right answer misfits in one of a hundred.
    assert "named 1 of 1, likeliest 1, only others 0, chance told 99 %" in bay


def test_rows_are_gathered_by_the_chance_told() -> None:
    web = Suspect("web", "main", "rear", 3)
    rows = [Rate(web, 10, n, n, n, 0, chance) for n, chance in ((9, 0.95), (10, 1.0), (2, 0.3))]
    assert calibration(rows) == [
        "told 10 to 40 %: 1 webs and braces, named 2 of 10, 3.0 told (+- 1.4), only others 0",
        "told 95 to 100 %: 2 webs and braces, named 19 of 20, 19.5 told (+- 0.7), only others 0",
    ]
