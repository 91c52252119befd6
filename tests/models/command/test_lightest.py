"""`lightest`: words, document, picture, wing file, exit codes, and every option's effect."""

from __future__ import annotations

import itertools
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from models.command.faults import InputFault
from models.command.lightest import ends_once, in_words, read_stock
from models.studies.lightest import search
from models.verdict import down, record, verdict
from models.wing.reading import read
from models.wings import shipped
from tests.variants import limber_text

QUICK = ("--mesh", "1", "--survival", "none", "--load-factor", "2")


def answer(sparbay: Callable, *words: str | Path) -> Any:
    run = sparbay("lightest", *words, "--json")
    assert run.code in (0, 1), run.err
    return run.document


def test_document_words_picture_and_wing_file(sparbay: Callable, tmp_path: Path) -> None:
    out = tmp_path / "light.toml"
    run = sparbay(
        "lightest", "spar-box", *QUICK, "--bays", "1-3", "--no-runs", "--json", "--folder", tmp_path / "new",
        "--layout-out", out,
    )  # fmt: skip
    found = run.document
    assert run.code == 0
    assert found["layouts"] == found["evaluated"] == 64
    assert found["answer"]["proven"]
    assert found["answer"]["sentences"][0].startswith("Lightest that holds 2 times its load: ")
    assert found["lightest"]["load_factor_at_first_failure"] >= 2
    assert 0 <= found["lightest"]["survival"] <= 1
    picture = tmp_path / "new" / "lightest.png"
    assert picture.read_bytes().startswith(b"\x89PNG")
    assert found["files"] == [str(picture), str(out)]
    checked = sparbay("check", out, "--json", "--mesh", "1").document
    first = found["lightest"]["load_factor_at_first_failure"]
    assert checked["answer"]["reserve_factor"] == pytest.approx(first, rel=1e-9)
    text = " ".join(
        sparbay("lightest", "spar-box", *QUICK, "--bays", "1-3", "--no-runs", "--full").out.split()
    )
    assert all(sentence in text for sentence in found["answer"]["sentences"])
    assert all(caution in text for caution in found["cautions"])


def test_every_option_matters(sparbay: Callable) -> None:
    base = ("spar-box", "--bays", "1-2", *QUICK)
    plain = answer(sparbay, *base)
    mass = plain["answer"]["web_mass_kg"]
    bend, best_bend = (plain[k]["tip_deflection_m"] for k in ("lightest", "webs_everywhere"))

    def other(*words: str) -> Any:
        return answer(sparbay, *base, *words)

    assert other("--load-factor", "30")["answer"]["web_mass_kg"] > mass
    assert other("--mesh", "2")["as_drawn"] != plain["as_drawn"]
    assert other("--deflection", f"{500 * (bend + best_bend)} mm")["answer"]["web_mass_kg"] > mass
    assert other("--twist", "0.001 deg")["limits"]["tip_twist_rad"] < 1e-4
    assert other("--web-mass", "0.1 g")["answer"]["found"] != other("--web-mass", "100 g")["answer"]["found"]
    assert other("--bays", "1")["layouts"] == 4
    assert answer(sparbay, "box-two-spars", *QUICK, "--bays", "1", "--spar", "rear")["layouts"] == 4
    assert other("--survival", "99 %", "--load-factor", "20")["scattered"]
    few, many = (other("--stock", f"1.6 mm: {n} x 100 mm x 100 mm")["answer"]["found"] for n in (1, 9))
    assert (few, many) == (False, True)


def test_runs_leave_fewer_layouts(sparbay: Callable) -> None:
    base = ("spar-box", "--bays", "1-3", *QUICK)
    assert answer(sparbay, *base)["layouts"] < answer(sparbay, *base, "--no-runs")["layouts"] == 64


def test_webs_of_a_file_that_end_twice_ask_for_every_layout() -> None:
    wing = read(shipped()["box-two-spars"])
    assert ends_once(wing)
    spar = wing.spars[0]
    gap = replace(spar, webs=tuple(web for web in spar.webs if web.bay != 2))
    assert not ends_once(replace(wing, spars=(gap, *wing.spars[1:])))


def test_seconds_bound_a_search(sparbay: Callable, monkeypatch: pytest.MonkeyPatch) -> None:
    """By a clock that goes on whenever it is looked at, and so as far on a slow machine as on a fast one."""
    now = itertools.count(0.0, 0.2)
    monkeypatch.setattr(search, "time", SimpleNamespace(monotonic=lambda: next(now)))
    base = ("trainer", "--mesh", "1", "--survival", "none", "--load-factor", "17", "--no-runs")
    hasty = answer(sparbay, *base, "--seconds", "1")
    assert not hasty["answer"]["proven"]
    assert hasty["evaluated"] < hasty["layouts"]
    assert "more time" in " ".join(hasty["answer"]["sentences"]).lower() or hasty["answer"]["found"]
    longer = answer(sparbay, *base, "--seconds", "3")
    assert longer["evaluated"] > hasty["evaluated"]


