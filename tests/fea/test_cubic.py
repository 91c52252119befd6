"""Splines against SciPy's, and what they must pass through."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fea.cubic import cubic


@pytest.mark.parametrize("n", [4, 5, 40])
@pytest.mark.parametrize("shape", [(), (2,), (2, 3)])
def test_as_scipy(n, shape):
    interpolate = pytest.importorskip("scipy.interpolate")
    rng = np.random.default_rng(5)
    x = np.cumsum(rng.uniform(0.2, 2.0, n))
    y = rng.standard_normal((n, *shape)) + 1j * rng.standard_normal((n, *shape))
    at = np.linspace(x[0] - 0.5, x[-1] + 0.5, 60).reshape(4, 15)
    theirs = interpolate.CubicSpline(x, y, axis=0)
    assert_allclose(cubic(x, y)(at), theirs(at), rtol=0, atol=1e-11 * np.abs(theirs(at)).max())
    assert_allclose(cubic(x, y.real)(float(at[1, 3])), theirs(at[1, 3]).real, rtol=1e-10, atol=1e-11)


def test_a_cubic_is_met():
    x = np.array([0.0, 0.4, 1.1, 1.3, 2.0])
    curve = cubic(x, x**3 - 2 * x)
    at = np.linspace(-0.3, 2.5, 29)
    assert_allclose(curve(at), at**3 - 2 * at, rtol=0, atol=1e-12)


def test_too_few_points():
    with pytest.raises(ValueError, match="four"):
        cubic(np.arange(3.0), np.arange(3.0))
