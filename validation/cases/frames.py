"""Plane frames of beams: a portal, and the Vierendeel girder that spar caps and ribs make where there are no
webs."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import partial

import numpy as np

from fea.structure import Array, Structure, Supports
from validation.case import Case, Result
from validation.meshes import beams, moved, section
from validation.units import MM, MPA

E = 10_000 * MPA
CAP_WIDTH, CAP_DEPTH = 10 * MM, 6 * MM
INERTIA, AREA = CAP_WIDTH * CAP_DEPTH**3 / 12, CAP_WIDTH * CAP_DEPTH
BAY, APART, N_BAYS = 60 * MM, 24 * MM, 6
RIGID = 1e6


def _bar(inertia: float, area: float) -> tuple[float, ...]:
    """A slender member, as stiff sideways and in torsion as in the plane."""
    return section(E * area, E * inertia, E * inertia, E * inertia)


def _frame(
    points: Array, members: Sequence[tuple[int, int, tuple[float, ...]]], feet: Sequence[int]
) -> Structure:
    """Frame in the y-z plane with clamped feet."""
    pairs = [member[:2] for member in members]
    # The member's bending about local y is that in the plane if local z lies in it, square to the member.
    span = points[[b for _, b in pairs]] - points[[a for a, _ in pairs]]
    up = np.stack([0 * span[:, 0], -span[:, 2], span[:, 1]], axis=1)
    others = [node for node in range(len(points)) if node not in feet]
    supports = Supports.fixed(list(feet)) + Supports.fixed(others, "xYZ")
    return Structure(points, {"members": beams(pairs, [m[2] for m in members], up)}, supports)


def portal() -> Iterator[Result]:
    """Fixed feet, columns and beam of one length and one section, force along the beam."""
    height = 1.0
    member = _bar(INERTIA, 1e8 * INERTIA / height**2)
    points = np.array([[0, 0, 0], [0, 0, height], [0, height, height], [0, height, 0]], dtype=float)
    structure = _frame(points, [(0, 1, member), (1, 2, member), (2, 3, member)], [0, 3])
    force = E * INERTIA / height**3
    moves, _ = moved(structure, [(1, (0, force / 2, 0)), (2, (0, force / 2, 0))])
    yield Result(
        "sway over H h^3/EI",
        moves[1, 1] / height,
        5 / 84,
        "",
        1e-6,
        "Kleinlogel, Rahmenformeln: (3k+2)/12(6k+1) with k = 1, from memory",
        "members' axial stiffness is large, not infinite: E A h^2/E I = 1e8",
        "theory",
    )


def girder(*, rigid_posts: bool, axial: bool, n_bays: int = N_BAYS) -> Structure:
    """Cantilever of two caps and posts; node 2 s lower and 2 s + 1 upper cap at station s, clamped at station
    0."""
    points = np.zeros((2 * (n_bays + 1), 3))
    points[:, 1] = np.repeat(np.arange(n_bays + 1) * BAY, 2)
    points[1::2, 2] = APART
    cap = _bar(INERTIA, AREA if axial else RIGID * AREA)
    post = (
        _bar(RIGID * INERTIA, RIGID * AREA) if rigid_posts else _bar(INERTIA, AREA if axial else RIGID * AREA)
    )
    caps = [(2 * s + k, 2 * s + 2 + k, cap) for s in range(n_bays) for k in (0, 1)]
    posts = [(2 * s, 2 * s + 1, post) for s in range(1, n_bays + 1)]
    return _frame(points, [*caps, *posts], [0, 1])


def _tip(*, rigid_posts: bool, axial: bool) -> float:
    half: tuple[float, ...] = (0, 0, 0.5)
    moves, _ = moved(
        girder(rigid_posts=rigid_posts, axial=axial), [(2 * N_BAYS, half), (2 * N_BAYS + 1, half)]
    )
    return float(moves[-2:, 2].mean())


def vierendeel() -> list[Result]:
    """Six open bays under a unit force at the tip; then one bay between rigid neighbours."""
    program = "computed with an independent plane frame program"
    rule = "sway n V a^3/24EI of the caps between rigid posts; evaluated here"
    why = "the members are exact; rigid means a million times stiffer, the figure is printed to six digits"
    rows = [
        ("rigid posts, no axial give", True, False, 0.0300000, rule),
        ("rigid posts", True, True, 0.117552, program),
        ("posts like caps, no axial give", False, False, 0.0506900, program),
        ("posts like caps", False, True, 0.137411, program),
    ]
    row = partial(Result, tolerance=2e-6, kind="rounding")
    out = [
        row(
            f"tip deflection, {what}",
            _tip(rigid_posts=rigid, axial=axial) / MM,
            expected,
            "mm",
            tolerance=1e-5,
            source=source,
            why=why,
        )
        for what, rigid, axial, expected, source in rows
    ]
    structure = girder(rigid_posts=True, axial=False, n_bays=1)
    half: tuple[float, ...] = (0, 0, 50.0)
    moves, solution = moved(structure, [(2, half), (3, half)])
    moment = abs(float(solution.recover(0)["members"]["forces"][0, 0, 4]))
    stress = moment * CAP_DEPTH / 2 / INERTIA
    one = "V a^3/24EI, V a/4: one open bay between rigid neighbours; evaluated here"
    near = "rigid means a million times stiffer"
    return [
        *out,
        row("one open bay: sway", moves[2, 2] / MM, 0.5, "mm", source=one, why=near),
        row("one open bay: cap end moment", moment * 1e3, 1500.0, "N mm", source=one, why=near),
        row("one open bay: cap bending stress", stress / MPA, 25.0, "MPa", source=one, why=near),
    ]


CASES = (
    Case("B11", "Portal frame with clamped feet", portal),
    Case(
        "B12",
        "Vierendeel cantilever: caps and ribs without webs",
        vierendeel,
        partial(girder, rigid_posts=False, axial=True),
    ),
)
