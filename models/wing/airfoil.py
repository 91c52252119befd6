"""Airfoil sections as ordinates over the chord: four- and five-digit sections by formula, others from a
coordinate file.

The four-digit formulas are those of NACA TR 460 (Jacobs, Ward and Pinkerton 1933; from memory), which NASA TM
4741 repeats: half thickness laid off square to the mean line. The five-digit mean lines are those of NACA TR
537 (Jacobs and Pinkerton 1935) and TR 610, with the figures that NASA TM 4741 lists (from memory, the same in
several published programs).
"""

from __future__ import annotations

import codecs
import math
import os
import re
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from fea.arrays import Array
from models.wing.intake import IntakeError, file_bytes

FRACTIONS: Array = (1 - np.cos(np.linspace(0, np.pi, 401))) / 2
"""Positions over the chord at which sections are kept: close together at both ends, where they curve most."""

_FOUR_DIGITS = re.compile(r"NACA\s*-?\s*(\d+)", re.IGNORECASE)


class AirfoilError(ValueError):
    """A section that cannot be used; the message finishes the sentence that its name begins."""


def section(text: str, folder: Path) -> tuple[Array, Array]:
    """Upper and lower ordinates at `FRACTIONS`, (401,) each, fractions of the chord, of a section named in a
    wing file: "NACA 2412", or a coordinate file in that folder.

    Raises
    ------
    AirfoilError
        Not a four- or five-digit section, or a coordinate file that cannot be read.
    """
    match = _FOUR_DIGITS.fullmatch(text.strip())
    if match is None:
        # A name with a folder as Windows writes it is one everywhere.
        here = os.path.lexists(folder / text)
        return from_coordinates(folder / (text if here else text.replace("\\", "/")))
    digits = match[1]
    if len(digits) not in (4, 5):
        raise AirfoilError(
            "is not a four- or five-digit section; for another give the name of a file with its coordinates, "
            "x and y in two columns."
        )
    if digits[-2:] == "00":
        raise AirfoilError("has no thickness; its last two digits are the thickness in % of the chord.")
    if len(digits) == 5:
        return five_digit(int(digits[0]), digits[1:3], int(digits[3:]) / 100)
    if (digits[0] == "0") != (digits[1] == "0"):
        raise AirfoilError(
            "has camber without a place for it, or the reverse; the first two digits are both 0 or neither."
        )
    return four_digit(int(digits[0]) / 100, int(digits[1]) / 10, int(digits[2:]) / 100)


def four_digit(camber: float, camber_at: float, thickness: float) -> tuple[Array, Array]:
    """Ordinates of a four-digit section, trailing edge left open as the formula leaves it.

    y_t = 5 t (0.2969 sqrt x - 0.1260 x - 0.3516 x^2 + 0.2843 x^3 - 0.1015 x^4), laid off square to the mean
    line m/p^2 (2 p x - x^2) ahead of p and m/(1-p)^2 (1 - 2p + 2 p x - x^2) behind it.

    Parameters
    ----------
    camber, camber_at, thickness : float
        m, p and t, fractions of the chord.

    Returns
    -------
    upper, lower : (401,) float arrays
        Ordinates at `FRACTIONS`, fractions of the chord.

    References
    ----------
    NACA TR 460, 1933 (from memory); NASA TM 4741, 1996.
    """
    if camber == 0:
        half = half_thickness(FRACTIONS, thickness)
        return half, -half
    x = _FINE
    ahead = x < camber_at
    rear = (1 - camber_at) ** 2
    line = np.where(
        ahead,
        camber / camber_at**2 * (2 * camber_at * x - x**2),
        camber / rear * (1 - 2 * camber_at + 2 * camber_at * x - x**2),
    )
    slope = np.where(ahead, 2 * camber / camber_at**2, 2 * camber / rear) * (camber_at - x)
    return _laid_off(line, slope, thickness)


_FINE: Array = (1 - np.cos(np.linspace(0, np.pi, 2001))) / 2
"""Square to the mean line the points move off the stations, so a finer row is read back at them."""

