"""Parts without room are refused with key, value, limit and mend; what is odd but can be built is told."""

from pathlib import Path

import pytest

import models.wings
from models.wing.reading import WingFileError, read, read_text
from models.wing.slips import hint, usual_unit

WING = """
[planform]
stations = [
    { y = "0 mm", chord = "200 mm", section = "NACA 2412" },
    { y = "700 mm", chord = "150 mm" },
]
[ribs]
count = 11
thickness = "2 mm"
cap_strip = { width = "6 mm", thickness = "1 mm" }
post = { thickness = "3 mm" }
exceptions = [{ ribs = "1-2", thickness = "3 mm" }]
[[spars]]
name = "main"
at = "30 %"
caps = { width = "8 mm", height = "4 mm" }
[[spars.webs]]
bays = "3-7"
face = "rear"
thickness = "1.5 mm"
[[spars]]
name = "rear"
at = "65 %"
caps = { width = "5 mm", height = "3 mm" }
[[sheeting]]
from = "leading edge"
to = "main"
thickness = "1 mm"
[leading_edge]
width = "8 mm"
height = "8 mm"
[trailing_edge]
width = "20 mm"
height = "5 mm"
[[braces]]
spar = "main"
face = "rear"
to = "120 mm"
thickness = "2 mm"
[[rails]]
name = "bearer"
y = "20 mm"
x_front = "-40 mm"
x_rear = "62 mm"
z = "3 mm"
width = "8 mm"
height = "8 mm"
ties = ["main"]
tie_thickness = "2 mm"
[case]
load_factor = 4
"""

