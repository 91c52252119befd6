"""What records and their tables take by name."""

from __future__ import annotations

import io
from types import SimpleNamespace

import numpy as np
import pytest

from models.command.bench_by_hand import _SHEET
from models.command.document import figures
from models.mid_bay import SheetMidBay
from models.report.text import Page, fixed


def test_figures_stand_under_their_names_with_the_unit_behind():
    wood = SimpleNamespace(name="balsa")
    of = SimpleNamespace(bay=3, length=np.float64(2.5), at=np.array([1.0, 2.0]), wood=wood, lift_per_m=4.0)
    told = figures(of, "bay", "length_m", "at_m", "lift_per_m", wood="wood.name")
    assert list(told.items()) == [
        ("bay", 3), ("length_m", 2.5), ("at_m", [1.0, 2.0]), ("lift_per_m", 4.0), ("wood", "balsa"),
    ]  # fmt: skip
    assert type(told["length_m"]) is float
    with pytest.raises(AttributeError):
        figures(of, "width_m")


def test_a_sheet_has_what_is_told_of_it():
    row = SheetMidBay(surface="upper", side="starboard", bay=2, y=0.3, span_stress=1e6, shear=2e5)
    assert list(figures(row, **_SHEET).values()) == ["upper", 2, 0.3, 1e6, 2e5]


def test_a_table_of_records_tells_each_column_by_key_function_or_both():
    out = io.StringIO()
    page = Page(out)
    rows = [{"name": "a", "share": 0.25, "n": 7}, {"name": "b", "share": 0.5, "n": 8}]
    page.listed("Two", rows, {
        "<name": "name", "share, %": ("share", fixed, 100, 0), "twice": lambda r: str(2 * r["n"]),
    })  # fmt: skip
    page.end()
    last = out.getvalue().splitlines()[-2:]
    assert [line.split() for line in last] == [["a", "25", "14"], ["b", "50", "16"]]
