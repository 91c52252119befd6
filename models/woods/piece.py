"""What a builder's own piece of wood is worth: weighed on the kitchen scale or bent under a known load.

A weighed piece gives its density, from which the density law gives the rest; a bent one gives its own E_L,
by the beam formula with shear deflection. Source: Timoshenko beam theory, rectangular section, shear factor
5/6.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from models.woods.wood import WoodError

Held = Literal["both ends", "one end"]
LEAST_SLENDERNESS = 8.0
"""Span over depth below which crushing at the supports and shear hide the bending (common practice)."""
LARGEST_SAG = 0.1
"""Sag over span above which the linear beam formula errs by more than a test does (about 1 to 3 %)."""


@dataclass(frozen=True)
class BendTest:
    """A stick or strip under one load: at mid-span on two supports, or at the tip when held at one end.

    `span` is the free length, `load` the force (N) added after the piece was set up, `sag` what that load
    alone moved, `width` and `depth` the section, depth in the direction of the load; m.
    """

    span: float
    load: float
    sag: float
    width: float
    depth: float
    held: Held = "both ends"


def density(length: float, width: float, thickness: float, mass: float) -> float:
    """Density of a rectangular sheet or stick, kg/m3.

    Parameters
    ----------
    length, width, thickness : float
        m.
    mass : float
        kg.

    Returns
    -------
    float
        kg/m3.

    Raises
    ------
    WoodError
        A size or mass that is not above zero.
    """
    sizes = {"length": length, "width": width, "thickness": thickness, "mass": mass}
    _check_positive(sizes)
    return mass / (length * width * thickness)


def modulus(test: BendTest, modulus_to_shear: float) -> float:
    """E_L from a bend test, Pa, with shear deflection; E/G of the wood in the plane of bending is 19 to
    27 of balsa, 16 of spruce.

    On two supports sag = P L^3/(48 E I) + 1.2 P L/(4 G A), so E = P L^3/(48 I sag) [1 + 1.2 (E/G) (h/L)^2];
    held at one end E = P L^3/(3 I sag) [1 + 0.3 (E/G) (h/L)^2].

    Raises
    ------
    WoodError
        A size not above zero, a piece too stubby, or a sag too large for the formula.

    References
    ----------
    Wood Handbook: bending modulus of a centre-loaded beam of span 14 depths is about a tenth below E_L
    (from memory).
    """
    numbers = {key: getattr(test, key) for key in ("span", "load", "sag", "width", "depth")}
    _check_positive({**numbers, "modulus_to_shear": modulus_to_shear})
    if test.held not in ("both ends", "one end"):
        raise WoodError("held", test.held, "both ends or one end")
    if test.span < LEAST_SLENDERNESS * test.depth:
        raise WoodError("span", test.span, f"at least {LEAST_SLENDERNESS:g} times the depth of the piece")
    if test.sag > LARGEST_SAG * test.span:
        raise WoodError("sag", test.sag, f"at most {LARGEST_SAG:g} of the span; take a smaller load")
    bending, shearing = (48.0, 1.2) if test.held == "both ends" else (3.0, 0.3)
    second_moment = test.width * test.depth**3 / 12.0
    apparent = test.load * test.span**3 / (bending * second_moment * test.sag)
    return apparent * (1.0 + shearing * modulus_to_shear * (test.depth / test.span) ** 2)


def _check_positive(numbers: Mapping[str, float]) -> None:
    for key, value in numbers.items():
        if not math.isfinite(value) or value <= 0.0:
            raise WoodError(key, value, "a finite number above zero")
