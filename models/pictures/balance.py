"""Balance drawn on the wing: plan and side view, what is heavy, centre of gravity, range, neutral point."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

import numpy as np

from models import units_out as say
from models.pictures import stage
from models.pictures.plots import BLUE, GREEN, ORANGE, PINK, dress_panel, empty_sheet, save_figure
from models.studies.balance import Balance, places_told

_PAPER = {"facecolor": "white", "edgecolor": "none", "alpha": 0.75, "pad": 0.8}
_NUMBER: dict[str, Any] = {
    "textcoords": "offset points", "fontsize": 11, "fontweight": "bold", "color": BLUE, "ha": "center",
    "va": "center", "bbox": _PAPER,
}  # fmt: skip
"""How the number of a mass is written beside it."""


def plot_balance(found: Balance, path: str | os.PathLike[str]) -> Path:
    """Write plan view, side view and range of the centre of gravity as a PNG, replaced whole."""
    figure = empty_sheet(balance_title(found))
    grid = figure.add_gridspec(3, 3, height_ratios=(2.6, 1.35, 1.0), width_ratios=(1, 1, 0.82))
    plan = figure.add_subplot(grid[0, :2])
    plan.legend(*plan_on(plan, found), frameon=False, fontsize=11, loc="lower right",
                bbox_to_anchor=(1.0, 0.98), ncols=3, handletextpad=0.3, columnspacing=1.2)  # fmt: skip
    _side(figure.add_subplot(grid[1, :2]), found)
    range_on(figure.add_subplot(grid[2, :2]), found)
    _list(figure.add_subplot(grid[:, 2]), found)
    return save_figure(figure, path)


def balance_title(found: Balance) -> str:
    """The answer over the picture: where it balances, and whether that is within the range wanted."""
    datum, form = found.wanted.datum, f".{places_told(found)}f"
    low, high = (say.length.bare(x - datum, form) for x in (found.foremost, found.rearmost))
    places = [
        f"{say.length(float(s.centre[0]) - datum):{form}}" + (f" ({s.name} tank)" if s.name else "")
        for s in found.states
    ]
    wanted = f"the range wanted, {low} to {high} {say.length.unit}"
    if found.inside is None:
        return f"{found.wing.name}: what the file describes balances at {' and '.join(places)}; {wanted}"
    judged = "inside" if found.inside else "outside"
    return f"{found.wing.name}: balances at {' and '.join(places)}, {judged} {wanted}"


def _marks(found: Balance) -> list[tuple[float, str, str, str]]:
    """Centres of gravity and neutral point: x in mm from the datum, marker, colour, words."""
    datum, mm = found.wanted.datum, say.length.factor
    looks = (("o", PINK), ("s", ORANGE))
    what = "centre of gravity" if found.inside is not None else "what the file describes"
    out = [
        (mm * (float(s.centre[0]) - datum), *look, what + (f", tank {s.name}" if s.name else ""))
        for s, look in zip(found.states, looks)
    ]
    return [*out, (mm * (found.neutral_x - datum), "D", stage.INK, "neutral point")]


def plan_on(panel: Any, found: Balance) -> tuple[list[Any], list[str]]:
    """Draw the plan view into a panel of a figure: outline, spars, rails, masses by number, range.

    Gives the marks of the centres of gravity and of the neutral point with their words, for a legend.
    """
    datum, mm = found.wanted.datum, say.length.factor
    _frame_on(panel, found)
    panel.axhspan(
        mm * (found.foremost - datum), mm * (found.rearmost - datum), color=GREEN, alpha=0.3, linewidth=0
    )
    for k, item in enumerate(found.wing.masses, 1):
        for sign in (1, -1) if item.paired else (1,):
            place = mm * sign * item.y, mm * (item.x - datum)
            panel.plot(*place, ".", color=BLUE, markersize=8)
            panel.annotate(str(k), place, (11 if place[0] >= 0 else -11, 0), **_NUMBER, zorder=6)
    plan = found.wing.planform
    assert plan is not None
    sides = [mm * float(s.centre[1]) for s in found.states] + [0.0]
    marks = _marks(found)
    # Marks that lie a few millimetres apart stand beside each other, each with a line to its place.
    reach = 0.24 * mm * plan.semispan
    beside = [(-1.0, 1.0)[k % 2] * reach for k in range(len(marks) - 1)]
    beside.append((1.0 if len(marks) < 3 else -1.7) * reach)
    handles: list[Any] = []
    names: list[str] = []
    for side, away, (x, marker, colour, words) in zip(sides, beside, marks):
        panel.plot([side, side + away], [x, x], color=colour, linewidth=1.2, zorder=5)
        (mark,) = panel.plot(
            side + away, x, marker, color=colour, markersize=9, markeredgecolor="white", zorder=6
        )
        handles.append(mark)
        names.append(words)
    _flat(panel, "Plan view, nose up the page", f"span station, {say.length.unit} (starboard +)")
    panel.invert_yaxis()
    panel.set_ylabel(f"aft of the datum, {say.length.unit}", fontsize=11)
    return handles, names


def _flat(panel: Any, title: str, along: str) -> None:
    dress_panel(panel, title, along)
    panel.set_aspect("equal", adjustable="datalim")


def _frame_on(panel: Any, found: Balance) -> None:
    """Outline, spars and rails of both sides from above."""
    wing, plan, datum, mm = found.wing, found.wing.planform, found.wanted.datum, say.length.factor
    assert plan is not None
    y = np.unique(np.concatenate([plan.chord.y, plan.leading_edge_x.y, [0.0, plan.semispan]]))
    front = plan.leading_edge_x.at(y) - datum
    rear = front + plan.chord.at(y)
    span = np.concatenate([-y[::-1], y])
    for edge in (front, rear):
        panel.plot(mm * span, mm * np.concatenate([edge[::-1], edge]), color=stage.INK, linewidth=1.6)
    for sign in (1, -1):
        tip = np.array([front[-1], rear[-1]])
        panel.plot(mm * sign * y[[-1, -1]], mm * tip, color=stage.INK, linewidth=1.6)
        for spar in wing.spars:
            at = np.linspace(0.0, spar.y_end, 30)
            panel.plot(mm * sign * at, mm * (spar.x.at(at) - datum), color=stage.GHOST, linewidth=1.4)
        for rail in wing.rails:
            ends = np.array([rail.x_front, rail.x_rear]) - datum
            panel.plot(mm * sign * np.full(2, rail.y), mm * ends, color=stage.FAINT, linewidth=2)


def _side(panel: Any, found: Balance) -> None:
    wing, plan, datum, mm = found.wing, found.wing.planform, found.wanted.datum, say.length.factor
    assert plan is not None
    at = np.linspace(0.0, 1.0, 201)
    for y, style in ((0.0, "-"), (plan.semispan, ":")):
        for upper in (True, False):
            x, z = plan.surface(y, at, upper)
            label = ("centre section" if y == 0 else "tip section") if upper else None
            colour = stage.INK if y == 0 else stage.FAINT
            panel.plot(mm * (x - datum), mm * z, color=colour, linestyle=style, linewidth=1.4, label=label)
    for rail in wing.rails:
        ends = mm * (np.array([rail.x_front, rail.x_rear]) - datum)
        panel.plot(ends, mm * np.full(2, rail.z), color=stage.FAINT, linewidth=3, alpha=0.6)
    panel.axvspan(
        mm * (found.foremost - datum), mm * (found.rearmost - datum), color=GREEN, alpha=0.3, linewidth=0
    )
    for k, item in enumerate(wing.masses, 1):
        place = (mm * (item.x - datum), mm * item.z)
        panel.plot(*place, ".", color=BLUE, markersize=8)
        panel.annotate(str(k), place, (0, 11), **_NUMBER)
    marks = _marks(found)
    for state, (aft, marker, colour, _) in zip(found.states, marks):
        panel.plot(aft, mm * float(state.centre[2]), marker, color=colour, markersize=9,
                   markeredgecolor="white", zorder=5)  # fmt: skip
    aft, _, colour, words = marks[-1]
    low, high = panel.dataLim.intervaly
    panel.update_datalim([(aft, high + 0.25 * (high - low))])  # room for words above a tip that is raised
    panel.axvline(aft, color=colour, linewidth=1.2, linestyle="--")
    panel.annotate(words, (aft, 0.97), (5, 0), xycoords=("data", "axes fraction"), color=colour, va="top",
                   textcoords="offset points", fontsize=10, bbox=_PAPER)  # fmt: skip
    _flat(panel, "Side view, nose to the left", f"aft of the datum, {say.length.unit}")
    panel.set_ylabel(f"up, {say.length.unit}", fontsize=11)
    panel.legend(frameon=False, fontsize=11, loc="lower right", bbox_to_anchor=(1.0, 0.98), ncols=2)


def range_on(panel: Any, found: Balance) -> None:
    """Draw the range into a panel of a figure, large: what the other views show too small to read."""
    datum, mm = found.wanted.datum, say.length.factor
    low, high = mm * (found.foremost - datum), mm * (found.rearmost - datum)
    marks, places = _marks(found), say.length.now.places(places_told(found))
    panel.axvspan(low, high, color=GREEN, alpha=0.3, linewidth=0)
    for edge, side in ((low, "left"), (high, "right")):
        panel.axvline(edge, color=GREEN, linewidth=2)
        panel.annotate(f"{edge:.{places}f}", (edge, 0.03), (4 if side == "left" else -4, 0), color=GREEN,
                       xycoords=("data", "axes fraction"), textcoords="offset points", fontsize=12,
                       fontweight="bold", ha=side, va="bottom")  # fmt: skip
    for row, (x, marker, colour, words) in enumerate(marks):
        height = 1 - (row + 0.75) / (len(marks) + 1)
        panel.plot(x, height, marker, color=colour, markersize=11, zorder=5)
        far = f"{x:.{2 if say.imperial() else 1}f}"
        panel.annotate(f"{words} {far}", (x, height), (9, 0), textcoords="offset points", fontsize=12,
                       color=colour, va="center", bbox=_PAPER | {"pad": 1})  # fmt: skip
    ends = [low, high, *(x for x, *_ in marks)]
    room = max(ends) - min(ends)
    panel.set_xlim(min(ends) - 0.12 * room, max(ends) + 0.65 * room)
    panel.set_ylim(0, 1)
    panel.set_yticks([])
    dress_panel(panel, "Range of the centre of gravity (green)", f"aft of the datum, {say.length.unit}")
    panel.spines["left"].set_visible(False)


_MOST_NAMED = 16


def _list(panel: Any, found: Balance) -> None:
    """What the numbers stand for, and the rest of what weighs."""
    panel.axis("off")
    lines: list[tuple[str, str]] = []
    for k, item in enumerate(found.wing.masses[:_MOST_NAMED], 1):
        each = "2 x " if item.paired else ""
        lines.append((f"{k}", f"{item.name}, {each}{say.mass(item.mass):.0f}"))
    left_out = len(found.wing.masses) - _MOST_NAMED
    if left_out > 0:
        lines.append(("", f"and {left_out} more"))
    lines.append(("", ""))
    for kind in ("wood", "covering", "glue"):
        mass = sum(lot.mass for lot in found.lots if lot.kind == kind)
        if mass > 0:
            lines.append(("", f"{kind}, {say.mass(mass):.0f}"))
    for state in found.states:
        tank = f", tank {state.name}" if state.name else ""
        lines.append(("", f"in all{tank}, {say.mass(state.mass):.0f}"))
    if found.rest is not None:
        lines.append(("", f"not in the file, {say.mass(found.rest.mass):.0f}"))
        if found.rest.least_x is not None and found.rest.most_x is not None:
            ends = (x - found.wanted.datum for x in (found.rest.least_x, found.rest.most_x))
            words = " to ".join(say.length.bare(x, ".0f") for x in ends)
            lines.append(("", f"which should balance at {words} {say.length.unit}"))
    datum = found.wanted.datum
    where = f"{say.length(abs(datum)):.0f} {'aft' if datum > 0 else 'ahead'} of " if datum else ""
    lines += [("", ""), ("", f"Datum: {where}the centre"), ("", "section's leading edge")]
    if found.inside is None:
        lines += [("", "Neutral point and range: bare wing's," if found.wanted.neutral_point is None else
                   "Neutral point: from the file,"), ("", "centre of gravity: of what the"),
                  ("", "file describes, not the aeroplane's")]  # fmt: skip
    lines += [("", ""), ("", f"Grey lines: spars{', rails' if found.wing.rails else ''}")]
    for row, (number, words) in enumerate(lines):
        height = 0.97 - row * 0.036
        panel.text(0.02, height, number, fontsize=12, fontweight="bold", color=BLUE, va="top")
        panel.text(0.11, height, words, fontsize=12, va="top")
