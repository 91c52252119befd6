"""Shear webs as flat pieces of wood: the outline of every web of a wing, unrolled from its plane.

A web on a face of the caps laps them over their full height and is outlined by their outer faces; one let in
between them is outlined by their inner faces. Its ends are plumb, where its middle plane meets the faces of
the ribs that stop it. The model runs every web from rib middle to rib middle; a piece of wood cannot.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from fea.arrays import Array
from models.wing.parts import Line, Spar, Web, Wing
from models.wing.words import spar_words
from models.woods.wood import Material

STRAIGHT = 1e-5
"""An edge that leaves its chord by less is drawn straight, m; a tenth of the finest line on paper."""
BEND = np.radians(0.1)
"""A turn of the spar within a bay that is told to the builder, rad."""
_TOUCH = 1e-7
_STEP = 1e-9


def area_of(outline: Array) -> float:
    """Area, m2, within an outline, (n, 2), m, by the sum of its corners' cross products."""
    x, z = outline.T
    return float(abs(np.dot(x, np.roll(z, -1)) - np.dot(z, np.roll(x, -1))) / 2)


@dataclass(frozen=True, eq=False)
class WebPiece:
    """One shear web as a flat piece, seen from behind the wing: up is up, starboard is right.

    Parameters
    ----------
    spar, face : str
        The spar, and the face of its caps: "front", "rear" or "between".
    bay : int
        From the centre outward.
    side : str
        "port", "starboard", "both" for a piece across the centre line, "" on a specimen.
    material : Material
        The wood.
    thickness : float
        m.
    grain : float
        (Face) grain from starboard (the right) towards upright, in this view, rad.
    outline : (n, 2) float array
        Corners in order, m: to the right from the inner end (of a port piece: to the left), up from its
        lowest point.
    length : float
        Between its ends, square to them, on its middle plane, m.
    depth_inner, depth_outer : float
        Of the inner and the outer end, m.
    rise : float
        How much higher the middle of the outer end is than that of the inner, in this view, m.
    bevel : float
        Angle of the ends from square, by the spar's sweep, rad.
    ends : (str, str)
        What stops it: "rib face", "rib middle", "centre line", "clamp" or "spar end".
    bends : tuple of (float, float)
        Where the spar turns in plan within the bay, from the inner end, m, and by how much, rad.
    """

    spar: str
    face: str
    bay: int
    side: str
    material: Material
    thickness: float
    grain: float
    outline: Array
    length: float
    depth_inner: float
    depth_outer: float
    rise: float
    bevel: float
    ends: tuple[str, str]
    bends: tuple[tuple[float, float], ...]

    @property
    def area(self) -> float:
        """Area of the outline, m2."""
        return area_of(self.outline)

    @property
    def mass(self) -> float:
        """Mass at the wood's density, kg."""
        return self.area * self.thickness * self.material.density

    @property
    def where(self) -> str:
        """The web's place in words."""
        side = {"both": "across the centre", "": ""}.get(self.side, self.side)
        words = (spar_words(self.spar), f"bay {self.bay}", side, face_words(self.face))
        return ", ".join(word for word in words if word)


def face_words(face: str) -> str:
    """A face of the caps in words."""
    return "between the caps" if face == "between" else f"{face} face"


def web_pieces(wing: Wing, *, square: bool = False) -> tuple[WebPiece, ...]:
    """Every shear web as a flat piece, spar by spar, from the innermost bay outward, starboard before port.

    Parameters
    ----------
    wing : Wing
    square : bool, default False
        Ribs stand square to the spar's middle line in a panel built flat, not plumb as in the model. An end
        on the centre line stays plumb.
    """
    found: list[WebPiece] = []
    for index, spar in enumerate(wing.spars):
        order = sorted(spar.webs, key=lambda w: (w.bay, w.face, w.side != "starboard"))
        taken: set[int] = set()
        for k, web in enumerate(order):
            if k in taken:
                continue
            twin = next((j for j in range(k + 1, len(order)) if _one_with(wing, spar, web, order[j])), None)
            if twin is not None:
                taken.add(twin)
                found.append(_across(wing, index, web))
            elif square:
                found.append(_squared(wing, index, web))
            else:
                found.append(_piece(wing, index, web))
    return tuple(found)


def _one_with(wing: Wing, spar: Spar, web: Web, other: Web) -> bool:
    """Whether two webs of the centre bay are one piece of wood: alike, in one plane, grain alike."""
    if web.bay != 0 or wing.clamped or (other.bay, other.face) != (0, web.face):
        return False
    if other.side == web.side or (other.thickness, other.material.name) != (web.thickness, web.material.name):
        return False
    y = np.linspace(0.0, float(wing.bay_edges[1]), 5)
    bent = [np.ptp(spar.x.at(y)), np.ptp(spar.z_upper.at(y) + spar.z_lower.at(y))]
    straight = max(bent) < _TOUCH
    plain = abs(np.sin(2 * web.grain)) < 1e-9 and abs(np.sin(web.grain - other.grain)) < 1e-9
    return bool(straight and plain)


