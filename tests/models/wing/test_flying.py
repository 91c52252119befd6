"""A flying wing's geometry by hand: lines over the span, bays, what is derived from the case."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from models.wing.airfoil import half_thickness
from models.wing.reading import WingFileError, read_text

PLAIN = """
[planform]
stations = [
    { y = "0 mm", chord = "300 mm", section = "NACA 0012" },
    { y = "800 mm", chord = "200 mm", leading_edge = "100 mm" },
]
[ribs]
count = 9
thickness = "2 mm"
[[spars]]
name = "main"
at = "30 %"
caps = { width = "6 mm", height = "3 mm" }
[[spars.webs]]
bays = "all"
face = "rear"
thickness = "1.5 mm"
[case]
load_factor = 4
"""


def wing(text=PLAIN, **changes):
    for old, new in changes.values():
        assert old in text
        text = text.replace(old, new)
    return read_text(text)


def half_depth(fraction):
    return float(half_thickness(np.array([fraction]), 0.12)[0])


def test_planform_and_bays():
    plain = wing()
    assert plain.flies
    assert not plain.whole
    assert_allclose(plain.bay_edges, np.linspace(0, 0.8, 9), rtol=1e-13)
    assert plain.first_bay == 1
    assert_allclose(plain.planform.area, 2 * 0.8 * 0.25, rtol=1e-13)
    assert {(web.side, web.bay) for web in plain.spars[0].webs} == {
        (side, bay) for side in ("port", "starboard") for bay in range(1, 9)
    }


def test_a_spar_by_share_of_the_chord_lies_on_the_airfoil():
    (spar,) = wing().spars
    y = np.array([0.0, 0.4, 0.8])
    chord = np.array([0.3, 0.25, 0.2])
    assert_allclose(spar.x.at(y), np.array([0, 0.05, 0.1]) + 0.3 * chord, rtol=1e-12)
    # Ordinates are kept at 401 points, h = 0.0036 apart here: straight between them costs h^2 y''/8 = 7e-7 of
    # the chord, 1.2e-5 of the ordinate.
    assert_allclose(spar.z_upper.at(y), half_depth(0.3) * chord, rtol=2e-5)
    assert_allclose(spar.z_lower.at(y), -half_depth(0.3) * chord, rtol=2e-5)


def test_a_straight_spar():
    (spar,) = wing(a=('at = "30 %"', 'x = ["60 mm", "150 mm"]')).spars
    assert_allclose(spar.x.at(np.array([0, 0.4, 0.8])), [0.06, 0.105, 0.15], rtol=1e-12)
    assert_allclose(spar.z_upper.at(0.4), half_depth((0.105 - 0.05) / 0.25) * 0.25, rtol=2e-5)


def test_covering_pushes_the_caps_in():
    surface = wing().spars[0].z_upper.at(0.4)
    sheet = '[[sheeting]]\nto = "{}"\nsurface = "both"\nbays = "1-2"\nthickness = "1.5 mm"\n[case]'
    assert_allclose(
        wing(a=("[case]", sheet.format("main"))).spars[0].z_upper.at(0.4), surface - 0.0015, rtol=1e-9
    )
    assert_allclose(wing(a=("[case]", sheet.format("20 %"))).spars[0].z_upper.at(0.4), surface, rtol=1e-12)
    strip = 'cap_strip = { width = "6 mm", thickness = "1 mm" }\n[[spars]]'
    assert_allclose(wing(a=("[[spars]]", strip)).spars[0].z_upper.at(0.4), surface - 0.001, rtol=1e-9)
    inset = wing(a=('at = "30 %"', 'at = "30 %"\ninset = "2 mm"'))
    assert_allclose(inset.spars[0].z_upper.at(0.4), surface - 0.002, rtol=1e-9)


def test_sheeting_edges():
    text = '[[sheeting]]\nfrom = "{}"\nto = "{}"\nthickness = "1 mm"\nsurface = "upper"\nbays = "1"\n[case]'

    def edges(front, rear):
        (sheet,) = wing(a=("[case]", text.format(front, rear))).sheets
        return float(sheet.x_from.at(0.0)), float(sheet.x_to.at(0.0)), sheet

    front, rear, sheet = edges("leading edge", "main")
    assert_allclose([front, rear], [0.0, 0.09], atol=1e-12)
    assert sheet.from_leading_edge
    assert sheet.bays == {("port", 1), ("starboard", 1)}
    front, rear, sheet = edges("main front", "main rear")
    # Caps 6 mm wide at x = 90 mm, a web of 1.5 mm on the rear face, of a spar that runs 70 mm aft in 800.
    aslant = np.hypot(70, 800) / 800
    assert_allclose([front, rear], [0.09 - 0.003 * aslant, 0.09 + 0.0045 * aslant], rtol=1e-12)
    assert not sheet.from_leading_edge
    front, rear, _ = edges("50 %", "trailing edge")
    assert_allclose([front, rear], [0.15, 0.3], rtol=1e-12)


def test_dihedral_sweep_and_washout():
    changes = ('leading_edge = "100 mm"', 'sweep = "10 deg", dihedral = "4 deg", washout = "2 deg"')
    turned = wing(a=changes)
    outline = turned.planform
    assert_allclose(outline.leading_edge_x.at(0.8), 0.8 * np.tan(np.radians(10)), rtol=1e-12)
    assert_allclose(outline.leading_edge_z.at(0.4), 0.4 * np.tan(np.radians(4)), rtol=1e-12)
    assert_allclose(outline.washout.at(0.4), np.radians(1), rtol=1e-12)
    (spar,) = turned.spars
    # 5 % of the chord behind the quarter chord, the section turned nose down about that: tail up.
    z = 0.8 * np.tan(np.radians(4)) + 0.05 * 0.2 * np.sin(np.radians(2))
    middle = (spar.z_upper.at(0.8) + spar.z_lower.at(0.8)) / 2
    assert_allclose(middle, z, rtol=1e-9)
    assert_allclose(
        spar.x.at(0.8), 0.8 * np.tan(np.radians(10)) + 0.05 + 0.01 * np.cos(np.radians(2)), rtol=1e-12
    )


def test_a_bay_across_the_centre_and_one_to_the_tip():
    spread = wing(a=("count = 9", 'count = 8\nfrom = "50 mm"\nto = "750 mm"'))
    assert spread.first_bay == 0
    assert_allclose(spread.bay_edges, [0, *np.arange(0.05, 0.76, 0.1), 0.8], atol=1e-15, rtol=1e-12)
    assert {web.bay for web in spread.spars[0].webs} == set(range(0, 9))


def test_a_spar_that_ends_at_a_rib_has_webs_as_far_as_it_reaches():
    short = wing(a=('at = "30 %"', 'at = "30 %"\nto = "500 mm"'))
    assert_allclose(short.spars[0].y_end, 0.5, rtol=1e-12)
    assert {web.bay for web in short.spars[0].webs} == {1, 2, 3, 4, 5}
    assert_allclose(short.spars[0].x.y[-1], 0.5, rtol=1e-12)


def test_ribs_posts_and_exceptions():
    text = (
        'wood = "balsa light"\ngrain = "upright"\n'
        'exceptions = [{ ribs = 1, thickness = "3 mm", wood = "birch ply" }]\n'
        'post = { thickness = "4 mm", wood = "spruce" }\n[[spars]]'
    )
    ribs = wing(a=("[[spars]]", text)).ribs
    assert [rib.thickness for rib in ribs] == [0.003] + [0.002] * 8
    assert [rib.material.name for rib in ribs] == ["birch ply"] + ["balsa light"] * 8
    assert {(rib.post_thickness, rib.post_material.name, rib.post_grain, rib.grain) for rib in ribs} == {
        (0.004, "spruce", np.pi / 2, np.pi / 2)
    }
    own = wing().ribs[0]
    assert (own.post_thickness, own.post_material, own.post_grain) == (own.thickness, own.material, own.grain)
    assert own.panel == "chord"


def test_speed_and_radius_give_the_load_factor():
    case = wing(
        a=("load_factor = 4", 'speed = "90 km/h"\nradius = "10 m"\nmass = "3 kg"\nlift_line = "27 %"')
    ).case
    # n = 1 + V^2 / (g R) at the bottom of a circle: 25^2 / 98.0665.
    assert_allclose(case.load_factor, 1 + 625 / 98.0665, rtol=1e-14)
    assert_allclose(
        [case.speed, case.radius, case.flying_mass, case.lift_line], [25, 10, 3, 0.27], rtol=1e-14
    )
    plain = wing().case
    assert (plain.load_factor, plain.speed, plain.flying_mass) == (4, 0, 0)
    assert wing(a=("[case]\nload_factor = 4", "")).case.load_factor == 1


def test_rails_masses_braces_edges_covering():
    text = """
