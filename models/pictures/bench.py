"""Drawings of a bench test: where the bags lie, and what was measured against what was expected.

Arrays are SI; the drawings show mm, g and degrees.
"""

from __future__ import annotations

import os
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from models import units_out as say
from models.pictures import stage
from models.pictures.plots import BLUE, GREEN, ORANGE, PINK, dress_panel, empty_sheet, save_figure
from models.rounding import down, gees
from models.wing.words import spar_words

if TYPE_CHECKING:
    from models.studies.bench_test import BenchTest, Mark
    from models.studies.measured import SideFound
    from models.studies.seeing import Seeing
    from models.wing.parts import Wing

_WOOD = "#efe6d6"


def draw_plan(
    wing: Wing, test: BenchTest, path: str | os.PathLike[str], chosen: Seeing | None = None
) -> Path:
    """Write the plan of a starboard wing with its numbered bags, dials, and every bag's mass a step with a
    box to tick, as a PNG, replaced whole.

    Parameters
    ----------
    wing, test
        The wing, and its plan of bags.
    path : path
    chosen : Seeing or None
        With the dials to read; None for all.
    """
    short = wants(test)
    title = "bags on each side of the upside-down wing (starboard drawn)"
    if short:
        figure = empty_sheet(f"{wing.name}: poor plan, {short[0]}", colour=stage.BAND_COLOURS[0])
    else:
        figure = empty_sheet(f"{wing.name}: {title}")
    rows = len(test.plan.bags) + 3
    upper, lower = figure.subplots(2, 1, height_ratios=(1.15, max(0.075 * rows, 0.5)))
    _outline(upper, wing, test, test.marks if chosen is None else tuple(d.mark for d in chosen.dials))
    _numbered(upper, wing, test)
    upper.legend(
        handles=_key(cords=any(bag.mass < 0 for bag in test.plan.bags),
                     battens=any(len(bag.ribs) > 1 for bag in test.plan.bags)),
        loc="lower left", bbox_to_anchor=(0.0, 1.0), ncols=6, frameon=False, fontsize=11, columnspacing=1.2,
        handletextpad=0.4,
    )  # fmt: skip
    _masses(lower, test)
    return save_figure(figure, path)


def wants(test: BenchTest) -> list[str]:
    """What makes it a poor plan, in words; empty where nothing does."""
    from models.studies.bench_test import clashes

    said = []
    if clashes(test.plan.bags, test.width):
        said.append("bags in each other's way: it cannot be laid as it stands")
    if not test.plan.kept:
        _, bending, torsion = (100 * test.plan.errors).tolist()
        said.append(f"{bending:.1f} % off in bending and {torsion:.1f} % in torsion: more bags")
    if not test.safe:
        said.append(f"it does harm: wood is crushed or torn above {down(test.proof.highest, 2)} g")
    return said


