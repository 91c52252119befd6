"""Glue lines: what a lap between two woods bears in shear.

A sound close joint fails in the weaker wood, unless the glue is weaker still. Grains glued across each
other bear one third of the parallel-grain shear strength (practice stated in FPL report 1522, 1945), in
between by the angle.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from models.woods.data import cite, tables
from models.woods.wood import Material, WoodError, closest


@dataclass(frozen=True)
class Glue:
    """A kind of glue: lap shear strength on hardwood (Pa), its variation coefficient and source."""

    name: str
    lap_shear: float
    scatter: float
    source: str


@dataclass(frozen=True)
class GlueLine:
    """Allowable shear stress of a glue line (Pa), what sets it, in words, and its variation coefficient."""

    shear: float
    governed_by: str
    scatter: float
    source: str


def glue(name: str) -> Glue:
    """Glue by kind.

    Raises
    ------
    WoodError
        A kind that is not one of `glue_names()`.
    """
    kinds = tables()["glues"]["lap_shear"]
    if name not in kinds:
        raise WoodError("glue", name, f"a kind of glue; {closest(name, glue_names())}")
    figure, scatter = kinds[name], tables()["glues"]["scatter"]
    return Glue(name, figure["value"], scatter["value"], cite(figure))


def glue_names() -> tuple[str, ...]:
    """Kinds of glue that `glue` knows."""
    return tuple(tables()["glues"]["lap_shear"])


def crossing_factor(angle: float) -> float:
    """Share of the parallel-grain shear strength left where grains cross at an angle, rad.

    1 at 0 and 1/3 at 90 degrees (FPL report 1522, summary), linear between (from memory); any angle is folded
    into 0 to 90 degrees.
    """
    folded = abs(math.remainder(angle, math.pi)) / (math.pi / 2.0)
    figures = tables()["glues"]
    return 1.0 - (1.0 - figures["crossed"]["value"]) * folded ** figures["between"]["value"]


def allowable(
    kind: Glue, one: Material, other: Material, angle: float, *, end_grain: bool = False
) -> GlueLine:
    """Shear stress that a glue line between two woods bears.

    min(glue, weaker wood's shear strength x crossing factor). Plywood is held to its rolling shear besides,
    since right under its face, or in it, a ply rolls. End grain butted on a face bears a quarter at most.

    Parameters
    ----------
    kind : Glue
    one, other : Material
    angle : float
        Between the two (face) grains, rad.
    end_grain : bool
        One piece is butted with its end grain.

    Returns
    -------
    GlueLine

    References
    ----------
    FPL report 1522 (1945), summary, looked up; Plywood Design Specification for rolling shear, from memory;
    end grain: common practice, no source.
    """
    figures = tables()["glues"]
    crossed = crossing_factor(angle)
    factor = min(crossed, figures["end_grain"]["value"]) if end_grain else crossed
    rule = "end_grain" if end_grain else "crossed"
    limits = [(kind.lap_shear, f"{kind.name} glue", kind.source)]
    for wood in (one, other):
        if wood.kind != "isotropic":
            limits.append((wood.shear * factor, f"{wood.name} in shear", cite(figures[rule])))
        if wood.kind == "ply":
            rolling = wood.rolling_shear * figures["ply_rolls"]["value"]
            limits.append((rolling, f"{wood.name} in rolling shear", cite(figures["ply_rolls"])))
    shear, governed_by, source = min(limits)
    return GlueLine(shear, governed_by, figures["scatter"]["value"], source)
