"""The modes of failure: everything that asks about a mode looks here, and finds it by its whole name."""

from __future__ import annotations

from models.strength import (
    along_grain,
    brace_joint,
    cap_bending,
    cap_column,
    cap_compression,
    cap_tension,
    cap_twist,
    covering_edges,
    covering_ribs,
    covering_slack,
    covering_tearing,
    edge_bending,
    fastening,
    glue_ends,
    glue_line,
    joiner,
    post,
    rail_bending,
    rail_bolts,
    rail_joint,
    rib_shear,
    sheet_buckling,
    sheet_strength,
    web_buckling,
    web_buckling_combined,
    web_column,
    web_combined,
    web_direct,
    web_shear,
    web_splitting,
)
from models.strength.mode import Mode

MODES: tuple[Mode, ...] = (
    cap_tension.MODE,
    cap_compression.MODE,
    cap_bending.MODE,
    cap_column.MODE,
    cap_twist.MODE,
    post.MODE,
    rail_bending.MODE,
    rail_bolts.MODE,
    rail_joint.MODE,
    rail_joint.MODE_SPAR,
    rail_joint.MODE_CRUSHED,
    rib_shear.MODE,
    edge_bending.MODE,
    web_shear.MODE,
    web_combined.MODE,
    web_direct.MODE,
    web_splitting.MODE,
    web_buckling.MODE,
    web_column.MODE,
    web_buckling_combined.MODE,
    glue_line.MODE,
    glue_ends.MODE,
    glue_ends.MODE_PEAK,
    brace_joint.MODE,
    brace_joint.MODE_GLUE,
    *joiner.EVERY,
    *fastening.EVERY,
    covering_slack.MODE,
    covering_tearing.MODE,
    covering_edges.MODE,
    covering_ribs.MODE,
    sheet_strength.MODE,
    sheet_buckling.MODE,
    sheet_buckling.MODE_SHEAR,
    sheet_buckling.MODE_BOTH,
)
"""What every part is checked for."""
DAMAGED: tuple[Mode, ...] = (along_grain.MODE,)
"""What parts are checked for besides once others have failed."""


def named(name: str) -> Mode:
    """The mode of a name.

    Raises
    ------
    KeyError
        There is none.
    """
    for mode in (*MODES, *DAMAGED):
        if mode.name == name:
            return mode
    raise KeyError(name)
