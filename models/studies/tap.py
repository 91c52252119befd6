"""Tap test: first tones of a wing hung on cords or held at its middle, where to tap it, where it is still.

The bare wing (no covering, nothing of what the file hangs on it) hung on soft cords swings free; the wing
with what it carries swings held at its middle. Tones that move the ribs up and down alone are told: those
that move the wing fore and aft, or rails by themselves, are not heard at the ribs. Still air goes with the
wing, as much as Theodorsen's strips say (NACA TR 496, from memory).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fea.aeroelastic import System, normal
from models.studies.speed import Half, Reduced, condense
from models.wing.parts import Wing

Array = NDArray[np.float64]

_HEARD = 0.3
"""Least greatest movement of a rib, of that of a body that moves as a whole with as much energy: a choice."""
_TWIST = 0.5
"""Share of the greatest movement by turning alone from which a tone is said to twist: a choice."""


@dataclass(frozen=True)
class Tone:
    """A natural frequency that a tap wakes.

    Parameters
    ----------
    held : bool
        At its middle, with what it carries; else hung free and bare.
    kind : str
        As `models.studies.speed.Half.kind`.
    frequency : float
        In still air, Hz.
    twists : bool
        It twists more than it bends.
    tap_y : float
        Starboard rib that moves most, m.
    tap_at : str
        "leading edge" or "trailing edge".
    still_y : float
        Starboard rib that moves least, m.
    """

    held: bool
    kind: str
    frequency: float
    twists: bool
    tap_y: float
    tap_at: str
    still_y: float


def tones(wing: Wing, equipped: Reduced, *, per_bay: int = 4, most: int = 3) -> list[Tone]:
    """First tones of each kind of movement.

    Parameters
    ----------
    wing : Wing
        As drawn.
    equipped : Reduced
        The same from `condense`.
    per_bay : int
        Elements along each bay.
    most : int
        How many of each kind.

    Returns
    -------
    list of Tone
        Bare and free first, each by frequency.
    """
    case = replace(wing.case, flying_mass=0.0)
    bare = condense(
        replace(wing, masses=(), covering_mass_per_area=0.0, coverings=(), elevons=None, case=case),
        per_bay=per_bay,
    )
    if equipped.film is not None and equipped.film.share < 1:
        equipped = condense(wing, per_bay=per_bay, at_rest=True)
    found: list[Tone] = []
    for held, reduced in ((False, bare), (True, equipped)):
        group: list[Tone] = []
        for half in reduced.halves:
            system, up, nose_up = (
                (half.held, half.held_up, half.held_nose_up) if held else (half.free, half.up, half.nose_up)
            )
            group += _of(reduced, half, system, up, nose_up, held=held)[:most]
        found += sorted(group, key=lambda one: one.frequency)
    return found


def _of(reduced: Reduced, half: Half, system: System, up: Array, nose_up: Array, *, held: bool) -> list[Tone]:
    plan = reduced.wing.planform
    assert plan is not None, "a wing has a planform"
    # Still air goes with it: what moves along is part of the mass.
    omega, modes = normal(system.mass + reduced.wing.case.air_density * system.air.mass, system.stiffness)
    y = reduced.rib_y
    there = np.flatnonzero(y > -1e-9)
    half_chord = plan.chord.at(y[there]) / 2
    found = []
    for w, mode in zip(omega, modes.T, strict=True):
        if w == 0:
            continue
        rise, turn = (up @ mode)[there], (nose_up @ mode)[there] * half_chord
        edges = np.abs(np.stack([rise + turn, rise - turn]))
        largest = float(edges.max())
        if largest * np.sqrt(reduced.mass) < _HEARD:
            continue
        edge, rib = np.unravel_index(int(np.argmax(edges)), edges.shape)
        still = int(np.argmin(edges.max(axis=0)))
        found.append(
            Tone(
                held,
                half.kind,
                float(w / (2 * np.pi)),
                bool(np.abs(turn).max() > _TWIST * largest),
                float(y[there][rib]),
                ("leading edge", "trailing edge")[int(edge)],
                float(y[there][still]),
            )
        )
    return found
