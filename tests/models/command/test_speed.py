"""`speed`: document, words, tables, exit codes and faults."""

from __future__ import annotations

import io
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose
from PIL import Image

from models.command.speed import speed_text
from models.pictures.speed import animate_speed, moved
from models.report.text import Page
from models.studies.speed import bay_words, condense, speeds
from models.wing.reading import read
from tests.variants import heavy_tips_text

FEW_RIBS = (("count = 13", "count = 5"), ("1-10", "1-3"), ('1-3" # a second', '1" # a second'))
"""Changes to the plain wing where what is asked holds for any wing."""


def test_document_words_tables_and_picture(sparbay: Callable, tmp_path: Path) -> None:
    file = tmp_path / "heavy-tips.toml"
    file.write_text(heavy_tips_text(), encoding="utf-8")
    run = sparbay("speed", file, "--json", "--mesh", "1", "--folder", tmp_path / "new")
    found = run.document
    answer, first = found["answer"], found["beating"][0]
    assert run.code == 1
    assert answer["survives"] is False
    assert answer["comes_first"] == "beating"
    assert answer["advised_speed_m_per_s"] * 1.2 == pytest.approx(answer["counted_speed_m_per_s"])
    assert answer["counted_speed_m_per_s"] == found["beating_fifth_percentile_m_per_s"]
    assert answer["at_speed_m_per_s"] == first["speed_m_per_s"]
    assert first["kind"] == "antisymmetric"
    assert set(first["bays"]) <= {11, 12, 13, 14}
    layouts = {row["layout"]: row for row in found["layouts"]}
    assert found["layouts"][0]["layout"] == "as drawn"
    assert layouts["no webs"]["web_mass_kg"] == 0
    assert layouts["no webs"]["beating_m_per_s"] < 0.7 * layouts["as drawn"]["beating_m_per_s"]
    assert layouts["box"]["reversal_m_per_s"] > layouts["no webs"]["reversal_m_per_s"]
    by_speed = found["by_speed"]
    assert {len(mode["frequency_Hz"]) for mode in by_speed["modes"]} == {len(by_speed["speed_m_per_s"])}
    assert found["air"] == ["strips", "lattice"]
    by_lattice = found["lattice"]["beating"][0]
    assert by_lattice["kind"] == "antisymmetric"
    assert 1.05 < by_lattice["speed_m_per_s"] / first["speed_m_per_s"] < 1.3
    fin = next(one for one in found["helps"] if one["change"].startswith("fin "))
    assert fin["added_kg"] == pytest.approx(0, abs=1e-12)
    assert fin["lowest_m_per_s"] > 1.2 * answer["at_speed_m_per_s"]
    webs = [one for one in found["helps"] if "webs" in one["change"]]
    assert all(one["added_kg"] > 0 for one in webs)
    assert found["beating_fifth_percentile_m_per_s"] < first["speed_m_per_s"]
    bent = found["pull_up"]
    assert bent["root_bending_N_m"] > 1.05 * bent["rigid_root_bending_N_m"]
    assert sum(strip["more_lift_N"] for strip in bent["strips"]) == pytest.approx(0, abs=1e-7)
    assert {tone["wing"].split(",")[0] for tone in found["tap_test"]} == {"bare", "equipped"}
    assert found["control"] is None
    assert any("no servo_stiffness in the file" in words for words in answer["sentences"])
    picture = tmp_path / "new" / "speed.png"
    assert found["files"] == [str(picture), str(picture.with_name("tones.csv"))]
    assert picture.read_bytes().startswith(b"\x89PNG")
    page = io.StringIO()
    out = Page(page)
    speed_text(out, found)
    out.end()
    text = " ".join(page.getvalue().split())
    assert all(sentence in text for sentence in answer["sentences"])
    assert all(caution in text for caution in found["cautions"])
    assert "Modes over speed, antisymmetric" in text
    assert "one side up, the other down" in text
    assert "lattice" in text
    assert "Not counted" in text


def test_an_aeroplane_with_a_body_says_so_and_passes_when_slow(
    sparbay: Callable, wing_file: Callable
) -> None:
    file = wing_file(("[case]", '[case]\nspeed = "12 m/s"'), *FEW_RIBS)
    run = sparbay("speed", file, "--mesh", "1", "--json")
    assert run.code == 0
    assert run.document["answer"]["survives"] is True
    assert run.document["mass"]["in_the_middle_kg"] > 0
    assert any("no place in the file" in words for words in run.document["about"])
    assert run.document["reversal_m_per_s"] is None


