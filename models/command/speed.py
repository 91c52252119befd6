"""How fast may it fly before the tips beat, it twists off, or the elevons lose their grip?

Flutter, divergence and reversal of the wing in free flight, by unsteady strips of air, for every layout of
webs of the file; frequency and damping over speed. Leaves with 1 if the file states a speed (of its case,
cruise_speed or never_exceed_speed) beyond what is advised, as `sparbay check --speed` counts it; a pull-up
without a speed of its own asks for none.

example: sparbay speed powered-tailless
"""

from __future__ import annotations

import argparse
import math
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from models import units_out as say
from models.command.document import Record, figures, give, recorded
from models.command.exit_codes import ExitCode
from models.command.faults import InputFault
from models.command.files import filled, must_fly, new_folder, read_wing, write_text
from models.command.options import shared
from models.command.progress import Progress
from models.report.text import Columns, Page, answer, number, rest
from models.units_out import mass_words

if TYPE_CHECKING:
    from models.studies.speed import Beating, Help, Latticed, Reduced, Speeds
    from models.studies.speed_doubt import SpeedDoubt
    from models.studies.tap import Tone
    from models.wing.parts import Wing

ABOUT = (
    "The whole structure is condensed on its static answers to lift and moment at every rib and on rigid "
    "motions; it flies free, with the masses of the file where they are and the rest of the flying mass in "
    "the middle. Unsteady air twice over: in strips along the stream by Theodorsen (NACA TR 496, from "
    "memory), lift slope 2 pi, each bit of wing lifting as if the wing had no ends; and by a lattice of "
    "rings on the flat planform with a flat wake (Katz and Plotkin, from memory). The lower counts. The "
    "tables over speed are by strips."
)
TAP = (
    "Tap test: hang the bare wing on soft cords at the ribs that stay still, or hold the equipped wing fast "
    "at its middle; tap with a soft stick where it moves most and listen there. In still air, by strips. "
    "Tones that are lower than told mean less stiffness or more mass than in the file: a web that is "
    "missing, a dry joint, lighter or heavier wood. `sparbay measured` reads them back (tones.csv of "
    "--folder)."
)


def options(command: argparse.ArgumentParser) -> None:
    """What it may be told."""
    shared(command, "file", "json", "mesh", "folder")
    command.add_argument("--moving", action="store_true",
        help="write the shape that beats as a moving picture too (--folder)")  # fmt: skip


def run(options: argparse.Namespace) -> ExitCode:
    """Speeds of every layout; 1 where the file's own speed is beyond what is advised."""
    from models.studies.envelope import loaded, loadings_of
    from models.studies.layouts import standard
    from models.studies.speed import by_layout, condense, helps, speeds
    from models.studies.speed_doubt import doubt
    from models.studies.tap import tones

    if options.moving and options.folder is None:
        raise InputFault("--moving: a moving picture needs a place; give --folder DIR as well.")
    folder = new_folder(options.folder)
    wing = read_wing(options.file)
    must_fly(wing, options.file, "speed")
    others = loadings_of(wing)[1:]
    with Progress(len(standard(wing)) + bool(wing.coverings) + len(others) + 2, quiet=True) as progress:
        found = list(by_layout(wing, per_bay=options.mesh, progress=progress).items())
        if found[0][1].reduced.film is not None:
            progress("covering torn")
            bare = replace(wing, coverings=tuple(replace(one, stretch=None) for one in wing.coverings))
            reduced = condense(bare, per_bay=options.mesh)
            found.append(("as drawn, covering torn", speeds(reduced, follow=False)))
        for loading in others:
            progress(loading.name)
            reduced = condense(loaded(wing, loading), per_bay=options.mesh)
            found.append((f"as drawn, {loading.name}", speeds(reduced, follow=False)))
        progress("what helps")
        better = helps(found[0][1], per_bay=options.mesh)
        progress("as wood scatters, and its tones")
        sure = doubt(found[0][1])
        heard = tones(wing, found[0][1].reduced, per_bay=options.mesh)

    def draw(place: Path) -> Iterator[Path]:
        from models.pictures.speed import animate_speed, plot_speed
        from models.studies.tones_read import tones_csv

        yield plot_speed(found[0][1], place / "speed.png", sure)
        write_text(place / "tones.csv", tones_csv(wing, heard))
        yield place / "tones.csv"
        if options.moving and found[0][1].beating:
            yield animate_speed(found[0][1], place / "beating.gif")

    files = filled(folder, draw)
    record = recorded(options, _figures(wing, found, better, sure, heard), files)
    return give(options, record, speed_text, holds=record["answer"]["survives"] is not False)


