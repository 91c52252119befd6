"""What the sieve throws out fails by the whole evaluation too, and it throws out most of what fails."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

import numpy as np
import pytest

from models.studies.lightest import Sweep, places, sieve
from models.studies.lightest.sieve import Sieve
from models.studies.lightest.sweep import Evaluated
from models.wing.reading import read

WINGS = Path(__file__).parents[4] / "models" / "wings"


@lru_cache(maxsize=4)
def evaluated(name: str, spars: tuple[str, ...], last: int, n: int) -> tuple[Sweep, Evaluated]:
    """Layouts of the first bays of some spars, drawn at random."""
    where = places(read(WINGS / f"{name}.toml"), tuple((s, b) for s in spars for b in range(1, last + 1)))
    rng = np.random.default_rng(71530)
    codes = np.stack([rng.integers(0, len(cell.choices), n) for cell in where.cells], axis=1)
    sweep = Sweep(where, per_bay=1)
    return sweep, sweep.answers(codes)


WHICH = [
    ("spar-box", ("spar",), 4, 400),
    ("box-two-spars", ("front", "rear"), 2, 200),
    ("trainer", ("main",), 4, 200),
]


@pytest.mark.parametrize(("name", "spars", "last", "n"), WHICH)
@pytest.mark.parametrize("percent", [10, 50, 90])
def test_strength(name: str, spars: tuple[str, ...], last: int, n: int, percent: int) -> None:
    sweep, found = evaluated(name, spars, last, n)
    limit = float(np.percentile(found.load_factor, percent))
    fails = found.load_factor < limit * (1 - 1e-9)
    thrown = Sieve(sweep.segments, limit).failing(found.codes)
    assert not (thrown & ~fails).any()
    assert thrown.sum() > 0.5 * fails.sum()


@pytest.mark.parametrize(("name", "spars", "last", "n"), WHICH)
def test_tips(name: str, spars: tuple[str, ...], last: int, n: int) -> None:
    """Where strength throws out nothing, bending and twist are decided exactly."""
    sweep, found = evaluated(name, spars, last, n)
    bend, twist = np.abs(found.deflection), np.abs(found.twist)
    limits = {"deflection": float(np.percentile(bend, 60)), "twist": float(np.percentile(twist, 55))}
    thrown = Sieve(sweep.segments, 1e-3, **limits).failing(found.codes)
    sure = 1 + 1e-6
    assert thrown[(bend > limits["deflection"] * sure) | (twist > limits["twist"] * sure)].all()
    assert not thrown[(bend <= limits["deflection"]) & (twist <= limits["twist"])].any()


def test_it_forgets_halves_where_memory_is_short(monkeypatch: pytest.MonkeyPatch) -> None:
    sweep, found = evaluated(*WHICH[0])
    limit = float(np.median(found.load_factor))
    plain = Sieve(sweep.segments, limit, threads=1).failing(found.codes)
    monkeypatch.setattr(sieve, "_KEPT", 0.0)
    monkeypatch.setattr(sieve, "_AT_ONCE", 1.0)
    short = Sieve(sweep.segments, limit)
    for some in (slice(0, 150), slice(150, None)):
        assert (short.failing(found.codes[some]) == plain[some]).all()


def test_a_wing_of_one_segment_is_left_alone(make_specimen) -> None:
    where = places(make_specimen(length=90.0, pitch=90.0, case='tip_force = "30 N"'))
    sweep = Sweep(where, per_bay=1)
    assert sweep.segments.n_segments == 1
    assert not Sieve(sweep.segments, 1e9).failing(where.every()).any()
