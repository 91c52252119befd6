"""What trims: elevons by hand calculation, moments that vanish, what a tail carries, what is told."""

from __future__ import annotations

from dataclasses import replace
from importlib import resources

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.integrate import quad

from fea.assembly import Assembly, total
from models.analysis import analyse
from models.command.record import answer
from models.loads.cases import Situation
from models.loads.elevons import flap_lift, flap_moment
from models.loads.pull_up import GRAVITY, pull_up
from models.loads.schrenk import lift_per_length
from models.strength import check
from models.structure import build
from models.wing.reading import read

FLAT = '{ y = "0 mm", chord = "200 mm", section = "NACA 0012" }, { y = "600 mm", chord = "200 mm" }'
SWEPT = (
    '{ y = "0 mm", chord = "240 mm", section = "NACA 0012" }, '
    '{ y = "600 mm", chord = "160 mm", leading_edge = "250 mm" }'
)
CASE = 'load_factor = 4\nspeed = "25 m/s"\nmoment_coefficient = -0.04\nlift = "schrenk"'
WHOLE = '[elevons]\nfrom = "0 mm"\nto = "600 mm"\nhinge = "75 %"\n'
OUTER = '[elevons]\nfrom = "300 mm"\nto = "570 mm"\nhinge = "80 %"\n'
POD = '[[masses]]\nname = "pod"\nmass = "500 g"\nx = "{}"\n'


def flown(wing):
    model = build(wing, per_bay=2)
    return pull_up(model, Assembly(model.structure))


def by_hand(wing, flight):
    """Deflection that trims, from integrals along the span: section moment, lift by Schrenk on the quarter
    chord, and the elevons' own lift (strips) and moment."""
    plan, flaps, case = wing.planform, wing.elevons, wing.case
    pressure = 0.5 * case.air_density * case.speed**2

    def along(f, a=0.0, b=plan.semispan):
        kinks = [float(y) for y in plan.chord.y if a < y < b] or None
        return 2 * quad(f, a, b, points=kinks, limit=200)[0]

    def quarter(y):
        return float(plan.leading_edge_x.at(y) + 0.25 * plan.chord.at(y)) - flight.balance_x

    sections = along(lambda y: pressure * case.moment_coefficient * float(plan.chord.at(y)) ** 2)
    lift = along(lambda y: -float(lift_per_length(plan, y, flight.lift)) * quarter(y))
    own = flap_moment(flaps.hinge) * along(lambda y: float(plan.chord.at(y)) ** 2, flaps.y_from, flaps.y_to)
    flap = flap_lift(plan, flaps)
    own -= 2 * sum(c * w * quarter(y) for c, w, y in zip(flap.pitch, flap.width, flap.y))
    return -(sections + lift) / (pressure * own)


def powered(_):
    with resources.as_file(resources.files("models.wings") / "powered-tailless.toml") as path:
        wing = read(path)
    return replace(wing, case=replace(wing.case, moment_coefficient=-0.02, lift_method="schrenk"))


def rectangle(make_wing):
    return make_wing(stations=FLAT, case=CASE, extra=WHOLE + POD.format("40 mm"))


def swept(make_wing):
    return make_wing(stations=SWEPT, case=CASE, extra=OUTER + POD.format("150 mm"))


@pytest.mark.parametrize("which", [powered, rectangle, swept])
def test_elevons_trim_as_by_hand_and_no_moment_is_left(which, make_wing):
    wing = which(make_wing)
    flight = flown(wing)
    assert flight.trimmed_by == "elevons"
    assert flight.trim_coefficient == 0
    about = flight.rib_moment - flight.rib_lift * (flight.rib_x - flight.balance_x)
    assert abs(about.sum()) < 1e-9 * np.abs(about).sum()
    # A rib stands for its bay's chord squared, and a strip for the middle of its angle.
    assert_allclose(flight.elevon, by_hand(wing, flight), rtol=0.02)
    assert_allclose(2 * flight.rib_lift.sum(), flight.lift, rtol=1e-9)


def test_elevons_over_a_whole_rectangle_in_closed_form(make_wing):
    """There they lift nothing beyond what the wing does: q S c (c_m + c_m,flap d) = L (x_c/4 - x_cg)."""
    wing = rectangle(make_wing)
    flight = flown(wing)
    area, chord, pressure = 0.24, 0.2, 0.5 * 1.225 * 25**2
    arm = 0.05 - flight.balance_x
    angle = np.arccos(1 - 2 * 0.75)
    slope = -np.sin(angle) * (1 - np.cos(angle)) / 2
    needed = flight.load_factor * flight.flying_mass * GRAVITY * arm / (pressure * area * chord)
    assert_allclose(flight.elevon, (needed + 0.04) / slope, rtol=1e-9)


def test_the_sections_moment_counts_where_elevons_trim(make_wing):
    """Spread alike, trim and moment would cancel, and the wing would not feel its section."""
    wing = swept(make_wing)
    found = [
        analyse(replace(wing, case=replace(wing.case, moment_coefficient=c)), per_bay=2) for c in (0.0, -0.04)
    ]
    twists = [np.abs(a.solution.displacements[:, 4]).max() for a in found]
    assert abs(twists[1] / twists[0] - 1) > 0.01
    assert found[0].pull_up.elevon != found[1].pull_up.elevon
    for analysis in found:
        acceleration = analysis.solution.acceleration[:, 0]
        assert_allclose(acceleration[2], 4 * GRAVITY, rtol=1e-9)
        assert_allclose(acceleration[4] * 0.24, 0, atol=1e-9 * 4 * GRAVITY)


def test_both_sides_trim_as_one(make_wing):
    wing = swept(make_wing)
    half, both = flown(wing), flown(replace(wing, whole=True))
    assert_allclose(both.elevon, half.elevon, rtol=1e-9)
    assert_allclose(both.rib_moment[-6:], half.rib_moment[-6:], rtol=1e-8, atol=1e-10)


def test_a_moment_asked_for_is_given_by_what_trims(make_wing):
    for wing in (swept(make_wing), make_wing(stations=FLAT, case=CASE)):
        model = build(replace(wing, whole=True), per_bay=2)
        situation = Situation.of(model, Assembly(model.structure))
        sums = total(model.structure.nodes, situation.trimming(0.7))[:, 0]
        assert_allclose(sums, [0, 0, 0, 0, 0.7, 0], atol=1e-9)


def test_it_is_told_what_trims(make_wing):
    def told(**kwargs):
        analysis = analyse(make_wing(**kwargs), per_bay=2)
        return analysis.pull_up, answer(analysis, check(analysis))["sentences"][-1]

    flight, said = told(stations=SWEPT, case=CASE, extra=OUTER + POD.format("150 mm"))
    assert f"{np.degrees(abs(flight.elevon)):.1f} deg" in said
    assert "cannot" not in said
    assert "cannot" in told(stations=SWEPT, case=CASE, extra=OUTER + POD.format("0 mm"))[1]
    flight, said = told(stations=FLAT, case=CASE + '\nmass = "1 kg"')
    assert flight.trimmed_by == "tail"
    assert f"{abs(flight.trim_moment):.3g} N m" in said
    assert ("down" in said) == (flight.trim_moment > 0)
    assert "Neither" in told(stations=FLAT, case=CASE)[1]
