"""Mass and balance: what every part weighs, where the aeroplane balances, and where it should.

Wood, covering and equipment are weighed from the mass matrix of the built structure, element by element, as
every other analysis flies with them; glue is added from the glued areas. The neutral
point is that of the lifting surface (`models.loads.lifting_surface`); static margin = (neutral point - centre
of gravity) / mean aerodynamic chord. The range wanted is given as static margins.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from fea.arrays import Array
from fea.assembly import Assembly, rigid_motions
from fea.elements.mass import Masses
from models import units_out as say
from models.loads.lifting_surface import lifting_surface, mean_aerodynamic_chord
from models.loads.pull_up import GRAVITY, LightAeroplane
from models.structure import Model, build
from models.structure.glue_lines import glue_lines
from models.structure.model import Part
from models.units_out import mass_words
from models.wing.parts import NotFlying, PointMass, WantedBalance, Wing
from models.wing.words import spar_words

SMALL_REST = 0.10
"""Share of the flying mass that the file may leave without a place before balance is no longer judged: below
it, what is missing can hardly be a fuselage with a tail (common practice, no source)."""


ASIDE = 5e-4
"""How far off the centre line the centre of gravity may lie before it is told, m."""


@dataclass(frozen=True, eq=False)
class Lot:
    """One part of the wing, or several together, both sides.

    Parameters
    ----------
    kind : str
        "wood", "glue", "covering" or "equipment"; "together" for lots that repeat others.
    name : str
        In words.
    mass : float
        With full tank, kg.
    centre : (3,) float array
        Centre of gravity, m.
    shift : float
        How far aft it moves the aeroplane's centre of gravity (with full tank): with it less without it, m.
    """

    kind: str
    name: str
    mass: float
    centre: Array
    shift: float


@dataclass(frozen=True, eq=False)
class State:
    """The aeroplane with full or empty tank, as far as the file describes it.

    Parameters
    ----------
    name : str
        "full" or "empty"; "" where nothing is used up.
    mass : float
        kg.
    centre : (3,) float array
        Centre of gravity, m, from the leading edge of the centre section.
    inertia : (3, 3) float array
        About the centre of gravity, kg m2; products of inertia with their minus.
    static_margin : float
        Of the mean aerodynamic chord.
    aft_of_datum : float
        m.
    """

    name: str
    mass: float
    centre: Array
    inertia: Array
    static_margin: float
    aft_of_datum: float


@dataclass(frozen=True)
class Move:
    """What moving one mass can do.

    Parameters
    ----------
    name : str
        Of the mass.
    mass : float
        Of all that moves, full, kg.
    x : float
        Where it is, m aft of the centre section's leading edge.
    marked : bool
        The file says between which places it may be moved.
    least, most : float or None
        Movements aft, m, between which every state balances within the range; None where none does.
    needed : float or None
        The smallest movement that does, 0 where nothing is needed.
    within_reach : bool
        `needed` does not go beyond the places in the file; of a mass that has none, beyond the span.
    """

    name: str
    mass: float
    x: float
    marked: bool
    least: float | None
    most: float | None
    needed: float | None
    within_reach: bool


@dataclass(frozen=True)
class Ballast:
    """The least mass (kg) that brings every state into the range, and the x where it is fixed (m)."""

    mass: float
    x: float


@dataclass(frozen=True)
class Rest:
    """What the aeroplane weighs beyond what the file places: a fuselage with its tail, say. `mass` in kg;
    where its own centre of gravity must lie for the aeroplane to balance within the range `least_x` to
    `most_x`, m aft of the centre section's leading edge, None where no place does."""

    mass: float
    least_x: float | None
    most_x: float | None


