"""Stress of caps, and the rules that judge it, by hand."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from scipy.optimize import brentq

from models.strength import cap_column, cap_compression, cap_tension
from models.strength.cap_stress import between_posts, layer_stress, through_middles
from models.woods.wood import custom, material

force = st.floats(-1e3, 1e3)
strength_ratio = st.floats(0.3, 4.0)
SPRUCE, BALSA = 70 / 38.7, 1.45
"""Modulus of rupture over crushing strength."""


def torn(mean: float, bending: float, tension: float, rupture: float) -> float:
    return float(cap_tension.used(*(np.array(v) for v in (mean, bending, tension, rupture))))


def crushed(mean: float, bending: float, crushing: float, rupture: float, slowly: bool = True) -> float:
    strengths = np.array(crushing), np.array(rupture)
    full = cap_compression.fullness(*strengths, np.array(slowly))
    return float(cap_compression.used(np.array(mean), np.array(bending), *strengths, full))


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
    # Crushed: what is not slow goes by the straight line, and a mean tension relieves the bending.
    assert_allclose(crushed(-10.0, 6.0, 20.0, 30.0, slowly=False), 0.7, rtol=1e-12)
    assert crushed(10.0, 6.0, 20.0, 30.0) == 0.0
    assert_allclose(crushed(4.0, 10.0, 20.0, 30.0), 0.2, rtol=1e-12)
    assert_allclose(
        cap_tension.used(np.array(-4.0), np.array(6.0), np.array(20.0), np.array(20.0)), 0.1, rtol=1e-12
    )


@given(mean=force, bending=st.floats(0, 1e3), factor=st.floats(0.1, 10))
def test_interaction_is_proportional_to_the_load(mean: float, bending: float, factor: float) -> None:
    for used in (torn, crushed):
        once = used(mean, bending, 20.0, 36.0)
        more = used(mean * factor, bending * factor, 20.0, 36.0)
        assert_allclose(more, factor * once, rtol=1e-9, atol=1e-9)


@given(ratio=strength_ratio, slowly=st.booleans())
def test_both_ends_of_compression_and_bending(ratio: float, slowly: bool) -> None:
    assert_allclose(crushed(-1.0, 0.0, 1.0, ratio, slowly), 1.0, rtol=1e-12)
    assert_allclose(crushed(0.0, ratio, 1.0, ratio, slowly), 1.0, rtol=1e-12)


@pytest.mark.parametrize("ratio", [1.1, BALSA, SPRUCE, 2.05, 2.8])
@pytest.mark.parametrize("push", [0.02, 0.3, 0.6, 0.9])
def test_compression_and_bending_by_integration(ratio: float, push: float) -> None:
    # A rectangle of height 1: stress -1 where it has given, else linear up to n at the pulled edge.
    pulled = (ratio + 1) / (3 - ratio)
    y = (np.arange(20_000) + 0.5) / 20_000 - 0.5

    def stress(slope: float) -> np.ndarray:
        return np.maximum(pulled - slope * (0.5 - y), -1.0)

    slope = brentq(lambda s: stress(s).mean() + push, 1e-6, 1e6)
    bending = 6 * (stress(slope) * y).mean()
    if ratio < 1.5:  # the design specification's curve is kept
        assert crushed(-push, bending, 1.0, ratio) > 1.0
        assert_allclose(crushed(-push, ratio * (1 - push**2), 1.0, ratio), 1.0, rtol=1e-12)
    else:
        # 1e-5: twenty thousand strips, and a wedge of some hundreds of them.
        assert_allclose(crushed(-push, bending, 1.0, ratio), 1.0, rtol=1e-5)


def test_bending_about_both_axes_is_on_the_safe_side() -> None:
    # The same rectangle bent over its corner: the axis of no stress lies along its diagonal.
    y = (np.arange(400) + 0.5) / 400 - 0.5
    corner = 1 - y[:, None] - y
    for ratio in (1.1, BALSA, SPRUCE, 2.05):
        pulled = (ratio + 1) / (3 - ratio)
        for push in (0.0, 0.3, 0.6, 0.9):

            def stress(slope: float, pulled: float = pulled) -> np.ndarray:
                return np.maximum(pulled - slope * corner, -1.0)

            slope = brentq(lambda s, push=push: stress(s).mean() + push, 1e-6, 1e6)
            bending = 2 * 6 * (stress(slope) * y).mean()
            assert crushed(-push, bending, 1.0, ratio) > 1.0


@given(push=st.floats(0, 1), ratio=strength_ratio)
def test_the_curve_lies_between_the_straight_line_and_the_design_specifications(
    push: float, ratio: float
) -> None:
    assert crushed(-push, ratio * (1 - push), 1.0, ratio) <= 1 + 1e-12
    assert crushed(-push, ratio * (1 - push**2), 1.0, ratio) >= 1 - 1e-12


@given(push=st.floats(0.01, 1), bending=st.floats(0, 2), ratio=strength_ratio, more=st.floats(1, 3))
def test_stronger_is_never_worse_and_a_greater_push_or_moment_never_better(
    push: float, bending: float, ratio: float, more: float
) -> None:
    once = crushed(-push, bending, 1.0, ratio)
    assert crushed(-push, bending, more, ratio) <= once * (1 + 1e-12)
    assert crushed(-push, bending, 1.0, ratio * more) <= once * (1 + 1e-12)
    assert crushed(-push, bending * more, 1.0, ratio) >= once * (1 - 1e-12)
    assert crushed(-push * more, bending, 1.0, ratio) >= once * (1 - 1e-12)


def test_layers_that_are_not_there_use_nothing() -> None:
    assert crushed(0.0, 0.0, np.inf, np.inf) == 0.0


@pytest.mark.parametrize(
    ("name", "slowly"),
    [("spruce", True), ("balsa hard", True), ("light ply", True), ("carbon", False), ("music wire", False)],
)
def test_what_crushes_slowly(name: str, slowly: bool) -> None:
    assert material(name).crushes_slowly is slowly


def test_a_material_like_carbon_does_not_crush_slowly() -> None:
    assert not custom("rod", {"like": "carbon", "compression": 1.1e9}).crushes_slowly


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
