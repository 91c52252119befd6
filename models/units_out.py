"""Units in which figures are told: metric, or a builder's inches, ounces and miles per hour.

Every figure stays in SI until it is printed; whoever prints one asks a `Kind` of this module, which knows
the unit, its name and how many digits mean something in it: ``f"{say.length(y):.1f}"`` where the module
is known as `say`. The format is that of the metric figure, so that metric words are what they are told to
be, and the other unit takes the digits that are worth as much. Inches that a builder reads off a ruler
are fractions: `ruler` to the nearest 64th for what is measured off, `size` for what is bought or planed,
a fraction alone where it is one and a decimal where not. Sizes of units: `models/wing/units.txt`.

Which system is spoken is one setting of the process (`speak`): the option --units, else the wing file's own.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from models.gravity import GRAVITY
from models.rounding import down as rounded_down

METRIC, IMPERIAL = "metric", "imperial"
SYSTEMS = (METRIC, IMPERIAL)
INCH, POUND, POUND_FORCE = 0.0254, 0.45359237, 4.4482216152605
OUNCE, OUNCE_FORCE, MILE_PER_HOUR = POUND / 16, POUND_FORCE / 16, 0.44704
PSI = POUND_FORCE / INCH**2
FOOT = 12 * INCH
_DEGREE = math.pi / 180
_DEGREES = 180 / math.pi
_PARTS = 64
"""Of an inch on the finest ruler that a builder reads."""
_EXACT = 5e-4
"""Inches within which a size is the fraction that it is told as: half of the last digit of its decimal."""
_FORMAT = re.compile(r"(?P<sign>\+?)(?:\.(?P<places>\d+))?(?P<form>[fg]?)")

_spoken, _bound = METRIC, False


def system() -> str:
    """Which system is spoken now: "metric" or "imperial"."""
    return _spoken


def imperial() -> bool:
    """Whether inches are spoken."""
    return _spoken == IMPERIAL


def adopt(units: str) -> None:
    """Speak a wing's own units, unless an option has said which (`speak`)."""
    global _spoken
    if not _bound:
        _spoken = units


@contextmanager
def speak(units: str | None = None, *, bind: bool = True) -> Iterator[None]:
    """Speak a system for a while, whatever the wing says; None: metric until a wing is read. With `bind` a
    wing that is read meanwhile has no say."""
    global _spoken, _bound
    before = _spoken, _bound
    _spoken, _bound = units or METRIC, bind and units is not None
    try:
        yield
    finally:
        _spoken, _bound = before


@contextmanager
def reading(units: str) -> Iterator[None]:
    """Speak a file's units in what is found wrong in it, unless an option has said which."""
    if _bound:
        yield
        return
    with speak(units, bind=False):
        yield


_INCHES = re.compile(r"\d\s*(?:in|inch|inches|ft|foot|feet|''|[\"'])\s*$")
_METRES = re.compile(r"\d\s*(?:mm|cm|m|millimet(?:er|re)s?|centimet(?:er|re)s?|met(?:er|re)s?)\s*$")


def units_of(raw: Mapping[str, Any]) -> str:
    """The units of a wing file: its key `units`, else those in which most of its lengths are written. Of the
    file as it is parsed."""
    said = raw.get("units")
    if said in SYSTEMS:
        return str(said)
    inches = metres = 0
    left: list[Any] = [raw]
    while left:
        one = left.pop()
        if isinstance(one, Mapping):
            left += one.values()
        elif isinstance(one, list):
            left += one
        elif isinstance(one, str) and len(one) < 40:
            inches += bool(_INCHES.search(one))
            metres += bool(_METRES.search(one))
    return IMPERIAL if inches > metres else METRIC


@dataclass(frozen=True)
class Unit:
    """A unit in which a kind of quantity is told: its name, what a figure in SI is multiplied by, and how
    many more places than the metric unit's figure are worth as much (fewer where negative)."""

    name: str
    times: float
    more: int = 0

    def places(self, places: int) -> int:
        """As many as are worth what so many of the metric unit are, three at most where those are fewer."""
        return max(min(places + self.more, max(places, 3)), 0)


