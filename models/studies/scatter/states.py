"""Sets of wood for one half wing: how stiff each piece is, and what every part can then bear.

Every set is solved on the real structure by block elimination (`fea.reanalysis`), under both loads that it
must bear at once, and every failure mode's own code judges it, several wings side by side. Loads stay those
of the nominal mass: heavier wood is not flown with more lift.
"""

from __future__ import annotations

import pickle
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from fea.arrays import Array, Ints
from fea.reanalysis import Variants, node_recovery
from fea.solve import pinned
from models.analysis import Analysis, analyse
from models.recovered import Recovered, changed
from models.strength import check
from models.strength.counted import joints
from models.strength.finding import Finding
from models.strength.margin import every_finding, least
from models.strength.mode import Rule
from models.strength.modes import named
from models.strength.solved import Build
from models.structure.model import Model, Part
from models.studies.bent_pull_up import bent_pull_up
from models.studies.bowed import Bowing, bows_from, margins_bowed, shares_left
from models.studies.scatter.pieces import Pieces, pieces_of
from models.studies.scatter.stack import side_by_side
from models.workers import Run

SIDE_BY_SIDE = 64
"""Wings judged together, each load of one a wing: numpy's calls no longer count then."""
_ELEMENTS = 250_000
"""Most elements of all those wings, so that memory stays within some 0.3 GB."""
_SHARE = 64
"""Wings between two words of progress, and that one worker is given at once."""
_FAR = 6.0
"""A pair never within this factor of the least reserve is left out: scatter does not make it the first."""
WEAK = 0.7
"""Share of the mean wing's failing load up to which sheeting has bowed where weak wings fail: one in twenty
bears 0.4 to 0.69 of it (107 cases of nine wings)."""
FORCES = {"forces", "axial_force", "moment"}
"""What blocks recover that grows with stiffness and size; stresses grow with stiffness alone."""


Shares = Mapping[tuple[str, int], float]
"""Of a mode and a part, by its number."""


@dataclass(frozen=True)
class Pair:
    """A part and a way for it to fail."""

    part: Part
    mode: str
    rule: Rule
    piece: int


@dataclass(frozen=True, eq=False)
class States:
    """Sets of wood and the reserves of every pair with strengths as in the tables.

    Parameters
    ----------
    pairs : tuple of Pair
        What may fail first.
    piece : (n_pairs,) int array
        Piece that the part is cut from.
    stiffness_z, size_z : (n_states, n_pieces) float array
        Standard normal variables.
    reserve : (n_states, n_pairs) float array
        At the case's load, true stiffness and size, nominal strength; infinite where nothing acts.
    stiffness : (n_states, n_pairs) float array
        Factor on the modulus of the pair's piece.
    slenderness : (n_pairs,) float array
        2 P_c/(3 P_E) of a column, 0 where Euler's load is out of reach; nan of other modes.
    load_factor : float
        Of the case.
    nominal : float
        Load factor at first failure with everything as in the tables.
    """

    pairs: tuple[Pair, ...]
    piece: Ints
    stiffness_z: Array
    size_z: Array
    reserve: Array
    stiffness: Array
    slenderness: Array
    load_factor: float
    nominal: float


def lognormal(z: Array, variation: Array | float) -> Array:
    """Factors of mean 1 from standard normal variables.

    Parameters
    ----------
    z : (...) float array
        Standard normal.
    variation : float array
        Coefficient of variation, not negative.

    Returns
    -------
    (...) float array
        exp(sigma z - sigma^2/2), sigma^2 = ln(1 + variation^2).
    """
    variance = np.log1p(np.square(variation))
    return np.asarray(np.exp(np.sqrt(variance) * z - variance / 2))


