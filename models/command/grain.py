"""`sparbay grain`: what the direction of the webs' grain buys on this wing, mode by mode."""

from __future__ import annotations

import argparse
from collections.abc import Sequence

from models.cautions import CAUTIONS
from models.command.check import print_json
from models.command.exit_codes import ExitCode
from models.command.faults import version
from models.command.files import read_wing
from models.command.progress import Progress
from models.command.record import Record, finite
from models.studies.grain import ANGLES, Direction, compare_grain, sentences
from models.wing.parts import Wing

ABOUT = (
    "In pure shear a web is as stiff and as strong along its grain as square to it; the differences come "
    "from "
    "the glue, buckling, splitting and the share of bending. All webs of the wing are turned together and "
    "the "
    "structure is solved anew; braces keep their grain."
)


def run(options: argparse.Namespace) -> ExitCode:
    """Turn the grain of the webs in the wing file and compare."""
    wing = read_wing(options.file)
    with Progress(len(ANGLES), quiet=True) as progress:
        directions = compare_grain(wing, per_bay=options.mesh, progress=progress)
    record = grain_record(wing, directions, options.file, options.mesh)
    if options.json:
        print_json(record)
    else:
        from models.report import text

        text.tell(text.grain_text, record)
    return ExitCode.DONE


def grain_record(wing: Wing, directions: Sequence[Direction], file: str, per_bay: int) -> Record:
    """All that `grain` has to say.

    Parameters
    ----------
    wing : Wing
        In the file.
    directions : sequence of Direction
        From `models.studies.grain.compare_grain`.
    file : str
        Its name as it was typed.
    per_bay : int
        Elements along a bay.

    Returns
    -------
    dict
        Plain data in SI, units in the keys.
    """
    record = {
        "command": "grain",
        "version": version(),
        "file": file,
        "wing": wing.name,
        "cautions": list(CAUTIONS),
        "answer": {"sentences": sentences(tuple(directions))},
        "about": ABOUT,
        "directions": [
            {
                "grain": d.name,
                "angle_from_span_rad": d.angle,
                "first_failure": d.first_failure,
                "load_factor_at_first_failure": d.load_factor_at_first_failure,
                "web_mass_in_model_kg": d.mass,
                "webs": [
                    {
                        "spar": b.spar,
                        "face": b.face,
                        "side": b.side,
                        "bay": b.bay,
                        "wood": b.wood,
                        "thickness_m": b.thickness,
                        "clear_depth_m": b.clear,
                        "clear_length_m": b.length,
                        "depth_over_thickness": b.slenderness,
                        "length_over_depth": b.aspect,
                        "governs": b.governs,
                        "reserve_factors": b.reserves,
                        "buckles_before_shear_above_depth_over_thickness": b.buckles_above,
                        "share_of_bending": b.bending_share,
                        "glue_reserve_factor_if_cut_at_ribs": b.glue_if_cut,
                    }
                    for b in d.bays
                ],
            }
            for d in directions
        ],
        "mesh": {"elements_per_bay": per_bay},
    }
    cleaned = finite(record)
    assert isinstance(cleaned, dict)
    return cleaned
