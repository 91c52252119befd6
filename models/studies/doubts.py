"""What an answer hangs on: the figures of woods and sizes whose doubt moves the load at first failure most.

The doubt of a figure is one standard deviation of it: the coefficient of variation that its wood carries
(`Material.scatter`, narrower if the piece was weighed), that of the glue, or that of a size as builders cut.
What it does is the slope of the load at first failure times that deviation. A stiffness is a factor on all
that a piece is stiff by, of the modulus that counts in it (along the grain in sticks, sheeting and braces, in
shear in webs and ribs, as in `models.studies.scatter.pieces`); how the movements change with it is solved for
exactly, K du = -K_piece u, with one factor for all pieces. The failure mode's own code then judges the part
that fails first under movements moved a little, several wings side by side, and the modes' rules say what
strength and size do beside that.

Only the piece that fails and those others that change the strain energy of the failing part most are judged:
what the others do is less, as far as their strain energy tells. Another part may come to fail first; slopes
are of the one that does as drawn. Loads stay those of the nominal mass.

Source: direct differentiation of K u = f, Haftka and Guerdal, Elements of Structural Optimization, ch. 7
(from memory).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from fea.arrays import Array, Ints
from fea.reanalysis import pinned
from fea.solve import Factor, factorise
from models.analysis import Analysis
from models.strength import Margin, Margins
from models.strength.counted import JOINER
from models.strength.margin import every_finding
from models.strength.modes import named
from models.structure.model import Model
from models.studies.scatter.draws import column_factor
from models.studies.scatter.pieces import Pieces, pieces_of
from models.studies.scatter.stack import side_by_side
from models.studies.scatter.states import FORCES, slenderness_of
from models.woods.data import cite, tables
from models.woods.glue import glue, glue_names

TOLD = 3
"""Figures that are told."""
ABOUT = (
    "One standard deviation of each, by the woods' tables; as much less moves it the other way. Slopes of "
    "what fails first as drawn: another part may come first. Stiffness is that of the whole stick or sheet."
)
_STEP = 1e-4
"""Change of a factor for its slope: leaves as much of the slope's own change, and little rounding."""
_IN_SHEAR = {"web", "web strip", "rib", "post", "cap strip", "rail tie"}
"""Kinds of part whose piece is counted by its shear modulus, as `models.studies.scatter.pieces` has it."""
STRENGTH_WORDS = {
    "tension": "tensile strength",
    "compression": "crushing strength",
    "bending": "bending strength",
    "shear": "shear strength",
    "tension_across": "strength across the grain",
    "rolling_shear": "rolling shear strength",
    "glue": "strength of the glue line",
}


@dataclass(frozen=True)
class Doubt:
    """One figure, and what one standard deviation of it does.

    Parameters
    ----------
    figure : str
        "crushing strength", "stiffness along the grain", "thickness" and the like.
    piece : str
        Which stick or sheet.
    wood : str
        What it is of; "" of glue.
    variation : float
        Standard deviation over the figure.
    change : float
        Of the load factor at first failure (of a specimen the multiple of its load) with a standard deviation
        more of the figure; with one less it is as much the other way, or nearly where two places of the part
        are alike and either may be the first.
    source : str
        Of the variation.
    """

    figure: str
    piece: str
    wood: str
    variation: float
    change: float
    source: str

    @property
    def words(self) -> str:
        """Figure, piece and wood."""
        wood = f", {self.wood}" if self.wood and self.wood not in self.piece else ""
        return f"{self.figure}, {self.piece}{wood}"


def doubts(analysis: Analysis, margins: Margins, *, others: int = 2 * TOLD) -> list[Doubt]:
    """Figures whose doubt moves the load at first failure, the one that moves it most first. `others` pieces
    are judged besides the one that fails, one less where that has a strength to tell. None where nothing is
    loaded."""
    if not margins.rows:
        return []
    first = margins.first()
    pieces = pieces_of(analysis.model)
    part = analysis.model.parts.index(first.part)
    own = int(pieces.of_part[part])
    factor = factor_of(analysis)
    pulls = piece_forces(analysis, pieces)
    near = _nearest(analysis, pieces, part, own, pulls, factor)
    near = near[: max(others - bool(named(first.mode).scatter.strength), 0)]
    columns = ([own] if own >= 0 else []) + near
    moved = dict(zip(columns, np.moveaxis(moved_by(factor, -pulls[:, :, columns]), -1, 0)))
    slopes = _slopes(analysis, pieces, first, part, own, moved)
    return _ranked(analysis, pieces, first, part, own, slopes)


