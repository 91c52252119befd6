"""Load cases: resultants as stated, balance, and keys whose values change the answer."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fea.assembly import Assembly
from fea.solve import free_body, total
from fea.structure import Loads
from models.loads.body import on_centre, wing_inertia, with_body
from models.loads.cases import CaseLoads, Situation, load_cases
from models.loads.landing import carriers, tip_mass, tip_place
from models.loads.pull_up import GRAVITY
from models.structure import Model, build
from models.wing.reading import WingFileError, read_text

WING = """
[planform]
stations = [
    { y = "0 mm", chord = "300 mm", section = "NACA 0018" },
    { y = "600 mm", chord = "240 mm", leading_edge = "30 mm", dihedral = "2 deg" },
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
face = "front"
thickness = "1.5 mm"
[[spars]]
name = "rear"
at = "60 %"
caps = { width = "8 mm", height = "4 mm", wood = "spruce" }
[[rails]]
name = "bearer"
y = "25 mm"
x_front = "-80 mm"
x_rear = "190 mm"
width = "10 mm"
height = "10 mm"
ties = ["front", "rear"]
tie_thickness = "3 mm"
[[masses]]
name = "leg"
mass = "60 g"
x = "110 mm"
y = "150 mm"
z = "-20 mm"
paired = true
[[masses]]
name = "motor"
mass = "80 g"
x = "20 mm"
y = "200 mm"
paired = true
[case]
load_factor = 6.0
speed = "90 km/h"
mass = "2 kg"
[elevons]
from = "320 mm"
to = "560 mm"
hinge = "75 %"
[landing]
legs = "leg"
[launch]
tow_tension = "60 N"
bungee_tension = "50 N"
motor = "motor"
motor_thrust = "8 N"
"""


def text(*changes: tuple[str, str]) -> str:
    out = WING
    for old, new in changes:
        assert old in out, old
        out = out.replace(old, new)
    return out


@cache
def built() -> tuple[Model, Assembly]:
    model = build(read_text(WING), per_bay=1, across_chord=2, whole=True)
    return model, Assembly(model.structure)


def situation(*changes: tuple[str, str]) -> Situation:
    """With other keys of the tables that do not change the structure."""
    model, assembly = built()
    return Situation.of(replace(model, wing=read_text(text(*changes))), assembly)


@pytest.fixture(scope="module")
def plain() -> Situation:
    return situation()


@pytest.fixture(scope="module")
def cases(plain: Situation) -> dict[str, CaseLoads]:
    return {case.name: case for case in load_cases(plain)}


def sums(plain: Situation, nodal: np.ndarray) -> np.ndarray:
    return total(plain.model.structure.nodes, nodal)[:, 0]


def test_every_case_is_there_once(cases: dict[str, CaseLoads]) -> None:
    assert list(cases) == [
        "pull-up",
        "roll begun (starboard elevon down)",
        "steady roll (starboard elevon down)",
        "elevons up",
        "elevons down",
        "roll begun at the never-exceed speed (starboard elevon down)",
        "steady roll at the never-exceed speed (starboard elevon down)",
        "elevons up at the never-exceed speed",
        "elevons down at the never-exceed speed",
        "tip strike (starboard)",
        "belly landing",
        "landing on all legs",
        "landing on one leg (starboard)",
        "tow or winch",
        "bungee",
        "hand launch",
        "motor at full thrust",
        "carried by starboard tip",
        "held at both tips",
    ]


def test_both_sides_where_they_may_differ() -> None:
    names = [case.name for case in load_cases(situation(("[planform]", "whole = true\n[planform]")))]
    assert {"tip strike (port)", "roll begun (port elevon down)", "carried by port tip"} <= set(names)


def test_free_cases_balance_with_inertia(plain: Situation, cases: dict[str, CaseLoads]) -> None:
    free = [case for case in cases.values() if not case.held]
    outer = np.concatenate([case.nodal for case in free], axis=2)
    solution = free_body(plain.assembly, Loads(with_body(plain.model, plain.assembly, outer, plain.body)))
    left = total(plain.model.structure.nodes, solution.loads)
    scale = np.abs(outer[:, :3]).sum(axis=(0, 1)) * np.array([[1.0]] * 6)
    assert (np.abs(left) < 1e-9 * scale).all()
    assert solution.checks.free_reaction < 1e-8
    # Wing and body fly as one: the acceleration is that of the whole aeroplane's inertia.
    inertia = wing_inertia(plain.model, plain.assembly) + plain.body.inertia()
    whole = np.linalg.solve(inertia, total(plain.model.structure.nodes, outer))
    size = np.abs(whole).max()
    assert_allclose(solution.acceleration, whole, rtol=0, atol=1e-7 * size)


def test_the_pull_up_is_that_of_check(plain: Situation, cases: dict[str, CaseLoads]) -> None:
    found = with_body(plain.model, plain.assembly, cases["pull-up"].nodal, plain.body)
    scale = np.abs(found).max()
    assert_allclose(found, plain.flight.loads.nodal, rtol=0, atol=1e-7 * scale)


def test_what_acts_is_what_is_said(plain: Situation, cases: dict[str, CaseLoads]) -> None:
    weight = plain.weight
    assert_allclose(weight, 2 * GRAVITY, rtol=1e-12)
    at = {name: sums(plain, case.nodal) for name, case in cases.items()}
    lift = 0.67 * weight
    assert_allclose(at["pull-up"][2], 6 * weight, rtol=1e-9)
    for name, n in (("roll begun (starboard elevon down)", 4), ("elevons up", 1), ("elevons down", 6)):
        assert_allclose(at[name][2], n * weight, rtol=1e-9)
    assert_allclose(at["tip strike (starboard)"][[0, 2]], [0.5 * weight, lift + weight], rtol=1e-9)
    assert_allclose(at["belly landing"][[0, 2]], [2.5 * weight, lift + 5 * weight], rtol=1e-9)
    assert_allclose(at["landing on all legs"][[0, 2]], [0.9 * weight, lift + 3 * weight], rtol=1e-9)
    assert_allclose(at["landing on one leg (starboard)"][2], lift + 1.5 * weight, rtol=1e-9)
    assert_allclose(at["landing on one leg (starboard)"][3], 0.15 * 1.5 * weight, rtol=1e-7)
    down, ahead = 60 * np.sin(np.radians(70)), 60 * np.cos(np.radians(70))
    assert_allclose(at["tow or winch"][[0, 2]], [-ahead, weight], rtol=1e-9)
    assert_allclose(cases["tow or winch"].load_factor, 1 + down / weight, rtol=1e-12)
    assert_allclose(at["bungee"][[0, 2]], [-50 * np.cos(np.radians(10)), weight], rtol=1e-9)
    assert_allclose(at["hand launch"][[0, 2]], [-2 * weight, weight], rtol=1e-9)
    assert_allclose(at["motor at full thrust"][[0, 2]], [-16, weight], rtol=1e-9)


def test_tow_is_trimmed_and_a_steady_roll_does_not_turn_faster(
    plain: Situation, cases: dict[str, CaseLoads]
) -> None:
    inertia = wing_inertia(plain.model, plain.assembly) + plain.body.inertia()
    for name in ("tow or winch", "pull-up"):
        assert abs(np.linalg.solve(inertia, sums(plain, cases[name].nodal))[4]) < 1e-6
    begun, steady = (
        sums(plain, cases[f"{way} (starboard elevon down)"].nodal)[3] for way in ("roll begun", "steady roll")
    )
    assert begun > 0.1  # starboard elevon down lifts starboard
    # Strips are cut at ribs; the roll of their middles against that of the pieces.
    assert abs(steady) < 2e-3 * begun


def test_a_leg_pushes_at_the_wheel(plain: Situation, cases: dict[str, CaseLoads]) -> None:
    one = cases["landing on one leg (starboard)"].nodal - plain.lifted(0.67)
    push = np.array([0.3, 0.0, 1.0]) * 1.5 * plain.weight
    wheel = np.array([0.11, 0.15, -0.02 - 0.1])
    assert_allclose(sums(plain, one), np.concatenate([push, np.cross(wheel, push)]), rtol=1e-9, atol=1e-9)
    nodes, share, arms, places = carriers(plain.model, "leg")
    assert_allclose(share[places[:, 1] > 0].sum(), 1.0, rtol=1e-12)
    ends, starboard = plain.model.structure.nodes[nodes] + arms, places[:, 1] > 0
    assert_allclose(share[starboard] @ ends[starboard], places[starboard][0], rtol=1e-12)


def test_belly_on_rails_lies_where_it_is_said() -> None:
    one = situation(("[landing]", '[landing]\nbelly_on = "rails"\nbelly_x = "80 mm"'))
    belly = next(c for c in load_cases(one) if c.name == "belly landing").nodal - one.lifted(0.67)
    found = sums(one, belly)
    rails = one.model.structure.nodes[np.unique(one.model.structure.blocks["rails"].nodes)]
    pitch = rails[:, 2].mean() * found[0] - 0.08 * found[2]
    assert_allclose(found[[3, 4, 5]], [0, pitch, 0], atol=1e-9 * found[2])


def test_mass_at_a_tip_is_that_of_a_rigid_body(plain: Situation) -> None:
    """Push over acceleration, by the free-body solve of the whole aeroplane."""
    place, mass = tip_place(plain, 1), tip_mass(plain, 1)
    push = np.array([0.5, 0.0, 1.0])
    outer = on_centre(plain.model, np.concatenate([push, np.cross(place, push)]), plain.body.at)
    solution = free_body(plain.assembly, Loads(with_body(plain.model, plain.assembly, outer, plain.body)))
    a = solution.acceleration[:, 0]
    assert_allclose(1 / mass, (a[:3] + np.cross(a[3:], place))[2], rtol=1e-8)
    assert 0 < mass < plain.flight.flying_mass


def test_a_strike_by_speed_stops_in_its_way(plain: Situation) -> None:
    one = situation(("[landing]", '[landing]\ntip_speed = "2 m/s"\ntip_stop = "50 mm"'))
    tip = next(c for c in load_cases(one) if c.name.startswith("tip strike")).nodal - one.lifted(0.67)
    assert_allclose(sums(one, tip)[2], tip_mass(plain, 1) * 2**2 / (2 * 0.05), rtol=1e-9)


def test_what_is_carried_weighs_what_the_wing_does(plain: Situation, cases: dict[str, CaseLoads]) -> None:
    for name in ("carried by starboard tip", "held at both tips"):
        assert cases[name].held
        assert_allclose(sums(plain, cases[name].nodal)[2], -1.5 * plain.flight.wing_mass * GRAVITY, rtol=1e-9)


def test_no_carrying_without_a_load_factor() -> None:
    one = situation(("[landing]", "[landing]\ncarrying_load_factor = 0.0"))
    assert not any(case.kind == "carrying" for case in load_cases(one))


def test_forces_on_the_centre_have_their_resultant(plain: Situation) -> None:
    wrench = np.array([3.0, -2.0, 5.0, 0.4, -0.7, 0.2])
    assert_allclose(sums(plain, on_centre(plain.model, wrench, plain.body.at)), wrench, rtol=1e-9, atol=1e-10)


ELEVONS, LANDING, LAUNCH = "[elevons]\n", "[landing]\n", "[launch]\n"


@pytest.mark.parametrize(
    "change",
    [
        ('from = "320 mm"', 'from = "250 mm"'),
        ('to = "560 mm"', 'to = "500 mm"'),
        ('hinge = "75 %"', 'hinge = "80 %"'),
        (ELEVONS, f'{ELEVONS}deflection = "15 deg"\n'),
        (ELEVONS, f'{ELEVONS}acts = "roll"\n'),
        (ELEVONS, f'{ELEVONS}acts = "pitch"\n'),
        (ELEVONS, f'{ELEVONS}speed = "70 km/h"\n'),
        (ELEVONS, f"{ELEVONS}load_factor = 2.0\n"),
        (LANDING, f"{LANDING}lift = 0.0\n"),
        (LANDING, f"{LANDING}tip_force = 2.0\n"),
        (LANDING, f'{LANDING}tip_speed = "1 m/s"\ntip_stop = "30 mm"\n'),
        (LANDING, f"{LANDING}tip_friction = 0.2\n"),
        (LANDING, f'{LANDING}tip_at = "80 %"\n'),
        (LANDING, f"{LANDING}belly_load_factor = 4.0\n"),
        (LANDING, f"{LANDING}belly_friction = 0.2\n"),
        (LANDING, f'{LANDING}belly_x = "60 mm"\n'),
        (LANDING, f'{LANDING}belly_on = "rails"\n'),
        ('legs = "leg"', 'legs = "motor"'),
        (LANDING, f"{LANDING}leg_load_factor = 4.0\n"),
        (LANDING, f"{LANDING}leg_friction = 0.5\n"),
        (LANDING, f'{LANDING}leg_length = "150 mm"\n'),
        (LANDING, f"{LANDING}carrying_load_factor = 2.0\n"),
        (LANDING, f'{LANDING}body_length = "2 m"\n'),
        (LANDING, f'{LANDING}body_width = "200 mm"\n'),
        ('tow_tension = "60 N"', 'tow_tension = "70 N"'),
        (LAUNCH, f'{LAUNCH}tow_angle = "60 deg"\n'),
        (LAUNCH, f"{LAUNCH}tow_load_factor = 1.5\n"),
        ('bungee_tension = "50 N"', 'bungee_tension = "40 N"'),
        (LAUNCH, f'{LAUNCH}bungee_angle = "0 deg"\n'),
        (LAUNCH, f'{LAUNCH}hook_x = "-150 mm"\n'),
        (LAUNCH, f'{LAUNCH}hook_z = "-60 mm"\n'),
        (LAUNCH, f"{LAUNCH}hand_push = 3.0\n"),
        ('motor = "motor"', 'motor = "leg"'),
        ('motor_thrust = "8 N"', 'motor_thrust = "9 N"'),
        (LAUNCH, f'{LAUNCH}motor_torque = "0.2 N m"\n'),
    ],
)
def test_every_key_changes_the_loads(
    plain: Situation, cases: dict[str, CaseLoads], change: tuple[str, str]
) -> None:
    def every(one: Situation, found: Iterable[CaseLoads]) -> dict[str, np.ndarray]:
        return {
            c.name: c.nodal if c.held else with_body(one.model, one.assembly, c.nodal, one.body)
            for c in found
        }

    other = situation(change)
    if repr(other.model.wing.elevons) == repr(plain.model.wing.elevons):  # saves the lattice
        cases = {name: case for name, case in cases.items() if "elevon" not in name}
        other = replace(other, model=replace(other.model, wing=replace(other.model.wing, elevons=None)))
    before, after = every(plain, cases.values()), every(other, load_cases(other))
    if set(before) == set(after):
        scale = max(np.abs(nodal).max() for nodal in before.values())
        assert max(np.abs(before[k] - after[k]).max() for k in before) > 1e-4 * scale


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('to = "560 mm"', 'to = "601 mm"', "elevons.to"),
        ('from = "320 mm"', 'from = "560 mm"', "elevons.from"),
        ('hinge = "75 %"', 'hinge = "100 %"', "elevons.hinge"),
        (ELEVONS, f'{ELEVONS}deflection = "61 deg"\n', "elevons.deflection"),
        (ELEVONS, f'{ELEVONS}deflection = "0 deg"\n', "elevons.deflection"),
        (ELEVONS, f'{ELEVONS}acts = "pitch"\nload_factor = 2.0\n', "elevons.load_factor"),
        (LANDING, f"{LANDING}lift = 1.1\n", "landing.lift"),
        (LANDING, f'{LANDING}tip_speed = "1 m/s"\n', "landing.tip_speed"),
        (LANDING, f'{LANDING}tip_stop = "10 mm"\n', "landing.tip_stop"),
        (LANDING, f'{LANDING}tip_force = 1.0\ntip_speed = "1 m/s"\ntip_stop = "1 mm"\n', "landing.tip_force"),
        (LANDING, f'{LANDING}tip_at = "101 %"\n', "landing.tip_at"),
        ('legs = "leg"', 'legs = "lge"', "landing.legs"),
        ('legs = "leg"', "leg_load_factor = 2.0", "landing.leg_load_factor"),
        (LAUNCH, f'{LAUNCH}tow_angle = "91 deg"\n', "launch.tow_angle"),
        ('tow_tension = "60 N"', 'tow_angle = "60 deg"', "launch.tow_angle"),
        ('motor = "motor"', 'motor = "moter"', "launch.motor"),
        ('motor = "motor"', "", "launch.motor_thrust"),
        ('motor_thrust = "8 N"', "", "launch.motor"),
    ],
)
def test_what_does_not_go_together_is_refused(old: str, new: str, says: str) -> None:
    with pytest.raises(WingFileError, match=says):
        read_text(text((old, new)))


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('to = "560 mm"', 'to = "600 mm"'),
        ('hinge = "75 %"', 'hinge = "99 %"'),
        (ELEVONS, f'{ELEVONS}deflection = "60 deg"\n'),
        (LANDING, f"{LANDING}lift = 1.0\n"),
        (LANDING, f'{LANDING}tip_at = "100 %"\n'),
        (LAUNCH, f'{LAUNCH}tow_angle = "90 deg"\n'),
    ],
)
def test_the_last_good_values(old: str, new: str) -> None:
    assert read_text(text((old, new))).elevons is not None


def test_belly_on_rails_needs_rails() -> None:
    start, end = WING.index("[[rails]]"), WING.index("[[masses]]")
    bare = WING[:start] + WING[end:]
    assert read_text(bare).landing is not None
    with pytest.raises(WingFileError, match=r"landing\.belly_on"):
        read_text(bare.replace(LANDING, f'{LANDING}belly_on = "rails"\n'))


def test_what_is_assumed_of_landing_is_told_without_its_table() -> None:
    bare = read_text(WING.replace('[landing]\nlegs = "leg"\n', ""))
    assumed = dict(bare.landing.assumed)  # type: ignore[union-attr]
    assert assumed["landing.tip_force"].startswith("1.0")
    assert "landing.leg_length" not in assumed
    assert not any(key.startswith("landing") for key, _ in bare.assumed)
    assert bare.landing.legs == ""  # type: ignore[union-attr]
