"""Bounds over all that webs may be beyond a rib against every layout solved, and what follows from them."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose

from models.studies.lightest import Limits, Sweep, WhatIf, lightest, places, search
from models.studies.lightest.needed import CONVEX, Windows, ruled_out, supports_at_the_root
from models.wing.reading import read

WINGS = Path(__file__).parents[4] / "models" / "wings"
Cells = tuple[tuple[str, int], ...]
FLYING: Cells = (("rear", 1), ("front", 5))
SPECIMEN: Cells = (("rear", 1), ("front", 3), ("rear", 5))
CAP, TIE, SHEET = "cap buckling", "tie to spar glue", "sheeting strength"
WHICH = [
    ("box-two-spars", SPECIMEN, [(0, CAP, "front"), (1, CAP, "front")], 0.1),
    pytest.param(
        "powered-tailless",
        FLYING,
        [(0, TIE, ""), (0, CAP, "front"), (1, SHEET, "")],
        0.8,
        marks=pytest.mark.long,
    ),
]


@lru_cache(maxsize=4)
def evaluated(name: str, free: Cells):
    """Segments of a wing with some free cells, masses of their webs, its lightest layout, all and what they
    do."""
    sweep = Sweep(places(read(WINGS / f"{name}.toml"), free), per_bay=1)
    where = sweep.places
    every = where.every()
    found = sweep.answers(every)
    empty = every[np.argmin(found.web_mass)]
    mass = []
    for k, cell in enumerate(where.cells):
        rows = np.repeat(empty[None], len(cell.choices), axis=0)
        rows[:, k] = np.arange(len(cell.choices))
        here = [int(np.flatnonzero((every == row).all(axis=1))[0]) for row in rows]
        mass.append(found.web_mass[here] - (found.web_mass.min() if k else 0.0))
    return sweep.segments, mass, empty, every, found


def solved(name: str, free: Cells) -> list[dict]:
    """Of every layout the share of strength that each part's modes use, by solving along the whole wing."""
    what_if = WhatIf(read(WINGS / f"{name}.toml"), per_bay=1, ahead=False)
    segments, *_, every, _ = evaluated(name, free)
    shares = []
    for codes in every:
        one = what_if.solved(what_if.places.codes(segments.places.faces(codes)))
        names = what_if.segments.register.names()
        shares.append({names[n]: s for n, s in zip(one.number.tolist(), one.share.tolist())})
    return shares


@pytest.mark.parametrize(("name", "free", "parts", "tight"), WHICH)
def test_no_layout_uses_less_than_the_bound(
    name: str, free: Cells, parts: list[tuple[int, str, str]], tight: float
) -> None:
    segments, mass, empty, every, found = evaluated(name, free)
    shares = solved(name, free)
    most = float(np.median(found.web_mass))
    light = np.flatnonzero(found.web_mass <= most)
    assert 5 < len(light) < len(every)
    windows = Windows(segments, mass, most, empty)
    names = segments.register.names()
    tightest = 0.0
    for m, mode, spar in parts:
        assert mode in CONVEX
        number, one = next(
            (i, one)
            for i, one in enumerate(names)
            if one[0] == mode
            and one[1].spar == spar
            and one[1].bay in (m + 1, None)
            and one[1].place != "lower"
        )
        for n in (m + 1, 3, 5):
            known = np.concatenate(segments.cells[: n + 1])
            begun = np.where(np.isin(np.arange(len(empty)), known), every[light], empty)
            for codes in np.unique(begun, axis=0):
                bound = windows.least_share(m, number, codes, n)
                alike = light[(every[light][:, known] == codes[known]).all(axis=1)]
                least = min(shares[k][one] for k in alike)
                assert bound <= least * (1 + 1e-9)
                if len(alike) > 1:
                    tightest = max(tightest, bound / least)
    assert tightest > tight


def test_shares_are_convex_and_grow_in_proportion() -> None:
    segments, mass, empty, _, found = evaluated("powered-tailless", FLYING)
    windows = Windows(segments, mass, float(found.web_mass.min()), empty)
    names = segments.register.names()
    kinds = segments.numbers(empty[None])[0]
    rng = np.random.default_rng(50221)
    asked = set()
    for m in (0, 3):
        kind = int(kinds[m])
        size = np.abs(segments.numbered[m][kind].rows).max(axis=1)[:, None]
        one, two = rng.normal(size=(2, len(size), 200)) * size
        for number, (mode, _) in enumerate(names):
            if mode not in CONVEX:
                continue
            first, other, middle, twice = (
                windows.shares(m, kind, values, number) for values in (one, two, (one + two) / 2, 2 * one)
            )
            assert (middle <= (first + other) / 2 * (1 + 1e-12)).all()
            assert_allclose(twice, 2 * first, rtol=1e-12)
            asked |= {mode} if first.any() else set()
    assert asked == set(CONVEX)


@pytest.mark.parametrize(("load_factor", "ruled"), [(20.0, True), (12.0, False)])
def test_what_is_ruled_out_fails_in_every_layout(load_factor: float, *, ruled: bool) -> None:
    segments, mass, empty, every, found = evaluated("powered-tailless", FLYING)
    most = float(np.median(found.web_mass))
    share = segments.loads.load_factor / load_factor
    everything = every[np.argmax(found.web_mass)]
    out = ruled_out(segments, mass, most, empty, everything, share, lambda: True)
    cells = [(segments.places.cells[k].spar, segments.places.cells[k].bay) for k, _ in out]
    assert cells == ([("rear", 1)] if ruled else [])
    for cell, choice in out:
        have = (every[:, cell] == choice) & (found.web_mass <= most)
        assert have.sum() > 2
        assert (found.load_factor[have] < load_factor).all()
    assert not ruled_out(segments, mass, most, empty, everything, share, lambda: False)


@pytest.mark.long
def test_the_lightest_is_that_of_all_layouts(monkeypatch: pytest.MonkeyPatch) -> None:
    wing = read(WINGS / "powered-tailless.toml")
    *_, found = evaluated("powered-tailless", FLYING)
    monkeypatch.setattr(search, "STREAMED", 0)
    monkeypatch.setattr(search, "_strong_enough", lambda result, *_: result)
    result = lightest(wing, Limits(20.0), free=FLYING, per_bay=1, most_evaluated=0, seconds=60)
    assert result.proven
    assert result.nominal is not None
    assert_allclose(result.nominal.web_mass, found.web_mass[found.load_factor >= 20.0].min(), rtol=1e-9)
    assert_allclose(result.lower_bound, result.nominal.web_mass, rtol=1e-9)


def test_a_specimen_held_at_both_ends_is_left_alone() -> None:
    segments, mass, empty, every, _ = evaluated("box-two-spars", SPECIMEN)
    assert supports_at_the_root(segments)
    segments._fixed[segments._cut.outer[2][0]] = True
    try:
        assert not supports_at_the_root(segments)
        assert not ruled_out(segments, mass, 1.0, empty, every[-1], 1e-9, lambda: True)
    finally:
        segments._fixed[segments._cut.outer[2][0]] = False
