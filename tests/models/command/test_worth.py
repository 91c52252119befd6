"""`worth`: document, words, options and what is refused."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from models.command import main
from models.rounding import down
from models.wings import shipped


@pytest.fixture
def short(tmp_path: Path) -> Path:
    """The spar with one web, of a third of its length: two bays."""
    text = shipped()["spar-c"].read_text(encoding="utf-8")
    assert 'length = "360 mm"' in text
    path = tmp_path / "short.toml"
    path.write_text(text.replace('length = "360 mm"', 'length = "120 mm"'), encoding="utf-8")
    return path


def test_document_and_words_of_a_specimen(sparbay: Callable, short: Path) -> None:
    run = sparbay("worth", short, "--mesh", "1", "--json")
    assert run.code == 0
    found = run.document
    assert found["kind"] == "specimen"
    text = " ".join(sparbay("worth", short, "--mesh", "1", "--full").out.split())
    assert all(sentence in text for sentence in found["answer"]["sentences"])
    assert all(caution in text for caution in found["cautions"])
    gains = [w["change"]["load_factor_per_kg"] for w in found["webs"]]
    assert gains == sorted(gains, reverse=True)
    for web in found["webs"]:
        change = web["change"]
        assert (change["mass_kg"] > 0) == (not web["present"])
        per_kg = change["tip_deflection_m"] / change["mass_kg"]
        assert abs(per_kg - change["tip_deflection_m_per_kg"]) < 1e-9 * abs(per_kg)
        assert change["load_factor_fifth_percentile"] is None
    best = found["answer"]["next_in"]
    absent = [w for w in found["webs"] if not w["present"]]
    assert best is None or (best["bay"], best["face"]) == (absent[0]["bay"], absent[0]["face"])
    assert {s["what"] for s in found["sizes"]} >= {"cap width", "cap height", "density"}


@pytest.mark.long
def test_mesh_and_woods_matter(sparbay: Callable, short: Path) -> None:
    plain, finer, woods = (
        sparbay("worth", short, "--json", *more).document
        for more in (("--mesh", "1"), ("--mesh", "2"), ("--mesh", "1", "--woods"))
    )
    assert plain["as_drawn"]["tip_deflection_m"] != finer["as_drawn"]["tip_deflection_m"]
    assert not plain["other_woods"]
    assert {row["wood"] for row in woods["other_woods"]} == set(woods["woods_tried"])
    assert len(woods["other_woods"]) == 4 * sum(w["present"] for w in woods["webs"])


@pytest.mark.long
def test_scatter_and_seed_matter(sparbay: Callable, short: Path) -> None:
    first, other = (
        sparbay("worth", short, "--json", "--mesh", "1", "--scatter", *more).document
        for more in ((), ("--seed", "77"))
    )
    fifths = [d["as_drawn"]["load_factor_fifth_percentile"] for d in (first, other)]
    assert fifths[0] is not None
    assert fifths[0] != fifths[1]
    for web in first["webs"]:
        low, high = web["change"]["fifth_percentile_interval"]
        assert low <= high
        assert web["change"]["within_noise"] == (low <= 0 <= high)
        assert web["slope"]["load_factor_fifth_percentile_per_kg"] is not None


def test_a_seed_without_scatter_is_refused(capsys) -> None:
    assert main(["worth", "spar-c", "--seed", "77"]) == 2
    assert "--scatter" in capsys.readouterr().err


def test_a_specimen_without_load_is_refused(tmp_path: Path, capsys) -> None:
    from models.command.files import find

    text = find("spar-c").read_text(encoding="utf-8")
    lines = [
        line.split("=")[0] + '= "0 N"' if line.startswith("tip_force") else line
        for line in text.splitlines()
        if not line.startswith("tip_torque")
    ]
    file = tmp_path / "idle.toml"
    file.write_text("\n".join(lines), encoding="utf-8")
    code = main(["worth", str(file)])
    assert code == 2
    assert "load" in capsys.readouterr().err


def test_pictures_into_a_folder(sparbay: Callable, short: Path, tmp_path: Path) -> None:
    folder = tmp_path / "worth"
    found = sparbay("worth", short, "--mesh", "1", "--json", "--folder", folder).document
    assert [Path(f).name for f in found["files"]] == ["worth.png", "worth-bars.png"]
    assert all(Path(f).stat().st_size > 10_000 for f in found["files"])
    assert main(["worth", "spar-c", "--folder", str(folder)]) == 2  # taken


def test_a_flying_wing_is_told_by_its_verdict(sparbay: Callable) -> None:
    """Screen and document have what `check` says of the wing as drawn, and the same webs."""
    shown = sparbay("worth", "trainer", "--mesh", "1")
    said = " ".join(shown.out.split())
    assert len(shown.out.splitlines()) < 40
    assert "slope" not in said
    found = sparbay("worth", "trainer", "--mesh", "1", "--json").document
    checked = sparbay("check", "trainer", "--mesh", "1", "--json").document["answer"]["verdict"]
    told = found["as_drawn"]["verdict"]
    for key in ("load_factor_failing_mean_wood", "load_factor_failing_one_in_twenty", "share_surviving_all"):
        assert told[key] == pytest.approx(checked[key], rel=1e-9)
    assert found["as_drawn"]["load_factor_at_first_failure"] == told["load_factor_failing_mean_wood"]
    assert all(sentence in said for sentence in found["answer"]["sentences"])
    first = next(one for one in found["judged"] if not one["present"])
    assert {key: first[key] for key in ("bay", "spar", "face", "side")} == found["answer"]["next_in"]
    assert f"fails at {down(first['verdict']['load_factor_failing_mean_wood'])} g in the pull-up" in said
