"""Whole structures: closed forms, symmetry, meshes, and the map from parts to elements."""

from __future__ import annotations

from dataclasses import replace
from importlib import resources

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from fea.assembly import Assembly
from models.analysis import analyse, solve, spar_motion, wing_twist
from models.strength import check
from models.structure import build
from models.studies.layouts import apply
from models.wing.parts import Layout
from models.wing.reading import read

WINGS = ("trainer", "sailplane", "powered-tailless")
FILES = (*WINGS, "spar-open", "spar-c", "box-two-spars-sheeted")
KINDS = {
    "caps": {"cap"}, "web ends": {"cap"}, "webs": {"web", "brace"}, "web plates": {"web", "brace"},
    "posts": {"post"},
    "strips": {"web strip", "brace strip", "sheeting"}, "ribs": {"rib"}, "rib plates": {"rib"},
    "sheeting": {"sheeting"}, "sheeting plates": {"sheeting"}, "cap strips": {"cap strip"}, "edges": {"edge"},
    "rails": {"rail"}, "rail ties": {"rail tie"}, "rail webs": {"rail tie"}, "rail web plates": {"rail tie"},
    "masses": {"mass"},
}  # fmt: skip


def shipped(name):
    with resources.as_file(resources.files("models.wings") / f"{name}.toml") as path:
        return read(path)


def tip(analysis, case=None, spar=0):
    """Deflection (m) and twist (rad) at a spar's tip."""
    motion = spar_motion(analysis, spar, case)
    return np.array([motion.deflection[-1], motion.twist[-1]])


def caps(height):
    return f'{{ width = "10 mm", height = "{height} mm", wood = "reference-balsa" }}'


# Closed forms


@pytest.mark.parametrize("grain", ["upright", "span"])
def test_a_slender_box_bends_as_a_beam(make_specimen, grain):
    wing = make_specimen("both", length=3000.0, pitch=150.0, grain=grain)
    deflection = tip(analyse(wing, per_bay=2), 0)[0]
    cap, area, arm = 3740e6, 60e-6, 12e-3
    along = 3740e6 if grain == "span" else 56.1e6
    bending = 2 * cap * area * (arm**2 + 6e-3**2 / 12) + 2 * along * 1.6e-3 * 30e-3**3 / 12
    # Shear flow reaches the caps' middles over their height: the web works over the distance of the axes.
    shear = 138.38e6 * 3.2e-3 * 24e-3
    assert_allclose(deflection, 3.0**3 / (3 * bending) + 3.0 / shear, rtol=1e-3)


def test_a_web_on_the_other_face_mirrors_the_twist(make_specimen):
    front, rear = (analyse(make_specimen(face)) for face in ("front", "rear"))
    (down, turn), (down_rear, turn_rear) = tip(front, 0), tip(rear, 0)
    assert_allclose(down_rear, down, rtol=1e-8)
    assert_allclose(turn_rear, -turn, rtol=1e-8)
    assert (
        turn < 0
    )  # a web in front puts the shear centre ahead: a force on the caps' middle turns the nose down
    assert_allclose(tip(rear, 1)[1], tip(front, 1)[1], rtol=1e-8)


@pytest.mark.parametrize("face", ["", "both", "between"])
def test_a_symmetric_spar_does_not_twist_under_a_force(make_specimen, face):
    analysis = analyse(make_specimen(face))
    # Beside the twist by the same force 10 mm off the middle.
    scale = 10e-3 * abs(tip(analysis, 1)[1])
    assert_allclose(tip(analysis, 0)[1], 0, atol=1e-7 * scale)
    assert_allclose(tip(analysis, 1)[0], 0, atol=1e-7 * abs(tip(analysis, 0)[0]) / 10e-3)


def test_force_and_torque_are_mutual(make_specimen):
    # Maxwell and Betti: twist by a unit force equals deflection by a unit torque.
    analysis = analyse(make_specimen("front"))
    assert_allclose(tip(analysis, 0)[1], tip(analysis, 1)[0], rtol=1e-7)


