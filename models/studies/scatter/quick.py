"""Scatter in a moment: many wings drawn on the stresses of the nominal one, moved by slopes and curvatures.

What every part bears is drawn as the full study draws it: the same pieces, correlations and rules of the
modes. What differs is the load on a part. The full study solves every set of wood; here the logarithm of a
reserve follows the logarithm of each piece's stiffness in a parabola: its slope from one factorisation
(K u' = -K_piece u) and from the failure modes' own code on movements moved a little, its curvature from the
second derivative of the movements (K u'' = -2 K_piece u') and the same code a little to both sides, several
wings side by side. On the stresses of the nominal wing alone, without slopes, the fifth percentile of a wing
with two spars would be up to 7 % too low: a stiff cap is a strong one, and draws load. By slopes alone it
would be too low where load is shared among pieces that scatter widely: the share s of a piece among others
cannot go on growing with its stiffness in proportion, its logarithm has the curvature -s(1 - s), and a wing
that hangs on one such part comes out 3 to 4 % low. What two pieces do together beyond the sum of both is left
out, and that another place of a part comes first as stiffness moves far.

Several cases of one wing are drawn together, in the same wood, so that the share that survives all is known.

Source: direct differentiation of K u = f, Haftka and Guerdal, Elements of Structural Optimization, ch. 7
(from memory).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from fea.arrays import Array, Ints
from models.analysis import Analysis
from models.recovered import changed, recovered
from models.strength.margin import Margin, Margins, every_finding
from models.strength.modes import named
from models.strength.solved import Build
from models.structure.model import Part
from models.studies.doubts import add_element_forces, factor_of, moved_by, piece_forces
from models.studies.scatter.draws import (
    STIFF_AND_STRONG,
    WITHIN,
    Spread,
    column_factor,
    spread_of,
    stream,
)
from models.studies.scatter.pieces import Pieces, pieces_of
from models.studies.scatter.stack import side_by_side
from models.studies.scatter.states import FORCES, WEAK, Pair, States, slenderness_of

ALONE, TOGETHER = 40_000, 6000
"""Wings drawn in one case, and in many at once: the standard error of the fifth percentile is about 0.7 and
1.5 %."""
SEED = 20262
"""Seed; drawn once, so that the same wing has the same answer, and a changed one the same wood."""
MOST_PIECES = 10
"""Pieces whose stiffness is followed by slopes: those that change the strain energy of the parts next to fail
most. The stiffness of the others still counts in what they bear themselves."""
_PARTS = 4
"""Parts next to fail whose strain energy picks the pieces."""
_FAR = 4.0
"""A part and mode beyond this factor of the least reserve is left out."""
_STEP = 1e-4
"""Change of a factor for its slope, as in `models.studies.doubts`."""
_BEND = 0.02
"""Change of the logarithm of a piece's stiffness, to both sides, for its curvature (a choice): large against
rounding, so small that mostly no other place of a part comes first."""
_STEEPEST = 5.0
"""Greatest power of a stiffness or thickness in a reserve that is taken for a slope: what bends goes with the
third of a thickness; a greater curvature is none."""
_OTHER = 2.0
"""A row that the analysis whose slopes are taken leaves so many times the reserve is loaded otherwise: it has
no slope. With the lift of the bent wing most rows come from nearly the same stresses."""
_CHUNK = 2000
_PLATES = ("webs", "sheeting", "ribs")
"""Blocks judged by stress, whose reserve follows the thickness where a part's force stays; others are judged
by forces, joints of cut caps among them."""


@dataclass(frozen=True, eq=False)
class Loaded:
    """One case: margins that count, the least first, its analysis, whether slopes are wanted, and the same
    margins at another multiple of the load, of parts within some times the least, where they hang on it: as
    sheeting has bowed there."""

    rows: Sequence[Margin]
    analysis: Analysis
    slopes: bool = False
    at: Callable[[float, float], Sequence[Margin]] | None = None


@dataclass(frozen=True, eq=False)
class Quick:
    """Reserve factors of many wings.

    Parameters
    ----------
    nominal : float
        Least reserve factor in mean wood; inf where nothing is loaded.
    reserve : (n_wings,) float array
        Least reserve factor of each wing.
    """

    nominal: float
    reserve: Array

    @property
    def fifth(self) -> float:
        """Reserve factor that one wing in twenty does not reach."""
        return float(np.quantile(self.reserve, 0.05, method="inverted_cdf"))

    @property
    def survive(self) -> float:
        """Share that bear their load."""
        return float((self.reserve >= 1).mean())


def quick(analysis: Analysis, margins: Margins, *, samples: int = ALONE) -> Quick:
    """Reserve factors of many wings in the case of an analysis.

    Parameters
    ----------
    analysis : Analysis
        Solved, in mean wood.
    margins : Margins
        Its reserve factors.
    samples : int
        Wings.

    Returns
    -------
    Quick
    """
    return quick_cases([Loaded(margins.rows, analysis, slopes=True)], samples=samples)[0]


def quick_cases(
    cases: Sequence[Loaded], *, samples: int = TOGETHER, build: Build | None = None
) -> list[Quick]:
    """Reserve factors of many wings, each of the same wood in every case.

    Of weak wings sheeting has bowed less where they fail than of mean ones: reserves are taken at the load
    that is asked for or a share of that at which the mean one fails, and once more as those of the mean one
    where one wing in twenty bears more.

    Parameters
    ----------
    cases : sequence of Loaded
        Of the same model, one at least.
    samples : int
        Wings.
    build : Build or None
        What modes of failure know of that model, where they were asked already.

    Returns
    -------
    list of Quick
        One for each case.
    """
    weak = [_weak(case) for case in cases]
    found = _quick(weak, samples, build)
    nominal = [one.rows[0].reserve_factor if one.rows else np.inf for one in cases]
    again = [
        k
        for k, (case, one) in enumerate(zip(cases, found))
        if case.at is not None and one.fifth > max(1.0, WEAK * nominal[k])
    ]
    if again:
        drawn = _quick([cases[k] if k in again else one for k, one in enumerate(weak)], samples, build)
        found = [drawn[k] if k in again else one for k, one in enumerate(found)]
    return [replace(one, nominal=least) for one, least in zip(found, nominal)]


def _weak(case: Loaded) -> Loaded:
    """A case with reserves for wings that are weak."""
    if case.at is None or not case.rows:
        return case
    return replace(case, rows=case.at(max(1.0, WEAK * case.rows[0].reserve_factor), _FAR))


def _quick(cases: Sequence[Loaded], samples: int, build: Build | None) -> list[Quick]:
    wing = cases[0].analysis
    pieces = pieces_of(wing.model)
    numbers = {part: k for k, part in enumerate(wing.model.parts)}
    pairs: list[Pair] = []
    nominal: list[float] = []
    of_case: list[slice] = []
    slopes: list[tuple[Array, Array, Array]] = []
    for case in cases:
        keys, reserve = _near(case.rows, numbers)
        of_case.append(slice(len(pairs), len(pairs) + len(keys)))
        pairs += [
            Pair(wing.model.parts[p], mode, named(mode).scatter, int(pieces.of_part[p])) for mode, p in keys
        ]
        nominal += reserve.tolist()
        if case.slopes and keys:
            slopes.append(_slopes(case.analysis, pieces, keys, reserve))
        else:
            flat = np.zeros((len(keys), len(pieces.pieces)))
            slopes.append((_by_size(keys), flat, flat))
    if not pairs:
        return [Quick(np.inf, np.full(samples, np.inf)) for _ in cases]
    by_size, by_stiffness, curvature = (np.concatenate(each) for each in zip(*slopes))
    least = _draw(
        wing,
        pieces,
        pairs,
        np.array(nominal),
        by_size,
        by_stiffness,
        curvature,
        _slenderness([case.analysis for case in cases], pairs, Build() if build is None else build),
        of_case,
        samples,
    )
    return [Quick(min(nominal[rows], default=np.inf), least[:, k]) for k, rows in enumerate(of_case)]


def _near(every: Sequence[Margin], numbers: dict[Part, int]) -> tuple[list[tuple[str, int]], Array]:
    """Modes and parts that scatter may make the first, and their reserves.

    In the order of the parts: in that of the reserves sides that are alike would change places by rounding,
    and draw each other's wood.
    """
    rows = [row for row in every if row.reserve_factor <= _FAR * every[0].reserve_factor]
    rows.sort(key=lambda row: (numbers[row.part], row.mode))
    return [(row.mode, numbers[row.part]) for row in rows], np.array([row.reserve_factor for row in rows])


def _by_size(keys: list[tuple[str, int]]) -> Array:
    """Power of a part's thickness in the reserves of modes where its force stays, (n_pairs,)."""
    modes = [named(mode) for mode, _ in keys]
    return np.array([float(mode.block in _PLATES and mode.ends_flight) for mode in modes])


