"""Layouts: what they put where, and a spar taken out of its wing."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from models.structure import build
from models.studies.layouts import (
    DEFAULT_THICKNESS,
    UNIT_TORQUE,
    apply,
    as_drawn,
    bays_of,
    everywhere,
    isolated,
    standard,
    template,
)
from models.studies.lightest.places import FREE, places
from models.studies.scatter import layouts_to_compare
from models.studies.worth_designs import sites
from models.wing.parts import GRAIN_UPRIGHT, Layout

WEBS = """[[spars]]
name = "main"
at = "30 %"
caps = { width = "8 mm", height = "4 mm", wood = "spruce" }
[[spars.webs]]
bays = "1-2"
face = "rear"
thickness = "2 mm"
wood = "birch ply"
grain = "span"
glue = "epoxy"
[[spars.webs]]
bays = "4"
side = "port"
face = "front"
thickness = "1 mm"
wood = "balsa medium"
"""


@pytest.fixture
def wing(make_wing):
    return make_wing(spars=WEBS)


def faces(wing):
    return {(w.side, w.bay, w.face) for s in wing.spars for w in s.webs}


def test_bays_of_a_spar(wing):
    assert bays_of(wing, wing.spars[0]) == [(s, b) for b in range(1, 7) for s in ("starboard", "port")]
    short = replace(wing.spars[0], y_end=0.2)
    assert bays_of(wing, short) == [(s, b) for b in (1, 2) for s in ("starboard", "port")]


def test_the_drawn_layout_changes_nothing(wing):
    drawn = apply(wing, as_drawn(wing))
    assert sorted(faces(drawn)) == sorted(faces(wing))
    for before, after in zip(
        sorted(wing.spars[0].webs, key=lambda w: (w.bay, w.side)),
        sorted(drawn.spars[0].webs, key=lambda w: (w.bay, w.side)),
    ):
        assert before is after


def test_a_web_is_borrowed_from_the_nearest_bay_of_its_side(wing):
    spar = wing.spars[0]
    near = template(wing, spar, "starboard", 6)
    assert (near.thickness, near.glue, near.bay, near.side) == (0.002, "epoxy", 6, "starboard")
    assert template(wing, spar, "port", 5).thickness == 0.001
    # As near to bay 2 as to bay 4: the inner one.
    assert template(wing, spar, "port", 3).thickness == 0.002


def test_without_any_web_there_is_one_to_copy(make_wing):
    wing = make_wing(spars=WEBS.split("[[spars.webs]]")[0])
    web = template(wing, wing.spars[0], "port", 2)
    assert (web.thickness, web.grain, web.glue) == (DEFAULT_THICKNESS, GRAIN_UPRIGHT, "aliphatic")
    box = apply(wing, everywhere(wing, "box", ("front", "rear")))
    assert len(box.spars[0].webs) == 24


def test_standard_layouts(wing):
    named = replace(wing, layouts=(Layout("mine", {("main", "port", 1): ("between",)}),))
    layouts = standard(named)
    assert [x.name for x in layouts] == [
        "no webs", "front C", "rear C", "box", "box, grain along span", "as drawn", "mine"
    ]  # fmt: skip
    none, front, rear, box, along, _, mine = (apply(named, x) for x in layouts)
    assert faces(none) == set()
    assert {f for _, _, f in faces(front)} == {"front"}
    assert {f for _, _, f in faces(rear)} == {"rear"}
    assert faces(box) == faces(along) == faces(front) | faces(rear)
    assert {w.grain for w in along.spars[0].webs} == {0.0}
    assert faces(mine) == {("port", 1, "between")}


def test_the_wing_in_the_file_is_left_alone(wing):
    before = faces(wing)
    apply(wing, everywhere(wing, "box", ("front", "rear")))
    assert faces(wing) == before


def test_a_spar_on_its_own(wing):
    alone = isolated(wing, wing.spars[0])
    assert (alone.root, alone.planform, alone.case.kind) == ("clamped", None, "bench")
    assert (alone.case.tip_force, alone.case.tip_torque) == (1.0, UNIT_TORQUE)
    assert faces(alone) == {("starboard", 1, "rear"), ("starboard", 2, "rear")}
    assert {r.panel for r in alone.ribs} == {"none"}
    model = build(alone)
    # Half of what the whole wing has of caps (webs on port are not there).
    both = build(wing, whole=True).structural_mass
    assert_allclose(2 * model.structural_mass["cap"], both["cap"], rtol=1e-9)
    assert_allclose(model.y[[0, -1]], [0, 0.6], atol=1e-12)
    assert model.bay.max() == 6


def test_bays_of_a_spar_on_its_own_count_from_1(make_wing):
    wing = make_wing(
        ribs='stations = ["50 mm", "200 mm", "400 mm", "600 mm"]\nthickness = "2 mm"',
        spars=WEBS.replace('"1-2"', '"0-1"').replace('"4"', '"3"'),
    )
    assert wing.first_bay == 0
    alone = isolated(wing, wing.spars[0])
    assert faces(alone) == {("starboard", 1, "rear"), ("starboard", 2, "rear")}
    model = build(alone)
    covered = np.abs(model.y[model.webs.span + 1]).max()
    assert_allclose(covered, 0.2, rtol=1e-9)


def test_a_short_spar_ends_with_a_rib_for_its_load(wing):
    short = replace(wing.spars[0], y_end=0.25)
    alone = isolated(wing, short)
    assert_allclose(alone.ribs[-1].y, 0.25, rtol=1e-12)
    assert alone.semispan == 0.25


def test_caps_of_two_widths_are_offered_no_webs_on_their_faces(make_wing):
    caps = 'caps = { width = "8 mm", height = "4 mm", wood = "spruce" }\n'
    two = caps.replace("caps", "upper_cap") + caps.replace("caps", "lower_cap").replace("8 mm", "6 mm")
    webs = '[[spars.webs]]\nbays = "1-2"\nface = "between"\nthickness = "2 mm"\n'
    text = WEBS.split("[[spars.webs]]")[0]
    level, uneven = make_wing(spars=text + webs), make_wing(spars=text.replace(caps, two) + webs)
    assert [layout.name for layout in standard(uneven)] == ["no webs", "as drawn"]
    assert [layout.name for layout in layouts_to_compare(uneven)] == ["no webs", "as drawn"]
    assert len(standard(level)) == 6
    assert {cell.choices for cell in places(uneven).cells} == {((), ("between",)), ((),)}
    assert {cell.choices for cell in places(level).cells} == {FREE, (*FREE, ("between",))}
    assert {site.face for site in sites(uneven)} == {"between"}
    assert {site.face for site in sites(level)} == {"front", "rear", "between"}
