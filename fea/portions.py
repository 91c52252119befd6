"""Large arrays worked on in portions, two side by side: numpy and scipy let go of the interpreter's lock in
their loops, so that a second core helps where the portions are large."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor

_FEWEST = 6
"""Portions that repay starting threads, some tenths of a millisecond."""
_THREADS = 2


def each_portion(work: Callable[[slice], None], n: int, size: int) -> None:
    """Work on all slices of n rows, `size` each, in order where there are few; portions are independent
    of each other.

    Raises
    ------
    Exception
        What the first portion to fail, in order, raises.
    """
    portions = [slice(first, min(first + size, n)) for first in range(0, n, size)]
    if len(portions) < _FEWEST:
        for portion in portions:
            work(portion)
        return
    with ThreadPoolExecutor(_THREADS) as pool:
        for _ in pool.map(work, portions):
            pass
