"""The page's tables as plain data: a caption, heads, rows of words; in a builder's units.

Figures are those of the records that the other commands print, so that page and commands cannot differ.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from models import units_out as say
from models.pictures import stage
from models.pictures.fields import BAND_WORDS, bands
from models.pictures.reserves import reserve_table
from models.report.text import FAR, borne, fixed, number, reserve
from models.strength import Margins
from models.studies.doubts import ABOUT, Doubt
from models.studies.load_cases import LoadStudy
from models.wing.words import spar_words

Record = dict[str, Any]

FAILS, HOLDS = "✗", "✓"
"""Marks before a word, so that nothing hangs on colour."""
BOUND = 1e-8
"""Of the solves, as `models.analysis.solve` has it."""
_DEG = 180 / np.pi


@dataclass(frozen=True)
class TableCell:
    """One cell.

    Parameters
    ----------
    text : str
        What stands in it.
    looks : str
        Name of its look in the style sheet, "" for none.
    link : str
        Address within the page that it leads to, "" for none; of a first cell alone.
    """

    text: str
    looks: str = ""
    link: str = ""


@dataclass(frozen=True)
class PageTable:
    """A table whose first column names the row.

    Parameters
    ----------
    caption : str
        Over it.
    heads : tuple of str
        One a column.
    words : tuple of bool
        Which columns hold words rather than figures.
    rows : tuple of tuples of TableCell
        As many cells as heads.
    note : str
        Under it.
    folded : int or None
        Rows that stand open, the rest behind a line to be opened; 0 folds the whole table, None opens it.
    """

    caption: str
    heads: tuple[str, ...]
    words: tuple[bool, ...]
    rows: tuple[tuple[TableCell, ...], ...]
    note: str = ""
    folded: int | None = None

    @property
    def open_rows(self) -> tuple[tuple[TableCell, ...], ...]:
        """Those that are seen without asking; one or two more are not worth a line to be opened."""
        few = self.folded is None or len(self.rows) <= self.folded + 2 * bool(self.folded)
        return self.rows if few else self.rows[: self.folded]

    @property
    def more_rows(self) -> tuple[tuple[TableCell, ...], ...]:
        """The rest."""
        return self.rows[len(self.open_rows) :]


def table(
    caption: str, columns: Sequence[str], rows: Iterable[Sequence[str | TableCell]], note: str = ""
) -> PageTable:
    """A table from plain words, or cells.

    Parameters
    ----------
    caption, columns, rows, note
        The head of a column of words begins with "<"; the note stands under the table.
    """
    return PageTable(
        caption,
        tuple(c.lstrip("<") for c in columns),
        tuple(c.startswith("<") for c in columns),
        tuple(tuple(c if isinstance(c, TableCell) else TableCell(c) for c in row) for row in rows),
        note,
    )


def folded(one: PageTable, rows: int = 0) -> PageTable:
    """The same with so many rows open."""
    return replace(one, folded=rows)


def hanging(found: Sequence[Doubt], unit: str, load: float) -> PageTable | None:
    """Figures that the load (with its unit) at first failure hangs on, that which moves it most first."""
    rows = [
        (
            one.words, f"\N{PLUS-MINUS SIGN}{100 * one.variation:.0f} %",
            f"{one.change:+.2f}".replace("-", "\N{MINUS SIGN}"),
            f"{abs(100 * one.change / load):.0f} %" if load else "-",
        )
        for one in found
    ]  # fmt: skip
    if not rows:
        return None
    return table(
        "Assumed of wood, glue and sizes: what moves the answer most, first",
        ["<figure", "one standard deviation", f"moves first failure, {unit}", "of it"],
        rows,
        ABOUT,
    )


def hanging_sources(found: Sequence[Doubt]) -> PageTable:
    """Where the deviations of those figures come from."""
    rows = list(dict.fromkeys((one.words, one.source) for one in found))
    return table("Where those deviations come from", ["<figure", "<source"], rows)


def verdict(value: float | None) -> TableCell:
    """A reserve factor with a mark; a failure is told by mark and word as well as by its look."""
    if value is not None and value < 1:
        return TableCell(f"{FAILS} {reserve(value)} fails", "bad")
    return TableCell(f"{HOLDS} {reserve(value)}", "good")


def cases(noted: Record) -> PageTable:
    """Every case of the note, the hardest first."""
    rows = [
        (c["case"], verdict(c["reserve_factor"]), c["weakest"] or "-", c["acts"], c["group"])
        for c in noted["cases"]
    ]
    return table(
        "Every case, the hardest first",
        ["<case", "reserve factor", "<weakest", "<what acts", "<group"],
        rows,
        "Reserve factor = allowable / applied; below 1 it fails. Sheeting that bows is counted, but for the "
        "engine's cases and where the wing is held.",
    )


def reserve_tables(margins: Margins) -> list[PageTable]:
    """Least reserve factor of every mode in every bay, a table a spar, coloured in bands."""
    spars = list(dict.fromkeys(row.spar for row in sorted(margins.rows, key=lambda r: (not r.spar, r.spar))))
    out = []
    for spar in spars:
        modes, bays, values = reserve_table(margins, spar)
        if not modes or not bays:
            continue
        band = bands(values)
        rows = []
        for mode, line, of_line in zip(modes, values, band):
            cells = [
                TableCell("", "blank") if b < 0 else TableCell(_in_band(float(v)), f"band{b}")
                for v, b in zip(line, of_line)
            ]
            rows.append((TableCell(mode), *cells))
        name = spar_words(spar) if spar else "Sheeting and edges"
        heads = ["<mode", *(f"bay {b}" for b in bays)]
        out.append(table(f"{name}: reserve factor by mode and bay", heads, rows))
    return out


def _in_band(value: float) -> str:
    text = reserve(value) if value < 10 else f"{value:.0f}" if value < 1000 else "high"
    return f"{FAILS} {text}" if value < 1 else text


def band_key() -> list[tuple[str, str]]:
    """Looks of the bands of reserve factor and their words."""
    words = (f"{FAILS} {BAND_WORDS[0]}", *BAND_WORDS[1:])
    assert len(words) == len(stage.BAND_COLOURS)
    return [(f"band{k}", text) for k, text in enumerate(words)] + [("blank", "does not arise")]


def bay_table(checked: Record) -> PageTable:
    """The bays, the weakest first."""
    rows = [(f"bay {m['bay']}", m) for m in checked["bays"]]
    note = "Both sides are listed where both are modelled; of a wing alike on both sides the starboard half "
    note = f"{note}stands for both." if checked["kind"] == "wing" else ""
    return _reserves(checked, "Bays, the weakest first", "<bay", rows, note)


def _reserves(
    checked: Record, caption: str, first: str, rows: Iterable[tuple[str, Record]], note: str
) -> PageTable:
    """Reserve factors with what goes first and where, the weakest first."""
    fails, key, places = _fails(checked)
    heads = [first, "<side", "<spar", "<goes first", "reserve factor", fails, "applied", "allowable"]
    return table(caption, heads, [(name, *_margin(m, key, places)) for name, m in rows], note)


def other_table(checked: Record, most: int = 12) -> PageTable | None:
    """What belongs to no bay, the weakest first."""
    near = [m for m in checked["other_parts"] if _near(m)]
    if not near:
        return None
    more = len(near) - most
    return _reserves(
        checked,
        "Rib posts, ribs, rails and sheeting, the weakest first",
        "<part",
        [(f"at {say.length.told(m['y_m'], 0)}", m) for m in near[:most]],
        f"{more} stronger ones are left out; `sparbay check --json` has them all." if more > 0 else "",
    )


def secondary_table(checked: Record) -> PageTable | None:
    """What may give way without ending the flight."""
    head, key, places = _fails(checked)
    near = [m for m in checked["secondary"] if _near(m)]
    if not near:
        return None
    return table(
        "May give way without ending the flight, or counts on a condition",
        ["<mode", "<where it comes first", "reserve factor", head, "<why it is not counted"],
        [
            (m["mode"], m["part"], reserve(m["reserve_factor"]), borne(m[key], places), m["reason"])
            for m in near
        ],
    )


def _fails(checked: Record) -> tuple[str, str, int]:
    """How the load at which a part fails is headed, under which key it stands, and to how many places."""
    if checked["kind"] == "wing":
        return "fails at, g", "load_factor_at_failure", 1
    return "fails at, times load", "load_multiple_at_failure", 2


def _near(margin: Record) -> bool:
    factor = margin["reserve_factor"]
    return factor is not None and factor <= FAR


def _margin(m: Record, key: str, places: int) -> tuple[str | TableCell, ...]:
    factor, unit = say.unit_of(m["unit"])
    applied, allowable = (f"{number(m[k], factor, 3)} {unit}".strip() for k in ("applied", "allowable"))
    fails = borne(m[key], places) if _near(m) else "-"
    goes = f"{m['part'].rpartition(': ')[2]}: {m['mode']}"
    return (
        m["side"] or "-", m["spar"] or "-", goes, verdict(m["reserve_factor"]), fails, applied, allowable,
    )  # fmt: skip


def corner_table(flown: Record) -> PageTable:
    """Corners of the envelope at the hardest loading, numbered as in its figure."""
    one = next(r for r in flown["loadings"] if r["loading"] == flown["answer"]["critical_loading"])
    rows = [
        (
            str(k), c["name"], say.speed.fixed(c["speed_m_per_s"], 0), borne(c["load_factor_asked"]),
            borne(c["load_factor"]), verdict(c["reserve_factor"]), c["part"] or "-", c["mode"] or "-",
        )
        for k, c in enumerate(one["corners"], 1)
    ]  # fmt: skip
    return table(
        f"Corners of the envelope, {one['loading']}, {say.whole_mass(one['mass_kg']):.3g}",
        [
            "<no.", "<corner", f"speed, {say.speed.unit}", "asked, g", "lifted, g", "reserve factor",
            "<weakest", "<mode",
        ],
        rows,
    )  # fmt: skip


def speed_table(flown: Record) -> PageTable:
    """What the wing can do at each speed that has a name, at the hardest loading."""
    one = next(r for r in flown["loadings"] if r["loading"] == flown["answer"]["critical_loading"])
    rows = [
        (
            r["name"], say.speed.fixed(r["speed_m_per_s"], 0), borne(r["load_factor_by_lift"]),
            borne(r["load_factor_at_first_failure"]), borne(r["load_factor_without_harm"]),
            borne(r["safe_load_factor"]), say.span.number(r["tightest_radius_m"], 3),
            borne(r["load_factor_in_up_gust"]),
        )
        for r in one["speeds"] if r["name"]
    ]  # fmt: skip
    return table(
        "By speed",
        [
            "<speed", say.speed.unit, "stalls at, g", "breaks at, g", "no harm up to, g", "may pull, g",
            f"loop's radius, {say.span.unit}", "up-gust, g",
        ],
        rows,
    )  # fmt: skip


def weight_table(balanced: Record, masses: Sequence[str]) -> PageTable:
    """What weighs; the masses of the file, here by name, have the numbers of the plan view and come first."""
    number_of = {name: str(k) for k, name in enumerate(masses, 1)}
    lots = sorted(balanced["lots"], key=lambda lot: int(number_of.get(lot["name"], len(masses) + 1)))
    datum = balanced["datum_x_m"]
    rows = [
        (
            number_of.get(lot["name"], "-") if lot["kind"] == "equipment" else "-", lot["name"], lot["kind"],
            say.mass.fixed(lot["mass_kg"]), say.length.fixed(lot["centre_m"][0] - datum, 0),
            say.length.fixed(lot["shift_m"]),
        )
        for lot in lots
    ]  # fmt: skip
    return table(
        "What weighs, both sides together",
        [
            "<no.", "<what", "<kind", f"mass, {say.mass.unit}", f"aft of the datum, {say.length.unit}",
            f"moves the balance aft, {say.length.unit}",
        ],
        rows,
    )  # fmt: skip


def state_table(balanced: Record) -> PageTable:
    """Centre of gravity, static margin and moments of inertia with full and empty tank."""
    whole = balanced["answer"]["inside"] is not None
    rows = []
    for s in balanced["states"]:
        inertia = s["inertia_kg_m2"]
        rows.append((
            f"tank {s['tank']}" if s["tank"] else "as described", say.mass.fixed(s["mass_kg"], 0),
            say.length.fixed(s["aft_of_datum_m"]), fixed(s["static_margin"], 100) if whole else "-",
            *(say.inertia.number(inertia[k][k], 3) for k in range(3)),
        ))  # fmt: skip
    inertias = say.inertia.unit.replace("2", "²")
    return table(
        "Centre of gravity" if whole else "Centre of gravity of what the file describes",
        [
            "<state", f"mass, {say.mass.unit}", f"aft of the datum, {say.length.unit}", "static margin, %",
            f"inertia in roll, {inertias}", f"in pitch, {inertias}", f"in yaw, {inertias}",
        ],
        rows,
        "" if whole else "The file places only part of the aeroplane, so that its static margin is open.",
    )  # fmt: skip


_STRENGTH = {
    "load_factor_at_first_failure": ("fails at, g", 1),
    "load_multiple_at_first_failure": ("fails at, times load", 2),
    "tip_force_at_first_failure_N": ("fails at, N", 2),
}


def layout_tables(compared: Record) -> list[PageTable]:
    """Layouts compared on the whole wing and on every spar alone."""
    out = []
    for scope in dict.fromkeys(r["scope"] for r in compared["layouts"]):
        rows = [r for r in compared["layouts"] if r["scope"] == scope]
        key = next(k for k in _STRENGTH if k in rows[0])
        head, places = _STRENGTH[key]
        alone = key.endswith("_N")
        head = f"fails at, {say.force.unit}" if alone else head
        each, per = (say.OUNCE / 1e-3, "oz") if say.imperial() else (1.0, "gram")
        whom = "Whole wing" if scope == "wing" else f"Spar alone, {scope}"
        out.append(table(
            f"{whom}: tip movement under {rows[0]['tip_load']}",
            [
                "<layout", f"webs, {say.grams.unit}", f"tip up, {say.length.unit}", "tip twist, deg",
                f"bending, {say.bending_stiffness.unit}", f"torsion, {say.torsion_stiffness.unit}", head,
                *(f"{what}, % per {per}" for what in ("bending", "torsion", "strength")), "<first failure",
            ],
            [
                (
                    r["layout"], say.mass.fixed(r["web_mass_kg"], 2),
                    say.length.number(r["tip_deflection_m"]), number(r["tip_twist_rad"], _DEG),
                    say.bending_stiffness.number(r["bending_stiffness_N_per_m"], 3),
                    say.torsion_stiffness.number(r["torsional_stiffness_N_m_per_rad"], 3),
                    fixed(r[key], say.force.factor if alone else 1.0, places),
                    *(fixed(r[f"{g}_gain_percent_per_g"], each) for g in ("bending", "torsion", "strength")),
                    r["first_failure"],
                )
                for r in rows
            ],
        ))  # fmt: skip
    return out


_PROOF = {
    "residual_over_loads": "force left over at a node, over the loads",
    "reaction_sum_over_loads": "loads and reactions together, over the loads",
    "support_reaction_over_loads": "reaction of the supports of the wing in flight, over the loads",
    "energy_difference": "work of the loads against strain energy, relative",
    "smallest_scaled_pivot": "smallest pivot of the scaled matrix (0 is a mechanism)",
}


def proof_table(checked: Record, study: LoadStudy | None) -> PageTable:
    """What the solves had to prove: that of the file's load and, of a flying wing, those of all cases."""
    rows = [(_PROOF[key], f"{value:.1e}") for key, value in checked["solve_checks"].items()]
    if study is not None:
        worst = max(one.checks.residual for one in study.cases)
        gap = max(one.gap for one in study.cases)
        rows += [
            (f"force left over, worst of the {len(study.cases)} load cases", f"{worst:.1e}"),
            ("section forces cut from the elements against the loads outboard, worst of them", f"{gap:.1e}"),
        ]
    mesh = checked["mesh"]
    return table(
        "Checks and their values",
        ["<check", "value"],
        rows,
        f"A solve whose force left over exceeds {BOUND:.0e} of the loads is refused, and there is no page. "
        f"Mesh of the first rows: {mesh['elements_per_bay']} elements a bay, {mesh['n_nodes']} nodes, "
        f"{mesh['n_elements']} elements, {'half the wing' if mesh['half_wing'] else 'the whole of it'}.",
    )


def source_table(checked: Record) -> PageTable:
    """Where the rules come from."""
    rows = [(s["mode"], s["source"]) for s in checked["sources"]]
    return table("Modes of failure and their rules", ["<mode of failure", "<source"], rows)
