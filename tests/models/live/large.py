"""Wing files of any size, made by code: spars side by side, bays out to the tips, webs here and there."""

from __future__ import annotations


def large(spars: int = 3, bays: int = 25, *, sheeted: bool = False, chord: str = "420 mm") -> str:
    """The text of a wing file.

    Parameters
    ----------
    spars : int
        How many, between a fifth and two thirds of the chord.
    bays : int
        Of each side, 70 mm each.
    sheeted : bool
        With sheeting from the leading edge to the first spar, which hangs on that spar's webs alone.
    chord : str
        Everywhere.

    Returns
    -------
    str
        Webs on the rear face in the inner half, on both in the innermost quarter, none beyond; every spar
        has a thickness of its own.
    """
    places = [20 + 46 * k / max(spars - 1, 1) for k in range(spars)]
    parts = [
        f"""name = "{spars} spars of {bays} bays"

[planform]
stations = [
    {{ y = "0 mm", chord = "{chord}", section = "NACA 2412" }},
    {{ y = "{70 * bays} mm", chord = "{chord}" }},
]

[ribs]
count = {bays + 1}
thickness = "2 mm"

[leading_edge]
width = "10 mm"
height = "10 mm"
wood = "balsa medium"

[case]
load_factor = 5
mass = "{0.09 * spars * bays / 3 + 1.5:.2f} kg"
"""
    ]
    for k, place in enumerate(places):
        name = f"spar {k + 1}"
        thick = ("1.5 mm", "2 mm", "1 mm", "2.5 mm")[k % 4]
        half, quarter = max(bays // 2, 1), max(bays // 4, 1)
        parts.append(
            f"""
[[spars]]
name = "{name}"
at = "{place:.0f} %"
caps = {{ width = "8 mm", height = "8 mm", wood = "spruce" }}

[[spars.webs]]
bays = "1-{half}"
face = "rear"
thickness = "{thick}"

[[spars.webs]]
bays = "1-{quarter}"
face = "front"
thickness = "{thick}"
"""
        )
    if sheeted:
        parts.append(
            """
[[sheeting]]
from = "leading edge"
to = "spar 1"
thickness = "1.5 mm"
wood = "balsa medium"
"""
        )
    return "".join(parts)
