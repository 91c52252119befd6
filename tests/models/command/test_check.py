"""`check`: the document's figures against hand calculations and each other, words and tables against it."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose

from models.command.record import CAUTIONS
from models.report.text import number

BAR_NUMBER = (int, float)


def numbers(value: Any, path: str = "") -> Iterator[tuple[str, float]]:
    """Every number of a document with its path."""
    if isinstance(value, dict):
        for key, item in value.items():
            yield from numbers(item, f"{path}.{key}")
    elif isinstance(value, list):
        for i, item in enumerate(value):
            yield from numbers(item, f"{path}[{i}]")
    elif isinstance(value, BAR_NUMBER) and not isinstance(value, bool):
        yield path, value


def test_document_of_a_wing(sparbay: Callable, wing_file: Callable) -> None:
    run = sparbay("check", wing_file(), "--json")
    found = run.document
    assert run.err == ""
    assert found["command"] == "check"
    assert found["kind"] == "wing"
    assert found["cautions"] == list(CAUTIONS)
    assert all(math.isfinite(number) for _, number in numbers(found))
    answer = found["answer"]
    assert answer["survives"] is answer["verdict"]["fit"]
    assert run.code == (0 if answer["survives"] else 1)
    assert_allclose(answer["load_factor_asked"], 6.0, rtol=1e-12)
    assert_allclose(
        answer["load_factor_at_first_failure"],
        answer["reserve_factor"] * answer["load_factor_asked"],
        rtol=1e-12,
    )
    reserves = [bay["reserve_factor"] for bay in found["bays"]]
    assert reserves == sorted(reserves)
    every = [m["reserve_factor"] for m in found["bays"] + found["other_parts"]]
    counts = next(c for c in answer["verdict"]["cases"] if c["case"] == "pull-up")
    assert_allclose(min(every), counts["reserve_factor_mean_wood"], rtol=1e-12)
    assert_allclose(answer["reserve_factor"], counts["reserve_factor_as_built"], rtol=1e-9)
    keys = [(bay["bay"], bay["side"], bay["spar"]) for bay in found["bays"]]
    assert sorted(keys) == [(n, "starboard", "main") for n in range(1, 13)]
    flight = found["results"]["pull_up"]
    assert_allclose(flight["lift_N"], 6 * 1.5 * 9.80665, rtol=1e-12)
    assert [r["y_m"] for r in flight["ribs"]] == pytest.approx(np.linspace(0, 0.75, 13), rel=1e-9, abs=1e-12)
    assert flight["ribs"][0]["deflection_m"] == 0
    assert [b["bay"] for b in flight["mid_bays"]] == list(range(1, 13))
    assert {frozenset(b["web_shear_stress_Pa"]) for b in flight["mid_bays"][:10]} == {
        frozenset({"front", "rear"}),
        frozenset({"rear"}),
    }
    checks = found["solve_checks"]
    assert checks["residual_over_loads"] < 1e-9
    assert checks["support_reaction_over_loads"] < 1e-8
    mass = found["mass"]
    assert_allclose(mass["structure_kg"], sum(mass["structure_by_kind_kg"].values()), rtol=1e-12)
    # Two sides, two caps of spruce (448 kg/m3) 8 x 5 mm, 750 mm long; dihedral of 3 degrees adds 1.4e-3.
    assert_allclose(mass["structure_by_kind_kg"]["cap"], 4 * 448 * 0.008 * 0.005 * 0.75, rtol=3e-3)
    assert_allclose(mass["aeroplane_kg"], 1.5, rtol=1e-12)
    assert {"key": "braces[0].grain", "value": "span"} in found["assumed"]


def test_answer_comes_first_then_cautions_then_tables(sparbay: Callable, wing_file: Callable) -> None:
    file = wing_file()
    text, found = sparbay("check", file, "--full").out, sparbay("check", file, "--json").document
    lines = text.splitlines()
    flat = " ".join(lines)
    assert lines[0] == "My wing"
    position = [
        flat.index(part) for part in (*found["answer"]["sentences"], *CAUTIONS, "Bays, the weakest first")
    ]
    assert position == sorted(position)
    table = text[text.index("Bays, the weakest first") : text.index("Deflection and twist")]
    rows = [re.split(r"\s{2,}", line.strip()) for line in table.splitlines()[4:] if line.strip()]
    assert [int(r[0]) for r in rows[:12]] == [b["bay"] for b in found["bays"]]
    assert float(rows[0][2]) == math.floor(found["bays"][0]["reserve_factor"] * 100) / 100
    for title in ("Mass", "Proof of the solve", "Assumed, since the file does not say"):
        assert title in text


def test_what_is_borne_is_rounded_down(sparbay: Callable, wing_file: Callable) -> None:
    """The load factor is set so that the wing fails just below it, then so that 95 of 100 just bear it."""

    def asked(load_factor: float, *words: str) -> Any:
        # At one speed, so that all loads grow alike, those of the bent wing too.
        flown = f'load_factor = {load_factor:.6f}\nspeed = "60 km/h"'
        return sparbay("check", wing_file(("load_factor = 6", flown), ("-0.05", "0")), "--mesh", "1", *words)

    def decided(load_factor: float) -> Any:
        run = asked(load_factor, "--json")
        return run.code, run.document["answer"]["verdict"]

    _, found = decided(6.0)
    first, fifth = found["load_factor_failing_mean_wood"], found["load_factor_failing_one_in_twenty"]
    code, found = decided(first * 1.0005)
    assert code == 1
    assert found["load_factor_failing_mean_wood"] < found["load_factor_asked"]
    run = asked(first * 1.0005)
    assert run.code == 1
    assert f"it fails at {math.floor(10 * first) / 10:.1f} g in mean wood" in " ".join(run.out.split())
    code, found = decided(first * 0.99)
    assert code == 1  # in mean wood it bears it, but too few such wings do
    assert found["load_factor_failing_mean_wood"] > found["load_factor_asked"]
    code, found = decided(fifth * 0.99)
    assert code == 0
    assert found["share_surviving_all"] >= 0.95


SPECIMEN = """
[specimen]
length = "300 mm"
depth = "30 mm"
[ribs]
pitch = "60 mm"
thickness = "2 mm"
[[spars]]
name = "spar"
caps = {{ width = "10 mm", height = "6 mm", wood = "spruce" }}
[[spars.webs]]
bays = "all"
face = "{face}"
thickness = "1.6 mm"
[case]
{load}
"""


def specimen(folder: Path, load: str, face: str = "both") -> Path:
    path = folder / "specimen.toml"
    path.write_text(SPECIMEN.format(load=load, face=face))
    return path


def test_document_of_a_specimen(sparbay: Callable, tmp_path: Path) -> None:
    file = specimen(tmp_path, 'tip_force = "5 N"\ntip_torque = "20 N mm"', "front")
    found = sparbay("check", file, "--json").document
    assert found["kind"] == "specimen"
    results = found["results"]
    assert set(results) == {"force", "torque", "both", "unit_force", "unit_torque"}

    def of(case: str, key: str) -> np.ndarray:
        return np.array([row[key] for row in results[case]["ribs"]])

    for key in ("deflection_m", "twist_rad"):
        assert_allclose(of("both", key), of("force", key) + of("torque", key), rtol=1e-7)
        assert_allclose(of("force", key), 5 * of("unit_force", key), rtol=1e-7)
        assert_allclose(of("torque", key), 0.02 * of("unit_torque", key), rtol=1e-7)
    assert_allclose(of("force", "y_m"), [0.06, 0.12, 0.18, 0.24, 0.299, 0.3], rtol=1e-9)
    assert results["force"]["tip"][0] == results["force"]["ribs"][-1]
    assert [b["bay"] for b in results["force"]["mid_bays"]] == [1, 2, 3, 4, 5]
    assert_allclose([b["y_m"] for b in results["force"]["mid_bays"]], 0.03 + 0.06 * np.arange(5), rtol=1e-9)
    flex = found["flexibilities"]
    # Reciprocity: deflection by torque is twist by force.
    assert_allclose(
        flex["deflection_by_torque_m_per_N_m"], np.transpose(flex["twist_by_force_rad_per_N"]), rtol=1e-6
    )
    # A force at the twist-free place is the force with the torque -x F: the tip must not twist.
    x = flex["twist_free_force_aft_of_caps_m"][0]
    assert x < -0.005  # an open C bends untwisted about a point beyond its web
    assert_allclose(
        flex["twist_by_force_rad_per_N"][0][0], x * flex["twist_by_torque_rad_per_N_m"][0][0], rtol=1e-9
    )
    answer = found["answer"]
    assert_allclose(answer["tip_force_at_first_failure_N"], 5 * answer["reserve_factor"], rtol=1e-12)


def test_a_load_beyond_what_the_caps_bear_is_said(sparbay: Callable, tmp_path: Path) -> None:
    said = "times what a cap bears"
    texts = {}
    for force in ("1 N", "9 kN"):
        file = specimen(tmp_path, f'tip_force = "{force}"')
        texts[force] = " ".join(sparbay("check", file, "--mesh", "1").out.split())
    assert said not in texts["1 N"]
    assert said in texts["9 kN"]


def test_moved_force_does_not_twist(sparbay: Callable, tmp_path: Path) -> None:
    """The twist-free place found by superposition, put back in as force and torque."""
    flex = sparbay("check", specimen(tmp_path, 'tip_force = "1 N"', "front"), "--json").document[
        "flexibilities"
    ]
    x = flex["twist_free_force_aft_of_caps_m"][0]
    load = f'tip_force = "1 N"\ntip_torque = "{-x * 1e3:.9f} N mm"'
    found = sparbay("check", specimen(tmp_path, load, "front"), "--json").document
    tip = found["results"]["both"]["tip"][0]
    alone = found["results"]["force"]["tip"][0]
    assert abs(tip["twist_rad"]) < 1e-6 * abs(alone["twist_rad"])
    assert_allclose(tip["deflection_m"], flex["twist_free_deflection_m_per_N"][0], rtol=1e-6)


def test_mid_bay_of_a_box_against_statics(sparbay: Callable, tmp_path: Path) -> None:
    """Bending moment and shear at the middle of bay 3 of a box under 1 N, 150 mm from the tip.

    Caps (N, M) and the lapped strips together carry F (L - y); strips strain with the caps beside them.
    """
    found = sparbay("check", specimen(tmp_path, 'tip_force = "1 N"'), "--json").document
    bay = found["results"]["force"]["mid_bays"][2]
    arm, area, inertia = 0.024, 60e-6, 10e-3 * 6e-3**3 / 12
    cap = -bay["upper_cap_stress_Pa"] * area * arm - 2 * bay["upper_cap_stress_slope_z_Pa_per_m"] * inertia
    assert_allclose(bay["lower_cap_stress_Pa"], -bay["upper_cap_stress_Pa"], rtol=1e-6)
    # Strips: 2 on each cap, 1.6 x 6 mm of upright balsa, E along the span some hundredth of spruce's.
    assert_allclose(cap, 1.0 * 0.15, rtol=0.02)
    webs = bay["web_shear_stress_Pa"]
    assert_allclose(webs["front"], webs["rear"], rtol=1e-6)
    # Webs carry what the caps leave: each cap has dM/dy of its own, a tenth or so of the shear.
    in_webs = (webs["front"] + webs["rear"]) * 1.6e-3 * 18e-3
    assert 0.6 < in_webs < 0.95


def test_mesh_and_rigid_joints_change_the_answer(sparbay: Callable, tmp_path: Path) -> None:
    file = specimen(tmp_path, 'tip_force = "1 N"', "front")

    def tip(*options: str) -> float:
        return float(
            sparbay("check", file, "--json", *options).document["results"]["force"]["tip"][0]["deflection_m"]
        )

    plain = tip()
    assert tip("--mesh", "4") == plain
    assert tip("--mesh", "8") != plain
    assert_allclose(tip("--mesh", "8"), plain, rtol=0.02)
    assert tip("--rigid-joints") < plain


def test_a_shipped_wing_by_name_and_a_file_before_it(
    sparbay: Callable, wing_file: Callable, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert sparbay("check", "trainer", "--json").document["wing"] == "Trainer wing"
    monkeypatch.chdir(tmp_path)
    wing_file().rename(tmp_path / "trainer")
    assert sparbay("check", "trainer", "--json").document["wing"] == "My wing"


def test_no_colour_where_nobody_sees_it(sparbay: Callable, wing_file: Callable) -> None:
    assert "\x1b" not in sparbay("check", wing_file()).out


def test_check_ends_with_what_it_hangs_on(sparbay: Callable, wing_file: Callable, tmp_path: Path) -> None:
    for file, change in (
        (wing_file(), "load_factor_change"),
        (specimen(tmp_path, 'tip_force = "1 N"'), "load_multiple_change"),
    ):
        found = sparbay("check", file, "--json").document
        figures = found["hangs_on"]["figures"]
        assert len(figures) == 3
        changes = [abs(one[change]) for one in figures]
        assert changes == sorted(changes, reverse=True)
        for one in figures:
            assert 0 < one["standard_deviation_over_figure"] < 1
            assert one["source"]
        text = sparbay("check", file, "--full").out
        last = " ".join(text[text.index("What this answer hangs on") :].split())
        assert last.endswith(found["hangs_on"]["about"])
        for one in figures:
            assert one["words"][1:] in last
            assert f"{number(one['standard_deviation_over_figure'], 100, 2)} % more" in last
            assert f"{one[change]:+.2f} g" in last or f"{one[change]:+.3g} times the load" in last


def test_nothing_loaded_hangs_on_nothing(sparbay: Callable, tmp_path: Path) -> None:
    run = sparbay("check", specimen(tmp_path, 'tip_force = "0 N"'))
    assert "What this answer hangs on" not in run.out


def test_the_classic_panel_model_stands_beside_it_where_it_is_asked(sparbay: Callable) -> None:
    plain = sparbay("check", "spar-box", "--mesh", "1", "--json").document
    found = sparbay("check", "spar-box", "--mesh", "1", "--panels", "--json").document
    assert "panels" not in plain
    panels = found.pop("panels")
    said = found["answer"]["sentences"]
    assert said == plain["answer"]["sentences"] + panels["sentences"]
    assert {k: v for k, v in found.items() if k != "answer"} == {
        k: v for k, v in plain.items() if k != "answer"
    }
    assert abs(panels["deflection_m"] / panels["full_deflection_m"] - 1) < 0.1
    assert panels["load_factor"] > 0


def test_tables_have_sheeting_bowed_as_the_verdict_has(sparbay: Callable) -> None:
    """What the verdict names stands first, in whichever table it is, and its table is told first."""
    first_told = set()
    for wing, bows in (("sailplane", True), ("trainer", False)):
        found = sparbay("check", wing, "--mesh", "1", "--json").document
        answer, least = found["answer"], {k: found[k][0] for k in ("bays", "other_parts")}
        counts = next(c for c in answer["verdict"]["cases"] if c["case"] == "pull-up")
        goes = min(least, key=lambda k: least[k]["reserve_factor"])
        assert_allclose(least[goes]["reserve_factor"], counts["reserve_factor_mean_wood"], rtol=1e-12)
        built = counts["reserve_factor_as_built"]
        assert (built < 0.99 * answer["reserve_factor"]) is bows  # that with all sheeting whole
        pages = sparbay("check", wing, "--mesh", "1").out
        titles = re.findall("^(Bays|Rib posts), .*weakest first", pages, re.MULTILINE)
        assert titles[0] == {"bays": "Bays", "other_parts": "Rib posts"}[goes]
        first_told.add(goes)
    assert len(first_told) == 2
