"""Ribs against the section that they are cut from, with what is taken off by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose
from shapely import LineString, Polygon, box, unary_union

from models.drawings.ink import Path, Text
from models.drawings.rib_outlines import rib_drawings, rib_shapes
from models.drawings.sheet_plans import box_of
from models.wing.airfoil import FRACTIONS

STRAIGHT = '{ y = "0 mm", chord = "200 mm", section = "NACA 0012" }, { y = "600 mm", chord = "200 mm" }'
RIBS = 'count = 7\nthickness = "2 mm"'


def section() -> Polygon:
    x = FRACTIONS
    half = 0.6 * (0.2969 * np.sqrt(x) - 0.1260 * x - 0.3516 * x**2 + 0.2843 * x**3 - 0.1015 * x**4)
    return Polygon(0.2 * np.concatenate([np.stack([x, half], 1), np.stack([x, -half], 1)[::-1]]))


def depth(shape, x: float) -> float:
    return float(unary_union(shape.parts).intersection(LineString([(x, -1), (x, 1)])).length)


def test_a_bare_rib_is_the_section_less_edges_and_notches(make_wing) -> None:
    (shape,) = rib_shapes(make_wing(stations=STRAIGHT, ribs=RIBS))
    assert (shape.mark, shape.ribs, shape.count) == ("R1-R7", tuple(range(1, 8)), 13)
    expected = section().difference(box(-1, -1, 0.008, 1)).difference(box(0.18, -1, 1, 1))
    half = float(expected.intersection(LineString([(0.06, -1), (0.06, 1)])).length) / 2
    for sign in (1, -1):
        inner = sign * (half - 0.004)
        expected = expected.difference(box(0.056, min(inner, sign), 0.064, max(inner, sign)))
    (part,) = shape.parts
    # Ordinates and simplified edges: a few micrometres around a rim of half a metre.
    assert part.symmetric_difference(expected).area < 0.5 * 5e-6
    assert_allclose(part.bounds[::2], [0.008, 0.18], atol=1e-9)
    assert_allclose(depth(shape, 0.06), 2 * half - 0.008, atol=1e-5)


def test_sheeting_and_cap_strips_are_taken_off_square_to_the_surface(make_wing) -> None:
    extra = '[[sheeting]]\nto = "main"\nbays = "1-2"\nthickness = "1.5 mm"\n'
    ribs = RIBS + '\ncap_strip = { width = "6 mm", thickness = "1 mm" }'
    sheeted, bare = rib_shapes(make_wing(stations=STRAIGHT, ribs=ribs, extra=extra))
    assert (sheeted.ribs, bare.ribs) == ((1, 2, 3), (4, 5, 6, 7))
    whole = section()

    def inside(x: float, off: float) -> float:
        return float(whole.buffer(-off).intersection(LineString([(x, -1), (x, 1)])).length)

    for shape, x, off in (
        (sheeted, 0.03, 0.0015),
        (bare, 0.03, 0.001),
        (sheeted, 0.12, 0.001),
        (bare, 0.12, 0.001),
    ):
        assert_allclose(depth(shape, x), inside(x, off), atol=2e-5)
    assert sheeted.covered == ("1.5 mm of sheeting", "1 mm of cap strip")


@pytest.mark.parametrize(("inset", "pieces"), [("0.5 mm", 0), ("3 mm", 2)])
def test_a_buried_cap_has_a_slot(make_wing, inset: str, pieces: int) -> None:
    spars = (
        f'[[spars]]\nname = "main"\nat = "30 %"\ninset = "{inset}"\n'
        'caps = { width = "8 mm", height = "4 mm", wood = "spruce" }\n'
    )
    (shape,) = rib_shapes(make_wing(stations=STRAIGHT, ribs=RIBS, spars=spars))
    holes = [hole for part in shape.parts for hole in part.interiors]
    assert len(holes) == pieces
    for hole in holes:
        assert_allclose(Polygon(hole).area, 0.008 * 0.004, rtol=1e-6)


def test_a_cap_that_sheeting_covers_by_half_has_an_open_notch(make_wing) -> None:
    extra = '[[sheeting]]\nto = "main"\nthickness = "2.5 mm"\n'
    (shape,) = rib_shapes(make_wing(stations=STRAIGHT, ribs=RIBS, extra=extra))
    (part,) = shape.parts
    assert not part.interiors
    for x in (0.0565, 0.0635):
        low, high = unary_union(shape.parts).intersection(LineString([(x, -1), (x, 1)])).bounds[1::2]
        bare = float(section().intersection(LineString([(0.06, -1), (0.06, 1)])).length)
        assert_allclose(high - low, bare - 2 * (0.0025 + 0.004), atol=1e-5)


@pytest.mark.parametrize(("face", "parts"), [("front", 2), ("between", 2)])
def test_a_brace_parts_the_ribs_that_it_passes(make_wing, face: str, parts: int) -> None:
    extra = f'[[braces]]\nspar = "main"\nface = "{face}"\nto = "200 mm"\nthickness = "3 mm"\n'
    parted, whole = rib_shapes(make_wing(stations=STRAIGHT, ribs=RIBS, extra=extra))
    assert (parted.ribs, whole.ribs) == ((1, 2), (3, 4, 5, 6, 7))
    assert (len(parted.parts), len(whole.parts)) == (parts, 1)


def test_washout_turns_the_rib(make_wing) -> None:
    stations = STRAIGHT.replace('chord = "200 mm" }', 'chord = "200 mm", washout = "3 deg" }')
    tip = rib_shapes(make_wing(stations=stations, ribs=RIBS))[-1]
    (x0, z0), (x1, z1) = tip.chord
    assert_allclose(np.degrees(np.arctan2(z1 - z0, x1 - x0)), 3.0, rtol=1e-6)


def test_edges_that_leave_no_wood_leave_no_drawing(make_wing) -> None:
    # No file may say so; wings are made by programs too.
    wing = make_wing(stations=STRAIGHT, ribs=RIBS)
    edges = tuple(replace(e, width=0.09 if e.kind == "leading" else 0.115) for e in wing.edges)
    assert len(edges) == 2
    shapes = rib_shapes(replace(wing, edges=edges))
    assert [s.parts for s in shapes] == [()]
    assert rib_drawings(shapes, (190.0, 250.0)) == ()


def test_a_specimen_has_no_sections(make_specimen) -> None:
    assert rib_shapes(make_specimen()) == ()


@pytest.mark.parametrize("chord", ["60 mm", "200 mm"])
def test_words_keep_clear_of_the_marks_of_spars(make_wing, chord: str) -> None:
    thin = (
        f'{{ y = "0 mm", chord = "{chord}", section = "NACA 4406" }}, {{ y = "300 mm", chord = "{chord}" }}'
    )
    spars = '[[spars]]\nname = "main"\nat = "30 %"\ncaps = { width = "2 mm", height = "1 mm" }\n'
    edges = '[leading_edge]\nwidth = "2 mm"\nheight = "2 mm"\n'
    (drawing,) = rib_drawings(
        rib_shapes(make_wing(stations=thin, ribs=RIBS, spars=spars, edges=edges)), (190.0, 250.0)
    )
    marks = [LineString(i.points) for i in drawing.items if isinstance(i, Path) and i.name == "spar"]
    words = [box_of(i) for i in drawing.items if isinstance(i, Text)]
    assert marks
    assert not any(mark.intersects(word) for mark in marks for word in words)


@pytest.mark.parametrize(
    ("grain", "words"), [("chord", "along the chord"), ("upright", "upright"), ("30 deg", "30 deg from")]
)
def test_the_grain_is_told_where_no_arrow_fits(make_wing, grain: str, words: str) -> None:
    shapes = rib_shapes(make_wing(stations=STRAIGHT, ribs=f'{RIBS}\ngrain = "{grain}"'))
    (drawing,) = rib_drawings(shapes, (250.0, 250.0))
    assert f"grain {words}" in " ".join(i.words for i in drawing.items if isinstance(i, Text))


@pytest.mark.parametrize(
    ("form", "size", "area"),
    [
        ("rod", 'diameter = "6 mm"', np.pi * 9e-6),
        ("blade", 'width = "3 mm"\nheight = "9 mm"', 27e-6),
    ],
)
def test_ribs_within_a_joiner_s_reach_have_its_hole(make_wing, form: str, size: str, area: float) -> None:
    stations = '{ y = "0 mm", chord = "240 mm", section = "NACA 0015" }, { y = "600 mm", chord = "240 mm" }'
    spars = (
        '[[spars]]\nname = "main"\nat = "30 %"\njoint = "joiner"\n'
        'caps = { width = "12 mm", height = "4 mm", wood = "spruce" }\n'
    )
    joiner = f'[[joiners]]\nspar = "main"\nform = "{form}"\n{size}\nwood = "carbon"\nreach = "150 mm"\n'
    ribs = 'count = 7\nthickness = "2 mm"'
    wing = make_wing(stations=stations, ribs=ribs, spars=spars, extra=joiner)
    plain = make_wing(stations=stations, ribs=ribs, spars=spars.replace("joiner", "scarfed"))
    by_rib = {n: s for s in rib_shapes(wing) for n in s.ribs}
    bare = {n: s for s in rib_shapes(plain) for n in s.ribs}
    for number in range(1, 8):
        taken = bare[number].parts[0].area - by_rib[number].parts[0].area
        assert_allclose(taken, area if number <= 2 else 0.0, rtol=2e-3, atol=1e-9)
        assert len(by_rib[number].parts[0].interiors) == (number <= 2)
        assert (f"a hole for the {form}" in by_rib[number].covered) == (number <= 2)
    spot = by_rib[1].parts[0].interiors[0].centroid
    assert_allclose(spot.x, 0.3 * 0.240, atol=1e-4)
