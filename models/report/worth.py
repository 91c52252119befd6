"""The answer of `worth` for people: words, webs by what a gram buys, sizes and woods."""

from __future__ import annotations

import math

from models.report.text import Page, Record, answer, borne, fixed, number

_DEG = 180 / math.pi
_PER_GRAM = 1e-3


def worth_text(out: Page, record: Record) -> None:
    """Words first, then the webs that could be put in, those that are there, sizes, and other woods.

    Parameters
    ----------
    out : Page
        Where to.
    record : dict
        From `models.command.worth.worth_record`.
    """
    answer(out, record)
    unit = "g" if record["kind"] == "wing" else "x load"
    drawn = record["as_drawn"]
    rows = [
        ("tip deflection, mm", fixed(drawn["tip_deflection_m"], 1e3, 2)),
        ("tip twist, deg nose up", fixed(drawn["tip_twist_rad"], _DEG, 3)),
        (f"load at first failure, {unit}", borne(drawn["load_factor_at_first_failure"], 2)),
        ("mass with what it carries, g", fixed(drawn["mass_kg"], 1e3)),
    ]
    if drawn["load_factor_fifth_percentile"] is not None:
        rows.insert(
            3,
            (
                f"load that one in twenty does not reach, {unit}",
                borne(drawn["load_factor_fifth_percentile"], 2),
            ),
        )
    out.table("As drawn", ["<figure", "~value"], [*rows, ("first failure", drawn["first_failure"])])
    absent = [w for w in record["webs"] if not w["present"]]
    present = [w for w in reversed(record["webs"]) if w["present"]]
    if absent:
        _webs(out, "Webs that could be glued in, the best for a gram first", absent, unit)
    if present:
        _webs(out, "Webs that are there, the least missed for a gram first", present, unit)
    _sizes(out, record["sizes"], unit)
    if record["other_woods"]:
        _woods(out, record["other_woods"], unit)
    out.line()
    for line in record["about"]:
        out.say(f"- {line}")
    out.files(record["files"])


def _pair(one: Record, key: str, factor: float) -> tuple[str, str]:
    """Slope and change of one figure for a gram."""
    change = one["change"]
    return (
        number(one["slope"][key], factor * _PER_GRAM, 3),
        "-" if change is None else number(change[key], factor * _PER_GRAM, 3),
    )


def _figures(one: Record) -> tuple[str, ...]:
    return (
        *_pair(one, "load_factor_per_kg", 1.0),
        *_pair(one, "tip_deflection_m_per_kg", 1e3),
        *_pair(one, "tip_twist_rad_per_kg", _DEG),
    )


def _heads(unit: str) -> list[str]:
    out = []
    for what, measure in (("load", unit), ("deflection", "mm"), ("twist", "deg")):
        out += [f"{what}\n{measure}/gram\n{way}" for way in ("slope", "change")]
    return out


def _webs(out: Page, title: str, webs: list[Record], unit: str) -> None:
    fifth = any(w["slope"]["load_factor_fifth_percentile_per_kg"] is not None for w in webs)
    sides = any(w["side"] for w in webs)
    flutter = any(w.get("flutter_m_per_s_per_kg") is not None for w in webs)
    rows = []
    for web in webs:
        change = web["change"]
        row = [str(web["bay"]), web["spar"], web["face"], *([web["side"]] if sides else [])]
        row += [fixed(web["mass_kg"], 1e3, 2), *_figures(web)]
        if flutter:
            row.append(number(web["flutter_m_per_s_per_kg"], 3.6 * _PER_GRAM, 3))
        if fifth:
            row += [
                number(web["slope"]["load_factor_fifth_percentile_per_kg"], _PER_GRAM, 3),
                *_fifth(change),
            ]
        rows.append([*row, "the wing cannot fly so" if change is None else change["first_failure"]])
    columns = ["bay", "<spar", "<face", *(["<side"] if sides else []), "grams", *_heads(unit)]
    columns += ["flutter\nkm/h/gram\nslope"] if flutter else []
    if fifth:
        columns += [
            f"1 in 20\n{unit}/gram\nslope",
            f"1 in 20\n{unit}\nwhole web",
            "\n95 %\ninterval",
        ]
    out.table(title, [*columns, "~then goes first"], rows)


def _fifth(change: Record | None) -> tuple[str, str]:
    if change is None or change["fifth_percentile_interval"] is None:
        return "-", "-"
    low, high = change["fifth_percentile_interval"]
    noise = ", within noise" if change["within_noise"] else ""
    return (
        number(change["load_factor_fifth_percentile"], 1, 3),
        f"{number(low, 1, 2)} to {number(high, 1, 2)}{noise}",
    )


def _sizes(out: Page, sizes: list[Record], unit: str) -> None:
    rows = []
    for one in sizes:
        change = one["change"]
        grams = "-" if change is None else fixed(change["mass_kg"], 1e3, 2)
        rows.append((one["what"], one["part"], grams, *_figures(one)))
    if rows:
        percent = round(100 * (sizes[0]["factor"] - 1))
        columns = ["<what", "<of", f"grams for\n{percent} % more", *_heads(unit)]
        out.table("Sizes and woods (change: for as much more)", columns, rows)


def _woods(out: Page, woods: list[Record], unit: str) -> None:
    rows = [
        (
            str(one["bay"]),
            one["spar"],
            one["face"],
            one["wood"],
            fixed(one["change"]["mass_kg"], 1e3, 2),
            number(one["change"]["load_factor"], 1, 3),
            number(one["change"]["tip_deflection_m"], 1e3, 3),
            number(one["change"]["tip_twist_rad"], _DEG, 3),
            one["change"]["first_failure"],
        )
        for one in woods
    ]
    columns = [
        "bay",
        "<spar",
        "<face",
        "<wood",
        "grams",
        f"load\n{unit}",
        "deflection\nmm",
        "twist\ndeg",
        "~then goes first",
    ]
    out.table("The same web of other wood: change of the whole", columns, rows)
