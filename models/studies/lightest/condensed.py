"""Segments for very many layouts: put together from portions, everything that is asked of them condensed to
their two interfaces, so that a layout's values follow from small full matrices."""

from __future__ import annotations

import numpy as np
from scipy.linalg import blas

from models.studies.lightest.portions import State
from models.studies.lightest.prepared import Prepared
from models.studies.lightest.segments import Segment


class Condensed(Prepared):
    """Segments of a wing in all states that were asked for, their rows on their interfaces.

    Parameters
    ----------
    places : Places
        Where the layouts may carry webs.
    per_bay : int
        Elements along a bay.

    Raises
    ------
    Untabulated
        The mesh does not fall into segments.
    """

    def made(self, m: int, states: list[tuple[int, State]]) -> Segment:
        """A segment from its portions, its rows on the freedoms of its interfaces.

        Parameters
        ----------
        m : int
            Which.
        states : list of (int, State)
            Of its portions, as `states_of` gives them.

        Returns
        -------
        Segment
            Without its inside.
        """
        one = self.composed(m, states)
        p = len(one.root)
        rows = one.rows.matrix.toarray()
        inside, ends = rows[:, :p], rows[:, p:]
        given = np.zeros((len(rows), one.load.shape[1]))
        if p:
            half = blas.dtrsm(1.0, one.root, np.asfortranarray(inside.T), lower=1, overwrite_b=1)
            ends = ends - half.T @ one.across
            given = half.T @ one.load
        return Segment(
            one.link,
            np.ascontiguousarray(ends),
            np.ascontiguousarray(given),
            one.first,
            one.table,
            one.pieces,
            one.inertia,
            one.resultant,
            one.web_mass,
            None,
            np.zeros(0, dtype=np.intp),
            np.zeros((0, 3)),
        )
