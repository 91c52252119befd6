"""What each web is worth: in tip deflection, tip twist and load at first failure, for a gram of wood.

Two ways side by side. The slope says what a little more wood in the same place does; it comes from adjoint
solves, one for each figure, whatever the number of webs. The change says what the whole web does, put in or
taken out, from the wing solved and checked with and without it: by exchange of the segments that it touches
(`worth_whole`), or built again where there are few webs or the wing is no chain of segments. A web is no
small change, and the first failure may pass to another part, so that the two differ; where they do, the
change is the truth.

Both are of the wing as built in its pull-up, all sheeting whole. What decides about a flying wing is its
verdict, and so the webs that are named are judged by it, whole (`worth_held`).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from fea.beside import Beside, Known
from fea.solve import Mechanism
from models import units_out as say
from models.analysis import Analysis, analyse, solve
from models.loads.pull_up import LightAeroplane
from models.rounding import down
from models.session import Session
from models.strength.margin import ranked_rows
from models.structure import Model, build
from models.studies.tip import Tip, read_tip, tip_of
from models.studies.worth_designs import Site, Size, other_woods, own_web, sites, sizes, toggled
from models.studies.worth_figures import Change, Figures
from models.studies.worth_held import MOST_STEPS, Held, Toggle, gain, missed
from models.studies.worth_outputs import Place, critical, places
from models.studies.worth_scatter import JudgedHalves, deciding, fifth, halves, paired
from models.studies.worth_slopes import Slope, Slopes
from models.studies.worth_slopes import n_steps as slope_steps
from models.studies.worth_whole import whole_webs
from models.verdict import Verdict, name, share, verdict
from models.wing.parts import Wing
from models.woods.wood import WoodError

LARGER = 1.1
"""Factor on a size or density for its exact change: a step that a builder can make."""
MANY = 100
"""Webs, there or not, beyond which sizes and woods are left out unless they are asked for: they would take
as long as all the webs."""
SETS = 48
"""Sets of wood for each wing of the comparison of fifth percentiles."""
SEED = 20261
"""Seed where none is given; that of `models.studies.scatter`."""


@dataclass(frozen=True)
class SiteWorth:
    """Worth of one web.

    Parameters
    ----------
    site : Site
        Where, and whether there is a web.
    thickness : float
        Of the web, m.
    wood : str
        Of the web.
    grams : float
        What the web weighs with its strips, both sides, g.
    slope : Slope or None
        For thickening it; of a web that is not there, of the ghost. The outputs are tip deflection, twist,
        load factor at first failure and, where it was asked for, its fifth percentile. None where slopes were
        left out.
    change : Change or None
        Of the whole web, taken out or put in; None where the wing would not stand.
    after : Verdict or None
        On the wing with that change, where it was judged whole.
    """

    site: Site
    thickness: float
    wood: str
    grams: float
    slope: Slope | None
    change: Change | None
    after: Verdict | None = None


@dataclass(frozen=True)
class SizeWorth:
    """Worth of a size or a wood: its slope, and the change for `LARGER` times as much (None where no wood is
    so dense)."""

    size: Size
    slope: Slope
    change: Change | None


@dataclass(frozen=True)
class WoodWorth:
    """What another wood does in the place of one web."""

    site: Site
    wood: str
    change: Change


@dataclass(frozen=True)
class Worth:
    """What everything is worth on one wing.

    Parameters
    ----------
    analysis : Analysis
        Of the wing as drawn.
    drawn : Figures
        Its figures, all sheeting whole.
    place : Place
        What fails first, whose reserve the slopes follow.
    sites : tuple of SiteWorth
        Every web, those that are there and those that are not.
    sizes : tuple of SizeWorth or None
        Caps, woods, sheeting; none if they took too long, None where slopes were left out.
    woods : tuple of WoodWorth
        Other woods for the webs; none if they were not asked for.
    fifth : float or None
        Fifth percentile of the load factor at first failure, as drawn.
    verdict : Verdict or None
        On the wing as drawn; None of a specimen.
    """

    analysis: Analysis
    drawn: Figures
    place: Place
    sites: tuple[SiteWorth, ...]
    sizes: tuple[SizeWorth, ...] | None
    woods: tuple[WoodWorth, ...]
    fifth: float | None
    verdict: Verdict | None = None

    @property
    def flying(self) -> bool:
        """Load factors are in g; else in multiples of a specimen's load."""
        return self.analysis.wing.flies

    @property
    def failing(self) -> float:
        """Load factor at first failure as drawn: of a flying wing as its verdict has it."""
        return self.drawn.load_factor if self.verdict is None else self.verdict.failing

    @property
    def judged(self) -> list[SiteWorth]:
        """Webs whose change was judged whole: those put in, the most of the governing reserve for a gram
        first, then those taken out, the least missed first."""
        return [*self._judged_in(), *self._judged_out()]

    @property
    def next_in(self) -> SiteWorth | None:
        """The web whose gluing in raises what the governing case leaves most for its grams, of those that
        were judged whole; of a specimen the load at first failure. None if none does."""
        if self.verdict is not None:
            first = next(iter(self._judged_in()), None)
            return first if first is not None and self._gained(first) > 0 else None
        better = [one for one in self.sieve_in if self._change(one).load_factor > self._noise]
        return better[0] if better else None

    @property
    def best_out(self) -> SiteWorth | None:
        """The web that can best be left out: that which the governing case, and then the share of wings that
        survive, miss least for each gram saved, of those that were judged whole; of a specimen the first of
        the sieve. None if there is no web."""
        return next(iter(self.sieve_out if self.verdict is None else self._judged_out()), None)

    @property
    def sieve_in(self) -> list[SiteWorth]:
        """Webs to glue in, by what their gram raises the load at first failure, all sheeting whole."""
        return sorted(
            (s for s, _ in self._those(present=False)),
            key=lambda s: self._change(s).per_gram(self._change(s).load_factor),
            reverse=True,
        )

    @property
    def sieve_out(self) -> list[SiteWorth]:
        """Webs to leave out, those first whose load at first failure, all sheeting whole, is missed least for
        each gram saved; of several that are not missed, the one without which deflection and twist of the tip
        grow least for its grams (shares of their own size, added up; what shrinks counts for nothing)."""

        def key(one: SiteWorth) -> tuple[float, float]:
            change = self._change(one)
            lost = -change.load_factor if -change.load_factor > self._noise else 0.0
            softer = sum(max(self.growth(change, what), 0.0) for what in ("deflection", "twist"))
            return lost / -change.grams, softer / -change.grams

        return sorted((s for s, _ in self._those(present=True)), key=key)

    def _judged_in(self) -> list[SiteWorth]:
        return sorted((s for s in self.sieve_in if s.after is not None), key=self._gained, reverse=True)

    def _judged_out(self) -> list[SiteWorth]:
        def key(one: SiteWorth) -> tuple[float, float]:
            assert self.verdict is not None
            assert one.after is not None
            return missed(self.verdict, one.after, -self._change(one).grams)

        return sorted((s for s in self.sieve_out if s.after is not None), key=key)

    def _gained(self, one: SiteWorth) -> float:
        assert self.verdict is not None
        assert one.after is not None
        return gain(self.verdict, one.after) / self._change(one).grams

    @staticmethod
    def _change(one: SiteWorth) -> Change:
        assert one.change is not None
        return one.change

    def stiffest(self, what: str) -> SiteWorth | None:
        """The web whose gluing in takes most off the tip's movement for its grams; None if none does. `what`
        is "deflection" or "twist"."""
        drawn = abs(getattr(self.drawn, what))
        better = [s for s, change in self._those(present=False) if self.growth(change, what) < -1e-3]
        if not drawn or not better:
            return None
        return min(better, key=lambda s: self.growth_per_gram(s, what))

    def growth(self, change: Change, what: str) -> float:
        """By which share of its size the tip's "deflection" or "twist" grows, whichever way it goes."""
        drawn = float(getattr(self.drawn, what))
        return (abs(drawn + float(getattr(change, what))) - abs(drawn)) / abs(drawn) if drawn else 0.0

    def growth_per_gram(self, one: SiteWorth, what: str) -> float:
        """The same for each gram that the change of a web puts in."""
        change = self._change(one)
        return change.per_gram(self.growth(change, what))

    def _those(self, *, present: bool) -> list[tuple[SiteWorth, Change]]:
        return [
            (s, s.change)
            for s in self.sites
            if s.site.present == present and s.change is not None and abs(s.change.grams) > 1e-9
        ]

    @property
    def _noise(self) -> float:
        """Changes of the load factor below this say nothing: a thousandth."""
        return 1e-3 * self.drawn.load_factor


