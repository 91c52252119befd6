"""What holds a wing together and is no element of its mesh, joiners and fastenings: a finding on its mass,
and a mode that counts in the verdict alone."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from models.strength.finding import Finding, ratio
from models.strength.mode import Mode, Remains, Rule, Share
from models.strength.solved import Solved
from models.structure.model import Part


def found(
    at: Solved,
    mode: Mode,
    is_it: Callable[[Part], bool],
    applied: float,
    allowed: float,
    *,
    y: float = 0.0,
    unit: str = "Pa",
) -> Finding:
    """A finding on the first mass whose part is the one meant.

    Parameters
    ----------
    at : Solved
        The wing under its load.
    mode : Mode
        Its mode.
    is_it : callable
        Whether a part is the one meant.
    applied, allowed : float
        In `unit`.
    y : float, default 0
        Where, m.
    unit : str, default "Pa"
        Of both.
    """
    part = at.model.structure.blocks["masses"].part
    assert part is not None
    row = next(k for k, p in enumerate(part.tolist()) if is_it(at.model.parts[p]))
    one, other = np.array([applied]), np.array([allowed])
    return mode.found(
        np.array([0]),
        ratio(other, one),
        one,
        np.array([y]),
        allowable=other,
        unit=unit,
        element=np.array([row]),
    )


def mode(
    name: str,
    words: str,
    source: str,
    rule: Rule,
    proof: Callable[[tuple[str, ...]], Share],
    *,
    find: Callable[[Solved], list[Finding]],
    reason: str,
    remains: Remains,
) -> Mode:
    """A mode of such a part: on its mass, set aside in tables for a reason, of no layout of webs.

    Parameters
    ----------
    name, words, source, rule, proof, find, reason, remains
        As for `Mode`.
    """
    return Mode(
        name=name,
        words=words,
        source=source,
        block="masses",
        find=find,
        ends_flight=False,
        reason=reason,
        joins=(),
        scatter=rule,
        proof=proof,
        remains=remains,
        many=None,
    )
