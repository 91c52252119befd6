"""Mass and balance of a small wing by hand, part by part: volume, density, arm."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

import numpy as np

from models.studies.balance import Balance, balance
from models.wing.reading import read_text
from validation.case import Case, Result

WING = """
name = "Small swept wing"
[planform]
stations = [
    { y = "0 mm", chord = "200 mm", section = "NACA 0012" },
    { y = "500 mm", chord = "200 mm", leading_edge = "60 mm" },
]
[ribs]
count = 6
thickness = "2 mm"
wood = "balsa, 130 kg/m3"
[[spars]]
name = "main"
at = "30 %"
caps = { width = "6 mm", height = "4 mm", wood = "spruce, 450 kg/m3" }
[[spars.webs]]
bays = "1-5"
face = "rear"
thickness = "1.5 mm"
wood = "balsa, 120 kg/m3"
[leading_edge]
width = "8 mm"
height = "13 mm"
wood = "balsa, 150 kg/m3"
[trailing_edge]
width = "12 mm"
height = "3.6 mm"
wood = "balsa, 160 kg/m3"
[covering]
mass_per_area = "50 g/m2"
[[masses]]
name = "battery"
mass = "120 g"
x = "-30 mm"
z = "-5 mm"
carried_by = "fuselage"
[[masses]]
name = "tank"
mass = "80 g"
empty = "10 g"
x = "60 mm"
[[masses]]
name = "servo"
mass = "10 g"
x = "120 mm"
y = "250 mm"
paired = true
[balance]
glue_spread = "200 g/m2"
"""
SOURCE = "Worked by hand from volumes, densities and arms, part by part; computed"


def half_thickness(x: np.ndarray) -> np.ndarray:
    """Half thickness of NACA 0012 over the chord (NACA TR 460, from memory)."""
    return np.asarray(0.6 * (0.2969 * np.sqrt(x) - 0.126 * x - 0.3516 * x**2 + 0.2843 * x**3 - 0.1015 * x**4))


def stick_by_hand(start: float, end: float, height: float) -> tuple[float, float]:
    """Area (m2) and centroid (m) of an edge stick of the wing, by thin slices."""
    edge = np.linspace(start, end, 20001)
    x = (edge[1:] + edge[:-1]) / 2
    slices = np.minimum(0.4 * half_thickness(x / 0.2), height) * np.diff(edge)
    return float(slices.sum()), float((slices * x).sum() / slices.sum())


def by_hand() -> dict[str, tuple[float, float]]:
    """Mass (kg) and arm (m aft of the centre section's leading edge) of every part of both sides.

    Everything runs along a sweep of 60 in 500 mm, so that a stick at x in the centre section has its centre
    at x + 30 mm, and is longer than the span by the sweep.
    """
    length = np.hypot(0.500, 0.060)  # m, one side
    aft = 0.030  # m
    depth = 2 * 0.200 * float(half_thickness(np.array(0.30)))  # over the caps
    caps = 2 * 2 * 0.006 * 0.004 * length * 450
    webs = 2 * depth * 0.0015 * length * 120  # full depth: lapped on both caps
    # Sticks sanded to the outline, never taller than they were bought.
    (nose, nose_at), (tail, tail_at) = (
        stick_by_hand(*size) for size in ((0, 0.008, 0.013), (0.188, 0.2, 0.0036))
    )
    leading, trailing = 2 * nose * length * 150, 2 * tail * length * 160
    # A rib from behind the leading edge stick to the trailing edge, less the notches of the caps.
    edge = np.linspace(0.008 / 0.2, 0.188 / 0.2, 20001)
    x = (edge[1:] + edge[:-1]) / 2
    strip = 2 * 0.2 * half_thickness(x) * np.diff(edge) * 0.2
    notch = 2 * 0.006 * length / 0.500 * 0.004  # cut aslant
    area = strip.sum() - notch
    centre = ((strip * x * 0.2).sum() - notch * 0.060) / area
    ribs = 11 * area * 0.002 * 130
    at_ribs = 0.060 / 5 * 2 * (1 + 2 + 3 + 4 + 5) / 11  # one on the centre line, five a side
    covering = 2 * 0.200 * 1.000 * 0.050
    laps = 2 * 2 * 0.004 * length  # webs on caps
    feet = 11 * 2 * 0.002 * 0.006 * length / 0.500  # ribs on caps, which they cut aslant
    noses, tails = 11 * 0.002 * 0.013, 11 * 0.002 * 0.0036  # ribs on edges
    glue = laps + feet + noses + tails
    glued = (
        laps * (0.060 + aft)
        + feet * (0.060 + at_ribs)
        + noses * (0.008 + at_ribs)
        + tails * (0.188 + at_ribs)
    ) / glue
    return {
        "caps, main spar": (caps, 0.060 + aft),
        "shear webs, main spar": (webs, 0.060 + 0.003 + 0.00075 + aft),
        "leading edge": (leading, nose_at + aft),
        "trailing edge": (trailing, tail_at + aft),
        "ribs": (ribs, centre + at_ribs),
        "covering": (covering, 0.100 + aft),
        "glue": (0.200 * glue, glued),
        "battery": (0.120, -0.030),
        "tank": (0.080, 0.060),
        "servo": (0.020, 0.120),
    }


def small_wing() -> Iterator[Result]:
    """Every part's mass, and the centre of gravity with full tank and empty."""
    hand, found = by_hand(), balance(read_text(WING))
    lots = {lot.name: lot for lot in found.lots}
    row = partial(Result, source=SOURCE, kind="mesh")
    for name, (mass, _) in hand.items():
        ribs = name == "ribs"
        yield row(
            f"mass of {name}",
            1e3 * lots[name].mass,
            1e3 * mass,
            "g",
            0.03 if ribs else 5e-3,
            why="a rib's outline is straight from panel to panel of its elements"
            if ribs
            else "steps of the mesh, corners of the swept pieces",
        )
    total = sum(mass for mass, _ in hand.values())
    moment = sum(mass * arm for mass, arm in hand.values())
    used = 0.070
    full, empty = moment / total, (moment - used * 0.060) / (total - used)
    why = "0.1 mm: what a builder can tell; ribs and trailing edge as their elements have them"
    yield row("centre of gravity, full", 1e3 * _x(found, 0), 1e3 * full, "mm", 0.1, why=why, scale=1.0)
    yield row("centre of gravity, empty", 1e3 * _x(found, 1), 1e3 * empty, "mm", 0.1, why=why, scale=1.0)
    yield row("mass in all, full", 1e3 * found.states[0].mass, 1e3 * total, "g", 5e-3, why="ribs, as above")


def _x(found: Balance, state: int) -> float:
    return float(found.states[state].centre[0])


def rod() -> Iterator[Result]:
    """Moments of inertia: the caps and the masses of the small wing as rods and points."""
    found = balance(read_text(WING))
    hand = by_hand()
    state = found.states[0]
    x0 = float(state.centre[0])
    # Along the span every stick is a rod of m b^2/12; ribs stand at 100 mm; a pair of servos at 250 mm.
    sticks = sum(
        hand[name][0]
        for name in ("caps, main spar", "shear webs, main spar", "leading edge", "trailing edge", "covering")
    )
    ribs = hand["ribs"][0] / 11 * 2 * sum((0.1 * k) ** 2 for k in range(1, 6))
    glue = hand["glue"][0] / 12
    roll = sticks / 12 + ribs + glue + 0.020 * 0.250**2
    # In pitch: arms as above; the sweep spreads each stick by 60 mm along x; sheets by their chord.
    pitch = sum(mass * (arm - x0) ** 2 for mass, arm in hand.values())
    spread = [name for name in hand if name not in ("battery", "tank", "servo")]
    pitch += sum(hand[name][0] for name in spread) * 0.060**2 / 12
    pitch += hand["covering"][0] * 0.2**2 / 12 + hand["ribs"][0] * 0.180**2 / 12
    why = "upright arms of a few millimetres are left out by hand, and sheet stands at its elements' corners"
    row = partial(Result, unit="g m2", source=SOURCE, why=why, kind="theory")
    yield row("moment of inertia in roll", 1e3 * state.inertia[0, 0], 1e3 * roll, tolerance=0.03)
    yield row("moment of inertia in pitch", 1e3 * state.inertia[1, 1], 1e3 * pitch, tolerance=0.05)
    yield row(
        "yaw less roll and pitch",
        1e3 * state.inertia[2, 2],
        1e3 * (state.inertia[0, 0] + state.inertia[1, 1]),
        tolerance=0.01,
        source="Flat body: the yaw moment is the sum of the others, textbook, from memory",
        why="the wing is not quite flat",
    )


CASES = (
    Case("W1", "Centre of gravity of a small wing by hand", small_wing),
    Case("W2", "Moments of inertia of the same wing", rod),
)
