"""The wing file's schema for editors: JSON Schema, so that keys complete and faults show while one types.

It is made from the tables that files are read with. What text a quantity may be is written as a pattern of
its number and its units; rules between keys are not in it, `sparbay check` says those.

Source: JSON Schema, draft 7 (json-schema.org), which editors of TOML read.
"""

from __future__ import annotations

import re
from typing import Any

from pydantic.json_schema import GenerateJsonSchema

from models.wing.schema import Form, SpecimenFile, WingFile
from models.wing.units import KINDS

Schema = dict[str, Any]

_NUMBER = r"\s*[+-]?\s*((\d{1,9}[ -]+)?\d{1,9}\s*/\s*\d{1,9}|(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?)\s*"
_EXAMPLES = {
    "length": ["1.5 mm", "1/16 in"], "mass": ["350 g", "6 oz"], "density": ["160 kg/m3", "10 lb/ft3"],
    "mass per area": ["60 g/m2"], "force": ["45 N"], "force per length": ["60 N/m"],
    "torque": ["500 N mm"], "torque per angle": ["30 N mm/deg"], "stress": ["10 GPa"],
    "angle": ["3 deg"], "speed": ["120 km/h"], "rate of turn": ["11000 rpm"], "power": ["1.2 kW"],
    "moment of inertia": ["5 kg cm2"], "fraction": ["25 %"],
}  # fmt: skip
_RANGE = {"type": "string", "pattern": r"^\s*\d+\s*(-\s*\d+\s*)?$", "examples": ["1-5"]}
_BAY = {"type": "integer", "minimum": 0}
_BAYS: list[Schema] = [
    {"const": "all"},
    _RANGE,
    _BAY,
    {"type": "array", "minItems": 1, "items": {"anyOf": [_BAY, _RANGE]}},
]


class _Draft7(GenerateJsonSchema):
    """References as draft 7 names them."""

    schema_dialect = "http://json-schema.org/draft-07/schema#"


def editor_schema() -> Schema:
    """The schema of a wing file: a flying wing, or a specimen where it has the table `[specimen]`.

    Returns
    -------
    dict
        JSON Schema, draft 7.
    """
    definitions: Schema = {}
    kinds: list[Schema] = []
    for model in (WingFile, SpecimenFile):
        one = model.model_json_schema(schema_generator=_Draft7)
        definitions |= one.pop("$defs", {})
        definitions[model.__name__] = one
        kinds.append({"$ref": f"#/$defs/{model.__name__}"})
    whole = {
        "$schema": _Draft7.schema_dialect,
        "title": "a wing file of sparbay",
        "if": {"required": ["specimen"]},
        "then": kinds[1],
        "else": kinds[0],
        "$defs": definitions,
    }
    plain = _plain(whole)
    assert isinstance(plain, dict)
    plain["definitions"] = plain.pop("$defs")
    return plain


def form_schema(form: Form) -> Schema | None:
    """What the text of a value in this form looks like; None where its type says all."""
    words = form.words
    kind = next((k for k in KINDS if KINDS[k].name.split(" ", 1)[1] == words), None)
    if kind is not None:
        return _quantity(kind)
    if words.endswith("[at the root, at the tip]"):
        one = _quantity("fraction" if words.startswith("%") else "length")
        return {"anyOf": [one, {"type": "array", "items": one, "minItems": 2, "maxItems": 2}]}
    if words == "N/m, or [along the span, along the chord]":
        one = _quantity("force per length")
        return {"anyOf": [one, {"type": "array", "items": one, "minItems": 2, "maxItems": 2}]}
    if words.startswith("[") and words.endswith("] length"):
        return {"type": "array", "items": _quantity("length"), "minItems": 2, "maxItems": 2}
    if words == "masses by name":
        return {"type": "object", "additionalProperties": _quantity("mass")}
    if words.startswith('"all"'):
        return {"anyOf": _BAYS}
    if words.endswith("or an angle"):
        return {"anyOf": [{"enum": re.findall(r'"(\w+)"', words)}, _quantity("angle")]}
    return None


_ALSO = {"length": ("inch", '"', "'"), "mass": ("lbs",), "speed": ("MPH",)}
"""Spellings that builders use besides the units that are named."""
_PAIRS = {
    "length": rf"\s*\d+\s*(ft|')[\s,-]*{_NUMBER}(in|\")\s*$",
    "mass": rf"\s*\d+\s*lb[\s,-]*{_NUMBER}oz\s*$",
}
"""Feet and inches, pounds and ounces."""


def _quantity(kind: str) -> Schema:
    units = "|".join(re.escape(unit) for unit in (*KINDS[kind].units, *_ALSO.get(kind, ())))
    pair = f"|^{_PAIRS[kind]}" if kind in _PAIRS else ""
    return {
        "type": "string",
        "pattern": f"^{_NUMBER}({units})\\s*$" + pair,
        "examples": _EXAMPLES[kind],
        "description": f"{KINDS[kind].name}: a number and {', '.join(KINDS[kind].units)}",
    }


def _plain(value: Any, key: str = "") -> Any:
    """Without what only the reader needs, or that says no more to a person."""
    if isinstance(value, dict):
        skip = set() if key in ("properties", "$defs") else {"title", "otherwise", "unless"}
        kept = {
            k: _plain(v, k)
            for k, v in value.items()
            if k not in skip or (k == "title" and "$schema" in value)
        }
        variants = kept.get("anyOf")
        # TOML has no null: a key that may be left out is left out.
        if isinstance(variants, list) and {"type": "null"} in variants:
            rest = [v for v in variants if v != {"type": "null"}]
            kept.pop("anyOf")
            kept = {**rest[0], **kept} if len(rest) == 1 else {"anyOf": rest, **kept}
        if kept.get("default", 0) is None:
            kept.pop("default")
        return kept
    if isinstance(value, list):
        return [_plain(item) for item in value]
    if isinstance(value, str):
        return value.replace("#/$defs/", "#/definitions/")
    return value
