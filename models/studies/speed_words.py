"""What `models.studies.speed` found, in words."""

from __future__ import annotations

import math

import numpy as np

from models import units_out as say
from models.rounding import gees
from models.studies.speed import (
    LAST,
    LOSS,
    Beating,
    Help,
    Latticed,
    Reduced,
    Speeds,
    bay_words,
    elastic,
    trim_ends,
)
from models.studies.speed_doubt import SpeedDoubt
from models.studies.speed_limit import Limit, kmh, limit_of, stated
from models.units_out import mass_words
from models.wing.parts import Elevons, Wing

UNEVEN = "The sides of this wing differ, so that strips alone are used; a lattice may differ by 10 to 30 %."
NOT_COUNTED = "Not counted: air on a tail and a fuselage, gaps, gusts, stall, compressibility, soft mounts."
STILL = (
    "Without servo_stiffness in the file {} stand still against the wing, and their own swinging, "
    "balance and "
    "slack are not counted. Controls that are slack or heavy behind their hinge may beat far below "
    "these speeds."
)
UNEVEN_STILL = (
    "The sides of this wing differ, so that {} stand still against the wing in spite of "
    "servo_stiffness: their own "
    "swinging, balance and slack are not counted."
)
DAMPING = (
    f"Structural damping: loss factor {LOSS[0]:g} to {LOSS[1]:g}, of wood alone (logarithmic decrement 0.02 "
    "to 0.1, Wood Handbook, from memory); the lower counts."
)
KINDS = {
    "symmetric": "both sides alike",
    "antisymmetric": "one side up, the other down",
    "together": "the sides unlike",
}


def sentences(
    wing: Wing, found: list[tuple[str, Speeds]], better: list[Help], sure: SpeedDoubt | None = None
) -> list[str]:
    """The answer in words.

    Parameters
    ----------
    wing : Wing
    found : list of (str, Speeds)
        By the layout's name, as drawn first.
    better : list of Help
        Changes that make it faster.
    sure : SpeedDoubt or None
        As wood scatters; None where nothing beats.
    """
    drawn = found[0][1]
    held = limit_of(drawn, sure, stated(wing))
    said = [held.sentence or f"Nothing found that speed alone does to this wing up to {kmh(LAST)}."]
    lattice = drawn.lattice
    if drawn.beating:
        said.append(_beats(drawn.beating[0], lattice, "" if wing.elevons is None else surface(wing.elevons)))
        if sure is not None:
            said.append(
                "As wood and builders' thicknesses scatter, nineteen wings in twenty begin beyond "
                f"{kmh(sure.fifth)}."
            )
        other = next((one for one in drawn.beating if one.kind != drawn.beating[0].kind), None)
        if other is not None:
            words = f"{kmh(other.speed)}, {other.frequency:.1f} times a second{_also(other.kind, lattice)}"
            said.append(f"With {KINDS[other.kind]} it would from {words}.")
    elif lattice is not None and lattice.beating:
        kind, speed, hertz = lattice.beating[0]
        said.append(
            f"By the lattice alone it begins to beat near {kmh(speed)}, {hertz:.1f} times a second, "
            f"{KINDS[kind]}."
        )
    else:
        said.append(f"It does not beat by itself up to {kmh(LAST)}.")
    if drawn.rattle is not None and wing.elevons is not None and drawn.rattle <= LAST:
        said.append(
            f"With their slack of {math.degrees(wing.elevons.slack):.2g} degrees "
            f"{surface(wing.elevons).lower()} may rattle by themselves from {kmh(drawn.rattle)}."
        )
    off = min(drawn.twist_off, lattice.twist_off if lattice is not None else math.inf)
    if off <= LAST:
        also = "" if lattice is None else f" ({_pair(drawn.twist_off, lattice.twist_off)})"
        said.append(
            f"Held at its middle it would twist off at {kmh(off)}{also}; in free flight mostly later, by as "
            "much as what holds its nose gives way, so this counts."
        )
    else:
        said.append(f"Held at its middle it does not twist off up to {kmh(LAST)}.")
    said += _grip(wing, drawn)
    said.append(_pulled(drawn, "" if stated(wing) else _guessed(held, drawn.reduced.case_speed)))
    if better:
        ways = [f"{one.words}: {_lowest(one.speeds)}, {say.mass(one.mass):.2g}" for one in better]
        said.append(f"What helps: {'; '.join(ways)}.")
    others = [f"{name} {_lowest(one)}" for name, one in found[1:]]
    if others:
        said.append(f"What comes first otherwise: {'; '.join(others)}.")
    without = ["gusts"]
    if drawn.reduced.rest > 0:
        without.append("a tail's own air (its mass is in the middle)")
    if wing.elevons is not None and drawn.reduced.control is None:
        why = "the sides differ" if wing.elevons.servo_stiffness else "no servo_stiffness in the file"
        without.append(f"{surface(wing.elevons).lower()} that swing by themselves ({why})")
    said += covering_words(drawn.reduced)
    said.append(f"Not counted: {', '.join(without)}.")
    if lattice is None:
        said.append(UNEVEN)
    return said


def _guessed(held: Limit, speed: float) -> str:
    """In brackets, that no file asks for the pull-up's speed."""
    beyond = ", faster than that" if speed > held.advised else ""
    return f" (no speed in the file: of its lift coefficient{beyond})"


