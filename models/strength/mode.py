"""What a mode of failure is: one object, said whole in the file of the mode."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Protocol, TypeVar

import numpy as np
from numpy.typing import NDArray

from models.strength.finding import Array, Finding

if TYPE_CHECKING:
    from models.strength.solved import Solved

T = TypeVar("T")


@dataclass(frozen=True)
class Rule:
    """How the reserve of a mode follows strength, stiffness and size of the piece that fails.

    The model is recovered with the true stiffness and with nominal sizes and strengths, so that each rule
    says what is left to be put right. A factor f on the strength of an interaction's all terms multiplies its
    reserve. Where crushing of the bent spar takes part, which grows with the square of the load, that is
    cautious for weak pieces (the reserve falls less than f).

    `strength` names the strength whose scatter counts, "glue", or "" where none does. `size` and `stiffness`
    are powers. `column` says that the load at failure runs from crushing (which strength governs) to Euler's
    (which stiffness governs).
    """

    strength: str
    size: float = 0.0
    stiffness: float = 0.0
    column: bool = False


BUCKLES = Rule("", size=2, stiffness=1)
"""Rule of a plate that buckles under a stress."""


@dataclass(frozen=True)
class Share:
    """What share of a strength a proof test may use, and where that is from."""

    value: float
    source: str


_SOFTWOODS = ("spruce", "cedar", "redcedar", "pine", "fir", "hemlock", "larch", "cypress")
_HARD = Share(
    0.75,
    "proportional limit 75 % of crushing strength, hardwoods (balsa is one): ANC-18, 2.1000 [looked up]",
)
_SOFT = Share(0.80, "proportional limit 80 % of crushing strength, softwoods: ANC-18, 2.1001 [looked up]")
_THIRDS = "limit load is two thirds of the ultimate: 14 CFR 23.303 and 23.305 [from memory]"
_TORN = Share(2 / 3, f"bending and tension of wood: {_THIRDS}")
_SHEARED = Share(2 / 3, f"shear of wood and glue: {_THIRDS}")
_BUCKLED = Share(0.8, "0.8 of the buckling load: dents make it bow early (common practice, no source)")


def pressed(materials: tuple[str, ...]) -> Share:
    """Share of what is pressed, columns besides, whose curve ends in crushing: up to the proportional limit
    of the woods named.

    References
    ----------
    ANC-18, Design of Wood Aircraft Structures, 1951, 2.1000 and 2.1001 (looked up).
    """
    soft = materials and all(any(word in m.lower() for word in _SOFTWOODS) for m in materials)
    return _SOFT if soft else _HARD


def torn(_: tuple[str, ...]) -> Share:
    """Share of what is pulled or bent."""
    return _TORN


def sheared(_: tuple[str, ...]) -> Share:
    """Share of what is sheared or split, glue besides."""
    return _SHEARED


def buckled(_: tuple[str, ...]) -> Share:
    """Share of a plate that buckles."""
    return _BUCKLED


@dataclass(frozen=True)
class Remains:
    """What a part still carries after one kind of failure.

    Parameters
    ----------
    stiffness : float
        Share of its stiffness.
    strength : float
        Share of its strength up to its second failure, after which it is gone; 0: it is gone at once.
    words : str
        For the table.
    why : str
        Reason and source.
    ply : Remains or None
        What one of plywood carries, where that is something else.
    """

    stiffness: float
    strength: float
    words: str
    why: str
    ply: Remains | None = None


LOST = Remains(0.0, 0.0, "nothing", "wood breaks in tension and shear without a plateau [from memory]")


class Layouts(Protocol):
    """Many layouts of webs side by side, as `models.studies.lightest.judge` works them out from what is
    linear in the movements. The last axis of every figure counts the layouts.

    Parameters
    ----------
    table : mapping of str to mapping of str to (n, ...) array
        Constants of things by family.
    force, up, aft : (n_caps, 2, n_layouts) float array
        Axial force and moments of cap elements at their two points, N and N m.
    push : (n_cap_bays, n_layouts) float array
        Mean compression of the caps of a bay, N, not negative.
    shear, upright, crushing : (n_webs, n_layouts) float array
        Of web elements, Pa, as `web_stress` and `web_edges` have them.
    axis, inner, outer : (n_webs, 2, n_layouts) float array
        Strains of web elements, as in `web_edges`.
    panel_shear, panel_pressed, panel_crushing : (n_panels, n_layouts) float array
        Size of the mean shear of panels of webs, and pressures as in `web_column.panel_figures`, Pa.
    panel_positive : (n_panels, n_layouts) bool array
        Sign of that shear.
    """

    table: Any
    force: Array
    up: Array
    aft: Array
    push: Array
    shear: Array
    upright: Array
    crushing: Array
    axis: Array
    inner: Array
    outer: Array
    panel_shear: Array
    panel_pressed: Array
    panel_crushing: Array
    panel_positive: NDArray[np.bool_]

    def rows(self, family: str) -> Array:
        """Rows of all things of a family, (n, n_rows, n_layouts)."""

    def posts(self) -> tuple[Array, Array, Array]:
        """Axial force, moment in the spar's plane (0 but next to open bays) and pressing by curvature of
        posts, (n, n_layouts), N and N m."""

    def the(self, work: Callable[[Any], T]) -> T:
        """What a function makes of this, worked out once."""


@dataclass(frozen=True, kw_only=True)
class Many:
    """How a mode judges many layouts at once.

    Parameters
    ----------
    family : str
        Of the things that it judges: "caps", "cap bays", "webs", "panels", "posts", "rails", "ties",
        "rib panels", "sheeting strips".
    constants : callable
        Columns of the family's table that it adds, (n, ...), from a structure that nothing loads but a little
        compression in its caps.
    used : callable
        Share of the strength used, (n, n_layouts).
    """

    family: str
    constants: Callable[[Solved], dict[str, Array]]
    used: Callable[[Layouts], Array]


@dataclass(frozen=True, kw_only=True, eq=False)
class Mode:
    """A mode of failure. Nothing has a default: a mode that leaves something out does not load.

    Parameters
    ----------
    name : str
        By which it goes in tables and documents.
    words : str
        What the part does, after its name: "is crushed".
    source : str
        Of the rule: title, table or equation, and how far it was read.
    block : str
        Block of the structure that it is looked for in, and not without.
    find : callable
        Gives what is found in a solved structure; modes that are worked out together share one.
    ends_flight : bool
        Some or all of what it finds ends the flight; False: nothing does.
    reason : str
        Why what does not end the flight does not, or on what condition it counts; "" where all ends it.
    joins : tuple of Mode
        Modes that it joins: where one of them does nearly all of it alone, that one is named.
    scatter : Rule
        What its reserve is proportional to.
    proof : callable
        Names of the part's woods to the share of its strength that a proof test may use.
    remains : Remains
        What a part still carries after it.
    many : Many or None
        How it judges many layouts at once; None where it ends no flight, or is asked in a way of its own.
    """

    name: str
    words: str
    source: str
    block: str
    find: Callable[[Solved], list[Finding]]
    ends_flight: bool
    reason: str
    joins: tuple[Mode, ...]
    scatter: Rule
    proof: Callable[[tuple[str, ...]], Share]
    remains: Remains
    many: Many | None

    def __post_init__(self) -> None:
        for key in ("name", "words", "source", "block"):
            if not getattr(self, key):
                raise ValueError(f"a mode of failure without {key}: {self.name!r}")
        if not (self.ends_flight or self.reason):
            raise ValueError(f"{self.name} ends no flight and gives no reason")

    def found(
        self,
        there: NDArray[np.bool_] | NDArray[np.intp],
        reserve: Array,
        applied: Array,
        y: Array,
        *,
        allowable: Array | None = None,
        unit: str = "Pa",
        element: NDArray[np.intp] | None = None,
        spared: bool = False,
    ) -> Finding:
        """A finding of this mode.

        Parameters
        ----------
        there : (n,) bool array or (m,) int array
            Which of the rows that follow were found.
        reserve, applied, y : (n,) float array
            See `Finding`.
        allowable : (n,) float array or None
            None: what is applied times the reserve.
        unit : str
            Of what is applied.
        element : (n,) int array or None
            Elements of the block; None: a row each.
        spared : bool
            This one does not end the flight, though others of the mode do.
        """
        rows = np.flatnonzero(there) if there.dtype == bool else np.asarray(there, dtype=np.intp)
        return Finding(
            self.name,
            self.block,
            rows if element is None else element[rows],
            reserve[rows],
            applied[rows],
            applied[rows] * reserve[rows] if allowable is None else allowable[rows],
            unit,
            y[rows],
            self.source,
            self.reason if spared or not self.ends_flight else "",
        )
