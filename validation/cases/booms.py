"""The classic panel model (booms and shear panels, `check --panels`): closed forms, and how far it is off on
built-up spars and half wings that are solids.

What it misses is in its nature: the give of lapped joints and rib feet, the bending of caps and edge sticks,
and that sections change their shape. Nothing in it is fitted to the solids, and nothing is asked there: the
figures stand for information.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import partial

import numpy as np

from fea.arrays import Array
from fea.structure import Loads
from models.structure.panels import Booms, Bridges, PanelSolution, Walls, idealised, solve_panels
from models.studies.hand_test import half, hold
from models.studies.panels import station_loads
from validation.case import Case, Result
from validation.cases import solid_spars, whole_wings
from validation.cases.solids import at_the_tip, references, shipped, unit_loaded
from validation.units import MM, MPA, N_PER_MM

E, G = 10_000 * MPA, 600 * MPA
_SOLID = (
    "converged solid elements, computed for this project ({}); booms and panels: Megson, Aircraft Structures "
    "for Engineering Students, 9.8 [looked up]"
)
_CLASSIC = "nothing is asked of the classic model; the difference is what it misses: {}"
_GIVE = (
    "it has no give of the lapped joints, no bending of the caps by themselves, and its flow enters the caps "
    "at their middles"
)
_SHAPE = (
    "sections of booms and panels keep their shape and the sheeting meets sticks at lines, while webs, ribs "
    "and the nose of the solid bend; most beside the hold, where twist is small"
)


def _straight(
    points: Array, pairs: list[tuple[int, int]], thick: list[float], area: Array, length: float, n: int
) -> Booms:
    """A straight tube or channel of n spans: points (n_booms, 2), walls between pairs, areas."""
    y = np.linspace(0, length, n + 1)
    place = np.repeat(points[:, None, :], n + 1, axis=1)
    first, second = (np.tile([p[k] for p in pairs], n).astype(np.intp) for k in (0, 1))
    span = np.repeat(np.arange(n), len(pairs)).astype(np.intp)
    walls = Walls(
        span,
        first,
        second,
        G * np.tile(thick, n),
        ("caps",) * len(span),
        np.full(len(span), -1, dtype=np.intp),
    )
    axial = np.repeat(E * area[:, None], n, axis=1)
    return Booms(y, place, axial, walls, np.zeros(n), Bridges.none())


def _loaded(booms: Booms, force: float, at: float, torque: float = 0.0) -> PanelSolution:
    loads = np.zeros((len(booms.y), 3))
    loads[-1] = 0.0, force, torque - at * force
    return solve_panels(booms, loads)


def box() -> Iterator[Result]:
    """A square tube in torsion, which does not warp, then an oblong one that may."""
    side, thick, length, torque = 40 * MM, 1 * MM, 400 * MM, 1.0
    points = np.array([[0, 0], [side, 0], [side, side], [0, side]]) - side / 2
    ring = [(0, 1), (1, 2), (2, 3), (3, 0)]
    booms = _straight(points, ring, [thick] * 4, np.full(4, 20 * MM**2), length, 8)
    found = _loaded(booms, 0.0, 0.0, torque)
    constant = 4 * side**4 * thick / (4 * side)
    row = partial(
        Result,
        source="Bredt; by any strength book, from memory; evaluated here",
        kind="rounding",
        why="walls in pure shear, and a square tube of one thickness does not warp",
    )
    wide, deep = 80 * MM, 40 * MM
    oblong = np.array([[0, 0], [wide, 0], [wide, deep], [0, deep]]) - np.array([wide, deep]) / 2
    soft = _straight(oblong, ring, [thick] * 4, np.full(4, 1e-6 * MM**2), length, 8)
    turned = _loaded(soft, 0.0, 0.0, torque).moves[-1, 2]
    oblong_constant = 4 * (wide * deep) ** 2 * thick / (2 * (wide + deep))
    yield row(
        "twist T L/GJ, J = 4 A^2/sum(s/t)",
        float(found.moves[-1, 2]),
        torque * length / (G * constant),
        "rad",
        1e-9,
    )
    yield row(
        "flow T/2A, farthest from it",
        float(np.abs(found.flow).max()) / N_PER_MM,
        torque / (2 * side**2) / N_PER_MM,
        "N/mm",
        1e-9,
    )
    yield row(
        "flow, least of the walls",
        float(np.abs(found.flow).min()) / N_PER_MM,
        torque / (2 * side**2) / N_PER_MM,
        "N/mm",
        1e-9,
    )
    yield row(
        "twist of an oblong tube whose booms are soft",
        float(turned),
        torque * length / (G * oblong_constant),
        "rad",
        1e-4,
        why="booms of next to no area let it warp; it is held at its root by them alone",
        kind="theory",
    )


def taper() -> Iterator[Result]:
    """A web from 100 to 50 mm deep between straight flanges, in two halves side by side."""
    length, root, tip, thick, flange, force = 400 * MM, 100 * MM, 50 * MM, 1 * MM, 60 * MM**2, 100.0
    ring, walls = [(0, 1), (1, 2), (2, 3), (3, 0)], [thick, thick / 2, thick, thick / 2]
    corners = np.array([[-1.0, 1.0], [1.0, 1.0], [1.0, -1.0], [-1.0, -1.0]])

    def made(n: int) -> PanelSolution:
        booms = _straight(10 * MM * corners, ring, walls, np.full(4, flange / 2), length, n)
        place = booms.place.copy()
        place[:, :, 1] = corners[:, 1:] * (root + (tip - root) * booms.y / length) / 2
        return _loaded(replace(booms, place=place), force, 0.0)

    coarse, fine = made(16), made(32)
    mean = (root + tip) / 2
    webs = np.abs(fine.flow.reshape(32, 4)[15:17, [1, 3]])
    source = "Wagner; Garvey 1951, The quadrilateral shear panel; from memory; q = P h_t/h^2 evaluated here"
    tip_source = "flanges by integration of (Px/h)^2/EA cos^3 0.975979 + web 0.500000 mm, computed"
    yield Result(
        "mean flow half way, P h_t/h^2",
        float(webs.sum(axis=1).mean()) / N_PER_MM,
        force * tip / mean**2 / N_PER_MM,
        "N/mm",
        1e-3,
        source,
        "mean of the panels on both sides of the middle, on a curve",
        "mesh",
    )
    yield Result(
        "tip deflection, extrapolated",
        float(4 * fine.moves[-1, 1] - coarse.moves[-1, 1]) / 3 / MM,
        1.475979,
        "mm",
        2e-3,
        tip_source,
        "forces in steps err as 1/n^2, taken out; the wedge's exact field has a web softer by 0.13 %",
        "theory",
    )


def channel() -> Iterator[Result]:
    """Four equal booms joined as a channel: where a force turns nothing, and its flows there."""
    width, height, force, n = 200 * MM, 400 * MM, 4800.0, 16
    points = np.array([[width, height / 2], [0, height / 2], [0, -height / 2], [width, -height / 2]])
    walls, pairs = [1e3 * MM] * 3, [(0, 1), (1, 2), (2, 3)]
    booms = _straight(points, pairs, walls, np.full(4, 300 * MM**2), 8.0, n)
    by_force, by_torque = _loaded(booms, force, 0.0), _loaded(booms, 0.0, 0.0, force * width)
    place = float(by_force.moves[-1, 2] / by_torque.moves[-1, 2] * width)
    flows = np.abs(_loaded(booms, force, place).flow.reshape(n, 3)[n // 2]) / N_PER_MM
    source = "Megson, Introduction to Aircraft Structural Analysis, Example 19.3, p. 552, looked up"
    row = partial(
        Result,
        source=source,
        kind="theory",
        unit="N/mm",
        tolerance=2e-3,
        why="the textbook's bending leaves shear out; here walls are a thousand times as thick, not rigid",
    )
    yield row("shear centre ahead of the web, q b h/S", -place / MM, 6 * 200 * 400 / 4800, unit="mm")
    yield row("flow in the upper flange", float(flows[0]), 6.0)
    yield row("flow in the web", float(flows[1]), 12.0)
    yield row("flow in the lower flange", float(flows[2]), 6.0)


def _row(file: str, quantity: str, ours: float, theirs: float, unit: str, why: str) -> Result:
    """A figure beside a solid's: what the classic model misses is its own, and nothing is asked."""
    return Result(
        quantity, ours, theirs, unit, None, _SOLID.format(file), _CLASSIC.format(why), "information"
    )