_MEAN_LINES = {
    "10": (0.0580, 361.40),
    "20": (0.1260, 51.640),
    "30": (0.2025, 15.957),
    "40": (0.2900, 6.643),
    "50": (0.3910, 3.230),
}
_REFLEXED = {
    "21": (0.1300, 51.990, 0.000764),
    "31": (0.2170, 15.793, 0.00677),
    "41": (0.3180, 6.520, 0.0303),
    "51": (0.4410, 3.191, 0.1355),
}
"""Second and third digit: r, k1 and k2/k1 of the mean line for a design lift coefficient of 0.3."""


def five_digit(lift: int, line: str, thickness: float) -> tuple[Array, Array]:
    """Ordinates of a five-digit section.

    Mean line k1/6 (x^3 - 3 r x^2 + r^2 (3 - r) x) ahead of r and k1 r^3/6 (1 - x) behind it; reflexed
    k1/6 ((x - r)^3 - k (1 - r)^3 x - r^3 x + r^3) and k1/6 (k (x - r)^3 - k (1 - r)^3 x - r^3 x + r^3) with
    k = k2/k1. Half thickness as of a four-digit section.

    Parameters
    ----------
    lift : int
        First digit: the design lift coefficient is 0.15 times as much.
    line : str
        Second and third digit: twice the place of the greatest camber in tenths of the chord; 1 if reflexed.
    thickness : float
        Fraction of the chord.

    Returns
    -------
    upper, lower : (401,) float arrays
        Ordinates at `FRACTIONS`, fractions of the chord.

    Raises
    ------
    AirfoilError
        No such mean line.

    References
    ----------
    NACA TR 537, 1935, and TR 610, 1937; NASA TM 4741, 1996.
    """
    if lift == 0 or line not in _MEAN_LINES.keys() | _REFLEXED.keys():
        known = ", ".join(sorted(_MEAN_LINES.keys() | _REFLEXED.keys()))
        raise AirfoilError(
            "is none of the five-digit sections: the first digit is 1 or more, the next two are one of "
            f"{known}."
        )
    x = _FINE
    if line in _MEAN_LINES:
        r, k1 = _MEAN_LINES[line]
        bent = np.minimum(x - r, 0.0)
        z = bent**3 + r**3 * (1 - x)
        slope = 3 * bent**2 - r**3
    else:
        r, k1, k = _REFLEXED[line]
        share = np.where(x < r, 1.0, k)
        z = share * (x - r) ** 3 - k * (1 - r) ** 3 * x - r**3 * x + r**3
        slope = 3 * share * (x - r) ** 2 - k * (1 - r) ** 3 - r**3
    size = k1 / 6 * 0.15 * lift / 0.3
    return _laid_off(size * z, size * slope, thickness)


def _laid_off(line: Array, slope: Array, thickness: float) -> tuple[Array, Array]:
    """Ordinates at `FRACTIONS` of a mean line at `_FINE` with the half thickness square to it."""
    x = _FINE
    half = half_thickness(x, thickness)
    turn = np.arctan(slope)
    upper_x, upper = x - half * np.sin(turn), line + half * np.cos(turn)
    lower_x, lower = x + half * np.sin(turn), line - half * np.cos(turn)
    surfaces = _at_fractions(upper_x, upper), _at_fractions(lower_x, lower)
    for surface in surfaces:
        # The nose bulges some 1e-4 of the chord ahead of its own point, which is where both surfaces begin.
        surface[0] = 0.0
    return surfaces


def half_thickness(x: Array, thickness: float) -> Array:
    """Half thickness of a four-digit section at x, fractions of the chord (formula in `four_digit`)."""
    return 5 * thickness * (0.2969 * np.sqrt(x) - 0.1260 * x - 0.3516 * x**2 + 0.2843 * x**3 - 0.1015 * x**4)


