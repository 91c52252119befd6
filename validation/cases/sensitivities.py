"""Sensitivities by the adjoint against closed forms: a determinate truss, whose bar forces do not depend on
its bars' areas, and a cantilever whose deflection goes with the inverse cube of its height."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from fea.adjoint import adjoint
from fea.elements.bar import Bars
from fea.solve import statics
from fea.structure import Loads, Structure, Supports
from validation.case import Case, Result
from validation.meshes import beams, section
from validation.units import MM, MPA

E = 10_000 * MPA
PANEL, HEIGHT, N_PANELS = 60 * MM, 45 * MM, 3
AREA = 20 * MM**2
FORCE = 10.0
UNIT_LOAD = (
    "unit-load method: Timoshenko and Young, Theory of Structures, deflection of trusses [from memory]"
)


def truss() -> list[Result]:
    """Cantilever truss of three panels under a force at its tip: the tip's answer to each bar's area."""
    points = np.array(
        [[0.0, k * PANEL, z] for k in range(N_PANELS + 1) for z in (0.0, HEIGHT)]
    )  # node 2 k below, 2 k + 1 above
    pairs = []
    for k in range(N_PANELS):
        a, b = 2 * k, 2 * k + 2
        pairs += [(a, b), (a + 1, b + 1), (a + 1, b), (b, b + 1)]
    held = Supports.fixed([0, 1]) + Supports.fixed(list(range(2, len(points))), "x")
    structure = Structure(points, {"bars": Bars(np.array(pairs), np.full(len(pairs), E * AREA))}, held)
    tip = 2 * N_PANELS
    solution = statics(structure, Loads.forces(structure, [(tip, (0.0, 0.0, FORCE))]))
    row = np.zeros((len(points), 6, 1))
    row[tip, 2] = 1.0
    found = adjoint(solution, row).of_scales({"bars": np.arange(len(pairs))}, len(pairs))[0] / AREA
    diagonal = float(np.hypot(PANEL, HEIGHT))
    names = ("lower chord, first panel", "upper chord, first panel", "diagonal, first panel")
    # Cut through the first panel, moments about its joints: the lower chord is pressed by F 3 a/h, the upper
    # pulled by F 2 a/h, and the diagonal carries the shear, F d/h.
    forces = [
        FORCE * N_PANELS * PANEL / HEIGHT,
        FORCE * (N_PANELS - 1) * PANEL / HEIGHT,
        FORCE * diagonal / HEIGHT,
    ]
    lengths = [PANEL, PANEL, diagonal]
    return [
        Result(
            f"change of the tip's deflection with the area of a bar: {name}",
            found[k] * MM**2 / MM,
            -force * force / FORCE * length / (E * AREA**2) * MM**2 / MM,
            "mm/mm2",
            1e-9,
            f"d/dA of N n L/(E A): {UNIT_LOAD}; evaluated here",
            "rounding: bar forces of a determinate truss follow from equilibrium alone",
            "rounding",
        )
        for k, (name, force, length) in enumerate(zip(names, forces, lengths))
    ]


def cantilever() -> Iterator[Result]:
    """Slender cantilever of rectangular section: the tip's answer to the height of its section, by the chain
    rule through the section's stiffness."""
    length, width, height = 400 * MM, 10 * MM, 6 * MM
    n = 8
    inertia, area = width * height**3 / 12, width * height
    row = section(E * area, E * inertia, E * inertia, E * inertia)
    points = np.zeros((n + 1, 3))
    points[:, 1] = np.linspace(0.0, length, n + 1)
    pairs = [(k, k + 1) for k in range(n)]
    up = np.tile([0.0, 0.0, 1.0], (n, 1))
    structure = Structure(points, {"members": beams(pairs, [row] * n, up)}, Supports.fixed([0]))
    solution = statics(structure, Loads.forces(structure, [(n, (0.0, 0.0, FORCE))]))
    figure = np.zeros((n + 1, 6, 1))
    figure[n, 2] = 1.0
    # Bending up and down is all that acts, and its stiffness goes with the cube: a factor s on it is 3 dh/h.
    by_stiffness = float(
        adjoint(solution, figure).of_scales({"members": np.zeros(n, dtype=np.intp)}, 1)[0, 0]
    )
    yield Result(
        "change of the tip's deflection with the height of the section",
        3 * by_stiffness / height,
        -FORCE * length**3 / (E * inertia) / height,
        "",
        1e-8,
        "d/dh of F l^3/(3 E b h^3/12): elementary theory of bending, Timoshenko, Strength of Materials "
        "[from memory]; evaluated here",
        "rounding: beams are exact at their nodes; shear is left out on both sides",
        "rounding",
    )


CASES = (
    Case("AD1", "Sensitivity of a truss's deflection to its bars' areas", truss),
    Case("AD2", "Sensitivity of a cantilever's deflection to its height", cantilever),
)
