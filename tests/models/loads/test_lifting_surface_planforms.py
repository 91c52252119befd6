"""The vortex lattice on planforms of every kind: theorems, limits, convergence, and bends of the outline."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from models.loads.lifting_surface import lifting_surface, mean_aerodynamic_chord
from models.wing.parts import Line, Planform

FLAT = np.zeros((1, 3))


def outline(y, chord, front=None, *, up=None, washout=None, mean=FLAT) -> Planform:
    y = np.asarray(y, dtype=float)
    nothing = np.zeros_like(y)
    lines = [Line(y, np.asarray(nothing if v is None else v, dtype=float)) for v in (front, up, washout)]
    x = np.linspace(0, 1, mean.shape[1])
    return Planform(float(y[-1]), Line(y, np.asarray(chord, float)), *lines, np.array([0.0]), x, mean, mean)


STRAIGHT = outline([0, 1], [1 / 3, 1 / 3])
BACK = outline([0, 1], [0.4, 0.2], [0, 0.6])
FORWARD = outline([0, 1], [0.4, 0.2], [0, -0.4])
DELTA = outline([0, 1], [2, 2e-6], [0, 2])
CRANKED = outline([0, 0.4, 1], [1.2, 0.6, 0.25], [0, 0.8, 1.1])
WAVED = outline([0, 0.33, 0.66, 1], [0.3] * 4, [0, 0.2, 0, 0.2])
GULL = outline([0, 0.3, 1], [0.3] * 3, up=[0, 0.15, 0.1])
STEPPED = outline([0, 0.5, 0.502, 1], [0.5, 0.5, 0.3, 0.3], [0, 0, 0.05, 0.05])
ALL = {
    "straight": STRAIGHT,
    "back": BACK,
    "forward": FORWARD,
    "delta": DELTA,
    "cranked": CRANKED,
    "waved": WAVED,
    "gull": GULL,
    "stepped": STEPPED,
}


@pytest.mark.parametrize("name", ALL)
def test_finer_panels_change_little(name: str) -> None:
    # Half of one per cent is far below what thickness and the boundary layer do to a real wing's slope.
    usual, fine = lifting_surface(ALL[name]), lifting_surface(ALL[name], strips=52, rows=10)
    assert_allclose(usual.lift_slope, fine.lift_slope, rtol=5e-3)
    assert_allclose(usual.neutral_x, fine.neutral_x, atol=5e-3 * fine.mean_chord)


def test_the_error_falls_with_finer_panels() -> None:
    for wing in (STRAIGHT, BACK, DELTA):
        slopes = [lifting_surface(wing, strips=4 * n, rows=n).lift_slope for n in (2, 4, 8)]
        steps = np.abs(np.diff(slopes))
        assert (steps[1:] < 0.75 * steps[:-1]).all(), steps


@pytest.mark.parametrize("name", [n for n in ALL if n != "gull"])
def test_no_flat_wing_beats_the_ellipse(name: str) -> None:
    # Munk: elliptic load has the least induced drag of all plane wakes.
    found = lifting_surface(ALL[name])
    aspect = 4 * found.semispan**2 / found.area
    assert found.induced_drag(0.5) * np.pi * aspect / 0.25 > 1


def test_a_wing_bent_upward_can() -> None:
    vee = outline([0, 1], [0.3, 0.3], up=[0, 0.8])
    found = lifting_surface(vee)
    assert found.induced_drag(0.5) * np.pi * (4 / found.area) / 0.25 < 1


@pytest.mark.parametrize("name", ALL)
def test_reversed_flow_lifts_the_same(name: str) -> None:
    wing = ALL[name]
    y = np.union1d(wing.chord.y, wing.leading_edge_x.y)
    back = replace(wing, leading_edge_x=Line(y, -wing.leading_edge_x.at(y) - wing.chord.at(y)))
    # Exact of the surface itself; panels have their points aft of their vortices in either flow.
    assert_allclose(lifting_surface(back).lift_slope, lifting_surface(wing).lift_slope, rtol=5e-3)


@pytest.mark.parametrize("name", ["straight", "back", "cranked", "stepped"])
def test_basic_lift_sums_to_nothing(name: str) -> None:
    twisted = replace(ALL[name], washout=Line(np.array([0.0, 1.0]), np.radians([-1.0, 4.0])))
    found = lifting_surface(twisted)
    basic = found.load(0.0)
    assert np.abs(basic).max() > 1e-3
    assert abs(found.width @ basic) < 1e-12 * (found.width @ np.abs(basic))
    # Washout takes lift from the tip and gives it to the middle; the flat plate's load stays what it was.
    assert basic[-5] < 0 < basic[0]
    assert_allclose(found.additional, lifting_surface(ALL[name]).additional, rtol=1e-10)


def test_washout_all_along_is_an_angle() -> None:
    turned = replace(BACK, washout=Line.constant(np.radians(3)))
    assert_allclose(np.tan(np.radians(3)), lifting_surface(turned).zero_lift_angle, rtol=1e-10)
    assert_allclose(lifting_surface(turned).zero_lift_moment, 0.0, atol=1e-12)


def test_washout_on_a_swept_wing_lifts_the_nose() -> None:
    tips = Line(np.array([0.0, 1.0]), np.radians([0.0, 4.0]))
    assert lifting_surface(replace(BACK, washout=tips)).zero_lift_moment > 0.005
    assert lifting_surface(replace(FORWARD, washout=tips)).zero_lift_moment < -0.005


@pytest.mark.parametrize("aspect", [0.05, 0.1])
def test_the_slender_wing_lifts_by_its_span_alone(aspect: float) -> None:
    # R. T. Jones, NACA TR 835 (from memory): pi A/2; the next term is of the order of the aspect ratio.
    for shape in ([1, 1], [1, 0.5]):
        area = sum(shape)
        chord = np.array(shape) * 4 / aspect / area
        found = lifting_surface(outline([0, 1], chord, [0, chord[0] - chord[1]]))
        assert_allclose(found.lift_slope, np.pi * aspect / 2, rtol=0.5 * aspect)


def test_dihedral_costs_a_cosine_on_a_long_wing() -> None:
    angle = np.radians(25)
    flat = outline([0, 1 / np.cos(angle)], [0.01, 0.01])
    bent = outline([0, 1], [0.01, 0.01], up=[0, np.tan(angle)])
    expected = np.cos(angle) * lifting_surface(flat).lift_slope
    # What is left of a chord that is a two-hundredth of the span.
    assert_allclose(lifting_surface(bent).lift_slope, expected, rtol=2e-3)


def test_the_neutral_point_moves_with_the_outline() -> None:
    there = lifting_surface(BACK)
    aft = replace(BACK, leading_edge_x=Line(BACK.leading_edge_x.y, BACK.leading_edge_x.value + 0.25))
    moved = lifting_surface(aft)
    assert_allclose(moved.neutral_x, there.neutral_x + 0.25, rtol=1e-12)
    assert_allclose(moved.moment_coefficient(0.7, moved.neutral_x), moved.zero_lift_moment, atol=1e-12)
    assert_allclose(moved.lift_slope, there.lift_slope, rtol=1e-12)


def test_the_neutral_point_of_slender_straight_wings() -> None:
    long = outline([0, 1], [0.02, 0.02])
    # At the tips lift moves forward, over about a chord of a hundred.
    assert_allclose(lifting_surface(long, strips=80).neutral_x / 0.02, 0.25, atol=2e-3)


def test_forward_and_back_sweep_stand_on_either_side() -> None:
    found = {n: lifting_surface(w) for n, w in (("back", BACK), ("forward", FORWARD))}
    for name, wing in (("back", BACK), ("forward", FORWARD)):
        chord, _, x = mean_aerodynamic_chord(wing)
        # No closed form: the quarter chord is that of a straight wing. The bound is a judgement; the lattice
        # lies 0.002 (back) and 0.038 (forward) from it.
        assert_allclose((found[name].neutral_x - x) / chord, 0.25, atol=0.09)
    # Swept back the tips are loaded, swept forward the middle.
    shape = {n: f.additional / (f.additional @ f.width) for n, f in found.items()}
    assert shape["back"][0] < shape["forward"][0]


def test_a_step_drawn_over_any_length_is_a_step() -> None:
    found = [
        lifting_surface(outline([0, 0.5, 0.5 + e, 1], [0.5, 0.5, 0.3, 0.3], [0, 0, 0.05, 0.05]))
        for e in (1e-2, 1e-3, 1e-4, 1e-5)
    ]
    slopes = np.array([f.lift_slope for f in found])
    # The longest takes a hundredth of the span to change the chord, and some of the area with it.
    assert_allclose(slopes, slopes[-1], rtol=5e-3)
    assert all(len(f.y) == len(found[0].y) for f in found)


def test_mean_aerodynamic_chord_of_two_panels() -> None:
    # By hand: two trapezia, 0.4 and 0.6 m wide.
    chord, y, x = mean_aerodynamic_chord(CRANKED)
    parts = ((0.4, 1.2, 0.6, 0.0, 0.8, 0.0), (0.6, 0.6, 0.25, 0.8, 1.1, 0.4))
    area = sum(w * (a + b) / 2 for w, a, b, *_ in parts)
    square = sum(w * (a * a + a * b + b * b) / 3 for w, a, b, *_ in parts)
    front = sum(w * (2 * a * p + a * q + b * p + 2 * b * q) / 6 for w, a, b, p, q, _ in parts)
    side = sum(w * (y0 * (a + b) / 2 + w * (a + 2 * b) / 6) for w, a, b, _, _, y0 in parts)
    assert_allclose([chord, y, x], [square / area, side / area, front / area], rtol=1e-12)


def test_port_and_starboard_share_the_drag_of_a_series() -> None:
    # The wake's drag is that of the load's own sine series, pi A sum n A_n^2 (Glauert, from memory).
    found = lifting_surface(BACK)
    load = found.load(1.0)
    theta = np.arccos(found.y / found.semispan)
    n = 2 * np.arange(len(load) // 2) + 1
    series = np.linalg.lstsq(8 * np.sin(theta[:, None] * n), load, rcond=None)[0]
    drag = np.pi * 4 / found.area * (n * series**2).sum()
    # The series is fitted to forty strips, each of one height.
    assert_allclose(found.induced_drag(1.0), drag, rtol=1e-3)
