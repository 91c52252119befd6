"""Plots from plain arrays: layouts side by side, and what happens along the span.

Arrays are SI; the plots show what a builder reads: mm, degrees, g, N/mm.
"""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from fea.arrays import Array
from models import units_out as say
from models.analysis import Analysis, spar_motion, wing_twist
from models.loads.pull_up import dynamic_pressure, span_loading
from models.pictures import fields, stage
from models.pictures.files import write_whole
from models.rounding import down
from models.wing.words import spar_words

if TYPE_CHECKING:
    from models.structure.model import Part
    from models.studies.envelope import MassEnvelope
    from models.studies.scatter import Scatter


_NAME = 28
"""Letters of a name in a legend or beside an axis."""
BLUE, ORANGE, GREEN, PINK = "#2a5b9c", "#d9822b", "#2a8c82", "#a8467f"
_DPI = 100


@dataclass(frozen=True)
class LayoutBar:
    """What the comparison shows of one layout; NaN for what was not worked out.

    Parameters
    ----------
    name : str
        Of the layout.
    tip_deflection : float
        m.
    twist : float
        At the tip, nose up, rad.
    bending_stiffness : float
        Load per tip deflection, N/m.
    torsion_stiffness : float
        Torque per twist, N m/rad.
    mass : float
        kg.
    first_failure : float
        Load factor (a specimen: multiple of its load) at the first failure.
    """

    name: str
    tip_deflection: float
    twist: float
    bending_stiffness: float
    torsion_stiffness: float
    mass: float
    first_failure: float


@dataclass(frozen=True, eq=False)
class SpanCurves:
    """Curves along the starboard half span (or a specimen's length), each over its own stations.

    Parameters
    ----------
    title : str
        Over the plot.
    deflection : tuple of (name, y, value)
        One curve a spar: stations and upward deflection, m.
    twist : (y, value)
        Stations, m, and nose-up twist, rad.
    lift : (y, value) or None
        Stations, m, and lift per length, N/m; None for a specimen.
    shear : (y, value)
        Stations, m, and upward load outboard of the cut, N.
    bending : (y, value)
        Stations, m, and moment that lifts the tip, N m.
    lift_by_method : tuple of (name, y, value)
        Lift per length by each method there is, whichever the file asks for: stations, m, and N/m.
    """

    title: str
    deflection: tuple[tuple[str, Array, Array], ...]
    twist: tuple[Array, Array]
    lift: tuple[Array, Array] | None
    shear: tuple[Array, Array]
    bending: tuple[Array, Array]
    lift_by_method: tuple[tuple[str, Array, Array], ...] = ()


def span_curves(analysis: Analysis) -> SpanCurves:
    """The curves of a solved wing; lift is that of each rib over the length it stands for."""
    curves, settled = [], fields.settled(analysis)
    for s, spar in enumerate(analysis.wing.spars):
        motion = spar_motion(settled, s)
        starboard = motion.y >= 0
        name = stage.shortened(spar_words(spar.name), _NAME)
        curves.append((name, motion.y[starboard], motion.deflection[starboard]))
    y, twist = wing_twist(settled)
    cut, shear, bending = fields.cut_forces(analysis)
    flight = analysis.pull_up
    lift = None
    if flight is not None:
        order = np.argsort(flight.rib_y)
        at, force = flight.rib_y[order], flight.rib_lift[order]
        edges = np.concatenate([at[:1], (at[1:] + at[:-1]) / 2, at[-1:]])
        lift = (at[at >= 0], (force / np.diff(edges))[at >= 0])
    from models.pictures.scenes import tip_title

    load = f"at load factor {down(analysis.load_factor)}" if flight is not None else "clamped at the root"
    moved = tip_title(analysis)
    return SpanCurves(
        f"{analysis.wing.name}: {moved[:1].lower()}{moved[1:]}, {load}",
        tuple(curves),
        (y[y >= 0], twist[y >= 0]),
        lift,
        (cut, shear),
        (cut, bending),
        _lift_by_method(analysis),
    )


