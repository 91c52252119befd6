"""The lightest layout against brute force through the ordinary door, and each limit's effect."""

from __future__ import annotations

import itertools
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from models.analysis import analyse, tip_deflection, wing_twist
from models.strength import check
from models.studies.compare import web_mass
from models.studies.lightest import Limits, Stock, lightest, places
from models.studies.lightest.search import lightest_first
from models.verdict import verdict
from models.wing.reading import read
from models.wings import shipped
from tests.variants import limber


def brute_force(wing, limits: Limits) -> tuple[float | None, list[tuple[float, float]]]:
    """Least mass that meets the limits, and (mass, load factor) of all layouts; each built and checked."""
    where = places(wing)
    best, every = None, []
    for codes in where.every():
        analysis = analyse(where.laid(codes), per_bay=1)
        mass, factor = web_mass(analysis.model), check(analysis).load_factor_at_first_failure()
        every.append((mass, factor))
        good = factor >= limits.load_factor
        if limits.deflection is not None:
            good &= abs(tip_deflection(analysis)) <= limits.deflection
        if limits.twist is not None:
            good &= abs(wing_twist(analysis)[1][-1]) <= limits.twist
        if good and (best is None or mass < best):
            best = mass
    return best, every


@settings(
    max_examples=3,
    deadline=None,
    phases=[Phase.generate],  # a case takes a second: shrinking one would take minutes
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(
    depth=st.floats(18, 40),
    bays=st.sampled_from([2, 3]),
    web=st.floats(0.8, 2.0),
    share=st.floats(0.31, 0.97),
    bent=st.floats(0.21, 0.93),
)
def test_the_optimum_is_that_of_brute_force(make_specimen, depth, bays, web, share, bent) -> None:
    wing = make_specimen(length=90.0 * bays, pitch=90.0, depth=depth, web=web, case='tip_force = "20 N"')
    where = places(wing)
    stiff, open_wing = (analyse(where.laid(c), per_bay=1) for c in (where.every()[-1], where.every()[0]))
    strongest = check(stiff).load_factor_at_first_failure()
    low, high = sorted((abs(tip_deflection(stiff)), abs(tip_deflection(open_wing))))
    limits = Limits(share * strongest, deflection=low + bent * (high - low))
    best, every = brute_force(wing, limits)
    found = lightest(wing, limits, per_bay=1)
    ordered = lightest(wing, limits, per_bay=1, most_evaluated=0, seconds=60)
    for result in (found, ordered):
        assert result.proven
        assert (result.best is None) == (best is None)
        if best is not None:
            assert result.best is not None
            assert_allclose(result.best.web_mass, best, rtol=1e-9)
            assert result.best.load_factor >= limits.load_factor
            assert_allclose(result.lower_bound, best, rtol=1e-9)
    # The front: nothing that brute force knows is at once lighter and stronger, and all of it is on offer.
    for one in found.strength:
        assert not any(m <= one.web_mass * (1 - 1e-9) and n >= one.load_factor * (1 + 1e-9) for m, n in every)
    for mass, factor in every:
        assert any(
            c.web_mass <= mass * (1 + 1e-9) and c.load_factor >= factor * (1 - 1e-9) for c in found.strength
        )


@pytest.fixture(scope="module")
def spar(make_specimen):
    return make_specimen(length=180.0, bays='"1-2"', case='tip_force = "30 N"')


def test_each_limit_bites(spar) -> None:
    plain = Limits(1.5)
    free = lightest(spar, plain, per_bay=1)
    assert free.best is not None
    assert free.evaluated == free.total == 64
    everything = free.everything
    assert everything.web_mass > free.best.web_mass
    harder = lightest(spar, Limits(0.99 * free.strength[-1].load_factor), per_bay=1).best
    assert harder is not None
    assert harder.web_mass > free.best.web_mass
    stiffer = lightest(spar, replace(plain, deflection=1.02 * abs(everything.deflection)), per_bay=1).best
    assert stiffer is not None
    assert stiffer.web_mass > free.best.web_mass
    straighter = lightest(spar, replace(plain, twist=0.2 * abs(free.best.twist) + 1e-9), per_bay=1).best
    assert straighter is None or abs(straighter.twist) <= 0.2 * abs(free.best.twist) + 1e-9
    assert lightest(spar, replace(plain, web_mass=0.9 * free.best.web_mass), per_bay=1).best is None
    small = Stock(1.6e-3, 0.5 * free.best.web_mass / (184 * 1.6e-3))
    assert lightest(spar, replace(plain, stock=(small,)), per_bay=1).best is None
    other = Stock(3e-3, 0.0)
    same = lightest(spar, replace(plain, stock=(other,)), per_bay=1).best
    assert same is not None
    assert_allclose(same.web_mass, free.best.web_mass)


def test_a_web_once_ended_is_not_begun_again(spar) -> None:
    found = lightest(spar, Limits(0.1, runs=True), per_bay=1)
    # On each face one run of 0 to 3 of the 3 bays: 1 + 3 * 4/2 choices.
    assert found.total == 7**2
    for one in (*found.strength, *found.stiffness, *found.twisting):
        for face in ("front", "rear"):
            has = [face in one.faces["spar", bay] for bay in (1, 2, 3)]
            assert sum(b and not a for a, b in itertools.pairwise([False, *has])) <= 1


def test_a_search_that_is_cut_short_says_so(spar) -> None:
    limits = Limits(2.0)
    whole = lightest(spar, limits, per_bay=1)
    hasty = lightest(spar, limits, per_bay=1, most_evaluated=0, seconds=0.0)
    assert whole.best is not None
    assert not hasty.proven
    assert hasty.evaluated < whole.evaluated
    assert hasty.lower_bound <= whole.best.web_mass
    assert hasty.best is None or hasty.best.web_mass >= whole.best.web_mass * (1 - 1e-9)


def test_survival_is_asked_of_scattered_wood(spar) -> None:
    plain = lightest(spar, Limits(2.0), per_bay=1)
    sure = lightest(spar, Limits(2.0, survival=0.9), per_bay=1)
    assert plain.best is not None
    assert sure.best is not None
    assert sure.nominal is not None
    assert sure.nominal.web_mass == plain.best.web_mass
    assert sure.best.web_mass >= plain.best.web_mass
    assert sure.best.survival is not None
    assert sure.best.survival >= 0.9
    assert all((c.survival or 0) < 0.9 for c in sure.tried if c.web_mass < sure.best.web_mass)
    assert lightest(spar, Limits(1.0, survival=0.9999, deflection=1e-9), per_bay=1).best is None


def test_sums_come_in_rising_order() -> None:
    rng = np.random.default_rng(8832)
    lists = [np.round(rng.uniform(0, 3, size), 1) for size in (3, 4, 1, 2, 3)]
    drawn = list(lightest_first(lists))
    assert len(drawn) == len({choice for _, choice in drawn}) == 3 * 4 * 1 * 2 * 3
    totals = [total for total, _ in drawn]
    assert all(a <= b + 1e-12 for a, b in itertools.pairwise(totals))
    for total, choice in drawn:
        assert_allclose(total, sum(values[k] for values, k in zip(lists, choice)), rtol=1e-12)


def test_an_answer_holds_by_the_verdict_and_lighter_ones_are_rejected() -> None:
    """Where the bent wing's lift is harder than that of the wing as built."""
    wing = limber()
    limits = Limits(9.0)
    found = lightest(wing, limits, free=(("main", 5), ("main", 6)), per_bay=1)
    rejected, kept = found.judged
    assert found.nominal is not None
    assert found.best is kept
    assert rejected.codes.tobytes() == found.nominal.codes.tobytes()
    assert min(one.load_factor for one in found.judged) > limits.load_factor
    assert kept.web_mass > rejected.web_mass
    for one, good in ((rejected, False), (kept, True)):
        laid = found.places.laid(one.codes)
        expected = verdict(replace(laid, case=replace(laid.case, load_factor=9.0)), per_bay=1)
        assert one.verdict is not None
        assert_allclose(one.verdict.failing, expected.failing, rtol=1e-9)
        assert_allclose(one.verdict.least, expected.least, rtol=1e-9)
        assert_allclose(one.verdict.survive, expected.survive, rtol=1e-9)
        assert (expected.least >= 1) is good


@pytest.mark.long
@pytest.mark.parametrize("name", ["trainer", "powered-tailless"])
def test_an_answer_is_told_as_the_verdict_has_it(name: str) -> None:
    """At the load of the file: as `check` says of the wing with these webs."""
    wing = read(shipped()[name])
    spar = wing.spars[0].name
    found = lightest(wing, Limits(wing.case.load_factor), free=((spar, 3), (spar, 5)), per_bay=2)
    assert found.best is not None
    told, expected = found.best.verdict, verdict(found.places.laid(found.best.codes), per_bay=2)
    assert told is not None
    assert_allclose(told.failing, expected.failing, rtol=1e-9)
    assert_allclose(told.least, expected.least, rtol=1e-9)
    assert_allclose(told.survive, expected.survive, rtol=1e-9)
    assert told.governing.name == expected.governing.name


@pytest.mark.long
def test_a_case_beside_the_pull_up_rejects_a_layout() -> None:
    """A roll at 70 m/s, which a wing that bears ten times the pull-up asked does not bear."""
    wing = read(shipped()["powered-tailless"])
    fast = replace(wing, flight=replace(wing.flight, cruise_speed=33.3, never_exceed_speed=70.0))
    spar = wing.spars[0].name
    found = lightest(fast, Limits(2.0), free=((spar, 10), (spar, 11)), per_bay=1)
    first, *others = found.judged
    assert first.load_factor > 10 * 2.0
    assert first.verdict is not None
    assert first.verdict.failing > 2.0
    assert "roll" in first.verdict.governing.name
    assert first.verdict.governing.mean < 1
    assert others
    assert found.best is others[-1]
    assert found.best.verdict is not None
    assert min(one.mean for one in (found.best.verdict.pull_up, *found.best.verdict.others)) >= 1
