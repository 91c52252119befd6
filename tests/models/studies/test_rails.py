"""The engine's rails: what the study says against hand formulas, and its answer in words."""

from __future__ import annotations

import json
import math
from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from models.command.files import read_wing
from models.command.rails import rails_record, sentences
from models.report.rails import rails_text
from models.report.text import Page
from models.studies.rails import NoEngine, frequency, overhang_stiffness, rails


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
    near = rails(replace(study.wing, engine=low), per_bay=2)
    firing = next(s for s in near.shakers if s.name == "firing")
    assert firing.near
    assert any("Too near: firing" in s for s in sentences(near))
    four_stroke = rails(replace(study.wing, engine=replace(engine, firings=0.5)), per_bay=1)
    there = {s.name: s.frequency for s in four_stroke.shakers}
    assert_allclose(there["firing"], engine.speed / (4 * math.pi), rtol=1e-12)
    electric = rails(replace(study.wing, engine=replace(engine, firings=0.0)), per_bay=1)
    assert not any(s.name == "firing" for s in electric.shakers)


def test_record_and_words(study, capsys):
    record = rails_record(study, "powered-tailless", 2)
    json.dumps(record, allow_nan=False)
    assert record["answer"]["holds"]
    rails_text(Page(), record)
    out = capsys.readouterr().out
    assert "Measure your engine" in out
    assert "pull-up under power" in out


def test_a_wing_without_engine():
    with pytest.raises(NoEngine):
        rails(read_wing("trainer"))