def _figures(
    wing: Wing, found: list[tuple[str, Speeds]], better: list[Help], sure: SpeedDoubt | None,
    heard: list[Tone],
) -> Record:  # fmt: skip
    from models.studies.speed import LAST, LOSS
    from models.studies.speed_limit import MARGIN, limit_of, stated
    from models.studies.speed_words import sentences

    drawn = found[0][1]
    reduced = drawn.reduced
    held = limit_of(drawn, sure, stated(wing))
    return {
        "wing": wing.name,
        "kind": "wing",
        "answer": {
            "sentences": sentences(wing, found, better, sure),
            "comes_first": held.first or None,
            "at_speed_m_per_s": _up_to_last(held.onset),
            "counted_speed_m_per_s": _up_to_last(held.counted),
            "advised_speed_m_per_s": None if math.isinf(held.advised) else held.advised,
            "asked_speed_m_per_s": held.asked or None,
            "case_speed_m_per_s": reduced.case_speed,
            "survives": held.holds,
        },
        "searched_to_m_per_s": LAST,
        "air_density_kg_per_m3": wing.case.air_density,
        "loss_factors": list(LOSS),
        "margin": MARGIN,
        "beating": [_beating(one, reduced.rib_y.tolist()) for one in drawn.beating],
        "beating_fifth_percentile_m_per_s": None if sure is None else sure.fifth,
        "twist_off_m_per_s": _up_to_last(drawn.twist_off),
        "reversal_m_per_s": _up_to_last(drawn.reversal),
        "trim_ends_m_per_s": _up_to_last(drawn.trim_ends),
        "rattle_m_per_s": _up_to_last(drawn.rattle),
        "control": _control(reduced),
        "pull_up": _pulled_record(drawn),
        "layouts": [_layout(name, one) for name, one in found],
        "helps": [{"change": one.words, "added_kg": one.mass} | _first(one.speeds) for one in better],
        "tap_test": [_tone(wing, tone) for tone in heard],
        "by_speed": {
            "speed_m_per_s": drawn.speeds.tolist(),
            "grip": None if drawn.grip is None else drawn.grip.tolist(),
            "modes": [figures(m, "kind", "frequency_Hz", damping_ratio="damping") for m in drawn.modes],
        },
        "mass": {
            "flying_mass_kg": reduced.mass,
            "in_the_middle_kg": reduced.rest,
            "in_the_middle_pitch_inertia_kg_m2": _inertia(reduced),
        },
        "covering": None
        if reduced.film is None
        else figures(reduced.film, share_that_counts="share", first_slack_load_factor="slack_load"),
        "air": ["strips"] if drawn.lattice is None else ["strips", "lattice"],
        "lattice": None if drawn.lattice is None else _lattice(drawn.lattice),
        "about": _about(wing, drawn),
    }


def _tone(wing: Wing, tone: Tone) -> Record:
    return {
        "wing": "equipped, held at its middle" if tone.held else "bare, hung on cords",
        "kind": tone.kind,
        "frequency_Hz": tone.frequency,
        "twists": tone.twists,
        "tap_y_m": tone.tap_y,
        "tap_rib": wing.rib_number(tone.tap_y),
        "tap_at": tone.tap_at,
        "still_y_m": tone.still_y,
        "still_rib": wing.rib_number(tone.still_y),
    }


def _about(wing: Wing, drawn: Speeds) -> list[str]:
    """What the speeds rest on, a paragraph each."""
    from models.studies.speed_words import DAMPING, UNEVEN, control_words, covering_words

    reduced = drawn.reduced
    said = []
    if reduced.rest > 0:
        said.append(
            f"{mass_words(reduced.rest)} of the flying mass has no place in the file and counts, mass and "
            f"inertia, as a body {say.length(reduced.body.length):.0f} long in the middle "
            f"({say.inertia(_inertia(reduced)):.3g} in pitch); a tail's own air is no part of this."
        )
    said += [*covering_words(reduced), ABOUT]
    said += [UNEVEN] if drawn.lattice is None else []
    return [*said, DAMPING, *control_words(wing, reduced), TAP]


