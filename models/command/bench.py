"""`sparbay bench`: bags on an upside-down wing for a flight case, and the deflection to expect."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from pathlib import Path

import numpy as np

from models import small_movements
from models.command.check import print_json
from models.command.exit_codes import ExitCode
from models.command.faults import InputFault, version
from models.command.files import filled, new_folder, read_wing, write_new
from models.command.progress import Progress
from models.command.record import Record, finite
from models.loads.bags import BENDING_ALLOWED, LOCAL_SHARE, TORSION_ALLOWED, Bag
from models.studies.bench_test import CAUTIONS, N_STEPS, BenchTest, NoBench, bench_test, sentences
from models.studies.readings import BAGS_FILE, READINGS_FILE, bags_csv, readings_csv
from models.studies.seeing import Seeing, seeing
from models.studies.seeing import sentences as seen_sentences
from models.wing.parts import Wing


def run(options: argparse.Namespace) -> ExitCode:
    """Plan the test; 1 where the bags do not reproduce the flight case or the load would harm the wing."""
    folder = new_folder(options.folder)
    wing = read_wing(options.file)
    try:
        with Progress(N_STEPS + 1, quiet=True) as progress:
            test = bench_test(
                wing,
                bags=options.bags,
                largest=options.largest,
                steps=options.steps,
                load_factor=options.load_factor,
                width=options.bag_width,
                per_bay=options.mesh,
                progress=progress,
            )
            progress("which dials tell the webs apart")
            chosen = seeing(
                wing, test, gauge=options.reading_error, twist=options.twist, per_bay=options.mesh
            )
    except NoBench as fault:
        raise InputFault(f"{options.file}: {fault}; bags are for a flying wing.") from None

    def draw(place: Path) -> Iterator[Path]:
        from models.pictures.bench import draw_plan, draw_sheet

        yield draw_plan(wing, test, place / "plan.png", chosen)
        yield draw_sheet(wing, test, place / "sheet.png", chosen)
        for name, text in ((BAGS_FILE, bags_csv(test, chosen)), (READINGS_FILE, readings_csv(test, chosen))):
            write_new(place / name, text)
            yield place / name

    files = filled(folder, draw)
    record = bench_record(wing, test, chosen, options.file, options.mesh, files)
    if options.json:
        print_json(record)
    else:
        from models.report import bench
        from models.report.text import tell

        tell(bench.bench_text, record)
    return ExitCode.DONE if test.plan.kept and test.safe else ExitCode.FAILS


def bench_record(
    wing: Wing, test: BenchTest, chosen: Seeing, file: str, per_bay: int, files: list[Path]
) -> Record:
    """All that `bench` has to say.

    Parameters
    ----------
    wing : Wing
        The wing in the file.
    test : BenchTest
        From `models.studies.bench_test.bench_test`.
    chosen : Seeing
        What to read, from `models.studies.seeing.seeing`.
    file : str
        The file's name as it was typed.
    per_bay : int
        Elements along a bay.
    files : list of Path
        Written.

    Returns
    -------
    dict
        Plain data in SI, units in the keys.
    """
    plan = test.plan
    errors = plan.errors
    last = float(test.fractions[-1])
    moved = small_movements.of_tip(
        wing,
        float(np.abs(last * test.full + test.own).max()),
        float(np.abs(last * test.twist + test.own_twist).max()),
    )
    too_far = small_movements.warning(moved, "Under the last step of bags and its own weight")
    record = {
        "command": "bench",
        "version": version(),
        "file": file,
        "wing": wing.name,
        "answer": {
            "sentences": [*sentences(test), *seen_sentences(chosen), *([too_far] if too_far else [])],
            "reproduced": plan.kept,
            "safe": test.safe,
            "load_factor": plan.load_factor,
            "load_factor_asked": test.asked,
            "highest_load_factor": test.proof.highest,
            "n_bags": plan.count,
            "mass_of_bags_kg": plan.mass,
            "error_of_shear": float(errors[0]),
            "error_of_bending": float(errors[1]),
            "error_of_torsion": float(errors[2]),
        },
        "errors_are_of": {
            "words": "the value at the rib, or where it is smaller this share of the greatest one",
            "share_of_greatest": LOCAL_SHARE,
            "allowed_in_bending": BENDING_ALLOWED,
            "allowed_in_torsion": TORSION_ALLOWED,
            "ribs_below_in_bending": list(plan.faint(1)),
            "ribs_below_in_torsion": list(plan.faint(2)),
            "worst_error_in_bending_of_greatest": float(plan.of_greatest[1]),
            "worst_error_in_torsion_of_greatest": float(plan.of_greatest[2]),
        },
        "small_movements": small_movements.record(moved, too_far),
        "cautions": list(CAUTIONS),
        "held_to_each_side_m": test.hold,
        "bag_width_m": test.width,
        "bags_on_each_side": [
            _bag(bag, test) | {"packer_m": high or None} for bag, high in zip(plan.bags, test.packers)
        ],
        "readings": _readings(chosen, file),
        "diagrams": _diagrams(test),
        "steps": [
            {"step": k, "share_of_bags": float(f), "load_factor": float(n)}
            for k, (f, n) in enumerate(zip(test.fractions, test.load_factors), 1)
        ],
        "marks": [
            {
                "rib": mark.rib,
                "y_m": mark.y,
                "aft_of_leading_edge_m": mark.aft,
                "place": mark.place,
                "own_weight_deflection_m": float(test.own[k]),
                "deflection_by_step_m": (test.fractions * test.full[k]).tolist(),
            }
            for k, mark in enumerate(test.marks)
        ],
        "twist": [
            {
                "rib": int(rib),
                "own_weight_twist_rad": float(test.own_twist[k]),
                "twist_by_step_rad": (test.fractions * test.twist[k]).tolist(),
            }
            for k, rib in enumerate(test.ribs)
        ],
        "mesh": {"elements_per_bay": per_bay},
        "files": [str(f) for f in files],
    }
    cleaned = finite(record)
    assert isinstance(cleaned, dict)
    return cleaned


def _bag(bag: Bag, test: BenchTest) -> Record:
    return {
        "ribs": list(bag.ribs),
        "y_m": list(bag.y),
        "aft_of_leading_edge_m": list(bag.aft),
        "cord_that_lifts": bag.mass < 0,
        "along_batten": bag.along if len(bag.ribs) > 1 else None,
        "from_inner_rib_m": bag.along * (bag.y[-1] - bag.y[0]) if len(bag.ribs) > 1 else None,
        "mass_kg": abs(bag.mass),
        "mass_by_step_kg": (test.fractions * abs(bag.mass)).tolist(),
    }


def _readings(chosen: Seeing, file: str) -> Record:
    couple = chosen.couple
    return {
        "number": chosen.n_readings,
        "number_if_all_were_read": chosen.every,
        "reading_error_m": chosen.gauge,
        "twist_stiffness_error": chosen.twist,
        "judge_with": f"sparbay measured {file} {READINGS_FILE} --reading-error {chosen.gauge * 1e3:g}mm",
        "chance_of_naming_anything_in_a_sound_wing": chosen.alarm,
        "couple": None
        if couple is None
        else {
            "rib": couple.rib,
            "mass_kg": couple.mass,
            "steps": list(couple.steps),
            "aft_of_leading_edge_m": list(couple.aft),
        },
        "dials": [
            {
                "rib": dial.mark.rib,
                "y_m": dial.mark.y,
                "aft_of_leading_edge_m": dial.mark.aft,
                "place": dial.mark.place,
                "steps": list(dial.steps),
                "expected_m": list(dial.expected),
                "standard_deviation_m": list(dial.doubt),
            }
            for dial in chosen.dials
        ],
        "webs": [
            {"part": suspect.name, "chance_of_being_named_if_missing": chance}
            for suspect, chance in chosen.webs
        ],
    }


def _diagrams(test: BenchTest) -> list[Record]:
    flight, bench, own = test.plan.flight, test.plan.bench, test.plan.own
    units = ("shear_N", "bending_N_m", "torsion_N_m")
    rows = []
    for k, y in enumerate(flight.y.tolist()):
        row: Record = {"y_m": y, "rib": int(test.plan.rib[k]) or None}
        for what, values in (("flight", flight.values), ("bench", bench.values), ("own_weight", own.values)):
            row |= {f"{what}_{unit}": float(v) for unit, v in zip(units, values[k])}
        error = flight.error(bench)[k]
        row |= {f"error_of_{unit.split('_')[0]}": float(e) for unit, e in zip(units, error)}
        rows.append(row)
    return rows
