"""Stiffness of wood in all directions against the sheets' and sticks' engineering constants."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from models.woods.off_axis import compliance
from models.woods.solid_stiffness import sheet_stiffness, stick_stiffness, turned_about_x
from models.woods.wood import material


@pytest.mark.parametrize("cut", ["flat-sawn", "quarter-sawn"])
@pytest.mark.parametrize("degrees", [0.0, 30.0, 45.0, 90.0, -60.0])
def test_a_sheet_free_through_its_thickness_is_in_plane_stress(cut, degrees):
    wood, grain = material("balsa", cut=cut), np.deg2rad(degrees)
    full = np.linalg.inv(sheet_stiffness(wood, grain))
    # Strains along the span, upright and in shear between them: rows yy, zz, yz.
    plane = full[np.ix_([1, 2, 3], [1, 2, 3])]
    assert_allclose(plane, compliance(wood.in_plane(), grain), rtol=1e-9, atol=1e-12 * np.abs(plane).max())


@pytest.mark.parametrize("cut", ["flat-sawn", "quarter-sawn"])
def test_a_stick_has_its_engineering_constants(cut):
    wood = material("spruce", cut=cut)
    stick, free = wood.stick(), np.linalg.inv(stick_stiffness(wood))
    moduli = [stick.E_aft, stick.E, stick.E_up, stick.G_up, stick.G_cross, stick.G_aft]
    assert_allclose(1 / np.diag(free), moduli)
    shrinking = -free[[0, 2, 2], [1, 1, 0]] / np.diag(free)[[1, 1, 0]]
    assert_allclose(shrinking, [stick.nu_L_aft, stick.nu_L_up, stick.nu_aft_up])
    assert_allclose(free, free.T)


def test_turning_there_and_back_and_by_half_a_turn():
    own = np.array(sheet_stiffness(material("balsa"), 0.0))
    assert_allclose(turned_about_x(turned_about_x(own, 0.7), -0.7), own, rtol=1e-9, atol=1e-9 * own.max())
    assert_allclose(turned_about_x(own, np.pi), own, rtol=1e-9, atol=1e-9 * own.max())
