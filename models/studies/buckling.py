"""Linear buckling of the whole wing in its pull-up: at which load factor it first has another shape to go to,
where, and how.

Every block's stress counts (caps, webs, lapped strips, posts, ribs, sheeting, edges, rails); the least
positive factor on the loads is sought on the whole structure, and once more for each group of parts with the
other groups' stress left out, so that the many wrinkles of sheeting cannot hide what the spars would do. Half
a wing is tried with both halves alike and with the halves opposite.

What the mesh shows: caps bowing sideways or up and down between ribs, caps twisting, the wing twisting as a
whole, sheeting bowing between ribs, rails and edges. What it does not: the bulging of a web within a bay (one
panel over its height; see `models.strength.web_buckling`), wrinkles shorter than two panels, ribs buckling
within their height.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fea.arrays import Array
from fea.assembly import Assembly
from fea.buckling import held_at, linear_buckling
from fea.solve import factorise
from fea.structure import Supports
from models.analysis import Analysis
from models.rounding import down
from models.structure.model import Model, Part

GROUPS = {
    "spars": ("caps", "webs", "web ends", "strips", "posts", "edges", "rails", "rail ties", "rail webs"),
    "sheeting": ("sheeting",),
    "ribs": ("ribs", "cap strips"),
}
"""Blocks whose stress drives each group of modes; whatever has stress stands in exactly one."""
_SAME = 0.02
"""Relative difference of two factors within which modes of one part are one and the same."""


@dataclass(frozen=True, eq=False)
class BucklingMode:
    """One way of buckling.

    Parameters
    ----------
    load_factor : float
        n at which the wing buckles so (of a specimen: multiple of its load).
    factor : float
        The same as a factor on the loads of the case.
    group : str
        "spars", "sheeting" or "ribs": whose stress drives it most.
    opposite : bool
        The port half moves opposite to the starboard half; False where both move alike, or both were
        modelled.
    part : Part
        Whose stress drives it most.
    part_share : float
        Share of that part in the work of the stresses.
    bays : tuple of (side, bay, share)
        Strain energy of the shape by bay, the greatest first.
    kinds : tuple of (block, share)
        Strain energy of the shape by kind of part, the greatest first.
    way : str
        How that part moves, in words: "bows sideways".
    shape : (n_nodes, 6) float array
        Greatest movement 1.
    """

    load_factor: float
    factor: float
    group: str
    opposite: bool
    part: Part
    part_share: float
    bays: tuple[tuple[str, int, float], ...]
    kinds: tuple[tuple[str, float], ...]
    way: str
    shape: Array


@dataclass(frozen=True, eq=False)
class Buckling:
    """Modes of a solved wing, lowest first. `analysis` is the state of stress, `modes` are of the whole
    structure with the stress of every part, `first_of` has the lowest of each group by its own stress alone,
    without groups that cannot buckle."""

    analysis: Analysis
    modes: tuple[BucklingMode, ...]
    first_of: dict[str, BucklingMode]

    def first(self) -> BucklingMode | None:
        """The lowest of all; None where nothing buckles."""
        return self.modes[0] if self.modes else None


def buckle(analysis: Analysis, n_modes: int = 5) -> Buckling:
    """Lowest ways of buckling of a solved wing or specimen. The analysis has four elements a bay or more: a
    cap that bows in two half waves needs two cubics each. `n_modes` are of the whole structure.

    Raises
    ------
    fea.solve.Mechanism, fea.solve.UnbalancedSolve
        The unloaded structure can move freely, or a shape is not in equilibrium.

    Notes
    -----
    Loads keep their direction; shapes are seen from the centre section, which does not turn. Deflection
    before buckling is left out, as the linear analysis of the wing leaves it out.

    References
    ----------
    Linear theory as in `fea.buckling`; checked in `validation` against Timoshenko and Gere, Theory of Elastic
    Stability, and Lekhnitskii's orthotropic plate.
    """
    assembly = analysis.solution.assembly
    blocks = assembly.structure.blocks
    groups = {k: [b for b in names if b in blocks] for k, names in GROUPS.items()}
    found: list[BucklingMode] = []
    first_of: dict[str, BucklingMode] = {}
    for opposite, supports in _ends(analysis):
        factor = factorise(assembly, supports)
        make = _Describer(analysis, opposite=opposite)
        factors, shapes = linear_buckling(factor, analysis.solution, n_modes, case=analysis.case)
        found += [make(f, shapes[:, :, k], None) for k, f in enumerate(factors)]
        for group, names in groups.items():
            if not names:
                continue
            factors, shapes = linear_buckling(
                factor, analysis.solution, 1, case=analysis.case, stressed=names
            )
            if len(factors) and (group not in first_of or factors[0] < 0.98 * first_of[group].factor):
                first_of[group] = make(factors[0], shapes[:, :, 0], names)
    return Buckling(analysis, _distinct(found, n_modes), first_of)


def _ends(analysis: Analysis) -> list[tuple[bool, Supports]]:
    """Supports of the shapes: the model's own and, of half a wing, those of opposite halves."""
    model, assembly = analysis.model, analysis.solution.assembly
    if model.wing.clamped:
        return [(False, assembly.structure.supports)]
    near = model.centre_caps
    out = [(False, held_at(assembly, near))]
    if model.half:
        centre = np.flatnonzero(np.abs(model.structure.nodes[:, 1]) < 1e-9)
        out.append((True, held_at(assembly, near, Supports.fixed(centre, "xzY"))))
    return out


