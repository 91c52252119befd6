"""An answer of the page: at hand, after a bay has to be built, and by solving the wing whole."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

import pytest

from models.live.cells import LiveState, own_state
from models.live.engine import LiveEngine, largest_difference
from models.live.opened import Opened
from models.live.page import frame
from models.live.solid import solid
from models.live.words import told

FOLDER = Path(str(files("models.wings")))


@pytest.fixture(scope="module")
def engine():
    path = FOLDER / "powered-tailless.toml"
    made = LiveEngine(Opened(path.read_text(encoding="utf-8"), FOLDER, path.name, path.stem))
    made.answer(own_state(made.opened.cells))
    return made


def opened_up(engine, k):
    own = own_state(engine.opened.cells)
    return LiveState((*own.choices[:k], 0, *own.choices[k + 1 :]), own.changes)


def test_at_hand(benchmark, engine):
    state = opened_up(engine, 6)
    engine.answer(state)
    found = benchmark(engine.answer, state)
    assert not found.whole
    assert largest_difference(found, engine.proven(state)[0]) < 1e-7


def test_at_hand_with_all_that_the_page_is_sent(benchmark, engine):
    state = opened_up(engine, 6)
    shapes = solid(engine.with_every_web(), 4)
    opened = engine.opened

    def sent():
        found = engine.answer(state)
        return frame(told(opened.wing, opened.cells, state, found, shapes), shapes.moved(found))

    assert len(benchmark(sent)) > 10_000


def test_a_bay_that_must_be_put_together(benchmark, engine):
    state = opened_up(engine, 6)
    engine.answer(state)
    segments = engine._kept.segments

    def forget():
        segments.found.clear()
        engine.answer(own_state(engine.opened.cells))
        return (state,), {}

    builds = segments.builds
    assert not benchmark.pedantic(engine.answer, setup=forget, rounds=20).whole
    assert segments.builds == builds


def test_a_bay_that_must_be_built(benchmark, engine):
    def forget():
        engine._kept.segments.found.clear()
        engine._kept.segments.known.clear()
        engine.answer(own_state(engine.opened.cells))
        return (opened_up(engine, 6),), {}

    found = benchmark.pedantic(engine.answer, setup=forget, rounds=5)
    assert not found.whole


def test_solved_whole(benchmark, engine):
    found, _ = benchmark(engine.proven, opened_up(engine, 6))
    assert found.whole
