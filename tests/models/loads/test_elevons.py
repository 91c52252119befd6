"""Flaps by thin-aerofoil theory against its integrals, and their lift along the span against limits."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from models.loads.elevons import (
    flap_effectiveness,
    flap_lift,
    flap_moment,
    moment_pieces,
    pieces,
    rolling_moment,
)
from models.loads.lifting_surface import lifting_surface
from models.wing.airfoil import FRACTIONS, four_digit
from models.wing.parts import Elevons, Line, Planform


def outline(aspect: float = 8.0, taper: float = 1.0, sweep: float = 0.0) -> Planform:
    """Of 2 m span, the section without camber."""
    root = 4 / aspect / (1 + taper)
    y, chord = np.array([0.0, 1.0]), root * np.array([1.0, taper])
    nothing = Line(y, np.zeros(2))
    upper, lower = four_digit(0.0, 0.0, 0.12)
    return Planform(
        1.0, Line(y, chord), Line(y, (root - chord) / 4 + y * np.tan(sweep)), nothing, nothing,
        np.array([0.0]), FRACTIONS, upper[None], lower[None],
    )  # fmt: skip


def elevons(start: float = 0.5, end: float = 0.9, hinge: float = 0.75) -> Elevons:
    return Elevons(start, end, hinge, np.radians(20), "roll and pitch", 0.0, np.nan)


@pytest.mark.parametrize("hinge", [0.2, 0.6, 0.75, 0.9])
def test_closed_forms_are_the_integrals_of_thin_aerofoil_theory(hinge: float) -> None:
    """A_n = (2/pi) int dz/dx cos n t dt with dz/dx = -1 behind the hinge; middles of 200,000 steps."""
    start = np.arccos(1 - 2 * hinge)
    t = start + (np.pi - start) * (np.arange(200_000) + 0.5) / 200_000
    step = (np.pi - start) / 200_000
    a0 = step * len(t) / np.pi
    a1, a2 = (-2 / np.pi * step * np.cos(n * t).sum() for n in (1, 2))
    assert_allclose(2 * np.pi * flap_effectiveness(hinge), 2 * np.pi * (a0 + a1 / 2), rtol=1e-9)
    assert_allclose(flap_moment(hinge), np.pi / 4 * (a2 - a1), rtol=1e-9)


def test_a_flap_over_the_whole_wing_is_an_angle_of_attack() -> None:
    plan = outline()
    flap = flap_lift(plan, elevons(0.0, 1.0))
    # Then nothing is left once the lift is kept.
    assert np.abs(flap.pitch).max() < 1e-12
    assert_allclose(flap_effectiveness(0.0), 1.0)
    assert_allclose([flap_effectiveness(1.0), flap_moment(1.0)], 0.0, atol=1e-12)


def test_pitch_keeps_the_lift_and_steady_roll_does_not_roll() -> None:
    flap = flap_lift(outline(taper=0.5, sweep=0.4), elevons())
    assert abs(flap.pitch @ flap.width) < 1e-12
    steady = flap.roll - flap.helix * flap.damping
    assert abs(flap.arm(steady)) < 1e-12 * flap.arm(flap.roll)
    assert flap.helix > 0
    inside = (flap.y > 0.5) & (flap.y < 0.9)
    assert (flap.pitch[inside] > 0).all()
    assert (flap.pitch[flap.y < 0.4] < 0).all()


def test_damping_is_a_wing_twisted_in_proportion_to_the_span() -> None:
    plan = outline(taper=0.6)
    flap = flap_lift(plan, elevons())
    y = np.linspace(0, 1, 11)
    # The flap's ends move strips a little; else it is the same sum.
    assert_allclose(rolling_moment(plan, y, y), flap.arm(flap.damping), rtol=2e-3)


def test_the_flap_as_camber_of_the_lattice() -> None:
    """A mean line bent at the hinge, on lattices that get finer along the chord: a kink costs rows, so that
    eight of them miss more than sixteen, which come within 3 %."""
    plan, hinge, angle = outline(aspect=8.0), 0.75, 0.002
    bent = np.minimum(hinge - FRACTIONS, 0.0) * angle
    flapped = replace(plan, section_upper=plan.section_upper + bent, section_lower=plan.section_lower + bent)
    turned = [-lifting_surface(flapped, rows=rows, strips=20).zero_lift_angle / angle for rows in (8, 16)]
    rough, fine = np.abs(np.array(turned) / flap_effectiveness(hinge) - 1)
    assert fine < rough
    assert fine < 0.03


def test_pieces_hold_the_whole_load_and_lie_between_ribs() -> None:
    flap = flap_lift(outline(), elevons())
    ribs = np.linspace(-1, 1, 12)
    y, amount = pieces(flap, flap.roll, ribs, -1.0)
    assert_allclose(amount.sum(), 0.0, atol=1e-12)
    # A strip's arm is that of the middle of its angle, a piece's that of its own middle.
    assert_allclose((amount * y).sum(), flap.arm(flap.roll), rtol=1e-3)
    y, amount = pieces(flap, flap.roll, ribs, 1.0)
    assert_allclose(amount.sum(), 2 * flap.roll @ flap.width, rtol=1e-12)
    assert (np.diff(y) > 0).all()


def test_moment_pieces_are_the_integral_of_the_chord_squared() -> None:
    plan, flaps = outline(taper=0.5), elevons(0.45, 0.85, 0.7)
    y, amount = moment_pieces(plan, flaps, np.linspace(-1, 1, 9), 1.0)
    a, b = plan.chord.at(0.45), plan.chord.at(0.85)
    by_hand = 2 * 0.4 * (a**2 + a * b + b**2) / 3 * flap_moment(0.7)
    assert_allclose(amount.sum(), by_hand, rtol=1e-12)
    assert (np.abs(y) > 0.45).all()
    assert (np.abs(y) < 0.85).all()
    _, turned = moment_pieces(plan, flaps, np.linspace(-1, 1, 9), -1.0)
    assert_allclose(turned.sum(), 0.0, atol=1e-15)
