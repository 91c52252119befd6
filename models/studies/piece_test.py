"""What a piece of wood is worth after it was weighed, bent under a known load, or both; with the measuring
errors.

Density is mass over volume. The modulus along the grain follows from the sag by the beam formula with shear
deflection (`models.woods.piece.modulus`); several loads give one slope of sag over load through zero by least
squares. Errors of scales, tape, calliper and dial are independent and small: variances add by the formula's
own slopes (first order), the doubt of E/G with them. The table's wood at the piece's own density is the
measure: how much stiffer, and whether such wood scatters so far.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from models import units_out as say
from models.gravity import GRAVITY
from models.woods.piece import BendTest, Held, density, modulus
from models.woods.wood import Material, WoodError, material

SCALES, TAPE, CALLIPER, DIAL = 0.5e-3, 1e-3, 0.05e-3, 0.2e-3
"""Standard deviations of a kitchen scale (kg), a tape, a calliper and a dial or ruler (m), where nothing
else is said (common practice, no source)."""


@dataclass(frozen=True)
class Tools:
    """Standard deviations of the measuring tools: `scales` kg, `tape` (length and span), `calliper` (width
    and thickness) and `dial` (sag), m."""

    scales: float = SCALES
    tape: float = TAPE
    calliper: float = CALLIPER
    dial: float = DIAL


@dataclass(frozen=True)
class TriedPiece:
    """A piece and what was measured of it, SI; what was not measured is None.

    `thickness` is the size in the direction of the load. `loads` (N) and `sags` (m) go in pairs;
    `loads_weighed` says that the loads were weighed, so that the scales' error counts. `flat` is a strip of
    sheet laid flat and pressed on its face, so that it shears through its thickness; otherwise the load lies
    in the plane of the faces that the cut names, as in a stick set upright.
    """

    like: str
    width: float
    thickness: float
    length: float | None = None
    mass: float | None = None
    span: float | None = None
    loads: tuple[float, ...] = ()
    sags: tuple[float, ...] = ()
    loads_weighed: bool = True
    held: Held = "both ends"
    flat: bool = False
    cut: str = "flat-sawn"


@dataclass(frozen=True)
class PieceResult:
    """What a piece is worth, SI; None for what was not measured.

    `density_error` and `E_L_error` are standard deviations from the tools alone; `shear_share` is the part of
    the sag that is shear. `table` is the wood of the table at the piece's density (at its usual one where the
    piece was not weighed), `table_scatter` how far such wood strays from it (variation coefficient of E_L),
    and `table_density` the usual density. `spread` is the standard deviation of the loads' own moduli about
    the slope's, a share; None for one load.
    """

    piece: TriedPiece
    density: float | None
    density_error: float | None
    E_L: float | None
    E_L_error: float | None
    shear_share: float | None
    spread: float | None
    table: Material
    table_scatter: float
    table_density: float

    @property
    def stiffer(self) -> float | None:
        """E_L over the table's at that density, less 1."""
        return None if self.E_L is None else self.E_L / self.table.E_L - 1.0

    @property
    def stiffer_error(self) -> float | None:
        """Its standard deviation from the tools, the density's own error with it."""
        if self.E_L is None or self.E_L_error is None:
            return None
        weighed = 0.0
        if self.density is not None and self.density_error is not None:
            weighed = self.density_error / self.density
        return self.E_L / self.table.E_L * math.hypot(self.E_L_error / self.E_L, weighed)

    @property
    def strays(self) -> float | None:
        """How many standard deviations of such wood, tools included, the piece strays from the table."""
        if self.stiffer is None or self.stiffer_error is None:
            return None
        return self.stiffer / math.hypot(self.table_scatter, self.stiffer_error)


def judge(piece: TriedPiece, tools: Tools | None = None) -> PieceResult:
    """Density and stiffness of a piece, and how they compare with the table. Tools of None are the usual
    ones.

    Raises
    ------
    models.woods.wood.WoodError
        A wood that is not known, a density out of its range, sizes that make no test.
    """
    tools = Tools() if tools is None else tools
    usual = material(piece.like, cut=piece.cut)
    found = found_error = None
    if piece.mass is not None:
        if piece.length is None:
            raise WoodError("length", None, "the length of a piece that was weighed")
        found = density(piece.length, piece.width, piece.thickness, piece.mass)
        relative = (
            tools.scales / piece.mass, tools.tape / piece.length,
            tools.calliper / piece.width, tools.calliper / piece.thickness,
        )  # fmt: skip
        found_error = found * math.hypot(*relative)
    table = material(piece.like, density=found, cut=piece.cut)
    stiff, stiff_error, share, spread = (None,) * 4
    if piece.loads:
        if table.kind != "solid":
            raise WoodError("like", piece.like, "a solid wood for a bend test")
        shear = table.through_thickness_shear()[0] if piece.flat else table.in_plane().G_12
        stiff, stiff_error, share, spread = _bent(piece, tools, table.E_L / shear, table.scatter["G"])
    return PieceResult(
        piece,
        found,
        found_error,
        stiff,
        stiff_error,
        share,
        spread,
        table,
        table.scatter["E_L"],
        usual.density,
    )


