"""Factorisation and solve of our wings' matrices beside bare sparse direct solvers, on the same matrices in
the same run, turn and turn about.

The baselines are each solver's best setting for the matrix: of what SciPy brings, SuperLU with several orders
and widths of panel, and LAPACK's banded Cholesky after reverse Cuthill-McKee; of the optional ones CHOLMOD
(scikit-sparse) column by column, supernodal and with its own choice, and PARDISO (pypardiso, MKL) in two
orders, where they are installed. Each analyses, factorises and solves one right side. Ours, from the whole
stiffness and the supports, also cuts out what is free, finds its order, reads off every pivot for the proof
and refines the solution once. Processor seconds of one thread; medians of the ratios of one round: against
the others given the free part ready, and from the same start, they too cutting it out of the whole.
"""

from __future__ import annotations

import time
from functools import lru_cache

import numpy as np
import pytest
import scipy.linalg
import scipy.sparse as sp
import scipy.sparse.linalg as spla
from numpy.testing import assert_allclose
from scipy.sparse.csgraph import reverse_cuthill_mckee

from fea import solve
from fea.assembly import Assembly
from fea.reanalysis import pinned
from fea.solve import _LARGE, factorise
from models.command.files import shipped
from models.structure import build
from models.wing.reading import read

WINGS = [
    ("trainer", 4, 4), ("box-two-spars-sheeted", 4, 4), ("powered-tailless", 4, 4),
    ("powered-tailless", 16, 4), ("powered-tailless", 8, 16), ("powered-tailless", 64, 4),
]  # fmt: skip


def _superlu(order, symmetric, **widths):
    def run(matrix, right):
        options = {"SymmetricMode": symmetric}
        threshold = 0.0 if symmetric else 1.0
        return spla.splu(
            matrix, permc_spec=order, diag_pivot_thresh=threshold, options=options, **widths
        ).solve(right)

    return run


def _banded(matrix, right):
    order = reverse_cuthill_mckee(matrix.tocsr(), symmetric_mode=True)
    turned = matrix[order][:, order].tocoo()
    below = turned.row >= turned.col
    band = np.zeros((int((turned.row - turned.col).max()) + 1, matrix.shape[0]))
    band[(turned.row - turned.col)[below], turned.col[below]] = turned.data[below]
    if band.size > 5e7:
        raise MemoryError("band too wide")
    out = np.empty_like(right)
    factor = scipy.linalg.cholesky_banded(band, lower=True, overwrite_ab=True, check_finite=False)
    out[order] = scipy.linalg.cho_solve_banded((factor, True), right[order])
    return out


def _cholmod(mode):
    def run(matrix, right):
        from sksparse.cholmod import cholesky

        return cholesky(matrix, mode=mode)(right)

    return run


@lru_cache
def _loaded():
    from pypardiso import PyPardisoSolver

    return PyPardisoSolver(mtype=2)


def _pardiso(order):
    def run(matrix, right):
        solver = _loaded()
        solver.set_iparm(2, order)
        upper = sp.triu(matrix, format="csr")
        solver.factorize(upper)
        found = solver.solve(upper, right)
        solver.free_memory(everything=True)
        return found

    return run


SCIPY = {
    "SuperLU, minimum degree": _superlu("MMD_AT_PLUS_A", True),
    "SuperLU, minimum degree, narrow panels": _superlu("MMD_AT_PLUS_A", True, panel_size=4, relax=4),
    "SuperLU, minimum degree, wide panels": _superlu("MMD_AT_PLUS_A", True, panel_size=8, relax=6),
    "SuperLU, COLAMD": _superlu("COLAMD", False),
    "LAPACK banded": _banded,
}
CHOLMOD = {f"CHOLMOD, {mode}": _cholmod(mode) for mode in ("auto", "simplicial", "supernodal")}
OTHERS = {"PARDISO": _pardiso(2), "PARDISO, minimum degree": _pardiso(0)}
SLOW = ("SuperLU, COLAMD", "LAPACK banded")


def _in_turn(works, rounds):
    """Processor seconds of every work in every round, and the last results; what cannot run is left out.

    Every round has an order of its own, since what ran before leaves the cache and the heap to the next.
    """
    times, found = {name: [] for name in works}, {}
    turns = np.random.default_rng(40861)
    for _ in range(rounds):
        for name in turns.permutation(list(times)):
            start = time.process_time()
            try:
                found[name] = works[name]()
            except (ImportError, MemoryError):
                del times[name]
                continue
            times[name].append(time.process_time() - start)
    return {name: np.array(row) for name, row in times.items()}, found


def _best(times, names):
    """The baseline of least median among these."""
    return min(
        (name for name in names if name in times), key=lambda name: np.median(times[name]), default=None
    )


@pytest.mark.parametrize(("name", "per_bay", "across"), WINGS)
def test_beside_other_solvers(benchmark, capsys, monkeypatch, name, per_bay, across):
    assembly = Assembly(build(read(shipped()[name]), per_bay=per_bay, across_chord=across).structure)
    supports, stiffness = pinned(assembly), assembly.stiffness()
    matrix = factorise(assembly, supports, stiffness).matrix
    right = np.ones((matrix.shape[0], 1))
    scale = 1 / np.sqrt(matrix.diagonal())
    scaled = (sp.diags(scale) @ matrix @ sp.diags(scale)).tocsc()

    def ours(least):
        monkeypatch.setattr(solve, "_LARGE", least)
        return factorise(assembly, supports, stiffness).solve(right)

    small = len(right) < 20_000
    others = {**SCIPY, **CHOLMOD, **OTHERS}
    free = np.flatnonzero(np.isin(np.arange(stiffness.shape[0]), factorise(assembly, supports).turn.indices))
    works = {
        "cutting out": lambda: stiffness[:, free][free],
        "as installed": lambda: ours(np.inf),
        "with fast": lambda: ours(_LARGE),
        **{
            other: lambda run=run: run(scaled, scale[:, None] * right)
            for other, run in others.items()
            if small or other not in SLOW
        },
    }
    times, found = _in_turn(works, (25 if len(right) < 8_000 else 9) if small else 3)
    for other in times.keys() & others.keys():
        moves = scale[:, None] * np.asarray(found[other]).reshape(right.shape)
        # Without refinement the others lose what the matrix's condition takes.
        expected = found["as installed"]
        assert_allclose(moves, expected, rtol=0, atol=1e-6 * np.abs(expected).max(), err_msg=other)
    told, ratios = [], {}
    for mine, names in (("as installed", SCIPY), ("with fast", CHOLMOD), ("with fast", OTHERS)):
        if best := _best(times, names):
            ratios[f"{mine} / {best}"] = ratio = float(np.median(times[mine] / times[best]))
            from_start = float(np.median(times[mine] / (times[best] + times["cutting out"])))
            ratios[f"{mine} / {best}, from the same start"] = from_start
            told.append(f"{mine} {ratio:.2f} of {best} ({from_start:.2f} from the same start)")
    benchmark.extra_info.update(unknowns=len(right), ratios=ratios)
    benchmark.pedantic(lambda: ours(_LARGE), rounds=2)
    all_times = ", ".join(f"{other} {1e3 * np.median(row):.1f}" for other, row in times.items())
    with capsys.disabled():
        print(
            f"\n{name}, {per_bay} a bay, {across} across, {len(right)} unknowns: {'; '.join(told)}\n"
            f"   ms: {all_times}"
        )
