"""What follows the first failure: break what broke, solve again, until the wing can carry no more.

Sequentially linear: at each step the damaged wing is loaded in proportion from nothing, the part with the
least reserve fails, and its stiffness and strength fall to what its mode says remains. The load factors
of the steps are what the wing holds in each state of damage; the highest of them is the collapse load, and
where every later one lies below the first, the load that broke the first part goes on to break the rest.
Method: Rots, Sequentially linear continuum model for concrete fracture, 2001 (from memory). Damage is counted
by the bay: a part that breaks in one place is taken to be lost over its whole bay, the cautious side.
Inertia of the breaking (a part lets go in no time) is left out, which is not.

Sheeting that bows is no failure: from its buckling load on it keeps the effective width of von Karman,
b sqrt(s_cr/s), so that the caps take over its share of the bending.

A sound wing's caps and webs fail first. Once they have, edges and the edges of spanwise-grained webs inherit
their load, and are checked besides, on the stress along their grain (`models.strength.along_grain`).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from fea.arrays import Array
from fea.assembly import Assembly
from fea.buckling import held_at
from fea.solve import Mechanism, factorise
from models import units_out as say
from models.analysis import Analysis, spar_motion, wing_twist
from models.recovered import changed, recovered
from models.rounding import down
from models.session import Frame
from models.strength import Margin, check
from models.strength.counted import JOINER, JOINT, counted
from models.strength.margin import happens as happens_to
from models.strength.margin import ranked_rows
from models.strength.mode import LOST, Remains
from models.strength.modes import named
from models.strength.sheet_stress import FOLDS
from models.strength.solved import Solved
from models.strength.web_buckling import FIELD
from models.structure import Model, build
from models.structure.model import Part
from models.studies.bowed import SETTLED, Sheeting, at_its_edges, sheet_buckling
from models.studies.layouts import webbed
from models.wing.parts import Wing

GONE = 1e-4
"""Share of its stiffness that a lost part keeps in the equations, so that they can be solved."""
FOLDED = 0.04
"""Share of the sound wing's stiffness below which the wing counts as folded (a judgement, no source)."""
BENT = 0.5
"""Tip deflection over the semispan beyond which the wing counts as folded, and small deflections as no answer
(a judgement, no source)."""
RISE = 1.01
"""A later state must hold so many times the first failure's load to count as more than it."""
MOST_STEPS = 40
_LET_GO = 0.25
"""A state that holds less than this share of the highest load factor is the end of the story (judgement)."""
_TIE = 1e-6
_MOST_TRIES = 30
_FIRST = 0.8
"""Share of the first gap that is closed at once: what bows takes about a quarter of what the load gains (seen
on wings with sheeting; it says how soon a load is met, not which)."""


@dataclass(frozen=True)
class FailureStep:
    """One failure of the sequence.

    Parameters
    ----------
    load_factor : float
        n (or multiple of the specimen's load) that the wing holds up to this failure.
    part : Part
        What fails.
    mode : str
        How.
    words : str
        What the part does, as the check says it.
    second : bool
        It had failed before and carried a rest, which goes now.
    keeps : Remains
        What it still carries.
    tip_deflection, tip_twist : float
        Of the wing damaged so far, at this load factor just before the failure, m and rad.
    stiffness_left : float
        Share of the sound wing's stiffness before this failure (work of the loads).
    y : float
        Where along the span, m.
    """

    load_factor: float
    part: Part
    mode: str
    words: str
    second: bool
    keeps: Remains
    tip_deflection: float
    tip_twist: float
    stiffness_left: float
    y: float


