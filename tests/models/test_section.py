"""Sections on their own: torsion of a grained rectangle, flows, shear centre, warping."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from models.section import (
    BoomSection,
    boom_section,
    rectangle_torsion,
    rectangle_torsion_constant,
    second_moments,
    shear_centre,
    torsion,
    warping,
)


def _tube(turn: float = 0.0, shift: tuple[float, float] = (0.0, 0.0)) -> BoomSection:
    corners = np.array([[0, 0], [0.1, 0], [0.1, 0.05], [0, 0.05]])
    c, s = np.cos(turn), np.sin(turn)
    walls = np.array([[0, 1], [1, 2], [2, 3], [3, 0]])
    return BoomSection(
        corners @ np.array([[c, s], [-s, c]]) + shift, np.full(4, 1e-4), walls, np.full(4, 2e6)
    )


def test_rectangle_lies_between_its_isotropic_bounds() -> None:
    low, value, high = (
        float(rectangle_torsion(10, 6, g, h))
        for g, h in ((138.38, 138.38), (201.96, 138.38), (201.96, 201.96))
    )
    # 80 694.2 was computed from Lekhnitskii's series; six digits printed.
    assert_allclose(value, 80694.2, rtol=1e-6)
    assert_allclose([low, high], [62354, 91004], rtol=1e-5)


def test_rectangle_against_a_double_sine_series() -> None:
    # phi_yy/G_xz + phi_zz/G_xy = -2, G J = 2 int phi, by the sine series in both directions (no tanh in it).
    a, b, g_y, g_z = 10.0, 6.0, 201.96, 138.38
    n = np.arange(1, 400, 2)
    p, q = np.meshgrid(n, n, indexing="ij")
    term = 1 / (p**2 * q**2 * ((p * np.pi / a) ** 2 / g_z + (q * np.pi / b) ** 2 / g_y))
    series = 256 / np.pi**4 * a * b * term.sum()
    # The double series falls off as 1/n^3: 200 terms a side leave some 1e-7.
    assert_allclose(float(rectangle_torsion(a, b, g_y, g_z)), series, rtol=1e-6)


def test_rectangle_is_vectorised_and_symmetric() -> None:
    many = rectangle_torsion(
        np.array([10.0, 6.0]), np.array([6.0, 10.0]), np.array([2.0, 1.0]), np.array([1.0, 2.0])
    )
    assert many.shape == (2,)
    assert_allclose(many[0], many[1], rtol=1e-14)
    assert_allclose(rectangle_torsion_constant(1e6, 1.0), 1e6 / 3, rtol=1e-6)


@pytest.mark.parametrize("turn", [0.0, 0.4, 2.0])
@pytest.mark.parametrize("force", [(1.0, 0.0), (0.0, 1.0), (3.0, -2.0)])
def test_flows_make_up_the_force_and_the_moment(turn: float, force: tuple[float, float]) -> None:
    made = _tube(turn, (0.3, -0.2))
    flows = boom_section(made, force, 0.7)
    along = made.positions[made.walls[:, 1]] - made.positions[made.walls[:, 0]]
    assert_allclose(flows.mean @ along, force, atol=1e-12)
    assert_allclose(flows.moment, 0.7, rtol=1e-12)


def test_pure_torsion_agrees_with_bredt_and_with_the_twist_of_a_moment() -> None:
    made = _tube(0.3, (0.2, 0.1))
    rigidity, flows = torsion(made)
    assert_allclose(rigidity, 4 * 0.005**2 / (0.3 / 2e6), rtol=1e-12)
    assert_allclose(boom_section(made, (0, 0), 5.0).twist_rate, 5.0 / rigidity, rtol=1e-12)
    assert_allclose(np.ptp(flows), 0, atol=1e-12 * flows.max())


def test_shear_centre_of_a_symmetric_tube_is_its_middle_and_moves_with_it() -> None:
    assert_allclose(shear_centre(_tube()), [0.05, 0.025], rtol=1e-12)
    assert_allclose(shear_centre(_tube(0, (1.0, 2.0))), [1.05, 2.025], rtol=1e-12)


def test_walls_that_carry_bending_have_a_parabola_of_flow() -> None:
    # A web alone: 1.5 V/h in the middle, nothing at its edges.
    z = np.array([0.1, 0.0, -0.1])
    made = BoomSection(
        np.stack([0 * z, z], axis=1), np.zeros(3), np.array([[0, 1], [1, 2]]), np.ones(2), np.full(2, 0.001)
    )
    flows = boom_section(made, (0.0, 10.0))
    assert_allclose(np.abs(flows.ends), [[0, 75], [75, 0]], atol=1e-10)
    assert_allclose(second_moments(made)[1][1, 1], 0.001 * 0.2**3 / 12, rtol=1e-12)


def test_open_section_refuses_a_moment() -> None:
    made = BoomSection(np.array([[0, 0.1], [0, -0.1]]), np.ones(2), np.array([[0, 1]]), np.ones(1))
    assert torsion(made)[0] == 0
    with pytest.raises(ValueError, match="open section"):
        boom_section(made, (0.0, 1.0), 0.5)


def test_warping_of_an_angle_vanishes() -> None:
    # Two walls that meet: every point's arm about the joint is along its wall.
    made = BoomSection(
        np.array([[0.05, 0], [0, 0], [0, 0.05]]),
        np.zeros(3),
        np.array([[0, 1], [1, 2]]),
        np.ones(2),
        np.full(2, 0.002),
    )
    assert_allclose(shear_centre(made), [0, 0], atol=1e-12)
    assert_allclose(warping(made)[0], 0, atol=1e-18)
