"""Airfoil sections as ordinates over the chord: four-digit sections by formula, others from a coordinate
file.

The four-digit formulas are those of NACA TR 460 (Jacobs, Ward and Pinkerton 1933; from memory), which NASA TM
4741 repeats: half thickness laid off square to the mean line.
"""

from __future__ import annotations

import math
import re
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

FRACTIONS: Array = (1 - np.cos(np.linspace(0, np.pi, 401))) / 2
"""Positions over the chord at which sections are kept: close together at both ends, where they curve most."""

_FOUR_DIGITS = re.compile(r"NACA\s*-?\s*(\d+)", re.IGNORECASE)


class AirfoilError(ValueError):
    """A section that cannot be used; the message finishes the sentence that its name begins."""


def section(text: str, folder: Path) -> tuple[Array, Array]:
    """Upper and lower ordinates of a section named in a wing file.

    Parameters
    ----------
    text : str
        "NACA 2412", or the name of a coordinate file.
    folder : Path
        Folder from which the file's name counts.

    Returns
    -------
    upper, lower : (401,) float arrays
        Ordinates at `FRACTIONS`, fractions of the chord.

    Raises
    ------
    AirfoilError
        Not a four-digit section, or a coordinate file that cannot be read.
    """
    match = _FOUR_DIGITS.fullmatch(text.strip())
    if match is None:
        return from_coordinates(folder / text)
    digits = match[1]
    if len(digits) != 4:
        raise AirfoilError(
            "is not a four-digit section; for another give the name of a file with its coordinates, x and y "
            "in "
            "two columns."
        )
    if digits[2:] == "00":
        raise AirfoilError("has no thickness; its last two digits are the thickness in % of the chord.")
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
    # Square to the mean line the points move off the stations, so a finer row is read back at them.
    x = (1 - np.cos(np.linspace(0, np.pi, 2001))) / 2
    half = half_thickness(x, thickness)
    ahead = x < camber_at
    rear = (1 - camber_at) ** 2
    line = np.where(
        ahead,
        camber / camber_at**2 * (2 * camber_at * x - x**2),
        camber / rear * (1 - 2 * camber_at + 2 * camber_at * x - x**2),
    )
    slope = np.where(ahead, 2 * camber / camber_at**2, 2 * camber / rear) * (camber_at - x)
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
    """Ordinates from a file of two columns, x and y, with or without a line for the name.

    Two orders are in use: one loop from the trailing edge round the nose and back, or two runs from the nose,
    upper surface first, in front of which the numbers of points may stand. Chord 1 or 100, or any other, is
    brought to 1.

    Parameters
    ----------
    path : Path
        The file.

    Returns
    -------
    upper, lower : (401,) float arrays
        Ordinates at `FRACTIONS`, fractions of the chord.

    Raises
    ------
    AirfoilError
        No such file, not text, a line that is not two numbers, or points that are no section.
    """
    try:
        text = path.read_text(encoding="utf-8")
    except FileNotFoundError:
        raise AirfoilError("is neither a four-digit section nor a coordinate file that is there.") from None
    except (OSError, UnicodeDecodeError):
        raise AirfoilError("cannot be read as a text file of coordinates.") from None
    points, counts = _points(text)
    one, other = _two_runs(points, counts)
    nose = min(one[0, 0], other[0, 0])
    chord = max(one[-1, 0], other[-1, 0]) - nose
    if not chord > 0:
        raise AirfoilError("has no chord: all its points lie at one x.")
    lead = one[0] if one[0, 0] <= other[0, 0] else other[0]
    surfaces = []
    for run in (one, other):
        if np.any(np.diff(run[:, 0]) < -1e-3 * chord):
            raise AirfoilError("is in no order that is known: x goes to and fro along one surface.")
        x, y = (run[:, 0] - nose) / chord, (run[:, 1] - lead[1]) / chord
        surfaces.append(_at_fractions(x, y))
    upper, lower = surfaces if surfaces[0].mean() >= surfaces[1].mean() else surfaces[::-1]
    inside = (FRACTIONS > 0.02) & (FRACTIONS < 0.98)
    if not np.all(upper[inside] > lower[inside]):
        raise AirfoilError("has surfaces that cross or touch between nose and tail.")
    return upper, lower


def _points(text: str) -> tuple[Array, tuple[int, int] | None]:
    """Points in the file's order, and the counts of the two runs where the file gives them."""
    points: list[tuple[float, float]] = []
    counts = None
    for number, line in enumerate(text.splitlines(), 1):
        words = line.replace(",", " ").split()
        if not words:
            continue
        pair = _pair(words)
        if pair is None:
            if points:
                raise AirfoilError(f"is unreadable at line {number}: {line.strip()[:40]!r} is not x and y.")
            continue
        whole = all(value == int(value) and value >= 3 for value in pair)
        if not points and counts is None and whole and "".join(words).replace(".", "").isdigit():
            counts = (int(pair[0]), int(pair[1]))
            continue
        points.append(pair)
    if counts is not None and len(points) != sum(counts):
        # What looked like the counts may be the first point of a section drawn on a chord of 100.
        points.insert(0, (float(counts[0]), float(counts[1])))
        counts = None
    if len(points) < 10:
        raise AirfoilError(f"has {len(points)} points; a section needs at least 10, x and y in two columns.")
    return np.array(points), counts


def _pair(words: list[str]) -> tuple[float, float] | None:
    if len(words) != 2:
        return None
    try:
        pair = float(words[0]), float(words[1])
    except ValueError:
        return None
    return pair if math.isfinite(pair[0]) and math.isfinite(pair[1]) else None


def _two_runs(points: Array, counts: tuple[int, int] | None) -> tuple[Array, Array]:
    """The two surfaces, each from the nose to the tail."""
    x = points[:, 0]
    if counts is not None:
        runs = points[: counts[0]], points[counts[0] :]
    elif abs(x[0] - x.min()) < 0.5 * np.ptp(x):
        back = np.flatnonzero(np.diff(x) < -0.5 * np.ptp(x))
        if len(back) != 1:
            raise AirfoilError("starts at the nose but does not hold two runs from nose to tail.")
        runs = points[: back[0] + 1], points[back[0] + 1 :]
    else:
        nose = int(np.argmin(x))
        runs = points[: nose + 1][::-1], points[nose:]
    if min(len(runs[0]), len(runs[1])) < 3:
        raise AirfoilError("has fewer than three points on one of its surfaces.")
    return runs


def _at_fractions(x: Array, y: Array) -> Array:
    """Ordinates at `FRACTIONS`; near the nose, where y grows with the root of x, linear in the root."""
    order = np.argsort(x, kind="stable")
    root = np.sqrt(np.clip(x[order], 0.0, None))
    return np.interp(np.sqrt(FRACTIONS), root, y[order])
