"""Sheets of wood as the shop sells them: which size each wood and thickness is cut from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from models import units_out as say
from models.wing.units import QuantityError, read_quantity, write_quantity
from models.woods.wood import Material


class StockError(ValueError):
    """A size of sheet that cannot be read or names nothing; the message is complete."""


@dataclass(frozen=True)
class SheetSize:
    """A size of sheet; grain along its length. `wood` and `thickness` (m) say which it is for, None: any.

    Parameters
    ----------
    wood : str or None
        Name of the wood.
    thickness : float or None
        m.
    width, length : float
        Across and along the grain, m.
    """

    wood: str | None
    thickness: float | None
    width: float
    length: float

    def suits(self, material: Material, thickness: float) -> bool:
        """Whether it is for sheets of a wood and thickness."""
        wood = self.wood is None or self.wood == material.name
        return wood and (self.thickness is None or abs(self.thickness - thickness) < 1e-6)

    @property
    def size(self) -> str:
        """Its size in words."""
        if say.imperial():
            return say.size.each(self.width, self.length)
        return f"{_mm(self.width)} x {_mm(self.length)} mm"


SOLID = SheetSize(None, None, 0.100, 1.000)
"""Sheet of solid wood where nothing is said: common practice, no source."""
PLY = SheetSize(None, None, 0.300, 0.600)
"""Sheet of plywood where nothing is said, face grain along its length: common practice, no source."""
SOLID_INCHES = SheetSize(None, None, 4 * say.INCH, 36 * say.INCH)
PLY_INCHES = SheetSize(None, None, 12 * say.INCH, 24 * say.INCH)
"""The same where inches are spoken: common practice, no source."""
SMALLEST, LARGEST = 0.01, 3.1
"""Sides between which a sheet makes sense, m."""


def solid() -> SheetSize:
    """Sheet of solid wood, and the length of sticks, where nothing is said."""
    return SOLID_INCHES if say.imperial() else SOLID


def ply() -> SheetSize:
    """Sheet of plywood where nothing is said."""
    return PLY_INCHES if say.imperial() else PLY


def read_stock(text: str) -> SheetSize:
    """A size of sheet as it is typed: "100 mm x 1000 mm", with a wood, a thickness or both before a colon,
    such as "birch ply, 1.5 mm: 300 mm x 600 mm"; grain runs along the second side.

    Raises
    ------
    StockError
        It is nothing of the kind.
    """
    what, _, size = text.rpartition(":")
    sides = size.replace("×", "x").split(" x ")
    if len(sides) != 2:
        raise StockError(
            f'{text!r} is no size of sheet; write "100 mm x 1000 mm", grain along the second side, or '
            '"balsa medium, 1.5 mm: 100 mm x 1000 mm" for one wood and thickness'
        )
    width, length = (_length(side, text) for side in sides)
    for side in (width, length):
        if not SMALLEST <= side <= LARGEST:
            raise StockError(f"{text!r}: sides of a sheet lie between 10 mm and 3100 mm")
    wood, thickness = _for(what.strip())
    return SheetSize(wood, thickness, width, length)


def _for(what: str) -> tuple[str | None, float | None]:
    head, _, tail = what.rpartition(",")
    try:
        return head.strip() or None, read_quantity(tail.strip(), "length")
    except QuantityError:
        return what or None, None


def _length(side: str, text: str) -> float:
    try:
        return read_quantity(side.strip(), "length")
    except QuantityError as error:
        raise StockError(f"{text!r}: {side.strip()!r} {error}") from None


def choose(stocks: Sequence[SheetSize], material: Material, thickness: float) -> SheetSize:
    """What a wood and thickness (m) is cut from: the sheet that says most about it, the last of equals."""
    fit = [s for s in stocks if s.suits(material, thickness)]
    if not fit:
        return ply() if material.kind == "ply" else solid()
    return max(reversed(fit), key=lambda s: (s.wood is not None) + (s.thickness is not None))


def unused(stocks: Sequence[SheetSize], sheets: Sequence[tuple[Material, float]]) -> SheetSize | None:
    """A size that is for a wood or thickness (m) that nothing is cut from, or None."""
    return next((s for s in stocks if not any(s.suits(m, t) for m, t in sheets)), None)


def _mm(length: float) -> str:
    return write_quantity(length, "mm", 6).removesuffix(" mm")
