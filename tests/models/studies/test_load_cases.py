"""All load cases solved: balance, cuts, order, the pull-up of `check`, torsion of flaps, held wings."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from numpy.testing import assert_allclose

from models.analysis import analyse
from models.loads.carrying import own_weight
from models.loads.elevons import flap_moment
from models.loads.pull_up import GRAVITY
from models.strength import check
from models.studies.load_cases import LoadStudy, load_cases, sentences
from models.studies.proof import proof
from models.wing.reading import read_text

WING = """
[planform]
stations = [
    { y = "0 mm", chord = "240 mm", section = "NACA 0015" },
    { y = "600 mm", chord = "240 mm" },
]
[ribs]
count = 7
thickness = "2 mm"
[[spars]]
name = "front"
at = "25 %"
caps = { width = "10 mm", height = "5 mm", wood = "spruce" }
[[spars.webs]]
bays = "all"
face = "both"
thickness = "1.5 mm"
[[spars]]
name = "rear"
at = "65 %"
caps = { width = "8 mm", height = "4 mm", wood = "spruce" }
[[spars.webs]]
bays = "all"
face = "front"
thickness = "1.5 mm"
[[sheeting]]
to = "rear"
thickness = "1.5 mm"
[case]
load_factor = 6.0
speed = "72 km/h"
mass = "2 kg"
[elevons]
from = "300 mm"
to = "500 mm"
hinge = "75 %"
"""


BARE = WING[: WING.index("[elevons]")]
NOT_CARRIED = "[landing]\ncarrying_load_factor = 0.0\n"


@cache
def study(text: str = WING) -> LoadStudy:
    return load_cases(read_text(text), per_bay=1)


def case(name: str, text: str = WING):
    return next(one for one in study(text).cases if one.name.startswith(name))


def struck(more: str):
    return case("tip strike", f"{BARE}{NOT_CARRIED}{more}")


def test_every_case_is_in_equilibrium_and_its_cuts_say_so() -> None:
    for one in study().cases:
        assert one.checks.residual < 1e-8
        assert one.checks.free_reaction < 1e-8
        assert one.gap < 1e-6, one.name
        assert one.weakest is not None
        # Nothing lies beyond the tips.
        ends = one.sections.values[[0, -1]]
        assert np.abs(ends).max() < 1.5 * np.abs(one.sections.values).max()


def test_the_pull_up_is_that_of_check() -> None:
    margins = check(analyse(read_text(WING), per_bay=1))
    plain = WING.replace('[[sheeting]]\nto = "rear"\nthickness = "1.5 mm"\n', "")
    found = study(plain).cases[0]
    bare = check(analyse(read_text(plain), per_bay=1))
    assert_allclose(found.reserve, bare.rows[0].reserve_factor, rtol=1e-6)
    assert found.weakest is not None
    assert found.weakest.mode == bare.rows[0].mode
    # With sheeting that bows it is what the proof test settles to, the bound of it on the safe side.
    n = proof(read_text(WING), per_bay=1).first_failure / margins.load_factor
    assert n < 0.97 * margins.rows[0].reserve_factor
    assert 0.99 * n < study().cases[0].reserve < 1.003 * n


def test_ranked_by_reserve_and_told_in_that_order() -> None:
    ranked = study().ranked
    reserves = [one.reserve for one in ranked]
    assert reserves == sorted(reserves)
    words = sentences(study())
    assert words[0].startswith(f"Hardest case: {ranked[0].name}")
    assert words[1].startswith(f"Second: {ranked[1].name}")
    hard = study(f"{BARE}{NOT_CARRIED}tip_force = 20.0\n")
    assert not hard.ranked[0].reserve >= 1
    assert any("fails" in line and "tip strike (starboard)" in line for line in sentences(hard))


def test_flaps_twist_by_the_closed_form_of_their_moment() -> None:
    """Steady roll on a straight wing: lift on the quarter chord, no inertia; torsion inboard of the flap is
    q c^2 c_m delta times its length, opposite on the two sides."""
    one = case("steady roll")
    # At the manoeuvring speed: q S C_L,max = n W.
    y, pressure = one.sections.y, 6 * 2 * GRAVITY / (0.9 * 1.2 * 0.24)
    wanted = pressure * 0.24**2 * flap_moment(0.75) * np.radians(20) * 0.2
    inner = np.argmin(np.abs(y - 0.25)), np.argmin(np.abs(y + 0.25))
    found = (one.sections.torsion[inner[0]] - one.sections.torsion[inner[1]]) / 2
    # Strips against the pieces that ribs cut leave 0.2 % of the roll to inertia, off the quarter chord.
    assert_allclose(found, wanted, rtol=5e-3)


def test_a_roll_bends_the_side_of_the_lowered_flap_up() -> None:
    one = case("steady roll")
    s = one.sections
    out = np.argmin(np.abs(s.y - 0.25)), np.argmin(np.abs(s.y + 0.25))
    assert one.twist[1] < one.twist[0]  # starboard flap down twists starboard nose down
    assert s.shear[out[0]] != pytest.approx(s.shear[out[1]], rel=1e-3)


def test_elevons_in_pitch_twist_both_sides_alike() -> None:
    up, down = case("elevons up"), case("elevons down")
    assert_allclose(up.twist[0], up.twist[1], rtol=1e-6)
    assert up.twist[0] > down.twist[0]


def test_a_tip_that_strikes_carries_its_push() -> None:
    one = case("tip strike")
    s = one.sections
    weight = 2 * GRAVITY
    k = int(np.argmax(s.y))
    # What strikes the last rib, less what it takes to speed up that rib and its half bay.
    assert 0.75 * weight < s.shear[k] < weight
    assert 0.75 * 0.5 * weight < s.drag[k] < 0.5 * weight
    assert s.sweeping[s.root(1)] > 0
    # Twice the push adds the same again: the lift stays.
    twice, once, none = (struck(f"tip_force = {size}\n").sections.values for size in (2.0, 1.0, 1e-9))
    assert_allclose(twice - once, once - none, rtol=0, atol=1e-8 * np.abs(twice).max())


def test_held_wings_bear_on_their_hands() -> None:
    both, tip = case("held at both tips"), case("carried by starboard tip")
    nodes = study().situation.model.structure.nodes
    load = 1.5 * own_weight(study().situation)[:, 2, 0]
    assert_allclose(load.sum(), -1.5 * study().situation.flight.wing_mass * GRAVITY, rtol=1e-9)
    end = int(np.argmax(both.sections.y))
    # Half of the weight goes to each hand, less what hangs on the last rib.
    at_end = load[nodes[:, 1] > nodes[:, 1].max() - 1e-6].sum()
    assert_allclose(both.sections.shear[end], -load.sum() / 2 + at_end, rtol=1e-6)
    assert both.sections.bending[both.sections.root(1)] > 0
    # Held at starboard, port and centre hang from it: bending by their weight at the grip.
    s = tip.sections
    at = int(np.argmin(np.abs(s.y - 0.5 + 1e-9)))
    assert s.bending[at] < 0
    assert_allclose(s.shear[s.root(-1)], load[nodes[:, 1] < -1e-6].sum(), rtol=1e-8)
    # Seen from the centre both tips hang; starboard bears more and bends more.
    assert tip.tip_deflection[1] < tip.tip_deflection[0] < 0


def test_body_length_matters_to_a_strike() -> None:
    short, long = (struck(f'body_length = "{b} m"\n') for b in (0.5, 2))
    root = short.sections.root(-1)
    # A body that resists turning in yaw takes over what the wing's other half would.
    assert abs(long.sections.sweeping[root]) != pytest.approx(abs(short.sections.sweeping[root]), rel=1e-3)


def test_reversal_comes_sooner_on_a_softer_wing_and_does_not_hang_on_the_speed() -> None:
    wing = read_text(WING)
    stiff = study().reversal
    soft = load_cases(replace(wing, sheets=()), per_bay=1).reversal
    assert 0 < soft < stiff
    faster = load_cases(read_text(WING + 'speed = "100 km/h"\n'), per_bay=1).reversal
    assert_allclose(faster, stiff, rtol=1e-3)


def test_without_elevons_nothing_reverses_and_steps_are_told() -> None:
    told: list[tuple[str, int]] = []
    bare = load_cases(read_text(BARE + NOT_CARRIED), per_bay=1, step=lambda *one: told.append(one))
    assert [one.name for one in bare.cases] == ["pull-up", "tip strike (starboard)", "belly landing"]
    assert told == [(one.name, 3) for one in bare.cases]
    assert np.isnan(bare.reversal)


def test_a_push_of_nothing_is_no_case() -> None:
    none = "tip_force = 0.0\nbelly_load_factor = 0.0\n"
    assert [one.name for one in study(f"{BARE}{NOT_CARRIED}{none}").cases] == ["pull-up"]


def test_a_twist_beyond_a_quarter_turn_has_no_figure() -> None:
    found = study()
    first = found.cases[0]
    for twist, words in ((0.3, "17 deg"), (30.0, "more than a quarter turn")):
        cases = (replace(first, twist=np.array([twist, 0.0])), *found.cases[1:])
        assert f"twists by {words}" in " ".join(sentences(replace(found, cases=cases)))


def test_the_bent_wing_flies_in_balance_in_every_case_of_the_air() -> None:
    """Cut through the elements it carries what acts outboard; cases as built stay as they were, but for the
    rounding of more columns solved at once."""
    wing = read_text(WING)
    plain, study = load_cases(wing, per_bay=1), load_cases(wing, per_bay=1, bent=None)
    for before, one in zip(plain.cases, study.cases, strict=True):
        assert one.reserve == pytest.approx(before.reserve, rel=1e-9)
        flown = one.case.kind == "flight"
        assert (one.bent is not None) is flown
        if one.bent is not None:
            assert one.ends > one.case.speed / 0.9
            assert one.bent.gap < 1e-6
            assert one.bent.checks.free_reaction < 1e-9
            assert one.bent.reserve != one.reserve
    assert all(one.bent is None for one in plain.cases)


@pytest.mark.parametrize("trimmed_by", ["elevons", "tail"])
def test_the_pull_up_alone_is_solved_on_one_side_and_says_the_same(trimmed_by: str) -> None:
    """A body hangs on the centre section there, which answers by inertia where both sides are modelled."""
    wing = read_text(WING if trimmed_by == "elevons" else BARE)
    one = load_cases(wing, per_bay=1, bent=None, only={"pull-up"}).cases
    every = load_cases(wing, per_bay=1, bent=None).cases
    assert [found.name for found in one] == ["pull-up"]
    assert one[0].analysis.pull_up.trimmed_by == trimmed_by
    assert len(one[0].analysis.model.parts) < len(every[0].analysis.model.parts)
    for got, wanted in ((one[0], every[0]), (one[0].bent, every[0].bent)):
        assert got is not None
        assert wanted is not None
        assert got.reserve == pytest.approx(wanted.reserve, rel=1e-5)  # as close as sheeting settles
        assert_allclose(got.twist, wanted.twist, rtol=1e-6)
        assert_allclose(got.tip_deflection, wanted.tip_deflection, rtol=1e-6)
    assert one[0].ends == pytest.approx(every[0].ends, rel=1e-6)


def test_a_bent_wing_rolls_less_and_a_slow_one_is_not_bent() -> None:
    """Twist takes from what ailerons begin; in thin air reserves become those of the wing as built."""
    wing = read_text(WING)
    study = load_cases(wing, per_bay=1, bent=None)
    begun = next(one for one in study.cases if one.name.startswith("roll begun"))
    assert begun.bent is not None
    rolls = [
        abs(float(one.analysis.solution.acceleration[3, one.analysis.case])) for one in (begun, begun.bent)
    ]
    assert rolls[1] < rolls[0]
    case = replace(wing.case, air_density=wing.case.air_density / 1e6)
    thin = load_cases(replace(wing, case=case), per_bay=1, bent=("pull-up",)).cases[0]
    assert thin.bent is not None
    assert thin.bent.reserve == pytest.approx(thin.reserve, rel=1e-4)
