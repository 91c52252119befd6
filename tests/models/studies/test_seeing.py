"""Dials chosen for the webs that they tell apart, and what is promised of them."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose

from models.loads.bags import rib_stations
from models.structure import build
from models.studies.bench_test import bench_test
from models.studies.measured import GAUGE, SEEN, Bench, Noise
from models.studies.readings import SIDES, Reading, bags_csv, read_bags, read_readings, readings_csv
from models.studies.seeing import seeing, sentences
from models.wing.reading import read

WINGS = Path(__file__).parents[3] / "models" / "wings"
FINE = 3e-5


@pytest.fixture(scope="module")
def planned():
    wing = read(WINGS / "trainer.toml")
    test = bench_test(wing, per_bay=1)
    return wing, test, seeing(wing, test, gauge=FINE, twist=True, per_bay=1)


def test_fewer_readings_see_nearly_as_much(planned) -> None:
    wing, test, one = planned
    assert one.n_readings < one.every / 2
    model = build(wing, per_bay=1)
    every = [
        Reading(k, SIDES[0], m.rib, m.x, "deflection", 0.0, 0)
        for k in range(1, len(test.fractions) + 1)
        for m in test.marks
    ]
    bench = Bench(model, SIDES[0], read_bags(bags_csv(test), model), every, 1)
    before, _ = bench.foreseen(Noise(FINE, GAUGE))
    assert before.sum() > 5
    assert sum(chance for _, chance in one.webs) > before.sum() - 0.6
    assert one.seen >= (before >= SEEN).sum() - 1


def test_a_coarse_dial_sees_less_and_says_so(planned) -> None:
    wing, test, fine = planned
    coarse = seeing(wing, test, gauge=2e-3, per_bay=1)
    assert coarse.seen < fine.seen
    assert any("2 mm" in s and "will probably not be seen" in s for s in sentences(coarse))
    assert any("--twist" in s for s in sentences(coarse))
    assert coarse.n_readings < coarse.every / 2  # nor does it ask for all where hardly any is seen


def test_the_tables_hold_what_was_chosen_and_are_read_again(planned) -> None:
    wing, test, one = planned
    model = build(wing, per_bay=1)
    text = readings_csv(test, one).splitlines()
    filled = "\n".join(f"{line[:-1]}1.5," if line[:1].isdigit() else line for line in text)
    readings = read_readings(filled, model)
    assert len(readings) == one.n_readings
    found = {(r.step, r.rib, round(r.x, 3)) for r in readings}
    assert found == {(k, d.mark.rib, round(d.mark.x, 3)) for d in one.dials for k in d.steps}
    assert one.couple is not None
    laid = [b for b in read_bags(bags_csv(test, one), model) if b.step in one.couple.steps]
    assert [b.mass for b in laid] == pytest.approx([one.couple.mass] * 2)
    assert laid[1].x > laid[0].x
    assert laid[0].rib == len(rib_stations(model))


def test_what_is_expected_is_in_proportion_and_has_a_doubt(planned) -> None:
    _, test, one = planned
    for dial in one.dials:
        mine = [k for k, step in enumerate(dial.steps) if step <= len(test.fractions)]
        share = test.fractions[[dial.steps[k] - 1 for k in mine]]
        assert_allclose(np.array(dial.expected)[mine] / share, dial.expected[mine[-1]] if mine else 0)
        assert min(dial.doubt) > 0
