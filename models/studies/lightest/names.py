"""Portions by name, and what the elements of each hang on: the one rule by which `portions` knows a portion's
state in a layout, and `cover` all its states at once."""

from __future__ import annotations

from typing import Any, NamedTuple

FRONT, REAR = 0, 1
"""Faces of a spar, as they are counted among those on which webs stand out: spar by spar, twice its number
and this."""


class Name(NamedTuple):
    """Which portion, by one of these kinds:

    - "spar": what a `spar` has in segment `at`;
    - "rib": what stands at rib `at`;
    - "joint": the glue of rails to a `spar` at rib `at`;
    - "skin": what lies on a `spar`'s line in segment `at`;
    - "field": what lies between `spar` and the spar `behind` it, and is fastened to the former or the latter;
    - "bay": masses between the ribs of segment `at`;
    - "rest": what fits none of these there.

    Spars go by number, -1 for none. Of skins and fields what lies next to the `inner` or the `outer` rib is
    apart.
    """

    kind: str
    at: int
    spar: int = -1
    behind: int = -1
    fastened: bool = False
    fastened_behind: bool = False
    inner: bool = False
    outer: bool = False

    @property
    def segment(self) -> int:
        """The segment that it belongs to; a rib goes with the bay inboard of it."""
        return max(self.at - 1, 0) if self.kind in ("rib", "joint") else self.at

    @property
    def begins(self) -> Name:
        """The portion in which the rows begin that it adds to."""
        return self._replace(inner=False, outer=False) if self.kind == "field" else self


State = tuple[Any, ...]
"""All that a portion's elements hang on, a value for each `Need`."""


class Need(NamedTuple):
    """One thing that a portion's elements hang on, by one of these kinds:

    - "spar": the webs of spar `which` in segment `at`, as choices of its cells;
    - "out": how far they stand out there, on face `which` (see `FRONT`), cell by cell;
    - "all": the webs of all spars in segment `at`;
    - "lap": how far webs stand out most at rib `at`, on face `which`.
    """

    kind: str
    at: int
    which: int = 0


def needs(name: Name, n_segments: int, n_spars: int) -> tuple[Need, ...]:
    """What a portion's elements hang on. In the order of its `State`."""
    kind, m = name.kind, name.at
    beside = [rib for rib, near in ((m, name.inner), (m + 1, name.outer)) if near]
    faces = range(2 * n_spars)
    if kind == "rib":
        return tuple(Need("lap", m, face) for face in faces)
    if kind == "joint":
        return tuple(Need("spar", at, name.spar) for at in (m - 1, m) if 0 <= at < n_segments)
    if kind == "bay":
        return (Need("all", m),)
    if kind == "rest":
        return (Need("all", m), *(Need("lap", rib, face) for rib in (m, m + 1) for face in faces))
    own = Need("spar", m, name.spar)
    if kind in ("spar", "skin"):
        laps = (Need("lap", rib, 2 * name.spar + face) for rib in beside for face in (FRONT, REAR))
        return (own, *laps)
    out: list[Need] = []
    # The rear face of the spar before the field, the front face of that behind it.
    for spar, face, fastened in (
        (name.spar, REAR, name.fastened),
        (name.behind, FRONT, name.fastened_behind),
    ):
        if spar >= 0:
            out.append(Need("spar", m, spar) if fastened else Need("out", m, 2 * spar + face))
            out += [Need("lap", rib, 2 * spar + face) for rib in beside]
    return tuple(out)
