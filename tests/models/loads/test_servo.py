"""Hinge moments against quadrature of the theory's pressures, by hand on wings; how far flaps are thrown."""

from __future__ import annotations

from dataclasses import replace
from importlib import resources

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fea.assembly import Assembly
from models.loads.cases import Situation
from models.loads.elevon_cases import cases, servo, servo_words, throws
from models.loads.elevons import flap_effectiveness, flap_lift, hinge_moment, hinge_slopes
from models.loads.pull_up import GRAVITY
from models.structure import build
from models.wing.faults import WingFileError
from models.wing.reading import read

FLAT = '{ y = "0 mm", chord = "200 mm", section = "NACA 0012" }, { y = "600 mm", chord = "200 mm" }'
SWEPT = (
    '{ y = "0 mm", chord = "240 mm", section = "NACA 0012" }, '
    '{ y = "600 mm", chord = "160 mm", leading_edge = "250 mm" }'
)
TAILLESS = 'load_factor = 4\nspeed = "25 m/s"'
TAILED = 'load_factor = 6\nmass = "1 kg"\nspeed = "20 m/s"'
ELEVONS = '[elevons]\nfrom = "300 mm"\nto = "570 mm"\nhinge = "80 %"\n{}'


def situation(wing):
    model = build(replace(wing, whole=True), per_bay=1)
    return Situation.of(model, Assembly(model.structure))


def powered():
    with resources.as_file(resources.files("models.wings") / "powered-tailless.toml") as path:
        return read(path)


@pytest.mark.parametrize("hinge", [0.3, 0.6, 0.75, 0.9])
def test_closed_forms_are_the_integrals_of_the_pressures(hinge: float) -> None:
    """c_p = 4 [A0 (1 + cos t)/sin t + sum A_n sin n t], A0 = a + d (pi - p)/pi, A_n = 2 d sin(n p)/(n pi);
    the moment about the hinge of what lies behind it, by the rule of middles and 4000 terms."""
    p = np.arccos(1 - 2 * hinge)
    t = p + (np.pi - p) * (np.arange(4000) + 0.5) / 4000
    step = (np.pi - p) / 4000
    n = np.arange(1, 4001)[:, None]
    weight = (np.cos(p) - np.cos(t)) / 2 * np.sin(t) / 2 * step / (1 - hinge) ** 2
    attack = 4 * (1 + np.cos(t)) / np.sin(t)
    flap = attack * (np.pi - p) / np.pi + 4 * (2 * np.sin(n * p) / (n * np.pi) * np.sin(n * t)).sum(axis=0)
    assert_allclose(hinge_slopes(hinge), [-(attack @ weight), -(flap @ weight)], rtol=2e-4)


def by_hand(wing, lift_by_chord, angle, pressure):
    """q int c_f^2 (b1 a + b2 d) dy over the flap for a lift c c_l along it."""
    flaps, plan = wing.elevons, wing.planform
    y = np.linspace(flaps.y_from, flaps.y_to, 4001)
    y, step = (y[1:] + y[:-1]) / 2, np.diff(y)
    t = np.arccos(1 - 2 * flaps.hinge)
    rest, own = np.pi - t, 1 - flaps.hinge
    b1 = -(2 * rest * (2 * np.cos(t) - 1) + 4 * np.sin(t) - np.sin(2 * t)) / (4 * own**2)
    b2 = -(1 - np.cos(2 * t) - 2 * rest**2 * (1 - 2 * np.cos(t)) + 4 * rest * np.sin(t))
    b2 /= 4 * np.pi * own**2
    chord = plan.chord.at(y)
    attack = lift_by_chord(y) / (2 * np.pi * chord) - (1 - (t - np.sin(t)) / np.pi) * angle
    return pressure * float(((own * chord) ** 2 * (b1 * attack + b2 * angle)) @ step)


