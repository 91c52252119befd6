"""Manoeuvre and gust formulas against balances of force, the rule's own units, and a gust flown through."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from scipy.integrate import solve_ivp

from models.loads.envelope import (
    ManoeuvreBounds,
    alleviation,
    corner_speed,
    mass_ratio,
    most_by_lift,
    of_circle,
    of_gust,
    outline,
    slope_of,
    stall_speed,
    tightest_radius,
)
from models.wing.reading import read
from models.wings import shipped


def test_at_the_stall_speed_the_greatest_lift_is_the_weight() -> None:
    mass, area, density, most = 1.4, 0.308, 1.1, 1.3
    speed = stall_speed(mass * 9.80665 / area, density, most)
    assert_allclose(0.5 * density * speed**2 * area * most, mass * 9.80665, rtol=1e-12)
    assert_allclose(most_by_lift(speed, speed), 1.0, rtol=1e-12)


def test_lift_at_twice_the_stall_speed_is_four_times_the_weight() -> None:
    assert_allclose(most_by_lift([0.0, 8.0, 16.0], 8.0), [0.0, 1.0, 4.0], rtol=1e-12)
    assert_allclose(corner_speed(8.0, 4.0), 16.0, rtol=1e-12)


def test_circle_by_its_acceleration() -> None:
    # A point that moves on a circle at 30 m/s, differentiated twice by steps small against its period.
    speed, radius, step = 30.0, 12.0, 1e-4
    t = np.array([-step, 0.0, step])
    height = -radius * np.cos(speed * t / radius)
    lifted = (height[0] - 2 * height[1] + height[2]) / step**2
    assert_allclose(of_circle(speed, radius), 1 + lifted / 9.80665, rtol=1e-6)  # steps of 1e-4 s
    assert_allclose(tightest_radius(speed, of_circle(speed, radius)), radius, rtol=1e-12)


def test_no_circle_without_lift_to_spare() -> None:
    assert np.isinf(tightest_radius(20.0, [1.0, 0.5, -2.0])).all()
    assert_allclose(tightest_radius(20.0, 2.0), 400 / 9.80665, rtol=1e-12)


def test_gust_in_the_units_of_the_rule() -> None:
    # 14 CFR 23.341(c), from memory: n = 1 + K U V a/(498 W/S), U in ft/s, V in knots, W/S in lb/ft2, at sea
    # level; 498 is rounded from 498.3.
    feet, knots, pounds = 30.0, 100.0, 16.0
    slope, chord = 4.8, 1.5
    loading = pounds * 4.4482216 / 0.3048**2
    ratio = 2 * pounds / (0.0023769 * chord / 0.3048 * slope * 32.174)
    kept = 0.88 * ratio / (5.3 + ratio)
    rule = 1 + kept * feet * knots * slope / (498 * pounds)
    found = of_gust(knots * 1852 / 3600, feet * 0.3048, loading, chord, slope, 1.225)
    assert_allclose(found, rule, rtol=1e-3)  # the rounding of 498
    assert_allclose(mass_ratio(loading, 1.225, chord, slope), ratio, rtol=1e-4)  # of 0.0023769


def flown_through(ratio: float, chords: float = 12.5) -> float:
    """Greatest jolt in a gust of one less a cosine, over that of a sharp-edged one that the wing cannot
    dodge.

    Lift by the growth functions of Wagner and Kussner as sums of exponentials (R. T. Jones, NACA Report 681,
    1940, endless wing, from memory), which become states of an ordinary differential equation. Time in half
    chords.
    """
    wagner = np.array([[0.165, 0.0455], [0.335, 0.3]])
    kussner = np.array([[0.5, 0.13], [0.5, 1.0]])
    length = 2 * 2 * chords

    def gust(s: float) -> float:
        return (1 - np.cos(2 * np.pi * s / length)) / 2 if s < length else 0.0

    def lift(s: float, state: np.ndarray) -> float:
        rising, late, late_gust = state[0], state[1:3], state[3:5]
        # An exponential of the growth function is a first-order lag of what causes the lift.
        from_gust = float(kussner[:, 0] @ late_gust)
        from_rising = rising * (1 - wagner[:, 0].sum()) + float(wagner[:, 0] @ late)
        return from_gust - from_rising

    def rate(s: float, state: np.ndarray) -> np.ndarray:
        lag = wagner[:, 1] * (state[0] - state[1:3])
        lag_gust = kussner[:, 1] * (gust(s) - state[3:5])
        return np.concatenate([[lift(s, state) / (2 * ratio)], lag, lag_gust])

    done = solve_ivp(rate, (0.0, 2 * length), np.zeros(5), rtol=1e-8, atol=1e-10, max_step=0.5)
    return max(lift(s, state) for s, state in zip(done.t, done.y.T))


@pytest.mark.parametrize("ratio", [3.0, 5.0, 10.0, 20.0, 50.0, 100.0])
def test_alleviation_against_a_gust_flown_through(ratio: float) -> None:
    assert_allclose(alleviation(ratio), flown_through(ratio), rtol=0.06)  # theory: a fit to such curves


def test_slope_is_that_of_the_lifting_surface_and_scales_with_nothing() -> None:
    plan = read(shipped()["trainer"]).planform
    assert plan is not None
    found = slope_of(plan)
    # Below the endless wing and the lifting line of the ellipse, above the slender wing's pi A/2 by far not.
    aspect = 1.4 / 0.22
    assert 0.8 * 2 * np.pi / (1 + 2 / aspect) < found < 2 * np.pi / (1 + 2 / aspect)
    from models.loads.lifting_surface import lifting_surface

    surface = lifting_surface(plan)
    lifts = [2 * surface.width @ surface.load(c) / surface.area for c in (0.2, 0.7)]
    angles = [surface.angle(c) for c in (0.2, 0.7)]
    assert_allclose((lifts[1] - lifts[0]) / (angles[1] - angles[0]), found, rtol=1e-9)


GUSTS = st.floats(5, 60), st.floats(0.5, 15), st.floats(15, 200), st.floats(0.1, 0.5), st.floats(3, 6)


@given(*GUSTS)
def test_a_gust_shakes_a_heavier_wing_less(
    speed: float, gust: float, loading: float, chord: float, slope: float
) -> None:
    light, heavy = (of_gust(speed, gust, w, chord, slope, 1.225) for w in (loading, 1.1 * loading))
    assert 1 < heavy < light


@given(*GUSTS)
def test_a_gust_shakes_by_its_speed_and_the_wings(
    speed: float, gust: float, loading: float, chord: float, slope: float
) -> None:
    up = of_gust(speed, gust, loading, chord, slope, 1.225)
    assert_allclose(of_gust(speed, -gust, loading, chord, slope, 1.225) - 1, 1 - up, rtol=1e-9)
    assert_allclose(of_gust(2 * speed, gust, loading, chord, slope, 1.225) - 1, 2 * (up - 1), rtol=1e-9)
    # A gust that is not alleviated turns the stream by U/V: lift grows by rho V U a/2 on each square metre.
    assert up - 1 < 1.225 * speed * gust * slope / (2 * loading)
    assert of_gust(speed, gust, loading, chord, 1.1 * slope, 1.225) > up


@given(st.floats(3, 20), st.floats(1.1, 8), st.floats(1.2, 12), st.floats(0.5, 6))
def test_outline_stays_inside_its_limits(stall: float, ratio: float, up: float, down: float) -> None:
    limits = ManoeuvreBounds(stall, 1.2 * stall, ratio * stall, up, down)
    speed, n = outline(limits)
    assert speed[0] == speed[-1]
    assert n[0] == n[-1] == 0
    assert speed.max() <= limits.never_exceed * (1 + 1e-12)
    assert np.all(n <= np.minimum(up, most_by_lift(speed, stall)) + 1e-9)
    assert np.all(-n <= np.minimum(down, most_by_lift(speed, 1.2 * stall)) + 1e-9)
    (fast, most), (slow, least) = limits.corners()
    assert_allclose(most, min(up, ratio**2), rtol=1e-12)
    assert fast <= limits.never_exceed
    assert slow <= limits.never_exceed
    assert least < 0
