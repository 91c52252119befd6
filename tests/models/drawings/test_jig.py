"""Jig blocks: heights by dihedral and washout, read back from the file."""

from __future__ import annotations

import itertools
import re

import numpy as np
import pytest
from numpy.testing import assert_allclose

from models.drawings.ink import Text, bounds
from models.drawings.jig import LOWEST, jig_blocks, jig_drawings
from models.drawings.pages import whole_page, window
from models.drawings.svg import svg_text

ROOM = window("a4")


@pytest.mark.parametrize("name", ["trainer", "sailplane", "powered-tailless"])
def test_every_rib_is_held_and_the_lowest_block_is_as_low_as_told(name, wing_of):
    wing = wing_of(name)
    blocks = jig_blocks(wing)
    assert sorted(n for b in blocks for n in b.ribs) == list(range(1, len(wing.ribs) + 1))
    assert sum(b.count for b in blocks) == 2 * len(wing.ribs) - 1
    assert_allclose(min(b.top[:, 1].min() for b in blocks), LOWEST, atol=2e-5)


def test_dihedral_lifts_each_block_by_its_tangent(wing_of):
    blocks = jig_blocks(wing_of("trainer"))
    heights = np.array([b.top[0, 1] for b in blocks])
    y = np.array([b.y[0] for b in blocks])
    assert_allclose(heights - heights[0], y * np.tan(np.radians(3)), atol=3e-5)


def test_washout_and_section_stand_in_the_block(make_wing):
    """Between the sticks the top is the lower surface itself, washout turned about the quarter chord."""
    wing = make_wing(
        stations='{ y = "0 mm", chord = "200 mm", section = "NACA 0012" }, '
        '{ y = "600 mm", chord = "200 mm", washout = "3 deg" }'
    )
    blocks = jig_blocks(wing)
    share = np.linspace(0.1, 0.85, 30)
    board = None
    for block in blocks:
        x, z = wing.planform.surface(block.y[0], share, False)
        height = np.interp(x - float(wing.planform.leading_edge_x.at(block.y[0])), *block.top.T)
        board = float(np.mean(z - height)) if board is None else board
        assert_allclose(height, z - board, atol=5e-5)
    assert_allclose(np.degrees(blocks[-1].washout), 3.0)


def test_a_flat_wing_needs_one_shape(make_wing):
    stations = '{ y = "0 mm", chord = "200 mm", section = "NACA 0012" }, { y = "600 mm", chord = "200 mm" }'
    (block,) = jig_blocks(make_wing(stations=stations))
    assert (block.mark, block.count) == ("J1-7", 13)


def test_sheeting_and_strips_are_not_on_yet(make_wing):
    sheet = '[[sheeting]]\nsurface = "lower"\nfrom = "leading edge"\nto = "main"\nthickness = "2 mm"\n'
    stations = '{ y = "0 mm", chord = "200 mm", section = "NACA 0012" }, { y = "600 mm", chord = "200 mm" }'
    plain, sheeted = (jig_blocks(make_wing(stations=stations, extra=extra))[0] for extra in ("", sheet))
    # Both stand on their own board: what counts is where the sheet begins to lift the rib's edge.
    step = [np.interp([0.05, 0.09], *block.top.T) for block in (plain, sheeted)]
    assert_allclose(np.diff(step[1]) - np.diff(step[0]), -2e-3, atol=3e-4)


@pytest.mark.parametrize("name", ["trainer", "sailplane", "powered-tailless"])
def test_sizes_read_back_from_the_drawing_and_words_meet_none(name, wing_of):
    wing = wing_of(name)
    blocks = jig_blocks(wing)
    drawings = jig_drawings(blocks, ROOM)
    text = "".join(svg_text(whole_page(d, wing.name, 1, 1)) for d in drawings)
    for block in blocks:
        found = re.search(rf'<path d="M ([^"]*?) Z"[^>]*data-name="{block.mark}"', text)
        ring = np.array([[float(v) for v in p.split()] for p in found[1].split(" L ")])
        assert_allclose(np.ptp(ring, axis=0), 1e3 * np.ptp(block.outline, axis=0), atol=1e-3)
    for drawing in drawings:
        boxes = [bounds(i) for i in drawing.items if isinstance(i, Text)]
        for a, b in itertools.combinations(boxes, 2):
            assert a[2] <= b[0] + 1e-9 or b[2] <= a[0] + 1e-9 or a[3] <= b[1] + 1e-9 or b[3] <= a[1] + 1e-9
        assert max(b[2] for b in boxes) <= drawing.width + 1e-6


def test_a_specimen_has_none(wing_of):
    assert jig_blocks(wing_of("spar-box")) == ()
    assert jig_drawings((), ROOM) == ()
