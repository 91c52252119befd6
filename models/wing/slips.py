"""Slips of units: a length that does not go with the wing's own sizes, and the unit in which it would.

Bounds are shares of the wing's chord and semispan far beyond what is built (chosen, no source), so that an
odd wing is read and a slip, which moves a length by ten times or more, is not.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np

from models import units_out as say
from models.wing.draft import FileDraft, Location, mm
from models.wing.schema import WingFile
from models.wing.units import KINDS, QuantityError, read_quantity

_UNITS = ("mm", "cm", "m", "in", "ft")
_SLENDEREST, _STUBBIEST = 60.0, 0.15
"""Semispan over the mean chord: most and least."""
_TAPER = 30.0
"""Largest over least chord."""


Rule = tuple[Location, float, float, float, str, str]
"""Place of a value, the value (SI), its least and most, its kind (of `units.KINDS`), what is odd of it."""


def hint(
    raw: object, low: float, high: float, usual: str = "mm", *, kind: str = "length", digits: bool = False
) -> str:
    """The end of a sentence that offers the unit in which a quantity would fit, or nothing.

    Parameters
    ----------
    raw : object
        The value as the file has it, "5 in".
    low, high : float
        Between which its size would fit, SI.
    usual : str
        The unit that is tried first.
    kind : str
        One of `units.KINDS`.
    digits : bool
        Where no unit fits, offer a tenth and ten times the number.

    Returns
    -------
    str
        "; was 5 mm meant?" or "".
    """
    if isinstance(raw, list) and len(raw) <= 2:
        wrong = [item for item in raw if _misfits(item, low, high, kind)]
        told = [hint(item, low, high, usual, kind=kind, digits=digits) for item in wrong]
        return next((words for words in told if words), "")
    if not isinstance(raw, str) or kind not in KINDS:
        return ""
    number, unit = _parted(raw)
    if not number:
        return ""
    first = "in" if "/" in number and kind == "length" else usual  # sixteenths are of an inch
    for other in dict.fromkeys((first, usual, *(_UNITS if kind == "length" else KINDS[kind].units))):
        if not other or other == unit:
            continue
        try:
            size = read_quantity(f"{number} {other}", kind)
        except QuantityError:
            return ""
        if low <= abs(size) <= high:
            return f"; was {number} {other} meant?"
    for factor in (0.1, 10.0) if digits else ():
        try:
            size = read_quantity(raw, kind) * factor
        except QuantityError:
            return ""
        if low <= abs(size) <= high and "/" not in number:
            return f"; was {float(number) * factor:g} {unit} meant?"
    return ""


def _misfits(raw: object, low: float, high: float, kind: str) -> bool:
    """Whether a quantity as written lies outside of what would fit."""
    try:
        return not low <= abs(read_quantity(raw, kind)) <= high
    except (QuantityError, KeyError):
        return False


_PARTED = re.compile(r"\s*([+-]?[\d.,/eE+ -]*\d\.?)\s*(\D.*?)\s*")


def _parted(raw: str) -> tuple[str, str]:
    """Number and unit of a quantity as written, empty where it is none."""
    match = _PARTED.fullmatch(raw)
    return (match[1], match[2]) if match else ("", "")


def out_of_order(draft: FileDraft, location: Location, values: Sequence[float], key: str = "") -> int | None:
    """Place in a list of rising lengths of the one that breaks the order; None where all rise.

    Where it could be either of two, the one whose unit is not the file's usual one, else the outer.

    Parameters
    ----------
    draft : FileDraft
        The file being read.
    location : Location
        Of the list.
    values : sequence of float
        Its lengths, m.
    key : str
        Of the length in each entry, empty where the entries are lengths.

    Returns
    -------
    int or None
    """
    y = np.asarray(values)
    falls = np.flatnonzero(np.diff(y) <= 0)
    if not len(falls):
        return None
    able = [k for k in range(1, len(y)) if np.all(np.diff(np.delete(y, k)) > 0)]
    if len(able) == 1:
        return able[0]
    first = int(falls[0]) + 1
    if len(able) > 1:
        places: list[Location] = [(*location, k, key) if key else (*location, k) for k in able]
        odd = _odd_one(draft, places, usual_unit(draft.raw))
        if odd is not None:
            return able[odd]
        rib = draft.last_rib
        near = [k for k in able if rib and abs(np.delete(y, k)[-1] - rib) <= 0.02 * rib]
        if len(near) == 1:
            return near[0]
    return first


def between(draft: FileDraft, location: Location, values: Sequence[float], i: int) -> str:
    """The end of a sentence about a length out of order: the unit in which it fits between its neighbours.

    Parameters
    ----------
    draft : FileDraft
        The file being read.
    location : Location
        Of the length.
    values : sequence of float
        All lengths of its list, m.
    i : int
        Its place among them.

    Returns
    -------
    str
        "; was 140 mm meant?" or ".".
    """
    low = values[i - 1]
    high = values[i + 1] if i + 1 < len(values) and values[i + 1] > low else 1e3 * low
    usual = usual_unit(draft.raw)
    return hint(draft.raw_at(location), low * (1 + 1e-9), high * (1 - 1e-9), usual, digits=True) or "."


def usual_unit(raw: Any) -> str:
    """The unit of length that a file has most, "mm" where it has none."""
    found: Counter[str] = Counter()

    def walk(value: Any) -> None:
        if isinstance(value, str):
            unit = value.rpartition(" ")[2]
            if unit in _UNITS:
                found[unit] += 1
        elif isinstance(value, dict):
            for item in value.values():
                walk(item)
        elif isinstance(value, list):
            for item in value:
                walk(item)

    walk(raw)
    return found.most_common(1)[0][0] if found else "mm"


def planform_slips(draft: FileDraft, file: WingFile) -> None:
    """Refuse chords and stations that do not go with each other, naming the one whose unit differs.

    Parameters
    ----------
    draft : FileDraft
        Where faults go; it gives up with the first, for every other size is measured by these.
    file : WingFile
        The file's checked shape.
    """
    at: Location = ("planform", "stations")
    usual = usual_unit(draft.raw)
    stations = file.planform.stations
    chords = np.array([station.chord for station in stations])
    y = np.array([station.y for station in stations])
    typical = float(np.median(chords))
    for i, chord in enumerate(chords.tolist()):
        if len(chords) > 2 and not 1 / _TAPER <= chord / typical <= _TAPER:
            _note(draft, (*at, i, "chord"), "chord", chord / typical, "the wing's other chords",
                  typical / _TAPER, typical * _TAPER, usual)  # fmt: skip
            draft.give_up()
    semispan = float(y.max())
    mean = float(chords.mean())
    if chords.max() / chords.min() > _TAPER:
        odd = _odd_one(draft, [(*at, k, "chord") for k in range(len(chords))], usual)
        if odd is not None:
            others = float(np.delete(chords, odd).mean())
            _note(draft, (*at, odd, "chord"), "chord", float(chords[odd]) / others, "the wing's other chord",
                  others / _TAPER, others * _TAPER, usual)  # fmt: skip
            draft.give_up()
    slender = semispan / mean
    if _STUBBIEST <= slender <= _SLENDEREST or semispan == 0:
        return
    far = int(y.argmax())
    places: list[Location] = [(*at, far, "y"), (*at, int(chords.argmax()), "chord")]
    k = _odd_one(draft, places, usual)
    if k == 1:
        _note(draft, places[1], "chord", float(chords.max()) / semispan, "the semispan",
              semispan / _SLENDEREST, semispan / _STUBBIEST, usual)  # fmt: skip
    else:
        _note(draft, places[0], "semispan", slender, "the mean chord",
              mean * _STUBBIEST, mean * _SLENDEREST, usual)  # fmt: skip
    draft.give_up()


def _odd_one(draft: FileDraft, places: list[Location], usual: str) -> int | None:
    """Which of some lengths is written in another unit than the file's usual one, the only one that is."""
    odd = [k for k, place in enumerate(places) if str(draft.raw_at(place)).rpartition(" ")[2] != usual]
    return odd[0] if len(odd) == 1 else None