@dataclass(frozen=True)
class Kind:
    """A kind of quantity as it is told: called, a figure with its unit for a format like ".1f" of the metric
    unit; `fixed` and `number` are cells of a table whose head has the `unit`.

    Parameters
    ----------
    metric, other : Unit
        In either system.
    form : str
        How inches are written: "decimal", "ruler" or "size".
    """

    metric: Unit
    other: Unit
    form: str = "decimal"

    @property
    def now(self) -> Unit:
        """The unit spoken."""
        return self.other if imperial() else self.metric

    @property
    def unit(self) -> str:
        """Its name."""
        return self.now.name

    @property
    def factor(self) -> float:
        """What a figure in SI is to be multiplied by."""
        return self.now.times

    def __call__(self, value: float) -> Told:
        """A figure (SI) to be put into a sentence with its unit."""
        return Told(self, value)

    def bare(self, value: float, spec: str = "") -> str:
        """Without the unit, as an f-string's format of the metric figure has it."""
        if not imperial():
            return format(value * self.metric.times, spec)
        figure = value * self.other.times
        wanted = _FORMAT.fullmatch(spec)
        if wanted is None or not math.isfinite(figure):
            return format(figure, spec)
        if self.form != "decimal":
            text = fraction(figure, exact=self.form == "size")
            return "+" + text if wanted["sign"] and figure > 0 else text
        places = wanted["places"]
        if wanted["form"] == "f":
            text = format(figure, f"{wanted['sign']}.{self.other.places(int(places or 6))}f")
            return text.removeprefix("-") if not text.strip("-0.") else text
        digits = 3 if places is None else int(places)
        text = format(figure, f"{wanted['sign']}.{digits}g")
        return plain(figure, digits, wanted["sign"]) if "e" in text else text

    def fixed(self, value: float | None, places: int = 1) -> str:
        """To so many places of the metric unit; "-" for none, and no minus before a zero."""
        if value is None:
            return "-"
        text = self.bare(value, f".{places}f")
        return text.removeprefix("-") if not text.strip("-0.") else text

    def number(self, value: float | None, digits: int = 4) -> str:
        """To so many significant digits, plain where that is readable; "-" for none."""
        from models.report.text import number

        if value is not None and imperial() and self.form != "decimal":
            return self.bare(value)
        if value is not None and imperial() and math.isfinite(value):  # in psi a modulus has many digits
            return number(float(f"{value * self.other.times:.{digits}g}"), 1.0, digits)
        return number(value, self.factor, digits)

    def down(self, value: float, places: int = 0) -> str:
        """Rounded down, as what may be asked of a wing is told."""
        return rounded_down(value * self.now.times, self.other.places(places) if imperial() else places)

    def up(self, value: float, places: int = 0) -> str:
        """Rounded up, away from nothing: what is missing is never told as 0."""
        places = self.other.places(places) if imperial() else places
        unit = 10**places
        return f"{max(math.ceil(abs(value) * self.now.times * unit - 1e-6), 1) / unit:.{places}f}"

    def told(self, value: float | None, places: int = 1) -> str:
        """As `fixed`, with its unit."""
        return f"{self.fixed(value, places)} {self.unit}"

    def at_most(self, value: float) -> str:
        """As `down`, with its unit."""
        return f"{self.down(value)} {self.unit}"

    def each(self, *values: float, spec: str = ".1f", by: str = " x ") -> str:
        """Several with one unit behind: "10 x 6 mm"."""
        return by.join(self.bare(value, spec) for value in values) + f" {self.unit}"


@dataclass(frozen=True)
class Told:
    """A figure that an f-string writes with its unit."""

    kind: Kind
    value: float

    def __format__(self, spec: str) -> str:
        return f"{self.kind.bare(self.value, spec)} {self.kind.unit}"

    def __str__(self) -> str:
        return format(self, "")


def plain(value: float, digits: int, sign: str = "") -> str:
    """So many significant digits without an exponent."""
    if value == 0 or not math.isfinite(value):
        return f"{value:{sign}.0f}"
    return f"{value:{sign}.{max(digits - 1 - math.floor(math.log10(abs(value))), 0)}f}"


