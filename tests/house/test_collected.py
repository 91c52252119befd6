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


def test_every_test_file_is_collected(request: pytest.FixtureRequest) -> None:
    """When the whole of tests/ is asked for, every file of tests is among what was collected."""
    asked = [Path(str(arg)).resolve() for arg in request.config.args]
    if (
        asked != [ROOT / "tests"]
        or request.config.getoption("keyword")
        or request.config.getoption("markexpr")
    ):
        pytest.skip("only a part of the tests was asked for")
    seen = {item.path.resolve() for item in request.session.items}
    files = {path.resolve() for path in (ROOT / "tests").rglob("test_*.py")}
    assert not files - seen
