"""Scatter in a moment against the full study, and its limits."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from models.analysis import analyse
from models.command.files import read_wing
from models.strength import check
from models.studies.bowed import SETTLED
from models.studies.scatter import Scatter, scatter
from models.studies.scatter.quick import Loaded, quick, quick_cases
from models.verdict import Verdict, verdict

LARGE = ("sailplane", "powered-tailless")
NEAR = 0.03
"""Of the fifth percentile, against the full study."""


def assert_as_in_the_full_study(found: Verdict, full: Scatter) -> None:
    """By the harder of lift as built and of the bent wing, sheeting bowed."""
    assert found.fifth == pytest.approx(full.fifth, rel=NEAR)
    assert found.failing == pytest.approx(full.nominal, rel=2 * SETTLED)


@pytest.mark.slow
@pytest.mark.parametrize("name", ["trainer", *(pytest.param(n, marks=pytest.mark.long) for n in LARGE)])
def test_the_fifth_percentile_is_that_of_the_full_study(name: str) -> None:
    wing = read_wing(name)
    assert_as_in_the_full_study(verdict(wing, alone=True), scatter(wing, samples=20_000))


@pytest.mark.parametrize("name", ["trainer", "short-tailless"])
def test_the_fifth_percentile_of_a_wing_of_few_bays(name: str, path_of: Callable[[str], Path]) -> None:
    wing = read_wing(str(path_of(name)))
    found = verdict(wing, per_bay=1, alone=True)
    full = scatter(wing, samples=10_000, per_bay=1, states=300)
    assert_as_in_the_full_study(found, full)
    assert abs(found.pull_up.survive - full.survival) < 0.03


def test_the_same_wing_has_the_same_answer_and_a_greater_load_less_reserve() -> None:
    wing = read_wing("trainer")
    one = analyse(wing, per_bay=1)
    found, again = (quick(one, check(one)) for _ in range(2))
    assert np.array_equal(found.reserve, again.reserve)
    harder = analyse(replace(wing, case=replace(wing.case, load_factor=8.0)), per_bay=1)
    assert quick(harder, check(harder)).fifth < found.fifth


def test_a_case_twice_over_is_borne_by_the_same_wings() -> None:
    one = analyse(read_wing("trainer"), per_bay=1)
    rows = check(one).rows
    halved = tuple(replace(row, reserve_factor=row.reserve_factor / 2) for row in rows)
    plain, hard = quick_cases([Loaded(rows, one), Loaded(halved, one)])
    np.testing.assert_allclose(plain.reserve, 2 * hard.reserve, rtol=1e-12)


def test_a_part_is_of_the_same_wood_whatever_is_drawn_beside_it() -> None:
    """With fewer parts near failing, and beside a case in which others are."""
    one = analyse(read_wing("trainer"), per_bay=1)
    rows = check(one).rows
    few, others = rows[:20], rows[20:]
    alone = quick_cases([Loaded(few, one)])[0]
    beside, _ = quick_cases([Loaded(few, one), Loaded(others, one)])
    after = quick_cases([Loaded(others, one), Loaded(few, one)])[1]
    np.testing.assert_allclose([beside.reserve, after.reserve], [alone.reserve, alone.reserve], rtol=1e-12)


def test_nothing_loaded_never_fails() -> None:
    one = analyse(read_wing("trainer"), per_bay=1)
    assert np.isinf(quick_cases([Loaded((), one)])[0].fifth)
