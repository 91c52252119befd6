"""An engine on a rail over two spars that are held: bending, glue shear and frequency against a hand
calculation of an overhanging beam."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import partial

import numpy as np

from fea.assembly import Assembly
from fea.solve import statics
from fea.structure import Loads, Supports
from fea.vibration import natural_modes
from models.analysis import Analysis
from models.loads.engine import at_engine
from models.strength import rail_bending, rail_joint
from models.strength.finding import Finding
from models.strength.solved import Solved
from models.structure import Model, build
from models.structure.spars import sheet_moduli
from models.studies import rail_shear
from models.studies.rails import engine_modes
from models.wing.airfoil import half_thickness
from models.wing.reading import read_text
from models.woods.glue import allowable, glue
from validation.case import Case, Result
from validation.units import MM

CHORD, FRONT, REAR = 500 * MM, 0.4, 0.8
HEIGHT, WIDTH, GAP, CAP_HEIGHT, CAP_WIDTH, TIE = 12 * MM, 12 * MM, 0.2 * MM, 3 * MM, 2 * MM, 0.5 * MM
MASS, FORCE = 0.2, 20.0
OVERHANG, BACK = FRONT * CHORD, (REAR - FRONT) * CHORD
"""The engine sits at the leading edge."""


def held_model() -> Model:
    """The wing with a single rail on its centre line that fills the depth between narrow caps, so that no web
    joins it, and with all its caps held."""

    def spar(name: str, at: float) -> str:
        depth = float(half_thickness(np.array([at]), 0.15)[0]) * CHORD
        inset = (depth - HEIGHT / 2 - GAP - CAP_HEIGHT) / MM
        return (
            f'[[spars]]\nname = "{name}"\nat = "{at * 100} %"\ninset = "{inset:.9f} mm"\n'
            f'caps = {{ width = "{CAP_WIDTH / MM} mm", height = "{CAP_HEIGHT / MM} mm", wood = "carbon" }}\n'
        )

    wing = read_text(
        f"""
[planform]
stations = [
    {{ y = "0 mm", chord = "{CHORD / MM} mm", section = "NACA 0015" }},
    {{ y = "200 mm", chord = "{CHORD / MM} mm" }},
]
[ribs]
count = 3
thickness = "2 mm"
{spar("front", FRONT)}
{spar("rear", REAR)}
[[rails]]
name = "bearer"
y = "0 mm"
x_front = "0 mm"
x_rear = "{REAR * CHORD / MM} mm"
width = "{WIDTH / MM} mm"
height = "{HEIGHT / MM} mm"
ties = ["front", "rear"]
tie_thickness = "{TIE / MM} mm"
[[masses]]
name = "engine"
mass = "{MASS} kg"
x = "0 mm"
carried_by = "rails"
[engine]
name = "engine"
thrust = "20 N"
torque = "0.4 N m"
rpm = "10000 rpm"
rotor_inertia = "2 kg cm2"
"""
    )
    model = build(wing, whole=True)
    caps = np.unique(model.cap_nodes[model.cap_nodes >= 0])
    return replace(model, structure=replace(model.structure, supports=Supports.fixed(caps)))


def effective_mass(per_length: float) -> float:
    """Mass of the rail that moves with its end, kg: its deflection squared over that of the end."""
    a, b = OVERHANG, BACK
    ahead, behind = np.linspace(0, a, 401), np.linspace(0, b, 401)
    end = 2 * a**2 * (a + b)
    v = ahead * (2 * a * b + 3 * a * ahead - ahead**2) / end
    w = a * behind * (b**2 - behind**2) / (b * end)
    return per_length * float(np.trapezoid(v**2, ahead) + np.trapezoid(w**2, behind))


def worked() -> Iterator[Result]:
    """Force down on the engine, then free vibration."""
    model = held_model()
    rail, wing = model.wing.rails[0], model.wing
    assembly = Assembly(model.structure)
    solution = statics(assembly, Loads(at_engine(model, (0, 0, -FORCE, 0, 0, 0))))
    analysis = Analysis(model, solution, 0, None, 1.0, solution.recover(0))
    bending = _worst(rail_bending.findings(Solved(analysis)), rail_bending.MODE.name)
    shear = _worst(rail_shear.findings(analysis), rail_shear.MODE)
    glued = _worst(rail_joint.findings(Solved(analysis)), rail_joint.MODE.name)
    line = allowable(glue(rail.glue), rail.material, rail.tie_material, rail.tie_grain)
    area = HEIGHT * (CAP_WIDTH + HEIGHT)
    modes = engine_modes(model, *natural_modes(assembly, 40))
    upright = max((m for m in modes if m.direction == "up and down"), key=lambda m: m.share)
    stick = rail.material.stick()
    young = float(sheet_moduli(rail.tie_material, np.pi / 2 - rail.tie_grain)[0])
    section = WIDTH * HEIGHT
    a, b = OVERHANG, BACK
    posts = 2 * young * TIE * CAP_WIDTH / (HEIGHT / 2 + GAP + CAP_HEIGHT / 2)
    give = a**2 * (a + b) / (3 * stick.E * section * HEIGHT**2 / 12)
    give += a * (1 + a / b) / (5 / 6 * stick.G_up * section)
    give += ((1 + a / b) ** 2 + (a / b) ** 2) / posts
    mass = MASS + effective_mass(rail.material.density * section)
    by_hand = 1 / (2 * np.pi * np.sqrt(give * mass))
    statics_alone = "statics alone ahead of the front spar"
    source = "statics of an overhanging beam: any strength book, from memory; worked here"
    knife = "ties as knife edges by hand; built, they hold the rail's turning a little"
    assert wing.engine is not None
    row = partial(Result, unit="Pa", source=source, why=statics_alone, kind="rounding")
    yield row(
        "bending stress at the front spar, F a / Z",
        bending.applied[0],
        6 * FORCE * a / (WIDTH * HEIGHT**2),
        tolerance=1e-6,
    )
    yield row(
        "shear stress of the overhang, 3/2 F/A", shear.applied[0], 1.5 * FORCE / section, tolerance=1e-6
    )
    yield row(
        "glue shear stress at the front tie, F (1 + a/b) / (h (h + w))",
        line.shear * glued.applied[0] / glued.allowable[0],
        FORCE * (1 + a / b) / area,
        tolerance=0.02,
        why=knife,
        kind="theory",
    )
    yield row(
        "natural frequency up and down",
        upright.frequency,
        by_hand,
        unit="Hz",
        tolerance=0.02,
        source="1/(2 pi) sqrt(k/m), k with shear and the posts' give, m with the rail's share after "
        "Rayleigh: from memory; worked here",
        why=knife,
        kind="theory",
    )


def _worst(found: list[Finding], mode: str) -> Finding:
    """Of all elements of a mode the one with the least reserve, alone."""
    best = min((f for f in found if f.mode == mode), key=lambda f: float(f.reserve.min()))
    k = [int(best.reserve.argmin())]
    return replace(best, element=best.element[k], reserve=best.reserve[k], applied=best.applied[k],
                   allowable=best.allowable[k], y=best.y[k])  # fmt: skip


CASES = (Case("R1", "Engine rail over two held spars, worked by hand", worked),)
