"""Condensed chains against plain solves of the whole."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fea.chain import Link, eliminated, inward, moved, outward

RNG = np.random.default_rng(81723)


def spd(n: int) -> np.ndarray:
    root = RNG.standard_normal((n, n))
    return root @ root.T + n * np.eye(n)


def chain() -> tuple[list[Link], np.ndarray, np.ndarray]:
    """Three links over interfaces of 0, 3, 4 and 0 freedoms, and the whole system, its two interfaces in
    order."""
    links = [
        Link(0, spd(3), RNG.standard_normal((3, 2))),
        Link(3, spd(7), RNG.standard_normal((7, 2))),
        Link(4, spd(4), RNG.standard_normal((4, 2))),
    ]
    whole, load = np.zeros((7, 7)), np.zeros((7, 2))
    for link, at in zip(links, (slice(0, 3), slice(0, 7), slice(3, 7))):
        whole[at, at] += link.stiffness
        load[at] += link.load
    return links, whole, load


def test_elimination_leaves_the_answer_of_the_rest_unchanged() -> None:
    stiffness, load = spd(9), RNG.standard_normal((9, 3))
    end = eliminated(stiffness, load, 5)
    full = np.linalg.solve(stiffness, load)
    rest = np.linalg.solve(end.stiffness, end.load)
    assert_allclose(rest, full[5:], rtol=1e-10)  # rounding
    assert_allclose(end.own - end.follow @ rest, full[:5], rtol=1e-10)


def test_many_variants_at_once() -> None:
    stiffness, load = np.stack([spd(6), spd(6)]), RNG.standard_normal((2, 6, 1))
    both = eliminated(stiffness, load, 2)
    for k in (0, 1):
        one = eliminated(stiffness[k], load[k], 2)
        assert_allclose(both.stiffness[k], one.stiffness, rtol=1e-12)
        assert_allclose(both.own[k], one.own, rtol=1e-12)


def test_a_chain_solved_from_either_end_is_the_whole() -> None:
    links, whole, load = chain()
    full = np.linalg.solve(whole, load)
    first = outward(None, links[0])
    assert_allclose(first.stiffness, links[0].stiffness)
    second = outward(first, links[1])
    tip = inward(None, links[2])
    there = np.linalg.solve(second.stiffness + tip.stiffness, second.load + tip.load)
    assert_allclose(there, full[3:], rtol=1e-10)
    assert_allclose(second.own - second.follow @ there, full[:3], rtol=1e-10)
    from_tip = inward(tip, links[1])
    here = np.linalg.solve(first.stiffness + from_tip.stiffness, first.load + from_tip.load)
    assert_allclose(here, full[:3], rtol=1e-10)
    assert_allclose(from_tip.own - from_tip.follow @ here, full[3:], rtol=1e-10)


def test_a_whole_chain_may_be_eliminated_to_nothing() -> None:
    links, whole, load = chain()
    end = outward(outward(outward(None, links[0]), links[1]), links[2])
    assert end.stiffness.shape == (0, 0)
    assert_allclose(end.own, np.linalg.solve(whole, load)[3:], rtol=1e-10)


def test_loads_that_come_later_are_borne_by_what_was_eliminated() -> None:
    links, whole, load = chain()
    ends = []
    for link in links:
        ends.append(outward(ends[-1] if ends else None, link))
    right = load[:, 0]
    found = moved(ends, [np.zeros(0), right[:3], right[3:], np.zeros(0)])
    assert [len(one) for one in found] == [0, 3, 4, 0]
    assert_allclose(np.concatenate(found), np.linalg.solve(whole, right), rtol=1e-10)


def test_a_chain_that_nothing_holds_is_refused() -> None:
    loose = np.array([[1.0, -1.0], [-1.0, 1.0]])
    with pytest.raises(np.linalg.LinAlgError, match="held by nothing"):
        eliminated(np.block([[loose, np.zeros((2, 1))], [np.zeros((1, 2)), np.eye(1)]]), np.ones((3, 1)), 2)