class Solver:
    """Solves and judges sets of wood of one wing, some and then others.

    Parameters
    ----------
    analysis : Analysis
        The nominal wing.
    progress : callable or None
        Told before every step.
    beside : Analysis or None
        Of the same model under a second load (`bent_pull_up`), if it must bear that as well: of every part
        and mode the harder counts.
    run : Run or None
        Who solves them (`models.workers`); None: this process.
    per_bay : int
        Elements along a bay of the analysis, for those who build it anew.
    bows : bool, default False
        Sheeting bows, and leaves each part what it leaves in mean wood at the load at which weak wings fail.
    """

    def __init__(
        self,
        analysis: Analysis,
        progress: Callable[[str], None] | None = None,
        beside: Analysis | None = None,
        run: Run | None = None,
        per_bay: int = 4,
        *,
        bows: bool = False,
    ) -> None:
        self.analysis, self.progress, self.run = analysis, progress, run
        self.pieces = pieces_of(analysis.model)
        self.judge = Judge(analysis, self.pieces, beside, bows=bows)
        told = analysis.wing, per_bay, beside is not None, bows
        self._told = pickle.dumps(told) if run is not None else b""
        self._done = 0

    def factors(self, stiffness_z: Array, size_z: Array) -> tuple[Array, Array]:
        """Factors on stiffness and size of the pieces, (n, n_pieces) each, from standard normal variables."""
        pieces = self.pieces.pieces
        stiff = lognormal(stiffness_z, np.array([p.stiffness for p in pieces]))
        return stiff, lognormal(size_z, np.array([p.size for p in pieces]))

    def table(self, stiff: Array, size: Array) -> Array:
        """Least reserve of every mode and part, nominal strengths and sizes, (n, n_modes, n_parts)."""
        judge, run, table = self.judge, self.run, []
        shares = [slice(first, first + _SHARE) for first in range(0, len(stiff), _SHARE)]
        found = None if run is None else iter(
            run(judged, [self._told] * len(shares), [stiff[at] for at in shares], [size[at] for at in shares])
        )  # fmt: skip
        for share in shares:
            n = len(stiff[share])
            if self.progress is not None:
                name = self.analysis.wing.name
                self.progress(f"{name}: sets of wood {self._done + 1} to {self._done + n}")
            self._done += n
            if found is None:
                table += judge.in_turn(stiff[share], size[share])
            else:
                table.append(judge.taken(*next(found)))
        return np.concatenate([_wider(t, len(judge.modes)) for t in table])

    def states(self, stiffness_z: Array, size_z: Array) -> States:
        """Sets of wood with what may fail first in them, from variables (n_states, n_pieces)."""
        analysis, judge = self.analysis, self.judge
        stiff, size = self.factors(stiffness_z, size_z)
        reserve = self.table(stiff, size)
        ones = np.ones((1, stiff.shape[1]))
        whole = judge.by_load(ones, ones)[:, 0]
        near = (reserve.min(axis=0) < _FAR * reserve.min(axis=(1, 2)).max()) & np.isfinite(reserve).any(
            axis=0
        )
        mode, part = np.nonzero(near)
        names = list(judge.modes)
        pairs = tuple(
            Pair(analysis.model.parts[p], names[m], named(names[m]).scatter, int(self.pieces.of_part[p]))
            for m, p in zip(mode.tolist(), part.tolist())
        )
        piece = np.array([pair.piece for pair in pairs], dtype=np.intp)
        slender = judge.slenderness(names, _wider(whole, len(names))[0])[mode, part]
        return States(
            pairs,
            piece,
            stiffness_z,
            size_z,
            _by_rule(pairs, piece, reserve[:, mode, part], stiff, size),
            stiff[:, piece],
            np.where([pair.rule.column for pair in pairs], slender, np.nan),
            analysis.load_factor,
            judge.mean(whole) * analysis.load_factor,
        )

    def more(self, known: States, stiffness_z: Array, size_z: Array) -> States:
        """Known sets, the first of some, and the others, by the variables of all, (n_states, n_pieces)."""
        n = len(known.reserve)
        if n == len(stiffness_z):
            return known
        stiff, _ = self.factors(stiffness_z, size_z)
        others = self.reserves_of(known, stiffness_z[n:], size_z[n:])
        return replace(
            known,
            stiffness_z=stiffness_z,
            size_z=size_z,
            reserve=np.concatenate([known.reserve, others]),
            stiffness=stiff[:, known.piece],
        )

    def reserves_of(self, known: States, stiffness_z: Array, size_z: Array) -> Array:
        """Reserves of the pairs of known sets in other ones, (n, n_pairs)."""
        stiff, size = self.factors(stiffness_z, size_z)
        table = self.table(stiff, size)
        number = {part: k for k, part in enumerate(self.analysis.model.parts)}
        mode = [self.judge.modes[pair.mode] for pair in known.pairs]
        part = [number[pair.part] for pair in known.pairs]
        return _by_rule(known.pairs, known.piece, table[:, mode, part], stiff, size)


