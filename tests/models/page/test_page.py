"""The page as a document: alone in the world, whole, escaped, in order, with the commands' own figures."""

from __future__ import annotations

import json
import re
from importlib import resources
from itertools import pairwise
from typing import Any

import pytest

from models.command import main
from models.command.files import read_wing
from models.page import inputs, tables, views
from models.page.svg import COLOURS
from models.pictures import stage
from models.wing.words import number_runs

MOST = 8_000_000
LINKS = {
    "src", "href", "xlink:href", "srcset", "action", "formaction", "poster", "data", "background", "cite",
    "ping", "srcdoc", "manifest",
}  # fmt: skip


def leads_outside(text: str, reader: Any) -> list[str]:
    """Whatever a browser would fetch from beyond the document."""
    found = [
        value or ""
        for element in reader.elements
        for key, value in element.attributes.items()
        if key in LINKS and not re.match(r"#|data:", value or "")
    ]
    found += [url for url in re.findall(r"url\(\s*['\"]?([^'\")]*)", text) if not re.match(r"#|data:", url)]
    found += re.findall(r"@import[^;]*", text)
    # Names of the two languages of drawings, which nobody fetches.
    names = ("http://www.w3.org/2000/svg", "http://www.w3.org/1999/xlink", "http://www.w3.org/1999/xhtml")
    found += [a for a in re.findall(r"https?://[\w-]+\.[^\s\"'<)\\]*", text) if a not in names]
    return found


def scenes_of(page: Any) -> dict[str, Any]:
    (held,) = [e for e in page.reader.all("script") if e.attributes.get("type") == "application/json"]
    found: dict[str, Any] = json.loads("".join(held.words))
    return found


def test_the_reader_of_addresses_sees_what_it_must(page: Any) -> None:
    text = '<a href="x.html"></a><img src="https://a.b/c"><p style="background:url(d.png)">@import "e";</p>'
    assert len(leads_outside(text, type(page.reader)(text))) == 5


def test_nothing_is_fetched(page: Any, specimen_page: Any, can_draw: bool) -> None:
    for one in (page, specimen_page):
        assert leads_outside(one.text, one.reader) == []
        policy = one.reader.all("meta")[1].attributes
        assert policy["http-equiv"] == "Content-Security-Policy"
        assert "default-src 'none'" in (policy["content"] or "")
    if can_draw:
        viewer = scenes_of(page)["viewer"]
        assert leads_outside(viewer, type(page.reader)(viewer)) == []


def test_size(page: Any, can_draw: bool) -> None:
    assert len(page.text.encode()) < MOST
    if can_draw:
        scenes = sum(map(len, scenes_of(page)["scenes"].values()))
        assert scenes > 0
        # Whatever the wing, scenes have their bound; stills and the rest grow by little.
        assert len(page.text.encode()) - scenes + views.MOST_BYTES < 0.9 * MOST


def test_names_are_words_and_never_markup(page: Any, specimen_page: Any) -> None:
    for one in (page, specimen_page):
        assert {e.tag for e in one.reader.elements}.isdisjoint({"b", "i", "u", "iframe", "object", "embed"})
        assert not [k for e in one.reader.elements for k in e.attributes if k.startswith("on")]
        assert all(e.attributes["src"].startswith("data:image/png;base64,") for e in one.reader.all("img"))
        scripts = [e.attributes.get("type") for e in one.reader.all("script")]
        assert scripts in ([], ["application/json", None])
        assert "<script>alert" not in one.text
        assert "</svg><img src=x" not in one.text
    name = """<script>alert(1)</script> & "quoted" 'single' $x$ </title></style>"""
    assert [e.text for e in page.reader.all("h1")] == [name]
    assert page.reader.all("title")[0].text == f"{name}: report"
    cells = {e.text for e in page.reader.elements if e.tag in ("td", "th")}
    assert {
        "</svg><img src=x onerror=alert(2)>",
        "<b onclick=alert(3)>lead</b>",
        '<u>one</u> & "two"',
    } <= cells
    assert any("<i>loop & 'roll'</i>" in e.text for e in page.reader.all("td"))
    inside = [e.text for e in page.reader.all("text")]
    assert any("</svg><img src=x onerro" in t for t in inside)
    assert '<u>one</u> & "two"' in inside


