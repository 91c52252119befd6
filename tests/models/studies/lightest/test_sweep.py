"""Every layout's answer from condensed bays against building, solving and checking that layout."""

from __future__ import annotations

import os
from collections.abc import Callable
from functools import lru_cache
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from models.analysis import analyse, tip_deflection, wing_twist
from models.loads.pull_up import LightAeroplane
from models.strength import check
from models.studies.compare import web_mass
from models.studies.lightest import Asymmetric, Sweep, Untabulated, places
from models.studies.lightest.places import Places, distinct
from models.studies.lightest.sweep import Evaluated
from models.studies.scatter import sets_of_wood
from models.studies.scatter.states import Solver
from models.wing.parts import Wing
from models.wing.reading import read

WINGS = Path(__file__).parents[4] / "models" / "wings"
EXACT = 1e-9
"""Relative: the same numbers by another order of elimination, so that only rounding is left."""


@lru_cache(maxsize=8)
def shipped(name: str) -> Wing:
    return read(WINGS / f"{name}.toml")


def drawn(where: Places, n: int, seed: int) -> np.ndarray:
    rng = np.random.default_rng(seed)
    return np.stack([rng.integers(0, len(cell.choices), n) for cell in where.cells], axis=1)


def assert_as_full(where: Places, found: Evaluated, k: int, per_bay: int) -> None:
    analysis = analyse(where.laid(found.codes[k]), per_bay=per_bay)
    margins = check(analysis)
    first = margins.first()
    deflection = tip_deflection(analysis)
    assert_allclose(
        [found.load_factor[k], found.deflection[k], found.web_mass[k]],
        [margins.load_factor_at_first_failure(), deflection, web_mass(analysis.model)],
        rtol=EXACT,
    )
    # With two spars twist is the small difference of their deflections, over the way between them.
    x = [float(spar.x.at(where.wing.semispan)) for spar in where.wing.spars]
    of_deflection = EXACT * abs(deflection) / np.ptp(x) if len(x) > 1 else 0.0
    assert_allclose(found.twist[k], wing_twist(analysis)[1][-1], rtol=EXACT, atol=of_deflection)
    tied = [(r.mode, r.part) for r in margins.rows if r.reserve_factor < first.reserve_factor * (1 + EXACT)]
    assert found.first(k) in tied


@pytest.mark.parametrize(
    ("name", "spar", "bays", "per_bay"),
    [
        ("short-tailless", "front", range(1, 4), 2),
        pytest.param("powered-tailless", "front", range(1, 9), 2, marks=pytest.mark.long),
        ("trainer", "main", range(1, 9), 1),
        pytest.param("sailplane", "main", range(2, 5), 2, marks=pytest.mark.long),
        ("box-two-spars-sheeted", "front", range(1, 4), 2),
    ],
)
def test_answers_are_those_of_full_solves(
    name: str, spar: str, bays: range, per_bay: int, path_of: Callable[[str], Path]
) -> None:
    where = places(read(path_of(name)), tuple((spar, bay) for bay in bays))
    codes = drawn(where, 6, 20933)
    found = Sweep(where, per_bay=per_bay).answers(codes)
    for k in (0, 3):
        assert_as_full(where, found, k, per_bay)


def test_two_spars_together_and_a_surface_loading(make_wing) -> None:
    spars = "".join(
        f'[[spars]]\nname = "{name}"\nat = "{at} %"\n'
        'caps = { width = "6 mm", height = "4 mm", wood = "balsa medium" }\n'
        '[[spars.webs]]\nbays = "1-2"\nface = "both"\nthickness = "1.5 mm"\ngrain = "span"\n'
        for name, at in (("front", 25), ("rear", 60))
    )
    wing = make_wing(
        ribs='count = 4\nthickness = "2 mm"\nwood = "light ply"',
        spars=spars,
        case='load_factor = 5\nspeed = "80 km/h"\nlift = "surface"\nmass = "1.2 kg"\n'
        "moment_coefficient = -0.05",
    )
    where = places(wing)
    assert where.count() == 4**6
    codes = drawn(where, 5, 7741)
    found = Sweep(where, per_bay=1, threads=1).answers(codes)
    for k in range(3):
        assert_as_full(where, found, k, 1)


def test_a_tail_trims_what_hangs_in_the_fuselage_without_a_flying_mass(make_wing) -> None:
    """The tail's couple counts although nothing beyond the wing's own parts has weight."""
    wing = make_wing(
        spars='[[spars]]\nname = "main"\nat = "30 %"\n'
        'caps = { width = "6 mm", height = "4 mm", wood = "balsa medium" }\n'
        '[[spars.webs]]\nbays = "1-2"\nface = "front"\nthickness = "1.5 mm"\n',
        case='load_factor = 5\nspeed = "80 km/h"\nmoment_coefficient = -0.05',
        extra='[[masses]]\nname = "radio"\nmass = "300 g"\nx = "20 mm"\ncarried_by = "fuselage"\n',
    )
    where = places(wing)
    assert_as_full(where, Sweep(where, per_bay=1, threads=1).answers(drawn(where, 2, 3)), 0, 1)


