"""Whole webs by exchange along the chain, against wings that are built, solved and checked."""

from __future__ import annotations

from dataclasses import replace
from importlib import resources

import pytest
from numpy.testing import assert_allclose

from models.analysis import analyse
from models.studies.tip import tip_of
from models.studies.worth import figures
from models.studies.worth_designs import sites, toggled
from models.studies.worth_whole import FEW, WholeWebs, whole_webs
from models.wing.reading import read


@pytest.mark.parametrize(
    ("name", "some"),
    [("trainer", (0, 4, 9, -1)), ("box-two-spars-sheeted", (0, 5, -1))],
)
def test_exchanges_are_whole_analyses(name: str, some: tuple[int, ...]) -> None:
    wing = read(resources.files("models.wings") / f"{name}.toml")
    analysis, every = analyse(wing, per_bay=1), sites(wing)
    tip, told = tip_of(analysis), []
    drawn = figures(analysis, tip)
    webs = WholeWebs(wing, [every[k] for k in some], tip, per_bay=1, progress=told.append)
    assert webs.agrees(drawn)
    assert not webs.agrees(replace(drawn, mass=1.001 * drawn.mass))
    assert told
    for k in some:
        found = webs(every[k])
        expected = figures(analyse(toggled(wing, [every[k]]), per_bay=1), tip)
        assert found is not None
        assert found.first_failure == expected.first_failure
        for what in ("deflection", "twist", "load_factor", "mass"):
            after = getattr(drawn, what) + getattr(found, what)
            # What rounding leaves of two ways of elimination.
            assert_allclose(after, getattr(expected, what), rtol=1e-9)


def test_few_webs_and_two_sides_are_left_to_whole_analyses() -> None:
    wing = read(resources.files("models.wings") / "trainer.toml")
    tip, every = tip_of(analyse(wing, per_bay=1)), sites(wing)
    assert len(every) <= FEW
    assert whole_webs(wing, every, tip, per_bay=1) is None
    whole = replace(wing, whole=True)
    assert len(sites(whole)) > FEW
    assert whole_webs(whole, sites(whole), tip, per_bay=1) is None
