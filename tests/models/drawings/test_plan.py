"""The plan: sizes read back from the files, every rib, bay and web numbered, no words on others."""

from __future__ import annotations

import itertools
import re

import numpy as np
import pytest
from numpy.testing import assert_allclose

from models.drawings.cut_list import shapes
from models.drawings.ink import Drawing, Path, Text, bounds
from models.drawings.pages import PAPERS, pages, whole_page, window
from models.drawings.plan import plans
from models.drawings.svg import svg_text
from models.drawings.templates import templates
from models.drawings.web_pieces import web_pieces
from models.wing.parts import Wing

WIDE = (PAPERS["a4"][1] - 16.0, PAPERS["a4"][0] - 46.0)
"""Room of a page laid sideways."""


def drawn(wing: Wing) -> tuple[tuple[Drawing, ...], tuple[Drawing, ...]]:
    return plans(wing, shapes(web_pieces(wing)), WIDE)


def three_spars(make_wing) -> Wing:
    """Three spars of 25 bays, names of 40 letters, boxes in every bay, swept."""
    spars = "".join(
        f'[[spars]]\nname = "{letter * 40}"\nat = "{at} %"\ncaps = {{ width = "6 mm", height = "3 mm", '
        'wood = "spruce" }\njoint = "scarfed"\n'
        '[[spars.webs]]\nbays = "all"\nface = "both"\nthickness = "1.5 mm"\n'
        for letter, at in (("w", 18), ("m", 40), ("n", 62))
    )
    return make_wing(
        head=f'name = "{"g" * 40}"',
        stations='{ y = "0 mm", chord = "260 mm", section = "NACA 2414" }, '
        '{ y = "1500 mm", chord = "200 mm", leading_edge = "300 mm", dihedral = "2 deg" }',
        ribs='count = 26\nthickness = "2 mm"',
        spars=spars,
    )


@pytest.fixture(params=["trainer", "sailplane", "powered-tailless", "three"])
def wing(request, wing_of, make_wing) -> Wing:
    return three_spars(make_wing) if request.param == "three" else wing_of(request.param)


def test_the_overview_fits_one_page_and_words_meet_none(wing):
    overview, full = drawn(wing)
    assert len(pages(overview, "a4", wing.name)) == len(overview) == 1
    for drawing in (*overview, *full):
        boxes = [(item.words, bounds(item)) for item in drawing.items if isinstance(item, Text)]
        for (one, a), (other, b) in itertools.combinations(boxes, 2):
            assert a[2] <= b[0] + 1e-9 or b[2] <= a[0] + 1e-9 or a[3] <= b[1] + 1e-9 or b[3] <= a[1] + 1e-9, (
                one,
                other,
            )
            assert a[0] > -0.5
        for item in drawing.items:
            left, low, right, high = bounds(item)
            assert low > -0.6
            assert right < drawing.width + 0.6
            assert high < drawing.height + 0.6
            assert left > -0.6


def test_every_rib_bay_and_web_has_its_number(wing):
    overview, full = drawn(wing)
    for drawing in (overview[0], full[0]):
        words = [item.words for item in drawing.items if isinstance(item, Text)]
        ribs = [int(found[1]) for w in words if (found := re.fullmatch(r"R(\d+)(?: at [\d.]+)?", w))]
        bays = [int(found[1]) for w in words if (found := re.fullmatch(r"(?:bay )?(\d+)", w))]
        webs = {w for w in words if re.fullmatch(r"W\d+-\d+", w)}
        assert sorted(ribs) == list(range(1, len(wing.ribs) + 1))
        assert sorted(bays) == list(range(1, len(wing.bay_edges)))
        assert len(webs) == sum(1 for spar in wing.spars for web in spar.webs if web.side == "starboard")


