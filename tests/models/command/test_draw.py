"""`sparbay draw`: the answer, the files, and what goes wrong, in words."""

from __future__ import annotations

import csv
import io
import re
import sys
from collections.abc import Callable
from pathlib import Path

import ezdxf
import pytest
from numpy.testing import assert_allclose

KINDS = {
    "cut-list", "cut-list-rest", "cutting-sheets", "cutting-sheet", "jig-blocks", "other-templates", "plan",
    "plan-overview", "rib-stations", "ribs", "shopping-list", "web-templates",
}  # fmt: skip


def test_everything_is_drawn_and_listed(sparbay: Callable, tmp_path: Path) -> None:
    folder = tmp_path / "a" / "drawings"
    done = sparbay("draw", "trainer", "--folder", folder)
    assert done.code == 0, done.err
    lines = done.out.splitlines()
    assert lines[1] == "12 webs from 1 sheet of 1.5 mm balsa medium, 100 x 1000 mm (22 % used)."
    assert done.out.index("12 webs from") < done.out.index("Cut list") < done.out.index(str(folder))
    assert "Caution: model aircraft only" in done.out
    names = {p.name for p in folder.iterdir()}
    assert {re.sub(r"-\d+$", "", Path(n).stem) for n in names} == KINDS
    assert all(name in done.out for name in names)
    assert not [p for p in folder.parent.iterdir() if p.name.startswith(".")]


def test_json_has_the_same_numbers(sparbay: Callable, tmp_path: Path) -> None:
    done = sparbay("draw", "powered-tailless", "--folder", tmp_path / "d", "--formats", "dxf", "--json")
    assert done.code == 0
    record = done.document
    assert record["answer"]["n_webs"] == len(record["pieces"]) == 64
    assert sum(b["n_webs"] for b in record["to_buy"]) == 64
    listed = list(csv.DictReader(io.StringIO((tmp_path / "d" / "cut-list.csv").read_text("utf-8"))))
    assert [r["piece"] for r in listed] == [r["piece"] for r in record["cut_list"]]
    assert_allclose(
        sum(p["mass_kg"] for p in record["pieces"]),
        sum(float(r["mass_g"]) * int(r["quantity"]) for r in listed) / 1e3,
        rtol=1e-3,
    )
    assert "no holes" not in " ".join(record["answer"]["sentences"])  # its engine was measured
    assert {Path(f).suffix for f in record["files"]} == {".dxf", ".csv"}


OPTIONS = {
    "to_buy": ("--stock", "75 mm x 250 mm"),
    "sheets": ("--gap", "12 mm"),
    "cut_list": ("--ribs", "square"),
    "files": ("--formats", "svg"),
}


def test_every_option_counts(sparbay: Callable, tmp_path: Path) -> None:
    def drawn(name: str, *options: str):
        run = sparbay("draw", "trainer", "--folder", tmp_path / name, "--formats", "dxf", "--json", *options)
        assert run.code == 0
        return run.document

    plain = drawn("plain")
    for key, options in OPTIONS.items():
        assert plain[key] != drawn(key, *options)[key], key


def test_paper_has_the_size_asked_for(sparbay: Callable, tmp_path: Path) -> None:
    import pdfplumber

    found = []
    for paper in ("a4", "letter"):
        folder = tmp_path / paper
        assert sparbay("draw", "spar-c", "--folder", folder, "--page", paper, "--formats", "pdf").code == 0
        with pdfplumber.open(folder / "web-templates.pdf") as document:
            found.append((float(document.pages[0].width), float(document.pages[0].height)))
    assert_allclose(found, [(210 / 25.4 * 72, 297 / 25.4 * 72), (612, 792)], atol=0.01)


def test_a_folder_that_holds_something_is_left_alone(sparbay: Callable, tmp_path: Path) -> None:
    (tmp_path / "note.txt").write_text("mine")
    done = sparbay("draw", "trainer", "--folder", tmp_path)
    assert done.code == 2
    assert "exists already; nothing in it is overwritten" in done.err
    assert [p.name for p in tmp_path.iterdir()] == ["note.txt"]


