"""Bare ladders of full ribs, caps and edge sticks without webs and sheeting, as solid elements.

The references stand in `ladders.json` with how they were made; every one is written as the text of a wing
file and goes through the hand test, held at the centre line and loaded at the tip. Nothing in the model is
fitted to them.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import Any

import numpy as np

from fea.structure import Loads
from models.analysis import spar_motion
from models.mid_bay import mid_bays
from models.studies.hand_test import half, hold
from models.wing.parts import Wing
from models.wing.reading import read_text
from validation.case import Case, Result
from validation.cases.solids import BALSA, WOODS, at_the_tip, references

_SOURCE = f"solid elements (ladders.json), computed for this project; {WOODS}"
_WHY = "open bays hang on what bends in the ribs: posts, the width beside them, and their feet on the caps"
_ASKED = 0.08


def wing(case: dict[str, Any]) -> Wing:
    """The wing of a reference, from the text of a wing file."""
    ribs = ", ".join(f'"{y} mm"' for y in case["ribs"])
    lines = [
        '[planform]\nstations = [{ y = "0 mm", chord = "200 mm", section = "NACA 0012" }, '
        f'{{ y = "{case["span"]} mm", chord = "200 mm" }}]',
        f'[ribs]\nstations = [{ribs}]\nthickness = "{case["rib"]} mm"\npost = {{ grain = "chord" }}',
        'wood = "reference-balsa"',
        '[[spars]]\nname = "main"\nat = "30 %"\ninset = "1.5 mm"',
        'caps = { width = "8 mm", height = "4 mm", wood = "spruce" }',
        '[leading_edge]\nwidth = "8 mm"\nheight = "12.9 mm"\nwood = "reference-balsa"',
        '[trailing_edge]\nwidth = "20 mm"\nheight = "5.79 mm"\nwood = "reference-balsa"',
        '[case]\nload_factor = 3\nmass = "1 kg"',
        BALSA,
    ]
    return read_text("\n".join(lines), source="reference")


def held(name: str) -> Iterator[Result]:
    """Deflection and twist at every rib, and what the caps bear half way along the bays."""
    case = references("ladders")["cases"][name]
    model = half(wing(case))
    ribs = np.array([int(np.argmin(np.abs(model.y - rib.y))) for rib in model.wing.ribs])
    tail = model.chordlines[-1].upper[ribs]
    nodal = at_the_tip(model, 3)
    nodal[tail, 2, 2] = np.where(ribs == ribs[-1], 0.5, 1.0)
    analysis = hold(model, Loads(nodal))
    row = partial(Result, source=_SOURCE, kind="theory", tolerance=_ASKED, why=_WHY)
    force, couple, behind = (spar_motion(analysis, 0, which) for which in range(3))
    for k, (j, y) in enumerate(zip(ribs, case["ribs"])):
        at = f"at {y:g} mm"
        yield row(f"deflection per N {at}", 1e3 * force.deflection[j], case["deflection"][k], "mm")
        yield row(f"twist per N mm {at}", 1e-3 * couple.twist[j], case["twist"][k], "rad/(N mm)")
        load = "per N at every rib's trailing edge"
        yield row(f"twist {load} {at}", behind.twist[j], case["twist_behind"][k], "rad/N")
        moved = 1e3 * float(analysis.solution.displacements[tail[k], 2, 2])
        yield row(f"trailing edge up {load} {at}", moved, case["behind"][k], "mm")
    for quantity, values, key, unit in (
        ("cap stress", [b.upper_cap / 1e6 for b in mid_bays(analysis, 0)], "cap", "MPa"),
        ("slope of cap stress", [b.upper_slope_z / 1e9 for b in mid_bays(analysis, 0)], "slope", "MPa/mm"),
    ):
        largest = max(abs(v) for v in case[key])
        for k, (ours, theirs) in enumerate(zip(values, case[key])):
            yield row(f"{quantity}, bay {k}, of its largest", ours, theirs, unit, scale=largest)


CASES: tuple[Case, ...] = tuple(
    Case(
        name, f"bare ladder of full ribs as a solid: {case['what']}", partial(held, name), partial(wing, case)
    )
    for name, case in references("ladders")["cases"].items()
)