@pytest.mark.long
def test_loose_elevons_are_told_with_their_slack(sparbay: Callable, wing_file: Callable) -> None:
    table = '[elevons]\nfrom = "300 mm"\nto = "600 mm"\nhinge = "75 %"\n'
    servo = 'servo_stiffness = "1 N mm/deg"\nslack = "1 deg"\n'
    fewer = (("count = 13", "count = 7"), *FEW_RIBS[1:])  # enough of them behind the hinge
    file = wing_file(("[case]", table + servo + "[case]"), *fewer)
    run = sparbay("speed", file, "--mesh", "1", "--json")
    assert run.document["control"]["slack_rad"] == pytest.approx(0.0174533, rel=1e-5)
    assert run.document["rattle_m_per_s"] is not None
    sentences = " ".join(run.document["answer"]["sentences"])
    assert "elevons may rattle by themselves" in sentences
    assert "servo_stiffness in the file" not in sentences
    assert any("Elevons turn on their servos" in words for words in run.document["about"])
    heavy = wing_file(("[case]", table + servo + 'mass = "3 kg"\n[case]'), *fewer)
    refused = sparbay("speed", heavy, "--mesh", "1")
    assert refused.code == 2
    assert "elevons.mass" in refused.err


def test_thin_air_lets_it_fly_faster(sparbay: Callable, wing_file: Callable) -> None:
    """Twice the speed in a quarter of the density, with the lag of the air at the same pace."""
    rows = []
    for density in ("1.2 kg/m3", "0.3 kg/m3"):
        file = wing_file(("[case]", f'[case]\nspeed = "22 m/s"\nair_density = "{density}"'), *FEW_RIBS)
        rows.append(sparbay("speed", file, "--mesh", "1", "--json").document)
    assert rows[1]["twist_off_m_per_s"] == pytest.approx(2 * rows[0]["twist_off_m_per_s"], rel=1e-6)
    assert rows[1]["answer"]["at_speed_m_per_s"] > rows[0]["answer"]["at_speed_m_per_s"]


def test_a_speed_that_the_file_does_not_state_is_asked_of_nobody(
    sparbay: Callable, wing_file: Callable
) -> None:
    run = sparbay("speed", wing_file(*FEW_RIBS), "--mesh", "1", "--json")
    assert run.document["answer"]["asked_speed_m_per_s"] is None
    assert run.code == 0
    assert any("no speed in the file" in words for words in run.document["answer"]["sentences"])


def test_speed_enters_the_verdict_where_it_is_asked_for(sparbay: Callable, wing_file: Callable) -> None:
    """Not looked at without the option; a file that asks for more than is let is not fit."""
    fast = wing_file(("[case]", '[case]\nspeed = "300 km/h"'), *FEW_RIBS)
    plain = sparbay("check", fast, "--mesh", "1", "--json").document
    assert plain["answer"]["verdict"]["speed"] is None
    assert any("not looked at" in words for words in plain["answer"]["sentences"])
    looked = sparbay("check", fast, "--mesh", "1", "--json", "--speed")
    found = looked.document["answer"]["verdict"]["speed"]
    assert looked.code == 1
    assert found["holds"] is False
    assert found["asked_m_per_s"] == pytest.approx(300 / 3.6)
    assert looked.document["answer"]["verdict"]["fit"] is False
    assert any("too fast" in words for words in looked.document["answer"]["sentences"])
    assert sparbay("check", "spar-c", "--speed").code == 2


@pytest.mark.long
def test_commands_agree_on_speeds(sparbay: Callable, wing_file: Callable) -> None:
    file = wing_file(("[case]", '[case]\nspeed = "300 km/h"'), *FEW_RIBS)
    own = sparbay("speed", file, "--mesh", "1", "--json").document
    decided = sparbay("check", file, "--mesh", "1", "--json", "--speed").document["answer"]["verdict"]
    advised = decided["speed"]["advised_m_per_s"]
    assert advised == pytest.approx(own["answer"]["advised_speed_m_per_s"], rel=1e-9)
    rows = sparbay("compare", file, "--mesh", "1", "--json", "--speed").document["layouts"]
    wing = {row["layout"]: row["speed_m_per_s"] for row in rows if row["scope"] == "wing"}
    assert wing == {row["layout"]: row["lowest_m_per_s"] for row in own["layouts"]}


