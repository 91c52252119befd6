"""Records of answers as text and tables for people: builder's units, a sane number of digits.

Tables take the width that they need, so that a report in a file looks the same everywhere.
"""

from __future__ import annotations

import math
import os
import shutil
import sys
import textwrap
from collections.abc import Iterable, Sequence
from contextvars import ContextVar
from typing import IO, Any

from models.rounding import down

Record = dict[str, Any]

WIDTH = 110
"""Greatest width of a paragraph."""
_FOLDED = 52
"""Greatest width of a column of words that may be folded."""
_GAP = "   "
MOST_OTHERS = 8
"""Rows of the table of posts and rails; the JSON document has them all."""
FAR = 100.0
"""Reserve factors above this are not told apart: the part carries next to nothing."""
QUIET: ContextVar[bool] = ContextVar("quiet", default=False)
"""Whether pages hold the answer and the cautions alone."""
_CODES = {"bold": "1", "red": "31", "green": "32", "yellow": "33"}


class Page:
    """Text on its way to a terminal or a file.

    Written here and not with a library: loading one for tables takes as long as half an analysis.

    Parameters
    ----------
    file : text file or None
        Where to; None for standard output. Colours go to a terminal only, and NO_COLOR is honoured.
    """

    def __init__(self, file: IO[str] | None = None) -> None:
        self._file = sys.stdout if file is None else file
        self._colours = self._file.isatty() and not os.environ.get("NO_COLOR")
        columns = shutil.get_terminal_size((WIDTH, 24)).columns if self._file.isatty() else WIDTH
        self._width = min(WIDTH, columns)
        self._room = columns if self._file.isatty() else None
        self._quiet = file is None and QUIET.get()
        self._answered = False

    @property
    def width(self) -> int:
        """Of a paragraph."""
        return self._width

    def line(self, text: str = "", style: str = "", *, always: bool = False) -> None:
        """One line as it is; `style` is of words such as "bold red"; `always`: also where all but the
        answer is left out.
        """
        if self._quiet and not always:
            self._answered |= not text.strip()
            if self._answered:
                return
        if self._colours and style and text:
            codes = ";".join(_CODES[word] for word in style.split())
            text = f"\x1b[{codes}m{text}\x1b[0m"
        self._file.write(text.rstrip() + "\n")

    def say(self, text: str, style: str = "", *, always: bool = False) -> None:
        """A paragraph, as wide as the terminal at most; `always` as for a line."""
        indent = " " * (len(text) - len(text.lstrip()))
        for line in textwrap.wrap(text, self._width, subsequent_indent=indent):
            self.line(line, style, always=always)

    def table(self, title: str, columns: Sequence[str], rows: Iterable[Sequence[str]]) -> None:
        """A table as wide as it must be, no digit ever cut off; on a terminal too narrow for it, a list.

        Parameters
        ----------
        title : str
            Over the table.
        columns : sequence of str
            Headings, lines parted by line feeds; that of a column of words begins with "<", or "~" to fold.
        rows : iterable of sequences of str
            Cells.
        """
        left = [column[:1] in "<~" for column in columns]
        heads = [column.lstrip("<~").split("\n") for column in columns]
        height = max(map(len, heads))
        heads = [[""] * (height - len(head)) + head for head in heads]
        body = [
            [
                textwrap.wrap(cell, _FOLDED) or [""] if column.startswith("~") else [cell]
                for column, cell in zip(columns, row)
            ]
            for row in rows
        ]
        widths = [
            max(len(piece) for cell in (head, *(row[k] for row in body)) for piece in cell)
            for k, head in enumerate(heads)
        ]
        rows_wide = sum(widths) + len(_GAP) * (len(widths) - 1)
        self.line()
        self.line(title, "bold")
        if self._room is not None and rows_wide > self._room:
            self._list([" ".join(filter(None, head)) for head in heads], body)
            return
        for cells in (heads, None, *body):
            if cells is None:
                self.line("-" * rows_wide)
                continue
            for n in range(max(map(len, cells))):
                pieces = [cell[n] if n < len(cell) else "" for cell in cells]
                aligned = [
                    p.ljust(w) if to_left else p.rjust(w) for p, w, to_left in zip(pieces, widths, left)
                ]
                self.line(_GAP.join(aligned))

    def _list(self, heads: list[str], body: list[list[list[str]]]) -> None:
        """Every row as lines "heading: cell", under a rule each."""
        for row in body:
            self.line("-" * min(self._width, 40))
            for head, cell in zip(heads, row):
                self.say(f"{head}: {' '.join(cell)}" if head else " ".join(cell))