def _distinct(modes: list[BucklingMode], n_modes: int) -> tuple[BucklingMode, ...]:
    """Lowest first; a local mode is met with both halves alike and opposite, and counts once, as alike."""
    alike = [m for m in modes if not m.opposite]
    own = [
        m
        for m in modes
        if m.opposite and not any(m.part == a.part and abs(a.factor / m.factor - 1) < _SAME for a in alike)
    ]
    return tuple(sorted([*alike, *own], key=lambda m: m.load_factor)[:n_modes])


class _Describer:
    """Says of shapes where they live and how they move."""

    def __init__(self, analysis: Analysis, *, opposite: bool) -> None:
        self.analysis, self.opposite = analysis, opposite
        self.recovered = analysis.solution.recover(analysis.case)

    def __call__(self, factor: float, shape: Array, stressed: list[str] | None) -> BucklingMode:
        model, assembly = self.analysis.model, self.analysis.solution.assembly
        strain, work = self._by_element(assembly, shape)
        total = sum(float(v.sum()) for v in strain.values())
        kinds = {k: float(v.sum()) / total for k, v in strain.items()}
        driving = {k: v for k, v in work.items() if stressed is None or k in stressed}
        all_work = sum(float(v.sum()) for v in driving.values())
        of_part = np.zeros(len(model.parts))
        for name, values in driving.items():
            parts = model.structure.blocks[name].part
            if parts is not None:
                of_part += np.bincount(parts, values, len(model.parts))
        number = int(np.argmax(of_part))
        group_work = {
            g: sum(float(driving[b].sum()) for b in names if b in driving) for g, names in GROUPS.items()
        }
        part = model.parts[number]
        return BucklingMode(
            float(factor) * self.analysis.load_factor,
            float(factor),
            max(group_work, key=lambda g: group_work[g]),
            self.opposite,
            part,
            float(of_part[number]) / all_work,
            _by_bay(model, assembly, strain, total),
            tuple(sorted(((k, v) for k, v in kinds.items() if v > 0.01), key=lambda kv: -kv[1])),
            _way(model, shape, number),
            shape,
        )

    def _by_element(self, assembly: Assembly, shape: Array) -> tuple[dict[str, Array], dict[str, Array]]:
        """Strain energy of every element in a shape, and work of its stress, both times two, J."""
        strain, work = {}, {}
        unit = assembly.unit_stiffness()
        for name, block in assembly.structure.blocks.items():
            moves = shape[block.nodes][:, :, : assembly.freedoms]
            flat = moves.reshape(len(moves), -1)
            n, size = flat.shape
            push = np.einsum("eij,ej->ei", unit[name].reshape(n, size, size), flat)
            strain[name] = np.einsum("ei,ei->e", flat, push) * block.scale
            stress = block.geometric_stiffness(assembly.corners(name), self.recovered[name])
            pull = np.einsum("eij,ej->ei", assembly.on_nodes(name, stress).reshape(n, size, size), flat)
            work[name] = -np.einsum("ei,ei->e", flat, pull)
        return strain, work


def _by_bay(
    model: Model, assembly: Assembly, strain: dict[str, Array], total: float
) -> tuple[tuple[str, int, float], ...]:
    """Shares of the strain energy by side and bay, the greatest first; a rib counts to the bay outboard."""
    found: dict[tuple[str, int], float] = {}
    for name, values in strain.items():
        y = assembly.corners(name)[:, :, 1].mean(axis=1)
        found_at = np.searchsorted(model.y, y + 1e-9 * np.sign(y), side="right") - 1
        span = np.clip(found_at, 0, len(model.bay) - 1)
        each = np.bincount(span, values, len(model.bay))
        for i in np.flatnonzero(each):
            key = ("" if model.wing.clamped else model.side(int(i)), int(model.bay[i]))
            found[key] = found.get(key, 0.0) + float(each[i]) / total
    rows = [(side, bay, share) for (side, bay), share in found.items()]
    return tuple(sorted(rows, key=lambda row: -row[2]))


