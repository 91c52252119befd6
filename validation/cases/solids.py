"""What cases with solid elements for their reference share: reading the references, wings of the package,
loads at the tip, and the words that tell where they come from."""

from __future__ import annotations

import json
from dataclasses import replace
from functools import cache
from importlib import resources
from typing import Any

import numpy as np

from fea.arrays import Array
from models.analysis import Analysis, analyse, spar_motion
from models.structure.model import Model
from models.wing.parts import Wing
from models.wing.reading import read

WOODS = "woods from memory of FPL-GTR-190"
WEBBED = (
    "one beam-and-panel formulation against solids: plane sections of the caps, one panel in the clear height"
)
FACETS = "beams and panels against solids: flat facets of the nose, sections of the caps that stay plane"
BALSA = """
[woods.reference-balsa]
like = "balsa"
density = "160 kg/m3"
E_L = "3252.174 MPa"
E_R = "130.087 MPa"
E_T = "42.4197 MPa"
G_LR = "175.6174 MPa"
G_LT = "120.3304 MPa"
G_RT = "14.13989 MPa"
nu_LR = 0.229
nu_LT = 0.488
nu_RT = 0.665
"""
"""Of the solids' webs, sheeting, ribs and edges; their caps are spruce as the woods' table has it."""


@cache
def references(name: str) -> dict[str, Any]:
    """A file of references beside the cases, NAME.json; mm, N, MPa, rad."""
    text = resources.files("validation.cases").joinpath(f"{name}.json").read_text(encoding="utf-8")
    found: dict[str, Any] = json.loads(text)
    return found


def shipped(name: str) -> Wing:
    """A wing or specimen file of the package."""
    with resources.as_file(resources.files("models.wings") / f"{name}.toml") as path:
        return read(path)


def unit_loaded(wing: Wing, spar: str | None = None) -> Analysis:
    """A specimen under 1 N and 1 N m at the tip of one spar, the first if none is named."""
    case = replace(wing.case, tip_force=1.0, tip_torque=1.0, tip_spar=spar or wing.spars[0].name)
    return analyse(replace(wing, case=case))


def flexibility(wing: Wing) -> tuple[float, float, float]:
    """Of a box of two spars, mm/N: front tip under 1 N at the front, rear tip under it, rear under rear."""
    front, rear = (unit_loaded(wing, spar.name) for spar in wing.spars)

    def tip(analysis: Analysis, which: int) -> float:
        return float(1e3 * spar_motion(analysis, which, 0).deflection[-1])

    return tip(front, 0), tip(front, 1), tip(rear, 1)


FLEXIBILITIES = (
    "front tip per N at the front", "rear tip per N at the front", "rear tip per N at the rear",
)  # fmt: skip
"""What `flexibility` gives."""


def at_the_tip(model: Model, cases: int) -> Array:
    """Loads on a half wing, (n_nodes, 6, cases): 1 N up and 1 N m nose-up on the first spar's caps at the
    tip; what comes beyond these two is nothing yet."""
    caps, last = model.cap_nodes[0], len(model.y) - 1
    nodal = np.zeros((len(model.structure.nodes), 6, cases))
    nodal[caps[:, last], 2, 0] = 0.5
    nodal[caps[:, last], 0, 1] = np.array([1.0, -1.0]) / model.depth[0, last]
    return nodal
