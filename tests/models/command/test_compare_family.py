"""`compare --family`: document, words, exit codes and options."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from models.command import main

FAMILY = ("compare", "--family", "trainer")
THIN = ("--vary", "ribs.thickness=1.5 mm,2 mm", "--mesh", "2")
GENTLE = ("--vary", "case.load_factor=3")


def test_document_and_words(sparbay: Callable) -> None:
    run = sparbay(*FAMILY, *THIN, *GENTLE, "--json")
    found = run.document
    assert run.code == 0
    assert [m["member"] for m in found["members"]] == [
        "trainer, ribs.thickness = 1.5 mm, case.load_factor = 3",
        "trainer, ribs.thickness = 2 mm, case.load_factor = 3",
    ]
    assert found["answer"]["n_survive"] == 2
    assert all(m["share_surviving_all"] >= 0.95 for m in found["members"])
    text = " ".join(sparbay(*FAMILY, *THIN, *GENTLE, "--full").out.split())
    assert all(sentence in text for sentence in found["answer"]["sentences"])
    assert all(caution in text for caution in found["cautions"])


def test_every_option_matters(sparbay: Callable) -> None:
    plain = sparbay(*FAMILY, *THIN, "--json").document
    finer = sparbay(*FAMILY, *THIN[:2], "--mesh", "4", "--json").document
    assert finer["members"] != plain["members"]
    assert sparbay(*FAMILY, "--mesh", "2", "--json").document["members"] != plain["members"]
    side_by_side = sparbay(*FAMILY, *THIN, "--workers", "2", "--json").document
    assert side_by_side == plain  # and this one must not


def test_exit_codes(sparbay: Callable) -> None:
    assert sparbay(*FAMILY, "--vary", "case.load_factor=6,18", "--mesh", "2").code == 1
    run = sparbay(*FAMILY, "--vary", "ribs.thickness=2 mm,thick", *GENTLE, "--mesh", "2")
    assert run.code == 2
    assert "1 of 2 wings survives" in run.out
    assert "ribs.thickness" in run.out.split("Not checked")[1]


@pytest.mark.parametrize(
    ("more", "words"),
    [
        (("--vary", "thickness"), "is not KEY=VALUES"),
        (("--workers", "0"), "whole number"),
        (("--workers", "2", "--scheduler", "tcp://127.0.0.1:1"), "not allowed with"),
        (("--scheduler", "nowhere"), "no scheduler answers"),
    ],
)
def test_what_makes_no_sense_is_refused(
    more: tuple[str, ...], words: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main([*FAMILY, *more]) == 2
    assert words in capsys.readouterr().err