def _by_rule(pairs: tuple[Pair, ...], piece: Ints, reserve: Array, stiff: Array, size: Array) -> Array:
    """Reserves at true stiffness and size, (n, n_pairs), from those with nominal sizes and strengths."""
    powers = np.array([pair.rule.size for pair in pairs])
    rigid = np.array([pair.rule.stiffness for pair in pairs])
    return np.asarray(reserve * size[:, piece] ** powers * stiff[:, piece] ** rigid)


def _wider(table: Array, n_modes: int) -> Array:
    """The same table with as many modes as were met in all."""
    more = n_modes - table.shape[1]
    return np.pad(table, ((0, 0), (0, more), (0, 0)), constant_values=np.inf) if more else table


def judged(told: bytes, stiff: Array, size: Array) -> tuple[list[str], Array]:
    """Least reserves, for whoever has the wing as bytes alone: names of the modes in the order in which they
    were met, and the table (n_wings, n_modes, n_parts)."""
    judge = _judge_of(told)
    judge.modes.clear()
    table = judge.in_turn(stiff, size)
    return list(judge.modes), np.concatenate([_wider(one, len(judge.modes)) for one in table])


@lru_cache(maxsize=1)
def _judge_of(told: bytes) -> Judge:
    """One wing serves many shares."""
    wing, per_bay, bends, bows = pickle.loads(told)
    analysis = analyse(wing, per_bay=per_bay)
    beside = bent_pull_up(analysis, pinned(analysis.solution.assembly)) if bends else None
    return Judge(analysis, pieces_of(analysis.model), beside, bows=bows)


