"""How loads, reserve factors and shares are rounded wherever they are told: down."""

from __future__ import annotations

import math


def down(value: float, places: int = 1, unlimited: str = "no limit") -> str:
    """A figure rounded down, so that what is printed is never more than what was found. Not negative, with so
    many places behind the point; `unlimited` where nothing is loaded."""
    if not math.isfinite(value):
        return unlimited
    return f"{math.floor(10**places * value + 1e-9) / 10**places:.{places}f}"
