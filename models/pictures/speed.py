"""Frequency and damping of the wing's modes over speed, and where it begins to beat."""

from __future__ import annotations

import os
from pathlib import Path

from models.pictures import stage
from models.pictures.plots import _dress, _save, _sheet
from models.studies.speed import Speeds

_KMH = 3.6
_LINES = (("#2a5b9c", "-"), ("#d9822b", "--"), ("#2a8c82", "-."), ("#a8467f", ":"))
_BEYOND = 1.3
"""How far beyond the last speed at which something happens the picture goes."""
_MOST_DAMPING = 30.0
"""Of the axis of damping, percent: what dies out faster is no danger."""
_TITLES = {
    "symmetric": "both sides alike",
    "antisymmetric": "one side up, the other down",
    "together": "both sides",
}


def plot_speed(found: Speeds, path: str | os.PathLike[str]) -> Path:
    """Write frequency and damping over speed as a PNG, a column for each kind of movement.

    Parameters
    ----------
    found : Speeds
        From `models.studies.speed.speeds`, with its modes followed.
    path : str or path
        Where to; replaced whole.

    Returns
    -------
    path
    """
    figure = _sheet(f"{found.reduced.wing.name}: modes over speed, by strips")
    kinds = list(dict.fromkeys(mode.kind for mode in found.modes))
    panels = figure.subplots(2, len(kinds), sharex=True, squeeze=False)
    last = _BEYOND * max([found.reduced.case_speed, *(one.speed for one in found.beating)])
    shown = found.speeds <= last
    x = _KMH * found.speeds[shown]
    for column, kind in enumerate(kinds):
        above, below = panels[0][column], panels[1][column]
        modes = [mode for mode in found.modes if mode.kind == kind]
        for k, (mode, (colour, style)) in enumerate(zip(modes, _LINES), 1):
            look = {"color": colour, "linestyle": style, "linewidth": 2.2, "label": f"mode {k}"}
            above.plot(x, mode.frequency[shown], **look)
            below.plot(x, 100 * mode.damping[shown], **look)
        below.axhspan(-_MOST_DAMPING, 0.0, color="#d9822b", alpha=0.15, linewidth=0)
        below.axhline(0.0, color=stage.INK, linewidth=0.8)
        first = next((one for one in found.beating if one.kind == kind), None)
        for panel in (above, below):
            _dress(panel)
            if first is not None:
                panel.axvline(_KMH * first.speed, color=stage.INK, linewidth=1.2, linestyle="--")
        if first is not None:
            words = f"  beats from {_KMH * first.speed:.0f} km/h, {first.frequency:.1f} Hz"
            right = first.speed > 0.4 * last
            below.annotate(
                words + "  " * right,
                (_KMH * first.speed, -0.9 * _MOST_DAMPING),
                ha="right" if right else "left",
                fontsize=10,
                bbox={"facecolor": "white", "edgecolor": "none", "alpha": 0.9, "pad": 2.0},
                zorder=5,
            )
        above.set_title(_TITLES[kind], fontsize=12)
        above.set_ylim(bottom=0.0)
        below.set_ylim(-_MOST_DAMPING, _MOST_DAMPING)
        below.set_xlabel("speed, km/h")
    panels[0][0].set_ylabel("frequency, Hz")
    panels[1][0].set_ylabel("damping, % of critical\n(below 0 it beats)")
    handles, labels = panels[0][0].get_legend_handles_labels()
    figure.legend(handles, labels, loc="upper right", ncols=len(labels), fontsize=9, frameon=False)
    return _save(figure, path)