def _note(
    draft: FileDraft, place: Location, what: str, ratio: float, of: str, low: float, high: float, usual: str
) -> None:
    raw = draft.raw_at(place)
    draft.note(
        place,
        f"makes the {what} {say.plain(ratio, 2)} times {of}, which no wing has; it fits between {mm(low)} "
        f"and {mm(high)}{hint(raw, low, high, usual) or '.'}",
    )


def part_slips(draft: FileDraft, file: WingFile) -> None:
    """Refuse sizes and places of parts far beyond the wing's own chord and semispan.

    Parameters
    ----------
    draft : FileDraft
        Where faults go; with any of them it gives up, for the wing would be nonsense.
    file : WingFile
        The file's checked shape.
    """
    usual = usual_unit(draft.raw)
    stations = file.planform.stations
    chord = max(station.chord for station in stations)
    semispan = max(station.y for station in stations)
    n_faults = len(draft.faults)
    for place, length, high, of in _lengths(file, chord, semispan):
        if abs(length) > high:
            raw = draft.raw_at(place)
            draft.note(
                place,
                f"is more than a wing of {mm(chord)} chord and {mm(semispan)} semispan has room for: at most "
                f"{mm(high)}, {of}{hint(raw, high / 2000, high, usual) or '.'}",
            )
    if len(draft.faults) > n_faults:
        draft.give_up()


