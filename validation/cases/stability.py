"""Columns, a deep strip that buckles sideways, a column on soft ground, and a beam under thrust."""

from __future__ import annotations

import numpy as np

from fea.assembly import Assembly
from fea.buckling import linear_buckling
from fea.elements.spring import Springs
from fea.solve import factorise, statics
from fea.structure import Block, Loads, Structure, Supports
from models.section import rectangle_torsion
from validation.case import Case, Result
from validation.meshes import along_y, beams, chain, moved, rectangle, section
from validation.units import MM, MPA

GERE = "Timoshenko and Gere, Theory of Elastic Stability, from memory; evaluated here"
CUBIC = "cubic shapes between the nodes: error falls as h^4"
# A slender member that bends in the y-z plane alone.
YOUNG = 10_000 * MPA

ENDS = {
    "clamped and free": (2.0, "xyzXYZ", "xXYZ"),
    "pinned": (1.0, "xyzYZ", "xzYZ"),
    "clamped and pinned": (0.699155, "xyzXYZ", "xzYZ"),
    "clamped": (0.5, "xyzXYZ", "xzXYZ"),
}


def column(ends: str, n: int) -> float:
    """Buckling force of a column of n elements times L^2/EI."""
    inertia, length = 100 * MM**4, 0.6
    rigidity = YOUNG * inertia
    made = section(1e6 * rigidity / length**2, rigidity, rigidity, rigidity)
    _, first, last = ENDS[ends]
    last = last.replace("X", "") if ends == "clamped and free" else last
    supports = Supports.fixed([0], first) + Supports.fixed(np.arange(1, n), "xYZ") + Supports.fixed([n], last)
    structure = chain(along_y(np.linspace(0, length, n + 1)), made, supports)
    _, solution = moved(structure, [(n, (0, -1.0, 0))])
    factors, _ = linear_buckling(structure, solution)
    return float(factors[0]) * length**2 / rigidity


def euler() -> list[Result]:
    """Four kinds of ends with four elements, with eight where the waves are too short; order of the error."""
    out = []
    short = (
        "a half wave over two elements of cubics is 0.75 % stiff whatever the ends, which is what four "
        "elements of a clamped column have; eight meet it"
    )
    for ends, (factor, _, _) in ENDS.items():
        exact = np.pi**2 / factor**2
        quantity = f"P L^2/EI, {ends}"
        missed = {"clamped and pinned": (0.2, 3e-3), "clamped": (0.75, 8e-3)}.get(ends)
        if missed is None:
            out.append(Result("B13", quantity, column(ends, 4), exact, "", 1e-3, GERE, CUBIC, "mesh"))
            continue
        why = f"asked for 0.1 % with four elements, missed by {missed[0]} %: {short}"
        four = Result(
            "B13", quantity, column(ends, 4), exact, "", 1e-3, GERE, why, "mesh", known_miss=missed[1]
        )
        eight = Result(
            "B13", f"{quantity}, eight elements", column(ends, 8), exact, "", 1e-3, GERE, CUBIC, "mesh"
        )
        out += [four, eight]
    # K of the propped column is rounded; its root tan u = u is not needed for the order.
    errors = [column("clamped", n) / (4 * np.pi**2) - 1 for n in (4, 8, 16)]
    order = float(np.log2(errors[0] / errors[2]) / 2)
    theory = "order of a cubic in an eigenvalue is 4; within 0.1 of it"
    out.append(
        Result("B13", "order of the error, 4 to 16 elements", order, 4.0, "", 2.5e-2, GERE, theory, "mesh")
    )
    return out


def deep_strip() -> list[Result]:
    """Cantilever strip under a force at the centroid of its tip, sixteen elements."""
    young, shear, width, depth, length, n = 70_000 * MPA, 26_000 * MPA, 2 * MM, 40 * MM, 500 * MM, 16
    torsion = float(rectangle_torsion(width, depth, shear, shear))
    made = rectangle(young, shear, width, depth, torsion, shear=False)
    structure = chain(along_y(np.linspace(0, length, n + 1)), made, Supports.fixed([0]))
    _, solution = moved(structure, [(n, (0, 0, 1.0))])
    factors, _ = linear_buckling(structure, solution)
    sideways = young * depth * width**3 / 12
    exact = 4.0126 * np.sqrt(sideways * torsion) / length**2
    # The source's formula takes the strip as infinitely stiff in its own plane.
    why = "sixteen elements, linear twist; the formula leaves out the strip's bending before it buckles"
    return [Result("B14", "tip force at buckling", float(factors[0]), exact, "N", 5e-3, GERE, why, "mesh")]


