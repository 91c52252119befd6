"""`sparbay buckle`: at which load factor the whole wing buckles, where, and how."""

from __future__ import annotations

import argparse
from pathlib import Path

from models.analysis import analyse
from models.cautions import CAUTIONS
from models.command.check import print_json
from models.command.exit_codes import ExitCode
from models.command.faults import version
from models.command.files import filled, new_folder, read_wing
from models.command.progress import Progress
from models.command.record import Record, finite
from models.studies.buckling import Buckling, Mode, buckle, holds, sentences, words

ABOUT = (
    "Linear buckling: small deflections, loads that keep their direction. The mesh shows caps bowing between "
    "ribs, sheeting bowing between ribs, caps and the wing twisting; not the bulging of webs within a bay "
    "nor ribs within their height (see check). Curved sheeting moves by a "
    "tenth or so with --mesh and --panels. Ribs with cap strips come out low: the strips' own stiffness "
    "in bending is left out."
)


def run(options: argparse.Namespace) -> ExitCode:
    """Buckle the wing; 1 where a part other than sheeting buckles at the load asked for."""
    folder = new_folder(options.folder, scenes=True)
    wing = read_wing(options.file)
    with Progress(2, quiet=True) as progress:
        progress("the wing under its load")
        analysis = analyse(wing, per_bay=options.mesh, across_chord=options.panels)
        progress("its lowest modes")
        found = buckle(analysis)

    def draw(place: Path) -> list[Path]:
        from models.pictures.failures import draw_buckling

        return draw_buckling(found, place)

    files = filled(folder, draw)
    record = buckle_record(found, options.file, options.mesh, options.panels, files)
    if options.json:
        print_json(record)
    else:
        from models.report import failures
        from models.report.text import tell

        tell(failures.buckle_text, record)
    return ExitCode.DONE if record["answer"]["holds"] else ExitCode.FAILS


def buckle_record(found: Buckling, file: str, per_bay: int, panels: int, files: list[Path]) -> Record:
    """All that `buckle` has to say.

    Parameters
    ----------
    found : Buckling
        Modes of the wing.
    file : str
        The file's name as it was typed.
    per_bay, panels : int
        Of the mesh.
    files : list of Path
        Pictures written.

    Returns
    -------
    dict
        Plain data in SI, units in the keys.
    """
    analysis = found.analysis
    specimen = analysis.wing.clamped
    first = found.first()
    record = {
        "command": "buckle",
        "version": version(),
        "file": file,
        "wing": analysis.wing.name,
        "kind": "specimen" if specimen else "wing",
        "cautions": list(CAUTIONS),
        "answer": {
            "sentences": sentences(found),
            "holds": holds(found),
            "load_factor_asked": analysis.load_factor,
            "load_factor": first.load_factor if first else None,
        },
        "modes": [_mode(m, specimen=specimen) for m in found.modes],
        "first_of_each_group": {group: _mode(m, specimen=specimen) for group, m in found.first_of.items()},
        "about": ABOUT,
        "mesh": {"elements_per_bay": per_bay, "panels_across": panels, "half_wing": analysis.model.half},
        "files": [str(f) for f in files],
    }
    cleaned = finite(record)
    assert isinstance(cleaned, dict)
    return cleaned


def _mode(mode: Mode, *, specimen: bool) -> Record:
    return {
        "load_factor": mode.load_factor,
        "factor_on_load": mode.factor,
        "words": words(mode, specimen=specimen),
        "driven_by": mode.group,
        "halves_opposite": mode.opposite,
        "part": mode.part.name,
        "share_of_part_in_work_of_stress": mode.part_share,
        "strain_energy_by_bay": [
            {"side": side, "bay": bay, "share": share} for side, bay, share in mode.bays if share > 0.01
        ],
        "strain_energy_by_kind": dict(mode.kinds),
    }
