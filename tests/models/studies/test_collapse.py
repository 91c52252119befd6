"""Collapse: each state of damage against a wing built with that damage, and the logic of the story."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from models.analysis import analyse
from models.recovered import with_block
from models.strength import along_grain, check, modes
from models.strength.modes import named
from models.strength.sheet_buckling import BOWS
from models.studies.bowed import SETTLED
from models.studies.collapse import (
    DamagedWing,
    collapse,
    happens,
    sentences,
)
from models.wing.reading import read
from models.wings import shipped
from tests.variants import limber

SHEETED_WING = shipped()["box-two-spars-sheeted"]
SHEETED = """
[[sheeting]]
from = "leading edge"
to = "main"
thickness = "2 mm"
wood = "balsa light"
grain = "span"
"""


@pytest.fixture(scope="module")
def trainer():
    return collapse(limber())


def test_first_failure_is_that_of_the_check(trainer):
    margins = check(analyse(limber()))
    assert_allclose(trainer.first, margins.load_factor_at_first_failure(), rtol=1e-9)
    assert trainer.steps[0].part == margins.first().part
    assert_allclose(trainer.steps[0].stiffness_left, 1.0, rtol=1e-12)


def test_the_damaged_wing_is_the_wing_without_the_broken_web(trainer):
    wing, broken = limber(), trainer.steps[0].part
    assert broken.kind == "web"
    spar = wing.spars[0]
    webs = tuple(w for w in spar.webs if (w.bay, w.face) != (broken.bay, broken.place))
    without = analyse(replace(wing, spars=(replace(spar, webs=webs),)))
    # Its own mass is a little less, which is all that the story leaves out.
    assert_allclose(trainer.residual, check(without).load_factor_at_first_failure(), rtol=5e-3)


def test_stiffness_only_falls_while_parts_are_lost(trainer):
    left = [s.stiffness_left for s in trainer.steps]
    assert (np.diff(left) < 0).all()
    assert not trainer.folds
    assert trainer.end.startswith("no more than")  # pinned: with its ribs bending it no longer folds
    assert trainer.ends_flight
    assert trainer.collapse == trainer.first


def test_words_of_the_story(trainer):
    said = sentences(trainer)
    assert said[0] == f"At 9.5 g {happens(trainer.steps[0], side=False)}, port and starboard at once."
    assert "ends the flight" in said[-1]
    assert "starboard: " not in " ".join(said)


def test_a_later_state_that_holds_more_does_not_end_the_flight(trainer):
    first = trainer.steps[0]
    more = replace(trainer, steps=(first, replace(first, load_factor=1.5 * first.load_factor)))
    assert not more.ends_flight
    assert_allclose(more.collapse, 1.5 * first.load_factor, rtol=1e-12)
    assert "does not end the flight" in sentences(more)[-1]
    assert replace(trainer, steps=()).residual == 0.0
    joint = replace(check(trainer.analysis).rows[0], reserve_factor=0.5, mode="brace, caps cut")
    (said,) = (one for one in sentences(replace(trainer, joint=joint)) if "takes joints as holding" in one)
    assert f"at {0.5 * trainer.analysis.load_factor:.1f} g, {joint.part.name} breaks across" in said
    assert trainer.joint is None  # its caps are scarfed
    assert sentences(replace(trainer, steps=())) == ["Nothing is loaded, so nothing fails."]


def test_one_side_alone_breaks_at_the_same_load(trainer):
    one = collapse(limber(), one_side=True)
    assert_allclose(one.first, trainer.first, rtol=1e-6)
    assert {s.part.side for s in one.steps} == {"starboard"}
    assert "port and starboard at once" not in " ".join(sentences(one))
    # The sound side keeps its share of the stiffness.
    assert one.steps[1].stiffness_left > trainer.steps[1].stiffness_left


def test_a_crushed_cap_fails_twice_and_a_torn_one_once(make_specimen):
    story = collapse(make_specimen("both", case='tip_force = "1 N"'))
    first, second = story.steps[:2]
    assert (first.mode, first.second, first.keeps.strength) == ("cap compression", False, 0.5)
    assert second.part == first.part
    assert second.second
    assert second.keeps.strength == 0.0
    assert second.load_factor < first.load_factor
    assert second.stiffness_left < 1


def test_what_parts_still_carry():
    left = {mode.name: mode.remains for mode in modes.MODES}
    assert left["cap tension"].strength == 0
    assert left["cap compression"].strength == 0.5
    assert left["cap buckling"].strength == 0.5
    assert left["web shear"].stiffness == 0
    assert left["web shear buckling"].stiffness == 0
    assert left["web shear buckling"].ply.stiffness == 0.5
    assert left["glue line"].stiffness == 0
    assert left["rib post"].stiffness == 0


def test_a_wide_column_leaves_no_tension_field():
    """A web of plywood that gives way between the caps no longer holds them apart."""
    left = modes.named("web buckling under crushing").remains
    assert left.ply is None
    assert (left.stiffness, left.strength) == (0, 0)


def test_bowed_sheeting_leaves_its_load_to_the_caps(make_wing):
    wing = make_wing(extra=SHEETED)
    bowed, whole = (collapse(wing, whole_sheeting=w) for w in (False, True))
    assert bowed.sheeting
    assert not whole.sheeting
    assert_allclose(whole.first, check(analyse(wing)).load_factor_at_first_failure(), rtol=1e-9)
    assert_allclose(bowed.whole, whole.first, rtol=1e-9)
    assert any("with all sheeting whole at" in s for s in sentences(bowed))
    assert bowed.sheeting[0][1] < bowed.first <= whole.first * (1 + 1e-9)


def test_effective_width_settles_with_the_load(make_wing):
    """Von Karman: the share kept is sqrt(s_cr/s_edge), with the edge stress of the wing so softened."""
    state = DamagedWing(make_wing(extra=SHEETED), per_bay=4)
    n, _, at, _ = state.settle(lambda rows: rows[0].reserve_factor)
    part, critical = min(state.critical.items(), key=lambda item: item[1])
    number = at.model.parts.index(part)
    on = at.model.structure.blocks["sheeting"].part == number
    unbowed = at.solution.recover(at.case)["sheeting"]
    kept = (at.recovered["sheeting"]["stress"] / unbowed["stress"])[on]
    as_whole = check(replace(at, recovered=with_block(at.recovered, "sheeting", unbowed)))
    bows = at.load_factor * min(
        r.reserve_factor for r in as_whole.secondary if r.part == part and named(r.mode).remains is BOWS
    )
    assert bows < critical < n  # what it sheds bends the wing more
    assert_allclose(kept, np.sqrt(bows / n), rtol=SETTLED)


def test_sheeting_breaks_where_the_check_breaks_it():
    """Whole, of a sound wing, sheeting bears in the story what it bears in the check."""
    state = DamagedWing(read(SHEETED_WING), whole_sheeting=True, per_bay=4)
    least = {r.part: r.reserve_factor for r in check(state.analysis).rows if r.mode == "sheeting strength"}
    _, rows, _, _ = state.settle(lambda rows: rows[0].reserve_factor)
    found = {r.part: r.reserve_factor for r in rows if r.part.kind == "sheeting"}
    assert found.keys() == least.keys()
    assert len(found) > 4
    for part, reserve in least.items():
        assert_allclose(found[part], reserve, rtol=1e-6)


def test_edges_in_bending_by_hand():
    """An edge's beam under its own section forces: N/A/F + M/(Z F_b)."""
    analysis = analyse(limber())
    rows = {r.part: r for r in check(analysis, damaged=True).rows if r.mode == along_grain.MODE.name}
    edge = next(p for p in rows if p.place == "leading" and p.bay == 2)
    block = analysis.model.structure.blocks["edges"]
    on = block.part == analysis.model.parts.index(edge)
    forces = analysis.recovered["edges"]["forces"][on].reshape(-1, 6)
    wood = next(e for e in analysis.wing.edges if e.kind == "leading").material
    area, up, aft = (
        np.repeat(getattr(analysis.model.edges, k)[on], 2) for k in ("area", "modulus_up", "modulus_aft")
    )
    used = [
        abs(f[0]) / area[k] / (wood.tension if f[0] > 0 else wood.compression)
        + (abs(f[4]) / up[k] + abs(f[5]) / aft[k]) / wood.bending
        for k, f in enumerate(forces)
    ]
    assert_allclose(1 / rows[edge].reserve_factor, max(used), rtol=1e-9)


def test_nothing_loaded_nothing_fails(make_specimen):
    wing = make_specimen()
    story = collapse(replace(wing, case=replace(wing.case, tip_force=0.0, tip_torque=0.0)))
    assert story.steps == ()
    assert story.first == float("inf")


def test_the_wing_in_the_file_is_left_as_it_was():
    wing = limber()
    before = [len(s.webs) for s in wing.spars]
    collapse(wing)
    assert [len(s.webs) for s in wing.spars] == before
