"""What it takes to judge the readings of a bench test: the first time, and other figures at those marks."""

from __future__ import annotations

import numpy as np
import pytest

from models.command.files import read_wing
from models.studies.measured import Bench, SideFound, Suspect
from validation.rates import MadeUp


@pytest.mark.parametrize("again", [False, True], ids=["first", "again"])
@pytest.mark.parametrize(
    ("name", "missing"),
    [
        ("powered-tailless", Suspect("web", "front", "front", 11)),
        ("sailplane", Suspect("web", "main", "rear", 3)),
    ],
)
def test_a_missing_web_is_named(benchmark, name: str, missing: Suspect, again: bool) -> None:
    made = MadeUp(read_wing(name)).bench
    truth = made.without(made.suspects.index(missing)).at(np.zeros(made.sound.n_pieces)).moves
    noise = 1 + 0.03 * np.random.default_rng(90211).standard_normal(len(made.share))
    value = truth[made.mark_of] * made.share * noise

    def fresh() -> tuple[tuple[Bench], dict[str, object]]:
        bench = made
        if not again:
            # Of all that is kept nothing is known yet.
            bench = MadeUp(read_wing(name)).bench
        else:
            bench.judged(value=value)
        return (bench,), {}

    def judged(bench: Bench) -> SideFound:
        return bench.judged(value=value)

    found = benchmark.pedantic(judged, setup=fresh, rounds=3)
    assert found.suspects[0].suspect == missing
