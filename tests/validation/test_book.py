"""The verification book: every case is in it, it asks for nothing outside, its figures are those of `--json`,
and it is written whole or not at all."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import pytest

import validation.__main__ as command
from validation.book.chapters import CHAPTERS, chapters
from validation.book.plots import series
from validation.book.sketch import sketch
from validation.book.theory import TOPICS
from validation.book.write import address, html
from validation.case import Case, Result
from validation.cases import CASES
from validation.record import share_words

ROOT = Path(__file__).parents[2]
SOME = ("B1", "B13", "S2", "solid F5", "web-splitting", "E2")


class Reader(HTMLParser):
    """Addresses within the page, links, tags that fetch, and the rows of tables by the case they stand in."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.ids: list[str] = []
        self.links: list[str] = []
        self.outside: list[str] = []
        self.rows: dict[str, list[list[str]]] = {}
        self._case = ""
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        for key, value in attrs:
            if key == "id":
                self.ids.append(value or "")
            if key == "href" and (value or "").startswith("#"):
                self.links.append((value or "")[1:])
            elif key in ("src", "href", "srcset", "data", "action") and value != "data:,":
                self.outside.append(value or "")
        if tag == "article":
            self._case = dict(attrs)["id"] or ""
            self.rows[self._case] = []
        elif tag == "tr" and self._case:
            self.rows[self._case].append([])
        elif tag in ("td", "th") and self._case and self.rows[self._case]:
            self.rows[self._case][-1].append("")

    def handle_endtag(self, tag: str) -> None:
        if tag in ("table", "article"):
            self._case = ""

    def handle_data(self, data: str) -> None:
        rows = self.rows.get(self._case)
        if rows and rows[-1]:
            rows[-1][-1] += data


def _made_up(case: Case) -> list[Result]:
    made = Result("<length> & 'one'", 1.0, 1.01, "m", 0.03, "a <book>, from memory", "a why", "mesh")
    return [replace(made, name=case.name)]


@pytest.fixture(scope="module")
def whole() -> str:
    return html(CASES, {case.name: _made_up(case) for case in CASES})


@pytest.fixture(scope="module")
def some(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("book") / "book.html"
    assert command.main([*SOME, "--book", str(path)]) == 0
    return path


def test_every_case_is_in_it_and_every_link_leads_somewhere(whole: str) -> None:
    reader = Reader(whole)
    assert set(reader.rows) == {address(case.name) for case in CASES}
    assert len(set(reader.ids)) == len(reader.ids)
    assert set(reader.links) <= set(reader.ids)
    # Once in the list of its family's cases at most, once in the list of all figures.
    assert all(reader.links.count(address(case.name)) in (1, 2) for case in CASES)


def test_nothing_is_fetched_and_names_are_words(whole: str, some: Path) -> None:
    for text in (whole, some.read_text(encoding="utf-8")):
        assert Reader(text).outside == []
        assert not re.findall(r"https?://|url\(|@import", text)
        assert "default-src 'none'" in text
    assert "<length>" not in whole
    assert "&lt;length&gt;" in whole


def test_wings_and_structures_are_sketched() -> None:
    drawn = {case.name: case.specimen() for case in CASES if case.specimen is not None}
    assert {"S1", "B12", "E2", "solid F5", "wing 3", "booms C"} <= set(drawn)
    for name in ("S1", "B12", "E2", "solid F5", "wing 3"):
        svg, words = sketch("one", drawn[name])
        points = [float(n) for n in re.findall(r"[ ,M\"](-?\d+\.\d)(?=[ ,\"Z])", svg)]
        assert len(points) > 10
        assert -1 < min(points) < max(points) < 400
        assert words


def test_every_family_has_its_chapter() -> None:
    assert "others" not in [chapter.key for chapter in chapters(CASES)]
    files = [name for _, _, names in CHAPTERS for name in names]
    assert len(set(files)) == len(files)
    assert sum(len(f.cases) for c in chapters(CASES) for f in c.families) == len(CASES)


def test_figures_are_those_of_json(some: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert command.main([*SOME, "--json"]) == 0
    records = json.loads(capsys.readouterr().out)
    rows = Reader(some.read_text(encoding="utf-8")).rows
    assert set(rows) == {address(record["case"]) for record in records}
    for record in records:
        told = rows[address(record["case"])][1:]
        assert len(told) == len(record["results"])
        for n, (row, figure) in enumerate(zip(told, record["results"]), 1):
            assert [cell.strip() for cell in row] == [
                f"{n}. {figure['quantity']}",
                f"{figure['computed']:.5g}",
                f"{figure['published']:.5g}",
                figure["unit"],
                share_words(figure["difference"]),
                "" if figure["tolerance"] is None else share_words(figure["tolerance"]),
                figure["verdict"],
            ]


def test_misses_come_first_with_their_reasons(some: Path) -> None:
    text = some.read_text(encoding="utf-8")
    first = text[text.index('id="misses"') : text.index('id="theory"')]
    assert first.count("known miss") >= 2
    assert "case-B13" in first
    assert "case-E2" in first


def test_a_taken_place_is_refused_before_the_work(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(command, "run_case", lambda case: pytest.fail("was computed"))
    taken = tmp_path / "taken.html"
    taken.write_text("mine", encoding="utf-8")
    for path in (taken, tmp_path, tmp_path / "none" / "book.html", tmp_path / "book.pdf"):
        assert command.main(["B1", "--book", str(path)]) == 2
        assert str(path) in capsys.readouterr().err
    assert taken.read_text(encoding="utf-8") == "mine"
    assert sorted(p.name for p in tmp_path.iterdir()) == ["taken.html"]


def test_what_cannot_be_computed_leaves_no_book(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def raises() -> list[Result]:
        raise ZeroDivisionError

    monkeypatch.setattr("validation.run.CASES", (Case("T1", "a trial", raises),))
    assert command.main(["--book", str(tmp_path / "book.html")]) == 3
    assert "not written" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


def test_sources_of_the_theory_are_named_in_the_code() -> None:
    for topic in TOPICS:
        assert topic.sources
        for source in topic.sources:
            text = " ".join((ROOT / source.file).read_text(encoding="utf-8").split())
            assert source.key in text, f"{topic.name}: {source.words}"


def test_series_are_found_by_the_number_that_changes() -> None:
    def row(quantity: str, unit: str = "mm") -> Result:
        return Result(quantity, 1.0, 1.0, unit, 0.1, "a source", "a why", "mesh")

    rows = [row(f"twist at {y} mm") for y in (60, 180, 120, 240)] + [row("tip"), row("C4 at 1 mm")]
    (found,) = series(rows)
    assert found.name == "twist at … mm"
    assert found.at == (60, 120, 180, 240)
