"""Covering: a square frame with film, taut and wrinkled, and its modes of failure.

The frame is stiff and hinged at its corners, so that the film alone holds it against shear: line by line the
theory of the diagonal-tension field between stiff edges.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache, partial

import numpy as np

from fea.assembly import Assembly
from fea.elements.bar import Bars
from fea.elements.membrane import Membranes
from fea.elements.tension_field import factor_to
from fea.solve import factorise
from fea.structure import Block, Structure, Supports
from models.analysis import analyse, spar_motion
from models.covering import cover, field
from models.loads.hand_test import HandLoad
from models.strength import covering_edges, covering_ribs
from models.studies.hand_test import half, hold
from models.wing.airfoil import half_thickness
from models.wing.reading import read_text
from models.woods.films import stretch
from validation.case import Case, Result

SIDE, E, NU, THICKNESS, TAUT = 0.1, 4.5e9, 0.38, 25e-6, 100.0
WAGNER = (
    "tension field between stiff edges, slope E t/4: Wagner 1929, NACA TM 604 to 606 [names looked up, "
    "formula computed from Mohr's circle]"
)
STRIP = "p l^2/8 over h t^2/6, a simply supported strip [textbook]; pull by hand [computed]"
BEAM = "p b^2/12 at the supports of a beam that runs through [textbook]; pull by hand [computed]"


@cache
def sheared(flow: float) -> tuple[float, float, float]:
    """Shear angle, and the film's pull along and across, N/m, of the frame under a shear flow, N/m."""
    points = np.array([[0, 0, 0], [SIDE, 0, 0], [SIDE, SIDE, 0], [0, SIDE, 0.0]])
    film = stretch(E * THICKNESS, E * THICKNESS, NU)[None]
    sides = np.array([[0, 1], [1, 2], [2, 3], [3, 0]])
    blocks: dict[str, Block] = {
        "bars": Bars(sides, np.full(4, 1e9)),
        "covering": Membranes(np.array([[0, 1, 2, 3]]), np.ones(1), film, np.array([[1.0, 0, 0]])),
    }
    held = Supports.fixed([0, 1], "xyz") + Supports.fixed([2, 3], "yz")
    assembly = Assembly(Structure(points, blocks, held))
    loads = np.zeros((4, 6))
    loads[2:, 0] = flow * SIDE / 2
    found = field(assembly, factorise(assembly), np.array([[TAUT, TAUT, 0.0]]), loads)
    along, across, _ = found.forces[0]
    return float(found.moves[3, 0] / SIDE), float(along), float(across)


def frame() -> Iterator[Result]:
    """Where it goes slack, how it gives beyond, how it pulls at the frame."""
    shear = float(stretch(E * THICKNESS, E * THICKNESS, NU)[2, 2])
    rounding = "figures of the reference have four digits"

    def result(what: str, computed: float, published: float, unit: str, why: str = rounding) -> Result:
        return Result(what, computed, published, unit, 1e-3, WAGNER, why, "theory")

    yield result("G t", shear, 40.76e3, "N/m")
    yield result("shear at which it goes slack", TAUT / shear, 0.002453, "")
    start, change = np.array([[TAUT, TAUT, 0.0]]), np.array([[0.0, 0.0, 1.0]])
    yield result("shear flow at which it goes slack", float(factor_to(start, change)[0]), 100.0, "N/m")
    yield result("shear at 50 N/m", sheared(50.0)[0], 50.0 / 40.76e3, "")
    angle, along, across = sheared(171.6)
    yield result("shear at 171.6 N/m, wrinkled", angle, 0.005, "")
    yield result("pull along the edges", along, 171.6, "N/m")
    yield result("pull across them", across, 171.6, "N/m")
    slope = (400.0 - 171.6) / (sheared(400.0)[0] - angle)
    yield result("slope beyond, E t/4", slope, 28.13e3, "N/m")


