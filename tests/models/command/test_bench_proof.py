"""`bench --proof`: document, words, exit codes and options."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from models.command import main
from models.wings import shipped


def test_document_and_words(sparbay: Callable, wing_file: Callable) -> None:
    file = wing_file(("load_factor = 6", "load_factor = 2"))
    run = sparbay("bench", "--proof", file, "--json")
    found = run.document
    assert run.code == 0
    answer = found["answer"]
    assert answer["possible"]
    assert answer["load_factor_asked"] <= answer["suggested_load_factor"] <= answer["highest_load_factor"]
    assert abs(sum(h["mass_kg"] for h in found["hang_on_each_side"])) < 1e-9
    text = " ".join(sparbay("bench", "--proof", file, "--full").out.split())
    assert all(sentence in text for sentence in answer["sentences"])
    assert all(caution in text for caution in found["cautions"])


def test_what_cannot_be_proved(sparbay: Callable, tmp_path: Path) -> None:
    path = tmp_path / "hard.toml"
    text = shipped()["trainer"].read_text(encoding="utf-8")
    path.write_text(text.replace("load_factor = 4", "load_factor = 7"), encoding="utf-8")
    run = sparbay("bench", "--proof", path)
    assert run.code == 1
    assert "no test can prove it" in " ".join(run.out.split())


def test_hold_and_mesh_matter(sparbay: Callable) -> None:
    plain, longer, finer = (
        sparbay("bench", "--proof", "spar-box", "--json", *more).document["answer"]
        for more in ((), ("--hold", "600"), ("--mesh", "2"))
    )
    assert longer["proves_load_factor_for_a_second"] > plain["proves_load_factor_for_a_second"]
    assert finer["highest_load_factor"] != plain["highest_load_factor"]


@pytest.mark.parametrize("text", ["0.5", "3601", "nan", "soon"])
def test_times_without_sense_are_refused(text: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["bench", "--proof", "trainer", "--hold", text]) == 2
    assert "number of seconds" in capsys.readouterr().err


@pytest.mark.parametrize("text", ["1", "3600"])
def test_the_last_good_times(sparbay: Callable, text: str) -> None:
    assert sparbay("bench", "--proof", "spar-box", "--hold", text).code == 0
