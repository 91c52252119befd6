"""What holds a wing on its fuselage: two supports by hand, rubber bands, and what is refused."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from models.analysis import analyse
from models.strength import fastening
from models.strength.solved import Solved
from models.verdict import verdict
from models.wing.faults import WingFileError
from models.woods.wood import material

BOLTS = (
    '[fastening]\nbolts = 2\nthread = "M4"\nbolts_at = "170 mm"\nacross = "40 mm"\nplate = "3 mm"\n'
    'dowel_diameter = "6 mm"\ndowels_at = "-5 mm"\nformer = "3 mm"\n'
)
BANDS = '[fastening]\nbands = 8\nband_pull = "{} N"\n'
STATIONS = '{ y = "0 mm", chord = "200 mm", section = "NACA 2412" }, { y = "600 mm", chord = "200 mm" }'
CASE = 'load_factor = 5\nmass = "1.2 kg"\nmoment_coefficient = -0.05\nspeed = "20 m/s"'


@pytest.fixture(scope="module")
def bolted(make_wing):
    return Solved(analyse(make_wing(stations=STATIONS, extra=BOLTS, case=CASE), per_bay=1))


def by_mode(at):
    return {f.mode: f for f in fastening.findings(at)}


def test_the_pull_is_the_weight_of_all_else(bolted):
    """n g of what is no wing hangs on the fastening, but for the lift of the centre rib, which is no half's;
    the tail's couple comes through it too."""
    flight = bolted.analysis.pull_up
    n, g = flight.load_factor, 9.80665
    hung = n * g * (flight.flying_mass - flight.wing_mass)
    x = -0.005
    found = fastening.pull(bolted, x)
    own = 2 * flight.rib_lift[flight.rib_y < 1e-9].sum()  # of the centre rib, both halves
    assert hung - own < found.lift < hung
    assert found.roll == 0.0
    # About the dowels: lift on its line and the section's moment, less the wing's weight where it balances.
    lift, line = 2 * flight.rib_lift, flight.rib_x
    hand = float((2 * flight.rib_moment - lift * (line - x)).sum())
    hand += n * g * flight.wing_mass * (flight.balance_x - x)
    assert_allclose(found.nose_up, hand, rtol=0.12)  # the centre rib again


def test_bolts_and_dowels_are_two_supports(bolted):
    on = fastening.pull(bolted, -0.005)
    found, own = by_mode(bolted), bolted.model.wing.fastening
    bolt = -on.nose_up / 0.175 / 2
    assert bolt > 0
    assert_allclose(found["wing bolt"].applied[0], bolt, rtol=1e-12)
    assert_allclose(found["wing bolt"].allowable[0], 400.0)  # nylon M4
    ply = material("birch ply").shear
    assert_allclose(found["wing bolt pulled through"].allowable[0], np.pi * 0.008 * 0.003 * ply, rtol=1e-12)
    assert_allclose(found["wing dowel"].applied[0], on.lift - 2 * bolt, rtol=1e-9)
    rolled = fastening.shared(own, replace(on, roll=2.0))[0]
    assert_allclose(rolled - bolt, 2.0 / 0.04, rtol=1e-9)
    assert fastening.shared(own, replace(on, nose_up=1.0))[0] == 0.0


def test_both_sides_say_what_one_says(bolted):
    whole = Solved(analyse(replace(bolted.model.wing, whole=True), per_bay=1))
    one, other = (fastening.pull(at, 0.0) for at in (bolted, whole))
    assert_allclose([other.lift, other.nose_up], [one.lift, one.nose_up], rtol=1e-6)
    assert_allclose(other.roll, 0.0, atol=1e-6)


def test_weak_bands_decide_the_verdict(make_wing):
    strong, weak = (
        verdict(make_wing(stations=STATIONS, extra=BANDS.format(n), case=CASE), per_bay=1, alone=True)
        for n in (40, 4)
    )
    assert weak.pull_up.first.mode == "wing off its seat"
    assert weak.pull_up.fate == "let the wing off its seat"
    row = next(row for row in strong.pull_up.rows if row.mode == "wing off its seat")
    assert_allclose(row.reserve_factor, 10 * weak.pull_up.mean, rtol=1e-9)
    assert_allclose(row.allowable, 320.0)


FAULTS = {
    "neither": ("[fastening]\n", r"fastening: needs one of the two: bolts .* or bands"),
    "both": (BOLTS + 'bands = 4\nband_pull = "9 N"\n', r"fastening: needs one of the two"),
    "no plate": (BOLTS.replace('plate = "3 mm"\n', ""), r"fastening\.plate.*is missing: bolts need it"),
    "no pull": ("[fastening]\nbands = 6\n", r"fastening\.band_pull.*weigh one band"),
    "bands with a plate": (BANDS.format(9) + 'plate = "3 mm"\n', r"fastening\.plate.*goes with bolts"),
    "backwards": (BOLTS.replace('"170 mm"', '"-20 mm"'), r"dowels_at.*does not lie ahead of the bolts"),
    "far": (BOLTS.replace('"170 mm"', '"1.7 m"'), r"bolts_at.*lies far from the wing"),
    "small washer": (BOLTS + 'washer = "4 mm"\n', r"washer.*is no wider than the bolt"),
}


@pytest.mark.parametrize("what", FAULTS)
def test_what_cannot_be_is_refused(make_wing, what):
    extra, words = FAULTS[what]
    with pytest.raises(WingFileError, match=words):
        make_wing(extra=extra)