def slack() -> Iterator[Result]:
    """Unequal tensions in pure shear, and pulled one way."""
    start = np.array([[120.0, 30.0, 0.0], [120.0, 30.0, 0.0]])
    change = np.array([[0.0, 0.0, 1.0], [-4.0, 0.0, 0.0]])
    found = factor_to(start, change)
    for what, computed, published in (
        ("tensions 120 and 30 N/m, shear flow", found[0], 60.0),
        ("tension 120 N/m let go by 4 at a time", found[1], 30.0),
    ):
        yield Result(what, computed, published, "", 1e-9, WAGNER, "a square root", "rounding")


def tearing() -> Iterator[Result]:
    """Shear on equal tension: the greater principal force is their sum."""
    found = factor_to(np.array([[100.0, 100.0, 0.0]]), np.array([[0.0, 0.0, 2.0]]), 5000.0)
    yield Result(
        "tension 100 N/m, shear 2 N/m at a time, torn at 5000 N/m",
        found[0],
        2450.0,
        "",
        1e-9,
        "Mohr's circle [textbook, computed]",
        "a square root",
        "rounding",
    )


WING = """
[planform]
stations = [{ y = "0 mm", chord = "200 mm", section = "NACA 0012" }, { y = "400 mm", chord = "200 mm" }]
[ribs]
count = 6
thickness = "2 mm"
[[spars]]
name = "main"
at = "30 %"
caps = { width = "6 mm", height = "4 mm" }
webs = [{ bays = "all", face = "both", thickness = "1.5 mm" }]
[leading_edge]
width = "8 mm"
height = "8 mm"
[trailing_edge]
width = "30 mm"
height = "3 mm"
[case]
load_factor = 4
mass = "0.8 kg"
[covering]
E = "4.5 GPa"
thickness = "0.025 mm"
nu = 0.38
mass_per_area = "45 g/m2"
pretension = ["80 N/m", "60 N/m"]
strength = "100 MPa"
"""


def _low() -> float:
    """Where the section of the wing is as high as its trailing edge's stick, 3 mm, m aft."""
    x = np.linspace(0.170, 0.200, 3001)
    return float(np.interp(-0.0015, -0.200 * half_thickness(x / 0.200, 0.12), x))


def edge() -> Iterator[Result]:
    """Pull on a straight wing's edges and what it bends them by at a rib."""
    found = cover(read_text(WING))
    assert found is not None
    analysis = found.taut
    pull = covering_edges.pull(analysis)
    edges = analysis.model.edges
    assert pull is not None
    assert edges is not None
    k = int(np.argmin(pull.stress))
    # From the outline where it is as high as the stick, 3 mm, to the line next to it: of five panels from the
    # rear web, at 64.5 mm, to the stick, at 170 mm, closer beside both by the cosine.
    line = 0.170 - (0.170 - 0.0645) * (1 - np.cos(np.pi / 5)) / 2
    ahead = _low() - line
    rise = 0.200 * float(half_thickness(np.array(line / 0.200), 0.12)) - 0.0015
    row = partial(Result, source=BEAM)
    yield row(
        "pull of both surfaces on the trailing edge, film 60 N/m",
        pull.inward[-1],
        120.0 * ahead / float(np.hypot(ahead, rise)),
        "N/m",
        2e-3,
        why="the section between the points of its table",
        kind="theory",
    )
    yield row(
        "bending at a rib, ribs 80 mm apart",
        pull.stress[k] * edges.modulus_aft[k] / pull.inward[k],
        0.08**2 / 12,
        "m2",
        1e-9,
        why="a quotient",
        kind="rounding",
    )


