"""Tools pass over folders of certain names: ours must not have them, or tests and code go unseen."""

from __future__ import annotations

from fnmatch import fnmatch
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
PASSED_OVER = ("build", "dist", "venv", "env", "node_modules", "CVS", "_darcs", "{arch}", "*.egg")
"""Folders that pytest leaves out by default (its reference, `norecursedirs`), and that editors hide."""


@pytest.mark.parametrize("storey", ["fea", "models", "validation", "tests"])
def test_no_folder_has_a_name_that_tools_pass_over(storey: str) -> None:
    folders = [path for path in (ROOT / storey).rglob("*") if path.is_dir()]
    assert folders
    assert not [path for path in folders if any(fnmatch(path.name, name) for name in PASSED_OVER)]


@pytest.fixture
def everything(request: pytest.FixtureRequest) -> list[pytest.Item]:
    """What was collected, where that is the whole of tests/."""
    asked = [Path(str(arg)).resolve() for arg in request.config.args]
    if (
        asked != [ROOT / "tests"]
        or request.config.getoption("keyword")
        or request.config.getoption("markexpr")
    ):
        pytest.skip("only a part of the tests was asked for")
    return request.session.items


def test_every_test_file_is_collected(everything: list[pytest.Item]) -> None:
    seen = {item.path.resolve() for item in everything}
    files = {path.resolve() for path in (ROOT / "tests").rglob("test_*.py")}
    assert not files - seen


def test_the_list_of_slow_tests_is_of_tests_that_there_are(everything: list[pytest.Item]) -> None:
    """A new name brings a test into the fast set: `pytest --measure-slow` on its file lists it again.

    A few may be gone, and those that need a browser.
    """
    names = {f"{item.path.relative_to(ROOT / 'tests').as_posix()}::{item.nodeid.partition('::')[2]}"
             for item in everything}  # fmt: skip
    rows = (ROOT / "tests" / "slow.txt").read_text(encoding="utf-8").splitlines()
    listed = {row.partition(" ")[2] for row in rows if "test_browser.py" not in row}
    gone = listed - names
    assert len(gone) < 0.1 * len(listed), sorted(gone)
