"""The count of how often `measured` is right."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from validation.rates import COLUMNS, Rate, calibration, kept, main


def test_a_few_wings_are_judged_and_counted(capsys: pytest.CaptureFixture[str]) -> None:
    main(["--wing", "trainer", "--sound", "2", "--each", "1"])
    lines = capsys.readouterr().out.splitlines()
    assert re.fullmatch(r"trainer: \d+ marks, 7 webs and braces", lines[0])
    assert "of 2 (0.0 due)" in lines[1]
    (bay,) = (line for line in lines if "bay 6" in line)
    # A right answer misfits in one of a hundred.
    assert "named 1 of 1, likeliest 1, only others 0, chance told 99 %" in bay


def test_rows_are_gathered_by_the_chance_told() -> None:
    web, each = "bay 3, main spar: rear web", ((9, 0.95), (10, 1.0), (2, 0.3))
    rows = [Rate(web, 10, n, n, n, 0, chance) for n, chance in each]
    assert calibration(rows) == [
        "told 10 to 40 %: 1 webs and braces, named 2 of 10, 3.0 told (+- 1.4), only others 0",
        "told 95 to 100 %: 2 webs and braces, named 19 of 20, 19.5 told (+- 0.7), only others 0",
    ]


def test_rows_are_saved_as_they_are_kept(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    table = tmp_path / "rates.csv"
    asked = ["--wing", "trainer", "--mesh", "1", "--dial", "0.2", "--sound", "2", "--each", "0"]
    main([*asked, "--save", str(table)])
    head, row = (line.split(",") for line in table.read_text(encoding="utf-8").splitlines())
    assert head == list(COLUMNS)
    assert row[:6] == ["trainer", "0.2", "0.03", "1", "", "2"]


def test_what_is_kept_comes_true_as_promised() -> None:
    rows = [row for _, row in kept()]
    gone = [row for row in rows if row.suspect]
    assert sum(row.n for row in rows) >= 500
    assert len({wing for (wing, *_), row in kept() if row.suspect}) == 3
    assert not any(row.alarms for row in rows if not row.suspect)
    # Named as often as told within three standard deviations, in every class.
    lines = calibration(gone)
    assert len(lines) == 5
    for line in lines:
        (found,) = re.findall(r"named (\d+) of .* ([\d.]+) told \(\+- ([\d.]+)", line)
        named, told, doubt = map(float, found)
        assert abs(named - told) <= max(3 * doubt, 1.0), line


def test_sums_of_what_is_kept_are_told(capsys: pytest.CaptureFixture[str]) -> None:
    main(["--kept"])
    lines = capsys.readouterr().out.splitlines()
    assert [line.split(":")[0] for line in lines[:3]] == ["trainer", "powered-tailless", "sailplane"]
    assert lines[3].startswith(f"{sum(row.n for _, row in kept())} tests: 0 false alarms")