def sentences(result: Worth) -> list[str]:
    """The answer in words: the next web to glue in, and the one that can best be left out."""
    unit = "g" if result.flying else "times its load"
    drawn = result.drawn
    said = []
    best = result.next_in
    if best is not None:
        assert best.change is not None
        change = best.change
        wood = f"{say.grams(1e-3 * change.grams):.1f} of wood"
        if best.after is not None:
            begins = f"The next web to glue in is {best.site.words}, {wood}{_paired_words(change, unit)}: "
            said.append(begins + _judged_words(result, best.after))
        else:
            said.append(
                f"The next web to glue in is {best.site.words}: {load_words(result, best)} at first failure "
                f"for {wood}{_paired_words(change, unit)}; then {change.first_failure} goes first, at "
                f"{down(drawn.load_factor + change.load_factor)} {unit}."
            )
    elif any(not s.site.present for s in result.sites):
        said.append(_none_better(result, unit))
    stiff = {what: one for what in ("deflection", "twist") if (one := result.stiffest(what)) is not None}
    told = []
    for what, one in stiff.items():
        assert one.change is not None
        growth = _percent(result.growth(one.change, what))
        told.append(f"tip {what} {one.site.words} ({growth} for {say.grams(1e-3 * one.change.grams):.1f})")
    if told:
        said.append(f"Most for each {say.small_mass()}: against {', against '.join(told)}.")
    least = result.best_out
    if least is not None:
        assert least.change is not None
        change = least.change
        begins = f"The web that can best be left out is {least.site.words}: it saves "
        begins += f"{say.grams(-1e-3 * change.grams):.1f} "
        softer = (
            f"{_grown(result.growth(change, 'deflection'))} tip deflection and "
            f"{_grown(result.growth(change, 'twist'))} twist"
        )
        paired_words = _paired_words(change, unit)
        if least.after is None:
            said.append(f"{begins}for {load_words(result, least)}{paired_words}, {softer}.")
        else:
            said.append(f"{begins}for {softer}{paired_words}; {_judged_words(result, least.after)}")
    if result.sizes == ():
        said.append(
            f"With {len(result.sites)} places for webs they came first, and sizes and woods were left out: "
            "--full tries them too."
        )
    return said


