"""Every mode of failure names its source, has words for the answer and a case of its own in `validation`."""

import importlib
import pkgutil

import pytest

import models.strength
from models.analysis import analyse
from models.command.files import read_wing
from models.strength import check, sentence
from models.strength.margin import _WORDS
from validation.cases import CASES


def modes() -> dict[str, str]:
    """Module of every mode, by the mode's name."""
    found = {}
    for info in pkgutil.iter_modules(models.strength.__path__):
        module = importlib.import_module(f"models.strength.{info.name}")
        for name, value in vars(module).items():
            if name.startswith("MODE") and isinstance(value, str):
                found.setdefault(value, info.name)
    return found


@pytest.mark.parametrize("mode", modes())
def test_mode_has_words_and_a_case(mode: str) -> None:
    assert mode in _WORDS
    assert mode.replace(",", "").replace(" ", "-") in {case.name for case in CASES}


def test_words_are_of_modes_that_exist() -> None:
    assert set(_WORDS) == set(modes())


def test_margins_tell_the_source_of_every_mode_once() -> None:
    margins = check(analyse(read_wing("powered-tailless"), per_bay=2))
    sources = margins.sources()
    assert set(sources) == {row.mode for row in (*margins.rows, *margins.secondary)}
    assert len(sources) > 25
    for words in sources.values():
        assert any(tag in words for tag in ("memory", "looked up", "computed", "no source"))
    assert all(row.reason for row in margins.secondary)
    assert not any(row.reason for row in margins.rows)


def test_a_mode_that_joins_others_is_named_by_the_one_that_does_it_alone() -> None:
    margins = check(analyse(read_wing("trainer")))
    assert margins.first().mode == "web shear, bending and crushing"
    assert "rear web is sheared through" in sentence(margins)