def _lift_by_method(analysis: Analysis) -> tuple[tuple[str, Array, Array], ...]:
    """Lift per length by Schrenk and by the lifting surface at the lift coefficient of the case."""
    flight, plan, case = analysis.pull_up, analysis.wing.planform, analysis.wing.case
    if flight is None or plan is None:
        return ()
    coefficient = flight.lift / (dynamic_pressure(case, flight.lift, plan.area) * plan.area)
    y = plan.semispan * np.sin(np.linspace(0.0, np.pi / 2, 101))
    found = []
    for method, name in (("schrenk", "Schrenk"), ("surface", "lifting surface")):
        loading = span_loading(plan, replace(case, lift_method=method), coefficient)
        found.append((name, y, loading.per_length(y, flight.lift)))
    return tuple(found)


def plot_span(curves: SpanCurves, path: str | os.PathLike[str]) -> Path:
    """Write deflection, twist, lift, shear force and bending moment along the span as a PNG."""
    figure = empty_sheet(curves.title)
    rows: list[tuple[str, list[tuple[str, Array, Array]]]] = [
        (
            f"upward deflection, {say.length.unit}",
            [(name, y, say.length.factor * value) for name, y, value in curves.deflection],
        ),
        ("nose-up twist, degrees", [("", curves.twist[0], np.degrees(curves.twist[1]))]),
    ]
    if curves.lift is not None:
        lifts, per = [("on the ribs", *curves.lift), *curves.lift_by_method], say.force_per_span
        label = f"lift, {say.force.unit} per {say.span.unit} of span"
        rows.append((label, [(name, y, per.factor * value) for name, y, value in lifts]))
    (y, shear), (at, bending) = curves.shear, curves.bending
    rows.append((f"shear force, {say.force.unit}", [("", y, say.force.factor * shear)]))
    rows.append((f"bending moment, {say.moment.unit}", [("", at, say.moment.factor * bending)]))
    panels = figure.subplots(2, 3) if len(rows) > 4 else figure.subplots(2, 2)
    for panel, (label, lines) in zip(panels.flat, rows):
        # Loads sit on the stations, so the shear force is level between them and steps there.
        style = "steps-mid" if label.startswith("shear") else "default"
        for k, (name, y, value) in enumerate(lines):
            panel.plot(
                say.length.factor * y, value, drawstyle=style, color=(BLUE, ORANGE, GREEN, PINK)[k % 4],
                label=name, linewidth=2.2, linestyle=("-", "--", "-.", ":")[k % 4],
            )  # fmt: skip
        dress_panel(panel, label[:1].upper() + label[1:], f"span station, {say.length.unit}")
        panel.axhline(0.0, color=stage.INK, linewidth=0.8)
        panel.margins(x=0.01)
        if lines[0][0] and len(lines) > 1:
            panel.legend(frameon=False, fontsize=11)
    for panel in panels.flat[len(rows) :]:
        panel.axis("off")
        panel.text(0.0, 0.95, _READING, va="top", fontsize=12, color=stage.FAINT, linespacing=1.6)
    return save_figure(figure, path)


_READING = (
    "Station 0 is the centre line (a specimen's clamp).\n"
    "Shear force and bending moment act on the whole\n"
    "section, with the wing's own inertia taken off\nthe lift.\n"
    "Positive: up, nose up, tip lifted."
)


def compare_layouts(
    layouts: Sequence[Mapping[str, Any] | Any],
    path: str | os.PathLike[str],
    *,
    title: str = "Layouts compared",
) -> Path:
    """Write bars of stiffness, strength, deflection, twist and mass of several layouts as a PNG.

    Parameters
    ----------
    layouts : sequence of mappings or records
        With the fields of `LayoutBar`, SI; a value that is None or NaN is shown as missing.
    path : path
        Replaced whole.
    title : str
        Over the plot.
    """
    figure = empty_sheet(title)
    names = [str(_value(row, "name")) for row in layouts]
    panels = figure.subplots(2, 3, sharey=True).flat
    rows = np.arange(len(names))
    for panel, (key, label, kind, colour) in zip(panels, _BARS):
        found = [_value(row, key) for row in layouts]
        values = np.array([np.nan if v is None else float(v) for v in found]) * kind.factor
        panel.barh(rows, np.nan_to_num(values), color=colour, height=0.62)
        dress_panel(panel, say.with_units(label))
        panel.set_yticks(rows, [stage.shortened(name, _NAME) for name in names], fontsize=12)
        room = np.nanmax(np.abs(values), initial=0.0) or 1.0
        panel.set_xlim(
            min(0.0, np.nanmin(values, initial=0.0) - 0.3 * room * (np.nanmin(values, initial=0.0) < 0)),
            max(1.28 * np.nanmax(values, initial=0.0), 0.02 * room),
        )
        for row, value in zip(rows, values):
            text = "not worked out"
            if not np.isnan(value):
                text = _rounded_down(value) if key == "first_failure" else _figure(value)
            side = "right" if value < 0 else "left"
            panel.annotate(
                text, (0.0 if np.isnan(value) else value, row), (-5 if value < 0 else 5, 0), va="center",
                textcoords="offset points", fontsize=11, ha=side,
            )  # fmt: skip
    panels[0].invert_yaxis()
    return save_figure(figure, path)