def from_coordinates(path: Path) -> tuple[Array, Array]:
    """Upper and lower ordinates at `FRACTIONS`, fractions of the chord, from a file of two columns, x and
    y, with or without a line for the name.

    Decimal commas, %, three columns (x, y and a constant; a count, x and y; or x with upper and lower
    ordinates), all numbers in one line, and names in Latin-1 are read too.

    Two orders are in use: one loop from the trailing edge round the nose and back, or two runs from the nose,
    upper surface first, in front of which the numbers of points may stand. Chord 1 or 100, or any other, is
    brought to 1.

    Raises
    ------
    AirfoilError
        No such file, not text, a line that is not two numbers, or points that are no section.
    """
    points, counts, lines = _points(_text(path))
    runs = _two_runs(points, counts)
    one, other = (points[run] for run in runs)
    nose = min(one[0, 0], other[0, 0])
    chord = max(one[-1, 0], other[-1, 0]) - nose
    if not chord > 0:
        raise AirfoilError("has no chord: all its points lie at one x.")
    lead = one[0] if one[0, 0] <= other[0, 0] else other[0]
    surfaces = []
    for run, index in ((one, runs[0]), (other, runs[1])):
        back = np.flatnonzero(np.diff(run[:, 0]) < -1e-3 * chord)
        if len(back):
            there = sorted((lines[index[back[0]]], lines[index[back[0] + 1]]))
            raise AirfoilError(
                "is in no order that is known: x goes to and fro along one surface, between lines "
                f"{there[0]} and {there[1]}."
            )
        x, y = (run[:, 0] - nose) / chord, (run[:, 1] - lead[1]) / chord
        surfaces.append(_at_fractions(x, y))
    _whole(one, other, nose, chord, [[lines[k] for k in run] for run in runs])
    _upright(one, other, lead, chord)
    for run, index in ((one, runs[0]), (other, runs[1])):
        for refuse in (_smooth, _steps, _ends, _gap):
            refuse(run, nose, chord, [lines[k] for k in index])
    upper, lower = surfaces if surfaces[0].mean() >= surfaces[1].mean() else surfaces[::-1]
    inside = (FRACTIONS > 0.02) & (FRACTIONS < 0.98)
    if not np.all(upper[inside] > lower[inside]):
        raise AirfoilError("has surfaces that cross or touch between nose and tail.")
    if np.max(upper - lower) > _THICKEST:
        raise AirfoilError(
            f"is {100 * float(np.max(upper - lower)):.0f} % of its chord thick; no wing has more than "
            f"{100 * _THICKEST:.0f} %. Are x and y exchanged?"
        )
    if np.max(upper - lower) < _THINNEST:
        raise AirfoilError(
            f"is {100 * float(np.max(upper - lower)):.2g} % of its chord thick; a wing that is built up has "
            f"{100 * _THINNEST:.0f} % or more. Are x and y in two units?"
        )
    return upper, lower


_THICKEST = 0.6
"""Of a section, of its chord (chosen, no source: cylinders are no wings)."""
_THINNEST = 0.01
"""Of a section, of its chord (chosen, no source)."""
_SHORT = 0.02
"""Of the chord by which one surface may end before the other (chosen, no source)."""
_TURNED = math.radians(2)
"""Between the chord line of a file and its x axis (chosen, no source); washout is a key of the station."""
_SPIKE = 0.005
"""Of the chord by which one point may stand out from its neighbours (chosen, no source)."""


def _text(path: Path) -> str:
    """Text of a coordinate file: UTF-8, or an older encoding where a name has its letters."""
    try:
        raw = file_bytes(path)
    except IntakeError as error:
        if error.missing:
            raise AirfoilError(
                "is neither a four- or five-digit section nor a coordinate file that is there."
            ) from None
        raise AirfoilError(f"cannot be read as a text file of coordinates: {error}") from None
    if raw.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        raise AirfoilError("cannot be read: it is text in UTF-16; save it in UTF-8.")
    for encoding in ("utf-8-sig", "cp1252", "latin-1"):
        try:
            text = raw.decode(encoding)
        except UnicodeDecodeError:
            continue
        if not _UNPRINTABLE.search(text):
            return text
    raise AirfoilError("cannot be read as a text file of coordinates: it holds bytes that are no text.")


_UNPRINTABLE = re.compile(r"[\x00-\x08\x0e-\x19\x1b-\x1f\x7f-\x84\x86-\x9f]")
_WHOLE_LINE = 20
"""Numbers in one line from which on it holds a whole section."""