def draw_sheet(wing: Wing, test: BenchTest, path: str | os.PathLike[str], chosen: Seeing) -> Path:
    """Write the sheet to take to the bench: every reading with room to write and a box to tick, as a PNG.

    Parameters
    ----------
    wing, test
        The wing, and its plan of bags.
    path : path
        Replaced whole.
    chosen : Seeing
        With what to read.
    """
    from models.report.text import digits

    figure = empty_sheet(
        f"{wing.name}: readings, {say.length.unit} (positive: the tip sinks), dials at zero on the bare wing"
    )
    panel = figure.subplots()
    panel.axis("off")
    steps = sorted({k for dial in chosen.dials for k in dial.steps})
    heads = ["rib", "at", f"aft of the\nleading edge, {say.length.unit}"]
    for k in steps:
        what = f"step {k}" if k <= len(test.fractions) else f"step {k}\ncouple"
        heads += [f"{what}\nexpect", "starboard", "port"]
    cells = []
    for dial in chosen.dials:
        row = [str(dial.mark.rib), dial.mark.place, say.ruler.bare(dial.mark.aft, ".0f")]
        for k in steps:
            if k in dial.steps:
                j = dial.steps.index(k)
                error = max(dial.doubt[j], chosen.gauge)
                row += [say.length.bare(dial.expected[j], f".{digits(error)}f"), "\u2610", "\u2610"]
            else:
                row += ["", "", ""]
        cells.append(row)
    part = 0.74 / len(steps)
    widths = [0.04, 0.11, 0.11, *[part / 4, part * 3 / 8, part * 3 / 8] * len(steps)]
    high = min(1.0, 0.034 * (len(cells) + 2))
    size = 11 if len(steps) <= 4 and len(cells) < 26 else 8
    table = _table(panel, cells, heads, widths, size, edge="#a0a0a0", high=high)
    for (row_number, column), cell in table.items():
        if row_number and column > 2 and (column - 3) % 3 and cell.get_text().get_text():
            cell.set_text_props(ha="right", color=stage.FAINT)
        elif row_number and not cell.get_text().get_text():
            cell.set_facecolor("#eeeeee")
    if chosen.couple is not None:
        one = chosen.couple
        fore, aft = (say.ruler.bare(a, ".0f") for a in one.aft)
        figure.text(
            0.02, 0.045,
            f"Couple (steps {one.steps[0]} and {one.steps[1]}): other bags off; {say.bag_mass(one.mass):.0f} "
            f"on each side on rib {one.rib}, first {fore}, then {aft} {say.ruler_word()} aft of the leading "
            "edge.",
            fontsize=12,
        )  # fmt: skip
    return save_figure(figure, path)


def _table(
    panel: Any, cells: list[list[str]], heads: list[str], widths: list[float], size: int, *, edge: str,
    high: float = 1.0,
) -> dict[tuple[int, int], Any]:  # fmt: skip
    """Set a table into the upper part of a panel, its headings bold and twice as high; its cells."""
    table = panel.table(
        cells, colLabels=heads, cellLoc="center", bbox=[0, 1 - high, 1, high], colWidths=widths
    )
    table.auto_set_font_size(False)
    table.set_fontsize(size)
    found: dict[tuple[int, int], Any] = table.get_celld()
    for (row, _), cell in found.items():
        cell.set_edgecolor(edge)
        cell.set_height(2.0 if row == 0 else 1.0)
        if row == 0:
            cell.set_text_props(fontweight="bold")
    return found


def _numbered(panel: Any, wing: Wing, test: BenchTest) -> None:
    """Bags where they lie, numbers in a row ahead of the wing with a line to each, so that none overlap."""
    plan = wing.planform
    assert plan is not None
    mm = say.length.factor
    span = mm * plan.semispan
    bags = test.plan.bags
    spots = [
        (mm * float(np.dot(bag.y, bag.shares)), mm * float(np.dot(bag.x, bag.shares)), bag.mass < 0)
        for bag in bags
    ]
    row = min(0.0, min(x for _, x, _ in spots)) - 0.09 * span
    gap = min(0.06, 1.05 / max(len(bags), 1)) * span
    places = [y for y, _, _ in spots]
    for _ in range(100):  # push neighbours apart until all numbers have room
        order = np.argsort(places, kind="stable")
        for a, b in pairwise(order.tolist()):
            short = gap - (places[b] - places[a])
            if short > 1e-6:
                places[a], places[b] = places[a] - short / 2, places[b] + short / 2
    for number, (bag, (y, x, cord), place) in enumerate(zip(bags, spots, places), 1):
        colour = PINK if cord else BLUE
        if len(bag.ribs) > 1:
            panel.plot(mm * np.array(bag.y), mm * np.array(bag.x), color=BLUE, linewidth=4, alpha=0.45,
                       solid_capstyle="round", zorder=3)  # fmt: skip
        panel.plot([place, y], [row, x], color=colour, linewidth=0.9, zorder=3)
        panel.scatter([y], [x], s=90, color=colour, zorder=4, edgecolor="white", marker="^" if cord else "o")
        panel.text(place, row, str(number), color="white", fontsize=12, fontweight="bold", ha="center",
                   va="center", zorder=5,
                   bbox={"boxstyle": "circle,pad=0.25", "facecolor": colour,
                         "edgecolor": "none"})  # fmt: skip


