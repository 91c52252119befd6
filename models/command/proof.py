"""`sparbay proof`: up to which load factor a static test may go, and what it proves."""

from __future__ import annotations

import argparse

from models.command.check import print_json
from models.command.exit_codes import ExitCode
from models.command.faults import version
from models.command.files import read_wing
from models.command.record import Record, finite
from models.studies.proof import CAUTIONS, Limit, Proof, proof, sentences
from models.verdict import Verdict, in_short, verdict
from models.verdict import record as verdict_record
from models.wing.parts import Wing


def run(options: argparse.Namespace) -> ExitCode:
    """Plan the test; 1 where the load asked for cannot be proved without harm."""
    wing = read_wing(options.file)
    test = proof(wing, per_bay=options.mesh, hold=options.hold)
    decided = verdict(wing, per_bay=options.mesh, tested=test) if wing.planform is not None else None
    record = proof_record(wing, test, options.file, options.mesh, decided)
    if options.json:
        print_json(record)
    else:
        from models.report import failures
        from models.report.text import tell

        tell(failures.proof_text, record)
    return ExitCode.DONE if record["answer"]["possible"] else ExitCode.FAILS


def proof_record(wing: Wing, test: Proof, file: str, per_bay: int, decided: Verdict | None = None) -> Record:
    """All that `proof` has to say.

    Parameters
    ----------
    wing : Wing
        The wing in the file.
    test : Proof
        From `models.studies.proof.proof`.
    file : str
        The file's name as it was typed.
    per_bay : int
        Elements along a bay.
    decided : Verdict or None
        On the wing as drawn, where it was worked out.

    Returns
    -------
    dict
        Plain data in SI, units in the keys.
    """
    specimen = wing.clamped
    record = {
        "command": "proof",
        "version": version(),
        "file": file,
        "wing": wing.name,
        "kind": "specimen" if specimen else "wing",
        "answer": {
            "sentences": [
                *sentences(test, specimen=specimen),
                *(in_short(decided) if decided is not None else []),
            ],
            "verdict": None if decided is None else verdict_record(decided),
            "possible": test.possible,
            "load_factor_asked": test.asked,
            "highest_load_factor": test.highest,
            "suggested_load_factor": test.suggested,
            "load_factor_at_first_failure": test.first_failure,
            "sheeting_bows_from_load_factor": test.sheeting,
            "hold_s": test.hold,
            "pull_up_over_test": test.equivalent,
            "proves_load_factor_for_a_second": test.proves,
        },
        "lesser_parts": [
            {"part": r.part.name, "mode": r.mode, "load_factor": r.reserve_factor * test.asked}
            for r in test.lesser
        ],
        "limits": [_limit(limit) for limit in test.limits],
        "hang_on_each_side": [{"y_m": y, "mass_kg": mass} for y, mass in test.loads],
        "cautions": list(CAUTIONS),
        "mesh": {"elements_per_bay": per_bay},
    }
    cleaned = finite(record)
    assert isinstance(cleaned, dict)
    return cleaned


def _limit(limit: Limit) -> Record:
    row = limit.margin
    return {
        "load_factor": limit.load_factor,
        "part": row.part.name,
        "side": row.side,
        "mode": row.mode,
        "share_of_strength": limit.share.value,
        "source_of_share": limit.share.source,
        "source": row.source,
    }
