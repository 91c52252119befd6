"""Chart of reserve factors by bay and failure mode: a field a bay and mode, a panel a spar.

The colours are the five bands of the reserve scene; every field carries its figure besides, so that nothing
hangs on colour alone.
"""

from __future__ import annotations

import os
from pathlib import Path

import numpy as np

from fea.arrays import Array
from models.pictures import stage
from models.pictures.fields import bands
from models.pictures.plots import _save, _sheet
from models.rounding import down
from models.strength import Margins

_LABELS = ("below 1: fails", "1 to 1.5", "1.5 to 2", "2 to 4", "above 4")


def reserve_table(margins: Margins, spar: str) -> tuple[list[str], list[int], Array]:
    """Least reserve factor of every mode in every bay of one spar, both sides and all parts together.

    Parameters
    ----------
    margins : Margins
        From `models.strength.check`.
    spar : str
        Name of the spar; "" for what belongs to a bay but to no spar.

    Returns
    -------
    modes : list of str
        The least reserve first.
    bays : list of int
        From the centre outward.
    table : (n_modes, n_bays) float array
        Reserve factors; nan where a mode does not arise.
    """
    rows = [row for row in margins.rows if row.spar == spar and row.bay is not None]
    bays = sorted({row.bay for row in rows if row.bay is not None})
    modes = list(dict.fromkeys(row.mode for row in sorted(rows, key=lambda row: row.reserve_factor)))
    table = np.full((len(modes), len(bays)), np.nan)
    for row in rows:
        at = modes.index(row.mode), bays.index(int(row.bay or 0))
        table[at] = np.nanmin([table[at], row.reserve_factor])
    return modes, bays, table


def plot_reserves(margins: Margins, path: str | os.PathLike[str], *, title: str) -> Path:
    """Write the chart as a PNG.

    Parameters
    ----------
    margins : Margins
        From `models.strength.check`.
    path : str or path
        Where to; replaced whole.
    title : str
        Over the chart.

    Returns
    -------
    path
    """
    from matplotlib.colors import ListedColormap
    from matplotlib.patches import Patch

    spars = list(dict.fromkeys(row.spar for row in sorted(margins.rows, key=lambda r: (not r.spar, r.spar))))
    tables = [(spar, *reserve_table(margins, spar)) for spar in spars]
    tables = [entry for entry in tables if entry[1]]
    figure = _sheet(title)
    heights = [len(modes) + 2 for _, modes, _, _ in tables]
    panels = np.atleast_1d(figure.subplots(len(tables), 1, height_ratios=heights, squeeze=False)[:, 0])
    colour_map = ListedColormap(list(stage.BAND_COLOURS))
    for panel, (spar, modes, bays, table) in zip(panels, tables):
        band = bands(table)
        shown = np.ma.masked_less(band, 0)
        panel.imshow(shown, cmap=colour_map, vmin=-0.5, vmax=len(stage.BAND_COLOURS) - 0.5, aspect="auto")
        panel.set_xticks(range(len(bays)), [str(bay) for bay in bays], fontsize=10)
        panel.set_yticks(range(len(modes)), modes, fontsize=10)
        panel.set_title(f"{spar} spar" if spar else "Sheeting and edges", fontsize=12, loc="left")
        panel.set_xlabel("bay, from the centre outward", fontsize=10)
        panel.tick_params(length=0)
        for i, k in np.argwhere(np.isfinite(table)):
            value = float(table[i, k])
            dark = band[i, k] in (0, 1, len(stage.BAND_COLOURS) - 1)
            text = down(value, 2 if value < 10 else 0) if value < 1000 else "high"
            panel.text(k, i, text, ha="center", va="center", fontsize=9, color="white" if dark else "black")
    marks = [Patch(facecolor=colour, label=label) for label, colour in zip(_LABELS, stage.BAND_COLOURS)]
    figure.legend(
        handles=marks, loc="lower right", ncols=len(marks), fontsize=10, frameon=False,
        title="Reserve factor (allowable / applied), least of both sides; blank: does not arise",
    )  # fmt: skip
    return _save(figure, path)
