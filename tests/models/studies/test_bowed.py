"""Sheeting that bows: how its movements settle."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fea.solve import factorise, pinned
from models.analysis import analyse
from models.recovered import recovered
from models.strength import check, sheet_strength
from models.strength.sheet_buckling import MODE_BOTH, PanelLimits, panel_limits, pressed
from models.strength.sheet_stress import sheet_stress
from models.strength.solved import Solved
from models.studies.bowed import SETTLED, Bowed, Bowing, Sheeting, check_bowed, margins_bowed
from models.studies.collapse import DamagedWing
from models.studies.load_cases import load_cases
from models.wing.reading import read
from models.wings import shipped

_MULTIPLES = np.array([1.0, 2.0])


class _Straight(Sheeting):
    """Movements u = 1 + a u of two cases, which repetition alone finds in hundreds of steps."""

    def __init__(self) -> None:
        self.moves = np.ones((4, 6, 2))
        self._limits = PanelLimits(*np.ones((3, 1)))
        self._last = None
        self.asked = 0

    def _left(self, moves: np.ndarray, multiple: np.ndarray) -> np.ndarray:
        self.rate = np.where(multiple == 1, 0.9, 0.95)
        return np.ones((1, moves.shape[2]))

    def _answer(self, moves: np.ndarray, left: np.ndarray) -> np.ndarray:
        self.asked += 1
        return moves * self.rate


def test_what_is_straight_settles_by_two_trials() -> None:
    """The mixture of two trials is exact; a trial that is overwritten later would spoil it."""
    sheeting = _Straight()
    found = sheeting.settle(_MULTIPLES)
    assert_allclose(found.moves[0, 0], [10, 20], rtol=1e-6)
    assert sheeting.asked <= 4
    assert (sheeting.moves == 1).all()


def test_a_case_settled_alone_leaves_the_others() -> None:
    sheeting = _Straight()
    found = sheeting.settle(_MULTIPLES, np.array([1]))
    assert_allclose(found.moves[0, 0], [1, 20], rtol=1e-6)
    assert_allclose(sheeting.settle(_MULTIPLES).moves[0, 0], [10, 20], rtol=1e-6)


def test_settled_sheeting_is_that_of_a_structure_built_with_it() -> None:
    """A structure whose sheeting has the stiffness that is left moves as it was settled, and what its panels
    would bear unbowed leaves them just that."""
    wing = read(shipped()["box-two-spars-sheeted"])
    analysis = analyse(wing, per_bay=2)
    at, solution = Solved(analysis), analysis.solution
    whole = solution.displacements[:, :, [analysis.case]]
    factor = pinned(solution.assembly)
    sheeting = Sheeting(at, factor, whole)
    first = min(r.reserve_factor for r in check(analysis).secondary if r.mode == MODE_BOTH.name)
    found = sheeting.settle(np.array([5.0 * first]))
    block = analysis.model.structure.blocks["sheeting"]
    scale = {"sheeting": block.scale * found.left[sheeting.panel, 0]}
    softened = factorise(solution.assembly, factor.pins, solution.assembly.stiffness(scale))
    force = solution.assembly.vector(solution.loads)[:, [analysis.case]]
    moves = solution.assembly.nodal(softened.turn @ softened.solve(softened.turn.T @ force))
    scale_of = np.abs(moves[:, :3]).max()
    assert_allclose(found.moves[:, :3], moves[:, :3], rtol=0, atol=1e-7 * scale_of)
    assert np.abs(moves - whole)[:, :3].max() > 1e-3 * scale_of
    again = replace(analysis, recovered=recovered(solution.assembly, moves[:, :, 0]))
    mean, limits = Solved(again).the(sheet_stress).mean, at.of_build(panel_limits)
    over = 5 * first * pressed(mean[:, 0], mean[:, 2], limits)
    assert_allclose(found.left[:, 0], 1 / np.sqrt(np.maximum(over, 1)), rtol=1e-5)
    assert 2 < (found.left < 1).sum() < len(found.left)


def test_folds_carry_a_part_of_the_shear_that_grows_with_what_bows_the_panel() -> None:
    """(1 - tau_0/tau)^3 of it: 0.42 at four times what bows a panel, nothing up to there."""
    wing = read(shipped()["box-two-spars-sheeted"])
    analysis = analyse(wing, per_bay=2)
    at = Solved(analysis)
    whole = analysis.solution.displacements[:, :, [analysis.case]]
    sheeting = Sheeting(at, pinned(analysis.solution.assembly), whole)
    mean, limits = at.the(sheet_stress).mean, at.of_build(panel_limits)
    over = pressed(mean[:, 0], mean[:, 2], limits)
    for multiple, most in ((1.0, 0.0), (4.0, 0.421875), (9.0, (8 / 9) ** 3)):
        left = 1 / np.sqrt(np.maximum(multiple * over / over.max(), 1.0))[:, None]
        found = sheeting.folds(Bowed(whole, left))[:, 0]
        part = np.maximum(1 - over.max() / (multiple * over), 0.0) ** 3
        assert_allclose(found, part * np.abs(left[:, 0] * mean[:, 2]), rtol=1e-9, atol=1e-9)
        assert part.max() == pytest.approx(most, rel=1e-9)


@pytest.mark.parametrize("judge", ["margins", "damaged"])
def test_folds_are_felt_by_the_sheeting_alone(judge, monkeypatch) -> None:
    """Thin skin with its grain along the chord, twisted: its own strength falls, nothing else's does."""
    wing = read(shipped()["box-two-spars-sheeted"])
    sheets = tuple(replace(one, thickness=0.5e-3, grain=np.pi / 2) for one in wing.sheets)
    case = replace(wing.case, tip_force=0.0, tip_torque=0.2)
    wing = replace(wing, sheets=sheets, case=case)

    def reserves() -> dict:
        if judge == "damaged":
            rows = DamagedWing(wing, per_bay=1).settle(lambda rows: 12.0)[1]
        else:
            rows = list(check_bowed(analyse(wing, per_bay=1)).rows)
        return {(row.mode, row.part.name): row.reserve_factor for row in rows}

    with_folds = reserves()
    monkeypatch.setattr(Sheeting, "folds", lambda self, bowed: np.zeros(bowed.left.shape))
    without = reserves()
    falls = {key for key in without if with_folds[key] < 0.98 * without[key]}
    assert falls
    assert {mode for mode, _ in falls} == {sheet_strength.MODE.name}
    if judge == "damaged":  # settled at one load
        same = [key for key in without if key[0] != sheet_strength.MODE.name]
        assert_allclose([with_folds[key] for key in same], [without[key] for key in same], rtol=1e-9)


