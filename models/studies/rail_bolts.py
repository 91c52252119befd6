"""The engine's bolts in their rails: wood pressed by a bolt, and torn out between bolts and end. Looked at by
the study of the rails alone, beside `models.studies.rail_shear`.

What the engine asks of a rail is what the rail carries where the engine sits. Its bolts share it as rivets of
a plate do: force evenly, a moment about the upright axis by their distance from the middle. The bolt is taken
as stiff, friction under its head and the wood under its washer are left out.
"""

from __future__ import annotations

import numpy as np

from fea.arrays import Array
from models.analysis import Analysis
from models.strength.finding import Finding, ratio
from models.strength.rail_bolts import holes
from models.wing.parts import Rail
from models.woods.dowel_bearing import SOURCE as BEARING
from models.woods.dowel_bearing import dowel_bearing
from models.woods.off_axis import hankinson

MODE = "bolt bearing"
MODE_TORN = "bolts torn out"
SOURCE = f"force over diameter and height of the rail; {BEARING}; Hankinson's equation between [from memory]"
SOURCE_TORN = (
    "two planes at half the shear strength over the least of end distance and spacing: National Design "
    "Specification for Wood Construction, E.3 [looked up, in an article on it]"
)


def bolt_forces(along: float, across: float, turning: float, place: Array) -> Array:
    """Forces of the bolts of a rail, along and across it, (n, 2), N.

    Parameters
    ----------
    along, across, turning : float
        On all of them, N, and moment about the upright axis at their middle, N m.
    place : (n,) float array
        Along the rail, m.

    References
    ----------
    Eccentric group of rivets: any strength book, from memory.
    """
    n, arm = len(place), place - place.mean()
    lever = arm / max(float((arm**2).sum()), 1e-12)
    return np.stack([np.full(n, along / n), across / n + turning * lever], axis=1)


def torn_out(rail: Rail, end: float) -> float:
    """Force along a rail at which all its bolts tear out, N; the first hole lies `end` (m) behind its end."""
    bolts = rail.bolts
    assert bolts is not None
    stretch = min(end, bolts.along) if bolts.per_rail > 1 else end
    return bolts.per_rail * rail.material.shear * rail.height * stretch


def findings(analysis: Analysis, as_drawn: tuple[Rail, ...]) -> list[Finding]:
    """All bolts of all rails of a whole wing whose rails end at the engine; `as_drawn`: those of its file."""
    model = analysis.model
    block = model.structure.blocks.get("rails")
    if block is None or block.part is None:
        return []
    drawn = {r.name: r for r in as_drawn}
    rails = {r.name: r for r in model.wing.rails}
    nodes = model.structure.nodes
    out = []
    for part in np.unique(block.part):
        rail = rails[model.parts[part].place]
        if rail.bolts is None:
            continue
        own = np.flatnonzero(block.part == part)
        first = int(own[nodes[block.nodes[own, 0], 0].argmin()])
        x, y, _ = nodes[block.nodes[first, 0]]
        force, rear = analysis.recovered["rails"]["forces"][first]
        place, back = holes(rail), nodes[block.nodes[first, 1], 0]
        # The moment runs on in a line to the middle of the bolts.
        turning = float(force[5] + (rear[5] - force[5]) * (place.mean() - x) / (back - x))
        each = bolt_forces(float(force[0]), float(force[1]), turning, place)
        size = np.hypot(*each.T)
        angle = np.arctan2(np.abs(each[:, 1]), np.abs(each[:, 0]))
        strong, weak = (
            dowel_bearing(rail.material, rail.bolts.hole, across=across) for across in (False, True)
        )
        bears = np.asarray(hankinson(strong, weak, angle))
        stress = size / (rail.bolts.hole * rail.height)
        k = [int((stress / bears).argmax())]
        before = drawn[rail.name].bolts
        assert before is not None
        torn = torn_out(rail, before.from_front)
        pull = abs(float(force[0]))
        for mode, source, applied, allowed, unit in (
            (MODE, SOURCE, stress[k], bears[k], "Pa"),
            (MODE_TORN, SOURCE_TORN, np.array([pull]), np.array([torn]), "N"),
        ):
            if applied[0] > 0:
                reserve = ratio(allowed, applied)
                at = np.array([first]), reserve, applied, allowed, unit, np.array([y]), source
                out.append(Finding(mode, "rails", *at))
    return out