def _none_better(result: Worth, unit: str) -> str:
    """That no web was found which raises the load."""
    before = result.verdict
    if before is None:
        return (
            f"No single web more raises the load at first failure, {down(result.drawn.load_factor)} {unit}, "
            f"by a thousandth: {result.drawn.first_failure} goes first."
        )
    first = before.governing.first
    goes = "" if first is None else f": {name(first)} goes first"
    return (
        f"No single web that was judged helps in the hardest case, {before.governing.name}, which breaks the "
        f"wing at {down(before.least, 2)} times its load{goes}."
    )


def _judged_words(result: Worth, after: Verdict) -> str:
    """What the verdict says of a wing with one web changed, beside the wing as drawn."""
    before = result.verdict
    assert before is not None
    was, now = before.governing, after.governing
    said = (
        f"it then fails at {down(after.failing)} g in the pull-up ({down(before.failing)} as drawn), and "
        f"{share(after.survive)} survive all that is asked ({down(100 * before.survive, 0)})"
    )
    if was.name == now.name == before.pull_up.name:
        first = now.first
        return f"{said}; first goes {name(first)}." if first is not None else f"{said}."
    if was.name == now.name:
        changed = f"{down(before.least, 2)} -> {down(after.least, 2)} times its load"
        return f"{said}. Hardest in mean wood, {now.name}: {changed}."
    return (
        f"{said}. Hardest in mean wood, {was.name}: {down(before.least, 2)} times its load as drawn; then "
        f"{now.name}: {down(after.least, 2)}."
    )