def fraction(inches: float, *, exact: bool = False) -> str:
    """Inches as a ruler has them, to the nearest 64th: "3/32", "10 1/2". With `exact` a length that is no
    such fraction within half a thousandth is a decimal of three places; else the fraction is off by 1/128 at
    the most."""
    parts = round(abs(inches) * _PARTS)
    if exact and abs(abs(inches) - parts / _PARTS) > _EXACT:
        return f"{inches:.3f}"
    whole, rest = divmod(parts, _PARTS)
    below = math.gcd(rest, _PARTS)
    words = [str(whole)] if whole or not rest else []
    words += [f"{rest // below}/{_PARTS // below}"] if rest else []
    return ("-" if inches < 0 and parts else "") + " ".join(words)


load_factor = Kind(Unit("g", 1.0), Unit("g", 1.0))
angle = Kind(Unit("deg", _DEGREES), Unit("deg", _DEGREES))
_MM, _IN = Unit("mm", 1e3), Unit("in", 1 / INCH, 2)
length = Kind(_MM, _IN)
"""Movements and places told in decimals."""
ruler = Kind(_MM, _IN, "ruler")
"""Places and lengths measured off with a ruler."""
size = Kind(_MM, _IN, "size")
"""Of sticks and sheets, as they are bought and planed."""
span = Kind(Unit("m", 1.0), Unit("ft", 1 / FOOT))
"""Spans, radii and heights."""
area = Kind(Unit("dm2", 100.0), Unit("in2", 1 / (INCH**2)))
piece_area = Kind(Unit("cm2", 1e4), Unit("in2", 1 / (INCH**2), 1))
film_area = Kind(Unit("m2", 1.0), Unit("ft2", 1 / (FOOT**2)))
mass = Kind(Unit("g", 1e3), Unit("oz", 1 / OUNCE, 1))
grams = Kind(Unit("grams", 1e3), Unit("oz", 1 / OUNCE, 1))
"""Masses in tables where "g" would be taken for times the weight."""
bag_mass = Kind(Unit("grams", 1e3), Unit("oz", 1 / OUNCE, 2))
"""Of what is weighed off for a test, whose steps are so many g."""
whole_mass = Kind(Unit("kg", 1.0), Unit("lb", 1 / POUND))
force = Kind(Unit("N", 1.0), Unit("lbf", 1 / POUND_FORCE, 1))
moment = Kind(Unit("N m", 1.0), Unit("in-lbf", 1 / (INCH * POUND_FORCE)))
small_moment = Kind(Unit("N mm", 1e3), Unit("in-ozf", 1 / (INCH * OUNCE_FORCE), 1))
servo_moment = Kind(Unit("kg cm", 1 / 9.80665e-2), Unit("in-ozf", 1 / (INCH * OUNCE_FORCE)))
turn_stiffness = Kind(Unit("N m/rad", 1.0), Unit("in-lbf/rad", 1 / (INCH * POUND_FORCE)))
bending_stiffness = Kind(Unit("N/mm", 1e-3), Unit("lbf/in", 1 / (POUND_FORCE / INCH)))
torsion_stiffness = Kind(Unit("N m/deg", _DEGREE), Unit("in-lbf/deg", 1 / (INCH * POUND_FORCE / _DEGREE)))
shear_flow = Kind(Unit("N/mm", 1e-3), Unit("lbf/in", 1 / (POUND_FORCE / INCH)))
force_per_span = Kind(Unit("N/m", 1.0), Unit("lbf/ft", 1 / (POUND_FORCE / FOOT), 1))
stress = Kind(Unit("MPa", 1e-6), Unit("psi", 1 / PSI, -2))
stiff_stress = Kind(Unit("GPa", 1e-9), Unit("ksi", 1 / (1e3 * PSI), -2))
speed = Kind(Unit("km/h", 3.6), Unit("mph", 1 / MILE_PER_HOUR))
wind = Kind(Unit("m/s", 1.0), Unit("ft/s", 1 / FOOT))
density = Kind(Unit("kg/m3", 1.0), Unit("lb/ft3", 1 / (POUND / FOOT**3), 1))
film_mass = Kind(Unit("g/m2", 1e3), Unit("oz/ft2", 1 / (OUNCE / FOOT**2), 2))
# Weight over area in SI, told as the mass that has it.
wing_loading = Kind(Unit("g/dm2", 10 / GRAVITY), Unit("oz/ft2", 1 / (OUNCE_FORCE / FOOT**2), 1))
inertia = Kind(Unit("kg m2", 1.0), Unit("lb ft2", 1 / (POUND * FOOT**2)))
small_inertia = Kind(Unit("g m2", 1e3), Unit("oz ft2", 1 / (OUNCE * FOOT**2)))
KINDS = {name: one for name, one in globals().items() if isinstance(one, Kind)}
"""By name."""