@pytest.mark.long
def test_what_was_found_before_an_interrupt_is_told(
    sparbay: Callable, monkeypatch: pytest.MonkeyPatch
) -> None:
    ticks = itertools.count()

    def now() -> float:
        if next(ticks) == 12:
            raise KeyboardInterrupt
        return 0.0

    monkeypatch.setattr(search, "time", SimpleNamespace(monotonic=now))
    base = ("trainer", "--mesh", "1", "--survival", "none", "--load-factor", "10", "--no-runs")
    found = answer(sparbay, *base)
    assert not found["answer"]["proven"]
    assert 2 < found["evaluated"] < found["layouts"]
    assert "Interrupted: " in " ".join(found["answer"]["sentences"])
    assert found["answer"]["found"]


def test_leaves_with_1_where_no_layout_will_do(sparbay: Callable) -> None:
    run = sparbay(
        "lightest", "spar-box", "--mesh", "1", "--bays", "1-2", "--load-factor", "100", "--web-mass", "1 g"
    )
    assert run.code == 1
    assert "None of the" in run.out


def test_faults_are_told(sparbay: Callable, wing_file: Callable, tmp_path: Path) -> None:
    taken = tmp_path / "taken.toml"
    taken.write_text("mine", encoding="utf-8")
    for words, told in (
        (("spar-box", "--spar", "middle"), "middle"),
        (("spar-box", "--bays", "1-99"), "bays of this wing, 1-6"),
        (("spar-box", "--bays", "5-2"), "not a bay"),
        (("spar-box", "--layout-out", taken), "not overwritten"),
        (("spar-box", "--stock", "thin"), "is not sheets at hand"),
        (("spar-box", "--survival", "20 %"), "from 50 %"),
        (("spar-box", "--deflection", "wide"), "wide"),
    ):
        run = sparbay("lightest", *words)
        assert run.code == 2, words
        assert told in run.err
    assert taken.read_text(encoding="utf-8") == "mine"


def test_sheeting_that_ends_between_spars(sparbay: Callable, wing_file: Callable) -> None:
    partial = wing_file(
        (
            "[leading_edge]",
            '[[sheeting]]\nfrom = "leading edge"\nto = "15 %"\nthickness = "1 mm"\n\n[leading_edge]',
        )
    )
    found = answer(sparbay, partial, *QUICK, "--bays", "3", "--no-runs")
    assert found["layouts"] == found["evaluated"] == 4
    assert "built anew" in found["about"]


def test_layouts_rejected_by_the_verdict_are_told(sparbay: Callable, tmp_path: Path) -> None:
    file, out = tmp_path / "limber.toml", tmp_path / "light.toml"
    file.write_text(limber_text().replace("load_factor = 4", "load_factor = 9"), encoding="utf-8")
    found = answer(
        sparbay, file, "--mesh", "1", "--survival", "none", "--bays", "5-6", "--no-runs", "--layout-out", out
    )
    said = " ".join(found["answer"]["sentences"])
    assert found["rejected_by_the_verdict"] == len(found["judged"]) - 1 == 1
    assert "; 1 lighter on the fronts was rejected by that." in said
    again = record(verdict(read(out), per_bay=1))
    of_lightest = found["lightest"]["verdict"]
    for key in ("load_factor_failing_mean_wood", "load_factor_failing_one_in_twenty", "share_surviving_all"):
        assert of_lightest[key] == pytest.approx(again[key], rel=1e-9)
        assert found["verdict"][key] == of_lightest[key]
    assert f"it fails at {down(again['load_factor_failing_mean_wood'])} g; hardest is pull-up" in said


def test_sheets_at_hand() -> None:
    one = read_stock("balsa medium, 1.5 mm: 2 x 100 mm x 1 m")
    assert (one.thickness, one.wood) == (1.5e-3, "balsa medium")
    assert one.area == pytest.approx(0.2)
    assert read_stock("1/16 in: 1 x 3 in x 36 in").wood == ""
    for bad in (
        "1.5 mm",
        "1.5 mm: 2 x 100 mm",
        "1.5 mm: 0 x 100 mm x 1 m",
        "x: 1 x 1 mm x 1 mm",
        "1 mm: 1 x 1 x 1",
    ):
        with pytest.raises(InputFault, match="sheets at hand"):
            read_stock(bad)


def test_layouts_in_words() -> None:
    faces = {
        ("front", 1): ("front", "rear"),
        ("front", 2): ("front", "rear"),
        ("front", 3): ("rear",),
        ("aft spar", 1): (),
    }
    assert in_words(faces) == "webs on both faces in bays 1-2 and on the rear face in bay 3 of the front spar"
    assert in_words({("main", 1): ()}) == "no webs at all"
