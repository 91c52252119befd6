"""`sparbay measured`: readings of a bench test against what was computed, and what would explain them."""

from __future__ import annotations

import argparse
import csv
from collections.abc import Iterator
from pathlib import Path

from models.command.check import print_json
from models.command.exit_codes import ExitCode
from models.command.faults import InputFault, version
from models.command.files import filled, new_folder, read_wing
from models.command.progress import Progress
from models.command.record import Record, finite
from models.studies.measured import (
    ABOUT,
    DOUBT,
    FALSE_ALARM,
    SEEN,
    Measured,
    Noise,
    NoReading,
    SideFound,
    Verdict,
    measured,
    n_steps,
    sentences,
)
from models.studies.readings import BAGS_FILE, TableError, read_bags, read_readings
from models.studies.speed import condense, speeds
from models.studies.speed_doubt import doubt
from models.studies.tones_read import Ear, holds_tones, read_tones, suspects
from models.studies.tones_read import sentences as tone_sentences
from models.wing.intake import IntakeError, file_text
from models.wing.parts import Wing

CAUTIONS = (
    "A wing that bends as computed is stiff, which is not the same as strong: only a proof load shows "
    "strength.",
    "Readings tell that a web carries nothing, not why: left out, or a glue line that has let go. Look.",
    "Measure against the centre section: what the hold itself gives would pass for a softer wing.",
)


def run(options: argparse.Namespace) -> ExitCode:
    """Judge the readings; 1 where anything but wood is off, or where nothing explains them."""
    folder = new_folder(options.folder)
    wing = read_wing(options.file)
    if wing.clamped:
        raise InputFault(f"{options.file}: is a specimen; a bench test is for a flying wing.")
    readings_file = Path(options.readings)
    if holds_tones(text := _text(readings_file)):
        return _tones(options, wing, text)
    bags_file = Path(options.bags) if options.bags else readings_file.with_name(BAGS_FILE)
    from models.structure import build

    model = build(wing, per_bay=options.mesh)
    try:
        laid = read_bags(_text(bags_file, hint=not options.bags), model)
    except (TableError, csv.Error) as fault:
        raise InputFault(_named(bags_file, fault)) from None
    try:
        readings = read_readings(text, model)
    except (TableError, csv.Error) as fault:
        raise InputFault(_named(readings_file, fault)) from None
    given = (options.reading_error, options.twist_error, options.noise)
    noise = None
    if any(value is not None for value in given):
        names = ("dial", "gauge", "relative")
        noise = Noise(**{name: value for name, value in zip(names, given) if value is not None})
    try:
        with Progress(n_steps(len({one.side for one in readings})), quiet=True) as progress:
            found = measured(
                wing, laid, readings, noise=noise, per_bay=options.mesh, model=model, progress=progress
            )
    except NoReading as fault:
        raise InputFault(f"{readings_file}: {fault}") from None

    def draw(place: Path) -> Iterator[Path]:
        from models.pictures.bench import plot_measured

        for side in found.sides:
            yield plot_measured(wing.name, wing, side, place / f"measured-{side.side}.png")

    files = filled(folder, draw)
    record = measured_record(wing, found, options.file, str(readings_file), options.mesh, files)
    if options.json:
        print_json(record)
    else:
        from models.report import measured as report
        from models.report.text import tell

        tell(report.measured_text, record)
    return ExitCode.DONE if found.sound else ExitCode.FAILS


def _tones(options: argparse.Namespace, wing: Wing, text: str) -> ExitCode:
    """Judge tones in place of dials."""
    given = (options.bags, options.noise, options.reading_error, options.twist_error, options.folder)
    if any(value is not None for value in given):
        raise InputFault(
            f"{options.readings}: holds tones; --bags, --noise, --reading-error, --twist-error and --folder "
            "are for dials."
        )
    with Progress(len(suspects(wing)) + 2, quiet=True) as progress:
        ear = Ear(wing, per_bay=options.mesh, progress=progress)
        try:
            reads = read_tones(text, len(ear.heard))
        except (TableError, csv.Error) as fault:
            raise InputFault(_named(Path(options.readings), fault)) from None
        progress("how fast")
        found = speeds(condense(wing, per_bay=options.mesh), n_modes=0)
        back = ear.back(reads, found, doubt(found))
    said = tone_sentences(back)
    record = {
        "command": "measured",
        "version": version(),
        "file": options.file,
        "readings": options.readings,
        "wing": wing.name,
        "answer": {"sentences": said, "sound": back.sound},
        "cautions": list(CAUTIONS[:2]),
        "named_where_probability_of_sound_is_below": DOUBT,
        "fits_where_chance_of_misfit_is_above": FALSE_ALARM,
        "chance_of_misfit": back.misfit,
        "tones": [
            {"tone": one.number, "heard_Hz": one.frequency, "computed_Hz": a, "explained_Hz": b}
            for one, a, b in zip(reads, back.computed.tolist(), back.explained.tolist(), strict=True)
        ],
        "hypotheses": [
            {"what": one.words, "probability": one.probability, "named": one in back.named}
            for one in back.findings
        ],
        "flutter_m_per_s": back.flutter,
        "flutter_fifth_percentile_m_per_s": back.fifth,
        "mesh": {"elements_per_bay": options.mesh},
    }
    if options.json:
        print_json(finite(record))
    else:
        from models.report.measured import tones_text
        from models.report.text import tell

        tell(tones_text, record)
    return ExitCode.DONE if back.sound else ExitCode.FAILS


