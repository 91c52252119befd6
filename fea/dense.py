"""Solves of full matrices that prove themselves."""

from __future__ import annotations

from typing import Any

import numpy as np
import scipy.linalg as sl
from numpy.typing import NDArray

from fea.arrays import Array
from fea.solve import UnbalancedSolve

Complex = NDArray[np.complex128]

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
    _proved(matrix @ answer - right, matrix, answer, right)
    return answer


def _proved(left: Any, matrix: Any, answer: Any, right: Any) -> None:
    over = float(np.abs(left).max(initial=0.0))
    most = float(np.abs(matrix).max(initial=0.0)) * matrix.shape[-1] * float(np.abs(answer).max(initial=0.0))
    size = most + float(np.abs(right).max(initial=0.0))
    if not over <= _BACKWARD * size:
        raise UnbalancedSolve(over / size if size else np.inf, _BACKWARD, "residual of a full matrix")


class Eliminated:
    """A full real matrix eliminated once, for answers to many right sides, with columns added or without.

    `matrix`: (n, n) float array.
    """

    def __init__(self, matrix: Array) -> None:
        self.matrix = matrix
        self._factor = sl.lu_factor(matrix, check_finite=False)

    def with_last(self, more: Complex, right: Complex) -> Complex:
        """Answer x of (A + B) x = b, B having its last columns alone, that proves itself.

        Parameters
        ----------
        more : (n, m) complex array
            The last columns of B.
        right : (n, k) complex array
            b.

        Returns
        -------
        (n, k) complex array

        Raises
        ------
        UnbalancedSolve
            It leaves too much over, or is not finite.

        References
        ----------
        Sherman, Morrison and Woodbury: Golub and Van Loan, Matrix Computations, ch. 2 (from memory).
        """
        m, both = more.shape[1], np.hstack([more, right])
        parts = sl.lu_solve(self._factor, np.hstack([both.real, both.imag]), check_finite=False)
        found = parts[:, : both.shape[1]] + 1j * parts[:, both.shape[1] :]
        of_more, plain = found[:, :m], found[:, m:]
        last = solved(np.eye(m) + of_more[-m:], plain[-m:])
        answer = plain - of_more @ last
        # One mixture of all right sides is tried, which takes one product with the matrix.
        size = np.abs(right).max(axis=0)
        mixed = np.cos(np.arange(len(size))) / np.where(size > 0, size, 1.0)
        one = answer @ mixed
        _proved(self.matrix @ one + more @ one[-m:] - right @ mixed, self.matrix, one, right @ mixed)
        return answer