_BARS = (
    ("bending_stiffness", "Bending stiffness, {force} per {length} at the tip", say.bending_stiffness, BLUE),
    ("torsion_stiffness", "Torsional stiffness, {moment} per degree at the tip", say.torsion_stiffness, BLUE),
    ("mass", "Mass of the webs, {mass}", say.mass, GREEN),
    ("tip_deflection", "Tip deflection, {length} up", say.length, ORANGE),
    ("twist", "Tip twist, degrees nose up", say.angle, ORANGE),
    ("first_failure", "Load factor at first failure", say.load_factor, PINK),
)


def _value(row: Mapping[str, Any] | Any, key: str) -> Any:
    return row[key] if isinstance(row, Mapping) else getattr(row, key)


def _figure(value: float) -> str:
    """Three figures, without an exponent for what a wing has."""
    return (f"{value:.0f}" if abs(value) >= 1000 else f"{value:.3g}").replace("-", "\N{MINUS SIGN}")


def _rounded_down(value: float) -> str:
    """The same of a load, which is never told greater than it is."""
    return down(value, 2 if value < 10 else 1).rstrip("0").rstrip(".")


_LETTERS, _MOST_LETTERS = 82, 120
"""Of a sheet's headline at its full size, and of one line of it at the most."""


def empty_sheet(title: str, height: int = stage.SIZE[1], colour: str = stage.INK) -> Any:
    """An empty sheet with its headline in a colour; `height` in pixels."""
    from matplotlib.figure import Figure
    from matplotlib.layout_engine import ConstrainedLayoutEngine

    foot = 45 / height
    layout = ConstrainedLayoutEngine(rect=(0.01, foot, 0.98, 1 - foot), w_pad=0.12, h_pad=0.12, hspace=0.04)
    figure = Figure(figsize=(stage.SIZE[0] / _DPI, height / _DPI), dpi=_DPI, layout=layout, facecolor="white")
    lines = stage.head_lines(title, _MOST_LETTERS)
    size = min(18.0, 18.0 * _LETTERS / max(map(len, lines)))
    figure.suptitle("\n".join(lines), fontsize=size, fontweight="bold", x=0.02, ha="left", color=colour)
    figure.text(0.02, 14 / height, stage.CAUTION, fontsize=12, fontweight="bold")
    return figure


def dress_panel(panel: Any, title: str = "", along: str = "") -> None:
    """Take off a panel's frame; give it a light grid, letters of one size, a title and words below."""
    panel.spines[["top", "right"]].set_visible(False)
    panel.grid(visible=True, color="#e4e4e4", linewidth=0.8)
    panel.set_axisbelow(True)
    panel.tick_params(labelsize=11)
    if title:
        panel.set_title(title, fontsize=13, loc="left")
    if along:
        panel.set_xlabel(along, fontsize=11)


def save_figure(figure: Any, path: str | os.PathLike[str]) -> Path:
    """Write a sheet as a PNG, whole or not at all, and give its path back."""
    path = Path(path)
    write_whole(path, lambda beside: figure.savefig(beside, dpi=_DPI))
    return path


