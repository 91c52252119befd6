"""One verdict: the same figures and the same words by every command and page."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from models.analysis import analyse
from models.command.files import read_wing
from models.command.live import more_sentences
from models.verdict import in_short, record, sentences, verdict


@pytest.mark.parametrize(
    "name",
    [
        "trainer",
        "short-tailless",
        pytest.param("sailplane", marks=pytest.mark.long),
        pytest.param("powered-tailless", marks=pytest.mark.long),
    ],
)
def test_every_command_says_the_same(
    name: str, path_of: Callable[[str], Path], sparbay: Callable, tmp_path: Path
) -> None:
    name = str(path_of(name)) if name == "short-tailless" else name
    wing = read_wing(name)
    found = verdict(wing, per_bay=1)
    data = record(found)

    def document(*words: str) -> dict:
        return sparbay(*words, name, "--json", "--mesh", "1").document

    check, proof, compare = (document(one) for one in ("check", "proof", "compare"))
    for theirs in (check["answer"]["verdict"], proof["answer"]["verdict"], compare["verdict"]):
        assert theirs == data
    assert check["answer"]["survives"] is found.fit
    assert check["answer"]["sentences"][: len(sentences(found))] == sentences(found)
    for other in (proof, compare):
        assert set(in_short(found)) <= set(other["answer"]["sentences"])
    member = document("family")["members"][0]
    assert member["survives"] is found.fit
    assert member["load_factor_at_first_failure"] == found.failing
    assert member["load_factor_failing_one_in_twenty"] == found.fifth
    assert member["share_surviving_all"] == found.survive
    assert more_sentences(analyse(wing, per_bay=1), per_bay=1)[: len(sentences(found))] == sentences(found)
    if name.endswith("short-tailless.toml"):  # of few bays, and yet dear on a page of pictures
        return
    note = document("note")["answer"]
    assert note["verdict"] == data
    assert note["paragraphs"]["Verdict"][: len(sentences(found))] == sentences(found)
    page = sparbay("report", name, "--json", "--mesh", "1", "--out", str(tmp_path / "page.html")).document
    assert page["check"]["answer"]["verdict"] == page["note"]["answer"]["verdict"] == data
