"""Assembly of 100,000 quadrilateral membranes, beside scikit-fem's vector bilinear elasticity on the same
mesh.

Like for like is the work from node positions to a sparse stiffness matrix once the mesh's tables are there:
element matrices and their sum. On our side these tables are the pattern (`Assembly`), on the other the
`Basis` (shape functions and Jacobians at the points, which is part of what our kernel does each time: the
count is in its favour). Both integrate with 2 x 2 points. Ours are orthotropic elements with internal modes
in space (12 x 12, three freedoms a node); theirs plane isotropic ones (8 x 8, two freedoms a node). The times
with set-up are printed beside.
"""

from __future__ import annotations

import time

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fea.assembly import Assembly
from fea.elements.membrane import Membranes, plane_stress, unit_stiffness
from fea.structure import Structure

N_X, N_Y = 400, 250
E, NU = 3e9, 0.3


def _mesh(n_x, n_y, distortion=0.2):
    """A grid of distorted quadrilaterals of about 10 mm."""
    x, y = np.meshgrid(np.arange(n_x + 1) * 0.01, np.arange(n_y + 1) * 0.01, indexing="ij")
    nodes = np.column_stack([x.ravel(), y.ravel(), 0 * x.ravel()])
    nodes[:, :2] += np.random.default_rng(90217).uniform(
        -0.01 * distortion, 0.01 * distortion, (len(nodes), 2)
    )
    i, j = np.meshgrid(np.arange(n_x), np.arange(n_y), indexing="ij")
    first = (i * (n_y + 1) + j).ravel()
    return nodes, np.stack([first, first + n_y + 1, first + n_y + 2, first + 1], axis=1)


def _structure(nodes, quads):
    n = len(quads)
    sheet = Membranes(
        quads,
        np.full(n, 1e-3),
        np.tile(plane_stress(E, E, E / 2 / (1 + NU), NU), (n, 1, 1)),
        np.tile([1.0, 0, 0], (n, 1)),
    )
    return Structure(nodes, {"sheet": sheet})


@pytest.fixture(scope="module")
def mesh():
    return _mesh(N_X, N_Y)


@pytest.fixture(scope="module")
def structure(mesh):
    return _structure(*mesh)


def _other(nodes, quads):
    """Mesh, basis maker and plane-stress form of the other library."""
    skfem = pytest.importorskip("skfem")
    from skfem.models.elasticity import linear_elasticity

    mesh = skfem.MeshQuad(np.ascontiguousarray(nodes[:, :2].T), np.ascontiguousarray(quads.T))
    shear = E / 2 / (1 + NU)
    lame = 2 * shear * NU / (1 - NU)  # of plane stress

    def basis():
        # Degree 3 is its rule of 2 x 2 points.
        made = skfem.Basis(mesh, skfem.ElementVector(skfem.ElementQuad1()), intorder=3)
        assert made.X.shape == (2, 4)
        return made

    return basis, linear_elasticity(lame, shear)


def _in_turn(works, rounds=12):
    """Seconds on the wall and of the processor of every work in every round, (2, rounds), turn and turn
    about, and the last results."""
    times, found = {name: [] for name in works}, {}
    for _ in range(rounds):
        for name, work in works.items():
            start = time.perf_counter(), time.process_time()
            found[name] = work()
            times[name].append((time.perf_counter() - start[0], time.process_time() - start[1]))
    return {name: np.array(row).T for name, row in times.items()}, found


def _in_plane(matrix):
    """The part of our matrix on movements in the plane."""
    keep = np.flatnonzero(np.arange(matrix.shape[0]) % 3 != 2)
    return matrix[keep][:, keep]


def test_pattern(benchmark, structure):
    assembly = benchmark.pedantic(Assembly, args=(structure,), rounds=5, warmup_rounds=1)
    assert assembly.size == 3 * len(structure.nodes)


def test_values(benchmark, structure):
    def fresh():
        return (Assembly(structure),), {}

    matrix = benchmark.pedantic(lambda a: a.stiffness(), setup=fresh, rounds=5, warmup_rounds=1)
    assert_allclose(abs(matrix - matrix.T).max(), 0, atol=1e-13 * abs(matrix).max())


def test_refill(benchmark, structure):
    assembly = Assembly(structure)
    first = assembly.stiffness()
    thickness = np.full(len(structure.blocks["sheet"].nodes), 2e-3)
    matrix = benchmark.pedantic(lambda: assembly.stiffness({"sheet": thickness}), rounds=5, warmup_rounds=1)
    assert_allclose(matrix.data, 2 * first.data, rtol=1e-12, atol=1e-15 * np.abs(first.data).max())