def test_sheeting_that_is_sheared_alone_bows_with_its_shear() -> None:
    """What presses it along the span may be as good as nothing, of any sign: no share of that decides."""
    limits = PanelLimits(np.array([2.0, 2.0]), np.array([4.0, 4.0]), np.array([1.0, 1.0]))
    for along in (-1e-12, 0.0, 1e-12, 7.0):
        assert_allclose(pressed(np.full(2, along), np.array([8.0, -8.0]), limits), [2, 8], rtol=1e-9)
    assert_allclose(pressed(np.full(2, -3.0), np.zeros(2), limits), 1.5)
    one = pressed(np.full(2, -3.0), np.array([5.0, -5.0]), limits)
    assert_allclose(pressed(np.full(2, -9.0), np.array([15.0, -15.0]), limits), 3 * one)
    # R_s^2 + R_c = 1 at the load that buckles.
    assert_allclose((5 / 4 / one[0]) ** 2 + 1.5 / one[0], 1)


def test_whether_a_case_is_hard_hangs_on_its_own_group() -> None:
    """Beside a pull-up a landing is not hard and left at its bound; in a group of its own its load is found
    closer, as alone."""
    wing = read(shipped()["powered-tailless"])
    study = load_cases(wing, per_bay=1, only={"pull-up", "landing on all legs"})
    analyses = [one.analysis for one in study.cases]
    whole = [check(one) for one in analyses]
    model, solution = analyses[0].model, analyses[0].solution

    def landed(first: int, group: list[int] | None = None) -> float:
        found = margins_bowed(model, solution, analyses[first:], whole[first:], group=group)
        return found[-1].rows[0].reserve_factor

    alone = landed(1)
    assert landed(0, [0, 1]) == pytest.approx(alone, rel=1e-6)
    assert landed(0) < (1 - 1e-4) * alone < whole[1].rows[0].reserve_factor


def test_sheeting_bows_in_a_wing_that_is_carried_too() -> None:
    """It is settled on what holds the wing there, not on the free wing."""
    wanted = {"pull-up", "carried by starboard tip", "held at both tips"}
    study = load_cases(read(shipped()["powered-tailless"]), per_bay=1, only=wanted)
    for case in (one for one in study.cases if one.name != "pull-up"):
        whole = check(case.analysis).rows[0].reserve_factor
        assert case.bows is not None
        assert case.bows.reserve_factor < case.reserve < 0.999 * whole


def test_weak_wings_fail_before_their_sheeting_has_bowed_as_far() -> None:
    """Reserves at a lower load than first failure, against a wing whose strengths are all less by as much,
    settled at the load at which it fails itself."""
    state = DamagedWing(read(shipped()["powered-tailless"]), per_bay=1)
    asked = state.analysis.load_factor
    fails, rows, _, _ = state.settle(lambda rows: rows[0].reserve_factor)
    assert_allclose(rows[0].reserve_factor * asked, fails, rtol=SETTLED)
    bowing = Bowing(state.margins.rows, rows, min(state.critical.values()) / asked, rows[0].reserve_factor)
    assert bowing.begins < 0.5 * bowing.fails
    for multiple, told in ((bowing.begins / 2, state.margins.rows), (bowing.fails, rows)):
        found = {(row.mode, row.part): row.reserve_factor for row in bowing.at(multiple)}
        assert len(found) > 100
        wanted = {(row.mode, row.part): row.reserve_factor for row in told}
        assert_allclose(list(found.values()), [wanted.get(key, found[key]) for key in found], rtol=1e-9)
    for share in (0.8, 0.5):
        weak = state.settle(lambda rows, share=share: share * rows[0].reserve_factor)[0] / asked
        low, high = 0.0, bowing.fails
        for _ in range(40):
            middle = (low + high) / 2
            low, high = (
                (middle, high) if share * bowing.at(middle)[0].reserve_factor > middle else (low, middle)
            )
        assert 0.9 < low / weak < 1.01
        assert share * bowing.fails < 0.99 * weak  # as far bowed as the sound wing it would bear too little