def test_no_name_is_in_the_turning_view(page: Any, can_draw: bool) -> None:
    if not can_draw:
        pytest.skip("no scenes can be drawn here")
    import base64
    import io
    import zipfile

    held = scenes_of(page)
    assert set(held["scenes"]) == {"deflection", "reserve", "cap-stress"}
    assert held["viewer"].count(held["mark"]) == 1
    for data in held["scenes"].values():
        with zipfile.ZipFile(io.BytesIO(base64.b64decode(data))) as file:
            scene = file.read("index.json").decode()
        assert '"vtkActor"' in scene or "vtkOpenGLActor" in scene
        assert not any(word in scene for word in ("alert", "lead", "loop", "one</u>"))


def test_the_answer_and_the_cautions_come_first(page: Any) -> None:
    heads = [e.text for e in page.reader.all("h2")]
    assert heads[0] == "The answer"
    answer = next(e for e in page.reader.all("section") if e.attributes["id"] == "answer")
    assert "✓ Fit to fly as drawn" in answer.text
    assert "For model aircraft only" in answer.text
    for name in ("Verdict", "In flight", "Critical case", "Weakest bay", "Balance", "Test"):
        assert name in answer.text


def test_headings_pictures_and_tables_are_named(page: Any, specimen_page: Any) -> None:
    for one in (page, specimen_page):
        levels = [int(e.tag[1]) for e in one.reader.elements if re.fullmatch(r"h[1-6]", e.tag)]
        assert levels[0] == 1
        assert levels.count(1) == 1
        assert all(b <= a + 1 for a, b in pairwise(levels))
        assert all(len(e.attributes["alt"]) > 20 for e in one.reader.all("img"))
        figures = one.reader.all("svg")
        assert len(figures) >= 4
        ids = [e.attributes["id"] for e in one.reader.elements if "id" in e.attributes]
        assert len(ids) == len(set(ids))
        for figure in figures:
            assert figure.attributes["role"] == "img"
            assert set((figure.attributes["aria-labelledby"] or "").split()) <= set(ids)
        assert all(e.attributes.get("scope") in ("row", "col") for e in one.reader.all("th"))
        assert all(e.attributes["aria-labelledby"] in ids for e in one.reader.all("table"))
        boxes = [e for e in one.reader.elements if e.attributes.get("class") == "box"]
        assert len(boxes) == len(one.reader.all("table"))
        assert all(e.attributes["tabindex"] == "0" for e in boxes)
        links = [e.attributes["href"] or "" for e in one.reader.all("a")]
        assert {link[1:] for link in links} <= set(ids)


def test_figures_take_the_colours_of_the_page(page: Any) -> None:
    style = page.reader.all("style")[0].text
    for name in COLOURS.values():
        assert f"--{name}:" in style
    drawn = [e for e in page.reader.elements if "svg" in e.inside]
    used = " ".join(e.attributes.get("style") or "" for e in drawn)
    assert "var(--ink)" in used
    assert "var(--blue)" in used
    assert not [hexed for hexed in COLOURS if hexed in used]


def test_figures_are_those_of_the_commands(page: Any, capsys: pytest.CaptureFixture[str]) -> None:
    found = []
    for command in ("check", "note"):
        assert main([command, str(page.wing), "--json", "--mesh", "1"]) == page.code == 0
        found.append(json.loads(capsys.readouterr().out))
    check, note = found
    rows = [e.text for e in page.reader.all("tr")]
    for made in (tables.bay_table(check), tables.cases(note), tables.source_table(check)):
        assert len(made.rows) > 1
        for row in made.rows:
            assert " ".join("".join(cell.text for cell in row).split()) in rows
    said = note["answer"]["verdict"]["sentences"][0]
    assert said in page.text.replace("&lt;", "<").replace("&gt;", ">")
    # The note, and the page with it, knows how fast it may fly too.
    assert re.sub(", up to [^:]*", "", said) == check["answer"]["sentences"][0]