def test_other_values(benchmark, mesh):
    basis, form = _other(*mesh)
    matrix = benchmark.pedantic(form.assemble, args=(basis(),), rounds=5, warmup_rounds=1)
    assert matrix.shape == (2 * len(mesh[0]),) * 2


def test_beside_scikit_fem(benchmark, mesh, structure):
    """The ratios, all timed turn and turn about in one run, of the least times: what an operating system
    adds for fresh memory comes and goes. The medians of the rounds are printed beside.
    """
    make_basis, form = _other(*mesh)
    basis, assembly, refilled = make_basis(), Assembly(structure), Assembly(structure)
    refilled.stiffness()

    def values():
        fresh = object.__new__(Assembly)
        fresh.__dict__.update(assembly.__dict__, _unit=None)
        return fresh.stiffness()

    works = {
        "pattern": lambda: Assembly(structure), "values": values, "refill": refilled.stiffness,
        "basis": make_basis, "form": lambda: form.assemble(basis),
    }  # fmt: skip
    times, found = _in_turn(works)
    matrix, other = found["values"], found["form"]
    pairs = {
        "like for like": (("form",), ("values",)),
        "with set-up on both sides": (("form", "basis"), ("values", "pattern")),
        "refill": (("form",), ("refill",)),
    }

    def ratios(middle, clock):
        at = {name: float(middle(row[clock])) for name, row in times.items()}
        return {name: sum(map(at.get, a)) / sum(map(at.get, b)) for name, (a, b) in pairs.items()}

    clocks = ("on the wall, ours on two cores", "of processor time")
    least, median = ([ratios(middle, k) for k in (0, 1)] for middle in (np.min, np.median))
    seconds = ", ".join(f"{name} {w.min():.3f} ({np.median(w):.3f})" for name, (w, _) in times.items())
    print(f"\n100,000 quadrilaterals, least (median) s, basis and form are scikit-fem's: {seconds}")
    for k, clock in enumerate(clocks):
        told = ", ".join(f"{name} {least[k][name]:.2f} ({median[k][name]:.2f})" for name in pairs)
        print(f"ratios {clock}, of the least (of the medians): {told}")
    benchmark.extra_info.update(least=least, median=median)
    benchmark.pedantic(values, rounds=2)
    # The same sheet under a constant strain: both need the same forces to 1e-9, whatever their inner modes.
    nodes = mesh[0]
    gradient = np.array([[1e-3, 2e-4], [3e-4, -5e-4]])
    moves = (nodes[:, :2] @ gradient.T).ravel()
    force, expected = _in_plane(matrix) @ moves, 1e-3 * (other @ moves)
    assert_allclose(force, expected, rtol=0, atol=1e-9 * np.abs(expected).max())


def test_equals_the_dense_sum_on_a_small_mesh():
    """Nothing fast is wrong: summed element by element in a loop. Runs in the ordinary suite too."""
    nodes, quads = _mesh(7, 5)
    structure = _structure(nodes, quads)
    sheet = structure.blocks["sheet"]
    element = unit_stiffness(nodes[quads], sheet.constitutive, sheet.grain) * sheet.thickness[:, None, None]
    dense = np.zeros((3 * len(nodes), 3 * len(nodes)))
    for at, k in zip(quads, element, strict=True):
        rows = (3 * at[:, None] + np.arange(3)).ravel()
        dense[np.ix_(rows, rows)] += k
    found = Assembly(structure).stiffness().toarray()
    assert_allclose(found, dense, rtol=1e-11, atol=1e-13 * np.abs(dense).max())


def test_both_solve_a_cantilever_alike():
    """A sheet clamped at one end under a tip force: on a fine mesh bilinear and improved elements agree to 1
    %.
    """
    skfem = pytest.importorskip("skfem")
    nodes, quads = _mesh(64, 24, distortion=0.0)
    make_basis, form = _other(nodes, quads)
    clamped, tip = np.flatnonzero(nodes[:, 0] == 0), np.flatnonzero(nodes[:, 0] == nodes[:, 0].max())
    force = np.zeros((len(nodes), 2))
    force[tip, 1] = 1 / len(tip)
    held = (2 * clamped[:, None] + np.arange(2)).ravel()
    ours = _in_plane(Assembly(_structure(nodes, quads)).stiffness()).tocsr()
    theirs = 1e-3 * form.assemble(make_basis()).tocsr()
    found = [
        skfem.solve(*skfem.condense(k, force.ravel(), D=held)).reshape(-1, 2)[tip, 1].mean()
        for k in (ours, theirs)
    ]
    length, depth = 0.64, 0.24
    beam = length**3 / (3 * E * 1e-3 * depth**3 / 12) + 1.2 * length / (E / 2.6 * 1e-3 * depth)
    assert_allclose(found[0], found[1], rtol=0.01)
    assert_allclose(found[0], beam, rtol=0.02)
