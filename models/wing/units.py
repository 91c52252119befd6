"""Quantities with their units at the file's edge: "1 3/8 in" or "9 lb/ft3" in, SI out, and back.

The list of units is our own (`units.txt`). Products and quotients of units that it names, "in-lbf" or
"lb/ft3", are worked out here; any other spelling is left to pint, on the same list. Loading pint takes as
long as solving a wing, so that is done only where it is needed. A number without a unit is refused, never
guessed.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

_NUMBER = re.compile(
    r"\s*(?P<sign>[+-]?)\s*"
    r"(?:(?:(?P<whole>\d{1,9})[ -]+)?(?P<top>\d{1,9})\s*/\s*(?P<bottom>\d{1,9})"
    r"|(?P<decimal>(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?))"
    r"\s*(?P<unit>.*?)\s*"
)
_LIST = Path(__file__).with_name("units.txt")
_NOT_FINITE = re.compile(r"\s*[+-]?(nan|inf|infinity)\b.*", re.IGNORECASE)


_ALSO = {
    '"': "in", "\N{DOUBLE PRIME}": "in", "\N{RIGHT DOUBLE QUOTATION MARK}": "in", "''": "in",
    "in.": "in", "inches": "in", "'": "ft", "\N{PRIME}": "ft", "\N{RIGHT SINGLE QUOTATION MARK}": "ft",
    "ft.": "ft", "feet": "ft", "lbs": "lb", "lb.": "lb", "pounds": "lb", "oz.": "oz", "ounces": "oz",
    "lbs/ft3": "lb/ft3", "kmh": "km/h", "kph": "km/h", "mi/h": "mph", "knots": "kt",
    **{unit: unit for unit in ("in", "inch", "ft", "lb", "oz", "lbf", "ozf", "mph", "kt", "ft/s", "psi",
                               "ksi", "hp", "rpm", "deg", "mm", "cm", "kg", "km/h", "lb/ft3", "oz/yd2",
                               "oz/ft2")},
}  # fmt: skip
"""Spellings that cannot mean anything else, whatever their case: builders write 84" and 55 MPH."""
_PAIRS = {"length": ("ft", "in"), "mass": ("lb", "oz")}
_PAIR = re.compile(
    r"\s*(?P<sign>[+-]?)\s*(?P<first>\d{1,9})\s*(?P<larger>[^\d\s.,/]+?\.?)[\s,-]*"
    r"(?P<second>\d[\d\s./-]*?)\s*(?P<smaller>[^\d\s/]+)\s*"
)


class QuantityError(ValueError):
    """A quantity that cannot be read; the message finishes the sentence that the value begins."""


@dataclass(frozen=True)
class Quantity:
    """A kind of quantity: its name, the unit that stands for its dimension, the units that would do."""

    name: str
    si: str
    units: tuple[str, ...]


KINDS: dict[str, Quantity] = {
    "length": Quantity("a length", "m", ("mm", "cm", "m", "in", "ft")),
    "mass": Quantity("a mass", "kg", ("g", "kg", "oz", "lb")),
    "density": Quantity("a density", "kg/m3", ("kg/m3", "g/cm3", "lb/ft3")),
    "mass per area": Quantity("a mass per area", "kg/m2", ("g/m2", "kg/m2", "oz/yd2", "oz/ft2")),
    "force": Quantity("a force", "N", ("N", "kgf", "gf", "lbf", "ozf")),
    "force per length": Quantity("a force per length", "N/m", ("N/m", "N/mm", "gf/cm", "lbf/in")),
    "torque": Quantity("a torque", "N m", ("N m", "N mm", "kgf cm", "in-lbf", "in-ozf")),
    "torque per angle": Quantity(
        "a torque per angle", "N m/rad", ("N m/rad", "N mm/deg", "kgf cm/deg", "in-ozf/deg")
    ),
    "stress": Quantity("a stress", "Pa", ("Pa", "kPa", "MPa", "GPa", "psi", "ksi")),
    "angle": Quantity("an angle", "rad", ("deg", "rad")),
    "speed": Quantity("a speed", "m/s", ("m/s", "km/h", "mph", "kt", "ft/s")),
    "rate of turn": Quantity("a rate of turn", "rad/s", ("rpm", "deg/s", "rad/s")),
    "power": Quantity("a power", "W", ("W", "kW", "hp")),
    "moment of inertia": Quantity("a moment of inertia", "kg m2", ("kg m2", "kg cm2", "g cm2")),
    "fraction": Quantity("a fraction", "%", ("%",)),
}


