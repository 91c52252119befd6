"""The engine's rails: what the study says against hand formulas, and its answer in words."""

from __future__ import annotations

import json
import math
from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from models.cautions import CAUTIONS
from models.command.document import finite
from models.command.files import read_wing
from models.command.loads_rails import figures, rails_text, sentences
from models.report.text import Length, Page
from models.studies.rail_bolts import bolt_forces
from models.studies.rails import NoEngine, frequency, overhang_stiffness, rails, shakers


@pytest.fixture(scope="module")
def study():
    return rails(read_wing("powered-tailless"), per_bay=2)


def case(study, name):
    return next(c for c in study.cases if c.case.name == name)


def bending(result):
    return next(m for m in result.rows if m.mode == "rail bending")


def test_bending_of_the_overhang_in_the_pull_up(study):
    # Ahead of the front spar statics alone: engine, tank and the rails' own weight at n g.
    n, rail = study.loads.pull_up.load_factor, study.wing.rails[0]
    front = float(study.wing.spars[0].x.at(rail.y))
    arm = front + 0.06
    moment = 0.56 * arm + 0.33 * (front - 0.06)
    moment += 2 * rail.material.density * rail.width * rail.height * arm**2 / 2
    stress = n * 9.80665 * moment / 2 / (rail.width * rail.height**2 / 6)
    # The wing's pitch acceleration and sideways bending of the rails add a little: 0.35 %.
    assert_allclose(bending(case(study, "pull-up")).applied, stress, rtol=0.01)


def test_power_takes_from_the_reserve(study):
    assert case(study, "pull-up under power").least < case(study, "pull-up").least
    assert study.worst.least == min(c.least for c in study.cases)


def test_an_end_on_two_supports_and_a_cantilever(study):
    rail = study.wing.rails[0]
    stick = rail.material.stick()
    inertia, area = rail.width * rail.height**3 / 12, rail.width * rail.height
    give = 0.1**3 / (3 * stick.E * inertia) + 0.1 / (5 / 6 * stick.G_up * area)
    assert_allclose(overhang_stiffness(rail, 0.1, 0.0), 1 / give, rtol=1e-12)
    x = np.linspace(0, 0.2, 20001)
    back = np.trapezoid((0.1 * x / 0.2) ** 2, x) / (stick.E * inertia)
    back += 0.25 * 0.2 / (5 / 6 * stick.G_up * area)
    assert_allclose(1 / overhang_stiffness(rail, 0.1, 0.2), give + back, rtol=1e-6)
    assert_allclose(frequency(4 * math.pi**2, 1.0), 1.0, rtol=1e-12)


def test_toe_in_is_geometry(study):
    assert_allclose(math.tan(study.toe_in) * 0.048, 1e-3, rtol=1e-12)
    assert_allclose(study.spacing, 0.036, rtol=1e-12)


def test_firing_near_a_mode_is_told(study):
    engine = study.wing.engine
    low = replace(engine, speed=2 * math.pi * study.modes[1].frequency)
    near = replace(study, wing=replace(study.wing, engine=low), shakers=shakers(low, study.modes))
    firing = next(s for s in near.shakers if s.name == "firing")
    assert firing.near
    assert any("Too near: firing" in s for s in sentences(near))
    four_stroke = shakers(replace(engine, firings=0.5), study.modes)
    there = {s.name: s.frequency for s in four_stroke}
    assert_allclose(there["firing"], engine.speed / (4 * math.pi), rtol=1e-12)
    assert not any(s.name == "firing" for s in shakers(replace(engine, firings=0.0), study.modes))


def test_record_and_words(study, capsys):
    record = finite(figures(study) | {"cautions": CAUTIONS})
    json.dumps(record, allow_nan=False)
    assert record["answer"]["holds"]
    page = Page(length=Length(whole=True))
    rails_text(page, record)
    page.end()
    out = capsys.readouterr().out
    assert "Measure your engine" in out
    assert "pull-up under power" in out


def test_a_wing_without_engine():
    with pytest.raises(NoEngine):
        rails(read_wing("trainer"))


def test_bolts_in_a_nose_over_by_hand(study):
    """5 times the weight aft on the engine, 8 mm over the rails' middle: per rail half of it on two bolts of
    4 mm through 12 x 12 mm of beech, 17 mm behind its end."""
    found = {m.mode: m for m in case(study, "nose-over").rows}
    mass = study.loads.pull_up.flying_mass
    push = 5 * (mass - 0.56) * 9.80665 / 2
    wood = study.wing.rails[0].material
    bears = 16600 * (wood.density / 1120) ** 1.84 * 6894.757
    # What the engine itself resists does not reach its bolts. 2 %: the turn that goes with it is left out.
    assert_allclose(found["bolt bearing"].applied, push / 2 / (0.004 * 0.012), rtol=0.02)
    assert_allclose(found["bolt bearing"].allowable, bears, rtol=1e-9)
    assert_allclose(found["bolts torn out"].allowable, 2 * wood.shear * 0.012 * 0.017, rtol=1e-9)
    assert_allclose(found["bolts torn out"].applied, push, rtol=0.02)
    share = push / (0.008 * 0.012) / wood.compression + push * 0.008 * 6 / (0.008 * 0.012**2) / wood.bending
    # The engine's weight on its arm to the hole is not in it, nor how the rails sway.
    assert_allclose(1 / found["rail bending at bolt hole"].reserve_factor, share, rtol=0.1)


def test_bolts_share_a_turn_by_their_arms():
    """Three bolts 20 mm apart: 2 N m on arms of 20 mm, 50 N on each end bolt, and force evenly."""
    place = np.array([0.0, 0.02, 0.04])
    each = bolt_forces(30.0, 12.0, 2.0, place)
    assert_allclose(each, [[10.0, -46.0], [10.0, 4.0], [10.0, 54.0]], atol=1e-12)
    assert_allclose((each[:, 1] * (place - 0.02)).sum(), 2.0, rtol=1e-12)
    assert_allclose(bolt_forces(30.0, 12.0, 2.0, place[:1]), [[30.0, 12.0]])


def test_speeds_at_which_the_engine_meets_a_mode(study):
    """Twice the shaft's speed for two blades; from a quarter of full speed on where the file does not say."""
    engine = study.wing.engine
    assert_allclose(engine.idle, engine.speed / 4, rtol=1e-12)
    for shaker in study.shakers:
        per_turn = shaker.frequency / engine.speed
        within = [m for m in study.modes if engine.idle * per_turn <= m.frequency <= shaker.frequency]
        assert [m for m, _ in shaker.met] == within
        assert_allclose([speed * per_turn for _, speed in shaker.met], [m.frequency for m in within])
    said = next(s for s in sentences(study) if "On the way from idle, 2125 rpm" in s)
    speed = next(shaker.met for shaker in study.shakers if shaker.met)[0][1] * 30 / math.pi
    assert f"{10 * round(speed / 10):.0f}" in said
