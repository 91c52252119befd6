"""The answer of `hold` as text and tables."""

from __future__ import annotations

import math
from typing import Any

from models.report.text import Page, answer, number

Record = dict[str, Any]

_DEG = 180 / math.pi


def hold_text(out: Page, record: Record) -> None:
    """The answer of `hold`: words, cautions, and for every load how each layout gives, then rib by rib.

    Parameters
    ----------
    out : Page
        Where to.
    record : dict
        From `models.command.hold.hold_record`.
    """
    answer(out, record)
    rib = record["held_at_rib"]
    held = "held at the centre line" if rib is None else f"held from the centre line to rib {rib}"
    for load in record["loads"]:
        title = f"{load['words'][0].upper()}{load['words'][1:]}, {held}"
        rows = [
            (
                r["layout"],
                number(r["deflection_m"], 1e3, 4),
                number(r["twist_rad"], _DEG, 4),
                number(r["stiffness_N_per_m"], 1e-3, 4),
                number(r["torsional_stiffness_N_m_per_rad"], 1 / _DEG, 4),
            )
            for r in load["layouts"]
        ]
        out.table(title, ["<layout", "up\nmm", "twist\ndeg", "N/mm", "N m\nper deg"], rows)
        first = load["layouts"][0]
        ribs = [
            (
                r["spar"],
                number(r["y_m"], 1e3, 4),
                number(r["deflection_m"], 1e3, 4),
                number(r["twist_rad"], _DEG, 4),
            )
            for r in first["ribs"]
        ]
        out.table(f"At every rib: {first['layout']}", ["<spar", "y\nmm", "up\nmm", "twist\ndeg"], ribs)
        _stresses(out, first)


def _stresses(out: Page, layout: Record) -> None:
    rows = [
        (
            str(r["bay"]),
            r["spar"],
            number(r["upper_cap_stress_Pa"], 1e-6, 3),
            number(r["lower_cap_stress_Pa"], 1e-6, 3),
            ", ".join(f"{face} {v * 1e-6:.3g}" for face, v in r["web_shear_stress_Pa"].items()) or "open",
        )
        for r in layout["mid_bays"]
    ]
    title = f"Stresses half way along the bays, MPa: {layout['layout']}"
    out.table(title, ["bay", "<spar", "upper\ncap", "lower\ncap", "<web shear"], rows)
    sheets = [
        (
            str(r["bay"]),
            r["surface"],
            number(r["span_stress_Pa"], 1e-6, 3),
            number(r["shear_stress_Pa"], 1e-6, 3),
        )
        for r in layout["sheeting"]
    ]
    if sheets:
        out.table("Sheeting, mean over its width, MPa", ["bay", "<surface", "along\nspan", "shear"], sheets)
