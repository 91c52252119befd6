"""`sparbay speed`: how fast before the tips beat, the wing twists off, or the elevons lose their grip."""

from __future__ import annotations

import argparse
import math
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np

from models.cautions import CAUTIONS
from models.command.check import print_json
from models.command.exit_codes import ExitCode
from models.command.faults import InputFault, version
from models.command.files import filled, find, must_fly, new_folder, read_wing, write_text
from models.command.record import Record, finite
from models.studies.envelope import loaded, loadings_of
from models.studies.speed import (
    LAST,
    LOSS,
    Beating,
    Help,
    Latticed,
    Reduced,
    Speeds,
    bay_words,
    by_layout,
    condense,
    elastic,
    helps,
    speeds,
    trim_ends,
)
from models.studies.speed_buys import Row, buys
from models.studies.speed_doubt import Doubt, doubt
from models.studies.speed_limit import MARGIN, limit_of, stated
from models.studies.tap import Tone, tones
from models.studies.tones_read import tones_csv
from models.wing.parts import Elevons, Wing
from models.wing.units import mass_words

ABOUT = (
    "The whole structure is condensed on its static answers to lift and moment at every rib and on rigid "
    "motions; it flies free, with the masses of the file where they are and the rest of the flying mass in "
    "the middle. Unsteady air twice over: in strips along the stream by Theodorsen (NACA TR 496, from "
    "memory), lift slope 2 pi, each bit of wing lifting as if the wing had no ends; and by a lattice "
    "of rings "
    "on the flat planform with a flat wake (Katz and Plotkin, from memory). The lower counts. The "
    "tables over "
    "speed are by strips."
)
UNEVEN = "The sides of this wing differ, so that strips alone are used; a lattice may differ by 10 to 30 %."
NOT_COUNTED = "Not counted: air on a tail and a fuselage, gaps, gusts, stall, compressibility, soft mounts."
STILL = (
    "Without servo_stiffness in the file {} stand still against the wing, and their own swinging, "
    "balance and "
    "slack are not counted. Controls that are slack or heavy behind their hinge may beat far below "
    "these speeds."
)
TAP = (
    "Tap test: hang the bare wing on soft cords at the ribs that stay still, or hold the equipped "
    "wing fast at its "
    "middle; tap with a soft stick where it moves most and listen there. In still air, by strips. "
    "Tones that are "
    "lower than told mean less stiffness or more mass than in the file: a web that is missing, a dry joint, "
    "lighter or heavier wood. `sparbay measured` reads them back (tones.csv of --folder)."
)
UNEVEN_STILL = (
    "The sides of this wing differ, so that {} stand still against the wing in spite of "
    "servo_stiffness: their own "
    "swinging, balance and slack are not counted."
)
DAMPING = (
    f"Structural damping: loss factor {LOSS[0]:g} to {LOSS[1]:g}, of wood alone (logarithmic decrement 0.02 "
    "to 0.1, Wood Handbook, from memory); the lower counts."
)
ABOUT_FILM = (
    "Covering as film: the list's polyester, as thick as the covering's own mass says, by the low end of its "
    "stiffness, where it is taut."
)
_KEYS = ("beats", "twists_off", "no_grip")
_SPEEDS = ("before it beats", "before it twists off", "before it rolls the wrong way")
_KINDS = {
    "symmetric": "both sides alike",
    "antisymmetric": "one side up, the other down",
    "together": "the sides unlike",
}


