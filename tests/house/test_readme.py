"""The README's examples run as written."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

from models.analysis import analyse
from models.strength import check, sentence
from models.wing.reading import read, read_text

README = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")


def block(language: str) -> str:
    found = re.search(rf"```{language}\n(.*?)```", README, flags=re.S)
    assert found, f"no {language} block in the README"
    return found.group(1)


def test_the_first_wing_of_the_readme_is_read_and_solved() -> None:
    wing = read_text(block("toml"))
    assert wing.spars[0].name == "main"
    assert check(analyse(wing)).load_factor == 6


def test_the_python_example_runs(tmp_path: Path) -> None:
    script = tmp_path / "example.py"
    script.write_text(block("python"), encoding="utf-8")
    root = str(Path(__file__).parents[2])
    done = subprocess.run(
        [sys.executable, str(script)], capture_output=True, text=True, cwd=tmp_path, env={"PYTHONPATH": root}
    )
    assert done.returncode == 0, done.stderr
    assert "fails first" in done.stdout
    assert "main box" in done.stdout


def test_the_answer_quoted_is_the_answer_given() -> None:
    wing = read(Path(__file__).parents[2] / "models" / "wings" / "trainer.toml")
    assert sentence(check(analyse(wing))) in README
