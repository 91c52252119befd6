"""Glue lines: what a lap between two woods bears in shear.

A sound close joint fails in the weaker wood, unless the glue is weaker still. A wood sheared across its grain
rolls: it bears its rolling shear strength, one third of that along the grain where no test says otherwise
(practice stated in FPL report 1522, 1945), in between by Hankinson's equation. Crossed solid woods and the
crossed plies of plywood roll alike, by one figure of the wood.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from models.woods.data import cite, spread, tables
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
    return Glue(name, kinds[name]["value"], spread(tables()["glues"]["scatter"]), cite(kinds[name]))


def glue_names() -> tuple[str, ...]:
    """Kinds of glue that `glue` knows."""
    return tuple(tables()["glues"]["lap_shear"])


def shear_at(wood: Material, angle: float) -> float:
    """Shear strength of the face of a wood, glued to another whose (face) grain it crosses at an angle
    (rad), Pa.

    S R/(S sin^n a + R cos^n a), S the strength along the grain, R that in rolling shear, n = 2; any angle is
    folded into 0 to 90 degrees. In plywood a ply rolls whichever way the face runs: R.

    References
    ----------
    Hankinson's equation: pine glued at nine angles (Revista Arvore), abstract, looked up.
    """
    if wood.kind == "isotropic":
        return wood.shear
    if wood.kind == "ply":
        return wood.rolling_shear
    power = tables()["glues"]["between"]["value"]
    sine, cosine = abs(math.sin(angle)) ** power, abs(math.cos(angle)) ** power
    along, rolling = wood.shear, wood.rolling_shear
    return along * rolling / (along * sine + rolling * cosine)


def allowable(
    kind: Glue, one: Material, other: Material, angle: float, *, end_grain: bool = False
) -> GlueLine:
    """Shear stress that a glue line between two woods bears.

    min(glue, `shear_at` of the weaker wood); butted end grain bears no more than a crossed joint.

    Parameters
    ----------
    kind : Glue
    one, other : Material
    angle : float
        Between the two (face) grains, rad.
    end_grain : bool
        One piece is butted with its end grain.

    References
    ----------
    FPL report 1522 (1945), summary, looked up; end grain: a guess between Follrich and others (2007),
    abstract, looked up, and common practice.
    """
    butted = tables()["glues"]["end_grain"]
    limits = [(kind.lap_shear, f"{kind.name} glue", kind.source)]
    for wood in (one, other):
        if wood.kind == "isotropic":
            continue
        limits.append((shear_at(wood, angle), *_words(wood, angle)))
        if end_grain and wood.kind == "solid":
            limits.append((wood.shear * butted["ratio"], f"{wood.name} in shear", cite(butted)))
    shear, governed_by, source = min(limits)
    return GlueLine(shear, governed_by, kind.scatter, source)


def _words(wood: Material, angle: float) -> tuple[str, str]:
    """What a wood does in a joint, and the source of what it bears then."""
    if wood.kind == "ply" or abs(math.sin(angle)) > 0.999:
        return f"{wood.name} in rolling shear", wood.sources["rolling_shear"]
    if abs(math.sin(angle)) < 1e-9:
        return f"{wood.name} in shear", wood.sources["shear"]
    return f"{wood.name} in shear", cite(tables()["glues"]["between"])
