"""The glue line of a web between its end and where it works in full: its force along the span enters there.

A web whose grain runs along the span, or of plywood, carries part of the bending. Where it ends, or butts
against another that is not glued on to it, that force comes in from the caps. All of the glue line from the
end to the middle of the piece must bear it together with the shear flow; and over the first clear height,
where most of it enters, the glue may crack before. What has cracked enters further in, so that the second
is no failure of the spar: round or taper the ends of braces. At the end nearer the root the force adds to
the shear flow, at the other it runs against it. Webs that follow each other on one face with the same wood,
thickness, grain and glue count as one piece.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from fea.arrays import Array, Ints
from models.analysis import Analysis
from models.strength.finding import Finding, ratio
from models.strength.glue_line import OFF, lines
from models.strength.mode import Mode, Rule, sheared
from models.strength.solved import Solved


def end_force(young: Array, thickness: Array, strain: Array, inner: Array, lap: Array, clear: Array) -> Array:
    """Force along the span in one half of a web: the lapped strip and the half of the clear height beside it.

    Parameters
    ----------
    young, thickness : (n,) float array
        Modulus along the span, Pa, and m.
    strain, inner : (n,) float array
        Of the strip, and at the cap's inner edge, from where it falls to nothing half way down.
    lap, clear : (n,) float array
        m; `lap` 0 for a web between the caps.

    Returns
    -------
    (n,) float array
        N, with the strain's sign.

    References
    ----------
    Elementary theory of bending: Timoshenko, Strength of Materials (from memory).
    """
    return np.asarray(young * thickness * (strain * lap + inner * clear / 4))


def together(entering: Array, flow: Array, inboard: NDArray[np.bool_] | bool) -> Array:
    """Flow that the glue bears of what enters at an end and of the shear, sizes (...), N/m: added at the end
    nearer the root, against each other at the other."""
    return np.where(inboard, entering + flow, np.abs(entering - flow))


def findings(at: Solved) -> list[Finding]:
    """Both glue lines at every end of every web and brace."""
    webs, stress, edges, of = at.model.webs, at.webs, at.edges, at.of_build(lines)
    ends = at.of_build(_ends)
    if not len(ends.element):
        return []
    alike, lapped = at.of_build(_alike), at.of_build(_lapped)
    first = np.minimum(webs.clear[ends.element], ends.length)
    out = []
    last = ends.element
    flow = np.abs(stress.shear[last]) * webs.thickness[last]
    for mode, inward, length in ((MODE, ends.middle, ends.length), (MODE_PEAK, ends.clear, first)):
        for c in (0, 1):
            force = np.abs(
                end_force(
                    edges.young[inward],
                    webs.thickness[inward],
                    edges.axis[inward, c],
                    edges.inner[inward, c],
                    np.where(lapped, webs.lap[:, c], 0.0)[inward],
                    webs.clear[inward],
                )
            )
            total = together(force / length, flow, ends.inboard)
            allowable = of.shear[last, c] * webs.lap[last, c]
            reserve = ratio(allowable, total)
            for words, ends_of in alike[c]:
                there = ends_of[total[ends_of] > 0]
                if len(there):
                    y = stress.y[last]
                    one = mode.found(there, reserve, total, y, allowable=allowable, unit="N/m", element=last)
                    out.append(replace(one, source=f"{mode.source}; {words}"))
    return out


def _ends(at: Solved) -> Ends:
    return web_ends(at.analysis)


def _alike(at: Solved) -> tuple[list[tuple[str, Ints]], ...]:
    """Ends whose glue line is told in the same words, with those words, of either cap."""
    words = {(int(k), c): text for rows, c, text in at.of_build(lines).kinds for k in rows}
    last = at.of_build(_ends).element.tolist()
    both: list[list[tuple[str, Ints]]] = []
    for c in (0, 1):
        found: dict[str, list[int]] = {}
        for end, k in enumerate(last):
            found.setdefault(words[k, c], []).append(end)
        both.append([(text, np.array(rows, dtype=np.intp)) for text, rows in found.items()])
    return tuple(both)


def _lapped(at: Solved) -> NDArray[np.bool_]:
    return np.array([f != "between" for f in at.model.webs.face])


@dataclass(frozen=True, eq=False)
class Ends:
    """Ends of pieces of web: `element` the last one, `middle` and `clear` those half way along the piece and
    one clear height from the end, `inboard` whether the end is the one nearer the root, `length` from the
    end to the middle, m; all (n_ends,)."""

    element: Ints
    middle: Ints
    clear: Ints
    inboard: NDArray[np.bool_]
    length: Array


class _End(NamedTuple):
    """One end, with the figures of `Ends`."""

    element: int
    middle: int
    clear: int
    inboard: bool
    length: float


def web_ends(analysis: Analysis) -> Ends:
    """All ends; those in the clamp of a specimen, on the plane of symmetry and at the tip are none, and a
    piece that runs into the first two has its middle there."""
    model = analysis.model
    webs = model.webs
    kinds = zip(
        webs.spar.tolist(),
        webs.face,
        webs.thickness.tolist(),
        webs.material.tolist(),
        webs.grain.tolist(),
        webs.glue,
        webs.brace.tolist(),
    )
    pieces: dict[tuple, list[int]] = {}
    for k, (kind, i) in enumerate(zip(kinds, webs.span.tolist())):
        pieces.setdefault((kind, i), []).append(k)
    place = {key: of[0] for key, of in pieces.items()}
    held = model.wing.clamped or model.half
    found: list[_End] = []
    for kind, i in sorted(place, key=lambda key: key[1]):
        if (kind, i - 1) in place:
            continue
        run = [i]
        while (kind, run[-1] + 1) in place:
            run.append(run[-1] + 1)
        left, right = float(model.y[run[0]]), float(model.y[run[-1] + 1])
        root_held = held and abs(left) < 1e-9
        length = right - left if root_held else (right - left) / 2
        for low in (True, False):
            end = left if low else right
            if (low and root_held) or abs(end) > model.wing.semispan - 1e-9:
                continue
            element = place[kind, run[0] if low else run[-1]]
            way = 1 if low else -1
            # Just short of the middle, so that both halves of a piece look at their own element.
            inward = end + way * (1 - 1e-6) * np.array([length, min(float(webs.clear[element]), length)])
            spans = np.clip(np.searchsorted(model.y, inward) - 1, run[0], run[-1]).tolist()
            middle, clear = (place[kind, span] for span in spans)
            other = right if low else left
            found.append(_End(element, middle, clear, abs(end) < abs(other) - 1e-9, length))
    kinds_of: dict[str, Any] = {"element": np.intp, "middle": np.intp, "clear": np.intp, "inboard": bool}
    columns = {
        key: np.array([getattr(one, key) for one in found], kinds_of.get(key, np.float64))
        for key in _End._fields
    }
    return Ends(**columns)


MODE = Mode(
    name="glue at web end",
    words="comes off its cap from its end",
    source=(
        "force of the web half way along over the glue from there to its end, with the shear flow: "
        "equilibrium [computed]"
    ),
    block="webs",
    find=findings,
    ends_flight=True,
    reason="",
    joins=(),
    scatter=Rule("glue", size=-1),
    proof=sheared,
    remains=OFF,
    many=None,
)

MODE_PEAK = Mode(
    name="glue at web end, first crack",
    words="comes loose at its very end",
    source=(
        "force that enters over the first clear height, with the shear flow: equilibrium [computed]; about "
        "the peak of Volkersen's lap (1938) [from memory]; length common practice, no source"
    ),
    block="webs",
    find=findings,
    ends_flight=False,
    reason=(
        "what cracks at the very end enters further in, where the whole glue line is checked; taper the ends "
        "of braces"
    ),
    joins=(),
    scatter=Rule("glue", size=-1),
    proof=sheared,
    remains=OFF,
    many=None,
)
