"""The wing file's faults: every kind of bad input gives its key path and says what was expected."""

import copy
import random
import tomllib
from pathlib import Path

import pytest

import models.wings
from models.wing.parts import Wing
from models.wing.reading import Fault, WingFileError, read, read_text

WINGS = Path(models.wings.__file__).parent
FILES = sorted(WINGS.glob("*.toml"))

WING = """
name = "Test wing"
[planform]
stations = [
    { y = "0 mm", chord = "200 mm", section = "NACA 0012" },
    { y = "700 mm", chord = "200 mm" },
]
[ribs]
count = 8
thickness = "2 mm"
wood = "balsa"
[[spars]]
name = "front"
at = "25 %"
caps = { width = "6 mm", height = "3 mm", wood = "spruce" }
[[spars.webs]]
bays = "1-7"
face = "front"
thickness = "1.5 mm"
[[spars]]
name = "rear"
at = "60 %"
caps = { width = "5 mm", height = "3 mm" }
[[sheeting]]
to = "front"
thickness = "1.5 mm"
[[braces]]
spar = "front"
face = "rear"
to = "100 mm"
thickness = "2 mm"
[[rails]]
name = "bearer"
y = "20 mm"
x_front = "-50 mm"
x_rear = "130 mm"
width = "8 mm"
height = "8 mm"
ties = ["front", "rear"]
tie_thickness = "2 mm"
[[masses]]
name = "engine"
mass = "6 oz"
x = "-40 mm"
carried_by = "rails"
[woods.sheet]
piece = { length = "1 m", width = "100 mm", thickness = "1.5 mm", mass = "24 g" }
[case]
load_factor = 6
[layouts.inner]
webs = [{ spar = "front", bays = "1-3", face = "both" }]
"""

SPECIMEN = """
[specimen]
length = "360 mm"
depth = "30 mm"
[ribs]
pitch = "60 mm"
thickness = "2 mm"
[[spars]]
name = "front"
caps = { width = "10 mm", height = "6 mm", wood = "balsa" }
[[spars.webs]]
bays = "all"
face = "both"
thickness = "1.6 mm"
[[spars]]
name = "rear"
x = "100 mm"
caps = { width = "10 mm", height = "6 mm", wood = "balsa" }
[[sheeting]]
thickness = "1.6 mm"
[case]
tip_force = "1 N"
"""