def _percent(share: float) -> str:
    """With its sign, but for what rounds to nothing."""
    text = f"{100 * share:+.1f} %"
    return text[1:] if text[1:] == "0.0 %" else text


def _grown(share: float) -> str:
    """A growth in words: a percentage of what was next to nothing says less than how many times it is."""
    return _percent(share) if share < 1 else f"{1 + share:.3g} times the"


def load_words(result: Worth, one: SiteWorth) -> str:
    """The change of the load at first failure in words: "+6.5 g of load", "no load lost". Of a web that was
    judged whole by the verdict, and if another case than the pull-up governs, of what that leaves."""
    assert one.change is not None
    before, after = result.verdict, one.after
    more, of = one.change.load_factor, result.drawn.load_factor
    if before is not None and after is not None:
        if before.governing is not before.pull_up:
            changed = f"{down(before.least, 2)} -> {down(after.least, 2)} times its load"
            return f"hardest case {changed}"
        more, of = after.failing - before.failing, before.failing
    if abs(more) < 0.5e-3 * of:
        return "no load lost"
    return f"{more:+.2g} {'g of load' if result.flying else 'times its load'}"


def _paired_words(change: Change, unit: str) -> str:
    """What the fifth percentile says, in brackets; nothing where it was not asked for."""
    pair = change.fifth
    if pair is None:
        return ""
    noise = ", within noise" if pair.within_noise else ""
    return f" (one wing in twenty: {pair.change:+.2f} {unit}, {pair.low:+.2f} to {pair.high:+.2f}{noise})"


def worth(
    wing: Wing,
    *,
    per_bay: int = 4,
    scatter: bool = False,
    woods: bool = False,
    thorough: bool | None = None,
    slopes: bool = True,
    sets: int = SETS,
    seed: int = SEED,
    progress: Callable[[str], None] | None = None,
) -> Worth:
    """Find what every web, size and wood of a wing is worth.

    Parameters
    ----------
    wing : Wing
        As drawn.
    per_bay : int
        Elements along a bay.
    scatter : bool
        Find the change of the fifth percentile of the load factor for every web as well.
    woods : bool
        Try other woods for every web.
    thorough : bool or None
        With sizes and woods of a wing that has more than `MANY` places for webs too; None: without them.
    slopes : bool
        With slopes, and so with sizes and woods; else whole webs alone.
    sets : int
        Sets of wood for each wing, with `scatter`.
    seed : int
        Of the draws, with `scatter`.
    progress : callable or None
        Told before every step.

    Raises
    ------
    fea.solve.Mechanism, models.loads.pull_up.LightAeroplane
        As for `models.analysis.analyse`, of the wing as drawn.
    NothingLoaded

    Examples
    --------
    >>> import sparbay
    >>> result = sparbay.worth(sparbay.read("spar-c"), per_bay=1)
    >>> next_in = result.next_in
    >>> next_in is not None and next_in.change is not None and next_in.change.mass > 0  # kg
    True
    """
    tell = progress or (lambda _: None)
    tell(f"{wing.name}: as drawn")
    analysis = analyse(wing, per_bay=per_bay, keep_factor=True)
    tip, place = tip_of(analysis), critical(analysis)
    drawn = figures(analysis, tip)
    again = _Again(analysis, drawn, tip, per_bay, sets if scatter else 0, seed)
    followed, weights, before = [place], np.zeros(0), None
    if scatter:
        before = again.before(analysis)
        assert again.halves is not None
        decide = deciding(again.halves, n_halves=_n_halves(analysis))
        followed += places(analysis, [pair for pair, _ in decide])
        weights = before * np.array([share for _, share in decide])
    every = sites(wing)
    variables = _variables(wing, every, thorough=thorough) if slopes else []
    of_sites: dict[Site, Slope] = {}
    of_sizes = []
    if slopes:
        adjoint = Slopes(analysis, tip, followed, per_bay=per_bay, known=again.known)
        weights = weights / adjoint.load_factors[1:]
        of_sites = {k: _with_fifth(v, weights) for k, v in adjoint.of_sites(every, tell).items()}
        for size in variables:
            tell(f"slopes: {size.what}, {size.part}")
            of_sizes.append(_with_fifth(adjoint.of_size(size), weights))
    changes = _changes(again, analysis, every, tell, scatter=scatter)
    found = [_site_worth(wing, site, of_sites.get(site), changes[site]) for site in every]
    larger = []
    for size, slope in zip(variables, of_sizes):
        tell(f"{LARGER:g} times {size.what}, {size.part}")
        larger.append(SizeWorth(size, slope, _larger(again, wing, size)))
    others = []
    for site in every if woods else ():
        if site.present:
            tell(f"other woods: {site.words}")
            tried = ((words, again(changed)) for words, changed in other_woods(wing, site))
            others += [WoodWorth(site, words, change) for words, change in tried if change is not None]
    sized = tuple(larger) if slopes else None
    result = Worth(analysis, drawn, place, tuple(found), sized, tuple(others), before)
    return _held(result, per_bay, tell) if wing.flies else result