@dataclass(frozen=True, eq=False)
class Balance:
    """Mass and balance of a flying wing.

    Parameters
    ----------
    wing : Wing
        What was weighed.
    lots : tuple of Lot
        All that there is, each counted once: wood by kind and spar, glue, covering, equipment.
    together : tuple of Lot
        Some of these gathered: all webs, rails with the engine, what lies ahead of the leading edge.
    parts : tuple of (str, float, array)
        Every part of the built structure by its full name: mass (kg) and centre (m), both sides.
    states : tuple of State
        With full tank and empty, or one alone where nothing is used up.
    analysed_mass : float
        Without the glue, as the other analyses have it, kg.
    analysed_centre : (3,) float array
        Its centre, m.
    glue_area : float
        m2.
    flying_mass : float
        Of the whole aeroplane, full, kg.
    wing_loading : float
        Its weight over the projected area, N/m2.
    mean_chord, mean_chord_x : float
        Mean aerodynamic chord and the x of its leading edge, m.
    neutral_x : float
        Neutral point that the range is laid off from, m aft of the centre section's leading edge.
    bare_neutral_x : float
        That of the bare wing.
    foremost, rearmost : float
        Range of the centre of gravity, m aft of the centre section's leading edge.
    inside : bool or None
        Whether every state lies within it; None where the file places too little of the aeroplane to tell.
    behind : float or None
        How far the hindmost state lies behind its rear end, m; below nought ahead of that.
    moves : tuple of Move
        Of the masses marked as movable, or of each mass in turn.
    ballast : Ballast or None
        None where none is needed or none would do.
    rest : Rest or None
        None where the file places all of the flying mass.
    """

    wing: Wing
    lots: tuple[Lot, ...]
    together: tuple[Lot, ...]
    parts: tuple[tuple[str, float, Array], ...]
    states: tuple[State, ...]
    analysed_mass: float
    analysed_centre: Array
    glue_area: float
    flying_mass: float
    wing_loading: float
    mean_chord: float
    mean_chord_x: float
    neutral_x: float
    bare_neutral_x: float
    foremost: float
    rearmost: float
    inside: bool | None
    behind: float | None
    moves: tuple[Move, ...]
    ballast: Ballast | None
    rest: Rest | None

    @property
    def wanted(self) -> WantedBalance:
        """What the file asks for."""
        assert self.wing.balance is not None
        return self.wing.balance


def balance(wing: Wing, *, model: Model | None = None, assembly: Assembly | None = None) -> Balance:
    """Weigh a wing part by part and say where it balances. Of a model or an assembly that is there already it
    makes use; nothing is solved.

    Raises
    ------
    NotFlying
        A specimen.
    models.loads.pull_up.LightAeroplane
        The flying mass in the file is less than that of the wing and what it carries.
    """
    plan, wanted = wing.planform, wing.balance
    if plan is None or wanted is None:
        raise NotFlying("a specimen does not fly; balance needs a wing.")
    model = build(wing) if model is None else model
    names, matrices, ahead = _weighed(model, Assembly(model.structure) if assembly is None else assembly)
    analysed = matrices.sum(axis=0)
    asked = wing.case.flying_mass
    if asked and asked < analysed[0, 0] * (1 - 1e-9):
        raise LightAeroplane(asked, float(analysed[0, 0]))
    glue, area = _glue(model, wanted.glue_spread)
    full = analysed + glue
    used = _used_up(wing)
    surface = lifting_surface(plan)
    chord, _, chord_x = mean_aerodynamic_chord(plan)
    neutral = surface.neutral_x if wanted.neutral_point is None else wanted.neutral_point
    foremost = neutral - wanted.most_static_margin * chord
    rearmost = neutral - wanted.least_static_margin * chord
    fuelled = any(item.empty is not None for item in wing.masses)
    states = [_state("full" if fuelled else "", full, neutral, chord, wanted.datum)]
    if fuelled:
        states.append(_state("empty", full - used, neutral, chord, wanted.datum))
    flying = max(asked, states[0].mass)
    rest = _rest(flying - states[0].mass, states, foremost, rearmost) if asked else None
    judged = rest is None or rest.mass <= SMALL_REST * flying
    inside = all(foremost <= s.centre[0] <= rearmost for s in states) if judged else None
    behind = max(float(s.centre[0]) for s in states) - rearmost if judged else None
    return Balance(
        wing=wing,
        lots=_lots(names, matrices, glue, full),
        together=_together(wing, names, matrices, ahead, full),
        parts=tuple(
            (part.place if part.kind == "mass" else part.name, float(m[0, 0]), _centre(m))
            for part, m in zip(names, matrices)
        ),
        states=tuple(states),
        analysed_mass=float(analysed[0, 0]),
        analysed_centre=_centre(analysed),
        glue_area=area,
        flying_mass=flying,
        wing_loading=flying * GRAVITY / plan.area,
        mean_chord=chord,
        mean_chord_x=chord_x,
        neutral_x=neutral,
        bare_neutral_x=surface.neutral_x,
        foremost=foremost,
        rearmost=rearmost,
        inside=inside,
        behind=behind,
        moves=tuple(_moves(wing, states, foremost, rearmost)) if judged else (),
        ballast=_ballast(model, states, foremost, rearmost) if judged else None,
        rest=rest,
    )