# What is changed in the file above, the key path of the fault, and what the line must say.
BAD_WINGS = [
    (
        "unknown wood",
        'wood = "balsa"',
        'wood = "basla"',
        "ribs.wood",
        '"basla" is not a wood that is known; did you mean balsa?',
    ),
    (
        "unknown wood far off",
        'wood = "balsa"',
        'wood = "unobtainium"',
        "ribs.wood",
        "is not a wood that is known; known are sheet, balsa",
    ),
    (
        "web in no bay",
        'bays = "1-7"',
        "bays = [1, 9]",
        "spars[0].webs[0].bays",
        "9 is not a bay of this wing; bays run 1 to 7 (8 ribs a side).",
    ),
    ("first bad bay", 'bays = "1-7"', 'bays = "1-8"', "spars[0].webs[0].bays", "8 is not a bay of this wing"),
    (
        "no bay 0",
        'bays = "1-7"',
        "bays = 0",
        "spars[0].webs[0].bays",
        "0 is not a bay of this wing; bays run 1 to 7",
    ),
    ("bays backwards", 'bays = "1-7"', 'bays = "7-1"', "spars[0].webs[0].bays", '"7-1" runs backwards'),
    (
        "bays in words",
        'bays = "1-7"',
        'bays = "inner"',
        "spars[0].webs[0].bays",
        '"inner" is not a choice of bays',
    ),
    (
        "ribs out of order",
        "count = 8",
        'stations = ["0 mm", "200 mm", "150 mm", "700 mm"]',
        "ribs.stations[2]",
        '"150 mm" is out of order; the rib before it stands at 200 mm',
    ),
    (
        "rib twice",
        "count = 8",
        'stations = ["0 mm", "200 mm", "200 mm", "700 mm"]',
        "ribs.stations[2]",
        "is out of order",
    ),
    (
        "rib beyond tip",
        "count = 8",
        'stations = ["0 mm", "701 mm"]',
        "ribs.stations[1]",
        "lies beyond the tip at 700 mm.",
    ),
    ("ribs thicker than bays", "count = 8", "count = 400", "ribs.count", "leaves no clear bay between ribs"),
    (
        "count and stations",
        "count = 8",
        'count = 8\nstations = ["0 mm", "700 mm"]',
        "ribs",
        "needs either stations or a count.",
    ),
    ("one rib", "count = 8", "count = 1", "ribs.count", "1 must be at least 2."),
    (
        "spar outside airfoil",
        'at = "25 %"',
        'at = "99 %"',
        "spars[0].at",
        '"99 %" puts the spar outside the airfoil: at y = 0 mm',
    ),
    (
        "spar ahead of airfoil",
        'at = "25 %"',
        'x = "-10 mm"',
        "spars[0].x",
        "puts the spar outside the airfoil",
    ),
    (
        "spar runs out",
        'at = "25 %"',
        'x = ["50 mm", "220 mm"]',
        "spars[0].x",
        "puts the spar outside the airfoil",
    ),
    ("spar nowhere", 'at = "25 %"\n', "", "spars[0]", 'needs either "at"'),
    (
        "cap too tall",
        'height = "3 mm", wood',
        'height = "11 mm", wood',
        "spars[0].caps.height",
        '"11 mm" is too tall: at y = 0 mm the section is 20.76 mm deep at this spar '
        "under 1.5 mm of covering, and the caps take 22 mm.",
    ),
    (
        "zero thickness",
        'face = "front"\nthickness = "1.5 mm"',
        'face = "front"\nthickness = "0 mm"',
        "spars[0].webs[0].thickness",
        '"0 mm" must be more than zero.',
    ),
    (
        "negative chord",
        'chord = "200 mm" }',
        'chord = "-200 mm" }',
        "planform.stations[1].chord",
        "must be more than zero.",
    ),
    (
        "missing unit",
        'thickness = "2 mm"\nwood',
        "thickness = 2\nwood",
        "ribs.thickness",
        "2 has no unit; a length takes mm, cm, m, in or ft",
    ),
    (
        "missing unit in text",
        'thickness = "2 mm"\nwood',
        'thickness = "2"\nwood',
        "ribs.thickness",
        '"2" has no unit',
    ),
    (
        "wrong unit",
        'thickness = "2 mm"\nwood',
        'thickness = "2 g"\nwood',
        "ribs.thickness",
        '"2 g" is a mass, not a length; a length takes mm, cm, m, in or ft.',
    ),
    (
        "NaN",
        'thickness = "2 mm"\nwood',
        "thickness = nan\nwood",
        "ribs.thickness",
        "nan is not a finite number",
    ),
    (
        "NaN in text",
        'thickness = "2 mm"\nwood',
        'thickness = "nan mm"\nwood',
        "ribs.thickness",
        '"nan mm" is not a finite number',
    ),
    ("infinite number", "load_factor = 6", "load_factor = inf", "case.load_factor", "inf"),
    ("NaN load factor", "load_factor = 6", "load_factor = nan", "case.load_factor", "nan"),
    ("load factor zero", "load_factor = 6", "load_factor = 0", "case.load_factor", "0 must be more than 0."),
    (
        "load factor in quotes",
        "load_factor = 6",
        'load_factor = "6"',
        "case.load_factor",
        "is not a plain number",
    ),
    (
        "load factor true",
        "load_factor = 6",
        "load_factor = true",
        "case.load_factor",
        "true is not a plain number",
    ),
    (
        "two load factors",
        "load_factor = 6",
        'load_factor = 6\nspeed = "20 m/s"\nradius = "10 m"',
        "case.radius",
        "stands beside a load_factor",
    ),
    ("radius alone", "load_factor = 6", 'radius = "10 m"', "case.radius", "only together with a speed"),
    (
        "lift coefficient and speed",
        "load_factor = 6",
        'speed = "20 m/s"\nlift_coefficient = 1.1',
        "case.lift_coefficient",
        "stands beside a speed",
    ),
    (
        "air density alone",
        "load_factor = 6",
        'air_density = "1.1 kg/m3"',
        "case.air_density",
        "only together with a speed",
    ),
    (
        "unknown key",
        'bays = "1-7"',
        'bays = "1-7"\ngrian = "upright"',
        "spars[0].webs[0].grian",
        "no such key; did you mean grain?",
    ),
    ("unknown key far off", 'bays = "1-7"', 'bays = "1-7"\nqqq = 1', "spars[0].webs[0].qqq", "no such key; "),
    (
        "unknown top key",
        'name = "Test wing"',
        'name = "Test wing"\nplanfrom = 1',
        "planfrom",
        "no such key; did you mean planform?",
    ),
    ("key missing", 'face = "front"\n', "", "spars[0].webs[0].face", "is missing"),
    (
        "wrong word",
        'face = "front"',
        'face = "frnt"',
        "spars[0].webs[0].face",
        '"frnt" is none of front, rear, both, between; did you mean front?',
    ),
    (
        "wrong grain",
        'face = "front"',
        'face = "front"\ngrain = "sideways"',
        "spars[0].webs[0].grain",
        '"sideways" is not a grain direction; write "upright" or "span"',
    ),
    (
        "wrong glue",
        'face = "front"',
        'face = "front"\nglue = "epoxi"',
        "spars[0].webs[0].glue",
        "did you mean epoxy?",
    ),
    (
        "web twice",
        'bays = "1-7"\nface = "front"',
        'bays = "1-7"\nface = "both"\nthickness = "1 mm"\n[[spars.webs]]\nbays = "3"\nface = "front"',
        "spars[0].webs[1].bays",
        "puts a second web on the front face of the caps in bay 3 port; spars[0].webs[0] is there already.",
    ),
    (
        "web too thick to go between",
        'face = "front"\nthickness = "1.5 mm"',
        'face = "between"\nthickness = "7 mm"',
        "spars[0].webs[0].thickness",
        "does not go between caps that are 6 mm wide.",
    ),
    (
        "web beyond spar",
        'at = "25 %"',
        'at = "25 %"\nto = "500 mm"',
        "spars[0].webs[0].bays",
        "6 lies beyond the end of the spar at 500 mm.",
    ),
    (
        "spar ends in mid-bay",
        'at = "60 %"',
        'at = "60 %"\nto = "510 mm"',
        "spars[1].to",
        "ends between ribs; a spar ends at a rib, the nearest is at 500 mm.",
    ),
    ("spar beyond tip", 'at = "60 %"', 'at = "60 %"\nto = "701 mm"', "spars[1].to", "lies beyond the tip"),
    (
        "spars in wrong order",
        'at = "60 %"',
        'at = "20 %"',
        "spars[1]",
        "does not stand wholly behind spar front",
    ),
    (
        "spars run into each other",
        'at = "60 %"',
        'at = "27 %"',
        "spars[1]",
        "does not stand wholly behind spar front",
    ),
    ("spar's name twice", None, None, "spars[1].name", '"front" is the name of spars[0] already.'),
    ("no spars", None, None, "spars", "is missing"),
    (
        "no caps",
        'caps = { width = "5 mm", height = "3 mm" }',
        "",
        "spars[1].upper_cap",
        'is missing; give "caps" for both',
    ),
    (
        "taper and steps",
        'height = "3 mm", wood = "spruce"',
        'height = ["3 mm", "2 mm"], steps = [{ from = "300 mm", height = "2 mm" }], wood = "spruce"',
        "spars[0].caps.height",
        "tapers and has steps too",
    ),
    (
        "steps out of order",
        'height = "3 mm", wood = "spruce"',
        'height = "3 mm", wood = "spruce", '
        'steps = [{ from = "300 mm", height = "2 mm" }, { from = "200 mm", height = "1 mm" }]',
        "spars[0].caps.steps[1].from",
        "is out of order",
    ),
    (
        "facing beyond spar",
        'height = "3 mm", wood = "spruce"',
        'height = "3 mm", facings = [{ thickness = "0.5 mm", to = "2 m" }], wood = "spruce"',
        "spars[0].caps.facings[0].to",
        "lies beyond the end of the spar",
    ),
    (
        "three sizes",
        'height = "3 mm", wood = "spruce"',
        'height = ["3 mm", "2 mm", "1 mm"], wood = "spruce"',
        "spars[0].caps.height",
        "a list of two",
    ),
    ("broken TOML", "count = 8", "count = = 8", "line 9, column 9", "not TOML"),
    ("TOML twice", "count = 8", "count = 8\ncount = 9", "line 10", "not TOML"),
    (
        "section not there",
        "NACA 0012",
        "missing.dat",
        "planform.stations[0].section",
        '"missing.dat" is neither a four- or five-digit section nor a coordinate file that is there.',
    ),
    (
        "section of six digits",
        "NACA 0012",
        "NACA 230012",
        "planform.stations[0].section",
        "is not a four- or five-digit section",
    ),
    ("no section", ', section = "NACA 0012"', "", "planform.stations[0].section", "is missing"),
    ("first station off centre", 'y = "0 mm"', 'y = "10 mm"', "planform.stations[0].y", "must be zero"),
    ("stations out of order", 'y = "700 mm"', 'y = "0 mm"', "planform.stations[1].y", "is out of order"),
    (
        "one station",
        '    { y = "700 mm", chord = "200 mm" },\n',
        "",
        "planform.stations",
        "has 1 entries; at least 2",
    ),
    (
        "sweep at the root",
        'section = "NACA 0012" }',
        'section = "NACA 0012", sweep = "5 deg" }',
        "planform.stations[0].sweep",
        "has no panel inboard",
    ),
    (
        "sweep twice",
        'y = "700 mm",',
        'y = "700 mm", sweep = "5 deg", leading_edge = "20 mm",',
        "planform.stations[1].sweep",
        "stands beside leading_edge",
    ),
    (
        "sweep too much",
        'y = "700 mm",',
        'y = "700 mm", sweep = "80 deg",',
        "planform.stations[1].sweep",
        "between -80 and 80 degrees",
    ),
    (
        "washout in mm",
        'y = "700 mm",',
        'y = "700 mm", washout = "3 mm",',
        "planform.stations[1].washout",
        "is a length, not an angle; an angle takes deg or rad.",
    ),
    (
        "sheeting to nowhere",
        'to = "front"\nthickness',
        'to = "middle"\nthickness',
        "sheeting[0].to",
        '"middle" is no line of this wing',
    ),
    (
        "sheeting outside chord",
        'to = "front"\nthickness',
        'to = "120 %"\nthickness',
        "sheeting[0].to",
        "lies outside the chord",
    ),
    (
        "sheeting backwards",
        'to = "front"\nthickness',
        'from = "rear"\nto = "front"\nthickness',
        "sheeting[0].to",
        "does not lie behind the front edge.",
    ),
    (
        "sheeting in no bay",
        'to = "front"\nthickness',
        'to = "front"\nbays = "8"\nthickness',
        "sheeting[0].bays",
        "8 is not a bay of this wing",
    ),
    (
        "brace on no spar",
        'spar = "front"\nface = "rear"',
        'spar = "frnt"\nface = "rear"',
        "braces[0].spar",
        '"frnt" is not a spar of this file; did you mean front?',
    ),
    (
        "brace too long",
        'to = "100 mm"',
        'to = "1 m"',
        "braces[0].to",
        "lies beyond the end of spar front at 700 mm.",
    ),
    (
        "rail tied to no spar",
        'ties = ["front", "rear"]',
        'ties = ["front", "raer"]',
        "rails[0].ties[1]",
        '"raer" is not a spar of this file; did you mean rear?',
    ),
    ("rail tied to nothing", 'ties = ["front", "rear"]', "ties = []", "rails[0].ties", "at least 1"),
    (
        "rail too short",
        'x_rear = "130 mm"',
        'x_rear = "100 mm"',
        "rails[0].x_rear",
        '"100 mm" does not reach spar rear, whose caps begin at x = 117.5 mm at y = 20 mm.',
    ),
    (
        "rail behind spar",
        'x_front = "-50 mm"',
        'x_front = "60 mm"',
        "rails[0].x_front",
        "begins behind spar front",
    ),
    (
        "rail backwards",
        'x_front = "-50 mm"',
        'x_front = "150 mm"',
        "rails[0].x_rear",
        "does not lie behind x_front.",
    ),
    (
        "rail through cap",
        'height = "8 mm"\nties',
        'height = "13 mm"\nties',
        "rails[0].z",
        "does not let a rail 13 mm high pass between the caps of spar rear",
    ),
    ("rail into its twin", 'y = "20 mm"', 'y = "3 mm"', "rails[0].y", "run into each other"),
    ("mass on no rails", None, None, "masses[0].carried_by", '"rails" names rails, and there are none.'),
    (
        "mass in N",
        'mass = "6 oz"',
        'mass = "6 N"',
        "masses[0].mass",
        "is a force, not a mass; a mass takes g, kg, oz or lb.",
    ),
    ("mass beyond tip", 'x = "-40 mm"', 'x = "-40 mm"\ny = "800 mm"', "masses[0].y", "lies beyond the tip"),
    (
        "mass paired on the centre line",
        'x = "-40 mm"',
        'x = "-40 mm"\npaired = true',
        "masses[0].paired",
        "give y more than zero",
    ),
    (
        "layout with no spar",
        'webs = [{ spar = "front"',
        'webs = [{ spar = "fornt"',
        "layouts.inner.webs[0].spar",
        "did you mean front?",
    ),
    (
        "layout with no bay",
        'bays = "1-3", face = "both"',
        'bays = "1-9", face = "both"',
        "layouts.inner.webs[0].bays",
        "8 is not a bay of this wing",
    ),
    (
        "layout of numbers",
        "[layouts.inner]\nwebs",
        "[layouts]\ninner",
        "layouts.inner",
        "is not a table; write",
    ),
    (
        "own wood like none",
        "piece = {",
        'like = "balas"\npiece = {',
        "woods.sheet.like",
        '"balas" is not a wood that is known; did you mean balsa?',
    ),
    (
        "own wood weighed twice",
        "piece = {",
        'density = "160 kg/m3"\npiece = {',
        "woods.sheet.piece",
        "stands beside a density",
    ),
    ("own wood impossible", "piece = {", "nu_LT = 9.0\npiece = {", "woods.sheet.nu_LT", "energy"),
    (
        "own wood soft as length",
        "piece = {",
        'E_L = "3 mm"\npiece = {',
        "woods.sheet.E_L",
        "is a length, not a stress",
    ),
    (
        "density in kg",
        'wood = "balsa"',
        'wood = "balsa, 160 kg"',
        "ribs.wood",
        'holds "160 kg", neither a density nor a cut',
    ),
    (
        "density no balsa has",
        'wood = "balsa"',
        'wood = "balsa, 900 kg/m3"',
        "ribs.wood",
        "cannot be: density 900",
    ),
    (
        "exception for no rib",
        'wood = "balsa"',
        'wood = "balsa"\nexceptions = [{ ribs = 9 }]',
        "ribs.exceptions[0].ribs",
        "9 is not a rib; ribs run 1 to 8.",
    ),
    (
        "wing and specimen",
        "[ribs]",
        '[specimen]\nlength = "1 m"\n[ribs]',
        "specimen",
        "stands beside a planform",
    ),
    ("name is a number", 'name = "Test wing"', "name = 5", "name", "5 is not text"),
    (
        "whole in quotes",
        'name = "Test wing"',
        'name = "Test wing"\nwhole = "yes"',
        "whole",
        "is neither true nor false.",
    ),
    ("spars is a table", None, None, "spars", "is not a list; write its entries"),
]