def test_nothing_is_left_of_a_run_that_fails(
    sparbay: Callable, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import models.drawings.pdf

    def full(*_: object) -> bytes:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(models.drawings.pdf, "pdf_bytes", full)
    done = sparbay("draw", "trainer", "--folder", tmp_path / "d")
    assert done.code == 2
    assert "cannot be written: No space left on device" in done.err
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("library", ["reportlab", "ezdxf", "rectpack", "shapely"])
def test_a_missing_library_is_one_message(
    sparbay: Callable, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, library: str
) -> None:
    for name in [n for n in sys.modules if n.split(".")[0] == library]:
        monkeypatch.delitem(sys.modules, name)
    monkeypatch.setitem(sys.modules, library, None)
    done = sparbay("draw", "trainer", "--folder", tmp_path / "d")
    assert done.code == 2
    assert done.err.count("\n") == 1
    assert f"the library {library} is not installed; get it with: python -m pip install" in done.err
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (("--stock", "100 x 1000"), "has no unit"),
        (("--stock", "oak: 100 mm x 1000 mm"), "nothing is cut from oak"),
        (("--stock", "20 mm x 20 mm"), "more than a sheet of balsa medium of 20 x 20 mm"),
        (("--gap", "-1 mm"), "is not a length from 0 mm to 20 mm"),
        (("--formats", "pdf,png"), "is not a list of pdf, svg and dxf"),
        (("--page", "a3"), "invalid choice"),
    ],
)
def test_wrong_options(sparbay: Callable, tmp_path: Path, options: tuple[str, ...], words: str) -> None:
    done = sparbay("draw", "trainer", "--folder", tmp_path / "d", *options)
    assert done.code == 2
    assert words in done.err
    assert list(tmp_path.iterdir()) == []


def test_a_wing_without_webs(sparbay: Callable, tmp_path: Path) -> None:
    done = sparbay("draw", "spar-open", "--folder", tmp_path / "d")
    assert done.code == 2
    assert "there is no web to draw" in done.err


def test_webs_wider_than_the_sheet_are_glued_up(sparbay: Callable, tmp_path: Path) -> None:
    done = sparbay(
        "draw", "trainer", "--folder", tmp_path / "d", "--stock", "50 mm x 900 mm", "--formats", "dxf"
    )
    assert done.code == 0
    assert "12 of them are wider than the sheet: glue the strips edge to edge" in " ".join(done.out.split())
    space = ezdxf.readfile(tmp_path / "d" / "cutting-sheets.dxf").modelspace()
    assert sum("strip 1 of 2" in t.dxf.text for t in space.query("TEXT")) == 12


def test_a_web_out_of_square_is_said_to_be(sparbay: Callable, wing_file: Callable, tmp_path: Path) -> None:
    vee = wing_file(('dihedral = "3 deg"', 'dihedral = "12 deg"'))
    words = sparbay("draw", vee, "--folder", tmp_path / "vee", "--formats", "dxf", "--full").out
    # The spar rises less than the outline: it sits lower in a section that gets thinner.
    assert re.search(r"out of square, here by up to 1[12]\.\d deg", " ".join(words.split()))
    flat = wing_file(('dihedral = "3 deg"', 'dihedral = "0 deg"'), ("NACA 2412", "NACA 0012"))
    words = sparbay("draw", flat, "--folder", tmp_path / "flat", "--formats", "dxf", "--full").out
    assert "here by up to" not in words


def test_more_paper_than_anyone_prints_is_refused(
    sparbay: Callable, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("models.command.draw.MOST_PAGES", 20)
    monkeypatch.setattr("models.drawings.nesting.nest", lambda *_: pytest.fail("worked"))
    done = sparbay("draw", "trainer", "--folder", tmp_path / "d")
    assert done.code == 2
    assert done.err.startswith("trainer: at full size plan, webs and ribs take about 27 pages of a4; no more")
    assert list(tmp_path.iterdir()) == []
