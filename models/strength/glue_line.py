"""A web's glue line on a cap: the web's shear flow over the height of the lap.

The lap shears along the span; the joint bears what the weaker wood bears, its shear strength along the grain
or its rolling shear strength where the grains cross, unless the glue is weaker still (see
`models.woods.glue`). A web lapped on a cap's face is glued over the cap's height; one let in between the
caps only over its own thickness, as a plain butt (a slot that holds its sides as well is left out, the
cautious side), and where its grain stands upright that is end grain.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fea.arrays import Array
from models.strength.finding import Finding, ratio
from models.strength.mode import Many, Mode, Remains, Rule, sheared
from models.strength.solved import Solved
from models.wing.parts import Cap
from models.woods.glue import allowable, glue
from models.woods.wood import Material


def flow_in_lap(shear: Array, thickness: Array, lap: Array) -> Array:
    """Shear stress of the glue lines of webs, q/lap, (n, 2), Pa, not negative, from the web's mean shear
    stress (n,), Pa, its thickness (n,) and its laps on the upper and lower cap (n, 2), m. The part of the
    flow that enters the lapped strip itself is counted with the rest.

    References
    ----------
    Equilibrium of the web's edge; q = V Q/I of a whole beam: Timoshenko, Strength of Materials (from memory).
    """
    return np.asarray(np.abs(shear * thickness)[:, None] / lap)


@dataclass(frozen=True, eq=False)
class Lines:
    """Glue lines of all webs: `shear` (n_webs, 2) allowable on the upper and lower cap, Pa, and `kinds`:
    (elements, cap, what governs and its source) of those that are alike."""

    shear: Array
    kinds: tuple[tuple[NDArray[np.intp], int, str], ...]


def lines(at: Solved) -> Lines:
    """Allowable shear stress of the glue lines of all webs and braces, those alike worked out together."""
    model, webs = at.model, at.model.webs
    alike: dict[tuple[str, int, float, int, bool], list[int]] = {}
    # Of copies of a wing side by side the spars of each are the same.
    first = {id(spar): s for s, spar in reversed(list(enumerate(model.wing.spars)))}
    number = [first[id(spar)] for spar in model.wing.spars]
    for k, (name, m, g, s, face) in enumerate(
        zip(webs.glue, webs.material.tolist(), webs.grain.tolist(), webs.spar.tolist(), webs.face)
    ):
        alike.setdefault((name, m, g, number[s], face == "between"), []).append(k)
    shear, kinds = np.zeros((len(webs.span), 2)), []
    for (name, m, grain, s, between), members in alike.items():
        rows = np.array(members, dtype=np.intp)
        spar, wood = model.wing.spars[s], webs.materials[m]
        end_grain = between and wood.kind == "solid" and abs(np.sin(grain)) > abs(np.cos(grain))
        for c, cap in enumerate((spar.upper, spar.lower)):
            line = allowable(glue(name), wood, glued_layer(cap, between=between), grain, end_grain=end_grain)
            shear[rows, c] = line.shear
            kinds.append((rows, c, f"weakest: {line.governed_by}; {line.source}"))
    return Lines(shear, tuple(kinds))


def findings(at: Solved) -> list[Finding]:
    """Both glue lines of every web and brace, per length of web."""
    webs, stress, of = at.model.webs, at.webs, at.of_build(lines)
    flow = np.abs(stress.shear) * webs.thickness
    applied = flow_in_lap(stress.shear, webs.thickness, webs.lap)
    reserve = ratio(of.shear, applied)
    out = []
    for rows, c, words in of.kinds:
        there = rows[applied[rows, c] > 0]
        one = MODE.found(there, reserve[:, c], flow, stress.y, unit="N/m")
        out.append(replace(one, source=f"shear flow over the lap; {words}"))
    return out


def glued_layer(cap: Cap, *, between: bool) -> Material:
    """Wood of the cap that a web is glued to: the inner layer between the caps, else the thickest."""
    if between:
        return cap.layers[-1].material
    return max(cap.layers, key=lambda layer: float(layer.height.value.max())).material


OFF = Remains(0.0, 0.0, "nothing", "a web that is off its cap hands over no shear flow")
MODE = Mode(
    name="glue line",
    words="comes off its cap, the glue line shears",
    source="shear flow over the lap: equilibrium [computed]",
    block="webs",
    find=findings,
    ends_flight=True,
    reason="",
    joins=(),
    scatter=Rule("glue", size=-1),
    proof=sheared,
    remains=OFF,
    many=Many(
        family="webs",
        constants=lambda at: {"glue": at.of_build(lines).shear * at.model.webs.lap},
        used=lambda of: (
            np.abs(of.shear) * (of.table["webs"]["thickness"] / of.table["webs"]["glue"].min(axis=1))[:, None]
        ),
    ),
)