def _outline(panel: Any, wing: Wing, test: BenchTest, marks: tuple[Mark, ...]) -> None:
    plan = wing.planform
    assert plan is not None
    mm = say.length.factor
    y = np.unique(np.concatenate([plan.chord.y, plan.leading_edge_x.y, [0.0, plan.semispan]]))
    fore, aft = plan.leading_edge_x.at(y), plan.leading_edge_x.at(y) + plan.chord.at(y)
    panel.fill(mm * np.concatenate([y, y[::-1]]), mm * np.concatenate([fore, aft[::-1]]),
               facecolor=_WOOD, edgecolor=stage.INK, linewidth=1.2)  # fmt: skip
    stations = np.array([rib.y for rib in wing.ribs])
    edge, chord = plan.leading_edge_x.at(stations), plan.chord.at(stations)
    for k, (at, a, c) in enumerate(zip(stations, edge, chord), 1):
        panel.plot([mm * at] * 2, [mm * a, mm * (a + c)], color="#a08f72", linewidth=1.0, zorder=1)
        panel.annotate(str(k), (mm * at, mm * (a + c)), (0, -4), textcoords="offset points",
                       ha="center", va="top", fontsize=11, color=stage.FAINT, zorder=6)  # fmt: skip
    for spar in wing.spars:
        there = np.linspace(0.0, spar.y_end, 60)
        panel.plot(
            mm * there, mm * spar.x.at(there), color="#7a6a50", linewidth=1.4, linestyle="--", zorder=1
        )
    if test.hold > 0:
        panel.axvspan(0, mm * test.hold, color=GREEN, alpha=0.35, zorder=2, linewidth=0)
    else:
        panel.axvline(0, color=GREEN, linewidth=4)
    panel.scatter([mm * m.y for m in marks], [mm * m.x for m in marks], marker="x", s=30,
                  color=stage.INK, linewidth=1.4, zorder=6)  # fmt: skip
    panel.set_aspect("equal")
    panel.margins(0.03, 0.09)
    panel.invert_yaxis()
    panel.spines[["top", "right"]].set_visible(False)
    panel.tick_params(labelsize=11)
    panel.set_xlabel(
        f"from the centre line, {say.length.unit} (rib numbers under the trailing edge)", fontsize=12
    )
    panel.set_ylabel(f"aft, {say.length.unit}", fontsize=12)


def _key(*, cords: bool, battens: bool) -> list[Any]:
    from matplotlib.lines import Line2D
    from matplotlib.patches import Patch

    batten = {"color": BLUE, "alpha": 0.45, "linewidth": 4, "label": "batten under a bag"}
    cord = {"marker": "^", "markersize": 10, "color": PINK, "linestyle": "", "label": "cord that lifts"}
    looks: list[dict[str, Any]] = [
        {"marker": "o", "markersize": 10, "color": BLUE, "linestyle": "", "label": "bag, with its number"},
        *[batten] * battens,
        *[cord] * cords,
        {"marker": "x", "markersize": 7, "color": stage.INK, "linestyle": "", "label": "dial here"},
        {"color": "#7a6a50", "linewidth": 1.4, "linestyle": "--", "label": "spar"},
    ]
    return [*(Line2D([], [], **look) for look in looks), Patch(color=GREEN, alpha=0.5, label="held here")]


