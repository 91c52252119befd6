"""Loads along the span: root bending in closed form, recovered from the elements; flaps; roll damping; a mass
at the tip."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache, partial

import numpy as np

from fea.assembly import Assembly
from models.analysis import Analysis, analyse
from models.loads.cases import Situation
from models.loads.diagrams import SectionForces, of_elements, of_loads
from models.loads.elevons import flap_effectiveness, flap_moment, rolling_moment
from models.loads.landing import tip_mass
from models.loads.pull_up import GRAVITY
from models.structure import build
from models.wing.reading import read_text
from validation.case import Case, Result
from validation.cases.lifting_surfaces import elliptic

SPAN, MASS, FACTOR = 1.2, 3.0, 5.0
"""m, kg, load factor."""
_SOURCE = "bending of a beam under spread lift, closed forms; any beam book, from memory"


_RECTANGLE = f"""
[planform]
stations = [
    {{ y = "0 mm", chord = "200 mm", section = "NACA 0015" }},
    {{ y = "{SPAN / 2 * 1e3} mm", chord = "200 mm" }},
]
[ribs]
count = 9
thickness = "2 mm"
[[spars]]
name = "main"
at = "25 %"
caps = {{ width = "6 mm", height = "3 mm", wood = "spruce" }}
[[spars.webs]]
bays = "all"
face = "rear"
thickness = "1.5 mm"
[case]
load_factor = {FACTOR}
mass = "{MASS} kg"
"""


@cache
def _rectangle() -> Analysis:
    return analyse(read_text(_RECTANGLE), per_bay=2)


def _of_lift(analysis: Analysis, at: float) -> SectionForces:
    """Section forces cut from the elements with the inertia of the wing's own mass put back."""
    solution, model = analysis.solution, analysis.model
    assembly = solution.assembly
    cut = np.array([at])
    inner = of_elements(model, assembly, solution.displacements[:, :, 0], cut)
    upward = np.zeros((len(model.structure.nodes), 6, 1))
    upward[:, 2] = FACTOR * GRAVITY
    pull = assembly.nodal(assembly.mass() @ assembly.vector(upward))[:, :, 0]
    own = of_loads(model, pull, cut)
    return SectionForces(inner.y, inner.axis, inner.values + own.values)


def root_bending() -> Iterator[Result]:
    """A rectangular wing under Schrenk's lift: half even, half an ellipse."""
    analysis = _rectangle()
    lift, s = FACTOR * MASS * GRAVITY, SPAN / 2
    for share in (0.0, 0.5):
        y = share * s
        theta = np.arcsin(share)
        # int from y of (y' - y): even s (1 - h)^2 / 2, ellipse (4/pi) s [cos^3/3 - h (pi/4 - (t + h cos)/2)].
        even = s * (1 - share) ** 2 / 2
        ellipse = (
            4
            / np.pi
            * s
            * (np.cos(theta) ** 3 / 3 - share * (np.pi / 4 - (theta + share * np.cos(theta)) / 2))
        )
        wanted = lift / 2 * (even + ellipse) / 2
        where = "at the root" if share == 0 else "half way out"
        yield Result(
            f"bending {where}, rectangle, from the elements cut",
            float(_of_lift(analysis, y + 1e-9 if share == 0 else y - 1e-9).bending[0]),
            wanted,
            "N m",
            1e-6,
            f"{_SOURCE}; Schrenk 1940, NACA TM 948 (looked up)",
            "ribs get the lift by the lever rule, which keeps bending at every rib",
            "rounding",
        )


def shear_by_ribs() -> Iterator[Result]:
    """What gathering the lift on ribs does to the shear force beside one."""
    analysis = _rectangle()
    lift, s = FACTOR * MASS * GRAVITY, SPAN / 2
    h = 1 / 8
    theta = np.arcsin(h)
    spread = lift / 2 * ((1 - h) + 4 / np.pi * (np.pi / 4 - (theta + h * np.cos(theta)) / 2)) / 2
    yield Result(
        "shear just inboard of the second of nine ribs, lift on ribs against lift along the span",
        float(_of_lift(analysis, h * s - 1e-9).shear[0]),
        float(spread),
        "N",
        None,
        f"{_SOURCE}; Schrenk 1940, NACA TM 948 (looked up)",
        "a rib takes the lift of half a bay inboard of it: 1/16 of the half span, 1.14 times the mean",
        "information",
    )


