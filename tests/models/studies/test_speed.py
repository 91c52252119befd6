"""How fast a wing may fly: exactness of the basis, convergence, limits."""

from __future__ import annotations

import re
from dataclasses import replace
from importlib import resources

import numpy as np
import pytest
import scipy.sparse as sp
import scipy.sparse.linalg as spla
from numpy.testing import assert_allclose

from fea.aeroelastic import normal
from fea.assembly import Assembly
from fea.vibration import natural_modes
from models.analysis import analyse
from models.loads.body import on_centre
from models.loads.cases import Situation
from models.loads.unsteady_strips import rib_forces
from models.structure import build
from models.studies.layouts import apply, standard
from models.studies.speed import (
    HeavyControl,
    _rattle,
    condense,
    elastic,
    latticed,
    speeds,
    trim_ends,
)
from models.wing.parts import NotFlying, PointMass
from models.wing.reading import read
from models.wings import shipped
from tests.variants import heavy_tips, limber


def _wing(name):
    return read(resources.files("models.wings") / f"{name}.toml")


@pytest.fixture(scope="module")
def trainer():
    return _wing("trainer")


def test_static_answers_of_the_wing_held_at_its_middle_are_exact(trainer):
    """Movement of every rib under lift and moment on every rib, against a solve of the whole structure."""
    model = build(trainer, per_bay=2, whole=True)
    assembly = Assembly(model.structure)
    body = Situation.of(model, assembly).body
    _, on_ribs = rib_forces(model)
    lifts = on_ribs.toarray()
    grip = assembly.vector(np.concatenate([on_centre(model, unit, body.at) for unit in np.eye(6)], axis=2))
    fixed = sp.bmat([[assembly.stiffness(), sp.csc_matrix(grip)], [sp.csc_matrix(grip).T, None]]).tocsc()
    used = np.flatnonzero(np.asarray(np.abs(fixed).sum(axis=0)).ravel())
    right = np.vstack([lifts, np.zeros((6, lifts.shape[1]))])[used]
    answer = spla.splu(fixed[used][:, used]).solve(right)
    expected = right.T @ answer
    found = np.zeros_like(expected)
    for half in condense(trainer, per_bay=2).halves:
        # Movements of the ribs in the coordinates that keep the middle still.
        rows = np.vstack([half.held_up, half.held_nose_up])
        found += rows @ np.linalg.solve(half.held.stiffness, rows.T)
    assert_allclose(found, expected, atol=1e-6 * np.abs(expected).max())


def test_frequencies_of_the_free_wing_are_those_of_the_whole_structure(trainer):
    """Of what the fuselage does not hold: a wing that is all there is."""
    alone = replace(trainer, case=replace(trainer.case, flying_mass=None))
    model = build(alone, per_bay=2, whole=True)
    exact, _ = natural_modes(model.structure, 4, free=True)
    found = []
    for half in condense(alone, per_bay=2).halves:
        omega, _ = normal(half.free.mass, half.free.stiffness)
        found.extend(omega[omega > 0][:4] / (2 * np.pi))
    assert_allclose(np.sort(found)[:3], exact[:3], rtol=5e-3)
    assert np.all(np.sort(found)[:3] >= exact[:3] * (1 - 1e-9))  # Ritz: never below


@pytest.mark.parametrize(
    "name",
    ["trainer", *(pytest.param(one, marks=pytest.mark.long) for one in ("powered-tailless", "sailplane"))],
)
def test_flutter_converges_in_basis_strips_and_mesh(name):
    wing = _wing(name)
    first = speeds(condense(wing), follow=False)
    others = (condense(wing, again=1), condense(wing, strips_per_bay=4), condense(wing, per_bay=8))
    for reduced in others:
        found = speeds(reduced, follow=False)
        assert_allclose(found.beating[0].speed, first.beating[0].speed, rtol=5e-3)
        assert_allclose(found.beating[0].frequency, first.beating[0].frequency, rtol=5e-3)
        assert_allclose(found.twist_off, first.twist_off, rtol=2e-2)