def _points(text: str) -> tuple[Array, tuple[int, int] | None, list[int]]:
    """Points in the file's order, the counts of the two runs where the file gives them, and lines."""
    rows, counts, lines = _rows(text)
    width = {len(row) for row in rows}
    if len(rows) <= 2 and rows and len(rows[-1]) >= _WHOLE_LINE:
        if sum(len(row) for row in rows) % 2:
            raise AirfoilError("holds an odd count of numbers in one line; a point is x and y.")
        flat = np.concatenate([np.array(row) for row in rows]).reshape(-1, 2)
        return flat, None, [lines[0]] * len(flat)
    if width == {3}:
        return _three(np.array(rows), lines)
    for row, line in zip(rows, lines):
        if len(row) != 2:
            written = " ".join(f"{value:g}" for value in row)[:40]
            if len(row) == 4 and all(value == int(value) for value in row) and "," in text:
                raise AirfoilError(
                    f"is unreadable at line {line}: commas stand for decimal points and between the numbers "
                    "too; write 0.125 with a point, or blanks between the numbers."
                )
            raise AirfoilError(f"is unreadable at line {line}: {written!r} is not x and y.")
    points = [(row[0], row[1]) for row in rows]
    largest = max((abs(value) for point in points for value in point), default=0.0)
    if counts is not None and len(points) != sum(counts) and largest < 0.9 * counts[0] and points:
        raise AirfoilError(
            f"says in front that {counts[0]} and {counts[1]} points follow, and {len(points)} do; is it cut "
            "off, or what stands in front not the numbers of points?"
        )
    if counts is not None and len(points) != sum(counts):
        # What looked like the counts may be the first point of a section drawn on a chord of 100.
        points.insert(0, (float(counts[0]), float(counts[1])))
        lines.insert(0, lines[0] if lines else 1)
        counts = None
    if len(points) < 10:
        raise AirfoilError(f"has {len(points)} points; a section needs at least 10, x and y in two columns.")
    found = np.array(points)
    if np.abs(found).max() > 1e6:
        raise AirfoilError("has coordinates beyond a million; give them on a chord of 1 or 100, or in mm.")
    return found, counts, lines


def _rows(text: str) -> tuple[list[list[float]], tuple[int, int] | None, list[int]]:
    """Numbers of every line that holds some, the counts of two runs if they stand in front, and lines."""
    text = text.replace('"', " ").replace("\u2212", "-")
    written = [(n, line.strip()) for n, line in enumerate(text.splitlines(), 1) if line.strip()]
    comma = _decimal_comma([line for _, line in written])
    rows: list[list[float]] = []
    lines: list[int] = []
    counts = None
    percent = set()
    for number, line in written:
        if line.startswith("#"):
            continue
        words = (line.replace(";", " ").replace(",", ".") if comma else re.sub("[,;]", " ", line)).split()
        marks = [word for word in words if word != "%"]
        values = _numbers([word.removesuffix("%") for word in marks])
        if values is None and not rows and len(marks) > _WHOLE_LINE:  # a name before all numbers in one line
            first = next((k for k in range(len(marks)) if _numbers(marks[k:]) is not None), len(marks))
            values = _numbers(marks[first:])
        if values is None or (len(values) < 2 and not rows):
            if rows:
                raise AirfoilError(f"is unreadable at line {number}: {line[:40]!r} is not x and y.")
            continue
        whole = len(values) == 2 and all(value == int(value) and value >= 3 for value in values)
        if not rows and counts is None and whole and "".join(words).replace(".", "").isdigit():
            counts = (int(values[0]), int(values[1]))
            continue
        percent.add("".join(words).count("%"))
        rows.append(values)
        lines.append(number)
    if len(percent) > 1 or percent == {1}:
        raise AirfoilError("gives some of its coordinates in % and some not; write all of them one way.")
    return rows, counts, lines


_COMMA_NUMBER = re.compile(r"[+-]?\d+(?:,\d+)?%?")


def _decimal_comma(lines: list[str]) -> bool:
    """Whether numbers are written "0,125": two or three a line apart by blanks, and no decimal point."""
    data = [words for words in (line.replace(";", " ").split() for line in lines) if words]
    like = [words for words in data if len(words) > 1 and all(_COMMA_NUMBER.fullmatch(w) for w in words)]
    points = sum("." in word and _numbers([word]) is not None for words in data for word in words)
    commas = sum(any("," in word for word in words) for words in like)
    return not points and len(like) >= max(0.8 * len(data), len(data) - 2) and commas > len(like) / 2


def _numbers(words: list[str]) -> list[float] | None:
    try:
        values = [
            float(word.replace("D", "e").replace("d", "e") if word[:1] in _FIGURES else word)
            for word in words
        ]
    except ValueError:
        return None
    return values if values and all(math.isfinite(value) for value in values) else None


