"""The tables of a bench test as CSV: which mass lay where at each step, and what the dials then showed.

Comma or semicolon between cells (with semicolons a decimal comma is read too), lines that begin with `#` are
remarks, every column with a unit has it in its heading, "deflection [mm]". Rows without a reading are passed
over, so that a template need not be filled in whole.
"""

from __future__ import annotations

import csv
import io
import math
import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from models import units_out as say
from models.loads.bags import Bag, hold, rib_stations
from models.structure.model import Model
from models.studies.bench_test import BenchTest
from models.wing.faults import MOST_LINES, did_you_mean
from models.wing.intake import cell
from models.wing.units import RANGE, QuantityError, read_quantity

if TYPE_CHECKING:
    from models.studies.seeing import Seeing

BAGS_FILE, READINGS_FILE = "bags.csv", "readings.csv"
SIDES = ("starboard", "port")
NEAR = 2e-3
"""How far a reading's y may lie from a rib, m."""
_TURNED = math.pi / 2
"""Twist that no reading of a whole wing reaches, rad (chosen); of deflections the semispan."""
_BAG_COLUMNS = {"step": "", "rib": "", "aft": "length", "mass": "mass"}
_READING_COLUMNS = {
    "step": "", "side": "", "rib": "", "y": "length", "place": "", "spar": "", "aft": "length",
    "deflection": "length", "twist": "angle",
}  # fmt: skip
_HEADING = re.compile(r"\s*([A-Za-z_ ]+?)\s*(?:[\[(]\s*([^\])]*?)\s*[\])])?\s*")


class TableError(ValueError):
    """Faults of a table, one a line, each with its line number; `faults` without the file's name, at most
    `MOST_LINES`."""

    def __init__(self, faults: Iterable[str]) -> None:
        self.faults = list(faults)
        if len(self.faults) > MOST_LINES:
            more = len(self.faults) - MOST_LINES + 1
            self.faults[MOST_LINES - 1 :] = [f"and {more} faults more; mend these first."]
        super().__init__("\n".join(self.faults))


@dataclass(frozen=True)
class Laid:
    """What lay on a rib at a step, on each side alike: kg (negative: a cord that lifts), at x, y in m."""

    step: int
    rib: int
    x: float
    y: float
    mass: float


@dataclass(frozen=True)
class Reading:
    """One figure read: `what` is "deflection" (m, as lift bends) or "twist" (rad, nose up), at a rib's point
    x.

    The twist of a rib is that of the whole rib; its x counts for nothing. `line` is that of the file.
    """

    step: int
    side: str
    rib: int
    x: float
    what: str
    value: float
    line: int


def bags_csv(test: BenchTest, chosen: Seeing | None = None) -> str:
    """The masses of every step as a table: what the builder lays, and may correct where he laid other. A
    couple has steps of its own after the others."""
    out = [
        f"# Masses that lay on each side at each step: {test.plan.load_factor:.3g} g at the last. Correct "
        "what was laid otherwise. A cord that lifts has a mass below zero.\n",
        f"step,rib,aft [{say.length.unit}],mass [{say.mass.unit}]\n",
    ]
    for k, fraction in enumerate(test.fractions.tolist(), 1):
        for bag in test.plan.bags:
            for rib, aft, share in zip(bag.ribs, bag.aft, bag.shares):
                out.append(f"{k},{rib},{_aft(aft)},{say.bag_mass.bare(fraction * bag.mass * share, '.2f')}\n")
    if chosen is not None and chosen.couple is not None:
        one = chosen.couple
        for k, aft in zip(one.steps, one.aft):
            out.append(f"{k},{one.rib},{_aft(aft)},{say.bag_mass.bare(one.mass, '.2f')}\n")
    return "".join(out)


def _aft(length: float) -> str:
    return say.length.bare(length, ".1f")


def readings_csv(test: BenchTest, chosen: Seeing | None = None) -> str:
    """A table of readings to be filled in, figures left empty. What was chosen is read, or every mark at
    every step."""
    every = range(1, len(test.fractions) + 1)
    dials = (
        [(mark, every) for mark in test.marks]
        if chosen is None
        else [(dial.mark, dial.steps) for dial in chosen.dials]
    )
    steps = sorted({k for _, mine in dials for k in mine})
    out = [
        "# Fill in deflection (positive: as lift bends the wing, so the tip of the upside-down wing "
        "sinks) and,\n",
        "# where you have a gauge, twist of the rib (positive: nose up in flight). Zero on the bare "
        "wing, and\n",
        "# measured against the centre section. Leave empty what you did not read. Aft: of the leading "
        "edge.\n",
        f"step,side,rib,place,aft [{say.length.unit}],deflection [{say.length.unit}],twist [deg]\n",
    ]
    for k in steps:
        for side in SIDES:
            for mark, mine in dials:
                if k not in mine:
                    continue
                place = cell(mark.place.replace(",", " ").replace('"', "'"))
                out.append(f"{k},{side},{mark.rib},{place},{_aft(mark.aft)},,\n")
    return "".join(out)