def test_twice_the_load_moves_twice_as_far(make_specimen, make_wing):
    wing = make_specimen("front")
    double = replace(wing, case=replace(wing.case, tip_force=2.0, tip_torque=2.0))
    assert_allclose(tip(analyse(double)), 2 * tip(analyse(wing)), rtol=1e-9)
    flying = make_wing()
    double = replace(flying, case=replace(flying.case, load_factor=10.0))
    assert_allclose(tip(analyse(double)), 2 * tip(analyse(flying)), rtol=1e-8)


# Stiffness orders


def test_rigid_feet_are_stiffer_than_rocking_ones(make_specimen):
    wing = make_specimen("")
    rocking, rigid = analyse(wing), analyse(wing, rigid_joints=True)
    assert tip(rigid, 0)[0] < 0.9 * tip(rocking, 0)[0]
    assert tip(rigid, 1)[1] <= tip(rocking, 1)[1] * (1 + 1e-12)
    assert (rocking.model.posts.foot_flexibility > 0).all()
    assert not rigid.model.posts.foot_flexibility.any()


@settings(
    max_examples=6,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(
    face=st.sampled_from(["", "front", "rear", "both", "between"]),
    grain=st.sampled_from(["upright", "span"]),
    depth=st.floats(24, 45),
    height=st.floats(3, 7),
    web=st.floats(0.8, 2.5),
    factor=st.floats(1.1, 2.0),
)
def test_more_wood_never_gives_more(make_specimen, face, grain, depth, height, web, factor):
    def own(wing, **changes):
        spar = wing.spars[0]
        return replace(wing, spars=(replace(spar, **changes),))

    wing = make_specimen(face, depth=depth, caps=caps(height), web=web, grain=grain)
    spar = wing.spars[0]
    # Stiffer caps, not wider ones: these would carry a web on their face farther out.
    (layer,) = spar.upper.layers
    wood = layer.material
    moduli = {name: getattr(wood, name) * factor for name in ("E_L", "E_R", "E_T", "G_LR", "G_LT", "G_RT")}
    stiffer = replace(spar.upper, layers=(replace(layer, material=replace(wood, **moduli)),))
    thicker_webs = tuple(replace(w, thickness=min(w.thickness * factor, 4e-3)) for w in spar.webs)
    posts = tuple(replace(r, post_thickness=r.post_thickness * factor) for r in wing.ribs)
    before = analyse(wing)
    down, turn = tip(before, 0)[0], tip(before, 1)[1]
    changed = [own(wing, upper=stiffer, lower=stiffer), replace(wing, ribs=posts)]
    if spar.webs:
        changed.append(own(wing, webs=thicker_webs))
    for more in changed:
        after = analyse(more)
        assert tip(after, 0)[0] <= down * (1 + 1e-9)
        assert tip(after, 1)[1] <= turn * (1 + 1e-9)


# Halves and wholes


def both_ways(wing):
    return analyse(replace(wing, whole=False)), analyse(replace(wing, whole=True))


@pytest.mark.parametrize(
    "name", ["trainer", "bay 0", pytest.param("sailplane", marks=pytest.mark.slow), "powered-tailless"]
)
def test_a_whole_wing_answers_as_its_half_does(make_wing, name):
    middle = 'stations = ["50 mm", "200 mm", "400 mm", "600 mm"]\nthickness = "2 mm"'
    wing = make_wing(ribs=middle) if name == "bay 0" else shipped(name)
    half, whole = both_ways(wing)
    assert half.model.half
    assert not whole.model.half
    for s in range(len(wing.spars)):
        a, b = spar_motion(half, s), spar_motion(whole, s)
        right, left = b.y >= -1e-9, b.y <= 1e-9
        assert_allclose(b.deflection[right], a.deflection, rtol=1e-6, atol=1e-6 * np.abs(a.deflection).max())
        assert_allclose(
            b.deflection[left][::-1], a.deflection, rtol=1e-6, atol=1e-6 * np.abs(a.deflection).max()
        )
        assert_allclose(b.twist[right], a.twist, rtol=1e-6, atol=1e-6 * np.abs(a.twist).max())
    assert_allclose(wing_twist(whole)[1][-1], wing_twist(half)[1][-1], rtol=1e-6)
    assert_allclose(whole.pull_up.wing_mass, half.pull_up.wing_mass, rtol=1e-10)
    assert_allclose(whole.pull_up.trim_moment, half.pull_up.trim_moment, rtol=1e-6, atol=1e-9)
    one, other = check(half).first(), next(row for row in check(whole).rows if row.side != "port")
    assert_allclose(other.reserve_factor, one.reserve_factor, rtol=1e-6)
    assert (other.mode, other.part) == (one.mode, one.part)


@pytest.mark.parametrize("grain", ["30 deg", "-45 deg"])
def test_port_is_the_mirror_image_with_every_grain_askew(make_wing, grain):
    spars = "".join(
        f'[[spars]]\nname = "{name}"\nat = "{at} %"\n'
        'caps = { width = "8 mm", height = "4 mm", wood = "spruce" }\n'
        f'[[spars.webs]]\nbays = "all"\nface = "{face}"\nthickness = "1.5 mm"\ngrain = "{grain}"\n'
        for name, at, face in (("main", 30, "both"), ("aft", 60, "front"))
    )
    sheet = (
        '[[sheeting]]\nsurface = "upper"\nfrom = "main front"\nto = "aft rear"\nbays = "all"\n'
        f'thickness = "1 mm"\ngrain = "{grain}"\n'
    )
    motion = spar_motion(analyse(make_wing(spars=spars, extra=sheet, head="whole = true")), 0)
    size = np.abs(motion.twist).max()
    assert_allclose(motion.twist, motion.twist[::-1], atol=1e-6 * size)
    size = np.abs(motion.deflection).max()
    assert_allclose(motion.deflection, motion.deflection[::-1], atol=1e-6 * size)


def test_half_a_rib_on_the_plane_of_symmetry(make_wing):
    half, whole = (build(make_wing(), whole=w).structural_mass for w in (False, True))
    assert set(half) == set(whole)
    for kind, mass in half.items():
        assert_allclose(2 * mass, whole[kind], rtol=1e-9, err_msg=kind)


def test_a_layout_on_the_other_side_mirrors_the_answer(make_wing):
    wing = make_wing(head="whole = true")
    bays = range(1, 4)
    one, other = (
        analyse(apply(wing, Layout(side, {("main", side, b): ("rear",) for b in bays})))
        for side in ("port", "starboard")
    )
    a, b = spar_motion(one, 0), spar_motion(other, 0)
    assert_allclose(a.deflection, b.deflection[::-1], rtol=1e-6, atol=1e-7 * np.abs(b.deflection).max())
    assert_allclose(a.twist, b.twist[::-1], rtol=1e-6, atol=1e-7 * np.abs(b.twist).max())
    # Without webs the port side is the softer.
    assert b.deflection[0] > 1.05 * b.deflection[-1]


# Meshes


@pytest.mark.parametrize(
    "name", ["trainer", "powered-tailless", pytest.param("sailplane", marks=pytest.mark.slow)]
)
def test_a_mesh_twice_as_fine_changes_little(name):
    wing = shipped(name)
    coarse, fine = analyse(wing), analyse(wing, per_bay=8)
    assert_allclose(tip(coarse)[0], tip(fine)[0], rtol=0.01)
    assert_allclose(wing_twist(coarse)[1][-1], wing_twist(fine)[1][-1], rtol=0.01)


@pytest.mark.parametrize(
    "name",
    [
        "trainer",
        "powered-tailless",
        pytest.param("sailplane", marks=pytest.mark.slow),
    ],
)
def test_a_mesh_twice_as_fine_changes_the_load_at_failure_little(name):
    wing = shipped(name)
    coarse, fine = analyse(wing), analyse(wing, per_bay=8)
    loads = [check(a).load_factor_at_first_failure() for a in (coarse, fine)]
    assert_allclose(loads[0], loads[1], rtol=0.01)


def test_more_panels_along_the_chord_change_little():
    wing = shipped("trainer")
    assert_allclose(tip(analyse(wing)), tip(analyse(wing, across_chord=8)), rtol=0.01)


# The map of parts


@pytest.mark.parametrize("whole", [False, True])
@pytest.mark.parametrize("name", FILES)
def test_every_element_belongs_to_the_part_that_it_is_of(name, whole):
    wing = shipped(name)
    model = build(wing, whole=whole, per_bay=2, across_chord=2)
    assert model.structure.parts == tuple(p.name for p in model.parts)
    assert len(set(model.parts)) == len(model.parts)
    flying = wing.flies
    edges = np.append(wing.bay_edges, [] if flying else [wing.semispan])
    used = set()
    for name_of_block, block in model.structure.blocks.items():
        if name_of_block == "web ends":  # at the ends of bays: counted to the cap outboard
            assert {model.parts[p].kind for p in block.part} == KINDS[name_of_block]
            continue
        y = model.structure.true_corners(block)[:, :4, 1].mean(axis=1)
        parts = [model.parts[p] for p in block.part]
        used |= set(block.part)
        assert {p.kind for p in parts} <= KINDS[name_of_block], name_of_block
        for at, part in zip(y, parts):
            off_centre = abs(at) > 1e-6
            if part.bay is not None:
                i = part.bay - wing.first_bay
                last = not flying and i == len(edges) - 3
                assert edges[i] - 1e-9 < abs(at) < (wing.semispan if last else edges[i + 1]) + 1e-9, part
            if part.station is not None:
                # Of a post the station carries no sign, since its side does.
                where = abs(at) if part.kind == "post" else at
                assert abs(where - part.station) < 1.1e-3, part
            if part.side or part.bay is not None:
                assert part.side == (("starboard" if at > 0 else "port") if flying and off_centre else ""), (
                    part
                )
            elif part.kind in ("post", "rail"):
                assert not (flying and off_centre), part
    assert used == set(range(len(model.parts)))


def test_caps_know_their_spar_bay_and_surface():
    model = build(shipped("powered-tailless"), whole=True)
    for e, number in enumerate(model.structure.blocks["caps"].part):
        part, span = model.parts[number], model.caps.span[e]
        assert part.spar == model.wing.spars[model.caps.spar[e]].name
        assert part.place == ("upper" if model.caps.upper[e] else "lower")
        assert part.bay == model.bay[span]
        assert part.side == model.side(int(span))
    for e, number in enumerate(model.structure.blocks["webs"].part):
        part = model.parts[number]
        assert part.place == model.webs.face[e]
        assert part.spar == model.wing.spars[model.webs.spar[e]].name
        assert part.bay == model.bay[model.webs.span[e]]


def test_the_webs_of_the_file_are_those_of_the_model():
    wing = shipped("sailplane")
    model = build(wing, whole=True)
    asked = {(s.name, w.face, w.side, w.bay) for s in wing.spars for w in s.webs}
    made = {(p.spar, p.place, p.side, p.bay) for p in model.parts if p.kind == "web"}
    assert made == asked


def test_building_leaves_no_mechanism_and_a_clean_solve(make_specimen):
    analysis = solve(build(make_specimen("front", bays='"1-3"')))
    assert analysis.solution.checks.residual < 1e-9
    assert analysis.solution.checks.reaction_sum < 1e-9
    assert Assembly(analysis.model.structure).size == 6 * len(analysis.model.structure.nodes)
