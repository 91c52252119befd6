"""Ribs, sheeting, edges and cap strips: what is there, where it ends and what it weighs."""

from __future__ import annotations

from importlib import resources

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fea.structure import Loads
from models.analysis import spar_motion
from models.junction import foot_press_flexibility
from models.structure import build
from models.studies.hand_test import hold
from models.wing.reading import read

SHEETED = """[[sheeting]]
bays = {bays}
surface = "{surface}"
thickness = "1.6 mm"
wood = "reference-balsa"
grain = "span"
"""
TWO_SPARS = """[[spars]]
name = "rear"
x = "100 mm"
caps = { width = "10 mm", height = "6 mm", wood = "reference-balsa" }
"""


def shipped(name):
    with resources.as_file(resources.files("models.wings") / f"{name}.toml") as path:
        return read(path)


def test_sheeting_of_a_box_weighs_its_whole_area():
    wing = shipped("box-two-spars-sheeted")
    mass = build(wing).structural_mass["sheeting"]
    # From the front face of the first spar's front web to the rear face of the second spar's cap.
    assert_allclose(mass, 2 * 184.0 * 1.6e-3 * 0.36 * (0.105 + 0.0066), rtol=1e-9)


REAR = '[[spars.webs]]\nbays = "all"\nface = "front"\nthickness = "{} mm"\nwood = "reference-balsa"\n'
BRACED = """[[spars]]
name = "main"
at = "30 %"
caps = {{ width = "8 mm", height = "3 mm", wood = "spruce" }}
[[braces]]
spar = "main"
face = "rear"
to = "100 mm"
thickness = "{} mm"
wood = "birch ply"
"""
PLAIN = '{{ y = "0 mm", chord = "{0} mm", section = "NACA 2412" }}, {{ y = "600 mm", chord = "{0} mm" }}'


def ahead_and_behind(model):
    """Where every panel of ribs begins and ends, m."""
    block = model.structure.blocks["ribs"]
    x = model.structure.corners(block)[0][:, :4, 0]
    return x[:, [0, 3]], x[:, [1, 2]]


@pytest.mark.parametrize("apart", [25, 60, 100])
@pytest.mark.parametrize("web", [1.6, 5.1, 7.5, 10])
def test_no_piece_of_rib_is_turned_over_by_a_thick_web(make_specimen, apart, web):
    spar = TWO_SPARS.replace("100 mm", f"{apart} mm") + REAR.format(web)
    front, rear = ahead_and_behind(build(make_specimen("both", extra=spar)))
    assert (rear - front > 1e-4).all()


@pytest.mark.parametrize("chord", [90, 120, 130, 180])
@pytest.mark.parametrize("brace", [1, 6, 8])
def test_no_piece_of_rib_is_turned_over_by_a_thick_brace(make_wing, chord, brace):
    front, rear = ahead_and_behind(
        build(make_wing(stations=PLAIN.format(chord), spars=BRACED.format(brace), edges=""))
    )
    assert (rear - front > 1e-4).all()


@pytest.mark.parametrize("surface", ["upper", "lower"])
def test_sheeting_lies_where_it_is_asked_for(make_specimen, surface):
    model = build(make_specimen("both", extra=TWO_SPARS + SHEETED.format(bays='"2-4"', surface=surface)))
    block = model.structure.blocks["sheeting"]
    corners = model.structure.true_corners(block)
    assert_allclose([corners[..., 1].min(), corners[..., 1].max()], [0.06, 0.24], rtol=1e-12)
    assert_allclose([corners[..., 0].min(), corners[..., 0].max()], [6.6e-3, 95e-3], rtol=1e-12)
    # The middle of the sheet lies half its thickness outside the caps.
    sign = 1 if surface == "upper" else -1
    assert_allclose(corners[..., 2], sign * 15.8e-3, rtol=1e-9)
    assert {model.parts[p].place for p in block.part} == {surface}
    assert {model.parts[p].bay for p in block.part} == {2, 3, 4}
    area = 0.18 * (95e-3 - 6.6e-3)
    lengths = corners.max(axis=1) - corners.min(axis=1)
    assert_allclose((lengths[:, 0] * lengths[:, 1]).sum(), area, rtol=1e-12)
    assert set(model.bay[model.sheets.span]) == {2, 3, 4}