def _slopes(
    analysis: Analysis, pieces: Pieces, keys: list[tuple[str, int]], nominal: Array
) -> tuple[Array, Array, Array]:
    """Slopes of ln reserve: by ln size where every piece's force stays (n_pairs,), and by the logarithm of
    the pieces' stiffness (n_pairs, n_pieces); and the curvature by that (n_pairs, n_pieces)."""
    assembly = analysis.solution.assembly
    factor = factor_of(analysis)
    pulls = piece_forces(analysis, pieces)
    weakest = [keys[k] for k in np.argsort(nominal, kind="stable").tolist()]
    chosen = _chosen(analysis, pieces, weakest, pulls, factor)
    n = len(chosen)
    moved = moved_by(factor, -pulls[:, :, chosen])
    bent = 2 * moved_by(factor, -_forces(analysis, pieces, chosen, moved))
    still = analysis.solution.displacements[:, :, [analysis.case]]
    factors = np.repeat([1 + _STEP, math.exp(_BEND), math.exp(-_BEND)], n)
    away = factors - 1
    gone = away * np.tile(moved, 3) + away**2 / 2 * np.tile(bent, 3)
    moves = np.concatenate([still + gone, still, still], axis=2)

    def stacked(name: str, figures: Mapping[str, Array]) -> dict[str, Array]:
        group = pieces.groups.get(name)
        out = {}
        for what, value in figures.items():
            wings = np.moveaxis(value, -1, 0).copy()
            if group is not None:
                for k, one in enumerate(factors):
                    wings[k, group == chosen[k % n]] *= one
                if what not in FORCES:
                    wings[3 * n, group >= 0] *= 1 - _STEP
            out[what] = wings.reshape(-1, *wings.shape[2:])
        return out

    copies = 3 * n + 2
    of_copies = changed(recovered(assembly, moves), stacked)
    many = replace(analysis, model=side_by_side(analysis.model, copies), recovered=of_copies)
    seen = _reserves(many, keys, copies)
    # Modes that count on a condition, and what bears nothing, are not asked: their force stays.
    with np.errstate(invalid="ignore", divide="ignore"):
        logs = np.log(seen / seen[-1])
        relative = np.concatenate([logs[:n], logs[3 * n : 3 * n + 1]]) / np.log1p(_STEP)
        curved = (logs[n : 2 * n] + logs[2 * n : 3 * n]) / _BEND**2
    # A rule that jumps (another length of a column, another place) has no slope: its part's force stays too.
    asked = (np.abs(np.nan_to_num(relative, nan=np.inf)) < _STEEPEST).all(axis=0)
    asked &= seen[-1] < _OTHER * nominal
    # Where it jumps, or another place of the part comes first, within the step there is no curvature either.
    smooth = asked & (np.abs(np.nan_to_num(curved, nan=np.inf)) < _STEEPEST).all(axis=0)
    by_stiffness, curvature = (np.zeros((len(keys), len(pieces.pieces))) for _ in range(2))
    by_stiffness[:, chosen] = np.where(asked, relative[:n], 0.0).T
    curvature[:, chosen] = np.where(smooth, curved, 0.0).T
    return np.where(asked, relative[n], _by_size(keys)), by_stiffness, curvature


