"""Records of answers as text and tables for people: builder's units, a sane number of digits.

Everything is printed to the console that is handed in; tables take the width that they need, so that a report
in a file looks the same everywhere.
"""

from __future__ import annotations

import math
import shutil
import sys
import textwrap
from collections.abc import Iterable, Sequence
from typing import IO, Any

from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.table import Table

Record = dict[str, Any]

WIDTH = 110
"""Greatest width of a paragraph."""
_TABLE_WIDTH = 400
"""More than any table needs: on a narrow terminal a table's line runs on, but no digit is ever cut off."""
_FOLDED = 52
"""Greatest width of a column of words that may be folded."""
MOST_OTHERS = 8
"""Rows of the table of posts and rails; the JSON document has them all."""
FAR = 100.0
"""Reserve factors above this are not told apart: the part carries next to nothing."""


def console(file: IO[str] | None = None) -> Console:
    """A console on a file, or on the process's standard output; NO_COLOR is honoured.

    Parameters
    ----------
    file : text file or None
        Where to; None for standard output.
    """
    return Console(file=file or sys.stdout, width=_TABLE_WIDTH, highlight=False, emoji=False, markup=False)


def say(out: Console, text: str, style: str = "") -> None:
    """A paragraph, as wide as the terminal at most."""
    width = min(WIDTH, shutil.get_terminal_size((WIDTH, 24)).columns)
    out.print(
        textwrap.fill(text, width, subsequent_indent=" " * (len(text) - len(text.lstrip()))),
        style=style or None,
    )


def table(out: Console, title: str, columns: Sequence[str], rows: Iterable[Sequence[str]]) -> None:
    """A table with a title; headings of columns of words begin with "<", or "~" where they may fold."""
    made = Table(box=SIMPLE_HEAD, padding=(0, 1), pad_edge=False, header_style="", show_edge=False)
    for column in columns:
        words, folded = column[:1] in "<~", column.startswith("~")
        made.add_column(
            column.lstrip("<~"), justify="left" if words else "right", no_wrap=not folded,
            max_width=_FOLDED if folded else None, vertical="top",
        )  # fmt: skip
    for row in rows:
        made.add_row(*row)
    out.print()
    out.print(title, style="bold", soft_wrap=True)
    out.print(made)


def number(value: float | None, factor: float = 1.0, digits: int = 4) -> str:
    """A number in another unit to so many significant digits, plain where that is readable; "-" for none."""
    if value is None or not math.isfinite(value):
        return "-"
    value *= factor
    if value == 0:
        return "0"
    size = math.floor(math.log10(abs(value)))
    if not -4 <= size <= 6:
        return f"{value:.{digits - 1}e}"
    return f"{value:.{max(digits - 1 - size, 0)}f}"


def fixed(value: float | None, factor: float = 1.0, places: int = 1) -> str:
    """A number in another unit to so many places; "-" for none, and no minus before a zero."""
    if value is None:
        return "-"
    text = f"{value * factor:.{places}f}"
    return text.removeprefix("-") if not text.strip("-0.") else text


def reserve(value: float | None) -> str:
    """A reserve factor, rounded down to two places so that a failure is never written as 1.00."""
    if value is None:
        return "no limit"
    return f"{math.floor(value * 100) / 100:.2f}" if value <= FAR else f"over {FAR:.0f}"


_DEG = 180 / math.pi


def check_text(out: Console, record: Record) -> None:
    """The answer of `check`: words first, then the cautions, then the tables.

    Parameters
    ----------
    out : Console
        Where to.
    record : dict
        From `models.command.record.check_record`.
    """
    answer = record["answer"]
    say(out, record["wing"], "bold")
    for sentence in answer["sentences"]:
        say(out, sentence, "green" if answer["survives"] else "bold red")
    say(out, "")
    for caution in record["cautions"]:
        say(out, f"Caution: {caution}", "yellow")
    _bays(out, record)
    if record["kind"] == "wing":
        _flight(out, record["results"]["pull_up"])
    else:
        _bench(out, record)
    _mass(out, record["mass"])
    _solve_checks(out, record)
    if record["assumed"]:
        rows = [(a["key"], a["value"]) for a in record["assumed"]]
        table(out, "Assumed, since the file does not say", ["<key", "~taken as"], rows)


