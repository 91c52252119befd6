"""Faults tell their line and the part of the wing, in a builder's words."""

from __future__ import annotations

import tomllib

import pytest

from models.wing.places import lines, place
from models.wing.reading import WingFileError, read_text

TEXT = """name = "w"
[planform]
stations = [
  { y = "0 mm" },
]
[[spars]]
name = "front"
caps = { width = "8 mm" }
[[spars.webs]]
bays = "1"
[[spars.webs]]
bays = "2"
[spars.webs.odd]
face = "front"
[[spars]]
name = "rear"
[[spars.webs]]
face = "both"
[[masses]]
mass = "1 g"
"""


@pytest.mark.parametrize(
    ("path", "told"),
    [
        ("name", "line 1"), ("planform.stations[0].y", "line 3: first station"),
        ("spars[0].caps.width", "line 8: front spar"),
        ("spars[0].webs[1].bays", "line 12: front spar, second web"),
        ("spars[1].webs[0]", "line 17: rear spar, first web"),
        ("spars[0].webs[1].odd.face", "line 14: front spar, second web"),
        ("masses[0].x", "line 19: first mass"), ("nowhere", ""),
    ],
)  # fmt: skip
def test_places(path: str, told: str) -> None:
    assert place(path, tomllib.loads(TEXT), lines(TEXT)) == told


def test_a_fault_ends_with_its_place() -> None:
    text = '[specimen]\nlength = "300 mm"\ndepth = "30 mm"\n[ribs]\npitch = "60 mm"\nthickness = "2 mm"\n'
    text += '[[spars]]\nname = "spar"\ncaps = { width = "10 mm", height = "6 mm", wood = "sprce" }\n'
    with pytest.raises(WingFileError, match=r"did you mean spruce\? \(line 9: spar\)$"):
        read_text(text + '[case]\ntip_force = "1 N"\n')


def test_a_unit_that_was_meant_is_told() -> None:
    text = '[specimen]\nlength = "300 milimeter"\n'
    with pytest.raises(WingFileError, match=r"unknown unit milimeter, perhaps millimeter; .*\(line 2\)"):
        read_text(text)