@pytest.mark.parametrize("which", ["powered", "swept", "rectangle"])
def test_hinge_moment_of_wings_by_hand(which, make_wing) -> None:
    """Against the integral of an even lift along the flap, which strips cut at its ends."""
    stations = {"swept": SWEPT, "rectangle": FLAT}.get(which)
    wing = (
        powered() if stations is None else make_wing(stations=stations, case=TAILED, extra=ELEVONS.format(""))
    )
    flap = flap_lift(wing.planform, wing.elevons)
    load, angle, pressure = np.full(len(flap.y), 0.06), 0.25, 400.0
    found = pressure * hinge_moment(wing.planform, wing.elevons, flap.y, load, flap.width, angle)
    assert_allclose(found, by_hand(wing, lambda y: np.full_like(y, 0.06), angle, pressure), rtol=2e-3)


def test_a_section_alone_feels_both_slopes(make_wing) -> None:
    wing = make_wing(stations=FLAT, case=TAILED, extra=ELEVONS.format(""))
    b1, b2 = hinge_slopes(0.8)
    y, width = np.array([0.3, 0.45]), np.array([0.6, 0.0])
    size = 0.27 * 0.04**2
    only_angle = hinge_moment(wing.planform, wing.elevons, y, np.full(2, 2 * np.pi * 0.2 * 0.1), width, 0.0)
    assert_allclose(only_angle, size * b1 * 0.1, rtol=1e-12)
    lift = 2 * np.pi * 0.2 * flap_effectiveness(0.8) * 0.1
    assert_allclose(
        hinge_moment(wing.planform, wing.elevons, y, np.full(2, lift), width, 0.1),
        size * b2 * 0.1,
        rtol=1e-12,
    )


def test_full_throw_at_the_manoeuvring_speed_and_a_third_at_the_fastest(make_wing) -> None:
    one = situation(make_wing(stations=FLAT, case=TAILED, extra=ELEVONS.format('acts = "roll"\n')))
    full, fastest = throws(one)[0], throws(one)[-1]
    stall = np.sqrt(2 * GRAVITY / (1.225 * 1.2 * 0.24))
    assert_allclose(full.speed, stall * np.sqrt(6), rtol=1e-9)
    assert_allclose([full.share, fastest.share], [1.0, 1 / 3], rtol=1e-12)
    assert_allclose(fastest.speed, 1.4 * 20.0, rtol=1e-12)
    slow = make_wing(stations=FLAT, case=TAILED.replace("20 m/s", "27 m/s"), extra=ELEVONS.format(""))
    middle = throws(situation(slow))[1]
    # The same rate of roll goes with the same product of deflection and speed.
    assert middle.speed == 27.0
    assert_allclose(middle.share * middle.speed, throws(situation(slow))[0].speed, rtol=1e-12)
    own = make_wing(stations=FLAT, case=TAILED, extra=ELEVONS.format('speed = "15 m/s"\n'))
    assert throws(situation(own))[0].speed == 15.0


def test_names_of_the_cases_tell_the_speed(make_wing) -> None:
    one = situation(make_wing(stations=SWEPT, case=TAILLESS, extra=ELEVONS.format("")))
    found = cases(one)
    names = [case.name for case in found]
    assert len(names) == len(set(names))
    assert any("at the never-exceed speed" in name for name in names)
    for case in found:
        if "never-exceed" in case.name and "roll" in case.name:
            assert "7 deg" in case.acts  # a third of 20


def test_the_servo_and_its_linkage(make_wing) -> None:
    def of(more=""):
        wing = make_wing(stations=SWEPT, case=TAILLESS, extra=ELEVONS.format(more))
        return servo(situation(wing)), wing.elevons

    plain, elevons = of()
    assert plain.torque == abs(plain.hinge_moment) > 0
    geared, other = of('servo_arm = "10 mm"\ncontrol_horn = "16 mm"\n')
    assert_allclose(geared.torque, plain.torque * 10 / 16, rtol=1e-12)
    needs = plain.torque / (GRAVITY / 100)
    assert f"needs {needs:.2g} kg cm at its horn" in servo_words(plain, elevons)
    assert "linkage 0.625" in servo_words(geared, other)
    weak, strong = (servo_words(*of(f'servo_torque = "{size * plain.torque} N m"\n')) for size in (0.5, 2.0))
    assert "too much" in weak
    assert "too much" not in strong
    assert servo(situation(make_wing(stations=SWEPT, case=TAILED))) is None
    with pytest.raises(WingFileError, match=r"elevons\.control_horn"):
        of('servo_arm = "10 mm"\n')
