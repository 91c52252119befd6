"""A wing in inches from `new` to its printed templates: nothing metric, unless it is asked for."""

from __future__ import annotations

import contextlib
import io
import json
import re
import xml.etree.ElementTree as ET
from collections.abc import Callable
from pathlib import Path

import pdfplumber
import pytest

from models import units_out as say
from models.command import main
from models.wing.reading import WingFileError, read_text

METRIC = re.compile(
    r"(?<![\w/])(mm|cm|km/h|kg|kN|N|MPa|GPa|grams?|dm[2²]|cm[2²]|m[2²]|m/s|kg/m3|N/mm|N/m|g/m2|g/dm2|kW)(?![\w/])"
    r"|\d m(?![\w/])|[a-z,] m(?= |$)"
)
MASS_IN_GRAMS = re.compile(r"(weigh\w*|mass|bags? of|built in|gains?|costs?)[^.;:]{0,24}\d g\b")
ALLOWED: tuple[str, ...] = ()
"""Lines that may speak of metric units: none."""


def metric_lines(text: str) -> list[str]:
    """Lines that tell something in metric units; "g" alone is times the weight."""
    lines = [line for line in text.splitlines() if not any(allowed in line for allowed in ALLOWED)]
    return [line for line in lines if METRIC.search(line) or MASS_IN_GRAMS.search(line)]


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """With a wing in inches as `new` writes it."""
    path = tmp_path_factory.mktemp("inches")
    flags = ["--span", '40"', "--root-chord", "8 in", "--tip-chord", "7 1/2 in", "--mass", "2 lb 4 oz"]
    assert said("new", path / "wing.toml", *flags)[0] == 0
    return path


def said(*arguments: str | Path) -> tuple[int, str]:
    """Exit code, and what a run prints."""
    out = io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(out):
        code = main([str(a) for a in arguments])
    return code, out.getvalue()


def test_the_file_is_in_inches(folder: Path) -> None:
    text = (folder / "wing.toml").read_text(encoding="utf-8")
    body = "\n".join(text.splitlines()[3:])  # the head says which units there are
    assert not metric_lines(body)
    wing = read_text(text)
    assert wing.units == "imperial"
    assert wing.semispan == pytest.approx(20 * 0.0254, rel=1e-12)


@pytest.mark.parametrize("words", ["check", "note", "steps", "bench"])
def test_nothing_metric_is_printed(folder: Path, words: str) -> None:
    code, text = said(words, folder / "wing.toml", "--full", "--mesh", "1")
    assert code in (0, 1), text
    assert not metric_lines(text)
    assert not say.imperial()


def test_nothing_metric_is_drawn(folder: Path) -> None:
    code, text = said("draw", folder / "wing.toml", "--full", "--folder", folder / "drawn")
    assert code == 0
    assert not metric_lines(text)
    drawings = sorted((folder / "drawn").glob("*.svg"))
    assert len(drawings) > 5
    for drawing in drawings:
        words = ["".join(one.itertext()) for one in ET.parse(drawing).iter() if one.tag.endswith("}text")]
        assert words
        assert not metric_lines("\n".join(words)), drawing.name
    for name in ("plan-overview.pdf", "rib-stations.pdf"):
        with pdfplumber.open(folder / "drawn" / name) as pages:
            words = [page.extract_text() for page in pages.pages]
        assert any("in long" in page for page in words)
        assert not metric_lines("\n".join(words)), name
    for one in (folder / "drawn").glob("*.csv"):
        text = one.read_text(encoding="utf-8")
        assert not re.search(r"_(mm|mm2|g)\b", text.splitlines()[0]), one.name
        assert not metric_lines(text), one.name


@pytest.mark.long
def test_nothing_metric_is_on_any_sheet(folder: Path) -> None:
    """Every page of every PDF, and the list to buy from: it takes half a minute to read them."""
    assert said("draw", folder / "wing.toml", "--folder", folder / "sheets", "--formats", "pdf")[0] == 0
    sheets = sorted((folder / "sheets").glob("*.pdf"))
    assert len(sheets) >= 8
    for sheet in sheets:
        with pdfplumber.open(sheet) as pages:
            words = [page.extract_text() for page in pages.pages]
        assert all(words), sheet.name
        assert not metric_lines("\n".join(words)), sheet.name


def test_an_option_turns_it_round_and_json_stays_in_si(folder: Path, sparbay: Callable) -> None:
    file = folder / "wing.toml"
    metric = sparbay("check", file, "--units", "metric", "--full", "--mesh", "1")
    assert " MPa" in metric.out
    assert " psi" not in metric.out
    run = ("check", file, "--json", "--mesh", "1", "--units")
    here, there = (sparbay(*run, units).document for units in say.SYSTEMS)
    assert here["mass"] == there["mass"]
    assert [b["applied"] for b in here["bays"]] == [b["applied"] for b in there["bays"]]
    assert [b["unit"] for b in here["bays"]] == [b["unit"] for b in there["bays"]]
    assert json.dumps(here["results"]) == json.dumps(there["results"])


def test_the_key_says_which_and_else_most_lengths() -> None:
    text = """{units}
[specimen]
length = "12 in"
depth = "1 1/8 in"
[ribs]
pitch = "2 in"
thickness = "{rib}"
[[spars]]
name = "spar"
caps = {{ width = "3/8 in", height = "1/4 in", wood = "spruce" }}
[case]
tip_force = "1 N"
"""
    assert read_text(text.format(units="", rib="1/16 in")).units == "imperial"
    assert read_text(text.format(units='units = "metric"', rib="1/16 in")).units == "metric"
    with pytest.raises(WingFileError, match=r'units: "imperal" is none of .*; did you mean imperial'):
        read_text(text.format(units='units = "imperal"', rib="1/16 in"))
    with pytest.raises(WingFileError, match=r"\bin\b") as told:
        read_text(text.format(units="", rib="3 in"))
    assert not METRIC.search(str(told.value))
