"""Finding wing files, and writing whole files or none."""

from __future__ import annotations

from pathlib import Path

import pytest

from models.command.faults import InputFault
from models.command.files import find, shipped, write_new, write_text


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
