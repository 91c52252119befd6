"""Which wings of a whole family survive, and which is the lightest of them?

Checks every file named, with every combination of the values given. Leaves with 1 if a wing fails, with 2
if one could not be checked; the others are answered all the same.

example: sparbay compare --family trainer --vary ribs.count=9,11,13 --workers 2
"""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from models import units_out as say
from models.command.document import Record, document, figures, give
from models.command.exit_codes import ExitCode
from models.command.faults import InputFault
from models.command.files import find
from models.command.options import add_workers, shared, workers_asked
from models.command.progress import Progress
from models.report.text import Page, answer, borne, reserve
from models.workers import NoWorkers

if TYPE_CHECKING:
    from models.studies.family import MemberVerdict


def options(command: argparse._ActionsContainer) -> None:
    """What it may be told."""
    shared(command, "file", "json", "mesh")
    command.add_argument("more", nargs="*", metavar="MORE", help="files beside the first")
    command.add_argument("--vary", metavar="KEY=VALUES", action="append", default=[],
        help="set a key of every file to each of the values: KEY=A,B,C, or KEY=FIRST..LAST..N for N evenly"
        " spaced; several times for all combinations")  # fmt: skip
    add_workers(command)


def run(options: argparse.Namespace) -> ExitCode:
    """Check every member; 2 where one has no answer, 1 where one fails."""
    from models.studies.family import FamilyError, check_family, family

    files = [(name, find(name)) for name in (options.file, *options.more)]
    try:
        members = family(files, options.vary)
        verdicts = []
        with workers_asked(options) as work, Progress(len(members), quiet=True) as progress:
            for member, verdict in zip(members, check_family(members, per_bay=options.mesh, run=work)):
                progress(member.name)
                verdicts.append(verdict)
    except (FamilyError, NoWorkers) as fault:
        raise InputFault(f"compare --family: {fault}") from None
    record = family_record(verdicts, options.mesh)
    code = give(options, record, family_text, holds=all(verdict.survives for verdict in verdicts))
    return ExitCode.WRONG_INPUT if any(verdict.fault for verdict in verdicts) else code


def family_record(verdicts: list[MemberVerdict], per_bay: int) -> Record:
    """All that `compare --family` has to say."""
    answered = [verdict for verdict in verdicts if not verdict.fault]
    record = {
        "answer": {
            "sentences": sentences(verdicts),
            "n_members": len(verdicts),
            "n_survive": sum(verdict.survives for verdict in verdicts),
            "n_without_answer": len(verdicts) - len(answered),
        },
        "members": [_member(verdict) for verdict in verdicts],
        "mesh": {"elements_per_bay": per_bay},
    }
    return document("compare --family", None, record)


def _member(verdict: MemberVerdict) -> Record:
    if verdict.fault:
        return {"member": verdict.member, "fault": verdict.fault}
    told = figures(
        verdict, "member", "wing", "survives", "reserve_factor",
        load_factor_at_first_failure="load_factor_at_failure", load_factor_failing_one_in_twenty="fifth",
        share_surviving_all="share", part="part", mode="mode", structure_kg="structural_mass",
        tip_deflection_m="tip_deflection",
    )  # fmt: skip
    told["small_movements_hold"] = verdict.moved is None or verdict.moved.hold
    return told | {"residual_over_loads": verdict.residual}


ASKED = "enough of those built so, in every case in the air; `sparbay check`"
"""What a wing of a family must do to survive."""


def sentences(verdicts: list[MemberVerdict]) -> list[str]:
    """How many survive, and which of them is the lightest and which the strongest."""
    from models import small_movements
    from models.strength import rounded_down

    good = [verdict for verdict in verdicts if verdict.survives]
    wings = f"{len(verdicts)} wing{'s' * (len(verdicts) > 1)}"
    said = [f"{len(good)} of {wings} survive{'s' * (len(good) == 1)} what the file asks (wings: {ASKED})."]
    if good:
        light = min(good, key=lambda verdict: verdict.structural_mass)
        strong = max(good, key=lambda verdict: verdict.reserve_factor)
        said.append(f"The lightest of these: {light.member} ({say.mass(light.structural_mass):.0f}).")
        said.append(f"The greatest reserve: {strong.member} ({rounded_down(strong.reserve_factor)}).")
    too_far = small_movements.worst(
        ((verdict.member, verdict.moved) for verdict in verdicts if verdict.moved is not None), "member"
    )
    if too_far is not None:
        said.append(too_far)
    missing = sum(bool(verdict.fault) for verdict in verdicts)
    if missing:
        said.append(f"{missing} of {wings} could not be checked; what is wrong stands below the table.")
    return said


def family_text(out: Page, record: Record) -> None:
    """The page: words, cautions, a line a wing, and what could not be read."""
    found = record["answer"]
    answer(out, record, good=found["n_survive"] == found["n_members"])
    if checked := [member for member in record["members"] if "fault" not in member]:
        out.listed("Wings in the order asked", checked, {
            "~wing": "member",
            "reserve\nfactor": ("reserve_factor", reserve),
            "fails\nat, g": ("load_factor_at_first_failure", borne),
            "one in\n20, g": ("load_factor_failing_one_in_twenty", borne),
            "survive\nof 100": ("share_surviving_all", lambda s: "-" if s is None else borne(100 * s, 0)),
            "~goes first": lambda member: f"{member['part']}: {member['mode']}" if member["part"] else "-",
            f"structure\n{say.grams.unit}": ("structure_kg", say.mass.fixed, 0),
            f"tip up,\n{say.length.unit}": ("tip_deflection_m", say.length.fixed),
        })  # fmt: skip
    for member in record["members"]:
        if "fault" in member:
            out.warn(f"Not checked: {member['member']}: {' '.join(member['fault'].split())}")
