"""Shapes and sheets of the shipped wings, worked out once for all tests of the drawings."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

import pytest

from models.command.files import read_wing
from models.drawings.cut_list import Shape, shapes
from models.drawings.nesting import CutSheet, nest
from models.drawings.web_pieces import web_pieces
from models.wing.parts import Wing


@cache
def _wing(name: str) -> Wing:
    return read_wing(name)


@cache
def _cut(name: str) -> tuple[Shape, ...]:
    return tuple(shapes(web_pieces(_wing(name))))


@cache
def _sheets(name: str) -> tuple[CutSheet, ...]:
    return tuple(nest(_cut(name), [], 0.001))


@pytest.fixture(scope="session")
def wing_of() -> Callable[[str], Wing]:
    """A shipped wing."""
    return _wing


@pytest.fixture(scope="session")
def cut_of() -> Callable[[str], tuple[Shape, ...]]:
    """The shapes of its webs."""
    return _cut


@pytest.fixture(scope="session")
def sheets_of() -> Callable[[str], tuple[CutSheet, ...]]:
    """The sheets that they are cut from, a millimetre between two."""
    return _sheets
