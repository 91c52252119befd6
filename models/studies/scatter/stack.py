"""Many wings laid side by side as one analysis, so that every failure mode is asked once for all of them.

The copies have their own nodes, spar and part numbers; what was recovered is each wing's own. It
is the failure modes' own code that answers, whatever modes there are.
"""

from __future__ import annotations

from dataclasses import fields, is_dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from fea.structure import Structure
from models.structure.model import Model


def side_by_side(model: Model, copies: int) -> Model:
    """Copies of a model's elements with spar and part numbers of their own.

    Parameters
    ----------
    model : Model
        One wing.
    copies : int
        How many; part `k * n_parts + p` is part p of wing k.

    Returns
    -------
    Model
    """
    structure, n_spars, n_nodes = model.structure, len(model.wing.spars), len(model.structure.nodes)
    blocks = {}
    for name, block in structure.blocks.items():
        many = _tiled(block, len(block.nodes), copies)
        many = replace(many, nodes=_numbered(block.nodes, n_nodes, copies))
        if block.part is not None:
            many = replace(many, part=_numbered(block.part, len(model.parts), copies))
        blocks[name] = many

    def rows(elements: Any, n: int) -> Any:
        many = _tiled(elements, n, copies)
        return replace(many, spar=_numbered(elements.spar, n_spars, copies))

    webs = rows(model.webs, len(model.webs.span))
    return replace(
        model,
        wing=replace(model.wing, spars=model.wing.spars * copies),
        structure=Structure(np.concatenate([structure.nodes] * copies), blocks, structure.supports),
        parts=model.parts * copies,
        cap_nodes=_numbered(model.cap_nodes, n_nodes, copies),
        depth=np.concatenate([model.depth] * copies),
        caps=rows(model.caps, len(model.caps.span)),
        webs=replace(webs, materials=model.webs.materials),
        posts=rows(model.posts, len(model.posts.station)),
        sheets=_tiled(model.sheets, len(model.sheets.sheet), copies),
        edges=None if model.edges is None else _tiled(model.edges, len(model.edges.area), copies),
    )


def _numbered(numbers: NDArray[np.intp], step: int, copies: int) -> NDArray[np.intp]:
    """Numbers of every copy one after the other; -1 stays."""
    return np.concatenate([np.where(numbers >= 0, numbers + k * step, numbers) for k in range(copies)])


def _tiled(value: Any, n: int, copies: int) -> Any:
    """A record's rows repeated; what has no row an element stays as it is."""
    if isinstance(value, np.ndarray):
        return np.concatenate([value] * copies) if value.ndim and len(value) == n else value
    if is_dataclass(value) and not isinstance(value, type):
        parts = {f.name: _tiled(getattr(value, f.name), n, copies) for f in fields(value)}
        return replace(value, **parts)
    return value * copies if isinstance(value, tuple) and len(value) == n else value
