"""Tones read back: slopes, alarms, a web that is missing, wood that is softer, and what flutter becomes."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from models.studies.layouts import apply, as_drawn
from models.studies.readings import TableError
from models.studies.speed import condense, speeds
from models.studies.speed_doubt import doubt
from models.studies.tap import heard, tones
from models.studies.tones_read import (
    MODEL,
    READ,
    Ear,
    Read,
    holds_tones,
    read_tones,
    sentences,
    tones_csv,
)
from models.wing.reading import read_text

TEXT = """
[planform]
stations = [{ y = "0 mm", chord = "200 mm", section = "NACA 2412" }, { y = "500 mm", chord = "150 mm" }]
[ribs]
count = 5
thickness = "2 mm"
[[spars]]
name = "main"
at = "35 %"
caps = { width = "6 mm", height = "4 mm" }
webs = [{ bays = "all", face = "front", thickness = "1.5 mm" }]
[leading_edge]
width = "6 mm"
height = "6 mm"
[trailing_edge]
width = "14 mm"
height = "3 mm"
[case]
load_factor = 3
mass = "0.9 kg"
"""


@pytest.fixture(scope="module")
def wing():
    return read_text(TEXT)


@pytest.fixture(scope="module")
def ear(wing):
    return Ear(wing, per_bay=1)


def _reads(ear, moved):
    return tuple(Read(k, f, k) for k, f in enumerate((ear.frequencies * np.exp(moved)).tolist(), 1))


def test_all_wood_stiffer_and_thicker_is_what_slopes_say(ear):
    """Elastic energy of all pieces is all of a free tone's, so that ln f grows by half of ln E."""
    free = [k for k, one in enumerate(ear.heard) if not one.tone.held]
    assert_allclose(ear.by_stiffness[free].sum(axis=1), 0.5, rtol=1e-6)
    assert np.all(ear.by_mass <= 0)
    # Still air has a share of the kinetic energy.
    assert np.all(ear.by_mass[free].sum(axis=1) > -0.5)


def test_a_wing_as_computed_raises_no_alarm_and_sound_ones_seldom_do(ear):
    assert ear.back(_reads(ear, np.zeros(len(ear.heard)))).sound
    generator = np.random.default_rng(50717)
    n = len(ear.heard)
    spread = ear.scatter + (READ**2 + MODEL**2) * np.eye(n)
    drawn = generator.multivariate_normal(np.zeros(n), spread, size=100)
    alarms = sum(not ear.back(_reads(ear, moved)).sound for moved in drawn)
    # Misfits below their own chance of 1 %, and a named fault in a sound wing now and then.
    assert alarms <= 0.04 * len(drawn)


def test_a_web_left_out_on_one_side_is_named_where_it_moves_the_tones(wing, ear):
    """Built without it on the starboard side alone, its tones by their order in pitch."""
    suspect, move = max(ear.shifts.items(), key=lambda one: float(np.abs(one[1]).max()))
    layout = as_drawn(wing)
    webs = {
        (spar, side, bay): tuple(
            f for f in faces if (spar, side, bay, f) != (suspect.spar, "starboard", suspect.bay, suspect.face)
        )
        for (spar, side, bay), faces in layout.webs.items()
    }
    other = condense(apply(wing, replace(layout, webs=webs)), per_bay=1, at_rest=True)
    ours = np.array([one.omega for one in heard(other, 6, held=True)])
    drawn = np.array([one.omega for one in ear.heard if one.tone.held])
    halved = drawn * np.exp(move[[one.tone.held for one in ear.heard]])
    first = np.argsort(halved)[:3]
    # To first order in what is missing.
    assert_allclose(ours[:3] / halved[first], 1.0, atol=0.05)
    back = ear.back(_reads(ear, move))
    assert np.abs(move).max() > 0.1
    assert any(one.suspect == suspect for one in back.named)
    assert not back.sound


def test_softer_wood_flutters_earlier(wing, ear):
    """All moduli 4 % less: tones 2 % lower; what flutter loses is told, and its doubt shrinks."""
    found = speeds(condense(wing, per_bay=1), n_modes=0)
    sure = doubt(found)
    back = ear.back(_reads(ear, -0.04 * ear.by_stiffness.sum(axis=1)), found, sure)
    assert back.sound
    assert back.flutter < sure.speed
    assert back.flutter > sure.speed * np.exp(-0.04 * sure.by_stiffness.sum()) * 0.98
    assert back.fifth / back.flutter > sure.fifth / sure.speed
    assert "fit a sound wing" in " ".join(sentences(back))


def test_tables(wing, ear):
    told = tones(wing, condense(wing, per_bay=1), per_bay=1)
    text = tones_csv(wing, told)
    assert f",rib {wing.rib_number(told[0].tap_y)} at " in text
    assert holds_tones(text)
    assert not holds_tones("step,side,rib,place,aft [mm],deflection [mm]\n")
    with pytest.raises(TableError, match="holds no tone"):
        read_tones(text, len(told))
    filled = text.rstrip("\n") + "12.5\n"
    assert read_tones(filled, len(told))[0].frequency == 12.5
    for cell, words in (("12.5 Hz", "not a number"), ("0", "no tone of a wing")):
        with pytest.raises(TableError, match=words):
            read_tones(text.rstrip("\n") + cell + "\n", len(told))
    with pytest.raises(TableError, match="run from 1 to 2"):
        read_tones("tone,hertz\n3,12\n", 2)
    with pytest.raises(TableError, match="already"):
        read_tones("tone,hertz\n1,12\n1,13\n", 2)