def _forces(analysis: Analysis, pieces: Pieces, chosen: list[int], moved: Array) -> Array:
    """Forces of pieces on the nodes as each moves by its own column, (n_nodes, 6, n_chosen)."""
    assembly = analysis.solution.assembly
    out, d = np.zeros_like(moved), assembly.freedoms
    for name, group in pieces.groups.items():
        if name not in assembly.unit_stiffness():
            continue
        block = assembly.structure.blocks[name]
        for k, p in enumerate(chosen):
            mine = np.flatnonzero(group == p)
            nodes = block.nodes[mine]
            forces = np.einsum("eaibj,ebj->eai", assembly.unit_stiffness()[name][mine], moved[nodes, :d, k])
            np.add.at(out[:, :d, k], nodes, forces * block.scale[mine][:, None, None])
    return out


def _chosen(
    analysis: Analysis, pieces: Pieces, keys: list[tuple[str, int]], pulls: Array, factor: object
) -> list[int]:
    """Pieces whose doubt changes the strain energy of the parts next to fail most."""
    if len(pieces.pieces) <= MOST_PIECES:
        return list(range(len(pieces.pieces)))
    parts = list(dict.fromkeys(p for _, p in keys))[:_PARTS]
    of_parts = np.zeros((*pulls.shape[:2], len(parts)))
    for name, block in analysis.model.structure.blocks.items():
        if block.part is None:
            continue
        for k, part in enumerate(parts):
            mine = np.flatnonzero(block.part == part)
            if len(mine):
                add_element_forces(analysis, name, mine, of_parts, np.full(len(mine), k, dtype=np.intp))
    own = np.einsum("nip,ni->p", of_parts, analysis.solution.displacements[:, :, analysis.case])
    change = np.einsum("nia,nip->ap", moved_by(factor, of_parts), pulls)  # type: ignore[arg-type]
    change = np.abs(change) / np.maximum(np.abs(own), 1e-300)[:, None]
    weight = change.max(axis=0) * [piece.stiffness for piece in pieces.pieces]
    return sorted(np.argsort(-weight)[:MOST_PIECES].tolist())


