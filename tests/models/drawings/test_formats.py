"""What stands in the files, read back by other libraries, against the model: within 0.05 mm everywhere."""

from __future__ import annotations

import io
import re
import xml.etree.ElementTree as ET

import ezdxf
import numpy as np
import pdfplumber
import pytest
from numpy.testing import assert_allclose
from shapely import Polygon

from models.drawings.dxf import dxf_text
from models.drawings.ink import Drawing, Item, Path, Text, bounds, line
from models.drawings.pages import MARGIN, OVERLAP, PAPERS, pages, whole_page, window
from models.drawings.pdf import pdf_bytes
from models.drawings.rail_template import rail_drawings
from models.drawings.rib_outlines import rib_drawings, rib_shapes
from models.drawings.sheet_plans import sheet_plans
from models.drawings.stations import stations_drawing
from models.drawings.svg import svg_text
from models.drawings.templates import templates

TRUE = 0.05
"""Greatest error of a size in a file, mm."""
POINTS = 72 / 25.4
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module", params=["trainer", "powered-tailless"])
def name(request):
    return request.param


@pytest.fixture(scope="module")
def wing(name, wing_of):
    return wing_of(name)


@pytest.fixture(scope="module")
def cut(name, cut_of):
    return cut_of(name)


@pytest.fixture(scope="module")
def sheets(name, sheets_of):
    return sheets_of(name)


@pytest.fixture(scope="module")
def ribs(wing):
    return rib_shapes(wing)


def sizes(ring) -> list[float]:
    """Extent of a ring to the right and up, which must be true wherever the piece lies."""
    points = np.array(ring, dtype=float)
    return [*np.ptp(points, axis=0)]


def expected_on_sheets(sheets) -> dict[str, list[float]]:
    return {p.name: sizes(1e3 * p.outline) for s in sheets for p in s.placed}


def named_svg_paths(text: str) -> dict[str, list[np.ndarray]]:
    """Closed paths of an SVG by name, mm on paper."""
    root = ET.fromstring(text)
    width, height = (float(root.get(k).removesuffix("mm")) for k in ("width", "height"))
    # One user unit is one millimetre, and nothing scales the groups.
    assert root.get("viewBox").split()[2:] == [root.get(k).removesuffix("mm") for k in ("width", "height")]
    assert not any(g.get("transform") for g in root.iter(f"{SVG}g"))
    found: dict[str, list[np.ndarray]] = {}
    for path in root.iter(f"{SVG}path"):
        numbers = np.array(re.findall(r"-?[\d.]+", path.get("d")), dtype=float).reshape(-1, 2)
        assert (numbers[:, 0] <= width + 1).all()
        assert (numbers[:, 1] <= height + 1).all()
        if path.get("data-name"):
            found.setdefault(path.get("data-name"), []).append(numbers)
    return found


def test_svg_templates_are_true(wing, cut) -> None:
    drawings = templates(cut, window("a4"))
    found: dict[str, list[np.ndarray]] = {}
    for k, drawing in enumerate(drawings, 1):
        found |= named_svg_paths(svg_text(whole_page(drawing, wing.name, k, len(drawings))))
    for shape in cut:
        (ring,) = found[shape.mark]
        assert_allclose(sizes(ring), sizes(1e3 * shape.outline), atol=TRUE)
        assert_allclose(Polygon(ring).area, 1e6 * shape.first.area, rtol=1e-4)


def test_svg_bars_are_100_mm_and_4_in(wing, cut) -> None:
    for drawing in (*templates(cut, window("a4")), stations_drawing(wing)):
        found = named_svg_paths(svg_text(whole_page(drawing, wing.name, 1, 1)))
        assert_allclose(sizes(found["this bar is 100 mm long"][0])[0], 100, atol=TRUE)
        assert_allclose(sizes(found["this bar is 4 in long"][0])[0], 101.6, atol=TRUE)