def _rigid(at: Array, mass: Array) -> Array:
    """Rigid-body mass matrix about the origin of point masses, (6, 6)."""
    motions = rigid_motions(at, 3).reshape(-1, 3, 6)
    return np.asarray(np.einsum("nia,nib,n->ab", motions, motions, mass, optimize=True))


_MIRRORED = np.array([1.0, -1.0, 1.0, -1.0, 1.0, -1.0])
"""Signs of the six rigid motions in the mirror of the plane y = 0."""


def _both(matrix: Array, half: bool) -> Array:
    """Of both sides, where the model is half a wing; (..., 6, 6)."""
    return matrix + _MIRRORED[:, None] * matrix * _MIRRORED if half else matrix


def _weighed(model: Model, assembly: Assembly) -> tuple[list[Part], Array, Array]:
    """Rigid-body mass matrices (n, 6, 6) of every part, both sides, and of what lies ahead of x = 0."""
    found = np.zeros((len(model.parts), 6, 6))
    ahead = np.zeros((6, 6))
    for name, own in assembly.element_inertia().items():
        block, corners = model.structure.blocks[name], assembly.corners(name)
        if block.part is None:
            continue
        np.add.at(found, block.part, own)
        middle = block.places(corners) if isinstance(block, Masses) else corners.mean(axis=1)
        ahead += own[middle[:, 0] < 0].sum(axis=0)
    _where_they_are(model, found)
    there = found[:, 0, 0] > 0
    parts = [p for p, kept in zip(model.parts, there) if kept]
    return parts, _both(found[there], model.half), _both(ahead, model.half)


def _where_they_are(model: Model, found: Array) -> None:
    """Put point masses where they are: what hangs on two ribs turns in roll as two masses, and of one beside
    the centre line of half a wing both ribs' shares hang on the rib at hand, whose image is the other's."""
    own: dict[str, Array] = {}
    for item in model.wing.masses:
        if item.carried_by == "rails":
            continue
        sides = (1.0, -1.0) if item.paired and not model.half else (1.0,)
        y = item.y if item.paired or not model.half else 0.0
        mass = item.mass / 2 if model.half and not item.paired else item.mass
        at = np.array([[item.x, side * y, item.z] for side in sides])
        own[item.name] = own.get(item.name, np.zeros((6, 6))) + _rigid(at, np.full(len(sides), mass))
    for number, part in enumerate(model.parts):
        if part.kind == "mass" and part.place in own and part.place != "covering":
            found[number] = own[part.place]


def _glue(model: Model, spread: float) -> tuple[Array, float]:
    """Rigid-body mass matrix of the glue and its area, both sides."""
    lines = glue_lines(model)
    sides = 2.0 if model.half else 1.0
    matrix = _both(_rigid(lines.at, spread * lines.area), model.half)
    return matrix, sides * float(lines.area.sum())


def _used_up(wing: Wing) -> Array:
    """Rigid-body mass matrix of all that is used up."""
    at, mass = [], []
    for item in wing.masses:
        if item.empty is not None:
            for sign in (1, -1) if item.paired else (1,):
                at.append((item.x, sign * item.y, item.z))
                mass.append(item.mass - item.empty)
    return _rigid(np.array(at).reshape(-1, 3), np.array(mass))


def _centre(matrix: Array) -> Array:
    """Centre of gravity of a rigid-body mass matrix, (3,), m."""
    mass = matrix[0, 0]
    if mass <= 0:
        return np.zeros(3)
    return np.array([-matrix[4, 2], matrix[3, 2], matrix[4, 0]]) / mass


def _state(name: str, matrix: Array, neutral: float, chord: float, datum: float) -> State:
    mass, centre = float(matrix[0, 0]), _centre(matrix)
    inertia = matrix[3:, 3:] - mass * (centre @ centre * np.eye(3) - np.outer(centre, centre))
    x = float(centre[0])
    return State(name, mass, centre, inertia, (neutral - x) / chord, x - datum)


