"""One list of everything that a wing is built of: sheets, sticks, joiners, bolts, covering and what is
fitted, with mass.

Sheets are counted by laying every flat piece on them, webs, ribs, braces, ties and sheeting of one wood and
thickness together; sticks by cutting them from lengths of a metre, longer ones scarfed 1 in 12.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from fea.arrays import Array
from models import units_out as say
from models.drawings.cut_list import Shape
from models.drawings.nesting import TooBig, nest
from models.drawings.other_pieces import Plate, Stick
from models.drawings.rib_outlines import RibShape
from models.drawings.stock import SheetSize, choose, solid
from models.drawings.web_pieces import WebPiece
from models.wing.parts import Wing
from models.woods.wood import Material

SCARF = 12.0
"""Length of a scarf over the height of the stick."""
WASTE = 0.7
"""Share of a sheet that is used where pieces could not be laid on it one by one: common practice, no
source."""


_COARSE = 2e-4
"""How far the outline of a rib may be from itself where sheets are counted, m."""


@dataclass(frozen=True)
class Item:
    """One line of the list.

    Parameters
    ----------
    what, size : str
        In words.
    quantity : float
        How many to buy.
    unit : str
        "sheet", "stick", "piece" or "m2".
    mass : float
        Of what of it is in the wing, both sides, kg.
    use : str
        What it is for.
    """

    what: str
    size: str
    quantity: float
    unit: str
    mass: float
    use: str


def shopping(
    wing: Wing,
    cut: Sequence[Shape],
    ribs: Sequence[RibShape],
    flat: Sequence[Plate],
    long: Sequence[Stick],
    stocks: Sequence[SheetSize],
    gap: float,
) -> tuple[Item, ...]:
    """Everything to buy.

    Parameters
    ----------
    wing, cut, ribs, flat, long
        The wing, its webs, its ribs; braces, ties and sheeting; caps, edges, rails and cap strips.
    stocks, gap
        Sizes of sheet, and the least distance between two pieces on one, m.
    """
    return (
        *_sheets(cut, ribs, flat, stocks, gap),
        *_sticks(long),
        *_bought(wing),
        *_covering(wing),
        *_fitted(wing),
    )


def _piece(material: Material, thickness: float, outline: Array, grain: float, kind: str) -> WebPiece:
    """A flat piece as the nesting takes it."""
    return WebPiece(
        kind, "", 0, "", material, thickness, grain, outline, 0.0, 0.0, 0.0, 0.0, 0.0, ("", ""), ()
    )


def _sheets(
    cut: Sequence[Shape],
    ribs: Sequence[RibShape],
    flat: Sequence[Plate],
    stocks: Sequence[SheetSize],
    gap: float,
) -> list[Item]:
    shapes: list[tuple[str, Shape, float]] = [("webs", s, sum(p.area for p in s.pieces)) for s in cut]
    for rib in ribs:
        for k, part in enumerate(rib.parts):
            # For counting its hull will do: ribs do not lie in one another's notches.
            corners = np.array(part.convex_hull.simplify(_COARSE).exterior.coords)[:-1]
            one = _piece(
                rib.rib.material, rib.rib.thickness, corners - corners.min(axis=0), rib.rib.grain, "ribs"
            )
            shape = Shape(f"{rib.mark}{k}", one.outline, one.grain, (one,) * rib.count)
            shapes.append(("ribs", shape, rib.count * float(part.area)))
    names = {"brace": "braces", "rail tie": "rail ties", "sheeting": "sheeting"}
    for plate in flat:
        kind = names[plate.kind]
        one = _piece(plate.material, plate.thickness, plate.outline, plate.grain, kind)
        shape = Shape(plate.mark, plate.outline, plate.grain, (one,) * plate.count)
        shapes.append((kind, shape, plate.count * plate.area))
    groups: dict[tuple[str, float], list[tuple[str, Shape, float]]] = {}
    for kind, shape, amount in shapes:
        groups.setdefault((shape.first.material.name, round(shape.first.thickness, 9)), []).append(
            (kind, shape, amount)
        )
    out = []
    for (wood, thickness), members in groups.items():
        material = members[0][1].first.material
        stock = choose(stocks, material, thickness)
        own = [shape for _, shape, _ in members]
        area = sum(amount for _, _, amount in members)
        more = ""
        try:
            count = len(nest(own, stocks, gap))
        except TooBig:
            count = math.ceil(area / (WASTE * stock.width * stock.length))
            more = "; some longer than a sheet, join them"
        kinds = ", ".join(dict.fromkeys(kind for kind, *_ in members))
        size = f"{say.size(thickness):.4g}, {stock.size}"
        out.append(Item(wood, size, count, "sheet", area * thickness * material.density, kinds + more))
    return out


def _sticks(long: Sequence[Stick]) -> list[Item]:
    groups: dict[tuple[str, float, float], list[Stick]] = {}
    for one in long:
        groups.setdefault((one.material.name, round(one.width, 5), round(one.height, 5)), []).append(one)
    out, stick = [], solid().length
    for (wood, width, height), members in groups.items():
        lengths = [one.length for one in members for _ in range(one.count)]
        joined = any(length > stick + 1e-9 for length in lengths)
        kinds = ", ".join(dict.fromkeys(f"{one.kind.removesuffix('s')}s" for one in members))
        # Cap strips are many short ones, told by their sum.
        if any(one.kind == "cap strips" for one in members):
            joined = False
            count = math.ceil(sum(lengths) / stick - 1e-9)
        else:
            count = n_sticks(lengths, height)
        use = kinds + ("; longer than a stick, scarf them" if joined else "")
        mass = sum(one.count * one.mass for one in members)
        size = f"{say.size.each(width, height, spec='.3g')}, {say.ruler(solid().length):.0f} long"
        out.append(Item(wood, size, count, "stick", mass, use))
    return out


def n_sticks(lengths: Iterable[float], height: float) -> int:
    """Sticks, as long as they are sold, that lengths (m) are cut from, the longest first; longer are scarfed.

    A scarf takes `SCARF` times the height of the stick (m) of its length.
    """
    pieces, stick = [], solid().length
    for length in lengths:
        while length > stick + 1e-9:
            pieces.append(stick)
            length += SCARF * height - stick
        pieces.append(length)
    left: list[float] = []
    for piece in sorted(pieces, reverse=True):
        for k, rest in enumerate(left):
            if rest >= piece - 1e-9:
                left[k] = rest - piece
                break
        else:
            left.append(stick - piece)
    return len(left)


def _bought(wing: Wing) -> list[Item]:
    out = []
    for one in wing.joiners:
        count = 2 if one.at > 1e-9 else 1
        size = f"{say.size(one.width):.4g}"
        if one.form == "blade":
            size = f"{say.size.each(one.width, one.height, spec='.4g')}"
        elif one.form == "tube":
            size += f" outside, {say.size(one.wall):.3g} wall"
        mass = count * 2 * one.reach * one.area * one.material.density
        size = f"{one.form} {size}, {say.ruler(2 * one.reach):.0f} long"
        out.append(Item(one.material.name, size, count, "piece", mass, "joiner"))
    own = wing.fastening
    if own is not None:
        if own.bolts:
            out.append(
                Item("bolts", f"{say.size(own.thread):.3g}", own.bolts, "piece", own.mass, "wing on fuselage")
            )
        elif own.bands:
            out.append(Item("rubber bands", "", own.bands, "piece", own.mass, "wing on fuselage"))
        if own.dowels:
            size = f"{say.size(own.dowel):.3g}"
            # Their mass stands with the bolts'.
            out.append(
                Item(own.dowel_material.name, size, own.dowels, "piece", 0.0, "dowels, wing on fuselage")
            )
    return out


def _covering(wing: Wing) -> list[Item]:
    plan = wing.planform
    if plan is None:
        return []
    found: dict[tuple[str, float], Item] = {}
    for one in wing.coverings:
        area = 0.0
        for _, bay in one.bays:
            k = bay - wing.first_bay
            y = np.linspace(wing.bay_edges[k], wing.bay_edges[k + 1], 9)
            area += float(np.trapezoid(one.x_to.at(y) - one.x_from.at(y), y))
        key = (one.film, one.mass_per_area)
        item = Item(one.film or "covering", f"{say.film_mass(one.mass_per_area):.3g}", area, "m2",
                    area * one.mass_per_area, "covering")  # fmt: skip
        known = found.get(key)
        found[key] = item if known is None else replace(
            known, quantity=known.quantity + area, mass=known.mass + item.mass
        )  # fmt: skip
    if wing.covering_mass_per_area > 0:
        area, per = 2 * plan.area, wing.covering_mass_per_area
        laid = [one for key, one in found.items() if key[1] == 0]
        found = {key: one for key, one in found.items() if key[1] > 0}
        name = laid[0].what if laid else "covering"
        found[name, per] = Item(
            name, f"{say.film_mass(per):.3g}", area, "m2", area * per, "covering of both surfaces"
        )
    return list(found.values())


def _fitted(wing: Wing) -> list[Item]:
    counted = [(one, 2 if one.paired else 1) for one in wing.masses]
    return [Item(one.name, "", count, "piece", one.mass * count, "fitted") for one, count in counted]


COLUMNS = ("what", "size", "buy", "unit", "mass_in_wing_g", "for")


def rows(items: Sequence[Item]) -> list[dict[str, object]]:
    """The list as plain rows in builder's units, `COLUMNS`."""
    cells = (
        (one.what, one.size, round(one.quantity, 3), one.unit, round(1e3 * one.mass, 2), one.use)
        for one in items
    )
    return [dict(zip(COLUMNS, row, strict=True)) for row in cells]
