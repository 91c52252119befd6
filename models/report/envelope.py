"""The answer of `envelope` as text and tables."""

from __future__ import annotations

from typing import Any

from models.report.text import Page, answer, borne, fixed, number, reserve
from models.wing.units import mass_words

Record = dict[str, Any]

_KMH = 3.6


def envelope_text(out: Page, record: Record) -> None:
    """Words, cautions, a table by speed and one of the corners for each loading, what was assumed.

    Parameters
    ----------
    out : Page
        Where to.
    record : dict
        From `models.command.envelope.envelope_record`.
    """
    answer(out, record, good=record["answer"]["survives"])
    for one in record["loadings"]:
        _speeds(out, one)
        _corners(out, one)
    if record["assumed"]:
        rows = [(a["key"], a["value"]) for a in record["assumed"]]
        out.table("Assumed, because the file does not say", ["<key", "~value"], rows)
    out.line()
    out.say(record["about"])
    out.files(record["files"])


def _speeds(out: Page, one: Record) -> None:
    rows = [
        (
            fixed(r["speed_m_per_s"], _KMH, 0),
            r["name"],
            *(borne(r[f"load_factor_{key}"]) for key in ("by_lift", "at_first_failure", "without_harm")),
            fixed(r["safe_load_factor"]),
            number(r["tightest_radius_m"], digits=3),
            *(
                fixed(_minus(r[f"inverted_load_factor_{key}"]))
                for key in ("by_lift", "at_first_failure", "without_harm")
            ),
            *(fixed(r[f"load_factor_in_{way}_gust"]) for way in ("up", "down")),
        )
        for r in one["speeds"]
    ]
    columns = ["speed\nkm/h", "<", "stalls\nat, g", "breaks\nat, g", "no harm\nup to, g", "may pull\ng",
               "loop's\nradius, m", "inverted\nstalls, g", "inverted\nbreaks, g", "inverted\nno harm, g",
               "up-gust\ng", "down-gust\ng"]  # fmt: skip
    loading = f"wing loading {one['wing_loading_N_per_m2']:.1f} N/m2"
    out.table(f"By speed, {one['loading']}: {mass_words(one['mass_kg'])}, {loading}", columns, rows)


def _minus(value: float | None) -> float | None:
    return None if value is None else -value


def _corners(out: Page, one: Record) -> None:
    rows = [
        (
            c["name"],
            fixed(c["speed_m_per_s"], _KMH, 0),
            fixed(c["load_factor_asked"]),
            fixed(c["load_factor"]),
            reserve(c["reserve_factor"]),
            "-" if c["bent_wing_reserve_factor"] is None else reserve(c["bent_wing_reserve_factor"]),
            c["part"] or "-",
            c["mode"] or "-",
        )
        for c in one["corners"]
    ]
    columns = ["<corner", "speed\nkm/h", "asked\ng", "lifted\ng", "reserve\nfactor", "of bent\nwing",
               "~weakest", "~mode"]  # fmt: skip
    title = f"Corners of the envelope, {one['loading']}: {mass_words(one['mass_kg'])}"
    out.table(title, ["no.", *columns], [(str(k + 1), *row) for k, row in enumerate(rows)])