def run(options: argparse.Namespace) -> ExitCode:
    """Speeds of every layout; 1 where the file's own speed is beyond what is advised."""
    if options.moving and options.folder is None:
        raise InputFault("--moving: a moving picture needs a place; give --folder DIR as well.")
    folder = new_folder(options.folder)
    wing = read_wing(options.file)
    must_fly(wing, options.file, "speed")
    if options.buys:
        return _buys(wing, options)
    found = list(by_layout(wing, per_bay=options.mesh).items())
    if found[0][1].reduced.film is not None:
        bare = replace(wing, coverings=tuple(replace(one, stretch=None) for one in wing.coverings))
        reduced = condense(bare, per_bay=options.mesh)
        found.append(("as drawn, covering torn", speeds(reduced, follow=False)))
    for loading in loadings_of(wing)[1:]:
        reduced = condense(loaded(wing, loading), per_bay=options.mesh)
        found.append((f"as drawn, {loading.name}", speeds(reduced, follow=False)))
    better = helps(found[0][1], per_bay=options.mesh)
    sure = doubt(found[0][1])
    heard = tones(wing, found[0][1].reduced, per_bay=options.mesh)

    def draw(place: Path) -> Iterator[Path]:
        from models.pictures.speed import animate_speed, plot_speed

        yield plot_speed(found[0][1], place / "speed.png")
        write_text(place / "tones.csv", tones_csv(heard))
        yield place / "tones.csv"
        if options.moving and found[0][1].beating:
            yield animate_speed(found[0][1], place / "beating.gif")

    files = filled(folder, draw)
    record = speed_record(wing, found, better, sure, heard, options.file, options.mesh, files)
    if options.json:
        print_json(record)
    else:
        from models.report.speed import speed_text
        from models.report.text import tell

        tell(speed_text, record)
    return ExitCode.FAILS if record["answer"]["survives"] is False else ExitCode.DONE


def _buys(wing: Wing, options: argparse.Namespace) -> ExitCode:
    """The table of `--buys`."""
    if options.folder is not None:
        raise InputFault("--folder: the table of --buys has no pictures; leave one of the two out.")
    rows = buys(wing, find(options.file).read_text(encoding="utf-8-sig"), per_bay=options.mesh)
    record = buys_record(wing, rows, options.file, options.mesh)
    if options.json:
        print_json(record)
    else:
        from models.report.speed import buys_text
        from models.report.text import LENGTH, tell

        LENGTH.set(replace(LENGTH.get(), whole=True))
        tell(buys_text, record)
    return ExitCode.DONE


def buys_record(wing: Wing, rows: list[Row], file: str, per_bay: int) -> Record:
    """What webs, masses, covering and fuel do to each speed.

    Parameters
    ----------
    wing : Wing
        The wing in the file.
    rows : list of Row
        From `models.studies.speed_buys.buys`.
    file : str
        The file's name as it was typed.
    per_bay : int
        Elements along a bay.

    Returns
    -------
    dict
        Plain data in SI, units in the keys; null for what does not happen up to the last speed.
    """
    layouts = [row for row in rows if row.against is rows[0].reach and row.grams > 0]
    said = []
    for k, what in enumerate(_SPEEDS):
        told = [row for row in layouts if math.isfinite(row.per_gram[k])]
        if told:
            best = max(told, key=lambda row: row.per_gram[k])
            buys_most = 3.6e-3 * best.per_gram[k]
            said.append(f"{what}: {best.name}, {buys_most:.2g} km/h a gram" if buys_most > 0 else "")
    said = [one for one in said if one]
    kinds = f"Most speed for a gram of webs - {'; '.join(said)}." if said else "No layout of webs is faster."
    record = {
        "command": "speed",
        "version": version(),
        "file": file,
        "wing": wing.name,
        "kind": "wing",
        "answer": {"sentences": [kinds], "survives": None},
        "cautions": list(CAUTIONS),
        "searched_to_m_per_s": LAST,
        "buys": [
            {
                "name": row.name,
                "web_mass_more_kg": row.grams,
                **{f"{key}_m_per_s": _reached(v) for key, v in zip(_KEYS, row.reach.each, strict=True)},
                **{
                    f"{key}_m_per_s_per_kg": v if math.isfinite(v) else None
                    for key, v in zip(_KEYS, row.per_gram, strict=True)
                },
            }
            for row in rows
        ],
        "about": [
            f"Each speed is the lower of strips and lattice; -: not up to {3.6 * LAST:.0f} km/h. Layouts "
            "against no webs, webs of one face against the wing that lacks them, the rest against as drawn.",
            *([ABOUT_FILM] if any(row.name == "its covering as film" for row in rows) else []),
        ],
        "mesh": {"elements_per_bay": per_bay},
        "files": [],
    }
    cleaned = finite(record)
    assert isinstance(cleaned, dict)
    return cleaned


def _reached(speed: float) -> float | None:
    return speed if speed <= LAST else None


