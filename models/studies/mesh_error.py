"""How far the mesh moves an answer: the same wing on a mesh half as fine.

What the finer mesh changed is taken for the error that it has still. Where an error falls with the square of
the elements' length a third of it is left; where a local stress decides, less can be said, and the whole
change is told. Of thirty figures of ten wings and specimens, 25 moved by no more on a mesh four times as fine
and three times along the chord; twist of bare wings of ribs moved by up to 1.8 % where 0.3 was told.

Source: comparing two meshes is Richardson's (Roache, Perspective: a method for uniform reporting of grid
refinement studies, 1994, from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from models.analysis import Analysis, analyse, tip_deflection, wing_twist
from models.strength import Margins, check
from models.strength.counted import with_joints
from models.structure import ACROSS_CHORD


@dataclass(frozen=True)
class MeshError:
    """Changes from a mesh half as fine to this one, as shares of this one's figures. Of deflection and twist
    at the tip, NaN where it does not move, and of the load at first `failure`; `elsewhere`: on the coarser
    mesh another part or mode comes first."""

    deflection: float
    twist: float
    failure: float
    elsewhere: bool


def mesh_error(analysis: Analysis, margins: Margins, *, per_bay: int, rigid_joints: bool) -> MeshError | None:
    """Solve the wing once more on a mesh half as fine.

    Parameters
    ----------
    analysis, margins
        Of the wing, with as many panels along the chord as by default.
    per_bay, rigid_joints
        As the analysis was built.

    Returns
    -------
    MeshError or None
        None where no mesh is coarser.
    """
    if per_bay < 2:
        return None
    coarse = analyse(
        analysis.wing, per_bay=per_bay // 2, across_chord=ACROSS_CHORD // 2, rigid_joints=rigid_joints
    )
    judged = with_joints(analysis.wing, check(coarse))
    before, after = (
        np.array([tip_deflection(a), wing_twist(a)[1][-1], m.load_factor_at_first_failure()])
        for a, m in ((coarse, judged), (analysis, margins))
    )
    # A tip that hardly turns has no twist to speak of: less than a degree in a thousand.
    told = np.abs(after) > np.array([1e-9, np.radians(1e-3), 0.0])
    change = np.where(told, (after - before) / np.where(told, after, 1.0), np.nan)
    first, other = margins.first(), judged.first()
    return MeshError(
        float(change[0]),
        float(change[1]),
        float(change[2]),
        (first.mode, first.part) != (other.mode, other.part),
    )


def words(found: MeshError | None) -> str:
    """One sentence."""
    if found is None:
        return "How far the mesh moves the answer is not told: no mesh is coarser. Take `--mesh 4`."
    shares = (
        ("tip deflection", found.deflection),
        ("tip twist", found.twist),
        ("the load at first failure", found.failure),
    )
    moved = [f"{name} by {100 * abs(share):.1f} %" for name, share in shares if np.isfinite(share)]
    also = " (another part came first)" if found.elsewhere else ""
    return (
        f"Error of the mesh: from one half as fine to this {', '.join(moved[:-1])} and {moved[-1]}{also}; "
        f"take as much for what is left, or a finer one by `--mesh`."
    )