def _masses(panel: Any, test: BenchTest) -> None:
    panel.axis("off")
    title = f"Mass of each bag on each side at each step, {say.grams.unit}"
    title += " (load: load factor that the step stands for)"
    panel.set_title(title, fontsize=13, loc="left")
    mm = say.length.unit
    heads = ["no.", "rib", f"aft of the\nleading edge, {mm}"]
    heads += [f"batten: bag, from\ninner rib, {mm},\non packers, {mm}"]
    heads += [
        f"step {k}, {say.grams.unit}\n(load {gees(n)} g)" for k, n in enumerate(test.load_factors.tolist(), 1)
    ]
    cells = []
    packers = test.packers or (0.0,) * len(test.plan.bags)
    for number, (bag, packer) in enumerate(zip(test.plan.bags, packers), 1):
        along = "-"
        if len(bag.ribs) > 1:
            far = say.ruler.bare(bag.along * (bag.y[-1] - bag.y[0]), ".0f")
            along = f"{far}, on {say.ruler.bare(packer, '.0f')}"
        cells.append(
            [
                str(number), " and ".join(map(str, bag.ribs)), " and ".join(say.ruler.bare(a, ".0f")
                for a in bag.aft), along,
                *(f"\u2610 {say.bag_mass.bare(f * bag.mass, '.0f')}".replace("-", "up ") for f
                in test.fractions.tolist()),
            ]
        )  # fmt: skip
    widths = [0.05, 0.1, 0.14, 0.14, *[0.57 / len(test.fractions)] * len(test.fractions)]
    _table(panel, cells, heads, widths, 11 if len(test.fractions) <= 6 else 8, edge="#d0d0d0")


def plot_measured(name: str, wing: Wing, one: SideFound, path: str | os.PathLike[str]) -> Path:
    """Write what was computed, measured and explained along the span of one side, and which missing webs
    would be seen, as a PNG.

    Parameters
    ----------
    name : str
        Of the wing, over the picture.
    wing, one
        The wing, and what was found on one side of it.
    path : path
        Replaced whole.
    """
    if one.named:
        verdict = " or ".join(suspect.name for suspect in one.named[:2]) + " missing or let go"
        if len(one.named) > 2:
            verdict = f"{len(one.named)} suspects that cannot be told apart"
    else:
        verdict = (
            "no web missing that the readings could show" if one.fits else "readings that nothing explains"
        )
    figure = empty_sheet(f"{name}, {one.side}: {verdict}")
    panels = figure.subplots(2, 2)
    y = say.length.factor * np.array([wing.ribs[rib - 1].y for rib in one.rib])
    _against(panels[0, 0], wing, one, y)
    _departures(panels[1, 0], one, y)
    _twists(panels[0, 1], one, y)
    _suspicions(panels[1, 1], one)
    return save_figure(figure, path)


def _lines(wing: Wing, one: SideFound) -> list[tuple[str, Any]]:
    """Marks of deflection gathered to lines along the span, fore and aft."""
    dial = np.array([what == "deflection" for what in one.what])
    found = []
    seen = np.zeros(len(dial), dtype=bool)
    for spar in wing.spars:
        at = np.array([float(spar.x.at(wing.ribs[rib - 1].y)) for rib in one.rib])
        there = dial & ~seen & (np.abs(one.x - at) < 4e-3)
        if there.any():
            found.append((spar_words(spar.name), there))
            seen |= there
    if (dial & ~seen).any():
        found.append(("other points", dial & ~seen))
    return found


def _against(panel: Any, wing: Wing, one: SideFound, y: Any) -> None:
    mm = say.length.factor
    for k, (label, there) in enumerate(_lines(wing, one)):
        order = np.flatnonzero(there)[np.argsort(y[there], kind="stable")]
        colour = (BLUE, ORANGE, PINK)[k % 3]
        panel.plot(y[order], mm * one.computed[order], color=colour, linestyle=(0, (5, 2)), linewidth=1.5,
                   label=f"{label}, computed")  # fmt: skip
        panel.errorbar(y[order], mm * one.measured[order], 2 * mm * one.error[order], color=colour,
                       marker="os^"[k % 3], markersize=5, linestyle="", capsize=3,
                       label=f"{label}, measured")  # fmt: skip
    _told(panel, f"Deflection under all bags, {say.length.unit} (bars: 2 standard deviations)")


def _told(panel: Any, title: str) -> None:
    dress_panel(panel, title, f"from the centre line, {say.length.unit}")
    panel.legend(frameon=False, fontsize=11)