def _lot(kind: str, name: str, matrix: Array, full: Array) -> Lot:
    mass, without = float(matrix[0, 0]), full - matrix
    shift = _centre(full)[0] - _centre(without)[0] if without[0, 0] > 1e-12 * full[0, 0] else 0.0
    return Lot(kind, name, mass, _centre(matrix), float(shift))


def _group(part: Part) -> tuple[str, str]:
    """Kind and name of the lot that a part belongs to."""
    spar = spar_words(part.spar) if part.spar else ""
    kind = part.kind.removesuffix(" strip") if part.kind in ("web strip", "brace strip") else part.kind
    match kind:
        case "mass":
            return ("covering" if part.place == "covering" else "equipment"), part.place
        case "cap":
            return "wood", f"caps, {spar}"
        case "web":
            return "wood", f"shear webs, {spar}"
        case "brace":
            return "wood", f"braces, {spar}"
        case "post" | "rib":
            return "wood", "ribs"
        case "cap strip":
            return "wood", "cap strips"
        case "wing bolts" | "rubber bands":
            return "equipment", kind
        case "joiner" | "joiner box":
            return "wood", f"joiners, {spar}"
        case "edge":
            return "wood", f"{part.place} edge"
        case "rail":
            return "wood", f"rails: {part.place}"
        case "rail tie":
            return "wood", f"ties of rails: {part.place}"
    return "wood", kind


def _lots(parts: list[Part], matrices: Array, glue: Array, full: Array) -> tuple[Lot, ...]:
    sums: dict[tuple[str, str], Array] = {}
    for part, matrix in zip(parts, matrices):
        key = _group(part)
        sums[key] = sums.get(key, np.zeros((6, 6))) + matrix
    if glue[0, 0] > 0:
        sums["glue", "glue"] = glue
    order = ("wood", "glue", "covering", "equipment")
    keys = sorted(sums, key=lambda key: order.index(key[0]))
    return tuple(_lot(kind, name, sums[kind, name], full) for kind, name in keys)


def _together(wing: Wing, parts: list[Part], matrices: Array, ahead: Array, full: Array) -> tuple[Lot, ...]:
    def gathered(name: str, chosen: list[bool]) -> list[Lot]:
        if not any(chosen):
            return []
        return [_lot("together", name, matrices[np.array(chosen)].sum(axis=0), full)]

    kinds = [part.kind for part in parts]
    found = gathered("all wood", [kind != "mass" for kind in kinds])
    found += gathered("all shear webs", [kind in ("web", "web strip") for kind in kinds])
    if wing.rails:
        engine = wing.engine.name if wing.engine is not None else _foremost_on_rails(wing)
        name = "rails with ties and engine" if wing.engine is not None else f"rails with ties and {engine}"
        found += gathered(
            name if engine else "rails with ties",
            [p.kind in ("rail", "rail tie") or (p.kind == "mass" and p.place == engine) for p in parts],
        )
    found += gathered("all equipment", [k == "mass" and p.place != "covering" for k, p in zip(kinds, parts)])
    if ahead[0, 0] > 0:
        found.append(_lot("together", "all ahead of the centre section's leading edge", ahead, full))
    return tuple(found)


def _foremost_on_rails(wing: Wing) -> str:
    carried = [item for item in wing.masses if item.carried_by == "rails"]
    return min(carried, key=lambda item: item.x).name if carried else ""


def _rest(mass: float, states: list[State], foremost: float, rearmost: float) -> Rest | None:
    """Where what is not in the file must balance, from moments about the origin of both states."""
    if mass <= 1e-6 * states[0].mass:
        return None
    least, most = (
        [(limit * (s.mass + mass) - s.mass * float(s.centre[0])) / mass for s in states]
        for limit in (foremost, rearmost)
    )
    low, high = max(least), min(most)
    return Rest(mass, low, high) if low <= high else Rest(mass, None, None)


def _moving(item: PointMass, state: State) -> float:
    """Mass of an item in a state, both of a pair, kg."""
    left = item.empty if state.name == "empty" and item.empty is not None else item.mass
    return (2 if item.paired else 1) * left


