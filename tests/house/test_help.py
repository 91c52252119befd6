"""Help: every command opens with the question that it answers and one example; the README shows the same."""

from __future__ import annotations

import argparse
import re
from pathlib import Path

import pytest

from models.command.options import flags, parser, told

README = Path(__file__).parents[2] / "README.md"
BLOCK = re.compile(r"```(?:console|text|sh|bash)?\n\$ (sparbay[^\n]*--help)\n(.*?)```", re.DOTALL)
"""A help text in the README: a fenced block that begins with the command, after a dollar sign."""


def commands() -> dict[str, argparse.ArgumentParser]:
    """Every command's parser by its name."""
    subparsers = next(a for a in parser()._actions if isinstance(a, argparse._SubParsersAction))
    return dict(subparsers.choices)


@pytest.mark.parametrize("name", list(commands()))
def test_opens_with_a_question_and_ends_with_an_example(name: str) -> None:
    command = commands()[name]
    assert command.description is not None
    assert command.epilog is not None
    assert "?" in command.description.split(". ")[0]
    example = command.epilog.removeprefix("example: ")
    assert example.split()[:2] == ["sparbay", name]
    options = parser().parse_args(example.split()[1:])  # an example that runs parses at least
    assert options.command == name


ALSO = [(name, flag) for name in commands() for flag in flags(name)]
"""Questions that a command answers beside its own."""


@pytest.mark.parametrize("asked", ALSO, ids=" --".join)
def test_another_question_of_a_command_is_told_with_an_example_too(asked: tuple[str, str]) -> None:
    name, flag = asked
    question, *_, example = told("_".join(asked).replace("-", "_"))
    assert question.endswith("?")
    assert question in parser("").format_help().replace("\n" + " " * 15, " ")
    words = example.removeprefix("example: ").split()
    assert words[:3] == ["sparbay", name, f"--{flag}"]
    assert parser().parse_args(words[1:]).answer == "_".join(asked).replace("-", "_")


@pytest.mark.parametrize("name", list(commands()))
def test_every_option_is_explained(name: str) -> None:
    assert all(action.help for action in commands()[name]._actions)


def test_lines_fit() -> None:
    texts = [parser().format_help(), *(c.format_help() for c in commands().values())]
    assert max(len(line) for text in texts for line in text.splitlines()) <= 100


def test_readme_shows_the_real_help() -> None:
    if not README.exists():
        pytest.skip("there is no README yet")
    shown = BLOCK.findall(README.read_text(encoding="utf-8"))
    for command, text in shown:
        words = command.split()[1:-1]
        real = commands()[words[0]].format_help() if words else parser().format_help()
        # Line breaks of the usage differ between versions of Python; the words do not.
        assert text.split() == real.split(), command