def _bent(
    piece: TriedPiece, tools: Tools, modulus_to_shear: float, doubt: float
) -> tuple[float, float, float, float | None]:
    """E_L, its standard deviation, the share of shear in the sag, and the spread of the loads' own moduli."""
    if piece.span is None or len(piece.loads) != len(piece.sags):
        raise WoodError("sag", piece.sags, "a span, and a sag for each load")
    for key, values in (("load", piece.loads), ("sag", piece.sags)):
        if any(not math.isfinite(v) or v <= 0 for v in values):
            raise WoodError(key, values, "finite numbers above zero")
    squares = sum(load**2 for load in piece.loads)
    slope = sum(load * sag for load, sag in zip(piece.loads, piece.sags)) / squares
    top = max(piece.loads)
    test = BendTest(piece.span, top, slope * top, piece.width, piece.thickness, piece.held)
    for load, sag in zip(piece.loads, piece.sags):  # every pair must be a test, not only their mean
        modulus(replace(test, load=load, sag=sag), modulus_to_shear)
    E = modulus(test, modulus_to_shear)
    plain = modulus(test, 1e-12)
    share = 1.0 - plain / E
    # E grows with span^3 / (width depth^3 sag), times 1 + shear, whose slopes the share of shear gives.
    relative = [
        tools.dial / (slope * math.sqrt(squares)),
        (3 - 2 * share) * tools.tape / piece.span,
        tools.calliper / piece.width,
        (3 - 2 * share) * tools.calliper / piece.thickness,
        share * doubt,
    ]
    if piece.loads_weighed:
        relative.append(tools.scales * GRAVITY / math.sqrt(squares))
    own = [modulus(replace(test, load=p, sag=s), modulus_to_shear) for p, s in zip(piece.loads, piece.sags)]
    spread = None
    if len(own) > 1:
        spread = math.sqrt(sum((e / E - 1) ** 2 for e in own) / (len(own) - 1))
    return E, E * math.hypot(*relative), share, spread


def sentences(result: PieceResult) -> list[str]:
    """The answer in words."""
    said, piece = [], result.piece
    if result.density is not None and result.density_error is not None:
        against = 100 * (result.density / result.table_density - 1)
        usual = (
            f"{abs(against):.0f} % {'heavier' if against > 0 else 'lighter'} than"
            if abs(against) >= 0.5
            else "as"
        )
        said.append(
            f"The piece weighs {say.density.bare(result.density, '.0f')} \N{PLUS-MINUS SIGN} "
            f"{say.density(result.density_error):.0f}, "
            f"{usual} the table's {piece.like} ({say.density(result.table_density):.0f})."
        )
    if result.E_L is None or result.E_L_error is None or result.stiffer is None:
        said.append(
            f"By the table such wood has E along the grain {say.stiff_stress(result.table.E_L):.2f}, "
            f"give or take {100 * result.table_scatter:.0f} %; bend the piece to know it."
        )
        return said
    said.append(
        f"E along the grain is {say.stiff_stress.bare(result.E_L, '.2f')} \N{PLUS-MINUS SIGN} "
        f"{say.stiff_stress(result.E_L_error):.2f}."
    )
    change, error, strays = 100 * result.stiffer, 100 * (result.stiffer_error or 0.0), result.strays or 0.0
    for_its = "for its density" if result.density is not None else f"for {piece.like} of the usual density"
    if abs(change) <= error:
        said.append(
            f"It is as stiff as the table says {for_its}, within the measuring error ({change:+.0f} % "
            f"\N{PLUS-MINUS SIGN} {error:.0f} %)."
        )
    else:
        said.append(
            f"It is {abs(change):.0f} % \N{PLUS-MINUS SIGN} {error:.0f} % "
            f"{'stiffer' if change > 0 else 'softer'} than the table says {for_its}; such wood scatters "
            f"by {100 * result.table_scatter:.0f} %, "
            f"so {'that is nothing unusual' if abs(strays) <= 2 else 'measure again and look at the grain'}."
        )
    if result.spread is not None and result.spread > 0.1:
        said.append(
            f"The loads' own results differ by {100 * result.spread:.0f} %: the piece settled on its "
            "supports, or a reading slipped."
        )
    if piece.mass is None:
        said.append("Weigh it too: strength follows density, and the table's wood may be lighter or heavier.")
    return said
