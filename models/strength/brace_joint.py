"""A brace across the centre line, or across a kink of the spar, if the caps are cut there: it carries all.

The model's caps run on through the joint, as caps do that are scarfed (no steeper than 1 in 12, ANC-18).
Where they are only butted, the whole bending moment crosses in the brace: its section in bending, and its
glue on the caps, through which the caps' force enters over the brace's length on the shorter side. Braces of
one spar share by their stiffness.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from fea.arrays import Array
from models.strength.finding import Finding, ratio
from models.strength.glue_line import OFF, lines
from models.strength.mode import LOST, Mode, Rule, sheared, torn
from models.strength.solved import Solved
from models.strength.spar_moment import moments
from models.strength.web_direct import strength_along
from models.strength.web_shear import strengths_of
from models.wing.parts import Spar

REASON = "counts where the caps are butted at the joint; scarfed caps carry their own, as the other rows say"
KINK = np.radians(0.5)
"""A spar that turns by less is one piece."""


def brace_stress(moment: Array, thickness: Array, height: Array) -> Array:
    """Bending stress of braces (n,) that carry a moment alone, 6 M/(t H^2), Pa, from N m and m.

    References
    ----------
    Timoshenko, Strength of Materials (from memory).
    """
    return np.asarray(6 * moment / (thickness * height**2))


def joints(spar: Spar, reach: float) -> list[float]:
    """Where a spar has a joint within the reach of its brace: the centre line, and every kink; m."""
    found = [0.0]
    points = np.unique(np.concatenate([spar.x.y, spar.z_upper.y, spar.z_lower.y]))
    for y in points[(points > 1e-6) & (points < reach - 1e-6)]:
        step = 1e-4
        at = np.array([y - step, y, y + step])
        way = np.stack([spar.x.at(at), at, (spar.z_upper.at(at) + spar.z_lower.at(at)) / 2], axis=1)
        one, two = np.diff(way, axis=0)
        turn = np.linalg.norm(np.cross(one, two)) / np.linalg.norm(one) / np.linalg.norm(two)
        if np.arcsin(min(float(turn), 1.0)) > KINK:
            found.append(float(y))
    return found


def turns_at_centre(spar: Spar) -> bool:
    """Whether a spar kinks where its two sides meet, by dihedral or sweep."""
    step = 1e-4
    at = np.array([0.0, step])
    rise = np.diff((spar.z_upper.at(at) + spar.z_lower.at(at)) / 2)[0]
    return bool(2 * np.arctan(np.hypot(np.diff(spar.x.at(at))[0], rise) / step) > KINK)


def cut(spar: Spar, y: float) -> bool:
    """Whether a spar's caps are taken as butted at a joint, y in m: as its file says, else where it kinks."""
    if spar.joint not in ("", "joiner"):
        return spar.joint == "butted"
    return abs(y) > 1e-6 or turns_at_centre(spar)


def _rupture(at: Solved) -> Array:
    """Modulus of rupture along the span of all webs, (n,), Pa."""
    webs = at.model.webs
    strengths = strengths_of(webs.materials, webs.material)
    rupture = np.array([m.bending for m in webs.materials])[webs.material]
    return strength_along(webs.grain, strengths._replace(tension=rupture, compression=rupture), tension=True)


def _joints(at: Solved) -> list[list[float]]:
    """Joints within reach of the braces of each spar, m."""
    wing = at.model.wing
    reach = [max((b.y_end for b in wing.braces if b.spar == spar.name), default=0.0) for spar in wing.spars]
    return [joints(spar, far) if far else [] for spar, far in zip(wing.spars, reach)]


def any_cut(at: Solved) -> bool:
    """Whether a brace of the wing covers a joint of caps that are cut."""
    spars = at.model.wing.spars
    return any(cut(spar, y) for spar, found in zip(spars, at.of_build(_joints)) for y in found)


def findings(at: Solved) -> list[Finding]:
    """Section and glue of every brace at every joint that it covers, on condition that the caps are cut."""
    model = at.model
    webs, wing = model.webs, model.wing
    if not wing.braces or wing.clamped:
        return []
    rupture, of_spars = at.of_build(_rupture), at.of_build(_joints)
    out = []
    for s, found in enumerate(of_spars):
        for y in found:
            for side in (1.0,) if model.half else (1.0, -1.0):
                beyond = np.flatnonzero(model.y * side > y + 1e-9)
                i = int(beyond[0] - 1 if side > 0 else beyond[-1])
                rows = np.flatnonzero(webs.brace & (webs.spar == s) & (webs.span == i))
                if len(rows):
                    out += _at_joint(at, rows, y, rupture)
    return out


def _at_joint(solved: Solved, at: NDArray[np.intp], y: float, rupture: Array) -> list[Finding]:
    model, edges, of = solved.model, solved.edges, solved.of_build(lines)
    webs, wing = model.webs, model.wing
    s, i = int(webs.spar[at[0]]), int(webs.span[at[0]])
    depth = float((model.depth[s, i] + model.depth[s, i + 1]) / 2)
    of_caps, of_webs = moments(solved.analysis, solved.caps, edges)
    beside = (webs.spar == s) & (webs.span == i)
    moment = abs(float(of_caps[at[0]] + of_webs[beside].sum()))
    lapped = np.array([webs.face[k] != "between" for k in at])
    height = webs.clear[at] + np.where(lapped, webs.lap[at].sum(axis=1), 0.0)
    stiff = edges.young[at] * webs.thickness[at] * height**3
    part = moment * stiff / stiff.sum()
    stress = brace_stress(part, webs.thickness[at], height)
    factor = ratio(rupture[at], stress)
    there = np.full(len(at), y if model.y[i + 1] > 0 else -y)
    every = np.arange(len(at))
    out = [MODE.found(every, factor, stress, there, allowable=rupture[at], element=at)]
    ends = {(b.face, b.thickness): b.y_end for b in wing.braces if b.spar == wing.spars[s].name}
    length = np.array([ends[webs.face[k], float(webs.thickness[k])] - y for k in at])
    flow = part / depth / length
    strength = (of.shear[at] * webs.lap[at]).min(axis=1)
    factor = ratio(strength, flow)
    out.append(MODE_GLUE.found(every, factor, flow, there, allowable=strength, unit="N/m", element=at))
    return out


MODE = Mode(
    name="brace, caps cut",
    words="breaks across the joint of the cut caps",
    source="6 M/(t H^2) against the modulus of rupture: Timoshenko, Strength of Materials [from memory]",
    block="webs",
    find=findings,
    ends_flight=False,
    reason=REASON,
    joins=(),
    scatter=Rule("bending", size=1),
    proof=torn,
    remains=LOST,
    many=None,
)

MODE_GLUE = Mode(
    name="brace glue, caps cut",
    words="comes off the cut caps",
    source=(
        "caps' force over the glued length: equilibrium [computed]; even spread common practice, no source"
    ),
    block="webs",
    find=findings,
    ends_flight=False,
    reason=REASON,
    joins=(),
    scatter=Rule("glue"),
    proof=sheared,
    remains=OFF,
    many=None,
)
