"""Do the engine's rails hold, with what carries them, and are they clear of its shaking?

Pull-up, thrust, torque, gyroscopic couples, shaking, nose-over and hard landing of the [engine] in the
file; natural frequencies against firing and blades. Leaves with 1 if a reserve factor is below 1 or a
frequency is too near.

example: sparbay loads --rails powered-tailless
"""

from __future__ import annotations

import argparse
import math
from typing import TYPE_CHECKING

from models import units_out as say
from models.command.document import Record, give, margin_figures, recorded
from models.command.exit_codes import ExitCode
from models.command.faults import InputFault
from models.command.files import read_wing
from models.command.options import shared
from models.command.progress import Progress
from models.report.text import Page, answer, fixed, reserve

if TYPE_CHECKING:
    from models.studies.rails import RailStudy

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


def options(command: argparse._ActionsContainer) -> None:
    """What it may be told."""
    shared(command, "file", "json", "mesh")


def run(options: argparse.Namespace) -> ExitCode:
    """Check the rails; 1 where they do not hold, or a frequency is too near what shakes."""
    from models.studies.rails import NoEngine, rails

    wing = read_wing(options.file)
    with Progress(1, quiet=True) as progress:
        progress("the engine's cases and frequencies")
        try:
            study = rails(wing, per_bay=options.mesh)
        except NoEngine as error:
            raise InputFault(f"{options.file}: {error}") from None
    record = recorded(options, figures(study))
    answer = record["answer"]
    holds = answer["holds"] and answer["clear_of_resonance"]
    return give(options, record, rails_text, holds=holds)


def figures(study: RailStudy) -> Record:
    """All that `loads --rails` has to say."""
    from models.studies.rails import CLEARANCE

    loads, worst = study.loads, study.worst
    return {
        "wing": study.wing.name,
        "answer": {
            "sentences": sentences(study),
            "holds": worst.least >= 1,
            "clear_of_resonance": not any(s.near for s in study.shakers),
            "least_reserve_factor": worst.least,
            "case": worst.case.name,
        },
        "cases": [
            {
                "case": c.case.name,
                "acts": c.case.what,
                "stated_factor": c.case.stated,
                "least_reserve_factor": c.least,
                "rails": [margin_figures(m) for m in c.rows],
                "carrying_bay": margin_figures(c.bay),
                "weakest_part_of_the_wing": margin_figures(c.weakest),
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
    """The answer in words."""
    from models.strength import rounded_down
    from models.studies.rails import CLEARANCE

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
            f"One rail {'1/32 in' if say.imperial() else '1 mm'} ahead of its twin turns the thrust line by "
            f"{math.degrees(study.toe_in) * (say.INCH / 32 * 1e3 if say.imperial() else 1):.1f} deg; "
            f"between them are {say.length(study.spacing):.1f}."
        )
    return out


def rails_text(out: Page, record: Record) -> None:
    """The page: words, cautions, reserve factors case by case, frequencies, build checks."""
    answer(out, record, good=record["answer"]["holds"] and record["answer"]["clear_of_resonance"])
    _cases(out, record["cases"])
    _frequencies(out, record["frequencies"])
    out.line()
    for check in record["build"]["checks"]:
        out.say(f"Build check: {check}")
    out.line()
    out.say(record["about"])


def _cases(out: Page, cases: list[Record]) -> None:
    modes = list(dict.fromkeys(r["mode"] for c in cases for r in c["rails"]))
    rows = []
    for c in cases:
        least = {
            m: min((r["reserve_factor"] for r in c["rails"] if r["mode"] == m), default=None) for m in modes
        }
        bay, weakest = c["carrying_bay"], c["weakest_part_of_the_wing"]
        rows.append(
            (
                c["case"],
                c["acts"],
                *(reserve(least[m]) for m in modes),
                "-" if bay is None else f"{reserve(bay['reserve_factor'])} {bay['part']}",
                "-" if weakest is None else f"{reserve(weakest['reserve_factor'])} {weakest['part']}",
            )
        )
    heads = [m.replace(" ", "\n") for m in modes]
    columns = ["<case", "~what acts", *heads, "~bays that carry", "~weakest of the wing"]
    out.table("Reserve factors of rails, their ties and glue, and of the bays that carry them", columns, rows)


def _frequencies(out: Page, found: Record) -> None:
    rows = [(fixed(m["frequency_Hz"]), fixed(m["share"], 100, 0), m["engine_moves"]) for m in found["modes"]]
    out.table("Natural frequencies in which the engine takes part", ["Hz", "share, %", "<engine moves"], rows)
    hand = found["by_hand_Hz"]
    if hand is not None:
        out.say(f"Rails alone on stiff spars, by hand: {fixed(hand)} Hz up and down.")
    shakers = [
        (
            s["name"],
            fixed(s["frequency_Hz"]),
            ", ".join(fixed(f) for f in s["too_near_Hz"]) or "none",
            ", ".join(fixed(m["rpm"], 1, 0) for m in s["met_between_idle_and_full"]) or "none",
        )
        for s in found["shakers"]
    ]
    heads = ["<shaker", "Hz", "<too near, Hz", "<meets a mode at, rpm"]
    out.table("What shakes it at full speed, and where it meets a mode from idle on", heads, shakers)
