"""What may be changed in a wing for the study of worth: webs by bay and face, and sizes and woods.

A site is one bay of one spar and one face, which has a web or could have one; where half a wing stands for
both, the webs of both sides are one site. A size is a continuous variable, a factor on what the file says.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

import numpy as np

from models import units_out as say
from models.studies.layouts import bays_of, braced, web_at, webbed
from models.wing.flush import takes_webs
from models.wing.parts import Cap, Line, Sheet, Spar, Web, Wing
from models.wing.words import spar_words
from models.woods.data import tables
from models.woods.wood import FIGURES, Material, material, names

FACES = ("front", "rear")
"""Faces on which a web can be glued; let in between the caps it is looked at where the file has it."""

WOODS = (
    ("light balsa", "balsa light", None),
    ("medium balsa", "balsa medium", None),
    ("hard balsa", "balsa hard", None),
    ("0.8 mm birch ply", "birch ply", 0.8e-3),
)
"""Other woods for a web: in words, as `models.woods` calls it, and thickness in m (None: as it is). Balsa
keeps the web's thickness; ply of the same thickness would be several times as heavy, and 0.8 mm is the next
sheet to be had (common practice, no source): 1/32 in, 0.794 mm, in inches."""


def wood_words(words: str) -> str:
    """A wood of `WOODS` in the units spoken."""
    return words.replace("0.8 mm", "1/32 in") if say.imperial() else words


@dataclass(frozen=True)
class Site:
    """One bay of a spar and one face of it.

    Parameters
    ----------
    spar : str
        Name of the spar.
    bay : int
        Counted from the centre outward.
    face : str
        "front", "rear" or "between".
    sides : tuple of str
        "starboard", "port": those that are changed together.
    present : bool
        There is a web.
    side : str
        Where the sides are changed one by one; "" where both are, or there is but one.
    """

    spar: str
    bay: int
    face: str
    sides: tuple[str, ...]
    present: bool
    side: str = ""

    @property
    def words(self) -> str:
        """ "bay 8, rear spar, rear face", with the side where sides differ."""
        spar = spar_words(self.spar)
        side = f", {self.side}" if self.side else ""
        face = "between the caps" if self.face == "between" else f"{self.face} face"
        return f"bay {self.bay}, {spar}, {face}{side}"


def sites(wing: Wing) -> list[Site]:
    """Every site of a wing, spar by spar from the centre outward.

    Where a brace lies on a face no web is looked at on it.
    """
    together = wing.flies and not wing.whole
    out = []
    for spar in wing.spars:
        seen = set()
        for side, bay in bays_of(wing, spar):
            joined = together or bay == 0
            key = (bay, "" if joined else side)
            if key in seen:
                continue
            seen.add(key)
            sides: tuple[str, ...] = (side,)
            if joined and wing.flies:
                sides = ("starboard", "port")
            there = {w.face for w in spar.webs if w.bay == bay and w.side in sides}
            taken = braced(wing, spar.name, bay) if takes_webs(wing, spar, bay) else set(FACES)
            for face in (*FACES, "between"):
                if face not in there and (face == "between" or face in taken):
                    continue
                own = "" if joined or wing.clamped else side
                out.append(Site(spar.name, bay, face, sides, face in there, own))
    return out


def own_web(wing: Wing, site: Site, side: str) -> Web:
    """The web of a site, or the one that would be put there: that of the nearest bay that has one."""
    spar = next(s for s in wing.spars if s.name == site.spar)
    return web_at(wing, spar, side, site.bay, site.face)


def toggled(wing: Wing, changed: Iterable[Site]) -> Wing:
    """The wing with the webs of some sites taken out where there is one, and put in where there is none."""
    at = list(changed)

    def webs(spar: Spar) -> list[Web]:
        mine = [s for s in at if s.spar == spar.name]
        gone = {(side, s.bay, s.face) for s in mine if s.present for side in s.sides}
        more = [own_web(wing, s, side) for s in mine if not s.present for side in s.sides]
        return [*(w for w in spar.webs if (w.side, w.bay, w.face) not in gone), *more]

    return webbed(wing, webs)


def with_webs(wing: Wing, changed: Iterable[Site], change: Callable[[Web], Web]) -> Wing:
    """The wing with the webs that some sites have changed by a rule."""
    at = {(s.spar, side, s.bay, s.face) for s in changed for side in s.sides}
    return webbed(
        wing,
        lambda spar: (change(w) if (spar.name, w.side, w.bay, w.face) in at else w for w in spar.webs),
    )


def thicker(wing: Wing, changed: Iterable[Site], factor: float) -> Wing:
    """The wing with the webs of some sites thicker by a factor."""
    return with_webs(wing, changed, lambda web: replace(web, thickness=web.thickness * factor))


def other_woods(wing: Wing, site: Site) -> list[tuple[str, Wing]]:
    """The wing with the web of a site of other wood, by the wood in words; see `WOODS`. The web's own is left
    out."""
    out = []
    web = own_web(wing, site, site.sides[0])
    for words, name, thickness in WOODS:
        wood = material(name)
        size = web.thickness if thickness is None else thickness
        same = web.material.name == name and abs(web.material.density / wood.density - 1) < 1e-9
        if same and abs(size / web.thickness - 1) < 1e-9:
            continue
        cut = partial(replace, material=wood, thickness=size)
        out.append((wood_words(words), with_webs(wing, [site], cut)))
    return out


@dataclass(frozen=True, eq=False)
class Size:
    """A continuous variable: a factor on something that the file says. What: "cap width", "cap height",
    "density" or "sheeting thickness"; the part in words; `change` goes from wing and factor to wing."""

    what: str
    part: str
    change: Callable[[Wing, float], Wing]


def sizes(wing: Wing) -> list[Size]:
    """Sizes and woods of a wing that may be changed. Width of each spar's caps, height of each cap, density
    of caps, webs, sheeting and ribs, and thickness of the sheeting, what the wing has."""
    out = []
    for spar in wing.spars:
        name = spar_words(spar.name)
        both = _of_caps(spar.name, _CAPS, _wider)
        out.append(Size("cap width", f"{name}, both caps", both))
        for place in _CAPS:
            out.append(Size("cap height", f"{name}, {place} cap", _of_caps(spar.name, (place,), _higher)))
        out.append(Size("density", f"{name}, wood of the caps", _of_caps(spar.name, _CAPS, _denser_cap)))
        if spar.webs:
            out.append(Size("density", f"{name}, wood of the webs", partial(_denser_webs, spar=spar.name)))
    if wing.ribs:
        out.append(Size("density", "wood of the ribs", _denser_ribs))
    if wing.sheets:
        out.append(Size("density", "wood of the sheeting", _denser_sheets))
    for surface in ("upper", "lower"):
        if any(s.surface == surface for s in wing.sheets):
            change = partial(_thicker_sheets, surface=surface)
            out.append(Size("sheeting thickness", f"{surface} sheeting", change))
    return out


_CAPS = ("upper", "lower")


def _of_caps(
    spar: str, places: Sequence[str], change: Callable[[Cap, float], Cap]
) -> Callable[[Wing, float], Wing]:
    """Some caps of a spar changed by a factor."""

    def changed(own: Spar, factor: float) -> Spar:
        caps: dict[str, Any] = {place: change(getattr(own, place), factor) for place in places}
        return replace(own, **caps) if own.name == spar else own

    return lambda wing, factor: replace(wing, spars=tuple(changed(own, factor) for own in wing.spars))


def _scaled(line: Line, factor: float) -> Line:
    return Line(line.y, np.asarray(line.value * factor))


def _wider(cap: Cap, factor: float) -> Cap:
    return replace(cap, width=_scaled(cap.width, factor))


def _higher(cap: Cap, factor: float) -> Cap:
    """In all its layers; it grows inward, since its outer face lies under the skin."""
    return replace(cap, layers=tuple(replace(one, height=_scaled(one.height, factor)) for one in cap.layers))


def _denser_cap(cap: Cap, factor: float) -> Cap:
    return replace(
        cap, layers=tuple(replace(one, material=denser(one.material, factor)) for one in cap.layers)
    )


def _denser_webs(wing: Wing, factor: float, spar: str) -> Wing:
    def webs(own: Spar) -> Iterable[Web]:
        if own.name != spar:
            return own.webs
        return (replace(web, material=denser(web.material, factor)) for web in own.webs)

    return webbed(wing, webs)


def _denser_ribs(wing: Wing, factor: float) -> Wing:
    ribs = tuple(
        replace(
            rib,
            material=denser(rib.material, factor),
            post_material=denser(rib.post_material, factor),
            cap_strip_material=None
            if rib.cap_strip_material is None
            else denser(rib.cap_strip_material, factor),
        )
        for rib in wing.ribs
    )
    return replace(wing, ribs=ribs)


def _denser_sheets(wing: Wing, factor: float) -> Wing:
    return replace(wing, sheets=tuple(replace(s, material=denser(s.material, factor)) for s in wing.sheets))


def _thicker_sheets(wing: Wing, factor: float, surface: str) -> Wing:
    def thicker(sheet: Sheet) -> Sheet:
        return replace(sheet, thickness=sheet.thickness * factor) if sheet.surface == surface else sheet

    return replace(wing, sheets=tuple(map(thicker, wing.sheets)))


def denser(wood: Material, factor: float) -> Material:
    """A wood that is denser by a factor, its stiffness and strength with it by the wood's own rule.

    Figures that the builder gave follow the rule from his value. Plywood, carbon, wire and woods of the
    builder's own follow no rule: their mass alone changes.

    Raises
    ------
    models.woods.wood.WoodError
        No such wood is that dense.
    """
    density = wood.density * factor
    entry = tables()["woods"].get(wood.name) if wood.name in names() else None
    if entry is None or wood.kind != "solid":
        return replace(wood, density=density)
    base = entry.get("like", wood.name)
    before = material(base, density=wood.density, cut=wood.cut)
    after = material(base, density=density, cut=wood.cut)
    figures = {
        key: getattr(wood, key) * getattr(after, key) / getattr(before, key)
        for key in FIGURES
        if getattr(before, key)
    }
    return replace(wood, density=density, **figures)