def spar(name: str) -> Iterator[Result]:
    """Tip deflection and twist of a spar, and how far ahead of its caps a force turns nothing."""
    solid = solid_spars.SPARS[name]
    analysis = unit_loaded(shipped(str(solid["file"])))
    booms = idealised(analysis.model)
    force, torque = (solve_panels(booms, station_loads(replace(analysis, case=k))).moves[-1] for k in (0, 1))
    row = partial(_row, "shipped specimens")
    yield row("tip deflection per N", float(1e3 * force[1]), solid["deflection"], "mm", _GIVE)
    yield row("tip twist per N mm", float(1e-3 * torque[2]), solid["twist"], "rad", _SHAPE)
    if solid["twist_free"]:
        yield row(
            "twist-free force at x", float(1e3 * force[2] / torque[2]), solid["twist_free"], "mm", _SHAPE
        )


def box_spars(name: str) -> Iterator[Result]:
    """Flexibilities of a two-spar box."""
    solid = solid_spars.BOXES[name]
    wing = shipped(str(solid["file"]))
    tips = [float(one.x.at(np.array([wing.semispan]))[0]) for one in wing.spars]
    row = partial(_row, "shipped specimens")
    labels = (
        ("front tip per N at the front", 0, 0),
        ("front tip per N at the rear", 1, 0),
        ("rear tip per N at the rear", 1, 1),
    )
    for (label, at, of), theirs in zip(labels, solid["flexibility"]):
        analysis = unit_loaded(wing, wing.spars[at].name)
        move = solve_panels(idealised(analysis.model), station_loads(replace(analysis, case=0))).moves[-1]
        yield row(label, float(1e3 * (move[1] - tips[of] * move[2])), theirs, "mm", _GIVE)


