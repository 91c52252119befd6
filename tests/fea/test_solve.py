"""Statics: many cases, supports in any direction, prescribed movement, free flight, and the faults by
name."""

from __future__ import annotations

import sys
from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fea import solve
from fea.assembly import Assembly, rigid_motions, total
from fea.elements.bar import Bars
from fea.elements.beam import Beams
from fea.elements.faults import NonPositiveRigidity
from fea.elements.mass import Masses
from fea.elements.membrane import Membranes
from fea.elements.plate import Plates
from fea.elements.spring import Springs
from fea.solve import Factor, IndefiniteStiffness, Mechanism, UnbalancedSolve, factorise, free_body, statics
from fea.structure import Loads, Structure, Supports


def _frame(make_sections, supports=None, turn=None, **more):
    """A bent frame in space of six beams."""
    nodes = np.array(
        [[0, 0, 0], [0.2, 0, 0], [0.2, 0.3, 0], [0.2, 0.3, 0.1], [0.4, 0.3, 0.1], [0.4, 0, 0.0]], dtype=float
    )
    ends = np.array([[0, 1], [1, 2], [2, 3], [3, 4], [4, 5], [1, 5]])
    up = np.tile([0.3, 0.1, 1.0], (6, 1))
    up[2] = [1, 0, 0]
    if turn is not None:
        nodes, up = nodes @ turn.T, up @ turn.T
    block = Beams(
        ends, make_sections(6), up, mass_per_length=np.full(6, 0.09), polar_inertia=np.full(6, 1e-5), **more
    )
    return Structure(nodes, {"frame": block}, Supports.fixed([0]) if supports is None else supports)


def test_many_cases_as_one_by_one(rng, make_sections):
    structure = _frame(make_sections)
    nodal = rng.standard_normal((6, 6, 5))
    together = statics(structure, Loads(nodal))
    for case in range(5):
        alone = statics(structure, Loads(nodal[:, :, case : case + 1]))
        assert_allclose(
            together.displacements[:, :, case], alone.displacements[:, :, 0], rtol=1e-9, atol=1e-13
        )
    # Movements are numbers of 53 bits: what their last bit is worth in force bounds the residual from below.
    moves = together.assembly.vector(together.displacements)
    last_bit = np.finfo(float).eps * (abs(together.assembly.stiffness()) @ np.abs(moves)).max(axis=0)
    assert together.checks.residual < (last_bit / np.abs(nodal).max(axis=(0, 1))).max()
    assert together.checks.reaction_sum < 1e-10
    assert together.checks.energy < 1e-10
    assert_allclose(total(structure.nodes, nodal + together.reactions), 0, atol=1e-10 * np.abs(nodal).sum())


def test_factor_serves_again(rng, make_sections):
    structure = _frame(make_sections)
    assembly = Assembly(structure)
    factor = factorise(assembly)
    loads = Loads(rng.standard_normal((6, 6, 2)))
    a, b, c = (statics(s, loads).displacements for s in (structure, assembly, factor))
    assert (a == b).all()
    assert (b == c).all()


def _skew(turn):
    """Held at node 5 along two skew directions and about one; node 0 fixed."""
    node = np.array([5, 5, 5])
    return Supports(
        node,
        np.array([False, False, True]),
        np.array([turn[:, 0], turn[:, 2], turn[:, 1]]),
        np.array([0, 2e-3, 0.0]),
    )


def test_supports_in_any_direction_are_the_turned_structure(rng, rotation, make_sections):
    force = rng.standard_normal((6, 2, 3))
    answers = []
    for turn in (np.eye(3), rotation):
        structure = _frame(make_sections, Supports.fixed([0]) + _skew(turn), turn)
        loads = Loads((force @ turn.T).reshape(6, 6, 1))
        solution = statics(structure, loads)
        assert solution.checks.residual < 1e-9
        assert solution.checks.reaction_sum < 1e-10
        assert solution.checks.energy < 1e-9
        answers.append(
            [(v[:, :, 0].reshape(6, 2, 3) @ turn) for v in (solution.displacements, solution.reactions)]
        )
    assert_allclose(answers[1][0], answers[0][0], rtol=1e-9, atol=1e-12)
    assert_allclose(answers[1][1], answers[0][1], rtol=1e-8, atol=1e-9 * np.abs(answers[0][1]).max())
    assert_allclose(answers[1][0][5, 0, 2], 2e-3, rtol=1e-10)
    assert_allclose(answers[1][0][5, 0, 0], 0, atol=1e-15)


