"""How the wood's scatter tells: every case in the air as a line from one wing in twenty to mean wood."""

from __future__ import annotations

import textwrap

import numpy as np

from models.page import svg
from models.page.figures import Picture, capital, finish_panel
from models.pictures.stage import BAND_COLOURS, shortened
from models.rounding import down
from models.verdict import CaseVerdict, Verdict, share

_MOST = 8
"""Cases that are drawn, the hardest first."""
_NEAR = 10.0
"""Reserve factor of one wing in twenty from which on a case is so far from failing that it is left out."""


def scatter_picture(found: Verdict) -> Picture:
    """Reserve factors of the hardest cases in the air, in mean wood and in one wing of twenty."""
    rows = sorted((found.pull_up, *found.others), key=lambda one: (one.survive, one.fifth))
    near = [one for one in rows if one.fifth < _NEAR or one is found.pull_up]
    rows = [one for one in near if np.isfinite(one.mean)][:_MOST]
    title = "What the wood's scatter leaves of the reserve"
    words = "Dot: mean wood. Left end: one wing in twenty is weaker. Left of 1 it fails. " + " ".join(
        f"{capital(one.name)}: {down(one.fifth, 2)} to {down(one.mean, 2)}, {share(one.survive)} survive."
        for one in rows
    )
    with svg.drawing("scatter"):
        figure = svg.sheet(0.75 + 0.36 * len(rows))
        panel = figure.subplots()
        for k, one in enumerate(rows):
            colour = BAND_COLOURS[0] if one.fifth < 1 else svg.BLUE
            panel.plot([one.fifth, one.mean], [k, k], color=colour, linewidth=3, solid_capstyle="butt")
            panel.plot(one.mean, k, "o", color=colour, markersize=6)
            panel.annotate(_told(one), (one.mean, k), (8, 0), textcoords="offset points", fontsize=9,
                           va="center", color=svg.INK)  # fmt: skip
        panel.axvline(1.0, color=svg.INK, linewidth=1.2, linestyle="--")
        most = max((one.mean for one in rows), default=1.0)
        panel.set_xlim(0, 1.42 * max(most, 1.2))
        panel.set_yticks(range(len(rows)), [_in_two(one.name) for one in rows], fontsize=9)
        panel.set_ylim(len(rows) - 0.5, -0.5)
        finish_panel(panel, "reserve factor (1: it fails)")
        panel.grid(visible=False, axis="y")
        for line in panel.lines[-1:]:
            line.set_visible(False)  # that of nought, which is the edge here
        said = (
            "Dot: mean wood. Left end: one wing in twenty is weaker than that. Below 1 it fails. Shares: of "
            "such wings that survive the case."
        )
        return Picture("scatter", title, said, svg.inline(figure, "scatter", title, words))


def _in_two(name: str) -> str:
    """A name in two lines at the most."""
    lines = textwrap.wrap(shortened(name, 62), 32, break_on_hyphens=False)
    return "\n".join(lines[:2])


def _told(one: CaseVerdict) -> str:
    return f"{down(one.fifth, 2)} to {down(one.mean, 2)}, {share(one.survive)}"
