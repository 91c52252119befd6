"""A wing file given other webs: what it then says, and what of its text stays."""

from __future__ import annotations

from pathlib import Path

import pytest

from models.studies.layouts import as_drawn
from models.wing.reading import read_text
from models.wing.relaid import relaid

WINGS = Path(__file__).parents[3] / "models" / "wings"


@pytest.mark.parametrize("name", ["trainer", "powered-tailless", "spar-open", "spar-box"])
def test_the_new_webs_are_read_back_and_the_comments_stay(name: str) -> None:
    text = (WINGS / f"{name}.toml").read_text(encoding="utf-8")
    wing = read_text(text)
    faces: dict[tuple[str, int], tuple[str, ...]] = {}
    for spar in wing.spars:
        for bay in range(1, 6):
            faces[spar.name, bay] = ((), ("front",), ("front", "rear"), ("rear",), ("rear",))[bay - 1]
    new = relaid(text, faces)
    again = read_text(new)
    sides = ("starboard",) if wing.clamped else ("starboard", "port")
    wanted = {(spar, side, bay): set(f) for (spar, bay), f in faces.items() for side in sides if f}
    assert {k: set(v) for k, v in as_drawn(again).webs.items()} == wanted
    for line in text.splitlines():
        if line.startswith("#"):
            assert line in new
    if wing.spars[0].webs:
        old = wing.spars[0].webs[0]
        assert (
            again.spars[0].webs[0].material.kind == old.material.kind
            or len({w.material.kind for w in wing.spars[0].webs}) > 1
        )


def test_a_web_keeps_its_own_wood_and_a_new_one_takes_the_nearest() -> None:
    text = (WINGS / "powered-tailless.toml").read_text(encoding="utf-8")
    wing = read_text(text)
    faces = {("front", bay): ("front",) for bay in (1, 3, 12)} | {("rear", 1): ()}
    webs = read_text(relaid(text, faces)).spars[0].webs
    kinds = {w.bay: (w.material.kind, w.glue) for w in webs if w.side == "starboard"}
    own = {w.bay: (w.material.kind, w.glue) for w in wing.spars[0].webs if w.side == "starboard"}
    assert kinds == {1: own[1], 3: own[3], 12: own[11]}