RANGE: dict[str, tuple[float, float]] = {
    "length": (1e-6, 1e4),
    "mass": (1e-7, 1e5),
    "density": (0.1, 3e4),
    "mass per area": (1e-5, 1e3),
    "force": (0.0, 1e7),
    "force per length": (1e-3, 1e8),
    "torque": (0.0, 1e7),
    "torque per angle": (1e-6, 1e8),
    "stress": (1.0, 1e13),
    "angle": (0.0, 100.0),
    "speed": (1e-3, 1e3),
    "rate of turn": (1e-4, 1e5),
    "power": (1e-6, 1e7),
    "moment of inertia": (1e-14, 1e5),
    "fraction": (0.0, 100.0),
}
"""Sizes in SI between which the quantities of any aeroplane lie, far beyond what is built (chosen, no
source); the lesser bounds only those that must be more than zero. Beyond, squares would overflow.
"""


def read_quantity(value: object, kind: str) -> float:
    """A quantity in SI (m, kg, kg/m3, N, N m, Pa, rad, m/s; fractions as plain numbers).

    Parameters
    ----------
    value : object
        What the file holds. Only text with a number and a unit is accepted; the number may be a fraction of
        whole numbers, "1/16 in" or "1 3/8 in".
    kind : str
        One of `KINDS`.

    Returns
    -------
    float
        The quantity in SI.

    Raises
    ------
    QuantityError
        No unit, an unknown unit, a unit of another kind, or a number that is not finite.
    """
    wanted = KINDS[kind]
    would_do = f"{wanted.name} takes {_either(wanted.units)}"
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        raise QuantityError(
            f'is not {wanted.name}; write it as text with its unit, like "3 {wanted.units[0]}".'
        )
    if isinstance(value, int | float):
        if isinstance(value, float) and not math.isfinite(value):
            raise QuantityError(f"is not a finite number; {would_do}.")
        raise QuantityError(f'has no unit; {would_do}, written like "{str(value)[:12]} {wanted.units[0]}".')
    if _NOT_FINITE.fullmatch(value):
        raise QuantityError(f"is not a finite number; {would_do}.")
    both = _two_units(value, kind)
    if both is not None:
        return both
    match = _NUMBER.fullmatch(value)
    if match is None:
        raise QuantityError(f'is not {wanted.name}; write a number and its unit, like "3 {wanted.units[0]}".')
    number = _number(match)
    unit = _ALSO.get(match["unit"].lower(), match["unit"])
    if not unit:
        raise QuantityError(f"has no unit; {would_do}.")
    if kind == "fraction":
        if unit != "%":
            raise QuantityError(f"is not a fraction; {would_do}.")
        return number / 100
    if unit == "%":
        raise QuantityError(f"is a fraction, not {wanted.name}; {would_do}.")
    factor = _factor(unit, kind)
    if not math.isfinite(number * factor):
        raise QuantityError(f"is not a finite number; {would_do}.")
    return number * factor


def write_quantity(value: float, unit: str, digits: int = 6) -> str:
    """A quantity in SI (for "%" a plain fraction) as text in the unit asked for, the inverse of
    `read_quantity`.

    Raises
    ------
    QuantityError
        The unit is unknown.
    """
    factor = 0.01 if unit == "%" else _unit(unit)[0]
    return f"{value / factor:.{digits}g} {unit}"


def _two_units(value: str, kind: str) -> float | None:
    """Feet and inches, or pounds and ounces: 7' 0", "9 lb 4 oz"; None for anything else."""
    match = _PAIR.fullmatch(value)
    if match is None or kind not in _PAIRS:
        return None
    units = tuple(_ALSO.get(match[name].lower(), match[name]) for name in ("larger", "smaller"))
    second = _NUMBER.fullmatch(f"{match['second']} {units[1]}")
    if units != _PAIRS[kind] or second is None:
        return None
    found = float(match["first"]) * _unit(units[0])[0] + _number(second) * _unit(units[1])[0]
    return -found if match["sign"] == "-" else found


def _number(match: re.Match[str]) -> float:
    if match["decimal"] is not None:
        number = float(match["decimal"])
    else:
        if int(match["bottom"]) == 0:
            raise QuantityError("divides by zero.")
        number = int(match["whole"] or 0) + int(match["top"]) / int(match["bottom"])
    return -number if match["sign"] == "-" else number