def cautions(out: Page, record: Record) -> None:
    """The record's cautions, a paragraph each, under a blank line."""
    out.line()
    for caution in record["cautions"]:
        out.say(f"Caution: {caution}", "yellow", always=True)


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


def borne(value: float | None, places: int = 1) -> str:
    """A load that is borne, rounded down as the verdict's; "-" for none."""
    return "-" if value is None else down(value, places)


def reserve(value: float | None) -> str:
    """A reserve factor, rounded down to two places so that a failure is never written as 1.00."""
    if value is None:
        return "no limit"
    return down(value, 2) if value <= FAR else f"over {FAR:.0f}"


_DEG = 180 / math.pi


def check_text(out: Page, record: Record) -> None:
    """The answer of `check`: words first, then the cautions, then the tables.

    Parameters
    ----------
    out : Console
        Where to.
    record : dict
        From `models.command.record.check_record`.
    """
    answer = record["answer"]
    out.say(record["wing"], "bold")
    for sentence in answer["sentences"]:
        out.say(sentence, "green" if answer["survives"] else "bold red")
    cautions(out, record)
    _bays(out, record)
    if "covering" in record:
        _covering(out, record["covering"])
    if record["kind"] == "wing":
        _flight(out, record["results"]["pull_up"])
    else:
        _bench(out, record)
    _mass(out, record["mass"])
    _solve_checks(out, record)
    if record["assumed"]:
        rows = [(a["key"], a["value"]) for a in record["assumed"]]
        out.table("Assumed, since the file does not say", ["<key", "~taken as"], rows)
    if record.get("sources"):
        rows = [(s["mode"], s["source"]) for s in record["sources"]]
        out.table("Where the rules come from", ["<mode of failure", "~source"], rows)
    _hangs_on(out, record)


def _bays(out: Page, record: Record) -> None:
    flying = record["kind"] == "wing"
    what = "fails\nat, g" if flying else "fails at\ntimes load"
    key = "load_factor_at_failure" if flying else "load_multiple_at_failure"

    def row(m: Record) -> tuple[str, ...]:
        goes = f"{m['part'].rpartition(': ')[2]}: {m['mode']}"
        applied, allowable = (number(m[key], _unit_factor(m), 3) for key in ("applied", "allowable"))
        fails = borne(m[key], 1 if flying else 2) if _near(m) else "-"
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
    out.table("Bays, the weakest first", ["bay", *columns], bays)
    others = [m for m in record["other_parts"] if _near(m)]
    if others:
        kept = others[:MOST_OTHERS]
        title = "Rib posts, ribs, rails and sheeting, the weakest first"
        title += f" ({len(kept)} of {len(others)})" if len(others) > len(kept) else ""
        out.table(title, ["y, mm", *columns], [(fixed(m["y_m"], 1e3), *row(m)) for m in kept])
    _secondary(out, record.get("secondary", []), key, what, flying=flying)


def _secondary(out: Page, margins: Sequence[Record], key: str, what: str, *, flying: bool) -> None:
    """What may give way sooner without ending the flight: the worst of every mode, and why."""
    near = [m for m in margins if _near(m)]
    if not near:
        return
    rows = [
        (
            m["mode"],
            m["part"],
            reserve(m["reserve_factor"]),
            borne(m[key], 1 if flying else 2),
            m["reason"],
        )
        for m in near
    ]
    columns = ["<mode", "<where it comes first", "reserve\nfactor", what, "~why it is not counted"]
    out.table("May give way without ending the flight, or counts on a condition", columns, rows)


