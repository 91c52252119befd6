"""`sparbay report`: words and file, what it refuses, and pages on paper."""

from __future__ import annotations

import socket
from collections.abc import Callable
from contextlib import suppress
from functools import lru_cache
from pathlib import Path
from typing import Any

import pytest

from models.command.files import read_wing
from models.command.progress import Progress
from models.command.report import _gather as gather
from models.page import views

SPECIMEN = "spar-c"


@pytest.fixture(autouse=True)
def no_scenes(monkeypatch: pytest.MonkeyPatch) -> None:
    """Scenes have tests of their own and take long."""

    def none(*_: Any) -> str:
        raise views.NoRenderer("no renderer here")

    monkeypatch.setattr(views, "_still", none)


@pytest.fixture
def worked_out(monkeypatch: pytest.MonkeyPatch) -> None:
    """For what hangs on no figure the specimen is worked out once."""
    monkeypatch.setattr("models.command.report._gather", lambda *_: _once())


@lru_cache
def _once() -> Any:
    return gather(read_wing(SPECIMEN), SPECIMEN, 1, Progress(9, quiet=True))


def test_words_first_then_the_file(sparbay: Callable, tmp_path: Path, worked_out: None) -> None:
    path = tmp_path / "spar.html"
    run = sparbay("report", SPECIMEN, "--out", path, "--mesh", "1")
    assert run.code == 0, run.err
    lines = run.out.splitlines()
    assert lines[1].startswith("Bay 1, spar fails first")
    assert "Caution: model aircraft only" in run.out
    assert "no renderer here" in run.out
    assert f"Written: {path} (" in " ".join(run.out.split())
    assert path.read_text(encoding="utf-8").startswith("<!doctype html>")
    assert [p.name for p in tmp_path.iterdir()] == ["spar.html"]


def test_document_and_mesh(sparbay: Callable, tmp_path: Path) -> None:
    rough, fine = (
        sparbay("report", SPECIMEN, "--out", tmp_path / f"{n}.html", "--mesh", n, "--json") for n in "13"
    )
    found = rough.document
    assert found["files"] == [str(tmp_path / "1.html")]
    assert found["size_bytes"] == (tmp_path / "1.html").stat().st_size
    assert found["check"] == sparbay("check", SPECIMEN, "--mesh", "1", "--json").document
    assert found["compare"] == sparbay("compare", SPECIMEN, "--mesh", "1", "--json").document
    assert found["note"] is None
    assert found["answer"]["fit"] is True
    assert fine.document["check"]["mesh"]["n_nodes"] > found["check"]["mesh"]["n_nodes"]


def test_leaves_with_1_where_it_fails(sparbay: Callable, tmp_path: Path) -> None:
    from models.command.files import shipped

    text = shipped()[SPECIMEN].read_text(encoding="utf-8")
    assert 'tip_force = "1 N"' in text
    wing = tmp_path / "weak.toml"
    wing.write_text(text.replace('tip_force = "1 N"', 'tip_force = "99 N"'), encoding="utf-8")
    run = sparbay("report", wing, "--out", tmp_path / "a.html", "--mesh", "1")
    assert run.code == 1
    assert "Fails under its load" in (tmp_path / "a.html").read_text(encoding="utf-8")


def test_nothing_is_overwritten_unasked(sparbay: Callable, tmp_path: Path, worked_out: None) -> None:
    path = tmp_path / "a.html"
    path.write_text("mine", encoding="utf-8")
    run = sparbay("report", SPECIMEN, "--out", path)
    assert run.code == 2
    assert "exists already" in run.err
    assert "--overwrite" in run.err
    assert path.read_text(encoding="utf-8") == "mine"
    assert sparbay("report", SPECIMEN, "--out", path, "--overwrite", "--mesh", "1").code == 0
    assert path.read_text(encoding="utf-8").startswith("<!doctype html>")


