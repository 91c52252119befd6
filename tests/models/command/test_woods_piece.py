"""`woods --piece`: document, words, the file that is told, and what is refused."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

PIECE = ("woods", "--piece")
STICK = ("--like", "balsa", "--width", "6mm", "--thickness", "8mm")
BENT = ("--span", "300mm", "--load", "100g", "200g", "--sag", "1.9mm", "3.9mm")
WEIGHED = ("--length", "900mm", "--mass", "7g")


def test_document_and_words(sparbay: Callable) -> None:
    run = sparbay(*PIECE, *STICK, *BENT, *WEIGHED, "--json")
    found = run.document
    assert run.code == 0
    # 7 g in 900 x 6 x 8 mm by hand.
    assert found["density_kg_per_m3"] == pytest.approx(162.04, rel=1e-4)
    assert found["entry"]["E_L"] == found["E_L_Pa"]
    text = " ".join(sparbay(*PIECE, *STICK, *BENT, *WEIGHED).out.split())
    assert all(sentence in text for sentence in found["answer"]["sentences"])


@pytest.mark.parametrize(
    "more",
    [
        ("--cut", "quarter-sawn"), ("--width", "7mm"), ("--thickness", "9mm"), ("--length", "800mm"),
        ("--mass", "8g"), ("--span", "310mm"), ("--load", "1N", "2N"), ("--sag", "2mm", "4mm"), ("--held",
        "one end"), ("--flat",), ("--scales", "5g"), ("--tape", "5mm"), ("--calliper", "0.3mm"),
        ("--dial", "1mm"),
    ],
)  # fmt: skip
def test_every_option_matters(sparbay: Callable, more: tuple[str, ...]) -> None:
    plain = sparbay(*PIECE, *STICK, *BENT, *WEIGHED, "--json").document
    other = sparbay(*PIECE, *STICK, *BENT, *WEIGHED, *more, "--json").document
    keys = ("E_L_Pa", "E_L_error_Pa", "density_kg_per_m3", "density_error_kg_per_m3")
    assert [other[k] for k in keys] != [plain[k] for k in keys]


def test_a_file_changes_only_when_it_is_told_so(sparbay: Callable, wing_file: Callable) -> None:
    path: Path = wing_file()
    before = path.read_bytes()
    asked = (*STICK, *BENT, *WEIGHED, "--into", path, "--name", "my stick")
    shown = sparbay(*PIECE, *asked)
    assert shown.code == 0
    assert path.read_bytes() == before
    assert '+[woods."my stick"]' in shown.out
    assert "Nothing was written" in shown.out
    assert '+[woods."my stick"]' in sparbay(*PIECE, *asked, "--quiet").out
    assert sparbay(*PIECE, *asked, "--json").document["file_written"] is False
    assert sparbay(*PIECE, *asked, "--yes").code == 0
    assert path.read_bytes().startswith(before)
    assert sparbay("check", path).code in (0, 1)
    again = sparbay(*PIECE, *asked, "--yes")
    assert again.code == 2
    assert "stands there already" in again.err
    after = path.read_bytes()
    assert (
        sparbay(*PIECE, *asked, "--mass", "8g", "--replace", "--json", "--yes").document["file_written"]
        is True
    )
    assert path.read_bytes() != after


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ((), "nothing was measured"),
        (("--mass", "7g"), "needs the --length"),
        (("--length", "1m", *BENT), "means nothing without --mass"),
        (("--load", "100g", "--sag", "2mm"), "needs --span"),
        ((*WEIGHED, "--flat"), "mean nothing without --load"),
        ((*BENT, "--sag", "2mm"), "2 loads and 1 sags"),
        ((*BENT, "--load", "100g", "2N"), "all loads as masses or all as forces"),
        ((*BENT, "--name", "x"), "without --into"),
        ((*BENT, "--into", "x.toml"), "needs the --name"),
        ((*BENT, "--into", "none.toml", "--name", "x"), "none.toml: cannot be read"),
        ((*BENT, "--span", "30mm"), "--span: 0.03 (in SI)"),
        ((*BENT, "--like", "blasa"), "did you mean balsa"),
        (("--length", "900mm", "--mass", "1kg"), "--mass: 2.315e+04"),
        ((*BENT, "--load", "3 mm", "2N"), "neither a mass"),
        ((*BENT, "--scales", "0g"), "is not a mass"),
    ],
)
def test_what_makes_no_sense_is_refused(
    sparbay: Callable, arguments: tuple[str, ...], words: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    run = sparbay(*PIECE, *STICK, *arguments)
    assert run.code == 2
    assert words in run.err
    assert not list(tmp_path.iterdir())


def test_a_file_that_would_be_no_wing_is_left_alone(sparbay: Callable, tmp_path: Path) -> None:
    path = tmp_path / "broken.toml"
    path.write_text('name = "no wing"\n', encoding="utf-8")
    run = sparbay(*PIECE, *STICK, *BENT, "--into", path, "--name", "x", "--yes")
    assert run.code == 2
    assert "nothing was written" in run.err
    assert path.read_text(encoding="utf-8") == 'name = "no wing"\n'


def test_the_wood_that_it_is_like_matters(sparbay: Callable) -> None:
    size = ("--width", "6mm", "--thickness", "8mm")
    found = [sparbay(*PIECE, "--like", wood, *size, *BENT, "--json").document for wood in ("balsa", "spruce")]
    assert found[0]["stiffer_than_table"] > 2 * found[1]["stiffer_than_table"] + 0.5
