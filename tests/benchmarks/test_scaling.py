"""How time and memory grow with the number of unknowns: wings refined along the span, and over the chord.

Every size runs in a process of its own, so that its peak memory is its own; a run of the smallest size beside
it is the named baseline of the memory. Exponents are fitted by least squares to the logarithms from 10,000
unknowns up, where what does not grow has stopped to matter. CPU seconds of one thread.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys

import numpy as np
import pytest

CHILD = """
import json, resource, sys, time
import numpy as np
from models.structure import build
from models.command.files import read_wing
from fea.assembly import Assembly
from fea.reanalysis import pinned
from fea.solve import factorise
from models.loads.pull_up import pull_up
name, per_bay, across = sys.argv[1], int(sys.argv[2]), int(sys.argv[3])
clock = time.process_time
def lap(work):
    start = clock()
    return work(), clock() - start
model, built = lap(lambda: build(read_wing(name), per_bay=per_bay, across_chord=across))
assembly, pattern = lap(lambda: Assembly(model.structure))
stiffness, values = lap(assembly.stiffness)
before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
supports = pinned(assembly)
factor, factorised = lap(lambda: factorise(assembly, supports, stiffness))
right = np.ones((factor.matrix.shape[0], 1))
moves, solved = lap(lambda: factor.solve(right))
gap = float(np.abs(factor.matrix @ moves - right).max())
force = float((abs(factor.matrix) @ np.abs(moves)).max())
peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
print(json.dumps({"unknowns": len(right), "build": built, "assembly": pattern + values, "factor": factorised,
    "solve": solved, "peak_MB": peak / 1024, "assembled_MB": before / 1024, "residual": gap / force}))
"""
KINDS = ("build", "assembly", "factor", "solve", "peak_MB")
BOUND = 1.2
"""Greatest exponent along the span that is asked for."""


def _one(name: str, per_bay: int, across: int) -> dict[str, float]:
    environment = os.environ | {"OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"}
    run = subprocess.run(
        [sys.executable, "-c", CHILD, name, str(per_bay), str(across)],
        capture_output=True, text=True, check=True, env=environment,
    )  # fmt: skip
    found: dict[str, float] = json.loads(run.stdout)
    return found


def exponents(rows: list[dict[str, float]], least: float = 1e4) -> dict[str, float]:
    """Slopes of log(time or memory above the smallest run's) over log(unknowns), from `least` unknowns up."""
    fitted = {}
    for kind in KINDS:
        base = rows[0][kind] if kind == "peak_MB" else 0.0
        used = [row for row in rows[1:] if row["unknowns"] >= least]
        x = np.log([row["unknowns"] for row in used])
        y = np.log([max(row[kind] - base, 1e-6) for row in used])
        fitted[kind] = float(np.polyfit(x, y, 1)[0])
    return fitted


def _table(title: str, rows: list[dict[str, float]], fitted: dict[str, float]) -> str:
    lines = [f"\n{title}", f"{'unknowns':>10}" + "".join(f"{kind:>10}" for kind in KINDS)]
    lines += [
        f"{row['unknowns']:>10.0f}" + "".join(f"{row[kind]:>10.3f}" for kind in KINDS[:-1])
        + f"{row['peak_MB']:>10.0f}"
        for row in rows
    ]  # fmt: skip
    return "\n".join([*lines, f"{'exponent':>10}" + "".join(f"{fitted[kind]:>10.2f}" for kind in KINDS)])


SPAN = [("trainer", n, 4) for n in (3, 30, 90, 300, 900, 2900, 8320)]
CHORD = [("powered-tailless", 4, n) for n in (2, 8, 16, 32, 64)]


@pytest.mark.slow
@pytest.mark.parametrize(("along", "sizes"), [("the span", SPAN), ("the chord", CHORD)])
def test_growth(benchmark, capsys, along, sizes):
    rows = [_one(*size) for size in sizes[:-1]]
    rows.append(benchmark.pedantic(_one, args=sizes[-1], rounds=1))
    fitted = exponents(rows)
    benchmark.extra_info.update({"rows": rows, "exponents": fitted})
    with capsys.disabled():
        print(_table(f"{sizes[0][0]} refined along {along}, CPU s and MB", rows, fitted))
    # Nothing fast is wrong: what is left over is rounding of the element forces.
    assert max(row["residual"] for row in rows) < 1e-11


def test_exponents_of_known_growth():
    """Runs in the ordinary suite too."""
    rows = [
        {"unknowns": n, "build": n, "assembly": 3 * n, "factor": n**1.5, "solve": n**1.1, "peak_MB": 50 + n}
        for n in (1, 2e4, 1e5, 1e6)
    ]
    fitted = exponents([row | {"peak_MB": float(row["peak_MB"])} for row in rows])
    assert fitted == pytest.approx(
        {"build": 1, "assembly": 1, "factor": 1.5, "solve": 1.1, "peak_MB": 1}, abs=0.01
    )
