"""Buckling of whole wings: halves against wholes, scaling, where modes live, and what is said of them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from models.analysis import analyse, solve
from models.structure import build
from models.studies.buckling import GROUPS, _way, buckle, holds, place, sentences, words
from models.wing.reading import read
from models.wings import shipped

SHEETED = """
[[sheeting]]
from = "leading edge"
to = "main"
thickness = "1 mm"
wood = "balsa light"
grain = "span"
"""


@pytest.fixture(scope="module")
def trainer():
    return buckle(analyse(read(shipped()["trainer"])))


@pytest.fixture(scope="module")
def sheeted(make_wing):
    return buckle(analyse(make_wing(extra=SHEETED)))


@pytest.mark.parametrize("name", ["trainer", "sheeted"])
def test_modes_rise_and_their_shares_are_shares(name, request):
    found = request.getfixturevalue(name)
    factors = [m.factor for m in found.modes]
    assert len(factors) == 5
    assert factors == sorted(factors)
    assert factors[0] > 0
    for mode in found.modes:
        assert_allclose(mode.load_factor, mode.factor * found.analysis.load_factor, rtol=1e-12)
        # The strain energy of all bays together is the whole of it.
        assert_allclose(sum(share for *_, share in mode.bays), 1.0, rtol=1e-9)
        assert sum(share for _, share in mode.kinds) > 0.9
        assert_allclose(np.abs(mode.shape[:, :3]).max(), 1.0, rtol=1e-12)
        assert mode.group in GROUPS


def test_every_stressed_block_stands_in_one_group(sheeted):
    named = [b for names in GROUPS.values() for b in names]
    assert len(named) == len(set(named))
    silent = {"masses", "web plates", "rib plates", "sheeting plates", "rail web plates"}
    assert set(sheeted.analysis.model.structure.blocks) - silent <= set(named)


def test_half_a_wing_tried_both_ways_is_the_whole_wing(trainer):
    whole = buckle(solve(build(read(shipped()["trainer"]), whole=True)))
    assert_allclose([m.factor for m in whole.modes[:3]], [m.factor for m in trainer.modes[:3]], rtol=1e-3)
    assert trainer.modes[0].opposite
    assert not whole.modes[0].opposite


def test_twice_the_load_factor_buckles_at_the_same_load():
    wing = read(shipped()["trainer"])
    twice = replace(wing, case=replace(wing.case, load_factor=2 * wing.case.load_factor))
    one, two = (buckle(analyse(w), 1).modes[0] for w in (wing, twice))
    assert_allclose(two.factor, one.factor / 2, rtol=1e-6)
    assert_allclose(two.load_factor, one.load_factor, rtol=1e-6)


def test_thin_sheeting_bows_first_and_ends_nothing(sheeted):
    first = sheeted.modes[0]
    assert first.group == "sheeting"
    assert first.part.kind == "sheeting"
    assert first.part.place == "upper"
    assert_allclose(first.load_factor, sheeted.first_of["sheeting"].load_factor, rtol=0.02)
    assert sheeted.first_of["spars"].load_factor > first.load_factor
    said = sentences(sheeted)
    assert "bows in and out" in said[0]
    assert any("does not end a flight" in s for s in said)
    assert any(s.startswith("Of the spars") for s in said)


def test_thicker_sheeting_bows_later(make_wing, sheeted):
    thick = buckle(analyse(make_wing(extra=SHEETED.replace("1 mm", "1.5 mm"))), 1)
    assert thick.first_of["sheeting"].load_factor > 1.5 * sheeted.first_of["sheeting"].load_factor


def test_a_wing_that_holds_and_one_that_does_not(trainer):
    assert holds(trainer)
    factor = 0.9 / trainer.modes[0].factor
    low = tuple(replace(m, factor=m.factor * factor) for m in trainer.modes)
    assert not holds(replace(trainer, modes=low))


def test_a_specimen_counts_in_multiples_of_its_load(make_specimen):
    found = buckle(analyse(make_specimen(None, case='tip_force = "1 N"')), 2)
    assert "times its load" in words(found.modes[0], specimen=True)
    assert "what is asked" in sentences(found)[0]
    assert not found.modes[0].opposite


def test_how_a_cap_moves(trainer):
    model = trainer.analysis.model
    number = next(k for k, p in enumerate(model.parts) if p.kind == "cap" and p.bay == 3)
    at = np.unique(model.structure.blocks["caps"].nodes[model.structure.blocks["caps"].part == number])
    y = model.structure.nodes[at, 1]
    bow = np.sin(np.pi * (y - y.min()) / np.ptp(y))
    for axis, way in ((0, "bows sideways"), (2, "bows up and down")):
        shape = np.zeros((len(model.structure.nodes), 6))
        shape[at, axis] = bow
        assert _way(model, shape, number) == way
    leaning = np.zeros((len(model.structure.nodes), 6))
    leaning[:, 2] = model.structure.nodes[:, 0]
    assert _way(model, leaning / np.abs(leaning).max(), number).endswith("as a whole")


def test_names_of_places(trainer):
    parts = trainer.analysis.model.parts
    part = next(p for p in parts if (p.kind, p.place, p.bay) == ("cap", "upper", 3))
    assert place(part) == "Bay 3, main spar, starboard: upper cap"
    assert place(part, side=False) == "Bay 3, main spar: upper cap"
