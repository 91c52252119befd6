"""How long a study of the powered wing's speeds takes, and one what-if of it (a fin moved), printed.

python -m pytest tests/benchmarks/test_speed.py --benchmark-enable -m slow -s

Of one core on a busy machine of two: a study 2.7 s (condensed after 1.1 s), its pull-up and 5th percentile
among it, and one what-if 1.3 s (condensed after 0.8 s).
"""

from __future__ import annotations

import time
from dataclasses import replace
from pathlib import Path

import pytest

from models.studies.speed import condense, elastic, speeds
from models.studies.speed_doubt import doubt
from models.wing.reading import read

WING = Path(__file__).parents[2] / "models" / "wings" / "powered-tailless.toml"


@pytest.mark.slow
def test_a_study_and_a_what_if(capsys: pytest.CaptureFixture[str]) -> None:
    wing = read(WING)
    moved = tuple(replace(one, x=one.x - 0.05) if one.name == "fin" else one for one in wing.masses)
    laps = {}
    for name, changed, follow in (("study", wing, True), ("what-if", replace(wing, masses=moved), False)):
        start = time.process_time()
        reduced = condense(changed)
        laps[f"{name}: condensed"] = time.process_time() - start
        found = speeds(reduced, follow=follow)
        laps[f"{name}: in all"] = time.process_time() - start
        if follow:
            assert elastic(reduced) is not None
            assert doubt(found) is not None
            laps["study: with its pull-up and its 5th percentile"] = time.process_time() - start
            first = found
    assert found.beating[0].speed > first.beating[0].speed
    with capsys.disabled():
        print()
        for name, lap in laps.items():
            print(f"{name:50} {lap:6.2f} s of one core")
