"""What one failure mode finds: for some elements of one block, how far the load may grow before they fail."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Ints = NDArray[np.intp]


@dataclass(frozen=True, eq=False)
class Finding:
    """Reserve of some elements of a block in one mode; an element may come more than once (several points of
    it).

    Parameters
    ----------
    mode : str
        Name of the failure mode.
    block : str
        Block of the structure.
    element : (n,) int array
        Elements of that block.
    reserve : (n,) float array
        Factor on the load at which each fails; `np.inf` where nothing acts.
    applied, allowable : (n,) float array
        In `unit`, at the load of the case and at failure.
    unit : str
        "Pa", "N/m" or "N".
    y : (n,) float array
        Where along the span, m.
    source : str
        Title, table or equation, and how far it was read.
    """

    mode: str
    block: str
    element: Ints
    reserve: Array
    applied: Array
    allowable: Array
    unit: str
    y: Array
    source: str


def ratio(allowable: Array, applied: Array) -> Array:
    """Allowable over applied, infinite where nothing is applied; both (n,), applied not negative."""
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(applied > 0, allowable / applied, np.inf)
