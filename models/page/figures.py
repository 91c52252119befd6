"""The page's figures: loads, movements, envelope, balance and layouts, each an SVG with a title and words.

The words give what a reader would take from the drawing, with its figures.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from fea.arrays import Array
from models import units_out as say
from models.page import svg
from models.page.contents import Contents
from models.pictures.plots import SpanCurves, span_curves
from models.pictures.stage import shortened
from models.report.text import borne, fixed, number, reserve
from models.rounding import gees
from models.studies.load_cases import CaseResult, LoadStudy

_LINES = ((svg.BLUE, "-"), (svg.ORANGE, "--"), (svg.GREEN, "-."), (svg.PINK, ":"))
_SPAN = "span station, {length} (port negative, starboard positive)"
_HALF = "span station, {length} (0 is the centre line)"
_CLAMP = "span station, {length} (0 is the clamp)"
_DEG = 180 / np.pi
_NAME = 28
"""Letters of a name in a legend or beside an axis."""


@dataclass(frozen=True)
class Picture:
    """A figure of the page.

    Parameters
    ----------
    key : str
        A word of its own.
    title, words : str
        Over it and under it.
    svg : str
        The drawing, in the colours of `models.page.svg`.
    """

    key: str
    title: str
    words: str
    svg: str


def pictures(contents: Contents) -> dict[str, list[Picture]]:
    """All figures of the page, by the section in which they stand.

    Under "loads", "movement", "envelope", "balance" and "layouts", those that this wing has.
    """
    curves = span_curves(contents.analysis)
    flying = contents.note is not None
    out: dict[str, list[Picture]] = {"loads": [], "movement": _movement(curves, flying=flying)}
    if contents.note is not None:
        out["loads"] = [_span_load(contents, curves), *_sections(contents.note.cases)]
        out["envelope"] = [_envelope(contents)]
        out["balance"] = _balance(contents)
    else:
        out["loads"] = _bench_sections(curves)
    out["layouts"] = _layouts(contents)
    return {name: found for name, found in out.items() if found}


def _span_load(contents: Contents, curves: SpanCurves) -> Picture:
    flight = contents.analysis.pull_up
    assert flight is not None
    assert curves.lift is not None
    title = "Lift along the span"
    chosen = {"schrenk": "Schrenk", "surface": "lifting surface"}[contents.wing.case.lift_method]
    at_root = ", ".join(
        f"{name} {say.force_per_span(lift[0]):.0f}" for name, _, lift in curves.lift_by_method
    )
    words = (
        f"Lift for each {'foot' if say.imperial() else 'metre'} of span in the pull-up at "
        f"{gees(flight.load_factor)} g, {say.force(flight.lift):.0f} in "
        f"all. At the centre line: {at_root}. The file asks for {chosen}; each rib takes its share."
    )
    with svg.drawing("span-load"):
        figure = svg.sheet(3.1)
        panel, mm, per = figure.subplots(), say.length.factor, say.force_per_span.factor
        for (name, y, lift), (colour, style) in zip(curves.lift_by_method, _LINES):
            panel.plot(mm * y, per * lift, color=colour, linestyle=style, linewidth=2, label=name)
        y, lift = curves.lift
        words_on = "on each rib, over the length it stands for"
        panel.plot(mm * y, per * lift, "o", color=svg.INK, markersize=3.5, label=words_on)
        panel.set_ylim(bottom=min(0.0, 1.1 * per * float(min(c[2].min() for c in curves.lift_by_method))))
        panel.set_ylabel(f"lift, {say.force.unit} per {say.span.unit} of span")
        finish_panel(panel, _HALF)
        return Picture("span-load", title, words, svg.inline(figure, "span-load", title, words))


_CUTS = (
    ("shear", "Shear force", "shear force, {force}", "positive: outboard part pushed up", say.force),
    ("bending", "Bending moment", "bending moment, {moment}", "positive: tip lifted", say.moment),
    ("torsion", "Torsion about the quarter chord", "torsion, {moment}", "positive: outboard part nose up",
     say.moment),
)  # fmt: skip


def _sections(study: LoadStudy) -> list[Picture]:
    """Section forces of the pull-up and of the hardest other case, and the range of all cases together."""
    pull_up, hardest = study.cases[0], study.ranked[0]
    shown = [pull_up] if hardest is pull_up else [pull_up, hardest]
    out = []
    for key, title, label, sign, kind in _CUTS:
        told = [f"{capital(pull_up.name)}: {_most(pull_up, key, kind)}."]
        if len(shown) > 1:
            told.append(f"{capital(hardest.name)}, the hardest case: {_most(hardest, key, kind)}.")
        words = f"{capital(sign)}. {' '.join(told)}"
        words += f" Band: from the least to the greatest of all {len(study.cases)} cases."
        with svg.drawing(key):
            figure = svg.sheet(2.9)
            panel = figure.subplots()
            y, mm = pull_up.sections.y, say.length.factor
            every = kind.factor * np.array(
                [np.interp(y, c.sections.y, getattr(c.sections, key)) for c in study.cases]
            )
            panel.fill_between(
                mm * y, every.min(axis=0), every.max(axis=0), color=svg.GHOST, alpha=0.35, linewidth=0,
                label="all cases",
            )  # fmt: skip
            for one, (colour, style) in zip(shown, _LINES):
                value = kind.factor * getattr(one.sections, key)
                reached = reserve(_finite(one.reserve))
                name = f"{shortened(capital(one.name), _NAME)}, reserve factor {reached}"
                panel.plot(mm * one.sections.y, value, color=colour, linestyle=style, linewidth=2, label=name)
            panel.axvline(0.0, color=svg.FAINT, linewidth=0.7, linestyle=":")
            panel.set_ylabel(say.with_units(label))
            finish_panel(panel, _SPAN)
            out.append(Picture(key, title, words, svg.inline(figure, key, title, words)))
    return out


def _bench_sections(curves: SpanCurves) -> list[Picture]:
    out = []
    for (key, title, label, sign, kind), (y, value) in zip(_CUTS, (curves.shear, curves.bending)):
        if not value.any():
            continue
        most = value[int(np.argmax(np.abs(value)))]
        words = f"{capital(sign)}. Up to {kind.number(float(most), 3)} {kind.unit}."
        lines = [("", y, kind.factor * value)]
        out.append(_plain(key, title, words, say.with_units(label), lines, _CLAMP, steps=key == "shear"))
    return out


def _movement(curves: SpanCurves, *, flying: bool) -> list[Picture]:
    under = _HALF if flying else _CLAMP
    ends = [f"{name} {say.length(value[-1]):.3g}" for name, _, value in curves.deflection]
    words = f"At the outer end: {', '.join(ends)} up."
    if flying:
        words += " Measured from the centre section."
    twist = _DEG * curves.twist[1]
    at, way = say.length.told(curves.twist[0][-1], 0), "up" if twist[-1] >= 0 else "down"
    turned = f"At {at} {abs(twist[-1]):.3g} degrees nose {way}."
    rows = [(name, y, say.length.factor * value) for name, y, value in curves.deflection]
    return [
        _plain("deflection", "Upward deflection", words, f"deflection, {say.length.unit}", rows, under),
        _plain("twist", "Twist", turned, "twist nose up, degrees", [("", curves.twist[0], twist)], under),
    ]


def _plain(
    key: str, title: str, words: str, label: str, lines: Sequence[tuple[str, Array, Array]], under: str,
    *,
    steps: bool = False,
) -> Picture:  # fmt: skip
    """Lines over the span."""
    with svg.drawing(key):
        figure = svg.sheet(2.7)
        panel = figure.subplots()
        for (name, y, value), (colour, style) in zip(lines, _LINES * (1 + len(lines) // len(_LINES))):
            panel.plot(
                say.length.factor * y, value, color=colour, linestyle=style, linewidth=2,
                label=shortened(name, _NAME) if name else "_",
                drawstyle="steps-mid" if steps else "default",
            )  # fmt: skip
        panel.set_ylabel(label)
        finish_panel(panel, under)
        return Picture(key, title, words, svg.inline(figure, key, title, words))


def finish_panel(panel: Any, under: str) -> None:
    """Give a panel its line at nought, the words below it and, where it has names, their legend."""
    svg.dress(panel)
    panel.axhline(0.0, color=svg.INK, linewidth=0.8)
    panel.margins(x=0.01)
    panel.set_xlabel(say.with_units(under))
    handles, names = panel.get_legend_handles_labels()
    if handles:
        panel.figure.legend(handles, names, frameon=False, fontsize=9, loc="outside upper left")


def _smaller(panel: Any) -> None:
    """A panel made for a large sheet, with words and marks for a small one."""
    svg.dress(panel)
    for label in panel.texts:
        label.set_fontsize(8.5)
    for line in panel.lines:
        line.set_markersize(0.75 * line.get_markersize())
        line.set_linewidth(0.8 * line.get_linewidth())


def _most(one: CaseResult, key: str, kind: say.Kind) -> str:
    """The value of greatest size along the span, and where."""
    values = getattr(one.sections, key)
    k = int(np.argmax(np.abs(values)))
    at = say.length.told(float(one.sections.y[k]), 0)
    return f"up to {kind.number(float(values[k]), 3)} {kind.unit} at {at}"


def capital(words: str) -> str:
    """Words with a capital first letter, the rest as it is."""
    return f"{words[:1].upper()}{words[1:]}"


def _finite(value: float) -> float | None:
    return value if np.isfinite(value) else None


def _envelope(contents: Contents) -> Picture:
    from models.pictures.plots import envelope_on

    assert contents.note is not None
    fast = contents.note.envelope.speed
    one = contents.note.envelope.worst
    corner = one.critical
    title = "Load factor over speed"
    words = (
        f"{capital(one.name)}, {say.whole_mass(one.mass):.3g}. Hardest corner: {corner.name}, "
        f"{gees(corner.load_factor)} g "
        f"at {say.speed(corner.speed):.0f}, reserve factor {reserve(_finite(corner.least))}. Numbers are "
        "those of the table of corners."
    )
    with svg.drawing("envelope"):
        figure = svg.sheet(4.2)
        panel = figure.subplots()
        handles, names = envelope_on(panel, one, np.inf if fast is None else fast.advised)
        _smaller(panel)
        told = [name.partition("\n")[::2] for name in names]
        brief = [f"{head} (off the chart)" if more else head for head, more in told]
        beyond = [f"{capital(head)} {more[1:-1]}." for head, more in told if more]
        words = " ".join([words, *beyond]).replace("\n", " ")
        figure.legend(handles, brief, frameon=False, fontsize=9, loc="outside upper left", ncols=2)
        return Picture("envelope", title, words, svg.inline(figure, "envelope", title, words))


def _balance(contents: Contents) -> list[Picture]:
    from models.pictures.balance import plan_on, range_on

    assert contents.note is not None
    found = contents.note.balance
    datum = found.wanted.datum
    what = "what the file describes" if found.inside is None else "centre of gravity"
    places = [
        f"{what}{f', tank {s.name}' if s.name else ''} {say.length(s.aft_of_datum):.1f}" for s in found.states
    ]
    where = (
        f"Aft of the datum: {'; '.join(places)}; neutral point {say.length(found.neutral_x - datum):.1f}; "
        f"range {say.length.bare(found.foremost - datum, '.0f')} to {say.length(found.rearmost - datum):.0f}."
    )
    out = []
    for key, title, words, height, draw in (
        ("balance-range", "Range of the centre of gravity", where, 2.1, range_on),
        (
            "balance-plan", "Plan view, nose up the page",
            "Numbers are those of the table of what weighs; green: the range of the centre of gravity; grey "
            "lines: spars and rails.", 2.6, plan_on,
        ),
    ):  # fmt: skip
        with svg.drawing(key):
            figure = svg.sheet(height)
            panel = figure.subplots()
            marks = draw(panel, found)
            panel.set_title("", loc="left")  # it stands over the figure
            _smaller(panel)
            if marks is not None:
                figure.legend(*marks, frameon=False, fontsize=9, loc="outside upper left", ncols=2,
                              handletextpad=0.3, columnspacing=1.0)  # fmt: skip
            if key == "balance-range":
                panel.spines["left"].set_visible(False)
            out.append(Picture(key, title, words, svg.inline(figure, key, title, words)))
    return out


_BARS = (
    ("bending_stiffness", "bending stiffness, {force} per {length} at the tip", say.bending_stiffness),
    ("torsional_stiffness", "torsional stiffness, {moment} per degree at the tip", say.torsion_stiffness),
    ("load_factor_at_first_failure", "fails first at, ", say.load_factor),
)


def _beside(key: str, value: float) -> str:
    """A bar's figure; a load is rounded down, as in sentences and tables."""
    if np.isnan(value):
        return fixed(None)
    return borne(value) if key == "load_factor_at_first_failure" else number(value, digits=3)


