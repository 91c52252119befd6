"""Whether a plan can be laid: the check by hand, and plans of wings drawn at random."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from models.loads.bags import Bag, rib_stations
from models.loads.laying import CLEAR, clashes, packer
from models.structure import build
from models.studies.bench_test import bench_test
from validation.plans import random_wing


def on_rib(rib: int, y: float, x: float, mass: float = 0.5) -> Bag:
    return Bag((rib,), (y,), (x,), (x,), mass)


def batten(ribs: tuple[int, int], y: tuple[float, float], x: tuple[float, float], along: float = 0.5) -> Bag:
    return Bag(ribs, y, x, x, 0.5, along)


@pytest.mark.parametrize(
    ("bags", "words"),
    [
        ([on_rib(2, 0.10, 0.06), on_rib(3, 0.15, 0.06)], ["bags 1 and 2 lie less than a bag's width"]),
        ([on_rib(2, 0.10, 0.06), on_rib(3, 0.16, 0.06)], []),
        ([on_rib(2, 0.10, 0.06), on_rib(2, 0.10, 0.13)], []),  # one behind the other
        ([batten((2, 4), (0.1, 0.3), (0.02, 0.12), 0.2), batten((2, 4), (0.1, 0.3), (0.12, 0.02), 0.8)],
         ["the battens of bags 1 and 2 cross"]),
        ([batten((2, 4), (0.1, 0.3), (0.05, 0.05)), on_rib(3, 0.2, 0.06)],
         ["bags 1 and 2 lie less", "bag 2 touches the batten of bag 1"]),
        ([batten((2, 4), (0.1, 0.3), (0.05, 0.05), 0.15), on_rib(3, 0.22, 0.02)],
         ["bag 2 touches the batten of bag 1"]),
        ([batten((2, 3), (0.1, 0.2), (0.05, 0.05)), batten((3, 4), (0.2, 0.3), (0.05, 0.05))],
         ["the battens of bags 1 and 2 cross or touch"]),
        ([batten((2, 3), (0.1, 0.2), (0.05, 0.05)), batten((4, 5), (0.24, 0.34), (0.05, 0.05))], []),
        ([batten((2, 4), (0.1, 0.3), (0.05, 0.05)), on_rib(3, 0.2, 0.05, -0.2)],
         ["cord 2 touches the batten of bag 1"]),
        ([batten((2, 4), (0.1, 0.3), (0.05, 0.05)), on_rib(3, 0.2, 0.16, -0.2)], []),
    ],
)  # fmt: skip
def test_what_has_no_room_is_told(bags: list[Bag], words: list[str]) -> None:
    said = clashes(bags)
    assert len(said) == len(words)
    assert all(any(word in one for one in said) for word in words)


def test_wider_bags_have_less_room() -> None:
    pair = [on_rib(2, 0.10, 0.06), on_rib(3, 0.16, 0.06)]
    assert not clashes(pair, 0.06)
    assert clashes(pair, 0.061)


@pytest.mark.parametrize("number", [0, 3])
def test_plans_of_random_wings_can_be_laid(number: int) -> None:
    test = bench_test(random_wing(number), per_bay=1)
    assert any(len(bag.ribs) > 1 for bag in test.plan.bags)
    assert clashes(test.plan.bags, test.width) == []
    assert test.plan.kept


def test_packers_lift_a_batten_clear_of_the_rib_between(make_wing) -> None:
    model = build(make_wing())
    y = rib_stations(model)
    bag = Bag((3, 5), (float(y[2]), float(y[4])), (0.06, 0.06), (0.06, 0.06), 0.5)
    high = packer(model, bag)
    assert high >= CLEAR
    assert_allclose(high * 1e3, np.round(high * 1e3), atol=1e-9)
    assert packer(model, on_rib(3, float(y[2]), 0.06)) == 0.0
    # The rib between made 5 mm lower in flight, which is higher upside down: the packers grow by as much.
    j = int(np.argmin(np.abs(model.y - y[3])))
    nodes = model.structure.nodes.copy()
    nodes[[int(c.lower[j]) for c in model.chordlines if c.lower[j] >= 0], 2] -= 5e-3
    from dataclasses import replace

    lower = replace(model, structure=replace(model.structure, nodes=nodes))
    assert_allclose(packer(lower, bag), high + 5e-3, atol=1e-3)
