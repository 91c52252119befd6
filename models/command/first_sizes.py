"""First sizes of a starter's parts, by rules of thumb: what `models.command.sizing` begins with, and how
large a part has room to be.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from pathlib import Path

import numpy as np

from fea.arrays import Array
from models import units_out as say
from models.command.starter import (
    BOXED,
    DIHEDRAL,
    MIDDLE,
    REACH,
    Answers,
    NoStarter,
    Sizes,
    SparSizes,
    StarterWebs,
    bays,
    tip_width,
)
from models.gravity import GRAVITY
from models.strength.web_shear import shear_at, strengths_of
from models.wing.airfoil import FRACTIONS, AirfoilError, section
from models.woods.glue import allowable, glue
from models.woods.wood import Material, material

_WIDTHS, _HEIGHTS = (5, 6, 8, 10, 12, 15, 20, 25, 30, 40), (2, 3, 4, 5, 6, 8, 10, 12, 15, 20)
_STRIPS = (0.0, 0.5, 1.0, 1.5, 2.0)
"""Sticks and carbon strips on sale, mm: common practice, no source."""
_WORKING_STRESS = 12e6
"""Mean stress of a spruce cap at the load asked for, Pa: a third of its crushing strength, since caps also
bow and bend; common practice, no source."""
_THINNEST_RAIL = 5
"""Height and width of an engine rail that is still of use, mm: common practice, no source."""
_LIFT_AT = 0.44
"""Where half the lift acts, of the semispan: between elliptic (0.42) and rectangular (0.46) wings."""
_IN_DEPTH, _IN_CHORD = 1 / 3, 0.15
"""Height of a cap over the depth of the section at its spar, and width over the chord, at the most: webs have
to have a height, and ribs wood between the spars (chosen, no source)."""
_FLATTER = (0.29, 0.25, 0.21, 0.17, 0.13)
"""The same where engine rails are to pass between the caps, as much as there is room for."""
_OUT = 1 / 3.5
"""The same height at the tip (chosen, no source)."""
_RESERVE = 1.6
"""Reserve in mean wood that leaves one wing of twenty its load, at a first guess (the solution says it)."""
_FRONT = 1 / 1.4
"""Share of the front spar of two, at a first guess."""
THICKEST_BRACE = 5
"""Of ply between butted caps, mm: beyond that they are scarfed (chosen, no source)."""
_PLIES = (2, 3, 4, 5)
_WEBS = (
    *(("balsa medium", "upright", t) for t in (1.0, 1.5, 2.0, 2.5, 3.0, 4.0)),
    *(("balsa hard", "upright", t) for t in (1.0, 1.5, 2.0, 2.5, 3.0, 4.0)),
    *(("birch ply", grain, t) for grain in ("upright", "span") for t in (0.8, 1.0, 1.5, 2.0, 3.0, 4.0)),
)
"""Sheets on sale for webs."""


@dataclass(frozen=True)
class Room:
    """Where things fit into the outline.

    Parameters
    ----------
    a : Answers
        What the builder said.
    folder : Path
        Where the file will lie: a coordinate file's name counts from there.
    flat : float
        Height of a cap over the depth at its spar, at the most.
    """

    a: Answers
    folder: Path = Path()
    flat: float = _IN_DEPTH

    @cached_property
    def faces(self) -> tuple[Array, Array]:
        """Upper and lower ordinates, fractions of the chord."""
        try:
            return section(self.a.section, self.folder)
        except AirfoilError as error:
            raise NoStarter(f"section {self.a.section!r} {error}") from None

    def chord(self, out: float) -> float:
        """At a share of the semispan, m."""
        return self.a.root_chord + (self.a.tip_chord - self.a.root_chord) * out

    def depth(self, fraction: float, out: float = 0.0) -> float:
        """Of the section at a fraction of the chord and a share of the semispan, m."""
        upper, lower = (float(np.interp(fraction, FRACTIONS, face)) for face in self.faces)
        return (upper - lower) * self.chord(out)

    def arm(self, spar: SparSizes, out: float = 0.0) -> float:
        """Between the middles of a spar's caps, m."""
        height = spar.height + (spar.tip_height - spar.height) * out
        return self.depth(spar.at / 100, out) - 1e-3 * height

    def sticks(self, at: int) -> Iterator[tuple[int, int, float, int]]:
        """Width, height, carbon and height at the tip of all caps that have room at a spar, mm, the lightest
        first."""
        root, tip = 1e3 * self.depth(at / 100), 1e3 * self.depth(at / 100, 1.0)
        found = []
        for width in _WIDTHS:
            for height in _HEIGHTS:
                for carbon in _STRIPS:
                    if not height <= width <= max(2.5, 1.0 if not carbon else 4.0) * height:
                        continue
                    if height + carbon > self.flat * root or width > 1e3 * _IN_CHORD * self.a.root_chord:
                        continue
                    out = min(height, math.floor(_OUT * tip - carbon))
                    if out < 1:
                        continue
                    weight = width * (height * _wood("spruce").density + carbon * _wood("carbon").density)
                    found.append((carbon > 0, weight, width, height, carbon, out))
        for _, _, width, height, carbon, out in sorted(found):
            yield width, height, carbon, out

    def rails(self, spars: tuple[SparSizes, ...]) -> tuple[float, float]:
        """Lowest and highest z between the caps of every spar close to the root, m."""
        chord = self.chord(min(1.0, 2 * 0.04 / self.a.span))
        # Caps lie inside the outline over their whole width.
        edges = [s.at / 100 + np.linspace(-0.5, 0.5, 5) * 1e-3 * s.width / chord for s in spars]
        upper, lower = ([chord * np.interp(edge, FRACTIONS, face) for edge in edges] for face in self.faces)
        tall = [1e-3 * (s.height + s.carbon) for s in spars]
        return (
            max(float(z.max()) + height for z, height in zip(lower, tall)),
            min(float(z.min()) - height for z, height in zip(upper, tall)),
        )

    def rails_middle(self, sizes: Sizes) -> float:
        """Height of engine rails, m: they stand a little out from the centre line, where dihedral has lifted
        the wing."""
        low, high = self.rails(sizes.spars)
        return (low + high) / 2 + 1e-3 * (sizes.rail + 8) * math.tan(math.radians(DIHEDRAL))