@dataclass(frozen=True, eq=False)
class Collapse:
    """The story of a wing loaded until it can carry no more.

    Parameters
    ----------
    analysis : Analysis
        The sound wing.
    steps : tuple of FailureStep
        In the order of failure.
    sheeting : tuple of (Part, float)
        Sheeting that bows, and from which load factor on, the lowest first.
    end : str
        Why the story ends, in words.
    folds : bool
        It ends with a mechanism, or a wing so soft that it folds.
    one_side : bool
        Only one side breaks; False: both at once.
    whole : float
        Load factor at first failure with all sheeting whole, as the check takes it.
    joint : Margin or None
        The joint or fastening that the verdict counts and that gives way before all of it; the story takes
        joints as holding.
    """

    analysis: Analysis
    steps: tuple[FailureStep, ...]
    sheeting: tuple[tuple[Part, float], ...]
    end: str
    folds: bool
    one_side: bool
    whole: float
    joint: Margin | None = None

    @property
    def first(self) -> float:
        """Load factor at first failure; infinite where nothing fails."""
        return self.steps[0].load_factor if self.steps else float("inf")

    @property
    def joint_at(self) -> float:
        """Load factor at which `joint` gives way; infinite where none does before the first failure."""
        return (
            self.joint.reserve_factor * self.analysis.load_factor if self.joint is not None else float("inf")
        )

    @property
    def residual(self) -> float:
        """Load factor that the wing holds after its first failure, before the next part goes."""
        return self.steps[1].load_factor if len(self.steps) > 1 else 0.0

    @property
    def collapse(self) -> float:
        """Highest load factor of all."""
        return max((s.load_factor for s in self.steps), default=float("inf"))

    @property
    def ends_flight(self) -> bool:
        """Under the load of the first failure the rest follows at once: no later state holds that load."""
        return all(s.load_factor < RISE * self.first for s in self.steps[1:])


def collapse(
    wing: Wing,
    *,
    per_bay: int = 4,
    one_side: bool = False,
    whole_sheeting: bool = False,
    progress: Callable[[str], None] | None = None,
) -> Collapse:
    """Load a wing until it can carry no more.

    Parameters
    ----------
    wing : Wing
        The wing in the file.
    per_bay : int, default 4
        Elements along a bay.
    one_side : bool, default False
        Model both sides and let only the weaker break; the lift stays as it was.
    whole_sheeting : bool, default False
        Leave out that sheeting bows.
    progress : callable or None
        Told each failure in a few words.

    Raises
    ------
    fea.solve.Mechanism
        The sound wing can already move freely.
    """
    state = DamagedWing(wing, whole_sheeting=whole_sheeting, per_bay=per_bay, whole=one_side or None)
    sound = state.analysis
    steps: list[FailureStep] = []
    end, folds = "", False
    for _ in range(MOST_STEPS):
        try:
            found = state.next_failure(steps[-1].load_factor if steps else None)
        except Mechanism as fault:
            end, folds = f"nothing holds {_part_of(fault)} any more: it folds", True
            break
        if found is None:
            end = "nothing is left that could fail"
            break
        step = found
        if step.stiffness_left < FOLDED:
            end, folds = f"{100 * step.stiffness_left:.1f} % of its stiffness is left: it folds", True
            break
        if steps and abs(step.tip_deflection) > BENT * wing.semispan:
            end, folds = f"the tip is {say.length(abs(step.tip_deflection)):.0f} up: it folds", True
            break
        if steps and step.load_factor < _LET_GO * max(s.load_factor for s in steps):
            steps.append(step)
            unit = "times its load" if wing.clamped else "g"
            end = f"no more than {down(step.load_factor)} {unit} is held: the rest follows"
            break
        steps.append(step)
        if progress is not None:
            progress(f"{step.part.name}: {step.mode}")
        state.damage(step)
    else:
        end = f"the story is cut off after {MOST_STEPS} failures"
    bowed = state.bowed(max((s.load_factor for s in steps), default=0.0))
    joints = counted(wing, [row for row in state.margins.secondary if row.mode in (*JOINT, *JOINER)])
    story = Collapse(
        sound, tuple(steps), bowed, end, folds, one_side, state.whole, joints[0] if joints else None
    )
    return story if story.joint_at < story.first else replace(story, joint=None)


def _part_of(fault: Mechanism) -> str:
    return fault.parts[0] if fault.parts else "a part"


@dataclass(frozen=True, eq=False)
class _Damaged:
    """A state of damage: loads and movements with all sheeting whole, share of its stiffness that every
    element has left, and the sheeting that may bow in it."""

    force: Array
    moves: Array
    share: dict[str, Array]
    sheeting: Sheeting | None