def _held(result: Worth, per_bay: int, tell: Callable[[str], None]) -> Worth:
    """The wing as drawn and its best webs by the verdict."""
    analysis = result.analysis
    tell("all cases, as drawn")
    session = Session(analysis.wing, per_bay=per_bay, sound=analysis)
    drawn = verdict(analysis.wing, session=session, test=False, landing=False)
    held = Held(analysis.wing, drawn, per_bay, tell)

    def sieved(some: list[SiteWorth]) -> list[Toggle]:
        return [Toggle(one.site, one.change.grams) for one in some if one.change is not None]

    by_twist = sorted(result.sieve_in, key=lambda one: result.growth_per_gram(one, "twist"))
    held.put_in(sieved(result.sieve_in), sieved(by_twist))
    held.take_out(sieved(result.sieve_out))
    judged = tuple(replace(one, after=held.after.get(one.site)) for one in result.sites)
    return replace(result, sites=judged, verdict=drawn)


def _site_worth(wing: Wing, site: Site, slope: Slope | None, change: Change | None) -> SiteWorth:
    web = own_web(wing, site, site.sides[0])
    grams = abs(change.grams) if change is not None else 0.0 if slope is None else 1e3 * slope.mass
    return SiteWorth(site, web.thickness, web.material.name, grams, slope, change)


def _with_fifth(slope: Slope, weights: np.ndarray) -> Slope:
    """The slope with that of the fifth percentile q in place of those of the places that decide about it:
    dq/q is the mean of their dn/n, each with its share of the half wings about as strong, in the wing as in
    the tables."""
    mixed = (float(weights @ np.array(slope.outputs[3:])),) if len(weights) else ()
    return Slope((*slope.outputs[:3], *mixed), slope.mass)