def _departures(panel: Any, one: SideFound, y: Any) -> None:
    mm = say.length.factor
    dial = np.array([what == "deflection" for what in one.what])
    order = np.flatnonzero(dial)[np.argsort(one.x[dial] + 0 * y[dial], kind="stable")]
    order = order[np.argsort(y[order], kind="stable")]
    panel.errorbar(y[order], mm * (one.measured - one.computed)[order], 2 * mm * one.error[order],
                   color=BLUE, marker="o", markersize=5, linestyle="", capsize=3,
                   label="measured")  # fmt: skip
    panel.scatter(y[order], mm * (one.explained - one.computed)[order], color=ORANGE, marker="D", s=34,
                  zorder=3, facecolor="none", linewidth=1.6,
                  label="explained by wood" + (" and what is named" if one.named else ""))  # fmt: skip
    panel.axhline(0, color=stage.INK, linewidth=0.8)
    _told(panel, f"Deflection less what was computed, {say.length.unit}")


def _twists(panel: Any, one: SideFound, y: Any) -> None:
    at: list[float] = []
    turns: list[tuple[float, ...]] = []
    for rib in sorted(set(one.rib.tolist())):
        there = [k for k in np.flatnonzero(one.rib == rib) if one.what[k] == "deflection"]
        gauges = [k for k in np.flatnonzero(one.rib == rib) if one.what[k] == "twist"]
        rows = [(one.computed[k], one.measured[k], one.error[k]) for k in gauges]
        if len(there) > 1:
            a, b = min(there, key=lambda k: one.x[k]), max(there, key=lambda k: one.x[k])
            arm = one.x[b] - one.x[a]
            turn, read = ((v[a] - v[b]) / arm for v in (one.computed, one.measured))
            rows.append((turn, read, float(np.hypot(one.error[a], one.error[b]) / arm)))
        turns += rows
        at += [float(y[one.rib == rib][0])] * len(rows)
    computed, found, error = np.degrees(np.array(turns).reshape(-1, 3)).T
    panel.plot(at, computed, color=GREEN, linestyle=(0, (5, 2)), linewidth=1.5, label="computed")
    panel.errorbar(at, found, 2 * error, color=GREEN, marker="o", markersize=5, linestyle="", capsize=3,
                   label="measured")  # fmt: skip
    panel.axhline(0, color=stage.INK, linewidth=0.8)
    _told(panel, "Twist under all bags, degrees nose up")


def _suspicions(panel: Any, one: SideFound) -> None:
    if not one.suspects:
        panel.axis("off")
        return
    lines = sorted({(s.suspect.kind, s.suspect.spar, s.suspect.face) for s in one.suspects})
    bays = sorted({s.suspect.bay for s in one.suspects if s.suspect.kind == "web"})
    braces = any(kind == "brace" for kind, _, _ in lines)
    columns = (["brace"] if braces else []) + [str(b) for b in bays]
    rows = sorted({(spar, face) for _, spar, face in lines})
    table = np.full((len(rows), len(columns)), np.nan)
    for s in one.suspects:
        row = rows.index((s.suspect.spar, s.suspect.face))
        column = 0 if s.suspect.kind == "brace" else columns.index(str(s.suspect.bay))
        table[row, column] = s.seen
        if s.suspect in one.named:
            panel.scatter([column], [row], marker="s", s=1500 if len(columns) < 18 else 500, facecolor="none",
                          edgecolor=PINK, linewidth=3, zorder=4)  # fmt: skip
    panel.imshow(table, cmap="Blues", vmin=0, vmax=1.25, aspect="auto")
    size = 11 if len(columns) < 18 else 8
    for (r, c), value in np.ndenumerate(table):
        if np.isfinite(value):
            panel.text(c, r, f"{100 * value:.0f}", ha="center", va="center", fontsize=size,
                       color="white" if value > 0.75 else stage.INK)  # fmt: skip
    panel.set_xticks(range(len(columns)), columns, fontsize=size)
    names = [f"{spar_words(spar)}, {face}" for spar, face in rows]
    panel.set_yticks(range(len(rows)), names, fontsize=11)
    panel.set_xlabel("bay (1 innermost)", fontsize=11)
    framed = " (framed: named as missing)" if one.named else ""
    panel.set_title(f"If the web were missing: chance of naming it, %{framed}", fontsize=13, loc="left")