def _way(model: Model, shape: Array, number: int) -> str:
    """How a part moves in a shape: its bow between its ends, or with the wing as a whole."""
    part = model.parts[number]
    nodes = [
        block.nodes[block.part == number].ravel()
        for block in model.structure.blocks.values()
        if block.part is not None
    ]
    at = np.unique(np.concatenate(nodes))
    y, moves = model.structure.nodes[at, 1], shape[at]
    largest = float(np.abs(shape[:, :3]).max()) or 1.0
    if part.kind == "sheeting":
        return "bows in and out between the ribs"
    if part.kind in ("rib", "cap strip", "post", "rail", "rail tie") or np.ptp(y) < 1e-9:
        return "bows sideways along the span" if part.kind in ("rib", "cap strip") else "bows"
    order = np.argsort(y, kind="stable")
    first, last = order[0], order[-1]
    share = ((y - y[first]) / (y[last] - y[first]))[:, None]
    bow = np.abs(moves - (moves[first] * (1 - share) + moves[last] * share)).max(axis=0)
    if part.kind in ("cap", "edge") and max(bow[0], bow[2]) >= 0.2 * largest:
        return "bows sideways" if bow[0] > bow[2] else "bows up and down"
    caps = np.unique(model.cap_nodes[model.cap_nodes >= 0])
    aft, up = np.abs(shape[caps][:, [0, 2]]).max(axis=0)
    return TWISTS if aft < 0.3 * largest else (SIDEWAYS if aft > up else f"{SIDEWAYS} and bends")


TWISTS = "twists as a whole"
SIDEWAYS = "bows sideways and twists as a whole"


def place(part: Part, *, side: bool = True) -> str:
    """A part in words for an answer: "Bay 9, front spar, starboard: upper cap"."""
    name = part.name if side else part.name_without_side
    return name[:1].upper() + name[1:]


def words(mode: BucklingMode, *, specimen: bool = False) -> str:
    """One mode in words: "Bay 9, front spar: upper cap bows sideways at 31 g". Of a specimen in multiples of
    the load."""
    at = f"{down(mode.load_factor, 2)} times its load" if specimen else f"{down(mode.load_factor)} g"
    both = ", port and starboard opposite" if mode.opposite else ""
    if "as a whole" in mode.way:
        where = place(mode.part, side=False)
        what = "specimen" if specimen else "wing"
        return f"The {what} {mode.way} at {at}{both} (stressed most: {where[:1].lower()}{where[1:]})"
    return f"{place(mode.part, side=False)} {mode.way} at {at}{both}"


def sentences(buckling: Buckling) -> list[str]:
    """The answer in words: what buckles first of all, what of the spars, and what it means."""
    analysis = buckling.analysis
    specimen = analysis.wing.clamped
    first = buckling.first()
    if first is None:
        return ["Nothing is pressed or sheared in a way that could buckle."]
    asked = analysis.load_factor
    shape = words(first, specimen=specimen)
    said = [f"It buckles first at {_against(first, asked, specimen)}: {shape[:1].lower()}{shape[1:]}."]
    spread = [b for _, b, share in first.bays if share > 0.15]
    if len(spread) > 1:
        said.append(f"The shape reaches over bays {min(spread)} to {max(spread)}.")
    if first.group == "sheeting":
        said.append(
            "That does not end a flight: sheeting that has bowed goes on carrying its edge strips, but no "
            "longer its full share of the bending, which the caps take over (see collapse)."
        )
    spar = buckling.first_of.get("spars")
    if spar is not None and first.group != "spars":
        shape = words(spar, specimen=specimen)
        said.append(
            f"Of the spars, with the sheeting held in shape, {shape[:1].lower()}{shape[1:]}, "
            f"{_against(spar, asked, specimen)}."
        )
    return said


def _against(mode: BucklingMode, asked: float, specimen: bool) -> str:
    if specimen:
        return f"{down(mode.factor, 2)} times what is asked"
    return f"{down(mode.load_factor / asked, 2)} times the pull-up asked for"


def holds(buckling: Buckling) -> bool:
    """Whether no part but sheeting buckles at the load asked for."""
    return all(m.factor >= 1 for g, m in buckling.first_of.items() if g != "sheeting") and all(
        m.factor >= 1 for m in buckling.modes if m.group != "sheeting"
    )