def factor_of(analysis: Analysis) -> Factor:
    """What was eliminated for an analysis, for loads that balance themselves; anew where it was not kept."""
    kept, assembly = analysis.solution.factor, analysis.solution.assembly
    return factorise(assembly, pinned(assembly)) if kept is None else kept


def piece_forces(analysis: Analysis, pieces: Pieces) -> Array:
    """Forces of each piece on the nodes, K_piece u, (n_nodes, 6, n_pieces)."""
    structure = analysis.model.structure
    out = np.zeros((len(structure.nodes), 6, len(pieces.pieces)))
    for name, group in pieces.groups.items():
        mine = np.flatnonzero(group >= 0)
        if len(mine):
            add_element_forces(analysis, name, mine, out, group[mine])
    return out


def add_element_forces(analysis: Analysis, name: str, mine: Ints, out: Array, column: Ints) -> None:
    """Add the forces of some elements of a block on their nodes, each to its column.

    Parameters
    ----------
    analysis : Analysis
        Solved.
    name : str
        Of the block.
    mine : (n,) int array
        Its elements.
    out : (n_nodes, 6, n_columns) float array
        N and N m, added to.
    column : (n,) int array
        Of each element.
    """
    assembly = analysis.solution.assembly
    block, d = assembly.structure.blocks[name], assembly.freedoms
    if name in assembly.unit_stiffness():
        nodes = block.nodes[mine]
        moves = analysis.solution.displacements[:, :, analysis.case][nodes][:, :, :d]
        forces = np.einsum("eaibj,ebj->eai", assembly.unit_stiffness()[name][mine], moves)
        forces *= block.scale[mine][:, None, None]
        np.add.at(out, (nodes[:, :, None], np.arange(d), column[:, None, None]), forces)


def moved_by(factor: Factor, nodal: Array) -> Array:
    """Movements under forces that balance by themselves, (n_nodes, 6, n)."""
    load = factor.turn.T @ factor.assembly.vector(nodal)
    return factor.assembly.nodal(np.asarray(factor.turn @ factor.solve(np.asarray(load))))


def _nearest(
    analysis: Analysis, pieces: Pieces, part: int, own: int, pulls: Array, factor: Factor
) -> list[int]:
    """Pieces other than the failing one, that whose doubt changes the strain energy of the failing part most
    first: by one adjoint solve, u' K_part du = -(K^-1 K_part u)' K_piece u."""
    of_part = np.zeros((*pulls.shape[:2], 1))
    for name, block in analysis.model.structure.blocks.items():
        mine = np.flatnonzero(block.part == part) if block.part is not None else np.zeros(0, dtype=np.intp)
        if len(mine):
            add_element_forces(analysis, name, mine, of_part, np.zeros(len(mine), dtype=np.intp))
    change = np.einsum("ni,nip->p", moved_by(factor, of_part)[:, :, 0], pulls)
    weight = np.abs(change) * [piece.stiffness for piece in pieces.pieces]
    return [int(p) for p in np.argsort(-weight) if p != own]


@dataclass(frozen=True)
class _Slopes:
    """Relative changes of the reserve with factors: on the stiffness of pieces, on the size of the failing
    piece and on the strength that governs."""

    stiffness: dict[int, float]
    size: float
    strength: float


