"""Film in the speeds: taut it stiffens, slack it is left out, and where it goes slack is what covers say."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from models.analysis import solve
from models.covering import first_slack
from models.strength import check
from models.structure import build
from models.studies.speed import condense
from models.wing.reading import read_text

TEXT = """
[planform]
stations = [{ y = "0 mm", chord = "200 mm", section = "NACA 2412" }, { y = "400 mm", chord = "150 mm" }]
[ribs]
count = 5
thickness = "2 mm"
[[spars]]
name = "main"
at = "30 %"
caps = { width = "6 mm", height = "4 mm" }
webs = [{ bays = "all", face = "front", thickness = "1.5 mm" }]
[leading_edge]
width = "8 mm"
height = "10 mm"
[trailing_edge]
width = "14 mm"
height = "3 mm"
[covering]
film = "polyester film"
thickness = "0.025 mm"
mass_per_area = "45 g/m2"
E = "4.5 GPa"
pretension = "60 N/m"
[case]
load_factor = 1
mass = "1.2 kg"
"""


@pytest.fixture(scope="module")
def wing():
    return read_text(TEXT)


@pytest.fixture(scope="module")
def taut(wing):
    return condense(wing, per_bay=1)


def _softest(reduced):
    """Least stiffness over mass of the wing held at its middle, by kind."""
    return {half.kind: float(np.linalg.eigvalsh(half.held.stiffness)[0]) for half in reduced.halves}


def test_taut_film_stiffens_and_both_sides_stay_alike(wing, taut):
    assert taut.film.share == 1.0
    assert [half.kind for half in taut.halves] == ["symmetric", "antisymmetric"]
    bare = condense(
        replace(wing, coverings=tuple(replace(c, stretch=None) for c in wing.coverings)), per_bay=1
    )
    assert bare.film is None
    assert_allclose(bare.mass, taut.mass, rtol=1e-12)
    for kind, least in _softest(bare).items():
        assert _softest(taut)[kind] > 1.5 * least


def test_it_goes_slack_first_where_the_covered_wing_says(wing, taut):
    load, _ = first_slack(check(solve(build(wing, per_bay=1, covered=True))))
    assert_allclose(taut.film.slack_load, load, rtol=1e-6)


def test_slack_film_is_left_out_but_on_the_bench(wing, taut):
    pulled = replace(wing, case=replace(wing.case, load_factor=3 * taut.film.slack_load))
    slack = condense(pulled, per_bay=1)
    assert 0 < slack.film.share < 1
    assert_allclose(slack.film.slack_load, taut.film.slack_load, rtol=1e-6)
    for kind, least in _softest(slack).items():
        assert least < _softest(taut)[kind]
    for kind, least in _softest(condense(pulled, per_bay=1, at_rest=True)).items():
        assert_allclose(least, _softest(taut)[kind], rtol=1e-9)