def test_every_default_is_listed(page: Any) -> None:
    wing = read_wing(str(page.wing))
    made = inputs.assumed_table(wing)
    assert made is not None
    keys = {row[0].text for row in made.rows}
    for part in (wing, wing.flight, wing.landing, wing.balance):
        assert part is not None
        assert part.assumed
        assert {key for key, _ in part.assumed} <= keys
    heads = {e.text for e in page.reader.all("th")}
    assert keys <= heads
    assert page.wing.read_text(encoding="utf-8").split() == page.reader.all("pre")[0].text.split()


def test_a_specimen_leaves_out_what_belongs_to_flight(page: Any, specimen_page: Any) -> None:
    of = lambda one: [e.attributes["id"] for e in one.reader.all("section")]  # noqa: E731
    assert of(page) == [
        "answer", "scatter", "change", "assumed", "view", "strength", "cases", "loads", "movement",
        "envelope", "balance", "layouts", "inputs", "proof", "sources",
    ]  # fmt: skip
    assert of(specimen_page) == [
        "answer", "assumed", "view", "strength", "loads", "movement", "layouts", "inputs", "proof", "sources",
    ]  # fmt: skip
    assert "Survives its load" in specimen_page.text


def test_figures_are_ranked_by_how_far_they_move_the_answer(page: Any) -> None:
    (heads,) = [e for e in page.reader.all("h3") if e.text.startswith("Assumed of wood")]
    start = page.reader.elements.index(heads)
    rows = [e for e in page.reader.elements[start:] if e.tag == "tr"][1:6]
    plain = [row.text.replace("\N{MINUS SIGN}", "-") for row in rows]
    moved = [float(re.findall(r"%([+-]\d+\.\d\d)", text)[0]) for text in plain]
    assert [abs(one) for one in moved] == sorted((abs(one) for one in moved), reverse=True)


def test_long_tables_fold_and_nothing_is_lost() -> None:
    made = tables.table("Bays", ["<bay"], [(f"bay {k}",) for k in range(9)])
    few = tables.folded(made, 4)
    assert (len(few.open_rows), len(few.more_rows)) == (4, 5)
    assert few.open_rows + few.more_rows == made.rows == made.open_rows
    assert tables.folded(made, 7).more_rows == ()
    assert tables.folded(made).open_rows == ()


def test_bands_have_one_set_of_colours() -> None:
    """Scenes, charts, the report and the live page."""
    for package, name in (("models.page", "templates/style.css"), ("models.live", "templates/live.css")):
        style = (resources.files(package) / name).read_text(encoding="utf-8")
        for k, colour in enumerate(stage.BAND_COLOURS):
            assert re.search(rf"\.band{k} {{ background: {colour};", style)
            ink = re.search(rf"\.band{k} {{ background: {colour}; color: (#\w+)", style)
            assert ink is not None
            assert (ink.group(1) == "#fff") == (stage.ON_BAND[k] == "#fefefe")
        assert not set(re.findall(r"\.band\d[^{]*{[^}]*?(#\w{6});", style)) - {*stage.BAND_COLOURS, "#1a1a1a"}
    assert not set(stage.BAND_COLOURS) & set(COLOURS), "these turn round in the dark"


def test_a_failure_is_told_by_mark_and_word() -> None:
    assert tables.verdict(0.999).text == "✗ 0.99 fails"
    assert tables.verdict(1.0).text == "✓ 1.00"
    assert tables.verdict(None).text == "✓ no limit"
    assert tables._in_band(0.5) == "✗ 0.50"


@pytest.mark.parametrize(("bays", "words"), [({1, 2, 3, 5}, "1-3, 5"), ({4}, "4"), ({1, 3}, "1, 3")])
def test_runs_of_bays(bays: set[int], words: str) -> None:
    assert ", ".join(number_runs(bays)) == words
