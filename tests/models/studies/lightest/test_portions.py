"""Segments put together from portions against those cut out of built wings, and layouts that show all."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest

from models.analysis import analyse
from models.strength import check
from models.structure.model import Part
from models.studies.lightest.cover import NEXT, SOME, SOON, Cover
from models.studies.lightest.places import places
from models.studies.lightest.portions import Portions, renumbered
from models.studies.lightest.what_if import WhatIf
from models.wing.reading import read

WINGS = Path(str(files("models.wings")))
WIDE = [
    pytest.param(("powered-tailless", 1), marks=pytest.mark.long),
    pytest.param(("powered-tailless", 3), marks=pytest.mark.long),
    ("short-tailless", 1),
    pytest.param(("short-tailless", 3), marks=pytest.mark.long),
    ("trainer", 3),
    ("box-two-spars", 2),
    ("spar-c", 2),
]
CLOSE = 1e-10
"""Sums in another order, and another elimination of the same well-scaled system."""


def at_random(of, dice, n):
    return [np.array([dice.integers(len(cell.choices)) for cell in of.cells]) for _ in range(n)]


def mixed(layouts, dice):
    """Each cell as in one of some layouts: portions of different builds come together."""
    return np.array([layouts[dice.integers(len(layouts))][k] for k in range(len(layouts[0]))])


@pytest.fixture(scope="module", params=WIDE, ids=lambda one: f"{one[0]}, {one[1]}")
def shown(request, path_of):
    """Portions of a wing after every layout has been shown, and how many builds that took."""
    name, per_bay = request.param
    of = places(read(path_of(name)))
    portions = Portions(of, per_bay=per_bay)
    cover = Cover(portions, of.own, [range(len(cell.choices)) for cell in of.cells])
    while (codes := cover.most(portions.known)) is not None:
        assert portions.unknown(codes)
        portions.harvest(codes)
    return portions, cover


def test_segments_are_those_that_are_cut_out(shown, cut_out):
    portions, _ = shown
    dice = np.random.default_rng(4)
    for codes in at_random(portions.places, dice, 3):
        assert not portions.unknown(codes)
        cut = cut_out(portions, codes)
        for m, one in enumerate(portions.segments(codes)):
            other = cut[m]
            for a, b in (
                (one.link.stiffness, other.link.stiffness),
                (one.link.load, other.link.load),
                (one.inertia, other.inertia),
                (one.resultant, other.resultant),
                (one.web_mass, other.web_mass),
                (one.points, other.points),
            ):
                np.testing.assert_allclose(a, b, rtol=0, atol=CLOSE * np.abs(b).max(initial=1e-9))
            np.testing.assert_array_equal(one.nodes, other.nodes)
            for family, table in other.table.items():
                count = len(next(iter(table.values())))
                assert len(next(iter(one.table.get(family, {"": []}).values()))) == count
            ends = dice.normal(size=len(other.link.stiffness))
            amounts = dice.normal(size=other.given.shape[1])
            inside = one.inside(ends, amounts)
            values = one.rows @ np.concatenate([inside, ends])
            expected, there = other.solved(ends, amounts)
            np.testing.assert_allclose(inside, there, rtol=0, atol=1e-9 * np.abs(there).max(initial=1.0))
            # Things may come in another order, not with other values.
            for family, first in other.first.items():
                span = [k for k in (*sorted(other.first.values()), len(expected)) if k > first]
                span_here = [k for k in (*sorted(one.first.values()), len(values)) if k > one.first[family]]
                here = values[one.first[family] : min(span_here, default=len(values))]
                there = expected[first : min(span, default=len(expected))]
                np.testing.assert_allclose(
                    np.sort(here), np.sort(there), rtol=0, atol=1e-9 * np.abs(expected).max(initial=1e-9)
                )


def test_any_layout_is_answered_without_a_build_as_the_check_answers_it(shown):
    portions, _ = shown
    builds = portions.builds
    what_if = WhatIf.__new__(WhatIf)
    what_if.places, what_if.per_bay, what_if.tabulated = portions.places, portions.per_bay, True
    what_if.segments = portions
    (codes,) = at_random(portions.places, np.random.default_rng(9), 1)
    found = what_if._answer(codes, None, movement=True)
    analysis = analyse(portions.places.laid(codes), per_bay=portions.per_bay)
    margins = check(analysis)
    assert portions.builds == builds
    np.testing.assert_allclose(
        found.load_factor_at_first_failure, margins.load_factor_at_first_failure(), rtol=1e-9
    )
    worst = {}
    for one in found.reserves:
        worst.setdefault((one.mode, one.part), one.reserve_factor)
    expected = {}
    for row in margins.rows:
        expected.setdefault((row.mode, row.part), row.reserve_factor)
    assert worst.keys() == expected.keys()
    for key, factor in expected.items():
        np.testing.assert_allclose(worst[key], factor, rtol=1e-7)


def test_a_portion_is_the_same_whatever_the_rest_of_the_wing_carries(shown):
    """Taken from wings that have only its state in common."""
    portions, _ = shown
    other = portions.alone()
    dice = np.random.default_rng(11)
    compared = 0
    for codes in at_random(portions.places, dice, 2):
        for (i, state), one in other.shown(codes, list(enumerate(other.states(codes)))).items():
            same = portions.known[i, state]
            np.testing.assert_array_equal(np.sort(one.at[np.abs(one.stiffness) > 1e-9]), np.sort(
                same.at[np.abs(same.stiffness) > 1e-9]
            ))  # fmt: skip
            np.testing.assert_allclose(one.inertia, same.inertia, rtol=0, atol=1e-12)
            np.testing.assert_array_equal(one.points, same.points)
            compared += 1
    assert compared == 2 * len(portions.names)


def test_the_plan_knows_every_state_that_layouts_have(shown):
    portions, cover = shown
    for codes in at_random(portions.places, np.random.default_rng(5), 20):
        for i, state in enumerate(portions.states(codes)):
            assert state in cover.needed[i]


def test_what_is_likelier_is_shown_first():
    of = places(read(WINGS / "trainer.toml"))
    portions = Portions(of, per_bay=1)
    cover = Cover(portions, of.own, [range(len(cell.choices)) for cell in of.cells])
    known: set = set()
    left, builds = [], []
    for least in (NEXT, SOON, SOME):
        n = 0
        while (codes := cover.most(known, least)) is not None:
            known |= set(enumerate(portions.states(codes)))
            n += 1
        left.append(cover.left(known))
        builds.append(n)
    assert left[0] > left[1] == 0 == left[2]
    assert len(cover.changes) == sum(len(cell.choices) - 1 for cell in of.cells)
    stepped = of.own
    stepped[2] = (stepped[2] + 1) % len(of.cells[2].choices)
    assert all(one in known for one in enumerate(portions.states(stepped)))
    assert sum(builds) < 20 < of.count()


def test_what_is_held_by_nothing_is_said():
    of = places(read(WINGS / "trainer.toml"))
    portions = Portions(of, per_bay=1)
    portions.harvest(of.own)
    states = portions.states_of(2, of.own)
    empty = portions.known[states[0]]
    for one in states:
        whole = portions.known[one]
        portions.known[one] = type(empty)(**{**vars(whole), "stiffness": 0 * whole.stiffness})
    with pytest.raises(np.linalg.LinAlgError, match="held by nothing"):
        portions.composed(2, states)


def test_numbers_of_another_register_are_put_right():
    of = places(read(WINGS / "trainer.toml"))
    one, other = Portions(of, per_bay=1), Portions(of, per_bay=1)
    for k in range(3):
        one.register.number(f"mode {k}", Part("cap"))  # so that all further numbers differ
    i, state = next(
        (i, s) for i, s in enumerate(one.states(of.own)) if one.names[i][0] == "spar" and one.names[i][1] == 1
    )
    here, there = one.shown(of.own, [(i, state)])[i, state], other.shown(of.own, [(i, state)])[i, state]
    numbers = np.array([one.register.number(*name) for name in other.register.names()])
    moved = renumbered(there, numbers)
    for family, table in here.table.items():
        for name, value in table.items():
            np.testing.assert_array_equal(moved.table[family][name], value)
    assert not np.array_equal(there.table["caps"]["id_cap tension"], here.table["caps"]["id_cap tension"])
