"""At which load factor does the wing buckle, in which bay, and how?

Linear buckling of the whole wing under the load in its file: caps that bow between ribs, sheeting that
bows, the wing that twists. Webs within a bay are the business of check. Leaves with 1 if a part other than
sheeting buckles at the load asked for.

example: sparbay collapse --buckle trainer
"""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from models.command.document import Record, give, recorded
from models.command.exit_codes import ExitCode
from models.command.faults import InputFault
from models.command.files import filled, new_folder, read_wing
from models.command.options import quantity, shared
from models.command.progress import Progress
from models.report.text import Page, answer, borne, load_unit

if TYPE_CHECKING:
    from models.studies.buckling import Buckling, BucklingMode

ABOUT = (
    "Linear buckling: small deflections, loads that keep their direction. The mesh shows caps bowing between "
    "ribs, sheeting bowing between ribs, caps and the wing twisting; not the bulging of webs within a bay "
    "nor ribs within their height (see check). Curved sheeting moves by a "
    "tenth or so with --mesh and --panels. Ribs with cap strips come out low: the strips' own stiffness "
    "in bending is left out."
)
_COARSEST = 4
"""Elements along a bay below which a cap does not bow between ribs as it would."""


def options(command: argparse._ActionsContainer) -> None:
    """What it may be told."""
    shared(command, "file", "json", "mesh", "folder")
    command.add_argument("--panels", metavar="N", type=quantity("whole number", 2, 32), default=8,
        help="panels of sheeting and ribs between spars and edges (default: 8); more show curvature better",
    )  # fmt: skip


def run(options: argparse.Namespace) -> ExitCode:
    """Buckle the wing; 1 where a part other than sheeting buckles at the load asked for."""
    from models.analysis import analyse
    from models.studies.buckling import buckle

    if options.mesh < _COARSEST:
        raise InputFault(
            f"--mesh: {options.mesh} is not a whole number from {_COARSEST} on: a bay of fewer does not bow."
        )
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
    record = recorded(options, _figures(found, options.panels), files)
    return give(options, record, buckle_text, holds=record["answer"]["holds"])


def _figures(found: Buckling, panels: int) -> Record:
    from models.studies.buckling import holds, sentences

    analysis = found.analysis
    specimen = analysis.wing.clamped
    first = found.first()
    return {
        "wing": analysis.wing.name,
        "kind": "specimen" if specimen else "wing",
        "answer": {
            "sentences": sentences(found),
            "holds": holds(found),
            "load_factor_asked": analysis.load_factor,
            "load_factor": first.load_factor if first else None,
        },
        "modes": [_mode(m, specimen=specimen) for m in found.modes],
        "first_of_each_group": {group: _mode(m, specimen=specimen) for group, m in found.first_of.items()},
        "about": ABOUT,
        "mesh": {"panels_across": panels, "half_wing": analysis.model.half},
    }


def _mode(mode: BucklingMode, *, specimen: bool) -> Record:
    from models.studies.buckling import words

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


def buckle_text(out: Page, record: Record) -> None:
    """The page: words, the modes, and the lowest of each group of parts."""
    answer(out, record, good=record["answer"]["holds"])
    unit, places = load_unit(record)
    columns = [f"buckles\nat, {unit}", "of load\nasked", "~shape"]
    columns += ["<strain energy by bay", "<by kind of part"]
    out.table("The lowest modes", columns, [_mode_row(m, places) for m in record["modes"]])
    groups = {
        "spars": "spars, edges, rails",
        "sheeting": "sheeting",
        "ribs": "ribs and their strips",
    }
    rows = [(groups[group], *_mode_row(m, places)[:3]) for group, m in record["first_of_each_group"].items()]
    columns = ["<stress of", f"buckles\nat, {unit}", "of load\nasked", "~shape"]
    out.table("The lowest mode by the stress of one group of parts alone", columns, rows)
    mesh = record["mesh"]
    out.line()
    out.say(record["about"])
    out.say(f"Mesh: {mesh['elements_per_bay']} elements a bay, {mesh['panels_across']} panels between spars.")
    out.files(record["files"])


def _mode_row(mode: Record, places: int) -> tuple[str, ...]:
    bays = [f"{b['bay']}{'p' if b['side'] == 'port' else ''}: {100 * b['share']:.0f} %"
            for b in mode["strain_energy_by_bay"][:3]]  # fmt: skip
    kinds = [f"{k} {100 * v:.0f} %" for k, v in list(mode["strain_energy_by_kind"].items())[:2]]
    return (
        borne(mode["load_factor"], places),
        borne(mode["factor_on_load"], 2),
        mode["words"].rpartition(" at ")[0] if "as a whole" not in mode["words"] else mode["words"],
        ", ".join(bays),
        ", ".join(kinds),
    )
