"""The woods that a file names: the list of the house, and the builder's own `[woods.NAME]`."""

from __future__ import annotations

from typing import Any

from models.wing.faults import FaultList, did_you_mean, path_of
from models.wing.schema import WoodTable
from models.wing.units import QuantityError, read_quantity
from models.woods import wood
from models.woods.wood import Material, WoodError

_CUTS = ("flat-sawn", "quarter-sawn")
_NOT_FIGURES = {"like", "density", "piece", "cut"}


class WoodShelf:
    """Woods by the text that names them: "spruce", "balsa, 120 kg/m3", "my sheet, quarter-sawn".

    Parameters
    ----------
    tables : dict of str to WoodTable
        The file's own woods.
    faults : FaultList
        Where faults are noted.
    raw : dict, optional
        `[woods]` as the file has it, so that a fault shows a value in its own unit.
    """

    def __init__(
        self, tables: dict[str, WoodTable], faults: FaultList, raw: dict[str, Any] | None = None
    ) -> None:
        self._tables = tables
        self._raw = raw or {}
        self._faults = faults
        self._found: dict[str, Material | None] = {}
        for name in tables:
            self._own(name, None, ("woods", name))

    def find(self, text: str, *location: str | int) -> Any:
        """Material that `text` names; on a fault it is noted and None comes back (the file is then refused).

        Parameters
        ----------
        text : str
            Name, and after commas a density or a cut.
        *location : str or int
            Where in the file the text stands.

        Returns
        -------
        Material or None
            The material.
        """
        if text not in self._found:
            n_faults = len(self._faults)
            self._found[text] = self._read(text, location)
            if len(self._faults) > n_faults:
                # A bad text is told at every place that has it.
                del self._found[text]
                return None
        return self._found[text]

    def _read(self, text: str, location: tuple[str | int, ...]) -> Material | None:
        name, *details = (part.strip() for part in text.split(","))
        density, cut = None, None
        for detail in details:
            if detail in _CUTS:
                cut = detail
                continue
            try:
                density = read_quantity(detail, "density")
            except QuantityError:
                self._note(
                    location, text, f'holds "{detail}", neither a density nor a cut ({" or ".join(_CUTS)}).'
                )
                return None
            if density <= 0:
                self._note(location, text, "has a density that is not more than zero.")
                return None
        if name in self._tables:
            if density is not None:
                self._note(location, text, f"gives a density to a wood that has its own under woods.{name}.")
                return None
            return self._own(name, cut, location)
        known = [*self._tables, *wood.names()]
        try:
            return wood.material(name, density=density, cut=cut or _CUTS[0])
        except WoodError as error:
            if name in wood.names():
                value = _plain(error.value)
                self._note(location, text, f"cannot be: {error.key} {value}; expected {error.expected}.")
            else:
                hint = did_you_mean(name, known) or f"; known are {', '.join(known)}."
                self._note(location, text, f"is not a wood that is known{hint}")
            return None

    def _own(self, name: str, cut: str | None, location: tuple[str | int, ...]) -> Material | None:
        table = self._tables[name]
        home = ("woods", name)
        figures = {
            key: value
            for key, value in table.model_dump().items()
            if value is not None and key not in _NOT_FIGURES
        }
        density = table.density
        if table.piece is not None:
            if density is not None:
                self._note((*home, "piece"), None, "stands beside a density; give one of the two.")
            piece = table.piece
            density = piece.mass / (piece.length * piece.width * piece.thickness)
        if table.like not in wood.names():
            hint = did_you_mean(table.like, wood.names()) or f"; known are {', '.join(wood.names())}."
            self._note((*home, "like"), table.like, f"is not a wood that is known{hint}")
            return None
        try:
            if wood.material(table.like).kind == "ply":
                return wood.material(
                    table.like, density=density, cut=cut or table.cut, overrides=figures or None
                )
            weighed = {} if density is None else {"density": density}
            return wood.custom(name, {"like": table.like, "cut": cut or table.cut, **weighed, **figures})
        except WoodError as error:
            given = getattr(table, error.key, None) is not None and table.piece is None
            value = self._raw_value(name, error.key) if given else error.value
            self._note((*home, error.key), value, f"cannot be; expected {error.expected}.")
            return None

    def _raw_value(self, name: str, key: str) -> object:
        table = self._raw.get(name)
        return table.get(key) if isinstance(table, dict) else None

    def _note(self, location: tuple[str | int, ...], value: object, expected: str) -> None:
        self._faults.add(path_of(location), value, expected)


def _plain(value: object) -> str:
    return f"{value:.4g}" if isinstance(value, float) else str(value)
