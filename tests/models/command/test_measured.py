"""`measured`: from the template of `bench`, filled in, to the answer; what is refused."""

from __future__ import annotations

import csv
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

FEW = ("--mesh", "2")


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """What `bench` writes for the trainer, and the expected deflections put in as readings with 1 % noise."""
    from models.command import main

    where = tmp_path_factory.mktemp("tests") / "bench"
    assert main(["bench", "trainer", "--mesh", "2", "--folder", str(where)]) == 0
    return where


def filled(folder: Path, path: Path, *, softer: float = 1.0, tip: float = 1.0) -> Path:
    """The template with what `measured` itself computes for it, scaled, read on starboard alone."""
    from models.command.files import read_wing
    from models.structure import build
    from models.studies.measured import Bench
    from models.studies.readings import Reading, read_bags

    model = build(read_wing("trainer"), per_bay=2)
    laid = read_bags((folder / "bags.csv").read_text(encoding="utf-8"), model)
    lines = (folder / "readings.csv").read_text(encoding="utf-8").splitlines()
    start = next(n for n, line in enumerate(lines) if line.startswith("step,"))
    rows = list(csv.DictReader(lines[start:]))
    plan = model.wing.planform
    assert plan is not None

    def x(row: dict[str, str]) -> float:
        y = model.wing.ribs[int(row["rib"]) - 1].y
        return float(plan.leading_edge_x.at(y)) + float(row["aft [mm]"]) / 1e3

    wanted = [
        Reading(int(r["step"]), "starboard", int(r["rib"]), x(r), "deflection", 1.0, 0)
        for r in rows
        if r["side"] == "starboard"
    ]
    bench = Bench(model, "starboard", laid, wanted, 2)
    moved = bench.drawn[0].moves
    draw = np.random.default_rng(77031)
    figures = iter(
        moved[m] * share * softer * (tip if r.rib == 11 else 1.0) * (1 + 0.01 * draw.standard_normal())
        for m, share, r in zip(bench.mark_of, bench.share, wanted)
    )
    out = []
    for line in lines:
        cells = line.split(",")
        if len(cells) == 7 and cells[1] == "starboard":
            cells[5] = f"{1e3 * next(figures):.3f}"
        out.append(",".join(cells))
    path.write_text("\n".join(out) + "\n", encoding="utf-8")
    return path


def test_bench_writes_plan_bags_and_template(folder: Path) -> None:
    assert sorted(p.name for p in folder.iterdir()) == [
        "bags.csv", "plan.png", "readings.csv", "sheet.png",
    ]  # fmt: skip
    for picture in ("plan.png", "sheet.png"):
        assert (folder / picture).read_bytes().startswith(b"\x89PNG")


def test_document_words_and_picture(sparbay: Callable, folder: Path, tmp_path: Path) -> None:
    readings = filled(folder, tmp_path / "readings.csv")
    bags = ("--bags", folder / "bags.csv")
    run = sparbay("measured", "trainer", readings, *bags, *FEW, "--json", "--folder", tmp_path / "pictures")
    found = run.document
    assert run.code == 0
    assert found["answer"]["sound"]
    (side,) = found["sides"]
    assert side["side"] == "starboard"
    assert abs(side["bending_stiffness_over_computed"] - 1) < 3 * side["bending_stiffness_error"]
    with (folder / "readings.csv").open(encoding="utf-8") as file:
        rows = csv.DictReader(line for line in file if not line.startswith("#"))
        places = {(row["rib"], row["aft [mm]"]) for row in rows}
    assert len(side["marks"]) == len(places) < 20
    assert [Path(f).name for f in found["files"]] == ["measured-starboard.png"]
    assert Path(found["files"][0]).read_bytes().startswith(b"\x89PNG")
    text = " ".join(sparbay("measured", "trainer", readings, *bags, *FEW).out.split())
    assert all(sentence in text for sentence in found["answer"]["sentences"])


def test_every_option_matters(sparbay: Callable, folder: Path, tmp_path: Path) -> None:
    readings = filled(folder, tmp_path / "readings.csv")
    light = tmp_path / "light.csv"
    text = (folder / "bags.csv").read_text(encoding="utf-8")
    light.write_text(text.replace("mass [g]", "mass [oz]"), encoding="utf-8")
    (tmp_path / "bags.csv").write_text(text, encoding="utf-8")
    plain = sparbay("measured", "trainer", readings, *FEW, "--json").document["sides"][0]
    for more in (
        ("--noise", "6 %"), ("--reading-error", "2 mm"), ("--twist-error", "1 deg"), ("--bags", light),
        ("--mesh", "1"),
    ):  # fmt: skip
        other = sparbay("measured", "trainer", readings, *FEW, *more, "--json").document["sides"][0]
        assert (other["noise"], other["marks"]) != (plain["noise"], plain["marks"]), more


def test_readings_that_nothing_explains_fail(sparbay: Callable, folder: Path, tmp_path: Path) -> None:
    readings = filled(folder, tmp_path / "readings.csv", tip=1.5)
    run = sparbay("measured", "trainer", readings, "--bags", folder / "bags.csv", *FEW)
    assert run.code == 1


def test_what_is_wrong_is_told(sparbay: Callable, folder: Path, tmp_path: Path) -> None:
    template, bags = folder / "readings.csv", folder / "bags.csv"
    bad = tmp_path / "bad.csv"
    bad.write_text("step,rib,aft [mm],deflection [mm]\n1,3,60,1\n1,3,x,1\n9,4,60,1\n", encoding="utf-8")
    cases = [
        (("trainer", template), "readings.csv: holds no reading"),
        (("trainer", tmp_path / "none.csv"), "none.csv: cannot be read"),
        (("trainer", bad), "--bags FILE"),
        (("trainer", bad, "--bags", bags), 'bad.csv: line 3: aft: "x" is not a number'),
        (("spar-box", template), "is a specimen"),
        (("trainer", template, "--noise", "3"), "has no unit"),
        (("trainer", template, "--reading-error", "1 m"), "is not a length"),
        (("trainer", folder / "plan.png", "--bags", bags), "not a text file"),
    ]
    for arguments, words in cases:
        run = sparbay("measured", *arguments)
        assert run.code == 2, arguments
        assert words in run.err, arguments
    bad.write_text("step,rib,aft [mm],deflection [mm]\n9,4,60,1\n", encoding="utf-8")
    run = sparbay("measured", "trainer", bad, "--bags", bags)
    assert run.code == 2
    assert "line 2: step 9" in run.err