def _reserves(many: Analysis, keys: list[tuple[str, int]], copies: int, build: Build | None = None) -> Array:
    """Least reserve of the pairs in every copy, (copies, n_pairs)."""
    n_parts = len(many.model.parts) // copies
    modes = {mode: k for k, mode in enumerate(dict.fromkeys(mode for mode, _ in keys))}
    out = np.full((len(modes), copies, n_parts), np.inf)
    for one in every_finding(many, counted_only=True, only=modes, build=build):
        if one.reason or one.mode not in modes:
            continue
        of_block = many.model.structure.blocks[one.block].part
        assert of_block is not None
        wing, part = np.divmod(of_block[one.element], n_parts)
        np.minimum.at(out[modes[one.mode]], (wing, part), one.reserve)
    return np.stack([out[modes[mode], :, p] for mode, p in keys], axis=1)


def _draw(
    wing: Analysis,
    pieces: Pieces,
    pairs: list[Pair],
    nominal: Array,
    by_size: Array,
    by_stiffness: Array,
    curvature: Array,
    slender: Array,
    of_case: list[slice],
    samples: int,
) -> Array:
    """Least reserve of every wing in every case, (samples, n_cases).

    The logarithm of a reserve is a straight line in the standard normal variables, but for columns. Pairs
    that have the same line, a part and mode in other cases say, are drawn once.
    """
    halves = 2 if wing.model.half else 1
    n = len(pieces.pieces)
    empty = np.zeros((0, n))
    piece = np.array([pair.piece for pair in pairs], dtype=np.intp)
    blank = States(tuple(pairs), piece, empty, empty, empty, empty, slender, 1.0, float(nominal.min()))
    spread = spread_of(blank, pieces)
    lines = _Lines.of(blank, spread, pieces, by_size, by_stiffness, curvature)
    with np.errstate(divide="ignore"):  # what bears nothing
        first = np.log(np.maximum(nominal, 0.0))
    # Of pairs with one line, the one that has the least reserve in a case is enough.
    asked = [_least_of_each(lines.number[at], first[at]) for at in of_case]
    of_pieces = [stream(SEED, key) for key in spread.pieces]
    of_parts = [stream(SEED, key) for key in spread.parts]
    rows = []
    for start in range(0, samples * halves, _CHUNK):
        m = min(_CHUNK, samples * halves - start)
        wood = np.stack([each.standard_normal((3, m)) for each in of_pieces], axis=1)
        moved = lines.moved(wood.reshape(3 * n, m), np.stack([each.standard_normal(m) for each in of_parts]))
        low, high = moved.min(axis=1), moved.max(axis=1)
        least = np.full((m, len(asked)), np.inf)
        for k, (number, at) in enumerate(asked):
            if len(number):
                # What is never the least is left out.
                near = low[number] + at <= (high[number] + at).min()
                least[:, k] = (moved[number[near]] + at[near, None]).min(axis=0)
        rows.append(np.exp(least))
    return np.asarray(np.concatenate(rows).reshape(samples, halves, len(of_case)).min(axis=1))


