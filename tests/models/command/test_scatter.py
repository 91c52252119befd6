"""`scatter`: the document against the study, the words against the document, and no option without effect."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from numpy.testing import assert_allclose

from models.command.files import read_wing
from models.pictures.plots import scatter_table
from models.studies.scatter import scatter

FEW = ("--samples", "400", "--sets", "40")


def test_document_and_words(sparbay: Callable) -> None:
    run = sparbay("scatter", "trainer", "--json", *FEW)
    found = run.document
    assert run.code == 0
    assert run.err == ""
    result = scatter(read_wing("trainer"), samples=400, states=40)
    answer = found["answer"]
    assert_allclose(answer["load_factor_fifth_percentile"], result.fifth, rtol=1e-12)
    assert_allclose(sum(row["chance"] for row in found["bays"]), 1.0, rtol=1e-12)
    assert_allclose(sum(row["chance"] for row in found["first_failures"]), 1.0, rtol=1e-12)
    assert found["layouts"] == []
    text = " ".join(sparbay("scatter", "trainer", *FEW, "--full").out.split())
    assert all(sentence in text for sentence in answer["sentences"])
    assert "no source" in text


@pytest.mark.parametrize(
    ("option", "value"), [("--seed", "7"), ("--samples", "500"), ("--sets", "60"), ("--mesh", "2")]
)
def test_every_option_matters(sparbay: Callable, option: str, value: str) -> None:
    plain = sparbay("scatter", "spar-c", "--json", *FEW).document["answer"]
    other = sparbay("scatter", "spar-c", "--json", *FEW, option, value).document["answer"]
    assert plain["load_factor_fifth_percentile"] != other["load_factor_fifth_percentile"]


def test_layouts_are_compared(sparbay: Callable) -> None:
    found = sparbay("scatter", "spar-c", "--json", "--layouts", *FEW).document["layouts"]
    by_name = {row["layout"]: row for row in found}
    assert len(found) == 6
    assert by_name["no webs"]["load_factor_median"] < by_name["box"]["load_factor_median"]
    text = sparbay("scatter", "spar-c", "--layouts", *FEW, "--full").out
    assert all(name in text for name in by_name)


def test_picture(sparbay: Callable, tmp_path: Path) -> None:
    folder = tmp_path / "pictures"
    run = sparbay("scatter", "spar-c", "--json", "--folder", folder, *FEW)
    assert run.code == 0
    assert [Path(name).name for name in run.document["files"]] == ["scatter.png"]
    assert (folder / "scatter.png").stat().st_size > 10_000
    assert sparbay("scatter", "spar-c", "--folder", folder, *FEW).code == 2


def test_table_of_the_picture_sums_to_one() -> None:
    result = scatter(read_wing("trainer"), samples=400, states=40)
    places, modes, shares = scatter_table(result, most_rows=2, most_modes=2)
    assert_allclose(shares.sum(), 1.0, rtol=1e-12)
    assert shares.shape == (len(places), len(modes))


def test_bad_numbers_are_refused(sparbay: Callable) -> None:
    assert sparbay("scatter", "spar-c", "--samples", "99").code == 2
    assert sparbay("scatter", "spar-c", "--samples", "100", "--sets", "20").code == 0
    assert sparbay("scatter", "spar-c", "--sets", "19").code == 2