def _moves(wing: Wing, states: list[State], foremost: float, rearmost: float) -> list[Move]:
    """How far each mass may and must go: a movement d shifts a state by m d / M."""
    marked = [item for item in wing.masses if item.places is not None]
    farthest = 2 * wing.semispan  # an aeroplane is hardly longer than that
    return [_move(item, states, foremost, rearmost, farthest) for item in marked or wing.masses]


def _move(item: PointMass, states: list[State], foremost: float, rearmost: float, farthest: float) -> Move:
    low, high = -math.inf, math.inf
    for state in states:
        x, moving = float(state.centre[0]), _moving(item, state)
        if moving > 0:
            low = max(low, (foremost - x) * state.mass / moving)
            high = min(high, (rearmost - x) * state.mass / moving)
        elif not foremost <= x <= rearmost:
            low, high = math.inf, -math.inf
    mass = _moving(item, states[0])
    marked = item.places is not None
    if low > high:
        return Move(item.name, mass, item.x, marked, None, None, None, False)
    needed = min(max(0.0, low), high)
    reach = abs(needed) <= farthest
    if item.places is not None:
        aft, fore = item.places[1] - item.x, item.places[0] - item.x
        reach = fore - 1e-9 <= needed <= aft + 1e-9
    return Move(item.name, mass, item.x, marked, low, high, needed, reach)


def _ballast(model: Model, states: list[State], foremost: float, rearmost: float) -> Ballast | None:
    """Least mass m at x_b with (M x + m x_b)/(M + m) within the range in every state."""
    wing = model.wing
    assert wing.balance is not None
    x = np.array([s.centre[0] for s in states])
    mass = np.array([s.mass for s in states])
    heavy_tail = bool((x > rearmost).any())
    if heavy_tail == bool((x < foremost).any()):
        return None
    ends = [
        *(block_x for block_x in (model.structure.nodes[:, 0].min(), model.structure.nodes[:, 0].max())),
        *(item.x for item in wing.masses),
    ]
    limit = rearmost if heavy_tail else foremost
    at = wing.balance.ballast_at
    if at is None:
        at = float(min(ends) if heavy_tail else max(ends))
    if (at >= limit) if heavy_tail else (at <= limit):
        return None
    amount = float((mass * (x - limit) / (limit - at)).max())
    then = (mass * x + amount * at) / (mass + amount)
    slack = 1e-9 * (rearmost - foremost)
    if ((then < foremost - slack) | (then > rearmost + slack)).any():
        return None
    return Ballast(amount, at)


def sentences(found: Balance) -> list[str]:
    """The answer in words. Where it balances and whether that is right, what to move, static margin, what was
    counted."""
    wanted, states = found.wanted, found.states
    low, high = found.foremost - wanted.datum, found.rearmost - wanted.datum
    places = places_told(found)
    datum = "the centre section's leading edge" if not wanted.datum else "the datum"
    first, *more = states
    where = _aft(first.aft_of_datum, datum, places) + (" with full tank" if more else "")
    for s in more:
        turned = (s.aft_of_datum < 0) != (first.aft_of_datum < 0)
        way = (" ahead" if s.aft_of_datum < 0 else " aft") if turned else ""
        where += f", {say.length(abs(s.aft_of_datum)):.{places}f}{way} empty"
    span = _between(low, high, places)
    if found.inside is None:
        assert found.rest is not None
        out = [
            f"What the file describes weighs {mass_words(first.mass)} of {mass_words(found.flying_mass)} and "
            f"balances at {where}."
        ]
        out.append(_rest_sentence(found.rest, wanted, span))
    else:
        verdict = "inside" if found.inside else f"outside, {_how_far(found, places)}"
        out = [f"Balances at {where}; range {span}: {verdict}."]
        if not found.inside:
            out.append(_mend(found))
        if found.rest is not None:
            out.append(
                f"{mass_words(found.rest.mass)} of the flying mass has no place in the file and is left out."
            )
    whose = "the bare wing" if wanted.neutral_point is None else "the aeroplane, from the file,"
    margins = " and ".join(f"{100 * s.static_margin:.1f} %{' ' + s.name if s.name else ''}" for s in states)
    edge = "the leading edge" if not wanted.datum else "the datum"
    neutral = _aft(found.neutral_x - wanted.datum, edge, places)
    if found.inside is None:
        out.append(f"The neutral point of {whose} is {neutral}.")
    else:
        out.append(f"Static margin {margins}; the neutral point of {whose} is {neutral}.")
    if found.inside is None and wanted.neutral_point is None:
        out.append(
            "A tail moves the neutral point aft of the bare wing's, so that the rear end of the range is "
            "safe: give balance.neutral_point for that of the whole aeroplane."
        )
    if not found.wing.masses and found.rest is None:
        out.append("The file hangs nothing on the wing: this is the bare structure and its covering.")
    aside = max((float(s.centre[1]) for s in states), key=abs)
    if abs(aside) > ASIDE:
        side = "starboard" if aside > 0 else "port"
        out.append(
            f"The centre of gravity lies {say.length(abs(aside)):.1f} to {side}: the sides do not balance."
        )
    glue = next((lot for lot in found.lots if lot.kind == "glue"), None)
    if glue is not None:
        out.append(
            f"Glue, {mass_words(glue.mass)} by its area, is counted here; strength, loads and stiffness are "
            "worked out without it."
        )
    return out


