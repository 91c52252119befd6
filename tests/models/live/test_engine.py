"""Answers of states against building, solving and checking the file that each would be saved as."""

from __future__ import annotations

import threading
import time
from collections import deque
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest

from models.analysis import analyse
from models.live import engine as engine_module
from models.live.cells import LiveState, WebChange, own_state
from models.live.engine import LiveEngine, largest_difference
from models.live.opened import Opened
from models.strength import check, sentence
from models.studies.compare import web_mass
from models.wing.faults import WingFileError
from models.wing.reading import read_text

PLAIN = Path(__file__).with_name("remarked.toml").read_text(encoding="utf-8")
LOPSIDED = PLAIN.replace('face = "rear"\n', 'face = "rear"\nside = "port"\n')
WINGS = Path(str(files("models.wings")))


def opened(text: str) -> Opened:
    return Opened(text, Path(), "wing.toml", "wing")


SHEETED = (
    PLAIN
    + """
[[sheeting]]
from = "main front"
to = "main rear"
thickness = "1 mm"
"""
)
ROUNDING = 1e-7
"""Two exact ways to solve one structure of this size; reserve factors of joined modes take roots of sums."""


@pytest.fixture(scope="module")
def plain():
    return LiveEngine(opened(PLAIN), per_bay=2)


def states(of):
    own = own_state(of.cells)
    yield own
    yield LiveState((0, *own.choices[1:]), own.changes)
    yield LiveState((3, 1, 0, 2, *own.choices[4:]), own.changes)
    yield LiveState(own.choices, (*own.changes[:3], WebChange("3 mm", "light ply", "span"), *own.changes[4:]))
    yield LiveState((3, *own.choices[1:]), (WebChange(grain="45 deg"), *own.changes[1:]))


@pytest.mark.parametrize("which", range(5))
def test_the_answer_is_that_of_the_saved_file(plain, which):
    state = list(states(plain.opened))[which]
    found = plain.answer(state)
    analysis = analyse(read_text(plain.opened.text_of(state)), per_bay=2)
    margins = check(analysis)
    assert not found.whole
    assert found.sentence == sentence(margins)
    assert found.load_factor == 6
    np.testing.assert_allclose(
        found.load_factor_at_first_failure, margins.load_factor_at_first_failure(), rtol=ROUNDING
    )
    np.testing.assert_allclose(found.web_mass, web_mass(analysis.model), rtol=1e-10)
    bays = found.bays()
    expected = {(m.side, m.spar, m.bay): m for m in margins.by_bay()}
    assert bays.keys() == expected.keys()
    for key, row in expected.items():
        np.testing.assert_allclose(bays[key].reserve_factor, row.reserve_factor, rtol=ROUNDING)
        assert bays[key].mode == row.mode
    whole, _ = plain.proven(state)
    assert largest_difference(found, whole) < ROUNDING
    np.testing.assert_allclose(found.moves, whole.moves, rtol=0, atol=ROUNDING * np.abs(whole.moves).max())
    np.testing.assert_allclose(found.tip_twist, whole.tip_twist, rtol=ROUNDING)


def test_reserves_go_down_as_the_load_goes_up(plain):
    own = own_state(plain.opened.cells)
    one, two = plain.answer(own, 3.0), plain.answer(own, 6.0)
    np.testing.assert_allclose(one.reserve_factor, 2 * two.reserve_factor, rtol=1e-12)
    np.testing.assert_allclose(two.moves, 2 * one.moves, rtol=1e-12)
    assert one.load_factor_at_first_failure == pytest.approx(two.load_factor_at_first_failure, rel=1e-12)


def test_what_was_asked_once_is_at_hand(plain):
    own = own_state(plain.opened.cells)
    state = LiveState((2, 2, *own.choices[2:]), own.changes)
    fresh = LiveEngine(opened(PLAIN), per_bay=2)
    assert not fresh.at_once(state)
    fresh.answer(state)
    assert fresh.at_once(state)
    builds = fresh._kept.segments.builds
    fresh.answer(state)
    assert fresh._kept.segments.builds == builds


