"""Webs written into the file's text: what is read back, and what stays as it was written."""

from __future__ import annotations

import random
import re
from importlib.resources import files
from pathlib import Path

import pytest

from models.live.cells import LiveState, WebChange, own_state
from models.live.opened import Opened
from models.wing.reading import read_text

PLAIN = (Path(__file__).parents[1] / "live" / "remarked.toml").read_text(encoding="utf-8")
LOPSIDED = PLAIN.replace('face = "rear"\n', 'face = "rear"\nside = "port"\n')
WINGS = Path(str(files("models.wings")))


def opened(text: str) -> Opened:
    return Opened(text, Path(), "wing.toml", "wing")


INLINE = (
    PLAIN[: PLAIN.index("# inner webs")]
    + """# all in one list
webs = [  # a list
    { bays = "1-4", face = "rear", thickness = "1/16 in" },  # inner
    # between the two
    { bays = "5-7", face = "both", thickness = "1.5 mm" },  # outer
]

"""
    + PLAIN[PLAIN.index("# how hard") :]
)
BARE = re.sub(r"# inner webs.*?(?=# how hard)", "", PLAIN, flags=re.S)
TEXTS = {
    "tables": PLAIN,
    "inline": INLINE,
    "no webs": BARE,
    "sides differ": LOPSIDED,
    "carriage returns": PLAIN.replace("\n", "\r\n"),
    "spar-c": (WINGS / "spar-c.toml").read_text(),
    "powered-tailless": (WINGS / "powered-tailless.toml").read_text(),
}
SEED = 83017


def comments(text: str) -> list[str]:
    return sorted(re.findall(r"#[ \t]*([^\r\n]*)", text))


def chance(of, draw: random.Random) -> LiveState:
    return LiveState(
        tuple(draw.randrange(len(c.choices)) if draw.random() < 0.5 else c.own for c in of.cells),
        tuple(
            WebChange(
                draw.choice(["", "2 mm", "1/32 in"]),
                draw.choice(["", "spruce"]),
                draw.choice(["", "span", "45 deg"]),
            )
            if draw.random() < 0.3
            else WebChange()
            for c in of.cells
        ),
    )


@pytest.mark.parametrize("name", TEXTS)
def test_what_is_written_is_read_back_and_comments_stay(name):
    of = opened(TEXTS[name])
    draw = random.Random(SEED)
    for _ in range(12):
        state = chance(of, draw)
        text = of.text_of(state)  # proves by itself that the webs read back are the state's
        assert comments(text) == comments(of.text)
        wing = read_text(text)
        for cell, choice in zip(of.cells, state.choices):
            spar = next(s for s in wing.spars if s.name == cell.spar)
            for side in cell.sides:
                there = {w.face for w in spar.webs if (w.side, w.bay) == (side, cell.bay)}
                assert there == set(cell.choices[choice])


@pytest.mark.parametrize("name", TEXTS)
def test_the_files_own_state_is_its_own_text(name):
    of = opened(TEXTS[name])
    assert of.text_of(own_state(of.cells)) == of.text


def test_line_ends_stay():
    of = opened(TEXTS["carriage returns"])
    text = of.text_of(LiveState((0,) * 7, (WebChange(),) * 7))
    assert "\n" not in text.replace("\r\n", "")


def test_only_the_bays_of_an_entry_change_where_a_web_is_left_out():
    of = opened(PLAIN)
    own = own_state(of.cells)
    text = of.text_of(LiveState((*own.choices[:1], 0, *own.choices[2:]), own.changes))
    before, after = PLAIN.splitlines(), text.splitlines()
    changed = [(a, b) for a, b in zip(before, after, strict=True) if a != b]
    assert changed == [('bays = "1-4"  # up to the hinge', 'bays = ["1", "3-4"]  # up to the hinge')]


def test_a_web_goes_into_the_entry_that_makes_the_same():
    of = opened(PLAIN.replace('bays = "1-4"', 'bays = "1-3"'))
    own = own_state(of.cells)
    rear = of.cells[3].choices.index(("rear",))
    text = of.text_of(LiveState((*own.choices[:3], rear, *own.choices[4:]), own.changes))
    assert 'bays = "1-4"  # up to the hinge' in text
    assert text.count("[[spars.webs]]") == 2


def test_the_glue_of_the_file_goes_with_its_web():
    of = opened(PLAIN.replace('grain = "upright"', 'grain = "upright"\nglue = "epoxy"'))
    front = of.cells[5].choices.index(("front",))
    own = own_state(of.cells)
    text = of.text_of(LiveState((*own.choices[:5], front, *own.choices[6:]), own.changes))
    web = next(w for w in read_text(text).spars[0].webs if w.bay == 6)
    assert (web.face, web.glue) == ("front", "epoxy")


def test_a_comment_about_what_follows_stays_before_it():
    of = opened(PLAIN)
    own = own_state(of.cells)
    text = of.text_of(LiveState((3, *own.choices[1:]), (WebChange(thickness="3 mm"), *own.changes[1:])))
    assert text.count("[[spars.webs]]") == 3
    assert "# how hard it is flown\n[case]" in text
