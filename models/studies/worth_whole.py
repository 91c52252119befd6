"""Whole webs put in or taken out, for the study of worth, without a wing built for each.

The wing is a chain of segments from rib to rib (`models.studies.lightest`), each put together from portions
that hang on the webs of its own bays alone; a few builds, every so many webs toggled in each, show what all
single changes need, and one pass along the chain solves a wing exactly. The wing as drawn is solved so too,
and held against its whole analysis, before anything is answered.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from fea.arrays import Ints
from models.analysis import longest_spars
from models.loads.pull_up import LightAeroplane
from models.studies.lightest.places import Asymmetric, Places, places
from models.studies.lightest.portions import Portions
from models.studies.lightest.segments import Untabulated
from models.studies.lightest.what_if import WhatIf
from models.studies.tip import Tip
from models.studies.worth_designs import Site
from models.studies.worth_figures import Change, Figures
from models.wing.parts import Wing

FEW = 24
"""Webs for which whole analyses cost no more than getting ready for exchanges; by trial."""
_ALIKE = 1e-8
"""Share by which the wing as drawn may differ between the chain and its whole analysis: rounding leaves a
hundredth of this."""


class WholeWebs(WhatIf):
    """A wing in memory, each of some webs ready to be put in or taken out.

    Parameters
    ----------
    wing : Wing
        As drawn, half of it modelled or a specimen.
    sites : list of Site
        What may be toggled.
    tip : Tip
        Where deflection is read.
    per_bay : int
        Elements along a bay.
    progress : callable or None
        Told before every step of getting ready.

    Raises
    ------
    models.studies.lightest.segments.Untabulated, models.studies.lightest.places.Asymmetric
        The wing is no such chain.
    numpy.linalg.LinAlgError
        Part of a segment is held by nothing.
    """

    def __init__(
        self,
        wing: Wing,
        sites: list[Site],
        tip: Tip,
        *,
        per_bay: int = 4,
        progress: Callable[[str], None] | None = None,
    ) -> None:
        if wing.whole:
            raise Asymmetric(wing.name)
        self.places, self._codes = _toggles(places(wing), sites)
        self.per_bay, self.tabulated = per_bay, True
        self.segments = Portions(self.places, per_bay=per_bay)
        self._deflected = longest_spars(wing).index(tip.deflected)
        # What the whole layouts share is built together; a layout that cannot be put together is left out.
        self.segments.prepare(np.array([self.places.own, *self._codes.values()]), progress)
        self.drawn = self._figures(self.places.own)

    def __call__(self, site: Site) -> Change | None:
        """What one web does, taken out where there is one, or put in; None where the wing could not fly.

        Raises
        ------
        numpy.linalg.LinAlgError
            A part of it is held by nothing.
        """
        try:
            return self.drawn.to(self._figures(self._codes[site]))
        except LightAeroplane:
            return None

    def _figures(self, codes: Ints) -> Figures:
        found = self.solved(codes)
        worst = int(np.argmax(found.share))
        mode, part = self.segments.register.names()[int(found.number[worst])]
        out = Figures(
            float(found.ends[self._deflected]),
            float(found.ends[-1]),
            float(self.segments.loads.load_factor / found.share[worst]),
            (2.0 if self.segments.half else 1.0) * float(found.inertia[2, 2]),
            f"{part.name}: {mode}",
        )
        if not np.isfinite([out.deflection, out.twist, out.load_factor]).all():
            raise np.linalg.LinAlgError("a part of the wing is held by nothing")
        return out

    def agrees(self, drawn: Figures) -> bool:
        """Whether the wing as drawn does the same along the chain as in its whole analysis."""
        pairs = (
            (getattr(self.drawn, what), getattr(drawn, what))
            for what in ("deflection", "twist", "load_factor", "mass")
        )
        return self.drawn.first_failure == drawn.first_failure and all(
            abs(a - b) <= _ALIKE * abs(b) for a, b in pairs
        )


def _toggles(at: Places, sites: list[Site]) -> tuple[Places, dict[Site, Ints]]:
    """The cells with all choices that toggling takes, and the layout of each site toggled."""
    cells, number = list(at.cells), {(cell.spar, cell.bay): k for k, cell in enumerate(at.cells)}
    wanted = {}
    for site in sites:
        k = number[site.spar, site.bay]
        faces = set(cells[k].choices[cells[k].own]) ^ {site.face}
        order = tuple(face for face in ("front", "between", "rear") if face in faces)
        if order not in cells[k].choices:
            cells[k] = replace(cells[k], choices=(*cells[k].choices, order))
        wanted[site] = k, cells[k].choices.index(order)
    out = {}
    for site, (k, choice) in wanted.items():
        out[site] = at.own
        out[site][k] = choice
    return Places(at.wing, tuple(cells)), out


def whole_webs(
    wing: Wing,
    sites: list[Site],
    tip: Tip,
    *,
    per_bay: int = 4,
    progress: Callable[[str], None] | None = None,
) -> WholeWebs | None:
    """Webs ready to be exchanged; None where the wing is no chain, or has so few that whole analyses cost no
    more.

    Parameters
    ----------
    wing, sites, tip, per_bay, progress
        As for `WholeWebs`.
    """
    if len(sites) <= FEW:
        return None
    try:
        return WholeWebs(wing, sites, tip, per_bay=per_bay, progress=progress)
    except (Untabulated, Asymmetric, np.linalg.LinAlgError):
        return None