def _factor(unit: str, kind: str) -> float:
    wanted = KINDS[kind]
    would_do = f"{wanted.name} takes {_either(wanted.units)}"
    try:
        factor, dimension = _unit(unit)
    except QuantityError:
        from difflib import get_close_matches

        told = unit if len(unit) <= 40 else f"{unit[:36]} ..."
        near = get_close_matches(unit.lower(), [*_listed(), *_ALSO], 1, 0.6) if len(unit) <= 20 else []
        meant = f", perhaps {_ALSO.get(near[0], near[0])}" if near and near[0] != unit else ""
        raise QuantityError(f"has an unknown unit {told}{meant}; {would_do}.") from None
    if dimension != _unit(wanted.si)[1]:
        other = next((k.name for k in KINDS.values() if k.si != "%" and _unit(k.si)[1] == dimension), None)
        what = f"is {other}, not {wanted.name}" if other else f"is not {wanted.name}"
        raise QuantityError(f"{what}; {would_do}.")
    return factor


def _either(words: tuple[str, ...]) -> str:
    return words[0] if len(words) == 1 else ", ".join(words[:-1]) + " or " + words[-1]


Dimension = tuple[tuple[str, float], ...]
"""Powers of the base dimensions, "[length]" and so on, in order of their names."""


@lru_cache(maxsize=256)
def _unit(unit: str) -> tuple[float, Dimension]:
    """Size in SI and dimension of a unit; a hyphen between two names is a product: in-lbf."""
    unit = _HYPHEN.sub(" ", unit)
    return _plain(unit, _listed()) or _by_pint(unit)


_HYPHEN = re.compile(r"(?<=[a-z])-(?=[a-z])")
_PRODUCT = re.compile(r"(?!\d)\w+(?: (?!\d)\w+)*(?:/(?!\d)\w+)*")
"""Names side by side, then names divided by."""


def _plain(unit: str, listed: dict[str, tuple[float, Dimension]]) -> tuple[float, Dimension] | None:
    """A product of listed units, or None where the text is anything else."""
    if unit in listed:
        return listed[unit]
    if not _PRODUCT.fullmatch(unit):
        return None
    above, *below = unit.split("/")
    terms = [(name, 1) for name in above.split(" ")] + [(name, -1) for name in below]
    if any(name not in listed for name, _ in terms):
        return None
    return _product(1.0, [(*listed[name], power) for name, power in terms])


def _product(number: float, terms: list[tuple[float, Dimension, int]]) -> tuple[float, Dimension]:
    powers: dict[str, float] = {}
    for size, dimension, power in terms:
        number = number * size**power if power > 0 else number / size**-power
        for name, exponent in dimension:
            powers[name] = powers.get(name, 0.0) + power * exponent
    return number, tuple(sorted((name, power) for name, power in powers.items() if power))


@lru_cache(maxsize=1)
def _listed() -> dict[str, tuple[float, Dimension]]:
    """Every name in `units.txt`: `name = number unit ** power * ... / ... = other name`."""
    listed: dict[str, tuple[float, Dimension]] = {}
    for line in _LIST.read_text(encoding="utf-8").splitlines():
        if not line or line.startswith("#"):
            continue
        name, meaning, *others = (part.strip() for part in line.split("="))
        if meaning.startswith("["):
            found: tuple[float, Dimension] = 1.0, ((meaning, 1.0),)
        else:
            number, terms, power = 1.0, [], 1
            for word in meaning.replace("**", "^").replace(" ^ ", "^").split():
                if word in "*/":
                    power = 1 if word == "*" else -1
                    continue
                base, _, exponent = word.partition("^")
                if base in listed:
                    terms.append((*listed[base], power * int(exponent or 1)))
                else:
                    number *= float(base) ** power
                power = 1
            found = _product(number, terms)
        listed.update(dict.fromkeys([name, *others], found))
    return listed


_POWER = re.compile(r"(?:\*\*|\^)\s*(\(?-?[0-9](?:\.5)?\)?)(?![\w.]|\s*\*\*|\s*\^)")
_BARE_NUMBER = re.compile(r"(?<![\w.])[0-9.]")


def _simple(unit: str) -> bool:
    """Whether pint may read a unit: it works powers out, and a tower of them would take for ever."""
    if len(unit) > 40 or "[" in unit:
        return False
    plain = _POWER.sub("", unit)
    return "**" not in plain and "^" not in plain and not _BARE_NUMBER.search(plain)


def _by_pint(unit: str) -> tuple[float, Dimension]:
    if not _simple(unit):
        raise QuantityError(f"unknown unit {unit}")
    try:
        quantity = _registry().Quantity(1.0, _registry().parse_units(unit)).to_base_units()
    except Exception as error:  # pint reads the unit with Python's own tokenizer: bad text raises many kinds
        raise QuantityError(f"unknown unit {unit}") from error
    return float(quantity.magnitude), tuple(sorted((k, float(v)) for k, v in quantity.dimensionality.items()))


@lru_cache(maxsize=1)
def _registry() -> Any:
    import pint  # 0.1 s: only for spellings that are not plain products

    return pint.UnitRegistry(str(_LIST))
