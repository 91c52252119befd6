"""Scatter on the real structure against solves and checks one by one, and its statistics against closed
forms."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy import stats

from fea.solve import pinned
from models.analysis import Analysis, analyse
from models.rounding import down
from models.strength import check
from models.strength.cap_column import column_force
from models.strength.mode import Rule
from models.structure.model import Part
from models.studies.bent_pull_up import bent_pull_up
from models.studies.scatter import Scatter, layouts_to_compare, likeliest, scatter, sentences, sets_of_wood
from models.studies.scatter.draws import (
    STIFF_AND_STRONG,
    WITHIN,
    Spread,
    column_factor,
    draw_halves,
    standard,
    stream,
)
from models.studies.scatter.interval import design_effect, quantile_interval, share_interval
from models.studies.scatter.pieces import pieces_of
from models.studies.scatter.rare import _strength_needed, chance_below
from models.studies.scatter.states import Judge, Pair, Solver, States, lognormal
from models.wing.reading import read

WINGS = Path(__file__).parents[3] / "models" / "wings"
SEED = 70213


@lru_cache(maxsize=4)
def analysis_of(name: str) -> Analysis:
    return analyse(read(WINGS / f"{name}.toml"))


@lru_cache(maxsize=4)
def trainer(samples: int = 4000, seed: int = SEED) -> Scatter:
    return scatter(read(WINGS / "trainer.toml"), samples=samples, seed=seed, states=240)


def plain_reserves(analysis: Analysis, stiff: np.ndarray, size: np.ndarray) -> dict[tuple[Part, str], float]:
    """One set of wood by an assembly, a factorisation and a check of its own."""
    judge = Judge(analysis, pieces_of(analysis.model))
    moves = judge.variants.direct(stiff * size)[:, :, None]
    found = judge.recovered(stiff[None], size[None], moves)
    recovered = {name: {what: v[0] for what, v in figures.items()} for name, figures in found.items()}
    return {(r.part, r.mode): r.reserve_factor for r in check(replace(analysis, recovered=recovered)).rows}


@pytest.mark.parametrize("name", ["trainer", "powered-tailless", "spar-c"])
def test_load_factors_are_those_of_full_solves_of_the_same_wings(name: str) -> None:
    analysis = analysis_of(name)
    pieces = pieces_of(analysis.model)
    states, spread = sets_of_wood(Solver(analysis), SEED, 20)
    stiff = lognormal(states.stiffness_z, np.array([p.stiffness for p in pieces.pieces]))
    size = lognormal(states.size_z, np.array([p.size for p in pieces.pieces]))
    state = np.repeat(np.array([0, 7, 19]), 4)
    halves = draw_halves(states, spread, state, SEED)
    keys = [*(("quality", key) for key in pieces.keys), *spread.parts]
    z = np.stack([stream(SEED, key).standard_normal(len(state)) for key in keys], axis=1)
    for s in np.unique(state):
        reserves = plain_reserves(analysis, stiff[s], size[s])
        for k in np.flatnonzero(state == s):
            least = np.inf
            for c, pair in enumerate(states.pairs):
                if (pair.part, pair.mode) not in reserves:
                    continue
                p, rule, sigma = pair.piece, pair.rule, spread.sigma[c]
                common = STIFF_AND_STRONG * states.stiffness_z[s, p]
                common += np.sqrt(WITHIN - STIFF_AND_STRONG**2) * z[k, p]
                own = z[k, len(pieces.pieces) + spread.own[c]]
                normal = own if rule.strength == "glue" else common + np.sqrt(1 - WITHIN) * own
                strength = np.exp(sigma * normal - sigma**2 / 2) if sigma else 1.0
                if rule.column:
                    euler = 2 / (3 * max(states.slenderness[c], 1e-12))
                    strength = float(
                        column_force(np.array(strength), np.array(stiff[s, p] * euler))
                        / column_force(np.array(1.0), np.array(euler))
                    )
                factor = strength * size[s, p] ** rule.size * stiff[s, p] ** rule.stiffness
                least = min(least, reserves[pair.part, pair.mode] * factor)
            assert_allclose(halves.reserve[k], least, rtol=1e-6)


def test_of_two_loads_judged_together_the_harder_counts() -> None:
    analysis = analysis_of("trainer")
    bent = bent_pull_up(analysis, pinned(analysis.solution.assembly))
    assert bent is not None
    pieces = pieces_of(analysis.model)
    factors = np.exp(0.2 * np.random.default_rng(SEED).standard_normal((2, 3, len(pieces.pieces))))
    both = Judge(analysis, pieces, bent)
    found = both.reserves(*factors)
    alone = [Judge(one, pieces) for one in (analysis, bent)]
    tables = [both.taken(list(one.modes), table) for one in alone for table in [one.reserves(*factors)]]
    assert_allclose(found, np.minimum(*tables), rtol=1e-9)
    assert not np.allclose(found, tables[0], rtol=1e-3)


@pytest.mark.parametrize("name", ["trainer", "powered-tailless", "sailplane", "spar-open"])
def test_nominal_wood_gives_the_load_factor_of_check(name: str) -> None:
    analysis = analysis_of(name)
    states, _ = sets_of_wood(Solver(analysis), SEED, 1)
    assert_allclose(states.nominal, check(analysis).load_factor_at_first_failure(), rtol=1e-7)


def test_shares_sum_to_one_and_order() -> None:
    result = trainer()
    assert_allclose(sum(one.chance for one in result.firsts), 1.0, rtol=1e-12)
    assert_allclose(sum(row[-1] for row in result.by_bay()), 1.0, rtol=1e-12)
    assert all(one.low <= one.chance <= one.high for one in result.firsts)
    assert {one.side for one in result.firsts} == {"starboard", "port"}
    assert result.fifth_interval[0] <= result.fifth <= result.fifth_interval[1] < result.median


def test_seeds_reproduce_and_differ() -> None:
    wing = read(WINGS / "spar-c.toml")
    first, again, other = (
        scatter(wing, samples=300, seed=seed, states=40) for seed in (SEED, SEED, SEED + 1)
    )
    assert np.array_equal(first.load_factors, again.load_factors)
    assert not np.array_equal(first.load_factors, other.load_factors)


def test_where_nothing_is_foretold_all_sets_asked_for_are_solved(monkeypatch: pytest.MonkeyPatch) -> None:
    wing = read(WINGS / "spar-c.toml")
    whole = scatter(wing, samples=200, seed=SEED, states=60)
    monkeypatch.setattr("models.studies.scatter.MOST", 40)
    in_two = scatter(wing, samples=200, seed=SEED, states=60)
    assert whole.n_states == in_two.n_states == 60
    # Rounding: sets are solved in other company.
    assert_allclose(in_two.load_factors, whole.load_factors, rtol=1e-9)


def test_doubling_the_sample_moves_the_fifth_percentile_within_its_interval() -> None:
    one, two = trainer(4000), trainer(8000)
    assert one.fifth_interval[0] <= two.fifth <= one.fifth_interval[1]


def test_importance_sampling_agrees_with_plain_sampling() -> None:
    result = trainer()
    plain = 1 - result.survival
    low, high = 1 - result.survival_interval[1], 1 - result.survival_interval[0]
    # Both are samples: their intervals of 95 % are put together.
    width = np.hypot((high - low) / 2, (result.failing.high - result.failing.low) / 2)
    assert abs(result.failing.value - plain) < 1.5 * width


def test_small_chances_agree_with_a_large_plain_sample() -> None:
    analysis = analysis_of("spar-c")
    states, spread = sets_of_wood(Solver(analysis), SEED, 400)
    state = np.random.default_rng(SEED).integers(0, 400, 400_000)
    halves = draw_halves(states, spread, state, SEED)
    load = float(np.quantile(halves.reserve, 3e-4)) * states.load_factor
    plain = float((halves.reserve * states.load_factor < load).mean())
    found = chance_below(states, spread, load, np.random.default_rng(SEED), draws=80, halves=1)
    # Same sets of wood: only the draws' own scatter counts, 1/sqrt(120) for the plain sample and less here.
    assert_allclose(found.value, plain, rtol=4 * np.sqrt(1 / 120))
    # 32,000 plain draws would scatter by 32 %; these by some 3.
    again = chance_below(states, spread, load, np.random.default_rng(SEED + 1), draws=80, halves=1)
    assert_allclose(again.value, found.value, rtol=0.12)


def _one_pair(reserve: float, variation: float) -> tuple[States, Spread]:
    pair = Pair(Part("cap"), "cap tension", Rule("tension"), 0)
    n = 50
    states = States(
        (pair,),
        np.zeros(1, dtype=np.intp),
        np.zeros((n, 1)),
        np.zeros((n, 1)),
        np.full((n, 1), reserve),
        np.ones((n, 1)),
        np.full(1, np.nan),
        1.0,
        reserve,
    )
    none = np.zeros(1, dtype=bool)
    return states, Spread(np.sqrt(np.log1p([variation**2])), np.zeros(1, dtype=np.intp), none, none)


@pytest.mark.parametrize("reserve", [1.1, 1.6, 2.4])
def test_chance_of_one_lognormal_strength_is_closed(reserve: float) -> None:
    # With z_E held at 0 the strength's logarithm has the variance sigma^2 (1 - r^2).
    states, spread = _one_pair(reserve, 0.2)
    sigma = float(spread.sigma[0])
    expected = stats.norm.cdf(
        (np.log(1 / reserve) + sigma**2 / 2) / (sigma * np.sqrt(1 - STIFF_AND_STRONG**2))
    )
    found = chance_below(states, spread, 1.0, np.random.default_rng(SEED), draws=2000, halves=1)
    assert_allclose(found.value, expected, rtol=0.03)
    two = chance_below(states, spread, 1.0, np.random.default_rng(SEED), draws=2000, halves=2)
    assert_allclose(two.value, 1 - (1 - found.value) ** 2, rtol=1e-6)


def test_correlations_are_those_stated() -> None:
    pairs = (
        Pair(Part("cap", bay=1), "cap tension", Rule("tension"), 0),
        Pair(Part("cap", bay=2), "cap tension", Rule("tension"), 0),
        Pair(Part("web", bay=2), "web shear", Rule("shear"), 1),
    )
    generator = np.random.default_rng(SEED)
    n = 60_000
    z = generator.standard_normal((n, 2))
    states = States(
        pairs, np.array([0, 0, 1]), z, z, np.ones((n, 3)), np.ones((n, 3)), np.full(3, np.nan), 1.0, 1.0
    )
    spread = Spread(np.full(3, 0.2), np.arange(3), np.zeros(3, dtype=bool), np.zeros(3, dtype=bool))
    found = standard(states, spread, np.arange(n), *np.split(generator.standard_normal((n, 5)), [2], axis=1))
    table = np.corrcoef(np.column_stack([found, z[:, 0]]).T)
    expected = [
        [1, WITHIN, 0, STIFF_AND_STRONG],
        [WITHIN, 1, 0, STIFF_AND_STRONG],
        [0, 0, 1, 0],
        [STIFF_AND_STRONG, STIFF_AND_STRONG, 0, 1],
    ]
    assert_allclose(table, expected, atol=4 / np.sqrt(n))
    assert_allclose(found.std(axis=0), 1.0, atol=4 / np.sqrt(n))


def test_factors_have_mean_one_and_the_variation_asked_for() -> None:
    z = np.random.default_rng(SEED).standard_normal(400_000)
    factors = lognormal(z, 0.25)
    assert_allclose(factors.mean(), 1.0, atol=5 * 0.25 / np.sqrt(len(z)))
    assert_allclose(factors.std(), 0.25, rtol=0.01)


def test_columns_follow_strength_when_stubby_and_stiffness_when_slim() -> None:
    slender = np.array([1e-6, 0.7, 3.0])
    one = np.ones((1, 3))
    assert_allclose(column_factor(one, one, slender), 1.0, rtol=1e-12)
    assert_allclose(column_factor(2 * one, 2 * one, slender), 2.0, rtol=1e-12)
    stronger = column_factor(1.2 * one, one, slender)[0]
    assert_allclose(stronger[[0, 2]], [1.2, 1.0], rtol=1e-9)
    assert 1.0 < stronger[1] < 1.2
    load = column_factor(1.1 * one, 0.9 * one, slender)
    assert_allclose(_strength_needed(load, 0.9 * one, slender)[0, :2], 1.1, rtol=1e-6)
    assert _strength_needed(1.01 * load, 0.9 * one, slender)[0, 2] == np.inf  # no strength stops Euler


def test_weighed_wood_scatters_less() -> None:
    wing = read(WINGS / "spar-c.toml")
    spar = wing.spars[0]

    def caps(halved: bool) -> Scatter:
        def layered(cap):
            layers = tuple(
                replace(
                    layer,
                    material=replace(
                        layer.material,
                        scatter={k: v / (2 if halved else 1) for k, v in layer.material.scatter.items()},
                    ),
                )
                for layer in cap.layers
            )
            return replace(cap, layers=layers)

        own = replace(spar, upper=layered(spar.upper), lower=layered(spar.lower))
        return scatter(replace(wing, spars=(own,)), samples=2000, seed=SEED, states=100)

    narrow, wide = caps(True), caps(False)
    assert narrow.load_factors.std() < 0.75 * wide.load_factors.std()


def test_interval_of_a_share_is_the_binomials() -> None:
    low, high = share_interval(10, 100)
    found = stats.binomtest(10, 100).proportion_ci(0.95, method="exact")
    assert_allclose([low, high], [found.low, found.high], rtol=1e-9)
    assert share_interval(0, 50)[0] == 0.0
    assert_allclose(share_interval(0, 50)[1], 1 - 0.025 ** (1 / 50), rtol=1e-9)
    assert share_interval(50, 50)[1] == 1.0


def test_interval_of_a_quantile_covers_it() -> None:
    generator = np.random.default_rng(SEED)
    true = stats.norm.ppf(0.05)
    inside = 0
    for _ in range(400):
        low, high = quantile_interval(generator.standard_normal(500), 0.05)
        inside += low <= true <= high
    # Ranks are whole numbers, so that the interval covers at least 95 %, and here no more than 98.
    assert 0.93 < inside / 400 < 0.995
    wide = quantile_interval(generator.standard_normal(500), 0.05, design_effect=4.0)
    narrow = quantile_interval(generator.standard_normal(500), 0.05)
    assert wide[1] - wide[0] > 1.3 * (narrow[1] - narrow[0])


def test_design_effect_of_copies_and_of_independent_trials() -> None:
    generator = np.random.default_rng(SEED)
    cluster = np.repeat(np.arange(600), 8)
    copies = np.repeat(generator.random(600) < 0.1, 8)
    assert_allclose(design_effect(copies, cluster), 8.0, rtol=1e-6)
    assert design_effect(generator.random(4800) < 0.1, cluster) < 1.3
    assert design_effect(generator.random(4800) < 0.1, np.arange(4800)) == 1.0


def test_words_say_bay_load_and_interval() -> None:
    result = trainer()
    first, second = sentences(result)
    most = likeliest(result)
    assert first.startswith(f"{most.place[:1].upper()}{most.place[1:]} is the likeliest to go first")
    assert f"one in twenty below {down(result.fifth)} g (95 % interval" in first
    assert "survive the 4.0 g asked for" in second


def test_layouts_named() -> None:
    names = [layout.name for layout in layouts_to_compare(read(WINGS / "trainer.toml"))]
    assert names[:4] == ["no webs", "front C", "box", "box, grain along span"]
    assert "box, inner half of the bays" in names


def test_no_wing_is_no_sample() -> None:
    with pytest.raises(ValueError, match="at least one wing"):
        scatter(read(WINGS / "spar-c.toml"), samples=0)
