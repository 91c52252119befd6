"""A laminated strip whose stretch and twist are coupled, under a tip weight: measured points, for sanity
alone."""

from __future__ import annotations

from functools import partial

from fea.structure import Supports
from validation.case import Case, Result
from validation.meshes import along_y, chain, moved, section
from validation.units import KGF, MM

LENGTH, READ_AT = 550 * MM, 500 * MM
AXIAL, TORSION, FLAP, EDGE = 3.9e6, 1.18, 0.983, 290.0
MEASURED = ((20, 11.28), (50, 27.25), (100, 52.9), (200, 102.0))


def coupled_strip() -> list[Result]:
    """Deflection at 500 mm of 550 mm with the published section stiffness; the coupling plays no part in pure
    bending."""
    structure = chain(along_y([0, READ_AT, LENGTH]), section(AXIAL, FLAP, EDGE, TORSION), Supports.fixed([0]))
    per_gram = -float(moved(structure, [(2, (0, 0, -KGF / 1000))])[0][1, 2])
    source = (
        "Minguet and Dugundji, AIAA Journal 1990, strip 3; section stiffness and digitised points looked "
        "up in a public validation data file"
    )
    why = (
        "test 7 to 18 % softer than its own published stiffness, probably clamp, own weight or reading: "
        "sanity alone"
    )
    formula = "P x^2 (3L - x)/6EI; evaluated here"
    expected = KGF / 1000 * READ_AT**2 * (3 * LENGTH - READ_AT) / (6 * FLAP)
    row = partial(Result, unit="mm")
    return [
        row(
            "deflection at 500 mm per gram",
            per_gram / MM,
            expected / MM,
            tolerance=1e-9,
            source=formula,
            why="the beam element is exact for an end load",
            kind="rounding",
        ),
        *(
            row(
                f"deflection at 500 mm under {grams} g",
                per_gram * grams / MM,
                measured,
                tolerance=0.25,
                source=source,
                why=why,
                kind="measured",
            )
            for grams, measured in MEASURED
        ),
    ]


CASES = (Case("E4", "Coupled laminated strip under a tip weight", coupled_strip),)
