"""How loads, reserve factors and shares are rounded wherever they are told: down."""

from __future__ import annotations

import math


def down(value: float, places: int = 1, unlimited: str = "no limit") -> str:
    """A figure rounded down, so that what is printed is never more than what was found. Not negative, with so
    many places behind the point; `unlimited` where nothing is loaded."""
    if not math.isfinite(value):
        return unlimited
    return f"{math.floor(10**places * value + 1e-9) / 10**places:.{places}f}"


def gees(value: float, places: int = 1) -> str:
    """A load factor flown or asked for, of either sign, towards none: as every other place tells it.

    Parameters
    ----------
    value : float
        Times the weight; below zero inverted.
    places : int, default 1
        Behind the point.

    Returns
    -------
    str
    """
    said = down(abs(value), places)
    return f"-{said}" if value < 0 and said.strip("0.") else said
