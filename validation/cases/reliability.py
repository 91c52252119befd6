"""Sampling: order statistics and shares against published numbers, chances against closed forms, and variants
of a structure against the sum of flexibilities."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

import numpy as np
from scipy.special import ndtr

from fea.elements.bar import Bars
from fea.reanalysis import Variants
from fea.solve import statics
from fea.structure import Loads, Structure, Supports
from models.strength.mode import Rule
from models.structure.model import Part
from models.studies.scatter.draws import STIFF_AND_STRONG, Spread, draw_halves
from models.studies.scatter.interval import share_interval
from models.studies.scatter.rare import chance_below
from models.studies.scatter.states import Pair, States
from validation.case import Case, Result

WILKS = (
    "Wilks, Determination of sample sizes for setting tolerance limits, 1941: 59 for 95 %/95 % [from memory]"
)
BINOMIAL = "Clopper and Pearson, Biometrika 26, 1934; 10 of 100: 4.90 to 17.62 % [from memory]"
WEAKEST = "weakest of independent parts, 1 - prod(1 - Phi): elementary probability [computed]"
SERIES = "flexibilities of bars in series add: elementary statics [computed]"
_SEED = 83117


def _smallest_sample() -> Iterator[Result]:
    n = next(k for k in range(10, 200) if share_interval(0, k, 0.90)[1] <= 0.05)
    yield Result(
        "sample whose least value lies below the fifth percentile with 95 %",
        n,
        59,
        "",
        1e-12,
        WILKS,
        "whole numbers",
        "rounding",
    )


def _shares() -> Iterator[Result]:
    low, high = share_interval(10, 100)
    why = "published to four digits"
    row = partial(Result, unit="", tolerance=1e-3, source=BINOMIAL, why=why, kind="rounding")
    yield row("10 of 100, lower limit of 95 %", low, 0.0490)
    yield row("10 of 100, upper limit of 95 %", high, 0.1762)


def _series_system(n_parts: int, reserve: float, variation: float) -> tuple[States, Spread]:
    """Parts of as many pieces, all with one reserve, their stiffness as in the tables."""
    n = 100
    pairs = tuple(Pair(Part("cap", bay=k), "cap tension", Rule("tension"), k) for k in range(n_parts))
    flat = np.zeros((n, n_parts))
    states = States(
        pairs,
        np.arange(n_parts),
        flat,
        flat,
        flat + reserve,
        flat + 1,
        np.full(n_parts, np.nan),
        1.0,
        reserve,
    )
    none = np.zeros(n_parts, dtype=bool)
    sigma = np.full(n_parts, np.sqrt(np.log1p(variation**2)))
    return states, Spread(sigma, np.arange(n_parts), none, none)


def _exact(n_parts: int, reserve: float, sigma: float) -> float:
    spread = sigma * np.sqrt(1 - STIFF_AND_STRONG**2)  # the stiffness' share of the scatter is held
    one = float(ndtr((sigma**2 / 2 - np.log(reserve)) / spread))
    return 1 - (1 - one) ** n_parts


def _chances() -> Iterator[Result]:
    row = partial(Result, unit="", tolerance=0.03, source=WEAKEST, kind="theory")
    for reserve in (1.5, 2.2):
        states, spread = _series_system(3, reserve, 0.2)
        exact = _exact(3, reserve, float(spread.sigma[0]))
        found = chance_below(states, spread, 1.0, np.random.default_rng(_SEED), draws=400, halves=1)
        yield row(
            f"chance that the weakest of three fails, reserve {reserve:g}, importance sampling",
            found.value,
            exact,
            why="scatter of 40,000 draws, some 0.7 %",
        )
    states, spread = _series_system(3, 1.2, 0.2)
    drawn = draw_halves(states, spread, np.zeros(100_000, dtype=np.intp), _SEED)
    yield row(
        "the same by plain sampling, reserve 1.2",
        float((drawn.reserve < 1).mean()),
        _exact(3, 1.2, float(spread.sigma[0])),
        why="scatter of 100,000 draws, some 0.6 %",
    )


def _variants() -> Iterator[Result]:
    n = 12
    nodes = np.zeros((n + 1, 3))
    nodes[:, 0] = np.linspace(0.0, 0.6, n + 1)
    pairs = np.stack([np.arange(n), np.arange(1, n + 1)], axis=1)
    held = Supports.fixed(np.arange(n + 1), "yz") + Supports.fixed([0], "x")
    structure = Structure(nodes, {"bars": Bars(pairs, np.full(n, 300.0))}, held)
    solution = statics(structure, Loads.forces(structure, [(n, (2.0, 0.0, 0.0))]))
    factors = np.exp(0.3 * np.random.default_rng(_SEED).standard_normal((200, 4)))
    variants = Variants(solution, {"bars": np.arange(n) % 4}, 4)
    exact = 2.0 * 0.05 / 300.0 * 3 * (1 / factors).sum(axis=1)
    worst = np.abs(variants.solve(factors)[-1, 0] / exact - 1).max()
    yield Result(
        "movement of 200 variants of bars in series, greatest difference",
        float(worst),
        0.0,
        "",
        1e-9,
        SERIES,
        "rounding",
        "rounding",
        scale=1.0,
    )


CASES: tuple[Case, ...] = (
    Case("sampling-least-sample", "Sampling: smallest sample for a lower limit", _smallest_sample),
    Case("sampling-share", "Sampling: interval of a share", _shares),
    Case("sampling-weakest", "Sampling: weakest of three parts", _chances),
    Case("variants", "Variants of one structure", _variants),
)