def _changes(
    again: _Again, analysis: Analysis, every: list[Site], tell: Callable[[str], None], *, scatter: bool
) -> dict[Site, Change | None]:
    """What each whole web does, by exchange where that is to be had, else by whole analyses; as many steps
    are told as there are webs."""
    wing, drawn = analysis.wing, again.drawn
    told = 0

    def ready(what: str) -> None:
        nonlocal told
        if told < len(every) // 2:
            tell(f"whole webs: {what}")
            told += 1

    chain = None
    if not scatter:  # percentiles ask whole analyses
        chain = whole_webs(wing, every, again.tip, per_bay=again.per_bay, progress=ready)
    if chain is not None and not chain.agrees(drawn):
        chain = None
    out: dict[Site, Change | None] = {}
    for k, site in enumerate(every):
        if k >= told:
            tell(f"{'without' if site.present else 'with'} {site.words}")
        try:
            out[site] = again(toggled(wing, [site]), paired_too=True) if chain is None else chain(site)
        except np.linalg.LinAlgError:
            out[site] = again(toggled(wing, [site]))
    return out


def _larger(again: _Again, wing: Wing, size: Size) -> Change | None:
    try:
        return again(size.change(wing, LARGER))
    except WoodError:
        return None


def _variables(wing: Wing, every: list[Site], *, thorough: bool | None) -> list[Size]:
    """Sizes and woods that are tried beside the webs."""
    return sizes(wing) if thorough or len(every) <= MANY else []


def n_steps(wing: Wing, *, woods: bool = False, thorough: bool | None = None, slopes: bool = True) -> int:
    """How many steps `worth` tells its progress of, at most.

    Parameters
    ----------
    wing, woods, thorough, slopes
        As for `worth`.
    """
    every = sites(wing)
    variables = _variables(wing, every, thorough=thorough) if slopes else []
    of_slopes = slope_steps(every, variables) if slopes else 0
    trials = sum(s.present for s in every) if woods else 0
    judged = MOST_STEPS if wing.flies else 0
    return 1 + of_slopes + len(every) + len(variables) + trials + judged


def figures(analysis: Analysis, tip: Tip) -> Figures:
    """Figures of an analysis, read where the drawn wing's are."""
    deflection, twist = read_tip(analysis, tip)
    first = ranked_rows(analysis)[0]
    model = analysis.model
    return Figures(
        deflection,
        twist,
        analysis.load_factor * first.reserve_factor,
        _mass(model, analysis),
        f"{first.part.name}: {first.mode}",
    )


def _mass(model: Model, analysis: Analysis) -> float:
    """Of the whole wing, both sides, kg."""
    assembly = analysis.solution.assembly
    upward = assembly.rigid_inertia()[2 :: assembly.freedoms, 2]
    return (2.0 if model.half else 1.0) * float(upward.sum())


class _Again:
    """Re-analysis of changed wings: built, solved and checked anew; only what their blocks have alike with
    the wing as drawn is taken over."""

    def __init__(
        self, analysis: Analysis, drawn: Figures, tip: Tip, per_bay: int, sets: int, seed: int
    ) -> None:
        moves = analysis.solution.displacements[:, :, analysis.case]
        self.known = Known(analysis.solution.assembly, moves)
        self.drawn, self.tip, self.per_bay, self.sets, self.seed = drawn, tip, per_bay, sets, seed
        self.halves: JudgedHalves | None = None

    def before(self, analysis: Analysis) -> float:
        """Fifth percentile of the wing as drawn, whose half wings are kept."""
        self.halves = halves(analysis, sets=self.sets, seed=self.seed)
        return fifth(self.halves.load_factors, n_halves=_n_halves(analysis))

    def __call__(self, wing: Wing, *, paired_too: bool = False) -> Change | None:
        """What changes, the fifth percentile too if it is known as drawn; None where the wing could not stand
        or fly."""
        try:
            model = build(wing, per_bay=self.per_bay)
            analysis = solve(model, assembly=Beside(model.structure, self.known))
        except (Mechanism, LightAeroplane):
            return None
        after, drawn = figures(analysis, self.tip), self.drawn
        pair = None
        if paired_too and self.halves is not None:
            changed = halves(analysis, sets=self.sets, seed=self.seed).load_factors
            pair = paired(self.halves.load_factors, changed, n_halves=_n_halves(analysis), seed=self.seed)
        return drawn.to(after, pair)


def _n_halves(analysis: Analysis) -> int:
    return 2 if analysis.model.half else 1