def test_dxf_sheets_hold_every_web_at_full_size(sheets) -> None:
    document = ezdxf.read(io.StringIO(dxf_text(sheet_plans(sheets))))
    assert document.header["$INSUNITS"] == 4  # millimetres
    assert not document.audit().errors
    space = document.modelspace()
    rings = [np.array([p[:2] for p in e.get_points()]) for e in space.query('LWPOLYLINE[layer=="CUT"]')]
    expected = expected_on_sheets(sheets)
    assert len(rings) == len(expected)
    centres = {t.dxf.text: np.array(t.get_placement()[1])[:2] for t in space.query('TEXT[layer=="TEXT"]')}
    for name, size in expected.items():
        (ring,) = (r for r in rings if Polygon(r).contains_properly(_point(centres[name])))
        assert_allclose(sizes(ring), size, atol=TRUE)
    assert not any(
        Polygon(a).intersection(Polygon(b)).area > 1e-6 for k, a in enumerate(rings) for b in rings[:k]
    )
    bars = sorted(
        round(float(np.ptp([p[0] for p in e.get_points()])), 3)
        for e in space.query('LWPOLYLINE[layer=="FRAME"]')
    )
    assert bars[-len(sheets) :] == [101.6] * len(sheets)
    assert bars[-2 * len(sheets) : -len(sheets)] == [100.0] * len(sheets)


def _point(at):
    from shapely import Point

    return Point(*at)


def test_dxf_ribs_have_the_chord_between_their_edges(ribs) -> None:
    space = ezdxf.read(io.StringIO(dxf_text(rib_drawings(ribs, window("a4"))))).modelspace()
    rings = [np.array([p[:2] for p in e.get_points()]) for e in space.query('LWPOLYLINE[layer=="CUT"]')]
    assert len(rings) == sum(1 + len(p.interiors) for r in ribs for p in r.parts)
    expected = [sizes(1e3 * np.array(p.exterior.coords)) for r in ribs for p in r.parts]
    assert_allclose(sorted(map(sizes, rings)), sorted(expected), atol=TRUE)


@pytest.mark.parametrize(("which", "paper"), [("trainer", "a4"), ("sailplane", "letter")])
def test_pdf_templates_are_true(which: str, paper: str, wing_of, cut_of) -> None:
    wing, cut = wing_of(which), cut_of(which)
    made = pages(templates(cut, window(paper)), paper, wing.name)
    marks: set[str] = set()
    with pdfplumber.open(io.BytesIO(pdf_bytes(made, wing.name))) as document:
        assert len(document.pages) == len(made)
        for k, page in enumerate(document.pages, 1):
            assert sorted((float(page.width), float(page.height))) == pytest.approx(
                sorted(v * POINTS for v in PAPERS[paper]), abs=0.01
            )
            words = page.extract_text()
            assert f"page {k} of {len(made)}" in words
            assert "never anything that carries people" in words
            _assert_bars(page)
            rings = [
                np.array(c["pts"]) / POINTS
                for c in page.curves + page.lines + page.rects
                if len(c["pts"]) > 3
            ]
            for shape in cut:
                if not re.search(rf"\b{shape.mark} +cut {len(shape.pieces)}\b", words):
                    continue
                marks.add(shape.mark)
                size = sizes(1e3 * shape.outline)
                assert any(np.abs(np.subtract(sizes(r), size)).max() < TRUE for r in rings), shape.mark
    assert marks == {s.mark for s in cut}


def _assert_bars(page) -> None:
    level = [e for e in page.lines if abs(e["top"] - e["bottom"]) < 0.01]
    lengths = [abs(e["x1"] - e["x0"]) / POINTS for e in level]
    for bar in (100.0, 101.6):
        assert any(abs(length - bar) < TRUE for length in lengths)


def test_every_page_of_every_pdf_has_the_bars(wing_of, sheets_of) -> None:
    wing = wing_of("trainer")
    drawings = [
        *sheet_plans(sheets_of("trainer")),
        *rib_drawings(rib_shapes(wing), window("a4")),
        stations_drawing(wing),
        *rail_drawings(wing_of("powered-tailless")),
    ]  # fmt: skip
    made = pages(drawings, "a4", wing.name)
    with pdfplumber.open(io.BytesIO(pdf_bytes(made, wing.name))) as document:
        for page in document.pages:
            _assert_bars(page)


def grid(width: float, height: float) -> Drawing:
    """A cross every 50 mm, each with its name, to see whether tiles join."""
    items: list[Item] = []
    for x in np.arange(25.0, width, 50.0):
        for y in np.arange(25.0, height, 50.0):
            items += [
                line((x - 2, y), (x + 2, y), name=f"{x:.0f},{y:.0f}"),
                Text((x, y + 2), f"{x:.0f},{y:.0f}"),
            ]
    items.append(Path(((0, 0), (width, 0), (width, height), (0, height)), "CUT", True, name="rim"))
    return Drawing("grid", "Grid", width, height, tuple(items))