def plot_scatter(result: Scatter, path: str | os.PathLike[str]) -> Path:
    """Write what goes first, by bay and mode, and how the load factor is spread, as a PNG, replaced whole."""
    one = f"{down(result.fifth)} g" if result.flying else f"{down(result.fifth, 2)} times its load"
    figure = empty_sheet(f"{result.wing.name}: one in twenty of {result.n_wings} wings has failed at {one}")
    left, right = figure.subplots(1, 2)
    rows, modes, table = scatter_table(result)
    at, start = np.arange(len(rows)), np.zeros(len(rows))
    colours = (BLUE, ORANGE, GREEN, PINK, "#8a8a8a", "#b8a13a")
    for k, mode in enumerate(modes):
        left.barh(at, 100 * table[:, k], left=start, color=colours[k % len(colours)], label=mode, height=0.62)
        start += 100 * table[:, k]
    for row, total in zip(at, start):
        left.annotate(f"{total:.0f} %" if total >= 1 else f"{total:.1f} %", (total, row), (5, 0),
                      textcoords="offset points", va="center", fontsize=11)  # fmt: skip
    left.set_yticks(at, [stage.shortened(row, 34) for row in rows], fontsize=12)
    left.invert_yaxis()
    left.set_xlim(0, 1.15 * start.max())
    left.legend(frameon=False, fontsize=11, loc="upper left", bbox_to_anchor=(-0.2, -0.05), ncols=2)
    unit = "load factor" if result.flying else "multiple of the load"
    values = result.load_factors
    right.hist(values, bins=60, color=BLUE, alpha=0.75, density=True)
    marks = ((result.fifth, "one in twenty", PINK, 0.94), (result.median, "half", GREEN, 0.86),
             (result.asked, "asked for", stage.INK, 0.78))  # fmt: skip
    for value, label, colour, height in marks:
        right.axvline(value, color=colour, linewidth=2)
        right.annotate(f"{label} {down(value)}", (value, height), (5, 0), xycoords=("data", "axes fraction"),
                       textcoords="offset points", color=colour, fontsize=12,
                       bbox={"facecolor": "white", "edgecolor": "none", "pad": 1.5})  # fmt: skip
    right.axvspan(*result.fifth_interval, color=PINK, alpha=0.25, linewidth=0)
    right.set_yticks([])
    dress_panel(left, "Share of wings in which it goes first, %")
    dress_panel(right, f"Spread of the {unit} at first failure", unit)
    return save_figure(figure, path)


def scatter_table(
    result: Scatter, most_rows: int = 9, most_modes: int = 5
) -> tuple[list[str], list[str], Array]:
    """Shares of the first failures by place and mode, both sides together.

    Parameters
    ----------
    result, most_rows, most_modes
        The rest is gathered under "others".

    Returns
    -------
    places, modes : list of str
        The likeliest first.
    shares : (n_places, n_modes) float array
        They sum to 1.
    """
    places: dict[str, float] = {}
    modes: dict[str, float] = {}
    for one in result.firsts:
        places[_place(one.part)] = places.get(_place(one.part), 0.0) + one.chance
        modes[one.mode] = modes.get(one.mode, 0.0) + one.chance
    rows, columns = (_with_others(found, most) for found, most in ((places, most_rows), (modes, most_modes)))
    table = np.zeros((len(rows), len(columns)))
    for one in result.firsts:
        place, mode = _place(one.part), one.mode
        row = rows.index(place) if place in rows else len(rows) - 1
        column = columns.index(mode) if mode in columns else len(columns) - 1
        table[row, column] += one.chance
    return rows, columns, table


def _with_others(found: dict[str, float], most: int) -> list[str]:
    names = sorted(found, key=lambda name: -found[name])
    return names if len(names) <= most else [*names[: most - 1], "others"]


def _place(part: Part) -> str:
    where = [] if part.bay is None else [f"bay {part.bay}"]
    where += [spar_words(part.spar)] if part.spar else []
    return ", ".join(where) or f"{part.place} {part.kind}".strip()


def plot_envelope(
    title: str, one: MassEnvelope, path: str | os.PathLike[str], advised: float = np.inf
) -> Path:
    """Write load factor over speed, what lift and structure allow and what gusts ask, as a PNG.

    Parameters
    ----------
    title : str
        Over the plot.
    one : MassEnvelope
    path : path
        Replaced whole.
    advised : float
        Fastest that is advised, m/s; infinite where nothing is to be said.
    """
    figure = empty_sheet(title)
    panel, beside = figure.subplots(1, 2, width_ratios=(2.9, 1.0))
    handles, names = envelope_on(panel, one, advised)
    _list_corners(beside, one)
    beside.legend(handles, names, frameon=False, fontsize=11, loc="lower left", bbox_to_anchor=(-0.04, 0.0))
    return save_figure(figure, path)