def _least_of_each(number: Ints, first: Array) -> tuple[Ints, Array]:
    """Every number once, and the least of what stands beside it."""
    order = np.lexsort((first, number))
    fresh = order[np.flatnonzero(np.diff(number[order], prepend=-1))]
    return number[fresh], first[fresh]


@dataclass(frozen=True, eq=False)
class _Lines:
    """How the logarithm of a pair's reserve follows the standard normal variables: stiffness, size and
    quality of the n pieces, and what is the pair's own.

    Parameters
    ----------
    number : (n_pairs,) int array
        Line of each pair.
    variables : (n_used,) int array
        Of the 3 n variables, those that a line hangs on.
    slope : (n_lines, n_used) float array
        By them.
    bend : (n_lines, n_bent) float array
        Curvatures, by the logarithms of a piece's stiffness and size together.
    bent : (n_bent,) int array
        Pieces that have any.
    own : (n_lines,) int array
        Which variable of the pairs' own.
    by_own, constant : (n_lines,) float array
        Slope by that, and what stands alone.
    column : (n_columns,) int array
        Lines of columns, whose strength is not in their slopes.
    strength : tuple of (n_columns,) float array
        Of columns: slopes of the logarithm of strength by stiffness, quality and their own, and its constant.
    piece : (n_columns,) int array
        Of columns.
    of_stiffness, of_size : (n,) float array
        Scatter of the logarithms of the pieces' stiffness and size.
    slender : (n_columns,) float array
        Of columns.
    n : int
        Pieces.
    """

    number: Ints
    variables: Ints
    slope: Array
    bend: Array
    bent: Ints
    own: Ints
    by_own: Array
    constant: Array
    column: Ints
    strength: tuple[Array, Array, Array, Array]
    piece: Ints
    of_stiffness: Array
    of_size: Array
    slender: Array
    n: int

    @staticmethod
    def of(
        states: States, spread: Spread, pieces: Pieces, by_size: Array, by_stiffness: Array, bend: Array
    ) -> _Lines:
        """Lines of all pairs."""
        n, many = len(pieces.pieces), np.arange(len(states.pairs))
        piece = states.piece % n
        of_stiffness = np.sqrt(np.log1p(np.square([one.stiffness for one in pieces.pieces])))
        of_size = np.sqrt(np.log1p(np.square([one.size for one in pieces.pieces])))
        size_power = by_size + np.array([pair.rule.size for pair in states.pairs])
        own_power = np.array([pair.rule.stiffness for pair in states.pairs])
        by_wood = np.where(spread.glued, 0.0, spread.sigma)
        with_stiffness = STIFF_AND_STRONG * by_wood
        with_quality = np.sqrt(WITHIN - STIFF_AND_STRONG**2) * by_wood
        by_own = np.where(spread.glued, 1.0, np.sqrt(1 - WITHIN)) * spread.sigma
        alone = -(spread.sigma**2) / 2
        straight = np.where(spread.column, 0.0, 1.0)
        slope = np.zeros((len(many), 3, n))
        slope[:, 0] = slope[:, 1] = by_stiffness
        slope[many, 0, piece] += own_power
        slope[many, 1, piece] += size_power
        constant = straight * alone - slope[:, 0] @ of_stiffness**2 / 2 - slope[:, 1] @ of_size**2 / 2
        slope[:, 0] *= of_stiffness
        slope[:, 1] *= of_size
        slope[many, 0, piece] += straight * with_stiffness
        slope[many, 2, piece] += straight * with_quality
        flat = slope.reshape(len(many), 3 * n)
        told = [flat, bend, spread.own, straight * by_own, constant, spread.column, states.slenderness, piece]
        marks = np.column_stack([np.asarray(one, dtype=float) for one in told])
        known: dict[bytes, int] = {}
        number = np.array([known.setdefault(row.tobytes(), len(known)) for row in marks], dtype=np.intp)
        one = np.unique(number, return_index=True)[1]
        columns = np.flatnonzero(spread.column[one])
        at = one[columns]
        variables = np.flatnonzero(flat[one].any(axis=0))
        bent = np.flatnonzero(bend[one].any(axis=0))
        return _Lines(
            number,
            variables,
            flat[np.ix_(one, variables)],
            bend[np.ix_(one, bent)],
            bent,
            spread.own[one],
            (straight * by_own)[one],
            constant[one],
            columns,
            (with_stiffness[at], with_quality[at], by_own[at], alone[at]),
            piece[at],
            of_stiffness,
            of_size,
            states.slenderness[at],
            n,
        )

    def moved(self, z: Array, own: Array) -> Array:
        """What is added to the logarithm of the nominal reserve, (n_lines, n_wings), from variables of the
        pieces (3 n, n_wings) and the pairs' own (n_own, n_wings)."""
        out = self.slope @ z[self.variables]
        out += self.by_own[:, None] * own[self.own] + self.constant[:, None]
        if len(self.bent):
            at, n = self.bent, self.n
            stiffness, size = self.of_stiffness[at, None], self.of_size[at, None]
            moves = stiffness * z[at] + size * z[n + at] - (stiffness**2 + size**2) / 2
            out += self.bend @ moves**2 / 2
        if len(self.column):
            stiff, quality = z[self.piece], z[2 * self.n + self.piece]
            by_stiffness, by_quality, by_own, alone = (one[:, None] for one in self.strength)
            strength = by_stiffness * stiff + by_quality * quality + alone
            strength += by_own * own[self.own[self.column]]
            sigma = self.of_stiffness[self.piece][:, None]
            modulus = np.exp(sigma * stiff - sigma**2 / 2)
            out[self.column] += np.log(column_factor(np.exp(strength).T, modulus.T, self.slender)).T
        return np.asarray(out)


