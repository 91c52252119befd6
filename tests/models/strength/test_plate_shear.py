"""Shear buckling of orthotropic plates against the published and independently computed coefficients."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from models.strength.plate_shear import buckling_flow
from models.strength.web_buckling import along_sides, critical_flow, shear_coefficient
from models.woods.off_axis import stiffness
from models.woods.wood import SheetConstants, material

# Seydel's c over beta, 20 x 20 double sine Ritz and, for beta 0, Galerkin with 24 terms, computed apart.
BETA = (0.0, 0.2, 0.4, 0.6, 0.8, 1.0)
SEYDEL = {
    1.0: (13.17, 13.65, 14.89, 16.83, 19.16, 23.01),
    1.5: (11.61, 12.00, 12.97, 14.70, 16.28, 19.38),
    2.0: (10.79, 11.15, 11.99, 13.63, 14.83, 17.55),
    3.0: (9.94, 10.28, 10.99, 12.56, 13.36, 15.70),
    5.0: (9.23, 9.56, 10.19, 11.71, 12.19, 14.21),
    np.inf: (8.125, 8.38, 8.96, 10.32, 10.40, 11.95),
}
# Balsa of 160 kg/m3 by the constant ratios of the elastic table, 1.5 mm thick, 20 mm clear, MPa.
SHAPES = (0.25, 0.5, 1.0, 1.5, 2.0, 3.0, 4.0)
BALSA = {
    ("flat", 0.0): (400, 102, 27.2, 13.6, 8.2, 4.8, 4.0),
    ("flat", 90.0): (65, 32.7, 27.2, 26.0, 25.5, 25.1, 25.0),
    ("quarter", 0.0): (506, 131, 36.1, 18.1, 11.9, 8.9, 8.3),
    ("quarter", 90.0): (133, 47.8, 36.1, 33.7, 32.7, 32.0, 31.7),
}
E_L = 3740e6 * 160 / 184
CUTS = {
    "flat": SheetConstants(E_L, 0.015 * E_L, 0.037 * E_L, 0.488),
    "quarter": SheetConstants(E_L, 0.046 * E_L, 0.054 * E_L, 0.229),
}


def isotropic(e: float, nu: float, t: float) -> np.ndarray:
    d = e * t**3 / 12 / (1 - nu**2)
    return np.array([[[d, nu * d, 0], [nu * d, d, 0], [0, 0, d * (1 - nu) / 2]]])


@pytest.mark.parametrize("theta", SEYDEL)
def test_table_meets_seydel(theta: float) -> None:
    # 0.3 %: the reference is rounded to four figures, the table interpolated between its entries.
    c = shear_coefficient(np.full(6, 1 / theta), np.array(BETA))
    assert_allclose(c, SEYDEL[theta], rtol=3e-3)


def test_table_meets_theta_below_one() -> None:
    # c' = c / sqrt(D3/sqrt(D1 D2)) of long plates: theta 0.5 and 0.8 (same source); 0.3 % as above.
    theta = np.array([0.5, 0.8])
    assert_allclose(shear_coefficient(1 / theta, np.zeros(2)) * np.sqrt(theta), [12.20, 12.76], rtol=3e-3)


@pytest.mark.parametrize(("aspect", "k"), [(1.0, 9.34), (2.0, 6.6), (1e9, 5.35)])
def test_isotropic_plate(aspect: float, k: float) -> None:
    # Timoshenko and Gere, table 9-10 (from memory); its figures are rounded to 1 %.
    d = 1.0
    flow = along_sides(np.array([aspect]), np.ones(1), *(np.full(1, d),) * 3)
    assert_allclose(flow / np.pi**2, k, rtol=1e-2)


@pytest.mark.parametrize(("cut", "angle"), BALSA)
def test_balsa_webs_at_both_grains(cut: str, angle: float) -> None:
    # 2 %: the reference is given to three figures or fewer, and its D3 is rounded.
    n = len(SHAPES)
    flow = critical_flow(
        np.array(SHAPES) * 0.02,
        np.full(n, 0.02),
        np.full(n, 1.5e-3),
        [CUTS[cut]] * n,
        np.full(n, np.radians(angle)),
        np.ones(n, dtype=bool),
    )
    assert_allclose(flow / 1.5e-3 / 1e6, BALSA[cut, angle], rtol=2e-2)


def test_ritz_and_table_agree_over_shapes_and_grains() -> None:
    # Two solutions of one problem: 0.5 % for the interpolation of the table and the shorter series.
    for angle in (0.0, np.pi / 2):
        d = stiffness(CUTS["flat"], angle)[None] * 1.5e-3**3 / 12
        for shape in (0.4, 0.7, 1.0, 1.6, 2.3):
            a, b = np.array([shape * 0.03]), np.array([0.03])
            both = buckling_flow(a, b, d, (20, 20))[0]
            table = along_sides(a, b, d[:, 0, 0], d[:, 1, 1], d[:, 0, 1] + 2 * d[:, 2, 2])
            assert_allclose(both, table[0], rtol=5e-3)


def test_grain_along_the_compressed_diagonal_is_the_stronger() -> None:
    # Positive shear presses the diagonal at -45 degrees: fibres there stiffen the plate against its buckles.
    a = b = np.array([0.03])
    with_it = buckling_flow(a, b, stiffness(CUTS["flat"], -np.pi / 4)[None])[0]
    across = buckling_flow(a, b, stiffness(CUTS["flat"], np.pi / 4)[None])[0]
    assert with_it[0] > 1.2 * across[0]
    assert_allclose(with_it, across[::-1], rtol=1e-9)


def test_turning_an_isotropic_plate_changes_nothing() -> None:
    sheet = SheetConstants(1e9, 1e9, 1e9 / 2.6, 0.3)
    d = stiffness(sheet, 0.7)[None]
    a, b = np.array([0.05]), np.array([0.03])
    assert_allclose(
        buckling_flow(a, b, d), buckling_flow(a, b, isotropic(1e9, 0.3, 12 ** (1 / 3))), rtol=1e-8
    )


def test_series_converges_from_above_at_an_angle() -> None:
    d = stiffness(CUTS["flat"], np.pi / 4)[None]
    a, b = np.array([0.05]), np.array([0.03])
    flows = [float(buckling_flow(a, b, d, (n, n))[0, 0]) for n in (6, 10, 14, 18)]
    steps = -np.diff(flows)
    assert (steps > 0).all()
    assert steps[-1] < 0.02 * flows[-1]


def test_plywood_uses_its_bending_constants() -> None:
    ply = material("birch ply")
    assert ply.in_bending().E_1 > 1.3 * ply.in_plane().E_1
