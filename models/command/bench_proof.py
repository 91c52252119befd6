"""How far may a static test go without harm, and what does it prove?

Says what to hang on which rib. Leaves with 1 if the load asked for cannot be proved without harm.

example: sparbay bench --proof trainer
"""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from models import units_out as say
from models.command.document import Record, figures, give, recorded
from models.command.exit_codes import ExitCode
from models.command.files import read_wing
from models.command.options import quantity, shared
from models.command.progress import Progress
from models.report.text import Page, answer, fixed, load_unit

if TYPE_CHECKING:
    from models.studies.proof import Proof
    from models.verdict import Verdict
    from models.wing.parts import Wing


def options(command: argparse._ActionsContainer) -> None:
    """What it may be told."""
    shared(command, "file", "json", "mesh")
    command.add_argument("--hold", metavar="SECONDS", type=quantity("number of seconds", 1, 3600),
        default=60.0, help="how long the load is held (default: 60); wood bears less for longer")  # fmt: skip


def run(options: argparse.Namespace) -> ExitCode:
    """Plan the test; 1 where the load asked for cannot be proved without harm."""
    from models.studies.proof import CAUTIONS, proof
    from models.verdict import verdict

    wing = read_wing(options.file)
    decided = None
    with Progress(1 + (wing.planform is not None), quiet=True) as progress:
        progress("how far a test may go")
        test = proof(wing, per_bay=options.mesh, hold=options.hold)
        if wing.planform is not None:
            progress("every case, in wood as it scatters")
            decided = verdict(wing, per_bay=options.mesh, tested=test)
    record = recorded(options, _figures(wing, test, decided), cautions=CAUTIONS)
    return give(options, record, proof_text, holds=record["answer"]["possible"])


def _figures(wing: Wing, test: Proof, decided: Verdict | None = None) -> Record:
    from models.studies.proof import sentences
    from models.verdict import in_short
    from models.verdict import record as verdict_record

    specimen = wing.clamped
    return {
        "wing": wing.name,
        "kind": "specimen" if specimen else "wing",
        "answer": {
            "sentences": [
                *sentences(test, specimen=specimen),
                *(in_short(decided) if decided is not None else []),
            ],
            "verdict": None if decided is None else verdict_record(decided),
            "possible": test.possible,
        }
        | figures(
            test, load_factor_asked="asked", highest_load_factor="highest", suggested_load_factor="suggested",
            load_factor_at_first_failure="first_failure", sheeting_bows_from_load_factor="sheeting",
            hold_s="hold", pull_up_over_test="equivalent", proves_load_factor_for_a_second="proves",
        ),
        "lesser_parts": [
            {"part": r.part.name, "mode": r.mode, "load_factor": r.reserve_factor * test.asked}
            for r in test.lesser
        ],
        "limits": [
            figures(
                limit, load_factor="load_factor", part="margin.part.name", side="margin.side",
                mode="margin.mode", share_of_strength="share.value", source_of_share="share.source",
                source="margin.source",
            )
            for limit in test.limits
        ],
        "hang_on_each_side": [
            {"rib": wing.rib_number(y), "y_m": y, "mass_kg": mass} for y, mass in test.loads
        ],
    }  # fmt: skip


def proof_text(out: Page, record: Record) -> None:
    """The page: words, cautions, what limits the test, and what to hang where."""
    answer(out, record, good=record["answer"]["possible"])
    unit, places = load_unit(record)
    out.listed("What limits the test, the lowest first", record["limits"], {
        f"may go\nto, {unit}": ("load_factor", fixed, 1, places),
        "<part": "part",
        "<mode": "mode",
        "share of\nstrength, %": ("share_of_strength", fixed, 100, 0),
        "?~source of the share": "source_of_share",
    })  # fmt: skip
    hung = record["hang_on_each_side"]
    if hung:
        n = record["answer"]["suggested_load_factor"]
        title = f"What to hang at each rib of each side for {n:.1f} g, upside down (negative: borne there)"
        out.listed(title, hung, {
            "rib": ("rib", str),
            f"at y\n{say.length.unit}": ("y_m", say.ruler.fixed, 0),
            say.grams.unit: ("mass_kg", say.mass.number, 3),
        })  # fmt: skip
        out.say(
            "Lift less the inertia of the wing and all it carries; the wing's own weight, which helps by 1 g "
            "of it, is left out. Spread each over the rib with its middle on the line of action of the lift."
        )
    factor = record["answer"]["pull_up_over_test"]
    out.line()
    out.say(
        f"A load held for {record['answer']['hold_s']:.0f} s uses the wood like a pull-up {factor:.2f} times "
        "as hard that lasts a second: 7.5 % for each tenfold time, Wood Handbook 1999, chapter 4 [from "
        "memory]."
    )