def test_ribs_of_a_wing_weigh_their_outline(make_wing):
    wing = make_wing(ribs='count = 7\nthickness = "2 mm"\nwood = "reference-balsa"')
    model = build(wing, across_chord=12, whole=True)
    plan, spar = wing.planform, wing.spars[0]
    mass = 0.0
    for rib in wing.ribs:
        chord, start = float(plan.chord.at(rib.y)), float(plan.leading_edge_x.at(rib.y))
        x = np.linspace(start + 8e-3, start + chord - 20e-3, 4001)
        fraction = (x - start) / chord
        top, bottom = (plan.surface(rib.y, fraction, upper)[1] for upper in (True, False))
        middle, face = float(spar.x.at(rib.y)), 4e-3
        inside = (x > middle - face) & (x < middle + face + 1.5e-3)
        area = np.trapezoid(np.where(inside, 0.0, top - bottom), x)
        mass += (2 if rib.y > 1e-9 else 1) * 184.0 * 2e-3 * area
    # The sticks at the edges are lower than the outline there, so that the ends of the ribs taper to them.
    assert_allclose(model.structural_mass["rib"], mass, rtol=0.02)


def test_edges_weigh_their_sticks(make_wing):
    model = build(make_wing(), whole=True)
    wood = model.wing.edges[0].material
    # What is left of the sticks within the outline, by slices at 201 stations; taper tilts them a little.
    plan, mass = model.wing.planform, []
    for y in np.linspace(0.0, model.wing.semispan, 201):
        chord, area = float(plan.chord.at(y)), 0.0
        for edge in model.wing.edges:
            d = np.linspace(0.0, edge.width, 4001) / chord
            d = d if edge.kind == "leading" else 1 - d
            (_, top), (_, bottom) = (plan.surface(y, d, upper) for upper in (True, False))
            middle = (top[-1] + bottom[-1]) / 2
            height = np.minimum(top, middle + edge.height / 2) - np.maximum(bottom, middle - edge.height / 2)
            area += abs(np.trapezoid(height, d * chord))
        mass.append(wood.density * area)
    want = 2 * np.trapezoid(mass, np.linspace(0.0, model.wing.semispan, 201))
    assert_allclose(model.structural_mass["edge"], want, rtol=0.01)


def test_sheets_of_unlike_wood_that_meet_on_a_cap_weigh_what_each_weighs(make_wing):
    """Side by side over it, whose mean of thickness times density is no product of means (that was 3.6 % too
    heavy); where they meet they lie at one height, which is a thousandth of their width."""
    ends, sizes = (
        ("leading edge", "main", "trailing edge"),
        (("0.6 mm", "birch ply"), ("1.5 mm", "balsa light")),
    )
    sheets = [
        f'[[sheeting]]\nfrom = "{start}"\nto = "{end}"\nthickness = "{thick}"\nwood = "{wood}"\n'
        for start, end, (thick, wood) in zip(ends, ends[1:], sizes)
    ]
    both, ahead, behind = (
        build(make_wing(extra=text)).structural_mass["sheeting"] for text in ("".join(sheets), *sheets)
    )
    assert_allclose(both, ahead + behind, rtol=2e-3)


def test_ribs_carry_cap_strips_on_both_contours(make_wing):
    strip = '\ncap_strip = { width = "6 mm", thickness = "1.5 mm", wood = "balsa medium" }'
    model = build(make_wing(ribs='count = 7\nthickness = "2 mm"' + strip))
    block = model.structure.blocks["cap strips"]
    corners = model.structure.true_corners(block)
    length = np.linalg.norm(corners[:, 1] - corners[:, 0], axis=1)
    wood = model.wing.ribs[0].cap_strip_material
    share = np.where(corners[:, 0, 1] < 1e-9, 0.5, 1.0)  # half a rib on the plane of symmetry
    assert_allclose(block.axial_rigidity, wood.E_L * 6e-3 * 1.5e-3 * share, rtol=1e-12)
    assert_allclose(
        model.structural_mass["cap strip"], (wood.density * 9e-6 * share * length).sum(), rtol=1e-9
    )
    assert {model.parts[p].place for p in block.part} == {"upper", "lower"}


