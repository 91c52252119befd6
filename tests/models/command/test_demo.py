"""`demo`: every file it promises, whole or not at all, and nobody else's file touched."""

from __future__ import annotations

import csv
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

import fea.export
from models.command import demo
from models.studies.compare import compare
from models.studies.mend import mend
from models.verdict import verdict
from models.wing.reading import read


def test_refuses_what_is_there(sparbay: Callable, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "sparbay-demo").write_text("mine")
    for options in ([], ["--overwrite"]):
        run = sparbay("demo", *options)
        assert run.code == 2
        assert run.out == ""
    (tmp_path / "sparbay-demo").unlink()
    (tmp_path / "sparbay-demo").mkdir()
    run = sparbay("demo")
    assert run.code == 2
    assert "--overwrite" in run.err


def test_half_a_demo_leaves_nothing(
    sparbay: Callable, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, path_of: Callable[[str], Path]
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise RuntimeError("half way")

    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(demo, "shipped", lambda: {demo.WING: path_of("short-tailless")})
    monkeypatch.setattr("models.studies.mend.mend", broken)
    run = sparbay("demo")
    assert run.code == 3
    assert list(tmp_path.iterdir()) == []


def once(function: Callable) -> Callable:
    """A function whose first answer is given again."""
    kept: list[Any] = []

    def kept_or_found(*arguments: Any, **more: Any) -> Any:
        if not kept:
            kept.append(function(*arguments, **more))
        return kept[0]

    return kept_or_found


@pytest.mark.long
def test_the_story_is_told_on_one_screen(
    sparbay: Callable, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    run = sparbay("demo")
    said = " ".join(run.out.split())
    assert len(run.out.splitlines()) <= 40
    assert "Not fit to fly as drawn" in said
    assert "webs of the front spar end at bay 11" in said
    assert "To make it fit" in said
    assert verdict(read(tmp_path / "sparbay-demo" / demo.MENDED)).fit


@pytest.mark.slow
def test_the_whole_job(
    sparbay: Callable, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, path_of: Callable[[str], Path]
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(demo, "shipped", lambda: {demo.WING: path_of("short-tailless")})
    monkeypatch.setattr("models.studies.compare.compare", once(compare))
    monkeypatch.setattr("models.studies.mend.mend", once(mend))
    monkeypatch.setattr(demo, "PER_BAY", 1)
    run = sparbay("demo")
    folder = tmp_path / "sparbay-demo"
    assert run.code == 0
    assert [p.name for p in tmp_path.iterdir()] == ["sparbay-demo"]
    assert "drawing pictures" in run.err
    assert verdict(read(folder / demo.MENDED), per_bay=1).fit
    pictures = list(folder.glob("*.png"))
    assert len(pictures) >= 4
    assert all(p.read_bytes().startswith(b"\x89PNG") and p.stat().st_size > 10_000 for p in pictures)
    exported = fea.export.read(folder / "powered-tailless.vtu")
    assert "reserve factor" in exported.cell_data
    assert "displacement" in exported.point_data
    checked = json.loads((folder / "check.json").read_text())
    with (folder / "bays.csv").open(newline="") as file:
        rows = list(csv.DictReader(file))
    assert [int(r["bay"]) for r in rows] == [b["bay"] for b in checked["bays"]]
    assert checked["answer"]["sentences"][0] in " ".join((folder / "report.txt").read_text().split())
    assert {"compare.json", "mend.json", "layouts.csv", "ribs.csv", "powered-tailless.toml"} <= {
        p.name for p in folder.iterdir()
    }
    for path in folder.iterdir():
        assert path.name in run.out
    mine = folder / "mine.txt"
    mine.write_text("mine")
    (folder / "report.txt").write_text("old")
    again = sparbay("demo", "--overwrite")
    assert again.code == 0
    assert mine.read_text() == "mine"
    assert "mine.txt" not in again.out
    assert (folder / "report.txt").read_text() != "old"
