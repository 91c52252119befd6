"""The note: one page, the same figures as the commands that it draws together, and an honest verdict."""

from __future__ import annotations

import io
import math
from collections.abc import Callable
from dataclasses import replace
from functools import lru_cache
from pathlib import Path

import pytest

from models.command.files import read_wing
from models.command.note import _laid, _shortened, note_record, note_text
from models.report.text import Length, Page
from models.rounding import down
from models.studies.envelope import Meets
from models.studies.note import Note, note, paragraphs
from models.studies.speed_limit import MARGIN
from models.verdict import sentences

POWERED = """
[[rails]]
name = "bearers"
y = "20 mm"
x_front = "-60 mm"
x_rear = "110 mm"
z = "6 mm"
width = "10 mm"
height = "8 mm"
ties = ["main"]
tie_thickness = "3 mm"
[[masses]]
name = "engine"
mass = "300 g"
x = "-40 mm"
z = "6 mm"
carried_by = "rails"
[[masses]]
name = "tank"
mass = "200 g"
empty = "20 g"
x = "60 mm"
[engine]
name = "engine"
thrust = "20 N"
power = "500 W"
rpm = "10000 rpm"
propeller_diameter = "250 mm"
propeller_mass = "30 g"
[elevons]
from = "300 mm"
to = "700 mm"
hinge = "75 %"
"""
PLAIN = Path(__file__).with_name("plain-wing.toml")


@lru_cache
def _note(name: str) -> Note:
    return note(read_wing(name), per_bay=1)


@pytest.fixture(scope="module")
def powered(tmp_path_factory: pytest.TempPathFactory) -> str:
    """A wing of few bays with an engine on rails, a tank and elevons."""
    text = PLAIN.read_text(encoding="utf-8").replace("count = 13", "count = 5")
    text = text.replace('"1-10"', '"1-3"').replace('"1-3" # a second', '"1" # a second')
    path = tmp_path_factory.mktemp("powered") / "powered.toml"
    path.write_text(text + POWERED, encoding="utf-8")
    return str(path)


@pytest.mark.parametrize("railed", [True, False])
def test_same_figures_as_the_commands(*, railed: bool, powered: str, sparbay: Callable) -> None:
    name = powered if railed else "trainer"
    found = note_record(_note(name), name, 1)
    by_case = {(row["group"], row["case"]): row["reserve_factor"] for row in found["cases"]}
    check = sparbay("check", name, "--json", "--mesh", "1").document
    pull_up = check["answer"]["verdict"]["cases"][0]
    assert math.isclose(by_case["flight", "pull-up"], pull_up["reserve_factor_mean_wood"], rel_tol=1e-6)
    balance = sparbay("balance", name, "--json").document
    # Of the mass on the note's own mesh; `balance` takes the usual one.
    centres = [s["aft_of_datum_m"] for s in balance["states"]]
    assert found["centres_aft_of_datum_m"] == pytest.approx(centres, abs=1e-8)
    assert set(found["answer"]["paragraphs"]["Balance"]) <= set(balance["answer"]["sentences"])
    proof = sparbay("bench", "--proof", name, "--json", "--mesh", "1").document
    assert any(f"{down(found['test_up_to_load_factor'])} g" in s for s in proof["answer"]["sentences"])
    if railed:
        rails = sparbay("loads", "--rails", name, "--json", "--mesh", "1").document
        least = min(r for (group, _), r in by_case.items() if group == "engine")
        assert least == rails["answer"]["least_reserve_factor"]
    else:
        loads = sparbay("loads", name, "--json", "--mesh", "1").document
        assert all(by_case[c["kind"], c["case"]] == c["counted_reserve_factor"] for c in loads["cases"])
        envelope = sparbay("envelope", name, "--json", "--mesh", "1").document["answer"]
        corner = envelope["critical_corner"]
        assert by_case["flight", corner["name"]] == corner["counted_reserve_factor"]
        assert found["stall_speed_m_per_s"] == envelope["stall_speed_m_per_s"]
        assert found["safe_load_factor_at_cruise"] == envelope["pull_up_at_cruise"]["safe_load_factor"]


def test_one_page() -> None:
    page = io.StringIO()
    out = Page(page, length=Length(whole=True, rows=9))
    note_text(out, note_record(_note("trainer"), "trainer", 1))
    out.end()
    lines = page.getvalue().splitlines()
    assert len(lines) <= 66
    assert max(map(len, lines)) <= 110
    heads = [line.split("  ")[0] for line in lines]
    for head in ("Verdict", "In flight", "Critical case", "Weakest bay", "Balance", "Test"):
        assert head in heads
    assert any(line.startswith("Caution: For model aircraft only") for line in lines)


def test_hardest_first_and_verdict_from_it() -> None:
    found = _note("trainer")
    reserves = [row.reserve for row in found.rows]
    assert reserves == sorted(reserves)
    assert found.fit == (found.verdict.fit and not found.against)
    said = paragraphs(found)["Verdict"]
    assert said[: len(sentences(found.verdict))] == sentences(found.verdict)


def test_the_hardest_gust_is_that_with_the_least_reserve(powered: str) -> None:
    found = _note(powered)
    gusts = [c for c in found.envelope.worst.corners if "gust" in c.name]
    hardest = min(gusts, key=lambda c: c.reserve)
    assert f"Hardest gust: {hardest.name}" in " ".join(paragraphs(found)["In flight"])