def _covering(out: Page, found: Record) -> None:
    """The wing bare and covered side by side, and what else its covering does."""
    wings = [("bare", found["bare"])]
    for words, of in (("covered", found), ("stiff film", found["stiff_end"])):
        if of is not None:
            wings += [(f"{words}, taut", of["taut"]), (f"{words}, wrinkling", of["wrinkled"])]
    rows = [
        (
            words,
            number(row["tip_deflection_m"], 1e3, 4),
            number(row["tip_twist_rad"], _DEG, 4),
            borne(row["load_factor_at_first_failure"]),
        )
        for words, row in wings
    ]
    out.table("Bare and covered", ["<wing", "tip up\nmm", "tip twist\ndeg", "fails\nat, g"], rows)
    modes = [
        (
            m["mode"],
            m["part"],
            borne(m["load_factor_at_failure"]),
            f"{number(m['applied'], _unit_factor(m), 3)} of {number(m['allowable'], _unit_factor(m), 3)} "
            f"{_unit_name(m)}",
            m["reason"],
        )
        for m in found["modes"]
    ]
    columns = ["<mode", "<where it comes first", "at, g", "applied of allowable", "~and then"]
    out.table("What the covering may do", columns, modes)


def _hangs_on(out: Page, record: Record) -> None:
    """The figures whose doubt moves the load at first failure most, a line each."""
    figures = record["hangs_on"]["figures"]
    if not figures:
        return
    flying = record["kind"] == "wing"
    out.line()
    out.line("What this answer hangs on", "bold")
    for one in figures:
        change = one["load_factor_change"] if flying else one["load_multiple_change"]
        moved = f"{change:+.2f} g" if flying else f"{change:+.3g} times the load"
        percent = number(one["standard_deviation_over_figure"], 100, 2)
        words = f"{one['words'][:1].upper()}{one['words'][1:]}"
        out.say(f"{words}: {percent} % more moves the failing load by {moved}.")
    out.say(record["hangs_on"]["about"])


def _near(margin: Record) -> bool:
    factor = margin["reserve_factor"]
    return factor is not None and factor <= FAR


def _unit_factor(margin: Record) -> float:
    return 1e-6 if margin["unit"] == "Pa" else 1.0


def _unit_name(margin: Record) -> str:
    return "MPa" if margin["unit"] == "Pa" else str(margin["unit"])


def _flight(out: Page, case: Record) -> None:
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
    out.table(
        f"Deflection and twist at the ribs in the pull-up at {case['load_factor']:.1f} g", columns, rows
    )
    _mid_bays(out, "Stress half way along each bay", case["mid_bays"])


def _bench(out: Page, record: Record) -> None:
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
        out.table(f"Deflection and twist at the ribs and the tip, {titles[name]}", columns, rows)
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
    out.table("Flexibility", columns, rows)


def _mid_bays(out: Page, title: str, bays: Sequence[Record]) -> None:
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
    out.table(f"{title}: axial stress of caps, mean shear stress of webs, MPa", columns, rows)


def _mass(out: Page, mass: Record) -> None:
    kinds = sorted(mass["structure_by_kind_kg"].items(), key=lambda item: -item[1])
    rows = [(kind, fixed(kg, 1e3)) for kind, kg in kinds]
    rows.append(("structure", fixed(mass["structure_kg"], 1e3)))
    if mass.get("covering_kg"):
        rows.append(("covering", fixed(mass["covering_kg"], 1e3)))
    rows += [(name, fixed(kg, 1e3)) for name, kg in mass.get("carried_by_name_kg", {}).items()]
    totals = {"wing_with_all_it_carries_kg": "wing with all it carries", "aeroplane_kg": "whole aeroplane"}
    rows += [(name, fixed(mass[key], 1e3)) for key, name in totals.items() if key in mass]
    out.table("Mass (of a wing, both sides)", ["<part", "g"], rows)


def _solve_checks(out: Page, record: Record) -> None:
    names = {
        "residual_over_loads": "force left over at a node, over the loads",
        "reaction_sum_over_loads": "loads and reactions together, over the loads",
        "support_reaction_over_loads": "reaction of the supports of the wing in flight, over the loads",
        "energy_difference": "work of the loads against strain energy, relative",
        "smallest_scaled_pivot": "smallest pivot of the scaled matrix (0 is a mechanism)",
    }
    rows = [(names[key], f"{value:.1e}") for key, value in record["solve_checks"].items()]
    mesh = record["mesh"]
    out.table("Proof of the solve", ["<check", "value"], rows)
    joints = "rigid rib joints" if mesh["rigid_joints"] else "rib joints that give"
    size = f"{mesh['n_nodes']} nodes, {mesh['n_elements']} elements"
    out.say(f"Mesh: {mesh['elements_per_bay']} elements a bay, {size}, {joints}.")
    out.say(mesh["words"])


