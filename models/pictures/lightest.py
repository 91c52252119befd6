"""Fronts of mass against strength and stiffness, with the file's own layout and webs everywhere marked."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from models import units_out as say
from models.pictures import stage
from models.pictures.plots import BLUE, GREEN, ORANGE, PINK, dress_panel, empty_sheet, save_figure

if TYPE_CHECKING:
    from models.studies.lightest import Candidate, Lightest


def plot_fronts(found: Lightest, path: str | os.PathLike[str]) -> Path:
    """Write load factor, tip deflection and twist over the mass of webs as a PNG, replaced whole."""
    wing, limits = found.places.wing, found.limits
    flying = wing.flies
    answer = f"what each {say.small_mass()} of web buys"
    if found.best is not None:
        answer = f"{say.mass(found.best.web_mass):.1f} of webs is the lightest that meets the limits"
    figure = empty_sheet(f"{wing.name}: {answer}")
    grid = figure.add_gridspec(2, 2, width_ratios=(1.7, 1.0))
    panels = (figure.add_subplot(grid[:, 0]), figure.add_subplot(grid[0, 1]), figure.add_subplot(grid[1, 1]))
    kinds = (
        (found.strength, lambda c: c.load_factor, limits.load_factor,
         f"fails first at, {'g' if flying else 'times the load'}", "limit"),
        (found.stiffness, lambda c: say.length.factor * abs(c.deflection),
         _scaled(limits.deflection, say.length.factor), f"tip deflection, {say.length.unit}", "limit"),
        (found.twisting, lambda c: np.degrees(abs(c.twist)), _scaled(limits.twist, 180 / np.pi),
         "tip twist, deg", "limit"),
    )  # fmt: skip
    every = found.evaluated >= found.total
    better = "nothing lighter is better" if every else "nothing lighter that was evaluated is better"
    for panel, (front, worth, limit, label, word) in zip(panels, kinds):
        mass = np.array([say.mass.factor * c.web_mass for c in front])
        panel.step(
            np.append(mass, say.mass.factor * found.everything.web_mass) if len(mass) else mass,
            np.array([worth(c) for c in (*front, *front[-1:])]) if len(mass) else mass,
            where="post", color=BLUE, linewidth=2.0, label=better,
        )  # fmt: skip
        panel.plot(mass, [worth(c) for c in front], "o", color=BLUE, markersize=5)
        if limit is not None:
            panel.axhline(limit, color=stage.INK, linewidth=1.4, linestyle="--", label=word)
        marks: tuple[tuple[Candidate | None, str, str, str, int], ...] = (
            (found.own, "s", ORANGE, "as drawn", 10),
            (found.everything, "D", PINK, "webs everywhere", 10),
            (found.best, "*", GREEN, "lightest that meets the limits", 18),
        )
        for one, marker, colour, name, size in marks:
            if one is not None:
                panel.plot([say.mass.factor * one.web_mass], [worth(one)], marker, color=colour,
                           markersize=size, markeredgecolor=stage.INK, linestyle="", label=name,
                           zorder=5)  # fmt: skip
        panel.set_xlabel(f"mass of webs, {'both sides, ' if flying else ''}{say.grams.unit}", fontsize=12)
        panel.set_ylabel(label, fontsize=12)
        panel.set_ylim(bottom=0)
        dress_panel(panel)
    handles, names = panels[0].get_legend_handles_labels()
    figure.legend(handles, names, loc="outside lower right", ncols=3, fontsize=11, frameon=False)
    return save_figure(figure, path)


def _scaled(value: float | None, factor: float) -> float | None:
    return None if value is None else value * factor
