"""Figures that are no numbers are refused where they are recovered, before a part looks unloaded by them."""

import numpy as np
import pytest

from models.recovered import NotFinite, Recovered


@pytest.mark.parametrize("wrong", [np.nan, np.inf])
def test_a_figure_that_is_no_number_is_refused_with_its_block(wrong):
    figures = {"webs": {"stress": np.array([1.0, 2.0])}, "caps": {"stress": np.array([1.0, wrong])}}
    found = Recovered(figures, figures.__getitem__)
    assert found["webs"] is figures["webs"]
    with pytest.raises(NotFinite, match="stress of the caps"):
        found["caps"]