def test_the_powered_wing_beats_at_its_tips_and_its_elevons_lose_their_grip():
    found = speeds(condense(heavy_tips(), per_bay=2))
    lowest = found.beating[0]
    assert lowest.kind == "antisymmetric"
    assert set(lowest.bays) <= {11, 12, 13, 14}
    assert lowest.damped_speed > lowest.speed
    assert_allclose(np.abs(lowest.up).max(), 1)
    assert found.reversal is not None
    assert found.grip is not None
    # A finer look: the grip goes through nought at the speed of reversal.
    at = np.interp(0.0, -found.grip, found.speeds)
    assert_allclose(at, found.reversal, rtol=5e-3)
    assert found.grip[0] < 1
    assert np.all(np.diff(found.grip[:10]) < 0)
    first = next(mode for mode in found.modes if mode.kind == "antisymmetric")
    assert first.frequency.shape == found.speeds.shape
    least = np.nanmin([mode.damping for mode in found.modes if mode.kind == "antisymmetric"], axis=0)
    assert abs(np.interp(lowest.speed, found.speeds, least)) < 0.02


def test_thin_air_does_nothing(trainer):
    thin = replace(trainer, case=replace(trainer.case, air_density=1e-9))
    found = speeds(condense(thin, per_bay=1), follow=False)
    assert found.beating == ()
    assert found.twist_off > 1e3
    assert found.lowest == ("", np.inf)


def test_denser_air_scales_twist_off(trainer):
    one = speeds(condense(trainer, per_bay=1), follow=False)
    dense = replace(trainer, case=replace(trainer.case, air_density=4 * trainer.case.air_density))
    assert_allclose(speeds(condense(dense, per_bay=1), follow=False).twist_off, one.twist_off / 2, rtol=1e-6)


def _scaled(text, factor):
    """The file of a wing larger by a factor in every length, of the same woods in the same air."""

    def larger(found):
        amount, unit = float(found[1]), found[2]
        power = {"mm": 1, "g": 3, "kg": 3, "g/m2": 1}.get(unit, 0)
        return f"{amount * factor**power:.12g} {unit}"

    return re.sub(r"(-?\d+(?:\.\d+)?) (mm|g/m2|g|kg/m3|kg|m/s|km/h)(?=[\",])", larger, text)


def test_a_wing_twice_as_large_beats_at_the_same_speed_half_as_often(tmp_path):
    """Stiffness, mass and air of a body of the same materials scale alike; what has a stated size of its own
    (glue lines) moves it by less than a thousandth."""
    text = (resources.files("models.wings") / "trainer.toml").read_text()
    text += '\n[covering]\nmass_per_area = "60 g/m2"\n'
    (tmp_path / "one.toml").write_text(text)
    (tmp_path / "two.toml").write_text(_scaled(text, 2.0))
    one, two = (
        speeds(condense(read(tmp_path / f"{name}.toml"), per_bay=1), follow=False) for name in ("one", "two")
    )
    assert_allclose(two.reduced.mass, 8 * one.reduced.mass, rtol=1e-6)
    assert_allclose(two.beating[0].speed, one.beating[0].speed, rtol=1e-3)
    assert_allclose(two.beating[0].frequency, one.beating[0].frequency / 2, rtol=1e-3)
    assert_allclose(two.twist_off, one.twist_off, rtol=1e-3)
    assert_allclose(two.lattice.beating[0][1], one.lattice.beating[0][1], rtol=1e-3)


def test_thicker_skins_never_lower_the_speed_of_twist_off(tmp_path):
    """Of a wing that is not swept."""
    text = (resources.files("models.wings") / "trainer.toml").read_text()
    found = []
    for thickness in (0.8, 1.5, 3.0):
        skin = f'\n[[sheeting]]\nfrom = "leading edge"\nto = "main"\nthickness = "{thickness} mm"\n'
        (tmp_path / "skinned.toml").write_text(text + skin)
        found.append(speeds(condense(read(tmp_path / "skinned.toml"), per_bay=1), follow=False).twist_off)
    assert np.all(np.diff(found) > 0), found


