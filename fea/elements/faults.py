"""Faults of elements; each carries the numbers of the elements concerned, so that a caller can name the
parts."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray


class DegenerateElement(ValueError):
    """An element has no length or no area, or is turned inside out.

    Parameters
    ----------
    kind : str
        Which kind of element.
    elements : (n,) int array
        Numbers within their block.
    """

    def __init__(self, kind: str, elements: NDArray[np.intp]) -> None:
        self.kind = kind
        self.elements = np.asarray(elements)
        shown = ", ".join(str(e) for e in self.elements[:5])
        more = f" and {len(self.elements) - 5} more" if len(self.elements) > 5 else ""
        super().__init__(f"{kind} {shown}{more}: no extent, or corners in the wrong order")


class NonPositiveRigidity(ArithmeticError):
    """A rigidity of a section is not positive, so that its element would do work on what loads it.

    Parameters
    ----------
    kind : str
        Which kind of element.
    what : str
        Name of the rigidity.
    elements : (n,) int array
        Numbers within their block.
    """

    def __init__(self, kind: str, what: str, elements: NDArray[np.intp]) -> None:
        self.kind, self.what = kind, what
        self.elements = np.asarray(elements)
        shown = ", ".join(str(e) for e in self.elements[:5])
        more = f" and {len(self.elements) - 5} more" if len(self.elements) > 5 else ""
        super().__init__(f"{kind} {shown}{more}: {what} rigidity is not positive")