def weakened(found: Note, factor: float) -> Note:
    """The same note with every reserve factor of a case so many times as large."""
    cases = tuple(replace(one, reserve=factor * one.reserve) for one in found.cases.cases)
    return replace(found, cases=replace(found.cases, cases=cases))


def test_many_failures_are_counted_and_a_part_is_named_once(powered: str) -> None:
    found = weakened(_note(powered), 0.05)
    flying = [row for row in found.rows if row.reserve < 1 and row.group in ("flight", "launch", "engine")]
    assert len(flying) > 4
    first = paragraphs(found)["Do first"]
    parts = [line.split(" for ")[0].rsplit(" to ", 1)[0] for line in first if line.startswith("Strengthen")]
    assert len(parts) == len(set(parts))


@pytest.mark.parametrize(
    ("reserve", "words"), [(0.8, "by 25 % or more"), (0.5, "by 100 %"), (0.4, "to 2.5 times its strength"),
                           (0.001, "to over 100 times its strength")]
)  # fmt: skip
def test_how_much_stronger_a_part_must_be(reserve: float, words: str) -> None:
    found = _note("trainer")
    first = found.cases.cases[0]
    cases = tuple(replace(one, reserve=reserve if one is first else 2.0) for one in found.cases.cases)
    said = " ".join(paragraphs(replace(found, cases=replace(found.cases, cases=cases)))["Do first"])
    assert words in said


@pytest.mark.parametrize(
    ("let", "words"),
    [(10.0, "never faster than 36 km/h."), (1e3, "no full pull above 72 km/h."),
     (20.5, "never faster than 73 km/h, no full pull above 72 km/h.")],
)  # fmt: skip
def test_the_transmitter_is_marked_with_no_more_than_it_is_let_fly(let: float, words: str) -> None:
    found = weakened(_note("trainer"), 100.0)
    assert found.verdict.speed is not None
    worst = found.envelope.worst
    verdict = replace(found.verdict, speed=replace(found.verdict.speed, onset=let * MARGIN, fifth=math.inf))
    worst = replace(
        worst,
        breaks=Meets(20.0, 5.0, worst.critical.weakest),
        limits=replace(worst.limits, never_exceed=30.0),
    )
    changed = replace(found, verdict=verdict, envelope=replace(found.envelope, masses=(worst,)))
    assert f"Mark the transmitter: {words}" in paragraphs(changed)["Do first"]


def test_a_sound_wing_leaves_with_0(sparbay: Callable, wing_file: Callable) -> None:
    strong = wing_file(("load_factor = 6", "load_factor = 1.5"), ("-0.05", "0"))
    with strong.open("a", encoding="utf-8") as file:
        file.write('\n[flight]\ngust_velocity = "2 m/s"\n\n[landing]\ntip_force = 0.05\n')
    run = sparbay("note", strong, "--json", "--mesh", "1")
    document = run.document
    assert run.code == (0 if document["answer"]["fit"] else 1)
    assert document["answer"]["fit"]
    assert document["answer"]["sentences"][0].startswith("Fit to fly as drawn, up to ")


def test_a_specimen_does_not_fly(sparbay: Callable) -> None:
    run = sparbay("note", "spar-c")
    assert run.code == 2
    assert "does not fly" in run.err


@pytest.mark.parametrize(("columns", "most"), [(60, 46), (80, 39)])
def test_one_screen_that_keeps_how_fast_it_may_fly(
    columns: int, most: int, powered: str, sparbay: Callable, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("models.report.text.SCREEN", (columns, 39))
    lines = sparbay("note", powered, "--mesh", "1").out.splitlines()
    assert len(lines) <= most  # a narrow one scrolls before it leaves out a warning
    assert max(map(len, lines)) <= columns
    words = " ".join(" ".join(lines).split())
    assert "Do not fly faster than" in words
    verdict = sparbay("note", powered, "--mesh", "1", "--json").document["answer"]["paragraphs"]["Verdict"]
    squeezed = "".join(words.split())  # words are broken at hyphens
    left_out = [one for one in verdict if "".join(one.split()) not in squeezed]
    lesser = ("That is with its lift", "What to change", "What its own twist adds")
    assert all(one.startswith(lesser) for one in left_out)
    assert "the rest of each paragraph" in words
    for name in ("Verdict", "In flight", "Balance", "Engine", "Test", "Do first"):
        assert any(line.startswith(name) for line in lines)


def test_a_full_screen_leaves_out_the_lesser_sentences_first() -> None:
    lesser = ["Taken as butted on its brace. " * 3, "Hardest is a roll. " * 9, "It balances ahead of it."]
    told = {"Verdict": ["Not fit to fly as drawn. " * 70, "Do not fly faster than 50 km/h. ", *lesser]}
    kept = _shortened(told, 80)["Verdict"]
    assert kept[:2] == told["Verdict"][:2]
    assert "It balances ahead of it." not in kept
    assert sum(len(_laid(name, said, 60)) for name, said in _shortened(told, 60).items()) > len(kept)
    assert lesser[-1] in _shortened(told, 60)["Verdict"]  # a narrow one scrolls