_MOST_BYTES = 4_000_000
"""Of a table of readings or masses (chosen, no source): thousands of steps."""


def _text(path: Path, *, hint: bool = False) -> str:
    try:
        return file_text(path, encoding="utf-8-sig", most=_MOST_BYTES)
    except IntakeError as error:
        if hint and error.missing:
            more = "say with --bags FILE what lay on the wing (`sparbay bench --folder` writes it)"
            raise InputFault(f"{path}: cannot be read: there is no such file; {more}.") from None
        raise InputFault(f"{path}: cannot be read: {error}") from None


def _named(path: Path, fault: Exception) -> str:
    faults = fault.faults if isinstance(fault, TableError) else [str(fault)]
    return "\n".join(f"{path}: {one}" for one in faults)


def measured_record(
    wing: Wing, found: Measured, file: str, readings: str, per_bay: int, files: list[Path]
) -> Record:
    """All that `measured` has to say.

    Parameters
    ----------
    wing : Wing
        As drawn.
    found : Measured
        From `models.studies.measured.measured`.
    file, readings : str
        Names of the files as they were typed.
    per_bay : int
        Elements along a bay.
    files : list of Path
        Pictures written.

    Returns
    -------
    dict
        Plain data in SI, units in the keys.
    """
    record = {
        "command": "measured",
        "version": version(),
        "file": file,
        "readings": readings,
        "wing": wing.name,
        "answer": {"sentences": [s for side in found.sides for s in sentences(side)], "sound": found.sound},
        "cautions": list(CAUTIONS),
        "named_where_probability_of_sound_is_below": DOUBT,
        "fits_where_chance_of_misfit_is_above": FALSE_ALARM,
        "would_be_seen_from": SEEN,
        "sides": [_side(wing, side) for side in found.sides],
        "about": ABOUT,
        "mesh": {"elements_per_bay": per_bay},
        "files": [str(f) for f in files],
    }
    cleaned = finite(record)
    assert isinstance(cleaned, dict)
    return cleaned


def _hypothesis(one: Verdict) -> Record:
    return {
        "kind": one.kind,
        "what": one.words,
        "probability": one.probability,
        "ln_evidence_against_sound": one.evidence,
    }


def _side(wing: Wing, side: SideFound) -> Record:
    return {
        "side": side.side,
        "sound": side.sound,
        "named": [s.name for s in side.named],
        "verdict": [_hypothesis(one) for one in side.verdict],
        "apart": side.apart,
        "probability_of_sound": side.chance,
        "chance_of_naming_anything_in_a_sound_wing": side.alarm,
        "chance_of_such_a_misfit": side.misfit,
        "bending_stiffness_over_computed": side.bending,
        "bending_stiffness_error": side.bending_error,
        "twist_stiffness_over_computed": side.twist,
        "twist_stiffness_error": side.twist_error,
        "bags_aft_of_their_places_m": side.bags_aft,
        "bags_aft_error_m": side.bags_aft_error,
        "whole_wing_factor": side.whole_factor,
        "whole_wing_factor_error": side.whole_error,
        "ln_evidence": {
            "as_computed": side.as_computed,
            "one_factor_on_the_wing": side.whole,
            "pieces_differ": side.pieces_differ,
            "best_with_one_missing": side.pieces_differ
            + max((s.evidence for s in side.suspects), default=0.0),
        },
        "noise": {
            "dial_m": side.noise.dial,
            "gauge_rad": side.noise.gauge,
            "share_of_reading": side.noise.relative,
            "estimated": side.noise.estimated,
        },
        "hypotheses": [_hypothesis(one) for one in side.hypotheses],
        "odd_readings": [{"line": line, "standard_deviations": away} for line, away in side.odd],
        "left_out": [{"line": line, "times_the_other_steps": ratio} for line, ratio in side.slips],
        "marks": [
            {
                "rib": int(side.rib[k]),
                "y_m": wing.ribs[int(side.rib[k]) - 1].y,
                "x_m": float(side.x[k]) if side.what[k] == "deflection" else None,
                "what": side.what[k],
                "unit": "m" if side.what[k] == "deflection" else "rad",
                "computed": float(side.computed[k]),
                "measured": float(side.measured[k]),
                "error": float(side.error[k]),
                "explained": float(side.explained[k]),
            }
            for k in range(len(side.what))
        ],
        "suspects": [
            {
                "part": s.suspect.name,
                "kind": s.suspect.kind,
                "spar": s.suspect.spar,
                "face": s.suspect.face,
                "bay": s.suspect.bay or None,
                "ln_evidence_against_sound": s.evidence,
                "share_of_suspicion": s.posterior,
                "amount_gone": s.amount,
                "amount_error": s.amount_error,
                "chance_of_being_named_if_missing": s.seen,
            }
            for s in side.suspects
        ],
        "pieces": [
            {
                "piece": p.name,
                "stiffness_over_computed": p.factor,
                "error": p.error,
                "scatter_of_the_wood": p.before,
                "learned": p.learned,
            }
            for p in side.pieces
        ],
    }
