"""A measured wood put into a wing file: comments, order and spelling of everything else stay as they are.

tomlkit keeps a TOML text as it was written; what comes out is read by the wing reader before anybody may put
it in the file's place.
"""

from __future__ import annotations

import difflib
from collections.abc import Mapping

from models.wing.units import write_quantity

_UNITS = {"density": "kg/m3", "E_L": "GPa", "length": "mm", "width": "mm", "thickness": "mm", "mass": "g"}
_MEASURED = ("density", "piece", "E_L")


class TakenName(ValueError):
    """The file has a wood of that name already."""


class NotToml(ValueError):
    """The text is no TOML; the message says where."""


def with_wood(text: str, name: str, figures: Mapping[str, object], *, replace: bool = False) -> str:
    """A wing file's text with a table `[woods.NAME]` of a measured wood.

    Parameters
    ----------
    text : str
        Of the file.
    name : str
        The builder's own name for the wood.
    figures : mapping
        "like" and "cut" as text, "E_L" (Pa) and "density" (kg/m3) as numbers, "piece" a mapping of length,
        width, thickness (m) and mass (kg); written with units.
    replace : bool
        Let the measured figures of a wood of that name that is there be replaced; its other figures stay.

    Raises
    ------
    TakenName
        There is such a wood, and `replace` is not set.
    NotToml
        The text cannot be read.
    """
    import tomlkit
    from tomlkit.exceptions import TOMLKitError
    from tomlkit.items import Table

    try:
        document = tomlkit.parse(text)
    except TOMLKitError as error:
        raise NotToml(str(error)) from None
    woods = document.get("woods")
    there = woods.get(name) if isinstance(woods, Mapping) else None
    if there is not None and not replace:
        raise TakenName(name)
    values = {key: _value(key, value) for key, value in figures.items()}
    if isinstance(there, Mapping):
        table = document["woods"][name]
        for key in _MEASURED:
            # A density beside a piece would contradict it; a figure not measured anew stays.
            if key in table and key not in values and ({key, *values} >= {"density", "piece"}):
                del table[key]
        for key, value in values.items():
            if isinstance(value, dict) or table.get(key) != value:
                table[key] = _item(value)
        return tomlkit.dumps(document)
    newline = "\r\n" if "\r\n" in text else "\n"
    if woods is not None and not isinstance(woods, Table) and not _of_tables(text):
        woods[name] = _item(values)  # an inline table of woods takes the new one in
        return tomlkit.dumps(document)
    # A table of its own at the end of the file disturbs nothing that is there.
    lines = [f"[woods.{_key(name)}]", *(f"{key} = {_written(value)}" for key, value in values.items())]
    gap = "" if not text.strip() else newline if text.endswith(("\n", "\r")) else 2 * newline
    return text + gap + newline.join(lines) + newline


def difference(before: str, after: str, name: str) -> str:
    """Lines that change, as a unified difference."""
    lines = difflib.unified_diff(
        before.splitlines(), after.splitlines(), f"{name} as it is", f"{name} as it would be", lineterm=""
    )
    return "\n".join(lines)


def _of_tables(text: str) -> bool:
    """Whether woods stand as tables of their own, `[woods.NAME]`, of which there may be one more."""
    return any(line.lstrip().startswith(("[woods.", "[ woods")) for line in text.splitlines())


def _value(key: str, value: object) -> object:
    if isinstance(value, Mapping):
        return {k: _value(k, v) for k, v in value.items()}
    if isinstance(value, float):
        unit = _UNITS[key]
        return write_quantity(value, unit, 4)
    return value


def _item(value: object) -> object:
    import tomlkit

    if not isinstance(value, dict):
        return value
    table = tomlkit.inline_table()
    table.update(value)
    return table


def _written(value: object) -> str:
    import tomlkit

    return tomlkit.item(_item(value)).as_string()


def _key(name: str) -> str:
    import tomlkit

    plain = all(c.isascii() and (c.isalnum() or c in "-_") for c in name)
    return name if plain else tomlkit.item(name).as_string()
