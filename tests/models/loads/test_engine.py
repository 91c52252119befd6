"""Engine load cases: resultants, signs of the gyroscopic couple, and keys whose values change the answer."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fea.assembly import Assembly
from fea.solve import total
from models.loads.engine import at_engine, bolt_on, cut_to_engine, engine_loads, gyroscopic_couple
from models.loads.pull_up import GRAVITY
from models.structure import build
from models.wing.reading import WingFileError, read_text

WING = """
[planform]
stations = [
    { y = "0 mm", chord = "300 mm", section = "NACA 0018" },
    { y = "600 mm", chord = "240 mm" },
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
name = "engine"
mass = "300 g"
x = "-60 mm"
z = "12 mm"
carried_by = "rails"
[case]
load_factor = 6.0
speed = "90 km/h"
[engine]
name = "engine"
thrust = "20 N"
torque = "0.4 N m"
rpm = "10000 rpm"
rotor_inertia = "2 kg cm2"
"""


@pytest.fixture
def loaded():
    """Loads of the small wing with some text replaced."""

    def make(*changes):
        text = WING
        for old, new in changes:
            assert old in text
            text = text.replace(old, new)
        model = bolt_on(build(cut_to_engine(read_text(text)), per_bay=2, across_chord=2, whole=True))
        return model, engine_loads(model, Assembly(model.structure))

    return make


def sums(model, nodal):
    return total(model.structure.nodes, nodal)[:, 0]


def test_what_acts_on_the_engine_has_its_resultant_there(loaded):
    model, _ = loaded()
    place, force = np.array([-0.06, 0.0, 0.012]), np.array([-20.0, 3.0, -7.0])
    found = sums(model, at_engine(model, (*force, 0.4, 0.1, -0.2)))
    assert_allclose(found[:3], force, rtol=1e-10)
    assert_allclose(found[3:], np.cross(place, force) + np.array([0.4, 0.1, -0.2]), rtol=1e-9, atol=1e-12)


def test_the_cases_add_what_they_say(loaded):
    model, loads = loaded()
    at = {c.name: sums(model, loads.loads.nodal[:, :, [k]]) for k, c in enumerate(loads.cases)}
    power = at["pull-up under power"] - at["pull-up"]
    inertia, spin, q = 2e-4, 10000 * 2 * np.pi / 60, GRAVITY * 5 / 25.0
    assert_allclose(loads.pitch_rate, q, rtol=1e-12)
    assert_allclose(power[0], 0.0, atol=1e-9)  # thrust and drag
    assert_allclose(power[3], 0.4, rtol=1e-7)  # torque turns the aeroplane to port
    # Clockwise from behind, nose up: it swings to starboard, twice as hard for two blades.
    assert_allclose(power[5], -2 * inertia * spin * q, rtol=1e-7)
    yaw = at["yaw, nose pulled up"] - at["yaw, nose pulled down"]
    assert_allclose(yaw[4], 4 * inertia * spin * np.pi, rtol=1e-7)
    shake = at["shaking up"] - at["shaking down"]
    assert_allclose(shake[2], 2 * 5 * 0.3 * GRAVITY, rtol=1e-9)
    assert_allclose(at["nose-over"][0], 5 * loads.pull_up.flying_mass * GRAVITY, rtol=1e-9)
    assert_allclose(at["hard landing"][2], 8 * loads.pull_up.wing_mass * GRAVITY, rtol=1e-9)


def test_only_two_blades_pulse():
    assert_allclose(gyroscopic_couple(1.0, 2.0, 3.0, 3), 6.0, rtol=1e-15)
    assert_allclose(gyroscopic_couple(1.0, 2.0, 3.0, 2), 12.0, rtol=1e-15)


@pytest.mark.parametrize(
    "change",
    [
        ('thrust = "20 N"', 'thrust = "30 N"'),
        ('torque = "0.4 N m"', 'torque = "0.6 N m"'),
        ('torque = "0.4 N m"', 'power = "900 W"'),
        ('rpm = "10000 rpm"', 'rpm = "9000 rpm"'),
        ('rotor_inertia = "2 kg cm2"', 'rotor_inertia = "3 kg cm2"'),
        ('rotor_inertia = "2 kg cm2"', 'propeller_diameter = "300 mm"\npropeller_mass = "40 g"'),
        ('thrust = "20 N"', 'thrust = "20 N"\nblades = 3'),
        ('thrust = "20 N"', 'thrust = "20 N"\nyaw_rate = "90 deg/s"'),
        ('thrust = "20 N"', 'thrust = "20 N"\nvibration = 3.0'),
        ('thrust = "20 N"', 'thrust = "20 N"\nnose_over = 3.0'),
        ('thrust = "20 N"', 'thrust = "20 N"\nhard_landing = 3.0'),
    ],
)
def test_every_key_changes_the_loads(loaded, change):
    (_, plain), (_, other) = loaded(), loaded(change)
    scale = np.abs(plain.loads.nodal).max()
    assert np.abs(plain.loads.nodal - other.loads.nodal).max() > 1e-4 * scale


def test_a_propeller_as_a_rod_and_power_over_speed():
    engine = read_text(
        WING.replace(
            'rotor_inertia = "2 kg cm2"', 'propeller_diameter = "300 mm"\npropeller_mass = "40 g"'
        ).replace('torque = "0.4 N m"', 'power = "1 hp"')
    ).engine
    assert engine is not None
    assert_allclose(engine.rotor_inertia, 0.04 * 0.09 / 12, rtol=1e-12)
    assert_allclose(engine.torque, 745.69987 / (10000 * 2 * np.pi / 60), rtol=1e-7)


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('[engine]\nname = "engine"', '[engine]\nname = "motor"', "engine.name"),
        ('carried_by = "rails"', 'carried_by = "wing"', "engine.name"),
        ('torque = "0.4 N m"', "", "engine.torque"),
        ('torque = "0.4 N m"', 'torque = "0.4 N m"\npower = "1 kW"', "engine.torque"),
        ('rotor_inertia = "2 kg cm2"', "", "engine.rotor_inertia"),
        ('rotor_inertia = "2 kg cm2"', 'propeller_mass = "40 g"', "engine.rotor_inertia"),
    ],
)
def test_what_does_not_go_together_is_refused(old, new, says):
    with pytest.raises(WingFileError, match=says):
        read_text(WING.replace(old, new))
