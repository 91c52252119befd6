"""Chart of reserve factors by bay and failure mode: a field a bay and mode, a panel a spar.

The colours are the five bands of the reserve scene; every field carries its figure besides, so that nothing
hangs on colour alone.
"""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

import numpy as np

from fea.arrays import Array
from models.pictures import stage
from models.pictures.fields import BAND_WORDS, bands
from models.pictures.plots import empty_sheet, save_figure
from models.rounding import down
from models.strength import Margin, Margins
from models.wing.words import spar_words


def reserve_table(margins: Margins, spar: str) -> tuple[list[str], list[int], Array]:
    """Least reserve factor of every mode in every bay of one spar, both sides and all parts together.

    For a spar's name, or "" for what belongs to a bay but to no spar: modes, the least reserve first, bays
    from the centre outward, and reserve factors, (n_modes, n_bays), nan where a mode does not arise.
    """
    rows = [row for row in margins.rows if row.spar == spar and row.bay is not None]
    bays = sorted({row.bay for row in rows if row.bay is not None})
    modes = list(dict.fromkeys(row.mode for row in sorted(rows, key=lambda row: row.reserve_factor)))
    table = np.full((len(modes), len(bays)), np.nan)
    for row in rows:
        at = modes.index(row.mode), bays.index(int(row.bay or 0))
        table[at] = np.nanmin([table[at], row.reserve_factor])
    return modes, bays, table


def other_rows(margins: Margins) -> list[tuple[str, Margin]]:
    """What belongs to no bay, the least of every kind of part and mode, as the chart names them, least first:
    "rib: rib shear".
    """
    found: dict[str, Margin] = {}
    for row in sorted(margins.rows, key=lambda row: row.reserve_factor):
        if row.bay is None:
            found.setdefault(f"{row.part.kind}: {row.mode}", row)
    return list(found.items())


def plot_reserves(margins: Margins, path: str | os.PathLike[str], *, title: str) -> Path:
    """Write the chart of a check, or of what a verdict counts too, as a PNG; what fails first is outlined."""
    return save_figure(drawn_reserves(margins, title), path)


def drawn_reserves(margins: Margins, title: str) -> Any:
    """The chart as a figure of the plotting library, as high as its rows ask."""
    from matplotlib.patches import Patch

    spars = list(dict.fromkeys(row.spar for row in sorted(margins.rows, key=lambda r: (not r.spar, r.spar))))
    tables = [(spar, *reserve_table(margins, spar)) for spar in spars]
    tables = [entry for entry in tables if entry[1]]
    others = other_rows(margins)
    heights = [len(modes) for _, modes, _, _ in tables] + [len(others)] * bool(others)
    figure = empty_sheet(title, max(stage.SIZE[1], _ROW * sum(heights) + _HEAD * len(heights) + 130))
    panels = figure.subplots(len(heights), 1, height_ratios=heights, squeeze=False)[:, 0]
    most = max((max(bays) for _, _, bays, _ in tables), default=1)
    first = margins.rows[0] if margins.rows else None
    for panel, (spar, modes, bays, table) in zip(panels, tables):
        for i, k in np.argwhere(np.isfinite(table)):
            is_first = first is not None and (first.spar, first.mode, first.bay) == (spar, modes[i], bays[k])
            _cell(panel, bays[k], i, float(table[i, k]), first=is_first)
        name = stage.shortened(spar_words(spar), _NAME) if spar else "Sheeting and edges"
        _frame(panel, modes, name, most, min(bays, default=1))
        panel.set_xticks(bays, [str(bay) for bay in bays], fontsize=10)
        panel.set_xlabel("bay, from the centre outward", fontsize=10)
    if others:
        panel = panels[-1]
        for i, (_, row) in enumerate(others):
            _cell(panel, 1, i, row.reserve_factor, first=row is first)
            name = stage.shortened(row.part.name, 2 * _NAME)
            panel.text(1.65, i, name, va="center", fontsize=9, color=stage.INK)
        _frame(panel, [name for name, _ in others], "At ribs and rails: the least of each", most, 1)
        panel.spines[:].set_visible(False)
        panel.set_xticks([])
    marks = [Patch(facecolor=colour, label=label) for label, colour in zip(BAND_WORDS, stage.BAND_COLOURS)]
    figure.legend(
        handles=marks, loc="lower right", ncols=len(marks), fontsize=10, frameon=False,
        title="Reserve factor (allowable / applied), least of both sides; blank: does not arise; "
        "outlined: fails first",
    )  # fmt: skip
    return figure


_ROW, _HEAD, _NAME = 23, 74, 60
"""Pixels of a row and of what stands over and under a panel; letters of a spar's name."""


def _cell(panel: Any, x: float, y: float, value: float, *, first: bool) -> None:
    from matplotlib.patches import Rectangle

    band = int(bands(np.array([value]))[0])
    edge = {"edgecolor": stage.INK, "linewidth": 2.6, "zorder": 3} if first else {"linewidth": 0}
    panel.add_patch(Rectangle((x - 0.5, y - 0.5), 1, 1, facecolor=stage.BAND_COLOURS[band], **edge))
    text = down(value, 2 if value < 10 else 0) if value < 1000 else "high"
    panel.text(x, y, text, ha="center", va="center", fontsize=9, color=stage.ON_BAND[band], zorder=4)


def _frame(panel: Any, modes: list[str], name: str, most: int, least: int) -> None:
    panel.set_xlim(min(least, 1) - 0.5, most + 0.5)
    panel.set_ylim(len(modes) - 0.5, -0.5)
    panel.set_yticks(range(len(modes)), modes, fontsize=10)
    panel.set_title(name, fontsize=12, loc="left")
    panel.tick_params(length=0)
    panel.spines[:].set_color("#c8c8c8")
