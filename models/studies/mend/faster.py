"""What lets a wing fly as fast as its file asks: changes judged by the limit of `models.studies.speed_limit`.

Asked only of a wing whose file states a speed and that is strong enough. Each change is condensed and its
speeds found on the coarsest mesh; the one that raises the limit most for its grams stays, and so on.
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial
from itertools import chain
from typing import Any

from models import units_out as say
from models.studies.mend.remedies import Remedy, edited, in_unit, putting, second_webs, thicker_sheeting
from models.studies.speed_limit import Limit, limit
from models.wing.faults import WingFileError
from models.wing.intake import shown_all
from models.wing.parts import Wing
from models.wing.words import spar_words

MOST_ROUNDS = 6
_FORWARD = 0.25
"""How far forward masses near the tips are moved in one step, and at the most ahead of the leading edge, of
the chord there: a choice."""
_HELPS = 1.01
"""Least gain of speed that counts."""
_SLIGHT = 1e-3
"""Mass that any change costs at least, kg: the work of it."""


@dataclass(frozen=True)
class Faster:
    """A change and the speed that it lets. The limit is with it, and so much mass is `gained`, kg."""

    remedy: Remedy
    after: Limit
    gained: float


def faster(
    text: str,
    read: Callable[[str], Wing],
    mass: Callable[[Wing], float],
    before: Limit,
    step: Callable[[str], None] | None = None,
) -> tuple[list[Faster], list[Faster]]:
    """Changes that let a wing fly faster, one on top of the other until what is asked is let.

    Parameters
    ----------
    text : str
        Of the wing file.
    read : callable
        Reads a text.
    mass : callable
        Of a wing's structure, kg.
    before : Limit
        Of the wing as it is.
    step : callable or None
        Told in words what is tried.

    Returns
    -------
    list of Faster
        Steps in order; what is asked may still not be let where nothing more helps.
    list of Faster
        First changes by themselves, the best first.
    """
    steps: list[Faster] = []
    alone: list[Faster] = []
    now = before
    for _ in range(MOST_ROUNDS):
        if now.holds:
            break
        wing = read(text)
        found: list[Faster] = []
        for gained, remedy, changed in _lightest_first(text, wing, now, read, mass):
            if any(one.after.holds and one.gained <= gained for one in found):
                break  # a heavier one is none the better
            if step is not None:
                step(remedy.words)
            try:
                after = limit(changed, per_bay=1)
            except ValueError:  # a mechanism: a change that makes no wing
                continue
            if after.counted > _HELPS * now.counted:
                found.append(Faster(remedy, after, gained))
        found.sort(key=lambda one: -_worth(one, now))
        alone = alone or found
        if not found:
            break
        # Of those that are enough the lightest, else what buys most speed for its mass.
        enough = [one for one in found if one.after.holds]
        best = min(enough, key=lambda one: one.gained) if enough else found[0]
        steps.append(best)
        text, now = best.remedy.edit(text), best.after
    return steps, alone


def _lightest_first(
    text: str, wing: Wing, found: Limit, read: Callable[[str], Wing], mass: Callable[[Wing], float]
) -> list[tuple[float, Remedy, Wing]]:
    """Changes that make a wing, with the mass that each adds, kg."""
    own, out = mass(wing), list[tuple[float, Remedy, Wing]]()
    for remedy in remedies(text, wing, found):
        try:
            changed = read(remedy.edit(text))
            out.append((round(mass(changed) - own, 9), remedy, changed))
        except (WingFileError, ValueError):
            continue
    return sorted(out, key=lambda one: one[0])


def _worth(one: Faster, before: Limit) -> float:
    """Growth of the speed, no farther than asked, for its mass."""
    most = 1e3 if not before.asked else before.asked * 1.2
    return math.log(min(one.after.counted, most) / before.counted) / max(one.gained + _SLIGHT, 1e-4)


def remedies(text: str, wing: Wing, found: Limit) -> list[Remedy]:
    """What may let a wing fly faster. Of its file's text, and of what limits it. Each once."""
    raw = shown_all(tomllib.loads(text))
    out: dict[str, Remedy] = {}
    # Webs on the other face, and in open bays.
    webs = chain.from_iterable(second_webs(raw, wing, spar) for spar in wing.spars)
    for remedy in chain(_forward(raw, wing, found), webs, thicker_sheeting(raw), _box(raw, wing)):
        out.setdefault(remedy.words, remedy)
    return list(out.values())


def _forward(raw: dict[str, Any], wing: Wing, found: Limit) -> Iterator[Remedy]:
    """Masses near the tips forward, which helps where the wing beats."""
    plan = wing.planform
    if plan is None or (found.first != "beating" and found.fifth >= found.onset):
        return
    for k, table in enumerate(raw.get("masses", ())):
        item = next((one for one in wing.masses if one.name == table["name"]), None)
        if item is None or abs(item.y) <= wing.semispan / 2:
            continue
        chord, front = float(plan.chord.at(abs(item.y))), float(plan.leading_edge_x.at(abs(item.y)))
        least = front - _FORWARD * chord if item.places is None else item.places[0]
        x = max(item.x - _FORWARD * chord, least)
        if x > item.x - 1e-3:
            continue
        size = in_unit(round(x, 3), str(table["x"]))
        words = f"{item.name} {say.length(item.x - x):.0f} forward, to {size}"
        yield putting(words, [("masses", k)], x=size)


def _box(raw: dict[str, Any], wing: Wing) -> Iterator[Remedy]:
    """Sheeting of the nose back to the first spar, where the file has none."""
    if any(sheet.get("from", "leading edge") == "leading edge" for sheet in raw.get("sheeting", ())):
        return
    first = wing.spars[0].name
    yield Remedy(
        f"sheeting of balsa {_thin()} from the leading edge to the {spar_words(first)}",
        partial(edited, change=partial(_add_box, to=first)),
    )


def _thin() -> str:
    """The thinnest sheeting, as a file has it."""
    return "1/32 in" if say.imperial() else "1 mm"


def _add_box(document: Any, to: str) -> None:
    import tomlkit

    sheet = tomlkit.table()
    sheet.update({"from": "leading edge", "to": to, "thickness": _thin(), "wood": "balsa medium"})
    if "sheeting" not in document:
        document["sheeting"] = tomlkit.aot()
    document["sheeting"].append(sheet)
