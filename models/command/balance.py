"""Where does the aeroplane balance, is that right, and what must move if it is not?

Weighs every part, with full tank and empty; gives centre of gravity, moments of inertia, neutral point and
the range wanted. Leaves with 1 if the centre of gravity is outside it.

example: sparbay balance powered-tailless
"""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from models import units_out as say
from models.command.document import Record, document, figures, give
from models.command.exit_codes import ExitCode
from models.command.files import filled, must_fly, new_folder, read_wing
from models.command.options import shared
from models.report.text import Columns, Page, answer, fixed, rest
from models.units_out import mass_words

if TYPE_CHECKING:
    from models.studies.balance import Balance, Lot, State

ABOUT = (
    "Wood and covering are weighed from the mass matrix of the built structure, each piece with its own "
    "density; equipment where the file puts it. A rib ends as high as the edge stick that it meets. "
    "Static margin = (neutral point - centre of gravity)/mean aerodynamic chord (textbook definition, "
    "from memory). Neutral point: vortex lattice of the bare wing, without fuselage, tail, propeller or "
    "the wing's own bending, unless the file gives another. Moments of inertia about the centre of "
    "gravity, of what the file describes; sheet and ribs count as masses at the corners of their "
    "elements. Adhesive and dope on the covering count as the file's mass per area has them."
)
COVERS = (
    "Weighed is the wing and all that the file hangs on it. The rest of the flying mass, {rest}, has "
    "no place in the file."
)


def options(command: argparse.ArgumentParser) -> None:
    """What it may be told."""
    shared(command, "file", "json", "folder")


def run(options: argparse.Namespace) -> ExitCode:
    """Weigh the wing; 1 where it balances outside the range."""
    from models.studies.balance import balance

    folder = new_folder(options.folder)
    wing = read_wing(options.file)
    must_fly(wing, options.file, "balance")
    found = balance(wing)

    def draw(place: Path) -> list[Path]:
        from models.pictures.balance import plot_balance

        return [plot_balance(found, place / "balance.png")]

    files = filled(folder, draw)
    record = balance_record(found, options.file, files)
    return give(options, record, balance_text, holds=found.inside is not False)


def balance_record(found: Balance, file: str, files: list[Path]) -> Record:
    """All that `balance` has to say."""
    from models.studies.balance import SMALL_REST, sentences

    wanted, rest = found.wanted, found.rest
    record = {
        "wing": found.wing.name,
        "kind": "wing",
        "answer": {"sentences": sentences(found), "inside": found.inside},
        "datum_x_m": wanted.datum,
        "states": [_state(state) for state in found.states],
        "range": {
            "foremost_aft_of_datum_m": found.foremost - wanted.datum,
            "rearmost_aft_of_datum_m": found.rearmost - wanted.datum,
        }
        | figures(wanted, "most_static_margin", "least_static_margin"),
        "neutral_point": {
            "x_m": found.neutral_x,
            "aft_of_datum_m": found.neutral_x - wanted.datum,
            "of": "bare wing" if wanted.neutral_point is None else "aeroplane, from the file",
            "bare_wing_x_m": found.bare_neutral_x,
        },
        "mean_aerodynamic_chord_m": found.mean_chord,
        "mean_aerodynamic_chord_leading_edge_x_m": found.mean_chord_x,
        "mass": figures(found, "flying_mass_kg", "wing_loading_N_per_m2", analysed_kg="analysed_mass")
        | figures(found, "analysed_centre_m")
        | {"glue_counted_in_analysis": False, "glue_area_m2": found.glue_area}
        | figures(wanted, "glue_spread_kg_per_m2"),
        "lots": [_lot(lot) for lot in found.lots],
        "together": [_lot(lot) for lot in found.together],
        "parts": [
            {"part": name, "mass_kg": mass, "centre_m": centre.tolist()} for name, mass, centre in found.parts
        ],
        "moves": [
            figures(move, "name", "mass_kg", "x_m", marked_movable="marked")
            | figures(move, "least_m", "most_m", "needed_m", "within_reach")
            for move in found.moves
        ],
        "ballast": None if found.ballast is None else figures(found.ballast, "mass_kg", "x_m"),
        "rest": None if rest is None else figures(rest, "mass_kg", "least_x_m", "most_x_m"),
        "judged_up_to_share_without_place": SMALL_REST,
        "assumed": [{"key": key, "value": value} for key, value in wanted.assumed],
        "about": ([COVERS.format(rest=mass_words(rest.mass))] if rest is not None else []) + [ABOUT],
        "files": [str(f) for f in files],
    }
    return document("balance", file, record)


def _state(state: State) -> Record:
    told = figures(state, "mass_kg", "aft_of_datum_m", "centre_m", "inertia_kg_m2", "static_margin")
    return {"tank": state.name or None} | told


def _lot(lot: Lot) -> Record:
    return figures(lot, "kind", "name", "mass_kg", "centre_m", "shift_m")


def balance_text(out: Page, record: Record) -> None:
    """Words, cautions, what every lot weighs and shifts, both states of the tank, what may move."""
    answer(out, record, good=record["answer"]["inside"])
    _states(out, record)
    _lots(out, record)
    _moves(out, record)
    rest(out, record)


_ROUNDING = 1e-9
"""A product of inertia that is less beside the largest moment is none."""


def _places(record: Record) -> int:
    """Places of masses in grams: a tenth of a gram is much of a wing that weighs two."""
    whole = record["states"][0]["mass_kg"]
    return 1 if whole >= 0.1 else 2 if whole >= 0.01 else 3


