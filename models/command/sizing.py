"""A starter that is fit by its own verdict: parts brought up to what they lack, by the law that each follows.

First sizes are solved on a coarse mesh. What falls short grows at once as far as it must: a cap's area with
its force, a web's thickness with its shear flow and with the cube root of what makes it bow, its glue with
its faces and the lap on the caps, a brace with its bending moment. What the coarse mesh passes is judged by
the whole verdict, and grows on by that. What is then stronger than need be is made lighter by the same laws.
Where nothing on sale that fits is enough, the answers are refused with what fails and what to change.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from models import units_out as say
from models.command.first_sizes import (
    THICKEST_BRACE,
    Room,
    cap_area,
    first_sizes,
    lightest_web,
    room_for,
    scarfed,
    sensible,
    strengths,
    webs,
    with_rails,
)
from models.command.starter import Answers, NoStarter, Sizes, StarterWebs, bays, text, zones
from models.strength import Margin, brace_joint
from models.verdict import Verdict, down, name, trial, verdict
from models.wing.faults import WingFileError
from models.wing.reading import read_text
from models.woods.wood import material

MOST_ROUNDS = 16
"""Solutions at the most; few need more than six."""
_COARSE = 2
"""Elements along a bay until the coarse mesh passes."""
_SPARE = 1.02
"""What parts are brought up to, over what one wing of twenty needs."""
_MORE = 1.06
"""How much more each time that nothing alone falls short and all together do."""
_SLIMMINGS, _SLIM_ROUNDS = 2, 6
_STRONG_ENOUGH = 1.1
"""How often parts are made lighter, in how many solutions each time, and above which load, over that asked,
that one wing of twenty bears."""
_FAR = 0.3
"""Share of the load asked for below which what a wing bears says little of what it could (chosen, no
source)."""
_RIBS = (1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0)
_STRONG = (("light ply", 2.0), ("light ply", 3.0), ("birch ply", 3.0), ("birch ply", 4.0), ("birch ply", 6.0))
_PLIES = (2.0, 3.0, 4.0, 5.0)
_TIES = (3.0, 4.0, 5.0, 6.0)
_RAILS = (8, 10, 12, 15, 20)
_SHEETS = (1.0, 1.5, 2.0, 2.5, 3.0)
_EDGES = (4, 5, 6, 8, 10, 12, 15, 20)
"""Sizes on sale, mm: common practice, no source."""
_BOWS = ("web shear buckling", "web buckling, shear and crushing", "web buckling under crushing")
_GLUE = ("glue line", "glue at web end")


@dataclass(frozen=True)
class Fitted:
    """A starter.

    Parameters
    ----------
    text : str
        Of its file.
    after : Verdict
        On it.
    rounds : int
        How many times it was solved.
    """

    text: str
    after: Verdict
    rounds: int


def starter(a: Answers, folder: Path = Path()) -> str:
    """A wing file with first sizes, not judged.

    Parameters
    ----------
    a : Answers
        What the builder said.
    folder : Path
        Where the file will lie.

    Returns
    -------
    str

    Raises
    ------
    NoStarter
        A size is out of the range of models, or no stick fits.
    """
    sensible(a)
    bench = _Starters(room_for(a, folder), "", None)
    return bench.text(first_sizes(bench.room))


def fitted(
    a: Answers, folder: Path = Path(), source: str = "", step: Callable[[str], None] | None = None
) -> Fitted:
    """A wing file that is fit to fly by its own verdict.

    Parameters
    ----------
    a : Answers
        What the builder said.
    folder : Path
        Where the file will lie.
    source : str
        Its name, for what is said of it.
    step : callable or None
        Told in words what is tried.

    Returns
    -------
    Fitted

    Raises
    ------
    NoStarter
        The answers make no wing, or none that is fit with what is on sale.
    """
    sensible(a)
    bench = _Starters(room_for(a, folder), source, step)
    best = _brought_up(bench, first_sizes(bench.room), MOST_ROUNDS)
    rounds = best.rounds
    for _ in range(_SLIMMINGS):
        if best.found.pull_up.fifth < _STRONG_ENOUGH:
            break
        slimmer = _slimmer(bench.room, best.sizes, best.found.pull_up.rows, _SPARE * _needed(best.found))
        if slimmer == best.sizes:
            break
        try:
            tried = _brought_up(bench, slimmer, _SLIM_ROUNDS)
        except NoStarter:
            break
        rounds += tried.rounds
        if tried.found.mass >= best.found.mass - 1e-4:
            break
        best = tried
    return Fitted(bench.text(best.sizes), best.found, rounds)


@dataclass(frozen=True)
class _Fit:
    """Sizes, the verdict that they are fit, and how many times they were solved."""

    sizes: Sizes
    found: Verdict
    rounds: int


def _brought_up(bench: _Starters, sizes: Sizes, most: int) -> _Fit:
    """Sizes grown until they are fit, on the coarse mesh first."""
    more, coarse = _SPARE, True
    for rounds in range(1, most + 1):
        found = bench.solved(sizes, coarse=coarse)
        if coarse and found.fit:
            coarse = False
            found = bench.solved(sizes)
        if found.fit:
            return _Fit(sizes, found, rounds)
        rows, needed = found.pull_up.rows, _needed(found)
        if rows and rows[0].reserve_factor >= more * needed:
            more *= _MORE
        larger, stuck = grown(bench.room, sizes, rows, more * needed)
        if larger == sizes:
            break
        sizes = larger
    raise NoStarter(_refusal(bench.room.a, found, stuck))


@dataclass(frozen=True)
class _Starters:
    """Writes and judges starters."""

    room: Room
    source: str
    step: Callable[[str], None] | None

    def text(self, sizes: Sizes) -> str:
        a = self.room.a
        return text(a, sizes, self.room.rails_middle(sizes) if a.engine else 0.0)

    def solved(self, sizes: Sizes, *, coarse: bool = False) -> Verdict:
        """The verdict, or that of a trial."""
        from models.loads.pull_up import LightAeroplane

        if self.step is not None:
            self.step("parts are sized")
        a = self.room.a
        try:
            wing = read_text(self.text(sizes), source=self.source, folder=self.room.folder, name=a.name)
            return trial(wing, (), per_bay=_COARSE) if coarse else verdict(wing)
        except WingFileError as error:
            raise NoStarter(f"no wing of these answers has room for its parts: {error.faults[0]}") from None
        except LightAeroplane as error:
            raise NoStarter(f"the wing alone would weigh more than the aeroplane: {error}") from None


def _needed(found: Verdict) -> float:
    """Reserve factor in mean wood with which one wing of twenty would just bear its load."""
    return found.pull_up.mean / found.pull_up.fifth if found.pull_up.fifth else 1.6


def _slimmer(room: Room, sizes: Sizes, rows: Sequence[Margin], wanted: float) -> Sizes:
    """Sizes with caps and webs of no more than a reserve factor, by the laws by which they grow."""
    for k, spar in enumerate(sizes.spars):
        of_caps = [row for row in rows if row.part.spar == spar.name and row.part.kind == "cap"]
        if of_caps:
            depth = 1e3 * room.depth(spar.at / 100)
            need = wanted / of_caps[0].reserve_factor * _bears(depth, spar.width, spar.height, spar.carbon)
            for width, height, carbon, out in room.sticks(spar.at):
                if carbon > spar.carbon or width < spar.brace:
                    continue
                if _bears(depth, width, height, carbon) >= need and need > 0:
                    if cap_area(width, height, carbon) < cap_area(spar.width, spar.height, spar.carbon):
                        sizes = sizes.with_spar(k, width=width, height=height, carbon=carbon, tip_height=out)
                    break
        now, made = sizes.spars[k], list(spar.webs)
        lap = (now.height + now.carbon) / (spar.height + spar.carbon)
        mine = [row for row in rows if row.part.spar == spar.name and row.part.kind in ("web", "web strip")]
        for z, (begin, end) in enumerate(zones(room.a, sizes.webbed)):
            here = [row for row in mine if row.bay is not None and begin <= row.bay <= end]
            if not here:
                continue
            enough = _enough(spar.webs[z], here, wanted, lap)
            web, has = lightest_web(webs(room.a, now.width), enough, faces=1 if z else 2)
            if has >= 1:
                made[z] = web
        sizes = sizes.with_spar(k, webs=tuple(made))
    return sizes


def grown(room: Room, sizes: Sizes, rows: Sequence[Margin], wanted: float) -> tuple[Sizes, Margin | None]:
    """Sizes with all that falls short of a reserve factor brought up to it.

    Parameters
    ----------
    room : Room
        Of the outline.
    sizes : Sizes
        That were solved.
    rows : sequence of Margin
        All margins that count, the least first.
    wanted : float
        Reserve factor in mean wood.

    Returns
    -------
    tuple of Sizes and Margin or None
        The second is the worst that has nothing larger to take.
    """
    stuck: Margin | None = None
    short = [row for row in rows if row.reserve_factor < wanted]
    before = sizes
    for kind in dict.fromkeys((row.part.kind, row.part.spar) for row in short):
        mine = [row for row in short if (row.part.kind, row.part.spar) == kind]
        lack = wanted / max(mine[0].reserve_factor, 0.02)
        was = sizes
        k = next((k for k, spar in enumerate(sizes.spars) if spar.name == kind[1]), None)
        match kind[0]:
            case "cap" if k is not None:
                sizes = _caps(room, sizes, k, mine, lack)
            case "web" | "web strip" if k is not None:
                sizes = _webs(room, sizes, before, k, rows, wanted)
            case "brace" if k is not None:
                sizes = _brace(room, sizes, k, mine, wanted)
            case "rib" | "post" | "cap strip":
                sizes = _ribs(room.a, sizes, mine, lack)
            case "edge":
                sizes = _edges(sizes, mine, lack)
            case "rail":
                sizes = with_rails(room, sizes, _next(_RAILS, sizes.rail, lack ** (1 / 3)))
            case "sheeting":
                # It is stretched as far as the caps are: a thicker sheet bears no more of that.
                sizes = _caps(room, sizes, 0, mine, lack)
                if sizes == was:
                    sizes = replace(sizes, sheet=_next(_SHEETS, sizes.sheet, lack))
            case "rail tie":
                sizes = replace(sizes, tie=_next(_TIES, sizes.tie, lack))
        if sizes == was and stuck is None:
            stuck = mine[0]
    return sizes, stuck


def _next(sold: Sequence[float], now: float, lack: float) -> float:
    """The next size on sale that makes up for what is lacking, or the largest."""
    return next((size for size in sold if size > now and size >= now * lack - 1e-9), max(sold[-1], now))


def _caps(room: Room, sizes: Sizes, k: int, rows: Sequence[Margin], lack: float) -> Sizes:
    """Caps with so much more area times depth; webs farther out where it is in open bays that they bend."""
    spar, n = sizes.spars[k], bays(room.a)
    outer = max((row.bay for row in rows if row.bay is not None), default=0)
    if outer > sizes.webbed:
        sizes = replace(sizes, webbed=n if outer > sizes.webbed + 1 else outer)
        return sizes
    depth = 1e3 * room.depth(spar.at / 100)
    now = _bears(depth, spar.width, spar.height, spar.carbon)
    wanted = lack * now
    best, most = None, now * 1.02
    for width, height, carbon, out in room.sticks(spar.at):
        # What was once enough for a web's lap, or a strip, stays.
        if height < min(spar.height, out) or (width < spar.width and not carbon):
            continue
        has = _bears(depth, width, height, carbon)
        if has > most:
            best, most = (width, height, carbon, out), has
        if has >= wanted:
            break
    if best is None:
        return sizes
    width, height, carbon, out = best
    return sizes.with_spar(k, width=width, height=height, carbon=carbon, tip_height=out)


def _bears(depth: float, width: int, height: int, carbon: float) -> float:
    """Area of a cap times the depth between caps, mm3."""
    return cap_area(width, height, carbon) * (depth - height - carbon)


def _webs(room: Room, sizes: Sizes, before: Sizes, k: int, rows: Sequence[Margin], wanted: float) -> Sizes:
    """In every zone with a web that falls short the lightest that does not, by each law; where the glue alone
    is short and both faces are taken, taller caps."""
    spar, was = sizes.spars[k], before.spars[k]
    mine = [row for row in rows if row.part.spar == spar.name and row.part.kind in ("web", "web strip")]
    made, taller = list(spar.webs), False
    lap = (spar.height + spar.carbon) / (was.height + was.carbon)
    for z, (begin, end) in enumerate(zones(room.a, sizes.webbed)):
        here = [row for row in mine if row.bay is not None and begin <= row.bay <= end]
        if not here or here[0].reserve_factor >= wanted:
            continue
        enough = _enough(spar.webs[z], here, wanted, lap)
        now = strengths(spar.webs[z])
        web, has = lightest_web(webs(room.a, spar.width), enough)
        if has > enough(now) * 1.01:
            made[z] = web
        # Webs of the best have enough but for their glue: a taller cap has more of it.
        taller |= has < 1 and any(_law(row) == 1 and row.reserve_factor < wanted for row in here)
    sizes = sizes.with_spar(k, webs=tuple(made))
    if taller and spar == was:
        sizes = _caps_taller(room, sizes, k)
    return sizes


def _enough(
    web: StarterWebs, rows: Sequence[Margin], wanted: float, lap: float
) -> Callable[[tuple[float, float, float]], float]:
    """What `strengths` of another web are worth in the place of one whose margins are known, 1 where they
    have a reserve factor; `lap` is what the caps have grown."""
    now, need = strengths(web), [0.0, 0.0, 0.0]
    for row in rows:
        need[_law(row)] = max(need[_law(row)], wanted / max(row.reserve_factor, 0.02))
    need[1] /= lap
    return lambda bears: min(has / (least * one) for has, one, least in zip(bears, now, need) if least)


def _law(row: Margin) -> int:
    """Which of `strengths` a mode of a web follows."""
    return 1 if row.mode in _GLUE else 2 if row.mode in _BOWS else 0


def _caps_taller(room: Room, sizes: Sizes, k: int) -> Sizes:
    """The lightest taller caps, no narrower."""
    spar = sizes.spars[k]
    for width, height, carbon, out in room.sticks(spar.at):
        if height > spar.height and width >= spar.width and carbon >= spar.carbon:
            return sizes.with_spar(k, width=width, height=height, carbon=carbon, tip_height=out)
    return sizes


def _brace(room: Room, sizes: Sizes, k: int, rows: Sequence[Margin], wanted: float) -> Sizes:
    """A thicker or longer brace; scarfed caps without one where that is too thick."""
    spar = sizes.spars[k]
    thick, reach = spar.brace, spar.braced
    for row in rows:
        lack = wanted / max(row.reserve_factor, 0.02)
        if row.mode == brace_joint.MODE_GLUE.name:
            reach = max(reach, math.ceil(spar.braced * lack - 1e-9))
        else:
            thick = max(thick, spar.brace * lack)
    size = next((one for one in _PLIES if one >= thick - 1e-9), None)
    if size is None or size > min(THICKEST_BRACE, spar.width) or reach > bays(room.a) // 2:
        spar = scarfed(room.a, spar)
        return sizes.with_spar(k, brace=spar.brace, braced=spar.braced)
    return sizes.with_spar(k, brace=size, braced=reach)


def _ribs(a: Answers, sizes: Sizes, rows: Sequence[Margin], lack: float) -> Sizes:
    """Thicker ribs; of ply where only those near the centre fall short, or nothing thicker is on sale."""
    pitch = a.span / 2 / bays(a)
    last = 1 + round(max(abs(row.y) for row in rows) / pitch)
    if last > max(2, bays(a) // 4) and sizes.rib < _RIBS[-1]:
        return replace(sizes, rib=_next(_RIBS, sizes.rib, lack))
    now = (sizes.strong_wood, sizes.strong_rib)
    strength = material(sizes.strong_wood or "balsa medium").shear * (sizes.strong_rib or sizes.rib)
    for wood, thickness in _STRONG:
        has = material(wood).shear * thickness
        if (wood, thickness) != now and (has >= lack * strength or (wood, thickness) == _STRONG[-1]):
            return replace(sizes, strong=max(last, sizes.strong), strong_wood=wood, strong_rib=thickness)
    return replace(sizes, strong=max(last, sizes.strong))


def _edges(sizes: Sizes, rows: Sequence[Margin], lack: float) -> Sizes:
    """Higher edges: they bend up and down."""
    for row in rows:
        if row.part.place.startswith("lead"):
            sizes = replace(sizes, edge_height=_next(_EDGES, sizes.edge_height, math.sqrt(lack)))
        else:
            sizes = replace(sizes, tail_height=_next(_EDGES, sizes.tail_height, math.sqrt(lack)))
        break
    return sizes


def _refusal(a: Answers, found: Verdict, stuck: Margin | None) -> str:
    """What fails, at which load, and what would help."""
    worst = stuck if stuck is not None else found.pull_up.first
    what, help_ = "", "a thicker section, a larger chord, " + ("two spars, " if a.spars == 1 else "")
    if worst is not None:
        what = f" {name(worst)} gives way, and nothing stronger on sale fits there."
        if worst.part.kind in ("rail", "rail tie"):
            help_ = "a thicker section, a larger chord, a lighter engine, "
    bears = found.pull_up.fifth
    least = f"less mass ({say.whole_mass.down(bears * a.mass, 2)} {say.whole_mass.unit} in all) or a "
    least += f"lower load factor ({down(found.fifth)} g)"
    if bears < _FAR:
        least = "much less mass or a much lower load factor"
    fails = down(found.fifth, 1 if found.fifth >= 1 else 2)
    return (
        f"no such wing is fit to fly: with the strongest parts that fit, one in twenty fails at {fails} g, "
        f"and {a.load_factor:.3g} g are asked:{what} Take {help_}{least}."
    )
