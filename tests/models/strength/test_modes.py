"""A mode of failure is one object: it says all of itself, and whoever asks about modes finds it."""

from __future__ import annotations

from dataclasses import fields, replace
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose

from models.analysis import Analysis, analyse
from models.command import main
from models.command.files import read_wing
from models.live.cells import own_state
from models.live.engine import LiveEngine
from models.live.opened import Opened
from models.page.views import Views
from models.strength import Margin, Margins, check, glue_ends, modes, sentence, web_combined
from models.strength.cap_column import bays_of_caps
from models.strength.finding import Finding, reserve_of
from models.strength.mode import LOST, Many, Mode, Remains, Rule, Share
from models.strength.solved import Solved
from models.structure.model import Part
from models.studies.collapse import DamagedWing, FailureStep, collapse, happens
from models.studies.lightest import Limits, WhatIf, lightest
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
    if mode.ends_flight and mode not in (*modes.DAMAGED, web_combined.MODE, glue_ends.MODE):
        assert mode.many is not None


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
    with pytest.raises(ValueError, match=r"without|no reason"):
        replace(modes.MODES[0], ends_flight=field != "reason", **{field: ""})


def test_an_unknown_mode_is_no_other() -> None:
    with pytest.raises(KeyError):
        modes.named("web shear buckling of something else")


@pytest.mark.parametrize("mode", EVERY, ids=lambda mode: mode.name)
def test_check_and_collapse_word_a_mode_alike(mode: Mode) -> None:
    part = Part("web", "front", "rear", 3, "starboard")
    row = Margin(mode.name, part, "front", 3, "starboard", 0.5, 2.0, 1.0, "Pa", 0.1, mode.source)
    said = sentence(Margins((row,), 5.0, {}))
    step = FailureStep(2.5, part, mode.name, mode.words, False, mode.remains, 0.0, 0.0, 1.0, 0.1)
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


LIMIT = 1.0
"""Force at which a cap goes dull, N: before anything else happens."""


def dull(at: Solved) -> list[Finding]:
    """The caps of a bay go dull at a push of 1 N in the mean, whatever else they bear."""
    bay, push = bays_of_caps(at.analysis, at.caps)
    y = at.caps.y.mean(axis=1)
    return [MADE_UP.found(push[bay] > 0, reserve_of(push[bay] / LIMIT), push[bay], y, unit="N")]


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
    many=Many(
        family="cap bays",
        constants=lambda at: {"dull": np.full(len(bays_of_caps(at.analysis, at.caps)[1]), LIMIT)},
        used=lambda of: np.asarray(of.push / of.table["cap bays"]["dull"][:, None]),
    ),
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


@pytest.mark.usefixtures("with_it")
def test_lightest_counts_a_made_up_mode() -> None:
    """On one layout against a whole check, and of all layouts none that lets caps go dull."""
    wing = read_wing("spar-c")
    session = WhatIf(wing, per_bay=1)
    answer = session.answer({("spar", 2): ()})
    margins = check(analyse(session.places.laid(session.places.codes({("spar", 2): ()})), per_bay=1))
    assert answer.reserves[0].mode == MADE_UP.name
    assert answer.sentence == sentence(margins)
    assert_allclose(answer.load_factor_at_first_failure, margins.load_factor_at_first_failure(), rtol=1e-9)
    found = lightest(wing, Limits(0.5 * margins.load_factor_at_first_failure()), per_bay=1)
    assert found.best is not None
    assert found.best.mode == MADE_UP.name


@pytest.mark.usefixtures("with_it")
def test_report_writes_a_made_up_mode(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    page = tmp_path / "page.html"
    # Pictures take most of the time and name no mode.
    monkeypatch.setattr("models.page.views.wing_views", lambda *_: Views((), "", ""))
    monkeypatch.setattr("models.page.render.pictures", lambda _: {})
    assert main(["report", "spar-c", "--out", str(page), "--mesh", "1"]) == 1
    text = page.read_text(encoding="utf-8")
    assert "goes dull" in text
    assert MADE_UP.name in text


@pytest.mark.usefixtures("with_it")
def test_live_answers_with_a_made_up_mode() -> None:
    text = (Path(str(files("models.wings"))) / "trainer.toml").read_text(encoding="utf-8")
    engine = LiveEngine(Opened(text, Path(), "wing.toml", "wing"), per_bay=1)
    found = engine.answer(own_state(engine.opened.cells))
    assert not found.whole
    assert "goes dull" in found.sentence
    assert {one.mode for one in found.bays().values()} == {MADE_UP.name}