def speed_record(
    wing: Wing,
    found: list[tuple[str, Speeds]],
    better: list[Help],
    sure: Doubt | None,
    heard: list[Tone],
    file: str,
    per_bay: int,
    files: list[Path],
) -> Record:
    """All that `speed` has to say.

    Parameters
    ----------
    wing : Wing
        The wing in the file.
    found : list of (str, Speeds)
        Every layout's name and speeds, the file's own first.
    better : list of Help
        From `models.studies.speed.helps`.
    sure : Doubt or None
        From `models.studies.speed_doubt.doubt`.
    heard : list of Tone
        From `models.studies.tap.tones`.
    file : str
        The file's name as it was typed.
    per_bay : int
        Elements along a bay.
    files : list of Path
        Pictures written.

    Returns
    -------
    dict
        Plain data in SI, units in the keys; null for what does not happen up to the last speed.
    """
    drawn = found[0][1]
    reduced = drawn.reduced
    held = limit_of(drawn, sure, max(stated(wing), reduced.case_speed))
    rest = reduced.rest
    record = {
        "command": "speed",
        "version": version(),
        "file": file,
        "wing": wing.name,
        "kind": "wing",
        "answer": {
            "sentences": sentences(wing, found, better, sure),
            "comes_first": held.first or None,
            "at_speed_m_per_s": _up_to_last(held.onset),
            "counted_speed_m_per_s": _up_to_last(held.counted),
            "advised_speed_m_per_s": None if math.isinf(held.advised) else held.advised,
            "asked_speed_m_per_s": held.asked,
            "case_speed_m_per_s": reduced.case_speed,
            "survives": held.holds,
        },
        "cautions": list(CAUTIONS),
        "searched_to_m_per_s": LAST,
        "air_density_kg_per_m3": wing.case.air_density,
        "loss_factors": list(LOSS),
        "margin": MARGIN,
        "beating": [_beating(one, reduced.rib_y.tolist()) for one in drawn.beating],
        "beating_fifth_percentile_m_per_s": None if sure is None else sure.fifth,
        "twist_off_m_per_s": _up_to_last(drawn.twist_off),
        "reversal_m_per_s": None if drawn.reversal is None else _up_to_last(drawn.reversal),
        "trim_ends_m_per_s": _up_to_last(drawn.trim_ends),
        "rattle_m_per_s": None if drawn.rattle is None else _up_to_last(drawn.rattle),
        "control": _control(reduced),
        "pull_up": _pulled_record(drawn),
        "layouts": [_layout(name, one) for name, one in found],
        "helps": [{"change": one.words, "added_kg": one.mass} | _first(one.speeds) for one in better],
        "tap_test": [
            {
                "wing": "equipped, held at its middle" if tone.held else "bare, hung on cords",
                "kind": tone.kind,
                "frequency_Hz": tone.frequency,
                "twists": tone.twists,
                "tap_y_m": tone.tap_y,
                "tap_at": tone.tap_at,
                "still_y_m": tone.still_y,
            }
            for tone in heard
        ],
        "by_speed": {
            "speed_m_per_s": drawn.speeds.tolist(),
            "grip": None if drawn.grip is None else drawn.grip.tolist(),
            "modes": [
                {
                    "kind": mode.kind,
                    "frequency_Hz": mode.frequency.tolist(),
                    "damping_ratio": mode.damping.tolist(),
                }
                for mode in drawn.modes
            ],
        },
        "mass": {
            "flying_mass_kg": reduced.mass,
            "in_the_middle_kg": rest,
            "in_the_middle_pitch_inertia_kg_m2": _inertia(reduced),
        },
        "covering": None
        if reduced.film is None
        else {"share_that_counts": reduced.film.share, "first_slack_load_factor": reduced.film.slack_load},
        "air": ["strips"] if drawn.lattice is None else ["strips", "lattice"],
        "lattice": None if drawn.lattice is None else _lattice(drawn.lattice),
        "about": [
            *(
                [
                    f"{mass_words(rest)} of the flying mass has no place in the file and counts, mass and "
                    f"inertia, as a body {1e3 * reduced.body.length:.0f} mm long in the middle "
                    f"({_inertia(reduced):.3g} kg m2 in pitch); a tail's own air is no part of this."
                ]
                if rest > 0
                else []
            ),
            *_covering(reduced),
            ABOUT,
            *([UNEVEN] if drawn.lattice is None else []),
            DAMPING,
            *_controls(wing, reduced),
            TAP,
        ],
        "mesh": {"elements_per_bay": per_bay},
        "files": [str(f) for f in files],
    }
    cleaned = finite(record)
    assert isinstance(cleaned, dict)
    return cleaned


