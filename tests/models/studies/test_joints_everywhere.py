"""A joint that breaks first sets the load of every command, not of the verdict alone."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from numpy.testing import assert_allclose

from models.loads.hand_test import HandLoad
from models.session import Session
from models.strength.counted import JOINER, JOINT, joints
from models.strength.margin import least
from models.studies.compare import compare
from models.studies.doubts import doubts
from models.studies.envelope import Strength, envelope, sentences
from models.studies.hand_test import bears, half, hold
from models.studies.load_cases import load_cases
from models.studies.scatter import scatter
from models.verdict import verdict

STATIONS = (
    '{ y = "0 mm", chord = "200 mm", section = "NACA 2412" }, '
    '{ y = "600 mm", chord = "200 mm", dihedral = "4 deg" }'
)
BRACE = '[[braces]]\nspar = "main"\nface = "between"\nto = "100 mm"\nthickness = "1 mm"\nwood = "birch ply"\n'
JOINED = (
    '[[joiners]]\nspar = "main"\nform = "blade"\nwidth = "1 mm"\nheight = "6 mm"\nwood = "birch ply"\n'
    'reach = "100 mm"\n'
)
HOW = {"brace": (BRACE, JOINT), "joiner": (JOINED, JOINER)}


@pytest.fixture(scope="module", params=HOW)
def held(request, make_wing):
    """A wing that breaks at its joint, and the modes of that."""
    extra, modes = HOW[request.param]
    return make_wing(stations=STATIONS, extra=extra), modes


@cache
def judged(wing):
    return verdict(wing, per_bay=1)


def test_the_verdict_is_the_joint(held):
    wing, modes = held
    assert judged(wing).pull_up.first.mode in modes
    assert judged(wing).failing < 5


def test_tables_tell_it_and_no_longer_beside(held):
    wing, modes = held
    side = Session(wing, per_bay=1).side
    first = side.told.first()
    assert first.mode in modes
    assert_allclose(first.reserve_factor, judged(wing).pull_up.built, rtol=1e-9)
    assert not any(row.mode in modes for row in side.told.secondary)
    assert {row.mode for row in side.margins.secondary} & set(modes)


def test_what_it_hangs_on_is_of_it(held):
    wing, _ = held
    side = Session(wing, per_bay=1).side
    found = doubts(side.sound, side.told)
    strength = next(one for one in found if "strength" in one.figure)
    load = side.told.load_factor_at_first_failure()
    assert_allclose(strength.change, load * strength.variation, rtol=1e-9)
    assert strength.wood == "birch ply"
    assert all(np.isfinite(one.change) for one in found)


def test_load_cases_count_it(held):
    wing, modes = held
    pull_up = next(one for one in load_cases(wing, per_bay=1, bent=None).cases if one.name == "pull-up")
    assert pull_up.harder.weakest.mode in modes
    assert_allclose(pull_up.harder.reserve, judged(wing).pull_up.mean, rtol=1e-9)


@pytest.mark.parametrize(("speed", "load_factor"), [(14.0, 3.0), (22.0, 5.0), (22.0, -2.0)])
def test_the_envelope_judges_it_as_a_solve_of_its_own(held, speed, load_factor):
    wing, modes = held
    strength = Strength(wing, per_bay=1)
    corner = strength.corner("asked", speed, load_factor, load_factor)
    direct = Session(wing, per_bay=1).carrying(wing).flown(strength.analysis(speed, load_factor).wing)
    found = least(direct.model, joints(direct))
    assert corner.margin.mode in modes
    assert corner.margin.mode == found.margin(0).mode
    assert_allclose(corner.reserve, found.reserve[0], rtol=1e-9)


def test_the_envelope_lets_no_more_be_pulled(held):
    wing, modes = held
    found = envelope(wing, per_bay=1, speeds=4)
    assert found.worst.critical.weakest.mode in modes
    built = judged(wing).pull_up.built * judged(wing).asked
    fails = found.worst.at_cruise.fails
    if built < 1:  # less than level flight, and without lift the section's moment is too much
        assert np.isnan(fails)
        assert any("does not even bear level flight" in one for one in sentences(found))
    else:
        assert 0.5 * built < fails < 1.1 * built
    assert found.worst.breaks.margin.mode in modes
    assert any("caps cut" in one or "joiner" in one for one in sentences(found))


def test_scatter_draws_it(held):
    wing, modes = held
    found = scatter(wing, per_bay=1, samples=400, states=30)
    assert found.firsts[0].mode in modes
    assert_allclose(found.nominal, judged(wing).failing, rtol=1e-6)
    assert_allclose(found.fifth, judged(wing).pull_up.fifth * judged(wing).asked, rtol=0.1)


def test_a_bag_at_the_tip_is_held_against_it(held):
    wing, modes = held
    analysis = hold(half(wing, per_bay=1), [HandLoad.hung(0.2, "main", len(wing.ribs))])
    found = bears(analysis, 0)
    assert found.first.mode in modes
    assert found.by.mode in modes
    assert_allclose(found.breaks, least(analysis.model, joints(analysis)).reserve[0], rtol=1e-9)
    assert 0.5 * found.breaks < found.harmless < found.breaks


def test_layouts_are_compared_by_it(held):
    wing, modes = held
    found = compare(wing, per_bay=1)
    drawn = next(one for one in found if one.name == "as drawn" and one.scope == "wing")
    assert drawn.first_failure.endswith(modes)
    assert_allclose(drawn.load_factor_at_first_failure, judged(wing).pull_up.built * 5, rtol=1e-6)
