"""Is the wing as stiff as computed, where is it not, and is a web missing?

Reads the table that sparbay bench --folder wrote, filled in, and compares it with what was computed:
stiffness in bending and twist, what the wood would have to be, and which of named hypotheses explains them:
all is sound; one or two webs gone, thinner or loose; other wood; a loose rib or sheet; a hold that gives;
bags displaced; dials with an offset, a wrong sign or unit. Leaves with 1 if anything but wood is off or if
nothing explains the readings.

example: sparbay measured trainer bench/readings.csv
"""

from __future__ import annotations

import argparse
import csv
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from models import units_out as say
from models.command.document import Record, document, figures, give
from models.command.exit_codes import ExitCode
from models.command.faults import InputFault
from models.command.files import filled, new_folder, read_wing
from models.command.options import quantity, shared
from models.command.progress import Progress
from models.report.text import DEG, Page, answer, fixed, number

if TYPE_CHECKING:
    from models.studies.measured import Measured, SideFound
    from models.wing.parts import Wing

CAUTIONS = (
    "A wing that bends as computed is stiff, which is not the same as strong: only a proof load shows "
    "strength.",
    "Readings tell that a web carries nothing, not why: left out, or a glue line that has let go. Look.",
    "Measure against the centre section: what the hold itself gives would pass for a softer wing.",
    "Judged as held by the caps alone at the centre line (and engine bearers). With the whole centre section "
    "clamped all ribs twist by 0.1 to 0.2 degrees more or less; one standard deviation of 0.1 degrees is "
    "allowed for that, and what is far beyond is told as a hold that turns.",
)


def options(command: argparse.ArgumentParser) -> None:
    """What it may be told."""
    add = command.add_argument
    shared(command, "file")
    add("readings", metavar="READINGS", help="table of readings, or tones as sparbay speed writes it (CSV)")
    shared(command, "json", "mesh")
    add("--bags", metavar="BAGS",
        help="table of what lay on the wing (default: bags.csv beside the readings)")  # fmt: skip
    add("--noise", metavar="PERCENT", type=quantity("fraction", "0 %", "50 %"),
        help="standard deviation of a reading, of its value, 3%% say (default: from the scatter over the "
        "steps)")  # fmt: skip
    add("--reading-error", metavar="LENGTH", type=quantity("length", "0.001 mm", "100 mm"),
        help="standard deviation of a dial, 0.2mm or 0.01in say (default: the same)")  # fmt: skip
    add("--twist-error", metavar="ANGLE", type=quantity("angle", "0.001 deg", "11 deg"),
        help="standard deviation of a gauge of twist, 0.1deg say (default: the same)")  # fmt: skip
    shared(command, "folder")


def run(options: argparse.Namespace) -> ExitCode:
    """Judge the readings; 1 where anything but wood is off, or where nothing explains them."""
    from models.studies.measured import Noise, NoReading, measured, n_steps
    from models.studies.readings import BAGS_FILE, TableError, read_bags, read_readings
    from models.studies.tones_read import holds_tones

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
    return give(options, record, measured_text, holds=found.sound)


def _tones(options: argparse.Namespace, wing: Wing, text: str) -> ExitCode:
    """Judge tones in place of dials."""
    from models.studies.measured import DOUBT, FALSE_ALARM
    from models.studies.readings import TableError
    from models.studies.speed import condense, speeds
    from models.studies.speed_doubt import doubt
    from models.studies.tones_read import Ear, read_tones, suspects
    from models.studies.tones_read import sentences as tone_sentences

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
        "readings": options.readings,
        "wing": wing.name,
        "answer": {"sentences": said, "sound": back.sound},
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
    whole = document("measured", options.file, record, CAUTIONS[:2])
    return give(options, whole, tones_text, holds=back.sound)


_MOST_BYTES = 4_000_000
"""Of a table of readings or masses (chosen, no source): thousands of steps."""


def _text(path: Path, *, hint: bool = False) -> str:
    from models.wing.intake import IntakeError, file_text

    try:
        return file_text(path, encoding="utf-8-sig", most=_MOST_BYTES)
    except IntakeError as error:
        if hint and error.missing:
            more = "say with --bags FILE what lay on the wing (`sparbay bench --folder` writes it)"
            raise InputFault(f"{path}: cannot be read: there is no such file; {more}.") from None
        raise InputFault(f"{path}: cannot be read: {error}") from None