def _rest_sentence(rest: Rest, wanted: WantedBalance, span: str) -> str:
    lead = f"For the aeroplane to balance at {span}, the other {mass_words(rest.mass)} (fuselage, tail) "
    if rest.least_x is None or rest.most_x is None:
        return lead + "can balance nowhere: full and empty tank are too far apart."
    low, high = (x - wanted.datum for x in (rest.least_x, rest.most_x))
    return lead + f"must itself balance at {_between(low, high, 0)}."


def places_told(found: Balance) -> int:
    """How many places of a millimetre are told: one where a centre of gravity nearly touches the range."""
    low, high = found.foremost - found.wanted.datum, found.rearmost - found.wanted.datum
    return int(min(abs(s.aft_of_datum - limit) for s in found.states for limit in (low, high)) < 1e-3)


def _between(low: float, high: float, places: int) -> str:
    """A range of places, m aft of the datum, in words."""
    a, b = (say.length.bare(abs(x), f".{places}f") for x in (low, high))
    mm = say.length.unit
    if high <= 0:
        return f"{a} to {b} {mm} ahead"
    return f"{a} {mm} ahead to {b} {mm} aft" if low < 0 else f"{a} to {b} {mm} aft"


def _aft(x: float, of: str, places: int) -> str:
    return f"{say.length(abs(x)):.{places}f} {'ahead' if x < 0 else 'aft'} of {of}"


def _how_far(found: Balance, places: int) -> str:
    x = [float(s.centre[0]) for s in found.states]
    aft, ahead = found.behind or 0.0, found.foremost - min(x)
    words = []
    if aft > 0:
        words.append(f"{off_by(aft, places)} {say.length.unit} too far aft")
    if ahead > 0:
        words.append(f"{off_by(ahead, places)} {say.length.unit} too far forward")
    return " and ".join(words)


def off_by(length: float, places: int = 1) -> str:
    """A length in m as mm or in, rounded away from nothing: what is outside a range is never told as 0."""
    return say.length.up(length, places)


def _mend(found: Balance) -> str:
    """What to move, and what ballast would do instead."""
    able = [m for m in found.moves if m.needed and m.within_reach]
    ways = []
    if able:
        best = min(able, key=lambda m: abs(m.needed or 0.0))
        ways.append(f"move {best.name} {_movement(best.needed or 0.0)}")
    if found.ballast is not None:
        at = found.ballast.x - found.wanted.datum
        of = "the datum" if found.wanted.datum else "the leading edge"
        place = f"{say.length(abs(at)):.0f} {'ahead' if at < 0 else 'aft'} of {of}"
        ways.append(f"add {say.mass.up(found.ballast.mass)} {say.mass.unit} {place}")
    if not ways:
        words = "No single movement or ballast brings it into the range; move several things."
    else:
        text = ", or ".join(ways)
        words = f"{text[:1].upper()}{text[1:]}."
    for move in found.moves:
        if move.needed and move.marked and not move.within_reach:
            words += f" {move.name[:1].upper()}{move.name[1:]} would have to go {_movement(move.needed)}, "
            words += "which is beyond its places."
    return words


def _movement(by: float) -> str:
    return f"{say.length.up(by)} {say.length.unit} {'forward' if by < 0 else 'aft'}"
