"""Stresses half way along a bay against equilibrium of the section."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from models.analysis import analyse
from models.mid_bay import mid_bays, web_shear

AREA, INERTIA, APART = 60e-6, 10e-3 * 6e-3**3 / 12, 24e-3
"""Of one cap of the reference spar: section, second moment, distance of the axes."""


def test_one_row_a_bay_at_its_middle(make_specimen):
    bays = mid_bays(analyse(make_specimen("both")), 0)
    assert [b.bay for b in bays] == [1, 2, 3, 4, 5, 6]
    assert_allclose([b.y for b in bays], [0.03, 0.09, 0.15, 0.21, 0.27, 0.33], rtol=1e-9)
    assert {(b.spar, b.side) for b in bays} == {("spar", "")}
    assert all(set(b.web_shear) == {"front", "rear"} for b in bays)


def test_an_open_spar_is_in_equilibrium_at_every_middle(make_specimen):
    for bay in mid_bays(analyse(make_specimen("")), 0):
        assert bay.web_shear == {}
        couple = (bay.lower_cap - bay.upper_cap) * AREA * APART / 2
        own = -(bay.upper_slope_z + bay.lower_slope_z) * INERTIA
        assert_allclose(couple + own, 0.36 - bay.y, rtol=1e-6)
        assert_allclose(bay.lower_cap, -bay.upper_cap, rtol=1e-6)


def test_a_box_carries_force_and_torque_as_flows_say(make_specimen):
    analysis = analyse(make_specimen("both", length=720.0))
    force, torque = mid_bays(analysis, 0)[6], mid_bays(analysis, 1)[6]
    front, rear = force.web_shear["front"], force.web_shear["rear"]
    assert_allclose(front, rear, rtol=1e-6)
    # 1 N over two webs: between the clear height alone and the whole depth.
    assert 1 / (2 * 1.6e-3 * 30e-3) < front < 1 / (2 * 1.6e-3 * 18e-3)
    front, rear = torque.web_shear["front"], torque.web_shear["rear"]
    assert_allclose(front, -rear, rtol=1e-6)
    # Nose up: the front web lifts what is outboard. Bredt's flow T/2A round the middles of webs and caps.
    flow = 1.0 / (2 * 11.6e-3 * 24e-3)
    assert front > 0
    assert_allclose(front, flow / 1.6e-3, rtol=0.15)


def test_bending_of_a_box_is_shared_by_caps_strips_and_webs(make_specimen):
    # Plane sections: curvature M/EI with everything that runs along the span.
    along = 56.1e6
    bending = 2 * 3740e6 * (AREA * (APART / 2) ** 2 + INERTIA) + 2 * along * 1.6e-3 * 30e-3**3 / 12
    bays = mid_bays(analyse(make_specimen("both", length=1200.0)), 0)
    for bay in bays[4:12]:
        assert_allclose(-bay.upper_cap, 3740e6 * (1.2 - bay.y) / bending * APART / 2, rtol=5e-3)


def test_web_shear_turns_with_the_grain(make_specimen):
    upright, along = (analyse(make_specimen("both", grain=g, length=720.0)) for g in ("upright", "span"))
    for analysis in (upright, along):
        assert len(web_shear(analysis, 0)) == len(analysis.model.webs.span)
        assert (web_shear(analysis, 0) > 0).all()
    a, b = mid_bays(upright, 0)[6].web_shear["front"], mid_bays(along, 0)[6].web_shear["front"]
    assert_allclose(a, b, rtol=0.05)


def test_both_sides_of_a_wing_mirror(make_wing):
    bays = mid_bays(analyse(replace(make_wing(), whole=True)))
    assert [(b.side, b.bay) for b in bays] == [
        *(("port", k) for k in range(6, 0, -1)), *(("starboard", k) for k in range(1, 7))
    ]  # fmt: skip
    for port, starboard in zip(bays[5::-1], bays[6:]):
        assert_allclose(-port.y, starboard.y, rtol=1e-12)
        for name in ("upper_cap", "lower_cap", "upper_slope_z", "lower_slope_z"):
            assert_allclose(getattr(port, name), getattr(starboard, name), rtol=1e-6, atol=1.0)
        assert_allclose(port.web_shear["rear"], starboard.web_shear["rear"], rtol=1e-6)


@pytest.mark.parametrize("case", [0, 1, 2])
def test_no_webs_no_shear(make_specimen, case):
    assert web_shear(analyse(make_specimen("")), case).shape == (0,)
    assert np.isfinite(mid_bays(analyse(make_specimen("")), case)[0].upper_cap)