WHOLE_SECTIONS = {
    "spar's name twice": lambda: (
        WHOLE_SECTIONS["mass on no rails"]()
        .replace('"rails"', '"wing"')
        .replace('name = "rear"', 'name = "front"')
    ),
    "no spars": lambda: WING[: WING.index("[[spars]]")] + WING[WING.index("[case]") : WING.index("[layouts")],
    "mass on no rails": lambda: WING[: WING.index("[[rails]]")] + WING[WING.index("[[masses]]") :],
    "spars is a table": lambda: WING[: WING.index("[[spars]]")] + '[spars]\nname = "front"\n',
}

BAD_SPECIMENS = [
    (
        "cap too tall",
        'height = "6 mm"',
        'height = "15 mm"',
        "spars[0].caps.height",
        '"15 mm" is too tall: at y = 0 mm the caps take 30 mm of a depth of 30 mm.',
    ),
    (
        "web in no bay",
        'bays = "all"',
        'bays = "5-7"',
        "spars[0].webs[0].bays",
        "7 is not a bay of this specimen; bays run 1 to 6 (6 ribs).",
    ),
    (
        "web on a side",
        'bays = "all"',
        'bays = "all"\nside = "port"',
        "spars[0].webs[0].side",
        "a specimen has no sides",
    ),
    (
        "pitch too long",
        'pitch = "60 mm"',
        'pitch = "400 mm"',
        "ribs.pitch",
        "is more than the length of the specimen, 360 mm.",
    ),
    ("pitch too fine", 'pitch = "60 mm"', 'pitch = "2 mm"', "ribs.pitch", "leaves no clear bay"),
    ("no ribs", 'pitch = "60 mm"\n', "", "ribs", "needs either stations or a pitch."),
    (
        "ribs out of order",
        'pitch = "60 mm"',
        'stations = ["100 mm", "90 mm", "360 mm"]',
        "ribs.stations[1]",
        "is out of order",
    ),
    (
        "no rib at the tip",
        'pitch = "60 mm"',
        'stations = ["100 mm", "200 mm"]',
        "ribs.stations",
        "must end at the tip, 360 mm",
    ),
    (
        "spar runs into spar",
        'x = "100 mm"',
        'x = "9 mm"',
        "spars[1]",
        "does not stand wholly behind spar front",
    ),
    (
        "load on no spar",
        'tip_force = "1 N"',
        'tip_force = "1 N"\ntip_spar = "raer"',
        "case.tip_spar",
        "did you mean rear?",
    ),
    ("no load", 'tip_force = "1 N"', 'tip_force = "0 N"', "case", "has no load"),
    ("next to no load", 'tip_force = "1 N"', 'tip_force = "-5e-324 lbf"', "case", "has no load"),
    ("load in kg", 'tip_force = "1 N"', 'tip_force = "1 kg"', "case.tip_force", "is a mass, not a force"),
    ("sheet by chord", "[[sheeting]]", '[[sheeting]]\nto = "30 %"', "sheeting[0].to", "has no chord"),
    (
        "sheet backwards",
        "[[sheeting]]",
        '[[sheeting]]\nfrom = "rear"\nto = "front"',
        "sheeting[0].to",
        "does not lie behind",
    ),
    ("masses in a specimen", "[case]", '[[masses]]\nname = "x"\n[case]', "masses", "no such key"),
]


