"""A mode of failure is one object: it says all of itself, and whoever asks about modes finds it."""

from __future__ import annotations

from dataclasses import fields, replace

import numpy as np
import pytest

from models.analysis import Analysis, analyse
from models.command.files import read_wing
from models.strength import Margin, Margins, check, modes, sentence
from models.strength.finding import Finding, ratio
from models.strength.mode import LOST, Mode, Remains, Rule, Share
from models.strength.solved import Solved
from models.structure.model import Part
from models.studies.collapse import DamagedWing, Step, collapse, happens
from models.studies.proof import proof
from models.studies.scatter import scatter
from models.woods.wood import STRENGTHS

EVERY = (*modes.MODES, *modes.DAMAGED)
TAGS = ("memory", "looked up", "computed", "no source", "textbook")


@pytest.mark.parametrize("mode", EVERY, ids=lambda mode: mode.name)
def test_a_mode_says_all_of_itself(mode: Mode) -> None:
    assert all((mode.name, mode.words, mode.block))
    assert any(tag in mode.source for tag in TAGS)
    assert mode.ends_flight or mode.reason
    assert set(mode.joins) <= set(EVERY)
    assert mode.scatter.strength in ("", "glue", *STRENGTHS)
    for woods in ((), ("spruce",), ("balsa medium", "spruce")):
        share = mode.proof(woods)
        assert 0 < share.value <= 1
        assert any(tag in share.source for tag in TAGS)
    for left in (mode.remains, mode.remains.ply or mode.remains):
        assert 0 <= left.stiffness <= 1
        assert 0 <= left.strength <= 1
        assert left.words
        assert left.why
    assert modes.named(mode.name) is mode


def test_names_are_not_shared() -> None:
    assert len({mode.name for mode in EVERY}) == len(EVERY)


@pytest.mark.parametrize("left_out", [one.name for one in fields(Mode)])
def test_a_mode_that_leaves_something_out_does_not_load(left_out: str) -> None:
    whole = {one.name: getattr(modes.MODES[0], one.name) for one in fields(Mode)}
    Mode(**whole)
    with pytest.raises(TypeError, match=left_out):
        Mode(**{key: value for key, value in whole.items() if key != left_out})


@pytest.mark.parametrize("field", ["name", "words", "source", "block", "reason"])
def test_a_mode_that_says_nothing_does_not_load(field: str) -> None:
    with pytest.raises(ValueError, match="without|no reason"):
        replace(modes.MODES[0], ends_flight=field != "reason", **{field: ""})


def test_an_unknown_mode_is_no_other() -> None:
    with pytest.raises(KeyError):
        modes.named("web shear buckling of something else")


@pytest.mark.parametrize("mode", EVERY, ids=lambda mode: mode.name)
def test_check_and_collapse_word_a_mode_alike(mode: Mode) -> None:
    part = Part("web", "front", "rear", 3, "starboard")
    row = Margin(mode.name, part, "front", 3, "starboard", 0.5, 2.0, 1.0, "Pa", 0.1, mode.source)
    said = sentence(Margins((row,), 5.0, {}))
    step = Step(2.5, part, mode.name, mode.words, False, mode.remains, 0.0, 0.0, 1.0, 0.1)
    assert said.endswith(f" {mode.words}.")
    assert happens(step).endswith(f" {mode.words}")


@pytest.mark.parametrize("name", ["trainer", "powered-tailless", "spar-c"])
def test_the_first_failure_of_a_wing_is_worded_alike(name: str) -> None:
    wing = read_wing(name)
    first = DamagedWing(wing, whole_sheeting=True, per_bay=2).next_failure()
    assert first is not None
    said = sentence(check(analyse(wing, per_bay=2)))
    assert said.removesuffix(".").endswith(first.words)


# ---- a mode that is made up -----------------------------------------------------------------------------


def dull(at: Solved) -> list[Finding]:
    """Caps go dull at a force of 1 N, whatever else they bear."""
    force = np.abs(at.caps.axial_force)
    y = at.caps.y.mean(axis=1)
    return [MADE_UP.found(force > 0, ratio(np.ones(len(force)), force), force, y, unit="N")]


MADE_UP = Mode(
    name="cap dulling",
    words="goes dull",
    source="made up for a test (no source)",
    block="caps",
    find=dull,
    ends_flight=True,
    reason="",
    joins=(),
    scatter=Rule("shear", size=1),
    proof=lambda _: Share(0.25, "made up (no source)"),
    remains=Remains(0.9, 0.125, "a little lustre", "made up (no source)"),
)


@pytest.fixture
def with_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(modes, "MODES", (*modes.MODES, MADE_UP))


@pytest.fixture(scope="module")
def cantilever() -> Analysis:
    return analyse(read_wing("spar-c"), per_bay=2)


@pytest.mark.usefixtures("with_it")
def test_check_finds_a_made_up_mode(cantilever: Analysis) -> None:
    margins = check(cantilever)
    assert margins.first().mode == MADE_UP.name
    assert sentence(margins).endswith("cap goes dull.")
    assert margins.sources()[MADE_UP.name] == MADE_UP.source


def test_check_without_it_does_not(cantilever: Analysis) -> None:
    assert MADE_UP.name not in check(cantilever).sources()


@pytest.mark.usefixtures("with_it")
def test_scatter_draws_a_made_up_mode(cantilever: Analysis) -> None:
    found = scatter(cantilever.wing, samples=64, states=8, per_bay=2)
    assert {one.mode for one in found.firsts} == {MADE_UP.name}


@pytest.mark.usefixtures("with_it")
def test_collapse_goes_on_from_a_made_up_mode() -> None:
    story = collapse(read_wing("spar-c"), per_bay=2)
    first, second = story.steps[:2]
    assert (first.mode, first.words) == (MADE_UP.name, "goes dull")
    assert first.keeps is MADE_UP.remains
    assert second.second == (second.part == first.part)
    assert any(step.second and step.keeps is LOST for step in story.steps)


@pytest.mark.usefixtures("with_it")
def test_proof_takes_the_share_of_a_made_up_mode() -> None:
    test = proof(read_wing("spar-c"), per_bay=2)
    assert test.limits[0].margin.mode == MADE_UP.name
    assert test.limits[0].share.value == 0.25