def on_soft_ground() -> list[Result]:
    """Pinned column held up by springs at every node, as a cap by a soft web."""
    inertia, length, ground, n = 100 * MM**4, 600 * MM, 0.002 * MPA, 24
    rigidity = YOUNG * inertia
    made = section(1e6 * rigidity / length**2, rigidity, rigidity, rigidity)
    points = along_y(np.linspace(0, length, n + 1))
    pairs = np.stack([np.arange(n), np.arange(1, n + 1)], axis=1)
    inner = np.arange(1, n)
    still = np.arange(n + 1, 2 * n)
    rates = np.zeros((n - 1, 6))
    rates[:, 2] = ground * length / n
    blocks: dict[str, Block] = {
        "column": beams(pairs, [made] * n, np.array([0, 0, 1.0])),
        "ground": Springs(np.stack([still, inner], axis=1), rates, np.broadcast_to(np.eye(3), (n - 1, 3, 3))),
    }
    supports = Supports.fixed([0], "xyzYZ") + Supports.fixed([n], "xzYZ") + Supports.fixed(inner, "xYZ")
    structure = Structure(np.concatenate([points, points[inner]]), blocks, supports + Supports.fixed(still))
    _, solution = moved(structure, [(n, (0, -1.0, 0))])
    factors, _ = linear_buckling(structure, solution, 2)
    source = f"(pi^2 EI/L^2)[m^2 + k L^4/(m^2 pi^4 EI)]: {GERE}"
    euler_force = np.pi**2 * rigidity / length**2
    out = []
    for m, found in zip((1, 2), factors):
        exact = euler_force * (m**2 + ground * length**4 / (m**2 * np.pi**4 * rigidity))
        why = "ground as springs at the nodes, exact for these shapes; column of cubics"
        out.append(
            Result("B15", f"force of {m} half wave(s)", float(found), exact, "N", 2e-3, source, why, "mesh")
        )
    return out


def under_thrust() -> list[Result]:
    """Simply supported beam under a centre force and half of Euler's thrust: stiffness with its stress."""
    inertia, length, n = 10 * 20**3 / 12 * MM**4, 600 * MM, 8
    rigidity = YOUNG * inertia
    made = section(1e6 * rigidity / length**2, rigidity, rigidity, rigidity)
    inner = Supports.fixed(np.arange(1, n), "xYZ")
    supports = Supports.fixed([0], "xyzYZ") + inner + Supports.fixed([n], "xzYZ")
    structure = chain(along_y(np.linspace(0, length, n + 1)), made, supports)
    thrust = np.pi**2 * rigidity / length**2 / 2
    _, pressed = moved(structure, [(n, (0, -thrust, 0))])
    assembly = Assembly(structure)
    stressed = assembly.stiffness() + assembly.geometric_stiffness(pressed.recover(0))
    centre = Loads.forces(structure, [(n // 2, (0, 0, 10.0))])
    plain = float(statics(assembly, centre).displacements[n // 2, 2, 0])
    bent = float(statics(factorise(assembly, stiffness=stressed), centre).displacements[n // 2, 2, 0])
    u = length / 2 * np.sqrt(thrust / rigidity)
    exact = 3 * (np.tan(u) - u) / u**3
    source = f"3(tan u - u)/u^3: {GERE}"
    return [
        Result("B17", "factor on the deflection", bent / plain, exact, "", 1e-3, source, CUBIC, "mesh"),
        Result("B17", "deflection under thrust", bent / MM, 1.340744, "mm", 1e-3, source, CUBIC, "mesh"),
    ]


CASES = (
    Case("B13", "Euler columns", euler),
    Case("B14", "Sideways buckling of a deep cantilever strip", deep_strip),
    Case("B15", "Column on soft ground", on_soft_ground),
    Case("B17", "Beam under thrust", under_thrust),
)
