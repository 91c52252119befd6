"""What one failure mode finds: for some elements of one block, how far the load may grow before they fail."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fea.arrays import Array, Ints


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
    reason : str
        Why this failure does not end the flight, or on what condition it counts; "" where it does.
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
    reason: str = ""


def ratio(allowable: Array, applied: Array) -> Array:
    """Allowable over applied, infinite where nothing is applied; both (n,), applied not negative."""
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(applied > 0, allowable / applied, np.inf)


def reserve_of(used: Array) -> Array:
    """Factor on the load that uses all of the strength, from the share used (...); infinite where that is
    nothing."""
    with np.errstate(divide="ignore", over="ignore"):
        return np.where(used > 0, 1 / np.where(used > 0, used, 1.0), np.inf)


def growing(linear: Array, square: Array) -> Array:
    """Share used of a strength by loads some of which grow with the square of the case's.

    The crushing of a bent spar grows with the square of the load, everything else in proportion to it.

    Parameters
    ----------
    linear, square : (...) float array
        Shares of the strength used at the load of the case; `square` not negative.

    Returns
    -------
    (...) float array
        1/k of the least positive k at which linear k + square k^2 = 1; 0 where nothing acts.
    """
    return np.asarray((linear + np.sqrt(linear**2 + 4 * square)) / 2)
