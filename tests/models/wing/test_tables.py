import tomllib
from pathlib import Path

import pytest

import models.wings
from models.wing.schema import SpecimenFile, WingFile
from models.wing.tables import describe, keys

WINGS = Path(models.wings.__file__).parent


@pytest.mark.parametrize("model", [WingFile, SpecimenFile])
def test_every_key_has_a_meaning_and_a_kind(model):
    for key in keys(model):
        assert key.meaning, key.path
        assert key.kind, key.path
        assert "Annotated" not in key.kind
        assert "typing" not in key.kind


def _paths(value, prefix=""):
    for key, item in value.items():
        name = "NAME" if prefix in ("woods.", "layouts.") else key
        path = f"{prefix}{name}"
        if isinstance(item, dict):
            yield from _paths(item, f"{path}.")
        elif isinstance(item, list) and item and isinstance(item[0], dict):
            for one in item:
                yield from _paths(one, f"{path}[].")
        else:
            yield path


def test_the_reference_names_every_key_that_the_shipped_files_use():
    known = {key.path for model in (WingFile, SpecimenFile) for key in keys(model)}
    used = {path for file in WINGS.glob("*.toml") for path in _paths(tomllib.loads(file.read_text()))}
    assert used
    assert used <= known


def test_the_reference_as_text():
    text = describe()
    assert "[[spars.webs]]" in text
    assert "[[layouts.NAME.webs]]" in text
    assert "kg/m3" in text
    assert (
        '  grain                (face) grain from the span towards upright  ("upright", "span" or an angle; '
        in text
    )