_FIGURES = frozenset("+-.0123456789")


def _three(rows: Array, lines: list[int]) -> tuple[Array, None, list[int]]:
    """Points of three columns: x, y and a z that says nothing, a count with x and y, or both surfaces."""
    first, second, third = rows.T
    if np.ptp(third) <= 1e-9 * max(float(np.ptp(first)), 1e-9):
        return rows[:, :2], None, lines
    steps = np.diff(first)
    if len(first) > 3 and np.all(steps == 1) and first[0] in (0, 1):
        return rows[:, 1:], None, lines
    if np.all(steps > 0) and np.all(second >= third):
        upper, lower = np.stack([first, second], axis=1), np.stack([first, third], axis=1)
        return np.concatenate([upper[::-1], lower[1:]]), None, [*lines[::-1], *lines[1:]]
    raise AirfoilError(
        "has three columns, and they are neither x, y and a constant nor x with upper and lower ordinates; "
        "write x and y in two columns."
    )


def _whole(one: Array, other: Array, nose: float, chord: float, lines: list[list[int]]) -> None:
    """Refuse a file of which one surface ends, or begins, before the other: it was cut off."""
    for end, word in ((-1, "ends"), (0, "begins")):
        x = (one[end, 0] - nose) / chord, (other[end, 0] - nose) / chord
        if abs(x[0] - x[1]) > _SHORT:
            k = int(np.argmin(x)) if end == -1 else int(np.argmax(x))
            raise AirfoilError(
                f"is cut off: one surface {word} at {100 * x[k]:.3g} % of the chord (line {lines[k][end]}), "
                f"the other at {100 * x[1 - k]:.3g} %; both must run from nose to tail."
            )


def _upright(one: Array, other: Array, lead: Array, chord: float) -> None:
    """Refuse a section that is turned against its axes."""
    rise = (one[-1, 1] + other[-1, 1]) / 2 - lead[1]
    angle = math.atan2(rise, chord)
    if abs(angle) > _TURNED:
        raise AirfoilError(
            f"is turned by {abs(math.degrees(angle)):.2g} degrees: its tail lies "
            f"{100 * abs(rise) / chord:.3g} % of the chord {'above' if rise > 0 else 'below'} its nose; put "
            "both on the x axis, and use washout for an angle of the wing."
        )


def _smooth(run: Array, nose: float, chord: float, lines: list[int]) -> None:
    """Refuse a point that stands out from its neighbours on both sides: a slip of one figure."""
    root = np.sqrt(np.clip((run[:, 0] - nose) / chord, 0.0, None))
    y = run[:, 1] / chord
    if len(y) < 6:
        return
    ahead, here, behind = root[:-2], root[1:-1], root[2:]
    span = behind - ahead
    share = np.where(span > 1e-3, (here - ahead) / np.where(span > 1e-3, span, 1.0), 0.5)
    out = np.zeros(len(y))
    out[1:-1] = np.where(
        (here - ahead > 1e-4) & (behind - here > 1e-4), y[1:-1] - y[:-2] * (1 - share) - y[2:] * share, 0.0
    )
    for k in np.argsort(-np.abs(out)):
        # A smooth line leaves its chord by the square of the step; what is left is a slip.
        if abs(out[k]) <= _SPIKE + 0.1 * (root[min(k + 1, len(y) - 1)] - root[max(k - 1, 0)]) ** 2:
            continue
        beside = [out[m] * np.sign(out[k]) for m in (k - 1, k + 1) if 0 < m < len(y) - 1]
        if all(value < -0.15 * abs(out[k]) for value in beside):
            raise AirfoilError(
                f"has a spike at line {lines[k]}: the point at {100 * (run[k, 0] - nose) / chord:.3g} % of "
                f"the chord stands {100 * abs(out[k]):.2g} % of the chord off the line of its neighbours."
            )


_STEEP = 1.0
"""Rise over run that no surface has between a tenth of the chord and a rounded tail (chosen, no source: the
thickest section that is read has 0.85)."""