def _slenderness(analyses: Sequence[Analysis], pairs: list[Pair], known: Build) -> Array:
    """2 P_c/(3 P_E) of columns, as `models.studies.scatter.states` finds it; nan of other modes.

    It is a matter of the cap's section and length, and so taken from the first case that presses the cap.
    """
    wanted = dict.fromkeys((pair.mode, pair.part) for pair in pairs if pair.rule.column)
    found: dict[tuple[str, Part], float] = {}
    of_rigid = Build()
    model, rigid = None, analyses[0].model
    for analysis in analyses:
        missing = [key for key in wanted if key not in found]
        if not missing:
            break
        if analysis.model is not model:
            model = analysis.model
            numbers = {part: k for k, part in enumerate(model.parts)}
            rigid = replace(model, caps=replace(model.caps, layer_modulus=1e6 * model.caps.layer_modulus))
        keys = [(mode, numbers[part]) for mode, part in missing]
        with np.errstate(over="ignore", invalid="ignore"):  # no structure has such a modulus
            share = _reserves(analysis, keys, 1, known)[0]
            if not np.isfinite(share).any():
                continue
            share = share / _reserves(replace(analysis, model=rigid), keys, 1, of_rigid)[0]
        for key, value in zip(missing, share.tolist()):
            if np.isfinite(value) and value > 0:
                found[key] = value
    slender = slenderness_of(np.clip([found.get(key, 1.0) for key in wanted], 1e-9, 1.0))
    of_key = dict(zip(wanted, slender.tolist()))
    return np.array([of_key.get((pair.mode, pair.part), np.nan) for pair in pairs])
