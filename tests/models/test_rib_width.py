"""Width of rib that bends with the post, against orthotropic solids of strips of rib between rigid caps."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from models.rib_width import bent_upright, width_beside_caps

MM, MPA = 1e-3, 1e6
# E along the grain, E_T, G_LT, G_LR, G_RT (MPa) and nu_LT of balsa medium, as the solids had them.
BALSA = (3252 * MPA, 42.42 * MPA, 120.3 * MPA, 175.6 * MPA, 14.14 * MPA, 0.488)
CLEAR = np.array([6, 10, 13, 16, 20, 30, 45]) * MM
# Width each side, mm, of solids (27-node bricks, mesh 0.7 %); caps 4 mm high.
SOLIDS = {
    0.1: (6.0, 9.2, 11.4, 13.4, 15.9, 21.4, 28.7),
    1.0: (5.2, 8.3, 10.4, 12.3, 14.7, 19.9, 26.8),
    2.0: (4.7, 7.3, 9.2, 11.0, 13.3, 18.3, 24.8),
    4.0: (4.7, 6.4, 7.7, 9.1, 10.9, 15.1, 20.9),
}


@pytest.mark.parametrize("thickness", SOLIDS)
def test_balsa_along_the_chord_against_solids(thickness):
    e_x, e_z, g, g_x, g_z, nu = BALSA
    found = width_beside_caps(CLEAR, 4 * MM, thickness * MM, e_x, e_z, g, g_x, g_z, nu)
    # The form was drawn through these solids; it follows them within 8.4 % (4 mm thick, 45 mm clear).
    assert_allclose(found, np.array(SOLIDS[thickness]) * MM, rtol=0.085)


@pytest.mark.parametrize(("height", "expected"), [(2, (3.7, 7.0, 13.9)), (6, (5.2, 10.5, 21.2))])
def test_height_of_the_cap(height, expected):
    e_x, e_z, g, g_x, g_z, nu = BALSA
    found = width_beside_caps(np.array([6, 13, 30]) * MM, height * MM, 2 * MM, e_x, e_z, g, g_x, g_z, nu)
    assert_allclose(found, np.array(expected) * MM, rtol=0.08)


def test_upright_grain_is_narrow():
    e_x, e_z, g, g_x, g_z, _ = BALSA
    upright = width_beside_caps(13 * MM, 4 * MM, 2 * MM, e_z, e_x, g, g_z, g_x, 0.0)
    assert_allclose(upright, 0.8 * MM, rtol=0.18)


def test_thin_isotropic_limit_of_the_plate():
    """Isotropic: M = sqrt(2), b k = 2 whatever the wave; twice the wood's stiffness changes nothing."""
    for e in (1e9, 2e9):
        g = e / 2.6
        b = width_beside_caps(20 * MM, 4 * MM, 1e-9, e, e, g, g, g, 0.3)
        wave = 20 * MM / (2.6 + 1.05 * np.sqrt(5))
        assert_allclose(b, wave * np.sqrt((0.3 + 2 / 2.6) + 1), rtol=1e-6)


def test_bent_upright_is_timoshenko():
    assert_allclose(bent_upright(1e9, 1e30, 2 * MM, 10 * MM), 1e9 * 8e-9 / 12, rtol=1e-9)
    assert bent_upright(1e9, 1e7, 2 * MM, 10 * MM) < 1e9 * 8e-9 / 12
