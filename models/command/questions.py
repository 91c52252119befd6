"""What `sparbay new` asks, as flags or on the terminal.

Nothing but the standard library is loaded here, so that help comes at once.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True)
class Question:
    """One thing to ask: in words, what a flag calls its value, how an answer is read, how one is written."""

    words: str
    metavar: str
    read: Callable[[str], Any]
    write: Callable[[Any], str]


def _quantity(kind: str) -> Callable[[str], float]:
    def read(text: str) -> float:
        from models.wing.units import QuantityError, read_quantity

        try:
            return read_quantity(text, kind)
        except QuantityError as error:
            raise argparse.ArgumentTypeError(f"{text!r} {error}") from None

    return read


def _number(text: str) -> float:
    try:
        return float(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"{text!r} is not a number") from None


def _one_or_two(text: str) -> int:
    if text not in ("1", "2"):
        raise argparse.ArgumentTypeError(f"{text!r} is not 1 or 2")
    return int(text)


def _mm(value: float) -> str:
    return f"{1e3 * value:.4g} mm"


def _plain(value: Any) -> str:
    return f"{value:g}" if isinstance(value, float) else str(value)


STARTER_QUESTIONS: dict[str, Question] = {
    "name": Question("name of the wing", "TEXT", str, _plain),
    "span": Question("span, tip to tip", "LENGTH", _quantity("length"), _mm),
    "root_chord": Question("chord at the centre line", "LENGTH", _quantity("length"), _mm),
    "tip_chord": Question("chord at the tip", "LENGTH", _quantity("length"), _mm),
    "sweep": Question("leading edge at the tip, aft of that at the root", "LENGTH", _quantity("length"), _mm),
    "section": Question("airfoil section", "TEXT", str, _plain),
    "mass": Question("mass of the whole aeroplane", "MASS", _quantity("mass"), lambda v: f"{v:g} kg"),
    "load_factor": Question("load factor of the hardest pull-up", "G", _number, _plain),
    "spars": Question("spars, 1 or 2", "N", _one_or_two, _plain),
    "engine": Question(
        "mass of an engine on rails ahead of the leading edge, 0 g for none",
        "MASS",
        _quantity("mass"),
        lambda v: f"{1e3 * v:g} g",
    ),
}