def test_a_wing_whose_sides_hardly_differ_is_as_one_whose_sides_are_alike():
    """Looked at together, without a lattice. Held, its sides may then twist off opposite too, 7 % sooner."""
    wing = limber()
    even = speeds(condense(wing, per_bay=1), follow=False)
    lead = PointMass("lead", 1e-3, 0.06, 0.5, 0.0, "wing")
    uneven = speeds(condense(replace(wing, masses=(lead,)), per_bay=1), follow=False)
    assert [half.kind for half in uneven.reduced.halves] == ["together"]
    assert uneven.lattice is None
    assert even.lattice is not None
    assert_allclose(uneven.beating[0].speed, even.beating[0].speed, rtol=1e-2)
    assert_allclose(uneven.twist_off, even.twist_off, rtol=0.08)


def _on_servos(**changes):
    wing = heavy_tips()
    return replace(wing, elevons=replace(wing.elevons, **changes))


@pytest.fixture(scope="module")
def still():
    return speeds(condense(heavy_tips(), per_bay=1), follow=False)


def test_elevons_on_hard_servos_stand_still(still):
    found = speeds(condense(_on_servos(servo_stiffness=1e5), per_bay=1), follow=False)
    for one, other in zip(found.beating, still.beating, strict=True):
        assert_allclose([one.speed, one.frequency], [other.speed, other.frequency], rtol=1e-3)
    for one, other in zip(found.lattice.beating, still.lattice.beating, strict=True):
        assert_allclose(one[1:], other[1:], rtol=1e-3)
    assert_allclose([found.twist_off, found.reversal], [still.twist_off, still.reversal], rtol=1e-9)
    assert abs(found.beating[0].turn) < 1e-3


def test_heavy_elevons_on_soft_servos_beat_first_and_balance_cures_it(still):
    """What the wing has behind the hinge hangs half a chord behind it, then on the hinge itself."""
    heavy = speeds(condense(_on_servos(servo_stiffness=0.5), per_bay=1), follow=False)
    assert 0.015 < heavy.reduced.control.mass < 0.03
    assert heavy.beating[0].speed < 0.7 * still.beating[0].speed
    assert heavy.beating[0].frequency > 25
    assert abs(heavy.beating[0].turn) > 10
    assert heavy.lattice.beating[0][1] < 0.7 * still.beating[0].speed * 1.25
    light = condense(_on_servos(servo_stiffness=0.5, balance=0.0, slack=0.01), per_bay=1)
    balanced = speeds(light, follow=False)
    assert balanced.beating[0].speed > 0.98 * still.beating[0].speed
    assert balanced.rattle is None


def test_slack_is_tried_with_shares_of_the_servos_stiffness():
    """Elevons that beat when they are loose, and not on their servos, rattle within their slack."""
    reduced = condense(_on_servos(servo_stiffness=5.0, slack=0.01), per_bay=1)
    assert _rattle(reduced) < 0.75 * speeds(reduced, follow=False).beating[0].speed


def test_an_elevon_heavier_than_its_wing_is_refused():
    with pytest.raises(HeavyControl):
        condense(_on_servos(servo_stiffness=1.0, mass=2.0), per_bay=1)