_THICK, _WIDE, _NEAR, _HUNG, _AWAY = 0.12, 0.6, 2.0, 4.0, 10.0
"""Most of a plate's thickness and of a stick's side, of the chord; most of what hangs on the wing, of the
place of a mass and of any place, of the wing's size."""


def _lengths(file: WingFile, chord: float, semispan: float) -> Iterator[tuple[Location, float, float, str]]:
    """Place in the file, length, bound (m) and what the bound is, of every size of a part."""
    thick = _THICK * chord, f"{_THICK * 100:.0f} % of the chord"
    wide = _WIDE * chord, f"{_WIDE * 100:.0f} % of the chord"
    hung = _HUNG * max(chord, semispan), f"{_HUNG:.0f} times the wing's size"
    away = _AWAY * max(chord, semispan), f"{_AWAY:.0f} times the wing's size"

    def of(location: Location, table: object, keys: tuple[str, ...], bound: tuple[float, str]) -> Any:
        for key in keys:
            value = getattr(table, key, None)
            for item in value if isinstance(value, tuple) else (value,):
                if isinstance(item, float):
                    yield (*location, key), item, *bound

    yield from of(("ribs",), file.ribs, ("thickness",), thick)
    yield from of(("ribs", "post"), file.ribs.post, ("thickness",), wide)
    yield from of(("ribs", "cap_strip"), file.ribs.cap_strip, ("thickness",), thick)
    yield from of(("ribs", "cap_strip"), file.ribs.cap_strip, ("width",), wide)
    for i, exception in enumerate(file.ribs.exceptions):
        yield from of(("ribs", "exceptions", i), exception, ("thickness",), thick)
    for i, spar in enumerate(file.spars):
        here: Location = ("spars", i)
        yield from of(here, spar, ("inset",), wide)
        yield from of(here, spar, ("x",), away)
        for name in ("caps", "upper_cap", "lower_cap"):
            cap = getattr(spar, name)
            yield from of((*here, name), cap, ("width", "height"), wide)
            for j, step in enumerate(cap.steps if cap is not None else ()):
                yield from of((*here, name, "steps", j), step, ("width", "height"), wide)
            for j, facing in enumerate(cap.facings if cap is not None else ()):
                yield from of((*here, name, "facings", j), facing, ("thickness",), thick)
        for j, web in enumerate(spar.webs):
            yield from of((*here, "webs", j), web, ("thickness",), thick)
    for i, sheet in enumerate(file.sheeting):
        yield from of(("sheeting", i), sheet, ("thickness",), thick)
    for key in ("leading_edge", "trailing_edge"):
        yield from of((key,), getattr(file, key), ("width", "height"), wide)
    for i, brace in enumerate(file.braces):
        yield from of(("braces", i), brace, ("thickness",), thick)
    for i, rail in enumerate(file.rails):
        yield from of(("rails", i), rail, ("width", "height", "tie_thickness"), wide)
        yield from of(("rails", i), rail, ("x_front", "x_rear", "z"), away)
    for i, mass in enumerate(file.masses):
        yield from of(("masses", i), mass, ("x", "z", "moves_between"), hung)
    chords = chord, "the chord"
    near = _NEAR * max(chord, semispan), f"{_NEAR:.0f} times the wing's size"
    yield from of(("elevons",), file.elevons, ("balance",), chords)
    yield from of(("elevons",), file.elevons, ("servo_arm", "control_horn"), wide)
    yield from of(("engine",), file.engine, ("propeller_diameter",), near)
    yield from of(("landing",), file.landing, ("leg_length", "body_width"), near)
    yield from of(("balance",), file.balance, ("neutral_point", "ballast_at"), near)
    yield from of(("launch",), file.launch, ("hook_x", "hook_z"), near)
    for i, station in enumerate(file.planform.stations):
        yield from of(("planform", "stations", i), station, ("leading_edge", "height"), away)
