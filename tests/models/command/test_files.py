"""Finding wing files, and writing whole files or none."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from models import system
from models.command import files
from models.command.faults import InputFault
from models.command.files import (
    filled,
    find,
    need,
    new_folder,
    refuse_file,
    rewrite,
    shipped,
    with_ends_of,
    write_new,
    write_text,
)

ROOT = Path(__file__).parents[3]
HOMES = ("HOME", "XDG_CACHE_HOME", "XDG_CONFIG_HOME")


def test_shipped_wings_are_found_by_name() -> None:
    assert {"powered-tailless", "trainer", "sailplane"} <= set(shipped())
    assert find("trainer") == shipped()["trainer"]


def test_a_near_name_is_offered_only_where_it_is_near() -> None:
    with pytest.raises(InputFault, match=r"did you mean trainer\?"):
        find("trainr")
    with pytest.raises(InputFault) as fault:
        find("zzzzzz")
    assert "did you mean" not in str(fault.value)


def test_a_name_that_no_file_can_have() -> None:
    with pytest.raises(InputFault, match="no such file"):
        find("x" * 5000)


def test_nothing_is_overwritten(tmp_path: Path) -> None:
    path = tmp_path / "a.toml"
    write_new(path, "first")
    with pytest.raises(InputFault, match="exists already"):
        write_new(path, "second")
    assert path.read_text() == "first"
    write_text(path, "third")
    assert path.read_text() == "third"
    assert [p.name for p in tmp_path.iterdir()] == ["a.toml"]


def test_a_place_that_cannot_be_written(tmp_path: Path) -> None:
    with pytest.raises(InputFault, match="cannot be written"):
        write_new(tmp_path / "no" / "a.toml", "text")


@pytest.fixture
def told() -> Iterator[list[str]]:
    """What could not be written, as the command tells it in the end."""
    files.unwritten.clear()
    yield files.unwritten
    files.unwritten.clear()


def test_a_folder_is_put_in_place_whole(tmp_path: Path, told: list[str]) -> None:
    made = tmp_path / "deep" / "made"
    seen = []

    def fill(place: Path) -> list[Path]:
        seen.append(made.exists())
        (place / "a").write_text("a")
        return [place / "a"]

    assert filled(made, fill) == [made / "a"]
    assert seen == [False]
    assert [path.name for path in made.parent.iterdir()] == ["made"]
    assert told == []
    assert filled(None, fill) == []


@pytest.mark.parametrize("error", [OSError(28, "No space left on device"), system.Ended(), ValueError("odd")])
def test_a_folder_half_filled_is_none(tmp_path: Path, told: list[str], error: BaseException) -> None:
    made = tmp_path / "made"

    def fill(place: Path) -> list[Path]:
        (place / "a").write_text("a")
        raise error

    if isinstance(error, OSError):
        assert filled(made, fill) == []
        assert told == [f"{made}: cannot be written: No space left on device."]
    else:
        with pytest.raises(type(error)):
            filled(made, fill)
    assert list(tmp_path.iterdir()) == []


def test_the_quicker_of_two_wins(tmp_path: Path, told: list[str]) -> None:
    made = tmp_path / "made"

    def fill(place: Path) -> list[Path]:
        (place / "a").write_text("a")
        return [place / "a"]

    def slow(place: Path) -> list[Path]:
        assert filled(made, fill) == [made / "a"]
        return fill(place)

    assert filled(made, slow) == []
    assert [path.name for path in tmp_path.iterdir()] == ["made"]
    assert len(told) == 1
    assert "another run was quicker" in told[0]


def test_nothing_drawn_makes_no_folder(tmp_path: Path, told: list[str]) -> None:
    assert filled(tmp_path / "made", lambda place: []) == []
    assert list(tmp_path.iterdir()) == []
    assert told == []


def test_what_cannot_be_written_leaves_the_answer_and_code_2(
    sparbay: Callable, wing_file: Callable, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("models.pictures.balance.plot_balance", full)
    file = wing_file()
    run = sparbay("balance", file, "--folder", file.parent / "made")
    plain = sparbay("balance", file)
    assert run.code == 2
    assert run.err.count("\n") == 1
    assert "cannot be written: No space left on device" in run.err
    assert run.out == plain.out
    assert [path.name for path in file.parent.iterdir()] == [file.name]


@pytest.mark.parametrize("library", ["matplotlib", "pyvista"])
def test_libraries_are_missed_before_the_work(
    sparbay: Callable, wing_file: Callable, monkeypatch: pytest.MonkeyPatch, library: str
) -> None:
    monkeypatch.setitem(sys.modules, library, None)
    monkeypatch.setattr("models.wing.reading.read", lambda *_, **__: pytest.fail("worked"))
    file = wing_file()
    run = sparbay("check", "--show", file, "--folder", file.parent / "made")
    assert run.code == 2
    assert run.err.count("\n") == 1
    assert f"the library {library} is not installed; get it with: python -m pip install {library}" in run.err
    assert not (file.parent / "made").exists()


def test_a_machine_that_draws_nothing_says_so_before_the_work(
    sparbay: Callable, wing_file: Callable, monkeypatch: pytest.MonkeyPatch
) -> None:
    from models.pictures import screen

    def none(*, off_screen: bool) -> str:
        raise screen.NoRenderer("pictures need a driver")

    monkeypatch.setattr(screen, "_kind", none)
    monkeypatch.setattr("models.wing.reading.read", lambda *_, **__: pytest.fail("worked"))
    file = wing_file()
    run = sparbay("collapse", file, "--folder", file.parent / "made")
    assert run.code == 2
    assert run.err.count("\n") == 1
    assert "pictures need a driver; or leave --folder out" in run.err
    assert not (file.parent / "made").exists()


@pytest.mark.skipif(sys.platform == "win32", reason="homes")
def test_without_a_home_nothing_is_said_of_it(wing_file: Callable) -> None:
    file = wing_file()
    gone = str(file.parent / "gone" / "home")
    done = subprocess.run(
        [sys.executable, "-m", "models.command", "balance", str(file), "--folder", str(file.parent / "made")],
        env={**os.environ, "PYTHONPATH": str(ROOT)} | dict.fromkeys(HOMES, gone),
        capture_output=True, text=True,
    )  # fmt: skip
    assert (done.returncode, done.stderr) == (0, "")
    assert (file.parent / "made" / "balance.png").exists()


def test_a_library_that_is_there() -> None:
    need("json", "work", "do without")
    with pytest.raises(InputFault, match=r"work: the library no_such is not installed; .*, or do without\."):
        need("no_such", "work", "do without")


def test_places_that_take_nothing_are_refused_before_the_work(tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    (tmp_path / "link").symlink_to("nowhere")
    for name in ("file", "link"):
        with pytest.raises(InputFault, match="exists already"):
            new_folder(str(tmp_path / name))
        with pytest.raises(InputFault, match="exists already"):
            refuse_file(tmp_path / name)
        refuse_file(tmp_path / name, overwrite=True)
    with pytest.raises(InputFault, match="is a file"):
        new_folder(str(tmp_path / "file" / "made"))
    with pytest.raises(InputFault, match="there is no folder"):
        refuse_file(tmp_path / "none" / "made")
    with pytest.raises(InputFault, match="is a folder"):
        refuse_file(tmp_path, overwrite=True)
    assert new_folder(str(tmp_path / "none" / "made")) == tmp_path / "none" / "made"
    assert new_folder(None) is None


def test_the_schema_is_not_written_over_a_file(sparbay: Callable, tmp_path: Path) -> None:
    path = tmp_path / "a.json"
    path.write_text("mine")
    run = sparbay("keys", "--schema", path)
    assert run.code == 2
    assert "exists already" in run.err
    assert "--overwrite" in run.err
    assert path.read_text() == "mine"
    assert sparbay("keys", "--schema", path, "--overwrite").code == 0
    assert path.read_text().startswith("{")


def test_a_file_is_rewritten_while_it_is_what_was_read(tmp_path: Path) -> None:
    path = tmp_path / "a"
    path.write_bytes(b"one")
    assert rewrite(path, b"one", "two")
    assert not rewrite(path, b"one", "three")
    assert path.read_text() == "two"
    path.write_bytes(b"x" * 1_000_000)  # it grew beyond what is read
    assert not rewrite(path, b"two", "three")
    path.unlink()
    assert not rewrite(path, b"two", "three")
    assert list(tmp_path.iterdir()) == []


def test_line_ends_are_those_of_the_file_that_a_text_was_made_from(tmp_path: Path) -> None:
    path = tmp_path / "a"
    path.write_bytes(b"one\r\ntwo\r\n")
    assert with_ends_of("one\nthree\n", path) == "one\r\nthree\r\n"
    path.write_bytes(b"one\ntwo\n")
    assert with_ends_of("one\nthree\n", path) == "one\nthree\n"
