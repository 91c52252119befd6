"""`check --show`: pictures into a new folder, a window only where there is a screen."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

import models.pictures
from models.command import check_show
from models.command.check_show import SCENES


def test_scenes_of_the_help_are_those_of_the_pictures() -> None:
    assert SCENES == models.pictures.SCENES


def test_no_screen_is_an_input_fault(sparbay: Callable, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(check_show, "_has_screen", lambda: False)
    run = sparbay("check", "--show", "trainer")
    assert run.code == 2
    assert "--folder" in run.err


@pytest.mark.parametrize(("options", "scene"), [([], "deflection"), (["--scene", "reserve"], "reserve")])
def test_a_window_shows_the_scene_asked_for(
    sparbay: Callable, monkeypatch: pytest.MonkeyPatch, options: list[str], scene: str
) -> None:
    seen: list[Any] = []
    monkeypatch.setattr(check_show, "_has_screen", lambda: True)
    monkeypatch.setattr(
        models.pictures, "show", lambda analysis, name, **more: seen.append((analysis.wing.name, name, more))
    )
    assert sparbay("check", "--show", "trainer", *options).code == 0
    ((name, shown, more),) = seen
    assert (name, shown) == ("Trainer wing", scene)
    assert "fails first" in more["found"].sentence
    assert "caps" in more["found"].by_part


def test_no_webs_no_shear_flow(sparbay: Callable, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(check_show, "_has_screen", lambda: True)
    run = sparbay("check", "--show", "spar-open", "--scene", "shear flow")
    assert run.code == 2
    assert "no webs" in run.err


def test_a_folder_that_holds_something_is_left_alone(sparbay: Callable, tmp_path: Path) -> None:
    (tmp_path / "mine.txt").write_text("mine")
    run = sparbay("check", "--show", "trainer", "--folder", tmp_path)
    assert run.code == 2
    assert [p.name for p in tmp_path.iterdir()] == ["mine.txt"]


@pytest.mark.slow
def test_pictures_in_a_folder(sparbay: Callable, tmp_path: Path) -> None:
    run = sparbay("check", "--show", "trainer", "--folder", tmp_path / "pictures")
    assert run.code == 0
    written = sorted((tmp_path / "pictures").iterdir())
    assert len(written) >= 4
    assert [line for line in run.out.splitlines() if line.endswith(".png")] != []