def _layouts(contents: Contents) -> list[Picture]:
    rows = [r for r in contents.layouts if r.scope == contents.layouts[0].scope]
    whole, flying = rows[0].scope == "wing", contents.note is not None
    unit = ("g" if flying else "times the load") if whole else f"{say.force.unit} at the tip"
    title = "Layouts of webs" + ("" if whole else f", spar alone: {rows[0].scope}")
    heads = [say.with_units(label) for _, label, _ in _BARS]
    heads[-1] += unit
    factors = [kind.factor for _, _, kind in _BARS]
    factors[-1] = 1.0 if whole else say.force.factor
    words = "; ".join(
        f"{r.name}: "
        + ", ".join(number(getattr(r, key) * f, digits=3) for (key, *_), f in zip(_BARS, factors))
        for r in rows
    )
    words = f"{heads[0].capitalize()}; {heads[1]}; {heads[2]}. {words}."
    with svg.drawing("layouts"):
        figure = svg.sheet(0.9 + 3 * (0.35 + 0.2 * len(rows)))
        panels = figure.subplots(3, 1)
        for panel, (key, *_), factor, head, (colour, _) in zip(panels, _BARS, factors, heads, _LINES):
            values = factor * np.array([getattr(r, key) for r in rows])
            values = np.where(np.isfinite(values), values, np.nan)
            at = np.arange(len(rows))
            panel.barh(at, np.nan_to_num(values), color=colour, height=0.62)
            for k, value in zip(at, values):
                panel.annotate(
                    _beside(key, float(value)),
                    (np.nan_to_num(value), k), (4, 0), textcoords="offset points", va="center", fontsize=9,
                )  # fmt: skip
            svg.dress(panel)
            panel.grid(visible=False, axis="y")
            panel.set_yticks(at, [shortened(r.name, _NAME) for r in rows], fontsize=9)
            panel.invert_yaxis()
            panel.set_xlim(0, 1.2 * float(np.nanmax(values, initial=0.0)) or 1.0)
            panel.set_title(head[:1].upper() + head[1:], fontsize=9.5, loc="left")
        said = "The same figures stand in the table."
        return [Picture("layouts", title, said, svg.inline(figure, "layouts", title, words))]
