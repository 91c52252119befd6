"""Failure modes against published coefficients: shear buckling of orthotropic webs, columns."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from models.strength.cap_column import column_force
from models.strength.plate_shear import buckling_flow
from models.strength.web_buckling import along_sides, shear_coefficient
from validation.case import Case, Result

_LONG = {0.5: 12.20, 0.8: 12.76}
"""c' of long plates over theta < 1."""
_PLATES = {
    (1.0, 0.0): 13.17,
    (1.0, 0.4): 14.89,
    (1.5, 0.6): 14.70,
    (2.0, 0.8): 14.83,
    (3.0, 1.0): 15.70,
    (np.inf, 0.0): 8.125,
    (np.inf, 1.0): 11.95,
}
"""c over (theta, beta)."""


def _seydel() -> Iterator[Result]:
    source = "Seydel's coefficients; Galerkin (long plate) and double sine Ritz [computed apart]"
    for (theta, beta), c in _PLATES.items():
        found = float(shear_coefficient(np.array([1 / theta]), np.array([beta]))[0])
        yield Result(
            "web-shear-buckling",
            f"c at theta {theta:g}, beta {beta:g}",
            found,
            c,
            "",
            3e-3,
            source,
            "four figures published; the table is linear between its entries",
            "rounding",
        )
    for theta, c in _LONG.items():
        found = float(shear_coefficient(np.array([1 / theta]), np.zeros(1))[0]) * theta**0.5
        yield Result(
            "web-shear-buckling",
            f"c' of a long plate at theta {theta:g}",
            found,
            c,
            "",
            3e-3,
            source,
            "four figures published; the table is linear between its entries",
            "rounding",
        )


def _isotropic() -> Iterator[Result]:
    source = "Timoshenko and Gere, Theory of Elastic Stability, 1961, table 9-10 [from memory]"
    one = np.ones(1)
    square = float(along_sides(one, one, one, one, one)[0]) / np.pi**2
    yield Result(
        "isotropic-shear-buckling",
        "k of a square plate",
        square,
        9.34,
        "",
        5e-3,
        source,
        "published to three figures; the series lies within 0.2 % of the limit",
        "rounding",
    )
    long = float(along_sides(1e9 * one, one, one, one, one)[0]) / np.pi**2
    yield Result(
        "isotropic-shear-buckling",
        "k of a long plate",
        long,
        5.34,
        "",
        5e-3,
        source,
        "published to three figures",
        "rounding",
    )
    rigidity = np.array([[[1, 0.3, 0], [0.3, 1, 0], [0, 0, 0.35]]])
    series = float(buckling_flow(one, one, rigidity, (12, 12))[0, 0]) / np.pi**2
    yield Result(
        "isotropic-shear-buckling",
        "k of a square plate, series alone",
        series,
        9.34,
        "",
        5e-3,
        source,
        "published to three figures",
        "rounding",
    )


def _column() -> Iterator[Result]:
    modulus, crushing = 11.9e9, 38.7e6
    k = np.pi * np.sqrt(modulus / (8 * crushing))
    source = "Wood Handbook, 1999, chapter 8, fourth-power column rule [from memory]"
    for slender, published in ((0.5 * k, 1 - 0.5**4 / 3), (k, 2 / 3), (2 * k, 1 / 6)):
        euler = np.pi**2 * modulus / 12 / slender**2
        found = float(column_force(np.array(crushing), np.array(euler))) / crushing
        yield Result(
            "column",
            f"stress over crushing strength at L/d = {slender / k:g} K",
            found,
            published,
            "",
            1e-9,
            source,
            "one formula written two ways",
            "rounding",
        )


CASES: tuple[Case, ...] = (
    Case("web-shear-buckling", "Shear buckling of simply supported orthotropic plates", _seydel),
    Case("isotropic-shear-buckling", "Shear buckling of isotropic plates", _isotropic),
    Case("column", "A stick between crushing and Euler", _column),
)
