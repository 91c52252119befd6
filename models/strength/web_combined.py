"""A web under everything at once: shear, the caps' strain along its edges, and crushing between the caps.

The three stresses at the web's edges and middle are turned to the grain and judged by Norris. Crushing by
the curvature of the bent spar grows with the square of the load, the others in proportion, so that the load
at failure is found by iteration.
"""

from __future__ import annotations

import numpy as np

from fea.arrays import Array
from models.strength import norris, web_direct, web_shear, web_splitting
from models.strength.finding import Finding
from models.strength.mode import LOST, Layouts, Mode, Rule, sheared
from models.strength.solved import Solved
from models.strength.web_shear import strengths_of
from models.woods.off_axis import Strengths, to_grain

_STEPS = 30
_POWERS = 0.5, 100.0


def load_at_failure(stress: Array, crushing: Array, strengths: Strengths) -> Array:
    """Factor k on the load, (n,), infinite where nothing acts, at which Norris' left side, of stresses k
    stress + k^2 crushing, is 1: sigma_L, sigma_T, tau_LT at the load of the case, (n, 3), Pa, of what
    grows in proportion to the load and with its square.

    Notes
    -----
    Norris' left side grows with a power of k between 2 and 4, but for where stresses that grow with k and
    with its square relieve one another: k <- k side^(-1/power), the power by the last two steps (secant of
    the logarithms).

    References
    ----------
    Norris, FPL report 1816, 1950 (from memory).
    """
    acts = (np.abs(stress) + np.abs(crushing)).sum(axis=1) > 0
    out, at = np.zeros(len(stress)), np.flatnonzero(acts)
    log, was, above = np.zeros((3, len(at)))
    power = np.full(len(at), 3.0)
    grows, squares = stress[at], crushing[at]
    limits = Strengths(*(np.broadcast_to(s, len(stress))[at] for s in strengths))
    for left in reversed(range(_STEPS)):
        factor = np.exp(log)[:, None]
        side = np.log(np.maximum(norris.left_side(factor * grows + factor**2 * squares, limits), 1e-30))
        if left < _STEPS - 1:
            apart = np.abs(log - was) > 1e-9
            seen = np.divide(side - above, log - was, out=power.copy(), where=apart)
            power = np.clip(seen, *_POWERS)
        earlier, was, above = was, log, side
        log = np.clip(log - side / power, np.log(1e-6), np.log(1e9))
        # Settled: it stays, or goes to and fro by the rounding of its last place.
        settled = (log == was) | ((log == earlier) & (np.abs(log - was) <= 1e-9))
        if 2 * np.count_nonzero(settled) >= len(at):
            out[at] = was if left % 2 else log
            on = ~settled
            at, log, was, above, power, grows, squares = (
                v[on] for v in (at, log, was, above, power, grows, squares)
            )
            limits = Strengths(*(np.asarray(s)[on] for s in limits))
            if not len(at):
                break
    out[at] = log
    return np.where(acts, np.exp(out), np.inf)


def many(of: Layouts, least: Array | None = None) -> Array:
    """Share used by all webs in many layouts, (n, n_layouts); 0 of those that cannot use more than `least`
    (n_layouts,).

    Norris' left side at a factor k on the load is no more than that of the sizes of all stresses, crushing
    besides, with the least strengths and a product that adds; this bound grows with k, so that below 1 at
    1/`least` the web lasts longer than what decides.
    """
    table, out = of.table["webs"], np.zeros_like(of.shear)
    if least is None:
        web, column = np.divmod(np.arange(out.size), out.shape[1])
    else:
        web, column = np.nonzero(_bound(of, 1 / np.maximum(least, 1e-300)) >= 1 - 1e-9)
    if len(web):
        young = table["young"][web]
        strengths = Strengths(*table["strength"][web].T)
        grain, zero = table["grain"][web], np.zeros(len(web))
        upright, shear = of.upright[web, column], of.shear[web, column]
        crushed = to_grain(zero, -of.crushing[web, column], zero, grain)
        for along in (young * of.inner[web, 0, column], young * of.inner[web, 1, column], zero):
            factor = load_at_failure(to_grain(along, upright, shear, grain), crushed, strengths)
            out[web, column] = np.maximum(out[web, column], 1 / factor)
    return out


def _bound(of: Layouts, factor: Array) -> Array:
    """The largest that Norris' left side can be at any load up to `factor`, (n_webs, n_layouts)."""
    table = of.table["webs"]
    grain = table["grain"][:, None]
    cc, ss = np.cos(grain) ** 2, np.sin(grain) ** 2
    cs = np.abs(np.sin(grain) * np.cos(grain))
    along = table["young"][:, None] * np.maximum(np.abs(of.inner[:, 0]), np.abs(of.inner[:, 1]))
    upright = np.abs(of.upright) + factor * of.crushing
    shear = np.abs(of.shear)
    weak = table["strength"]
    first = (cc * along + ss * upright + 2 * cs * shear) / np.minimum(weak[:, 0], weak[:, 1])[:, None]
    second = (ss * along + cc * upright + 2 * cs * shear) / np.minimum(weak[:, 2], weak[:, 3])[:, None]
    third = (cs * (along + upright) + np.abs(cc - ss) * shear) / weak[:, 4, None]
    return np.asarray(factor**2 * (first**2 + second**2 + third**2 + first * second))


def _thrice(at: Solved) -> Strengths:
    """Strengths of all webs, three times one after another, Pa."""
    webs = at.model.webs
    return Strengths(*(np.tile(np.asarray(s), 3) for s in strengths_of(webs.materials, webs.material)))


def findings(at: Solved) -> list[Finding]:
    """All webs and braces, at both edges and half way up."""
    stress, edges = at.webs, at.edges
    n, zero = len(stress.y), np.zeros(len(stress.y))
    along = np.concatenate([edges.young * edges.inner[:, 0], edges.young * edges.inner[:, 1], zero])
    three = [np.tile(v, 3) for v in (stress.upright, stress.shear, stress.grain, edges.crushing)]
    linear = to_grain(along, three[0], three[1], three[2])
    crushed = to_grain(np.zeros(3 * n), -three[3], np.zeros(3 * n), three[2])
    factor = load_at_failure(linear, crushed, at.of_build(_thrice))
    applied = np.sqrt(along**2 + three[0] ** 2 + 3 * three[1] ** 2)
    there = np.isfinite(factor) & (applied > 0)
    y, element = np.tile(stress.y, 3), np.tile(np.arange(n), 3)
    return [MODE.found(there, factor, applied, y, element=element)]


MODE = Mode(
    name="web shear, bending and crushing",
    words="breaks under shear, bending and crushing together",
    source=f"{norris.SOURCE}; crushing M^2/(E I h) [computed]",
    block="webs",
    find=findings,
    ends_flight=True,
    reason="",
    joins=(web_shear.MODE, web_direct.MODE, web_splitting.MODE),
    scatter=Rule("shear"),
    proof=sheared,
    remains=LOST,
    many=None,
)