def test_sizes_read_back_from_the_file(wing):
    """The outline and the ribs of the SVG are as large as the wing."""
    _, (full,) = drawn(wing)
    text = svg_text(whole_page(full, wing.name, 1, 1))
    outline = _path(text, "outline")
    assert_allclose(np.ptp(outline[:, 0]), 1e3 * wing.semispan, atol=1e-3)
    plan = wing.planform
    y = np.array([0.0, wing.semispan])
    nose, tail = plan.leading_edge_x.at(y), plan.leading_edge_x.at(y) + plan.chord.at(y)
    assert_allclose(np.ptp(outline[:, 1]), 1e3 * (tail.max() - nose.min()), atol=1e-3)
    origin = outline[:, 0].min()
    for number, rib in enumerate(wing.ribs, 1):
        ring = _path(text, f"rib {number}")
        assert_allclose(np.ptp(ring[:, 0]), 1e3 * rib.thickness, atol=1e-3)
        assert_allclose(ring[:, 0].mean() - origin, 1e3 * rib.y, atol=1e-3)
    for spar in wing.spars:
        ring = _path(text, spar.name)
        assert_allclose(np.ptp(ring[:, 0]), 1e3 * spar.y_end, atol=1e-3)


def _path(text: str, name: str) -> np.ndarray:
    found = re.search(rf'<path d="M ([^"]*?) Z"[^>]*data-name="{re.escape(name)}"', text)
    assert found, name
    return np.array([[float(v) for v in point.split()] for point in found[1].split(" L ")])


def test_the_scale_told_is_that_drawn(wing):
    (overview,), (full,) = drawn(wing)
    scale = float(re.search(r"1 : ([\d.]+);", overview.title)[1])
    sizes = []
    for drawing in (overview, full):
        ring = next(item for item in drawing.items if isinstance(item, Path) and item.name == "outline")
        sizes.append(np.ptp(np.array(ring.points), axis=0))
    assert_allclose(sizes[1], scale * sizes[0])
    assert full.title.count("full size") == 1


def test_sides_that_differ_are_both_drawn(make_wing):
    spars = (
        '[[spars]]\nname = "main"\nat = "30 %"\ncaps = { width = "8 mm", height = "4 mm", wood = "spruce" }\n'
        '[[spars.webs]]\nbays = "1-4"\nface = "rear"\nthickness = "1.5 mm"\n'
        '[[spars.webs]]\nbays = "5"\nface = "rear"\nthickness = "1.5 mm"\nside = "port"\n'
    )
    overview, full = drawn(make_wing(spars=spars))
    assert [d.name for d in overview] == ["plan-overview-starboard", "plan-overview-port"]
    marks = [{i.words for i in d.items if isinstance(i, Text) and i.words.startswith("W")} for d in full]
    assert [len(m) for m in marks] == [4, 5]
    assert not marks[0] & marks[1]
    ring = next(i for i in full[1].items if isinstance(i, Path) and i.name == "outline")
    assert_allclose(np.ptp(np.array(ring.points)[:, 0]), 600.0)


def test_a_specimen_has_no_plan(wing_of):
    assert drawn(wing_of("spar-box")) == ((), ())


def test_tiles_of_the_plan_with_nothing_on_them_are_left_out(wing_of):
    _, full = drawn(wing_of("powered-tailless"))
    printed = pages(full, "a4", "wing")
    room = window("a4")
    assert len(printed) < np.ceil(full[0].width / (room[0] - 10)) * np.ceil(full[0].height / (room[1] - 10))


def test_templates_of_long_names_keep_their_words_apart(make_wing):
    room = window("a4")
    for drawing in templates(shapes(web_pieces(three_spars(make_wing))), room):
        boxes = [bounds(item) for item in drawing.items if isinstance(item, Text)]
        assert max(box[2] for box in boxes) <= room[0]
        for a, b in itertools.combinations(boxes, 2):
            assert a[2] <= b[0] + 1e-9 or b[2] <= a[0] + 1e-9 or a[3] <= b[1] + 1e-9 or b[3] <= a[1] + 1e-9


def test_sheeting_whose_grain_slants_says_which_way(wing_of):
    (overview,), _ = drawn(wing_of("sailplane"))
    words = " ".join(item.words for item in overview.items if isinstance(item, Text))
    assert "birch ply in bays 1-25, grain 45 deg aft of outboard." in words
    assert "balsa medium in bays 1-2." in words