def with_units(label: str) -> str:
    """A label in which units stand as kinds, "{force} per {length}", with their names."""
    return label.format(**{name: kind.unit for name, kind in KINDS.items()})


def quantity(value: float, kind: str, spec: str = "") -> str:
    """A quantity (SI) of a kind, one of `KINDS`, with its unit; to four digits and without a power of
    ten where no other format is given.

    Examples
    --------
    >>> quantity(0.0015875, "size", ".1f")
    '1.6 mm'
    >>> quantity(22.2, "length")
    '22200 mm'
    >>> with speak("imperial"):
    ...     quantity(0.0015875, "size", ".1f")
    '1/16 in'
    """
    one = KINDS[kind]
    if not spec and abs(value) * one.factor >= 1e4:
        return f"{plain(value * one.factor, 4)} {one.unit}"
    return format(one(value), spec or ".4g")


def unit_of(si: str) -> tuple[float, str]:
    """What a figure in a unit of SI, "Pa" or "N/m", is multiplied by to be told, and the unit's name then."""
    kinds = {"Pa": stress, "N": force, "N/m": force_per_span, "N m": moment, "m": span}
    return (kinds[si].factor, kinds[si].unit) if si in kinds else (1.0, si)


def ruler_word() -> str:
    """The unit of a ruler in a title or a sentence, where "in" would be misread."""
    return "inches" if imperial() else "mm"


def small_mass() -> str:
    """The unit of mass of which one buys something, in words."""
    return "ounce" if imperial() else "gram"


def a_small_mass() -> str:
    """The same with its article."""
    return "an ounce" if imperial() else "a gram"


_WRITTEN = re.compile(r"(?P<number>-?\d+(?:\.\d+)?) (?P<unit>mm|kg/m3|g/m2|km/h|m/s|N/m|N m|kg|N|m)(?![\w/])")


def as_spoken(text: str) -> str:
    """A default as the schema writes it, its metric quantities in the units spoken."""

    def other(match: re.Match[str]) -> str:
        kind = next(one for one in KINDS.values() if one.metric.name == match["unit"])
        return format(kind(float(match["number"]) / kind.metric.times), ".4g")

    return _WRITTEN.sub(other, text) if imperial() else text


_COLUMNS = {"_mm2": ("_in2", 1e-6, INCH**2), "_mm": ("_in", 1e-3, INCH), "_g": ("_oz", 1e-3, OUNCE)}


def column(name: str) -> str:
    """A column of a CSV file, "thickness_mm", as it is called in the units spoken."""
    for end, (other, *_) in _COLUMNS.items() if imperial() else ():
        if name.endswith(end):
            return name.removesuffix(end) + other
    return name


def columns(row: Mapping[str, Any]) -> dict[str, Any]:
    """A row of a CSV file whose columns are named for their units, in the units spoken."""
    out = {}
    for name, value in row.items():
        end = next((end for end in _COLUMNS if imperial() and name.endswith(end)), None)
        if end is not None and isinstance(value, int | float):
            _, size, other = _COLUMNS[end]
            value = round(value * size / other, 4)
        out[column(name)] = value
    return out


def mass_words(value: float) -> str:
    """A mass (kg) as it is told, three digits: grams below a kilogram, ounces below a pound."""
    if not imperial():
        return f"{value:.3g} kg" if value >= 0.9995 else f"{1e3 * value:.3g} g"
    ounces = value / OUNCE
    if round(ounces, 1) < 16:
        return f"{plain(ounces, 3)} oz" if ounces < 10 else f"{ounces:.1f} oz"
    pounds, rest = divmod(round(ounces, 0 if ounces >= 160 else 1), 16)
    return f"{pounds:.0f} lb" + (f" {rest:.3g} oz" if rest else "")


def mass_beside_gees(value: float) -> str:
    """As `mass_words`, with grams spelled out: where "g" alone is times the weight."""
    text = mass_words(value)
    return f"{text}rams" if text.endswith(" g") else text
