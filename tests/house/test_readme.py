"""The README's examples run as written."""

from __future__ import annotations

import os
import re
import shlex
import subprocess
import sys
from pathlib import Path

from models.analysis import analyse
from models.command.options import parser
from models.strength import check
from models.verdict import sentences, verdict
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
    front = str(Path(__file__).parents[2] / "models" / "front")
    done = subprocess.run(
        [sys.executable, str(script)], capture_output=True, text=True, cwd=tmp_path, env={"PYTHONPATH": front}
    )
    assert done.returncode == 0, done.stderr
    assert "fails first" in done.stdout
    assert "main box" in done.stdout


def test_the_answer_quoted_is_the_answer_given() -> None:
    wing = read(Path(__file__).parents[2] / "models" / "wings" / "trainer.toml")
    said = " ".join(sentences(verdict(wing))[:2])
    assert f"Trainer wing {said}" in " ".join(README.split())


def test_the_five_steps_of_a_newcomer_run_as_written(tmp_path: Path) -> None:
    section = README.split("in five steps\n", 1)[1].split("\n## ", 1)[0]
    steps = [found.split("`")[-2] for found in re.findall(r"^\d\. .*?(?=^\d\. |\n\n)", section, re.S | re.M)]
    assert len(steps) == 5
    assert "pip install" in steps[0]  # .ci/run does that from nothing
    root = str(Path(__file__).parents[2])
    for step in steps[1:]:
        words = shlex.split(step)
        assert words[0] == "env/bin/sparbay"
        done = subprocess.run(
            [sys.executable, "-m", "models.command", *words[1:]],
            capture_output=True, text=True, cwd=tmp_path, env={**os.environ, "PYTHONPATH": root},
        )  # fmt: skip
        assert done.returncode == 0, (step, done.stdout, done.stderr)
    assert (tmp_path / "drawings" / "web-templates.pdf").stat().st_size > 1000


def test_every_picture_is_there_and_told_in_words() -> None:
    pictures = re.findall(r"!\[(.*?)\]\((.*?)\)", README)
    assert pictures
    root = Path(__file__).parents[2]
    assert {path for _, path in pictures} == {
        str(path.relative_to(root)) for path in (root / "models" / "pictures" / "gallery").iterdir()
    }
    assert all(len(words) > 20 for words, _ in pictures)


def test_every_command_of_the_gallery_parses() -> None:
    gallery = README.split("## Gallery\n", 1)[1].split("\n## ", 1)[0]
    shown = re.findall(r"^`sparbay (.*?)`:", gallery, re.M)
    assert len(shown) == len(re.findall(r"!\[", gallery))
    for words in shown:
        name = shlex.split(words)[0]
        assert parser().parse_args(shlex.split(words)).command == name
