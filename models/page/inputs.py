"""The page's tables of what goes in: the wing as it was read, and every default that stands in for a key."""

from __future__ import annotations

import math

import numpy as np

from models import units_out as say
from models.page.tables import PageTable, table
from models.rounding import gees
from models.wing.parts import Cap, Line, Spar, Wing
from models.wing.words import number_runs


def wing_tables(wing: Wing) -> list[PageTable]:
    """Outline, spars, webs and what else the wing is made of, in a builder's units."""
    return [one for one in (_outline(wing), _spars(wing), _webs(wing), _other(wing)) if one.rows]


def assumed_table(wing: Wing) -> PageTable | None:
    """Every default, of the tables that the file has and of those that it leaves out."""
    every = [*wing.assumed]
    for part in (wing.flight, wing.landing, wing.balance):
        if part is not None:
            every += part.assumed
    rows = [(key, say.as_spoken(value)) for key, value in dict.fromkeys(every)]
    if not rows:
        return None
    return table("Assumed, since the file does not say", ["<key", "<taken as"], rows)


def _outline(wing: Wing) -> PageTable:
    rows: list[tuple[str, str]] = []
    case, plan = wing.case, wing.planform
    if plan is not None:
        root, tip = float(plan.chord.at(0.0)), float(plan.chord.at(plan.semispan))
        rows += [
            ("span", f"{say.length.told(2 * plan.semispan, 0)}"),
            ("chord, centre to tip", f"{say.length.fixed(root, 0)} to {say.length.told(tip, 0)}"),
            ("area", say.area.fixed(plan.area) + " " + say.area.unit.replace("2", "²")),
            ("load", f"{case.name}, {gees(case.load_factor)} g"),
            ("flying mass", say.mass.told(case.flying_mass, 0) if case.flying_mass else "sum of its parts"),
            (
                "sections' pitching moment coefficient",
                "by their mean lines" if case.moment_coefficient is None else f"{case.moment_coefficient:g}",
            ),
            (
                "lift along the span by",
                {"schrenk": "Schrenk", "surface": "lifting surface"}[case.lift_method],
            ),
        ]
    else:
        rows += [
            ("length", f"{say.length.told(wing.semispan, 0)}"),
            ("force at the tip", f"{say.force.number(case.tip_force)} {say.force.unit}"),
            ("torque at the tip", f"{say.small_moment.number(case.tip_torque)} {say.small_moment.unit}"),
        ]
    ribs = [rib.y for rib in wing.ribs]
    if ribs:
        what = "ribs" + (" a side, with any on the centre line" if plan is not None else "")
        ends = f"from {say.length.fixed(ribs[0], 0)} to {say.length.told(ribs[-1], 0)}"
        rows.append((what, f"{len(ribs)}, {ends}"))
        thick = dict.fromkeys(f"{say.size.told(r.thickness)} {r.material.name}" for r in wing.ribs)
        rows.append(("ribs made from", ", ".join(thick)))
    return table("The wing" if plan is not None else "The specimen", ["<what", "<size"], rows)


def _spars(wing: Wing) -> PageTable:
    rows = [
        (spar.name, name, *_cap(cap, spar), say.length.fixed(spar.y_end, 0))
        for spar in wing.spars
        for name, cap in (("upper", spar.upper), ("lower", spar.lower))
    ]
    mm = say.length.unit
    columns = ["<spar", "<cap", f"width, {mm}", f"height, {mm}", "<wood", f"ends at, {mm}"]
    caption = "Spar caps, from the centre outward" if wing.planform is not None else "Spar caps"
    return table(caption, columns, rows)


def _cap(cap: Cap, spar: Spar) -> tuple[str, str, str]:
    heights = " + ".join(_range(layer.height, spar.y_end) for layer in cap.layers)
    woods = " + ".join(layer.material.name for layer in cap.layers)
    return _range(cap.width, spar.y_end), heights, woods


def _range(line: Line, end: float) -> str:
    first, last = say.size.fixed(float(line.at(0.0))), say.size.fixed(float(line.at(end)))
    return first if first == last else f"{first} to {last}"


def _webs(wing: Wing) -> PageTable:
    """Webs that are alike gathered into one row, their bays as runs."""
    found: dict[tuple[str, ...], set[int]] = {}
    for spar in wing.spars:
        for web in spar.webs:
            key = (
                spar.name, web.face, say.size.fixed(web.thickness), web.material.name, _grain(web.grain),
                web.glue,
            )  # fmt: skip
            found.setdefault(key, set()).add(web.bay)
    rows = [
        (spar, ", ".join(number_runs(bays)), face, thick, wood, grain, glue)
        for (spar, face, thick, wood, grain, glue), bays in found.items()
    ]
    columns = ["<spar", "<bays", "<face", f"thickness, {say.length.unit}", "<wood", "<grain", "<glue"]
    return table("Shear webs", columns, rows)


def _grain(angle: float) -> str:
    degrees = math.degrees(angle)
    return {0: "along the span", 90: "upright"}.get(round(degrees), f"{degrees:.0f}° from the span")


def _other(wing: Wing) -> PageTable:
    rows: list[tuple[str, str]] = []
    for edge in wing.edges:
        size = f"{say.size.fixed(edge.width)} x {say.size.told(edge.height)}"
        rows.append((f"{edge.kind} edge", f"{size} {edge.material.name}"))
    sheets: dict[tuple[str, str], set[int]] = {}
    for sheet in wing.sheets:
        grain = _grain(sheet.grain).replace("upright", "fore and aft")
        words = f"{say.size.told(sheet.thickness)} {sheet.material.name}, grain {grain}"
        sheets.setdefault((f"{sheet.surface} sheeting", words), set()).update(bay for _, bay in sheet.bays)
    rows += [
        (name, f"{words}, bays {', '.join(number_runs(bays))}") for (name, words), bays in sheets.items()
    ]
    rows += [
        (
            f"brace on the {brace.spar} spar",
            f"{say.size.told(brace.thickness)} {brace.material.name} out to "
            f"{say.length.told(brace.y_end, 0)}",
        )
        for brace in wing.braces
    ]
    rows += [
        (
            f"{one.form} joiner of the {one.spar} spar"
            + (f" at {say.length.told(one.at, 0)}" if one.station else ""),
            f"{say.size.told(one.height)} {one.material.name}, {say.length.told(one.reach, 0)} to each side",
        )
        for one in wing.joiners
    ]
    rows += [
        (f"rail {rail.name}", f"{say.size.fixed(rail.width)} x {say.size.told(rail.height)}")
        for rail in wing.rails
    ]
    rows += [
        (mass.name, f"{'2 x ' if mass.paired else ''}{say.mass.told(mass.mass, 0)}") for mass in wing.masses
    ]
    if wing.covering_mass_per_area:
        per = f"{say.film_mass.fixed(wing.covering_mass_per_area)} {say.film_mass.unit}"
        rows.append(("covering", per.replace("m2", "m²")))
    rows += [
        (
            f"covering, {one.surface}",
            f"{one.film}, taut with {say.force_per_span(one.pretension[0]):.3g} along the span",
        )
        for one in wing.coverings
        if one.stretch is not None
    ]
    elevons = wing.elevons
    if elevons is not None:
        ends = f"{say.length.fixed(elevons.y_from, 0)} to {say.length.told(elevons.y_to, 0)}"
        rows.append(("elevons", f"{ends}, {float(np.degrees(elevons.deflection)):.0f}° at most"))
    return table("What else it is made of, and carries", ["<what", "<size"], rows)