def _slopes(
    analysis: Analysis, pieces: Pieces, first: Margin, part: int, own: int, moved: dict[int, Array]
) -> _Slopes:
    rule = named(first.mode).scatter
    if first.mode in JOINER:  # judged by the loads alone
        own_stiffness = {own: float(rule.stiffness)} if own >= 0 else {}
        return _Slopes(own_stiffness, float(rule.size), 1.0 if rule.strength else 0.0)
    stiff = list(moved)
    columns = [*stiff, *([own] if own >= 0 else [])]  # the last one is the size of the failing piece
    moves = analysis.solution.displacements[:, :, [analysis.case]]
    moves = moves + _STEP * np.stack([moved[p] for p in columns], axis=2)
    recovered: dict[str, dict[str, Array]] = {}
    for name, figures in analysis.solution.assembly.recover(moves).items():
        group = pieces.groups.get(name)
        recovered[name] = {}
        for what, value in figures.items():
            wings = np.moveaxis(value, -1, 0).copy()
            for k, p in enumerate(columns):
                if group is not None and (k < len(stiff) or what in FORCES):
                    wings[k, group == p] *= 1 + _STEP
            recovered[name][what] = wings.reshape(-1, *wings.shape[2:])
    model = side_by_side(analysis.model, len(columns))
    seen = _reserves(replace(analysis, model=model, recovered=recovered), first.mode, part, len(columns))
    relative = (seen / first.reserve_factor - 1) / _STEP
    found = dict(zip(stiff, relative[: len(stiff)].tolist()))
    strength = 1.0 if rule.strength else 0.0
    if own < 0:
        return _Slopes(found, 0.0, strength)
    found[own] += rule.stiffness
    if rule.column:
        slender = _slenderness(analysis, first, part)
        one = np.ones((1, 1))
        found[own] += float(column_factor(one, one * (1 + _STEP), slender)[0, 0] - 1) / _STEP
        strength = float(column_factor(one * (1 + _STEP), one, slender)[0, 0] - 1) / _STEP
    return _Slopes(found, float(relative[-1]) + rule.size, strength)


def _reserves(many: Analysis, mode: str, part: int, copies: int) -> Array:
    """Least reserve of a part in a mode, of every copy, (copies,)."""
    out = np.full(copies, np.inf)
    n_parts = len(many.model.parts) // copies
    for one in every_finding(many, only={mode}):
        if one.mode != mode:
            continue
        numbers = many.model.structure.blocks[one.block].part
        assert numbers is not None
        wing, which = np.divmod(numbers[one.element], n_parts)
        mine = which == part
        np.minimum.at(out, wing[mine], one.reserve[mine])
    return out


def _slenderness(analysis: Analysis, first: Margin, part: int) -> Array:
    """2 P_c/(3 P_E) of the cap that fails first, from its reserve beside that of one that cannot bow."""
    model: Model = analysis.model
    rigid = replace(model, caps=replace(model.caps, layer_modulus=1e6 * model.caps.layer_modulus))
    with np.errstate(over="ignore"):  # as in `models.studies.scatter.states`
        crushed = _reserves(replace(analysis, model=rigid), first.mode, part, 1)
    return slenderness_of(np.clip(first.reserve_factor / crushed, 1e-9, 1.0))


def _ranked(
    analysis: Analysis, pieces: Pieces, first: Margin, part: int, own: int, slopes: _Slopes
) -> list[Doubt]:
    load = first.reserve_factor * analysis.load_factor
    kinds = dict(zip(pieces.of_part.tolist(), (p.kind for p in analysis.model.parts)))
    found = []

    def add(p: int, figure: str, variation: float, slope: float, source: str) -> None:
        piece = pieces.pieces[p]
        name = piece.name.removesuffix(", starboard") if analysis.model.half else piece.name
        name = name.replace("spar spar", "spar")
        found.append(Doubt(figure, name, piece.material.name, variation, load * slope * variation, source))

    rule = named(first.mode).scatter
    if rule.strength == "glue":
        joint = glue(glue_names()[0])
        source = cite(tables()["glues"]["scatter"])
        change = load * slopes.strength * joint.scatter
        found.append(
            Doubt(STRENGTH_WORDS["glue"], first.part.name_without_side, "", joint.scatter, change, source)
        )
    elif rule.strength and own >= 0:
        wood = pieces.pieces[own].material
        source = wood.sources.get(f"scatter.{rule.strength}", "")
        words = STRENGTH_WORDS[rule.strength]
        add(own, words, wood.scatter[rule.strength], slopes.strength, source)
    for p, slope in slopes.stiffness.items():
        piece, kind = pieces.pieces[p], kinds[p]
        shear = kind in _IN_SHEAR
        key = "scatter.G" if shear else "scatter.E_L"
        figure = "stiffness, by its shear modulus" if shear else "stiffness along the grain"
        add(p, figure, piece.stiffness, slope, piece.material.sources.get(key, ""))
        stick = kind in ("cap", "edge", "rail")
        size = "width and height" if stick else "thickness"
        # Of a piece that does not fail itself, size stiffens as the modulus does.
        of_size = slopes.size if p == own else slope
        add(p, size, piece.size, of_size, "as builders cut and sand (common practice, no source)")
    return sorted(found, key=lambda one: -abs(one.change))
