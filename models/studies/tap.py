"""Tap test: first tones of a wing hung on cords or held at its middle, where to tap it, where it is still.

The bare wing (no covering, nothing of what the file hangs on it) hung on soft cords swings free; the wing
with what it carries swings held at its middle. Tones that move the ribs up and down alone are told: those
that move the wing fore and aft, or rails by themselves, are not heard at the ribs. Still air goes with the
wing, as much as Theodorsen's strips say (NACA TR 496, from memory).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from fea.aeroelastic import System, normal
from fea.arrays import Array
from models.studies.speed import Half, Reduced, condense
from models.wing.parts import Wing

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


@dataclass(frozen=True, eq=False)
class Heard:
    """A tone with what makes it.

    Parameters
    ----------
    tone : Tone
        As told.
    reduced : Reduced
        The wing that sounds.
    omega : float
        rad/s.
    shape : (size,) float array
        Movement of the whole structure, of unit modal mass with the air that goes with it.
    ribs : (2 n_ribs,) float array
        Up and nose up at every rib, of unit length, turning over half the mean chord.
    """

    tone: Tone
    reduced: Reduced
    omega: float
    shape: Array
    ribs: Array


def tones(wing: Wing, equipped: Reduced, *, per_bay: int = 4) -> list[Tone]:
    """First tones of each kind of movement, bare and free first, each by frequency; `equipped` is the wing as
    drawn from `condense`."""
    bare = condense(bare_of(wing), per_bay=per_bay)
    if equipped.film is not None and equipped.film.share < 1:
        equipped = condense(wing, per_bay=per_bay, at_rest=True)
    return [one.tone for one in heard(bare, held=False) + heard(equipped, held=True)]


def bare_of(wing: Wing) -> Wing:
    """Without covering and without all that the file hangs on it."""
    case = replace(wing.case, flying_mass=0.0)
    return replace(wing, masses=(), covering_mass_per_area=0.0, coverings=(), elevons=None, case=case)


def heard(reduced: Reduced, most: int = 3, *, held: bool) -> list[Heard]:
    """First tones of each kind of movement of one wing, by frequency. `most` of each; the wing, `at_rest`, is
    held at its middle or hangs free."""
    group: list[Heard] = []
    for half in reduced.halves:
        parts = (
            (half.held, half.held_up, half.held_nose_up, half.every @ half.by_held)
            if held
            else (half.free, half.up, half.nose_up, half.every @ half.by_free)
        )
        group += _of(reduced, half, *parts, held=held)[:most]
    return sorted(group, key=lambda one: one.tone.frequency)


def _of(
    reduced: Reduced, half: Half, system: System, up: Array, nose_up: Array, columns: Array, *, held: bool
) -> list[Heard]:
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
        tone = Tone(
            held,
            half.kind,
            float(w / (2 * np.pi)),
            bool(np.abs(turn).max() > _TWIST * largest),
            float(y[there][rib]),
            ("leading edge", "trailing edge")[int(edge)],
            float(y[there][still]),
        )
        both = np.concatenate([up @ mode, half_chord.mean() * (nose_up @ mode)])
        found.append(Heard(tone, reduced, float(w), columns @ mode, both / np.linalg.norm(both)))
    return found
