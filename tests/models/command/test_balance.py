"""`balance`: document, words, picture, exit codes and faults."""

from __future__ import annotations

import io
from collections.abc import Callable
from pathlib import Path

from models.command.balance import balance_text
from models.report.text import Page

CASE = "[case]"
AFT = '[[masses]]\nname = "lead"\nmass = "2 kg"\nx = "{x}"\ncarried_by = "fuselage"\n\n[case]'


def test_document_words_and_picture(sparbay: Callable, tmp_path: Path) -> None:
    run = sparbay("balance", "powered-tailless", "--json", "--folder", tmp_path / "new")
    found = run.document
    assert run.code == (0 if found["answer"]["inside"] else 1)
    assert [s["tank"] for s in found["states"]] == ["full", "empty"]
    low, high = (found["range"][f"{end}_aft_of_datum_m"] for end in ("foremost", "rearmost"))
    assert low < high < found["neutral_point"]["aft_of_datum_m"]
    assert found["mass"]["glue_counted_in_analysis"] is False
    assert {lot["kind"] for lot in found["lots"]} == {"wood", "glue", "covering", "equipment"}
    assert {lot["name"] for lot in found["together"]} >= {"all shear webs", "rails with ties and engine"}
    assert len(found["parts"]) > len(found["lots"])
    picture = tmp_path / "new" / "balance.png"
    assert found["files"] == [str(picture)]
    assert picture.read_bytes().startswith(b"\x89PNG")
    page = io.StringIO()
    out = Page(page)
    balance_text(out, found)
    out.end()
    text = " ".join(page.getvalue().split())
    assert all(sentence in text for sentence in found["answer"]["sentences"])
    assert all(caution in text for caution in found["cautions"])
    assert "shear webs, front spar" in text


def test_check_weighs_the_same(sparbay: Callable, path_of: Callable[[str], Path]) -> None:
    wing = path_of("short-tailless")
    ours = sparbay("balance", wing, "--json").document["mass"]
    checked = sparbay("check", wing, "--json").document
    assert abs(ours["analysed_kg"] / checked["mass"]["wing_with_all_it_carries_kg"] - 1) < 1e-9
    x = checked["results"]["pull_up"]["balance_x_m"]
    assert abs(ours["analysed_centre_m"][0] / x - 1) < 1e-9


def test_leaves_with_1_outside_the_range(sparbay: Callable, wing_file: Callable) -> None:
    run = sparbay("balance", wing_file((CASE, AFT.format(x="300 mm")), ('mass = "1.5 kg"', "")))
    assert run.code == 1
    assert "outside" in run.out
    good = sparbay("balance", wing_file((CASE, AFT.format(x="25 mm")), ('mass = "1.5 kg"', "")))
    assert good.code == 0
    assert "inside" in good.out


def test_says_what_it_covers_with_a_tail(sparbay: Callable) -> None:
    run = sparbay("balance", "trainer", "--full")
    assert run.code == 0
    assert "bare wing" in run.out
    assert "no place in the file" in " ".join(run.out.split())


def test_faults_are_told(sparbay: Callable, wing_file: Callable, tmp_path: Path) -> None:
    run = sparbay("balance", "spar-box")
    assert run.code == 2
    assert "does not fly" in run.err
    run = sparbay("balance", wing_file((CASE, '[balance]\ndatum = "3"\n\n[case]')))
    assert run.code == 2
    assert "balance.datum" in run.err
    run = sparbay("balance", wing_file(('mass = "1.5 kg"', 'mass = "1 g"')))
    assert run.code == 2
    assert "case.mass" in run.err
    (tmp_path / "taken").mkdir()
    (tmp_path / "taken" / "file").touch()
    assert sparbay("balance", "trainer", "--folder", tmp_path / "taken").code == 2