@pytest.mark.parametrize("name", ["powered-tailless", "trainer"])
def test_a_bent_wing_in_its_pull_up_keeps_lift_and_pitch(name):
    """To 1e-9; and as it grows stiffer its lift becomes that of the wing as built."""
    wing = _wing(name)
    slow = replace(wing, case=replace(wing.case, speed=10.0))
    reduced = condense(slow, per_bay=1)
    bent = elastic(reduced)
    lift = reduced.pull.lift
    assert np.abs(bent.more_lift).sum() > 1e-4 * lift
    assert abs(bent.more_lift.sum()) < 1e-9 * lift
    plan = wing.planform
    chord = plan.chord.at(bent.y)
    behind = plan.leading_edge_x.at(bent.y) + chord / 2 - reduced.pull.balance_x
    pitch = bent.more_moment.sum() - bent.more_lift @ behind
    if not reduced.pull.tail:  # with one, the couple comes from there
        assert abs(pitch) < 1e-9 * lift * chord[0]
    shares = [one.bending / one.rigid_bending - 1 for one in (elastic(reduced, by) for by in (1.0, 1e3, 1e6))]
    assert_allclose(shares[1:], np.array([1e-3, 1e-6]) * shares[0], rtol=0.5, atol=1e-9)
    assert_allclose(elastic(reduced, 2.0).rigid_up, bent.rigid_up / 2, rtol=1e-9)


def test_what_a_bent_wing_carries_is_told_short_of_where_trim_ends(path_of):
    """A tailless wing: beyond, its figures would have the sign turned."""
    reduced = condense(read(path_of("short-tailless")), per_bay=1)
    ends = trim_ends(reduced)
    assert ends <= latticed(reduced).twist_off
    at = {share: elastic(replace(reduced, case_speed=share * ends)) for share in (0.5, 0.85, 0.95, 1.5)}
    assert at[0.95] is None
    assert at[1.5] is None
    rises = [abs(at[share].bending / at[share].rigid_bending - 1) for share in (0.5, 0.85)]
    # As the square of the speed, and more and more towards the end: for one mode q/(q_end - q), by 7.8.
    assert rises[1] > 2.9 * rises[0]


def test_bent_wings_load_their_roots_as_arms_and_sections_say():
    """Lift ahead of the axis: more at the root. Sections that pitch nose down wash the tips out: less."""
    found = []
    for name, speed, moment in (("trainer", 15.0, 0.0), ("sailplane", 40.0, -0.05)):
        wing = _wing(name)
        wing = replace(
            wing, case=replace(wing.case, speed=speed, radius=0.0, load_factor=4.0, moment_coefficient=moment)
        )
        box = next(one for one in standard(wing) if one.name == "box")
        bent = elastic(condense(apply(wing, box), per_bay=1))
        found.append(bent.bending / bent.rigid_bending)
    assert found[0] > 1.001
    assert found[1] < 0.85


def test_what_the_wing_as_built_bends_in_its_pull_up_is_what_check_says(trainer):
    """Tip against the middle, by condensed static answers and by the whole structure: half a percent."""
    reduced = condense(replace(trainer, case=replace(trainer.case, speed=10.0)), per_bay=2)
    bent = elastic(reduced)
    built = analyse(replace(trainer, case=replace(trainer.case, speed=10.0)), per_bay=2)
    tip = built.model.cap_nodes[0, :, np.argmax(built.model.y)]
    root = built.model.cap_nodes[0, :, np.argmin(np.abs(built.model.y))]
    up = built.solution.displacements[:, 2, 0]
    spar = up[tip].mean() - up[root].mean()
    plan = trainer.planform
    y = np.array([trainer.semispan])
    x = plan.leading_edge_x.at(y)[0] + plan.chord.at(y)[0] / 2
    behind = x - built.model.structure.nodes[tip, 0].mean()
    assert_allclose(bent.rigid_up, spar - behind * bent.rigid_twist, rtol=5e-3)


def test_a_specimen_does_not_fly():
    with pytest.raises(NotFlying):
        condense(_wing("spar-c"))


@pytest.mark.long
def test_what_beats_is_among_the_modes_that_are_followed() -> None:
    """The sailplane beats as the flight itself and its bending join: no natural mode leads there."""
    found = speeds(condense(read(shipped()["sailplane"]), per_bay=1))
    assert found.beating
    for one in found.beating:
        near = [
            mode
            for mode in found.modes
            if mode.kind == one.kind
            and abs(np.interp(one.speed, found.speeds, mode.damping)) < 0.01
            and np.interp(one.speed, found.speeds, mode.frequency) == pytest.approx(one.frequency, rel=0.02)
        ]
        assert len(near) == 1
