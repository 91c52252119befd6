"""The answer of `piece` as text and tables."""

from __future__ import annotations

from typing import Any

from models.report.text import Page, fixed, number

Record = dict[str, Any]


def piece_text(out: Page, record: Record) -> None:
    """The answer of `piece`: words, then measured against table.

    Parameters
    ----------
    out : Page
        Where to.
    record : dict
        From `models.command.piece.piece_record`.
    """
    for sentence in record["answer"]["sentences"]:
        out.say(sentence)
    table = record["table"]
    rows = [
        (
            "density, kg/m3", fixed(record["density_kg_per_m3"], places=1),
            fixed(record["density_error_kg_per_m3"], places=1), fixed(table["usual_density_kg_per_m3"],
            places=0),
        ),
        (
            "E along the grain, GPa", number(record["E_L_Pa"], 1e-9, 3), number(record["E_L_error_Pa"], 1e-9,
            2), number(table["E_L_Pa"], 1e-9, 3),
        ),
    ]  # fmt: skip
    if record["share_of_shear_in_the_sag"] is not None:
        rows.append(("of the sag is shear, %", fixed(record["share_of_shear_in_the_sag"], 100), "-", "-"))
    out.table(f"The piece beside the table's {record['wood']} (E at the piece's density)",
              ["<figure", "measured", "error", "table"], rows)  # fmt: skip
    out.say(f"Table: {table['source_of_E_L']}")
    out.say(record["about"])