def flaps() -> Iterator[Result]:
    """Flaps of 20, 25 and 30 % of the chord against the integrals of thin-aerofoil theory."""
    source = (
        "thin-aerofoil theory, H. Glauert, ARC R&M 1095, 1927 (from memory); its integrals evaluated here"
    )
    why = "middles of 100,000 steps"
    row = partial(Result, tolerance=1e-8, source=source, why=why, kind="rounding")
    for flap in (0.2, 0.25, 0.3):
        start = np.arccos(1 - 2 * (1 - flap))
        step = (np.pi - start) / 100_000
        t = start + step * (np.arange(100_000) + 0.5)
        a0 = (np.pi - start) / np.pi
        a1, a2 = (-2 / np.pi * step * np.cos(n * t).sum() for n in (1, 2))
        name = f"flap of {100 * flap:.0f} %"
        yield row(f"effectiveness, {name}", flap_effectiveness(1 - flap), a0 + a1 / 2, "")
        yield row(
            f"moment about the quarter chord, {name}", flap_moment(1 - flap), np.pi / 4 * (a2 - a1), "1/rad"
        )


def damping() -> list[Result]:
    """An elliptic wing twisted in proportion to the span: moment of roll by the lifting line."""
    source = "lifting line of the ellipse, moment/q = 2 pi s^3/(A + 4) per tip angle; derived here, computed"
    why = "the lattice is a surface, not a line; each half rolls like a wing of half the aspect ratio"
    return [
        Result(f"rolling moment over q, A {aspect:g}",
               rolling_moment(elliptic(aspect), np.array([0.0, 1.0]), np.array([0.0, 1.0])),
               2 * np.pi / (aspect + 4), "m3", 0.04, source, why, "theory")
        for aspect in (20.0, 40.0)
    ]  # fmt: skip


def tip() -> Iterator[Result]:
    """Mass that a rigid wing with its body sets against a push at its tip, straight up."""
    wing = read_text(
        _RECTANGLE + '[landing]\ntip_friction = 0.0\nbody_length = "0.9 m"\nbody_width = "0.1 m"\n'
    )
    model = build(wing, per_bay=2, whole=True)
    assembly = Assembly(model.structure)
    situation = Situation.of(model, assembly)
    nodes = model.structure.nodes
    upward = np.zeros((len(nodes), 6, 1))
    upward[:, 2] = 1.0
    at = assembly.nodal(assembly.mass() @ assembly.vector(upward))[:, 2, 0]
    roll = np.zeros_like(upward)
    roll[:, 2, 0], roll[:, 1, 0], roll[:, 3, 0] = nodes[:, 1], -nodes[:, 2], 1.0
    i_roll = float((roll * assembly.nodal(assembly.mass() @ assembly.vector(roll))).sum())
    x = situation.flight.balance_x
    turn = np.zeros_like(upward)
    turn[:, 2, 0], turn[:, 0, 0], turn[:, 4, 0] = -(nodes[:, 0] - x), nodes[:, 2] - situation.body.at[2], 1.0
    i_pitch = float((turn * assembly.nodal(assembly.mass() @ assembly.vector(turn))).sum())
    i_pitch += situation.body.mass * (0.9**2 / 12 + 0.1**2 / 16)
    i_roll += situation.body.mass * 0.1**2 / 8
    arm = 0.05 - x
    whole = at.sum() + situation.body.mass
    wanted = 1 / (1 / whole + (SPAN / 2) ** 2 / i_roll + arm**2 / i_pitch)
    yield Result(
        "mass against a push at the tip",
        tip_mass(situation, 1),
        wanted,
        "kg",
        1e-6,
        "rigid body: 1/m' = 1/m + y^2/I_roll + x^2/I_pitch; any book of dynamics, from memory",
        "principal axes, since the wing is flat and even",
        "rounding",
    )


CASES = (
    Case("D1", "bending of a rectangular wing in a pull-up", root_bending),
    Case("D2", "lift gathered on ribs", shear_by_ribs),
    Case("D3", "hinged flaps", flaps),
    Case("D4", "roll damping", damping),
    Case("D5", "a push at the tip", tip),
)
