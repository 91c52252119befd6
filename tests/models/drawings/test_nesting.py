"""Pieces on sheets: none overlaps, none lies against its grain, none is left out; checked with shapely."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from shapely import Polygon, box

from models.drawings.cut_list import shapes
from models.drawings.nesting import TooBig, against, nest, on_sheet, pack
from models.drawings.stock import read_stock
from models.drawings.web_pieces import web_pieces

size = st.floats(min_value=0.003, max_value=0.1)


@settings(max_examples=25, deadline=None)
@given(
    st.lists(st.tuples(size, st.floats(min_value=0.003, max_value=0.4)), min_size=1, max_size=25),
    st.floats(min_value=0, max_value=0.004),
)
def test_rectangles_keep_clear_of_each_other(sizes, gap) -> None:
    sheet = (0.1, 0.4)
    places = pack(sizes, sheet, gap)
    assert len(places) == len(sizes)
    boxes = [(n, box(x, y, x + w, y + h)) for (n, x, y), (w, h) in zip(places, sizes, strict=True)]
    whole = box(-1e-5, -1e-5, sheet[0] + 1e-5, sheet[1] + 1e-5)
    assert all(whole.contains(b) for _, b in boxes)
    for (n, one), (m, other) in itertools.combinations(boxes, 2):
        assert (
            n != m or one.distance(other) > gap - 1e-5 or (gap < 1e-5 and one.intersection(other).area < 1e-9)
        )
    assert {n for n, *_ in places} == set(range(max(n for n, *_ in places) + 1))


@settings(max_examples=25, deadline=None)
@given(st.floats(min_value=0, max_value=np.pi), st.floats(min_value=0.02, max_value=0.09))
def test_grain_lies_along_the_sheet(grain, length) -> None:
    outline = np.array([[0, 0], [length, 0.001], [length, 0.03], [0, 0.035]])
    turned = on_sheet(outline, grain)
    assert_allclose(turned.min(axis=0), 0, atol=1e-15)
    # A turn, not a mirror image: area with its sign and all sides stay, and the grain points along +y.
    assert_allclose(Polygon(turned).area, Polygon(outline).area, rtol=1e-9)
    assert Polygon(turned).exterior.is_ccw
    probe = np.array([[0.0, 0.0], [np.cos(grain), np.sin(grain)]])
    both = on_sheet(np.concatenate([outline, probe]), grain)
    assert_allclose(both[-1] - both[-2], [0, 1], atol=1e-12)


@pytest.mark.parametrize("name", ["trainer", "powered-tailless", "sailplane", "box-two-spars"])
def test_every_web_of_a_wing_is_on_a_sheet_of_its_wood(name: str, cut_of, sheets_of) -> None:
    cut, sheets = cut_of(name), sheets_of(name)
    where = {n: (s.first.material.name, s.first.thickness, s) for s in cut for n in s.names()}
    found = [p.name for s in sheets for p in s.placed]
    assert sorted(found) == sorted(where)
    for sheet in sheets:
        edge = box(0, 0, sheet.stock.width, sheet.stock.length).buffer(1e-5)
        rings = [Polygon(p.outline) for p in sheet.placed]
        for placed, ring in zip(sheet.placed, rings, strict=True):
            wood, thickness, shape = where[placed.name]
            assert (wood, thickness) == (sheet.material.name, sheet.thickness)
            assert edge.contains(ring)
            assert_allclose(ring.area, shape.first.area, rtol=1e-4)
            width, length = np.ptp(placed.outline, axis=0)
            upright = abs(np.sin(shape.grain)) > 0.5
            assert_allclose(width if upright else length, shape.first.length, rtol=1e-6)
        for one, other in itertools.combinations(rings, 2):
            assert one.distance(other) > 0.001 - 1e-5


@settings(max_examples=25, deadline=None)
@given(
    st.floats(min_value=0.02, max_value=0.09),
    st.floats(min_value=0.005, max_value=0.05),
    st.floats(min_value=0.005, max_value=0.05),
    st.floats(min_value=-0.02, max_value=0.02),
    st.floats(min_value=0, max_value=0.003),
)
def test_two_laid_against_each_other_keep_clear_and_keep_their_grain(length, inner, outer, rise, gap) -> None:
    ring = np.array([[0, 0], [length, rise], [length, rise + outer], [0, inner]])
    ring -= ring.min(axis=0)
    two = against(ring, gap)
    size = ring.max(axis=0)
    if two is None:
        return
    one, other = (Polygon(r) for r in two)
    assert one.distance(other) > gap - 2e-6
    assert one.intersection(other).area < 1e-9
    assert_allclose(np.concatenate(two).min(axis=0), 0, atol=1e-12)
    assert np.prod(np.concatenate(two).max(axis=0) + gap) < 2 * np.prod(size + gap)
    # The first as it was, the second moved or turned by half a turn: neither mirrored nor turned otherwise.
    assert_allclose(two[0] - two[0][0], ring - ring[0], atol=1e-12)
    step = two[1] - two[1][0]
    assert np.allclose(step, ring - ring[0], atol=1e-9) or np.allclose(step, ring[0] - ring, atol=1e-9)


def test_a_tapered_pair_takes_less_than_two_rectangles() -> None:
    # Two right triangles, nearly: turned against each other they fill one rectangle.
    ring = np.array([[0, 0], [0.06, 0], [0.06, 0.002], [0, 0.04]])
    two = against(ring, 0.001)
    assert two is not None
    width, height = np.concatenate(two).max(axis=0)
    assert_allclose([width, height], [0.06, 0.042 + 0.001 * np.hypot(1, 0.038 / 0.06)], atol=2e-6)
    assert against(np.array([[0, 0], [0.06, 0], [0.06, 0.03], [0, 0.03]]), 0.001) is None


def test_pairs_save_a_sheet(make_wing) -> None:
    stations = '{ y = "0 mm", chord = "400 mm", section = "NACA 0018" }, { y = "120 mm", chord = "160 mm" }'
    ribs = 'stations = ["0 mm", "60 mm", "120 mm"]\nthickness = "2 mm"'
    cut = shapes(web_pieces(make_wing(stations=stations, ribs=ribs)))[:1]
    size = np.ptp(on_sheet(cut[0].outline, cut[0].grain), axis=0)
    stock = [read_stock(f"{1e3 * size[0] + 1} mm x {1e3 * (2 * size[1] - 0.002)} mm")]
    # Two rectangles one over the other are 2 mm too long for the sheet; laid against each other they are not.
    assert len(nest(cut, stock, 0.001)) == 1


def test_a_larger_gap_takes_more_sheets(make_specimen) -> None:
    cut = shapes(web_pieces(make_specimen("both")))
    stock = [read_stock("60.5 mm x 62 mm")]
    # Twelve webs 60 mm across and 30 mm along the grain: two to a sheet with 1 mm between, one with 4 mm.
    assert [len(nest(cut, stock, gap)) for gap in (0.001, 0.004)] == [6, 12]


def test_a_wide_web_is_glued_up_from_strips_and_a_long_one_refused(make_specimen) -> None:
    cut = shapes(web_pieces(make_specimen("front")))
    (sheet,) = nest(cut, [read_stock("45 mm x 1000 mm")], 0.001)
    assert len(sheet.placed) == 12
    assert {p.strip for p in sheet.placed} == {(1, 2), (2, 2)}
    widths = [np.ptp(p.outline[:, 0]) for p in sheet.placed]
    assert_allclose(widths, 0.03, rtol=1e-9)
    with pytest.raises(TooBig, match=r"60\.0 mm across and 30\.0 mm along its grain"):
        nest(cut, [read_stock("100 mm x 25 mm")], 0.001)


def test_ply_is_not_glued_up(make_specimen) -> None:
    webs = (
        '[[spars.webs]]\nbays = "all"\nface = "front"\nthickness = "1 mm"\n'
        'wood = "birch ply"\ngrain = "upright"\n'
    )
    cut = shapes(web_pieces(make_specimen(webs=webs)))
    with pytest.raises(TooBig, match='--stock "birch ply: 100 mm x 100 mm"'):
        nest(cut, [read_stock("45 mm x 300 mm")], 0.001)


def test_webs_at_45_degrees_lie_as_close_as_by_hand(make_wing) -> None:
    """Rectangles turned by 45 degrees, one above the other: (depth + gap) x root 2 of the sheet for each but
    the first, which takes (length + depth)/root 2."""
    spar = (
        '[[spars]]\nname = "main"\nat = "30 %"\ncaps = { width = "8 mm", height = "4 mm", wood = "spruce" }\n'
        '[[spars.webs]]\nbays = "1-8"\nface = "both"\nthickness = "1.5 mm"\ngrain = "45 deg"\n'
    )
    wing = make_wing(
        stations='{ y = "0 mm", chord = "320 mm", section = "NACA 2414" }, '
        '{ y = "1400 mm", chord = "320 mm" }',
        ribs='count = 21\nthickness = "2 mm"',
        spars=spar,
    )
    (shape,) = shapes(web_pieces(wing))
    length, depth = shape.outline.max(axis=0)
    by_hand = 1 + int((1.0 - (length + depth) / 2**0.5) // ((depth + 1e-3) * 2**0.5))
    sheets = nest([shape], [], 1e-3)
    assert by_hand == 15
    assert [len(sheet.placed) for sheet in sheets] == [15, 15, 2]
    apart(sheets, 1e-3)


def apart(sheets, gap: float) -> None:
    """Every piece on its sheet, and none nearer to another than the gap."""
    for sheet in sheets:
        rings = [Polygon(one.outline) for one in sheet.placed]
        for k, one in enumerate(rings):
            left, low, right, high = one.bounds
            assert min(left, low) > -1e-6
            assert right < sheet.stock.width + 1e-6
            assert high < sheet.stock.length + 1e-6
            assert all(one.distance(other) > gap - 3e-6 for other in rings[:k])
