"""Proof tests: shares of strength, duration of load, what hangs where, what passing does to the scatter."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from models.studies.collapse import DamagedWing
from models.studies.proof import TARGET, Proof, duration_factor, proof, sentences, share_of
from models.wing.reading import read
from models.wings import shipped


@pytest.fixture(scope="module")
def strong():
    wing = read(shipped()["trainer"])
    return proof(replace(wing, case=replace(wing.case, load_factor=3.0)))


def test_shares_by_mode_and_wood():
    assert share_of("cap compression", ("balsa medium",)).value == 0.75
    assert share_of("cap compression", ("spruce",)).value == 0.80
    # The cautious one where both bear.
    assert share_of("cap compression", ("spruce", "carbon")).value == 0.75
    assert share_of("cap buckling", ("spruce",)).value == 0.80
    assert_allclose(share_of("cap tension", ("spruce",)).value, 2 / 3, rtol=1e-12)
    assert_allclose(share_of("web shear, bending and crushing", ()).value, 2 / 3, rtol=1e-12)
    assert_allclose(share_of("glue line", ()).value, 2 / 3, rtol=1e-12)
    assert share_of("web shear buckling", ()).value == 0.8
    for mode in ("cap compression", "cap tension", "glue line", "web shear buckling"):
        assert "[" in share_of(mode, ()).source or "no source" in share_of(mode, ()).source


def test_no_part_goes_beyond_its_share(strong):
    loads = [limit.load_factor for limit in strong.limits]
    assert loads == sorted(loads)
    for limit in strong.limits[:20]:
        assert_allclose(
            limit.load_factor, limit.margin.reserve_factor * strong.asked * limit.share.value, rtol=1e-12
        )
    assert strong.highest < strong.first_failure
    # No sheeting: the state is the same at every load, and the shares alone decide.
    assert_allclose(strong.highest, 2 / 3 * strong.first_failure, rtol=1e-3)


def test_a_strong_wing_is_tested_a_little_beyond_what_is_asked(strong):
    assert strong.possible
    assert_allclose(strong.suggested, TARGET[1] * strong.asked, rtol=1e-12)
    said = sentences(strong)
    assert "Test at 3.5 g" in " ".join(said) or "Test at 3.4 g" in " ".join(said)
    assert "Passing proves" in said[-1]


def test_a_weak_wing_cannot_be_proved():
    wing = read(shipped()["trainer"])
    test = proof(replace(wing, case=replace(wing.case, load_factor=7.0)))
    assert not test.possible
    assert test.suggested == test.highest < test.asked
    assert "no test can prove it" in sentences(test)[-1]


def test_what_hangs_is_in_balance(strong):
    y, mass = (np.array(v) for v in zip(*strong.loads, strict=True))
    assert_allclose(mass.sum(), 0, atol=1e-9 * np.abs(mass).sum())
    assert mass[0] < 0 < mass[3]
    assert (np.diff(y) > 0).all()
    # Outboard of the centre it is what the lift leaves after the wing's own inertia: less than the lift.
    state = DamagedWing(read(shipped()["trainer"]))
    lift = state.analysis.pull_up.rib_lift / state.analysis.load_factor * strong.suggested / 9.80665
    assert (mass[1:] < lift[1:]).all()
    assert mass[1:].sum() > 0.8 * lift[1:].sum()


def test_duration_of_load():
    assert_allclose(duration_factor(300.0), 1.0, rtol=1e-12)
    assert_allclose(duration_factor(30.0), 1.075, rtol=1e-12)
    short, long = (proof(read(shipped()["spar-box"]), hold=h) for h in (10.0, 600.0))
    assert short.equivalent < long.equivalent
    assert_allclose(long.equivalent, (1 + 0.075 * np.log10(300)) / (1 - 0.075 * np.log10(2)), rtol=1e-12)
    assert long.proves > short.proves


def test_bowed_sheeting_lowers_the_test(make_wing):
    sheet = '[[sheeting]]\nfrom = "leading edge"\nto = "main"\nthickness = "1 mm"\nwood = "balsa light"\n'
    test = proof(make_wing(extra=sheet))
    assert test.sheeting is not None
    assert test.sheeting < test.highest
    assert any("may be seen to bow" in s for s in sentences(test))


def test_nothing_loaded_nothing_to_prove():
    empty = Proof((), 1.0, float("inf"), float("inf"), None, 60.0, 1.0, (), ())
    assert sentences(empty) == ["Nothing is loaded, so there is nothing to prove."]
