"""What wood bears round a bolt or dowel that is pressed into the side of its hole.

The nominal stress is the force over diameter and length. Strengths are those of yielding (a lasting offset of
5 % of the diameter in a test of a dowel in half a hole), beyond which the wood goes on bearing.
"""

from __future__ import annotations

from models.woods.wood import Material

_PSI = 6894.757
_INCH = 0.0254
_SMALL = 0.25
"""Diameter below which one formula serves for all directions, in."""
LIGHTEST = 0.31
"""Least specific gravity of the woods that the formulas were fitted to."""
END_GRAIN = 0.67
"""Factor for a fastener that lies along the grain, loaded across it: National Design Specification, 11.5.2
(from memory)."""
SOURCE = (
    "dowel bearing 11200 G along and 6100 G^1.45/D^0.5 across the grain, below 1/4 in 16600 G^1.84 (psi, "
    "in): National Design Specification for Wood Construction, table 12.3.3 [looked up, quoted on a page]"
)


def gravity(wood: Material) -> float:
    """Specific gravity with oven-dry mass, of a density at 12 % moisture: density/1.12 over that of water.

    The volume is left at 12 %, which makes it some 5 % low.
    """
    return wood.density / 1120.0


def dowel_bearing(wood: Material, diameter: float, *, across: bool) -> float:
    """Bearing strength of wood, solid or plywood, at the side of a round hole (m), along or across the
    grain, Pa of the projected area. Woods lighter than the formulas were fitted to bear no more than
    their compression across the grain, or along it; a metal or carbon has its own strength in
    compression.

    References
    ----------
    National Design Specification for Wood Construction, table 12.3.3 (looked up, quoted on a calculator's
    page; 16600 there on another).
    """
    g, inches = gravity(wood), diameter / _INCH
    plain = wood.compression_across if across else wood.compression
    if not wood.crushes_slowly or g < LIGHTEST:
        return plain
    if inches < _SMALL:
        return 16600 * g**1.84 * _PSI
    return (6100 * g**1.45 / inches**0.5 if across else 11200 * g) * _PSI
