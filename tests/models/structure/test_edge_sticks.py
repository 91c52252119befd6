"""Edge sticks sanded to the outline, and the torsion of their sections."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from models.section import outline_section, rectangle_torsion

POINTS, WEIGHTS = np.polynomial.legendre.leggauss(32)
S, DS = (POINTS + 1) / 2, WEIGHTS / 2


@pytest.mark.parametrize("size", [(8.0, 8.0), (8.0, 12.9), (20.0, 5.0), (30.0, 3.0)])
@pytest.mark.parametrize("shear", [(1.0, 1.0), (0.5, 1.0), (1.0, 0.5)])
def test_a_rectangle(size, shear):
    width, height = size
    one = np.ones((1, 32))
    found = outline_section(
        S, DS, S * width, np.full(32, width), 3.0 * one, height / 2 * one, *shear, closed=False
    )
    # Ritz with few polynomials, from below: 1 % for the slenderest.
    assert_allclose(found.torsion, rectangle_torsion(width, height, *shear), rtol=1e-2)
    assert_allclose(found.area, width * height, rtol=1e-12)
    assert_allclose(found.second_up, width * height**3 / 12, rtol=1e-12)
    assert_allclose(found.second_aft, height * width**3 / 12, rtol=1e-12)
    assert_allclose(found.modulus_up, width * height**2 / 6, rtol=1e-12)
    assert_allclose(found.centre_z, 3.0, rtol=1e-12)


def test_a_half_circle():
    """J = (pi/2 - 4/pi) r^4, Timoshenko and Goodier (from memory); slopes by differences are worth 0.1 %."""
    half = np.sqrt(1 - (1 - S**2) ** 2)[None]
    found = outline_section(S, DS, S**2, 2 * S, 0 * half, half, 1.0, 1.0, closed=True)
    assert_allclose(found.torsion, np.pi / 2 - 4 / np.pi, rtol=1e-3)
    assert_allclose(found.area, np.pi / 2, rtol=1e-12)
    assert_allclose(found.second_up, np.pi / 8, rtol=1e-12)


def test_a_thin_wedge():
    """A thin triangle: b h^3/12 less 0.105 h^4 (Roark, isosceles triangle, from memory), 3 %."""
    width, height = 20.0, 2.0
    half = (S * height / 2)[None]
    found = outline_section(S, DS, S * width, np.full(32, width), 0 * half, half, 1.0, 1.0, closed=True)
    assert_allclose(found.torsion, width * height**3 / 12 - 0.105 * height**4, rtol=0.03)
