"""A case's figures as plain data, and as the words that tables show."""

from __future__ import annotations

import math
from collections.abc import Sequence

from validation.case import Case, Result

VERDICTS = ("passes", "known miss", "information", "fails")
"""What a figure may come to."""


def as_record(case: Case, results: Sequence[Result]) -> dict[str, object]:
    """A case as plain data: its hardest figure at the top, all of them under `results`.

    Parameters
    ----------
    case : Case
        The case.
    results : sequence of Result
        Its figures, at least one.

    Returns
    -------
    dict
        Keys case, title, passed, then those of the figure that uses up most of its tolerance, then results.
    """
    hardest = max(results, key=lambda result: (not result.passed, result.strain))
    return {
        "case": case.name,
        "title": case.title,
        "passed": all(result.passed for result in results),
        **{key: value for key, value in _figure(hardest).items() if key != "passed"},
        "results": [_figure(result) for result in results],
    }


def _figure(result: Result) -> dict[str, object]:
    return {
        "quantity": result.quantity,
        # JSON has no NaN.
        "computed": result.computed if math.isfinite(result.computed) else None,
        "published": result.published,
        "unit": result.unit,
        "difference": result.difference if math.isfinite(result.difference) else None,
        "tolerance": result.tolerance,
        "verdict": result.verdict,
        "passed": result.passed,
        "kind": result.kind,
        "source": result.source,
        "why": result.why,
    }


def figures_words(result: Result) -> tuple[str, ...]:
    """Computed, published, unit, difference and tolerance as they are printed."""
    return (
        f"{result.computed:.5g}",
        f"{result.published:.5g}",
        result.unit,
        share_words(result.difference),
        "" if result.tolerance is None else share_words(result.tolerance),
    )


def share_words(value: float) -> str:
    """A fraction as per cent, or as a power of ten where it is rounding."""
    return f"{value:.1e}" if abs(value) < 5e-5 else f"{100 * value:.3g} %"


def counted(results: Sequence[Result]) -> dict[str, int]:
    """How many figures come to each of `VERDICTS`."""
    return {verdict: sum(result.verdict == verdict for result in results) for verdict in VERDICTS}
