"""Names of the arrays that all functions take and give."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
"""Of figures."""
Ints = NDArray[np.intp]
"""Of numbers of nodes, elements, parts."""
