"""The chart of reserve factors by bay and mode shows what `check` found, and nothing else."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose

from models.analysis import analyse
from models.pictures.reserves import plot_reserves, reserve_table
from models.strength import Margins, check
from models.wing.reading import read

WINGS = Path(__file__).parents[3] / "models" / "wings"


@pytest.fixture(scope="module")
def margins() -> Margins:
    return check(analyse(read(WINGS / "trainer.toml")))


def test_every_margin_of_a_bay_is_in_the_table(margins: Margins) -> None:
    modes, bays, table = reserve_table(margins, "main")
    assert modes[0] == margins.first().mode
    assert bays == list(range(1, 11))
    for row in margins.rows:
        if row.spar == "main" and row.bay is not None:
            assert table[modes.index(row.mode), bays.index(row.bay)] <= row.reserve_factor
    assert_allclose(np.nanmin(table), margins.first().reserve_factor, rtol=1e-12)


def test_the_chart_is_written_whole(margins: Margins, tmp_path: Path) -> None:
    path = plot_reserves(margins, tmp_path / "reserve-modes.png", title="Trainer")
    assert path.read_bytes().startswith(b"\x89PNG")
    assert [p.name for p in tmp_path.iterdir()] == ["reserve-modes.png"]
