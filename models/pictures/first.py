"""What a picture of reserve factors has to show of what fails first: its part, its place, its words.

The rows that count in a verdict are not all in the reserves by element of a check: joints of caps that are
cut and joiners count on a condition only, and sheeting may bow before the first failure. Pictures name what
the verdict names, and colour it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fea.arrays import Array
from models.analysis import Analysis
from models.pictures.fields import reserve_by_part
from models.pictures.stage import shortened
from models.strength import Margin, Margins, first_told, sentence
from models.structure.model import Model, Part

_NAME = 24
"""Letters of a spar's name in a title."""


@dataclass(frozen=True, eq=False)
class ShownReserves:
    """Reserves of a solved wing as pictures show them.

    Parameters
    ----------
    margins : Margins
        Of every part and mode that counts, the least first; its first row is what the verdict names.
    by_part : mapping of str to (n_elements,) float array
        Least reserve factor of the part that each element of a block belongs to, nan where none was checked.
    """

    margins: Margins
    by_part: Mapping[str, Array]

    @property
    def first(self) -> Margin | None:
        """What fails first; None where nothing is loaded."""
        return self.margins.rows[0] if self.margins.rows else None

    @property
    def title(self) -> str:
        """The answer in one line: "Bay 6, main spar, starboard: rear web is sheared through at 9.5 g"."""
        if not self.margins.rows:
            return "Nothing is loaded, so nothing fails"
        first = self.margins.rows[0]
        of_first = replace(first, spar=shortened(first.spar, _NAME), part=short(first.part))
        rows = tuple(of_first if row is first else row for row in self.margins.rows)
        place, at, what = first_told(replace(self.margins, rows=rows))
        return f"{place}: {what} at {at}"

    @property
    def load(self) -> str:
        """Load of the first failure: "9.5 g"."""
        return first_told(self.margins)[1]

    @property
    def sentence(self) -> str:
        """The same as a sentence."""
        return sentence(self.margins)


def short(part: Part) -> Part:
    """A part whose spar's name leaves room for the rest of a title."""
    return replace(part, spar=shortened(part.spar, _NAME))


def judged(analysis: Analysis, margins: Margins, rows: Sequence[Margin] = ()) -> ShownReserves:
    """Reserves of a check, or those that a verdict counts in the same load where these are given, the least
    first: joints among them, sheeting bowed, by the harder of two loads."""
    by_part = reserve_by_part(analysis, margins.element_reserve)
    if not rows:
        return ShownReserves(margins, by_part)
    model = analysis.model
    number = {part: k for k, part in enumerate(model.parts)}
    least = np.full(len(number), np.nan)
    for row in reversed(rows):
        # Of a half that stands for both.
        k = number.get(row.part, number.get(replace(row.part, side="starboard")))
        if k is not None:
            least[k] = row.reserve_factor
    for name, block in model.structure.blocks.items():
        if block.part is not None and not np.isnan(found := least[block.part]).all():
            by_part[name] = np.where(np.isnan(found), by_part.get(name, np.nan), found)
    return ShownReserves(replace(margins, rows=tuple(rows)), by_part)


def elements_of(model: Model, part: Part) -> dict[str, NDArray[np.bool_]]:
    """Which elements of each block belong to a part, (n_elements,) bool; blocks that have some of it."""
    if part not in model.parts:
        part = replace(part, side="starboard")  # of a half that stands for both
    if part not in model.parts:
        return {}
    number = model.parts.index(part)
    found: dict[str, NDArray[np.bool_]] = {}
    for name, block in model.structure.blocks.items():
        if block.part is not None and (block.part == number).any():
            found[name] = np.asarray(block.part == number)
    return found