def _bays(out: Console, record: Record) -> None:
    flying = record["kind"] == "wing"
    what = "fails\nat, g" if flying else "fails at\ntimes load"
    key = "load_factor_at_failure" if flying else "load_multiple_at_failure"

    def row(m: Record) -> tuple[str, ...]:
        goes = f"{m['part'].rpartition(': ')[2]}: {m['mode']}"
        applied, allowable = (number(m[key], _unit_factor(m), 3) for key in ("applied", "allowable"))
        fails = fixed(m[key], places=1 if flying else 2) if _near(m) else "-"
        return (
            m["side"] or "-",
            m["spar"] or "-",
            goes,
            reserve(m["reserve_factor"]),
            fails,
            f"{applied} of {allowable} {_unit_name(m)}".strip(),
        )

    columns = ["<side", "<spar", "<goes first", "reserve\nfactor", what, "applied of allowable"]
    bays = [(str(m["bay"]), *row(m)) for m in record["bays"]]
    table(out, "Bays, the weakest first", ["bay", *columns], bays)
    others = [m for m in record["other_parts"] if _near(m)]
    if others:
        kept = others[:MOST_OTHERS]
        title = "Rib posts and rails, the weakest first"
        title += f" ({len(kept)} of {len(others)})" if len(others) > len(kept) else ""
        table(out, title, ["y, mm", *columns], [(fixed(m["y_m"], 1e3), *row(m)) for m in kept])


def _near(margin: Record) -> bool:
    factor = margin["reserve_factor"]
    return factor is not None and factor <= FAR


def _unit_factor(margin: Record) -> float:
    return 1e-6 if margin["unit"] == "Pa" else 1.0


def _unit_name(margin: Record) -> str:
    return "MPa" if margin["unit"] == "Pa" else str(margin["unit"])


def _flight(out: Console, case: Record) -> None:
    spars = list(dict.fromkeys(r["spar"] for r in case["ribs"]))
    by_spar = {spar: {round(r["y_m"], 7): r for r in case["ribs"] if r["spar"] == spar} for spar in spars}
    twist = {round(t["y_m"], 7): t["twist_rad"] for t in case["twist_of_wing"]}
    rows = []
    for y in sorted(set().union(*by_spar.values())):
        cells = [fixed(y, 1e3)]
        cells += [
            fixed(by_spar[spar][y]["deflection_m"], 1e3, 2) if y in by_spar[spar] else "-" for spar in spars
        ]
        rows.append((*cells, fixed(twist.get(y), _DEG, 2)))
    columns = ["y, mm", *(f"{spar} spar\nup, mm" for spar in spars), "wing's twist\nnose up, deg"]
    table(
        out, f"Deflection and twist at the ribs in the pull-up at {case['load_factor']:.1f} g", columns, rows
    )
    _mid_bays(out, "Stress half way along each bay", case["mid_bays"])


def _bench(out: Console, record: Record) -> None:
    titles = {"force": "the force alone", "torque": "the torque alone", "both": "force and torque"}
    cases = record["results"]
    asked = cases["both"]
    shown = [name for name, key in (("force", "tip_force_N"), ("torque", "tip_torque_N_m")) if asked[key]]
    if len(shown) == 2:
        shown.append("both")
    for name in shown:
        rows = [
            (r["spar"], fixed(r["y_m"], 1e3), number(r["deflection_m"], 1e3), number(r["twist_rad"], _DEG))
            for r in cases[name]["ribs"]
        ]
        columns = ["<spar", "y, mm", "up, mm", "twist\nnose up, deg"]
        table(out, f"Deflection and twist at the ribs and the tip, {titles[name]}", columns, rows)
        _mid_bays(out, f"Stress half way along each bay, {titles[name]}", cases[name]["mid_bays"])
    flex = record["flexibilities"]
    rows = [
        (
            spar,
            number(flex["deflection_by_force_m_per_N"][k][k], 1e3),
            number(flex["twist_by_torque_rad_per_N_m"][k][k], 1e-3 * _DEG),
            fixed(flex["twist_free_force_aft_of_caps_m"][k], 1e3, 2),
        )
        for k, spar in enumerate(flex["spars"])
    ]
    columns = ["<spar", "tip up\nmm per N", "tip twist\ndeg per N mm", "twist-free force\naft of caps, mm"]
    table(out, "Flexibility", columns, rows)