def half_wing(name: str) -> Iterator[Result]:
    """Tip deflection and twist along the span of a half wing with a nose box, held at the centre line."""
    solid = references("whole_wings")["cases"][name]
    model = half(whole_wings.wing(name))
    analysis, booms = hold(model, Loads(at_the_tip(model, 2))), idealised(model)
    force, torque = (solve_panels(booms, station_loads(replace(analysis, case=k))).moves for k in (0, 1))
    row = partial(_row, "whole_wings.json")
    x = float(model.structure.nodes[model.cap_nodes[0, 0, -1], 0])
    yield row(
        "tip deflection per N",
        float(1e3 * (force[-1, 1] - x * force[-1, 2])),
        solid["deflection"],
        "mm",
        _GIVE,
    )
    for y, theirs in zip(solid["y"], solid["twist"]):
        at = int(np.argmin(np.abs(booms.y - min(1e-3 * y, 0.539))))
        yield row(f"twist per N mm at {y:.0f} mm", float(1e-3 * torque[at, 2]), theirs, "rad/(N mm)", _SHAPE)


CASES: tuple[Case, ...] = (
    Case("booms box", "Booms and panels: tubes in torsion", box),
    Case("booms taper", "Booms and panels: a tapered web between flanges", taper),
    Case("booms channel", "Booms and panels: shear centre of a channel", channel),
    *(
        Case(f"booms {k}", f"Booms and panels: {v['what']}", partial(run, k), partial(shipped, v["file"]))
        for run, solids in ((spar, solid_spars.SPARS), (box_spars, solid_spars.BOXES))
        for k, v in solids.items()
    ),
    *(
        Case(
            f"booms wing {k}",
            f"Booms and panels: {v['what']}",
            partial(half_wing, k),
            partial(whole_wings.wing, k),
        )
        for k, v in references("whole_wings")["cases"].items()
    ),
)
