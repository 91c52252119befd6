"""How the reserve of a failure mode follows strength, stiffness and size of the piece that fails.

The model is recovered with the true stiffness and with nominal sizes and strengths, so that each rule says
what is left to be put right. A factor f on the strength of an interaction's all terms multiplies its reserve.
Where crushing of the bent spar takes part, which grows with the square of the load, that is cautious for weak
pieces (the reserve falls less than f).
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Rule:
    """What the reserve of a mode is proportional to.

    `strength` names the strength whose scatter counts, "glue", or "" where none does. `size` and `stiffness`
    are powers. `column` says that the load at failure runs from crushing (which strength governs) to Euler's
    (which stiffness governs).
    """

    strength: str
    size: float = 0.0
    stiffness: float = 0.0
    column: bool = False


RULES = {
    "cap tension": Rule("tension", size=1),
    "cap compression": Rule("compression", size=1),
    "cap bending, open bay": Rule("bending", size=1),
    "cap buckling": Rule("compression", size=1, column=True),
    "cap twist": Rule("compression", size=1, column=True),
    "web shear": Rule("shear"),
    "web shear, bending and crushing": Rule("shear"),
    "web direct stress": Rule("tension"),
    "web splitting": Rule("tension_across"),
    "web shear buckling": Rule("", size=2, stiffness=1),
    "web buckling under crushing": Rule("", size=2, stiffness=1),
    "web buckling, shear and crushing": Rule("", size=2, stiffness=1),
    "glue line": Rule("glue", size=-1),
    "glue at web end": Rule("glue", size=-1),
    "rail to tie glue": Rule("glue"),
    "tie to spar glue": Rule("glue"),
    "rail bending": Rule("bending", size=1),
    "edge bending": Rule("bending", size=1),
    "rib post": Rule("compression", size=1),
    "rib shear": Rule("shear"),
    "sheeting strength": Rule("compression"),
    "sheeting wrinkling": Rule("", size=2, stiffness=1),
    "sheeting shear buckling": Rule("", size=2, stiffness=1),
    "sheeting buckling, shear and compression": Rule("", size=2, stiffness=1),
}
"""Rules of the modes by name; others go by the words of their names."""


def rule_of(mode: str) -> Rule:
    """Rule of a mode.

    Parameters
    ----------
    mode : str
        As its file under `models.strength` calls it.

    Returns
    -------
    Rule
    """
    if mode in RULES:
        return RULES[mode]
    if "glue" in mode:
        return Rule("glue")
    if "buckling" in mode or "wrinkling" in mode:
        return Rule("", size=2, stiffness=1)
    for word in ("tension", "compression", "shear"):
        if word in mode:
            return Rule(word)
    return Rule("bending")
