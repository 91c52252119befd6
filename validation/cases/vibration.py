"""Natural frequencies of a clamped beam in bending and in torsion."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import partial

import numpy as np

from fea.elements.beam import Beams
from fea.structure import Array, Structure, Supports
from fea.vibration import natural_modes
from models.section import rectangle_torsion
from validation.case import Case, Result
from validation.meshes import UP, along_y, beams, rectangle
from validation.units import MM, MPA

E, G, WIDTH, DEPTH, LENGTH, DENSITY = 10_000 * MPA, 600 * MPA, 10 * MM, 20 * MM, 300 * MM, 450.0


def frequencies(n: int, held: str) -> Array:
    """First two natural frequencies (Hz) of n elements whose nodes are `held` besides."""
    torsion = float(rectangle_torsion(WIDTH, DEPTH, G, G))
    pairs = np.stack([np.arange(n), np.arange(1, n + 1)], axis=1)
    plain = beams(pairs, [rectangle(E, G, WIDTH, DEPTH, torsion, shear=False)] * n, UP)
    polar = WIDTH * DEPTH * (WIDTH**2 + DEPTH**2) / 12
    block: Beams = replace(
        plain, mass_per_length=np.full(n, DENSITY * WIDTH * DEPTH), polar_inertia=np.full(n, DENSITY * polar)
    )
    supports = Supports.fixed([0]) + Supports.fixed(np.arange(1, n + 1), held)
    structure = Structure(along_y(np.linspace(0, LENGTH, n + 1)), {"beam": block}, supports)
    return natural_modes(structure, 2)[0]


def clamped_beam() -> Iterator[Result]:
    """Bending in the plane of the depth with ten elements, torsion with forty."""
    source = (
        "roots 1.875104, 4.694091 of the clamped beam; (2n-1)/4L sqrt(GJ/I_p); from memory; evaluated here"
    )
    bending = frequencies(10, "xyYZ")
    torsion = frequencies(40, "xyzXZ")
    inertia, area = WIDTH * DEPTH**3 / 12, WIDTH * DEPTH
    wave = np.sqrt(E * inertia / (DENSITY * area)) / (2 * np.pi * LENGTH**2)
    rigidity = float(rectangle_torsion(WIDTH, DEPTH, G, G))
    polar = DENSITY * area * (WIDTH**2 + DEPTH**2) / 12
    row = partial(Result, unit="Hz", tolerance=1e-3, source=source, kind="mesh")
    for k, root in enumerate((1.875104, 4.694091)):
        why = "ten elements of cubics, error as h^4; no shear, no rotary inertia"
        yield row(f"bending {k + 1}", bending[k], root**2 * wave, why=why)
    for k in range(2):
        exact = (2 * k + 1) / (4 * LENGTH) * np.sqrt(rigidity / polar)
        why = "forty elements of linear twist, error (pi (2n-1) h/2L)^2/24: 0.006 and 0.06 %"
        yield row(f"torsion {k + 1}", torsion[k], exact, why=why)


CASES = (Case("B16", "Natural frequencies of a clamped beam", clamped_beam),)