def changed(text, old, new):
    assert text.count(old) >= 1, f"{old!r} is not in the file"
    return text.replace(old, new, 1)


def faults_of(text):
    with pytest.raises(WingFileError) as caught:
        read_text(text, source="wing.toml")
    return caught.value


def holds(error, path, says):
    lines = str(error).splitlines()
    start = f"wing.toml: {path}"
    assert any(line.startswith((f"{start}:", f"{start},")) and says in line for line in lines), "\n".join(
        lines
    )


@pytest.mark.parametrize(("case", "old", "new", "path", "says"), BAD_WINGS, ids=[b[0] for b in BAD_WINGS])
def test_a_bad_wing_is_refused_in_one_clear_line(case, old, new, path, says):
    text = WHOLE_SECTIONS[case]() if old is None else changed(WING, old, new)
    error = faults_of(text)
    holds(error, path, says)
    # One thing is wrong, so one thing is told: no fault that merely follows from it.
    assert len(error.faults) == 1, str(error)


@pytest.mark.parametrize(
    ("case", "old", "new", "path", "says"), BAD_SPECIMENS, ids=[b[0] for b in BAD_SPECIMENS]
)
def test_a_bad_specimen_is_refused_in_one_clear_line(case, old, new, path, says):
    error = faults_of(changed(SPECIMEN, old, new))
    holds(error, path, says)
    assert len(error.faults) == 1, str(error)


