"""Every mode of failure names its source, has words for the answer and a case of its own in `validation`."""

import pytest

from models.analysis import analyse
from models.command.files import read_wing
from models.strength import check, modes, sentence
from models.strength.mode import Mode
from validation.cases import CASES


@pytest.mark.parametrize("mode", modes.MODES, ids=lambda mode: mode.name)
def test_mode_has_a_case(mode: Mode) -> None:
    assert mode.name.replace(",", "").replace(" ", "-") in {case.name for case in CASES}


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
    assert "front web is sheared through" in sentence(margins)
