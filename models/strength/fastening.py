"""A wing that comes off its fuselage: bolts pulled in two or through their plate, dowels, rubber bands.

What the fuselage pulls down with is what both halves of the wing lift where they meet, and their moment.
Bolts behind and dowels ahead share it as two supports do; a side that is pressed on its seat needs no bolt.
Two rows of bolts share a roll by their distance. Lift on the centre rib itself, forces fore and aft (nylon
bolts shear off in a crash, as they should), and how tight bolts are drawn are left out.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial

import numpy as np

from models.loads.diagrams import of_loads
from models.strength import fitting
from models.strength.finding import Finding
from models.strength.mode import LOST, Mode, Rule, sheared, torn
from models.strength.solved import Solved
from models.structure.model import FASTENINGS
from models.wing.parts import Fastening
from models.woods.dowel_bearing import SOURCE as BEARING
from models.woods.dowel_bearing import dowel_bearing

REASON = "of a joint, which is judged by itself: the model's wing is held by its spars"
_BESIDE = 1e-7
"""Beside the centre line, where both halves are cut, m."""


@dataclass(frozen=True)
class FasteningPull:
    """What the wing asks of its fastening: force upward, N, nose-up moment about a place and roll, N m."""

    lift: float
    nose_up: float
    roll: float


def pull(at: Solved, x: float) -> FasteningPull:
    """What the wing asks of its fastening, about a place at x, m."""
    model, solution, case = at.model, at.analysis.solution, at.analysis.case
    loads = solution.loads[:, :, case] + solution.reactions[:, :, case]
    sides = np.array([_BESIDE]) if model.half else np.array([_BESIDE, -_BESIDE])
    cut = of_loads(model, loads, sides)
    twice = 2.0 if model.half else 1.0
    lift = twice * float(cut.shear.sum())
    nose_up = twice * float((cut.torsion - (cut.axis[:, 0] - x) * cut.shear).sum())
    roll = 0.0 if model.half else float(cut.values[:, 3].sum())
    return FasteningPull(lift, nose_up, roll)


def shared(own: Fastening, on: FasteningPull) -> tuple[float, float]:
    """Pull of the hardest bolt and force on each dowel, N, not negative; the moment is about the dowels.

    References
    ----------
    Equilibrium: B (x_b - x_d) = -M and D = L - B; a roll by the bolts' distance across.
    """
    bolts = -on.nose_up / (own.bolts_at - own.dowels_at)
    dowels = on.lift - bolts
    each = max(bolts, 0.0) / own.bolts
    if own.across > 0 and own.bolts > 1:
        each += abs(on.roll) / own.across / (own.bolts / 2)
    return each, max(dowels, 0.0) / own.dowels


def bears(own: Fastening) -> tuple[float, ...]:
    """What a bolt, its plate round one head, and a dowel bear, N; or all bands together."""
    if not own.bolts:
        return (own.bands * own.band_pull,)
    plate = np.pi * own.washer * own.plate * own.plate_material.shear
    seat = own.dowel * own.former * dowel_bearing(own.former_material, own.dowel, across=True)
    stick = own.dowel_material.shear * np.pi * own.dowel**2 / 4 * 3 / 4
    return own.breaking, float(plate), float(min(seat, stick))


def findings(at: Solved) -> list[Finding]:
    """Bolts and dowels, or bands."""
    own = at.model.wing.fastening
    if own is None or at.model.wing.clamped:
        return []
    if not own.bolts:
        return _found(at, MODE_BANDS, max(pull(at, 0.0).lift, 0.0), bears(own)[0])
    bolt, dowel = shared(own, pull(at, own.dowels_at))
    asked = (MODE, bolt), (MODE_PLATE, bolt), (MODE_DOWEL, dowel)
    return [one for (mode, force), held in zip(asked, bears(own)) for one in _found(at, mode, force, held)]


def _found(at: Solved, mode: Mode, applied: float, allowed: float) -> list[Finding]:
    if applied <= 0:
        return []
    return [fitting.found(at, mode, lambda part: part.kind in FASTENINGS, applied, allowed, unit="N")]


_mode = partial(fitting.mode, find=findings, reason=REASON, remains=LOST)


MODE = _mode(
    "wing bolt",
    "break",
    "two supports; breaking loads: a seller's table of plastic fasteners, ISO 898-1 for steel [looked up]",
    Rule("tension"),
    torn,
)
MODE_PLATE = _mode(
    "wing bolt pulled through",
    "are pulled through their plate",
    "shear of the plate round the head, pi D t: common practice, no source",
    Rule("shear"),
    sheared,
)
MODE_DOWEL = _mode(
    "wing dowel",
    "give way at the dowels in front",
    f"the dowel in shear, 4/3 V/A [from memory], or its former: {BEARING}",
    Rule("shear"),
    sheared,
)
MODE_BANDS = _mode(
    "wing off its seat",
    "let the wing off its seat",
    "lift against the pull of all bands: equilibrium [computed]",
    Rule("tension"),
    torn,
)
EVERY = (MODE, MODE_PLATE, MODE_DOWEL, MODE_BANDS)
