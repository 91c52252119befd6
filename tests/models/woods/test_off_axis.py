"""Stiffness and strength at an angle against Jones' closed forms, a published strip and printed ratios."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from models.woods import off_axis
from models.woods.wood import SheetConstants, material

# Off-axis strip (Jones; Lekhnitskii): E_L 3740, E_T 172.04, G 201.96 MPa; grain anticlockwise from x.
STRIP = SheetConstants(3740e6, 172.04e6, 201.96e6, 0.229)
DEGREES = np.array([0.0, 10.0, 45.0, 60.0, 90.0])


def test_strip_in_tension():
    found = off_axis.turned(STRIP, np.radians(DEGREES))
    # Printed to six figures.
    assert_allclose(found.E_x / 1e6, [3740, 2512.53, 366.670, 238.564, 172.04], rtol=2e-6)
    assert_allclose(found.nu_xy, [0.229, 0.0619243, -0.0922217, -0.0413494, 0.010534], rtol=1e-5)
    assert_allclose(found.coupling[1:4], [-1.87752, -1.01663, -0.637443], rtol=5e-6)
    assert_allclose(found.coupling[[0, 4]], 0.0, atol=1e-14)


@given(st.floats(-math.pi, math.pi))
def test_closed_forms_of_jones(angle):
    c, s = math.cos(angle), math.sin(angle)
    E_1, E_2, G, nu = STRIP.E_1, STRIP.E_2, STRIP.G_12, STRIP.nu_12
    found = off_axis.turned(STRIP, angle)
    expected = c**4 / E_1 + s**4 / E_2 + (1 / G - 2 * nu / E_1) * (s * c) ** 2
    assert_allclose(1 / found.E_x, expected, rtol=1e-12)
    expected = 4 * (s * c) ** 2 * (1 / E_1 + 1 / E_2 + 2 * nu / E_1) + (c * c - s * s) ** 2 / G
    assert_allclose(1 / found.G_xy, expected, rtol=1e-12)


# E at 5, 10, 15, 45 degrees over E_L; handbook ratios, printed to two figures.
@pytest.mark.parametrize(
    ("name", "density", "expected", "shear"),
    [("balsa", 160.0, (0.84, 0.57, 0.36, 0.04), 0.39), ("spruce", None, (0.91, 0.71, 0.52, 0.10), 0.65)],
)
def test_a_few_degrees_off_the_grain(name, density, expected, shear):
    sheet = material(name, density=density).in_plane()
    found = off_axis.turned(sheet, np.radians([5.0, 10.0, 15.0, 45.0]))
    assert_allclose(found.E_x / sheet.E_1, expected, atol=0.0051)
    # Solid sheet is softest in shear at 45 degrees, the opposite of plywood.
    assert_allclose(found.G_xy[3] / sheet.G_12, shear, atol=0.0051)


def test_stiffness_is_the_inverse_of_compliance():
    angles = np.linspace(-1.5, 1.5, 12).reshape(3, 4)
    product = off_axis.stiffness(STRIP, angles) @ off_axis.compliance(STRIP, angles)
    assert product.shape == (3, 4, 3, 3)
    assert_allclose(product, np.broadcast_to(np.eye(3), product.shape), atol=1e-12)


def test_stress_on_the_grain_of_a_45_degree_web():
    # Pure shear on grain at +45 degrees is tension along and compression across it, and the reverse at -45.
    found = off_axis.to_grain(0.0, 0.0, 2.0, np.radians([45.0, -45.0, 0.0]))
    assert_allclose(found, [[2, -2, 0], [-2, 2, 0], [0, 0, 2]], atol=1e-14)


def test_45_degree_balsa_web_fails_across_the_grain():
    balsa = material("balsa", density=160.0)
    strengths = off_axis.Strengths(
        balsa.tension, balsa.compression, balsa.tension_across, balsa.compression_across, balsa.shear
    )
    stress = off_axis.to_grain(0.0, 0.0, 1e6, np.radians(-45.0))
    bears = off_axis.reserve(stress, strengths, "tsai-hill") * 1e6
    # At tension across, about 1 MPa; the interaction takes off the share that compression along uses.
    assert_allclose(bears, balsa.tension_across, rtol=0.01)
    assert off_axis.reserve(stress, strengths) * 1e6 < bears


def test_reserve_is_one_at_each_strength_and_scales_with_load():
    strengths = off_axis.Strengths(20.0, 13.0, 1.0, 0.9, 1.8)
    stresses = np.array([[20.0, 0, 0], [-13.0, 0, 0], [0, 1.0, 0], [0, -0.9, 0], [0, 0, 1.8], [0, 0, -1.8]])
    assert_allclose(off_axis.reserve(stresses, strengths), 1.0, rtol=1e-12)
    assert_allclose(off_axis.reserve(stresses * 4, strengths), 0.25, rtol=1e-12)
    assert off_axis.reserve(np.zeros(3), strengths) == np.inf


def test_hankinson():
    # The ends, and by hand at 30 degrees: 40 x 4/(40 x 0.25 + 4 x 0.75) = 160/13.
    found = off_axis.hankinson(40.0, 4.0, np.radians([0.0, 30.0, -30.0, 90.0]))
    assert_allclose(found, [40.0, 160 / 13, 160 / 13, 4.0], rtol=1e-12)
    angles = np.linspace(0.05, 1.5, 20)
    assert (off_axis.hankinson(40.0, 4.0, angles, 1.5) < off_axis.hankinson(40.0, 4.0, angles)).all()
    assert (np.diff(off_axis.hankinson(40.0, 4.0, angles)) < 0).all()