def _inertia(reduced: Reduced) -> float:
    """Of the body in the middle, in pitch about its own middle, kg m2."""
    body = reduced.body
    return body.mass * (body.length**2 / 12 + body.width**2 / 16)


def _covering(reduced: Reduced) -> list[str]:
    """What of the covering is counted."""
    film, asked = reduced.film, reduced.pull.load_factor
    if film is None:
        if not (reduced.wing.coverings or reduced.wing.covering_mass_per_area):
            return []
        return ["Of the covering the mass counts and no stiffness, for the file says no film."]
    low = any(one.stiffer > 1 for one in reduced.wing.coverings)
    counts = "Covering counts" + (" by the low end of what is said of it" if low else "")
    if film.share >= 1:
        return [f"{counts}: it is taut up to the {asked:.3g} g asked for and beyond."]
    return [
        f"{counts} where it is taut at the {asked:.3g} g asked for, {100 * film.share:.0f} % of it; the "
        f"first of it goes slack at {film.slack_load:.2g} g."
    ]


def _controls(wing: Wing, reduced: Reduced) -> list[str]:
    """How elevons were taken, and what is not counted."""
    elevons, control = wing.elevons, reduced.control
    if elevons is None:
        return [NOT_COUNTED]
    name = _name(elevons).lower()
    if control is None:
        return [UNEVEN_STILL.format(name) if elevons.servo_stiffness else STILL.format(name), NOT_COUNTED]
    arm = "half its chord" if math.isnan(elevons.balance) else f"{1e3 * elevons.balance:.0f} mm"
    slack = f"slack {math.degrees(elevons.slack):.2g} degrees" if elevons.slack else "no slack"
    said = (
        f"{name.capitalize()} turn on their servos: {elevons.servo_stiffness:.3g} N m/rad and "
        f"{mass_words(control.mass)} a side, centre of gravity {arm} behind the hinge, {slack}; each one "
        "rigid body along its span. Their grip is for the angle that they really have, as if servos "
        "did not give."
    )
    return [said, NOT_COUNTED]


def _name(elevons: Elevons) -> str:
    return "Ailerons" if elevons.acts == "roll" else "Elevons"


def _up_to_last(speed: float) -> float | None:
    return speed if speed <= LAST else None