def envelope_title(wing: str, one: MassEnvelope) -> str:
    """The answer over an envelope of a wing, by its name: its hardest corner, and what that leaves."""
    corner = one.critical
    return f"{wing}: hardest is the {corner.name}, reserve factor {down(corner.least, 2)}"


def envelope_on(panel: Any, one: MassEnvelope, advised: float = np.inf) -> tuple[list[Any], list[str]]:
    """Draw load factor over speed into a panel of a figure; the legend's marks and their words."""
    from models.loads.envelope import most_by_lift, outline

    limits, rows, kmh = one.limits, one.rows, say.speed.factor
    bottom, top = envelope_limits(one)
    speed, n = outline(limits)
    panel.fill(kmh * speed, n, color=BLUE, alpha=0.12, linewidth=0)
    panel.plot(kmh * speed, n, color=BLUE, linewidth=2.4, label="manoeuvres asked for")
    at = np.array([r.speed for r in rows])
    sweep = np.unique(np.concatenate([np.linspace(0.0, limits.never_exceed, 300), at]))
    for stall, side, label in ((limits.stall, 1, "greatest lift"), (limits.stall_inverted, -1, "")):
        lifted = side * most_by_lift(sweep, stall)
        panel.plot(kmh * sweep, lifted, color=stage.INK, linewidth=1.4, label=label or None)
        key = "fails" if side > 0 else "fails_inverted"
        # Infinite: nothing fails. Not a number: no load factor at all is borne there.
        borne = side * np.nan_to_num(np.interp(sweep, at, [getattr(r, key) for r in rows]), posinf=np.inf)
        over = np.isfinite(borne) & (side * (lifted - borne) > 0) & (sweep >= at[0])
        panel.fill_between(kmh * sweep, borne, lifted, where=over, facecolor="none", edgecolor=PINK,
                           hatch="//", linewidth=0, alpha=0.35)  # fmt: skip
    lines = (("fails", PINK, "--", "first part breaks"), ("harmless", ORANGE, "-.", "no harm up to here"))
    for key, colour, style, label in lines:
        above = [getattr(r, key) for r in rows]
        below = [getattr(r, f"{key}_inverted") for r in rows]
        label += _beyond(above, below, one)
        for values, name in ((above, label), ([-value for value in below], None)):
            panel.plot(kmh * at, values, color=colour, linestyle=style, linewidth=2, label=name)
    label = "gust met at 1 g"
    for corner in one.corners:
        if "gust" in corner.name:
            line = [0.0, kmh * corner.speed], [1.0, corner.asked]
            panel.plot(*line, color=GREEN, linestyle=":", linewidth=1.8, label=label)
            label = ""
    panel.axvline(kmh * limits.never_exceed, color=stage.INK, linestyle=(0, (1, 1)), linewidth=1.2,
                  label="never-exceed speed")  # fmt: skip
    if advised <= 1.09 * limits.never_exceed:
        panel.axvspan(kmh * advised, 1.09 * kmh * limits.never_exceed, color=PINK, alpha=0.10, linewidth=0,
                      label="faster than is advised")  # fmt: skip
    dress_panel(panel)
    panel.axhline(0.0, color=stage.INK, linewidth=0.8)
    panel.set_ylim(bottom, top)
    panel.set_xlim(0.0, 1.09 * kmh * limits.never_exceed)
    _number_corners(panel, one, top - bottom)
    if one.breaks is not None and one.breaks.load_factor < top:
        panel.plot(kmh * one.breaks.speed, one.breaks.load_factor, "*", color=PINK, markersize=16)
    panel.set_xlabel(f"speed, {say.speed.unit}", fontsize=12)
    panel.set_ylabel("load factor, g (inverted: below zero)", fontsize=12)
    handles, names = panel.get_legend_handles_labels()
    breaks = any(r.fails < top or r.fails_inverted < -bottom for r in rows)
    if breaks and "//" in {patch.get_hatch() for patch in panel.collections}:
        from matplotlib.patches import Patch

        handles.append(Patch(facecolor="none", edgecolor=PINK, hatch="//", linewidth=0))
        names.append("the wing breaks here")
    return handles, names


