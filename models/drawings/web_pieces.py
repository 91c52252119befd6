"""Shear webs as flat pieces of wood: the outline of every web of a wing, unrolled from its plane.

A web on a face of the caps laps them over their full height and is outlined by their outer faces; one let in
between them is outlined by their inner faces. Its ends are plumb, where its middle plane meets the faces of
the ribs that stop it. The model runs every web from rib middle to rib middle; a piece of wood cannot.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fea.arrays import Array
from models.wing.draft import cap_height
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
    """Area within an outline, by the sum of its corners' cross products.

    Parameters
    ----------
    outline : (n, 2) float array
        m, in order round it.

    Returns
    -------
    float
        m2.
    """
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
        face = "between the caps" if self.face == "between" else f"{self.face} face"
        return ", ".join(word for word in (spar_words(self.spar), f"bay {self.bay}", side, face) if word)


def web_pieces(wing: Wing, *, square: bool = False) -> tuple[WebPiece, ...]:
    """Every shear web of a wing or specimen as a flat piece.

    Parameters
    ----------
    wing : Wing
        The wing.
    square : bool, default False
        Ribs stand square to the spar's middle line in a panel built flat, not plumb as in the model. An end
        on the centre line stays plumb.

    Returns
    -------
    tuple of WebPiece
        Spar by spar, from the innermost bay outward; starboard before port.
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


def stopped_by(wing: Wing, index: int, face: str, y: float) -> float | None:
    """Half the thickness of the rib that stops a web at y, m; None where none does, 0 where it passes.

    Parameters
    ----------
    wing : Wing
        The wing.
    index : int
        Place of the spar in the wing.
    face : str
        Face of the web.
    y : float
        Bay edge, m.

    Returns
    -------
    float or None
    """
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
    """Where a web's piece begins and ends along the span, and what stops it there.

    Parameters
    ----------
    wing : Wing
        The wing.
    index : int
        Place of the spar in the wing.
    web : Web
        The web.

    Returns
    -------
    inner, outer : float
        m, positive on both sides.
    what_inner, what_outer : str
        As `WebPiece.ends`.
    """
    edges, k = wing.bay_edges, web.bay - wing.first_bay
    inner, outer = float(edges[k]), float(edges[k + 1])
    at_root = "centre line" if wing.flies else "clamp"
    ends = []
    for y, sign in ((inner, 1.0), (outer, -1.0)):
        half = stopped_by(wing, index, web.face, y)
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
    """A web unrolled, starboard: stations along it, m, and its upper and lower edges there."""

    u: Array
    top: Array
    bottom: Array
    heading: Array


def unrolled(spar: Spar, web: Web, inner: float, outer: float) -> Strip:
    """A web's face laid flat between two places along the span.

    Parameters
    ----------
    spar, web : Spar, Web
        Whose.
    inner, outer : float
        From and to, m along the span.

    Returns
    -------
    Strip
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
    aside = np.interp(y, [inner, outer], [_aside(spar, web, inner + _STEP), _aside(spar, web, outer)])
    face_x = spar.x.at(y) + spar.aslant.at((inner + outer) / 2) * aside
    along = np.hypot(np.diff(face_x), np.diff(y))
    u = np.concatenate([[0.0], np.cumsum(along)])
    top, bottom = spar.z_upper.at(y), spar.z_lower.at(y)
    if web.face == "between":
        # Just outboard of a step at the inner end: `Line.at` gives the inboard value.
        at = y.copy()
        at[0] += _STEP
        top, bottom = top - cap_height(spar.upper, at), bottom + cap_height(spar.lower, at)
    return Strip(u, top, bottom, np.arctan2(np.diff(face_x), np.diff(y)))


def _steps(line: Line) -> list[float]:
    return [float(a) for a, b in zip(line.y[:-1], line.y[1:]) if a == b]


def _aside(spar: Spar, web: Web, y: float) -> float:
    """Where the web's middle plane lies from the caps' middle, square to them, m, aft positive."""
    if web.face == "between":
        return 0.0
    sign = -1.0 if web.face == "front" else 1.0
    return sign * (float(spar.upper.width.at(y)) + web.thickness) / 2


def edge_at(u: Array, z: Array) -> Array:
    """An edge with the points left out that its chord does not miss."""
    from shapely import LineString

    return np.array(LineString(np.stack([u, z], axis=1)).simplify(STRAIGHT).coords)


def _piece(wing: Wing, index: int, web: Web) -> WebPiece:
    spar = wing.spars[index]
    inner, outer, what_inner, what_outer = span_of_web(wing, index, web)
    strip = unrolled(spar, web, inner, outer)
    outline = np.concatenate([edge_at(strip.u, strip.bottom), edge_at(strip.u, strip.top)[::-1]])
    port = web.side == "port" and wing.flies
    return _made(wing, spar, web, outline, strip, (what_inner, what_outer), port=port)


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
    port = web.side == "port" and wing.flies
    made = _made(wing, spar, web, outline, flat, (ends[0], ends[1]), port=port)
    bends = _bends(strip, start / sweep)
    return WebPiece(**{**made.__dict__, "bends": bends, "rise": 0.0})


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


def _bends(strip: Strip, start: float = 0.0) -> tuple[tuple[float, float], ...]:
    """Where the spar turns in plan, from the inner end, and by how much."""
    turns = np.diff(strip.heading)
    return tuple((float(strip.u[i + 1]) - start, float(t)) for i, t in enumerate(turns) if abs(t) > BEND)


def _across(wing: Wing, index: int, web: Web) -> WebPiece:
    """One piece over the centre line."""
    spar = wing.spars[index]
    inner, outer, _, what = span_of_web(wing, index, web)
    strip = unrolled(spar, web, inner, outer)
    u = np.concatenate([-strip.u[:0:-1], strip.u])
    top = np.concatenate([strip.top[:0:-1], strip.top])
    bottom = np.concatenate([strip.bottom[:0:-1], strip.bottom])
    u = u - u[0]
    outline = np.concatenate([edge_at(u, bottom), edge_at(u, top)[::-1]])
    whole = Strip(u, top, bottom, np.zeros(len(u) - 1))
    made = _made(wing, spar, web, outline, whole, (what, what), port=False)
    return WebPiece(**{**made.__dict__, "side": "both"})


def _made(
    wing: Wing, spar: Spar, web: Web, outline: Array, strip: Strip, ends: tuple[str, str], *, port: bool
) -> WebPiece:
    outline = outline.copy()
    outline[:, 1] -= outline[:, 1].min()
    grain = web.grain
    if port:
        outline[:, 0] *= -1
        grain = np.pi - grain
    bends = _bends(strip) if len(strip.heading) == len(strip.u) - 1 else ()
    middle = (strip.top + strip.bottom) / 2
    return WebPiece(
        spar=spar.name,
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
        ends=ends,
        bends=bends,
    )
