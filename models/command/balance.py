"""`sparbay balance`: where does the aeroplane balance, is that right, and what must move if it is not."""

from __future__ import annotations

import argparse
from pathlib import Path

from models.cautions import CAUTIONS
from models.command.check import print_json
from models.command.exit_codes import ExitCode
from models.command.faults import version
from models.command.files import filled, must_fly, new_folder, read_wing
from models.command.record import Record, finite
from models.studies.balance import SMALL_REST, Balance, Lot, Move, State, balance, sentences
from models.wing.units import mass_words

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


def run(options: argparse.Namespace) -> ExitCode:
    """Weigh the wing; 1 where it balances outside the range."""
    folder = new_folder(options.folder)
    wing = read_wing(options.file)
    must_fly(wing, options.file, "balance")
    found = balance(wing)

    def draw(place: Path) -> list[Path]:
        from models.pictures.balance import plot_balance

        return [plot_balance(found, place / "balance.png")]

    files = filled(folder, draw)
    record = balance_record(found, options.file, files)
    if options.json:
        print_json(record)
    else:
        from models.report.balance import balance_text
        from models.report.text import tell

        tell(balance_text, record)
    return ExitCode.FAILS if found.inside is False else ExitCode.DONE


def balance_record(found: Balance, file: str, files: list[Path]) -> Record:
    """All that `balance` has to say.

    Parameters
    ----------
    found : Balance
        From `models.studies.balance.balance`.
    file : str
        The file's name as it was typed.
    files : list of Path
        Pictures written.

    Returns
    -------
    dict
        Plain data in SI, units in the keys; x, y, z count from the centre section's leading edge.
    """
    wanted, rest = found.wanted, found.rest
    record = {
        "command": "balance",
        "version": version(),
        "file": file,
        "wing": found.wing.name,
        "kind": "wing",
        "answer": {"sentences": sentences(found), "inside": found.inside},
        "cautions": list(CAUTIONS),
        "datum_x_m": wanted.datum,
        "states": [_state(state) for state in found.states],
        "range": {
            "foremost_aft_of_datum_m": found.foremost - wanted.datum,
            "rearmost_aft_of_datum_m": found.rearmost - wanted.datum,
            "most_static_margin": wanted.most_static_margin,
            "least_static_margin": wanted.least_static_margin,
        },
        "neutral_point": {
            "x_m": found.neutral_x,
            "aft_of_datum_m": found.neutral_x - wanted.datum,
            "of": "bare wing" if wanted.neutral_point is None else "aeroplane, from the file",
            "bare_wing_x_m": found.bare_neutral_x,
        },
        "mean_aerodynamic_chord_m": found.mean_chord,
        "mean_aerodynamic_chord_leading_edge_x_m": found.mean_chord_x,
        "mass": {
            "flying_mass_kg": found.flying_mass,
            "wing_loading_N_per_m2": found.wing_loading,
            "analysed_kg": found.analysed_mass,
            "analysed_centre_m": found.analysed_centre.tolist(),
            "glue_counted_in_analysis": False,
            "glue_area_m2": found.glue_area,
            "glue_spread_kg_per_m2": wanted.glue_spread,
        },
        "lots": [_lot(lot) for lot in found.lots],
        "together": [_lot(lot) for lot in found.together],
        "parts": [
            {"part": name, "mass_kg": mass, "centre_m": centre.tolist()} for name, mass, centre in found.parts
        ],
        "moves": [_move(move) for move in found.moves],
        "ballast": None if found.ballast is None else {"mass_kg": found.ballast.mass, "x_m": found.ballast.x},
        "rest": None
        if rest is None
        else {"mass_kg": rest.mass, "least_x_m": rest.least_x, "most_x_m": rest.most_x},
        "judged_up_to_share_without_place": SMALL_REST,
        "assumed": [{"key": key, "value": value} for key, value in wanted.assumed],
        "about": ([COVERS.format(rest=mass_words(rest.mass))] if rest is not None else []) + [ABOUT],
        "files": [str(f) for f in files],
    }
    cleaned = finite(record)
    assert isinstance(cleaned, dict)
    return cleaned


def _state(state: State) -> Record:
    return {
        "tank": state.name or None,
        "mass_kg": state.mass,
        "aft_of_datum_m": state.aft_of_datum,
        "centre_m": state.centre.tolist(),
        "inertia_kg_m2": state.inertia.tolist(),
        "static_margin": state.static_margin,
    }


def _lot(lot: Lot) -> Record:
    return {
        "kind": lot.kind,
        "name": lot.name,
        "mass_kg": lot.mass,
        "centre_m": lot.centre.tolist(),
        "shift_m": lot.shift,
    }


def _move(move: Move) -> Record:
    return {
        "name": move.name,
        "mass_kg": move.mass,
        "x_m": move.x,
        "marked_movable": move.marked,
        "least_m": move.least,
        "most_m": move.most,
        "needed_m": move.needed,
        "within_reach": move.within_reach,
    }
