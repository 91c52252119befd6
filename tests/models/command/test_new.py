"""`new`: the starter runs as it is, and a file that exists is left alone."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path


def test_starter_runs_and_survives(sparbay: Callable, tmp_path: Path) -> None:
    file = tmp_path / "w.toml"
    run = sparbay("new", file)
    assert run.code == 0
    assert str(file) in run.out
    assert sparbay("check", file).code == 0


def test_an_existing_file_is_left_alone(sparbay: Callable, tmp_path: Path) -> None:
    file = tmp_path / "w.toml"
    file.write_text("mine")
    run = sparbay("new", file)
    assert run.code == 2
    assert "exists already" in run.err
    assert file.read_text() == "mine"
    assert list(tmp_path.iterdir()) == [file]


def test_no_folder(sparbay: Callable, tmp_path: Path) -> None:
    assert sparbay("new", tmp_path / "nowhere" / "w.toml").code == 2
