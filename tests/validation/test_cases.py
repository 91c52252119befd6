"""Every case holds, and says where its figures come from and why they may differ as far as they may."""

from __future__ import annotations

import time
from functools import cache

import pytest

from validation.case import Case, Result
from validation.cases import CASES
from validation.run import run_case

EXPECTED = (
    *(f"B{k}" for k in range(1, 10)),
    *("B10 straight", "B10 curved", "B10 twisted"),
    *(f"B{k}" for k in range(11, 18)),
    *(f"S{k}" for k in range(1, 7)),
    *(f"C{k}" for k in range(1, 7)),
    *(f"M{k}" for k in range(1, 6)),
    *(f"E{k}" for k in range(1, 5)),
    *("L2", "L3"),
    "R1",
    *("F1", "F2", "F3"),
)


@cache
def _results(case: Case) -> tuple[Result, ...]:
    return tuple(run_case(case))


@pytest.fixture(scope="module", params=CASES, ids=[case.name for case in CASES])
def case(request: pytest.FixtureRequest) -> Case:
    """Of the scope of this file, so that the tests of a case follow each other: it is worked out once."""
    found = request.param
    assert isinstance(found, Case)
    return found


def test_case_holds(case: Case) -> None:
    start = time.process_time()
    results = _results(case)
    # Two seconds a case is the budget, of this process alone; on a busy machine this allows as much again.
    assert time.process_time() - start < 4.0
    failed = [
        f"{r.quantity}: {r.computed:.8g}, published {r.published:.8g} {r.unit}; {r.difference:+.2e}"
        for r in results
        if not r.passed
    ]
    assert not failed, "\n".join(failed)


def test_case_says_source_and_reason(case: Case) -> None:
    results = _results(case)
    quantities = [result.quantity for result in results]
    assert len(set(quantities)) == len(quantities)
    for result in results:
        assert len(result.source) > 10
        assert len(result.why) >= 4
        if result.tolerance is not None:
            assert 0 < result.tolerance <= 0.25
        words = ("memory", "looked up", "computed", "evaluated")
        assert any(word in result.source for word in words), f"{result.quantity}: how is the source known?"


def test_a_known_miss_still_misses_and_is_explained(case: Case) -> None:
    for result in _results(case):
        if result.known_miss is not None:
            assert result.verdict == "known miss", f"{result.quantity} no longer misses: drop its known_miss"
            assert len(result.why) > 60, f"{result.quantity}: the cause takes more than a few words"


def test_every_published_case_is_there() -> None:
    names = [case.name for case in CASES]
    assert len(set(names)) == len(names)
    assert not set(EXPECTED) - set(names)
