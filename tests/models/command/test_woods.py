"""`woods` and `keys`: every wood with every figure's source and tag, every key of the schema."""

from __future__ import annotations

from collections.abc import Callable

from numpy.testing import assert_allclose

from models.command.woods import MARKS
from models.wing.schema import WingFile
from models.wing.tables import keys
from models.woods.wood import material, names


def test_every_figure_has_a_source_and_a_known_tag(sparbay: Callable) -> None:
    found = sparbay("woods", "--json").document["woods"]
    assert [w["name"] for w in found] == list(names())
    for wood in found:
        for key, figure in {**wood["figures"], **wood["scatter"]}.items():
            assert figure["source"], (wood["name"], key)
            assert figure["tag"] in MARKS, (wood["name"], key)
    spruce = next(w for w in found if w["name"] == "spruce")
    assert_allclose(spruce["figures"]["E_L"]["value"], material("spruce").E_L, rtol=1e-12)


def test_tables(sparbay: Callable) -> None:
    text = sparbay("woods").out
    assert all(name in text for name in names())
    assert "?" not in text
    one = sparbay("woods", "spruce").out
    assert "G_LT" in one
    assert "Scatter" in one


def test_keys_lists_the_whole_schema(sparbay: Callable) -> None:
    text = sparbay("keys").out
    assert all(key.path.rpartition(".")[2] in text for key in keys(WingFile))