def _beating(one: Beating, rib_y: list[float]) -> Record:
    return {
        "kind": one.kind,
        "speed_m_per_s": one.speed,
        "frequency_Hz": one.frequency,
        "speed_with_more_damping_m_per_s": _up_to_last(one.damped_speed),
        "bays": list(one.bays),
        "control_rad_per_m": [one.turn.real, one.turn.imag],
        "shape": [
            {
                "y_m": y,
                "up": [up.real, up.imag],
                "nose_up_rad_per_m": [turn.real, turn.imag],
            }
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
    first = {kind: next((b.speed for b in one.beating if b.kind == kind), None) for kind in _KINDS}
    return {
        "layout": name,
        "web_mass_kg": one.reduced.web_mass,
        "beating_m_per_s": one.beating[0].speed if one.beating else None,
        "beating_Hz": one.beating[0].frequency if one.beating else None,
        "beating_kind": one.beating[0].kind if one.beating else None,
        **{f"beating_{kind}_m_per_s": speed for kind, speed in first.items() if kind != "together"},
        "twist_off_m_per_s": _up_to_last(one.twist_off),
        "reversal_m_per_s": None if one.reversal is None else _up_to_last(one.reversal),
        "lattice": None if one.lattice is None else _lattice(one.lattice),
        **_first(one),
    }


def _first(one: Speeds) -> Record:
    what, lowest = one.lowest
    return {"comes_first": what or None, "lowest_m_per_s": _up_to_last(lowest)}


def _kmh(speed: float) -> str:
    return f"{3.6 * speed:.0f} km/h"


def sentences(
    wing: Wing, found: list[tuple[str, Speeds]], better: list[Help], sure: Doubt | None = None
) -> list[str]:
    """The answer in words.

    Parameters
    ----------
    wing : Wing
        The wing in the file.
    found, better, sure
        As for `speed_record`.

    Returns
    -------
    list of str
    """
    drawn = found[0][1]
    held = limit_of(drawn, sure, max(stated(wing), drawn.reduced.case_speed))
    said = [held.sentence or f"Nothing found that speed alone does to this wing up to {_kmh(LAST)}."]
    lattice = drawn.lattice
    if drawn.beating:
        said.append(_beats(drawn.beating[0], lattice, "" if wing.elevons is None else _name(wing.elevons)))
        if sure is not None:
            said.append(
                "As wood and builders' thicknesses scatter, nineteen wings in twenty begin beyond "
                f"{_kmh(sure.fifth)}."
            )
        other = next((one for one in drawn.beating if one.kind != drawn.beating[0].kind), None)
        if other is not None:
            words = f"{_kmh(other.speed)}, {other.frequency:.1f} times a second{_also(other.kind, lattice)}"
            said.append(f"With {_KINDS[other.kind]} it would from {words}.")
    elif lattice is not None and lattice.beating:
        kind, speed, hertz = lattice.beating[0]
        said.append(
            f"By the lattice alone it begins to beat near {_kmh(speed)}, {hertz:.1f} times a second, "
            f"{_KINDS[kind]}."
        )
    else:
        said.append(f"It does not beat by itself up to {_kmh(LAST)}.")
    if drawn.rattle is not None and wing.elevons is not None and drawn.rattle <= LAST:
        said.append(
            f"With their slack of {math.degrees(wing.elevons.slack):.2g} degrees "
            f"{_name(wing.elevons).lower()} may rattle by themselves from {_kmh(drawn.rattle)}."
        )
    off = min(drawn.twist_off, lattice.twist_off if lattice is not None else math.inf)
    if off <= LAST:
        also = "" if lattice is None else f" ({_pair(drawn.twist_off, lattice.twist_off)})"
        said.append(
            f"Held at its middle it would twist off at {_kmh(off)}{also}; in free flight mostly later, by as "
            "much as what holds its nose gives way, so this counts."
        )
    else:
        said.append(f"Held at its middle it does not twist off up to {_kmh(LAST)}.")
    said += _grip(wing, drawn)
    said.append(_pulled(drawn))
    if better:
        ways = [f"{one.words}: {_lowest(one.speeds)}, {1e3 * one.mass:.2g} g" for one in better]
        said.append(f"What helps: {'; '.join(ways)}.")
    others = [f"{name} {_lowest(one)}" for name, one in found[1:]]
    if others:
        said.append(f"What comes first otherwise: {'; '.join(others)}.")
    without = ["gusts"]
    if drawn.reduced.rest > 0:
        without.append("a tail's own air (its mass is in the middle)")
    if wing.elevons is not None and drawn.reduced.control is None:
        why = "the sides differ" if wing.elevons.servo_stiffness else "no servo_stiffness in the file"
        without.append(f"{_name(wing.elevons).lower()} that swing by themselves ({why})")
    said += _covering(drawn.reduced)
    said.append(f"Not counted: {', '.join(without)}.")
    if lattice is None:
        said.append(UNEVEN)
    return said


def _pulled(drawn: Speeds) -> str:
    """What the bent wing does to its own lift in the pull-up."""
    speed, bent = drawn.reduced.case_speed, elastic(drawn.reduced)
    if bent is None:
        if drawn.lattice is None:
            return "What the bent wing does to its own lift is not worked out where the sides differ."
        off = trim_ends(drawn.reduced)
        return (
            f"At the {_kmh(speed)} of the pull-up no lift can be told for the wing that bends and twists: by "
            f"the lattice it twists off, or twists as fast as it is trimmed, at {_kmh(off)}, "
            "and small differences decide from nine tenths of that on."
        )
    share = bent.bending / bent.rigid_bending - 1
    how = (
        f"{abs(100 * share):.0f} % {'more' if share > 0 else 'less'} than" if abs(share) >= 5e-3 else "about"
    )
    return (
        f"In the pull-up at {_kmh(speed)} the wing that bends and twists carries {bent.bending:.3g} N "
        "m at its "
        f"root, {how} the {bent.rigid_bending:.3g} N m that `check` counts with; its tips go up "
        f"{1e3 * bent.up:.0f} mm instead of {1e3 * bent.rigid_up:.0f} and twist "
        f"{math.degrees(bent.twist):.1f} "
        f"degrees instead of {math.degrees(bent.rigid_twist):.1f}."
    )


def _pulled_record(drawn: Speeds) -> Record | None:
    bent = elastic(drawn.reduced)
    if bent is None:
        return None
    return {
        "root_bending_N_m": bent.bending,
        "rigid_root_bending_N_m": bent.rigid_bending,
        "tip_up_m": bent.up,
        "rigid_tip_up_m": bent.rigid_up,
        "tip_twist_rad": bent.twist,
        "rigid_tip_twist_rad": bent.rigid_twist,
        "turn_of_the_whole_rad": bent.turn,
        "strips": [
            {"y_m": y, "more_lift_N": lift, "more_moment_N_m": moment}
            for y, lift, moment in zip(
                bent.y.tolist(), bent.more_lift.tolist(), bent.more_moment.tolist(), strict=True
            )
        ],
    }


def _lowest(one: Speeds) -> str:
    what, speed = one.lowest
    return _kmh(speed) if what else f"beyond {_kmh(LAST)}"


def _pair(strips: float, lattice: float) -> str:
    """Both figures in words."""
    ours, theirs = (_kmh(v) if v <= LAST else f"beyond {_kmh(LAST)}" for v in (strips, lattice))
    return f"strips {ours}, lattice {theirs}"


def _also(kind: str, lattice: Latticed | None) -> str:
    """What the lattice says of the same movement."""
    if lattice is None:
        return ""
    speed = next((v for k, v, _ in lattice.beating if k == kind), math.inf)
    return f" (by the lattice {'from ' + _kmh(speed) if speed <= LAST else f'not up to {_kmh(LAST)}'})"


def _beats(one: Beating, lattice: Latticed | None, name: str) -> str:
    often = f"{one.frequency:.1f} times a second, {_KINDS[one.kind]}"
    where = f"{bay_words(one.bays)} twist{'s' if len(one.bays) == 1 else ''} most"
    damped = f"; {_kmh(one.damped_speed)} with more damping in the wood" if one.damped_speed <= LAST else ""
    also = _also(one.kind, lattice)
    swing = math.degrees(abs(one.turn)) / 100
    with_it = (
        f"; {name.lower()} swing {swing:.2g} degrees for each centimetre" if swing >= 0.5 and name else ""
    )
    return f"Near {_kmh(one.speed)} it begins to beat by itself{also}, {often}; {where}{with_it}{damped}."


def _grip(wing: Wing, drawn: Speeds) -> list[str]:
    if drawn.reversal is None or drawn.grip is None or wing.elevons is None:
        return []
    name = _name(wing.elevons)
    if drawn.reversal > LAST:
        return [f"{name} do not lose all their grip in roll up to {_kmh(LAST)}."]
    half = drawn.left(0.5)
    also = "" if drawn.lattice is None else f" (by the lattice {_kmh(drawn.lattice.reversal)})"
    speed = drawn.reduced.case_speed
    if speed >= drawn.reversal:
        return [
            f"{name}: half of their grip in roll is left at {_kmh(half)}, none at {_kmh(drawn.reversal)}"
            f"{also}; at the {_kmh(speed)} of the pull-up they roll the wrong way."
        ]
    left = float(np.interp(speed, drawn.speeds, drawn.grip))
    return [
        f"{name}: {100 * left:.0f} % of their grip in roll is left at the {_kmh(speed)} of the pull-up, half "
        f"at {_kmh(half)}, none at {_kmh(drawn.reversal)}{also}."
    ]
