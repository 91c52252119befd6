"""Schrenk's loading against its closed form, and its share-out to the ribs against integrals."""

from __future__ import annotations

from math import pi, sqrt

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.integrate import quad

from models.loads import span_loading
from models.loads.schrenk import lift_per_length, schrenk_loading, schrenk_span

ETA = [0, 0.2, 0.4, 0.6, 0.8, 0.9, 1]
RECTANGLE = [1.136620, 1.123757, 1.083472, 1.009296, 0.881972, 0.777496, 0.5]
TAPERED = [1.303286, 1.223757, 1.116805, 0.975962, 0.781972, 0.644163, 0.333333]
"""Half a planform's and half an ellipse's loading, six digits printed; `TAPERED` to half the chord."""

ROOT = '{ y = "0 mm", chord = "200 mm", section = "NACA 2412" }'
SHAPES = {
    "rectangle": f'{ROOT}, {{ y = "600 mm", chord = "200 mm" }}',
    "taper 0.5": f'{ROOT}, {{ y = "600 mm", chord = "100 mm" }}',
    "kinked": ROOT + ', { y = "275 mm", chord = "190 mm" }, { y = "600 mm", chord = "110 mm" }',
}


def rib_shares(plan, ribs):
    return span_loading.rib_shares(schrenk_span(plan), ribs)


def planform(make_wing, shape):
    return make_wing(stations=SHAPES[shape]).planform


@pytest.mark.parametrize(("tip", "printed"), [(1.0, RECTANGLE), (0.5, TAPERED)])
def test_loading(tip, printed):
    chords = [(1 - (1 - tip) * eta) * 2 / (1 + tip) for eta in ETA]
    exact = [(c + 4 / pi * sqrt(1 - eta**2)) / 2 for c, eta in zip(chords, ETA)]
    assert_allclose(schrenk_loading(chords, ETA), exact, rtol=1e-9)
    assert_allclose(exact, printed, rtol=0, atol=5.01e-7)


def test_lift_per_length_is_the_same_on_both_sides_and_adds_up(make_wing):
    plan = planform(make_wing, "kinked")
    y = np.linspace(0, 0.6, 7)
    assert_allclose(lift_per_length(plan, -y, 50.0), lift_per_length(plan, y, 50.0), rtol=1e-15)
    half = quad(lambda at: float(lift_per_length(plan, at, 50.0)), 0, 0.6, points=[0.275], epsabs=1e-12)[0]
    assert_allclose(half, 25.0, rtol=1e-9)


@pytest.mark.parametrize(("shape", "centre"), [("rectangle", 0.462207), ("taper 0.5", 0.434429)])
def test_lateral_centre(make_wing, shape, centre):
    tip = 1.0 if shape == "rectangle" else 0.5
    exact = ((1 + 2 * tip) / (3 * (1 + tip)) + 4 / (3 * pi)) / 2
    assert_allclose(exact, centre, rtol=2e-6)
    ribs = np.array([0.0, 0.13, 0.3, 0.55])
    share, arm = rib_shares(planform(make_wing, shape), ribs)
    assert_allclose(share.sum(), 0.5, rtol=1e-12)
    assert_allclose(share @ ribs + arm.sum(), exact * 0.6 / 2, rtol=1e-12)


@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize("ribs", [(0.0, 0.1, 0.2, 0.4, 0.6), (0.05, 0.2, 0.33, 0.58)])
def test_shear_and_bending_at_every_rib_are_those_of_the_lift(make_wing, shape, ribs):
    plan = planform(make_wing, shape)
    at = np.array(ribs)
    share, arm = rib_shares(plan, at)
    assert_allclose(share.sum(), 0.5, rtol=1e-12)
    assert not arm[:-1].any()
    for k, here in enumerate(at):

        def moment(y, here=here):
            return float(lift_per_length(plan, y, 1.0)) * (y - here)

        want = quad(moment, here, 0.6, points=[0.275] if here < 0.275 else None, epsabs=1e-14, limit=200)[0]
        assert_allclose(share[k:] @ (at[k:] - here) + arm[-1], want, rtol=1e-8, atol=1e-12)


def test_both_sides_get_what_one_gets_twice(make_wing):
    plan = planform(make_wing, "kinked")
    for ribs in ([0.0, 0.2, 0.55], [0.05, 0.2, 0.55]):
        at = np.array(ribs)
        share, arm = rib_shares(plan, at)
        mirror = np.concatenate([-at[::-1], at[1:] if at[0] == 0 else at])
        both, roll = rib_shares(plan, mirror)
        one = share * np.where(at == 0, 2.0, 1.0)
        assert_allclose(both[-len(at) :], one, rtol=1e-12)
        assert_allclose(both, both[::-1], rtol=1e-12)
        assert_allclose([roll[-1], -roll[0]], arm[-1], rtol=1e-12)
        assert_allclose(both.sum(), 1.0, rtol=1e-12)


def test_one_rib_gets_everything(make_wing):
    share, arm = rib_shares(planform(make_wing, "rectangle"), [0.0])
    assert_allclose(share, [0.5], rtol=1e-12)
    assert_allclose(arm, [((1 / 2 + 4 / (3 * pi)) / 2) * 0.6 / 2], rtol=1e-12)