def test_prescribed_movement_equals_the_force_that_makes_it(make_sections):
    structure = _frame(make_sections)
    forced = statics(structure, Loads.forces(structure, [(4, (0, 0, 3.0))]))
    move = forced.displacements[4, 2, 0]
    given = Supports.fixed([0]) + Supports(
        np.array([4]), np.array([False]), np.array([[0, 0, 1.0]]), np.array([move])
    )
    moved = statics(replace(structure, supports=given), Loads.zero(structure))
    assert_allclose(moved.displacements, forced.displacements, rtol=1e-9, atol=1e-14)
    assert_allclose(moved.reactions[4, 2, 0], 3.0, rtol=1e-9)
    # A direction that points down with the value turned round says the same.
    down = Supports.fixed([0]) + Supports(
        np.array([4]), np.array([False]), np.array([[0, 0, -1.0]]), np.array([-move])
    )
    assert_allclose(
        statics(replace(structure, supports=down), Loads.zero(structure)).displacements,
        moved.displacements,
        rtol=1e-12,
    )


def test_prescribed_rigid_motion_makes_no_stress(make_sections):
    structure = _frame(make_sections)
    motion = rigid_motions(structure.nodes).reshape(6, 6, 6) @ np.array([1, 2, 3, 0.1, 0.2, 0.3]) * 1e-3
    node = np.repeat([0, 4], 6)
    which = np.tile(np.arange(6), 2)
    supports = Supports(node, which >= 3, np.eye(3)[which % 3], motion[node, which])
    solution = statics(replace(structure, supports=supports), Loads.zero(structure))
    assert_allclose(solution.displacements[:, :, 0], motion, rtol=1e-8, atol=1e-12)
    bent = statics(structure, Loads.forces(structure, [(4, (0, 0, 1.0))])).recover(0)["frame"]["forces"]
    assert np.abs(solution.recover(0)["frame"]["forces"]).max() <= 1e-8 * np.abs(bent).max() * 1e3


def test_free_body_accelerates_as_a_whole(rng, make_sections):
    structure = _frame(make_sections, Supports.none())
    nodal = rng.standard_normal((6, 6, 3))
    solution = free_body(structure, Loads(nodal))
    assert solution.checks.free_reaction < 1e-8
    assert solution.checks.reaction_sum < 1e-8
    motions = rigid_motions(structure.nodes)
    inertia = motions.T @ (Assembly(structure).mass() @ motions)
    assert_allclose(inertia @ solution.acceleration, total(structure.nodes, nodal), rtol=1e-9)


def test_free_bar_pushed_at_one_end(make_sections):
    """a = F/m; the force in the bar falls linearly from F to 0 (lumped here by two halves an element)."""
    n, length, per_length, push = 8, 0.4, 0.05, 6.0
    nodes = np.zeros((n + 1, 3))
    nodes[:, 0] = np.linspace(0, length, n + 1)
    number = np.arange(n)
    block = Beams(np.stack([number, number + 1], axis=1), make_sections(n), np.tile([0.0, 0, 1], (n, 1)),
                  mass_per_length=np.full(n, per_length), polar_inertia=np.full(n, 1e-6))  # fmt: skip
    structure = Structure(nodes, {"bar": block})
    solution = free_body(structure, Loads.forces(structure, [(0, (push, 0, 0))]))
    assert_allclose(
        solution.acceleration[:, 0], [push / (per_length * length), 0, 0, 0, 0, 0], rtol=1e-9, atol=1e-9
    )
    force = solution.recover(0)["bar"]["forces"][:, 0, 0]
    middle = (nodes[:-1, 0] + nodes[1:, 0]) / 2
    # Constant in an element; consistent mass gives the mean of the linear force but for its end correction of
    # 1/6 share.
    assert_allclose(force, -push * (1 - middle / length), atol=push / n / 5)


