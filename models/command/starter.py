"""The text of a starter wing file: a few answers in, a commented file that runs out.

Caps and webs get a first size by the rule of thumb in `cap_size`; `fitted` then lets `models.studies.mend`
change what is needed for the wing to be fit to fly by its own verdict.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from models.studies.mend import Mended

GRAVITY = 9.80665
_WIDTHS, _HEIGHTS = (5, 6, 8, 10, 12, 15, 20, 25, 30), (3, 4, 5, 6, 8, 10, 12, 15)
"""Sticks on sale, mm: common practice, no source."""
_WORKING_STRESS = 12e6
"""Mean stress of a spruce cap at the load asked for, Pa: a third of its crushing strength, since caps also
bow and bend; common practice, no source."""
_THINNEST_RAIL = 5
"""Height and width of an engine rail that is still of use, mm: common practice, no source."""
_DIHEDRAL = 3
_LIFT_AT = 0.44
"""Where half the lift acts, of the semispan: between elliptic (0.42) and rectangular (0.46) wings."""
_CAP_SHARE = 0.12
"""Width of a cap that a tip has room for, of its chord: what two spars and both edges leave."""
_DEEP, _REACH = 0.10, 0.8
"""Depth of a 12 % section over the caps at a spar, of the chord; how far out the webs reach, of the
semispan."""


@dataclass(frozen=True)
class Answers:
    """What the builder was asked. Lengths m, mass kg, angles deg as they are written.

    Parameters
    ----------
    name : str
        Of the wing.
    span : float
        Tip to tip.
    root_chord, tip_chord : float
        Chords.
    sweep : float
        How far the leading edge at the tip lies aft of that at the root.
    section : str
        Airfoil section, "NACA 2412" say.
    mass : float
        Of the whole aeroplane, ready to fly.
    load_factor : float
        Lift over weight in the pull-up.
    spars : int
        1 or 2.
    engine : float
        Mass of an engine on rails ahead of the leading edge; 0 for none.
    """

    name: str = "My wing"
    span: float = 1.5
    root_chord: float = 0.24
    tip_chord: float = 0.18
    sweep: float = 0.02
    section: str = "NACA 2412"
    mass: float = 1.5
    load_factor: float = 6.0
    spars: int = 1
    engine: float = 0.0


class NoStarter(ValueError):
    """The answers make no wing; the message says which, and what would do."""


def starter(a: Answers, folder: Path = Path()) -> str:
    """A wing file with comments.

    Parameters
    ----------
    a : Answers
        What the builder said.
    folder : Path
        Where the file will lie: a coordinate file's name counts from there.

    Returns
    -------
    str
        TOML, which `models.wing.reading.read_text` reads.

    Raises
    ------
    NoStarter
        A size is out of the range of models, or no stick fits.
    """
    _sensible(a)
    semispan = a.span / 2
    bays = max(4, round(semispan / min(0.07, max(0.03, 0.3 * a.root_chord))))
    width, height = cap_size(a)
    webbed = max(2, round(_REACH * bays))
    boxed = max(1, round(0.2 * bays))
    brace = 1e3 * semispan / bays * boxed
    thin = 1.0 if a.root_chord < 0.15 else 1.5 if a.root_chord < 0.35 else 2.5
    rib = 1.5 if a.root_chord < 0.15 else 2 if a.root_chord < 0.4 else 3
    names = (("main", 30),) if a.spars == 1 else (("front", 25), ("rear", 65))
    # A cambered section pitches nose-down: thin-aerofoil theory gives about this for the section of 2 %.
    moment = "-0.05" if a.section.upper().startswith("NACA 2") else "0"
    parts = [_HEAD.format(
        name=_text(a.name), root=_mm(a.root_chord), section=_text(a.section), half=_mm(semispan),
        tip=_mm(a.tip_chord), sweep=_mm(a.sweep), ribs=bays + 1, lift=_DIHEDRAL, rib=f"{rib:g}",
    )]  # fmt: skip
    for k, (name, at) in enumerate(names):
        size = (width, height) if k == 0 else _smaller(width, height)
        parts.append(
            _SPAR.format(
                name=name,
                at=at,
                width=_width(size[0], a.tip_chord),
                height=_height(size[1], a.tip_chord),
                bays=webbed,
                thin=f"{thin:g}",
            )
        )
        if k == 0:
            parts.append(_SECOND_WEB.format(bays=boxed, thin=f"{thin:g}"))
    edge = 6 if a.root_chord < 0.2 else 8 if a.root_chord < 0.35 else 12
    # Edges run to the tip, and must leave room for caps and ribs there.
    edge = min(edge, math.floor(100 * a.tip_chord))
    ply = 2 if width < 15 else 3
    parts += [_BRACE.format(spar=name, brace=f"{brace:.0f}", ply=ply) for name, _ in names]
    parts.append(_EDGES.format(
        edge=edge,
        tail=max(12, round(min(100 * a.root_chord, 180 * a.tip_chord))),
        tail_height="4" if a.root_chord < 0.15 else "5",
    ))  # fmt: skip
    if a.engine:
        low, high = _room(a, folder, names, [(width, height), _smaller(width, height)])
        side = min(
            8 if a.engine < 0.4 else 12 if a.engine < 1.2 else 15, math.floor(1e3 * (high - low) - 0.5)
        )
        if side < _THINNEST_RAIL:
            raise NoStarter(
                f"between the caps there is no room for engine rails {_THINNEST_RAIL} mm high: take a larger "
                "chord or a thicker section, or leave the engine out."
            )
        # The rails stand a little out from the centre line, where dihedral has lifted the wing.
        middle = (low + high) / 2 + 1e-3 * (side + 8) * math.tan(math.radians(_DIHEDRAL))
        parts.append(_ENGINE.format(
            y=side + 8, ahead=_mm(-0.25 * a.root_chord),
            rear=_mm((0.7 if a.spars == 2 else 0.4) * a.root_chord),
            side=side, ties=", ".join(f'"{name}"' for name, _ in names), engine=f"{1e3 * a.engine:.4g}",
            at=_mm(-0.15 * a.root_chord), z=_mm(round(middle, 4)),
        ))  # fmt: skip
    parts.append(_CASE.format(n=f"{a.load_factor:g}", mass=f"{a.mass:.4g}", moment=moment))
    return "\n".join(parts)


def cap_size(a: Answers) -> tuple[int, int]:
    """Width and height of the (front) spar's caps at the root, mm, by a rule of thumb.

    The root bending moment n W/2 x 0.44 b/2, without the relief of the wing's own weight, over the depth
    between caps gives the force; a working stress gives the area; the smallest stick on sale that has it is
    taken, or the largest that fits.

    Parameters
    ----------
    a : Answers
        What the builder said.

    Returns
    -------
    tuple of int
        Width and height.

    Raises
    ------
    NoStarter
        No stick of the list fits the section.
    """
    moment = a.load_factor * a.mass * GRAVITY / 2 * _LIFT_AT * a.span / 2
    depth = _DEEP * a.root_chord
    share = 1.0 if a.spars == 1 else 1 / 1.4
    fitting = [
        (width * height, width, height)
        for width in _WIDTHS
        for height in _HEIGHTS
        if height <= width <= 2.5 * height and 3e-3 * height <= depth
    ]
    enough = [
        stick
        for stick in fitting
        if stick[0] * 1e-6 * _WORKING_STRESS * (depth - 1e-3 * stick[2]) >= share * moment
    ]
    if not fitting:
        raise NoStarter(f"a chord of {_mm(a.root_chord)} at the root is too small for a wooden cap.")
    _, width, height = min(enough) if enough else max(fitting)
    return width, height


def fitted(
    a: Answers, folder: Path = Path(), source: str = "", step: Callable[[str], None] | None = None
) -> Mended:
    """A wing file that is fit to fly by its own verdict: first sizes by rules of thumb, and on them whatever
    `models.studies.mend` finds that is needed.

    Parameters
    ----------
    a : Answers
        What the builder said.
    folder : Path
        Where the file will lie.
    source : str
        Its name, for what is said of it.
    step : callable or None
        Told in words what is tried.

    Returns
    -------
    Mended
        Its `text` is the file; not fit where no size on sale makes it so.

    Raises
    ------
    NoStarter
        As for `starter`.
    """
    from models.studies.mend import mend

    return mend(starter(a, folder), source=source, folder=folder, name=a.name, step=step)


def _smaller(width: int, height: int) -> tuple[int, int]:
    """Caps of the rear spar, which bears less."""
    return _WIDTHS[max(_WIDTHS.index(width) - 1, 0)], _HEIGHTS[max(_HEIGHTS.index(height) - 1, 0)]


def _width(width: int, tip_chord: float) -> str:
    """The caps' width as the file has it: cut narrower towards a tip that is too short for it."""
    at_tip = math.floor(1e3 * _CAP_SHARE * tip_chord)
    return f'"{width} mm"' if at_tip >= width else f'["{width} mm", "{at_tip} mm"]'


