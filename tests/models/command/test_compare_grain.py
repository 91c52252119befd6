"""`compare --grain`: the document against the study that it reports, and the words against the document."""

from __future__ import annotations

from collections.abc import Callable

from numpy.testing import assert_allclose

from models.studies.grain import compare_grain
from models.wing.reading import read


def test_document_and_words(sparbay: Callable, wing_file: Callable) -> None:
    file = wing_file(("count = 13", "count = 5"), ("1-10", "1-3"), ('1-3" # a second', '1" # a second'))
    run = sparbay("compare", "--grain", file, "--json", "--mesh", "2")
    found = run.document
    assert run.code == 0
    assert run.err == ""
    expected = compare_grain(read(file), per_bay=2)
    assert [d["grain"] for d in found["directions"]] == [d.name for d in expected]
    for row, result in zip(found["directions"], expected, strict=True):
        assert_allclose(row["load_factor_at_first_failure"], result.load_factor_at_first_failure, rtol=1e-9)
        for web, bay in zip(row["webs"], result.bays, strict=True):
            assert web["governs"] == bay.governs
            assert_allclose(web["clear_depth_m"], bay.clear, rtol=1e-9)
    text = sparbay("compare", "--grain", file, "--mesh", "2", "--full").out
    flat = " ".join(text.split())
    assert all(sentence in flat for sentence in found["answer"]["sentences"])
    assert "Reserve factor: glue line" in text


def test_wing_without_webs(sparbay: Callable) -> None:
    run = sparbay("compare", "--grain", "spar-open")
    assert run.code == 0
    assert "The wing has no webs" in run.out


def test_check_tells_where_its_rules_come_from(sparbay: Callable) -> None:
    found = sparbay("check", "trainer", "--json").document
    modes = [row["mode"] for row in found["sources"]]
    assert len(modes) == len(set(modes)) > 15
    assert all(row["reason"] for row in found["secondary"])
    text = sparbay("check", "trainer", "--full").out
    assert "Where the rules come from" in text
    assert all(mode in text for mode in modes)
