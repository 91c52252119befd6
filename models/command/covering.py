"""What `check` says of a wing with taut covering, as plain data.

`bare`, `taut` and `wrinkled` hold the same figures of three wings: without the covering's stiffness, with
covering that never wrinkles (holds up to `slack_load_factor`), and with covering that does. Where the film's
stiffness is the list's, that is the low end of what is said of it; `stiff_end` has the same of the other end.
"""

from __future__ import annotations

import math
from typing import Any

from models import units_out as say
from models.analysis import Analysis, spar_motion, wing_twist
from models.command.document import Record, finite
from models.command.record import margin_record
from models.covering import Covered
from models.rounding import down, gees
from models.strength import (
    Margin,
    Margins,
    check,
    covering_edges,
    covering_ribs,
    covering_slack,
    covering_tearing,
)
from models.structure.covering import taut
from models.wing.parts import Wing


def covering_record(bare: Analysis, margins: Margins, covered: Covered) -> Record:
    """The wing bare (solved without the covering's stiffness, with its reserves) and covered."""
    asked = bare.load_factor
    pulled = covering_edges.pull(covered.taut)
    record: Record = {
        "films": films_record(bare.wing),
        "bare": _wing(bare, margins.load_factor_at_first_failure()),
        **_of(covered, asked),
        "stiff_end": None if covered.stiff is None else _of(covered.stiff, asked),
        "survives_covered": bool(covered.least_load >= asked),
        "edges": None
        if pulled is None
        else {
            "pull_N_per_m": float(pulled.inward.max()),
            "bow_between_ribs_m": float(pulled.sag.max()),
            "stress_at_a_rib_Pa": float(pulled.stress.max()),
        },
        "modes": [margin_record(row, at) | {"reason": row.reason} for at, row in _modes(covered)],
    }
    record["sentences"] = _sentences(record, asked) + doubts(bare.wing)
    cleaned: Record = finite(record)
    return cleaned


def _of(covered: Covered, asked: float) -> Record:
    part, load = covered.slack_part, covered.slack_load
    return {
        "taut": _wing(covered.taut, covered.taut_margins.load_factor_at_first_failure()),
        "wrinkled": _wing(covered.wrinkled, covered.failing_load)
        | {"share_of_area_wrinkled": covered.slack_share},
        "load_factor_at_first_failure_bent_wing": covered.bent_load,
        "slack_load_factor": load,
        **{
            f"slack_{name}": None if part is None else getattr(part, key)
            for name, key in (("part", "name"), ("bay", "bay"), ("surface", "place"), ("side", "side"))
        },
        "taut_at_the_load_asked": bool(load >= asked),
    }


def films_record(wing: Wing) -> list[Record]:
    """Every taut covering of the file."""
    return [
        {
            "film": one.film,
            "surface": one.surface,
            "stretch_stiffness_N_per_m": float(one.stretch[0, 0] * (1 - _coupling(one.stretch))),
            "shear_stiffness_N_per_m": float(one.stretch[2, 2]),
            "pretension_span_N_per_m": one.pretension[0],
            "pretension_chord_N_per_m": one.pretension[1],
            "tearing_force_N_per_m": one.strength,
            "doubts": list(one.doubts),
        }
        for one in taut(wing)
        if one.stretch is not None
    ]


def _coupling(stretch: Any) -> float:
    return float(stretch[0, 1] ** 2 / (stretch[0, 0] * stretch[1, 1]))


def doubts(wing: Wing) -> list[str]:
    """What was taken for granted of the films, a sentence each, every film once."""
    found = dict.fromkeys((one.film, said) for one in taut(wing) for said in one.doubts)
    return [f"{film[:1].upper()}{film[1:]}: {said}." for film, said in found]


def slack_words(bay: int | None, side: str, surface: str) -> str:
    """Where covering goes slack: "bay 3, starboard, upper"."""
    return ", ".join([f"bay {bay}"] * (bay is not None) + [side] * bool(side) + [surface])


def _wing(analysis: Analysis, failing: float) -> Record:
    return {
        "tip_deflection_m": float(spar_motion(analysis, 0).deflection[-1]),
        "tip_twist_rad": float(wing_twist(analysis)[1][-1]),
        "load_factor_at_first_failure": failing,
    }


def _modes(covered: Covered) -> list[tuple[Analysis, Margin]]:
    """The worst of every mode of the covering: slack of the taut wing, the others as it is under the load."""
    loose = covered.taut_margins if covered.wrinkled is covered.taut else check(covered.wrinkled)
    others = {one.MODE.name for one in (covering_tearing, covering_edges, covering_ribs)}
    found: dict[str, tuple[Analysis, Margin]] = {}
    for at, margins, modes in (
        (covered.taut, covered.taut_margins, {covering_slack.MODE.name}),
        (covered.wrinkled, loose, others),
    ):
        for row in margins.secondary:
            if row.mode in modes:
                found.setdefault(row.mode, (at, row))
    return list(found.values())


def _moved(row: Record) -> str:
    twist = math.degrees(row["tip_twist_rad"])
    return (
        f"{say.length(row['tip_deflection_m']):.3g} up and {abs(twist):.3g} degrees nose "
        f"{'up' if twist > 0 else 'down'}"
    )


def _sentences(record: Record, asked: float) -> list[str]:
    bare, stiff = record["bare"], record["stiff_end"]
    said = [f"At {gees(asked)} g the tip goes {_moved(bare)} bare; covered: {_covered(record, asked)}."]
    if stiff is not None:
        said.append(f"With film of the stiff end of what is said of it: {_covered(stiff, asked)}.")
    ends = [one for one in (record, stiff) if one is not None]
    built = min(one["wrinkled"]["load_factor_at_first_failure"] for one in ends)
    bent = min(one["load_factor_at_first_failure_bent_wing"] or math.inf for one in ends)
    first, least = bare["load_factor_at_first_failure"], min(built, bent)
    where = f" (as built {down(built)}, the bent wing less)" if bent < built else ""
    said.append(
        f"With its covering the wing fails first at {down(least)} g{where}, bare at {down(first)} g: it must "
        f"survive both ways, for covering tears and loosens, and it {_fate(first >= asked, least >= asked)}."
    )
    edges = record["edges"]
    if edges is not None:
        said.append(
            "The covering pulls an edge inward by up to "
            f"{say.force_per_span(edges['pull_N_per_m']):.3g}, which bows it by "
            f"{say.length(edges['bow_between_ribs_m']):.2g} between ribs."
        )
    return said


def _covered(found: Record, asked: float) -> str:
    """How the covered wing moves, and when its film goes slack."""
    said = f"{_moved(found['taut'])} while it is taut"
    if not math.isfinite(found["slack_load_factor"]):
        return said
    where = slack_words(found["slack_bay"], found["slack_side"], found["slack_surface"])
    said += f"; it goes slack at {found['slack_load_factor']:.2g} g in {where}"
    if found["taut_at_the_load_asked"]:
        return said
    loose = found["wrinkled"]
    share = 100 * loose["share_of_area_wrinkled"]
    return f"{said}, and at {gees(asked)} g, {share:.0f} % of it wrinkled, the tip goes {_moved(loose)}"


def _fate(bare: bool, covered: bool) -> str:
    if bare and covered:
        return "does"
    return "fails covered" if bare else "fails bare" if covered else "fails both ways"
