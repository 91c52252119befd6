"""The next trial of a fixed point, mixed of those before it (Anderson's method).

Looked for is x = g(x). Of the last trials x_k and their gaps g(x_k) - x_k the mixture, its shares one
together, whose gaps cancel best is tried next, with its gap added. For a g that is linear in few directions
that finds x in as many trials as directions; else it takes a few times fewer than trying g(x_k) alone.

References
----------
Anderson, Iterative procedures for nonlinear integral equations, J. ACM 12 (1965), 547-560 (the title looked
up, the method from memory).
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence

import numpy as np

from fea.arrays import Array

_LEAST = 1e-12
"""What is added to squares of steps, each over its own length: steps that tell the same are shared."""


def mixed(tried: Sequence[Array], gaps: Sequence[Array], counted: int | None = None) -> Array:
    """The next trial of each case.

    Parameters
    ----------
    tried, gaps : sequence of (n, k, n_cases) float array
        Trials, the last one last, and what the fixed point's function adds to each.
    counted : int or None
        So many of the k figures of a row count in how well gaps cancel, those first; None for all. For
        figures of other units.

    Returns
    -------
    (n, k, n_cases) float array
    """
    out = tried[-1] + gaps[-1]
    if len(gaps) == 1:
        return out
    steps = [late - early for early, late in itertools.pairwise(gaps)]
    answers = [late - early + step for (early, late), step in zip(itertools.pairwise(tried), steps)]
    n_cases = out.shape[2]
    seen = np.stack([step[:, :counted].reshape(-1, n_cases) for step in steps]).transpose(2, 0, 1)
    last = gaps[-1][:, :counted].reshape(-1, n_cases).T
    seen, last = np.ascontiguousarray(seen), np.ascontiguousarray(last)
    normal = seen @ seen.transpose(0, 2, 1)
    # Steps shrink as trials close in: each counts by its direction, or the last ones would be lost.
    size = np.sqrt(np.einsum("ckk->ck", normal))
    size[size == 0] = 1.0
    normal = normal / (size[:, :, None] * size[:, None]) + _LEAST * np.eye(len(steps))
    right = seen @ last[:, :, None] / size[:, :, None]
    share = np.linalg.solve(normal, right)[:, :, 0] / size
    for k, answer in enumerate(answers):
        out -= share[:, k] * answer
    return out