def test_posts_stand_between_the_caps_inner_faces(make_specimen):
    model = build(make_specimen("front", depth=(36.0, 18.0)))
    block = model.structure.blocks["posts"]
    corners = model.structure.true_corners(block)
    y = corners[:, 0, 1]
    assert_allclose(y, [rib.y for rib in model.wing.ribs], rtol=1e-12)
    assert_allclose(corners[:, 0, 2] - corners[:, 1, 2], (36 - 50 * y - 12) * 1e-3, rtol=1e-9)
    assert_allclose(model.posts.length, corners[:, 0, 2] - corners[:, 1, 2], rtol=1e-12)
    # E of the upright grain, over the post's section.
    assert_allclose(block.sections.axial, 3740e6 * 2e-3 * 10e-3, rtol=1e-9)


def test_posts_do_not_bend_into_an_s_within_the_rib_where_it_goes_on(make_wing, make_specimen):
    alone = build(make_specimen("front")).structure.blocks["posts"].sections
    assert_allclose(alone.s_bending_z, alone.bending_z, rtol=1e-12)
    wing = make_wing()
    held = build(wing).structure.blocks["posts"].sections
    assert np.isinf(held.s_bending_z).all()
    assert np.isfinite(held.bending_z).all()
    # Shear spread evenly and not as a parabola, over caps 8 mm wide square to their run.
    aslant = wing.spars[0].aslant.at([rib.y for rib in wing.ribs])
    assert_allclose(held.shear_y[1:] / alone.shear_y[1], 1.2 * aslant[1:] * 8 / 10, rtol=1e-9)
    # Ribs that end at the spars hold their posts on one side: half of a strip of twice the width.
    box = build(shipped("box-two-spars-sheeted")).structure.blocks["posts"].sections
    assert_allclose(box.s_bending_z, 4 * box.bending_z, rtol=1e-12)


def test_ribs_shear_as_a_parabola_where_no_sheeting_holds_their_edges(make_wing):
    """At 5/6 of the wood's G; along the chord and upright the rib stretches as ever."""
    sheet = SHEETED.format(bays="[2]", surface="upper") + 'to = "main"\n'
    plain, sheeted = (build(make_wing(extra=extra)).structure.blocks["ribs"] for extra in ("", sheet))
    wood = make_wing().ribs[0].material.in_plane()
    assert_allclose(plain.constitutive[:, 2, 2], 5 / 6 * wood.G_12, rtol=1e-9)
    assert_allclose(plain.constitutive[:, :2, :2], sheeted.constitutive[:, :2, :2], rtol=1e-9)
    shear = sheeted.constitutive[:, 2, 2].reshape(7, 2, -1)
    # The second bay lies between the second rib and the third; the sheet ends at the spar.
    assert_allclose(shear[[1, 2], 0], wood.G_12, rtol=1e-9)
    assert_allclose(shear[[0, 3, 4, 5, 6]], 5 / 6 * wood.G_12, rtol=1e-9)
    assert_allclose(shear[:, 1], 5 / 6 * wood.G_12, rtol=1e-9)


def test_posts_of_half_a_wing_are_starboard(make_wing):
    model = build(make_wing())
    sides = [model.parts[p].side for p in model.structure.blocks["posts"].part]
    assert sides == ["", *["starboard"] * 6]


def test_edges_run_on_where_no_rib_stands_on_the_centre_line(make_wing):
    wing = make_wing(ribs='stations = ["50 mm", "200 mm", "400 mm", "600 mm"]\nthickness = "2 mm"')
    half, whole = build(wing), build(wing, whole=True)
    assert_allclose(2 * half.structural_mass["edge"], whole.structural_mass["edge"], rtol=1e-9)
    corners = half.structure.true_corners(half.structure.blocks["edges"])
    assert_allclose(np.diff(corners[..., 1], axis=1).sum(), 2 * 0.6, rtol=1e-9)


