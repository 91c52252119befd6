"""Whether a layout that was found holds by the verdict, too.

Thousands of layouts are judged by linear rows: the pull-up of the wing as built, all sheeting whole. What is
answered in the end is judged whole, in wood as in the tables: with sheeting that bows, lift where the bent
wing puts it, and in every case in the air and at launch. If it fails so, the next heavier one is asked. A
layout that would hold only because its sheeting bows is thrown out before.
"""

from __future__ import annotations

from dataclasses import replace

from models.studies.tried import judged
from models.verdict import Verdict
from models.wing.parts import Wing

_ROUNDING = 1e-9


def held(wing: Wing, load_factor: float, *, per_bay: int = 4) -> Verdict:
    """The verdict on a flying wing of which a pull-up of some load factor is asked."""
    asked = replace(wing, case=replace(wing.case, load_factor=load_factor))
    return judged(asked, per_bay=per_bay)


def holds(found: Verdict) -> bool:
    """Nothing fails in any case that is asked."""
    return found.least >= 1 - _ROUNDING
