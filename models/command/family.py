"""`sparbay family`: many wings checked in one run, here, side by side, or on the workers of a cluster."""

from __future__ import annotations

import argparse
from contextlib import AbstractContextManager, nullcontext

from models import small_movements
from models.cautions import CAUTIONS
from models.command.check import print_json
from models.command.exit_codes import ExitCode
from models.command.faults import InputFault, version
from models.command.files import find
from models.command.progress import Progress
from models.command.record import Record, finite
from models.strength import rounded_down
from models.studies.family import FamilyError, Run, Verdict, check_family, cluster, family, processes


def run(options: argparse.Namespace) -> ExitCode:
    """Check every member; 2 where one has no answer, 1 where one fails."""
    files = [(name, find(name)) for name in options.files]
    try:
        members = family(files, options.vary)
        verdicts = []
        with _workers(options) as work, Progress(len(members), quiet=True) as progress:
            for member, verdict in zip(members, check_family(members, per_bay=options.mesh, run=work)):
                progress(member.name)
                verdicts.append(verdict)
    except FamilyError as fault:
        raise InputFault(f"sparbay family: {fault}") from None
    record = family_record(verdicts, options.mesh)
    if options.json:
        print_json(record)
    else:
        from models.report.family import family_text
        from models.report.text import tell

        tell(family_text, record)
    if any(verdict.fault for verdict in verdicts):
        return ExitCode.WRONG_INPUT
    return ExitCode.DONE if all(verdict.survives for verdict in verdicts) else ExitCode.FAILS


def _workers(options: argparse.Namespace) -> AbstractContextManager[Run]:
    if options.scheduler is not None:
        return cluster(options.scheduler)
    if options.workers > 1:
        return processes(options.workers)
    return nullcontext(map)


def family_record(verdicts: list[Verdict], per_bay: int) -> Record:
    """All that `family` has to say.

    Parameters
    ----------
    verdicts : list of Verdict
        From `models.studies.family.check_family`.
    per_bay : int
        Elements along a bay.

    Returns
    -------
    dict
        Plain data in SI, units in the keys.
    """
    answered = [verdict for verdict in verdicts if not verdict.fault]
    record = {
        "command": "family",
        "version": version(),
        "cautions": list(CAUTIONS),
        "answer": {
            "sentences": sentences(verdicts),
            "n_members": len(verdicts),
            "n_survive": sum(verdict.survives for verdict in verdicts),
            "n_without_answer": len(verdicts) - len(answered),
        },
        "members": [_member(verdict) for verdict in verdicts],
        "mesh": {"elements_per_bay": per_bay},
    }
    cleaned = finite(record)
    assert isinstance(cleaned, dict)
    return cleaned


def _member(verdict: Verdict) -> Record:
    if verdict.fault:
        return {"member": verdict.member, "fault": verdict.fault}
    return {
        "member": verdict.member,
        "wing": verdict.wing,
        "survives": verdict.survives,
        "reserve_factor": verdict.reserve_factor,
        "load_factor_at_first_failure": verdict.load_factor_at_failure,
        "load_factor_failing_one_in_twenty": verdict.fifth,
        "share_surviving_all": verdict.share,
        "part": verdict.part,
        "mode": verdict.mode,
        "structure_kg": verdict.structural_mass,
        "tip_deflection_m": verdict.tip_deflection,
        "small_movements_hold": verdict.moved is None or verdict.moved.hold,
        "residual_over_loads": verdict.residual,
    }


ASKED = "enough of those built so, in every case in the air; `sparbay check`"
"""What a wing of a family must do to survive."""


def sentences(verdicts: list[Verdict]) -> list[str]:
    """How many survive, and which of them is the lightest and which the strongest.

    Parameters
    ----------
    verdicts : list of Verdict
        Of the whole family.
    """
    good = [verdict for verdict in verdicts if verdict.survives]
    wings = f"{len(verdicts)} wing{'s' * (len(verdicts) > 1)}"
    said = [f"{len(good)} of {wings} survive{'s' * (len(good) == 1)} what the file asks (wings: {ASKED})."]
    if good:
        light = min(good, key=lambda verdict: verdict.structural_mass)
        strong = max(good, key=lambda verdict: verdict.reserve_factor)
        said.append(f"The lightest of these: {light.member} ({1e3 * light.structural_mass:.0f} g).")
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
