"""Records of a case: difference, verdicts, and what is refused."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from validation.case import BadCase, Result

PLAIN = Result("length", 1.02, 1.0, "m", 0.03, "a book, table 1", "rounded to two digits", "rounding")


def test_difference_is_a_share_of_the_published_figure() -> None:
    assert PLAIN.difference == pytest.approx(0.02)
    assert replace(PLAIN, published=-1.0, computed=-1.02).difference == pytest.approx(-0.02)


def test_difference_is_measured_by_the_scale_where_given() -> None:
    assert replace(PLAIN, published=0.0, computed=0.5, scale=2.0).difference == pytest.approx(0.25)


@pytest.mark.parametrize(
    ("computed", "verdict", "passed"),
    [
        (1.03, "passes", True),
        (1.0300001, "fails", False),
        (0.9699999, "fails", False),
        (math.nan, "fails", False),
    ],
)
def test_verdict_at_the_tolerance(computed: float, verdict: str, passed: bool) -> None:
    # 1.03 - 1.0 lies a rounding error above 0.03.
    result = replace(PLAIN, computed=computed, tolerance=0.03 + 1e-12)
    assert (result.verdict, result.passed) == (verdict, passed)


@pytest.mark.parametrize(("computed", "verdict"), [(1.02, "passes"), (1.1, "known miss"), (1.3, "fails")])
def test_a_known_miss_may_not_grow(computed: float, verdict: str) -> None:
    assert replace(PLAIN, computed=computed, known_miss=0.2).verdict == verdict


def test_information_passes_if_it_is_a_number() -> None:
    free = replace(PLAIN, tolerance=None, kind="information", computed=9.0)
    assert free.verdict == "information"
    assert replace(free, computed=math.inf).verdict == "fails"


@pytest.mark.parametrize(
    "wrong",
    [
        {"kind": "guess"},
        {"source": " "},
        {"why": ""},
        {"tolerance": None},
        {"kind": "information"},
        {"published": 0.0},
        {"published": 0.0, "scale": 0.0},
        {"known_miss": 0.02},
    ],
)
def test_a_result_that_does_not_hold_together_is_refused(wrong: dict[str, object]) -> None:
    with pytest.raises(BadCase):
        replace(PLAIN, **wrong)  # type: ignore[arg-type]