def _inertia(reduced: Reduced) -> float:
    """Of the body in the middle, in pitch about its own middle, kg m2."""
    body = reduced.body
    return body.mass * (body.length**2 / 12 + body.width**2 / 16)


def _up_to_last(speed: float | None) -> float | None:
    """A speed in the range that is searched, m/s; None for one beyond, or none at all."""
    from models.studies.speed import LAST

    return speed if speed is not None and speed <= LAST else None


def _beating(one: Beating, rib_y: list[float]) -> Record:
    return {
        "kind": one.kind,
        "speed_m_per_s": one.speed,
        "frequency_Hz": one.frequency,
        "speed_with_more_damping_m_per_s": _up_to_last(one.damped_speed),
        "bays": list(one.bays),
        "control_rad_per_m": [one.turn.real, one.turn.imag],
        "shape": [
            {"y_m": y, "up": [up.real, up.imag], "nose_up_rad_per_m": [turn.real, turn.imag]}
            for y, up, turn in zip(rib_y, one.up.tolist(), one.nose_up.tolist(), strict=True)
        ],
    }


def _control(reduced: Reduced) -> Record | None:
    control = reduced.control
    if control is None:
        return None
    elevons = control.elevons
    return {
        "servo_stiffness_N_m_per_rad": elevons.servo_stiffness,
        "mass_kg": control.mass,
        "balance_m": None if math.isnan(elevons.balance) else elevons.balance,
        "slack_rad": elevons.slack,
    }


def _lattice(one: Latticed) -> Record:
    return {
        "beating": [
            {"kind": kind, "speed_m_per_s": speed, "frequency_Hz": hertz}
            for kind, speed, hertz in one.beating
        ],
        "twist_off_m_per_s": _up_to_last(one.twist_off),
        "reversal_m_per_s": _up_to_last(one.reversal),
    }


def _layout(name: str, one: Speeds) -> Record:
    from models.studies.speed_words import KINDS

    first = {kind: next((b.speed for b in one.beating if b.kind == kind), None) for kind in KINDS}
    return {
        "layout": name,
        "web_mass_kg": one.reduced.web_mass,
        **{
            f"beating_{key}": getattr(one.beating[0], name) if one.beating else None
            for key, name in (("m_per_s", "speed"), ("Hz", "frequency"), ("kind", "kind"))
        },
        **{f"beating_{kind}_m_per_s": speed for kind, speed in first.items() if kind != "together"},
        "twist_off_m_per_s": _up_to_last(one.twist_off),
        "reversal_m_per_s": _up_to_last(one.reversal),
        "lattice": None if one.lattice is None else _lattice(one.lattice),
        **_first(one),
    }


def _first(one: Speeds) -> Record:
    what, lowest = one.lowest
    return {"comes_first": what or None, "lowest_m_per_s": _up_to_last(lowest)}


def _pulled_record(drawn: Speeds) -> Record | None:
    from models.studies.speed import elastic

    bent = elastic(drawn.reduced)
    if bent is None:
        return None
    strips = zip(bent.y.tolist(), bent.more_lift.tolist(), bent.more_moment.tolist(), strict=True)
    told = figures(
        bent, root_bending_N_m="bending", rigid_root_bending_N_m="rigid_bending", tip_up_m="up",
        rigid_tip_up_m="rigid_up", tip_twist_rad="twist", rigid_tip_twist_rad="rigid_twist",
        turn_of_the_whole_rad="turn",
    )  # fmt: skip
    told["strips"] = [{"y_m": y, "more_lift_N": up, "more_moment_N_m": turn} for y, up, turn in strips]
    return told


_EVERY = 4
"""Rows of the table over speed: every fourth of those in the record."""
_SIDES = {"symmetric": "alike", "antisymmetric": "opposite", "together": "unlike"}
_BEYOND = 1.3
"""How far beyond the last speed at which something happens the table goes."""


def speed_text(out: Page, record: Record) -> None:
    """Words, cautions, layouts, and the modes over speed."""
    answer(out, record, good=record["answer"]["survives"])
    _layouts(out, record)
    _tones(out, record)
    _modes(out, record)
    rest(out, record)


