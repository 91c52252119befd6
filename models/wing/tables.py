"""The schema seen as tables of keys: what a key path leads to, and the full key reference in words."""

from __future__ import annotations

import typing
from collections.abc import Iterator
from dataclasses import dataclass
from types import NoneType, UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic.fields import FieldInfo

from models.wing.faults import as_written
from models.wing.schema import Form, SpecimenFile, Table, WingFile
from models.wing.units import KINDS


@dataclass(frozen=True)
class Key:
    """One key of the file; its path marks a list entry with [], its default is in words or empty."""

    path: str
    kind: str
    default: str
    needed: bool
    meaning: str


def describe() -> str:
    """The full key reference as text, a heading for each table and a line for each key."""
    lines = [
        'Every quantity is text with its unit, like "1.5 mm" or "1 3/8 in"; a bare number is refused.',
        "",
    ]
    lines += [f"  {kind.name.split(' ', 1)[1]:<20} {', '.join(kind.units)}" for kind in KINDS.values()]
    for title, model in (
        ("A wing", WingFile),
        ("A specimen: one spar or a box, clamped at its root", SpecimenFile),
    ):
        lines += ["", title, "=" * len(title)]
        table = None
        for key in keys(model):
            heading, _, name = key.path.rpartition(".")
            if "upper_cap" in heading or "lower_cap" in heading:
                # Their keys are those of caps.
                if heading != table and heading.endswith("_cap"):
                    lines += ["", f"[{heading.replace('[]', '')}]", "  as caps, for that cap alone"]
                    table = heading
                continue
            if heading != table:
                table = heading
                if heading:
                    double = heading.endswith("[]")
                    plain = heading.replace("[]", "")
                    lines += ["", f"[[{plain}]]" if double else f"[{plain}]"]
            default = (
                "must be given" if key.needed else f"default: {key.default}" if key.default else "optional"
            )
            lines.append(f"  {name:<20} {key.meaning}  ({key.kind}; {default})")
    return "\n".join(lines) + "\n"


def keys(model: type[Table]) -> list[Key]:
    """Every key of a kind of file, `WingFile` or `SpecimenFile`, tables before the tables inside them, in
    the schema's order."""
    return list(_walk(model, ""))


def keys_of(table: type[Table]) -> dict[str, FieldInfo]:
    """Keys of one table as the file writes them."""
    return {field.alias or name: field for name, field in table.model_fields.items()}


def table_at(model: type[Table], location: tuple[str | int, ...]) -> type[Table] | None:
    """The table that a location of the file leads to, or None where it leads to none."""
    table: type[Table] | None = model
    in_names = False
    for step in location:
        if isinstance(step, int):
            continue
        if in_names:
            in_names = False
            continue
        if table is None or step not in keys_of(table):
            return None
        table, container = _inner(_annotation(table, step))
        in_names = container == "names"
    return table


def _walk(table: type[Table], prefix: str) -> Iterator[Key]:
    deeper: list[tuple[type[Table], str]] = []
    for name, field in keys_of(table).items():
        inner, container = _inner(_annotation(table, name))
        path = f"{prefix}{name}"
        if inner is not None:
            mark = {"list": "[]", "names": ".NAME", "": ""}[container]
            deeper.append((inner, f"{path}{mark}."))
            continue
        yield Key(
            path, _kind(_annotation(table, name), field), _default(field), field.is_required(), _said(field)
        )
    for inner, path in deeper:
        yield from _walk(inner, path)


def _said(field: FieldInfo) -> str:
    return field.description or ""


def _default(field: FieldInfo) -> str:
    if field.is_required():
        return ""
    if field.default is None:
        extra = field.json_schema_extra
        return str(extra.get("otherwise", "")) if isinstance(extra, dict) else ""
    return as_written(field.default)


def _annotation(table: type[Table], key: str) -> Any:
    name = next(name for name, field in table.model_fields.items() if (field.alias or name) == key)
    return typing.get_type_hints(table, include_extras=True)[name]


def _inner(annotation: Any) -> tuple[type[Table] | None, str]:
    """The table inside an annotation, and whether a list or a table of names holds it."""
    if isinstance(annotation, type) and issubclass(annotation, Table):
        return annotation, ""
    origin, arguments = get_origin(annotation), get_args(annotation)
    if origin is list:
        return _inner(arguments[0])[0], "list"
    if origin is dict:
        return _inner(arguments[1])[0], "names"
    if origin in (Union, UnionType):
        for one in arguments:
            found = _inner(one)
            if found[0] is not None:
                return found
    return None, ""


_PLAIN = {str: "text", float: "number", int: "whole number", bool: "true or false"}


def _kind(annotation: Any, field: FieldInfo) -> str:
    origin, arguments = get_origin(annotation), get_args(annotation)
    if origin is Annotated:
        forms = [mark.words for mark in arguments[1:] if isinstance(mark, Form)]
        return forms[0] if forms else _kind(arguments[0], field)
    if origin in (Union, UnionType):
        return " or ".join(_kind(one, field) for one in arguments if one is not NoneType)
    if origin is list:
        return f"list of {_kind(arguments[0], field)}"
    if origin is Literal:
        return "one of " + ", ".join(f'"{word}"' for word in arguments)
    return _PLAIN.get(annotation, str(annotation))