def _inertia(state: Record, row: int, column: int) -> float:
    most = max(state["inertia_kg_m2"][k][k] for k in range(3))
    value = float(state["inertia_kg_m2"][row][column])
    return value if abs(value) > _ROUNDING * most else 0.0


def _states(out: Page, record: Record) -> None:
    states = record["states"]
    names = [f"{s['tank']} tank" if s["tank"] else "all" for s in states]

    def each(key: str, kind: say.Kind, places: int) -> list[str]:
        return [kind.fixed(s[key], places) for s in states]

    mm, inertia = say.length.unit, say.small_inertia
    rows = [
        (f"mass, {say.mass.unit}", *each("mass_kg", say.mass, _places(record))),
        (f"centre of gravity aft of the datum, {mm}", *each("aft_of_datum_m", say.length, 1)),
    ]
    for k, axis in enumerate(("x (aft)", "y (starboard)", "z (up)")):
        cells = [say.length.fixed(s["centre_m"][k]) for s in states]
        rows.append((f"centre of gravity {axis}, {mm}", *cells))
    if record["answer"]["inside"] is not None:
        margins = [fixed(s["static_margin"], 100.0, 1) for s in states]
        rows.append(("static margin, % of the mean chord", *margins))
    for i, k, sign, what in (
        (0, 0, 1, "moment of inertia in roll"),
        (1, 1, 1, "moment of inertia in pitch"),
        (2, 2, 1, "moment of inertia in yaw"),
        (0, 2, -1, "product of inertia xz"),
    ):
        cells = [inertia.number(sign * _inertia(s, i, k)) for s in states]
        rows.append((f"{what}, {inertia.unit}", *cells))
    out.table("What the file describes", ["<", *names], rows)
    limits, neutral, datum = record["range"], record["neutral_point"], record["datum_x_m"]
    chord, front = record["mean_aerodynamic_chord_m"], record["mean_aerodynamic_chord_leading_edge_x_m"]
    rows = [
        (
            f"{most} centre of gravity, at {100 * limits[f'{margin}_static_margin']:g} %",
            say.length.fixed(limits[f"{most}_aft_of_datum_m"]),
        )
        for most, margin in (("foremost", "most"), ("rearmost", "least"))
    ]
    rows += [
        (f"neutral point of the {neutral['of']}", say.length.fixed(neutral["aft_of_datum_m"])),
        ("leading edge of the mean aerodynamic chord", say.length.fixed(front - datum)),
        ("mean aerodynamic chord itself", say.length.fixed(chord)),
    ]
    if neutral["of"] != "bare wing":
        rows.insert(3, ("neutral point of the bare wing", say.length.fixed(neutral["bare_wing_x_m"] - datum)))
    where = "the centre section's leading edge" if not datum else f"the datum, x = {say.length(datum):g}"
    out.table(f"Range, aft of {where}", ["<", say.length.unit], rows)
    mass = record["mass"]
    loading = mass["wing_loading_N_per_m2"]
    out.line()
    out.say(
        f"Wing loading {say.wing_loading(loading):.0f} at "
        f"{mass_words(mass['flying_mass_kg'])}. Without glue, as the other commands have "
        f"it: {say.mass(mass['analysed_kg']):.{_places(record)}f} at "
        f"{say.length(mass['analysed_centre_m'][0]):.1f}."
    )


def _lots(out: Page, record: Record) -> None:
    mm, places = say.length.unit, _places(record)
    columns: Columns = {
        "<kind": "kind",
        "~part": "name",
        f"mass\n{say.grams.unit}": ("mass_kg", say.mass.fixed, places),
        f"x\n{mm}": lambda lot: say.length.fixed(lot["centre_m"][0]),
        f"y\n{mm}": lambda lot: say.length.fixed(lot["centre_m"][1]),
        f"z\n{mm}": lambda lot: say.length.fixed(lot["centre_m"][2]),
        f"shifts the c.g.\naft by, {mm}": ("shift_m", say.length.bare, "+.1f"),
    }
    tank = ", tank full" if len(record["states"]) > 1 else ""
    title = f"Part by part, both sides{tank}; shift: centre of gravity with the part less without it"
    out.listed(title, record["lots"], columns)
    out.listed("Gathered (counted above already)", record["together"], columns)


def _moves(out: Page, record: Record) -> None:
    if not record["moves"]:
        return
    rows = []
    for move in record["moves"]:
        if move["least_m"] is None:
            may, needed = "no movement will do", "-"
        else:
            may = " to ".join(say.length.bare(move[key], "+.0f") for key in ("least_m", "most_m"))
            needed = "none" if not move["needed_m"] else say.length.bare(move["needed_m"], "+.1f")
            needed += "" if move["within_reach"] else ", out of reach"
        mass, x = say.mass.fixed(move["mass_kg"], 0), say.length.fixed(move["x_m"], 0)
        rows.append((move["name"], mass, x, needed, may))
    marked, mm = record["moves"][0]["marked_movable"], say.length.unit
    title = "What may be moved, alone" if marked else "Each mass moved alone (none is marked as movable)"
    columns = [
        "<mass", f"mass\n{say.grams.unit}", f"x now\n{mm}", f"must move\n{mm}",
        f"may move, within\nthe range, {mm}",
    ]  # fmt: skip
    out.table(f"{title}; aft is +, forward is -", columns, rows)
