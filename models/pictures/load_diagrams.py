"""Shear, bending and torsion along the span of every load case, one picture a kind of case."""

from __future__ import annotations

import textwrap
from pathlib import Path

from models import units_out as say
from models.loads.cases import KINDS
from models.pictures import plots, stage
from models.rounding import down
from models.studies.load_cases import CaseResult, LoadStudy

_LINES = (
    ("#2a5b9c", "-"),
    ("#d9822b", "--"),
    ("#2a8c82", "-."),
    ("#a8467f", ":"),
    ("#7a5c1e", (0, (6, 2, 1, 2, 1, 2))),
    ("#4a4a4a", (0, (3, 1))),
    ("#1c9bd1", (0, (1, 1))),
    ("#b03a2e", (0, (8, 2))),
    ("#6a4fa3", "-"),
    ("#8c8c1e", "--"),
    ("#c2577a", "-."),
    ("#3f7f3f", (0, (2, 1))),
)
_TITLES = {
    "flight": "in flight",
    "landing": "landing",
    "launch": "launch",
    "carrying": "way to carry it",
}
_PANELS = (
    ("shear", "shear force, {force}\n(positive: outboard part up)", say.force),
    ("bending", "bending moment, {moment}\n(positive: tip lifted)", say.moment),
    ("torsion", "torsion, {moment} (quarter chord;\npositive: outboard nose up)", say.moment),
)


def plot_loads(study: LoadStudy, folder: Path) -> list[Path]:
    """Write the diagrams of each kind of case as a PNG; the pull-up stands in each for comparison."""
    files = []
    for kind in KINDS:
        own = [one for one in study.cases if one.case.kind == kind]
        if own:
            pull_up = [] if kind == "flight" else [study.cases[0]]
            files.append(_plot(study, kind, own, pull_up, folder / f"loads-{kind}.png"))
    return files


def _plot(study: LoadStudy, kind: str, own: list[CaseResult], beside: list[CaseResult], path: Path) -> Path:
    worst = min(own, key=lambda one: one.reserve)
    answer = f"hardest {_TITLES[kind]}: {worst.name}, reserve factor {_reserve(worst.reserve)}"
    figure = plots.empty_sheet(f"{study.wing.name}: {answer}")
    grid = figure.add_gridspec(3, 2, width_ratios=(2.7, 1.0))
    top = figure.add_subplot(grid[0, 0])
    panels = [top, *(figure.add_subplot(grid[k, 0], sharex=top) for k in (1, 2))]
    column = figure.add_subplot(grid[:, 1])
    column.axis("off")
    mm = say.length.factor
    for panel, (key, label, told) in zip(panels, _PANELS):
        for one in beside:
            y, value = one.sections.y, told.factor * getattr(one.sections, key)
            panel.fill_between(mm * y, value, color="#c9c9c9", alpha=0.45, linewidth=0)
            words = _wrapped(f"{one.name}, for comparison")
            panel.plot(mm * y, value, color="#8a8a8a", linewidth=1.0, label=words)
        for k, one in enumerate(own):
            colour, style = _LINES[k % len(_LINES)]
            words = _wrapped(f"{one.name}: reserve {_reserve(one.reserve)}")
            value = told.factor * getattr(one.sections, key)
            panel.plot(mm * one.sections.y, value, color=colour, linestyle=style, linewidth=2.2, label=words)
        plots.dress_panel(panel)
        panel.axhline(0.0, color=stage.INK, linewidth=0.8)
        panel.axvline(0.0, color=stage.INK, linewidth=0.8, linestyle=":")
        panel.set_ylabel(say.with_units(label), fontsize=12)
        panel.margins(x=0.01)
    panels[-1].set_xlabel(f"span station, {say.length.unit} (port negative, starboard positive)", fontsize=12)
    column.legend(
        *panels[0].get_legend_handles_labels(), frameon=False, fontsize=11, loc="upper left",
        bbox_to_anchor=(-0.06, 1.0), borderaxespad=0.0, labelspacing=0.9,
    )  # fmt: skip
    return plots.save_figure(figure, path)


def _wrapped(words: str) -> str:
    """Words of a legend in lines that its column holds."""
    return "\n".join(textwrap.wrap(words, 38))


def _reserve(value: float) -> str:
    """A reserve factor for a legend, rounded down to two places."""
    return down(value, 2) if value <= 100 else "over 100"