def _height(height: int, tip_chord: float) -> str:
    """The caps' height as the file has it: planed thinner towards a tip that is too thin for it."""
    at_tip = math.floor(1e3 * _DEEP * tip_chord / 3.5)
    return f'"{height} mm"' if at_tip >= height else f'["{height} mm", "{at_tip} mm"]'


def _room(
    a: Answers, folder: Path, spars: tuple[tuple[str, int], ...], caps: list[tuple[int, int]]
) -> tuple[float, float]:
    """Lowest and highest z between the caps of every spar close to the root, m."""
    import numpy as np

    from models.wing.airfoil import FRACTIONS, AirfoilError, section

    try:
        faces = section(a.section, folder)
    except AirfoilError as error:
        raise NoStarter(f"section {a.section!r} {error}") from None
    chord = a.root_chord + (a.tip_chord - a.root_chord) * min(1.0, 2 * 0.04 / a.span)
    # Caps lie inside the outline over their whole width.
    edges = [
        at / 100 + np.linspace(-0.5, 0.5, 5) * 1e-3 * width / chord
        for (_, at), (width, _) in zip(spars, caps)
    ]
    upper, lower = ([chord * np.interp(edge, FRACTIONS, face) for edge in edges] for face in faces)
    return (
        max(float(z.max()) + 1e-3 * height for z, (_, height) in zip(lower, caps)),
        min(float(z.min()) - 1e-3 * height for z, (_, height) in zip(upper, caps)),
    )


