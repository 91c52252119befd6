"""The wing from above: every cell where its bay and spar are."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest

from models.live.opened import Opened
from models.live.plan import WIDTH, plan

WINGS = Path(str(files("models.wings")))
PLAIN = Path(__file__).with_name("remarked.toml").read_text(encoding="utf-8")
RIBS = 'stations = ["50 mm", "200 mm", "350 mm", "500 mm", "700 mm"]'
MIDDLE_BAY = PLAIN.replace("count = 8", RIBS).replace('bays = [5, "6-7"]', 'bays = "0"')


def points(text: str) -> np.ndarray:
    return np.array([[float(v) for v in corner.split(",")] for corner in text.split()])


@pytest.mark.parametrize("name", ["powered-tailless", "sailplane", "spar-c", "box-two-spars"])
def test_fields_stand_side_by_side_within_the_drawing(name):
    of = Opened((WINGS / f"{name}.toml").read_text(), WINGS, name, name)
    drawn = plan(of.wing, of.cells)
    assert len(drawn.fields) == len(of.cells)
    ends: dict[str, float] = {}
    for cell, field in zip(of.cells, drawn.fields):
        corners = points(field.outline)
        assert corners[:, 0].min() >= ends.get(cell.spar, 0.0)
        ends[cell.spar] = corners[:, 0].max()
        assert corners[:, 0].max() <= WIDTH
        assert 0 <= corners[:, 1].min() < corners[:, 1].max() <= drawn.height
        assert points(field.front)[:, 1].mean() < field.y < points(field.rear)[:, 1].mean()
        assert corners[:, 1].max() - corners[:, 1].min() > 20
    by_bay: dict[int, list[float]] = {}
    for cell, field in zip(of.cells, drawn.fields):
        by_bay.setdefault(cell.bay, []).append(field.y)
    # Spars are listed from the front to the rear, and aft is down; fields of one bay do not touch.
    for heights in by_bay.values():
        assert (np.diff(heights) > 2 * 12).all()


def test_the_outline_is_the_planform():
    of = Opened((WINGS / "powered-tailless.toml").read_text(), WINGS, "wing", "wing")
    drawn = plan(of.wing, of.cells)
    outline = points(drawn.outline)
    area = 0.5 * abs(
        np.dot(outline[:, 0], np.roll(outline[:, 1], 1)) - np.dot(outline[:, 1], np.roll(outline[:, 0], 1))
    )
    span = outline[:, 0].max() - outline[:, 0].min()
    assert of.wing.planform is not None
    # Both are drawn to one scale: half the wing's area over its semispan squared. Corners are rounded to 0.1.
    wanted = of.wing.planform.area / 2 / of.wing.semispan**2
    assert area / span**2 == pytest.approx(wanted, rel=2e-3)


@pytest.mark.parametrize(("whole", "n"), [("", 5), ("whole = true\n", 9)], ids=["half", "whole"])
def test_a_bay_that_straddles_the_centre_is_one(whole, n):
    of = Opened(whole + MIDDLE_BAY, Path(), "wing.toml", "wing")
    drawn = plan(of.wing, of.cells)
    assert len(of.cells) == len(drawn.fields) == n
    middle = [k for k, cell in enumerate(of.cells) if cell.bay == 0]
    assert len(middle) == 1
    assert of.cells[middle[0]].choices[of.cells[middle[0]].own] == ("front", "rear")
    corners = points(drawn.fields[middle[0]].outline)
    sizes = [np.ptp(points(field.outline)[:, 0]) for field in drawn.fields]
    # 100 mm across the centre, others 150 and 200 mm; 3 of the drawing's units are left between fields.
    assert (np.ptp(corners[:, 0]) + 3) / (max(sizes) + 3) == pytest.approx(0.5, rel=1e-2)
