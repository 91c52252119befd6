"""What webs buy: the same wing with different layouts, in bending, in twist, in strength and in grams.

Every layout is built and flown through the file's pull-up, and besides held at its centre line and pushed at
the tip by a unit force and a unit torque, which gives stiffnesses that no load case colours. Every spar is
compared on its own too.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from fea.assembly import Assembly
from fea.solve import factorise, statics
from fea.structure import Loads, Supports
from models.analysis import solve, spar_motion, tip_deflection, wing_twist
from models.strength import Margins, check
from models.structure import Model, build
from models.studies.bowed import check_bowed
from models.studies.layouts import UNIT_TORQUE, apply, isolated, standard
from models.wing.parts import Layout, Spar, Wing


@dataclass(frozen=True)
class LayoutResult:
    """One layout of one wing, or of one spar alone.

    Parameters
    ----------
    name : str
        Of the layout.
    scope : str
        "wing", or the spar's name.
    web_mass : float
        Webs with their lapped strips, both sides of a flying wing, kg.
    tip_deflection, tip_twist : float
        Wing: in the pull-up, against the centre, m and rad (nose up). Spar: under 1 N and under 10 N mm at
        the tip.
    bending_stiffness : float
        Force at the tip per its deflection, root held, N/m.
    torsional_stiffness : float
        Torque at the tip per its twist, root held, N m/rad.
    load_factor_at_first_failure : float
        Wing: n. Spar: tip force in N.
    first_failure : str
        Which part goes, and how.
    reserve_factor : float
        At the file's load case.
    bending_gain, torsion_gain, strength_gain : float
        Change against the first layout per gram of web, in percent of the first layout's figure per gram; 0
        for the first layout and where no mass was added.
    """

    name: str
    scope: str
    web_mass: float
    tip_deflection: float
    tip_twist: float
    bending_stiffness: float
    torsional_stiffness: float
    load_factor_at_first_failure: float
    first_failure: str
    reserve_factor: float
    bending_gain: float = 0.0
    torsion_gain: float = 0.0
    strength_gain: float = 0.0


def compare(
    wing: Wing,
    layouts: tuple[Layout, ...] | None = None,
    *,
    per_bay: int = 4,
    progress: Callable[[str], None] | None = None,
) -> list[LayoutResult]:
    """Compare layouts on the whole wing and on every spar alone.

    Parameters
    ----------
    wing : Wing
        The wing in the file.
    layouts : tuple of Layout or None
        Which; None for the standard ones and those in the file.
    per_bay : int
        Elements along a bay.
    progress : callable or None
        Told the name of each piece of work before it starts.

    Returns
    -------
    list of LayoutResult
        Wing first (left out for a specimen of one spar), then spar by spar; gains are against the first
        layout.

    Examples
    --------
    >>> import sparbay
    >>> results = sparbay.compare(sparbay.read("spar-c"), per_bay=1)
    >>> [one.name for one in results]
    ['no webs', 'front C', 'rear C', 'box', 'box, grain along span', 'as drawn']
    >>> plain, box = results[0], results[3]
    >>> box.torsional_stiffness > 5 * plain.torsional_stiffness, box.web_mass > 0  # N m/rad, kg
    (True, True)
    """
    layouts = standard(wing) if layouts is None else layouts
    scopes: list[tuple[str, Spar | None]] = [("wing", None)] if wing.flies or len(wing.spars) > 1 else []
    scopes += [(spar.name, spar) for spar in wing.spars]
    results: list[LayoutResult] = []
    for scope, spar in scopes:
        group = []
        for layout in layouts:
            if progress is not None:
                progress(f"{scope}: {layout.name}")
            laid = apply(wing, layout)
            if spar is None:
                group.append(_wing_result(laid, layout.name, per_bay))
            else:
                own = next(s for s in laid.spars if s.name == spar.name)
                group.append(_spar_result(isolated(laid, own), layout.name, spar.name, per_bay))
        results += [_with_gains(r, group[0]) for r in group]
    return results


def n_steps(wing: Wing, layouts: tuple[Layout, ...] | None = None) -> int:
    """How many pieces of work `compare` does."""
    scopes = len(wing.spars) + (1 if wing.flies or len(wing.spars) > 1 else 0)
    return scopes * len(standard(wing) if layouts is None else layouts)


def web_mass(model: Model) -> float:
    """Webs and their lapped strips, both sides of a flying wing, kg."""
    sides = 2.0 if model.half else 1.0
    return sides * sum(model.structural_mass.get(kind, 0.0) for kind in ("web", "web strip"))


def _wing_result(wing: Wing, name: str, per_bay: int) -> LayoutResult:
    model = build(wing, per_bay=per_bay)
    assembly = Assembly(model.structure)
    analysis = solve(model, assembly=assembly, keep_factor=True)
    margins = check_bowed(analysis)
    moves = tip_deflection(analysis), float(wing_twist(analysis)[1][-1])
    load_factor = margins.load_factor_at_first_failure()
    return _result(name, "wing", margins, moves, held_stiffness(model, assembly), load_factor, model)


def _spar_result(wing: Wing, name: str, scope: str, per_bay: int) -> LayoutResult:
    analysis = solve(build(wing, per_bay=per_bay))
    force, torque = spar_motion(analysis, 0, 0), spar_motion(analysis, 0, 1)
    moves = deflection, twist = float(force.deflection[-1]), float(torque.twist[-1])
    margins = check(analysis.column(0))
    stiffness, newtons = (1 / deflection, UNIT_TORQUE / twist), margins.first().reserve_factor
    return _result(name, scope, margins, moves, stiffness, newtons, analysis.model)


def _result(
    name: str, scope: str, margins: Margins, moves: tuple[float, float], stiffness: tuple[float, float],
    load_factor: float, model: Model,
) -> LayoutResult:  # fmt: skip
    """Movements and stiffnesses in bending and in torsion."""
    first, what = margins.first(), f"{margins.first().part.name}: {margins.first().mode}"
    mass = web_mass(model)
    return LayoutResult(name, scope, mass, *moves, *stiffness, load_factor, what, first.reserve_factor)


def held_stiffness(model: Model, assembly: Assembly) -> tuple[float, float]:
    """Bending (N/m) and torsional (N m/rad) stiffness of a wing held at its centre line and loaded at the
    tip.

    The unit force is shared by the spars that reach the tip; the unit torque is a couple of their forces up
    and down, or, of one spar, of chordwise forces on its caps."""
    nodes = model.structure.nodes
    factor = factorise(assembly, Supports.fixed(np.flatnonzero(np.abs(nodes[:, 1]) < 1e-9)))
    end = len(model.y) - 1
    spars = [s for s in range(len(model.wing.spars)) if model.cap_nodes[s, 0, end] >= 0]
    if not spars:
        end = max(int(np.flatnonzero(c[0] >= 0)[-1]) for c in model.cap_nodes)
        spars = [s for s in range(len(model.wing.spars)) if model.cap_nodes[s, 0, end] >= 0]
    caps = model.cap_nodes[spars, :, end]
    x = nodes[caps[:, 0], 0]
    nodal = np.zeros((len(nodes), 6, 2))
    nodal[caps, 2, 0] = 1 / caps.size
    front, rear = int(np.argmin(x)), int(np.argmax(x))
    apart = float(x[rear] - x[front])
    if len(spars) > 1:
        nodal[caps[front], 2, 1], nodal[caps[rear], 2, 1] = 0.5 / apart, -0.5 / apart
    else:
        arm = float(model.depth[spars[0], end])
        nodal[caps[0, 0], 0, 1], nodal[caps[0, 1], 0, 1] = 1 / arm, -1 / arm
    moves = statics(factor, Loads(nodal)).displacements
    up = moves[caps, 2].mean(axis=1)  # (n_spars, n_cases)
    deflection = float(up[:, 0].mean())
    if len(spars) > 1:
        twist = float((up[front, 1] - up[rear, 1]) / apart)
    else:
        twist = float((moves[caps[0, 0], 0, 1] - moves[caps[0, 1], 0, 1]) / model.depth[spars[0], end])
    return 1 / deflection, 1 / twist


def _with_gains(result: LayoutResult, base: LayoutResult) -> LayoutResult:
    added = (result.web_mass - base.web_mass) * 1e3
    if added <= 1e-9:
        return result

    def gain(now: float, then: float) -> float:
        return 100 * (now / then - 1) / added if then else 0.0

    return replace(
        result,
        bending_gain=gain(result.bending_stiffness, base.bending_stiffness),
        torsion_gain=gain(result.torsional_stiffness, base.torsional_stiffness),
        strength_gain=gain(result.load_factor_at_first_failure, base.load_factor_at_first_failure),
    )