def read_bags(text: str, model: Model) -> tuple[Laid, ...]:
    """Masses from a table as `bags_csv` writes it.

    Raises
    ------
    TableError
        With line numbers.
    """
    table = ReadingsTable(text, _BAG_COLUMNS, needed=("step", "rib", "aft", "mass"))
    plan = model.wing.planform
    assert plan is not None
    found = []
    for row in table.rows:
        step, rib = row.step(), row.rib(model)
        aft, mass = row.number("aft"), row.number("mass")
        if step is None or rib is None or aft is None or mass is None:
            continue
        y = float(rib_stations(model)[rib - 1])
        chord = float(plan.chord.at(y))
        if not -chord <= aft <= 2 * chord:
            row.fault("aft", row.cell("aft"), f"is not near a chord of {say.length(chord):.0f}.")
            continue
        found.append(Laid(step, rib, float(plan.leading_edge_x.at(y)) + aft, y, mass))
    table.check()
    if not any(one.mass for one in found):
        raise TableError(["holds no mass; write what lay on each rib at each step."])
    return tuple(found)


def read_readings(text: str, model: Model) -> tuple[Reading, ...]:
    """Readings from a table as `readings_csv` writes it, or one that names ribs by `y` or points by `spar`.

    Raises
    ------
    TableError
        With line numbers.
    """
    table = ReadingsTable(text, _READING_COLUMNS, needed=("step",))
    heads = table.heads
    missing = [
        words
        for names, words in (
            (("rib", "y"), 'a column "rib" or "y [mm]"'),
            (("deflection", "twist"), 'a column "deflection [mm]" or "twist [deg]"'),
            (("aft", "spar") if "deflection" in heads else tuple(heads), 'a column "aft [mm]" or "spar"'),
        )
        if not set(names) & set(heads)
    ]
    if missing:
        raise TableError([f"line {table.line}: lacks {', '.join(missing)}."])
    found: list[Reading] = []
    seen: dict[tuple[object, ...], int] = {}
    for row in table.rows:
        filled = [what for what in ("deflection", "twist") if what in heads and row.cell(what)]
        if not filled:
            continue
        step, side, rib = row.step(), row.side(), row.rib(model)
        x = row.point(model, rib) if "deflection" in filled else 0.0
        for what in filled:
            value = row.number(what)
            if value is not None and abs(value) > (model.wing.semispan if what == "deflection" else _TURNED):
                most = say.length(model.wing.semispan) if what == "deflection" else say.angle(_TURNED)
                row.fault(what, row.cell(what), f"is more than {most:.0f}: no wing moves so far unbroken.")
                continue
            if value is None or step is None or side is None or rib is None or x is None:
                continue
            key = (step, side, rib, what, round(x, 4) if what == "deflection" else 0.0)
            if key in seen:
                row.fault(what, row.cell(what), f"was read on line {seen[key]} already.")
                continue
            seen[key] = row.line
            found.append(Reading(step, side, rib, x, what, value, row.line))
    table.check()
    if not found:
        raise TableError(["holds no reading; fill in deflections or twists."])
    return tuple(found)


def as_bags(laid: Iterable[Laid]) -> tuple[Bag, ...]:
    """What lay on single ribs as bags, ready to be put on nodes."""
    return tuple(Bag((one.rib,), (one.y,), (one.x,), (0.0,), one.mass) for one in laid)