leading_edge = { width = "6 mm", height = "7 mm" }
trailing_edge = { width = "20 mm", height = "4 mm", wood = "spruce" }
covering = { mass_per_area = "50 g/m2" }
[[braces]]
spar = "main"
face = "front"
to = "120 mm"
thickness = "2 mm"
[[rails]]
name = "bearer"
y = "25 mm"
x_front = "-60 mm"
x_rear = "110 mm"
z = "1 mm"
width = "10 mm"
height = "12 mm"
ties = ["main"]
tie_thickness = "3 mm"
[[masses]]
name = "engine"
mass = "12 oz"
x = "-50 mm"
z = "5 mm"
carried_by = "rails"
[[masses]]
name = "servo"
mass = "20 g"
x = "100 mm"
y = "300 mm"
paired = true
"""
    head, tail = text.split("[[braces]]", 1)
    full = read_text(head + PLAIN + "[[braces]]" + tail)
    assert [(edge.kind, edge.material.name) for edge in full.edges] == [
        ("leading", "balsa medium"),
        ("trailing", "spruce"),
    ]
    assert_allclose(full.covering_mass_per_area, 0.05, rtol=1e-14)
    (brace,) = full.braces
    assert (brace.spar, brace.face, brace.material.name, brace.grain, brace.glue) == (
        "main", "front", "birch ply", 0.0, "epoxy",
    )  # fmt: skip
    (rail,) = full.rails
    assert_allclose([rail.y, rail.x_front, rail.x_rear, rail.z], [0.025, -0.06, 0.11, 0.001], rtol=1e-14)
    assert (rail.material.name, rail.tie_material.name, rail.ties) == ("beech", "birch ply", ("main",))
    engine, servo = full.masses
    assert_allclose(engine.mass, 12 * 0.028349523125, rtol=1e-14)
    assert (engine.carried_by, engine.paired, servo.carried_by, servo.paired) == (
        "rails",
        False,
        "wing",
        True,
    )
    assert not full.whole


@pytest.mark.parametrize(
    ("old", "new", "whole"),
    [
        ('bays = "all"', 'bays = "all"\nside = "port"', True),
        ("[case]", '[[masses]]\nname = "x"\nmass = "5 g"\nx = "100 mm"\ny = "-200 mm"\n[case]', True),
        ("[case]", '[[sheeting]]\nside = "starboard"\nbays = 1\nthickness = "1 mm"\n[case]', True),
        ("[planform]", "whole = true\n[planform]", True),
        ("[case]", '[[masses]]\nname = "x"\nmass = "5 g"\nx = "100 mm"\n[case]', False),
    ],
)
def test_sides_that_differ_ask_for_the_whole_wing(old, new, whole):
    assert wing(a=(old, new)).whole is whole


def test_layouts_name_every_spar_where_none_is_named():
    text = '[layouts.inner]\nwebs = [{ bays = "1-2", side = "port", face = "front" }]\n[layouts.none]\n[case]'
    inner, none = wing(a=("[case]", text)).layouts
    assert inner.webs == {("main", "port", 1): ("front",), ("main", "port", 2): ("front",)}
    assert (inner.grain, none.name, none.webs) == (None, "none", {})


def test_own_woods():
    text = """