@settings(
    max_examples=5,
    derandomize="SPARBAY_LONG" not in os.environ,
    deadline=None,
    phases=[Phase.generate],
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(
    depth=st.floats(15, 40),
    pitch=st.sampled_from([60.0, 90.0, 120.0]),
    web=st.floats(0.8, 2.5),
    grain=st.sampled_from(["upright", "span", "45 deg"]),
    seed=st.integers(1, 10**6),
)
def test_answers_on_random_spars(make_specimen, depth, pitch, web, grain, seed) -> None:
    where = places(make_specimen(depth=depth, pitch=pitch, web=web, grain=grain, bays='"1-2"'))
    codes = drawn(where, 3, seed)
    found = Sweep(where, per_bay=1, threads=1).answers(codes)
    assert_as_full(where, found, 1, 1)


def test_caps_bent_and_pressed_together_are_judged_alike_everywhere(make_specimen) -> None:
    web = (
        '[[spars.webs]]\nbays = "all"\nface = "both"\nthickness = "4 mm"\nwood = "birch ply"\nglue = "epoxy"'
    )
    caps = '{ width = "10 mm", height = "6 mm", wood = "spruce" }'
    case = 'tip_force = "1 N"\ntip_torque = "0.1 N mm"'  # a twist to compare
    where = places(make_specimen(webs=web, post=4, caps=caps, case=case))
    every = len(where.cells[0].choices) - 1
    codes = np.full((6, 6), every) - every * np.eye(6, dtype=int)  # one bay open, the others with both webs
    found = Sweep(where, per_bay=1, threads=1).answers(codes)
    first = [found.first(k)[0] for k in range(len(codes))]
    for mode in ("cap compression", "cap bending, open bay"):
        k = first.index(mode)
        assert_as_full(where, found, k, 1)
        wood, _ = sets_of_wood(Solver(analyse(where.laid(codes[k]), per_bay=1)), 1, 1)
        # 1e-7: recovered once more, piece by piece.
        assert_allclose(wood.nominal, found.load_factor[k], rtol=1e-7)


def test_an_answer_does_not_hang_on_what_is_asked_with_it() -> None:
    where = places(shipped("trainer"), tuple(("main", bay) for bay in range(2, 7)))
    codes = drawn(where, 40, 3391)
    sweep = Sweep(where, per_bay=1)
    together, alone = sweep.answers(codes), sweep.answers(codes[7:8])
    assert_allclose(together.load_factor[7], alone.load_factor[0], rtol=EXACT)
    assert_allclose(together.deflection[7], alone.deflection[0], rtol=EXACT)
    before = codes.copy()
    sweep.answers(codes)
    assert np.array_equal(codes, before)


def test_different_rows_are_found() -> None:
    rows = np.random.default_rng(5).integers(0, 3, (200, 30))
    rows[100:] = rows[:100]
    different, place = distinct(rows)
    assert np.array_equal(different[place], rows)
    assert len(different) == len(np.unique(rows, axis=0)) == 100


def test_a_brace_keeps_webs_off_its_face() -> None:
    where = places(shipped("trainer"))
    first = where.cells[0]
    assert first.choices == ((), ("front",))
    assert where.cells[1].choices == ((), ("front",), ("rear",), ("front", "rear"))
    assert np.array_equal(where.codes({}), where.own)
    with pytest.raises(KeyError):
        where.codes({("main", 1): ("rear",)})
    with pytest.raises(KeyError):
        where.codes({("main", 99): ()})


def test_a_web_let_in_between_the_caps_may_stay(make_specimen) -> None:
    where = places(make_specimen("between", bays='"1-2"'))
    assert where.cells[0].choices[-1] == ("between",)
    assert where.faces(where.own)[where.cells[0].spar, where.cells[0].bay] == ("between",)
    found = Sweep(where, per_bay=1).answers(drawn(where, 4, 6647))
    assert_as_full(where, found, 2, 1)


def test_wings_that_are_none_for_it(make_wing) -> None:
    lopsided = make_wing(extra='[[masses]]\nname = "camera"\nmass = "50 g"\nx = "50 mm"\ny = "300 mm"\n')
    with pytest.raises(Asymmetric, match="port and starboard"):
        places(lopsided)
    half_sheeted = make_wing(
        extra='[[sheeting]]\nfrom = "leading edge"\nto = "15 %"\nthickness = "1 mm"\nwood = "balsa medium"\n'
    )
    with pytest.raises(Untabulated, match="sheeting ends between"):
        Sweep(places(half_sheeted), per_bay=1)
    light = make_wing(case='load_factor = 5\nmass = "1 g"')
    where = places(light)
    sweep = Sweep(where, per_bay=1)
    with pytest.raises(LightAeroplane):
        sweep.answers(where.own[None])


def test_webs_of_one_side_alone_are_put_on_both(make_wing) -> None:
    spars = (
        '[[spars]]\nname = "main"\nat = "30 %"\ncaps = { width = "8 mm", height = "4 mm", wood = "spruce" }\n'
        '[[spars.webs]]\nbays = "1-3"\nface = "rear"\nthickness = "1.5 mm"\nside = "starboard"\n'
    )
    where = places(make_wing(spars=spars))
    assert not where.wing.whole
    webs = where.wing.spars[0].webs
    assert {w.side for w in webs} == {"port", "starboard"}
