"""How hard may the wing be flown at each speed, by lift, by strength and in gusts?

Says what a full pull does, draws load factor over speed, and checks every corner. Leaves with 1 if a corner
breaks the wing.

example: sparbay envelope trainer
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from models import units_out as say
from models.command.document import Record, document, give
from models.command.exit_codes import ExitCode
from models.command.files import filled, must_fly, new_folder, read_wing
from models.command.options import shared
from models.command.progress import Progress
from models.report.text import Page, answer, borne, reserve, rest
from models.units_out import mass_beside_gees

if TYPE_CHECKING:
    from models.strength import Margin
    from models.studies.envelope import AtSpeed, Corner, Envelope, MassEnvelope, Meets

ABOUT = (
    "Lift: (V/stall speed)^2. Gust: Pratt and Walker, NACA Report 1206, 1954, and 14 CFR 23.341 as it stood "
    "before 2017 (from memory), with the lift slope of the lifting surface; a stalled wing lifts no more "
    "than its greatest lift, and corners are checked with that. Loop: n = 1 + V^2/(g R) at its lowest point. "
    "Breaks: first failure, from lift at that load factor and the section's moment at that speed; sheeting "
    "that bows is counted. Without harm: the shares of the strengths that `sparbay bench --proof` allows. "
    "Counted is the harder of lift as built and lift where the bent wing puts it, its strength being in "
    "proportion; corners tell both. How fast "
    "it may be flown before it beats or twists off: `sparbay speed`, with the file's own masses."
)


def options(command: argparse.ArgumentParser) -> None:
    """What it may be told."""
    shared(command, "file", "json", "mesh", "folder")


def run(options: argparse.Namespace) -> ExitCode:
    """Work the envelope out; 1 where a corner of it breaks the wing."""
    from models.session import Session
    from models.studies.envelope import envelope, n_steps
    from models.studies.speed_limit import limit

    folder = new_folder(options.folder)
    wing = read_wing(options.file)
    must_fly(wing, options.file, "an envelope")
    session = Session(wing, per_bay=options.mesh)
    with Progress(n_steps(wing), quiet=True) as progress:
        found = envelope(wing, progress=progress, session=session)
    found = replace(found, speed=limit(wing, session=session))

    def draw(place: Path) -> Iterator[Path]:
        from models.pictures.plots import plot_envelope

        for k, one in enumerate(found.masses):
            mark = f"-{k + 1}" if len(found.masses) > 1 else ""
            path = place / f"envelope{mark}.png"
            yield plot_envelope(_title(wing.name, found, one), one, path, found.advised)

    files = filled(folder, draw)
    record = envelope_record(found, options.file, options.mesh, files)
    return give(options, record, envelope_text, holds=record["answer"]["survives"])


def _title(wing: str, found: Envelope, one: MassEnvelope) -> str:
    from models.pictures.plots import envelope_title

    loading = f"{one.name}, " if len(found.masses) > 1 else ""
    return envelope_title(f"{wing}, {loading}{mass_beside_gees(one.mass)}", one)


def envelope_record(found: Envelope, file: str, per_bay: int, files: list[Path]) -> Record:
    """All that `envelope` has to say.

    Parameters
    ----------
    found : Envelope
    file : str
        As it was typed.
    per_bay : int
        Elements along a bay.
    files : list of path
        What was written.
    """
    from models.studies.envelope import sentences

    flight = found.wing.flight
    assert flight is not None
    worst = found.worst
    corner = worst.critical
    record = {
        "wing": found.wing.name,
        "kind": "wing",
        "answer": {
            "sentences": sentences(found),
            "survives": bool(corner.least >= 1),
            "critical_loading": worst.name,
            "critical_mass_kg": worst.mass,
            "critical_corner": _corner(corner),
            "stall_speed_m_per_s": worst.stall_speed,
            "corner_speed_m_per_s": worst.corner_speed,
            "pull_up_at_cruise": _row(worst.at_cruise),
            "wing_sets_the_limit_above": _meets(worst.harms),
        },
        "air_density_kg_per_m3": flight.air_density,
        "gust_velocity_m_per_s": flight.gust_velocity,
        "loadings": [_loading(one) for one in found.masses],
        "speed": None if found.speed is None else found.speed.record(),
        "assumed": [{"key": key, "value": value} for key, value in flight.assumed],
        "about": ABOUT,
        "mesh": {"elements_per_bay": per_bay},
        "files": [str(f) for f in files],
    }
    return document("envelope", file, record)


def _loading(one: MassEnvelope) -> Record:
    return {
        "loading": one.name,
        "mass_kg": one.mass,
        "wing_loading_N_per_m2": one.wing_loading,
        "lift_slope_per_rad": one.slope,
        "stall_speed_m_per_s": one.stall_speed,
        "stall_speed_inverted_m_per_s": one.limits.stall_inverted,
        "corner_speed_m_per_s": one.corner_speed,
        "cruise_speed_m_per_s": one.cruise,
        "never_exceed_speed_m_per_s": one.limits.never_exceed,
        "load_factor_asked": one.limits.up,
        "inverted_load_factor_asked": one.limits.down,
        "strength_left_by_bowed_sheeting": one.bowed,
        "strength_left_by_bowed_sheeting_inverted": one.bowed_inverted,
        "full_pull_harms_above": _meets(one.harms),
        "full_pull_breaks_above": _meets(one.breaks),
        "full_push_breaks_above": _meets(one.breaks_inverted),
        "speeds": [_row(row) for row in one.rows],
        "corners": [_corner(corner) for corner in one.corners],
        "critical_corner": _corner(one.critical),
    }


def _row(row: AtSpeed) -> Record:
    return {
        "speed_m_per_s": row.speed,
        "name": row.name,
        "load_factor_by_lift": row.lift,
        "load_factor_at_first_failure": row.fails,
        "load_factor_without_harm": row.harmless,
        "inverted_load_factor_by_lift": row.lift_inverted,
        "inverted_load_factor_at_first_failure": row.fails_inverted,
        "inverted_load_factor_without_harm": row.harmless_inverted,
        "load_factor_in_up_gust": row.gust_up,
        "load_factor_in_down_gust": row.gust_down,
        "safe_load_factor": row.safe,
        "tightest_radius_m": row.radius,
    }


def _corner(corner: Corner) -> Record:
    return {
        "name": corner.name,
        "speed_m_per_s": corner.speed,
        "load_factor_asked": corner.asked,
        "load_factor": corner.load_factor,
        "reserve_factor": corner.reserve,
        **_weakest(corner.margin),
        "counted_reserve_factor": corner.least,
        "bent_wing_reserve_factor": corner.bent,
        "bent_wing_weakest": None if corner.bent is None else _weakest(corner.bent_margin),
        "bent_wing_ends_at_m_per_s": corner.ends,
    }


def _meets(one: Meets | None) -> Record | None:
    if one is None:
        return None
    return {"speed_m_per_s": one.speed, "load_factor": one.load_factor, **_weakest(one.margin)}


def _weakest(margin: Margin | None) -> Record:
    return {
        "part": margin.part.name if margin else None,
        "bay": margin.bay if margin else None,
        "spar": margin.spar if margin else None,
        "mode": margin.mode if margin else None,
        "source": margin.source if margin else None,
    }


def envelope_text(out: Page, record: Record) -> None:
    """Words, cautions, a table by speed and one of the corners for each loading, what was assumed."""
    answer(out, record, good=record["answer"]["survives"])
    for one in record["loadings"]:
        _speeds(out, one)
        _corners(out, one)
    rest(out, record)


def _speeds(out: Page, one: Record) -> None:
    rows = [
        (
            say.speed.fixed(r["speed_m_per_s"], 0),
            r["name"],
            *(borne(r[f"load_factor_{key}"]) for key in ("by_lift", "at_first_failure", "without_harm")),
            borne(r["safe_load_factor"]),
            say.span.number(r["tightest_radius_m"], 3),
            *(
                borne(_minus(r[f"inverted_load_factor_{key}"]))
                for key in ("by_lift", "at_first_failure", "without_harm")
            ),
            *(borne(r[f"load_factor_in_{way}_gust"]) for way in ("up", "down")),
        )
        for r in one["speeds"]
    ]
    columns = [f"speed\n{say.speed.unit}", "<", "stalls\nat, g", "breaks\nat, g", "no harm\nup to, g",
               "may pull\ng", f"loop's\nradius, {say.span.unit}", "inverted\nstalls, g",
               "inverted\nbreaks, g",
               "inverted\nno harm, g", "up-gust\ng", "down-gust\ng"]  # fmt: skip
    loading = f"wing loading {say.wing_loading(one['wing_loading_N_per_m2']):.0f}"
    out.table(f"By speed, {one['loading']}: {mass_beside_gees(one['mass_kg'])}, {loading}", columns, rows)


def _minus(value: float | None) -> float | None:
    return None if value is None else -value


def _corners(out: Page, one: Record) -> None:
    rows = [
        (
            c["name"],
            say.speed.fixed(c["speed_m_per_s"], 0),
            borne(c["load_factor_asked"]),
            borne(c["load_factor"]),
            reserve(c["reserve_factor"]),
            "-" if c["bent_wing_reserve_factor"] is None else reserve(c["bent_wing_reserve_factor"]),
            c["part"] or "-",
            c["mode"] or "-",
        )
        for c in one["corners"]
    ]
    columns = ["<corner", f"speed\n{say.speed.unit}", "asked\ng", "lifted\ng", "reserve\nfactor",
               "of bent\nwing", "~weakest", "~mode"]  # fmt: skip
    title = f"Corners of the envelope, {one['loading']}: {mass_beside_gees(one['mass_kg'])}"
    out.table(title, ["no.", *columns], [(str(k + 1), *row) for k, row in enumerate(rows)])
