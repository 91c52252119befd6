"""Bags for a flight case: statics of the diagrams by hand, and what the choice keeps."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose

from models.analysis import analyse
from models.loads.bags import (
    BENDING_ALLOWED,
    TORSION_ALLOWED,
    Bag,
    BagPlan,
    Diagrams,
    diagrams,
    own_weight,
    plan_bags,
)
from models.loads.pull_up import GRAVITY
from models.wing.reading import read
from validation.plans import random_wing

WINGS = Path(__file__).parents[3] / "models" / "wings"


def plan_of(wing, **options):
    analysis = analyse(wing)
    own = own_weight(analysis.model, analysis.solution.assembly)
    flight = analysis.solution.loads[:, :, analysis.case]
    choice = {"bags": 20, "largest": 2.0, "step": 0.01} | options
    return analysis, own, plan_bags(analysis.model, flight, own, analysis.load_factor, **choice)


def test_diagrams_of_one_force_by_hand(make_wing) -> None:
    # On a straight spar across the flight line, a force F at arm a out and e aft: S = F, M = F a, T = -F e.
    analysis = analyse(make_wing(stations='{ y = "0 mm", chord = "200 mm", section = "NACA 2412" }, '
                                 '{ y = "600 mm", chord = "200 mm" }'))  # fmt: skip
    model = analysis.model
    node = model.chordlines[-1].lower[-1]
    x, y, _ = model.structure.nodes[node]
    nodal = np.zeros((len(model.structure.nodes), 6))
    nodal[node, 2] = 3.0
    found = diagrams(model, nodal)
    assert_allclose(found.values[:, 0], 3.0, rtol=1e-12)
    assert_allclose(found.values[:, 1], 3.0 * (y - found.y), rtol=1e-9, atol=1e-9)
    assert_allclose(found.values[:, 2], -3.0 * (x - 0.3 * 0.2), rtol=1e-9)


def test_own_weight_is_that_of_the_bare_wing(make_wing) -> None:
    extra = '[[masses]]\nname = "servo"\nmass = "20 g"\nx = "60 mm"\ny = "300 mm"\npaired = true\n'
    bare, carrying = (analyse(make_wing(extra=e)) for e in ("", extra))
    weights = [own_weight(a.model, a.solution.assembly)[:, 2].sum() for a in (bare, carrying)]
    assert_allclose(weights[1], weights[0], rtol=1e-12)
    assert_allclose(2 * weights[0], bare.pull_up.wing_mass * GRAVITY, rtol=1e-9)


@pytest.mark.parametrize(
    "name", ["trainer", pytest.param("sailplane", marks=pytest.mark.long), "powered-tailless"]
)
def test_twenty_bags_reproduce_the_flight_case_of_the_examples(name: str) -> None:
    analysis, own, plan = plan_of(read(WINGS / f"{name}.toml"))
    assert plan.count <= 20
    assert max(abs(bag.mass) for bag in plan.bags) <= 2.0 + 1e-9
    # Summed again from the bags themselves, not from the plan's own columns.
    flight = diagrams(analysis.model, analysis.solution.loads[:, :, analysis.case])
    main = next(s for s in analysis.wing.spars if s.y_end == max(t.y_end for t in analysis.wing.spars))
    own_values = diagrams(analysis.model, own).values
    for k, y in enumerate(flight.y.tolist()):
        shear = bending = pitch = 0.0
        for bag in plan.bags:
            for x, at, share in zip(bag.x, bag.y, bag.shares):
                if at > y - 1e-9:
                    force = share * bag.mass * GRAVITY
                    shear += force
                    bending += force * (at - y)
                    pitch -= force * (x - float(main.x.at(y)))
        step = 1e-4
        low = y - step if k else y
        slope = float(main.x.at(low + step) - main.x.at(low)) / step
        along = np.array([slope, 1.0]) / np.hypot(slope, 1.0)
        values = [shear, bending * along[1] - pitch * along[0], bending * along[0] + pitch * along[1]]
        scale = np.abs(flight.values).max(axis=0)
        assert_allclose((plan.bench.values[k] - own_values[k] - values) / scale, 0.0, atol=2e-3)
    # On the wing, not ahead of it; a cord only where the wing is pulled the other way, as by raised elevons.
    assert min(min(bag.aft) for bag in plan.bags) > 0
    pulled = [min(bag.y) for bag in plan.bags if bag.mass < 0]
    assert len(pulled) <= 3 * (name == "powered-tailless")
    assert all(y > analysis.wing.elevons.y_from for y in pulled)
    error = np.abs(flight.error(plan.bench))
    assert error[:, 1].max() <= BENDING_ALLOWED
    assert error[:, 2].max() <= TORSION_ALLOWED
    assert plan.kept


def test_errors_count_against_the_value_or_a_fifth_of_the_greatest() -> None:
    flight = Diagrams(np.array([0.0, 1.0]), np.array([[10.0, 10.0, 10.0], [1.0, 5.0, 0.0]]))
    bench = Diagrams(flight.y, flight.values + 0.1)
    assert_allclose(flight.error(bench), [[0.01, 0.01, 0.01], [0.05, 0.02, 0.05]], rtol=1e-12)


def test_bags_that_are_too_light_are_told(make_wing) -> None:
    _, _, plan = plan_of(make_wing(), largest=0.1, bags=4)
    assert not plan.kept
    assert max(bag.mass for bag in plan.bags) <= 0.1 + 1e-12
    assert plan.count <= 4


def test_the_same_question_has_the_same_answer() -> None:
    wing = read(WINGS / "trainer.toml")
    assert plan_of(wing)[2].bags == plan_of(wing)[2].bags


def test_a_bag_on_a_batten_is_two_bags() -> None:
    bag = Bag((3, 5), (0.2, 0.4), (0.05, 0.09), (0.05, 0.09), 1.2, along=0.25)
    assert_allclose(bag.shares, [0.75, 0.25], rtol=1e-12)
    assert Bag((3,), (0.2,), (0.05,), (0.05,), 1.2).shares == (1.0,)


def test_ribs_where_next_to_nothing_acts_are_told() -> None:
    flight = Diagrams(np.arange(3.0), np.array([[9.0, 10.0, -4.0], [5.0, 2.5, -0.5], [1.0, 1.0, 0.1]]))
    bench = Diagrams(flight.y, flight.values * [1.0, 1.02, 0.95])
    plan = BagPlan((), flight, bench, flight, 4.0, np.array([0, 2, 3]))
    assert plan.faint(1) == (3,)
    assert plan.faint(2) == (2, 3)
    assert_allclose(plan.of_greatest, [0.0, 0.02, 0.05], atol=1e-12)
    # Against the value where it is large, against a fifth of the greatest where it is small.
    assert_allclose(plan.errors, [0.0, 0.02, 0.05], atol=1e-12)
    # Where flight bends the wing down, more is more downward; what bends it less is no excess.
    assert_allclose(plan.excess, 0.02, rtol=1e-9)
    down = BagPlan(
        (), Diagrams(flight.y, -flight.values), Diagrams(flight.y, -bench.values), flight, 4.0, plan.rib
    )
    assert_allclose(down.excess, 0.02, rtol=1e-9)
    assert BagPlan((), bench, flight, flight, 4.0, plan.rib).excess == 0.0


@pytest.mark.slow
def test_a_bag_of_less_than_half_a_step_is_kept_where_its_torsion_is_missed() -> None:
    # A thin wing's outermost rib, where 4 g make all of the torsion.
    analysis = analyse(random_wing(1), per_bay=1)
    n = 1.8
    flight = analysis.solution.loads[:, :, analysis.case] / analysis.load_factor * n
    own = own_weight(analysis.model, analysis.solution.assembly)
    plan = plan_bags(analysis.model, flight, own, n, bags=20, largest=2.0, step=0.01)
    assert plan.kept, plan.errors
    assert not any(bag.mass < 0 for bag in plan.bags)  # no cord is needed
    assert any(bag.ribs[-1] == len(analysis.wing.ribs) for bag in plan.bags)
