"""Solves of full matrices that prove themselves."""

from __future__ import annotations

from typing import Any

import numpy as np

from fea.solve import UnbalancedSolve

_BACKWARD = 1e-10
"""What a solve of a full matrix may leave over, of the matrix times the answer and the right side, each at
its largest: a good one leaves a few hundred times the rounding, 1e-14 (own choice, no source)."""


def solved(matrix: Any, right: Any) -> Any:
    """Answer x of A x = b for full matrices, as `numpy.linalg.solve`, if it solves it.

    Parameters
    ----------
    matrix : (..., n, n) array
        A, real or complex.
    right : (n,) or (..., n, m) array
        b.

    Returns
    -------
    array of the shape of b, or of as many as there are matrices

    Raises
    ------
    UnbalancedSolve
        It leaves too much over, or is not finite.
    """
    answer = np.linalg.solve(matrix, right)
    left = float(np.abs(matrix @ answer - right).max(initial=0.0))
    most = float(np.abs(matrix).max(initial=0.0)) * matrix.shape[-1] * float(np.abs(answer).max(initial=0.0))
    size = most + float(np.abs(right).max(initial=0.0))
    if not left <= _BACKWARD * size:
        raise UnbalancedSolve(left / size if size else np.inf, _BACKWARD, "residual of a full matrix")
    return answer
