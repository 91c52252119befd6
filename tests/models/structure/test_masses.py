"""Point masses and covering: all of it is there, where it is."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fea.assembly import Assembly, rigid_motions
from models.structure import build
from models.structure.masses import tributary

MASSES = """[[masses]]
name = "receiver"
mass = "80 g"
x = "40 mm"
z = "5 mm"
[[masses]]
name = "servo"
mass = "15 g"
x = "90 mm"
y = "230 mm"
z = "4 mm"
paired = true
[[masses]]
name = "ballast ahead of everything"
mass = "30 g"
x = "-50 mm"
carried_by = "wing"
[covering]
mass_per_area = "50 g/m2"
"""


def moments(model):
    """Mass (kg) and static moments (kg m) of a model's point masses and covering, summed by hand."""
    block = model.structure.blocks["masses"]
    at = block.places(model.structure.true_corners(block))
    return block.mass_values.sum(), block.mass_values @ at


@pytest.mark.parametrize("whole", [False, True])
def test_all_that_is_carried_is_there(make_wing, whole):
    model = build(make_wing(extra=MASSES), whole=whole)
    mass, static = moments(model)
    covering = 2 * 0.05 * 0.5 * 0.6 * (0.2 + 0.14)
    share = 2.0 if whole else 1.0
    assert_allclose(mass, share * (0.04 + 0.015 + 0.015 + covering), rtol=2e-3)
    named = {}
    block = model.structure.blocks["masses"]
    at = block.places(model.structure.true_corners(block))
    for number, amount, place in zip(block.part, block.mass_values, at):
        name = model.parts[number].place
        total, moment = named.get(name, (0.0, np.zeros(3)))
        named[name] = (total + amount, moment + amount * np.abs(place))
    assert_allclose(named["receiver"][0], share * 0.04, rtol=1e-12)
    # On a rib, so that the next to both sides carry it; of half a wing the one whose image is the other.
    at = [0.04, 0.0 if whole else 0.1, 0.005]
    assert_allclose(named["receiver"][1] / named["receiver"][0], at, rtol=1e-9, atol=1e-12)
    assert_allclose(named["servo"][0], share * 0.015, rtol=1e-12)
    assert_allclose(named["servo"][1] / named["servo"][0], [0.09, 0.23, 0.004], rtol=1e-9)
    # Ribs answer for strips of constant chord: exact in the middle of a straight taper, nearly at its ends.
    assert_allclose(named["covering"][0], share * covering, rtol=5e-3)
    if whole:
        assert_allclose(static[1], 0, atol=1e-9 * mass)


def test_the_mass_matrix_knows_all_parts(make_wing):
    model = build(make_wing(extra=MASSES), whole=True)
    assembly = Assembly(model.structure)
    motions = rigid_motions(model.structure.nodes, assembly.freedoms)
    total = motions[:, 2] @ (assembly.mass() @ motions[:, 2])
    assert_allclose(total, sum(model.structural_mass.values()) + moments(model)[0], rtol=1e-10)


def test_ribs_share_the_span():
    y = np.linspace(0, 1, 11)
    assert_allclose(tributary(y, np.array([0, 4, 10]), 1.0, 0.0), [0.2, 0.5, 0.3], rtol=1e-12)
    assert_allclose(tributary(y, np.array([2, 4]), 1.0, 0.0), [0.3, 0.7], rtol=1e-12)


def test_nothing_carried_means_no_block_and_no_part(make_wing):
    model = build(make_wing())
    assert "masses" not in model.structure.blocks
    assert not [p for p in model.parts if p.kind == "mass"]
