"""The order of gluing: stiffness, what a hand breaks, and the twist that stays, a row a step."""

from __future__ import annotations

import math
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np

from models import units_out as say
from models.pictures import stage
from models.pictures.plots import BLUE, GREEN, ORANGE, PINK, dress_panel, empty_sheet, save_figure
from models.rounding import down
from models.studies.steps import BREAKS, ERROR, STAYS, Steps

_BOARD, _HAND = "#9a9a9a", "#4a4a4a"  # none of the verdicts' colours
_UNTIL = {"pinned": PINK, "lift": ORANGE, "free": GREEN, "done": GREEN, "by middle": PINK}
_BEHIND = {"facecolor": "white", "edgecolor": "none", "alpha": 0.85, "pad": 1.0}
_WORDS = {
    "pinned": "pinned",
    "lift": "may be lifted; next part on the jig",
    "free": "may be lifted; next part off the jig",
    "done": "done",
    "by middle": "done, lift by its middle",
}


def plot_steps(found: Steps, path: str | os.PathLike[str]) -> Path:
    """Write the steps of the build as a PNG of four panels, replaced whole."""
    lifted = [k for k in range(len(found.steps)) if found.verdict(k) not in ("pinned", "by middle")]
    answer = "the order of gluing; it stays on the board to the end"
    if lifted:
        answer = f"it may be lifted after step {lifted[0] + 1}, {found.steps[lifted[0]].stage.name}"
    figure = empty_sheet(f"{found.wing.name}: {answer}")
    bend, turn, lift, left = figure.subplots(1, 4, sharey=True)
    rows = np.arange(len(found.steps))
    names = [
        f"{k}  {step.stage.name}\n{_WORDS[found.verdict(k - 1)]}" for k, step in enumerate(found.steps, 1)
    ]
    nothing = [k for k, step in enumerate(found.steps) if step.analysis is None]
    for panel, kind, each, title in (
        (bend, say.bending_stiffness, [step.bending for step in found.steps], "bending: push at the tip"),
        (turn, say.torsion_stiffness, [step.torsion for step in found.steps], "twist: couple at the tip"),
    ):
        _bars(panel, rows, [kind.factor * value for value in each], BLUE)
        panel.set_title(title, fontsize=12)
        panel.set_xlabel(kind.unit, fontsize=12)
    most = 25 * BREAKS
    breaks = [step.breaks for step in found.steps]
    colours = [_UNTIL[found.verdict(k)] for k in range(len(rows))]
    _bars(lift, rows, breaks, colours, down, most=most)
    lift.axvline(BREAKS, color=stage.INK, linewidth=1.2, linestyle="--")
    lift.set_title("lifted by tip or corner,\nbreaks at", fontsize=12)
    lift.set_xlabel("times its own weight", fontsize=12)
    board, hand = ([abs(math.degrees(getattr(s, name))) for s in found.steps] for name in ("board", "held"))
    top = max([math.degrees(STAYS), *(v for v in (*board, *hand) if math.isfinite(v))])
    for values, colour, at, words in (
        (board, _BOARD, -0.2, f"board {say.size(ERROR):g} too high under\nthe tip's trailing edge"),
        (hand, _HAND, 0.2, "hand bearing the wing\nby that corner"),
    ):
        shown = [v if math.isfinite(v) else 0.0 for v in values]
        left.barh(rows + at, shown, 0.36, color=colour, label=words)
        for k, value in enumerate(values):
            words = "-" if math.isnan(value) else "all of it" if math.isinf(value) else f"{value:.2f}"
            left.text(shown[k] + 0.02 * top, rows[k] + at, words, va="center", fontsize=11, bbox=_BEHIND)
    left.axvline(math.degrees(STAYS), color=stage.INK, linewidth=1.2, linestyle="--")
    left.set_xlim(0.0, 1.22 * top)
    left.set_title("twist that stays,\nonce this part has set", fontsize=12)
    left.set_xlabel("deg, nose down", fontsize=12)
    for panel in (bend, turn, lift, left):
        dress_panel(panel)
    for k in nothing:
        bend.text(0.0, rows[k], " nothing holds it yet", va="center", fontsize=11)
    bend.set_yticks(rows, names, fontsize=11)
    bend.set_ylim(len(rows) - 0.4, -0.6)
    for label, colour in zip(bend.get_yticklabels(), colours, strict=True):
        label.set_color(colour if colour != ORANGE else "#8a4a0a")
    handles, labels = left.get_legend_handles_labels()
    note = "dashed: the limits that are judged (common practice, no source)"
    figure.legend(handles, labels, loc="outside lower right", ncols=2, fontsize=11, frameon=False, title=note)
    return save_figure(figure, path)


def _bars(
    panel: Any, rows: Any, values: list[float], colour: Any,
    told: Callable[[float], str] = "{:#.3g}".format, most: float | None = None,
) -> None:  # fmt: skip
    """Bars with their figures beside them; what is longer than `most` is cut off there, with an arrow."""
    top = max([v for v in values if math.isfinite(v)], default=1.0) or 1.0
    top = top if most is None else min(top, most)
    shown = [min(v, top) if math.isfinite(v) else top for v in values]
    panel.barh(rows, shown, 0.6, color=colour)
    for k, value in enumerate(values):
        words = told(value) if math.isfinite(value) else "no limit"
        words = f"\u2192 {words}" if value > top else words
        panel.text(shown[k] + 0.02 * top, rows[k], words, va="center", fontsize=11, bbox=_BEHIND)
    panel.set_xlim(0.0, 1.25 * top)
