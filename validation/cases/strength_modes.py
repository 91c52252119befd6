"""Failure modes against published coefficients: shear buckling of orthotropic webs, columns."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

import numpy as np

from models.strength.cap_column import column_force
from models.strength.plate_shear import buckling_flow
from models.strength.web_buckling import along_sides, critical_flow, shear_coefficient
from validation.case import Case, Result
from validation.cases.failure_modes import BALSA, E_L

NAME = "web-shear-buckling"
_LONG_PLATE = 12.0

_LONG = {0.5: 12.20, 0.8: 12.76}
"""c' of long plates over theta < 1 (further down the series is asked, which takes a longer plate)."""
_LOW = {0.0: 11.71, 0.2: 11.80}
_LONG_C = {1.25: 12.25, 2.5: 10.28, 10.0: 8.68, 20.0: 8.41, 40.0: 8.27}
"""c of long plates between the columns of the table of finite ones."""
_BETA = (0.0, 0.2, 0.4, 0.6, 0.8, 1.0)
_PLATES = {
    1.0: (13.17, 13.65, 14.89, 16.83, 19.16, 23.01),
    1.5: (11.61, 12.00, 12.97, 14.70, 16.28, 19.38),
    2.0: (10.79, 11.15, 11.99, 13.63, 14.83, 17.55),
    3.0: (9.94, 10.28, 10.99, 12.56, 13.36, 15.70),
    5.0: (9.23, 9.56, 10.19, 11.71, 12.19, 14.21),
    np.inf: (8.125, 8.38, 8.96, 10.32, 10.40, 11.95),
}
"""c over theta, for the values of beta."""
_SHAPES = (0.25, 0.5, 1.0, 1.5, 2.0, 3.0, 4.0, 8.0)
_WEBS = {
    ("flat-sawn", 0.0): (400, 102, 27.2, 13.6, 8.2, 4.8, 4.0, 3.3),
    ("flat-sawn", 90.0): (65, 32.7, 27.2, 26.0, 25.5, 25.1, 25.0, 25.0),
    ("quarter-sawn", 0.0): (506, 131, 36.1, 18.1, 11.9, 8.9, 8.3, 7.1),
    ("quarter-sawn", 90.0): (133, 47.8, 36.1, 33.7, 32.7, 32.0, 31.7, 31.4),
}
"""Balsa web of 160 kg/m3, 1.5 mm thick, 20 mm clear: shear stress that buckles it, MPa, over length/depth."""
_LIMITS = {
    ("flat-sawn", 0.0): 0.166,
    ("flat-sawn", 90.0): 1.357,
    ("quarter-sawn", 0.0): 0.367,
    ("quarter-sawn", 90.0): 1.710,
}
"""Of a long web, over E_L (t/b)^2."""


def _seydel() -> Iterator[Result]:
    source = "Seydel's coefficients; Galerkin (long plate) and double sine Ritz [computed apart]"
    why = "published to four figures; the table is linear between its entries"
    rows = [(theta, beta, c) for theta, row in _PLATES.items() for beta, c in zip(_BETA, row)]
    rows += [(theta, 0.0, c) for theta, c in _LONG_C.items()]
    figure = partial(Result, unit="", source=source, why=why, kind="rounding")
    for theta, beta, c in rows:
        found = float(shear_coefficient(np.array([1 / theta]), np.array([beta]))[0])
        yield figure(f"c at theta {theta:g}, beta {beta:g}", found, c, tolerance=5e-3)
    for theta, c in _LONG.items():
        found = float(shear_coefficient(np.array([1 / theta]), np.zeros(1))[0]) * theta**0.5
        yield figure(f"c' of a long plate at theta {theta:g}", found, c, tolerance=3e-3)
    for theta, c in _LOW.items():
        # D2 = D3 = 1 and D1 = theta^2; a plate of 12 times its width stands for an endless one.
        d = np.array([[[max(theta**2, 1e-6), 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 0.5]]])
        found = float(buckling_flow(np.array([_LONG_PLATE]), np.ones(1), d, (48, 10))[0, 0]) / 4
        yield figure(
            f"c' of a long plate at theta {theta:g}",
            found,
            c,
            tolerance=2e-2,
            source=f"{source}; limit at 0: ARC R&M 3677, 1970, eq. 11 [looked up]",
            why="a long plate of finite length, and twice the wave length asked of the series",
            kind="mesh",
        )
    yield from _balsa_webs()


def _balsa_webs() -> Iterator[Result]:
    source = "orthotropic plate, 20 x 20 double sine Ritz [computed apart]; Seydel 1933 [from memory]"
    figure = partial(Result, source=source, kind="rounding")
    for (cut, angle), row in _WEBS.items():
        n = len(_SHAPES)
        flow = critical_flow(
            np.array(_SHAPES) * 0.02,
            np.full(n, 0.02),
            np.full(n, 1.5e-3),
            [BALSA[cut]] * n,
            np.full(n, np.radians(angle)),
            np.ones(n, dtype=bool),
        )
        for shape, found, published in zip(_SHAPES, flow / 1.5e-3, row):
            yield figure(
                f"{cut} balsa, grain {angle:g} degrees, length/depth {shape:g}",
                float(found) / 1e6,
                published,
                "MPa",
                2e-2,
                why="published to two or three figures",
            )
        long = critical_flow(
            np.array([1e4]),
            np.ones(1),
            np.ones(1),
            [BALSA[cut]],
            np.array([np.radians(angle)]),
            np.ones(1, dtype=bool),
        )
        yield figure(
            f"{cut} balsa, grain {angle:g} degrees, long, over E_L (t/b)^2",
            float(long[0]) / E_L,
            _LIMITS[cut, angle],
            "",
            5e-3,
            why="published to three figures",
        )


def _isotropic() -> Iterator[Result]:
    source = "Timoshenko and Gere, Theory of Elastic Stability, 1961, table 9-10 [from memory]"
    one = np.ones(1)
    square = float(along_sides(one, one, one, one, one)[0]) / np.pi**2
    row = partial(
        Result, unit="", tolerance=5e-3, source=source, why="published to three figures", kind="rounding"
    )
    yield row(
        "k of a square plate",
        square,
        9.34,
        why="published to three figures; the series lies within 0.2 % of the limit",
    )
    long = float(along_sides(1e9 * one, one, one, one, one)[0]) / np.pi**2
    yield row("k of a long plate", long, 5.34)
    rigidity = np.array([[[1, 0.3, 0], [0.3, 1, 0], [0, 0, 0.35]]])
    series = float(buckling_flow(one, one, rigidity, (12, 12))[0, 0]) / np.pi**2
    yield row("k of a square plate, series alone", series, 9.34)


def _column() -> Iterator[Result]:
    modulus, crushing = 11.9e9, 38.7e6
    k = np.pi * np.sqrt(modulus / (8 * crushing))
    source = "Wood Handbook, 1999, chapter 8, fourth-power column rule [from memory]"
    for slender, published in ((0.5 * k, 1 - 0.5**4 / 3), (k, 2 / 3), (2 * k, 1 / 6)):
        euler = np.pi**2 * modulus / 12 / slender**2
        found = float(column_force(np.array(crushing), np.array(euler))) / crushing
        yield Result(
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
