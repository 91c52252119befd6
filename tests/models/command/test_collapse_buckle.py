"""`collapse --buckle`: document, words, exit codes and options."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from models.command import main
from models.pictures.screen import NoRenderer, drawing_surface
from models.wings import shipped


def test_document_and_words(sparbay: Callable) -> None:
    run = sparbay("collapse", "--buckle", "trainer", "--json")
    found = run.document
    assert run.code == 0
    assert run.err == ""
    assert found["answer"]["holds"]
    assert found["answer"]["load_factor"] == found["modes"][0]["load_factor"]
    shares = [b["share"] for b in found["modes"][0]["strain_energy_by_bay"]]
    assert shares == sorted(shares, reverse=True)
    text = " ".join(sparbay("collapse", "--buckle", "trainer").out.split())
    assert all(sentence in text for sentence in found["answer"]["sentences"])
    assert "The lowest modes" in text


def test_sheeting_that_bows_is_no_failure(sparbay: Callable, tmp_path: Path) -> None:
    text = shipped()["powered-tailless"].read_text(encoding="utf-8")
    assert 'radius = "20 m"' in text
    path = tmp_path / "tighter.toml"
    path.write_text(text.replace('radius = "20 m"', 'radius = "12 m"'), encoding="utf-8")
    found = sparbay("collapse", "--buckle", path, "--json", "--panels", "4")
    assert found.code == 0
    assert found.document["modes"][0]["driven_by"] == "sheeting"
    assert found.document["answer"]["load_factor"] < found.document["answer"]["load_factor_asked"]


def test_a_spar_that_buckles_at_its_load_fails(sparbay: Callable, tmp_path: Path) -> None:
    text = shipped()["spar-open"].read_text(encoding="utf-8")
    path = tmp_path / "spar.toml"
    path.write_text(text.replace('tip_force = "1 N"', 'tip_force = "40 N"'), encoding="utf-8")
    assert sparbay("collapse", "--buckle", path).code == 1


def test_mesh_and_panels_matter(sparbay: Callable) -> None:
    runs = [
        sparbay("collapse", "--buckle", "trainer", "--json", *more).document["modes"][0]["load_factor"]
        for more in ((), ("--mesh", "6"), ("--panels", "4"))
    ]
    assert len(set(runs)) == 3
    assert max(runs) / min(runs) < 1.05


@pytest.mark.parametrize("option", [("--mesh", "3"), ("--panels", "1"), ("--panels", "x")])
def test_meshes_too_coarse_are_refused(option: tuple[str, str], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["collapse", "--buckle", "trainer", *option]) == 2
    assert "is not a whole number from" in capsys.readouterr().err


def test_pictures_into_a_folder(sparbay: Callable, tmp_path: Path) -> None:
    try:
        with drawing_surface(off_screen=True):
            pass
    except NoRenderer as fault:
        pytest.skip(str(fault))
    run = sparbay("collapse", "--buckle", "spar-open", "--folder", tmp_path / "new")
    assert run.code == 0
    assert [p.name for p in (tmp_path / "new").iterdir()] == ["buckling.png"]
    assert "buckling.png" in run.out
    assert sparbay("collapse", "--buckle", "spar-open", "--folder", tmp_path / "new").code == 2