REFUSED = {
    "trailing edge in inches": (
        ('width = "20 mm"\nheight = "5 mm"', 'width = "20 mm"\nheight = "5 in"'),
        'trailing_edge.height: "5 in" is more than a wing of 200 mm chord and 700 mm semispan has room for',
        "was 5 mm meant?",
    ),
    "trailing edge twice as high": (
        ('width = "20 mm"\nheight = "5 mm"', 'width = "20 mm"\nheight = "12 mm"'),
        'trailing_edge.height: "12 mm" is taller than the outline, which is ', "or a wider stick.",
    ),
    "leading edge in cm": (
        ('width = "8 mm"\nheight = "8 mm"\n[trail', 'width = "8 mm"\nheight = "8 cm"\n[trail'),
        'leading_edge.height: "8 cm" is taller than the outline', "was 8 mm meant?",
    ),
    "leading edge wider than its room": (
        ('[leading_edge]\nwidth = "8 mm"', '[leading_edge]\nwidth = "50 mm"'),
        'leading_edge.width: "50 mm" reaches the caps of spar main', "there is room for less than",
    ),
    "web of metres": (
        ('face = "rear"\nthickness = "1.5 mm"', 'face = "rear"\nthickness = "1.5 m"'),
        'spars[0].webs[0].thickness: "1.5 m" is more than a wing of', "was 1.5 mm meant?",
    ),
    "web of centimetres": (
        ('face = "rear"\nthickness = "1.5 mm"', 'face = "rear"\nthickness = "1.5 cm"'),
        'spars[0].webs[0].thickness: "1.5 cm" is more than half the cap', "was 1.5 mm meant?",
    ),
    "web thicker than the gap": (
        ('at = "65 %"\ncaps = { width = "5 mm"', 'x = ["69.2 mm", "54.2 mm"]\ncaps = { width = "8 mm"'),
        'spars[0].webs[0].thickness: "1.5 mm" has no room on the rear face of spar main', "to spar rear",
    ),
    "cap strips as wide as the bay": (
        ('width = "6 mm", thickness = "1 mm"', 'width = "70 mm", thickness = "1 mm"'),
        'ribs.cap_strip.width: "70 mm" makes cap strips as wide as the bay: bay 1 is 70 mm', "space the ribs",
    ),
    "posts as wide as the bay": (
        ('post = { thickness = "3 mm" }', 'post = { thickness = "3 in" }'),
        'ribs.post.thickness: "3 in" makes posts as wide as the bay: bay 1 is 70 mm', "was 3 mm meant?",
    ),
    "a rib exception as wide as the bay": (
        ('ribs = "1-2", thickness = "3 mm"', 'ribs = "1-2", thickness = "3 in"'),
        'ribs.exceptions[0].thickness: "3 in" ', "was 3 mm meant?",
    ),
    "ribs closer than their thickness": (
        ("count = 11", 'stations = ["0 mm", "70 mm", "71 mm", "700 mm"]'),
        "ribs.stations: ", "leaves no clear bay between ribs that are 2 mm thick",
    ),
    "sheets thicker than the nose": (
        ('to = "main"\nthickness = "1 mm"', 'to = "20 %"\nthickness = "6 mm"'),
        'sheeting[0].thickness: "6 mm" fills the section: at y = 700 mm the outline is ', "take a thinner sheet",
    ),
    "sheets twice": (
        ("[leading_edge]", '[[sheeting]]\nto = "main"\nbays = "1-2"\nthickness = "1 mm"\n[leading_edge]'),
        'sheeting[1].to: "main" puts a second sheet on sheeting[0]: on the upper surface of bay 1', "thicknesses.",
    ),
    "sheets that overlap": (
        ("[leading_edge]", '[[sheeting]]\nfrom = "25 %"\nto = "50 %"\nthickness = "1 mm"\n[leading_edge]'),
        'sheeting[1].from: "25 %" puts a second sheet on sheeting[0]', "let one end where the other begins",
    ),
    "braces twice": (
        ("[[rails]]", '[[braces]]\nspar = "main"\nface = "rear"\nto = "60 mm"\nthickness = "1 mm"\n[[rails]]'),
        'braces[1].face: "rear" puts a second brace where braces[0] is already', "take another face",
    ),
    "rails twice": (
        ("[case]", '[[rails]]\nname = "other"\ny = "25 mm"\nx_front = "-40 mm"\nx_rear = "62 mm"\nz = "3 mm"\nwidth = "8 mm"\n'
         'height = "8 mm"\nties = ["main"]\ntie_thickness = "2 mm"\n[case]'),
        'rails[1].y: "25 mm" makes the rail run into rails[0] at y = 20 mm', "need middles 8 mm apart",
    ),
    "caps a face web cannot touch": (
        ('caps = { width = "8 mm", height = "4 mm" }',
         'upper_cap = { width = "8 mm", height = "4 mm" }\nlower_cap = { width = "5 mm", height = "4 mm" }'),
        "spars[0].webs[0].face: ", "needs caps whose faces lie in one plane",
    ),
    "tip at 700 m": (
        ('{ y = "700 mm"', '{ y = "700 m"'),
        'planform.stations[1].y: "700 m" makes the semispan 4000 times the mean chord', "was 700 mm meant?",
    ),
    "chord of 200 in": (
        ('chord = "200 mm"', 'chord = "200 in"'),
        'planform.stations[0].chord: "200 in" makes the chord ', "was 200 mm meant?",
    ),
    "engine at 40 m": (
        ('x_front = "-40 mm"', 'x_front = "-40 m"'),
        'rails[0].x_front: "-40 m" is more than a wing of', "at most 7000 mm",
    ),
    'hinge ahead of a spar': (
        ('[case]', '[elevons]\nfrom = "300 mm"\nto = "690 mm"\nhinge = "60 %"\ndeflection = "20 deg"\n[case]'),
        'elevons.hinge: "60 %" cuts spar rear off the wing', 'put the hinge behind that, or let the spar end',
    ),
    'a tie twice': (
        ('ties = ["main"]', 'ties = ["main", "main"]'),
        'rails[0].ties[1]: "main" is tied already', 'name each spar once',
    ),
    "wood heavier than its substance": (
        (
            'thickness = "2 mm"\n[[rails]]',
            'thickness = "2 mm"\nwood = "mine"\n[woods.mine]\nlike = "balsa"\ndensity = "1600 kg/m3"\n[[rails]]',
        ),
        'woods.mine.density: "1600 kg/m3"', "at most 1500 kg/m3",
    ),
    'kilograms for grams': (
        ('[case]', '[case]\nmass = "2500 kg"'),
        'case.mass: "2500 kg" is too much for a wing of 24.5 dm2', 'was 2500 g meant?',
    ),
    'section as thick as long': (
        ('NACA 2412', 'NACA 2490'),
        'planform.stations[0].section: "NACA 2490" is 9', 'at most 50 % is taken',
    ),
    'inset as deep as the section': (
        ('name = "main"\n', 'name = "main"\ninset = "30 mm"\n'),
        'spars[0].inset: "30 mm" leaves no room', 'an inset of less than',
    ),
    'washout of a propeller': (
        ('{ y = "700 mm", chord = "150 mm" }', '{ y = "700 mm", chord = "150 mm", washout = "70 deg" }'),
        'planform.stations[1].washout: "70 deg"', 'more than 20 degrees',
    ),
    'mass beyond the tip': (
        ('[case]', '[[masses]]\nname = "a"\nmass = "9 g"\nx = "-30 mm"\ny = "900 mm"\n[case]'),
        'masses[0].y: "900 mm"', 'lies beyond the tip at 700 mm',
    ),
    'brace beyond the spar': (
        ('to = "120 mm"', 'to = "900 mm"'),
        'braces[0].to: "900 mm"', 'lies beyond the end of spar main',
    ),
    "rail through the caps of a spar that it is not tied to": (
        ('x_rear = "62 mm"', 'x_rear = "150 mm"'),
        'rails[0].z: "3 mm" does not let a rail 8 mm high pass between the caps of spar rear',
        "which leave z = ",
    ),
    "elevon balanced beyond the wing": (
        ("[case]", '[elevons]\nfrom = "300 mm"\nto = "690 mm"\nhinge = "75 %"\ndeflection = "20 deg"\n'
                   'servo_stiffness = "5 N m/rad"\nmass = "9 g"\nbalance = "90 cm"\n[case]'),
        'elevons.balance: "90 cm" is more than', "at most 200 mm, the chord; was 90 mm meant?",
    ),
    "loop of a millimetre": (
        ("load_factor = 4", 'speed = "100 km/h"\nradius = "15 mm"'),
        'case.radius: "15 mm" is less than the wing\'s own chord of 150 mm', "was 15 m meant?",
    ),
    "wood stiffer than its cells": (
        (
            'thickness = "2 mm"\n[[rails]]',
            'thickness = "2 mm"\nwood = "mine"\n[woods.mine]\nlike = "balsa"\nE_L = "90 GPa"\n[[rails]]',
        ),
        "woods.mine.E_L: ", "at most 40000 MPa",
    ),
}  # fmt: skip
# ruff: noqa: E501