def test_a_failure_half_way_leaves_nothing(
    sparbay: Callable, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, worked_out: None
) -> None:
    old = tmp_path / "old.html"
    old.write_text("mine", encoding="utf-8")

    def breaks(*_: Any) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.replace", breaks)
    monkeypatch.setattr("os.link", breaks)
    for name in ("new.html", "old.html"):
        run = sparbay("report", SPECIMEN, "--out", tmp_path / name, "--overwrite", "--mesh", "1")
        assert run.code == 2
        assert "No space left on device" in run.err
    monkeypatch.undo()
    assert sorted(p.name for p in tmp_path.iterdir() if not p.name.startswith(".")) == ["old.html"]
    assert old.read_text(encoding="utf-8") == "mine"


@pytest.mark.parametrize(
    ("name", "words"),
    [("a.txt", "ends in none of"), ("a", "ends in none of"), ("missing/a.html", "there is no folder")],
)
def test_places_that_will_not_do(sparbay: Callable, tmp_path: Path, name: str, words: str) -> None:
    run = sparbay("report", SPECIMEN, "--out", tmp_path / name)
    assert run.code == 2
    assert words in run.err
    assert not list(tmp_path.iterdir())


def test_the_wing_file_is_never_the_page(sparbay: Callable, tmp_path: Path) -> None:
    from models.command.files import shipped

    wing = tmp_path / "wing.html"
    text = shipped()[SPECIMEN].read_text(encoding="utf-8")
    wing.write_text(text, encoding="utf-8")
    run = sparbay("report", wing, "--out", wing, "--overwrite")
    assert run.code == 2
    assert "is the wing file itself" in run.err
    assert wing.read_text(encoding="utf-8") == text


def test_a_folder_will_not_do(sparbay: Callable, tmp_path: Path) -> None:
    (tmp_path / "a.html").mkdir()
    run = sparbay("report", SPECIMEN, "--out", tmp_path / "a.html", "--overwrite")
    assert run.code == 2
    assert "is a folder" in run.err


def test_paper(sparbay: Callable, tmp_path: Path, worked_out: None) -> None:
    def pages(*options: str) -> str:
        path = tmp_path / "a.html"
        assert sparbay("report", SPECIMEN, "--out", path, "--mesh", "1", "--overwrite", *options).code == 0
        return path.read_text(encoding="utf-8")

    assert "size: letter" in pages("--page", "letter")
    assert "@page { size" not in pages()


def test_pdf(sparbay: Callable, tmp_path: Path, worked_out: None) -> None:
    from models.page.pdf import NoTypesetter, typesetter

    try:
        typesetter()
    except NoTypesetter as fault:
        pytest.skip(str(fault))
    import pdfplumber

    path = tmp_path / "a.pdf"
    run = sparbay("report", SPECIMEN, "--out", path)
    assert run.code == 0, run.err
    assert run.err == ""
    with pdfplumber.open(path) as file:
        assert (file.pages[0].width, file.pages[0].height) == pytest.approx((595.28, 841.89), abs=0.01)
        text = " ".join((page.extract_text() or "") for page in file.pages)
        assert not [link for page in file.pages for link in page.hyperlinks if link.get("uri")]
    for words in ("Spar with a web on its front face", "For model aircraft only", "span station, mm"):
        assert words.replace(" ", "") in text.replace(" ", "")


def test_pdf_asks_for_nothing_outside() -> None:
    from models.page.pdf import NoTypesetter, pdf

    asked = []
    with socket.create_server(("127.0.0.1", 0)) as server:
        server.settimeout(0.2)
        address = f"http://127.0.0.1:{server.getsockname()[1]}/x.png"
        try:
            pdf(f'<img src="{address}"><p style="background: url({address})">words')
        except NoTypesetter as fault:
            pytest.skip(str(fault))
        with suppress(TimeoutError):
            asked.append(server.accept())
    assert asked == []


def test_pdf_without_the_typesetter(
    sparbay: Callable, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import sys

    monkeypatch.setitem(sys.modules, "weasyprint", None)
    run = sparbay("report", SPECIMEN, "--out", tmp_path / "a.pdf")
    assert run.code == 2
    assert "pip install weasyprint" in run.err
    assert not list(tmp_path.iterdir())
