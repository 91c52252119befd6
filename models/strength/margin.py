"""All failure modes on one analysis: the worst reserve of every part in every mode, ranked, and the answer
in words.

Every part's stress grows in proportion to the load, so the least reserve factor times the case's load factor
is the load factor at which the first part fails.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from models.analysis import Analysis
from models.build.model import Model, Part
from models.strength import (
    cap_bending,
    cap_column,
    cap_compression,
    cap_tension,
    glue_line,
    post,
    rail_bending,
    web_buckling,
    web_shear,
)
from models.strength.cap_stress import cap_stress
from models.strength.finding import Finding
from models.strength.web_stress import web_stress

Array = NDArray[np.float64]

_UNLOADED = 1e6
"""A reserve beyond this is rounding: the part carries nothing."""
_WORDS = {
    cap_tension.MODE: "is torn",
    cap_compression.MODE: "is crushed",
    cap_column.MODE: "buckles",
    cap_bending.MODE: "breaks in bending at a rib",
    web_shear.MODE: "is sheared through",
    web_buckling.MODE: "buckles in shear",
    glue_line.MODE: "comes off its cap, the glue line shears",
    post.MODE: "breaks",
    rail_bending.MODE: "breaks in bending",
}


@dataclass(frozen=True)
class Margin:
    """Worst reserve of one part in one mode.

    Parameters
    ----------
    mode : str
        "cap tension", "cap compression", "cap buckling", "cap bending, open bay", "web shear", "web shear
        buckling", "glue line", "rib post" or "rail bending".
    part : Part
        What fails.
    spar, bay, side
        Of the part.
    reserve_factor : float
        Allowable over applied at the case's load.
    applied, allowable : float
        In `unit`.
    unit : str
        "Pa" or "N/m".
    y : float
        Where along the span, m.
    source : str
        Of the rule.
    """

    mode: str
    part: Part
    spar: str
    bay: int | None
    side: str
    reserve_factor: float
    applied: float
    allowable: float
    unit: str
    y: float
    source: str


@dataclass(frozen=True, eq=False)
class Margins:
    """Margins of an analysis.

    Parameters
    ----------
    rows : tuple of Margin
        Worst of every mode and part, the least reserve first.
    load_factor : float
        Of the case; 1 for a specimen.
    element_reserve : mapping of str to (n_elements,) float array
        Least reserve of every element of a block over all modes, nan where nothing was checked.
    specimen : bool
        Margins count in multiples of the load, not in g.
    secondary : tuple of Margin
        Rib posts so soft that the spar hardly uses them: they may crack before anything in `rows` and the
        spar goes on. Not ranked among the failures, and not in `element_reserve`.
    """

    rows: tuple[Margin, ...]
    load_factor: float
    element_reserve: Mapping[str, Array] = field(repr=False)
    specimen: bool = False
    secondary: tuple[Margin, ...] = ()

    def first(self) -> Margin:
        """What fails first.

        Raises
        ------
        ValueError
            Nothing is loaded.
        """
        if not self.rows:
            raise ValueError("no part of the wing is loaded, so that none can fail")
        return self.rows[0]

    def by_bay(self) -> list[Margin]:
        """Worst margin of every bay of every spar and side, the worst bay first."""
        found: dict[tuple[str, str, int], Margin] = {}
        for row in self.rows:
            if row.bay is not None and row.spar:
                found.setdefault((row.side, row.spar, row.bay), row)
        return list(found.values())

    def load_factor_at_first_failure(self) -> float:
        """Load factor (or, of a specimen, multiple of its load) at first failure; inf if nothing can."""
        return self.load_factor * self.rows[0].reserve_factor if self.rows else float("inf")


def check(analysis: Analysis) -> Margins:
    """Check every part of an analysed wing or specimen against every mode of failure.

    Parameters
    ----------
    analysis : Analysis
        From `models.analysis.analyse`.

    Returns
    -------
    Margins
    """
    caps, webs = cap_stress(analysis), web_stress(analysis)
    found = [
        *cap_tension.findings(caps),
        *cap_compression.findings(caps),
        *cap_bending.findings(caps),
        *cap_column.findings(analysis, caps),
        *post.findings(analysis, stiff=True),
        *rail_bending.findings(analysis),
    ]
    if webs is not None:
        for mode in (web_shear, web_buckling, glue_line):
            found += mode.findings(analysis, webs)
    model = analysis.model
    soft = _ranked(model, post.findings(analysis, stiff=False))
    return Margins(
        _ranked(model, found),
        analysis.load_factor,
        _by_element(model, found),
        model.wing.root == "clamped",
        soft,
    )


def _ranked(model: Model, found: list[Finding]) -> tuple[Margin, ...]:
    """Least reserve of every mode and part, the least first."""
    best: dict[tuple[str, int], Margin] = {}
    for one in found:
        of_block = model.structure.blocks[one.block].part
        assert of_block is not None
        number = of_block[one.element]
        order = np.lexsort((one.reserve, number))
        _, at = np.unique(number[order], return_index=True)
        for k in order[at]:
            part, key = model.parts[number[k]], (one.mode, int(number[k]))
            if one.reserve[k] < _UNLOADED and (key not in best or one.reserve[k] < best[key].reserve_factor):
                best[key] = Margin(
                    one.mode,
                    part,
                    part.spar,
                    part.bay,
                    part.side,
                    float(one.reserve[k]),
                    float(one.applied[k]),
                    float(one.allowable[k]),
                    one.unit,
                    float(one.y[k]),
                    one.source,
                )
    return tuple(sorted(best.values(), key=lambda row: row.reserve_factor))


def _by_element(model: Model, found: list[Finding]) -> dict[str, Array]:
    out: dict[str, Array] = {}
    for one in found:
        n = len(model.structure.blocks[one.block].nodes)
        least = out.setdefault(one.block, np.full(n, np.nan))
        fresh = np.full(n, np.inf)
        np.minimum.at(fresh, one.element, one.reserve)
        seen = np.zeros(n, dtype=bool)
        seen[one.element] = True
        out[one.block] = np.where(seen, np.fmin(least, fresh), least)
    return out


def sentence(margins: Margins) -> str:
    """The answer in words: which bay fails first, at what load, and how.

    Parameters
    ----------
    margins : Margins
        From `check`.

    Returns
    -------
    str
        "Bay 3, front spar, starboard fails first, at 7.4 g: upper cap is crushed."
    """
    if not margins.rows:
        return "Nothing is loaded, so nothing fails."
    worst = margins.first()
    part = worst.part
    where = [] if part.bay is None else [f"bay {part.bay}"]
    if part.spar:
        where.append(part.spar if "spar" in part.spar else f"{part.spar} spar")
    if part.side:
        where.append(part.side)
    if part.station is not None:
        where.append(f"rib at {part.station * 1e3:.0f} mm")
    what = (
        f"{part.place} {'' if part.kind in part.place else part.kind}".strip()
        if part.kind != "rail"
        else part.place
    )
    load = margins.load_factor_at_first_failure()
    at = f"{load:.3g} times its load" if margins.specimen else f"{load:.1f} g"
    place = ", ".join(where) or what
    return f"{place[:1].upper()}{place[1:]} fails first, at {at}: {what} {_WORDS[worst.mode]}."