def _stopped_by(wing: Wing, index: int, face: str, y: float) -> float | None:
    """Half the thickness of the rib that stops a web at y, m; None where none does, 0 where it passes."""
    rib = next((r for r in wing.ribs if abs(r.y - y) < _TOUCH), None)
    if rib is None:
        return None
    if face == "between":
        return rib.post_thickness / 2
    outside = (face == "front" and index == 0) or (face == "rear" and index == len(wing.spars) - 1)
    if rib.panel == "none" or (rib.panel == "between spars" and outside):
        return 0.0
    return rib.thickness / 2


def span_of_web(wing: Wing, index: int, web: Web) -> tuple[float, float, str, str]:
    """Where a web of the wing's spar of that index begins and ends along the span, m, positive on both sides,
    and what stops it there, as `WebPiece.ends`.
    """
    edges, k = wing.bay_edges, web.bay - wing.first_bay
    inner, outer = float(edges[k]), float(edges[k + 1])
    at_root = "centre line" if wing.flies else "clamp"
    ends = []
    for y, sign in ((inner, 1.0), (outer, -1.0)):
        half = _stopped_by(wing, index, web.face, y)
        if half is None:
            ends.append((y, at_root if sign > 0 else "spar end"))
        elif half > 0:
            ends.append((y + sign * half, "rib face"))
        else:
            ends.append((y, "rib middle"))
    spar_end = wing.spars[index].y_end
    if ends[1][1] == "rib middle" and k == len(edges) - 2 and spar_end - outer > _TOUCH:
        ends[1] = (spar_end, "spar end")
    return ends[0][0], ends[1][0], ends[0][1], ends[1][1]


@dataclass(frozen=True, eq=False)
class Strip:
    """A web unrolled, starboard: stations along it, its edges there, m, and its heading between, rad."""

    u: Array
    top: Array
    bottom: Array
    heading: Array

    @property
    def ring(self) -> Array:
        """Its outline from the lower left corner, (n, 2), m."""
        return np.concatenate([_edge(self.u, self.bottom), _edge(self.u, self.top)[::-1]])

    def mirrored(self) -> Strip:
        """In one piece with its mirror image over the centre line."""
        u = np.concatenate([-self.u[:0:-1], self.u])
        top, bottom = (np.concatenate([z[:0:-1], z]) for z in (self.top, self.bottom))
        return Strip(u - u[0], top, bottom, np.zeros(len(u) - 1))


def unrolled(spar: Spar, web: Web, inner: float, outer: float) -> Strip:
    """A web's face laid flat between two places along the span, m.

    Parameters
    ----------
    spar, web
        A web of this spar.
    inner, outer : float
        Span stations, m.
    """
    lines = [spar.x, spar.z_upper, spar.z_lower]
    steps: list[float] = []
    if web.face == "between":
        for cap in (spar.upper, spar.lower):
            for layer in cap.layers:
                lines.append(layer.height)
                steps += _steps(layer.height)
    inside = np.concatenate([line.y for line in lines])
    marks = np.concatenate([inside, [s + _STEP for s in steps]])
    marks = marks[(marks > inner + _STEP) & (marks < outer - _STEP)]
    y = np.unique(np.concatenate([[inner], marks, [outer]]))
    # The web's plane follows the cap's face; a cap's step within the bay is bridged, as a flat piece must.
    ends = np.array([inner, outer])
    across = np.interp(y, ends, aside(spar, web.face, web.thickness, ends + np.array([_STEP, 0.0])))
    face_x = spar.x.at(y) + spar.aslant.at((inner + outer) / 2) * across
    along = np.hypot(np.diff(face_x), np.diff(y))
    u = np.concatenate([[0.0], np.cumsum(along)])
    top, bottom = spar.z_upper.at(y), spar.z_lower.at(y)
    if web.face == "between":
        # Just outboard of a step at the inner end: `Line.at` gives the inboard value.
        at = y.copy()
        at[0] += _STEP
        top, bottom = top - spar.upper.height(at), bottom + spar.lower.height(at)
    return Strip(u, top, bottom, np.arctan2(np.diff(face_x), np.diff(y)))


def _steps(line: Line) -> list[float]:
    return [float(a) for a, b in zip(line.y[:-1], line.y[1:]) if a == b]


def aside(spar: Spar, face: str, thickness: float, y: Array) -> Array:
    """Where the middle of a plate on a face lies from the caps' middle, square to them, m, aft positive.

    Parameters
    ----------
    spar : Spar
    face : {"between", "front", "rear"}
    thickness : float
        Of the plate, m.
    y : (n,) float array
        Span stations, m.
    """
    sign = {"between": 0.0, "front": -1.0, "rear": 1.0}[face]
    return sign * (spar.upper.width.at(y) + thickness) / 2


def _edge(u: Array, z: Array) -> Array:
    """An edge with the points left out that its chord does not miss."""
    from shapely import LineString

    return np.array(LineString(np.stack([u, z], axis=1)).simplify(STRAIGHT).coords)


