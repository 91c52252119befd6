"""The book put together: words, drawings and tables through the template, with all text escaped."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from models.cautions import CAUTIONS
from models.page.tables import PageTable, TableCell, table
from models.version import VERSION
from models.wing.words import number_runs
from validation.book.chapters import Chapter, chapters, set_up
from validation.book.plots import MOST_LINES, line, series, strip
from validation.book.sketch import sketch
from validation.book.theory import TOPICS
from validation.case import Case, Result
from validation.cases import CASES
from validation.record import counted, figures_words, share_words

_HEADS = ("<quantity", "computed", "published", "<unit", "difference", "tolerance", "<verdict")
_MISSES = ("known miss", "fails")


@dataclass(frozen=True)
class BookDrawing:
    """An SVG with what stands over and under it."""

    svg: str
    title: str = ""
    words: str = ""


@dataclass(frozen=True)
class Written:
    """A case as the template takes it."""

    name: str
    title: str
    address: str
    set_up: tuple[str, ...]
    verdict: str
    looks: str
    drawings: tuple[BookDrawing, ...]
    table: PageTable
    sources: tuple[str, ...]
    whys: tuple[str, ...]


def html(
    cases: Sequence[Case], results: Mapping[str, Sequence[Result]], step: Callable[[str], None] | None = None
) -> str:
    """The book as one HTML document that asks for nothing outside.

    Parameters
    ----------
    cases : sequence of Case
        All or some, in their own order.
    results : mapping of str to sequence of Result
        Figures of every case, by its name.
    step : callable or None
        Called with words before each chapter is set.
    """
    from jinja2 import ChoiceLoader, Environment, PackageLoader, StrictUndefined

    environment = Environment(
        loader=ChoiceLoader([PackageLoader("validation.book"), PackageLoader("models.page")]),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["marked"] = environment.filters["code"] = _code
    environment.filters["drawn"] = str
    ordered = chapters(cases)
    told = []
    for chapter in ordered:
        if step is not None:
            step(f"book: {chapter.name}")
        told.append(_chapter(chapter, results))
    everything = [result for case in cases for result in results[case.name]]
    misses = sorted(
        (r for r in everything if r.verdict in _MISSES), key=lambda r: (r.verdict != "fails", -r.strain)
    )
    return environment.get_template("book.html.j2").render(
        printed=True,
        version=VERSION,
        made=date.today().isoformat(),
        n_cases=len(cases),
        n_all=len(CASES),
        partial=len(cases) < len(CASES),
        n_figures=len(everything),
        count=counted(everything),
        cautions=CAUTIONS,
        misses=table("Figures beyond their tolerance", ["<case", *_HEADS], map(_named_row, misses)),
        reasons=_reasons(misses),
        topics=TOPICS,
        chapters=told,
        everything=[
            {
                "key": chapter.key,
                "name": chapter.name,
                "table": table(
                    chapter.name,
                    ["<case", *_HEADS],
                    [
                        _named_row(result)
                        for family in chapter.families
                        for case in family.cases
                        for result in results[case.name]
                    ],
                ),
            }
            for chapter in ordered
        ],
    )


def _chapter(chapter: Chapter, results: Mapping[str, Sequence[Result]]) -> dict[str, Any]:
    families = []
    for family in chapter.families:
        rest = family.words.split("\n\n")[1:]
        families.append(
            {
                "key": family.key,
                "name": family.name,
                "words": [" ".join(words.split()) for words in rest],
                "misses": sum(r.verdict in _MISSES for c in family.cases for r in results[c.name]),
                "cases": [_written(case, list(results[case.name])) for case in family.cases],
            }
        )
    return {"key": chapter.key, "name": chapter.name, "families": families}


def _written(case: Case, results: list[Result]) -> Written:
    key = address(case.name)
    count = counted(results)
    verdict, looks = "✓ passes", "good"
    if count["fails"]:
        verdict, looks = f"✗ {count['fails']} fail", "bad"
    elif count["known miss"]:
        verdict, looks = f"✗ known misses: {count['known miss']}", "bad"
    elif count["information"] == len(results):
        verdict, looks = "for information", ""
    drawings = []
    if case.specimen is not None:
        drawn, words = sketch(f"{key}-sketch", case.specimen())
        drawings.append(BookDrawing(drawn, "The specimen", words))
    shares = strip(f"{key}-shares", results)
    if shares:
        within = max((r for r in results if r.tolerance is not None), key=lambda r: r.strain)
        words = f"Most used: {within.quantity}, {share_words(within.strain)} of its tolerance."
        drawings.append(BookDrawing(shares, "Difference over tolerance", words))
    for n, found in enumerate(series(results)[:MOST_LINES]):
        banded = any(result.tolerance is not None for result in found.results)
        words = f"Points computed, line published{', band what is allowed' if banded else ''}."
        unit = f", {found.results[0].unit}" if found.results[0].unit else ""
        drawings.append(BookDrawing(line(f"{key}-line{n}", found), f"{found.name}{unit}", words))
    rows = [(f"{n}. {r.quantity}", *_cells(r)) for n, r in enumerate(results, 1)]
    return Written(
        case.name, case.title, key, set_up(case), verdict, looks, tuple(drawings),
        table("Figures", list(_HEADS), rows), _told(results, "source"), _told(results, "why"),
    )  # fmt: skip


def address(name: str) -> str:
    """Of a case within the page."""
    return "case-" + re.sub(r"[^a-zA-Z0-9]+", "-", name)


def _cells(result: Result) -> tuple[str | TableCell, ...]:
    looks = "bad" if result.verdict in _MISSES else ""
    return (*figures_words(result), TableCell(result.verdict, looks))


def _named_row(result: Result) -> tuple[str | TableCell, ...]:
    return (TableCell(result.name, link=address(result.name)), result.quantity, *_cells(result))


def _told(results: Sequence[Result], what: str) -> tuple[str, ...]:
    """Sources or reasons, each once; with the figures' numbers where they differ."""
    numbers: dict[str, list[int]] = {}
    for n, result in enumerate(results, 1):
        numbers.setdefault(getattr(result, what), []).append(n)
    if len(numbers) == 1:
        return tuple(numbers)
    return tuple(
        f"{words} ({'figures' if len(of) > 1 else 'figure'} {', '.join(number_runs(of))})"
        for words, of in numbers.items()
    )


def _reasons(misses: Sequence[Result]) -> list[tuple[dict[str, str], str, str]]:
    """Case, quantities and reason of the misses, those of one case and reason together."""
    found: dict[tuple[str, str], list[str]] = {}
    for result in misses:
        found.setdefault((result.name, result.why), []).append(result.quantity)
    return [
        ({"name": name, "address": address(name)}, "; ".join(quantities), why)
        for (name, why), quantities in found.items()
    ]


def _code(words: str) -> Any:
    """Words with what stands between backticks as code, escaped."""
    from markupsafe import Markup, escape

    return Markup(re.sub(r"`([^`]*)`", r"<code>\1</code>", str(escape(words))))
