"""Webs as flat pieces, against lengths and depths worked out by hand."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from models.drawings.web_pieces import web_pieces

SWEPT = (
    '{ y = "0 mm", chord = "300 mm", section = "NACA 0012" }, '
    '{ y = "600 mm", chord = "200 mm", leading_edge = "150 mm" }'
)
SPAR = (
    '[[spars]]\nname = "main"\nat = "30 %"\ncaps = {{ width = "8 mm", height = "4 mm", wood = "spruce" }}\n'
    '[[spars.webs]]\nbays = "all"\nface = "{}"\nthickness = "1.5 mm"\n'
)
TEN = 'count = 7\nthickness = "2 mm"'


def half_depth(fraction: float) -> float:
    """NACA 0012 by its formula, fraction of chord."""
    x = fraction
    return 0.6 * (0.2969 * x**0.5 - 0.1260 * x - 0.3516 * x**2 + 0.2843 * x**3 - 0.1015 * x**4)


@pytest.mark.parametrize(("face", "taken"), [("rear", 0.0), ("front", 0.0), ("between", 0.008)])
def test_length_and_depths_of_a_swept_tapered_web(make_wing, face: str, taken: float) -> None:
    pieces = web_pieces(make_wing(stations=SWEPT, ribs=TEN, spars=SPAR.format(face)))
    assert len(pieces) == 12
    piece = next(p for p in pieces if p.bay == 2 and p.side == "starboard")
    # The spar runs from x = 90 mm to 150 + 60 = 210 mm over 600 mm of span; ribs every 100 mm, 2 mm thick.
    slope = 120 / 600
    assert_allclose(piece.length, 0.098 * np.hypot(1, slope), rtol=1e-9)
    assert_allclose(np.tan(piece.bevel), slope, rtol=1e-9)
    for depth, y in ((piece.depth_inner, 0.101), (piece.depth_outer, 0.199)):
        chord = 0.3 - 0.1 * y / 0.6
        # Ordinates are kept at 401 points: 2e-5 of the depth.
        assert_allclose(depth, 2 * half_depth(0.3) * chord - taken, rtol=3e-5)
    assert piece.ends == ("rib face", "rib face")
    # A trapezium of two plumb ends: its area is length times mean depth.
    assert_allclose(piece.area, piece.length * (piece.depth_inner + piece.depth_outer) / 2, rtol=1e-9)
    assert_allclose(piece.mass, piece.area * 0.0015 * piece.material.density, rtol=1e-12)


def test_port_is_starboard_turned_over(make_wing) -> None:
    spars = SPAR.format("rear") + 'grain = "30 deg"\n'
    pieces = web_pieces(make_wing(stations=SWEPT, ribs=TEN, spars=spars))
    for bay in range(1, 7):
        starboard, port = (p for p in pieces if p.bay == bay)
        assert (starboard.side, port.side) == ("starboard", "port")
        assert_allclose(port.outline, starboard.outline * [-1, 1], atol=1e-15)
        assert_allclose([starboard.grain, port.grain], np.radians([30, 150]), rtol=1e-12)


def test_outline_spans_length_and_lies_in_the_first_quadrant(make_wing) -> None:
    for piece in web_pieces(make_wing(stations=SWEPT, ribs=TEN)):
        reach = piece.outline[:, 0] * (-1 if piece.side == "port" else 1)
        assert_allclose([reach.min(), reach.max()], [0, piece.length], atol=1e-12)
        assert_allclose(piece.outline[:, 1].min(), 0, atol=1e-15)


def test_dihedral_rakes_a_plumb_web_and_not_a_square_one(make_wing) -> None:
    stations = (
        '{ y = "0 mm", chord = "200 mm", section = "NACA 0012" }, '
        '{ y = "600 mm", chord = "200 mm", dihedral = "5 deg" }'
    )
    wing = make_wing(stations=stations, ribs=TEN)
    depth = 2 * half_depth(0.3) * 0.2
    plumb = web_pieces(wing)[0]
    assert_allclose([plumb.length, plumb.rise], [0.098, 0.098 * np.tan(np.radians(5))], rtol=1e-9)
    assert_allclose([plumb.depth_inner, plumb.depth_outer], depth, rtol=3e-5)
    square = web_pieces(wing, square=True)[0]
    # Ribs 100 mm of span apart are 100 / cos 5 deg apart along the panel.
    assert_allclose(square.length, 0.1 / np.cos(np.radians(5)) - 0.002, rtol=1e-9)
    assert_allclose([square.depth_inner, square.depth_outer], depth * np.cos(np.radians(5)), rtol=3e-5)
    assert len(square.outline) == 4
    assert_allclose(square.outline[:, 1].max(), square.depth_inner, rtol=1e-9)
    assert_allclose(square.area, square.length * square.depth_inner, rtol=1e-9)


def test_a_square_web_keeps_a_plumb_end_on_the_centre_line(make_wing) -> None:
    stations = (
        '{ y = "0 mm", chord = "200 mm", section = "NACA 0012" }, '
        '{ y = "600 mm", chord = "200 mm", dihedral = "5 deg" }'
    )
    ribs = 'stations = ["60 mm", "120 mm", "200 mm", "600 mm"]\nthickness = "2 mm"'
    piece = web_pieces(make_wing(stations=stations, ribs=ribs), square=True)[0]
    assert (piece.bay, piece.side, piece.ends) == (0, "starboard", ("centre line", "rib face"))
    c, s = np.cos(np.radians(5)), np.sin(np.radians(5))
    depth = 2 * half_depth(0.3) * 0.2
    assert_allclose([piece.depth_inner, piece.depth_outer], [depth, depth * c], rtol=3e-5)
    assert_allclose(piece.length, 0.06 / c - 0.001, rtol=1e-9)
    # Level, with the plumb end leaning inboard at its foot by half of that.
    assert_allclose(piece.outline[:, 0].max(), piece.length + depth * s / 2, rtol=1e-5)
    assert_allclose(piece.area, piece.length * depth * c, rtol=1e-4)


@pytest.mark.parametrize("square", [False, True])
def test_without_dihedral_it_is_all_the_same_how_ribs_stand(make_wing, square: bool) -> None:
    wing = make_wing(stations=SWEPT, ribs=TEN)
    for one, other in zip(web_pieces(wing), web_pieces(wing, square=square), strict=True):
        assert_allclose(
            [other.length, other.depth_inner, other.depth_outer, other.area],
            [one.length, one.depth_inner, one.depth_outer, one.area],
            rtol=1e-6,
        )


def test_a_post_thicker_than_its_rib_stops_only_what_is_let_in(make_wing) -> None:
    ribs = TEN + '\npost = { thickness = "6 mm" }'
    face, between = (
        web_pieces(make_wing(ribs=ribs, spars=SPAR.format(which)))[2] for which in ("rear", "between")
    )
    assert_allclose([face.length, between.length], [0.098, 0.094], rtol=2e-3)  # the spar is swept a little
    assert_allclose(face.length - between.length, 0.004 * np.hypot(1, 0.018 / 0.6), rtol=1e-6)


def test_a_web_across_the_centre_is_one_piece(make_wing) -> None:
    ribs = 'stations = ["40 mm", "120 mm", "200 mm", "600 mm"]\nthickness = "2 mm"'
    straight = '{ y = "0 mm", chord = "200 mm", section = "NACA 0012" }, { y = "600 mm", chord = "200 mm" }'
    spars = SPAR.format("rear").replace('"all"', '"0-1"')
    pieces = web_pieces(make_wing(stations=straight, ribs=ribs, spars=spars))
    assert [(p.bay, p.side) for p in pieces] == [(0, "both"), (1, "starboard"), (1, "port")]
    assert_allclose(pieces[0].length, 0.078, rtol=1e-9)
    swept = web_pieces(make_wing(stations=SWEPT, ribs=ribs, spars=spars))
    assert [(p.bay, p.side) for p in swept[:2]] == [(0, "starboard"), (0, "port")]
    assert swept[0].ends == ("centre line", "rib face")
    assert_allclose(swept[0].length, 0.039 * np.hypot(1, 0.2), rtol=1e-9)


def test_what_stops_the_webs_of_a_specimen(make_specimen) -> None:
    # Without ribs outside the spar a web on a face runs on over the posts, from rib middle to rib middle.
    on_face = web_pieces(make_specimen("both"))
    assert {p.length for p in on_face} == {0.06} or np.allclose([p.length for p in on_face], 0.06, rtol=1e-9)
    assert (on_face[0].ends, on_face[-1].ends) == (("clamp", "rib middle"), ("rib middle", "spar end"))
    assert {p.side for p in on_face} == {""}
    let_in = web_pieces(make_specimen("between"))
    # Posts 2 mm thick; the last is flush with the tip, so that its inner face is 2 mm inside.
    assert_allclose([p.length for p in let_in], [0.059, *[0.058] * 4, 0.057], rtol=1e-9)
    assert_allclose([p.depth_inner for p in let_in], 0.03 - 2 * 0.006, rtol=1e-9)


def test_a_step_of_the_caps_steps_a_web_let_in(make_specimen) -> None:
    caps = (
        '{ width = "10 mm", height = "6 mm", wood = "reference-balsa", '
        'steps = [{ from = "90 mm", width = "10 mm", height = "4 mm" }] }'
    )
    piece = web_pieces(make_specimen("between", caps=caps))[1]
    assert_allclose([piece.depth_inner, piece.depth_outer], [0.018, 0.022], rtol=1e-9)
    assert_allclose(piece.area, 0.029 * 0.018 + 0.029 * 0.022, rtol=1e-6)


def test_a_turn_of_the_spar_within_a_bay_is_told(make_wing) -> None:
    stations = (
        '{ y = "0 mm", chord = "200 mm", section = "NACA 0012" }, { y = "150 mm", chord = "200 mm" }, '
        '{ y = "600 mm", chord = "200 mm", sweep = "10 deg" }'
    )
    pieces = web_pieces(make_wing(stations=stations, ribs=TEN))
    bent = {p.bay: p.bends for p in pieces if p.bends}
    assert list(bent) == [2]
    assert_allclose(bent[2], [(0.049, np.radians(10))], rtol=1e-6)
