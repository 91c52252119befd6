"""What may be changed, and what the page may ask for."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

import pytest

from models.live.cells import BadState, LiveState, WebChange, own_state, read_state, wanted
from models.live.opened import Opened

PLAIN = Path(__file__).with_name("remarked.toml").read_text(encoding="utf-8")
LOPSIDED = PLAIN.replace('face = "rear"\n', 'face = "rear"\nside = "port"\n')
WINGS = Path(str(files("models.wings")))


def opened(text: str) -> Opened:
    return Opened(text, Path(), "wing.toml", "wing")


SINGLE = opened(PLAIN)


def test_a_wing_whose_sides_are_alike_has_one_cell_for_both():
    assert [(c.spar, c.bay, c.sides) for c in SINGLE.cells] == [
        ("main", bay, ("starboard", "port")) for bay in range(1, 8)
    ]
    assert [c.choices[c.own] for c in SINGLE.cells] == [("rear",)] * 4 + [("front", "rear")] * 3


def test_where_sides_differ_each_has_its_own():
    cells = opened(LOPSIDED).cells
    assert len(cells) == 14
    own = {(c.sides, c.bay): c.choices[c.own] for c in cells}
    assert own[("port",), 2] == ("rear",)
    assert own[("starboard",), 2] == ()


def test_makes_are_the_files_own_words_and_an_open_face_borrows_the_nearest():
    first, fifth = SINGLE.cells[0], SINGLE.cells[4]
    assert first.makes["rear"].thickness == "1/16 in"
    assert first.makes["front"].thickness == "1/16 in"
    assert fifth.makes["front"].thickness == "1.5 mm"
    assert first.makes["rear"].wood == "balsa medium"  # left out in the file


def test_a_face_that_a_brace_covers_is_no_choice():
    trainer = opened((WINGS / "trainer.toml").read_text())
    assert trainer.cells[0].choices == ((), ("front",))
    assert trainer.cells[5].choices == ((), ("front",), ("rear",), ("front", "rear"))


def test_a_web_between_the_caps_stays_among_the_choices():
    cells = opened(PLAIN.replace('face = "both"', 'face = "between"')).cells
    assert cells[5].choices[cells[5].own] == ("between",)


def test_a_change_is_of_all_webs_in_its_cell():
    state = LiveState(
        (3, *own_state(SINGLE.cells).choices[1:]), (WebChange(thickness="2 mm"), *(WebChange(),) * 6)
    )
    webs = wanted(SINGLE.cells, state)["main"]
    assert {
        webs[side, 1, face].thickness for side in ("port", "starboard") for face in ("front", "rear")
    } == {"2 mm"}
    assert webs["port", 2, "rear"].thickness == "1/16 in"


def test_a_state_is_read():
    data = [{"choice": cell.own} for cell in SINGLE.cells]
    assert read_state(SINGLE.cells, data) == own_state(SINGLE.cells)
    data[2] = {"choice": 0, "wood": " spruce "}
    state = read_state(SINGLE.cells, data)
    assert (state.choices[2], state.changes[2].wood) == (0, "spruce")


@pytest.mark.parametrize(
    "cell",
    [
        {},
        [],
        {"choice": 4},
        {"choice": -1},
        {"choice": True},
        {"choice": "0"},
        {"choice": 0, "glue": "epoxy"},
        {"choice": 0, "wood": 3},
        {"choice": 0, "wood": "x" * 81},
        {"choice": 0, "thickness": "1 mm\n[case]"},
    ],
    ids=str,
)
def test_what_is_no_state_is_refused(cell):
    data = [{"choice": c.own} for c in SINGLE.cells]
    read_state(SINGLE.cells, [*data[:-1], {"choice": 0, "wood": "x" * 80}])
    with pytest.raises(BadState, match="bay 7, main spar"):
        read_state(SINGLE.cells, [*data[:-1], cell])


@pytest.mark.parametrize("data", [None, {}, [], [{"choice": 0}] * 6, [{"choice": 0}] * 8], ids=str)
def test_a_state_of_another_wing_is_refused(data):
    with pytest.raises(BadState, match="7 cells"):
        read_state(SINGLE.cells, data)
