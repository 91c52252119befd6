"""The built model: the structure, its parts, and for each block the plain figures that strength and pictures
need."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from fea.arrays import Array, Ints
from fea.structure import Structure
from models import units_out as say
from models.wing.parts import Wing
from models.wing.words import spar_words
from models.woods.wood import Material

FASTENINGS = ("wing bolts", "rubber bands")
"""Kinds of part that hold a wing on its fuselage."""


@dataclass(frozen=True)
class Part:
    """A part of the wing as a builder names it.

    `kind` is "cap", "web", "web strip", "brace", "post", "rib", "cap strip", "sheeting", "edge", "rail",
    "rail tie", "joiner", "joiner box", one of `FASTENINGS`, "covering" or "mass"; `spar` and `place`
    ("upper", "front", ...) say which one; `bay` is None for what stands at a station, `rib` is the number of
    the rib there, from 1 at the centre.
    """

    kind: str
    spar: str = ""
    place: str = ""
    bay: int | None = None
    side: str = ""
    station: float | None = None
    rib: int | None = field(default=None, compare=False)

    @property
    def name(self) -> str:
        """In words: "bay 3, front spar, starboard: upper cap"."""
        where = [] if self.bay is None else [f"bay {self.bay}"]
        if self.spar:
            where.append(spar_words(self.spar))
        if self.side:
            where.append(self.side)
        elif self.rib is not None and (self.station or 0.0) < 0:
            where.append("port")
        if self.rib is None and self.station is not None:
            where.append(f"at {say.length(self.station):.0f}")
        return f"{', '.join(where)}: {self.what}" if where else self.what

    @property
    def what(self) -> str:
        """Without where it is: "upper cap", "web between the caps", "post of rib 4"."""
        between = f"{self.kind} between the caps"
        what = between if self.place == "between" else f"{self.place} {self.kind}".strip()
        if self.rib is None:
            return what
        return f"rib {self.rib}" if self.kind == "rib" else f"{what} of rib {self.rib}"

    @property
    def name_without_side(self) -> str:
        """The same for port and starboard alike: "bay 3, front spar: upper cap"."""
        return replace(self, side="").name


@dataclass(frozen=True, eq=False)
class CapElements:
    """One row an element of the block "caps", spar by spar, upper cap then lower, from port (or root) to tip.

    Lengths m. `layer_heights` (n, n_layers) run from the outer face inward, padded with zero; `centroid` is
    the depth of the beam axis below the outer face (towards the other cap). `layer_modulus` is E along the
    span, Pa. `overlap` (n, 2) is the width of web strips lapped on the front and rear face, 0 where there is
    none.
    """

    spar: Ints
    upper: NDArray[np.bool_]
    span: Ints
    width: Array
    layer_heights: Array
    layer_modulus: Array
    centroid: Array
    materials: tuple[tuple[Material, ...], ...]
    overlap: Array


@dataclass(frozen=True, eq=False)
class WebElements:
    """One row an element of the blocks "webs" and "web plates".

    `thickness` and `clear` (clear height between the caps) in m, `grain` from the span towards upright in
    rad, `lap` (n, 2) the height over which the web is glued to the upper and lower cap, `shear_factor` the
    ratio of the panel's effective shear modulus to the sheet's own (give of the lapped joints), `material`
    an index into `materials`.
    """

    spar: Ints
    face: tuple[str, ...]
    span: Ints
    thickness: Array
    clear: Array
    grain: Array
    lap: Array
    cap_width: Array
    shear_factor: Array
    material: Ints
    materials: tuple[Material, ...]
    glue: tuple[str, ...]
    brace: NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class PostElements:
    """One row an element of the block "posts".

    `with_rib` is the bending stiffness of the post and the width of rib that bends with it, over the
    post's own.
    """

    spar: Ints
    station: Ints
    thickness: Array
    width: Array
    length: Array
    materials: tuple[Material, ...]
    foot_flexibility: Array
    with_rib: Array


@dataclass(frozen=True, eq=False)
class SheetElements:
    """One row an element of the block "sheeting"."""

    sheet: Ints
    span: Ints
    thickness: Array


@dataclass(frozen=True, eq=False)
class FilmElements:
    """One row an element of the block "covering".

    `film` is an index into the wing's taut coverings, `strip` that of the line of the net ahead of it, `span`
    that of the mesh. `tension` (n, 3) is the pretension in the film's own axes, `laid` (n, 2) the same along
    the span and along the chord, N/m.
    """

    film: Ints
    strip: Ints
    span: Ints
    tension: Array
    laid: Array


@dataclass(frozen=True, eq=False)
class EdgeElements:
    """One row an element of the block "edges": sticks sanded to the outline.

    `width` along the chord (m), `area` (m2), section moduli against bending up and down and fore and aft
    (m3).
    """

    width: Array
    area: Array
    modulus_up: Array
    modulus_aft: Array

    def stress(self, forces: Array) -> tuple[Array, Array]:
        """Direct and bending stress of the farthest fibres, (n, n_points), Pa, tension positive, from
        N, V_y, V_z, T, M_y, M_z of the elements, (n, n_points, 6), N and N m; the sum of both
        bendings, taken positive (a fibre may not have both: cautious)."""
        bent = np.abs(forces[:, :, 4]) / self.modulus_up[:, None]
        bent += np.abs(forces[:, :, 5]) / self.modulus_aft[:, None]
        return forces[:, :, 0] / self.area[:, None], bent


@dataclass(frozen=True, eq=False)
class Chordline:
    """Nodes of the ribs and sheeting along one line from centre to tip: (n_stations,) node numbers, -1 for
    none."""

    x: Array
    upper: Ints
    lower: Ints


@dataclass(frozen=True, eq=False)
class Model:
    """A wing as a structure.

    Parameters
    ----------
    wing : Wing
        What was built.
    structure : Structure
        With its supports; a flying wing's are those of symmetry alone.
    parts : tuple of Part
        What the blocks' part numbers mean.
    y : (n_stations,) float array
        Span stations of the mesh, m, port negative.
    bay : (n_stations - 1,) int array
        Bay number of each span between two stations.
    cap_nodes : (n_spars, 2, n_stations) int array
        Nodes of upper (0) and lower (1) caps, -1 where there is none.
    depth : (n_spars, n_stations) float array
        Distance between the caps' axes, m.
    caps, webs, posts, sheets
        Figures of the blocks.
    rib_station : (n_ribs,) int array
        Mesh station of every rib, port ribs included where they are modelled.
    chordlines : tuple of Chordline
        Nodes on which ribs' loads and masses may be put, from leading to trailing edge.
    half : bool
        The starboard half stands for both.
    structural_mass : dict of str to float
        Mass of each kind of part in the model, kg (of one half where `half`).
    edges : EdgeElements or None
        Figures of the block "edges".
    films : FilmElements or None
        Figures of the block "covering"; None of a bare wing.
    """

    wing: Wing
    structure: Structure
    parts: tuple[Part, ...]
    y: Array
    bay: Ints
    cap_nodes: Ints
    depth: Array
    caps: CapElements
    webs: WebElements
    posts: PostElements
    sheets: SheetElements
    rib_station: Ints
    chordlines: tuple[Chordline, ...]
    half: bool
    structural_mass: dict[str, float] = field(default_factory=dict)
    edges: EdgeElements | None = None
    films: FilmElements | None = None

    @cached_property
    def of_ribs(self) -> dict[int, tuple[Ints, Array, Array]]:
        """What loads know of the ribs at mesh stations: nodes, their x, and shares of the chord."""
        return {}

    @property
    def centre_caps(self) -> Ints:
        """Nodes of the caps at the centre, (n,)."""
        near = self.cap_nodes[:, :, int(np.argmin(np.abs(self.y)))].ravel()
        return near[near >= 0]

    def side(self, span: int) -> str:
        """Side of the span between two stations."""
        return "starboard" if self.y[span] + self.y[span + 1] > 0 else "port"


@dataclass
class Draft:
    """Nodes and parts as they are collected while a wing is being built."""

    points: list[Array] = field(default_factory=list)
    n_nodes: int = 0
    parts: dict[Part, int] = field(default_factory=dict)

    def add_nodes(self, xyz: Array) -> Ints:
        """New nodes at (n, 3) positions; their numbers."""
        xyz = np.atleast_2d(xyz)
        self.points.append(xyz)
        numbers = np.arange(self.n_nodes, self.n_nodes + len(xyz))
        self.n_nodes += len(xyz)
        return numbers

    def part(self, part: Part) -> int:
        """Number of a part, new or known."""
        return self.parts.setdefault(part, len(self.parts))

    def positions(self) -> Array:
        """All nodes so far, (n_nodes, 3)."""
        return np.concatenate(self.points)