@pytest.mark.parametrize(("width", "height"), [(700, 120), (150, 900), (430, 610)])
def test_tiles_join(width: float, height: float) -> None:
    made = pages([grid(width, height)], "a4", "wing")
    assert len(made) > 1
    places: dict[str, list[np.ndarray]] = {}
    crosses: list[tuple[int, np.ndarray, np.ndarray]] = []
    for number, page in enumerate(made):
        left, bottom, right, top = page.clip
        named = {i.name: np.mean(i.points, axis=0) for i in page.items if isinstance(i, Path) and i.name}
        seen = {
            n: p for n, p in named.items() if n != "rim" and left <= p[0] <= right and bottom <= p[1] <= top
        }
        # All that is seen lies where it lies in the drawing, moved as one.
        shift = {n: p - [float(v) for v in n.split(",")] for n, p in named.items() if n != "rim"}
        if shift:
            assert_allclose(np.ptp(list(shift.values()), axis=0), 0, atol=1e-9)
            move = next(iter(shift.values()))
            marks = [i for i in page.frame if isinstance(i, Path) and i.name == "cross"]
            for mark in marks:
                crosses.append((number, np.mean(mark.points, axis=0) - move, np.mean(mark.points, axis=0)))
        for name, place in seen.items():
            places.setdefault(name, []).append(place)
        assert {i.words for i in page.frame if isinstance(i, Text)} >= {
            f"page {number + 1} of {len(made)}, tile {_tile(page)}"
        }
    expected = {i.name for i in grid(width, height).items if isinstance(i, Path)} - {"rim"}
    assert set(places) == expected  # nothing falls between two tiles
    # Crosses that join are the same point of the drawing on every page that has them.
    points = np.unique(np.round([c for _, c, _ in crosses], 6), axis=0)
    shared = [p for p in points if len({n for n, c, _ in crosses if np.abs(c - p).max() < 1e-6}) > 1]
    assert shared
    for page in made:
        assert page.clip[2] - page.clip[0] <= page.width - 2 * MARGIN + 2.01
    assert OVERLAP == 10


def _tile(page) -> str:
    words = " ".join(i.words for i in page.frame if isinstance(i, Text))
    found = re.search(r"tile ([A-Z]+\d+)", words)
    assert found
    return found[1]


def test_the_key_plan_fills_its_own_tile() -> None:
    for page in pages([grid(430, 610)], "letter", "wing"):
        filled = [i for i in page.frame if isinstance(i, Path) and i.grey is not None]
        assert len(filled) == 1
        (x0, y0), (x1, y1) = np.min(filled[0].points, axis=0), np.max(filled[0].points, axis=0)
        inside = [
            i.words for i in page.frame if isinstance(i, Text) and x0 < i.at[0] < x1 and y0 < i.at[1] < y1
        ]
        assert inside == [_tile(page)]


def test_words_are_not_mirrored_and_stay_on_the_page(wing, cut, sheets, ribs) -> None:
    drawings = [
        *templates(cut, window("a4")), *sheet_plans(sheets), stations_drawing(wing),
        *rib_drawings(ribs, window("a4")), *rail_drawings(wing),
    ]  # fmt: skip
    for drawing in drawings:
        root = ET.fromstring(svg_text(whole_page(drawing, wing.name, 1, 1)))
        for text in root.iter(f"{SVG}text"):
            assert re.fullmatch(r"|rotate\([-\d. ]+\)", text.get("transform") or "")
        for item in drawing.items:
            left, bottom, right, top = bounds(item)
            # Half a millimetre for the estimated width of a word.
            assert left >= -0.5
            assert right <= drawing.width + 0.5
            assert bottom >= -0.5
            assert top <= drawing.height + 0.5


def test_a_name_in_other_letters_is_written() -> None:
    page = pages([grid(100, 100)], "a4", "Žluťoučký větroň \u041f\u043b\u0430\u043d")
    with pdfplumber.open(io.BytesIO(pdf_bytes(page, "x"))) as document:
        assert "\u041f\u043b\u0430\u043d" in document.pages[0].extract_text()
