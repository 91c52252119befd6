"""From a TOML wing file to a frozen `Wing`: the one door through which files come in.

The file's shape is checked against `schema`, rules between its keys by `flying` and `specimen`; all faults
that can be found in one run are raised together as one `WingFileError`. Nothing is printed here.
"""

from __future__ import annotations

import copy
import tomllib
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from pydantic import ValidationError
from pydantic.fields import FieldInfo

from models import units_out as say
from models.wing.draft import FileDraft
from models.wing.faults import MOST_LINES, Fault, FaultList, WingFileError, as_written, did_you_mean, path_of
from models.wing.flying import flying
from models.wing.intake import IntakeError, file_text, longest, measure, shown_all
from models.wing.parts import Wing
from models.wing.schema import BalanceTable, FlightTable, LandingTable, SpecimenFile, Table, WingFile
from models.wing.stock import WoodShelf
from models.wing.unlike import unlike_beside, unlike_first

__all__ = ["Fault", "WingFileError", "read", "read_text"]


def read(path: str | Path, *, source: str | None = None) -> Wing:
    """Read a wing file.

    Parameters
    ----------
    path : str or Path
        The TOML file; coordinate files that it names count from its folder.
    source : str, optional
        Name of the file in messages and in `Wing.source`; the path as given if left out.

    Returns
    -------
    Wing
        The wing or specimen, in SI, with every default that was filled in listed in `assumed`.

    Raises
    ------
    WingFileError
        The file cannot be read or has faults; all that were found, a line each.
    """
    path = Path(path)
    source = str(path) if source is None else source
    try:
        text = file_text(path)
    except IntakeError as error:
        raise WingFileError(source, [Fault(error.where, "", error.expected)]) from None
    return read_text(text, source=source, folder=path.parent, name=path.stem)


def read_text(
    text: str, *, source: str = "wing file", folder: Path | None = None, name: str = "wing"
) -> Wing:
    """Read the text of a wing file.

    Parameters
    ----------
    text : str
        TOML.
    source : str, default "wing file"
        Name of the file in messages and in `Wing.source`.
    folder : Path, optional
        Folder from which coordinate files count; the current one if left out.
    name : str, default "wing"
        Name of the wing where the file gives none.

    Returns
    -------
    Wing
        As `read`.

    Raises
    ------
    WingFileError
        As `read`.

    Examples
    --------
    >>> import sparbay
    >>> wing = sparbay.read_text('''
    ... [specimen]
    ... length = "300 mm"
    ... depth = "30 mm"
    ... [ribs]
    ... pitch = "60 mm"
    ... thickness = "2 mm"
    ... [[spars]]
    ... name = "spar"
    ... caps = { width = "10 mm", height = "6 mm", wood = "spruce" }
    ... [case]
    ... tip_force = "1 N"
    ... ''')
    >>> wing.semispan, wing.spars[0].name
    (0.3, 'spar')
    """
    try:
        measure(text)
        raw = shown_all(tomllib.loads(text))
    except IntakeError as error:
        raise WingFileError(source, [Fault(error.where, "", error.expected)]) from None
    except tomllib.TOMLDecodeError as error:
        raise WingFileError(source, [_broken(str(error), text)]) from None
    units = say.units_of(raw)
    with say.reading(units):

        def again(data: dict[str, Any]) -> Wing:
            return _wing(data, text, source, folder or Path(), name)

        try:
            wing = unlike_beside(again(raw), raw, again)
        except WingFileError as error:
            told = unlike_first(error.faults, raw, again)
            raise WingFileError(error.source, _placed(told, raw, text)) from None
    return replace(wing, units=units)


def _placed(faults: Sequence[Fault], raw: dict[str, Any], text: str) -> list[Fault]:
    """Faults with line and part; of those that are shown, for to find it takes time."""
    from models.wing import places

    known = places.lines(text)
    shown = [replace(one, place=places.place(one.key_path, raw, known)) for one in faults[:MOST_LINES]]
    return [*shown, *faults[MOST_LINES:]]