class DamagedWing:
    """A wing with its damage: webs that are gone leave the wing, other parts lose stiffness and strength.

    Parameters
    ----------
    wing : Wing
        Sound.
    whole_sheeting : bool, default False
        Leave out that sheeting bows.
    frame : Frame or None
        Of the same wing on the same mesh, where it is there already; its case may be another.
    **mesh
        As for `models.structure.build`.

    Attributes
    ----------
    analysis : Analysis
        Of the sound wing with all sheeting whole.
    bows : bool
        It has sheeting, which may bow.
    critical : dict of Part to float
        Load factor from which on each panel of sheeting bows, by the sound wing's stress.
    margins : Margins
        Of that analysis.
    whole : float
        Load factor at first failure with all sheeting whole, as the check takes it.
    """

    def __init__(
        self, wing: Wing, *, whole_sheeting: bool = False, frame: Frame | None = None, **mesh: Any
    ) -> None:
        self.wing, self.mesh = wing, mesh
        self.left: dict[Part, tuple[float, float]] = {}
        self.gone: set[Part] = set()
        self.dropped: set[tuple[Part, str]] = set()
        if frame is None:
            model, assembly = self._built()
            frame = Frame(model, assembly)
        self._frame = frame
        as_flown = frame.model.wing is wing
        self.analysis = sound = frame.sound if as_flown else frame.flown(wing)
        self.model: Model = sound.model
        self.assembly = sound.solution.assembly
        self.loads = self.analysis.solution.loads
        self.ply = {p for p, ply in self._webs(self.model) if ply}
        self.margins = frame.margins if as_flown else check(sound, build=frame.build)
        self.bows = "sheeting" in self.model.structure.blocks and not whole_sheeting
        bows = sheet_buckling(self.margins) if self.bows else {}
        self.critical = {part: reserve * self.analysis.load_factor for part, reserve in bows.items()}
        self.whole = self.margins.load_factor_at_first_failure()
        self._state: _Damaged | None = None
        self.work: float | None = None

    def _built(self) -> tuple[Model, Assembly]:
        model = build(self.wing, **self.mesh)
        assembly = Assembly(model.structure)
        assembly.unit_stiffness()
        return model, assembly

    def _webs(self, model: Model) -> list[tuple[Part, bool]]:
        block = model.structure.blocks.get("webs")
        if block is None or block.part is None:
            return []
        webs = model.webs
        return [(model.parts[p], webs.materials[m].kind == "ply") for p, m in zip(block.part, webs.material)]

    def bowed(self, most: float) -> tuple[tuple[Part, float], ...]:
        """Sheeting that bows below a load factor, the lowest first."""
        rows = [(p, n) for p, n in self.critical.items() if n < most]
        return tuple(sorted(rows, key=lambda row: row[1]))

    def damage(self, step: FailureStep) -> None:
        """Take from a part what the failure takes."""
        self._state = None
        part, keeps = step.part, step.keeps
        if keeps.strength > 0:
            self.left[part] = (keeps.stiffness, keeps.strength)
            if keeps is FIELD:
                self.dropped.add((part, step.mode))
            return
        self.gone.add(part)
        if part.kind == "web":
            self.wing = _without(self.wing, part)
            self.model, self.assembly = self._built()

    def settle(
        self, rule: Callable[[list[Margin]], float], guess: float | None = None
    ) -> tuple[float, list[Margin], Analysis, float]:
        """The load factor at which something happens, with sheeting bowed as far as it is at that load.

        Parameters
        ----------
        rule : callable
            Least reserves, each the factor on the case's load, to the factor at which it happens.
        guess : float or None
            Load factor to start from.

        Returns
        -------
        load_factor : float
            Settled to a fifth of a per cent; infinite where nothing is loaded.
        rows : list of Margin
            Reserves of what is left, the least first.
        analysis : Analysis
            Of the damaged wing under the loads of the case.
        work : float
            Of the loads, J.
        """
        n = self.analysis.load_factor if guess is None else guess
        before: tuple[float, float] | None = None
        for _ in range(_MOST_TRIES):
            at, work = self._solve(n)
            rows = self._margins(at)
            if not rows:
                return float("inf"), rows, at, work
            found = rule(rows) * at.load_factor
            if not self.bows or abs(found / n - 1) < SETTLED:
                n = found
                break
            # Sheeting that bows more sheds more: the secant through the last two gaps; of one, most of it.
            gap, last = found - n, n
            n = last + _FIRST * gap
            if before is not None and abs(gap - before[1]) > 1e-12 * abs(gap):
                n = last - gap * (last - before[0]) / (gap - before[1])
            before = last, gap
            # Upside down the load factor is below nought.
            n = float(np.copysign(np.clip(abs(n), abs(found) / 2, 2 * abs(found)), found))
        return n, rows, at, work

    def next_failure(self, guess: float | None = None) -> FailureStep | None:
        """The part that fails next in the damaged wing; None if none can."""
        n, rows, at, work = self.settle(lambda rows: rows[0].reserve_factor, guess)
        if not rows:
            return None
        self.work = work if self.work is None else self.work
        worst = rows[0]
        motion = max((spar_motion(at, s).deflection[-1] for s in range(len(self.wing.spars))), key=abs)
        twist = float(wing_twist(at)[1][-1])
        grown = n / at.load_factor
        second = worst.part in self.left and (worst.part, worst.mode) not in self.dropped
        keeps = named(worst.mode).remains
        keeps = (keeps.ply if worst.part in self.ply else None) or keeps
        return FailureStep(
            n,
            worst.part,
            worst.mode,
            happens_to(rows),
            second,
            LOST if second else keeps,
            float(motion) * grown,
            twist * grown,
            self.work / work,
            worst.y,
        )

    def _margins(self, analysis: Analysis) -> list[Margin]:
        """Reserves of what is left, the least first; of parts with a rest, those of the rest."""
        out = []
        # What parts inherit counts once others have failed.
        damaged = bool(self.gone or self.left)
        for row in ranked_rows(at_its_edges(analysis), damaged=damaged, build=self._frame.build):
            if row.part in self.gone or (row.part, row.mode) in self.dropped:
                continue
            _, strength = self.left.get(row.part, (1.0, 1.0))
            out.append(row if strength == 1 else replace(row, reserve_factor=row.reserve_factor * strength))
        bound = min((r.reserve_factor for r in out), default=0.0) * (1 + _TIE)
        tied = [r for r in out if r.reserve_factor <= bound]
        # Of two sides alike, rounding would choose.
        tied.sort(key=lambda r: r.side == "port")
        rest = (r for r in out if r.reserve_factor > bound)
        return [*tied, *sorted(rest, key=lambda r: r.reserve_factor)]

    def _solve(self, n: float) -> tuple[Analysis, float]:
        """The damaged wing under the loads of the case, its sheeting bowed as at a load factor; work of the
        loads."""
        if self._state is None:
            self._state = self._damaged()
        state = self._state
        force, moves, share, folds = state.force, state.moves, state.share, None
        if state.sheeting is not None:
            settled = state.sheeting.settle(np.array([n / self.analysis.load_factor]))
            moves = moves.copy()
            moves[:, :, self.analysis.case] = settled.moves[:, :, 0]
            share = {**share, "sheeting": share["sheeting"] * settled.left[state.sheeting.panel, 0]}
            folds = state.sheeting.folds(settled)[state.sheeting.panel, 0]
        work = float(np.einsum("ij,ij->j", force, self.assembly.vector(moves))[self.analysis.case])
        solution = replace(self.analysis.solution, assembly=self.assembly, displacements=moves)

        def kept(name: str, figures: dict[str, Array]) -> dict[str, Array]:
            left = share[name]
            if (left != 1).any():
                figures = {what: v * left.reshape(-1, *([1] * (v.ndim - 1))) for what, v in figures.items()}
            return {**figures, FOLDS: folds} if name == "sheeting" and folds is not None else figures

        found = changed(recovered(self.assembly, moves[:, :, self.analysis.case]), kept)
        return replace(self.analysis, model=self.model, solution=solution, recovered=found), work

    def _damaged(self) -> _Damaged:
        """The damaged wing with all sheeting whole, factorised and solved."""
        share = {name: np.ones(len(b.nodes)) for name, b in self.model.structure.blocks.items()}
        for name, block in self.model.structure.blocks.items():
            if block.part is None or name == "masses":
                continue
            of_part = np.ones(len(self.model.parts))
            for k, part in enumerate(self.model.parts):
                if part in self.gone:
                    of_part[k] = GONE
                elif part in self.left:
                    of_part[k] = self.left[part][0]
            share[name] = of_part[block.part]
        scales = {
            name: block.scale * share[name]
            for name, block in self.model.structure.blocks.items()
            if (share[name] != 1).any()
        }
        model = self.model
        if self.gone or self.left:
            supports = model.structure.supports
            if model.wing.flies:
                supports = held_at(self.assembly, model.centre_caps)
            factor = factorise(self.assembly, supports, self.assembly.stiffness(scales))
        else:
            factor = self._frame.held
        force = self.assembly.vector(self._carried())
        moves = self.assembly.nodal(factor.turn @ factor.solve(factor.turn.T @ force))
        if not self.bows:
            return _Damaged(force, moves, share, None)
        at = Solved(replace(self.analysis, model=model), self._frame.build)
        column = moves[:, :, [self.analysis.case]]
        return _Damaged(force, moves, share, Sheeting(at, factor, column, share["sheeting"]))

    def _carried(self) -> Array:
        """The sound wing's loads on the damaged one's nodes, which are the same but for what is gone."""
        if len(self.model.structure.nodes) != self.loads.shape[0]:
            raise ValueError("a wing without a web has other nodes than with it")
        return self.loads