@pytest.mark.long
def test_webs_worth_in_speed_and_layouts_by_it(
    sparbay: Callable, wing_file: Callable, tmp_path: Path
) -> None:
    file = wing_file(*FEW_RIBS)
    webs = sparbay("worth", file, "--mesh", "1", "--json", "--speed").document["webs"]
    assert {web["present"] for web in webs} == {True, False}
    assert all((web["flutter_m_per_s_per_kg"] is not None) == web["present"] for web in webs)
    free = ("--mesh", "1", "--json", "--survival", "none", "--bays", "3-4")
    rows = [sparbay("lightest", file, *free, *more).document for more in ((), ("--speed", "1 m/s"))]
    assert rows[0]["lightest"]["web_mass_kg"] == rows[1]["lightest"]["web_mass_kg"]
    asked = 1.001 * rows[1]["flown"][0]["fastest_advised_m_per_s"]
    faster = sparbay("lightest", file, *free, "--speed", f"{asked:.6f} m/s").document
    assert len(faster["flown"]) > 1
    if faster["answer"]["found"]:
        assert faster["flown"][-1]["fastest_advised_m_per_s"] >= asked * (1 - 1e-6)
    laid = tmp_path / "laid.toml"
    sparbay("lightest", file, *free, "--speed", "1 m/s", "--layout-out", laid)
    own = sparbay("speed", laid, "--mesh", "1", "--json").document["answer"]["advised_speed_m_per_s"]
    assert rows[1]["flown"][0]["fastest_advised_m_per_s"] == pytest.approx(own, rel=1e-6)
    assert sparbay("lightest", file, *free, "--speed", "1").code == 2


def test_the_shape_that_beats_moves(tmp_path: Path, path_of: Callable) -> None:
    """Half a swing later everything is where it was, the other way up; sides are opposite or alike."""
    found = speeds(condense(read(path_of("short-tailless")), per_bay=1), n_modes=0)
    one = found.beating[0]
    x, y, z = moved(found, one, 0.7)
    back = moved(found, one, 0.7 + np.pi)
    assert_allclose(back[2], -z, atol=1e-12)
    assert_allclose(back[0], x)
    sign = -1 if one.kind == "antisymmetric" else 1
    assert_allclose(z[::-1], sign * z, atol=1e-6 * np.abs(z).max())
    assert_allclose(y[::-1], -y, atol=1e-12)
    with Image.open(animate_speed(found, tmp_path / "beating.gif")) as picture:
        assert picture.format == "GIF"
        assert picture.n_frames == 20


def test_a_moving_picture_needs_a_place(sparbay: Callable) -> None:
    run = sparbay("speed", "trainer", "--moving")
    assert run.code == 2
    assert "--folder" in run.err


def test_a_specimen_has_no_speed(sparbay: Callable) -> None:
    run = sparbay("speed", "spar-c")
    assert run.code == 2
    assert "does not fly" in run.err


def test_bays_in_words() -> None:
    assert bay_words((3,)) == "bay 3"
    assert bay_words((3, 4, 5)) == "bays 3 to 5"
    assert bay_words((1, 4, 5)) == "bays 1, 4 and 5"


def test_what_a_gram_buys_is_one_table_on_one_screen(sparbay: Callable, tmp_path: Path) -> None:
    run = sparbay("speed", "trainer", "--buys", "--mesh", "1")
    assert run.code == 0
    lines = run.out.splitlines()
    assert len(lines) <= 39
    names = ("no webs", "front C", "box", "as drawn", "webs on to")
    assert sum(line.startswith(names) for line in lines) >= 5
    found = sparbay("speed", "trainer", "--buys", "--mesh", "1", "--json").document
    assert found["buys"][0]["name"] == "no webs"
    assert {"beats_m_per_s", "twists_off_m_per_s", "no_grip_m_per_s"} <= set(found["buys"][0])
    wrong = sparbay("speed", "trainer", "--buys", "--folder", tmp_path / "new")
    assert wrong.code == 2
    assert not (tmp_path / "new").exists()