def _named(path: Path, fault: Exception) -> str:
    from models.studies.readings import TableError

    faults = fault.faults if isinstance(fault, TableError) else [str(fault)]
    return "\n".join(f"{path}: {one}" for one in faults)


def measured_record(
    wing: Wing, found: Measured, file: str, readings: str, per_bay: int, files: list[Path]
) -> Record:
    """All that `measured` has to say.

    Parameters
    ----------
    wing, found
        The wing, and what its readings say of it.
    file, readings : str
        Of the wing and of what was read, as they were typed.
    per_bay : int
        Elements along a bay.
    files : list of path
        What was written.
    """
    from models.studies.hypotheses import PLACED
    from models.studies.measured import ABOUT, DOUBT, FALSE_ALARM, SEEN, sentences

    record = {
        "readings": readings,
        "wing": wing.name,
        "answer": {"sentences": [s for side in found.sides for s in sentences(side)], "sound": found.sound},
        "named_where_probability_of_sound_is_below": DOUBT,
        "fits_where_chance_of_misfit_is_above": FALSE_ALARM,
        "would_be_seen_from": SEEN,
        "sides": [_side(wing, side) for side in found.sides],
        "about": ABOUT.format(placed=f"{say.length(PLACED):.0f}"),
        "mesh": {"elements_per_bay": per_bay},
        "files": [str(f) for f in files],
    }
    return document("measured", file, record, CAUTIONS)


_HYPOTHESIS = {
    "kind": "kind", "what": "words", "probability": "probability", "ln_evidence_against_sound": "evidence",
}  # fmt: skip
_SIDE = {
    "apart": "apart", "probability_of_sound": "chance",
    "chance_of_naming_anything_in_a_sound_wing": "alarm", "chance_of_such_a_misfit": "misfit",
    "bending_stiffness_over_computed": "bending", "bending_stiffness_error": "bending_error",
    "twist_stiffness_over_computed": "twist", "twist_stiffness_error": "twist_error",
    "bags_aft_of_their_places_m": "bags_aft", "bags_aft_error_m": "bags_aft_error",
    "all_bags_told_from_m": "bags_told", "one_dial_told_from_m": "dials_told",
    "whole_wing_factor": "whole_factor", "whole_wing_factor_error": "whole_error",
}  # fmt: skip
_SUSPECT = {
    "part": "suspect.name", "kind": "suspect.kind", "spar": "suspect.spar", "face": "suspect.face",
    "bay": "suspect.bay", "ln_evidence_against_sound": "evidence", "share_of_suspicion": "posterior",
    "amount_gone": "amount", "amount_error": "amount_error", "chance_of_being_named_if_missing": "seen",
}  # fmt: skip
_PIECE = {
    "piece": "name", "stiffness_over_computed": "factor", "error": "error", "scatter_of_the_wood": "before",
    "learned": "learned",
}  # fmt: skip
"""What is told of each, and what the study calls it."""


def _side(wing: Wing, side: SideFound) -> Record:
    best = max((s.evidence for s in side.suspects), default=0.0)
    return (
        {"side": side.side, "sound": side.sound, "named": [s.name for s in side.named]}
        | {"verdict": [figures(one, **_HYPOTHESIS) for one in side.verdict]}
        | figures(side, **_SIDE)
        | {
            "ln_evidence": {
                "as_computed": side.as_computed,
                "one_factor_on_the_wing": side.whole,
                "pieces_differ": side.pieces_differ,
                "best_with_one_missing": side.pieces_differ + best,
            },
            "noise": figures(side.noise, "dial_m", "gauge_rad", share_of_reading="relative")
            | {"estimated": side.noise.estimated},
            "hypotheses": [figures(one, **_HYPOTHESIS) for one in side.hypotheses],
            "odd_readings": [{"line": line, "standard_deviations": away} for line, away in side.odd],
            "left_out": [{"line": line, "times_the_other_steps": ratio} for line, ratio in side.slips],
            "marks": [_mark(wing, side, k) for k in range(len(side.what))],
            "suspects": [figures(s, **_SUSPECT) | {"bay": s.suspect.bay or None} for s in side.suspects],
            "pieces": [figures(p, **_PIECE) for p in side.pieces],
        }
    )


