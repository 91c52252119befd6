"""What every kind of element must do: lie still under rigid motion, be symmetric, resist what it should and
no more.
"""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fea.assembly import rigid_motions

N = 6
KINDS = {
    "bar": 1,
    "beam": 6,
    "beam with give": 6,
    "membrane": 5,
    "membrane with drilling": 5 + 4,  # four weights, one a corner
    "plate": 9,
    "shear panel": 1,
    "membrane with giving ends": 5,
    "spring": 6,
    "tie": 1,
    "mass": 0,
}
"""Kind and rank of its stiffness."""


@pytest.fixture(params=KINDS)
def kind(request):
    return request.param


def _stiffness(block, corners):
    return block.unit_stiffness(corners) * block.scale[:, None, None]


def _motions(corners, freedoms):
    """Rigid motions of every element about its own centre, (n, k * freedoms, 6)."""
    centred = corners - corners.mean(axis=1, keepdims=True)
    return np.stack([rigid_motions(c, freedoms) for c in centred])


def _turn_matrix(turn, k, freedoms):
    return np.kron(np.eye(k * freedoms // 3), turn)


def test_rigid_motion_gives_no_force(kind, rng, rotation, make_block):
    block, corners = make_block(kind, rng, N, rotation)
    k = _stiffness(block, corners)
    motions = _motions(corners, block.freedoms)
    # Rounding: a force against the sum of the moduli of what adds up to it.
    scale = (np.abs(k) @ np.abs(motions)).max(initial=1e-300)
    assert np.abs(k @ motions).max() <= 1e-13 * scale


def test_symmetric_with_the_right_rank(kind, rng, rotation, make_block):
    block, corners = make_block(kind, rng, N, rotation)
    k = _stiffness(block, corners)
    if KINDS[kind] == 0:
        assert not k.any()
        return
    assert np.abs(k - k.transpose(0, 2, 1)).max() <= 1e-14 * np.abs(k).max()
    for one in k:
        # Scale rotations by the size, so that N/m and N m compare.
        size = np.tile([1.0] * 3 + [10.0] * (block.freedoms - 3), len(one) // block.freedoms)
        values = np.linalg.eigvalsh(one * np.outer(size, size))
        n_zero = len(one) - KINDS[kind]
        assert np.abs(values[:n_zero]).max(initial=0) <= 1e-12 * values[-1]
        assert values[n_zero] > 1e-6 * values[-1]


def test_turning_the_axes_turns_the_answer(kind, rng, rotation, make_block, make_turned):
    block, corners = make_block(kind, rng, N, np.eye(3))
    there = make_turned(block, rotation)
    carry = _turn_matrix(rotation, corners.shape[1], block.freedoms)
    for matrix in ("unit_stiffness", "mass"):
        here = getattr(block, matrix)(corners)
        turned = getattr(there, matrix)(corners @ rotation.T)
        assert_allclose(
            turned, carry @ here @ carry.T, rtol=1e-9, atol=1e-12 * max(np.abs(here).max(), 1e-300)
        )


def test_moving_the_origin_changes_nothing(kind, rng, rotation, make_block):
    block, corners = make_block(kind, rng, N, rotation)
    here = block.unit_stiffness(corners)
    far = block.unit_stiffness(corners + np.array([3.0, -7.0, 11.0]))
    assert_allclose(far, here, rtol=1e-9, atol=1e-11 * max(np.abs(here).max(), 1e-300))


def test_renumbering_the_corners_changes_nothing(kind, rng, rotation, make_block, wood):
    """Quadrilaterals may start at any corner; the grain is a direction in space and stays."""
    block, corners = make_block(kind, rng, N, rotation)
    # The ends of a membrane that gives lie along its first edge.
    if corners.shape[1] != 4 or kind in ("tie", "membrane with giving ends"):
        pytest.skip("has no cyclic numbering")
    here = block.unit_stiffness(corners)
    f = block.freedoms
    there = block.unit_stiffness(np.roll(corners, -1, axis=1))
    back = np.roll(np.roll(there.reshape(N, 4, f, 4, f), 1, axis=1), 1, axis=3).reshape(here.shape)
    assert_allclose(back, here, rtol=1e-9, atol=1e-12 * np.abs(here).max())


def test_order_of_the_elements_changes_nothing(kind, rng, rotation, make_block):
    """One element alone gives what it gives among others."""
    from dataclasses import fields, is_dataclass, replace

    block, corners = make_block(kind, rng, N, rotation)
    pick = np.array([4, 1])

    def picked(thing):
        changes = {}
        for field in fields(thing):
            value = getattr(thing, field.name)
            if isinstance(value, np.ndarray):
                changes[field.name] = value[pick]
            elif is_dataclass(value):
                changes[field.name] = picked(value)
        return replace(thing, **changes)

    few = picked(block)
    here = block.unit_stiffness(corners)
    assert_allclose(
        few.unit_stiffness(corners[pick]),
        here[pick],
        rtol=1e-12,
        atol=1e-14 * max(np.abs(here).max(), 1e-300),
    )


def test_mass_moves_as_a_whole(kind, rng, rotation, make_block):
    """Unit acceleration along each axis needs a force equal to the mass; no mass is negative."""
    block, corners = make_block(kind, rng, N, rotation)
    mass = block.mass(corners)
    motions = rigid_motions(corners[0], block.freedoms)[:, :3]
    total = np.einsum("ia,eij,jb->eab", motions, mass, motions, optimize=True)
    assert_allclose(
        total, total[:, :1, :1] * np.eye(3), rtol=1e-12, atol=1e-14 * max(np.abs(total).max(), 1e-300)
    )
    assert np.linalg.eigvalsh(mass).min() >= -1e-12 * max(mass.max(), 1e-300)
    if kind == "bar":
        length = np.linalg.norm(corners[:, 1] - corners[:, 0], axis=1)
        assert_allclose(total[:, 0, 0], 0.05 * length, rtol=1e-12)
    if kind == "membrane":
        area = (
            np.linalg.norm(np.cross(corners[:, 2] - corners[:, 0], corners[:, 3] - corners[:, 1]), axis=1) / 2
        )
        assert_allclose(total[:, 0, 0], 160.0 * block.thickness * area, rtol=1e-12)
    if kind == "mass":
        assert_allclose(total[:, 0, 0], block.mass_values, rtol=1e-12)


def test_many_cases_at_once_recover_as_one_by_one(kind, rng, rotation, make_block):
    block, corners = make_block(kind, rng, N, rotation)
    moves = 1e-4 * rng.standard_normal((*corners.shape[:2], block.freedoms, 3))
    together = block.recover(corners, moves)
    for case in range(3):
        alone = block.recover(corners, moves[..., case])
        for name, values in alone.items():
            assert_allclose(together[name][..., case], values, rtol=1e-12, atol=1e-13 * np.abs(values).max())


def test_stress_stiffness_is_symmetric_and_lets_the_body_move(kind, rng, rotation, make_block):
    block, corners = make_block(kind, rng, N, rotation)
    moves = 1e-4 * rng.standard_normal((*corners.shape[:2], block.freedoms))
    k = block.geometric_stiffness(corners, block.recover(corners, moves))
    scale = max(np.abs(k).max(), 1e-300)
    assert np.abs(k - k.transpose(0, 2, 1)).max() <= 1e-13 * scale
    translations = _motions(corners, block.freedoms)[:, :, :3]
    assert np.abs(k @ translations).max() <= 1e-12 * scale


def test_nothing_is_changed(kind, rng, rotation, make_block):
    from dataclasses import fields

    block, corners = make_block(kind, rng, N, rotation)
    moves = 1e-4 * rng.standard_normal((*corners.shape[:2], block.freedoms))
    arrays = [corners, moves] + [
        v for f in fields(block) if isinstance(v := getattr(block, f.name), np.ndarray)
    ]
    before = [a.copy() for a in arrays]
    for a in arrays:
        a.flags.writeable = False
    block.unit_stiffness(corners)
    block.mass(corners)
    recovered = block.recover(corners, moves)
    for values in recovered.values():
        values.flags.writeable = False
    block.geometric_stiffness(corners, recovered)
    for a, b in zip(arrays, before, strict=True):
        assert (a == b).all()


def test_the_sweep_holds_every_kind_of_block():
    """A new file in fea/elements with a block must join the sweep."""
    import importlib
    import pkgutil

    import fea.elements

    found = set()
    for module in pkgutil.iter_modules(fea.elements.__path__):
        loaded = importlib.import_module(f"fea.elements.{module.name}")
        found |= {
            v.kind
            for v in vars(loaded).values()
            if isinstance(v, type) and isinstance(getattr(v, "kind", None), str)
        }
    assert found == {kind.split(" with ")[0] for kind in KINDS}
