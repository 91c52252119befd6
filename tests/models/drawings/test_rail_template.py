"""The rails' template: bolts as given, diagonals by Pythagoras, nothing guessed."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from models.drawings.ink import Circle, Path
from models.drawings.pages import pages
from models.drawings.rail_template import MEASURE, checks, rail_check, rail_drawings
from models.wing.faults import WingFileError

RAIL = """
[[rails]]
name = "bearer"
y = "{y}"
x_front = "-60 mm"
x_rear = "80 mm"
width = "10 mm"
height = "8 mm"
ties = ["main"]
tie_thickness = "2 mm"
{bolts}
"""
BOLTS = 'bolts = { across = "44 mm", along = "25 mm", from_front = "12 mm", hole = "3 mm" }'


def wing(make_wing, bolts: str = BOLTS, y: str = "22 mm"):
    return make_wing(extra=RAIL.format(bolts=bolts, y=y))


def test_bolts_and_diagonals(make_wing) -> None:
    of = rail_check(wing(make_wing).rails[0])
    assert_allclose(of.bolts, [(0.012, 0.022), (0.037, 0.022), (0.012, -0.022), (0.037, -0.022)], rtol=1e-12)
    assert_allclose([of.between, of.middles, of.length], [0.034, 0.044, 0.14], rtol=1e-12)
    assert_allclose(of.rail_diagonal, np.hypot(0.044, 0.14), rtol=1e-12)
    assert_allclose(of.bolt_diagonal, np.hypot(0.044, 0.025), rtol=1e-12)
    assert any("both diagonals 50.61 mm" in words for words in checks(of))


def test_holes_are_where_the_file_says(make_wing) -> None:
    (drawing,) = rail_drawings(wing(make_wing))
    holes = [i for i in drawing.items if isinstance(i, Circle)]
    (starboard,) = (i for i in drawing.items if isinstance(i, Path) and i.name == "rail starboard")
    (port,) = (i for i in drawing.items if isinstance(i, Path) and i.name == "rail port")
    front = max(y for _, y in starboard.points)
    middle = np.mean([*starboard.points, *port.points], axis=0)[0]
    found = sorted((round(front - h.centre[1], 6), round(h.centre[0] - middle, 6)) for h in holes)
    assert_allclose(found, [(12, -22), (12, 22), (37, -22), (37, 22)], atol=1e-6)
    assert_allclose([h.radius for h in holes], 1.5, rtol=1e-12)


def test_the_front_is_on_the_first_tile(make_wing) -> None:
    long = RAIL.replace('"80 mm"', '"140 mm"').replace('"-60 mm"', '"-300 mm"')
    (drawing,) = rail_drawings(make_wing(extra=long.format(bolts=BOLTS, y="22 mm")))
    first, *others = pages([drawing], "a4", "wing")
    assert others
    assert sum(isinstance(i, Circle) for i in first.items) == 4
    for hole in (i for i in first.items if isinstance(i, Circle)):
        assert first.clip[1] + 6 < hole.centre[1] < first.clip[3] - 6


def test_without_bolts_nothing_is_guessed(make_wing) -> None:
    bare = wing(make_wing, bolts="")
    (drawing,) = rail_drawings(bare)
    assert not any(isinstance(i, Circle) for i in drawing.items)
    assert MEASURE in checks(rail_check(bare.rails[0]))
    ticks = [i for i in drawing.items if isinstance(i, Path) and i.name == "tick"]
    assert len(ticks) == 2 * 24  # every 5 mm over 120 mm, on both rails


def test_one_rail_on_the_centre_line(make_wing) -> None:
    bolts = BOLTS.replace('across = "44 mm", ', "")
    of = rail_check(wing(make_wing, bolts=bolts, y="0 mm").rails[0])
    assert not of.pair
    assert_allclose(of.bolts, [(0.012, 0.0), (0.037, 0.0)], atol=1e-15)
    assert of.bolt_diagonal == of.rail_diagonal == 0


@pytest.mark.parametrize(
    ("bolts", "y", "words"),
    [
        (BOLTS.replace('across = "44 mm", ', ""), "22 mm", "bolts.across: is missing: measure the engine"),
        (BOLTS, "0 mm", "goes with two rails"),
        (BOLTS.replace("44 mm", "52 mm"), "22 mm", "puts holes of 3 mm over the edge of a rail 10 mm wide"),
        (BOLTS.replace('"12 mm"', '"1 mm"'), "22 mm", "puts a hole over the end"),
        (BOLTS.replace('"25 mm"', '"130 mm"'), "22 mm", "puts a hole over the end"),
        (BOLTS.replace('"25 mm"', '"2 mm"'), "22 mm", "run into each other"),
    ],
)
def test_bolts_that_cannot_be_are_told(make_wing, bolts: str, y: str, words: str) -> None:
    with pytest.raises(WingFileError, match=words):
        wing(make_wing, bolts=bolts, y=y)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('"44 mm"', '"43 mm"'),
        ('"25 mm"', '"26 mm"'),
        ('"12 mm"', '"13 mm"'),
        ('hole = "3 mm"', 'hole = "4 mm"'),
        ('hole = "3 mm"', 'hole = "3 mm", per_rail = 3'),
    ],
)  # fmt: skip
def test_every_key_of_the_bolts_counts(make_wing, old: str, new: str) -> None:
    assert rail_check(wing(make_wing).rails[0]) != rail_check(
        wing(make_wing, BOLTS.replace(old, new)).rails[0]
    )
