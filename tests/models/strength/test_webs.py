"""Rules for webs, their glue lines, posts and rails, by hand."""

import numpy as np
from numpy.testing import assert_allclose

from models.strength import post, rail_bending
from models.strength.glue_line import flow_in_lap
from models.strength.web_shear import shear_at, strengths_of
from models.strength.web_stress import stretch_mean
from models.woods.wood import material


def test_shear_along_and_square_to_the_grain_is_plain_and_at_45_it_splits() -> None:
    balsa = material("balsa", density=160.0)
    which = np.zeros(4, dtype=np.intp)
    grain = np.radians([0.0, 90.0, 45.0, -45.0])
    used = shear_at(grain, np.full(4, 1e6), strengths_of((balsa,), which))
    assert_allclose(used[:2], 1e6 / balsa.shear, rtol=1e-9)
    # At 45 degrees +tau pulls along and presses across the grain, at -45 the other way round.
    along, across = balsa.tension, balsa.compression_across
    by_hand = np.sqrt((1e6 / along) ** 2 + 1e12 / (along * across) + (1e6 / across) ** 2)
    assert_allclose(used[2], by_hand, rtol=1e-9)
    along, across = balsa.compression, balsa.tension_across
    by_hand = np.sqrt((1e6 / along) ** 2 + 1e12 / (along * across) + (1e6 / across) ** 2)
    assert_allclose(used[3], by_hand, rtol=1e-9)


def test_plywood_is_stronger_in_shear_at_45_degrees() -> None:
    ply = material("birch ply")
    used = shear_at(
        np.radians([0.0, 45.0]), np.full(2, 1e6), strengths_of((ply,), np.zeros(2, dtype=np.intp))
    )
    assert used[1] < 0.8 * used[0]


def test_flow_in_lap() -> None:
    # 1 MPa in 1.5 mm is 1.5 N/mm; over 6 and 3 mm that is 0.25 and 0.5 MPa.
    assert_allclose(
        flow_in_lap(np.array([-1e6]), np.array([1.5e-3]), np.array([[6e-3, 3e-3]])),
        [[0.25e6, 0.5e6]],
        rtol=1e-12,
    )


def test_stretch_mean_by_hand() -> None:
    # Four elements of 1 with values 1 1 1 5: the worst stretch of 2 is the last: 3. With a foot of 0.5 left
    # out at that end: the parabola of the last three rises by 6 across the last element, so its inner half
    # has the mean 5 - 6/4 = 3.5, and the stretch (0.5 x 3.5 + 1 + 0.5)/2.
    values, left, length = np.array([5.0, 1.0, 1.0, 1.0]), np.array([3.0, 0.0, 1.0, 2.0]), np.ones(4)
    panel = np.zeros(4, dtype=np.intp)
    mean = stretch_mean(values, left, length, panel, np.array([2.0]), np.zeros((1, 2)))
    assert_allclose(mean, [3.0, 1.0, 1.0, 3.0], rtol=1e-12)
    mean = stretch_mean(values, left, length, panel, np.array([2.0]), np.array([[0.0, 0.5]]))
    assert_allclose(mean[0], (0.5 * 3.5 + 1.5) / 2, rtol=1e-12)
    whole = stretch_mean(values, left, length, panel, np.array([9.0]), np.zeros((1, 2)))
    assert_allclose(whole, 2.0, rtol=1e-12)


def test_post_by_hand() -> None:
    # 2 x 10 mm: 20 N pull is 1 MPa of 20; moment 0.1 N m over Z = 10 4/6 mm3 is 15 MPa of 30.
    one = np.ones(1)
    unit = post.unit(*(v * one for v in (0.002, 0.01, 0.02, 3e9, 20e6, 15e6, 30e6)))
    used = post.shares(20 * one, 0.1 * one, 0 * one, *unit)
    assert_allclose(used, 1 / 20 + 15 / 30, rtol=1e-12)


def test_rail_by_hand() -> None:
    # 12 x 12 mm: Z = 288 mm3, 2.88 N m is 10 MPa of 100; 144 N is 1 MPa of 50.
    figures = (-144.0, 2.88, 0.0, 0.012, 0.012, 60e6, 50e6, 100e6)
    used, stress = rail_bending.used(*(np.array([v]) for v in figures))
    assert_allclose(used, 0.12, rtol=1e-12)
    assert_allclose(stress, 11e6, rtol=1e-12)