def compare_text(out: Page, record: Record) -> None:
    """The answer of `compare`: words first, then a table for the wing and for each spar.

    Parameters
    ----------
    out : Console
        Where to.
    record : dict
        From `models.command.compare`.
    """
    out.say(record["wing"], "bold")
    for sentence in record["answer"]["sentences"]:
        out.say(sentence)
    cautions(out, record)
    for scope in dict.fromkeys(r["scope"] for r in record["layouts"]):
        _layouts(out, scope, [r for r in record["layouts"] if r["scope"] == scope])
    out.say(record["about_gains"])


_STRENGTH = {
    "load_factor_at_first_failure": ("fails at\ng", 1),
    "load_multiple_at_first_failure": ("fails at\ntimes load", 2),
    "tip_force_at_first_failure_N": ("fails at\nN", 2),
}


def _layouts(out: Page, scope: str, rows: Sequence[Record]) -> None:
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
            borne(r[strength], places),
            *(fixed(r[f"{gain}_gain_percent_per_g"]) for gain in ("bending", "torsion", "strength")),
            *([number(r["speed_m_per_s"], 3.6, 3)] if "speed_m_per_s" in r else []),
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
    columns += ["bending\n%/g", "torsion\n%/g", "strength\n%/g"]
    columns += [*(["beats or twists\noff at, km/h"] if "speed_m_per_s" in rows[0] else []), "~first failure"]
    whom = "Whole wing" if scope == "wing" else f"Spar alone, {scope}"
    out.table(f"{whom}: tip movement under {rows[0]['tip_load']}", columns, cells)


_ANGLE_HEADS = {
    "upright": "upright",
    "along the span": "along span",
    "45 degrees, rising outboard": "45 rising",
    "45 degrees, falling outboard": "45 falling",
}


def grain_text(out: Page, record: Record) -> None:
    """The answer of `grain`: words first, then each web's governing mode, then its reserves by mode.

    Parameters
    ----------
    out : Page
        Where to.
    record : dict
        From `models.command.grain`.
    """
    out.say(record["wing"], "bold")
    for sentence in record["answer"]["sentences"]:
        out.say(sentence)
    cautions(out, record)
    out.line()
    out.say(record["about"])
    directions = record["directions"]
    if not directions:
        return
    heads = [_ANGLE_HEADS[d["grain"]] for d in directions]
    webs = list(zip(*(d["webs"] for d in directions)))
    rows = []
    for same in webs:
        one = same[0]
        rows.append(
            (
                *_web_name(one),
                fixed(one["depth_over_thickness"]),
                fixed(one["length_over_depth"], places=2),
                *(f"{reserve(w['reserve_factors'][w['governs']])} {w['governs']}" for w in same),
            )
        )
    columns = ["<spar", "bay", "<side", "<face", "depth over\nthickness", "length\nover depth"]
    columns += [f"<{h}" for h in heads]
    out.table("Least reserve factor of each web and what governs", columns, rows)
    modes = list(dict.fromkeys(mode for same in webs for w in same for mode in w["reserve_factors"]))
    for mode in modes:
        cells = [
            (*_web_name(same[0]), *(reserve(w["reserve_factors"].get(mode)) for w in same)) for same in webs
        ]
        out.table(f"Reserve factor: {mode}", ["<spar", "bay", "<side", "<face", *heads], cells)
    shares = [(*_web_name(same[0]), *(fixed(w["share_of_bending"], 100) for w in same)) for same in webs]
    out.table("Share of the spar's bending, %", ["<spar", "bay", "<side", "<face", *heads], shares)


def _web_name(web: Record) -> tuple[str, ...]:
    return web["spar"], str(web["bay"]), web["side"] or "-", web["face"]
