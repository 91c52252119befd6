"""A unit unlike the rest of the file: where a file is at fault, or odd, and one value read in the unit that
its likes have mends that, the value is told, and not what comes of it.

Nothing is judged here: the file is read again with the one value changed, and what reading it says decides.
"""

from __future__ import annotations

import copy
import re
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any, NamedTuple

import numpy as np

from models.wing.draft import Location
from models.wing.faults import Fault, WingFileError, as_written, path_of
from models.wing.parts import Wing
from models.wing.units import KINDS, QuantityError, read_quantity

_MOST_TRIED, _MOST_TRIED_OF_A_GOOD_FILE = 8, 3
"""Values that are tried, so that a fault is told at once (chosen)."""
_LONELY, _USUAL = 2, 5
"""How often a unit stands at most, and that of its likes at least, for a file without a fault to be asked."""
_AMONG = 3.0
"""How many times the largest of its likes a size may be, or the smallest be it, and still be of their kind
(chosen): the heaviest of a file's masses is no slip."""
_PARTED = re.compile(r"\s*([+-]?(?:\d+[ -]\d+/\d+|\d+/\d+|\d+\.?\d*|\.\d+))\s*([^\d\s].*?)\s*")
_IMPERIAL = {"in", "ft", "oz", "lb", "lbf", "ozf", "psi", "ksi", "mph", "ft/s", "hp", "lb/ft3"}
_KIND = {unit: name for name in reversed(KINDS) for unit in KINDS[name].units}
"""Kind of each unit; of one that serves several, the first."""


class _Read(NamedTuple):
    """A quantity as written: its place, number, unit and kind, and its size in SI, nan where it has none."""

    location: Location
    number: str
    unit: str
    kind: str
    size: float

    @property
    def likes(self) -> str:
        """What it is like in size: values under the same key, and masses all masses."""
        keys = [step for step in self.location if isinstance(step, str)]
        return "mass" if self.kind == "mass" else f"{self.kind} {keys[-1]}"


@dataclass(frozen=True)
class _Value:
    """A quantity as written: its place, number and unit, the unit that most of its kind have, and how often
    both stand."""

    location: Location
    number: str
    unit: str
    usual: str
    count: int
    count_usual: int

    def put(self, raw: dict[str, Any]) -> dict[str, Any]:
        """A copy of a file's data with the value in the usual unit."""
        out = copy.deepcopy(raw)
        here: Any = out
        for step in self.location[:-1]:
            here = here[step]
        here[self.location[-1]] = f"{self.number} {self.usual}"
        return out

    @property
    def words(self) -> str:
        """The sentence that the value begins."""
        others = "the others" if self.count == 1 else "most"
        return (
            f"is in {self.unit}, where {others} of its kind in this file are in {self.usual}; was "
            f"{self.number} {self.usual} meant?"
        )


def unlike_first(
    faults: Sequence[Fault], raw: dict[str, Any], read: Callable[[dict[str, Any]], Wing]
) -> Sequence[Fault]:
    """The faults of a file, or in their place the one value whose unit brings them about.

    Parameters
    ----------
    faults : sequence of Fault
        Of the file as it stands.
    raw : dict
        Its data.
    read : callable
        Reads data like it; `WingFileError` where it is at fault.

    Returns
    -------
    sequence of Fault
    """
    mends: list[tuple[int, int, _Value]] = []
    for k, value in enumerate(_unlike(raw)[:_MOST_TRIED]):
        if faults[0].key_path.startswith(path_of(_whole(value.location))):
            continue  # it is told already
        try:
            wing = read(value.put(raw))
        except WingFileError:
            continue
        mends.append((len(wing.cautions), k, value))
    if not mends:
        return faults
    best = min(mends)[2]
    first = faults[0]
    rest = f" Read as it stands, {first.key_path} {first.expected}" if first.key_path else ""
    written = as_written(_at(raw, best.location))
    return [Fault(path_of(best.location), written, best.words + rest)]


