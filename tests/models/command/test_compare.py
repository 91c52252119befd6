"""`compare`: the document against the study that it reports, and the words against the document."""

from __future__ import annotations

from collections.abc import Callable

from numpy.testing import assert_allclose

from models.studies.compare import compare
from models.wing.reading import read


def test_document_and_words(sparbay: Callable, wing_file: Callable) -> None:
    file = wing_file()
    run = sparbay("compare", file, "--json", "--mesh", "2")
    found = run.document
    assert run.code == 0
    assert run.err == ""
    expected = compare(read(file), per_bay=2)
    rows = found["layouts"]
    assert [(r["scope"], r["layout"]) for r in rows] == [(r.scope, r.name) for r in expected]
    for row, result in zip(rows, expected, strict=True):
        assert_allclose(row["bending_stiffness_N_per_m"], result.bending_stiffness, rtol=1e-9)
        assert_allclose(row["web_mass_kg"], result.web_mass, rtol=1e-9)
    wing = [r for r in rows if r["scope"] == "wing"]
    assert "load_factor_at_first_failure" in wing[0]
    assert wing[0]["bending_gain_percent_per_g"] is None  # no webs: nothing gained, nothing added
    assert wing[1]["bending_gain_percent_per_g"] > 0
    assert "tip_force_at_first_failure_N" in rows[-1]
    text = sparbay("compare", file, "--mesh", "2").out
    flat = " ".join(text.split())
    assert all(sentence in flat for sentence in found["answer"]["sentences"])
    drawn = next(r for r in wing if r["layout"] == "as drawn")
    times = drawn["bending_stiffness_N_per_m"] / wing[0]["bending_stiffness_N_per_m"]
    assert f"{times:.2f} times as stiff in bending" in flat


def test_mesh_matters(sparbay: Callable) -> None:
    coarse, fine = (
        sparbay("compare", "spar-c", "--json", "--mesh", n).document["layouts"][1][
            "bending_stiffness_N_per_m"
        ]
        for n in ("1", "4")
    )
    assert coarse != fine
    assert_allclose(coarse, fine, rtol=0.1)


def test_a_specimen_counts_in_multiples_of_its_load(sparbay: Callable) -> None:
    run = sparbay("compare", "box-two-spars", "--json", "--mesh", "2").document
    assert "load_multiple_at_first_failure" in run["layouts"][0]
    assert "times the load" in run["answer"]["sentences"][0]
