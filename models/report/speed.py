"""The answer of `speed` as text and tables."""

from __future__ import annotations

from typing import Any

from models.report.text import Page, answer, number

Record = dict[str, Any]

_KMH = 3.6
_EVERY = 4
"""Rows of the table over speed: every fourth of those in the record."""
_SIDES = {"symmetric": "alike", "antisymmetric": "opposite", "together": "unlike"}
_BEYOND = 1.3
"""How far beyond the last speed at which something happens the table goes."""


def speed_text(out: Page, record: Record) -> None:
    """Words, cautions, layouts, and the modes over speed.

    Parameters
    ----------
    out : Page
        Where to.
    record : dict
        From `models.command.speed.speed_record`.
    """
    answer(out, record, good=record["answer"]["survives"])
    _layouts(out, record)
    _tones(out, record)
    _modes(out, record)
    out.line()
    for words in record["about"]:
        out.say(words)
    out.files(record["files"])


def buys_text(out: Page, record: Record) -> None:
    """One table, whole.

    Parameters
    ----------
    out : Page
        Where to.
    record : dict
        From `models.command.speed.buys_record`.
    """
    answer(out, record, good=None)
    keys: tuple[str, ...] = ("beats", "twists_off", "no_grip")
    grip = any(row["no_grip_m_per_s"] is not None for row in record["buys"])
    keys = keys if grip else keys[:2]
    rows = [
        (
            row["name"],
            number(row["web_mass_more_kg"], 1e3, 3),
            *(number(row[f"{key}_m_per_s"], _KMH, 3) for key in keys),
            *(number(row[f"{key}_m_per_s_per_kg"], 1e-3 * _KMH, 2) for key in keys),
        )
        for row in record["buys"]
    ]
    heads = ["beats\nkm/h", "twists\noff", "no\ngrip"][: len(keys)]
    each = ["a gram:\nbeats", "twists\noff", "no\ngrip"][: len(keys)]
    out.table("What each change does to the speeds", ["<", "webs\ngrams", *heads, *each], rows)
    for words in record["about"]:
        out.say(words)


def _layouts(out: Page, record: Record) -> None:
    bare = min(record["layouts"], key=lambda r: r["web_mass_kg"])
    rows = [
        (
            r["layout"],
            number(r["web_mass_kg"], 1e3, 3),
            number(r["lowest_m_per_s"], _KMH, 3),
            _per_gram(r, bare),
            number(r["beating_m_per_s"], _KMH, 3),
            number(r["beating_Hz"], 1, 3),
            _SIDES.get(r["beating_kind"], "-"),
            number(r["twist_off_m_per_s"], _KMH, 3),
            number(r["reversal_m_per_s"], _KMH, 3),
            *_lattice(r["lattice"]),
        )
        for r in record["layouts"]
    ]
    last = f"{_KMH * record['searched_to_m_per_s']:.0f}"
    heads = ["<layout", "webs\ngrams", "first\nkm/h", "a gram\nbuys", "beats\nkm/h", "\nHz", "<\nsides"]
    heads += ["twists off\nkm/h", "no grip\nkm/h"]
    if record["lattice"] is not None:
        heads += ["lattice:\nbeats", "twists\noff", "no\ngrip"]
    title = f"What webs buy in speed (-: not up to {last} km/h; a gram: against {bare['layout']})"
    out.table(title, heads, rows)


def _per_gram(row: Record, bare: Record) -> str:
    """km/h of what comes first that each gram of webs buys beyond the layout with the least."""
    grams = 1e3 * (row["web_mass_kg"] - bare["web_mass_kg"])
    if grams < 1e-6 or row["lowest_m_per_s"] is None or bare["lowest_m_per_s"] is None:
        return "-"
    return number((row["lowest_m_per_s"] - bare["lowest_m_per_s"]) / grams, _KMH, 2)


def _lattice(lattice: Record | None) -> list[str]:
    if lattice is None:
        return []
    first = lattice["beating"][0]["speed_m_per_s"] if lattice["beating"] else None
    others = (lattice["twist_off_m_per_s"], lattice["reversal_m_per_s"])
    return [number(value, _KMH, 3) for value in (first, *others)]


def _tones(out: Page, record: Record) -> None:
    rows = [
        (
            tone["wing"],
            number(tone["frequency_Hz"], 1, 3),
            _SIDES[tone["kind"]],
            "twists" if tone["twists"] else "bends",
            f"{1e3 * tone['tap_y_m']:.0f} mm, {tone['tap_at']}",
            f"{1e3 * tone['still_y_m']:.0f} mm",
        )
        for tone in record["tap_test"]
    ]
    heads = [
        "<wing",
        "tone\nHz",
        "<\nsides",
        "<\nit",
        "<tap and listen\nat the rib at",
        "still at\nthe rib at",
    ]
    out.table("Tap test: tones to expect", heads, rows)


def _modes(out: Page, record: Record) -> None:
    by_speed = record["by_speed"]
    answer = record["answer"]
    asked = [answer["case_speed_m_per_s"], *(b["speed_m_per_s"] for b in record["beating"])]
    last = _BEYOND * max(asked)
    shown = range(_EVERY // 2, len(by_speed["speed_m_per_s"]), _EVERY)
    shown_rows = [k for k in shown if by_speed["speed_m_per_s"][k] <= last]
    for kind in dict.fromkeys(mode["kind"] for mode in by_speed["modes"]):
        modes = [mode for mode in by_speed["modes"] if mode["kind"] == kind]
        rows = []
        for k in shown_rows:
            row = [number(by_speed["speed_m_per_s"][k], _KMH, 3)]
            for mode in modes:
                row += [number(mode["frequency_Hz"][k], 1, 3), number(mode["damping_ratio"][k], 100, 2)]
            rows.append(row)
        heads = ["\nkm/h", *(head for n in range(len(modes)) for head in (f"mode {n + 1}\nHz", "damping\n%"))]
        title = f"Modes over speed, {kind} (damping below 0: it beats; -: it no longer swings)"
        out.table(title, heads, rows)
