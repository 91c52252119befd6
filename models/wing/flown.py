"""How a flying wing is flown, landed, launched and balanced: rules of the tables that hold no wood."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import fields
from typing import Any, TypeVar, cast

import numpy as np

from models import units_out as say
from models.gravity import GRAVITY
from models.wing.draft import TOUCHING, FileDraft, Location, mm
from models.wing.faults import did_you_mean
from models.wing.mean_line import sweeps_or_twists
from models.wing.parts import (
    Elevons,
    Flight,
    HandTest,
    Hung,
    Landing,
    Launch,
    LoadCase,
    Loading,
    Planform,
    WantedBalance,
)  # fmt: skip
from models.wing.schema import BalanceTable, FlightTable, LandingTable, LaunchTable, Table, WingFile
from models.wing.slips import hint

R = TypeVar("R")


def record(kind: Callable[..., R], table: Table, /, **settled: Any) -> R:
    """A record whose fields are a table's keys of the same names (0 where the file leaves one out), but for
    what is settled otherwise."""
    names = {field.name for field in fields(cast(Any, kind))} & type(table).model_fields.keys()
    same = {name: getattr(table, name) for name in names - settled.keys()}
    return kind(**{name: 0.0 if value is None else value for name, value in same.items()}, **settled)


def _or_nan(value: float | None) -> float:
    return float("nan") if value is None else value


def case(draft: FileDraft, file: WingFile, outline: Planform) -> LoadCase:
    """The load case."""
    case = file.case
    given = case.model_fields_set
    load_factor = 1.0 if case.load_factor is None else case.load_factor
    if case.radius is not None:
        if case.load_factor is not None:
            draft.note(("case", "radius"), "stands beside a load_factor; give one of the two.")
        if case.speed is None:
            draft.note(("case", "radius"), "gives a load factor only together with a speed.")
        elif case.radius < (least := float(outline.chord.value.min())):
            span = outline.semispan
            meant = hint(draft.raw_at(("case", "radius")), span, 1e3 * span, "m") or "."
            draft.note(
                ("case", "radius"),
                f"is less than the wing's own chord of {mm(least)}; no wing turns in that{meant}",
            )
        else:
            load_factor = 1.0 + case.speed**2 / (GRAVITY * case.radius)
    if case.speed is not None:
        draft.not_assumed.add("case.lift_coefficient")
        if "lift_coefficient" in given:
            draft.note(
                ("case", "lift_coefficient"), "stands beside a speed, which settles it; give one of the two."
            )
    else:
        draft.not_assumed.add("case.air_density")
        if "air_density" in given:
            draft.note(("case", "air_density"), "means something only together with a speed.")
    if (case.speed or 0.0) > _FASTEST:
        _supersonic(draft, ("case", "speed"))
    if case.mass is not None:
        slowest = (2 * case.mass * GRAVITY / (case.air_density * outline.area * greatest_lift(file))) ** 0.5
        if slowest > _FASTEST:
            number, _, unit = str(draft.raw_at(("case", "mass"))).rpartition(" ")
            meant = f"; was {number} g meant?" if unit == "kg" else "."
            draft.note(
                ("case", "mass"),
                f"is too much for a wing of {say.area(outline.area):.3g}: it would stall below "
                f"{say.wind(slowest):.0f}, faster than sound{meant}",
            )
    if not 0 <= case.lift_line <= 1:
        draft.note(("case", "lift_line"), "lies outside the chord.")
    return record(
        LoadCase,
        case,
        kind="pull-up",
        load_factor=load_factor,
        flying_mass=case.mass or 0.0,
        moment_coefficient=case.moment_coefficient,
        lift_coefficient=case.lift_coefficient or min(1.0, greatest_lift(file)),
        lift_method=case.lift or ("surface" if sweeps_or_twists(outline) else "schrenk"),
    )


_GREATEST_LIFT, _GREATEST_LIFT_TAILLESS = 1.2, 0.9
"""Lift coefficient of a whole wing at the stall; common practice, no source. A tailless wing is trimmed at
the cost of lift: its elevons are up, or its tips are washed out."""


def greatest_lift(file: WingFile) -> float:
    """Lift coefficient at which the whole wing stalls, upright and trimmed."""
    if file.flight is not None and file.flight.max_lift_coefficient is not None:
        return file.flight.max_lift_coefficient
    by_elevons = file.elevons is not None and "pitch" in file.elevons.acts
    fuselage = file.case.mass is not None or any(m.carried_by == "fuselage" for m in file.masses)
    return _GREATEST_LIFT if fuselage and not by_elevons else _GREATEST_LIFT_TAILLESS


_FASTEST = 340.0
"""Speed of sound near the ground, rounded, m/s: the lift of slow air is no measure from well below it on."""


def _supersonic(draft: FileDraft, location: Location) -> None:
    offered = hint(draft.raw_at(location), 1.0, _FASTEST / 3, "", kind="speed")
    draft.note(location, f"is faster than sound, {say.wind(_FASTEST):.0f}{offered or '.'}")


def flight(draft: FileDraft, file: WingFile) -> Flight:
    """Limits of flight; what is left out and follows from the load case stays 0."""
    table = FlightTable() if file.flight is None else file.flight
    cruise = table.cruise_speed or file.case.speed or 0.0
    for key in ("cruise_speed", "never_exceed_speed"):
        if (getattr(table, key) or 0.0) > _FASTEST:
            _supersonic(draft, ("flight", key))
    if table.never_exceed_speed is not None and table.never_exceed_speed <= cruise:
        draft.note(
            ("flight", "never_exceed_speed"),
            f"must be more than the cruise speed, {say.speed(cruise):.4g}.",
        )
    return record(
        Flight,
        table,
        max_lift_coefficient=greatest_lift(file),
        never_exceed_gust_velocity=table.never_exceed_gust_velocity or table.gust_velocity / 2,
        loadings=_loadings(draft, file, table),
        air_density=table.air_density or file.case.air_density,
    )


def hand_test(draft: FileDraft, file: WingFile, spars: Sequence[str], n_ribs: int) -> HandTest | None:
    """The hand test of the file.

    Parameters
    ----------
    draft : FileDraft
        The file being read; faults go to it.
    file : WingFile
        Its checked shape.
    spars : sequence of str
        Names of the spars.
    n_ribs : int
        Ribs of one side.

    Returns
    -------
    HandTest or None
        None where the file says nothing.
    """
    table = file.hand_test
    if table is None:
        return None
    expected = f"is no rib of this wing; expected a number from 1 (innermost) to {n_ribs}."
    if table.held_at is not None and table.held_at > n_ribs:
        draft.note(("hand_test", "held_at"), expected)
    for i, bag in enumerate(table.hang):
        if bag.rib is not None and bag.rib > n_ribs:
            draft.note(("hand_test", "hang", i, "rib"), expected)
        if bag.at is not None and bag.at not in (*spars, "leading edge", "trailing edge"):
            names = ", ".join(f'"{name}"' for name in spars)
            draft.note(
                ("hand_test", "hang", i, "at"),
                f'is no place to hang a bag; expected {names}, "leading edge" or "trailing edge".',
            )
    return HandTest(table.held_at, tuple(Hung(bag.mass, bag.at, bag.rib) for bag in table.hang))


def balance(draft: FileDraft, file: WingFile) -> WantedBalance:
    """What the builder wants of the balance."""
    table = BalanceTable() if file.balance is None else file.balance
    if table.most_static_margin <= table.least_static_margin:
        draft.note(
            ("balance", "most_static_margin"),
            f"must be more than the least static margin, {100 * table.least_static_margin:g} %.",
        )
    return record(WantedBalance, table, neutral_point=table.neutral_point, ballast_at=table.ballast_at)


def _loadings(draft: FileDraft, file: WingFile, table: FlightTable) -> tuple[Loading, ...]:
    """Loadings whose masses are all in the file."""
    known = [mass.name for mass in file.masses]
    found = []
    for name, loading in table.loadings.items():
        here = ("flight", "loadings", name)
        if not loading.masses and loading.mass is None:
            draft.note(here, "changes nothing: give `mass`, or `masses` by name.")
        for item in loading.masses:
            if item not in known:
                draft.note(
                    (*here, "masses", item),
                    f"is none of the entries of [[masses]]{did_you_mean(item, known) or '.'}",
                )
        found.append(Loading(name, loading.mass or 0.0, tuple(loading.masses.items())))
    return tuple(found)


_STEEPEST = np.radians(60)
"""Largest deflection that small angles let pass."""


def elevons(draft: FileDraft, file: WingFile, semispan: float) -> Elevons | None:
    """Elevons and how far they are moved; None where the file has none."""
    table = file.elevons
    if table is None:
        return None
    if table.to > semispan + TOUCHING:
        draft.note(("elevons", "to"), f"lies beyond the tip at {mm(semispan)}.")
    elif table.from_ >= table.to - TOUCHING:
        draft.note(("elevons", "from"), "does not lie inboard of the outer end.")
    if not 0 < table.hinge < 1:
        draft.note(("elevons", "hinge"), "must lie between the leading and the trailing edge.")
    if not 0 < table.deflection <= _STEEPEST:
        offered = hint(draft.raw_at(("elevons", "deflection")), 0.01, _STEEPEST, "", kind="angle")
        draft.note(
            ("elevons", "deflection"), f"must be more than zero and at most 60 degrees{offered or '.'}"
        )
    if (table.speed or 0.0) > _FASTEST:
        _supersonic(draft, ("elevons", "speed"))
    if table.acts == "pitch":
        draft.not_assumed.add("elevons.load_factor")
    if table.acts == "pitch" and table.load_factor is not None:
        draft.note(("elevons", "load_factor"), 'is that of roll, and the elevons act in "pitch" alone.')
    if table.servo_stiffness is None:
        draft.not_assumed.update(("elevons.mass", "elevons.balance", "elevons.slack"))
        for key, given in (("mass", table.mass), ("balance", table.balance), ("slack", table.slack or None)):
            if given is not None:
                draft.note(("elevons", key), "is of an elevon that gives way, and needs servo_stiffness.")
    if not 0 <= table.slack <= _STEEPEST:
        draft.note(("elevons", "slack"), "must be between 0 and 60 degrees.")
    if (table.servo_arm is None) != (table.control_horn is None):
        key = "servo_arm" if table.servo_arm is None else "control_horn"
        draft.note(("elevons", key), "is missing: the linkage is servo_arm over control_horn; give both.")
    linkage = (table.servo_arm or 1.0) / (table.control_horn or 1.0)
    return record(
        Elevons,
        table,
        y_from=table.from_,
        y_to=min(table.to, semispan),
        load_factor=_or_nan(table.load_factor),
        balance=_or_nan(table.balance),
        linkage=linkage if table.servo_arm and table.control_horn else 1.0,
        servo_torque=_or_nan(table.servo_torque),
    )


def landing(draft: FileDraft, file: WingFile) -> Landing:
    """How the wing may be set down, dropped and carried."""
    table = LandingTable() if file.landing is None else file.landing
    if (table.tip_speed is None) != (table.tip_stop is None):
        key = "tip_speed" if table.tip_stop is None else "tip_stop"
        draft.note(("landing", key), "needs both: tip_speed and tip_stop.")
    elif table.tip_speed is not None and table.tip_force is not None:
        draft.note(("landing", "tip_force"), "stands beside tip_speed; give one of the two.")
    if not 0 <= table.tip_at <= 1:
        draft.note(("landing", "tip_at"), "lies outside the chord.")
    if table.belly_on == "rails" and not file.rails:
        draft.note(("landing", "belly_on"), "names rails, and there are none.")
    _named(draft, file, ("landing", "legs"), table.legs)
    with_legs = {"leg_load_factor": 3.0, "leg_friction": 0.3, "leg_length": 0.1}
    leg = _beside(draft, ("landing", "legs"), table.legs, with_legs, table)
    return record(
        Landing,
        table,
        tip_force=1.0 if table.tip_force is None else table.tip_force,
        belly_x=_or_nan(table.belly_x),
        legs=table.legs or "",
        **leg,
    )


def launch(draft: FileDraft, file: WingFile) -> Launch | None:
    """How it is launched; None where the file does not say."""
    table = file.launch
    if table is None:
        return None
    here: Location = ("launch",)
    tow = _beside(
        draft,
        (*here, "tow_tension"),
        table.tow_tension,
        {"tow_angle": float(np.radians(70)), "tow_load_factor": 1.0},
        table,
    )
    bungee = _beside(
        draft, (*here, "bungee_tension"), table.bungee_tension, {"bungee_angle": float(np.radians(10))}, table
    )
    for key, value in (("tow_angle", tow["tow_angle"]), ("bungee_angle", bungee["bungee_angle"])):
        if not -np.pi / 2 <= value <= np.pi / 2:
            draft.note((*here, key), "must lie between -90 and 90 degrees.")
    pulls = table.tow_tension or table.bungee_tension
    hook = _beside(draft, (*here, "tow_tension"), pulls, dict.fromkeys(("hook_x", "hook_z"), np.nan), table)
    _named(draft, file, (*here, "motor"), table.motor)
    if any(m.name == table.motor and m.carried_by == "rails" for m in file.masses):
        draft.note((*here, "motor"), "is carried by rails; its table is [engine].")
    if table.motor is not None and table.motor_thrust is None:
        draft.note((*here, "motor"), "needs a motor_thrust.")
    motor = _beside(draft, (*here, "motor"), table.motor, {"motor_thrust": 0.0, "motor_torque": 0.0}, table)
    return record(Launch, table, motor=table.motor or "", **tow, **bungee, **hook, **motor)


def _named(draft: FileDraft, file: WingFile, at: Location, name: str | None) -> None:
    """Note a name that none of the masses has."""
    if name is not None and name not in {mass.name for mass in file.masses}:
        draft.note(at, "is not the name of any of the masses.")


def _beside(
    draft: FileDraft,
    main: Location,
    given: object,
    defaults: dict[str, float],
    table: LandingTable | LaunchTable,
) -> dict[str, float]:
    """Values of keys that mean something only beside another, or their defaults; others are noted."""
    found = {}
    for key, default in defaults.items():
        value = getattr(table, key)
        if given is None:
            draft.not_assumed.add(f"{main[0]}.{key}")
            if value is not None:
                draft.note((main[0], key), f"means something only together with {main[1]}.")
        found[key] = default if value is None else value
    return found