def _without(wing: Wing, part: Part) -> Wing:
    """The wing without one web; both sides' where the model is half a wing."""
    gone = (part.spar, part.bay, part.place)
    return webbed(
        wing,
        lambda spar: (
            w for w in spar.webs if (spar.name, w.bay, w.face) != gone or w.side not in (part.side or w.side,)
        ),
    )


def happens(step: FailureStep, *, side: bool = True) -> str:
    """What happens at a step, in words: "bay 4, front spar: upper cap is crushed"."""
    name = step.part.name if side else step.part.name_without_side
    return f"{name} {'gives up its rest' if step.second else step.words}"


def sentences(story: Collapse) -> list[str]:
    """The answer in words: first failure, what is left, collapse, and whether the first ends the flight."""
    if not story.steps:
        return ["Nothing is loaded, so nothing fails."]
    specimen = story.analysis.wing.clamped
    at = (lambda n: f"{down(n, 2)} times its load") if specimen else (lambda n: f"{down(n)} g")
    what = "specimen" if specimen else "wing"
    whom = "" if specimen or story.one_side else ", port and starboard at once"
    said = []
    first = story.steps[0]
    bows = bool(story.sheeting) and story.sheeting[0][1] < story.first
    if bows:
        part, n = story.sheeting[0]
        said.append(
            f"Sheeting bows from {at(n)} on ({part.name_without_side} first) and leaves more of the "
            "bending to the caps; that is no failure yet."
        )
    if story.joint is not None:
        what_goes = f"{story.joint.part.name} {happens_to([story.joint])}"
        said.append(
            f"Before all that is told here, at {at(story.joint_at)}, {what_goes}: the verdict counts that, "
            "the story takes joints as holding."
        )
    than = f" (with all sheeting whole at {at(story.whole)})" if bows else ""
    said.append(f"At {at(story.first)} {happens(first, side=story.one_side)}{whom}{than}.")
    if len(story.steps) > 1:
        then = happens(story.steps[1], side=story.one_side)
        said.append(
            f"So damaged the {what} holds {at(story.residual)}, "
            f"{100 * story.residual / story.first:.0f} % of that, before {then}."
        )
    flight = "test" if specimen else "flight"
    if story.ends_flight:
        said.append(
            f"The first failure ends the {flight}: under the load that broke it nothing that follows holds, "
            f"and {story.end}."
        )
    else:
        best = max(range(len(story.steps)), key=lambda k: story.steps[k].load_factor)
        there = happens(story.steps[best], side=story.one_side)
        said.append(
            f"The first failure does not end the {flight}: the load can rise to {at(story.collapse)}, where "
            f"{there}, failure {best + 1} in the row; then {story.end}."
        )
    return said