def _pulled(drawn: Speeds, guess: str) -> str:
    """What the bent wing does to its own lift in the pull-up."""
    speed, bent = drawn.reduced.case_speed, elastic(drawn.reduced)
    if bent is None:
        if drawn.lattice is None:
            return "What the bent wing does to its own lift is not worked out where the sides differ."
        off = trim_ends(drawn.reduced)
        return (
            f"At the {kmh(speed)} of the pull-up{guess} no lift can be told for the wing that bends and "
            f"twists: by the lattice it twists off, or twists as fast as it is trimmed, at {kmh(off)}, "
            "and small differences decide from nine tenths of that on."
        )
    share = bent.bending / bent.rigid_bending - 1
    how = (
        f"{abs(100 * share):.0f} % {'more' if share > 0 else 'less'} than" if abs(share) >= 5e-3 else "about"
    )
    return (
        f"In the pull-up at {kmh(speed)}{guess} the wing that bends and twists carries "
        f"{say.moment(bent.bending):.3g} at its root, {how} the {say.moment(bent.rigid_bending):.3g} that "
        f"`check` counts with; its tips go up {say.length(bent.up):.0f} instead of "
        f"{say.length.bare(bent.rigid_up, '.0f')} and twist {math.degrees(bent.twist):.1f} degrees instead "
        f"of {math.degrees(bent.rigid_twist):.1f}."
    )


def _lowest(one: Speeds) -> str:
    what, speed = one.lowest
    return kmh(speed) if what else f"beyond {kmh(LAST)}"


def _pair(strips: float, lattice: float) -> str:
    """Both figures in words."""
    ours, theirs = (kmh(v) if v <= LAST else f"beyond {kmh(LAST)}" for v in (strips, lattice))
    return f"strips {ours}, lattice {theirs}"


def _also(kind: str, lattice: Latticed | None) -> str:
    """What the lattice says of the same movement."""
    if lattice is None:
        return ""
    speed = next((v for k, v, _ in lattice.beating if k == kind), math.inf)
    return f" (by the lattice {'from ' + kmh(speed) if speed <= LAST else f'not up to {kmh(LAST)}'})"


def _beats(one: Beating, lattice: Latticed | None, name: str) -> str:
    often = f"{one.frequency:.1f} times a second, {KINDS[one.kind]}"
    where = f"{bay_words(one.bays)} twist{'s' if len(one.bays) == 1 else ''} most"
    damped = f"; {kmh(one.damped_speed)} with more damping in the wood" if one.damped_speed <= LAST else ""
    also = _also(one.kind, lattice)
    swing = math.degrees(abs(one.turn)) / 100
    with_it = (
        f"; {name.lower()} swing {swing:.2g} degrees for each centimetre" if swing >= 0.5 and name else ""
    )
    return f"Near {kmh(one.speed)} it begins to beat by itself{also}, {often}; {where}{with_it}{damped}."


def _grip(wing: Wing, drawn: Speeds) -> list[str]:

    if drawn.reversal is None or drawn.grip is None or wing.elevons is None:
        return []
    name = surface(wing.elevons)
    if drawn.reversal > LAST:
        return [f"{name} do not lose all their grip in roll up to {kmh(LAST)}."]
    half = drawn.left(0.5)
    also = "" if drawn.lattice is None else f" (by the lattice {kmh(drawn.lattice.reversal)})"
    speed = drawn.reduced.case_speed
    if speed >= drawn.reversal:
        return [
            f"{name}: half of their grip in roll is left at {kmh(half)}, none at {kmh(drawn.reversal)}"
            f"{also}; at the {kmh(speed)} of the pull-up they roll the wrong way."
        ]
    left = float(np.interp(speed, drawn.speeds, drawn.grip))
    return [
        f"{name}: {100 * left:.0f} % of their grip in roll is left at the {kmh(speed)} of the pull-up, half "
        f"at {kmh(half)}, none at {kmh(drawn.reversal)}{also}."
    ]


def covering_words(reduced: Reduced) -> list[str]:
    """What of the covering is counted."""
    film, asked = reduced.film, reduced.pull.load_factor
    if film is None:
        if not (reduced.wing.coverings or reduced.wing.covering_mass_per_area):
            return []
        return ["Of the covering the mass counts and no stiffness, for the file says no film."]
    low = any(one.stiffer > 1 for one in reduced.wing.coverings)
    counts = "Covering counts" + (" by the low end of what is said of it" if low else "")
    if film.share >= 1:
        return [f"{counts}: it is taut up to the {gees(asked)} g asked for and beyond."]
    return [
        f"{counts} where it is taut at the {gees(asked)} g asked for, {100 * film.share:.0f} % of it; the "
        f"first of it goes slack at {film.slack_load:.2g} g."
    ]


def surface(elevons: Elevons) -> str:
    """What the controls are called."""
    return "Ailerons" if elevons.acts == "roll" else "Elevons"


def control_words(wing: Wing, reduced: Reduced) -> list[str]:
    """How elevons were taken, and what is not counted."""
    elevons, control = wing.elevons, reduced.control
    if elevons is None:
        return [NOT_COUNTED]
    name = surface(elevons).lower()
    if control is None:
        return [UNEVEN_STILL.format(name) if elevons.servo_stiffness else STILL.format(name), NOT_COUNTED]
    arm = "half its chord" if math.isnan(elevons.balance) else f"{say.length(elevons.balance):.0f}"
    slack = f"slack {math.degrees(elevons.slack):.2g} degrees" if elevons.slack else "no slack"
    said = (
        f"{name.capitalize()} turn on their servos: {say.turn_stiffness(elevons.servo_stiffness):.3g} and "
        f"{mass_words(control.mass)} a side, centre of gravity {arm} behind the hinge, {slack}; each one "
        "rigid body along its span. Their grip is for the angle that they really have, as if servos "
        "did not give."
    )
    return [said, NOT_COUNTED]
