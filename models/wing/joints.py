"""Where parts of a wing come off on joiners: which spars are cut there, and what is said of it."""

from __future__ import annotations

from models.wing.parts import Spar, Wing
from models.wing.words import spar_words


def alone(wing: Wing, y: float) -> list[Spar]:
    """Spars cut beside a joiner at y (m) that have nothing of their own there."""
    held = {one.spar for one in wing.joiners if abs(one.at - y) < 1e-9}
    held |= {one.spar for one in wing.braces if one.y_end > y + 1e-9}
    return [
        spar
        for spar in wing.spars
        if spar.name not in held and spar.joint not in ("through", "scarfed") and spar.y_end > y + 1e-6
    ]


def cautions(wing: Wing) -> list[str]:
    """What a builder should know of how joiners are taken, a sentence each."""
    if not wing.joiners:
        return []
    said = [
        "Parts come off on joiners: how much these give, and let the wing bend up further at the joint, is "
        "not counted; nor is what they bear fore and aft and in twist."
    ]
    left = {spar.name: None for one in wing.joiners for spar in alone(wing, one.at)}
    if left:
        names = ", ".join(spar_words(name) for name in left)
        said.append(
            f"Taken as cut at the joiner, which carries what it carried: {names} "
            '(joint = "through" or "scarfed" if it is not).'
        )
    return said
