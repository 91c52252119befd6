"""Ten thousand wings of the powered example, beside a plain loop of full solves of the same half wings, and
what twenty thousand sets of wood take where any may be solved.

The loop is timed on 24 half wings (assembly, factorisation, solve, recovery, every failure mode) and
extrapolated; its load factors are compared with the study's on the same wood and strengths.
"""

from __future__ import annotations

import time
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from models.analysis import analyse
from models.strength import check
from models.studies.scatter import scatter, sets_of_wood
from models.studies.scatter.pieces import pieces_of
from models.studies.scatter.states import Judge, Solver, lognormal
from models.wing.reading import read

WING = Path(__file__).parents[2] / "models" / "wings" / "powered-tailless.toml"
LOOP = 24
WITHIN = 20.0
"""Seconds of processor that twenty thousand sets of wood are to take, on a machine of 2020 or later."""


@pytest.mark.slow
def test_ten_thousand_wings(capsys: pytest.CaptureFixture[str]) -> None:
    wing = read(WING)
    start = time.perf_counter()
    result = scatter(wing)
    whole = time.perf_counter() - start
    twice = scatter(wing, samples=20_000)
    assert result.fifth_interval[0] <= twice.fifth <= result.fifth_interval[1]
    analysis = analyse(wing)
    pieces = pieces_of(analysis.model)
    states, _ = sets_of_wood(Solver(analysis), result.seed, LOOP)
    stiff = lognormal(states.stiffness_z, np.array([p.stiffness for p in pieces.pieces]))
    size = lognormal(states.size_z, np.array([p.size for p in pieces.pieces]))
    judge = Judge(analysis, pieces)
    worst, loop = 0.0, 0.0
    column = {(pair.part, pair.mode): c for c, pair in enumerate(states.pairs)}
    for k in range(LOOP):
        start = time.perf_counter()
        moves = judge.variants.direct(stiff[k] * size[k])[:, :, None]
        found = judge.recovered(stiff[[k]], size[[k]], moves)
        recovered = {name: {what: v[0] for what, v in figures.items()} for name, figures in found.items()}
        rows = check(replace(analysis, recovered=recovered)).rows
        loop += time.perf_counter() - start
        for row in rows:
            c = column.get((row.part, row.mode))
            if c is not None:
                pair = states.pairs[c]
                own = size[k, pair.piece] ** pair.rule.size * stiff[k, pair.piece] ** pair.rule.stiffness
                worst = max(worst, abs(states.reserve[k, c] / (row.reserve_factor * own) - 1))
    halves = 2 * result.n_wings
    assert worst < 1e-6
    each = loop / LOOP
    lines = (
        f"{result.n_wings} wings: {whole:.1f} s; a plain loop {each * halves:.0f} s "
        f"(extrapolated from {LOOP}), ratio {each * halves / whole:.0f}",
        f"a set of wood {1e3 * each:.0f} ms in the loop; greatest difference of a reserve {worst:.1e}",
        f"fifth percentile {result.fifth:.3f} ({result.fifth_interval[0]:.3f} to "
        f"{result.fifth_interval[1]:.3f}), of twice as many wings {twice.fifth:.3f}",
        f"failing below {result.asked:.1f} g: plain {1 - result.survival:.4f}, importance sampling "
        f"{result.failing.value:.4f} ({result.failing.low:.4f} to {result.failing.high:.4f})",
        f"design effect {result.design_effect:.2f}",
    )
    with capsys.disabled():
        print("", *lines, sep="\n")


@pytest.mark.slow
@pytest.mark.parametrize("name", ["trainer", "sailplane", "powered-tailless"])
def test_twenty_thousand_sets_of_wood(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    wing = read(WING.with_stem(name))
    start = time.process_time()
    result = scatter(wing, states=20_000)
    took = time.process_time() - start
    with capsys.disabled():
        print(
            f"\n{name}: 20 000 sets of wood in {took:.1f} s of processor, {result.n_states} of them solved; "
            f"design effect {result.design_effect:.2f}"
        )
    assert result.design_effect == 1.0
    assert result.n_states < 4000
    assert took < WITHIN