def ends_that_give(wing, **how):
    """The ribs' corners and what each gives."""
    block = build(wing, **how).structure.blocks["ribs"]
    return None if block.give is None else np.einsum("ecm,edm->ecd", block.give, block.give)


def rear_ends(model, station, x):
    """Upper and lower outline at a place of the chord, m; the wing has no washout."""
    plan, y = model.wing.planform, np.abs(model.y[[station]])
    fraction = (x - plan.leading_edge_x.at(y)) / plan.chord.at(y)
    return np.array([float(plan.surface_at(y, fraction, upper)[1][0]) for upper in (True, False)])


def test_ribs_end_at_the_outline_beside_caps_and_sticks_that_are_lower(make_wing):
    """Not at the caps' faces 1.5 mm below it, nor at a stick's height: else narrow panels lean and hinge."""
    ribs = 'count = 7\nthickness = "2 mm"'
    spar = (
        '[[spars]]\nname = "main"\nat = "30 %"\ninset = "1.5 mm"\n'
        'caps = { width = "8 mm", height = "4 mm", wood = "spruce" }\n'
    )
    twist = []
    for across in (5, 16):
        model = build(make_wing(ribs=ribs, spars=spar), across_chord=across)
        corners = model.structure.true_corners(model.structure.blocks["ribs"]).reshape(7, -1, 4, 3)[3]
        y = int(np.argmin(np.abs(model.y - model.wing.ribs[3].y)))
        for panel, ahead in ((0, True), (across - 1, False), (across, True), (-1, False)):
            low, high = (0, 3) if ahead else (1, 2)
            outline = rear_ends(model, y, corners[panel, low, 0])
            assert_allclose(corners[panel, [high, low], 2], outline, atol=2e-8)
        nodal = np.zeros((len(model.structure.nodes), 6, 1))
        nodal[model.chordlines[0].upper[-1], 2] = 1.0
        held = hold(model, Loads(nodal))
        twist.append(spar_motion(held, 0).twist[-1])
    assert_allclose(twist[0], twist[1], rtol=0.01)


def test_ribs_give_where_they_press_on_caps_and_edge_sticks(make_wing):
    ribs = 'count = 7\nthickness = "2 mm"'
    wing = make_wing(ribs=ribs)
    assert ends_that_give(wing, rigid_joints=True) is None
    found = ends_that_give(wing)
    per_rib = found.reshape(7, -1, 4, 4)
    # Panels from the leading edge to the spar and on to the trailing edge: both ends of both, and no other.
    assert [bool(panel.any()) for panel in per_rib[3]] == [True, False, False, False, True] * 2
    behind = per_rib[3][5]
    stick = wing.spars[0].upper.layers[0].material.stick()
    figures = [float(v) for v in (stick.E, stick.E_aft, stick.G_aft, stick.nu_L_aft)]
    press = foot_press_flexibility(*figures, 2e-3, 8e-3)
    # By hand: caps 4 mm high, the panel ends at the outline behind them; per force over thickness.
    model = build(wing)
    y = int(np.argmin(np.abs(model.y - wing.ribs[3].y)))
    deep = float(model.depth[0, y]) + 4e-3
    one = 4e-3 / press
    turning = 2 * one * (((deep - 4e-3) / 2) ** 2 + (4e-3) ** 2 / 12)
    ribs = model.structure.blocks["ribs"]
    corners = model.structure.true_corners(ribs).reshape(7, -1, 4, 3)[3, 5]
    outline = rear_ends(model, y, corners[0, 0])
    assert_allclose(corners[[3, 0], 2], outline, atol=1e-9)
    low, high = outline[::-1] - model.structure.nodes[model.cap_nodes[0, :, y], 2].mean()
    moving = 2e-3 / (2 * one)
    assert_allclose(behind[0, 0], moving + 2e-3 * low**2 / turning, rtol=1e-6)
    assert_allclose(behind[0, 3], moving + 2e-3 * low * high / turning, rtol=1e-5)
    assert_allclose(behind[1:3], 0.0, atol=1e-30)
