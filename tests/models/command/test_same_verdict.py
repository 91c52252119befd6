"""One verdict: the same figures and the same words by every command and page."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest

from models import units_out as say
from models.analysis import analyse
from models.command.files import read_wing
from models.command.live import more_sentences
from models.page import views
from models.verdict import in_short, record, sentences, verdict


@pytest.mark.parametrize(
    "name",
    [
        "trainer",
        pytest.param("short-tailless", marks=pytest.mark.long),
        pytest.param("sailplane", marks=pytest.mark.long),
        pytest.param("powered-tailless", marks=pytest.mark.long),
    ],
)
def test_every_command_says_the_same(
    name: str,
    path_of: Callable[[str], Path],
    sparbay: Callable,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def undrawn(*_: object) -> str:
        raise views.NoRenderer("scenes say nothing of the verdict")

    monkeypatch.setattr(views, "_still", undrawn)
    name = str(path_of(name)) if name == "short-tailless" else name
    wing = read_wing(name)
    found = verdict(wing, per_bay=1)
    data = record(found)

    def document(*words: str) -> dict:
        return sparbay(*words, name, "--json", "--mesh", "1").document

    check, proof, compare = (document(*one) for one in (["check"], ["bench", "--proof"], ["compare"]))
    for theirs in (check["answer"]["verdict"], proof["answer"]["verdict"], compare["verdict"]):
        assert theirs == data
    assert check["answer"]["survives"] is found.fit
    assert check["answer"]["sentences"][: len(sentences(found))] == sentences(found)
    for other in (proof, compare):
        assert set(in_short(found)) <= set(other["answer"]["sentences"])
    member = document("compare", "--family")["members"][0]
    assert member["survives"] is found.fit
    assert member["load_factor_at_first_failure"] == found.failing
    assert member["load_factor_failing_one_in_twenty"] == found.fifth
    assert member["share_surviving_all"] == found.survive
    assert more_sentences(analyse(wing, per_bay=1), per_bay=1)[: len(sentences(found))] == sentences(found)
    if name.endswith("short-tailless.toml"):  # of few bays, and yet dear on a page of pictures
        return
    note = document("note")["answer"]
    # The note looks at the speeds of beating and twist-off too, and ends with them.
    said, others = note["verdict"]["sentences"], {"speed", "sentences"}
    assert _slow(said)[: len(data["sentences"])] == data["sentences"]
    assert {k: v for k, v in note["verdict"].items() if k not in others} == {
        k: v for k, v in data.items() if k not in others
    }
    assert _slow(note["paragraphs"]["Verdict"])[: len(sentences(found))] == sentences(found)
    page = sparbay("report", name, "--json", "--mesh", "1", "--out", str(tmp_path / "page.html")).document
    assert page["check"]["answer"]["verdict"] == page["note"]["answer"]["verdict"] == note["verdict"]


NEW = {
    "metric": ("--span", "800 mm", "--root-chord", "180 mm", "--tip-chord", "150 mm", "--mass", "400 g"),
    "imperial": (
        "--span", "40 in", "--root-chord", "8 in", "--tip-chord", "7 in", "--mass", "1 lb 8 oz",
        "--sheeting", "nose", "--covering", "tissue",
    ),
}  # fmt: skip
"""Of two wings as `new` writes them."""


@pytest.mark.long
@pytest.mark.parametrize("units", NEW)
def test_a_wing_of_new_has_one_verdict_everywhere(units: str, sparbay: Callable, tmp_path: Path) -> None:
    """To the digit in JSON, to the word where it is printed, drawn or on a page; also in inches."""
    name = str(tmp_path / "wing.toml")
    assert sparbay("new", name, "--load-factor", "5", *NEW[units]).code == 0
    wing = read_wing(name)
    assert wing.units == units
    found = {mesh: verdict(read_wing(name), per_bay=mesh) for mesh in (1, 4)}
    assert found[4].fit

    def document(*words: str) -> dict:
        return sparbay(*words, name, "--json", "--mesh", "1").document

    data = record(found[1])
    check, proof, compare, note = (
        document(*one) for one in (["check"], ["bench", "--proof"], ["compare"], ["note"])
    )
    for theirs in (check["answer"]["verdict"], proof["answer"]["verdict"], compare["verdict"]):
        assert _figures(theirs) == _figures(data)
    assert _figures(note["answer"]["verdict"]) == _figures(data)
    worth = document("worth")["as_drawn"]
    for key in ("fit", "load_factor_failing_mean_wood", "load_factor_failing_one_in_twenty"):
        assert worth["verdict"][key] == pytest.approx(data[key], rel=1e-9)
    # As built, sheeting whole: what every web does, and which layouts are looked at, start from there.
    whole = worth["load_factor_at_first_failure_as_built_sheeting_whole"]
    assert whole == pytest.approx(found[1].whole, rel=1e-9)
    out = tmp_path / "lightest.toml"
    light = document("lightest", "--bays", "1-2", "--load-factor", "5", "--layout-out", str(out))
    assert light["as_drawn"]["load_factor_at_first_failure"] == pytest.approx(found[1].whole, rel=1e-9)
    again = record(verdict(read_wing(str(out)), per_bay=1))
    for key in ("fit", "load_factor_failing_mean_wood", "load_factor_failing_one_in_twenty"):
        assert light["verdict"][key] == pytest.approx(again[key], rel=1e-9)
    # In words, on the mesh of every day and in the wing's own units.
    told = [" ".join(sparbay(*words, name).out.split()) for words in (["check"], ["compare"], ["note"])]
    shown = sparbay("check", "--show", name, "--folder", str(tmp_path / "pictures"))
    told.append(" ".join(shown.out.split()))
    told.append(" ".join(sparbay("bench", "--proof", name).out.split()))
    with say.speak(wing.units):
        first, second = in_short(found[4])
        lively = more_sentences(analyse(read_wing(name)), per_bay=4)
    for words in told:
        assert "".join(second.split()) in "".join(words.split())  # words are broken at hyphens
        assert first.partition(": ")[2] in words
    assert lively[:2] == [first, second]
    page = tmp_path / "page.html"
    assert sparbay("report", name, "--out", str(page)).code == 0
    seen = " ".join(re.sub("<[^>]*>", " ", page.read_text(encoding="utf-8")).split())
    assert second in seen


def _figures(one: dict) -> dict:
    """All of a verdict but its words, which are in the units spoken, and the speed, which few look at."""
    return {key: value for key, value in one.items() if key not in ("sentences", "speed", "about")}


def _slow(said: list[str]) -> list[str]:
    """Without what is told of the speed where it is known, in the first sentence, up to which a fit wing
    flies, and why not faster; and of the engine."""
    fast = ("Do not fly faster than ", "What lets it fly faster: ", "Against flying it speaks also: ")
    first = re.sub("^Fit to fly as drawn, up to [^:]*:", "Fit to fly as drawn:", said[0])
    return [first, *(one for one in said[1:] if not one.startswith(fast))]


TAIL_HEAVY = """\
name = "Tail-heavy wing"
[planform]
stations = [{ y = "0 mm", chord = "200 mm", section = "NACA 2412" }, { y = "250 mm", chord = "200 mm" }]
[ribs]
count = 4
thickness = "2 mm"
[[spars]]
name = "main"
at = "30 %"
caps = { width = "8 mm", height = "4 mm", wood = "spruce" }
[[masses]]
name = "battery"
mass = "500 g"
x = "80 mm"
carried_by = "fuselage"
[case]
load_factor = 2
"""


def test_a_wing_that_does_not_balance_is_fit_nowhere(sparbay: Callable, tmp_path: Path) -> None:
    file = tmp_path / "tail-heavy.toml"
    file.write_text(TAIL_HEAVY, encoding="utf-8")
    wing = read_wing(str(file))
    found = verdict(wing, per_bay=1)
    assert found.strong
    assert found.balanced is False
    assert not found.fit
    first = sentences(found)[0]
    assert first.startswith("Not fit to fly as drawn: it does not balance,")
    assert "mm too far aft" in first

    def run(*words: str):
        return sparbay(*words, str(file), "--json", "--mesh", "1")

    check, note = run("check"), run("note")
    assert check.code == note.code == 1
    assert check.document["answer"]["verdict"] == record(found)
    assert note.document["answer"]["verdict"]["fit"] is False
    assert record(found)["centre_of_gravity_behind_range_m"] == found.behind > 0
    assert check.document["answer"]["sentences"][0] == first
    assert note.document["answer"]["paragraphs"]["Verdict"][0] == first
    assert sparbay("balance", str(file), "--json").code == 1
    assert more_sentences(analyse(wing, per_bay=1), per_bay=1)[0] == first
    # Ahead of the range it is told, and no more.
    file.write_text(TAIL_HEAVY.replace('x = "80 mm"', 'x = "-20 mm"'), encoding="utf-8")
    ahead = verdict(read_wing(str(file)), per_bay=1)
    assert ahead.balanced is False
    assert ahead.fit
    assert any("ahead of the range" in said for said in sentences(ahead))