def _wing(raw: dict[str, Any], text: str, source: str, folder: Path, name: str) -> Wing:
    """The wing of a parsed file; `WingFileError` where there are faults."""
    faults = FaultList()
    many = longest(raw)
    if many is not None:
        place, count, most = many
        raise WingFileError(
            source, [Fault(path_of(place), "", f"has {count} entries; no wing has more than {most}.")]
        )
    model = _kind(raw, faults)
    file = _shape(raw, model, faults)
    if file is None:
        raise WingFileError(source, faults)
    draft = FileDraft(raw, faults, WoodShelf(file.woods, faults, raw.get("woods")), source, text=text)
    if isinstance(file, WingFile):
        wing = flying(draft, file, source, name, folder)
    else:
        from models.wing.specimen import specimen

        wing = specimen(draft, file, source, name)
    if faults:
        draft.give_up()
    if isinstance(file, WingFile) and wing.flight is not None:
        limits = _assumed(FlightTable() if file.flight is None else file.flight, set(), ("flight",))
        wing = replace(wing, flight=replace(wing.flight, assumed=limits))
    if isinstance(file, WingFile) and wing.balance is not None:
        wanted = _assumed(BalanceTable() if file.balance is None else file.balance, set(), ("balance",))
        wing = replace(wing, balance=replace(wing.balance, assumed=wanted))
    if isinstance(file, WingFile) and wing.landing is not None:
        landing = LandingTable() if file.landing is None else file.landing
        filled = _assumed(landing, draft.not_assumed, ("landing",))
        wing = replace(wing, landing=replace(wing.landing, assumed=filled))
    return replace(wing, assumed=_assumed(file, draft.not_assumed))


def _broken(message: str, text: str) -> Fault:
    """Fault of a text that is not TOML: where, and what the parser says."""
    what, _, where = message.rpartition(" (at ")
    if not what:
        return Fault("", "", f"is not TOML: {message}.")
    where = where.removesuffix(")")
    if where == "end of document":
        lines = text.splitlines() or [""]
        where = f"line {len(lines)}, column {len(lines[-1]) + 1}"
    path = "; write / between folders" if "\\" in what and "string" in what else ""
    return Fault(where, "", f"not TOML: {what[0].lower() + what[1:]}{path}.")


def _kind(raw: dict[str, Any], faults: FaultList) -> type[WingFile] | type[SpecimenFile]:
    if "specimen" in raw and "planform" in raw:
        faults.add("specimen", None, "stands beside a planform; a file describes a wing or a specimen.")
    return SpecimenFile if "specimen" in raw and "planform" not in raw else WingFile


def _shape(
    raw: dict[str, Any], model: type[WingFile] | type[SpecimenFile], faults: FaultList
) -> WingFile | SpecimenFile | None:
    """The file's checked shape, or None. Unknown keys are told and dropped, so that the rest is read."""
    try:
        return model.model_validate(raw)
    except ValidationError as error:
        wrong = error.errors(include_url=False)
    both = bool(faults)
    told = [one for one in wrong if not (both and one["loc"] == ("specimen",))]
    faults += [_fault(one, model) for one in told[:MOST_LINES]]
    # Their words take time to find and are not shown: only that there are so many.
    faults += [Fault(path_of(one["loc"]), "", "is at fault too.") for one in told[MOST_LINES:]]
    if any(one["type"] != "extra_forbidden" for one in wrong):
        return None
    known = copy.deepcopy(raw)
    for one in wrong:
        here: Any = known
        for step in one["loc"][:-1]:
            here = here[step]
        del here[one["loc"][-1]]
    return model.model_validate(known)


_KEYS_TOLD = 6
"""Keys of a table that are listed where none is like the one that is not there (chosen)."""
_NO_TABLE = 'is not a table; write its keys in braces, { key = "value" }, or below a heading in brackets.'
_NOT_A = {
    "string_type": 'is not text; write it in quotes, like "name".',
    "bool_type": "is neither true nor false.",
    "list_type": "is not a list; write its entries in square brackets, between commas.",
    "dict_type": _NO_TABLE,
    "model_type": _NO_TABLE,
    "model_attributes_type": _NO_TABLE,
    "float_type": "is not a plain number; it takes no unit and no quotes.",
    "int_type": "is not a whole number.",
    "int_from_float": "is not a whole number.",
    "finite_number": "is not a finite number.",
}


