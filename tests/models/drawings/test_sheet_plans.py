"""Words on the cutting sheets: within their piece, and one name for each."""

from __future__ import annotations

import pytest
from shapely import Polygon

from models.drawings.ink import Path, Text
from models.drawings.sheet_plans import box_of, sheet_plans


@pytest.mark.parametrize("name", ["sailplane", "powered-tailless"])
def test_every_piece_is_named_within_its_outline(name: str, sheets_of) -> None:
    sheets = sheets_of(name)
    for drawing, sheet in zip(sheet_plans(sheets), sheets, strict=True):
        rings = {i.name: Polygon(i.points) for i in drawing.items if isinstance(i, Path) and i.layer == "CUT"}
        words = [i for i in drawing.items if isinstance(i, Text) and i.layer == "TEXT"]
        assert set(rings) == {p.name for p in sheet.placed}
        for placed in sheet.placed:
            ring = rings[placed.name]
            inside = [w for w in words if ring.contains(box_of(w))]
            assert inside[0].words == placed.name
            told = " ".join(w.words for w in inside[1:])
            assert told in ("", placed.where)
        assert all(any(ring.contains(box_of(w)) for ring in rings.values()) for w in words)
