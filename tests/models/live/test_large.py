"""Wings of many bays and spars: answers after any clicks are those of `check`, and preparation grows with the
cells and not with their combinations."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from models.analysis import analyse
from models.live.cells import LiveState, own_state
from models.live.engine import LiveEngine, largest_difference
from models.live.opened import Opened
from models.strength import check, sentence
from models.studies.compare import web_mass
from models.wing.reading import read_text
from tests.models.live.large import large

SAME = 1e-9


def made(spars, bays, per_bay=2, **more):
    return LiveEngine(Opened(large(spars, bays, **more), Path(), "wing.toml", "wing"), per_bay=per_bay)


@pytest.fixture(scope="module")
def three():
    return made(3, 6, sheeted=True)


def clicked(state, cells, dice):
    """One cell or, now and then, another, in another of its choices."""
    choices = list(state.choices)
    for k in dice.choice(len(cells), size=int(dice.integers(1, 3)), replace=False):
        choices[k] = int(dice.integers(len(cells[k].choices)))
    return LiveState(tuple(choices), state.changes)


def as_checked(engine, state, per_bay):
    found = engine.answer(state)
    analysis = analyse(read_text(engine.opened.text_of(state)), per_bay=per_bay)
    margins = check(analysis)
    assert not found.whole
    assert found.sentence == sentence(margins)
    np.testing.assert_allclose(
        found.load_factor_at_first_failure, margins.load_factor_at_first_failure(), rtol=SAME
    )
    np.testing.assert_allclose(found.web_mass, web_mass(analysis.model), rtol=SAME)
    bays = found.bays()
    rows = {(row.side, row.spar, row.bay): row for row in margins.by_bay()}
    assert bays.keys() == rows.keys()
    for key, row in rows.items():
        np.testing.assert_allclose(bays[key].reserve_factor, row.reserve_factor, rtol=SAME)
        assert bays[key].mode == row.mode


@pytest.mark.parametrize("seed", range(3))
def test_any_clicks_are_answered_as_check_answers_them(three, seed):
    dice = np.random.default_rng(seed)
    state = own_state(three.opened.cells)
    for _ in range(2):
        for _ in range(4):
            state = clicked(state, three.opened.cells, dice)
            three.answer(state)
        as_checked(three, state, 2)


def test_a_slender_wing_is_answered_to_the_same_digits():
    # A bay's own deformation is a ten-thousandth of what carries it along here: with the rounding of forces
    # taken from all that moves, answers would differ by 4e-9.
    engine = made(1, 75, per_bay=1)
    own = own_state(engine.opened.cells)
    state = LiveState((*own.choices[:-3], 1, *own.choices[-2:]), own.changes)
    found = engine.answer(state)
    assert not found.whole
    assert largest_difference(found, engine.proven(state)[0]) < SAME


def test_as_many_builds_make_every_click_ready_however_many_bays_there_are():
    short, long = (len(made(3, bays, per_bay=1).first_builds()) for bays in (6, 14))
    assert long <= short + 2
    # Of three spars a bay has 64 states, of which the neighbours of three bays make a quarter of a million.
    assert long < 30


def test_what_is_prepared_ends():
    """Beyond single changes too: of many spars the states near the layout in hand."""
    engine = made(3, 6, per_bay=1)
    count = len(engine.first_builds(1.0))
    assert count < 150


def test_many_clicks_on_a_wing_of_75_cells():
    engine = made(3, 25, per_bay=2, sheeted=True)
    dice = np.random.default_rng(7)
    state = own_state(engine.opened.cells)
    for _ in range(8):
        state = clicked(state, engine.opened.cells, dice)
        engine.answer(state)
    as_checked(engine, state, 2)
