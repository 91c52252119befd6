"""Layouts: which bays of which spar carry webs on which faces, made from the wing in the file.

A layout keeps every web that the file has where it wants one there; where the file has none it borrows
thickness, wood, grain and glue from the nearest bay of the same spar that has one (else from the wing's
first web, else 1.5 mm medium balsa, grain upright).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace

import numpy as np

from models.wing.flush import takes_webs
from models.wing.parts import GRAIN_UPRIGHT, Layout, Rib, Spar, Web, Wing
from models.woods.wood import material

UNIT_TORQUE = 0.01
"""Torque at the tip of a spar on its own, N m (10 N mm), which turns it by degrees and not by whole turns."""

DEFAULT_THICKNESS = 1.5e-3
"""Thickness of a web where the file has none to copy, m (common practice, no source)."""


def bays_of(wing: Wing, spar: Spar) -> list[tuple[str, int]]:
    """Every bay that a spar passes, from the centre outward. As (side, bay)."""
    edges = wing.bay_edges
    reached = [wing.first_bay + i for i in range(len(edges) - 1) if edges[i] < spar.y_end - 1e-9]
    sides = ("starboard",) if wing.clamped else ("starboard", "port")
    return [(side, bay) for bay in reached for side in sides]


def template(wing: Wing, spar: Spar, side: str, bay: int) -> Web:
    """The web that a layout puts into a bay (on whichever face).

    Parameters
    ----------
    wing : Wing
        The wing in the file.
    spar : Spar
        One of its spars.
    side : str
        "port" or "starboard".
    bay : int
        Bay number.
    """
    own = (
        [w for w in spar.webs if w.side == side] or list(spar.webs) or [w for s in wing.spars for w in s.webs]
    )
    if not own:
        return Web(
            bay, side, "front", DEFAULT_THICKNESS, material("balsa medium"), GRAIN_UPRIGHT, "aliphatic"
        )
    nearest = min(own, key=lambda w: (abs(w.bay - bay), w.bay))
    return replace(nearest, bay=bay, side=side)


def web_at(wing: Wing, spar: Spar, side: str, bay: int, face: str) -> Web:
    """The web that the file has on a face in a bay, or the one that a layout puts there.

    Parameters
    ----------
    wing, spar, side, bay
        As for `template`.
    face : str
        "front", "rear" or "between".
    """
    same = [w for w in spar.webs if (w.side, w.bay, w.face) == (side, bay, face)]
    return same[0] if same else replace(template(wing, spar, side, bay), face=face)


def braced(wing: Wing, spar: str, bay: int) -> set[str]:
    """Faces of a spar on which a brace lies, over at least a part of a bay: no web goes there besides."""
    start = wing.bay_edges[bay - wing.first_bay]
    return {b.face for b in wing.braces if b.spar == spar and b.y_end > start + 1e-9}


def apply(wing: Wing, layout: Layout) -> Wing:
    """The wing with the webs of a layout in place of its own. A bay that the layout does not name is open."""

    def laid(spar: Spar) -> Iterator[Web]:
        for side, bay in bays_of(wing, spar):
            for face in layout.webs.get((spar.name, side, bay), ()):
                web = web_at(wing, spar, side, bay, face)
                yield web if layout.grain is None else replace(web, grain=layout.grain)

    return webbed(wing, laid)


def webbed(wing: Wing, webs: Callable[[Spar], Iterable[Web]]) -> Wing:
    """The wing with other webs on every spar."""
    return replace(wing, spars=tuple(replace(spar, webs=tuple(webs(spar))) for spar in wing.spars))


def everywhere(wing: Wing, name: str, faces: tuple[str, ...], grain: float | None = None) -> Layout:
    """The same faces in every bay of every spar.

    Parameters
    ----------
    wing : Wing
        The wing in the file.
    name : str
        Of the layout.
    faces : tuple of str
        "front", "rear" or "between"; none for open bays.
    grain : float or None
        Of every web, rad; None keeps the file's.
    """
    webs = {(spar.name, side, bay): faces for spar in wing.spars for side, bay in bays_of(wing, spar)}
    return Layout(name, webs if faces else {}, grain)


def as_drawn(wing: Wing) -> Layout:
    """The layout of the file itself."""
    webs: dict[tuple[str, str, int], tuple[str, ...]] = {}
    for spar in wing.spars:
        for web in spar.webs:
            key = (spar.name, web.side, web.bay)
            webs[key] = (*webs.get(key, ()), web.face)
    return Layout("as drawn", webs)


def faces_take_webs(wing: Wing) -> bool:
    """Whether webs go on the faces of every spar in every bay: not on caps that differ in width."""
    return all(takes_webs(wing, spar, bay) for spar in wing.spars for _, bay in bays_of(wing, spar))


def standard(wing: Wing) -> tuple[Layout, ...]:
    """None, C on either face, box, box with grain along the span, as drawn, and those that the file names.

    Where the caps of a spar do not take webs on their faces, those layouts are left out.
    """
    on_faces = (
        everywhere(wing, "front C", ("front",)),
        everywhere(wing, "rear C", ("rear",)),
        everywhere(wing, "box", ("front", "rear")),
        everywhere(wing, "box, grain along span", ("front", "rear"), 0.0),
    )
    return (
        everywhere(wing, "no webs", ()),
        *(on_faces if faces_take_webs(wing) else ()),
        as_drawn(wing),
        *wing.layouts,
    )


def isolated(wing: Wing, spar: Spar) -> Wing:
    """One spar of a wing on its own, clamped at the centre line, with its rib posts and starboard webs. A
    specimen under 1 N and `UNIT_TORQUE` at its tip."""
    shift = 1 - wing.first_bay
    clamped = wing.clamped
    webs = tuple(
        replace(w, bay=w.bay + shift, side="starboard") for w in spar.webs if clamped or w.side == "starboard"
    )
    ribs: tuple[Rib, ...] = tuple(
        replace(rib, panel="none", cap_strip_width=0.0) for rib in wing.ribs if rib.y <= spar.y_end + 1e-9
    )
    end = min(spar.y_end, wing.semispan)
    case = replace(wing.case, kind="bench", tip_force=1.0, tip_torque=UNIT_TORQUE, tip_spar=spar.name)
    return replace(
        wing,
        name=f"{wing.name}: {spar.name} spar alone",
        root="clamped",
        semispan=end,
        planform=None,
        spars=(replace(spar, webs=webs),),
        ribs=_tipped(ribs, end),
        sheets=(),
        edges=(),
        rails=(),
        masses=(),
        joiners=(),
        fastening=None,
        braces=tuple(b for b in wing.braces if b.spar == spar.name),
        case=case,
        layouts=(),
        whole=False,
        covering_mass_per_area=0.0,
        coverings=(),
    )


def _tipped(ribs: tuple[Rib, ...], end: float) -> tuple[Rib, ...]:
    """Ribs with one at the tip, where the load goes in: a copy of the last if there is none."""
    if ribs and abs(ribs[-1].y - end) < 1e-6:
        return ribs
    return (*ribs, replace(ribs[-1], y=float(np.round(end, 12))))