def test_all_faults_of_a_file_are_told_in_one_run():
    text = changed(WING, 'wood = "balsa"', 'wood = "basla"')
    text = changed(text, 'bays = "1-7"', 'bays = "1-9"\ngrian = "span"')
    text = changed(text, 'to = "100 mm"', 'to = "1 m"')
    paths = {fault.key_path for fault in faults_of(text).faults}
    assert paths == {"ribs.wood", "spars[0].webs[0].bays", "spars[0].webs[0].grian", "braces[0].to"}


def test_the_line_of_a_fault():
    error = WingFileError("wing.toml", [Fault("a.b", "9", "is not a bay."), Fault("", "", "is no file.")])
    assert str(error) == "wing.toml: a.b: 9 is not a bay.\nwing.toml: is no file."


@pytest.mark.parametrize("what", ["missing", "folder", "binary"])
def test_a_file_that_cannot_be_read(tmp_path, what):
    path = tmp_path / "wing.toml"
    if what == "folder":
        path.mkdir()
    if what == "binary":
        path.write_bytes(b'name = "\xff"')
    expected = {"missing": "no such file", "folder": "cannot be read", "binary": "not text in UTF-8"}[what]
    with pytest.raises(WingFileError, match=expected):
        read(path)


def test_unreadable_coordinates_are_told_with_their_line(tmp_path):
    (tmp_path / "bad.dat").write_text("Name\n1 0\n0.5 0.1\noops\n")
    path = tmp_path / "wing.toml"
    path.write_text(WING.replace("NACA 0012", "bad.dat"))
    with pytest.raises(WingFileError) as caught:
        read(path, source="wing.toml")
    assert str(caught.value) == (
        "wing.toml: planform.stations[0].section: \"bad.dat\" is unreadable at line 4: 'oops' is not x and y."
        " (line 4: first station)"
    )


