"""Stress of caps, and the rules that judge it, by hand."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from models.strength import cap_column, cap_compression, cap_tension
from models.strength.cap_stress import between_posts, layer_stress, through_middles

force = st.floats(-1e3, 1e3)


def test_layer_stress_of_a_plain_cap() -> None:
    # 10 x 6 mm: 60 N is 1 MPa; M_y 0.06 N m over Z = 60 mm3 is 1 MPa; M_z 0.1 N m over 100 mm3 is 1 MPa.
    forces = np.array([[[60.0, 0, 0, 0, 0.06, 0.1]]])
    mean, bending = layer_stress(
        forces, np.array([0.01]), np.array([[0.006]]), np.array([[3e9]]), np.array([0.003]), np.array([True])
    )
    assert_allclose(mean, 1e6, rtol=1e-10)
    assert_allclose(bending, 2e6, rtol=1e-10)


def test_layers_share_by_their_moduli_and_balance_the_forces() -> None:
    # Stress resultants of all layers give N and M_y back.
    heights, modulus = np.array([[0.0005, 0.004]]), np.array([[134e9, 11.9e9]])
    depth = np.cumsum(heights, axis=1) - heights / 2
    centroid = (depth * heights * modulus).sum(1) / (heights * modulus).sum(1)
    n, moment = 500.0, 0.3
    for upper in (True, False):
        mean, bending = layer_stress(
            np.array([[[n, 0, 0, 0, moment, 0]]]),
            np.array([0.008]),
            heights,
            modulus,
            centroid,
            np.array([upper]),
        )
        z = (1 if upper else -1) * (centroid - depth[0])
        area = heights[0] * 0.008
        assert_allclose((mean[0, 0] * area).sum(), n, rtol=1e-10)
        # Own bending of a layer: stress at its edge times its section modulus.
        own = (bending[0, 0] * 0.008 * heights[0] ** 2 / 6).sum()
        assert_allclose((mean[0, 0] * area * z).sum() + own, moment, rtol=1e-10)


def test_interaction_by_hand() -> None:
    # 10 of 20 in the mean and 6 of 30 in bending: 0.5 + 0.2; the other side has bending less the mean.
    assert_allclose(
        cap_tension.used(np.array(10.0), np.array(6.0), np.array(20.0), np.array(30.0)), 0.7, rtol=1e-12
    )
    assert_allclose(
        cap_compression.used(np.array(-10.0), np.array(6.0), np.array(20.0), np.array(30.0)), 0.7, rtol=1e-12
    )
    assert cap_compression.used(np.array(10.0), np.array(6.0), np.array(20.0), np.array(30.0)) == 0.0
    assert_allclose(
        cap_tension.used(np.array(-4.0), np.array(6.0), np.array(20.0), np.array(20.0)), 0.1, rtol=1e-12
    )


@given(mean=force, bending=st.floats(0, 1e3), factor=st.floats(0.1, 10))
def test_interaction_is_proportional_to_the_load(mean: float, bending: float, factor: float) -> None:
    for used in (cap_tension.used, cap_compression.used):
        once = used(np.array(mean), np.array(bending), np.array(20.0), np.array(30.0))
        more = used(np.array(mean * factor), np.array(bending * factor), np.array(20.0), np.array(30.0))
        assert_allclose(more, factor * once, rtol=1e-9, atol=1e-9)


def test_column_runs_from_crushing_to_euler() -> None:
    crushing = np.ones(4)
    euler = np.array([np.inf, 2 / 3, 0.3, 2.0])
    # They meet at two thirds; slimmer than that Euler; at P_E = 2 P_c, 1 - (1/3)(1/3)^2.
    assert_allclose(cap_column.column_force(crushing, euler), [1, 2 / 3, 0.3, 1 - 1 / 27], rtol=1e-12)


def test_column_is_the_handbook_form_of_a_rectangle() -> None:
    # F_c [1 - (1/3)((L/d)/K)^4], K = pi sqrt(E/(8 F_c)); L/d 12, E 11.9 GPa, F_c 38.7 MPa.
    e, f, slim = 11.9e9, 38.7e6, 12.0
    k = np.pi * np.sqrt(e / (8 * f))
    euler = np.pi**2 * e / 12 / slim**2
    assert_allclose(
        cap_column.column_force(np.array(f), np.array(euler)), f * (1 - (slim / k) ** 4 / 3), rtol=1e-12
    )


def test_feet_of_posts_are_left_out() -> None:
    first, last = np.array([0.0, 0.05, 0.099]), np.array([0.05, 0.1, 0.1])
    start, end = between_posts(first, last, np.full((3, 1), 0.1), np.full((3, 1), 0.001))
    assert_allclose(start, [0, 0.05, 0.099], rtol=1e-12)
    assert_allclose(end, [0.05, 0.099, 0.099], rtol=1e-12)
    assert (end <= start).tolist() == [False, False, True]


def test_lines_through_middles_are_exact_for_a_straight_run_and_stay_in_it() -> None:
    first = np.array([0.0, 1.0, 3.0, 4.0, 5.0])
    last = np.array([1.0, 3.0, 4.0, 5.0, 6.0])
    run = np.array([0, 0, 0, 1, 2])
    middle = (first + last) / 2
    values = np.where(run == 0, 2 * middle + 1, 9.0)[:, None]
    out = through_middles(values, first, last, run, np.stack([first, last], axis=1))[:, :, 0]
    assert_allclose(out[:3], np.stack([2 * first + 1, 2 * last + 1], axis=1)[:3], rtol=1e-12)
    assert_allclose(out[3:], 9.0, rtol=1e-12)
