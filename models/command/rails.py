"""`sparbay rails`: the engine's rails, what carries them, and what shakes them."""

from __future__ import annotations

import argparse
import math

from models.cautions import CAUTIONS
from models.command.check import print_json
from models.command.exit_codes import ExitCode
from models.command.faults import InputFault, version
from models.command.files import read_wing
from models.command.progress import Progress
from models.command.record import Record, finite
from models.strength import Margin, rounded_down
from models.studies.rails import CLEARANCE, NoEngine, RailStudy, rails

ABOUT = (
    "Whole wing in free flight, its inertia balancing every case; rails end at the engine, whose crankcase "
    "holds them together. The engine is a point without inertia in turning. Frequencies are those in which "
    "the engine has 5 % or more of the kinetic energy; the hand formula takes the spars as stiff and still, "
    "the ties as knife edges, and so stands for the rails alone. Factors of shaking, nose-over and hard "
    "landing, the yaw rate and the clearance are common practice, no source."
)
BUILD_CHECKS = (
    "Measure your engine: its lugs' width, bolt pitch and crankcase, and drill the rails to that, not to a "
    "catalogue.",
    "Bolt the engine to the rails before the glue of the second rail sets, so that they keep its spacing.",
    "Seal the rails' ends and bolt holes against fuel, and lock the nuts.",
)


def run(options: argparse.Namespace) -> ExitCode:
    """Check the rails; 1 where they do not hold, or a frequency is too near what shakes."""
    wing = read_wing(options.file)
    with Progress(1, quiet=True) as progress:
        progress("the engine's cases and frequencies")
        try:
            study = rails(wing, per_bay=options.mesh)
        except NoEngine as error:
            raise InputFault(f"{options.file}: {error}") from None
    record = rails_record(study, options.file, options.mesh)
    if options.json:
        print_json(record)
    else:
        from models.report import rails as report
        from models.report.text import tell

        tell(report.rails_text, record)
    answer = record["answer"]
    return ExitCode.DONE if answer["holds"] and answer["clear_of_resonance"] else ExitCode.FAILS


def rails_record(study: RailStudy, file: str, per_bay: int) -> Record:
    """All that `rails` has to say.

    Parameters
    ----------
    study : RailStudy
        From `models.studies.rails.rails`.
    file : str
        The file's name as it was typed.
    per_bay : int
        Elements along a bay.

    Returns
    -------
    dict
        Plain data in SI, units in the keys.
    """
    loads, worst = study.loads, study.worst
    record = {
        "command": "rails",
        "version": version(),
        "file": file,
        "wing": study.wing.name,
        "answer": {
            "sentences": sentences(study),
            "holds": worst.least >= 1,
            "clear_of_resonance": not any(s.near for s in study.shakers),
            "least_reserve_factor": worst.least,
            "case": worst.case.name,
        },
        "cautions": [*CAUTIONS],
        "cases": [
            {
                "case": c.case.name,
                "acts": c.case.what,
                "stated_factor": c.case.stated,
                "least_reserve_factor": c.least,
                "rails": [_row(m) for m in c.rows],
                "carrying_bay": None if c.bay is None else _row(c.bay),
                "weakest_part_of_the_wing": None if c.weakest is None else _row(c.weakest),
            }
            for c in study.cases
        ],
        "loads": {
            "speed_m_per_s": loads.speed,
            "pitch_rate_rad_per_s": loads.pitch_rate,
            "gyroscopic_couple_in_pull_up_N_m": loads.gyroscopic[0],
            "gyroscopic_couple_in_yaw_N_m": loads.gyroscopic[1],
        },
        "frequencies": {
            "modes": [
                {"frequency_Hz": m.frequency, "share": m.share, "engine_moves": m.direction}
                for m in study.modes
            ],
            "by_hand_Hz": study.hand_frequency,
            "shakers": [
                {
                    "name": s.name,
                    "frequency_Hz": s.frequency,
                    "too_near_Hz": [m.frequency for m in s.near],
                    "met_between_idle_and_full": [
                        {"frequency_Hz": m.frequency, "rpm": rpm(speed)} for m, speed in s.met
                    ],
                }
                for s in study.shakers
            ],
            "clearance": CLEARANCE,
        },
        "build": {
            "clear_between_rails_m": study.spacing or None,
            "thrust_line_turns_for_1_mm_rad": study.toe_in or None,
            "checks": list(BUILD_CHECKS),
        },
        "about": ABOUT,
        "mesh": {"elements_per_bay": per_bay},
    }
    cleaned = finite(record)
    assert isinstance(cleaned, dict)
    return cleaned


def _row(margin: Margin) -> Record:
    return {
        "part": margin.part.name,
        "mode": margin.mode,
        "reserve_factor": margin.reserve_factor,
        "applied": margin.applied,
        "allowable": margin.allowable,
        "unit": margin.unit,
        "source": margin.source,
    }


def rpm(speed: float) -> float:
    """Revolutions a minute of a speed in rad/s."""
    return speed * 30 / math.pi


def passing(study: RailStudy) -> list[str]:
    """At which speeds between idle and full the engine meets a mode of its own, in words; none where it meets
    none."""
    engine = study.wing.engine
    met = sorted({round(rpm(speed), -1) for s in study.shakers for _, speed in s.met})
    if engine is None or not study.shakers:
        return []
    reach = f"from idle, {rpm(engine.idle):.0f} rpm, to full"
    if not met:
        return [f"On the way {reach} nothing meets a mode of the engine."]
    listed = ", ".join(f"{one:.0f}" for one in met)
    return [f"On the way {reach} it shakes a mode of its own at {listed} rpm: pass these, do not stay there."]


def sentences(study: RailStudy) -> list[str]:
    """The answer in words.

    Parameters
    ----------
    study : RailStudy
        From `models.studies.rails.rails`.

    Returns
    -------
    list of str
    """
    worst, first = study.worst, study.worst.first
    out = []
    if first is None:
        out.append("Nothing loads the rails.")
    else:
        holds = "hold" if worst.least >= 1 else "do not hold"
        out.append(
            f"The rails and what carries them {holds}: least reserve factor "
            f"{rounded_down(worst.least)}, {worst.case.name}, {first.mode} ({first.part.name})."
        )
    beyond = min(
        (c for c in study.cases if c.weakest is not None),
        key=lambda c: c.weakest.reserve_factor if c.weakest else math.inf,
        default=None,
    )
    if beyond is not None and beyond.weakest is not None and beyond.weakest.reserve_factor < worst.least:
        out.append(
            f"Of the whole wing {beyond.weakest.part.name} is weaker: "
            f"{rounded_down(beyond.weakest.reserve_factor)} in {beyond.case.name}."
        )
    near = [s for s in study.shakers if s.near]
    for s in near:
        modes = ", ".join(f"{m.frequency:.0f} Hz {m.direction}" for m in s.near)
        out.append(
            f"Too near: {s.name} at {s.frequency:.0f} Hz, the engine swings at {modes}; keep "
            f"{100 * CLEARANCE:.0f} % clear."
        )
    if study.shakers and not near:
        each = ", ".join(f"{s.name} {s.frequency:.0f} Hz" for s in study.shakers)
        out.append(f"At full speed no mode of the engine lies within {100 * CLEARANCE:.0f} % of {each}.")
    out += passing(study)
    if study.toe_in:
        out.append(
            f"One rail 1 mm ahead of its twin turns the thrust line by {math.degrees(study.toe_in):.1f} deg; "
            f"between them are {1e3 * study.spacing:.1f} mm."
        )
    return out
