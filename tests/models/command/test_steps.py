"""`steps`: document, words, picture, options and codes."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from models.studies import steps as study

COARSE = ("--mesh", "1")


def test_document_and_words(sparbay: Callable, wing_file: Callable, tmp_path: Path) -> None:
    file = wing_file()
    run = sparbay("steps", file, *COARSE, "--json")
    assert run.code == 0
    found = run.document
    rows = found["steps"]
    assert [row["name"] for row in rows] == ["frame", "first webs", "second webs"]
    assert rows[0]["stays_of_board_rad"] is None
    assert rows[-1]["until_next"] == "done"
    assert found["judged"]["breaks_at_least"] == study.BREAKS
    picture = tmp_path / "steps"
    loud = sparbay("steps", file, *COARSE, "--folder", picture)
    assert (picture / "steps.png").stat().st_size > 10_000
    assert "1 frame" in loud.out
    lines = loud.out.splitlines()
    assert len(lines) <= 39
    assert max(map(len, lines)) <= max(80, len(f"Written: {picture}/steps.png"))
    assert "common practice, no source" in " ".join(loud.out.split())
    whole = sparbay("steps", file, *COARSE, "--full").out
    assert "What a lift breaks first" in whole
    assert "off the jig" in whole


def test_the_mesh_matters(sparbay: Callable, wing_file: Callable) -> None:
    file = wing_file()
    one, two = (sparbay("steps", file, "--mesh", n, "--json").document for n in ("1", "2"))
    assert one["steps"][0]["bending_stiffness_N_per_m"] != two["steps"][0]["bending_stiffness_N_per_m"]


def test_a_specimen_is_refused(sparbay: Callable) -> None:
    run = sparbay("steps", "spar-box")
    assert run.code == 2
    assert "steps needs a wing" in run.err


def test_leaves_with_1_where_even_the_finished_wing_breaks(
    sparbay: Callable, wing_file: Callable, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("models.studies.steps.BREAKS", 1e9)
    run = sparbay("steps", wing_file(), *COARSE)
    assert run.code == 1
    assert "lifted by its middle" in " ".join(run.out.split())


@pytest.mark.parametrize("name", ["long", "sheeted"])
def test_one_screen_whatever_the_names(sparbay: Callable, wing_file: Callable, name: str) -> None:
    changes = {
        "long": (('name = "main"', f'name = "{"m" * 40}"'), ('spar = "main"', f'spar = "{"m" * 40}"')),
        "sheeted": (
            ("[case]", '[[sheeting]]\nfrom = "leading edge"\nto = "main"\nthickness = "1 mm"\n\n[case]'),
        ),
    }[name]
    run = sparbay("steps", wing_file(*changes), *COARSE)
    assert run.code == 0, run.err
    assert len(run.out.splitlines()) <= 39
    assert max(map(len, run.out.splitlines())) <= 80
    assert ("Webs before the sheeting" in run.out) == (name == "sheeted")