def unlike_beside(wing: Wing, raw: dict[str, Any], read: Callable[[dict[str, Any]], Wing]) -> Wing:
    """A wing with the value that brings its odd sizes about told before them.

    Parameters
    ----------
    wing : Wing
        As read.
    raw, read
        As for `unlike_first`.

    Returns
    -------
    Wing
    """
    odd = _odd(wing)
    if not odd:
        return wing
    lonely = [one for one in _unlike(raw) if one.count <= _LONELY and one.count_usual >= _USUAL]
    for value in lonely[:_MOST_TRIED_OF_A_GOOD_FILE]:
        path = path_of(value.location)
        if any(words.startswith(path_of(_whole(value.location))) for words in odd):
            continue
        try:
            left = _odd(read(value.put(raw)))
        except WingFileError:
            continue
        if set(left) < set(odd):
            told = f"{path}: {as_written(_at(raw, value.location))} {value.words}"
            return replace(wing, cautions=(told, *wing.cautions))
    return wing


def _odd(wing: Wing) -> list[str]:
    """Cautions about a value: they begin with its key."""
    return [words for words in wing.cautions if re.match(r"[a-z_]+[.\[][^ ]*: ", words)]


def _whole(location: Location) -> Location:
    """Of an entry of a pair of sizes, [root, tip], the pair: faults are told of that."""
    return location[:-1] if isinstance(location[-1], int) else location


def _at(raw: Any, location: Location) -> Any:
    for step in location:
        raw = raw[step]
    return raw


def _unlike(raw: dict[str, Any]) -> list[_Value]:
    """Quantities whose unit is not the one that most of their kind have: those of the other system of units
    first, then the rarest."""
    found: list[_Read] = []
    counts: dict[str, Counter[str]] = {}
    for location, text in _texts(raw, ()):
        match = _PARTED.fullmatch(text)
        if match is not None and match[2] in _KIND:
            kind = _KIND[match[2]]
            counts.setdefault(kind, Counter())[match[2]] += 1
            found.append(_Read(location, match[1], match[2], kind, _size(match[1], match[2], kind)))
    sizes: dict[str, list[float]] = {}
    for one in found:
        sizes.setdefault(one.likes, []).append(one.size)
    values = []
    for one in found:
        location, number, unit, kind, _ = one
        own = counts[kind][unit]
        usual, count = next(
            (both for both in counts[kind].most_common(2) if both[0] != unit and both[1] >= own), (unit, own)
        )
        if unit != usual and not _slipped(one, usual, sizes[one.likes]):
            continue
        # A fraction that no ruler of the other unit has is of an inch.
        if unit != usual and not ("/" in number and usual != "in"):
            values.append(_Value(location, number, unit, usual, own, count))
    return sorted(values, key=lambda one: ((one.unit in _IMPERIAL) == (one.usual in _IMPERIAL), one.count))


def _slipped(one: _Read, usual: str, likes: list[float]) -> bool:
    """Whether a size is out of the range of its likes (sizes in SI, itself among them) in its own unit, and
    within it in theirs.

    Kilograms beside grams are ordinary, any lighter wing flies slower, and whatever is too large for its
    place has room with millimetres for inches. Without likes it is left to what reading the file says.
    """
    others = np.array(likes)
    others = np.delete(others, np.flatnonzero(others == one.size)[:1])
    others = others[others > 0]
    if not len(others):
        return True
    low, high = others.min() / _AMONG, others.max() * _AMONG
    return bool(low <= _size(one.number, usual, one.kind) <= high and not low <= one.size <= high)


def _size(number: str, unit: str, kind: str) -> float:
    try:
        return abs(read_quantity(f"{number} {unit}", kind))
    except QuantityError:
        return np.nan


def _texts(value: Any, here: Location) -> Iterator[tuple[Location, str]]:
    if isinstance(value, str):
        yield here, value
    elif isinstance(value, dict):
        for key, item in value.items():
            yield from _texts(item, (*here, key))
    elif isinstance(value, list):
        for i, item in enumerate(value):
            yield from _texts(item, (*here, i))
