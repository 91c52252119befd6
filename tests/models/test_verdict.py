"""The verdict: its parts against the studies that it joins, and what it says."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest

from fea.assembly import Assembly
from fea.solve import free_body, pinned
from fea.structure import Loads
from models import units_out as say
from models.analysis import Analysis, analyse
from models.command.files import find, read_wing
from models.command.record import warnings
from models.loads.body import with_body
from models.loads.cases import Situation
from models.loads.elastic_lift import Influence, behind
from models.loads.unsteady_lattice import Lattice
from models.loads.unsteady_strips import rib_forces
from models.rounding import down, gees
from models.strength import check
from models.strength.counted import counted
from models.structure import build
from models.studies.load_cases import load_cases
from models.studies.proof import proof
from models.studies.scatter.quick import Quick
from models.studies.speed_limit import Limit
from models.verdict import IN_THE_AIR, PULL_UP, Verdict, _all, record, sentences, share, verdict
from models.wing.faults import WingFileError
from models.wing.parts import Wing
from models.wing.reading import read_text
from tests.variants import limber


@lru_cache
def _wing(name: str) -> Wing:
    return limber() if name == "limber" else read_wing(name)


@lru_cache
def _found(name: str) -> Verdict:
    return verdict(_wing(name), per_bay=1)


def jointed(wing: Wing, joint: str) -> Wing:
    return replace(wing, spars=tuple(replace(spar, joint=joint) for spar in wing.spars))


@pytest.mark.parametrize(
    ("value", "places", "words"),
    [
        (8.86, 1, "8.8"),
        (0.999, 2, "0.99"),
        (1.0, 2, "1.00"),
        (7.1, 1, "7.1"),
        (94.99, 0, "94"),
        (math.inf, 1, "no limit"),
    ],
)
def test_figures_are_rounded_down(value: float, places: int, words: str) -> None:
    assert down(value, places) == words


def test_load_factors_of_either_sign_are_rounded_towards_none() -> None:
    assert [gees(n) for n in (4.37, -2.18, -0.04, 0.0, 3.0)] == ["4.3", "-2.1", "0.0", "0.0", "3.0"]
    assert gees(-3.999, 2) == "-3.99"


def test_it_joins_the_studies() -> None:
    wing = jointed(_wing("trainer"), "scarfed")
    found = verdict(wing, per_bay=1)
    tested, cases = proof(wing, per_bay=1), load_cases(wing, per_bay=1)
    assert found.bends is not None
    assert found.bends.built == pytest.approx(tested.first_failure, rel=1e-9)
    assert found.test == pytest.approx(tested.highest, rel=1e-9)
    by_name = {one.name: one.reserve for one in cases.cases}
    for one in (*found.others, *found.ground):
        assert one.mean == pytest.approx(by_name[one.name], rel=1e-9)
    assert {one.name for one in (found.pull_up, *found.others, *found.ground)} == set(by_name)
    assert all(one.kind in IN_THE_AIR for one in found.others)
    assert all(one.fifth < one.mean for one in (found.pull_up, *found.others, *found.ground))


def test_what_is_borne_in_the_air_does_not_hang_on_the_ground() -> None:
    """Dropped hard, the sailplane is left little: that must not leave a tow, harder than the pull-up's
    neighbours but not than the drop, at its bound; and each part is of the same wood in both."""
    whole, aloft = _found("sailplane"), verdict(_wing("sailplane"), per_bay=1, landing=False)
    assert min(one.mean for one in whole.ground) < 0.6 * whole.pull_up.mean
    assert aloft.ground == ()
    assert [one.name for one in aloft.others] == [one.name for one in whole.others]
    for one, again in zip((whole.pull_up, *whole.others), (aloft.pull_up, *aloft.others)):
        figures = [(case.mean, case.fifth, case.survive, case.built) for case in (one, again)]
        np.testing.assert_allclose(figures[1], figures[0], rtol=1e-9)
    assert aloft.survive == pytest.approx(whole.survive, rel=1e-12)


def test_it_survives_all_no_oftener_than_the_hardest() -> None:
    found = _found("sailplane")
    assert found.survive <= found.hardest.survive + 1e-12
    assert found.hardest.survive <= found.pull_up.survive


def test_wings_that_fail_late_in_the_larger_sample_fail_among_all() -> None:
    """The pull-up has wings of its own, more of them; no share of all is told above that of one case."""
    pulled, together = np.full(40_000, 2.0), np.full(6000, 2.0)
    pulled[30_000:30_010] = 0.9
    one = replace(_found("sailplane").pull_up, name="gust")
    found = _found("sailplane").pull_up
    flown = [(found, Quick(2.0, together)), (one, Quick(2.0, together))]
    assert _all(Quick(2.0, pulled), flown, PULL_UP) == 0.99975
    gust = together.copy()
    gust[:600] = 0.9
    # In the same wood the pull-up breaks the same wings, but fewer in its own larger sample.
    flown = [(found, Quick(2.0, gust)), (one, Quick(2.0, gust))]
    assert _all(Quick(2.0, pulled), flown, PULL_UP) == 0.9


def test_sheeting_that_bows_after_the_joint_has_broken_is_not_told_to_bow_before() -> None:
    found = _found("sailplane")
    solved = analyse(_wing("sailplane"), per_bay=1)
    margins = check(solved)

    def told(failing: float) -> list[str]:
        decided = replace(found, pull_up=replace(found.pull_up, mean=failing / found.asked))
        return [one for one in warnings(solved, margins, decided=decided) if "bows before" in one]

    assert len(told(found.failing)) == 1
    assert told(0.2 * found.failing) == []


@pytest.mark.long
@pytest.mark.parametrize("name", ["sailplane", "powered-tailless"])
def test_a_butted_joint_counts_where_the_spar_kinks(name: str) -> None:
    wing = _wing(name)
    unsaid, butted = (verdict(jointed(wing, joint), per_bay=1) for joint in ("", "butted"))
    scarfed = verdict(jointed(wing, "scarfed"), per_bay=1)
    assert unsaid.failing == butted.failing
    assert unsaid.failing < scarfed.failing
    assert unsaid.pull_up.first is not None
    assert "caps cut" in unsaid.pull_up.first.mode
    assert unsaid.cut
    assert not butted.cut
    assert not scarfed.cut


def test_a_straight_spar_runs_through() -> None:
    wing = _wing("trainer")
    spar = wing.spars[0]
    flat = replace(
        wing,
        spars=(
            replace(
                spar,
                joint="",
                z_upper=replace(spar.z_upper, value=np.full_like(spar.z_upper.value, spar.z_upper.value[0])),
                z_lower=replace(spar.z_lower, value=np.full_like(spar.z_lower.value, spar.z_lower.value[0])),
            ),
        ),
    )
    assert not verdict(flat, per_bay=1, alone=True).cut
    assert verdict(jointed(wing, ""), per_bay=1, alone=True).cut == ("main",)


def test_the_share_wanted_decides() -> None:
    wing = _wing("trainer")
    found = verdict(replace(wing, case=replace(wing.case, load_factor=7.0)), per_bay=1)
    assert not found.fit
    assert replace(found, wanted=found.survive).fit
    assert not replace(found, covered=0.9 * found.asked, wanted=0.5).fit
    light = verdict(replace(wing, case=replace(wing.case, load_factor=3.0)), per_bay=1)
    assert light.fit
    assert sentences(light)[0].startswith(f"Fit to fly as drawn: {share(light.survive)} such wings")
    shaken = sentences(light, ["the engine shakes it"])[0]
    assert shaken.startswith("Fit by strength, but not fit to fly as drawn: the engine shakes it. ")
    assert shaken.endswith(sentences(light)[0].partition(": ")[2])


def test_carrying_is_never_the_hardest() -> None:
    found = _found("sailplane")
    carried = next(one for one in found.ground if one.name == "carried by starboard tip")
    assert carried.mean < 1
    assert found.hardest.kind in IN_THE_AIR
    assert any(one.startswith("Do not lift it by the tips") for one in sentences(found))


def test_the_pull_up_alone_says_so() -> None:
    found = verdict(_wing("trainer"), per_bay=1, alone=True)
    assert not found.complete
    assert "Pull-up alone" in sentences(found)[0]
    assert not found.others
    assert found.failing == pytest.approx(_found("trainer").failing, rel=1e-9)


@pytest.mark.parametrize(
    ("old", "new", "path"),
    [
        ('joint = "scarfed"', 'joint = "glued"', "spars[0].joint"),
        ("load_factor = 4", 'load_factor = 4\nsurvive = "20 %"', "case.survive"),
        ("load_factor = 4", "load_factor = 4\nsurvive = 0.9", "case.survive"),
    ],
)
def test_keys_of_the_verdict_that_are_wrong(old: str, new: str, path: str) -> None:
    text = find("trainer").read_text(encoding="utf-8")
    with pytest.raises(WingFileError, match=re.escape(path)):
        read_text(text.replace(old, new))


def test_keys_of_the_verdict_are_read() -> None:
    text = find("trainer").read_text(encoding="utf-8")
    assert _wing("trainer").case.survive == 0.95
    text = text.replace('joint = "scarfed"', 'joint = "butted"')
    text = text.replace("load_factor = 4", 'load_factor = 8\nsurvive = "99 %"')
    wing = read_text(text)
    assert (wing.spars[0].joint, wing.case.survive) == ("butted", 0.99)
    assert verdict(wing, per_bay=1).fit is not _found("trainer").fit


def test_the_record_has_the_figures() -> None:
    found = _found("trainer")
    data = record(found)
    assert data["fit"] is found.fit
    assert data["load_factor_failing_one_in_twenty"] == found.fifth
    assert data["sentences"] == sentences(found)
    assert len(data["cases"]) == 1 + len(found.others) + len(found.ground)


def test_the_harder_of_both_loads_counts_in_the_pull_up() -> None:
    found = _found("limber")
    assert found.bends is not None
    assert found.bends.failing is not None
    study = load_cases(_wing("limber"), per_bay=1, bent=("pull-up",))
    one = study.cases[0]
    assert one.bent is not None
    share = one.bent.reserve / one.reserve
    assert found.bends.failing == pytest.approx(found.bends.built * share, rel=1e-9)
    assert found.bends.counts
    assert found.failing == found.bends.failing
    told = next(words for words in sentences(found) if "bent wing" in words)
    assert f"it fails at {down(found.bends.built)} g, by" in told
    assert "no speed in the file" in told
    data = record(found)["bent"]
    assert (
        data["load_factor_failing_mean_wood"]
        == found.bends.failing
        == record(found)["cases"][0]["reserve_factor_bent_wing"] * found.asked
    )
    assert data["load_factor_failing_as_built"] == found.bends.built
    assert data["counts"] is True


def test_relief_by_the_twist_is_told_and_does_not_count() -> None:
    found = _found("sailplane")
    assert found.bends is not None
    assert found.bends.failing is not None
    assert found.bends.failing > found.failing == found.bends.built
    assert any("a relief that" in words for words in sentences(found))


def test_every_flown_case_counts_the_harder_load() -> None:
    wing = _wing("sailplane")
    assert wing.flight is not None
    fast = replace(wing, flight=replace(wing.flight, never_exceed_speed=60.0))  # near where its rolls end
    found, study = verdict(fast, per_bay=1), load_cases(fast, per_bay=1, bent=None)
    by_name = {one.name: one for one in study.cases}
    for one in found.others:
        case = by_name[one.name]
        assert one.mean == pytest.approx(case.harder.reserve, rel=1e-9)
        assert (one.bent is None) is (case.bent is None)
        for row in () if case.bent is None else case.bent.margins.rows:
            assert min(r.reserve_factor for r in one.rows if (r.part, r.mode) == (row.part, row.mode)) <= (
                row.reserve_factor
            )
    untold = [one.name for one in found.others if one.untold]
    assert untold
    assert any(untold[0] in words for words in sentences(found) if words.startswith("What its own twist"))


SWEPT = """
name = "Swept wing"
[planform]
stations = [
    { y = "0 mm", chord = "200 mm", section = "NACA 0012" },
    { y = "700 mm", chord = "200 mm", leading_edge = "250 mm" },
]
[ribs]
count = 5
thickness = "2 mm"
[[spars]]
name = "main"
at = "22 %"
caps = { width = "6 mm", height = "3 mm", wood = "spruce" }
[[spars.webs]]
bays = "all"
face = "both"
thickness = "1.5 mm"
[case]
load_factor = 5.0
speed = "70 km/h"
mass = "1.5 kg"
"""


def _failing_by_iteration(wing: Wing) -> float:
    """Load factor at first failure in the pull-up of the bent wing: lift of the lattice, solved, twisted,
    lift again, until nothing moves, on the whole structure; only geometry is asked of the influence."""
    model = build(wing, per_bay=1, whole=True)
    situation = Situation.of(model, assembly := Assembly(model.structure))
    outer = situation.lifted(situation.flight.load_factor, wing.case.speed)
    factor = pinned(assembly)
    geometry = Influence(model, assembly, factor, situation.body, situation.flight.trimmed_by)
    assert geometry.trimmed_by == "tail"
    half = geometry.strips.starboard()
    at = np.concatenate([[0.0], np.cumsum(half.width)])
    s, plan = len(half.y), situation.planform
    lattice = Lattice(at, plan.leading_edge_x.at(at), plan.chord.at(at))
    by_angle = wing.case.air_density * situation.speed**2 * lattice.harmonic(0.0, 1)[:, s:].real
    arm = behind(plan, geometry.y, half, geometry.balance_x)
    nodal = np.zeros_like(outer)
    before = np.full(s, np.inf)
    for _ in range(80):
        solved = free_body(factor, Loads(with_body(model, assembly, outer + nodal, situation.body)))
        twist = geometry.twist(solved.displacements)[s:, 0]
        if np.abs(twist - before).max() < 1e-12:
            break
        before = twist
        turn = -(by_angle @ twist)[:s].sum() / (by_angle @ np.ones(s))[:s].sum()
        added = by_angle @ (twist + turn)
        ribs = [geometry.strips.ribs.T @ np.concatenate([k[::-1], k]) for k in np.split(added, 2)]
        nodal = (rib_forces(model)[1] @ np.concatenate(ribs)).reshape(-1, 6, 1)
        nodal = nodal + situation.trimming(-2 * float(added[s:].sum() - arm @ added[:s]))
    case = wing.case.load_factor
    one = Analysis(model, solved, 0, situation.flight, case, solved.recover(0))
    return counted(wing, check(one).rows)[0].reserve_factor * case


@pytest.mark.parametrize("name", ["limber", "swept"])
def test_what_is_told_is_what_iteration_on_the_whole_structure_settles_at(name: str) -> None:
    wing = _wing("limber") if name == "limber" else read_text(SWEPT)
    found = _found("limber") if name == "limber" else verdict(wing, per_bay=1, alone=True)
    assert found.bends is not None
    assert found.bends.failing == pytest.approx(_failing_by_iteration(wing), rel=1e-6)
    assert found.failing == min(found.bends.failing, found.bends.built)
    # Swept back, the bent wing's tips leave the lift to its middle; unswept, its twist adds to it outboard.
    assert found.bends.counts is (name == "limber")


def test_a_stiff_wing_has_the_verdict_of_the_wing_as_built() -> None:
    """Air a million times as thin at its speed is stiffness a million times as great, of the same lift."""
    wing = _wing("trainer")
    case = replace(wing.case, speed=15.0)
    stiff = replace(case, air_density=case.air_density / 1e6, moment_coefficient=0.0)
    found = verdict(replace(wing, case=stiff), per_bay=1)
    assert found.bends is not None
    assert found.failing == pytest.approx(found.bends.built, rel=1e-6)
    built = verdict(
        replace(wing, case=stiff), per_bay=1, cases=load_cases(replace(wing, case=stiff), per_bay=1)
    )
    assert built.bends is None
    assert found.survive == built.survive
    assert found.fifth == pytest.approx(built.fifth, rel=1e-5)
    assert [one.mean for one in found.others] == pytest.approx([one.mean for one in built.others], rel=1e-5)


def test_without_the_bent_wing_the_wing_as_built_counts() -> None:
    wing = _wing("limber")
    bare = verdict(wing, per_bay=1, cases=load_cases(wing, per_bay=1))
    assert bare.bends is None
    assert bare.failing == _found("limber").bends.built  # type: ignore[union-attr]
    assert bare.survive >= _found("limber").survive
    assert not any("bent wing" in words for words in sentences(bare))


def test_a_wing_that_twists_off_in_its_pull_up_is_not_fit() -> None:
    """Up to nine tenths of that speed it bears less the faster it flies; beyond, it is fit no more."""
    wing = _wing("limber")

    def at(speed: float) -> Verdict:
        return verdict(replace(wing, case=replace(wing.case, speed=speed)), per_bay=1)

    ends = _found("limber").pull_up.ends
    near, beyond, far = (at(share * ends) for share in (0.8999, 0.9001, 1.3))
    assert near.twists_off is None
    for one in (beyond, far):
        assert not one.fit
        assert one.twists_off == one.pull_up
        assert "it twists off" in sentences(one)[0]
        assert any("nine tenths of that speed" in words for words in sentences(one))
    # What strips say of it counts where it is lower, as in the limit of speed beside it.
    for onset in (0.8 * ends, 1.1 * ends):
        told = replace(beyond, speed=Limit(0.0, "twist-off", onset, math.inf))
        assert f"near {say.speed(min(onset, ends)):.0f}." in sentences(told)[0]
    assert near.pull_up.bent == pytest.approx(beyond.pull_up.bent, rel=2e-3)
    assert near.shortfall <= beyond.shortfall < far.shortfall
    assert record(far)["bent"]["ends_at_m_per_s"] == pytest.approx(ends)
