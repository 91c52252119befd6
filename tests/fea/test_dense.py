"""Solves of full matrices prove themselves: a library that errs is told on, in every shape that is asked."""

from __future__ import annotations

import numpy as np
import pytest
import scipy.linalg as sl
from numpy.testing import assert_allclose

from fea.dense import Eliminated, solved
from fea.solve import UnbalancedSolve
from models.loads.unsteady_lattice import Lattice

plain = np.linalg.solve


def asked(kind):
    rng = np.random.default_rng(20)
    matrix = rng.standard_normal((3, 12, 12)) + 4 * np.eye(12)
    right = rng.standard_normal((3, 12, 2))
    if kind == "complex":
        return matrix + 1j * rng.standard_normal(matrix.shape), right
    if kind == "one right side":
        return matrix[0], right[0, :, 0]
    if kind == "stiff and soft":  # rows of newtons a metre and of metres
        return matrix * np.geomspace(1e-6, 1e6, 12)[:, None], right
    return (matrix, right) if kind == "many" else (matrix, right[0])


KINDS = ("many", "one right side", "one for many", "complex", "stiff and soft")


@pytest.mark.parametrize("kind", KINDS)
def test_answers_as_the_library(kind):
    matrix, right = asked(kind)
    assert_allclose(solved(matrix, right), plain(matrix, right), rtol=0)


@pytest.mark.parametrize("kind", KINDS[:-1])
@pytest.mark.parametrize("error", [0.03, 1e-6, np.nan])
def test_a_solver_that_errs_is_told_on(kind, error, monkeypatch):
    matrix, right = asked(kind)
    monkeypatch.setattr(np.linalg, "solve", lambda a, b: plain(a, b) * (1 + error))
    with pytest.raises(UnbalancedSolve, match="residual of a full matrix"):
        solved(matrix, right)


def test_columns_added_are_as_in_the_whole():
    rng = np.random.default_rng(21)
    matrix = rng.standard_normal((14, 14)) + 5 * np.eye(14)
    more, right = (rng.standard_normal((14, m)) + 1j * rng.standard_normal((14, m)) for m in (3, 6))
    whole = matrix.astype(complex)
    whole[:, -3:] += more
    assert_allclose(Eliminated(matrix).with_last(more, right), plain(whole, right), rtol=1e-12)


@pytest.mark.parametrize("error", [0.03, 1e-6, np.nan])
def test_an_elimination_that_errs_is_told_on(error, monkeypatch):
    right = sl.lu_solve
    monkeypatch.setattr(sl, "lu_solve", lambda *of, **how: right(*of, **how) * (1 + error))
    with pytest.raises(UnbalancedSolve, match="residual of a full matrix"):
        Eliminated(np.eye(5)).with_last(np.ones((5, 2), complex), np.ones((5, 1), complex))


ASKED_OF = (lambda one: one.harmonic(0.4, 1), lambda one: one.at_rest(1, np.zeros(4), 0.75))


@pytest.mark.parametrize("asked_of", ASKED_OF, ids=["harmonic", "at rest"])
def test_the_lattice_is_solved_by_what_proves_itself(asked_of, monkeypatch):
    lattice = Lattice(np.linspace(0, 1, 5), np.zeros(5), np.full(5, 0.3), rows=3)
    monkeypatch.setattr(np.linalg, "solve", lambda a, b: plain(a, b) * 1.03)
    with pytest.raises(UnbalancedSolve):
        asked_of(lattice)


def test_nothing_to_solve():
    assert solved(np.zeros((0, 0)), np.zeros((0, 3))).shape == (0, 3)
    assert_allclose(solved(np.eye(2), np.zeros(2)), 0)