def room_for(a: Answers, folder: Path = Path()) -> Room:
    """The outline; where there is an engine, with caps so flat that rails for it pass between them."""
    if not a.engine:
        return Room(a, folder)
    rooms = []
    for flat in (_IN_DEPTH, *_FLATTER):
        room = Room(a, folder, flat)
        if not all(any(True for _ in room.sticks(at)) for _, at, _ in _places(a)):
            continue
        tall = (
            SparSizes(name, at, 10, math.ceil(1e3 * flat * room.depth(at / 100)), 0, 0.0, (), 0.0, 0)
            for name, at, _ in _places(a)
        )
        low, high = room.rails(tuple(tall))
        rooms.append((min(math.floor(1e3 * (high - low) - 0.5), rail_side(a)), room))
    most = max((side for side, _ in rooms), default=0)
    return next((room for side, room in rooms if side == most), Room(a, folder))


def rail_side(a: Answers) -> int:
    """Width and height of engine rails to begin with, mm: common practice, no source."""
    return 8 if a.engine < 0.4 else 12 if a.engine < 1.2 else 15


def _places(a: Answers) -> tuple[tuple[str, int, float], ...]:
    """Names of the spars, where they lie, % of the chord, and what they bear, at a first guess."""
    return (("main", 30, 1.0),) if a.spars == 1 else (("front", 25, _FRONT), ("rear", 65, 1 - _FRONT))


@lru_cache
def _wood(name: str) -> Material:
    return material(name)


def moment(a: Answers) -> float:
    """Bending moment of half the wing at its root, N m, without relief of its own weight."""
    return a.load_factor * a.mass * GRAVITY / 2 * _LIFT_AT * a.span / 2


def shear(a: Answers, out: float) -> float:
    """Shear force of half the wing at a share of the semispan, N."""
    return a.load_factor * a.mass * GRAVITY / 2 * (1 - out)


def cap_area(width: float, height: float, carbon: float) -> float:
    """Area of a cap in spruce, mm2: carbon counts by its stiffness."""
    return width * (height + carbon * _wood("carbon").E_L / _wood("spruce").E_L)