def test_weight_and_lift_in_level_flight(make_sections):
    """Lift equal to the weight at the middle of a bar: no acceleration, root moment m g (L/2) (L/4)."""
    n, length, g = 8, 0.4, 9.80665
    nodes = np.zeros((n + 1, 3))
    nodes[:, 1] = np.linspace(-length / 2, length / 2, n + 1)
    number = np.arange(n)
    block = Beams(np.stack([number, number + 1], axis=1), make_sections(n), np.tile([0.0, 0, 1], (n, 1)),
                  mass_per_length=np.full(n, 0.5), polar_inertia=np.full(n, 1e-6))  # fmt: skip
    structure = Structure(nodes, {"bar": block})
    weight = 0.5 * length * g
    assembly = Assembly(structure)
    own = assembly.nodal(-g * assembly.rigid_inertia()[:, [2]])
    loads = Loads(own + Loads.forces(structure, [(n // 2, (0, 0, weight))]).nodal)
    solution = free_body(assembly, loads)
    assert_allclose(solution.acceleration, 0, atol=1e-9 * g)
    assert solution.checks.free_reaction < 1e-8
    # Both wings droop as cantilevers under their weight w: w (L/2)^4/8EI + shear w (L/2)^2/2S.
    ei, s, w = 10e9 * 0.01 * 0.02**3 / 12, 5 / 6 * 0.6e9 * 200e-6, 0.5 * g
    droop = solution.displacements[n // 2, 2, 0] - solution.displacements[[0, n], 2, 0]
    # Mass of the slender beam sees no shear in its shapes: 0.1 %.
    assert_allclose(droop, w * (length / 2) ** 4 / (8 * ei) + w * (length / 2) ** 2 / (2 * s), rtol=1e-3)


def test_free_body_does_not_care_where_it_is_pinned(rng, rotation, make_sections):
    """Section forces of the turned body are the same, whichever pins the solver picks."""
    force = rng.standard_normal((6, 2, 3))
    found = []
    for turn in (np.eye(3), rotation):
        structure = _frame(make_sections, Supports.none(), turn)
        solution = free_body(structure, Loads((force @ turn.T).reshape(6, 6, 1)))
        found.append(solution.recover(0)["frame"]["forces"])
    assert_allclose(found[1], found[0], rtol=1e-8, atol=1e-9 * np.abs(found[0]).max())


def test_half_body_with_symmetry_is_half_of_the_whole(make_sections):
    """A symmetric beam in flight against its half with symmetry at the centre."""
    n = 4
    results = []
    for whole in (True, False):
        y = np.linspace(-0.2 if whole else 0, 0.2, (2 if whole else 1) * n + 1)
        nodes = np.column_stack([0 * y, y, 0 * y])
        number = np.arange(len(y) - 1)
        many = len(number)
        block = Beams(
            np.stack([number, number + 1], axis=1),
            make_sections(many),
            np.tile([0.0, 0, 1], (many, 1)),
            mass_per_length=np.full(many, 0.5),
            polar_inertia=np.full(many, 1e-5),
        )
        supports = Supports.none() if whole else Supports.fixed([0], "yXZ")
        mass = Masses(np.array([[n if whole else 0]]), np.array([1.0 if whole else 0.5]))
        structure = Structure(nodes, {"wing": block, "body": mass}, supports)
        tips = [0, 2 * n] if whole else [n]
        solution = free_body(structure, Loads.forces(structure, [(k, (0.3, 0, 2.0)) for k in tips]))
        assert solution.checks.free_reaction < 1e-8
        results.append((solution.recover(0)["wing"]["forces"][-n:], solution.acceleration[[0, 2], 0]))
    assert_allclose(results[1][0], results[0][0], rtol=1e-7, atol=1e-8)
    assert_allclose(results[1][1], results[0][1], rtol=1e-9)
    assert_allclose(results[0][1][1], 4.0 / 1.2, rtol=1e-9)


def test_mechanism_names_node_and_part(make_sections):
    """A post on a hinge: its far end can swing."""
    structure = _frame(make_sections, Supports.fixed([0], "xyz"))
    blocks = {"frame": replace(structure.blocks["frame"], part=np.array([0, 0, 1, 1, 0, 0]))}
    named = Structure(structure.nodes.copy(), blocks, structure.supports, ("spar", "post"))
    with pytest.raises(Mechanism) as fault:
        statics(named, Loads.zero(named))
    assert fault.value.parts
    assert set(fault.value.parts) <= {"spar", "post"}
    assert "is free to" in str(fault.value)
    assert fault.value.motion.shape == (len(fault.value.nodes), 6)


def test_a_loose_joint_is_found(make_sections):
    """Two cantilevers and a bar that hangs between: its middle node has nothing against sideways movement."""
    nodes = np.array([[0.0, 0, 0], [0.1, 0, 0], [0.2, 0, 0]])
    bars = Bars(np.array([[0, 1], [1, 2]]), np.array([1e4, 1e4]), part=np.array([0, 1]))
    held = Supports.fixed([0, 2], "xyz") + Supports.fixed([1], "y")
    loose = Structure(nodes, {"bars": bars}, held, ("left", "right"))
    with pytest.raises(Mechanism) as fault:
        statics(loose, Loads.forces(loose, [(1, (0, 0, 1.0))]))
    assert fault.value.nodes[0] == 1
    assert fault.value.parts == ("left", "right")
    assert str(fault.value) == "node 1 (left, right) is free to move along z"


def test_a_node_that_spins_in_the_plane_is_found(make_sections, wood):
    """A beam whose end hangs on membranes only in a turned plane: nothing holds its turning about itself."""
    nodes = np.array([[0.0, 0, 0], [0.3, 0, 0]])
    block = Beams(np.array([[0, 1]]), make_sections(1), np.array([[0, 0, 1.0]]))
    spun = Structure(nodes, {"beam": block}, Supports.fixed([0, 1], "xyz"))
    with pytest.raises(Mechanism, match="turn about x"):
        statics(spun, Loads.zero(spun))


def test_load_that_nothing_answers_is_refused(make_sections, wood):
    """A force square to a flat sheet of membranes, a moment on a bar's end: named, never dropped."""
    nodes = np.array([[0, 0, 0], [1.0, 0, 0], [1, 1, 0], [0, 1, 0]])
    sheet = Membranes(np.array([[0, 1, 2, 3]]), np.ones(1), wood[None], np.array([[1.0, 0, 0]]))
    structure = Structure(nodes, {"sheet": sheet}, Supports.fixed([0], "xyz") + Supports.fixed([1], "y"))
    statics(structure, Loads.forces(structure, [(2, (1.0, 1.0, 0))]))
    with pytest.raises(Mechanism, match=r"node 2 \(sheet\) is free to move along z"):
        statics(structure, Loads.forces(structure, [(2, (1.0, 1.0, 0.1))]))
    with pytest.raises(Mechanism, match=r"node 3 .* free to turn about y"):
        statics(structure, Loads.forces(structure, [(3, (0, 0, 0, 0, 1.0, 0))]))


def test_nothing_free_or_nothing_there():
    with pytest.raises(Mechanism):
        statics(s := Structure(np.zeros((1, 3)), {}), Loads.zero(s))


def test_body_without_mass_cannot_fly(make_sections):
    structure = _frame(make_sections, Supports.none())
    blocks = {"frame": replace(structure.blocks["frame"], mass_per_length=None, polar_inertia=None)}
    massless = Structure(structure.nodes.copy(), blocks)
    with pytest.raises(Mechanism, match="mass"):
        free_body(massless, Loads.forces(massless, [(1, (0, 0, 1.0))]))


def test_bound_on_the_residual(make_sections):
    structure = _frame(make_sections)
    loads = Loads.forces(structure, [(4, (0, 0, 1.0))])
    residual = statics(structure, loads).checks.residual
    with pytest.raises(UnbalancedSolve) as fault:
        statics(structure, loads, bound=residual / 2 if residual else -1.0)
    assert fault.value.residual == residual


def test_stiffness_over_nine_orders_still_balances(make_sections):
    """A rubber spring beside a steel one: residual and energy stay small."""
    nodes = np.array([[0.0, 0, 0], [0.0, 0, 0], [0.3, 0, 0]])
    spring = Springs(np.array([[0, 1]]), np.array([[1e-2, 1e9, 1e9, 1e5, 1e-3, 1e5]]), np.eye(3)[None])
    beam = Beams(np.array([[1, 2]]), make_sections(1), np.array([[0, 0, 1.0]]))
    structure = Structure(nodes, {"beam": beam, "spring": spring}, Supports.fixed([0]))
    solution = statics(structure, Loads.forces(structure, [(2, (1e-3, 1e-3, 1e-3))]))
    assert_allclose(solution.displacements[2, 0, 0], 1e-3 / 1e-2, rtol=1e-6)
    assert_allclose(solution.displacements[2, 4, 0], -1e-3 * 0.3 / 1e-3, rtol=1e-4)
    assert solution.checks.residual < 1e-8


def test_plate_and_membrane_share_a_sheet_in_space(rotation, wood):
    """A sheet of both in a turned plane with a tie against drilling: six rigid motions and no more."""
    s, t = np.meshgrid(np.linspace(0, 0.2, 5), np.linspace(0, 0.1, 3), indexing="ij")
    nodes = np.column_stack([s.ravel(), t.ravel(), 0 * s.ravel()]) @ rotation.T
    i, j = np.meshgrid(np.arange(4), np.arange(2), indexing="ij")
    first = (i * 3 + j).ravel()
    quads = np.stack([first, first + 3, first + 4, first + 1], axis=1)
    n = len(quads)
    values = (quads, np.full(n, 2e-3), np.tile(wood, (n, 1, 1)), np.tile(rotation[:, 0], (n, 1)))
    blocks = {
        "sheet": Membranes(*values, drilling=np.full((n, 4), 0.01), density=np.full(n, 160.0)),
        "plate": Plates(*values),
    }
    structure = Structure(nodes, blocks)
    values = np.linalg.eigvalsh(Assembly(structure).stiffness().toarray())
    assert np.abs(values[:6]).max() < 1e-12 * values[-1]
    assert values[6] > 1e-9 * values[-1]
    solution = free_body(structure, Loads.forces(structure, [(7, tuple(rotation[:, 2]))]))
    assert solution.checks.free_reaction < 1e-8
    mass = 160 * 2e-3 * 0.02
    push = np.linalg.norm(
        total(structure.nodes, Loads.forces(structure, [(7, tuple(rotation[:, 2]))]).nodal)[:3]
    )
    centre = structure.nodes.mean(axis=0)
    at_centre = solution.acceleration[:3, 0] + np.cross(solution.acceleration[3:, 0], centre)
    assert_allclose(np.linalg.norm(at_centre), push / mass, rtol=1e-9)


def test_nothing_is_changed(rng, make_sections):
    structure = _frame(make_sections)
    nodal = rng.standard_normal((6, 6, 2))
    before = nodal.copy()
    nodal.flags.writeable = False
    for value in vars(structure.supports).values():
        value.flags.writeable = False
    solution = statics(structure, Loads(nodal))
    solution.recover()
    free_body(replace(structure, supports=Supports.none()), Loads(nodal))
    assert (nodal == before).all()


@pytest.mark.parametrize("bending", [1.0, 1e-4])
def test_both_factorisations_agree(bending, rng, make_sections, monkeypatch):
    """CHOLMOD's factor, where it is installed, and SuperLU's: the same movements and proof."""
    pytest.importorskip("sksparse.cholmod")
    assembly = Assembly(_frame(make_sections))
    stiffness = assembly.stiffness() * bending
    right = rng.standard_normal((factorise(assembly).matrix.shape[0], 3))
    plain = factorise(assembly, stiffness=stiffness)
    monkeypatch.setattr(solve, "_LARGE", 0)
    other = factorise(assembly, stiffness=stiffness)
    assert type(other.lu) is not type(plain.lu)
    expected = plain.solve(right)
    assert_allclose(other.solve(right), expected, rtol=0, atol=1e-10 * np.abs(expected).max())
    # Pivots depend on the order of elimination; the least is of one size.
    assert 0.01 < other.smallest_pivot / plain.smallest_pivot < 100
    solved = statics(other, Loads(rng.standard_normal((6, 6, 2))))
    assert solved.checks.reaction_sum < 1e-9


@pytest.mark.parametrize("least", [0, 10**9])
def test_smallest_pivot_is_that_of_the_scaled_matrix_in_its_order(least, make_sections, monkeypatch):
    """Whoever factorises: squares of the diagonal of a dense Cholesky factor; sorting the tree of elimination
    afterwards moves pivots, and changes none."""
    if not least:
        pytest.importorskip("sksparse.cholmod")
    monkeypatch.setattr(solve, "_LARGE", least)
    factor = factorise(Assembly(_frame(make_sections)))
    assert sorted(factor.order) == list(range(factor.matrix.shape[0]))
    scaled = factor.scale[:, None] * factor.matrix.toarray() * factor.scale
    assert_allclose(np.diag(scaled), 1, rtol=1e-12)
    pivots = np.diag(np.linalg.cholesky(scaled[np.ix_(factor.order, factor.order)])) ** 2
    # The smallest is what is left of 1 after a subtraction.
    assert_allclose(factor.smallest_pivot, pivots.min(), rtol=1e-15 / pivots.min() * 100)


def test_ordered_is_the_matrix_in_the_order_of_elimination(rng, rotation, make_sections):
    """With supports along axes and along none."""
    for supports in (Supports.fixed([0]), Supports.fixed([0]) + _skew(rotation)):
        factor = factorise(Assembly(_frame(make_sections, supports)))
        expected = (factor.turn.T @ factor.stiffness @ factor.turn).toarray()
        atol = 1e-15 * np.abs(expected).max()
        assert_allclose(factor.matrix.toarray(), expected, rtol=1e-12, atol=atol)
        turned = expected[np.ix_(factor.order, factor.order)]
        assert_allclose(factor.ordered.toarray(), turned, rtol=1e-12, atol=atol)
        assert (np.diff(factor.ordered.indices) > 0).sum() == factor.ordered.nnz - len(expected)
        right = rng.standard_normal((len(expected), 2))
        found, once = factor.solve(right), factor.once(right)
        assert_allclose(once, found, rtol=0, atol=1e-8 * np.abs(found).max())
        assert_allclose(expected @ found, right, rtol=0, atol=1e-9 * np.abs(right).max())


def test_what_rounding_leaves_unsymmetric_is_refined_as_it_came(rng, make_sections):
    """The factor may be of the matrix turned round; the residual must not be."""
    assembly = Assembly(_frame(make_sections))
    stiff = assembly.stiffness()
    uneven = stiff.copy()
    uneven.data *= 1 + 1e-9 * rng.standard_normal(len(uneven.data))
    factor = factorise(assembly, stiffness=uneven)
    right = rng.standard_normal((factor.matrix.shape[0], 1))
    gap = np.abs(factor.matrix @ factor.solve(right) - right).max()
    turned = np.abs(factor.matrix.T @ factor.solve(right) - right).max()
    assert gap < 1e-3 * turned


def test_all_freedoms_of_a_node_follow_each_other(make_sections):
    factor = factorise(Assembly(_frame(make_sections)))
    node = factor.turn.indices[factor.order] // 6
    assert (np.diff(node) != 0).sum() == len(np.unique(node)) - 1


def test_a_mechanism_is_named_whoever_factorises(make_sections, monkeypatch):
    monkeypatch.setattr(solve, "_LARGE", 0)
    with pytest.raises(Mechanism):
        statics(_frame(make_sections, Supports.none()), Loads(np.ones((6, 6, 1))))


def test_without_the_optional_package_superlu_solves(rng, make_sections, monkeypatch):
    monkeypatch.setattr(solve, "_LARGE", 0)
    monkeypatch.setitem(sys.modules, "sksparse", None)
    structure = _frame(make_sections)
    assert type(factorise(Assembly(structure)).lu).__name__ == "SuperLU"
    assert statics(structure, Loads(rng.standard_normal((6, 6, 1)))).checks.reaction_sum < 1e-9


def test_a_stiffness_that_gives_energy_back_is_refused(make_sections):
    assembly = Assembly(_frame(make_sections))
    stiff = assembly.stiffness().tolil()
    at = 4 * assembly.freedoms
    # Below the Schur complement, so that the diagonal stays positive and a later pivot turns negative.
    unit = np.zeros(assembly.size)
    unit[at] = 1.0
    soft = factorise(assembly)
    give = soft.once((soft.turn.T @ unit)[:, None])
    stiff[at, at] -= 2 / float(unit @ (soft.turn @ give)[:, 0])
    loads = Loads.forces(assembly.structure, [(4, (0, 0, 1.0))])
    with pytest.raises(IndefiniteStiffness):
        statics(factorise(assembly, None, stiff.tocsc()), loads)


def test_a_beam_of_negative_rigidity_is_refused(make_sections):
    structure = _frame(make_sections)
    sections = replace(structure.blocks["frame"].sections, torsion=np.array([1.0, 1, -1, 1, 0, 1]))
    bad = Structure(
        structure.nodes, {"frame": replace(structure.blocks["frame"], sections=sections)}, structure.supports
    )
    with pytest.raises(NonPositiveRigidity, match="torsion") as fault:
        statics(bad, Loads.forces(bad, [(4, (0, 0, 1.0))]))
    assert fault.value.elements.tolist() == [2, 4]


@pytest.mark.parametrize("share", [1.045, np.nan])
def test_a_solution_that_is_not_one_is_refused(share, make_sections, monkeypatch):
    structure = _frame(make_sections)
    factor = factorise(Assembly(structure))
    for way in ("solve", "once"):
        true = getattr(Factor, way)
        monkeypatch.setattr(Factor, way, lambda self, right, true=true: share * true(self, right))
    # However wide the bound on the residual is drawn: part of the load is missing.
    with pytest.raises(UnbalancedSolve):
        statics(factor, Loads.forces(structure, [(4, (0, 0, 1.0))]), bound=1.0)


def test_a_slender_beam_of_many_elements(make_sections):
    # Its tip moves a million times as far as an element is deformed: rounding of what cancels would bend it
    # by 3e-7.
    n, way = 400, np.array([2, 1, 2]) / 3
    length = 0.02 * n
    ends = np.stack([np.arange(n), np.arange(n) + 1], axis=1)
    beam = Beams(ends, make_sections(n), np.tile([0, 0, 1.0], (n, 1)))
    points = np.linspace(0, length, n + 1)[:, None] * way
    structure = Structure(points, {"beam": beam}, Supports.fixed([0]))
    side = np.cross(way, [0, 0, 1]) / np.linalg.norm(way[:2])
    tip = statics(structure, Loads.forces(structure, [(n, tuple(side))])).displacements[n, :3, 0] @ side
    one = beam.sections
    exact = length**3 / (3 * one.bending_z[0]) + length / one.shear_y[0]
    assert_allclose(tip, exact, rtol=1e-9)


@pytest.mark.parametrize("share", [1.01, np.nan])
def test_an_elimination_that_does_not_solve_is_refused(share, make_sections):
    factor = factorise(Assembly(_frame(make_sections)))

    class Wrong:
        def solve(self, right):
            return share * factor.lu.solve(right)

    right = np.ones((factor.turn.shape[1], 3)) * [1.0, 0.0, 1e6]
    factor.once(right)
    factor.solve(right)
    with pytest.raises(UnbalancedSolve, match="elimination"):
        replace(factor, lu=Wrong()).once(right)
    with pytest.raises(UnbalancedSolve, match="elimination"):
        replace(factor, lu=Wrong()).solve(right)


def test_pins_that_carry_a_body_in_flight_are_told(make_sections, monkeypatch):
    body = _frame(make_sections, Supports.none())
    loads = Loads.forces(body, [(4, (0, 0, 1.0))])
    factor = solve.pinned(Assembly(body))
    assert free_body(factor, loads).checks.free_reaction < 1e-8
    true = np.linalg.solve
    monkeypatch.setattr(np.linalg, "solve", lambda a, b: 1.001 * true(a, b))
    with pytest.raises(UnbalancedSolve, match="pins"):
        free_body(factor, loads)