def _piece(wing: Wing, index: int, web: Web) -> WebPiece:
    inner, outer, *ends = span_of_web(wing, index, web)
    strip = unrolled(wing.spars[index], web, inner, outer)
    return _made(wing, index, web, strip.ring, strip, ends)


def _squared(wing: Wing, index: int, web: Web) -> WebPiece:
    """As `_piece`, seen along the panel: turned until its middle line is level, its ends cut square."""
    from shapely import Polygon, box

    spar, edges, k = wing.spars[index], wing.bay_edges, web.bay - wing.first_bay
    inner, outer, *ends = span_of_web(wing, index, web)
    low, high = (float(edges[k]), float(edges[k + 1])) if ends[1] == "rib face" else (float(edges[k]), outer)
    strip = unrolled(spar, web, low, high)
    middle = (strip.top + strip.bottom) / 2
    slope = float(np.arctan2(middle[-1] - middle[0], strip.u[-1]))
    sweep = float(np.cos(strip.heading.mean()))
    start = (inner - low) / sweep
    stop = float(np.hypot(strip.u[-1], middle[-1] - middle[0])) - (high - outer) / sweep
    # Longer than it will be, so that a turned end can be cut.
    more = float((strip.top - strip.bottom).max())
    u = np.concatenate([[-more], strip.u, [strip.u[-1] + more]])
    top, bottom = (_lengthened(strip.u, z, more) for z in (strip.top, strip.bottom))
    plumb = ends[0] == "centre line"
    if plumb:
        u, top, bottom, start = u[1:], top[1:], bottom[1:], -more
    ring = np.concatenate([np.stack([u, bottom], 1), np.stack([u, top], 1)[::-1]])
    ring[:, 1] -= middle[0]
    c, s = np.cos(slope), np.sin(slope)
    level = Polygon(ring @ np.array([[c, -s], [s, c]])).intersection(box(start, -9.0, stop, 9.0))
    outline = _from_lower_left(np.array(level.simplify(STRAIGHT).exterior.coords)[:-1])
    x = outline[:, 0]
    left, right = (np.sort(outline[np.abs(x - at) < _TOUCH, 1]) for at in (start, stop))
    if plumb:
        left = np.array([bottom[0], top[0]])
    outline[:, 0] -= x.min()
    flat = Strip(
        np.array([0.0, stop - max(start, 0.0)]),
        np.array([left[-1], right[-1]]),
        np.array([left[0], right[0]]),
        strip.heading,
    )
    made = _made(wing, index, web, outline, flat, ends)
    return replace(made, bends=turns(strip, max(start, 0.0)), rise=0.0)


def _lengthened(u: Array, z: Array, more: float) -> Array:
    """An edge run on straight at both ends."""
    first = z[0] - more * (z[1] - z[0]) / (u[1] - u[0])
    last = z[-1] + more * (z[-1] - z[-2]) / (u[-1] - u[-2])
    return np.concatenate([[first], z, [last]])


def _from_lower_left(ring: Array) -> Array:
    """A ring counter-clockwise from its lower left corner."""
    x, z = ring.T
    if np.dot(x, np.roll(z, -1)) < np.dot(z, np.roll(x, -1)):
        ring = ring[::-1]
    return np.roll(ring, -int(np.argmin(ring[:, 0] * 10 + ring[:, 1])), axis=0)


def turns(strip: Strip, start: float = 0.0) -> tuple[tuple[float, float], ...]:
    """Where the spar turns in plan, m from the start, and by how much, rad."""
    by = np.diff(strip.heading)
    return tuple((float(strip.u[i + 1]) - start, float(t)) for i, t in enumerate(by) if abs(t) > BEND)


def _across(wing: Wing, index: int, web: Web) -> WebPiece:
    """One piece over the centre line."""
    inner, outer, _, what = span_of_web(wing, index, web)
    whole = unrolled(wing.spars[index], web, inner, outer).mirrored()
    made = _made(wing, index, replace(web, side="both"), whole.ring, whole, [what, what])
    return replace(made, side="both")


def _made(wing: Wing, index: int, web: Web, outline: Array, strip: Strip, ends: Sequence[str]) -> WebPiece:
    outline = outline.copy()
    outline[:, 1] -= outline[:, 1].min()
    grain = web.grain
    if web.side == "port" and wing.flies:
        outline[:, 0] *= -1
        grain = np.pi - grain
    whole = len(strip.heading) == len(strip.u) - 1
    middle = (strip.top + strip.bottom) / 2
    return WebPiece(
        spar=wing.spars[index].name,
        face=web.face,
        bay=web.bay,
        side=web.side if wing.flies else "",
        material=web.material,
        thickness=web.thickness,
        grain=float(grain % np.pi),
        outline=outline,
        length=float(strip.u[-1]),
        depth_inner=float(strip.top[0] - strip.bottom[0]),
        depth_outer=float(strip.top[-1] - strip.bottom[-1]),
        rise=float(middle[-1] - middle[0]),
        bevel=float(abs(strip.heading).max()),
        ends=(ends[0], ends[1]),
        bends=turns(strip) if whole else (),
    )