def test_every_single_click_can_be_made_ready():
    engine = LiveEngine(opened(PLAIN), per_bay=2)
    engine.make_ready(engine.first_builds())
    own = own_state(engine.opened.cells)
    for k, cell in enumerate(engine.opened.cells):
        for choice in range(len(cell.choices)):
            assert engine.at_once(LiveState((*own.choices[:k], choice, *own.choices[k + 1 :]), own.changes))
    assert engine.left_to_do() == (0, 21)


def test_work_ahead_makes_the_next_click_ready_and_ends():
    engine = LiveEngine(opened(PLAIN), per_bay=1)
    worker = engine.work_ahead()
    own = own_state(engine.opened.cells)
    stepped = LiveState((*own.choices[:3], 3, *own.choices[4:]), own.changes)
    for _ in range(2400):
        if engine.at_once(stepped):
            break
        worker.join(0.05)
    assert engine.at_once(stepped)
    engine.stop()
    worker.join(60)
    assert not worker.is_alive()


def test_a_wood_that_is_not_known_is_refused_in_the_files_words(plain):
    own = own_state(plain.opened.cells)
    with pytest.raises(WingFileError, match="is not a wood that is known"):
        plain.answer(LiveState(own.choices, (WebChange(wood="oak"), *own.changes[1:])))
    shut = LiveState((0, *own.choices[1:]), (WebChange(wood="oak"), *own.changes[1:]))
    with pytest.raises(WingFileError, match="is not a wood that is known"):
        plain.answer(shut)  # an open bay, where it would only tell when a web is put in
    with pytest.raises(WingFileError, match="thickness"):
        plain.answer(LiveState(own.choices, (WebChange(thickness="2"), *own.changes[1:])))


@pytest.mark.parametrize(
    ("text", "why"),
    [
        (LOPSIDED, "sides"),
        (SHEETED, "sheeting"),
        ((WINGS / "box-two-spars-sheeted.toml").read_text(encoding="utf-8"), "sheeting"),
    ],
    ids=["sides", "named faces", "faces by default"],
)
def test_other_wings_are_solved_whole_and_it_is_said_why(text, why):
    engine = LiveEngine(opened(text), per_bay=2)
    assert why in engine.why_whole
    own = own_state(engine.opened.cells)
    state = LiveState((0, *own.choices[1:]), own.changes)
    found = engine.answer(state)
    margins = check(analyse(read_text(engine.opened.text_of(state)), per_bay=2))
    assert found.whole
    assert found.sentence == sentence(margins)
    assert found.load_factor_at_first_failure == margins.load_factor_at_first_failure()
    assert engine.work_ahead() is None


def test_a_specimen_counts_in_multiples_of_its_load():
    engine = LiveEngine(opened((WINGS / "spar-c.toml").read_text()), per_bay=2)
    own = own_state(engine.opened.cells)
    found = engine.answer(LiveState((3, *own.choices[1:]), own.changes), 2.0)
    whole, _ = engine.proven(LiveState((3, *own.choices[1:]), own.changes), 2.0)
    assert "times its load" in found.sentence
    assert largest_difference(found, whole) < ROUNDING


def test_a_question_comes_before_the_work_ahead(monkeypatch):
    """However long the steps of the work take, at most one more begins while a question waits."""
    monkeypatch.setattr(engine_module, "_QUIET", 0.01)
    engine = LiveEngine(opened(PLAIN), per_bay=1)
    own = own_state(engine.opened.cells)
    segments = engine._kept.segments
    harvest, begun = segments.harvest, []

    def slowly(codes):
        if threading.current_thread().name == "ahead":
            begun.append(codes)
            time.sleep(0.05)
        return harvest(codes)

    waited: list[int] = []

    class Watched(deque):
        def append(self, item):
            self.from_here = len(begun)
            super().append(item)

        def pop(self):
            waited.append(len(begun) - self.from_here)
            return super().pop()

    monkeypatch.setattr(engine, "_waiting", Watched())
    monkeypatch.setattr(segments, "harvest", slowly)
    worker = engine.work_ahead(aside=False)
    try:
        for k in range(4):
            time.sleep(0.15)
            choices = (*own.choices[:k], 0, *own.choices[k + 1 :])
            engine.answer(LiveState(choices, (WebChange(f"{k / 2 + 1} mm"),) * len(choices)))
    finally:
        engine.stop()
        worker.join(60)
    assert len(begun) > 2
    assert len(waited) >= 4
    assert max(waited) <= 1