def _sensible(a: Answers) -> None:
    for what, value, low, high, unit in (
        ("span", a.span, 0.3, 8, "m"), ("root chord", a.root_chord, 0.08, 2, "m"),
        ("tip chord", a.tip_chord, 0.06, 2, "m"), ("mass", a.mass, 0.05, 50, "kg"),
        ("load factor", a.load_factor, 1, 50, ""), ("sweep", abs(a.sweep), 0, 4, "m"),
        ("engine", a.engine, 0, 20, "kg"),
    ):  # fmt: skip
        if not (math.isfinite(value) and low <= value <= high):
            raise NoStarter(
                f"{what} {value:g} {unit}".rstrip()
                + f" is not from {low:g} to {high:g} {unit}".rstrip()
                + "."
            )
    if a.spars not in (1, 2):
        raise NoStarter(f"{a.spars} spars; a starter has 1 or 2.")
    if a.engine >= a.mass:
        raise NoStarter(f"the engine, {a.engine:g} kg, weighs as much as the whole aeroplane, {a.mass:g} kg.")


def _mm(length: float) -> str:
    return f"{1e3 * length:.4g} mm"


def _text(words: str) -> str:
    """As TOML text between double quotes."""
    kept = "".join(c for c in words if c.isprintable())
    return kept.replace("\\", "\\\\").replace('"', '\\"')


_HEAD = """\
# A wing file. Every quantity is text with its unit ("1.5 mm", "1/16 in", "6 oz", "160 kg/m3"); a bare number
# is refused. Coordinates: x aft from the leading edge of the centre section, y to the starboard tip, z up.
# One side is described. `sparbay keys` lists every key that may stand here; what is left out is assumed, and
# `sparbay check` lists it.
name = "{name}"

[planform]
# From the centre line outward; between stations everything runs straight.
stations = [
    {{ y = "0 mm", chord = "{root}", section = "{section}" }},
    {{ y = "{half}", chord = "{tip}", leading_edge = "{sweep}", dihedral = "{lift} deg", washout = "1 deg" }},
]

[ribs]
count = {ribs} # a side, the first on the centre line, the last at the tip; or stations = ["0 mm", "60 mm"]
thickness = "{rib} mm"
wood = "balsa, 140 kg/m3" # a name from `sparbay woods`, with the density if you have weighed the sheet
"""
_SPAR = """\
[[spars]]
name = "{name}"
at = "{at} %" # of the chord
# Upper and lower cap alike, inside the outline: width along the chord, height up and down
# (one, or at root and tip). A guess: check it.
caps = {{ width = {width}, wood = "spruce", height = {height} }}
joint = "butted" # how the caps meet at the centre: the brace then carries all; or "scarfed", or "through"

[[spars.webs]] # a bay is the space between two ribs, 1 the innermost; a bay that is not named stays open
bays = "1-{bays}"
face = "rear" # "front", "rear", "both" or "between" the caps
thickness = "{thin} mm"
wood = "balsa medium"
grain = "upright" # or "span"
"""
_SECOND_WEB = """\
[[spars.webs]]
bays = "1-{bays}" # a second web in the middle makes these bays a box
face = "front"
thickness = "{thin} mm"
"""
_BRACE = """\
[[braces]] # joins the two halves
spar = "{spar}"
face = "between"
to = "{brace} mm"
thickness = "{ply} mm"
wood = "birch ply"
"""
_EDGES = """\
[leading_edge]
width = "{edge} mm"
height = "{edge} mm"

[trailing_edge]
width = "{tail} mm"
height = "{tail_height} mm"
"""
_ENGINE = """\
[[rails]] # engine bearers, one on each side of the centre line, tied to the spars by upright ply
name = "engine bearer"
y = "{y} mm"
x_front = "{ahead}" # ahead of the leading edge: negative
x_rear = "{rear}"
z = "{z}" # between the caps
width = "{side} mm"
height = "{side} mm"
wood = "beech"
ties = [{ties}]
tie_thickness = "3 mm"

[[masses]]
name = "engine with propeller"
mass = "{engine} g"
x = "{at}"
z = "{z}"
carried_by = "rails"

# For `sparbay loads --rails`: take the hashes off and give the figures of your engine.
# [engine]
# name = "engine with propeller"
# thrust = "30 N"
# power = "0.8 kW"
# rpm = "10000 rpm"
# propeller_diameter = "300 mm"
# propeller_mass = "40 g"
"""
_CASE = """\
[case]
load_factor = {n} # lift over weight in the pull-up; or speed and radius of the loop
mass = "{mass} kg" # of the whole aeroplane
moment_coefficient = {moment} # of the section, nose up positive
"""
