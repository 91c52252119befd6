"""`validate`: hands over names and options, and passes the exit code on."""

from __future__ import annotations

from collections.abc import Callable
from importlib import import_module

import pytest


def test_one_case_as_json(sparbay: Callable) -> None:
    name = import_module("validation.cases").CASES[0].name
    run = sparbay("validate", name, "--json")
    assert run.code == 0
    assert [row["case"] for row in run.document] == [name]


@pytest.mark.parametrize("code", [0, 1, 2, 3])
def test_exit_codes_are_passed_on(sparbay: Callable, monkeypatch: pytest.MonkeyPatch, code: int) -> None:
    asked = []
    monkeypatch.setattr(
        import_module("validation.__main__"), "main", lambda arguments: asked.append(arguments) or code
    )
    assert sparbay("validate", "B1", "--json").code == code
    assert asked == [["B1", "--json"]]
