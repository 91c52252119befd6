"""How fast in a verdict: which speed counts, against what the file asks."""

from __future__ import annotations

import math

import pytest

from models.command.files import read_wing
from models.studies.speed_limit import Limit, not_looked_at


@pytest.mark.parametrize(
    ("asked", "first", "onset", "fifth", "counted", "holds"),
    [
        (24.9, "beating", 31.0, 30.0, 30.0, True),
        (25.1, "beating", 31.0, 30.0, 30.0, False),
        (24.9, "twist-off", 30.0, 40.0, 30.0, True),
        (25.1, "twist-off", 30.0, 40.0, 30.0, False),
        (99.0, "", math.inf, math.inf, math.inf, True),
        (0.0, "reversal", 5.0, math.inf, 5.0, True),
    ],
)
def test_five_sixths_of_the_lowest(asked, first, onset, fifth, counted, holds):
    found = Limit(asked, first, onset, fifth)
    assert found.counted == counted
    assert found.holds is holds
    assert ("too fast" in found.sentence) is not holds
    assert found.record()["advised_m_per_s"] == (None if math.isinf(counted) else counted / 1.2)
    if math.isfinite(counted):
        assert f"{math.floor(3.6 * counted / 1.2)} km/h" in found.sentence


def test_a_check_says_that_it_knows_nothing_of_the_engine() -> None:
    (said,) = not_looked_at(read_wing("powered-tailless"))
    assert "120 km/h" in said
    assert "how the engine shakes it (`sparbay note`)" in said
    assert "engine" not in not_looked_at(read_wing("trainer"))[0]
