"""The plate wing of E2 and E3 with its covering film, against the same wing measured with and without it.

The film is glued to the ribs alone, from nose to tail of the section, so that its panels reach from rib to
rib; the noses and tails of the ribs are taken as stiff. What was measured is compared as slopes between 0.2
and 0.8 kg, where zero readings (which moved between the tests) do not matter. The wing has no spar with caps,
so that a wing file cannot describe it.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache, partial

import numpy as np

from fea.assembly import Assembly
from fea.elements.membrane import Membranes
from fea.solve import factorise, statics
from fea.structure import Array, Loads, Structure
from models.covering import field
from models.wing.airfoil import half_thickness
from models.woods.films import film, stretch
from validation.case import Case, Result
from validation.cases.plate_wing import CHORD, MISSING, PlateFrame, plate
from validation.units import MM

THICKNESS = 0.012 * MM
MAKERS = 4.5e9
"""Modulus of polyester film in a maker's table, Pa."""
LIGHT, HEAVY = 0.2, 0.8
SOURCE = (
    "Technion's readings with and without skin, bending and torsion (second test: mass hung 80 mm ahead of "
    "the leading edge), in the public data set of the Third Aeroelastic Prediction Workshop, large "
    "deflection group [looked up]; film 12 um [looked up]"
)
BENDING = (90.10 - 22.92) / (101.2 - 26.8)
"""Measured deflection from 0.2 to 0.8 kg with film, mm, over that without; a second series with film has
65.1."""
TORSION = (3.478 - 0.633) / (6.315 - 3.396)
"""The same of the twist, degrees."""
NEVER_SLACK = 100.0
"""Times as taut as the list says: the film stays taut on both sides under every mass."""
TENSION = "its tautness is not published; the list's low end is taken"


@cache
def slopes(modulus: float, taut: float = 1.0) -> tuple[float, float]:
    """Deflection (m/kg) and twist (rad/kg) from 0.2 to 0.8 kg, mass at mid-chord and behind the
    trailing edge; `modulus` of the film in Pa, 0 without it, `taut` times as taut as the list says. Of both
    only ratios are compared, so that the lever of the twisting mass does not matter."""
    bare = plate()
    found = []
    if not modulus:
        factor = factorise(Assembly(bare.structure))
        moves = statics(factor, Loads(bare.loads)).displacements
        found = [mass * moves for mass in (LIGHT, HEAVY)]
    else:
        skin, tension = _skin(bare, modulus)
        blocks = {**bare.structure.blocks, "covering": skin}
        structure = Structure(bare.structure.nodes, blocks, bare.structure.supports)
        assembly = Assembly(structure)
        factor = factorise(assembly)
        for mass in (LIGHT, HEAVY):
            both = [field(assembly, factor, taut * tension, mass * bare.loads[:, :, k]).moves for k in (0, 1)]
            found.append(np.stack(both, axis=2))
    change = (found[1] - found[0])[bare.tip] / (HEAVY - LIGHT)
    at_nose, slope = np.polynomial.polynomial.polyfit(bare.chordwise, change[:, 2], 1)
    return abs(float(at_nose[0] + CHORD / 2 * slope[0])), abs(float(slope[1]))


def _skin(bare: PlateFrame, modulus: float) -> tuple[Membranes, Array]:
    """Film from rib to rib over both surfaces, and its pretension, N/m."""
    listed = film("polyester film")
    assert listed.shrink_stress is not None
    assert listed.slack_left is not None
    x = np.concatenate(
        [
            np.linspace(0, bare.chordwise[0], 4)[:-1],
            bare.chordwise,
            np.linspace(bare.chordwise[-1], CHORD, 4)[1:],
        ]
    )
    z = half_thickness(x / CHORD, 0.18) * CHORD
    node = np.clip(np.searchsorted(bare.chordwise, x - 1e-9), 0, len(bare.chordwise) - 1)
    n_chord = len(bare.chordwise)
    nodes, offsets = [], []
    points = bare.structure.nodes
    for a, b in zip(bare.at[:-1], bare.at[1:]):
        for sign in (1, -1):
            for k in range(len(x) - 1):
                four = [(a, k), (a, k + 1), (b, k + 1), (b, k)]
                ids = [j * n_chord + node[i] for j, i in four]
                nodes.append(ids)
                offsets.append([[x[i] - points[m, 0], 0, sign * z[i]] for m, (_, i) in zip(ids, four)])
    n = len(nodes)
    moduli = stretch(modulus * THICKNESS, modulus * THICKNESS, listed.nu)
    along = np.tile([0, 1.0, 0], (n, 1))
    taut = listed.shrink_stress * listed.slack_left * THICKNESS
    skin = Membranes(np.array(nodes), np.ones(n), np.tile(moduli, (n, 1, 1)), along, np.array(offsets))
    return skin, np.tile([taut, taut, 0.0], (n, 1))


def with_skin() -> Iterator[Result]:
    """How much the film takes off deflection and twist."""
    bare = slopes(0.0)
    listed = film("polyester film").E
    assert listed is not None
    why = (
        "3 % is what two series of the test differ by. 0.467 GPa is what the film has in a model fitted by "
        "the source's authors, and takes off a tenth of what the test shows; the maker's modulus half. "
        f"The film on the pressed side is slack from the first gram on; {TENSION}; {MISSING}. Were it so "
        "taut that neither side went slack, the maker's modulus would take off nine tenths: what is missing "
        "is how taut it was"
    )
    readings = "readings of twist in steps of 0.06 to 0.6 degrees are good for a tenth of it"
    row = partial(Result, unit="", source=SOURCE, kind="measured")
    for name, modulus, miss in (("list's modulus", listed, 0.1), ("maker's modulus", MAKERS, 0.06)):
        found = slopes(modulus)
        down, turn = f"deflection with film over bare, {name}", f"twist with film over bare, {name}"
        yield row(down, found[0] / bare[0], BENDING, tolerance=0.03, why=why, known_miss=miss)
        yield row(turn, found[1] / bare[1], TORSION, tolerance=0.1, why=readings)
    never = slopes(MAKERS, NEVER_SLACK)
    told = f"a bound, not an answer: 250 MPa in the film, so that neither side goes slack; {TENSION}"
    for k, (what, measured) in enumerate((("deflection", BENDING), ("twist", TORSION))):
        quantity = f"{what} with film over bare, maker's modulus, never slack"
        ratio = never[k] / bare[k]
        yield row(quantity, ratio, measured, tolerance=None, why=told, kind="information")


CASES = (Case("E2s", "The same wing with its covering film", with_skin),)