[woods.sheet]
piece = { length = "1 m", width = "100 mm", thickness = "2 mm", mass = "30 g" }
cut = "quarter-sawn"
[woods.tested]
like = "spruce"
E_L = "13 GPa"
compression = "42 MPa"
[case]
"""
    own = wing(a=("[case]", text), b=('height = "3 mm"', 'height = "3 mm", wood = "tested"'),
               c=("count = 9", 'count = 9\nwood = "sheet"'))  # fmt: skip
    rib, stick = own.ribs[0].material, own.spars[0].upper.layers[0].material
    assert_allclose(rib.density, 150.0, rtol=1e-12)
    assert (rib.cut, rib.name) == ("quarter-sawn", "sheet")
    assert_allclose([stick.E_L, stick.compression], [13e9, 42e6], rtol=1e-14)


def test_what_was_assumed():
    assumed = dict(wing().assumed)
    assert assumed["ribs.wood"] == "balsa medium"
    assert assumed["ribs.to"] == "the tip"
    assert assumed["case.lift_line"] == "25 %"
    assert "planform.stations[0].leading_edge" not in assumed
    assert "planform.stations[1].leading_edge" not in assumed
    assert assumed["planform.stations[1].height"] == "no dihedral from the station inboard"
    assert "case.air_density" not in assumed
    assert "case.load_factor" not in assumed


EDGES = """
[leading_edge]
width = "{leading} mm"
height = "8 mm"
[trailing_edge]
width = "{trailing} mm"
height = "5 mm"
[case]"""


@pytest.mark.parametrize(
    ("leading", "trailing", "fault"),
    [
        # At the tip the caps lie from 56.99 to 63.01 mm of a chord of 200 mm: 6 mm square to a swept spar.
        (56.9, 30, ""),
        (57, 30, "leading_edge.width: .* reaches the caps of spar main .* at y = 800 mm .* 56.99 mm"),
        (8, 136.9, ""),
        (8, 137, "trailing_edge.width: .* reaches the caps of spar main .* at y = 800 mm .* 137 mm"),
    ],
)
def test_edges_keep_clear_of_the_caps(leading, trailing, fault):
    text = PLAIN.replace("[case]", EDGES.format(leading=leading, trailing=trailing))
    if not fault:
        assert len(read_text(text).edges) == 2
    else:
        with pytest.raises(WingFileError, match=fault):
            read_text(text)


def test_edges_leave_a_rib_where_no_spar_is():
    short = PLAIN.replace('at = "30 %"', 'at = "30 %"\nto = "500 mm"')
    for trailing, good in ((140, True), (150, False)):
        text = short.replace("[case]", EDGES.format(leading=50, trailing=trailing))
        if good:
            read_text(text)
        else:
            with pytest.raises(
                WingFileError, match="leaves no rib between the edges where the chord is 200 mm"
            ):
                read_text(text)


def test_elevons_on_their_servos():
    table = '[elevons]\nfrom = "300 mm"\nto = "700 mm"\nhinge = "75 %"\n'
    servo = 'servo_stiffness = "30 N mm/deg"\nmass = "20 g"\nbalance = "-2 mm"\nslack = "0.5 deg"\n'
    still, loose = (read_text(PLAIN + table + more).elevons for more in ("", servo))
    assert still.servo_stiffness == 0
    assert_allclose(loose.servo_stiffness, 30e-3 / np.radians(1))
    assert_allclose([loose.mass, loose.balance, loose.slack], [0.02, -0.002, np.radians(0.5)])
    for line, words in (
        ('mass = "20 g"', "needs servo_stiffness"),
        ('servo_stiffness = "30 N mm"', "torque per angle"),
        ('servo_stiffness = "3 N m/rad"\nslack = "70 deg"', "between 0 and 60"),
    ):
        with pytest.raises(WingFileError, match=words):
            read_text(PLAIN + table + line)
