"""Pieces of wood against the webs of the structure that was built: what is drawn is what is analysed."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from models.drawings.web_pieces import span_of_web, web_pieces
from models.structure import build

TRUE = 0.05e-3
"""Greatest difference between drawing and model, m."""


@pytest.mark.parametrize("name", ["trainer", "powered-tailless", "sailplane", "box-two-spars"])
def test_every_piece_is_its_web_between_the_faces_of_the_ribs(name: str, wing_of) -> None:
    wing = wing_of(name)
    model = build(wing, across_chord=2, whole=True)
    block, webs = model.structure.blocks["webs"], model.webs
    corners = model.structure.nodes[block.nodes] + block.offsets
    bays = model.bay[webs.span]
    names = [spar.name for spar in wing.spars]
    seen = 0
    for piece in web_pieces(wing):
        index = names.index(piece.spar)
        port = piece.side == "port"
        web = next(
            w
            for w in wing.spars[index].webs
            if (w.bay, w.face) == (piece.bay, piece.face) and (w.side == piece.side or not piece.side)
        )
        middle = corners[:, :, 1].mean(axis=1)
        own = (webs.spar == index) & (bays == piece.bay) & ~webs.brace & ((middle < 0) == port)
        own &= np.array([face == piece.face for face in webs.face])
        assert own.sum() >= 4
        ring, lap = corners[own], webs.lap[own].sum(axis=1) * (piece.face != "between")
        # Both ends of every element: distance along the web in plan, and its depth there.
        along = np.linalg.norm(ring[:, 1, :2] - ring[:, 0, :2], axis=1).sum()
        low, high = np.abs(ring[:, :, 1]).min(), np.abs(ring[:, :, 1]).max()
        inner, outer, *_ = span_of_web(wing, index, web)
        assert_allclose(piece.length, along * (outer - inner) / (high - low), rtol=0, atol=TRUE)
        y = np.abs(np.concatenate([ring[:, 0, 1], ring[:, 1, 1]]))
        depth = np.concatenate([ring[:, 3, 2] - ring[:, 0, 2], ring[:, 2, 2] - ring[:, 1, 2]]) + np.tile(
            lap, 2
        )
        order = np.argsort(y)
        for at, found in ((inner, piece.depth_inner), (outer, piece.depth_outer)):
            assert_allclose(found, np.interp(at, y[order], depth[order]), rtol=0, atol=TRUE)
        assert piece.thickness == webs.thickness[own][0]
        seen += 1
    assert seen == sum(len(spar.webs) for spar in wing.spars)