def _caps(room: Room, at: int, share: float) -> tuple[int, int, float, int]:
    """The lightest cap on sale whose area times the depth between caps has the moment at the working stress,
    or the strongest that fits."""
    depth = room.depth(at / 100)
    best: tuple[float, tuple[int, int, float, int]] | None = None
    for stick in room.sticks(at):
        bears = 1e-6 * cap_area(*stick[:3]) * _WORKING_STRESS * (depth - 1e-3 * (stick[1] + stick[2]))
        if bears >= share * moment(room.a):
            return stick
        if best is None or bears > best[0]:
            best = (bears, stick)
    if best is None:
        raise NoStarter(
            f"a chord of {say.length(room.a.root_chord):.4g} at the root and "
            f"{say.length(room.a.tip_chord):.4g} at the tip with section {room.a.section} is too small for "
            f"wooden caps: it is {say.length(depth):.4g} and {say.length(room.depth(at / 100, 1.0)):.4g} "
            "deep at the spar. Take a thicker section or a larger chord."
        )
    return best[1]


def strengths(web: StarterWebs) -> tuple[float, float, float]:
    """What webs bear against others: in shear, N/m; by their glue, N/m2 of lap; before they bow, in N/m times
    a length squared that is theirs in common."""
    sheet, grain = _wood(web.wood), math.radians(90 if web.grain == "upright" else 0)
    one = np.ones(1)
    used = max(
        float(shear_at(grain * one, sign * one, strengths_of((sheet,), np.zeros(1, dtype=np.intp)))[0])
        for sign in (1.0, -1.0)
    )
    line = allowable(glue("aliphatic"), sheet, _wood("spruce"), grain).shear
    along, up = (sheet.E_T, sheet.E_L) if web.grain == "upright" else (sheet.E_L, sheet.E_T)
    stiff = (along * up**3) ** 0.25  # (D1 D2^3)^(1/4) as Seydel has it, of a panel longer than high
    t = 1e-3 * web.thickness
    return web.faces * t / used, web.faces * line, web.faces * t**3 * stiff


def webs(a: Answers, width: int) -> list[StarterWebs]:
    """All webs on sale that go on caps of a width at the root, mm, the lightest first: no thicker than half
    the cap at the tip, and of balsa no thinner than a builder would take."""
    thickest = max(tip_width(a, width) / 2, 1.0) + 1e-9
    # Common practice, no source.
    thinnest = min(1.0 if a.root_chord < 0.15 else 1.5 if a.root_chord < 0.35 else 2.5, thickest - 0.4)
    every = [
        StarterWebs(wood, grain, t, n)
        for wood, grain, t in _WEBS
        if t <= thickest and (t >= thinnest or "ply" in wood)
        for n in (1, 2)
    ]
    return sorted(every, key=lambda web: web.faces * web.thickness * _wood(web.wood).density)


def lightest_web(
    sold: list[StarterWebs], enough: Callable[[tuple[float, float, float]], float], faces: int = 1
) -> tuple[StarterWebs, float]:
    """The lightest web of those on sale, of so many faces at least, that has enough, 1 and more, or the one
    that has most; and what it has."""
    best: tuple[StarterWebs, float] | None = None
    for web in sold:
        if web.faces < faces:
            continue
        has = enough(strengths(web))
        if has >= 1:
            return web, has
        if best is None or has > best[1]:
            best = (web, has)
    assert best is not None, "a sheet of 0.8 mm goes on every cap"
    return best


