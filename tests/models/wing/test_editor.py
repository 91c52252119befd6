"""The schema for editors takes every shipped wing and refuses what the reader refuses key by key."""

from __future__ import annotations

import copy
import tomllib
from importlib import resources
from typing import Any

import jsonschema
import pytest

from models.wing.editor import editor_schema, form_schema
from models.wing.faults import WingFileError
from models.wing.reading import read_text
from models.wing.schema import Form
from models.wing.units import KINDS, read_quantity

SCHEMA = editor_schema()
JUDGE = jsonschema.Draft7Validator(SCHEMA)
WINGS = {
    f.name: f.read_text(encoding="utf-8")
    for f in resources.files("models.wings").iterdir()
    if f.name.endswith(".toml")
}


def test_is_a_schema() -> None:
    jsonschema.Draft7Validator.check_schema(SCHEMA)


@pytest.mark.parametrize("name", sorted(WINGS))
def test_takes_every_shipped_wing(name: str) -> None:
    assert not [error.message for error in JUDGE.iter_errors(tomllib.loads(WINGS[name]))]


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('thickness = "2 mm"', "thickness = 2"),
        ('thickness = "2 mm"', 'thickness = "2"'),
        ('thickness = "2 mm"', 'thickness = "2 kg"'),
        ('thickness = "2 mm"', 'thickness = "2 furlong"'),
        ('bays = "1-6"', 'bays = "some"'),
        ('bays = "1-6"', "bays = []"),
        ('face = "rear"', 'face = "back"'),
        ("count = 11", 'count = "11"'),
        ("load_factor = 4", "load_factor = -6"),
        ("load_factor = 4", 'load_factor = "6"'),
        ('at = "30 %"', 'at = "30"'),
        ('[leading_edge]\nwidth = "8 mm"', "[leading_edge]"),
        ('[leading_edge]\nwidth = "8 mm"', '[leading_edge]\nbreadth = "8 mm"\nwidth = "8 mm"'),
    ],
)
def test_refuses_what_the_reader_refuses(old: str, new: str) -> None:
    text = WINGS["trainer.toml"].replace(old, new, 1)
    assert text != WINGS["trainer.toml"]
    with pytest.raises(WingFileError):
        read_text(text)
    assert not JUDGE.is_valid(tomllib.loads(text))


@pytest.mark.parametrize("kind", sorted(KINDS))
@pytest.mark.parametrize("number", ["3", "0.5", ".5", "1e-3", "1/16", "1 3/8", "- 2"])
def test_takes_every_unit_that_is_listed(kind: str, number: str) -> None:
    pattern = _pattern_of(kind)
    for unit in KINDS[kind].units:
        for text in (f"{number} {unit}", f"{number}{unit}"):
            read_quantity(text, kind)
            jsonschema.validate(text, {"type": "string", "pattern": pattern})


def _pattern_of(kind: str) -> str:
    found = form_schema(Form(KINDS[kind].name.split(" ", 1)[1]))
    assert found is not None
    return str(found["pattern"])


def test_keys_carry_their_meaning() -> None:
    rails = SCHEMA["definitions"]["RailTable"]["properties"]
    assert all(key.get("description") for key in rails.values())
    assert rails["wood"]["default"] == "beech"


def test_every_reference_leads_somewhere() -> None:
    def walk(value: Any) -> None:
        if isinstance(value, dict):
            reference = value.get("$ref")
            if isinstance(reference, str):
                assert reference.removeprefix("#/definitions/") in SCHEMA["definitions"]
            for item in value.values():
                walk(item)
        elif isinstance(value, list):
            for item in value:
                walk(item)

    walk(copy.deepcopy(SCHEMA))


LISTS = """
[[masses]]
name = "tank"
mass = "80 g"
x = "20 mm"
moves_between = {places}

[flight.loadings.dry.masses]
tank = {mass}
"""


@pytest.mark.parametrize(
    ("places", "mass", "good"),
    [
        ('["10 mm", "1 in"]', '"20 g"', True),
        ("[10, 25]", '"20 g"', False),
        ('["10 mm"]', '"20 g"', False),
        ('["10 mm", "25 mm"]', "20", False),
        ('["10 mm", "25 mm"]', '"20 mm"', False),
    ],
)
def test_places_and_masses_by_name_are_quantities(places: str, mass: str, good: bool) -> None:
    text = WINGS["trainer.toml"] + LISTS.format(places=places, mass=mass)
    assert JUDGE.is_valid(tomllib.loads(text)) is good
    if good:
        read_text(text)
    else:
        with pytest.raises(WingFileError):
            read_text(text)
    assert "prefixItems" not in str(SCHEMA)
