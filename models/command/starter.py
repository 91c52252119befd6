"""The text of a starter wing file: a few answers and the sizes of its parts in, a commented file out.

Sizes come from `models.command.first_sizes` (rules of thumb) and are brought up to what the wing's own
verdict wants by `models.command.sizing`.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, replace
from functools import partial

from models import units_out as say

DIHEDRAL = 3
CAP_SHARE = 0.12
"""Width of a cap that a tip has room for, of its chord: what two spars and both edges leave."""
JOINTS = ("any", "butted", "scarfed")
"""How caps meet at the centre; any: butted on a brace where ply on sale bears it, else scarfed."""
SHEETINGS = ("none", "nose")
"""Where a starter is sheeted: on both faces from the leading edge to its (first) spar."""
COVERINGS = {"none": 0, "tissue": 35, "film": 60}
"""What a starter is covered with, g/m2 as it lies on the wing: common practice, no source."""
BOXED, MIDDLE, REACH = 0.2, 0.5, 0.8
"""How far out, of the semispan, both faces carry webs, the middle webs reach, and webs reach at first."""


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
    joint : str
        How the caps meet at the centre, one of `JOINTS`.
    sheeting : str
        One of `SHEETINGS`.
    covering : str
        One of `COVERINGS`.
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
    joint: str = "any"
    sheeting: str = "none"
    covering: str = "none"


class NoStarter(ValueError):
    """The answers make no wing; the message says which, and what would do."""


@dataclass(frozen=True)
class StarterWebs:
    """Webs of some bays: wood, its (face) grain as the file has it, thickness in mm, and how many faces (1
    the front, 2 both) have one: an open section turns about a line ahead of its web, and so nearer to where
    the lift acts, which twists it less."""

    wood: str
    grain: str
    thickness: float
    faces: int


@dataclass(frozen=True)
class SparSizes:
    """One spar.

    Parameters
    ----------
    name : str
    at : int
        Of the chord, %.
    width, height : int
        Of the caps at the root, mm.
    tip_height : int
        At the tip, mm: planed thinner towards one that is too thin for it.
    carbon : float
        Thickness of a carbon strip on the inside of each cap, mm; 0 for none.
    webs : tuple of StarterWebs
        In the zones of `zones`, from the centre outward.
    brace : float
        Thickness of the ply brace between butted caps, mm; 0 where they are scarfed.
    braced : int
        Bays that the brace reaches into.
    """

    name: str
    at: int
    width: int
    height: int
    tip_height: int
    carbon: float
    webs: tuple[StarterWebs, ...]
    brace: float
    braced: int


@dataclass(frozen=True)
class Sizes:
    """Parts of a starter, mm.

    Parameters
    ----------
    spars : tuple of SparSizes
        From the front.
    webbed : int
        Bays that carry webs, from the centre.
    rib : float
        Thickness of the ribs.
    edge, edge_height, tail, tail_height : float
        Width and height of the leading and trailing edge.
    strong, strong_rib, strong_wood : int, float, str
        How many of the innermost ribs are of another wood, 0 for none, their thickness and wood.
    rail, tie : float
        Width and height of engine rails and thickness of their ties; 0 without an engine.
    sheet : float
        Thickness of the sheeting; 0 for none.
    """

    spars: tuple[SparSizes, ...]
    webbed: int
    rib: float
    edge: float
    edge_height: float
    tail: float
    tail_height: float
    strong: int = 0
    strong_rib: float = 0.0
    strong_wood: str = ""
    rail: float = 0.0
    tie: float = 3.0
    sheet: float = 0.0

    def with_spar(self, k: int, **changes: object) -> Sizes:
        """With changes of one spar."""
        spar = replace(self.spars[k], **changes)  # type: ignore[arg-type]
        return replace(self, spars=(*self.spars[:k], spar, *self.spars[k + 1 :]))


def bays(a: Answers) -> int:
    """Bays of a side."""
    return max(4, round(a.span / 2 / min(0.07, max(0.03, 0.3 * a.root_chord))))


def zones(a: Answers, webbed: int) -> list[tuple[int, int]]:
    """First and last bay of the three zones of equal webs, from the centre outward."""
    n = bays(a)
    one = max(1, round(BOXED * n))
    two = max(one + 1, round(MIDDLE * n))
    return [(1, one), (one + 1, two), (two + 1, max(webbed, two + 1))]


def text(a: Answers, sizes: Sizes, middle: float = 0.0) -> str:
    """A wing file with comments.

    Parameters
    ----------
    a : Answers
        What the builder said.
    sizes : Sizes
        Of the parts.
    middle : float
        Height of the engine rails' middle, m.

    Returns
    -------
    str
        TOML, which `models.wing.reading.read_text` reads.
    """
    semispan, n = a.span / 2, bays(a)
    parts = [_HEAD.format(
        name=_text(a.name), root=mm(a.root_chord), section=_text(a.section), half=mm(semispan),
        tip=mm(a.tip_chord), sweep=mm(a.sweep), ribs=n + 1, lift=DIHEDRAL, rib=f"{sizes.rib:g}",
        strong=_STRONG.format(
            ribs="1" if sizes.strong == 1 else f"1-{sizes.strong}", thickness=f"{sizes.strong_rib:g}",
            wood=sizes.strong_wood,
        ) if sizes.strong else "",
    )]  # fmt: skip
    parts += [_of_spar(a, spar, sizes.webbed, first=k == 0) for k, spar in enumerate(sizes.spars)]
    parts += [
        _BRACE.format(spar=spar.name, brace=f"{1e3 * semispan / n * spar.braced:.0f}", ply=f"{spar.brace:g}")
        for spar in sizes.spars
        if spar.brace
    ]
    parts.append(_EDGES.format(
        edge=f"{sizes.edge:g}", edge_height=f"{sizes.edge_height:g}",
        tail=f"{sizes.tail:g}", tail_height=f"{sizes.tail_height:g}",
    ))  # fmt: skip
    if sizes.sheet:
        parts.append(_SHEETING.format(spar=sizes.spars[0].name, thickness=f"{sizes.sheet:g}"))
    if COVERINGS[a.covering]:
        parts.append(_COVERING.format(mass=COVERINGS[a.covering], film=_FILMS[a.covering]))
    if a.engine:
        parts.append(_ENGINE.format(
            y=f"{sizes.rail + 8:g}", ahead=mm(-0.25 * a.root_chord),
            rear=mm((0.7 if a.spars == 2 else 0.4) * a.root_chord), side=f"{sizes.rail:g}",
            tie=f"{sizes.tie:g}", ties=", ".join(f'"{spar.name}"' for spar in sizes.spars),
            engine=f"{1e3 * a.engine:.4g}", at=mm(-0.15 * a.root_chord), z=mm(round(middle, 4)),
        ))  # fmt: skip
    parts.append(_CASE.format(n=f"{a.load_factor:g}", mass=f"{a.mass:.4g}"))
    made = "\n".join(parts)
    return in_inches(made) if say.imperial() else made


_PER_AREA = re.compile(r"(\d+) g/m2")
_SIZES = ("thickness", "tie_thickness", "width", "height", "caps", "exceptions")
"""Keys of what is bought: in inches the nearest size on sale."""
_QUANTITY = re.compile(r'"(-?[\d.]+) (mm|kg|g|N|kW)"')
_DENSITY = re.compile(r"(\d+) kg/m3")
_HEAD_LINES = 3


def in_inches(made: str) -> str:
    """A starter in a builder's inches, ounces and pounds: sizes as they are sold, places as they are.

    Sheets and sticks go by 1/32 in, from 3/8 in on by 1/16 in (common practice, no source).
    """
    lines = made.split("\n")
    for k, line in enumerate(lines):
        if k >= _HEAD_LINES:
            key = line.partition("=")[0].strip("# ")
            line = _PER_AREA.sub(
                lambda match: f"{say.film_mass.other.times * (1e-3 * float(match[1])):.2g} oz/ft2", line
            )
            line = _DENSITY.sub(lambda match: f"{float(match[1]) * say.density.other.times:.3g} lb/ft3", line)
            lines[k] = _QUANTITY.sub(partial(_other, sold=key in _SIZES, given=key[:1] == "{"), line)
    at = next(k for k, line in enumerate(lines) if line.startswith("name = "))
    lines.insert(at + 1, 'units = "imperial" # or "metric": of answers, drawings and pages')
    return "\n".join(lines)


def _other(match: re.Match[str], sold: bool, given: bool) -> str:
    return f'"{_in_other(match, sold, given)}"'


def _in_other(match: re.Match[str], sold: bool, given: bool) -> str:
    value, unit = float(match[1]), match[2]
    if unit == "mm":
        inches = value / 25.4
        if sold and abs(value) >= 0.7:
            grid = 16 if inches > 0.36 else 32
            return say.fraction(max(round(inches * grid), 1) / grid) + " in"
        exact = say.fraction(inches, exact=True)
        other = f"{inches:.4g}" if given else say.fraction(round(32 * inches) / 32)
        return (exact if "." not in exact else other) + " in"
    if unit == "kg":
        return f"{value / say.POUND:.3g} lb"
    if unit == "g":
        return f"{1e-3 * value / say.OUNCE:.3g} oz"
    return f"{value / say.POUND_FORCE:.2g} lbf" if unit == "N" else f"{value / 0.7457:.2g} hp"


def _of_spar(a: Answers, spar: SparSizes, webbed: int, *, first: bool) -> str:
    width, height = tip_width(a, spar.width), spar.tip_height
    out = [_SPAR.format(
        name=spar.name, at=spar.at,
        width=f'"{spar.width} mm"' if width >= spar.width else f'["{spar.width} mm", "{width} mm"]',
        height=f'"{spar.height} mm"' if height >= spar.height else f'["{spar.height} mm", "{height} mm"]',
        strips=_CARBON.format(thickness=f"{spar.carbon:g}") if spar.carbon else "",
        joint=_BUTTED if spar.brace else _SCARFED,
    )]  # fmt: skip
    for face in ("front", "rear"):
        runs: list[tuple[int, int, StarterWebs]] = []
        for (begin, end), web in zip(zones(a, webbed), spar.webs):
            if face == "rear" and web.faces < 2:
                continue
            like = runs[-1][2] if runs and runs[-1][1] == begin - 1 else None
            if like is not None and replace(like, faces=web.faces) == web:
                runs[-1] = (runs[-1][0], end, like)
            else:
                runs.append((begin, end, web))
        for begin, end, web in runs:
            words = ("", "", "", "")
            if face == "rear":
                words = (" # a second web in the middle makes these bays a box" if first else "", "", "", "")
            elif begin == 1:
                words = _WORDS
            bay = f"{begin}" if begin == end else f"{begin}-{end}"
            out.append(_WEB.format(
                bays=bay, face=face, thickness=f"{web.thickness:g}", wood=web.wood, grain=web.grain,
                of_bays=words[0], of_face=words[2], of_grain=words[3],
                note=words[1],
            ))  # fmt: skip
    return "\n".join(out)


def tip_width(a: Answers, width: int) -> int:
    """Width of the caps at the tip, mm: cut narrower towards one that is too short for them."""
    return min(width, math.floor(1e3 * CAP_SHARE * a.tip_chord))


def mm(length: float) -> str:
    """A length, m, in mm; with more digits where inches are made of it."""
    return f"{1e3 * length:.{7 if say.imperial() else 4}g} mm"


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
{strong}"""
_STRONG = """\
exceptions = [{{ ribs = "{ribs}", thickness = "{thickness} mm", wood = "{wood}" }}]
"""
_SPAR = """\
[[spars]]
name = "{name}"
at = "{at} %" # of the chord
# Upper and lower cap alike, inside the outline: width along the chord, height up and down
# (one, or at root and tip).
caps = {{ width = {width}, wood = "spruce", height = {height}{strips} }}
joint = {joint}
"""
_CARBON = ', facings = [{{ wood = "carbon", thickness = "{thickness} mm", face = "inner" }}]'
_BUTTED = '"butted" # how the caps meet at the centre: the brace then carries all; or "scarfed", or "through"'
_SCARFED = '"scarfed" # how the caps meet at the centre, no steeper than 1 in 12; or "butted" on a brace'
_WEB = """\
[[spars.webs]]{note}
bays = "{bays}"{of_bays}
face = "{face}"{of_face}
thickness = "{thickness} mm"
wood = "{wood}"
grain = "{grain}"{of_grain}
"""
_WORDS = (
    "",
    " # a bay is the space between two ribs, 1 the innermost; a bay that is not named stays open",
    ' # "front", "rear", "both" or "between" the caps',
    ' # or "span", "45 deg"',
)
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
height = "{edge_height} mm"

[trailing_edge]
width = "{tail} mm"
height = "{tail_height} mm"
"""
_SHEETING = """\
[[sheeting]] # on both faces: with the spar's web it closes the nose against twist
from = "leading edge"
to = "{spar}"
thickness = "{thickness} mm"
wood = "balsa medium"
grain = "span"
"""
_COVERING = """\
[covering] # weighs so much on the wing; for its stiffness take the hash off and give what it asks for
mass_per_area = "{mass} g/m2"
{film}"""
_FILMS = {
    "none": "",
    "tissue": '# film = "tissue and dope" # and pretension\n',
    "film": '# film = "polyester film" # and thickness\n',
}
"""What gives a covering stiffness, hashed: how stiff one is differs by a factor of ten between sources."""
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
tie_thickness = "{tie} mm"

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
# moment_coefficient = -0.05 # of the section, nose up positive; left out, it follows from its mean line
"""
