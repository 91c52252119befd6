"""The answer of `draw` as text and tables."""

from __future__ import annotations

from typing import Any

from models.report.text import Page, answer, fixed, number

Record = dict[str, Any]


def draw_text(out: Page, record: Record) -> None:
    """The answer of `draw`: words, cautions, what to buy, the cut list, rails, files.

    Parameters
    ----------
    out : Page
        Where to.
    record : dict
        From `models.command.draw.draw_record`.
    """
    answer(out, record)
    rows = [
        (
            b["wood"],
            number(b["thickness_m"], 1e3, 3),
            f"{1e3 * b['width_m']:g} x {1e3 * b['length_m']:g}",
            str(b["n_sheets"]),
            str(b["n_webs"]),
            fixed(b["share_used"], 100, 0),
        )
        for b in record["to_buy"]
    ]
    out.table("Sheets to buy", ["<wood", "mm", "<size, mm", "sheets", "webs", "used, %"], rows)
    cells = [
        (
            r["piece"],
            str(r["quantity"]),
            r["wood"],
            number(r["thickness_mm"], 1.0, 3),
            *(fixed(r[k], places=2) for k in ("length_mm", "depth_inner_end_mm", "depth_outer_end_mm")),
            r["grain"],
            fixed(r["end_bevel_deg"]),
            fixed(r["area_mm2"], 1e-2),
            fixed(r["mass_g"], places=2),
            r["where"],
        )
        for r in record["cut_list"]
    ]
    columns = [
        "<piece", "cut", "<wood", "thick\nmm", "length\nmm", "depth, mm\ninner end", "\nouter end", "<grain",
        "bevel\ndeg", "area\ncm2", "each\ng", "~where",
    ]  # fmt: skip
    out.table("Cut list (a port web is the starboard one turned over)", columns, cells)
    bought = [
        (
            r["what"],
            r["size"],
            number(r["buy"], 1.0, 3) if r["unit"] == "m2" else str(r["buy"]),
            r["unit"],
            fixed(r["mass_in_wing_g"]),
            r["for"],
        )
        for r in record["shopping"]
    ]
    total = sum(r["mass_in_wing_g"] for r in record["shopping"])
    title = f"Shopping list: all of the wing, {total:.0f} g of it built in, without glue"
    out.table(title, ["<what", "<size", "buy", "<unit", "in the\nwing, g", "~for"], bought)
    rest = [
        (
            r["piece"],
            str(r["quantity"]),
            r["kind"],
            r["wood"],
            *(number(r[k], 1.0, 4) for k in ("thickness_mm", "width_mm", "length_mm")),
            fixed(r["mass_g"], places=2),
            r["where"],
        )
        for r in record["cut_list_rest"]
    ]
    columns = [
        "<piece", "cut", "<kind", "<wood", "thick\nmm", "width\nmm", "length\nmm", "each\ng", "~where",
    ]  # fmt: skip
    out.table("Cut list of the rest: braces, ties, sheeting, sticks", columns, rest)
    for sentence in record["about_pieces"]:
        out.say(sentence)
    for rail in record["rails"]:
        out.line()
        for words in rail["words"]:
            out.say(words)
    out.say("Print PDF pages at 100 % and measure both bars.")
    out.files(record["files"])
