"""`envelope`: document, words, pictures, exit codes and faults."""

from __future__ import annotations

import io
from collections.abc import Callable
from pathlib import Path

import pytest

from models.command.envelope import envelope_text
from models.report.text import Page

CASE = "[case]"
EVEN = (
    ("moment_coefficient = -0.05", "moment_coefficient = 0"),
    ("count = 13", "count = 5"), ("1-10", "1-3"), ('"1-3" # a second', '"1" # a second'),
)  # fmt: skip
"""Without a section moment every speed is alike, and the envelope is quick; few bays make it quicker."""


def test_document_words_and_picture(sparbay: Callable, wing_file: Callable, tmp_path: Path) -> None:
    wing = wing_file(*EVEN)
    run = sparbay("envelope", wing, "--json", "--mesh", "1", "--folder", tmp_path / "new")
    found = run.document
    assert run.code == (0 if found["answer"]["survives"] else 1)
    one = found["loadings"][0]
    assert one["critical_corner"] == found["answer"]["critical_corner"]
    assert one["critical_corner"]["part"]
    assert {a["key"] for a in found["assumed"]} >= {"flight.max_lift_coefficient", "flight.gust_velocity"}
    picture = tmp_path / "new" / "envelope.png"
    assert found["files"] == [str(picture)]
    assert picture.read_bytes().startswith(b"\x89PNG")
    page = io.StringIO()
    out = Page(page)
    envelope_text(out, found)
    out.end()
    text = " ".join(page.getvalue().split())
    assert all(sentence in text for sentence in found["answer"]["sentences"])
    assert all(caution in text for caution in found["cautions"])


def test_leaves_with_1_where_a_corner_breaks_the_wing(sparbay: Callable, wing_file: Callable) -> None:
    good = wing_file(*EVEN, ("load_factor = 6", "load_factor = 2"))
    assert sparbay("envelope", good, "--mesh", "1").code == 0
    bad = wing_file(*EVEN, ("load_factor = 6", "load_factor = 60"))
    assert sparbay("envelope", bad, "--mesh", "1").code == 1


def test_mesh_matters(sparbay: Callable, wing_file: Callable) -> None:
    wing = wing_file(*EVEN)
    rough, fine = (sparbay("envelope", wing, "--json", "--mesh", n).document["answer"] for n in ("1", "3"))
    assert rough["critical_corner"]["reserve_factor"] != fine["critical_corner"]["reserve_factor"]


def test_faults_are_told(sparbay: Callable, wing_file: Callable, tmp_path: Path) -> None:
    run = sparbay("envelope", "spar-box")
    assert run.code == 2
    assert "does not fly" in run.err
    light = wing_file(*EVEN, (CASE, '[flight.loadings.feather]\nmass = "1 g"\n\n[case]'))
    run = sparbay("envelope", light, "--mesh", "1")
    assert run.code == 2
    assert 'flight.loadings.feather.mass: "1 g"' in run.err
    below = wing_file(*EVEN, (CASE, '[flight]\nnever_exceed_speed = "15 km/h"\n\n[case]'))
    run = sparbay("envelope", below, "--mesh", "1")
    assert run.code == 2
    assert 'flight.never_exceed_speed: "15 km/h" is below the stall speed' in run.err
    slow = wing_file((CASE, '[flight]\ncruise_speed = "90 km/h"\nnever_exceed_speed = "90 km/h"\n\n[case]'))
    run = sparbay("envelope", slow)
    assert run.code == 2
    assert "flight.never_exceed_speed" in run.err
    (tmp_path / "taken").mkdir()
    (tmp_path / "taken" / "file").touch()
    assert sparbay("envelope", "trainer", "--folder", tmp_path / "taken").code == 2


def test_the_last_good_never_exceed_speed(sparbay: Callable, wing_file: Callable) -> None:
    just = wing_file(
        *EVEN, (CASE, '[flight]\ncruise_speed = "90 km/h"\nnever_exceed_speed = "90.1 km/h"\n\n[case]')
    )
    assert sparbay("envelope", just, "--mesh", "1").code in (0, 1)


@pytest.mark.parametrize(
    ("flight", "path"),
    [
        ("max_lift_coefficient = 0", "flight.max_lift_coefficient"),
        ("max_lift_coefficient_inverted = -0.5", "flight.max_lift_coefficient_inverted"),
        ('cruise_speed = "0 km/h"', "flight.cruise_speed"),
        ("cruise_speed = 90", "flight.cruise_speed"),
        ('never_exceed_speed = "fast"', "flight.never_exceed_speed"),
        ('gust_velocity = "-1 m/s"', "flight.gust_velocity"),
        ('never_exceed_gust_velocity = "3 kg"', "flight.never_exceed_gust_velocity"),
        ("inverted_load_factor = 0", "flight.inverted_load_factor"),
        ('air_density = "0 kg/m3"', "flight.air_density"),
        ('loadings.full.mass = "0 kg"', "flight.loadings.full.mass"),
        ('loadings.full.masses.tank = "100 g"', "flight.loadings.full.masses.tank"),
        ("loadings.full.masses = {}", "flight.loadings.full"),
        ("gust_speed = 3", "flight.gust_speed"),
        ("max_lift_coefficient = nan", "flight.max_lift_coefficient"),
    ],
)
def test_a_bad_key_is_named(sparbay: Callable, wing_file: Callable, flight: str, path: str) -> None:
    run = sparbay("envelope", wing_file((CASE, f"[flight]\n{flight}\n\n[case]")))
    assert run.code == 2
    assert path in run.err
    assert "Traceback" not in run.err


def test_a_misspelt_mass_gets_a_hint(sparbay: Callable, wing_file: Callable) -> None:
    masses = '[[masses]]\nname = "tank"\nmass = "100 g"\nx = "50 mm"\n\n'
    run = sparbay(
        "envelope", wing_file((CASE, f'{masses}[flight.loadings.dry.masses]\ntonk = "20 g"\n\n[case]'))
    )
    assert run.code == 2
    assert "did you mean tank?" in run.err
    good = wing_file(*EVEN, (CASE, f'{masses}[flight.loadings.dry.masses]\ntank = "0 g"\n\n[case]'))
    found = sparbay("envelope", good, "--mesh", "1", "--json").document
    assert [one["loading"] for one in found["loadings"]] == ["as in the file", "dry"]
    assert found["loadings"][1]["mass_kg"] < found["loadings"][0]["mass_kg"]