def rib() -> Iterator[Result]:
    """Sideways pull on the tip rib of a straight wing, film 80 N/m along the span, and its bending."""
    found = cover(read_text(WING))
    assert found is not None
    pull = covering_ribs.side_pull(found.taut)
    assert pull is not None
    aft = int(np.argmax(pull.length))
    # From the rear web, at 64.5 mm, to where the outline comes down on the trailing edge's stick.
    x = np.linspace(0.0645, _low(), 401)
    z = 0.200 * half_thickness(x / 0.200, 0.12)
    contour = np.hypot(np.diff(x), np.diff(z)).sum() / (x[-1] - x[0])
    row = partial(Result, tolerance=1e-9, source=STRIP, kind="rounding")
    yield row(
        "sideways pull of both surfaces behind the spar, film 80 N/m",
        pull.start[aft],
        160.0 * contour,
        "N/m",
        tolerance=2e-3,
        why="the section between the points of its table",
        kind="theory",
    )
    yield row(
        "ribs that are pulled to one side",
        len(set(pull.station.tolist())),
        1,
        "",
        why="the tip rib alone: at the centre the other half pulls back",
    )
    by_hand = float(pull.length[aft]) ** 2 / 8 / (float(pull.depth[aft]) * 0.002**2 / 6)
    yield row("bending stress by pull", float(pull.stress_per_pull()[aft]), by_hand, "1/m", why="a product")


TUBE = """
[planform]
stations = [{ y = "0 mm", chord = "200 mm", section = "NACA 0012" }, { y = "600 mm", chord = "200 mm" }]
[ribs]
count = 13
thickness = "3 mm"
wood = "birch ply"
[[spars]]
name = "main"
at = "30 %"
caps = { width = "3 mm", height = "2 mm", wood = "spruce" }
[leading_edge]
width = "8 mm"
height = "14 mm"
wood = "balsa light"
[trailing_edge]
width = "10 mm"
height = "4 mm"
wood = "balsa light"
[covering]
E = "4.5 GPa"
thickness = "0.025 mm"
nu = 0.38
mass_per_area = "45 g/m2"
pretension = "200 N/m"
"""


def tube() -> Iterator[Result]:
    """A straight wing without webs, closed by film alone, twisted by hand."""
    wing, load = read_text(TUBE), HandLoad("main", -1, couple=0.01)
    found = []
    for covered in (True, False):
        motion = spar_motion(hold(half(wing, covered=covered), [load]), 0, 0)
        inner, outer = np.interp([0.2, 0.4], motion.y, motion.twist)
        found.append(float(0.01 * 0.2 / (outer - inner)))
    x = (1 - np.cos(np.linspace(0, np.pi, 2001))) / 2
    z = half_thickness(x, 0.12)
    area = 2 * float(np.trapezoid(z, x)) * 0.2**2
    film = (x >= 0.04) & (x <= 0.95)
    length = 2 * float(np.hypot(np.diff(x[film]), np.diff(z[film])).sum()) * 0.2
    shear = E * THICKNESS / (2 + 2 * NU)
    yield Result(
        "G J between 200 and 400 mm of 600",
        found[0],
        4 * area**2 * shear / length,
        "N m2",
        0.1,
        "4 A^2 G t/p, Bredt 1896 [from memory]",
        f"the frame alone has {found[1]:.2f} N m2 by caps and sticks, which the formula leaves out",
        "theory",
    )


def bare_is_bare() -> Iterator[Result]:
    """The same wing with covering of mass alone: what `check` answers of the bare wing."""
    mass = WING.split("[covering]", 1)[0] + '[covering]\nmass_per_area = "45 g/m2"\n'
    one, two = (analyse(read_text(text)).solution.displacements for text in (WING, mass))
    yield Result(
        "movement of the bare wing, film in the file over mass alone",
        np.abs(one).max() / np.abs(two).max(),
        1.0,
        "",
        1e-12,
        "the same structure, computed both ways",
        "a bare wing knows nothing of film",
        "rounding",
    )


CASES: tuple[Case, ...] = (
    Case("covering-frame", "A hinged square frame with film", lambda: [*frame(), *bare_is_bare()]),
    Case("covering-tube", "A wing closed by film alone", tube),
    Case("covering-slack", "Film going slack", slack),
    Case("covering-tearing", "Film torn", tearing),
    Case("edge-under-covering", "An edge stick pulled in by film", edge),
    Case("rib-under-covering", "The tip rib pulled in by film", rib),
)