def _steps(run: Array, nose: float, chord: float, lines: list[int]) -> None:
    """Refuse a surface that jumps to another height: a point of the other surface, or a misplaced one."""
    x, y = (run[:, 0] - nose) / chord, run[:, 1] / chord
    along, rise = np.diff(x), np.abs(np.diff(y))
    out = (x[:-1] > 0.1) & (x[1:] < 0.95) & (rise > _SPIKE) & (rise > _STEEP * along)
    if out.any():
        k = int(np.argmax(np.where(out, rise, 0.0)))
        there = sorted((lines[k], lines[k + 1]))
        raise AirfoilError(
            f"has a step between lines {there[0]} and {there[1]}: at {100 * x[k + 1]:.3g} % of the chord one "
            f"surface jumps by {100 * rise[k]:.2g} % of the chord; is a point on the wrong surface?"
        )


def _ends(run: Array, nose: float, chord: float, lines: list[int]) -> None:
    """Refuse a tail or a nose that stands off the points beside it."""
    x, y = (run[:, 0] - nose) / chord, run[:, 1] / chord
    if len(x) < 6:
        return
    step = float(x[-2] - x[-3])
    if step > 1e-4 and x[-1] - x[-2] < 0.1:
        along = float(x[-1] - x[-2])
        off = float(y[-1] - y[-2] - (y[-2] - y[-3]) / step * along)
        if abs(off) > _SPIKE + 0.5 * along:
            raise AirfoilError(
                f"has a spike at line {lines[-1]}: its tail stands {100 * abs(off):.2g} % of the chord off "
                "the line of the points before it."
            )


_WIDE_GAP = 0.15
"""Of the chord between two points of a surface that may hide a curve (chosen, no source)."""


def _gap(run: Array, nose: float, chord: float, lines: list[int]) -> None:
    """Refuse a surface that lacks points where it is not straight: some lines were lost."""
    x, y = (run[:, 0] - nose) / chord, run[:, 1] / chord
    steps = np.diff(x)
    if len(x) < 8:
        return
    k = int(steps.argmax())
    if steps[k] < max(_WIDE_GAP, 3 * float(np.median(steps))) or not 1 < k < len(x) - 3:
        return
    before = (y[k] - y[k - 1]) / max(x[k] - x[k - 1], 1e-6)
    after = (y[k + 2] - y[k + 1]) / max(x[k + 2] - x[k + 1], 1e-6)
    # What a smooth line (a cubic with these slopes) would rise between over the straight one.
    bulge = abs(before - after) * steps[k] / 8
    if bulge > _SPIKE:
        ends = sorted((lines[k], lines[k + 1]))
        raise AirfoilError(
            f"has no points from {100 * x[k]:.0f} to {100 * x[k + 1]:.0f} % of the chord on one surface, "
            f"between lines {ends[0]} and {ends[1]}, where it is curved: some were lost."
        )


def _two_runs(points: Array, counts: tuple[int, int] | None) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """The two surfaces, each from the nose to the tail, as positions among the points."""
    x = points[:, 0]
    index = np.arange(len(x))
    if counts is not None:
        runs = index[: counts[0]], index[counts[0] :]
    elif abs(x[0] - x.min()) < 0.5 * np.ptp(x):
        back = np.flatnonzero(np.diff(x) < -0.5 * np.ptp(x))
        if len(back) == 0 and np.all(np.diff(x) >= 0):
            raise AirfoilError(
                "has one surface only: x runs once from nose to tail; give the other one after it, or "
                "both in one loop."
            )
        if len(back) != 1:
            raise AirfoilError("starts at the nose but does not hold two runs from nose to tail.")
        runs = index[: back[0] + 1], index[back[0] + 1 :]
    else:
        nose = int(np.argmin(x))
        runs = index[: nose + 1][::-1], index[nose:]
    short = min(len(runs[0]), len(runs[1]))
    if short < 3 and max(len(runs[0]), len(runs[1])) > 6 and np.ptp(x) > 0:
        raise AirfoilError(
            f"has one surface only: of {len(x)} points {len(x) - short} lie on one surface, from the tail "
            "to the nose; give the other one after it."
        )
    if short < 3:
        raise AirfoilError("has fewer than three points on one of its surfaces.")
    return runs


def _at_fractions(x: Array, y: Array) -> Array:
    """Ordinates at `FRACTIONS`; near the nose, where y grows with the root of x, linear in the root."""
    order = np.argsort(x, kind="stable")
    root = np.sqrt(np.clip(x[order], 0.0, None))
    return np.interp(np.sqrt(FRACTIONS), root, y[order])
