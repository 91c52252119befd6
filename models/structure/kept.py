"""What pure functions of arrays have answered, kept for the next build of nearly the same wing.

A study builds a wing many times with one web or one size changed; what hangs on the rest comes out as before.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable
from functools import lru_cache, wraps
from typing import Any, TypeVar

import numpy as np

from fea.arrays import Array

F = TypeVar("F", bound=Callable[..., tuple[Array, ...]])


def kept(most: int) -> Callable[[F], F]:
    """A function of arrays of floats and of what can be hashed keeps its last `most` answers, tuples of
    arrays that cannot be written to.

    Parameters
    ----------
    most : int
        Answers.
    """

    def keeping(work: F) -> F:
        @lru_cache(maxsize=most)
        def known(*key: Hashable) -> tuple[Array, ...]:
            found = work(*(one.array() if isinstance(one, _Told) else one for one in key))
            for one in found:
                one.flags.writeable = False
            return found

        @wraps(work)
        def asked(*given: Any) -> tuple[Array, ...]:
            return known(*(_Told.of(one) if isinstance(one, np.ndarray) else one for one in given))

        return asked  # type: ignore[return-value]

    return keeping


class _Told(tuple[bytes, tuple[int, ...]]):
    """An array of floats as it is told apart."""

    @staticmethod
    def of(array: Array) -> _Told:
        """Of an array."""
        return _Told((np.asarray(array, dtype=np.float64).tobytes(), array.shape))

    def array(self) -> Array:
        """The array; not to be written to."""
        return np.frombuffer(self[0], dtype=np.float64).reshape(self[1])
