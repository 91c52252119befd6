"""`sparbay check`: the wing under the load in its file, bay by bay."""

from __future__ import annotations

import argparse
import json
import sys

from models.analysis import analyse
from models.command.covering import covering_record
from models.command.exit_codes import ExitCode
from models.command.files import must_fly, read_wing
from models.command.panels import panels_record
from models.command.record import check_record
from models.covering import cover
from models.strength import check
from models.studies.speed_limit import limit, not_looked_at
from models.verdict import verdict


def run(options: argparse.Namespace) -> ExitCode:
    """Check the wing file; 1 where a wing is not fit, or a specimen fails under its load."""
    wing = read_wing(options.file)
    if options.speed:
        must_fly(wing, options.file, "--speed")
    analysis = analyse(wing, per_bay=options.mesh, rigid_joints=options.rigid_joints)
    margins = check(analysis)
    mesh = {"per_bay": options.mesh, "rigid_joints": options.rigid_joints}
    covered = cover(wing, **mesh) if wing.coverings else None
    decided = None
    if analysis.pull_up is not None:
        bears = None if covered is None else covered.least_load
        fast = limit(wing, per_bay=options.mesh) if options.speed else None
        decided = verdict(wing, **mesh, covered=bears, sound=analysis, margins=margins, speed=fast)
    record = check_record(analysis, margins, options.file, **mesh, decided=decided)
    if decided is not None and decided.speed is None:
        record["answer"]["sentences"] += not_looked_at(wing)
    if covered is not None:
        found = covering_record(analysis, margins, covered)
        record["covering"] = found
        record["answer"]["sentences"] += found["sentences"]
    if options.panels:
        record["panels"] = panels_record(analysis, margins)
        record["answer"]["sentences"] += record["panels"]["sentences"]
    if options.json:
        print_json(record)
    else:
        from models.report import text

        text.tell(text.check_text, record)
    return ExitCode.DONE if record["answer"]["survives"] else ExitCode.FAILS


def print_json(document: object) -> None:
    """One JSON document on standard output."""
    json.dump(document, sys.stdout, indent=1, allow_nan=False)
    sys.stdout.write("\n")
