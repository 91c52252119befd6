"""`collapse`: document, words, exit codes and options."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from models.pictures.screen import NoRenderer, drawing_surface


def test_document_and_words(sparbay: Callable) -> None:
    run = sparbay("collapse", "trainer", "--json")
    found = run.document
    assert run.code == 0
    assert run.err == ""
    answer = found["answer"]
    assert answer["survives"]
    assert answer["first_failure_ends_it"]
    assert [s["step"] for s in found["steps"]] == list(range(1, len(found["steps"]) + 1))
    assert found["steps"][0]["load_factor"] == answer["load_factor_at_first_failure"]
    assert found["steps"][1]["load_factor"] == answer["load_factor_after_first_failure"]
    assert max(s["load_factor"] for s in found["steps"]) == answer["collapse_load_factor"]
    text = " ".join(sparbay("collapse", "trainer").out.split())
    assert all(sentence in text for sentence in answer["sentences"])


def test_too_weak_for_its_load(sparbay: Callable, wing_file: Callable) -> None:
    assert sparbay("collapse", wing_file(("load_factor = 6", "load_factor = 60"))).code == 1


def test_one_side_matters_and_is_refused_for_a_specimen(sparbay: Callable) -> None:
    both, one = (sparbay("collapse", "trainer", "--json", *more).document for more in ((), ("--one-side",)))
    assert one["mesh"]["one_side"]
    assert one["steps"][1]["stiffness_left"] > both["steps"][1]["stiffness_left"]
    run = sparbay("collapse", "spar-open", "--one-side")
    assert run.code == 2
    assert "one side" in run.err


def test_mesh_matters(sparbay: Callable) -> None:
    loads = [
        sparbay("collapse", "spar-box", "--json", "--mesh", n).document["steps"][0]["load_factor"]
        for n in ("2", "4")
    ]
    assert loads[0] != loads[1]


def test_pictures_into_a_folder(sparbay: Callable, tmp_path: Path) -> None:
    try:
        with drawing_surface(off_screen=True):
            pass
    except NoRenderer as fault:
        pytest.skip(str(fault))
    run = sparbay("collapse", "spar-box", "--folder", tmp_path / "new")
    assert run.code == 0
    assert sorted(p.name for p in (tmp_path / "new").iterdir()) == ["collapse-steps.png", "collapse.png"]