def _mark(wing: Wing, side: SideFound, k: int) -> Record:
    """What was read and computed at one place."""
    rib, dial = int(side.rib[k]), side.what[k] == "deflection"
    return {
        "rib": rib,
        "y_m": wing.ribs[rib - 1].y,
        "x_m": float(side.x[k]) if dial else None,
        "what": side.what[k],
        "unit": "m" if dial else "rad",
    } | {key: float(getattr(side, key)[k]) for key in ("computed", "measured", "error", "explained")}


def measured_text(out: Page, record: Record) -> None:
    """The answer of `measured`: words, then for each side its marks, suspects and pieces."""
    answer(out, record, good=record["answer"]["sound"])
    for side in record["sides"]:
        _marks(out, side)
        _hypotheses(out, side)
        _suspects(out, side)
        _pieces(out, side)
    out.say(record["about"])
    out.files(record["files"])


def _marks(out: Page, side: Record) -> None:
    rows = []
    for m in side["marks"]:
        dial = m["what"] == "deflection"
        kind = say.length if dial else say.angle
        rows.append(
            (
                str(m["rib"]), say.length.fixed(m["x_m"], 0) if dial else "rib", kind.unit,
                *(kind.fixed(m[key], 2) for key in ("computed", "measured", "error")),
                kind.fixed(m["measured"] - m["computed"], 2),
                kind.fixed(m["explained"] - m["computed"], 2),
            )
        )  # fmt: skip
    noise = side["noise"]
    told = "estimated from the scatter over the steps" if noise["estimated"] else "as given or assumed"
    columns = ["rib", f"at x, aft\n{say.length.unit}", "<unit", "computed", "measured", "error",
               "measured\nless computed", "explained\nless computed"]  # fmt: skip
    out.table(f"Movement under all bags, {side['side']}", columns, rows)
    out.say(
        f"Noise of one reading, {told}: {say.length.number(noise['dial_m'], 2)} {say.length.unit}, "
        f"{number(noise['gauge_rad'], DEG, 2)} degrees, and {fixed(noise['share_of_reading'], 100)} % of "
        "the reading."
    )


def _hypotheses(out: Page, side: Record) -> None:
    likely = [h for k, h in enumerate(side["hypotheses"]) if not k or h["probability"] >= 0.01]
    out.listed(f"What may be, {side['side']}, the likeliest first", likely, {
        "<hypothesis": "what",
        "ln evidence\nagainst sound": ("ln_evidence_against_sound", fixed),
        "probability\n%": lambda h: f"{100 * h['probability']:.3g}",
    })  # fmt: skip


def _suspects(out: Page, side: Record) -> None:
    if not side["suspects"]:
        return
    title = f"Is it there? Webs and braces, {side['side']}, the most suspect first"
    out.listed(title, side["suspects"], {
        "<part": "part",
        "ln evidence\nagainst sound": ("ln_evidence_against_sound", fixed),
        "share of\nsuspicion, %": ("share_of_suspicion", fixed, 100, 0),
        "gone if\nany is, %": lambda s: _amount(s["amount_gone"], s["amount_error"]),
        "would be named\nif missing, %": ("chance_of_being_named_if_missing", fixed, 100, 0),
    })  # fmt: skip


def _amount(amount: float, error: float | None) -> str:
    """Per cent and error; nothing where the readings hardly depend on it."""
    if error is None or error > 0.25:
        return "cannot tell"
    return f"{fixed(amount, 100, 0)} +- {fixed(error, 100, 0)}"


def _pieces(out: Page, side: Record) -> None:
    out.listed(f"What the wood would have to be, {side['side']}", side["pieces"], {
        "<piece": "piece",
        "stiffness against\ncomputed, %": lambda p: f"{100 * (p['stiffness_over_computed'] - 1):+.0f}",
        "error\n%": ("error", fixed, 100, 0),
        "scatter of\nsuch wood, %": ("scatter_of_the_wood", fixed, 100, 0),
        "of the scatter\nresolved, %": ("learned", fixed, 100, 0),
    })  # fmt: skip


def tones_text(out: Page, record: Record) -> None:
    """The answer of `measured` on tones: words, then each tone as heard, as computed and as explained."""
    answer(out, record, good=record["answer"]["sound"])
    rows = [
        (str(t["tone"]), *(number(t[f"{k}_Hz"], 1, 3) for k in ("heard", "computed", "explained")))
        for t in record["tones"]
    ]
    out.table("Tones, Hz", ["tone", "heard", "computed", "explained"], rows)
