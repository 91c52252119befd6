"""Covering films and doped tissue: stiffness per width, strength and tautness, with their sources.

Figures of films on wings are few and differ by a factor of ten, so that the list holds low ends; a piece that
was hung with a weight, or a maker's figure, goes into the file instead.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fea.arrays import Array
from models.woods.data import cite, tables


@dataclass(frozen=True)
class Film:
    """A film of the list, SI; None where nothing is known.

    `E` Pa; `stretch_stiffness` N/m where its thickness is not what one measures; `stiffer` the stiff end of
    what is said of the stiffness over the low end, which is taken; `across` the ratio of the stiffness across
    the grain to that along it; `shrink_stress` Pa, of which the share `slack_left` is still there when it
    flies. `sources` holds a line a figure.
    """

    name: str
    E: float | None
    stretch_stiffness: float | None
    stiffer: float
    across: float
    nu: float
    strength: float | None
    density: float | None
    shrink_stress: float | None
    slack_left: float | None
    sources: dict[str, str]


def names() -> tuple[str, ...]:
    """Films that `film` knows."""
    return tuple(tables()["films"])


def film(name: str) -> Film:
    """A film by its name, one of `names()`."""
    figures = tables()["films"][name]

    def value(key: str) -> float | None:
        return float(figures[key]["value"]) if key in figures else None

    modulus, per_width = value("E"), value("stretch_stiffness")
    low = modulus or per_width or 1.0
    stiff = value("E_stiff") or value("stretch_stiffness_stiff") or low
    across, nu = value("E_across_ratio"), value("nu")
    assert across is not None
    assert nu is not None
    return Film(
        name,
        modulus,
        per_width,
        stiff / low,
        across,
        nu,
        value("strength"),
        value("density"),
        value("shrink_stress"),
        value("slack_left"),
        {key: cite(figure) for key, figure in figures.items()},
    )


def stretch(along: float, across: float, nu: float) -> Array:
    """Plane-stress moduli per width of a film in its own axes, (3, 3), N/m, from E times thickness along
    and across its grain and the shrinkage across per stretch along. The shear stiffness is Huber's
    sqrt(E_1 E_2)/2(1 + sqrt(nu_12 nu_21)) (from memory), exact for a film that is the same both ways."""
    factor = 1 / (1 - nu**2 * across / along)
    shear = np.sqrt(along * across) / (2 * (1 + nu * np.sqrt(across / along)))
    out = np.zeros((3, 3))
    out[0, 0], out[1, 1] = along * factor, across * factor
    out[0, 1] = out[1, 0] = nu * across * factor
    out[2, 2] = shear
    return out
