"""`bench`: document, words, exit codes and options."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from models.command import main


def test_document_and_words(sparbay: Callable) -> None:
    run = sparbay("bench", "trainer", "--json")
    found = run.document
    assert run.code == 0
    answer = found["answer"]
    assert answer["n_bags"] == 2 * len(found["bags_on_each_side"]) <= 20
    assert answer["error_of_bending"] <= 0.03
    assert answer["error_of_torsion"] <= 0.05
    last = found["bags_on_each_side"][0]
    assert last["mass_by_step_kg"][-1] == pytest.approx(last["mass_kg"], rel=1e-12)
    text = " ".join(sparbay("bench", "trainer", "--full").out.split())
    assert all(sentence in text for sentence in answer["sentences"])
    assert all(caution in text for caution in found["cautions"])


def test_every_option_matters(sparbay: Callable) -> None:
    plain = sparbay("bench", "trainer", "--mesh", "1", "--json").document
    for more in (("--bags", "9"), ("--largest", "250 g"), ("--load-factor", "3")):
        other = sparbay("bench", "trainer", "--mesh", "1", "--json", *more).document
        assert other["answer"] != plain["answer"], more
    assert len(sparbay("bench", "trainer", "--mesh", "1", "--json", "--steps", "3").document["steps"]) == 3


def test_what_harms_the_wing_or_cannot_be_done_fails(sparbay: Callable) -> None:
    assert sparbay("bench", "trainer", "--load-factor", "7").code == 1
    assert sparbay("bench", "trainer", "--mesh", "1", "--largest", "100 g").code == 1


def test_a_specimen_is_refused(sparbay: Callable) -> None:
    run = sparbay("bench", "spar-box")
    assert run.code == 2
    assert "flying wing" in run.err


@pytest.mark.parametrize(
    ("option", "text", "words"),
    [
        ("--largest", "1", "has no unit"),
        ("--largest", "9 g", "is not a mass"),
        ("--load-factor", "0.9", "is not a load factor"),
        ("--load-factor", "nan", "is not a load factor"),
        ("--bags", "1", "whole number"),
        ("--steps", "21", "whole number"),
    ],
)
def test_options_without_sense_are_refused(
    option: str, text: str, words: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["bench", "trainer", option, text]) == 2
    assert words in capsys.readouterr().err
