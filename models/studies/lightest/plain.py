"""Layouts one by one through the ordinary door, for wings whose mesh does not fall into bays."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from fea.arrays import Ints
from models.analysis import Analysis, analyse, tip_deflection, wing_twist
from models.strength import Margins, check
from models.structure import build
from models.studies.compare import web_mass
from models.studies.lightest.places import Places
from models.studies.lightest.segments import Register
from models.studies.lightest.sweep import Evaluated


def cell_masses(where: Places, codes: Ints, per_bay: int) -> dict[tuple[str, int], float]:
    """Mass of the webs and their strips of every cell of a layout. By (spar, bay), kg, both sides of a flying
    wing; `codes` (n_cells,)."""
    model = build(where.laid(codes), per_bay=per_bay)
    sides = 2.0 if model.half else 1.0
    out: dict[tuple[str, int], float] = {}
    for block in model.structure.blocks.values():
        if block.part is None:
            continue
        parts = [model.parts[p] for p in block.part]
        mine = np.flatnonzero([p.kind in ("web", "web strip") for p in parts])
        if not len(mine):
            continue
        size = block.nodes.shape[1]
        corners, _ = model.structure.corners(block)
        matrices = block.mass(corners)[mine]
        along = np.zeros((size, matrices.shape[1] // size))
        along[:, 0] = 1.0
        mass = sides * np.einsum("i,eij,j->e", along.ravel(), matrices, along.ravel())
        for k, m in zip(mine.tolist(), mass.tolist()):
            key = (parts[k].spar, int(parts[k].bay or 0))
            out[key] = out.get(key, 0.0) + m
    return out


class PlainSweep:
    """Evaluates layouts of one wing, each built, solved and checked."""

    at_once = 8

    def __init__(self, places: Places, *, per_bay: int = 4) -> None:
        self.places, self.per_bay = places, per_bay
        self.register = Register()

    def answers(self, codes: Ints, progress: Callable[[str], None] | None = None) -> Evaluated:
        """Evaluate layouts. `codes` (n, n_cells); `progress` is told before every layout."""
        rows = []
        for k, row in enumerate(codes):
            if progress is not None:
                progress(f"{self.places.wing.name}: layout {k + 1} of {len(codes)}")
            analysis, margins = full(self.places, row, self.per_bay)
            first = margins.first()
            rows.append(
                (
                    margins.load_factor_at_first_failure(),
                    self.register.number(first.mode, first.part),
                    tip_deflection(analysis),
                    float(wing_twist(analysis)[1][-1]),
                    web_mass(analysis.model),
                )
            )
        factor, number, deflection, twist, mass = (np.array(c) for c in zip(*rows))
        return Evaluated(codes, factor, number, deflection, twist, mass, self.register.names())


def full(where: Places, codes: Ints, per_bay: int) -> tuple[Analysis, Margins]:
    """A layout (n_cells,) built, solved and checked."""
    analysis = analyse(where.laid(codes), per_bay=per_bay)
    return analysis, check(analysis)
