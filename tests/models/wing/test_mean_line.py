"""Angle of no lift and moment by the mean line, against closed forms, quadrature of the slope and tables."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose

from models.wing.airfoil import FRACTIONS, section
from models.wing.mean_line import along, moment_coefficients, section_moments, zero_lift_angles
from models.wing.parts import Line, LoadCase, Planform

HERE = Path()


def plan(*sections):
    """A rectangle with these sections from the centre to the tip, each (upper, lower)."""
    y, none = np.array([0.0, 1.0]), Line.constant(0.0)
    upper, lower = (np.array([s[k] for s in sections]) for k in (0, 1))
    at = np.linspace(0.0, 1.0, len(sections))
    return Planform(1.0, Line(y, np.full(2, 0.2)), none, none, none, at, FRACTIONS, upper, lower)


def thin(line):
    """A section of a mean line alone, with a little thickness laid off upright."""
    half = 0.01 * np.sqrt(FRACTIONS) * (1 - FRACTIONS)
    return line + half, line - half


def by_slope(slope):
    """Both figures from the slope of the mean line at x, by the rule of middles."""
    t = np.pi * (np.arange(200_000) + 0.5) / 200_000
    rate = slope((1 - np.cos(t)) / 2)
    return -np.mean(rate * (np.cos(t) - 1)), np.pi / 2 * np.mean(rate * (np.cos(2 * t) - np.cos(t)))


def test_a_parabola():
    """Camber f: -2 f and -pi f (Glauert 1926, from memory)."""
    wing = plan(thin(4 * 0.03 * FRACTIONS * (1 - FRACTIONS)))
    assert_allclose(zero_lift_angles(wing), -0.06, rtol=1e-9)
    assert_allclose(moment_coefficients(wing), -np.pi * 0.03, rtol=1e-9)


def test_a_reflexed_line_against_its_slope():
    """z = x (1 - x) (7 - 8 x) / 100 ends in a moment near nothing."""
    wing = plan(thin(FRACTIONS * (1 - FRACTIONS) * (7 - 8 * FRACTIONS) / 100))
    angle, moment = by_slope(lambda x: (7 - 30 * x + 24 * x**2) / 100)
    assert_allclose(zero_lift_angles(wing), angle, rtol=1e-6)
    assert_allclose(moment_coefficients(wing), moment, atol=1e-8)


def test_a_tail_off_the_axis_is_an_angle():
    wing = plan(thin(0.02 * FRACTIONS), thin(np.zeros_like(FRACTIONS)))
    assert_allclose(zero_lift_angles(wing), [0.02, 0.0], atol=1e-12)
    assert_allclose(moment_coefficients(wing), 0.0, atol=1e-12)


@pytest.mark.parametrize(
    ("name", "m", "p"), [("NACA 2402", 0.02, 0.4), ("NACA 4302", 0.04, 0.3), ("NACA 1602", 0.01, 0.6)]
)
def test_four_digits_against_the_slope_of_their_formula(name, m, p):
    """2 % thick: half way between the surfaces is then the mean line to 1 %."""
    angle, moment = by_slope(lambda x: np.where(x < p, 2 * m / p**2, 2 * m / (1 - p) ** 2) * (p - x))
    wing = plan(section(name, HERE))
    assert_allclose(zero_lift_angles(wing), angle, rtol=1e-2)
    assert_allclose(moment_coefficients(wing), moment, rtol=1e-2)


def test_a_thick_section_is_near_its_thin_one():
    """What laying off the thickness square to the line costs: 3 % of the angle, 1 % of the moment."""
    angle, moment = by_slope(lambda x: np.where(x < 0.4, 0.25, 1 / 9) * (0.4 - x))
    wing = plan(section("NACA 2412", HERE))
    assert_allclose(zero_lift_angles(wing), angle, rtol=0.03)
    assert_allclose(moment_coefficients(wing), moment, rtol=0.01)
    assert_allclose(moment, -0.0531, atol=5e-5)
    assert_allclose(np.degrees(angle), -2.077, atol=5e-3)


@pytest.mark.parametrize("line", ["210", "220", "230", "240", "250"])
def test_five_digits_against_the_slope_of_their_formula(line):
    """From the mean line as it is written: size and place of the greatest camber too (TR 537: a twentieth of
    the second digit; 0.15 of the first is the design lift coefficient)."""
    r, k1 = {
        "210": (0.0580, 361.4), "220": (0.1260, 51.64), "230": (0.2025, 15.957),
        "240": (0.2900, 6.643), "250": (0.3910, 3.230),
    }[line]  # fmt: skip

    def slope(x):
        return k1 / 6 * np.where(x < r, 3 * x**2 - 6 * r * x + r**2 * (3 - r), -(r**3))

    angle, moment = by_slope(slope)
    wing = plan(section(f"NACA {line}02", HERE))
    assert_allclose(zero_lift_angles(wing), angle, rtol=0.02)
    assert_allclose(moment_coefficients(wing), moment, atol=5e-4)
    mean = (wing.section_upper + wing.section_lower)[0] / 2
    assert_allclose(FRACTIONS[np.argmax(mean)], int(line[1]) / 20, atol=0.01)
    # Ideal lift coefficient, 2 pi (alpha_i - alpha_0) = pi A_1 with A_1 = (2/pi) int dz/dx cos t dt.
    t = np.pi * (np.arange(200_000) + 0.5) / 200_000
    ideal = np.pi * 2 * np.mean(slope((1 - np.cos(t)) / 2) * np.cos(t))
    # The listed k1 are rounded, and that of 210 lies 3 % beside its design.
    assert_allclose(ideal, 0.3, rtol=0.03)


@pytest.mark.parametrize("line", ["221", "231", "241", "251"])
def test_reflexed_lines_have_no_moment(line):
    """That is what they are made for (TR 537)."""
    plain, reflexed = (plan(section(f"NACA {line[:2]}{last}02", HERE)) for last in ("0", "1"))
    assert abs(moment_coefficients(reflexed)[0]) < 0.2 * abs(moment_coefficients(plain)[0])
    assert zero_lift_angles(reflexed)[0] < -0.01


def test_twice_the_first_digit_is_twice_the_camber():
    one, two = (plan(section(f"NACA {n}3006", HERE)) for n in (2, 4))
    assert_allclose(moment_coefficients(two), 2 * moment_coefficients(one), rtol=0.02)


def test_a_coordinate_file_and_the_formula_agree(tmp_path):
    upper, lower = section("NACA 2412", HERE)
    x = np.concatenate([FRACTIONS[::-8], FRACTIONS[8::8]])
    z = np.concatenate([upper[::-8], lower[8::8]])
    path = tmp_path / "own.dat"
    path.write_text("own\n" + "\n".join(f"{a:.5f} {b:.5f}" for a, b in zip(x, z)), encoding="utf-8")
    found, known = plan(section("own.dat", tmp_path)), plan((upper, lower))
    assert_allclose(moment_coefficients(found), moment_coefficients(known), rtol=5e-3)
    assert_allclose(zero_lift_angles(found), zero_lift_angles(known), rtol=5e-3)


def test_between_sections_and_what_the_file_says():
    wing = plan(section("NACA 2412", HERE), section("NACA 0012", HERE))
    ends = moment_coefficients(wing)
    y = np.array([-0.25, 0.0, 0.5])
    assert_allclose(along(wing, ends, y), ends[0] * np.array([0.75, 1.0, 0.5]), rtol=1e-12)
    case = LoadCase("", "pull-up")
    assert_allclose(section_moments(wing, case, y), along(wing, ends, y), rtol=1e-12)
    given = LoadCase("", "pull-up", moment_coefficient=0.0)
    assert_allclose(section_moments(wing, given, y), 0.0, atol=0)
