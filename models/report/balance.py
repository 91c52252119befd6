"""The answer of `balance` as text and tables."""

from __future__ import annotations

from typing import Any

from models.gravity import GRAVITY
from models.report.text import Page, answer, fixed, number
from models.wing.units import mass_words

Record = dict[str, Any]


def balance_text(out: Page, record: Record) -> None:
    """Words, cautions, what every lot weighs and shifts, both states of the tank, what may move.

    Parameters
    ----------
    out : Page
        Where to.
    record : dict
        From `models.command.balance.balance_record`.
    """
    answer(out, record, good=record["answer"]["inside"])
    _states(out, record)
    _lots(out, record)
    _moves(out, record)
    if record["assumed"]:
        rows = [(a["key"], a["value"]) for a in record["assumed"]]
        out.table("Assumed, because the file does not say", ["<key", "~value"], rows)
    out.line()
    for words in record["about"]:
        out.say(words)
    out.files(record["files"])


_ROUNDING = 1e-9
"""A product of inertia that is less beside the largest moment is none."""


def _places(record: Record) -> int:
    """Places of masses in grams: a tenth of a gram is much of a wing that weighs two."""
    whole = record["states"][0]["mass_kg"]
    return 1 if whole >= 0.1 else 2 if whole >= 0.01 else 3


def _inertia(state: Record, row: int, column: int) -> float:
    most = max(state["inertia_kg_m2"][k][k] for k in range(3))
    value = float(state["inertia_kg_m2"][row][column])
    return value if abs(value) > _ROUNDING * most else 0.0


def _states(out: Page, record: Record) -> None:
    states = record["states"]
    names = [f"{s['tank']} tank" if s["tank"] else "all" for s in states]

    def row(name: str, *cells: str) -> tuple[str, ...]:
        return (name, *cells)

    def each(key: str, factor: float, places: int) -> list[str]:
        return [fixed(s[key], factor, places) for s in states]

    rows = [
        row("mass, g", *each("mass_kg", 1e3, _places(record))),
        row("centre of gravity aft of the datum, mm", *each("aft_of_datum_m", 1e3, 1)),
        *(
            row(f"centre of gravity {axis}, mm", *[fixed(s["centre_m"][k], 1e3, 1) for s in states])
            for k, axis in enumerate(("x (aft)", "y (starboard)", "z (up)"))
        ),
    ]
    if record["answer"]["inside"] is not None:
        rows.append(row("static margin, % of the mean chord", *each("static_margin", 100.0, 1)))
    rows += [
        row(f"{what}, g m2", *[number(_inertia(s, i, k), 1e3 * sign, 4) for s in states])
        for i, k, sign, what in (
            (0, 0, 1, "moment of inertia in roll"),
            (1, 1, 1, "moment of inertia in pitch"),
            (2, 2, 1, "moment of inertia in yaw"),
            (0, 2, -1, "product of inertia xz"),
        )
    ]
    out.table("What the file describes", ["<", *names], rows)
    limits, neutral, datum = record["range"], record["neutral_point"], record["datum_x_m"]
    chord, front = record["mean_aerodynamic_chord_m"], record["mean_aerodynamic_chord_leading_edge_x_m"]
    rows = [
        (
            f"foremost centre of gravity, at {100 * limits['most_static_margin']:g} %",
            fixed(limits["foremost_aft_of_datum_m"], 1e3),
        ),
        (
            f"rearmost centre of gravity, at {100 * limits['least_static_margin']:g} %",
            fixed(limits["rearmost_aft_of_datum_m"], 1e3),
        ),
        (f"neutral point of the {neutral['of']}", fixed(neutral["aft_of_datum_m"], 1e3)),
        ("leading edge of the mean aerodynamic chord", fixed(front - datum, 1e3)),
        ("mean aerodynamic chord itself", fixed(chord, 1e3)),
    ]
    if neutral["of"] != "bare wing":
        rows.insert(3, ("neutral point of the bare wing", fixed(neutral["bare_wing_x_m"] - datum, 1e3)))
    where = "the centre section's leading edge" if not datum else f"the datum, x = {1e3 * datum:g} mm"
    out.table(f"Range, aft of {where}", ["<", "mm"], rows)
    mass = record["mass"]
    loading = mass["wing_loading_N_per_m2"]
    out.line()
    out.say(
        f"Wing loading {loading:.1f} N/m2 ({10 * loading / GRAVITY:.1f} g/dm2) at "
        f"{mass_words(mass['flying_mass_kg'])}. Without glue, as the other commands have "
        f"it: {1e3 * mass['analysed_kg']:.{_places(record)}f} g at "
        f"{1e3 * mass['analysed_centre_m'][0]:.1f} mm."
    )


def _lots(out: Page, record: Record) -> None:
    def rows(lots: list[Record]) -> list[tuple[str, ...]]:
        return [
            (
                lot["kind"],
                lot["name"],
                fixed(lot["mass_kg"], 1e3, _places(record)),
                *(fixed(value, 1e3, 1) for value in lot["centre_m"]),
                f"{1e3 * lot['shift_m']:+.1f}",
            )
            for lot in lots
        ]

    columns = ["<kind", "~part", "mass\ngrams", "x\nmm", "y\nmm", "z\nmm", "shifts the c.g.\naft by, mm"]
    tank = ", tank full" if len(record["states"]) > 1 else ""
    title = f"Part by part, both sides{tank}; shift: centre of gravity with the part less without it"
    out.table(title, columns, rows(record["lots"]))
    out.table("Gathered (counted above already)", columns, rows(record["together"]))


def _moves(out: Page, record: Record) -> None:
    if not record["moves"]:
        return
    rows = []
    for move in record["moves"]:
        if move["least_m"] is None:
            may, needed = "no movement will do", "-"
        else:
            low, high = 1e3 * move["least_m"], 1e3 * move["most_m"]
            may = f"{low:+.0f} to {high:+.0f}"
            needed = "none" if not move["needed_m"] else f"{1e3 * move['needed_m']:+.1f}"
            needed += "" if move["within_reach"] else ", out of reach"
        rows.append((move["name"], fixed(move["mass_kg"], 1e3, 0), fixed(move["x_m"], 1e3, 0), needed, may))
    marked = record["moves"][0]["marked_movable"]
    title = "What may be moved, alone" if marked else "Each mass moved alone (none is marked as movable)"
    out.table(
        f"{title}; aft is +, forward is -",
        ["<mass", "mass\ngrams", "x now\nmm", "must move\nmm", "may move, within\nthe range, mm"],
        rows,
    )
