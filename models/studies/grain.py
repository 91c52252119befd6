"""What the direction of the webs' grain buys on one wing, mode by mode: the wing solved with all its webs
upright, along the span and at 45 degrees, at equal mass.

In pure shear the modulus and the strength are the same along the grain and square to it, so that whatever
differs comes from the glue, buckling, splitting and the share of bending, each worked out and none assumed.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from models.analysis import Analysis, analyse
from models.strength import (
    Margins,
    check,
    glue_ends,
    glue_line,
    modes,
    sentence,
    web_buckling,
    web_buckling_combined,
    web_column,
    web_combined,
    web_direct,
    web_shear,
    web_splitting,
)
from models.strength.counted import with_joints
from models.strength.solved import Solved
from models.strength.spar_moment import moments
from models.strength.web_edges import WebEdges
from models.strength.web_stress import WebStress
from models.studies.layouts import webbed
from models.wing.parts import GRAIN_UPRIGHT, Wing
from models.wing.words import spar_words

ANGLES = {
    "upright": GRAIN_UPRIGHT,
    "along the span": 0.0,
    "45 degrees, rising outboard": np.pi / 4,
    "45 degrees, falling outboard": 3 * np.pi / 4,
}
"""Directions that are tried: angle from the span towards upright, rad."""

MODES = (
    web_shear.MODE.name,
    web_combined.MODE.name,
    glue_line.MODE.name,
    glue_ends.MODE.name,
    web_buckling.MODE.name,
    web_buckling_combined.MODE.name,
    web_column.MODE.name,
    web_direct.MODE.name,
    web_splitting.MODE.name,
)
"""What a web may fail in."""

_FAR = 100.0
"""Reserve factors above this are not told apart."""
_PLAIN = [name for name in MODES if name != glue_ends.MODE.name and not modes.named(name).joins]


@dataclass(frozen=True)
class WebBay:
    """One web in one bay with its grain in one direction.

    Parameters
    ----------
    spar, face, side : str
        Which web.
    bay : int
        Bay number.
    wood : str
        Its wood.
    thickness, clear, length : float
        Thickness, clear height between the caps and clear length between ribs, m.
    reserves : dict of str to float
        Reserve factor by mode; of splitting with upright grain too, though it does not end the flight.
    governs : str
        Mode with the least reserve among those that end the flight (see `governing`).
    buckles_above : float
        Clear height over thickness beyond which this panel, as long as it is for its height, would buckle in
        shear before it is sheared through.
    bending_share : float
        Share of the spar's bending moment that this web carries, lapped strips included.
    glue_if_cut : float
        Reserve factor of its glue if it is cut at both ribs, so that its share of the bending enters and
        leaves within the bay. The model's webs run through the ribs.
    """

    spar: str
    face: str
    side: str
    bay: int
    wood: str
    thickness: float
    clear: float
    length: float
    reserves: dict[str, float]
    governs: str
    buckles_above: float
    bending_share: float
    glue_if_cut: float

    @property
    def slenderness(self) -> float:
        """Clear height over thickness."""
        return self.clear / self.thickness

    @property
    def aspect(self) -> float:
        """Clear length over clear height."""
        return self.length / self.clear

    @property
    def reserve(self) -> float:
        """Of the mode that governs."""
        return self.reserves[self.governs]


@dataclass(frozen=True)
class Direction:
    """The wing with the grain of all its webs in one direction.

    Parameters
    ----------
    name : str
        One of `ANGLES`.
    angle : float
        From the span towards upright, rad.
    bays : tuple of WebBay
        Spar by spar from the root outward.
    first_failure : str
        In words.
    load_factor_at_first_failure : float
        n, or of a specimen multiple of its load.
    mass : float
        Of webs and their strips in the model, kg.
    """

    name: str
    angle: float
    bays: tuple[WebBay, ...]
    first_failure: str
    load_factor_at_first_failure: float
    mass: float


def compare_grain(
    wing: Wing, *, per_bay: int = 4, progress: Callable[[str], None] | None = None
) -> tuple[Direction, ...]:
    """Solve and check the wing with its webs' grain in every direction of `ANGLES`. Braces keep their grain;
    `progress` is told the name of each direction before it is worked out. None where the wing has no webs."""
    if not any(spar.webs for spar in wing.spars):
        return ()
    found = []
    for name, angle in ANGLES.items():
        if progress is not None:
            progress(name)
        analysis = analyse(with_grain(wing, angle), per_bay=per_bay)
        margins = with_joints(wing, check(analysis))
        masses = analysis.model.structural_mass
        found.append(
            Direction(
                name,
                angle,
                web_bays(analysis, margins),
                sentence(margins),
                margins.load_factor_at_first_failure(),
                masses.get("web", 0.0) + masses.get("web strip", 0.0),
            )
        )
    return tuple(found)


def with_grain(wing: Wing, angle: float) -> Wing:
    """The wing with the grain of all its webs turned to an angle from the span towards upright, rad."""
    return webbed(wing, lambda spar: (replace(web, grain=angle) for web in spar.webs))


def web_bays(analysis: Analysis, margins: Margins) -> tuple[WebBay, ...]:
    """Every web of an analysis with its sizes, reserves and share of bending; braces left out."""
    model = analysis.model
    at = Solved(analysis)
    if not at.has("webs"):
        return ()
    stress, caps, edges = at.webs, at.caps, at.edges
    webs, parts = model.webs, model.structure.blocks["webs"].part
    assert parts is not None
    ends = {(row.part, row.mode): row.reserve_factor for row in (*margins.secondary, *margins.rows)}
    primary = {(row.part, row.mode) for row in margins.rows}
    of_caps, of_webs = moments(analysis, caps, edges)
    _, place = np.unique(webs.spar * (len(model.y) + 1) + webs.span, return_inverse=True)
    whole = np.abs(of_caps + np.bincount(place, of_webs)[place])
    critical = at.the(web_buckling.panel_flow) / webs.thickness[stress.first]
    glue_args = (analysis, stress, edges, at.the(glue_line.lines))
    found = []
    for p, first in enumerate(stress.first.tolist()):
        if webs.brace[first]:
            continue
        part = model.parts[parts[first]]
        reserves = {mode: ends[part, mode] for mode in MODES if (part, mode) in ends}
        governs = governing({m: r for m, r in reserves.items() if (part, m) in primary})
        members = np.flatnonzero(stress.panel == p)
        length = stress.length[members]
        share = float((np.abs(of_webs[members]) * length).sum() / (whole[members] * length).sum())
        strength = reserves[web_shear.MODE.name] * np.abs(stress.shear[members]).max()
        clear, thickness = float(stress.panel_clear[p]), float(webs.thickness[first])
        found.append(
            WebBay(
                part.spar,
                part.place,
                part.side,
                part.bay or 0,
                webs.materials[webs.material[first]].name,
                thickness,
                clear,
                float(stress.panel_length[p]),
                reserves,
                governs,
                float(clear / thickness * np.sqrt(critical[p] / strength)),
                share,
                _glue_if_cut(members, float(stress.panel_length[p]), glue_args),
            )
        )
    return tuple(sorted(found, key=lambda b: (b.spar, b.side, b.bay, b.face)))


def _glue_if_cut(
    members: NDArray[np.intp], length: float, of: tuple[Analysis, WebStress, WebEdges, glue_line.Lines]
) -> float:
    """Reserve of the glue lines of a panel cut at both ends: its force half way along enters over half its
    length."""
    analysis, stress, edges, lines = of
    webs = analysis.model.webs
    k = int(members[np.abs(stress.y[members] - stress.y[members].mean()).argmin()])
    lapped = webs.face[k] != "between"
    flow = float(np.abs(stress.shear[members]).max() * webs.thickness[k])
    least = np.inf
    for c in (0, 1):
        one = slice(k, k + 1)
        force = glue_ends.end_force(
            edges.young[one],
            webs.thickness[one],
            edges.axis[one, c],
            edges.inner[one, c],
            webs.lap[one, c] * lapped,
            webs.clear[one],
        )
        entering = abs(float(force[0])) / (length / 2) + flow
        least = min(least, float(lines.shear[k, c] * webs.lap[k, c]) / entering)
    return least


def governing(reserves: dict[str, float]) -> str:
    """Mode with the least reserve; one that only joins others is named where it is 5 % below them."""
    least = min(reserves, key=lambda mode: reserves[mode])
    plain = min((m for m in reserves if m in _PLAIN), key=lambda mode: reserves[mode], default=least)
    return plain if reserves[plain] <= 1.05 * reserves[least] else least


def sentences(directions: tuple[Direction, ...]) -> list[str]:
    """What upright grain buys here, in words that follow from the figures."""
    if not directions:
        return ["The wing has no webs, so their grain is no question."]
    by_name = {d.name: d for d in directions}
    upright, along = by_name["upright"], by_name["along the span"]
    said = [_governing(d) for d in (upright, along)]
    said.append(_stubby(upright, along))
    said.append(_modes(upright, along))
    said.append(_glue(upright, along))
    said.append(_bending(upright, along))
    said.append(_diagonal(directions))
    said.append(_whole(directions))
    return [s for s in said if s]


def _governing(d: Direction) -> str:
    counts = Counter(b.governs for b in d.bays)
    listed = ", ".join(f"{mode} in {n} of {len(d.bays)}" for mode, n in counts.most_common())
    weakest = min(d.bays, key=lambda b: b.reserve)
    return (
        f"Grain {d.name}: {listed} web panels; the weakest, bay {weakest.bay} of the "
        f"{spar_words(weakest.spar)}, has {_short(weakest.reserve)} ({weakest.governs})."
    )


def _stubby(upright: Direction, along: Direction) -> str:
    ratios = [b.slenderness for b in along.bays]
    least = min(along.bays, key=lambda b: b.buckles_above / b.slenderness)
    other = min(upright.bays, key=lambda b: b.buckles_above / b.slenderness)
    buckling = {web_buckling.MODE.name, web_buckling_combined.MODE.name, web_column.MODE.name}
    governed = [b for d in (upright, along) for b in d.bays if b.governs in buckling]
    text = (
        f"The clear depth is {_range(ratios)} thicknesses. The panel nearest to buckling would buckle in "
        f"shear before it is sheared through only above {least.buckles_above:.0f} thicknesses with the grain "
        f"along the span (bay {least.bay}, it has {least.slenderness:.0f}) and above "
        f"{other.buckles_above:.0f} with it upright"
    )
    if governed:
        return f"{text}: buckling governs in {len(governed)} of the {2 * len(along.bays)} cases tried."
    modes = list(dict.fromkeys(b.governs for d in (upright, along) for b in d.bays))
    return (
        f"{text}: no web here buckles first, whichever way its grain runs; they fail in {' or '.join(modes)}."
    )


def _modes(upright: Direction, along: Direction) -> str:
    parts = []
    for mode in _PLAIN:
        pairs = [
            (a.reserves[mode], b.reserves[mode])
            for a, b in zip(upright.bays, along.bays)
            if mode in a.reserves and mode in b.reserves
        ]
        if pairs:
            ratio = float(np.median([a / b for a, b in pairs]))
            least = (min(a for a, _ in pairs), min(b for _, b in pairs))
            parts.append(f"{mode} {_times(ratio)} (least {_short(least[0])} against {_short(least[1])})")
    return f"Upright against along the span, reserve by mode, median of all panels: {'; '.join(parts)}."


def _glue(upright: Direction, along: Direction) -> str:
    worse = [
        (a, b)
        for a, b in zip(upright.bays, along.bays)
        if glue_line.MODE.name in a.reserves
        and a.reserves[glue_line.MODE.name] < 0.95 * b.reserves.get(glue_line.MODE.name, 0)
    ]
    if not worse:
        return ""
    glue = glue_line.MODE.name
    ratio = float(np.median([a.reserves[glue] / b.reserves[glue] for a, b in worse]))
    turned = sum(a.governs in (glue_line.MODE.name, glue_ends.MODE.name) for a, _ in worse)
    return (
        f"In {len(worse)} of {len(along.bays)} panels upright grain costs glue, since it crosses the grain "
        f"of the caps: the glue line bears {ratio:.2f} times as much as with parallel grains, and governs in "
        f"{turned} of them."
    )


def _bending(upright: Direction, along: Direction) -> str:
    pairs = list(zip(upright.bays, along.bays))
    loaded = [two for two in pairs if two[1].reserves.get(web_direct.MODE.name, np.inf) <= _FAR]
    a, b = max(loaded or pairs, key=lambda two: two[1].bending_share - two[0].bending_share)
    cut = min(along.bays, key=lambda w: w.glue_if_cut)
    shares = f"{100 * a.bending_share:.1f} % upright and {100 * b.bending_share:.1f} % along the span"
    stressed = " and ".join(_short(one.reserves.get(web_direct.MODE.name)) for one in (a, b))
    return (
        f"Where it changes most (bay {b.bay}, {spar_words(b.spar)}) one web carries {shares} of the spar's "
        f"bending, at direct-stress reserves of {stressed}. That counts only where webs run through the ribs "
        "or are scarfed: cut at every rib, webs along the span would have to take it up within each bay, and "
        f"the glue of the worst (bay {cut.bay}, {spar_words(cut.spar)}) would have a reserve of "
        f"{_short(cut.glue_if_cut)}."
    )


def _diagonal(directions: tuple[Direction, ...]) -> str:
    two = [d for d in directions if d.name.startswith("45")]
    best = max(two, key=lambda d: min(b.reserve for b in d.bays))
    weakest = min(best.bays, key=lambda b: b.reserve)
    return (
        f"At 45 degrees the better way is {best.name.partition(', ')[2]}: the weakest panel has "
        f"{_short(weakest.reserve)} ({weakest.governs}, bay {weakest.bay}); the other way "
        f"{_short(min(b.reserve for d in two if d is not best for b in d.bays))}."
    )


def _whole(directions: tuple[Direction, ...]) -> str:
    loads = [f"{d.load_factor_at_first_failure:.2f} {d.name}" for d in directions]
    masses = [d.mass for d in directions]
    same = "the same" if max(masses) - min(masses) < 1e-9 * max(masses) else "not the same"
    return (
        f"The whole wing or specimen fails first at {'; '.join(loads)} (load factor, or times its load). The "
        f"mass is {same} in all."
    )


def _short(value: float | None) -> str:
    return "no limit" if value is None or value > _FAR else f"{np.floor(value * 100) / 100:.2f}"


def _range(values: list[float]) -> str:
    low, high = f"{min(values):.0f}", f"{max(values):.0f}"
    return low if low == high else f"{low} to {high}"


def _times(ratio: float) -> str:
    return "unchanged" if abs(ratio - 1) < 0.02 else f"{ratio:.2g} times"
