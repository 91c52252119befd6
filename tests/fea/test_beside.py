"""A structure beside a known one: all as if it were assembled alone."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.testing import assert_allclose, assert_array_equal

from fea.assembly import Assembly
from fea.beside import Beside, Known
from fea.elements.bar import Bars
from fea.elements.membrane import Membranes
from fea.elements.plate import Plates
from fea.structure import Structure


def test_all_is_as_alone(rng, wood) -> None:
    nodes = np.array(
        [[0, 0, 0], [0.1, 0, 0], [0.1, 0.08, 0.01], [0, 0.09, 0], [0.22, 0, 0], [0.2, 0.1, 0.02]]
    )
    quads = np.array([[0, 1, 2, 3], [1, 4, 5, 2]])
    many, grain = np.tile(wood, (2, 1, 1)), np.tile([1.0, 0.3, 0.0], (2, 1))
    offsets = 0.01 * rng.standard_normal((2, 4, 3))
    blocks = {
        "sheet": Membranes(quads, np.full(2, 1e-3), many, grain, offsets=offsets, density=np.full(2, 160.0)),
        "plate": Plates(quads, np.full(2, 1e-3), many, grain),
        "bar": Bars(np.array([[0, 5], [3, 4]]), np.array([4e4, 3e4])),
    }
    drawn = Structure(nodes, blocks)
    moves = 1e-3 * rng.standard_normal((6, 6))
    known = Known(Assembly(drawn), moves)
    recovered = known.assembly.recover(moves)
    thicker = {**blocks, "sheet": replace(blocks["sheet"], thickness=np.array([1e-3, 1.1e-3]))}
    without = {name: block for name, block in blocks.items() if name != "bar"}
    shifted = nodes + np.array([[0, 0, 0]] * 5 + [[0, 0, 1e-3]])
    for changed, alike in (
        (Structure(nodes, blocks), {"sheet", "plate", "bar"}),
        (Structure(nodes, thicker), {"plate", "bar"}),
        (Structure(nodes, without), {"sheet", "plate"}),
        (Structure(shifted, blocks), set()),
    ):
        alone, beside = Assembly(changed), Beside(changed, known)
        assert beside.alike == alike
        assert_array_equal(beside.stiffness().toarray(), alone.stiffness().toarray())
        assert_array_equal(beside.rigid_inertia(), alone.rigid_inertia())
        pulls = [one.stiffness() @ one.vector(moves[:, :, None]) for one in (alone, known.assembly)]
        expected = alone.nodal(pulls[0] - pulls[1])[:, :, 0]
        scale = np.abs(pulls[0]).max()
        assert_allclose(beside.pull_less_known(), expected, rtol=0, atol=1e-13 * scale)
        for name, figures in beside.recover_beside(recovered).items():
            for what, value in alone.recover(moves)[name].items():
                assert_array_equal(figures[what], value)
