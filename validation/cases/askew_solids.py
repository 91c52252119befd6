"""Spars with webs whose grain lies between span and upright, and with webs that end half way, as solid
elements.

The references stand in `askew_solids.json` with how they were made; every one is written as the text of a
specimen file and goes through the wing-file door. Nothing in the model is fitted to them.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

import numpy as np

from models.analysis import spar_motion
from validation.case import Case, Result
from validation.cases.more_solids import specimen
from validation.cases.solids import WEBBED, WOODS, references, unit_loaded

_SOURCE = f"solid elements (askew_solids.json), computed for this project; {WOODS}"
_FORCE = f"{WEBBED}; measured by the tip's twist where a box hardly twists"


def spar(name: str) -> Iterator[Result]:
    """Tip movement and the twist at every bay's end."""
    case = references("askew_solids")["cases"][name]
    analysis = unit_loaded(specimen(case))
    force, torque = spar_motion(analysis, 0, 0), spar_motion(analysis, 0, 1)
    at = [int(np.argmin(np.abs(force.y - 1e-3 * y))) for y in case["stations"]]
    row = partial(Result, source=_SOURCE, why=WEBBED, kind="theory")
    yield row("tip deflection per N", 1e3 * force.deflection[-1], case["deflection"], "mm", 0.03)
    twist = 1e-3 * torque.twist[at]
    for k, theirs in enumerate(case["twist"]):
        yield row(f"twist per N mm, end of bay {k + 1}", twist[k], theirs, "rad", 0.05)
    largest = float(np.abs(case["twist_by_force"]).max())
    for k, theirs in enumerate(case["twist_by_force"]):
        if not largest:
            continue  # a box alike on both faces
        quantity = f"twist per N, end of bay {k + 1}"
        if abs(theirs) > 0.1 * largest:
            yield row(quantity, force.twist[at[k]], theirs, "rad", 0.05)
        else:
            yield row(quantity, force.twist[at[k]], theirs, "rad", 0.05, scale=largest, why=_FORCE)
    webs = case["geometry"]["webs"]
    for k in range(1, len(webs)):
        if webs[k] != webs[k - 1]:
            theirs = case["twist"][k] - case["twist"][k - 1]
            yield row(f"twist per N mm of bay {k + 1} alone", twist[k] - twist[k - 1], theirs, "rad", 0.05)


CASES: tuple[Case, ...] = tuple(
    Case(f"solid {name}", f"solid elements: {case['what']}", partial(spar, name), partial(specimen, case))
    for name, case in references("askew_solids")["cases"].items()
)