class _Row:
    """A row of a table: cells by heading, and where faults go."""

    def __init__(self, table: ReadingsTable, line: int, cells: list[str]) -> None:
        self.table, self.line = table, line
        self._cells = {head: cell.strip() for head, cell in zip(table.heads, cells)}

    def cell(self, head: str) -> str:
        """The cell under a heading; empty where there is none."""
        return self._cells.get(head, "")

    def fault(self, head: str, cell: str, expected: str) -> None:
        """Note a fault of a cell."""
        self.table.faults.append(f'line {self.line}: {head}: "{cell}" {expected}')

    def number(self, head: str) -> float | None:
        """The figure under a heading in SI."""
        cell = self.cell(head)
        plain = cell.replace(",", ".") if self.table.decimal_comma else cell
        try:
            value = float(plain.replace("\N{MINUS SIGN}", "-"))
        except ValueError:
            value = math.nan
        if not math.isfinite(value):
            unit = self.table.heads[head][0]
            self.fault(head, cell, f"is not a number (in {unit}, without the unit).")
            return None
        value *= self.table.heads[head][1]
        kind = self.table.known[head]
        if kind and abs(value) > RANGE[kind][1]:
            self.fault(head, cell, f"in {self.table.heads[head][0]} is beyond any {kind} of a wing.")
            return None
        return value

    def step(self) -> int | None:
        """Number of the step."""
        return self.whole("step", 1, 1000, "is not the number of a step; they count from 1.")

    def side(self) -> str | None:
        """Side of the wing; starboard where no column says so."""
        if "side" not in self.table.heads:
            return SIDES[0]
        cell = self.cell("side").lower()
        if cell not in SIDES:
            self.fault("side", self.cell("side"), f"is not a side; write {' or '.join(SIDES)}.")
            return None
        return cell

    def rib(self, model: Model) -> int | None:
        """Number of the rib, 1 the innermost, by number or by y."""
        stations = rib_stations(model)
        first = int(np.flatnonzero(stations > hold(model) + 1e-9)[0]) + 1
        if "rib" in self.table.heads and self.cell("rib"):
            words = f"is not a rib outside the hold; they run from {first} to {len(stations)}."
            return self.whole("rib", first, len(stations), words)
        if "y" not in self.table.heads:
            self.fault("rib", "", f"says nothing; ribs run from {first} to {len(stations)}.")
            return None
        y = self.number("y")
        if y is None:
            return None
        near = int(np.argmin(np.abs(stations - abs(y))))
        if abs(stations[near] - abs(y)) > NEAR or near + 1 < first:
            self.fault("y", self.cell("y"), f"is at no rib outside the hold; the nearest is rib {near + 1} "
                       f"at {say.length(stations[near]):.0f}.")  # fmt: skip
            return None
        return near + 1

    def point(self, model: Model, rib: int | None) -> float | None:
        """Where on the rib a deflection was read, m in the wing's axes."""
        if rib is None:
            return None
        y = float(rib_stations(model)[rib - 1])
        wing, plan = model.wing, model.wing.planform
        assert plan is not None
        if "aft" in self.table.heads and self.cell("aft"):
            aft, chord = self.number("aft"), float(plan.chord.at(y))
            if aft is not None and not -0.5 * chord <= aft <= 1.5 * chord:
                self.fault("aft", self.cell("aft"), f"is not near a chord of {say.length(chord):.0f}.")
                return None
            return None if aft is None else float(plan.leading_edge_x.at(y)) + aft
        name = self.cell("spar")
        spars = {spar.name: spar for spar in wing.spars if y <= spar.y_end + 1e-9}
        if name not in spars:
            hint = did_you_mean(name, spars) or f"; there are {', '.join(spars)}."
            self.fault("spar", name, f"is not a spar at rib {rib}{hint}")
            return None
        return float(spars[name].x.at(y))

    def whole(self, head: str, least: int, most: int, words: str) -> int | None:
        """A whole number under a heading, from least to most; `words` are the fault."""
        cell = self.cell(head)
        if not cell.isdecimal() or not least <= int(cell) <= most:
            self.fault(head, cell, words)
            return None
        return int(cell)


class ReadingsTable:
    """Headings and rows of a CSV text; `heads` maps a heading to its unit and the unit's size in SI."""

    def __init__(self, text: str, known: dict[str, str], needed: tuple[str, ...]) -> None:
        self.faults: list[str] = []
        self.known = known
        self.heads: dict[str, tuple[str, float]] = {}
        self.rows: list[_Row] = []
        text = text.removeprefix("\N{ZERO WIDTH NO-BREAK SPACE}")
        lines = [(n, line) for n, line in enumerate(text.splitlines(), 1) if line.strip(" ,;\t\r")]
        lines = [(n, line) for n, line in lines if not line.lstrip(' "').startswith("#")]
        if not lines:
            raise TableError(["is empty; the first line names the columns."])
        self.line, first = lines[0]
        delimiter = ";" if first.count(";") > first.count(",") else "\t" if "\t" in first else ","
        self.decimal_comma = delimiter != ","
        for head in next(csv.reader(io.StringIO(first), delimiter=delimiter)):
            self._head(head)
        lacking = [name for name in needed if name not in self.heads]
        if lacking and not self.faults:
            self.faults.append(f"line {self.line}: lacks the column {' and '.join(lacking)}.")
        self.check()
        for n, line in lines[1:]:
            cells = next(csv.reader(io.StringIO(line), delimiter=delimiter))
            while len(cells) > len(self.heads) and not cells[-1].strip():
                cells.pop()
            if len(cells) > len(self.heads):
                self.faults.append(
                    f"line {n}: has {len(cells)} cells where there are {len(self.heads)} columns."
                )
                continue
            self.rows.append(_Row(self, n, cells))

    def check(self) -> None:
        """Raise what faults there are."""
        if self.faults:
            raise TableError(self.faults)

    def _head(self, head: str) -> None:
        match = _HEADING.fullmatch(head)
        name = (match[1] if match else head).strip().lower()
        if name not in self.known or name in self.heads:
            why = "stands there twice." if name in self.heads else None
            near = did_you_mean(name, self.known) or f"; columns are {', '.join(self.known)}."
            self.faults.append(f'line {self.line}: column "{head.strip()}" {why or "is not known" + near}')
            return
        kind, unit = self.known[name], (match[2] if match else None) or ""
        if not kind:
            self.heads[name] = ("", 1.0)
            return
        try:
            self.heads[name] = (unit, read_quantity(f"1 {unit}", kind))
        except QuantityError as error:
            self.faults.append(f'line {self.line}: column "{head.strip()}" {error}')