def first_sizes(room: Room) -> Sizes:
    """Sizes to begin with.

    Parameters
    ----------
    room : Room
        Of the outline.

    Returns
    -------
    Sizes

    Raises
    ------
    NoStarter
        No stick fits, or no rail.
    """
    a = room.a
    webbed = max(3, round(REACH * bays(a)))
    spars = tuple(_spar(room, name, at, share) for name, at, share in _places(a))
    edge = 6 if a.root_chord < 0.2 else 8 if a.root_chord < 0.35 else 12
    # Edges run to the tip, and must leave room for caps and ribs there.
    edge = min(edge, math.floor(100 * a.tip_chord))
    tail = max(12, round(min(100 * a.root_chord, 180 * a.tip_chord)))
    # Common practice, no source.
    sheet = (1.0 if a.root_chord < 0.15 else 1.5) if a.sheeting != "none" else 0.0
    sizes = Sizes(
        spars,
        webbed,
        rib=1.5 if a.root_chord < 0.15 else 2.0 if a.root_chord < 0.4 else 3.0,
        edge=edge,
        edge_height=min(edge, max(2.0, math.floor(1e3 * room.depth(1e-3 * edge / a.root_chord)))),
        tail=tail,
        tail_height=min(
            4.0 if a.root_chord < 0.15 else 5.0,
            max(1.5, math.floor(1e3 * room.depth(1 - 1e-3 * tail / a.root_chord))),
        ),
        sheet=sheet,
    )
    return with_rails(room, sizes, rail_side(a)) if a.engine else sizes


def with_rails(room: Room, sizes: Sizes, side: float) -> Sizes:
    """Engine rails of a width and height, mm, or of as much as has room between the caps."""
    low, high = room.rails(sizes.spars)
    side = min(side, math.floor(1e3 * (high - low) - 0.5))
    if side < _THINNEST_RAIL:
        raise NoStarter(
            f"between the caps there is no room for engine rails {say.size(1e-3 * _THINNEST_RAIL):.4g} "
            "high: take a larger chord or a thicker section, or leave the engine out."
        )
    return replace(sizes, rail=side)


def _spar(room: Room, name: str, at: int, share: float) -> SparSizes:
    a = room.a
    width, height, carbon, out = _caps(room, at, share)
    bare = SparSizes(name, at, width, height, out, carbon, (), 0.0, 0)
    found = []
    for begin in (0.0, BOXED, MIDDLE):
        flow = _RESERVE * share * shear(a, begin) / max(room.arm(bare, begin), 1e-3)
        lap = 1e-3 * (carbon + out + (height - out) * (1 - begin))

        def enough(bears: tuple[float, float, float], flow: float = flow, lap: float = lap) -> float:
            return min(bears[0] / flow, bears[1] * lap / flow)

        # A box in the middle.
        found.append(lightest_web(webs(a, width), enough, faces=1 if begin else 2)[0])
    return braced(room, replace(bare, webs=tuple(found)), share * moment(a) * _RESERVE)


def braced(room: Room, spar: SparSizes, root: float) -> SparSizes:
    """Butted on a brace that bears a bending moment, N m, by its section and its glue; scarfed where ply on
    sale does not."""
    ply, a = _wood("birch ply"), room.a
    if a.joint == "scarfed":
        return replace(spar, brace=0.0, braced=0)
    high = room.depth(spar.at / 100) - 2e-3 * (spar.height + spar.carbon)
    need = 1e3 * 6 * root / (ply.bending * high**2)
    thick = next((t for t in _PLIES if t >= need and t <= min(THICKEST_BRACE, spar.width)), None)
    if thick is None:
        return scarfed(a, spar)
    line = allowable(glue("epoxy"), ply, _wood("spruce"), 0.0).shear
    length = root / room.arm(spar) / (line * 1e-3 * thick)
    n = bays(a)
    reach = max(1, round(0.2 * n), math.ceil(length / (a.span / 2 / n)))
    if reach > n // 2:
        return scarfed(a, spar)
    return replace(spar, brace=float(thick), braced=reach)


def scarfed(a: Answers, spar: SparSizes) -> SparSizes:
    """With scarfed caps instead of a brace, unless the builder wants them butted."""
    if a.joint == "butted":
        raise NoStarter(
            "no ply on sale bears the wing's bending where its caps are butted at the centre. "
            "Take a scarfed joint, less mass or a lower load factor."
        )
    return replace(spar, brace=0.0, braced=0)


def sensible(a: Answers) -> None:
    """Refuse what no model has.

    Raises
    ------
    NoStarter
        A size is out of the range of models.
    """
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
        raise NoStarter(
            f"the engine, {say.whole_mass(a.engine):g}, weighs as much as the whole "
            f"aeroplane, {say.whole_mass(a.mass):g}."
        )
