"""The second process: what it builds, what it proves, how it ends, and the page without it."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import threading
import time
from pathlib import Path

import numpy as np
import pytest

from models.live import aside as aside_module
from models.live import engine as engine_module
from models.live.aside import Aside
from models.live.cells import LiveState, WebChange, own_state
from models.live.engine import LiveEngine, largest_difference
from models.live.opened import Opened
from models.live.shelf import Glued
from models.studies.lightest.judge import Stack
from models.studies.lightest.portions import Portions

PLAIN = Path(__file__).with_name("remarked.toml").read_text(encoding="utf-8")
PATIENCE = 600.0
"""Seconds that the slowest machine may need for any one step."""


def opened() -> Opened:
    return Opened(PLAIN, Path(), "wing.toml", "wing")


def until(what, seconds: float = PATIENCE) -> bool:
    end = time.monotonic() + seconds
    while not what() and time.monotonic() < end:
        time.sleep(0.02)
    return bool(what())


def words(analysis) -> list[str]:
    """Where the work was done, and on what."""
    return [str(os.getpid()), analysis.wing.name]


def ended(made: LiveEngine) -> None:
    """Stop it and wait for its threads: what one of them raised later would be laid on another test."""
    worker = made._worker
    made.stop()
    assert worker is not None
    worker.join(PATIENCE)
    assert not worker.is_alive()


@pytest.fixture
def engine():
    made = LiveEngine(opened(), per_bay=2)
    made.work_ahead()
    yield made
    ended(made)


@pytest.fixture(scope="module")
def ready():
    """An engine whose every layout was made ready by the second process alone."""
    made = LiveEngine(opened(), per_bay=2)
    for k in range(5):
        made._kept.segments.register.number(f"mode {k}", None)  # numbers are not those of the other process
    made.work_ahead()
    assert made._aside is not None
    assert until(lambda: made._complete is not None)
    yield made
    ended(made)


def test_what_it_builds_is_what_is_built_here(ready):
    segments = ready._kept.segments
    assert segments.builds == 0
    here = segments.alone()
    own = own_state(ready.opened.cells)
    codes = ready._codes(LiveState((3, 1, 0, 2, *own.choices[4:]), own.changes))
    names, there = here.register.names, segments.register.names()
    for key, portion in here.shown(codes, list(enumerate(here.states(codes)))).items():
        other = segments.known[key]
        np.testing.assert_array_equal(portion.at, other.at)
        np.testing.assert_allclose(portion.stiffness, other.stiffness, rtol=0, atol=1e-12)
        np.testing.assert_allclose(portion.inertia, other.inertia, rtol=0, atol=1e-12)
        for family, table in portion.table.items():
            for name, value in table.items():
                if name == "id" or name.startswith("id_"):
                    assert [names()[k] for k in value] == [there[k] for k in other.table[family][name]]
                    assert not np.array_equal(value, other.table[family][name])
                else:
                    np.testing.assert_allclose(value, other.table[family][name], rtol=1e-12)


def test_any_layout_is_then_answered_without_a_build(ready):
    own = own_state(ready.opened.cells)
    dice = np.random.default_rng(2)
    for _ in range(3):
        choices = tuple(int(dice.integers(len(cell.choices))) for cell in ready.opened.cells)
        state = LiveState(choices, own.changes)
        assert ready.at_once(state)
        found, whole = ready.answer(state), ready.proven(state)[0]
        assert largest_difference(found, whole) < 1e-7
        # Of every part, glue at the ends of webs that go on over several bays among them.
        here, there = ({one.part: one.reserve_factor for one in answer.least} for answer in (found, whole))
        assert here.keys() == there.keys()
        for part, factor in there.items():
            np.testing.assert_allclose(here[part], factor, rtol=1e-7)
        stacked = Stack(ready._kept.segments.segments(ready._codes(state)))
        built = Portions(ready._kept.places, per_bay=2).segments(ready._codes(state))
        runs = {(run.kind[0], run.kind[1], run.spans) for run in stacked.runs}
        assert runs == {(run.kind[0], run.kind[1], run.spans) for run in Stack(built).runs}
    assert ready._kept.segments.builds == 0
    assert ready.left_to_do()[0] == 0


def test_it_goes_on_with_another_wood(ready):
    own = own_state(ready.opened.cells)
    state = LiveState(own.choices, (WebChange("3 mm", "light ply", "span"), *own.changes[1:]))
    found = ready.answer(state)
    assert largest_difference(found, ready.proven(state)[0]) < 1e-7
    assert until(lambda: ready._complete == state.changes)
    builds = ready._kept.segments.builds
    assert ready.at_once(LiveState((*own.choices[:-1], 0), state.changes))
    assert not ready.at_once(LiveState(own.choices, (WebChange("2.5 mm"), *own.changes[1:])))
    assert ready._kept.segments.builds == builds


def test_it_proves_and_says_the_notes(engine):
    own = own_state(engine.opened.cells)
    state = LiveState((0, *own.choices[1:]), own.changes)
    found, notes, residual = engine.proof(state, 3.0, words)
    assert int(notes[0]) == engine._aside.process.pid != os.getpid()
    whole, analysis = engine.proven(state, 3.0)
    assert found.sentence == whole.sentence
    assert largest_difference(found, whole) < 1e-9
    assert residual == pytest.approx(analysis.solution.checks.residual, abs=1e-9)


def test_what_cannot_be_sent_over_is_proven_here(engine):
    own = own_state(engine.opened.cells)
    _, notes, _ = engine.proof(own, None, lambda analysis: [str(os.getpid())])
    assert notes == [str(os.getpid())]


def test_it_ends_with_the_engine(engine):
    process = engine._aside.process
    assert process.is_alive()
    assert process.daemon
    engine.stop()
    assert not process.is_alive()
    engine.stop()
    assert until(lambda: not engine._worker.is_alive())


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="there is no such signal here")
def test_it_ends_when_the_program_is_killed(tmp_path):
    script = tmp_path / "begins.py"
    script.write_text(
        "import time\n"
        "from models.live.aside import begun\n"
        "if __name__ == '__main__':\n"
        "    print(begun().process.pid, flush=True)\n"
        "    time.sleep(60)\n"
    )
    root = str(Path(__file__).resolve().parents[3])
    program = subprocess.Popen(
        [sys.executable, str(script)],
        stdout=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONPATH": root},
    )
    assert program.stdout is not None
    pid = int(program.stdout.readline())
    os.kill(pid, 0)
    program.kill()
    program.communicate()

    def gone() -> bool:
        try:
            os.kill(pid, 0)
        except ProcessLookupError:
            return True
        state = Path(f"/proc/{pid}/stat")  # ended, and not yet collected by whoever took it over
        return state.exists() and state.read_text().rpartition(")")[2].split()[0] == "Z"

    assert until(gone)


def test_without_it_a_thread_does_the_work(monkeypatch):
    monkeypatch.setattr(engine_module, "_QUIET", 0.0)

    class Refusing:
        def __init__(self) -> None:
            raise OSError("no more processes")

    monkeypatch.setattr(aside_module, "Aside", Refusing)
    assert aside_module.begun() is None
    made = LiveEngine(opened(), per_bay=1)
    made.work_ahead()
    try:
        assert made._aside is None
        own = own_state(made.opened.cells)
        assert until(lambda: made.at_once(LiveState((*own.choices[:-1], 0), own.changes)))
        assert made._kept.segments.builds > 0
        _, notes, _ = made.proof(own, None, words)
        assert notes[0] == str(os.getpid())
    finally:
        ended(made)


def test_when_it_dies_a_thread_goes_on(engine, monkeypatch):
    monkeypatch.setattr(engine_module, "_QUIET", 0.0)
    engine._aside.process.kill()
    assert until(lambda: engine._aside is None)
    harvest, builders = Portions.harvest, []

    def watched(*arguments):
        builders.append(threading.current_thread().name)
        return harvest(*arguments)

    monkeypatch.setattr(Portions, "harvest", watched)
    own = own_state(engine.opened.cells)
    changed = LiveState(own.choices, (WebChange("3 mm"), *own.changes[1:]))
    engine.answer(changed)
    assert until(lambda: engine.at_once(LiveState((*own.choices[:-1], 0), changed.changes)))
    assert "ahead" in builders


def test_both_make_the_first_clicks_ready(engine):
    engine.begin_first()
    assert until(lambda: engine.first_left()[0] == 0)
    assert engine.first_left()[1] == len(LiveEngine(opened(), per_bay=2).first_builds())
    own = own_state(engine.opened.cells)
    for k, cell in enumerate(engine.opened.cells):
        step = (own.choices[k] + 1) % len(cell.choices)
        assert engine.at_once(LiveState((*own.choices[:k], step, *own.choices[k + 1 :]), own.changes))


def test_what_is_in_memory_stays_within_bounds(engine, monkeypatch):
    own = own_state(engine.opened.cells)
    engine.answer(own)
    monkeypatch.setattr(engine_module, "_MOST_SEGMENTS", 1e3)
    monkeypatch.setattr(engine_module, "_MOST_PORTIONS", 1e3)
    assert not engine._lean
    assert engine._tidy()
    assert engine._lean  # from then on only what single changes need is made ready
    segments = engine._kept.segments
    assert set(segments.found) <= set(enumerate(segments.keys(engine._codes(own))))
    found = engine.answer(LiveState((0, *own.choices[1:]), own.changes))
    assert not found.whole


def test_a_process_is_started_without_threads_of_linear_algebra_and_the_setting_comes_back(monkeypatch):
    monkeypatch.setenv("OPENBLAS_NUM_THREADS", "7")
    monkeypatch.delenv("OMP_NUM_THREADS", raising=False)
    with aside_module._of_one_thread():
        assert os.environ["OPENBLAS_NUM_THREADS"] == os.environ["OMP_NUM_THREADS"] == "1"
    assert os.environ["OPENBLAS_NUM_THREADS"] == "7"
    assert "OMP_NUM_THREADS" not in os.environ


def test_the_pipe_is_of_no_use_once_it_is_closed():
    one = Aside()
    one.end()
    one.build([])  # nobody is there; nothing happens
    assert list(one.received()) == []


def test_a_face_is_sent_over_with_its_web():
    import pickle

    engine = LiveEngine(opened(), per_bay=1)
    face = next(face for cell in engine._kept.places.cells for faces in cell.choices for face in faces)
    again = pickle.loads(pickle.dumps(face))
    assert isinstance(again, Glued)
    assert again == face
    assert vars(again.web) == vars(face.web)
