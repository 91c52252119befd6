"""All 65,536 layouts of one spar of the powered example, beside a plain loop of full solves; and one what-if.

The loop builds, solves and checks each layout through the ordinary door; it is timed on some layouts and
extrapolated, and its answers are compared with the sweep's on 200.
"""

from __future__ import annotations

import time
from pathlib import Path

import numpy as np
import pytest

from models.analysis import analyse, tip_deflection, wing_twist
from models.strength import check
from models.studies.compare import web_mass
from models.studies.lightest import Sweep, WhatIf, places
from models.wing.reading import read

WING = Path(__file__).parents[2] / "models" / "wings" / "powered-tailless.toml"
COMPARED = 200


@pytest.mark.slow
def test_every_layout_of_one_spar(capsys: pytest.CaptureFixture[str]) -> None:
    where = places(read(WING), tuple(("front", bay) for bay in range(1, 9)))
    codes = where.every()
    assert len(codes) == 65_536
    start, cpu = time.perf_counter(), time.process_time()
    found = Sweep(where).answers(codes)
    wall, used = time.perf_counter() - start, time.process_time() - cpu
    worst, loop, loop_cpu = 0.0, 0.0, 0.0
    for k in np.random.default_rng(11903).permutation(len(codes))[:COMPARED]:
        start, cpu = time.perf_counter(), time.process_time()
        analysis = analyse(where.laid(codes[k]))
        margins = check(analysis)
        loop += time.perf_counter() - start
        loop_cpu += time.process_time() - cpu
        full = (
            margins.load_factor_at_first_failure(),
            tip_deflection(analysis),
            float(wing_twist(analysis)[1][-1]),
            web_mass(analysis.model),
        )
        mine = (found.load_factor[k], found.deflection[k], found.twist[k], found.web_mass[k])
        worst = max(worst, *(abs(a / b - 1) for a, b in zip(mine, full)))
    assert worst < 1e-9
    each, each_cpu = loop / COMPARED, loop_cpu / COMPARED
    with capsys.disabled():
        print(
            f"\n65536 layouts: {wall:.1f} s, {used:.1f} s of processor; a plain loop {each * 65536:.0f} s "
            f"(extrapolated from {COMPARED}), ratio {each * 65536 / wall:.0f}, of processor time "
            f"{each_cpu * 65536 / used:.0f}; greatest difference {worst:.1e}"
        )


def test_one_what_if(benchmark) -> None:  # type: ignore[no-untyped-def]
    what_if = WhatIf(read(WING))
    answer = benchmark(what_if.answer, {("front", 4): ("front",)})
    assert answer.reserves