def _fault(error: Any, model: type[Table]) -> Fault:
    """One of pydantic's errors in our own words."""
    from models.wing.tables import keys_of, table_at  # only a file with faults needs them

    location, kind, value = error["loc"], error["type"], error["input"]
    context = error.get("ctx", {})
    path = path_of(location)
    if kind == "extra_forbidden":
        table = table_at(model, location[:-1])
        there = keys_of(table) if table else {}
        hint = did_you_mean(str(location[-1]), there)
        some = ", ".join(list(there)[:_KEYS_TOLD]) + (" and others" if len(there) > _KEYS_TOLD else "")
        where = path_of(location[:-1]) or "a file"
        return Fault(path, "", f"no such key{hint or f'; {where} takes {some} (sparbay keys).'}")
    if kind == "missing":
        table = table_at(model, location[:-1])
        field = keys_of(table).get(str(location[-1])) if table else None
        return Fault(path, "", f"is missing{_meaning(field)}.")
    if kind == "wing_file":
        return Fault(path, as_written(value), context["expected"])
    if kind == "literal_error":
        choices = tuple(word.strip("'") for word in context["expected"].replace(" or ", ", ").split(", "))
        hint = did_you_mean(value, choices) if isinstance(value, str) else ""
        return Fault(path, as_written(value), f"is none of {', '.join(_quoted(choices))}{hint or '.'}")
    if kind == "too_short":
        least = context["min_length"]
        return Fault(path, "", f"has {context['actual_length']} entries; at least {least} are needed.")
    for key, bound in (("gt", "more than"), ("ge", "at least"), ("le", "at most")):
        if kind.endswith(("_than", "_than_equal")) and key in context:
            if key == "ge" and 0 < context[key] < 0.1 and value <= 0:
                return Fault(path, as_written(value), "must be more than 0.")
            return Fault(path, as_written(value), f"must be {bound} {context[key]:g}.")
    return Fault(path, as_written(value), _NOT_A.get(kind, f"is wrong: {error['msg'].lower()}."))


def _quoted(words: tuple[str, ...]) -> tuple[str, ...]:
    """Choices as they are written where one of them is more than a word."""
    return tuple(f'"{word}"' for word in words) if any(" " in word for word in words) else words


def _meaning(field: FieldInfo | None) -> str:
    return f": {field.description}" if field is not None and field.description else ""


def _assumed(file: Table, left_out: set[str], at: tuple[str | int, ...] = ()) -> tuple[tuple[str, str], ...]:
    """Every default that was filled in, as (key path, value in words)."""
    found: list[tuple[str, str]] = []

    def walk(table: Table, location: tuple[str | int, ...]) -> None:
        for name, field in type(table).model_fields.items():
            here = (*location, field.alias or name)
            value = getattr(table, name)
            if name in table.model_fields_set or isinstance(value, Table):
                descend(value, here)
                continue
            words = default_in_words(field, table)
            if words and path_of(here) not in left_out:
                found.append((path_of(here), words))

    def descend(value: Any, here: tuple[str | int, ...]) -> None:
        if isinstance(value, Table):
            walk(value, here)
        elif isinstance(value, list):
            for i, item in enumerate(value):
                descend(item, (*here, i))
        elif isinstance(value, dict):
            for key, item in value.items():
                descend(item, (*here, key))

    walk(file, at)
    return tuple(found)


def default_in_words(field: FieldInfo, table: Table) -> str:
    """What a key left out stands for; nothing where that is nothing or another key is in its place."""
    if field.default is None:
        extra: Any = field.json_schema_extra or {}
        if any(name in table.model_fields_set for name in extra.get("unless", [])):
            return ""
        return str(extra.get("otherwise", ""))
    if field.default in ([], {}) or field.default_factory is not None:
        return ""
    return as_written(field.default).strip('"')