def test_the_files_of_this_test_are_good():
    assert isinstance(read_text(WING), Wing)
    assert isinstance(read_text(SPECIMEN), Wing)


@pytest.mark.parametrize("path", FILES, ids=[path.stem for path in FILES])
def test_shipped_files_are_good(path):
    wing = read(path)
    assert wing.source == str(path)
    assert all(text for pair in wing.assumed for text in pair)


def test_the_shipped_files_are_all_there():
    assert {path.stem for path in FILES} >= {
        "powered-tailless",
        "trainer",
        "sailplane",
        "spar-open",
        "spar-c",
        "spar-box",
        "spar-box-spanwise",
        "box-two-spars",
        "box-two-spars-sheeted",
    }


def test_the_first_file_is_short():
    lines = (WINGS / "trainer.toml").read_text().splitlines()
    assert len([line for line in lines if line.strip()]) <= 40


def _spots(value, path=()):
    yield path
    items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, item in items:
        yield from _spots(item, (*path, key))


def _as_toml(value):
    if isinstance(value, dict):
        return "{" + ", ".join(f'"{key}" = {_as_toml(item)}' for key, item in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(_as_toml(item) for item in value) + "]"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return '"' + value.replace('"', '\\"') + '"'
    return str(value)


@pytest.mark.parametrize("text", [WING, SPECIMEN], ids=["wing", "specimen"])
def test_whatever_is_put_anywhere_is_read_or_refused(text):
    """Every value of a file in turn is replaced by things of every kind: a wing or faults, no other error."""
    odd = [
        7,
        -1,
        10**400,
        0.5,
        float("nan"),
        True,
        "",
        "nan",
        "1e9 m",
        "1e-30 mm",
        "3 mm",
        "-3 mm",
        "0 mm",
        "all",
    ]
    odd += ["50 %", "front", [], {}, [1], [[]], {"y": 1}, "99999999999999999999", "1-999", 5000]
    odd += ["1.5 mm", "2 mm"]
    raw = tomllib.loads(text)
    chance = random.Random(86121)
    refused = read_well = 0
    for spot in _spots(raw):
        if not spot:
            continue
        for thing in chance.sample(odd, 8):
            other = copy.deepcopy(raw)
            here = other
            for step in spot[:-1]:
                here = here[step]
            here[spot[-1]] = thing
            written = "\n".join(f'"{key}" = {_as_toml(value)}' for key, value in other.items())
            told = None
            try:
                read_text(written, source="wing.toml")
            except WingFileError as error:
                told = error
            if told is None:
                read_well += 1
                continue
            refused += 1
            assert told.faults
            assert all(line.startswith("wing.toml: ") for line in str(told).splitlines())
    assert refused > 100
    assert read_well > 10