def envelope_limits(one: MassEnvelope) -> tuple[float, float]:
    """Lowest and highest load factor of the chart: the box that is flown with room about it.

    Where the wing breaks is shown as well where that lies within twice the box; else it is said in words.
    """
    box = [one.limits.up, -one.limits.down, 1.0, *(c.load_factor for c in one.corners)]
    out = []
    for side, worst in ((-1.0, min(box)), (1.0, max(box))):
        most = max(side * worst, 1.0)
        ends = [r.fails if side > 0 else r.fails_inverted for r in one.rows]
        near = [e for e in ends if np.isfinite(e) and e <= 2 * most]
        out.append(side * 1.18 * max([most, *near]))
    return out[0], out[1]


def _beyond(upright: list[float], inverted: list[float], one: MassEnvelope) -> str:
    """Words for a legend where a line lies above or below the chart."""
    bottom, top = envelope_limits(one)
    above, below = (np.array(v)[np.isfinite(v)] for v in (upright, inverted))
    said = []
    if len(above) and above.min() >= top:
        said.append(f"above, from {down(float(above.min()))} g")
    if len(below) and below.min() >= -bottom:
        said.append(f"below, from \N{MINUS SIGN}{down(float(below.min()))} g")
    return "\n(off the chart: " + ",\n".join(said) + ")" if said else ""


def _number_corners(panel: Any, one: MassEnvelope, height: float) -> None:
    """Corners as dots with their numbers beside them; those at one speed one above the other."""
    by_speed: dict[float, list[int]] = {}
    for k, corner in enumerate(one.corners):
        by_speed.setdefault(round(corner.speed, 6), []).append(k)
    worst = one.corners.index(one.critical)
    across = 0.03 * say.speed.factor * one.limits.never_exceed
    for speed, here in by_speed.items():
        here.sort(key=lambda k: one.corners[k].load_factor)
        at = np.array([one.corners[k].load_factor for k in here])
        for k in range(1, len(at)):
            at[k] = max(at[k], at[k - 1] + 0.05 * height)
        last = speed >= 0.999 * one.limits.never_exceed
        for k, y in zip(here, at):
            corner = one.corners[k]
            x, colour = say.speed.factor * corner.speed, PINK if k == worst else stage.INK
            panel.plot(x, corner.load_factor, "o", color=colour, markersize=7, zorder=4)
            panel.annotate(
                str(k + 1), (x, corner.load_factor), (x + (across if last else -across), y),
                fontsize=11, fontweight="bold", ha="center", va="center", zorder=5,
                color="white" if k == worst else stage.INK,
                bbox={"boxstyle": "circle", "edgecolor": colour,
                      "facecolor": colour if k == worst else "white"},
                arrowprops={"arrowstyle": "-", "color": colour, "linewidth": 0.8},
            )  # fmt: skip


def _list_corners(panel: Any, one: MassEnvelope) -> None:
    """What the numbers are, the hardest in bold, and where a full pull harms and breaks the wing."""
    panel.axis("off")
    y = 1.0
    for k, corner in enumerate(one.corners):
        worst = corner is one.critical
        sign = "\N{MINUS SIGN}" if corner.load_factor < 0 else ""
        n = f"{sign}{down(abs(corner.load_factor))}"
        reserve = down(corner.least, 2)
        words = f"{corner.name}\n{say.speed(corner.speed):.0f}, {n} g, reserve factor {reserve}"
        style: dict[str, Any] = {"fontsize": 11, "va": "top", "color": PINK if worst else stage.INK,
                                 "fontweight": "bold" if worst else "normal"}  # fmt: skip
        panel.text(-0.04, y, f"{k + 1}", transform=panel.transAxes, **style)
        panel.text(0.03, y, words, transform=panel.transAxes, linespacing=1.3, **style)
        y -= 0.066
    if one.breaks is not None:
        words = f"above {say.speed(one.breaks.speed):.0f} a full pull\n"
        words += f"breaks it, at {down(one.breaks.load_factor)} g"
        style = {"transform": panel.transAxes, "color": PINK, "fontsize": 11, "va": "top"}
        panel.text(-0.04, y, "\N{BLACK STAR}", **style)
        panel.text(0.03, y, words, linespacing=1.3, **style)
