"""What can hardly be meant: the key that slipped is named, with the unit that fits, and no other key."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

import models.wings
from models.wing.airfoil import FRACTIONS, AirfoilError, four_digit, section
from models.wing.faults import WingFileError
from models.wing.reading import read_text

WINGS = Path(models.wings.__file__).parent
TAILLESS = (WINGS / "powered-tailless.toml").read_text(encoding="utf-8")
TRAINER = (WINGS / "trainer.toml").read_text(encoding="utf-8")


def faults(text: str) -> list[str]:
    with pytest.raises(WingFileError) as caught:
        read_text(text, source="w")
    return str(caught.value).splitlines()


def changed(text: str, old: str, new: str) -> str:
    assert old in text
    return text.replace(old, new, 1)


SLIPS = {
    "inner chord": (TAILLESS, 'chord = "430 mm"', 'chord = "430 cm"', "stations[1].chord", "430 mm"),
    "inner chord small": (TAILLESS, 'chord = "430 mm"', 'chord = "43 mm"', "stations[1].chord", "43 cm"),
    "root chord": (TAILLESS, 'chord = "460 mm"', 'chord = "460 cm"', "stations[0].chord", "460 mm"),
    "one of two chords": (TRAINER, 'chord = "220 mm"', 'chord = "22 mm"', "stations[0].chord", "22 cm"),
    "inner station": (TAILLESS, 'y = "140 mm"', 'y = "140 cm"', "stations[1].y", "140 mm"),
    "inner station, digits": (TAILLESS, 'y = "140 mm"', 'y = "1400 mm"', "stations[1].y", "140 mm"),
    "tip": (TAILLESS, '{ y = "1000 mm"', '{ y = "1000 m"', "stations[2].y", "1000 mm"),
    "rib": (TAILLESS, '"70 mm", "140 mm"', '"70 cm", "140 mm"', "ribs.stations[1]", "70 mm"),
    "rib near": (TAILLESS, '"70 mm", "140 mm"', '"7 mm", "140 mm"', "ribs.stations[1]", "7 cm"),
    "leading edge": (TAILLESS, 'edge = "20 mm"', 'edge = "20 cm"', "stations[1].leading_edge", "20 mm"),
    "cap": (TRAINER, 'width = "8 mm", height = "5 mm"', 'width = "0.8 mm", height = "5 mm"', "caps.width",
            "0.8 cm"),
    "step": (TAILLESS, 'width = "6 mm", height = "3 mm"', 'width = "6 mm", height = "3 in"',
             "steps[0].height", "3 mm"),
    "edge": (TRAINER, 'width = "25 mm"', 'width = "2.5 mm"', "trailing_edge.width", "2.5 cm"),
    "sheet": (TAILLESS, 'bays = "1-2"\nthickness = "1.5 mm"\nwood = "balsa medium"\ngrain = "span"',
              'bays = "1-2"\nthickness = "1.5 cm"', "sheeting[0].thickness", "1.5 mm"),
    "brace": (TRAINER, 'to = "70 mm"\nthickness = "2 mm"', 'to = "70 mm"\nthickness = "2 cm"',
              "braces[0].thickness", "2 mm"),
    "rail": (TAILLESS, 'y = "24 mm"', 'y = "24 cm"', "rails[0].y", "24 mm"),
    "bolts": (TAILLESS, 'across = "48 mm"', 'across = "48 cm"', "rails[0].bolts.across", "48 mm"),
    "mass": (TAILLESS, 'mass = "560 g"', 'mass = "560 kg"', "masses[0].mass", "560 g"),
    "place of a mass": (TAILLESS, 'x = "-60 mm"', 'x = "-6 m"', "masses[0].x", "-6 mm"),
    "speed": (TAILLESS, '"120 km/h"', '"1200 m/s"', "case.speed", ""),
    "washout": (TAILLESS, 'washout = "3 deg"', 'washout = "3 rad"', "stations[2].washout", "3 deg"),
    "deflection": (TAILLESS, '"10 deg"', '"10 rad"', "elevons.deflection", "10 deg"),
    "density of the air": (TAILLESS, 'radius = "20 m"', 'radius = "20 m"\nair_density = "1.225 g/cm3"',
                           "case.air_density", "1.225 kg/m3"),
    "covering": (TAILLESS, '"60 g/m2"', '"60 kg/m2"', "covering.mass_per_area", "60 g/m2"),
    "power": (TAILLESS, '"0.65 kW"', '"0.65 W"', "engine.power", "0.65 kW"),
}  # fmt: skip


NOT_FAR = ("leading edge", "cap", "edge")
"""Hardly odd: other faults are told after it."""


@pytest.mark.parametrize("name", SLIPS)
def test_a_slip_is_told_at_its_own_key_alone_with_the_unit_that_fits(name):
    text, old, new, key, meant = SLIPS[name]
    lines = faults(changed(text, old, new))
    assert len(lines) == 1 or name in NOT_FAR, lines
    path = lines[0].split(": ")[1]
    assert path.endswith(key), lines
    assert (f"; was {meant} meant?" in lines[0]) == bool(meant), lines


BOX = (WINGS / "box-two-spars.toml").read_text(encoding="utf-8")
UNLIKE = {
    "length of a specimen": (BOX, 'length = "360 mm"', 'length = "360 m"', "specimen.length", "360 mm"),
    "cap that covers the next spar": (BOX, 'width = "10 mm"', 'width = "10 in"', "caps.width", "10 mm"),
    "web that fills the gap": (BOX, 'thickness = "1.6 mm"', 'thickness = "1.6 m"', "webs[0].thickness",
                               "1.6 mm"),
    "modulus": (BOX, '"3740 MPa"', '"3740 kPa"', "woods.reference-balsa.E_L", "3740 MPa"),
    "place of a mass": (TAILLESS, 'x = "-60 mm"', 'x = "-60 ft"', "masses[0].x", "-60 mm"),
}  # fmt: skip


@pytest.mark.parametrize("name", UNLIKE)
def test_a_unit_unlike_the_others_is_told_where_it_mends_the_file(name):
    text, old, new, key, meant = UNLIKE[name]
    (line,) = faults(changed(text, old, new))
    assert line.split(": ")[1].endswith(key), line
    assert f"; was {meant} meant?" in line


def test_a_unit_unlike_the_others_is_left_alone_where_it_mends_nothing():
    text = changed(BOX, 'tip_spar = "', 'tip_spar = "x')
    assert "tip_spar" in faults(text)[0]
    both = changed(text, 'length = "360 mm"', 'length = "36 cm"')
    assert faults(both) == faults(text)


HONEST_INCHES = {
    "a rib among sheets": ((('pitch = "60 mm"', 'pitch = "3 mm"'), ('"2 mm"', '"0.125 in"')), "ribs.pitch"),
    "a cap among caps": ((('x = "100 mm"', 'x = "12 mm"'), ('"10 mm"', '"0.6 in"')), "spars[1]"),
}  # fmt: skip


@pytest.mark.parametrize("name", HONEST_INCHES)
def test_inches_of_an_ordinary_size_are_not_blamed_for_what_has_no_room(name):
    slips, key = HONEST_INCHES[name]
    text = BOX
    for old, new in slips:
        text = changed(text, old, new)
    assert [line for line in faults(text) if line.startswith(f"w: {key}: ")]
    assert not [line for line in faults(text) if "meant" in line]


def test_kilograms_among_grams_are_not_blamed_for_a_speed_that_is_too_slow():
    (line,) = faults(changed(TAILLESS, '"120 km/h"', '"12 km/h"'))
    assert line.startswith("w: case.speed: ")


def test_the_heaviest_mass_in_ounces_is_not_blamed_for_a_speed_that_is_too_slow():
    honest = changed(TAILLESS, 'mass = "1.3 kg"', 'mass = "45.9 oz"')
    cautions = read_text(changed(honest, '"120 km/h"', '"30 km/h"')).cautions
    assert any("case.speed" in said for said in cautions)
    assert not any("is in oz" in said for said in cautions)


def test_ounces_among_grams_are_told_before_the_speed_that_they_make_too_slow():
    text = changed(TAILLESS, 'mass = "560 g"', 'mass = "560 oz"')
    first = read_text(text).cautions[0]
    assert first.startswith('masses[0].mass: "560 oz" is in oz')
    assert first.endswith("was 560 g meant?")


CAUTIONS = {
    "tip": (TAILLESS, '{ y = "1000 mm"', '{ y = "1000 cm"',
            'planform.stations[2].y: "1000 cm" is far beyond the outermost rib', "was 1000 mm meant?"),
    "wide cap": (TRAINER, 'width = "8 mm", height = "5 mm"', 'width = "60 mm", height = "5 mm"',
                 'spars[0].caps.width: "60 mm" is odd', "was 6 mm meant?"),
    "fat rib": (TAILLESS, 'thickness = "3 mm", wood = "light ply"', 'thickness = "40 mm", wood = "light ply"',
                "ribs.exceptions[0].thickness", "was 4 mm meant?"),
    "long brace": (TRAINER, 'to = "70 mm"', 'to = "70 cm"', "braces[0].to", "was 70 mm meant?"),
    "steep": (TAILLESS, 'dihedral = "1 deg"', 'dihedral = "1 rad"', "stations[2].dihedral",
              "was 1 deg meant?"),
    "engine far off": (TAILLESS, 'x = "-60 mm"', 'x = "-60 in"', "masses[0].x", "was -60 mm meant?"),
    "fast": (TAILLESS, '"120 km/h"', '"120 m/s"', "case.speed", "was 120 km/h meant?"),
    "fast motor": (TAILLESS, '"8500 rpm"', '"8500 rad/s"', "engine.rpm", "was 8500 rpm meant?"),
    "a mighty push": (TRAINER, "hand_push = 2.0", "hand_push = 200", "launch.hand_push",
                      "more times the weight"),
    "narrow cap strips": (TAILLESS, 'cap_strip = { width = "8 mm"', 'cap_strip = { width = "2 mm"',
                          "The cap strips of 2 mm", "narrower than rib 1, 3 mm"),
    "thin elevon": (TAILLESS, 'hinge = "80 %"', 'hinge = "99.9 %"', "elevons.hinge", "hardly within"),
    "stalled": (TAILLESS, '"120 km/h"', '"30 km/h"', "case.speed", "asks for a lift coefficient of"),
    "sheet on the stick": (TAILLESS, 'to = "rear"\nbays = "1-2"', 'to = "0.5 %"\nbays = "1-2"',
                           "A sheet from the leading edge", "12 mm wide, alone"),
}  # fmt: skip


def test_a_caution_names_the_part_in_words_with_its_line():
    twice = TRAINER.replace("[[braces]]", '[[braces]]\nspar = "main"\nface = "front"\nto = "70 mm"\n'
                            'thickness = "2 mm"\nwood = "spruce"\n\n[[braces]]', 1)  # fmt: skip
    (said,) = read_text(twice).cautions
    line = 1 + twice.splitlines().index("[[braces]]")
    assert said.startswith(f"Main spar, first brace (line {line}) and the web of bay 1 of spar main share")
    (said,) = read_text(changed(twice, '"rear"\nto = "70 mm"', '"rear"\nto = "70 cm"')).cautions[:1]
    assert said.endswith(": main spar, second brace)")


@pytest.mark.parametrize("name", CAUTIONS)
def test_what_is_odd_on_its_own_is_a_caution(name):
    text, old, new, begins, holds = CAUTIONS[name]
    said = [one for one in read_text(changed(text, old, new)).cautions if begins in one]
    assert len(said) == 1, said
    assert holds in said[0]


REFUSED = {
    "too slow": (TAILLESS, '"120 km/h"', '"1 km/h"', "case.speed", "level flight needs"),
    "one rib in two exceptions": (
        TAILLESS, '"light ply" }]', '"light ply" }, { ribs = 2, wood = "birch ply" }]',
        "ribs.exceptions[1].ribs", "names rib 2, which ribs.exceptions[0] names already",
    ),
    "an exception of nothing": (
        TAILLESS, '"light ply" }]', '"light ply" }, { ribs = 5 }]', "ribs.exceptions[1].ribs",
        "changes nothing",
    ),
    "a brace thicker than its cap": (
        TRAINER, 'to = "70 mm"\nthickness = "2 mm"', 'to = "70 mm"\nthickness = "9 mm"',
        "braces[0].thickness", "more than the cap",
    ),
    "a brace beside a web between": (
        changed(TRAINER, 'face = "front"\nthickness = "1.5 mm"', 'face = "between"\nthickness = "7 mm"'),
        'face = "rear"\nto', 'face = "between"\nto', "braces[0].thickness", "no room between the caps",
    ),
    "spars that touch at the tip": (
        changed(TAILLESS, 'at = "25 %"', 'at = ["25 %", "59.272727 %"]').replace(
            'face = "both"', 'face = "between"'),
        'at = "62 %"', 'at = "62 %"', "spars[1]", "does not stand wholly behind",
    ),
    "a wood of nothing": (
        TAILLESS, "[covering]", '[woods.x]\nlike = "balsa"\nE_L = "3 Pa"\n[covering]', "woods.x.E_L",
        '"3 Pa" cannot be',
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", REFUSED)
def test_what_nobody_can_build_is_refused(name):
    text, old, new, key, holds = REFUSED[name]
    lines = faults(changed(text, old, new))
    assert lines[0].startswith(f"w: {key}: "), lines
    assert holds in lines[0]


def test_a_short_rear_spar_of_a_swept_wing_is_held_against_the_other_only_as_far_as_it_goes():
    text = changed(TAILLESS, 'leading_edge = "290 mm"', 'leading_edge = "590 mm"')
    text = changed(text, 'name = "rear"\nat = "62 %"', 'name = "rear"\nat = "62 %"\nto = "420 mm"')
    text = changed(text, 'bays = "3-10"', 'bays = "3-6"')
    text = "\n".join(line for line in text.splitlines() if not line.startswith("carried_by"))
    said = [line for line in faults(text) if "wholly behind" in line]
    assert not said


def loop_of(points: int = 26) -> np.ndarray:
    """Points of a section from the tail over the nose and back, (n, 2)."""
    pick = np.linspace(0, 400, points).astype(int)
    upper, lower = four_digit(0.02, 0.4, 0.12)
    x = FRACTIONS[pick]
    return np.concatenate([np.c_[x, upper[pick]][::-1], np.c_[x, lower[pick]][1:]])


def drawn(points: np.ndarray, head: str = "Name\n") -> str:
    return head + "".join(f"{x:.6f} {y:.6f}\n" for x, y in points)


def bent(k: int, by: float) -> np.ndarray:
    points = loop_of()
    points[k, 1] += by
    return points


LOST = {
    "a tail that stands off": (drawn(bent(0, 0.03)), "has a spike at line 2: its tail stands 3 %"),
    "a gap on a curve": (
        drawn(np.delete(loop_of(), np.s_[5:15], 0)),
        "between lines 6 and 7, where it is curved",
    ),
    "no thickness": (drawn(loop_of() * [100, 1]), "Are x and y in two units?"),
    "counts that do not agree": (drawn(loop_of(), "Name\n26. 29.\n"), "26 and 29 points follow, and 51 do"),
    "commas for all": (drawn(loop_of()).replace(" ", ", ").replace(".", ","), "write 0.125 with a point"),
    "to and fro": (drawn(loop_of()[[*range(10), 12, 10, 11, *range(13, 51)]]), "between lines"),
}


@pytest.mark.parametrize("name", LOST)
def test_a_section_that_lost_something_is_refused_with_the_place(name, tmp_path):
    text, holds = LOST[name]
    (tmp_path / "it.dat").write_text(text, encoding="utf-8")
    with pytest.raises(AirfoilError) as caught:
        section("it.dat", tmp_path)
    assert holds in str(caught.value)


READ = {
    "quotes": "x,y\n" + "".join(f'"{x:.5f}","{y:.5f}"\n' for x, y in loop_of()),
    "minus signs": drawn(loop_of()).replace("-", "\u2212"),
    "powers of ten with D": "N\n" + "".join(f"{x:.6e} {y:.6e}\n".replace("e", "D") for x, y in loop_of()),
    "remarks": drawn(loop_of()[:20]) + "# more\n" + drawn(loop_of()[20:], ""),
    "a name before one line": "My own " + drawn(loop_of(), "").replace("\n", " "),
    "curled quotes": drawn(loop_of(), "Profil \u201cgut\u201d\n").encode("cp1252"),
}


@pytest.mark.parametrize("name", READ)
def test_a_section_written_in_another_way_is_read(name, tmp_path):
    text = READ[name]
    (tmp_path / "it.dat").write_bytes(text if isinstance(text, bytes) else text.encode())
    upper, _ = section("it.dat", tmp_path)
    assert np.abs(upper - four_digit(0.02, 0.4, 0.12)[0]).max() < 0.003


@pytest.mark.parametrize(
    ("points", "says"),
    [(loop_of() * [1, -1], "is it upside down?"), (loop_of() + loop_of()[:, :1] * [0, 0.0175], "is turned")],
)
def test_a_section_that_is_turned_or_upside_down_is_a_caution(points, says, tmp_path):
    (tmp_path / "it.dat").write_text(drawn(points), encoding="utf-8")
    text = changed(TRAINER, '"NACA 2412"', '"it.dat"')
    assert any(says in one for one in read_text(text, folder=tmp_path).cautions)


@pytest.mark.parametrize(
    ("entry", "most"), [('[[sheeting]]\nthickness = "1 mm"\n', 60), ("[woods.x%d]\n", 200)]
)
def test_more_entries_than_a_wing_has_are_refused_before_they_are_compared(entry, most):
    text = TRAINER + "".join(entry % i if "%" in entry else entry for i in range(most + 1))
    (line,) = faults(text)
    assert f"has {most + 1} entries; no wing has more than {most}" in line


@pytest.mark.parametrize(("at", "edge"), [("3 %", "leading"), ("97 %", "trailing")])
def test_a_spar_where_ribs_without_an_edge_end_is_refused(at, edge):
    """The ribs' pieces would be folded over: their stiffness was below zero."""
    text = TRAINER[: TRAINER.index("[leading_edge]")] + TRAINER[TRAINER.index("[case]") :]
    text = text.replace('at = "30 %"', f'at = "{at}"').replace('height = "5 mm"', 'height = "1 mm"')
    lines = faults(text)
    assert f"without a {edge} edge ribs end 2 % of the chord from there" in lines[-1], lines
