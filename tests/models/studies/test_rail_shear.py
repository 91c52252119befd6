"""Shear of a rectangle under shear force and twist."""

from __future__ import annotations

import numpy as np
from numpy.testing import assert_allclose

from models.section import rectangle_torsion_constant
from models.studies.rail_shear import shear_stress


def test_a_square_in_twist_and_in_shear():
    forces = np.zeros((2, 1, 6))
    forces[0, 0, 2], forces[1, 0, 3] = 100.0, 1.0
    side = np.full(2, 0.01)
    found = shear_stress(forces, side, side)[:, 0]
    assert_allclose(found[0], 1.5 * 100 / 1e-4, rtol=1e-12)
    # Exact for a square: T/(0.2082 a^3); the handbook's line is rounded to half a per cent.
    assert_allclose(found[1], 1 / (0.2082 * 1e-6), rtol=5e-3)


def test_a_flat_strip_twists_as_a_thin_one():
    forces = np.zeros((1, 1, 6))
    forces[0, 0, 3] = 1.0
    width, height = np.array([0.2]), np.array([0.002])
    constant = float(rectangle_torsion_constant(0.2, 0.002))
    assert_allclose(shear_stress(forces, width, height)[0, 0], 0.002 / constant, rtol=2e-2)
