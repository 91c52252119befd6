"""`keys --schema` and `keys --completion`: made from the reader's own schema and parser."""

from __future__ import annotations

import json
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest

from models.command.options import parser
from models.wing.editor import editor_schema


def test_schema_is_written_whole(sparbay: Callable, tmp_path: Path) -> None:
    file = tmp_path / "wing.schema.json"
    run = sparbay("keys", "--schema", file)
    assert run.code == 0
    assert f"#:schema {file}" in run.out
    assert json.loads(file.read_text()) == editor_schema()
    assert list(tmp_path.iterdir()) == [file]


def test_schema_into_no_folder(sparbay: Callable, tmp_path: Path) -> None:
    assert sparbay("keys", "--schema", tmp_path / "no" / "x.json").code == 2


@pytest.mark.parametrize("shell", ["bash", "zsh", "tcsh"])
def test_completion_knows_every_command(shell: str, sparbay: Callable) -> None:
    run = sparbay("keys", "--completion", shell)
    assert run.code == 0
    commands = next(a.choices for a in parser()._actions if a.dest == "command")
    assert commands is not None
    assert all(name in run.out for name in commands)


def test_bash_completes_an_option(sparbay: Callable, tmp_path: Path) -> None:
    bash = shutil.which("bash")
    if bash is None:
        pytest.skip("no bash here")
    script = tmp_path / "completion"
    script.write_text(sparbay("keys", "--completion", "bash").out)
    asked = (
        f"source {script}; COMP_WORDS=(sparbay check --ri); COMP_CWORD=2; "
        '_shtab_sparbay; printf "%s\\n" "${COMPREPLY[@]}"'
    )
    found = subprocess.run([bash, "-c", asked], capture_output=True, text=True, check=True)
    assert found.stdout.split() == ["--rigid-joints"]


def test_a_shell_that_is_not_known(sparbay: Callable) -> None:
    assert sparbay("keys", "--completion", "abacus").code == 2
