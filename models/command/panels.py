"""What `check --panels` says: the classic panel model beside the full one."""

from __future__ import annotations

import math
from dataclasses import asdict

from models.analysis import Analysis
from models.strength import Margins


def panels_record(analysis: Analysis, margins: Margins) -> dict[str, object]:
    """The second opinion as plain data.

    Parameters
    ----------
    analysis : Analysis
        Solved.
    margins : Margins
        Its own.

    Returns
    -------
    dict
        `sentences`, and in SI what they say; where booms and walls cannot stand the sentence that says where.
    """
    from models.structure.panels import PanelMechanism
    from models.studies.panels import second_opinion, words

    try:
        found = second_opinion(analysis, margins)
    except PanelMechanism as fault:
        return {"sentences": [f"The classic panel model cannot stand: {fault}."]}
    record = asdict(found)
    for key in ("load_factor", "full_load_factor", "all_load_factor"):
        record[key] = record[key] if math.isfinite(record[key]) else None
    for key, first in (("first", found.first), ("full_first", found.full_first)):
        record[key] = None if first is None else {"mode": first.mode, "part": first.part.name}
    units = {"deflection": "m", "twist": "rad"}
    for key, unit in units.items():
        for of in ("", "full_"):
            record[f"{of}{key}_{unit}"] = record.pop(f"{of}{key}")
    return {"sentences": words(found, specimen=margins.specimen), **record}