def _mid_bays(out: Console, title: str, bays: Sequence[Record]) -> None:
    carried = {face for b in bays for face in b["web_shear_stress_Pa"]}
    faces = [face for face in ("front", "between", "rear") if face in carried]
    rows = []
    for b in bays:
        caps = [number(b[f"{c}_cap_stress_Pa"], 1e-6, 3) for c in ("upper", "lower")]
        webs = [number(b["web_shear_stress_Pa"].get(face), 1e-6, 3) for face in faces]
        rows.append((b["spar"], str(b["bay"]), b["side"] or "-", fixed(b["y_m"], 1e3), *caps, *webs))
    columns = [
        "<spar",
        "bay",
        "<side",
        "y, mm",
        "upper\ncap",
        "lower\ncap",
        *(f"{face}\nweb" for face in faces),
    ]
    table(out, f"{title}: axial stress of caps, mean shear stress of webs, MPa", columns, rows)


def _mass(out: Console, mass: Record) -> None:
    kinds = sorted(mass["structure_by_kind_kg"].items(), key=lambda item: -item[1])
    rows = [(kind, fixed(kg, 1e3)) for kind, kg in kinds]
    rows.append(("structure", fixed(mass["structure_kg"], 1e3)))
    if mass.get("covering_kg"):
        rows.append(("covering", fixed(mass["covering_kg"], 1e3)))
    rows += [(name, fixed(kg, 1e3)) for name, kg in mass.get("carried_by_name_kg", {}).items()]
    totals = {"wing_with_all_it_carries_kg": "wing with all it carries", "aeroplane_kg": "whole aeroplane"}
    rows += [(name, fixed(mass[key], 1e3)) for key, name in totals.items() if key in mass]
    table(out, "Mass (of a wing, both sides)", ["<part", "g"], rows)


def _solve_checks(out: Console, record: Record) -> None:
    names = {
        "residual_over_loads": "force left over at a node, over the loads",
        "reaction_sum_over_loads": "loads and reactions together, over the loads",
        "support_reaction_over_loads": "reaction of the supports of the wing in flight, over the loads",
        "energy_difference": "work of the loads against strain energy, relative",
        "smallest_scaled_pivot": "smallest pivot of the scaled matrix (0 is a mechanism)",
    }
    rows = [(names[key], f"{value:.1e}") for key, value in record["solve_checks"].items()]
    mesh = record["mesh"]
    table(out, "Proof of the solve", ["<check", "value"], rows)
    joints = "rigid rib joints" if mesh["rigid_joints"] else "rib joints that give"
    size = f"{mesh['n_nodes']} nodes, {mesh['n_elements']} elements"
    say(out, f"Mesh: {mesh['elements_per_bay']} elements a bay, {size}, {joints}.")


def compare_text(out: Console, record: Record) -> None:
    """The answer of `compare`: words first, then a table for the wing and for each spar.

    Parameters
    ----------
    out : Console
        Where to.
    record : dict
        From `models.command.compare`.
    """
    say(out, record["wing"], "bold")
    for sentence in record["answer"]["sentences"]:
        say(out, sentence)
    for scope in dict.fromkeys(r["scope"] for r in record["layouts"]):
        _layouts(out, scope, [r for r in record["layouts"] if r["scope"] == scope])
    say(out, record["about_gains"])


_STRENGTH = {
    "load_factor_at_first_failure": ("fails at\ng", 1),
    "load_multiple_at_first_failure": ("fails at\ntimes load", 2),
    "tip_force_at_first_failure_N": ("fails at\nN", 2),
}


def _layouts(out: Console, scope: str, rows: Sequence[Record]) -> None:
    strength = next(key for key in _STRENGTH if key in rows[0])
    heading, places = _STRENGTH[strength]
    cells = [
        (
            r["layout"],
            fixed(r["web_mass_kg"], 1e3, 2),
            number(r["tip_deflection_m"], 1e3, 4),
            number(r["tip_twist_rad"], _DEG, 4),
            number(r["bending_stiffness_N_per_m"], 1e-3, 3),
            number(r["torsional_stiffness_N_m_per_rad"], 1 / _DEG, 3),
            fixed(r[strength], places=places),
            *(fixed(r[f"{gain}_gain_percent_per_g"]) for gain in ("bending", "torsion", "strength")),
            r["first_failure"],
        )
        for r in rows
    ]
    columns = [
        "<layout",
        "webs\ng",
        "tip up\nmm",
        "tip twist\ndeg",
        "bending\nN/mm",
        "torsion\nN m/deg",
        heading,
    ]
    columns += ["bending\n%/g", "torsion\n%/g", "strength\n%/g", "~first failure"]
    whom = "Whole wing" if scope == "wing" else f"Spar alone, {scope}"
    table(out, f"{whom}: tip movement under {rows[0]['tip_load']}", columns, cells)
