"""The classic panel model as a second opinion: what booms and walls say beside the full model.

It is the picture by which wings were reckoned before there were finite elements (`models.structure.panels`),
under the same loads and judged by the same rules, as far as they ask only what it knows: force in the caps,
shear of webs and sheeting. What it leaves out is told with it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from fea.arrays import Array
from models import units_out as say
from models.analysis import Analysis, tip_deflection, wing_twist
from models.rounding import down
from models.strength.margin import Margin, Margins, check
from models.structure.panels import Booms, PanelSolution, idealised, open_spans, solve_panels
from models.studies.tip import tip_of
from models.wing.words import number_runs, spar_words
from models.woods.off_axis import to_grain

MODES = (
    "cap tension",
    "cap compression",
    "cap bending, open bay",
    "cap buckling",
    "web shear",
    "web shear buckling",
    "glue line",
    "sheeting strength",
    "sheeting wrinkling",
    "sheeting shear buckling",
    "sheeting buckling, shear and compression",
)
"""Modes of failure that ask nothing which booms and walls do not know."""


@dataclass(frozen=True)
class SecondOpinion:
    """What the classic panel model says, and the full one by the same rules.

    Parameters
    ----------
    load_factor, full_load_factor, all_load_factor : float
        At first failure: of the panel model; of the full one by the same modes; of the full one by all of its
        modes. Multiples of the load for a specimen.
    first, full_first : Margin or None
        What fails first in the panel model, and in the full one by the same modes.
    deflection, full_deflection : float
        At the tip, m.
    twist, full_twist : float
        At the tip, nose up, rad.
    bridged : tuple of str
        Open bays that were bridged, in words.
    starboard : bool
        The wing's halves differ, and the starboard one alone is told.
    """

    load_factor: float
    full_load_factor: float
    all_load_factor: float
    first: Margin | None
    full_first: Margin | None
    deflection: float
    full_deflection: float
    twist: float
    full_twist: float
    bridged: tuple[str, ...]
    starboard: bool


def second_opinion(analysis: Analysis, margins: Margins) -> SecondOpinion:
    """Solve the classic panel model of an analysed wing or specimen under the same loads.

    Raises
    ------
    models.structure.panels.PanelMechanism
        Booms and walls alone can move freely.
    """
    booms = idealised(analysis.model)
    solved = solve_panels(booms, station_loads(analysis))
    judged = check(in_panels(analysis, booms, solved), only=MODES)
    same = [row for row in margins.rows if row.mode in MODES and row.side != "port"]
    model = analysis.model
    bays: dict[str, set[int]] = {}
    for s, span in open_spans(model):
        bays.setdefault(spar_words(model.wing.spars[s].name), set()).add(int(model.bay[span]))
    factor = margins.load_factor
    return SecondOpinion(
        factor * judged.rows[0].reserve_factor if judged.rows else np.inf,
        factor * same[0].reserve_factor if same else np.inf,
        margins.load_factor_at_first_failure(),
        judged.rows[0] if judged.rows else None,
        same[0] if same else None,
        deflection_of(analysis, booms, solved),
        tip_deflection(analysis),
        float(solved.moves[-1, 2]),
        float(wing_twist(analysis)[1][-1]),
        tuple(f"{name}, bays {', '.join(number_runs(found))}" for name, found in bays.items()),
        not model.half and model.wing.flies,
    )


def station_loads(analysis: Analysis) -> Array:
    """What acts on the starboard half, or a specimen, gathered to the stations outside the hold.

    Forces go to the two stations beside them by the lever; moments that bend the half up and down or fore and
    aft become pairs of forces there.

    Returns
    -------
    (n_stations, 3) float array
        Along x, along z, and nose-up about the y axis, N and N m.
    """
    model = analysis.model
    root = int(np.argmin(np.abs(model.y)))
    y = model.y[root:]
    loads, nodes = analysis.solution.loads[:, :, analysis.case], model.structure.nodes
    there = (nodes[:, 1] > y[0] + 1e-9) & (np.abs(loads).max(axis=1) > 0)
    force, moment, at = loads[there, :3], loads[there, 3:], nodes[there]
    j = np.clip(np.searchsorted(y, at[:, 1], side="right") - 1, 0, len(y) - 2)
    length = y[j + 1] - y[j]
    share = np.clip((at[:, 1] - y[j]) / length, 0.0, 1.0)
    about = moment[:, 1] + at[:, 2] * force[:, 0] - at[:, 0] * force[:, 2]
    bend = moment[:, 0] - at[:, 2] * force[:, 1]
    yaw = moment[:, 2] + at[:, 0] * force[:, 1]
    out = np.zeros((len(y), 3))
    for station, part, sign in ((j, 1 - share, -1.0), (j + 1, share, 1.0)):
        np.add.at(out[:, 0], station, part * force[:, 0] - sign * yaw / length)
        np.add.at(out[:, 1], station, part * force[:, 2] + sign * bend / length)
        np.add.at(out[:, 2], station, part * about)
    return out


def deflection_of(analysis: Analysis, booms: Booms, solved: PanelSolution) -> float:
    """Of the spar end that `tip_deflection` tells, m."""
    model = analysis.model
    s = tip_of(analysis).deflected
    last = int(np.flatnonzero(model.cap_nodes[s, 0] >= 0)[-1])
    x = float(model.structure.nodes[model.cap_nodes[s, 0, last], 0])
    move = solved.moves[last - (len(model.y) - len(booms.y))]
    return float(move[1] - x * move[2])


def in_panels(analysis: Analysis, booms: Booms, solved: PanelSolution) -> Analysis:
    """The analysis with what booms and walls bear in place of what its elements do.

    Caps bear their force alone, webs their flow, sheeting its flow and the direct stress of its booms.
    """
    model = analysis.model
    recovered = {block: dict(found) for block, found in analysis.recovered.items()}
    strain = np.divide(solved.force, booms.axial, out=np.zeros_like(solved.force), where=booms.axial > 0)
    walls = booms.walls
    kinds = np.array(walls.block)
    forces = np.zeros_like(recovered["caps"]["forces"])
    caps = model.structure.blocks["caps"]
    on = np.flatnonzero(kinds == "caps")
    for e in np.unique(walls.element[on]):
        mine = on[walls.element[on] == e]
        # Front to middle, middle to rear: the middle boom is the one that both have.
        middle, j = int(walls.second[mine[0]]), int(walls.span[mine[0]])
        forces[e, :, 0] = strain[middle, j] * caps.sections.axial[e]  # type: ignore[attr-defined]
    recovered["caps"] = {**recovered["caps"], "forces": forces}
    bridges, bending = booms.bridges, caps.sections.bending_y  # type: ignore[attr-defined]
    numbers = {(int(a), int(j)): n for n, (a, j) in enumerate(zip(bridges.upper, bridges.span))}
    for upper_wall in np.unique(walls.element[on]):
        mine = on[walls.element[on] == upper_wall]
        at = numbers.get((int(walls.second[mine[0]]), int(walls.span[mine[0]])))
        if at is None:
            continue
        both = (model.caps.spar == model.caps.spar[upper_wall]) & (
            model.caps.span == model.caps.span[upper_wall]
        )
        for e in np.flatnonzero(both):
            forces[e, :, 4] = solved.moment[at] * bending[e] / bending[both].sum()
    for block, thickness in (("webs", model.webs.thickness), ("sheeting", model.sheets.thickness)):
        on = np.flatnonzero(kinds == block)
        if not len(on):
            continue
        e, own = walls.element[on], recovered[block]["stress"]
        shear, along = np.zeros(len(own)), np.zeros(len(own))
        shear[e] = solved.flow[on] / thickness[e]
        if block == "webs":
            grain = np.where(model.y[model.webs.span] >= 0, model.webs.grain, np.pi - model.webs.grain)
        else:
            slant = np.array([s.grain for s in model.wing.sheets])[model.sheets.sheet]
            grain = np.arctan2(-np.sin(slant), np.cos(slant))
            wood = np.array([s.material.in_plane().E_1 for s in model.wing.sheets])[model.sheets.sheet]
            pulled = (strain[walls.first[on], walls.span[on]] + strain[walls.second[on], walls.span[on]]) / 2
            along[e] = wood[e] * pulled
        stress = to_grain(along, np.zeros(len(own)), shear, grain)
        recovered[block] = {key: np.zeros_like(value) for key, value in recovered[block].items()}
        recovered[block]["stress"] = stress
    return replace(analysis, recovered=recovered)


def words(found: SecondOpinion, *, specimen: bool) -> list[str]:
    """Sentences: load, movements, what it misses."""
    unit = " times the load" if specimen else " g"
    panels, same_rules, all_rules = (
        f"{down(value)}{unit}" if np.isfinite(value) else "that nothing is loaded"
        for value in (found.load_factor, found.full_load_factor, found.all_load_factor)
    )

    def by(row: Margin | None) -> str:
        return "nothing" if row is None else f"{row.part.name_without_side}, {row.mode}"

    more = "" if all_rules == same_rules else f"; by all of its rules {all_rules}"
    said = [
        f"The classic panel model says {panels} (full model by the same rules {same_rules}{more}), tip "
        f"{_figure(say.length.factor * found.deflection)} {say.length.unit} "
        f"({_figure(say.length.factor * found.full_deflection)}) and "
        f"{_figure(np.degrees(found.twist))} degrees ({_figure(np.degrees(found.full_twist))}).",
        f"First goes in it {by(found.first)}; in the full model by these rules {by(found.full_first)}.",
        "It has booms that carry force, walls that carry shear flow, and sections that keep their shape: it "
        "misses the bending of caps and edges, what lapped joints and rib feet give, and ribs that bend.",
    ]
    if found.bridged:
        said.append(
            "Open bays are a mechanism in it: there alone caps bend and posts too, as in the full model "
            f"({'; '.join(found.bridged)}); what that puts on the webs beside them it misses."
        )
    if found.starboard:
        said.append("The halves differ; the starboard one is told.")
    return said


def _figure(value: float) -> str:
    """Three digits; nothing where rounding alone is left."""
    return "0" if abs(value) < 1e-6 else f"{value:.3g}"