def _layouts(out: Page, record: Record) -> None:
    bare = min(record["layouts"], key=lambda r: r["web_mass_kg"])
    last, kmh = f"{say.speed(record['searched_to_m_per_s']):.0f}", say.speed.unit
    columns: Columns = {
        "<layout": "layout",
        f"webs\n{say.grams.unit}": ("web_mass_kg", say.mass.number, 3),
        f"first\n{kmh}": ("lowest_m_per_s", say.speed.number, 3),
        f"{say.a_small_mass()}\nbuys": lambda r: _per_gram(r, bare),
        f"beats\n{kmh}": ("beating_m_per_s", say.speed.number, 3),
        "\nHz": ("beating_Hz", number, 1, 3),
        "<\nsides": lambda r: _SIDES.get(r["beating_kind"], "-"),
        f"twists off\n{kmh}": ("twist_off_m_per_s", say.speed.number, 3),
        f"no grip\n{kmh}": ("reversal_m_per_s", say.speed.number, 3),
    }
    if record["lattice"] is not None:
        for k, head in enumerate(("lattice:\nbeats", "twists\noff", "no\ngrip")):
            columns[head] = lambda r, k=k: _by_lattice(r["lattice"])[k]  # type: ignore[misc]
    title = f"What webs buy in speed (-: not up to {last}; {say.a_small_mass()}: against {bare['layout']})"
    out.listed(title, record["layouts"], columns)


def _per_gram(row: Record, bare: Record) -> str:
    """km/h of what comes first that each gram of webs buys beyond the layout with the least."""
    grams = say.mass.factor * (row["web_mass_kg"] - bare["web_mass_kg"])
    if grams < 1e-6 or row["lowest_m_per_s"] is None or bare["lowest_m_per_s"] is None:
        return "-"
    return say.speed.number((row["lowest_m_per_s"] - bare["lowest_m_per_s"]) / grams, 2)


def _by_lattice(lattice: Record | None) -> list[str]:
    if lattice is None:
        return ["-"] * 3
    first = lattice["beating"][0]["speed_m_per_s"] if lattice["beating"] else None
    others = (lattice["twist_off_m_per_s"], lattice["reversal_m_per_s"])
    return [say.speed.number(value, 3) for value in (first, *others)]


def _tones(out: Page, record: Record) -> None:
    def tap(tone: Record) -> str:
        return f"{tone['tap_rib']} ({say.length(tone['tap_y_m']):.0f}), {tone['tap_at']}"

    out.listed("Tap test: tones to expect", record["tap_test"], {
        "<wing": "wing",
        "tone\nHz": ("frequency_Hz", number, 1, 3),
        "<\nsides": lambda tone: _SIDES[tone["kind"]],
        "<\nit": lambda tone: "twists" if tone["twists"] else "bends",
        "<tap and listen\nat rib": tap,
        "still\nat rib": lambda tone: f"{tone['still_rib']} ({say.length(tone['still_y_m']):.0f})",
    })  # fmt: skip


def _modes(out: Page, record: Record) -> None:
    from models.studies.speed_words import KINDS

    by_speed = record["by_speed"]
    answer = record["answer"]
    asked = [answer["case_speed_m_per_s"], *(b["speed_m_per_s"] for b in record["beating"])]
    last = _BEYOND * max(asked)
    shown = range(_EVERY // 2, len(by_speed["speed_m_per_s"]), _EVERY)
    shown_rows = [k for k in shown if by_speed["speed_m_per_s"][k] <= last]
    for kind in dict.fromkeys(mode["kind"] for mode in by_speed["modes"]):
        modes = [mode for mode in by_speed["modes"] if mode["kind"] == kind]
        rows = []
        for k in shown_rows:
            row = [say.speed.number(by_speed["speed_m_per_s"][k], 3)]
            for mode in modes:
                row += [number(mode["frequency_Hz"][k], 1, 3), number(mode["damping_ratio"][k], 100, 2)]
            rows.append(row)
        heads = [
            f"\n{say.speed.unit}",
            *(head for n in range(len(modes)) for head in (f"mode {n + 1}\nHz", "damping\n%")),
        ]
        sides = KINDS[kind]
        title = f"Modes over speed, {kind}: {sides} (damping below 0: it beats; -: it does not swing)"
        out.table(title, heads, rows)
