"""The bench test's prediction against the flight case that it stands for, and against statics."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fea.assembly import Assembly, total
from fea.solve import factorise, statics
from fea.structure import Loads
from models.analysis import analyse, spar_motion
from models.loads.bags import Bag
from models.loads.pull_up import GRAVITY
from models.structure import build
from models.studies.bench_test import NoBench, bag_loads, bench_test, held, sentences
from models.wing.reading import read

WINGS = Path(__file__).parents[3] / "models" / "wings"


@pytest.fixture(scope="module")
def trainer():
    wing = read(WINGS / "trainer.toml")
    return wing, bench_test(wing, steps=4)


def test_the_bench_bends_the_wing_as_flight_does(trainer) -> None:
    # The same loads within the plan's few per cent: deflection of the spar at the tip within as much.
    wing, test = trainer
    flight = analyse(wing)
    tip = spar_motion(flight, 0).deflection[-1] * test.plan.load_factor / flight.load_factor
    mark = max(k for k, m in enumerate(test.marks) if m.place == "main spar")
    assert_allclose(test.full[mark] + test.own[mark], tip, rtol=0.05)


@pytest.mark.parametrize("per_bay", [2, 5])
def test_rounded_places_fit_on_any_mesh(per_bay: int) -> None:
    # A millimetre of the outermost bag is a tenth of what torsion counts there.
    assert bench_test(read(WINGS / "trainer.toml"), per_bay=per_bay).plan.kept


def test_bags_keep_force_and_moment_on_the_nodes() -> None:
    model = build(read(WINGS / "powered-tailless.toml"))
    bag = Bag((9, 10), (0.56, 0.63), (0.12, 0.30), (-0.02, 0.14), 1.4)
    nodal = bag_loads(model, (bag,))
    found = total(model.structure.nodes, nodal[:, :, None])[:, 0]
    force = 1.4 * GRAVITY
    assert_allclose(found[2], force, rtol=1e-12)
    assert_allclose(found[3], force * 0.595, rtol=1e-9)
    assert_allclose(found[4], -force * 0.21, rtol=1e-9)


def test_load_factors_of_the_steps_count_own_weight(trainer) -> None:
    _, test = trainer
    steps = np.diff(test.load_factors)
    assert_allclose(steps, steps[0], rtol=1e-9)
    assert test.load_factors[0] > steps[0]
    assert_allclose(test.load_factors[-1], test.plan.load_factor, rtol=0.03)


def test_a_test_beyond_the_proof_load_is_not_safe(trainer) -> None:
    wing, test = trainer
    assert test.safe
    over = bench_test(wing, load_factor=test.proof.highest * 1.05)
    assert not over.safe
    assert any("Beware" in sentence for sentence in sentences(over))
    assert not any("Beware" in sentence for sentence in sentences(test))


@pytest.mark.parametrize("name", ["trainer", "powered-tailless"])
def test_no_step_of_a_plan_comes_to_a_load_that_harms(name: str) -> None:
    test = bench_test(read(WINGS / f"{name}.toml"), per_bay=2)
    limit = test.proof.highest
    assert test.safe
    # At every cut, from the diagrams themselves: bending of the bench below that of flight at the limit.
    of_limit = test.plan.flight.values[:, 1] * limit / test.plan.load_factor
    strong = np.abs(of_limit) > 0.2 * np.abs(of_limit).max()
    assert strong.sum() > 3
    assert (np.abs(test.plan.bench.values[:, 1]) <= np.abs(of_limit) * (1 + 1e-9))[strong].all()
    assert test.load_factors[-1] <= limit
    # Not for nothing: what is given away is no more than bending's error is allowed to be.
    assert test.plan.load_factor > 0.96 * test.proof.suggested


def test_a_load_asked_for_that_the_bags_error_carries_too_far_is_told(trainer) -> None:
    wing, test = trainer
    near = bench_test(wing, load_factor=test.proof.highest * 0.9999)
    assert near.plan.excess > 1e-3
    assert not near.safe
    assert any("more make it" in sentence for sentence in sentences(near))


def test_half_and_whole_wing_move_alike_under_the_same_bags(make_wing) -> None:
    bags = (Bag((4,), (0.3,), (0.05,), (0.05,), 0.5), Bag((7,), (0.6,), (0.09,), (0.09,), 0.2))
    tips = []
    for head in ("", "whole = true"):
        model = build(make_wing(head=head))
        factor = factorise(Assembly(model.structure), held(model))
        moves = statics(factor, Loads(bag_loads(model, bags)[:, :, None])).displacements[:, 2, 0]
        tips.append(moves[model.cap_nodes[0, :, [0, -1]]])
    assert_allclose(tips[0][1], tips[1][1], rtol=1e-7)
    assert_allclose(tips[1][0], tips[1][1], rtol=1e-7)  # port as starboard


def test_a_specimen_needs_no_bags(make_specimen) -> None:
    with pytest.raises(NoBench):
        bench_test(make_specimen())


def test_a_poor_plan_is_called_one_and_where_it_misses(make_wing) -> None:
    test = bench_test(make_wing(), bags=4, largest=0.1, per_bay=1)
    assert not test.plan.kept
    (poor,) = (one for one in sentences(test) if one.startswith("A poor plan"))
    bending = 100 * test.plan.errors[1]
    assert f"bending by {bending:.1f} % at " in poor
