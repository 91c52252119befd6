"""Fixtures of the command's tests: running it in this process, and wing files made from the starter."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any, NamedTuple

import pytest

from models.command import main

STARTER = Path(__file__).with_name("plain-wing.toml")


class Outcome(NamedTuple):
    """What a run leaves: exit code and both streams."""

    code: int
    out: str
    err: str

    @property
    def document(self) -> Any:
        """Standard output read as JSON; NaN and infinities are refused."""
        return json.loads(self.out, parse_constant=lambda word: pytest.fail(f"{word} is not JSON"))


@pytest.fixture
def sparbay(capsys: pytest.CaptureFixture[str]) -> Callable[..., Outcome]:
    """Run the command in this process."""

    def run(*arguments: str | Path) -> Outcome:
        code = main([str(a) for a in arguments])
        out, err = capsys.readouterr()
        return Outcome(code, out, err)

    return run


@pytest.fixture
def wing_file(tmp_path: Path) -> Callable[..., Path]:
    """Write the starter wing with some text replaced."""

    def write(*changes: tuple[str, str]) -> Path:
        text = STARTER.read_text(encoding="utf-8")
        for old, new in changes:
            assert old in text, old
            text = text.replace(old, new)
        path = tmp_path / "wing.toml"
        path.write_text(text, encoding="utf-8")
        return path

    return write