TOLD_OF_THE_BRACE_TOO = ("caps a face web cannot touch", "web thicker than the gap")


@pytest.mark.parametrize("name", REFUSED)
def test_refused_with_key_value_limit_and_mend(name):
    (old, new), begins, holds = REFUSED[name]
    assert old in WING
    with pytest.raises(WingFileError) as caught:
        read_text(WING.replace(old, new, 1), source="wing.toml")
    lines = str(caught.value).splitlines()
    assert len(lines) == (2 if name in TOLD_OF_THE_BRACE_TOO else 1), lines
    assert lines[0].startswith(f"wing.toml: {begins}"), lines[0]
    assert holds in lines[0], lines[0]


def test_the_wing_of_this_test_is_good():
    wing = read_text(WING)
    assert wing.cautions == ()


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('width = "20 mm"\nheight = "5 mm"', 'width = "20 mm"\nheight = "6.5 mm"', "is taken as sanded off"),
        ('bays = "3-7"', 'bays = "1-7"', "share the rear face"),
        ('x_front = "-40 mm"', 'x_front = "-400 mm"', "stands out of the chord by 400 mm"),
    ],
)
def test_what_is_odd_but_possible_is_told(old, new, says):
    (said,) = read_text(WING.replace(old, new, 1)).cautions
    assert says in said


def test_a_bench_may_try_a_web_as_thick_as_the_cap(make_specimen):
    (said,) = make_specimen("front", web=10).cautions
    assert "of 10 mm is thicker than half the cap, 5 mm" in said
    with pytest.raises(WingFileError) as caught:
        make_specimen("front", web=10.5)
    said = str(caught.value)
    assert "is more than the cap: a web on a face of a cap 10 mm wide (bay 1) is at most 10 mm thick" in said
    assert "\n" not in said


def test_a_stick_lower_than_the_outline_is_fine():
    low = WING.replace('width = "20 mm"\nheight = "5 mm"', 'width = "20 mm"\nheight = "1 mm"')
    assert read_text(low).cautions == ()


def test_shipped_wings_have_room():
    for path in Path(models.wings.__file__).parent.glob("*.toml"):
        said = read(path).cautions
        assert len(said) == (path.stem == "sailplane"), said


@pytest.mark.parametrize(
    ("raw", "low", "high", "words"),
    [
        ("5 in", 1e-4, 0.01, "; was 5 mm meant?"),
        ("1/16 m", 1e-4, 2e-3, "; was 1/16 in meant?"),
        ("5 mm", 1.0, 10.0, "; was 5 m meant?"),
        ("5 in", 1e-9, 1e-8, ""),
        ("five", 0.0, 1.0, ""),
        (5, 0.0, 1.0, ""),
    ],
)
def test_the_unit_that_fits(raw, low, high, words):
    assert hint(raw, low, high) == words


def test_the_usual_unit():
    assert usual_unit({"a": ["1 in", {"b": "1/2 in"}], "c": "3 mm", "d": 7}) == "in"
    assert usual_unit({}) == "mm"
