"""`loads`: document, words, pictures, exit codes and faults."""

from __future__ import annotations

import io
from collections.abc import Callable
from pathlib import Path

from models.command.loads import loads_text
from models.report.text import Page

CASE = "[case]"


SMALL = (("count = 13", "count = 5"), ("1-10", "1-3"), ('"1-3" # a second', '"1" # a second'))
"""Few bays: what is printed does not hang on their number."""


def test_document_words_and_pictures(sparbay: Callable, wing_file: Callable, tmp_path: Path) -> None:
    wing = wing_file(*SMALL, (CASE, "[launch]\nhand_push = 2\n\n[case]"))
    run = sparbay("loads", wing, "--json", "--mesh", "1", "--folder", tmp_path / "new")
    found = run.document
    assert run.code == (0 if found["answer"]["survives"] else 1)
    assert {"flight", "landing", "launch", "carrying"} == {c["kind"] for c in found["cases"]}
    assert found["answer"]["order"][0] == found["answer"]["case"]
    first = found["cases"][0]
    assert first["case"] == "pull-up"
    assert len(first["diagrams"]["y_m"]) == len(first["diagrams"]["torsion_N_m"])
    assert max(c["solve_checks"]["sections_from_elements_against_loads"] for c in found["cases"]) < 1e-6
    assert {a["key"] for a in found["assumed"]} >= {"landing.tip_force", "landing.lift"}
    files = [Path(f) for f in found["files"]]
    assert [f.name for f in files] == [f"loads-{k}.png" for k in ("flight", "landing", "launch", "carrying")]
    assert all(f.read_bytes().startswith(b"\x89PNG") for f in files)
    page = io.StringIO()
    out = Page(page)
    loads_text(out, found)
    out.end()
    assert max(map(len, page.getvalue().splitlines())) <= 130
    text = " ".join(page.getvalue().split())
    assert all(" ".join(sentence.split()) in text for sentence in found["answer"]["sentences"])
    assert all(caution in text for caution in found["cautions"])


def test_leaves_with_1_where_a_case_breaks_the_wing(sparbay: Callable, wing_file: Callable) -> None:
    mild = "[landing]\ntip_force = 0.01\nbelly_load_factor = 0.5\ncarrying_load_factor = 0.0\n\n[case]"
    good = wing_file(*SMALL, ("load_factor = 6", "load_factor = 2"), (CASE, mild))
    assert sparbay("loads", good, "--mesh", "1").code == 0
    bad = wing_file(*SMALL, (CASE, "[landing]\ntip_force = 50.0\n\n[case]"))
    run = sparbay("loads", bad, "--mesh", "1")
    assert run.code == 1
    assert "Hardest case: tip strike" in run.out


def test_mesh_matters(sparbay: Callable, wing_file: Callable) -> None:
    wing = wing_file(*SMALL)
    rough, fine = (sparbay("loads", wing, "--json", "--mesh", n).document["answer"] for n in ("1", "2"))
    assert rough["least_reserve_factor"] != fine["least_reserve_factor"]


def test_faults_are_told(sparbay: Callable, wing_file: Callable, tmp_path: Path) -> None:
    run = sparbay("loads", "spar-box")
    assert run.code == 2
    assert "neither flies nor lands" in run.err
    run = sparbay("loads", wing_file((CASE, "[landing]\ntip_forse = 1.0\n\n[case]")))
    assert run.code == 2
    assert "landing.tip_forse" in run.err
    (tmp_path / "taken").mkdir()
    (tmp_path / "taken" / "file").touch()
    assert sparbay("loads", "trainer", "--folder", tmp_path / "taken").code == 2