class Judge:
    """Solves sets of wood and asks every failure mode.

    Parameters
    ----------
    analysis : Analysis
        The nominal wing.
    pieces : Pieces
        Of its model.
    beside : Analysis or None
        Of the same model under a second load, its first column, that the wing must bear as well.
    bows : bool, default False
        Sheeting bows, and leaves each part what it leaves in mean wood at the load at which weak wings fail.
    """

    def __init__(
        self, analysis: Analysis, pieces: Pieces, beside: Analysis | None = None, *, bows: bool = False
    ) -> None:
        self.analysis, self.pieces = analysis, pieces
        more = () if beside is None else (beside.solution,)
        self.n_loads = 1 + len(more)
        self.variants = Variants(analysis.solution, pieces.groups, len(pieces.pieces), analysis.case, more)
        elements = sum(len(block.nodes) for block in analysis.model.structure.blocks.values())
        self.at_once = max(4, min(SIDE_BY_SIDE, _ELEMENTS // elements) // self.n_loads)
        self.modes: dict[str, int] = {}
        every = (analysis,) if beside is None else (analysis, beside)
        self._held = _least_held(every)
        bowing = [_bowing(one) for one in every] if bows else []
        self._left = [shares for shares, _ in bowing]
        self._fails = [fails for _, fails in bowing if fails is not None]
        self._side_by_side: dict[int, Model] = {}
        self._builds: dict[int, Build] = {}
        assembly, moves = self.variants.assembly, analysis.solution.displacements[:, :, 0]
        self._figures = {name: tuple(found) for name, found in assembly.recover(moves).items()}
        self._recovery: dict[tuple[str, str], Array] = {}

    def recovered(self, stiff: Array, size: Array, moves: Array) -> Recovered:
        """Stresses and section forces of several wings, (n_wings, n_elements, ...).

        Parameters
        ----------
        stiff, size : (n_wings, n_pieces) float array
            Factors.
        moves : (n_nodes, 6, n_wings) float array
            From the variants.
        """
        blocks, n = self.variants.assembly.structure.blocks, moves.shape[2]
        wider = np.ones((n, 1))
        of_force = np.concatenate([stiff * size, wider], axis=1)
        of_stress = np.concatenate([stiff, wider], axis=1)

        def work(name: str) -> dict[str, Array]:
            nodes, group = blocks[name].nodes, self.pieces.groups.get(name)
            own_moves = moves[nodes].reshape(len(nodes), -1, n)
            out = {}
            for what in self._figures[name]:
                unit = self._unit(name, what)
                value = (unit.reshape(len(unit), -1, unit.shape[-1]) @ own_moves).transpose(2, 0, 1)
                figures = np.empty(value.shape)
                if group is None:
                    figures[:] = value
                else:
                    factor = of_force if what in FORCES else of_stress
                    np.multiply(value, factor[:, group, None], out=figures)
                out[what] = figures.reshape(n, *unit.shape[:-1])
            return out

        return Recovered(self._figures, work)

    def _unit(self, name: str, what: str) -> Array:
        key = name, what
        if key not in self._recovery:
            self._recovery[key] = node_recovery(self.variants.assembly, name, what)
        return self._recovery[key]

    def taken(self, names: list[str], table: Array) -> Array:
        """What another judge found, by the modes' numbers here."""
        for name in names:
            self.modes.setdefault(name, len(self.modes))
        out = np.full((len(table), len(self.modes), table.shape[2]), np.inf)
        out[:, [self.modes[name] for name in names]] = table
        return out

    def in_turn(self, stiff: Array, size: Array) -> list[Array]:
        """`reserves` of as many wings as one likes, some at a time."""
        step = self.at_once
        return [self.reserves(stiff[k : k + step], size[k : k + step]) for k in range(0, len(stiff), step)]

    def reserves(self, stiff: Array, size: Array) -> Array:
        """Least reserve of every mode and part under all loads, nominal strengths and sizes, (n_wings,
        n_modes, n_parts).

        Parameters
        ----------
        stiff, size : (n_wings, n_pieces) float array
            Factors on modulus and size.
        """
        table = self.by_load(stiff, size)
        for k, of_load in enumerate(self._left):
            for (mode, number), share in of_load.items():
                if mode in self.modes:
                    table[k, :, self.modes[mode], number] *= share
        return np.asarray(table.min(axis=0))

    def mean(self, whole: Array) -> float:
        """Least reserve of the mean wing, by its reserves with all sheeting whole."""
        return min([*self._fails, *self._held.values()]) if self._fails else float(whole.min())

    def by_load(self, stiff: Array, size: Array) -> Array:
        """The same under each load with all sheeting whole, (n_loads, n_wings, n_modes, n_parts)."""
        moves = self.variants.solve(stiff * size)
        n = moves.shape[2]
        of_each = np.tile(stiff, (self.n_loads, 1)), np.tile(size, (self.n_loads, 1))
        recovered = changed(
            self.recovered(*of_each, moves),
            lambda _, figures: {what: v.reshape(n * v.shape[1], *v.shape[2:]) for what, v in figures.items()},
        )
        if n not in self._side_by_side:
            self._side_by_side[n], self._builds[n] = side_by_side(self.analysis.model, n), Build()
        many = replace(self.analysis, model=self._side_by_side[n], recovered=recovered)
        table = self.table(many, every_finding(many, counted_only=True, build=self._builds[n]), n)
        return table.reshape(self.n_loads, len(stiff), *table.shape[1:])

    def table(self, many: Analysis, findings: list[Finding], n: int) -> Array:
        """Least reserve of every mode and part of several wings, (n, n_modes, n_parts)."""
        counted = [one for one in findings if not one.reason]
        for name in (*(one.mode for one in counted), *(mode for mode, _ in self._held)):
            self.modes.setdefault(name, len(self.modes))
        n_parts, n_modes = len(self.analysis.model.parts), len(self.modes)
        out = np.full((n, n_modes, n_parts), np.inf)
        for one in counted:
            of_block = many.model.structure.blocks[one.block].part
            assert of_block is not None
            wing, part = np.divmod(of_block[one.element], n_parts)
            place = (wing * n_modes + self.modes[one.mode]) * n_parts + part
            np.minimum.at(out.reshape(-1), place, one.reserve)
        for (mode, number), reserve in self._held.items():
            out[:, self.modes[mode], number] = reserve
        return out

    def slenderness(self, names: list[str], nominal: Array) -> Array:
        """2 P_c/(3 P_E) of columns, (n_modes, n_parts), from their reserve beside that of the same cap with a
        modulus without end.

        Parameters
        ----------
        names : list of str
            Modes in their order.
        nominal : (n_modes, n_parts) float array
            Reserves of the nominal wing.
        """
        model = self.analysis.model
        rigid = replace(model, caps=replace(model.caps, layer_modulus=1e6 * model.caps.layer_modulus))
        stubborn = replace(self.analysis, model=rigid)
        with np.errstate(over="ignore"):  # no structure has such a modulus; only the columns are looked at
            crushed = _wider(self.table(stubborn, every_finding(stubborn), 1), len(names))[0]
        with np.errstate(invalid="ignore"):
            share = np.where(np.isfinite(crushed), nominal / crushed, 1.0)
        return slenderness_of(np.clip(np.nan_to_num(share, nan=1.0), 1e-9, 1.0))


def _bowing(analysis: Analysis) -> tuple[Shares, float | None]:
    """Share of its reserve that sheeting which bows leaves each mode and part in mean wood, as far as it has
    bowed where weak wings fail, and the least reserve where the mean one does; None without sheeting."""
    if "sheeting" not in analysis.model.structure.blocks:
        return {}, None
    whole, build = check(analysis), Build()
    settled = margins_bowed(analysis.model, analysis.solution, [analysis], [whole], build)[0]
    fails = settled.rows[0].reserve_factor if settled.rows else np.inf
    bowing = Bowing(whole.rows, settled.rows, bows_from(whole), fails)
    number = {part: k for k, part in enumerate(analysis.model.parts)}
    left = shares_left(whole.rows, bowing.at(max(1.0, WEAK * fails)))
    return {(mode, number[part]): share for (mode, part), share in left.items()}, fails


def _least_held(analyses: Sequence[Analysis]) -> dict[tuple[str, int], float]:
    """Least reserve of joiners, fastenings and braces over cut caps under some loads, by mode and part.

    They carry what crosses the joint, which follows the load and not the wood: that of the nominal wing.
    """
    out: dict[tuple[str, int], float] = {}
    for at in analyses:
        held = least(at.model, joints(at))
        for k, (number, reserve) in enumerate(zip(held.number.tolist(), held.reserve.tolist())):
            key = held.margin(k).mode, number
            out[key] = min(reserve, out.get(key, np.inf))
    return out


def slenderness_of(share: Array) -> Array:
    """2 P_c/(3 P_E) of columns from their force over that which crushes them, (...), above 0 and up to 1: the
    fourth-power and Euler rule of `models.strength.cap_column` the other way round."""
    return np.asarray(np.where(share >= 2 / 3, np.sqrt(3 * (1 - share)), 2 / (3 * share)))
