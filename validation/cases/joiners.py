"""Halves on a joiner, and bolts: sockets, bearing of wood and net sections against published figures."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import numpy as np

from models.strength import fastening, joiner, rail_bolts
from models.strength.socket import bedded, mean_shear, straight
from models.wing.parts import Fastening, Joiner
from models.woods.dowel_bearing import dowel_bearing
from models.woods.wood import material
from validation.case import Case, Result, only

INCH, PSI = 0.0254, 6894.757
_HAND = "worked by hand [computed]"
_HETENYI = "Hetenyi, Beams on Elastic Foundation, 1946: long beam under an end moment [from memory]"


def _result(
    name: str,
    quantity: str,
    computed: float,
    published: float,
    unit: str,
    source: str,
    tolerance: float = 1e-9,
    why: str = "arithmetic alone",
) -> Result:
    return Result(quantity, computed, published, unit, tolerance, source, why, "rounding", name=name)


def _rod(form: str, width: float, height: float, wall: float = 0.0) -> Joiner:
    """A joiner with a section, m, and nothing else that matters."""
    wood: Any = None
    return Joiner("", form, 0.0, 0.1, 0.0, width, height, wall, wood, wood, False, "epoxy", False)


def _bending() -> Iterator[Result]:
    for what, one, published in (
        ("round bar of 1 in, in3", _rod("rod", INCH, INCH), 0.0982),
        ("tube of 1 in with a wall of 0.058 in, in3", _rod("tube", INCH, INCH, 0.058 * INCH), 0.0382),
        ("flat bar of 1/4 x 1 in, in3", _rod("blade", INCH / 4, INCH), 1 / 24),
    ):
        second, edge, _ = joiner.section(one)
        source = "pi d^3/32, pi (d^4 - d_i^4)/(32 d), b h^2/6: any strength book [from memory]"
        yield _result("joiner-bending", f"section modulus, {what}", second / edge / INCH**3, published, "in3",
                      source, 3e-3, "published to three figures")  # fmt: skip


def _shear() -> Iterator[Result]:
    for what, one, published in (
        ("round", _rod("rod", INCH, INCH), 4 / 3),
        ("thin tube", _rod("tube", INCH, INCH, INCH / 40), 2.0),
        ("flat bar", _rod("blade", INCH / 4, INCH), 1.5),
    ):
        source = "greatest over mean shear stress: Timoshenko, Strength of Materials [from memory]"
        peak = joiner.section(one)[2] * one.area
        yield _result("joiner-shear", f"peak of a {what}", peak, published, "", source)
    wave = (4e8 / (4 * 10.0)) ** 0.25
    place = np.linspace(0.0, 12 / wave, 4001)
    force = bedded(5.0, 0.0, place, 10.0, 4e8, np.inf)[1]
    published = 5.0 * wave * 0.6448
    yield _result("joiner-shear", "shear force of a slender rod, 0.6448 M lambda", float(force.max()),
                  published, "N", _HETENYI, 2e-4, "published to four figures")  # fmt: skip


def _bearing() -> Iterator[Result]:
    wood = replace(material("spruce"), density=560.0)  # G = 0.50
    source = "National Design Specification for Wood Construction, table 12.3.3, G = 0.50 [from memory]"
    for inches, across, published in (
        (0.5, False, 5600.0),
        (0.5, True, 3150.0),
        (0.75, True, 2600.0),
        (1.0, True, 2250.0),
        (0.2, True, 4650.0),
    ):
        found = dowel_bearing(wood, inches * INCH, across=across) / PSI
        way = "across" if across else "along"
        yield _result("joiner-bearing", f"dowel of {inches:g} in, load {way} the grain", found, published,
                      "psi", source, 50 / published, "rounded to 50 psi")  # fmt: skip


def _box() -> Iterator[Result]:
    place = np.linspace(0.0, 0.1, 4001)
    moment, force = bedded(10.0, 0.0, place, 25.0, 1e3, np.inf)
    yield _result("joiner-box-shear", "stiff rod in 100 mm, 10 N m: 3/2 M/b", float(force.max()), 150.0, "N",
                  _HAND, 1e-3, "sampled")  # fmt: skip
    yield _result("joiner-box-shear", "over 100 mm its mean is M/b", mean_shear(place, moment, 1.0), 100.0,
                  "N", _HAND)  # fmt: skip


def _glue() -> Iterator[Result]:
    rate = np.sqrt(3e4 / 8.0)
    place = np.linspace(0.0, 0.3, 4001)
    moment, _ = bedded(10.0, 10.0 * rate, place, 8.0, 1e14, 3e4)
    found = mean_shear(place, moment, 0.02)
    yield _result("joiner-box-glue", "rod locked to a spar soft in shear: moment over 20 mm falls as "
                  "exp(-s sqrt(GA/EI))", found, 10.0 * (1 - np.exp(-rate * 0.02)) / 0.02, "N",
                  "Volkersen's lap joint, in bending [from memory]; worked by hand", 1e-3,
                  "the bed is stiff, not rigid")  # fmt: skip


def _burst() -> Iterator[Result]:
    # A post in the ground pushed at its head: p = 4 H/L + 6 M/L^2 at the surface, seen from the post.
    mouth, end = straight(-12.0, 30.0, 0.1)
    source = "rigid pole in ground of even stiffness [from memory]; equilibrium [computed]"
    what = "30 N and 12 N m on 100 mm: 4 H/L + 6 M/L^2"
    yield _result("joiner-box-burst", what, mouth, 8400.0, "N/m", source)
    yield _result("joiner-box-burst", "and -(2 H/L + 6 M/L^2) at its foot", end, -7800.0, "N/m", source)


def _holes() -> Iterator[Result]:
    sizes = {
        "width": np.array([0.012]), "height": np.array([0.012]), "tension": np.array([60e6]),
        "compression": np.array([50e6]), "bending": np.array([100e6]),
    }  # fmt: skip
    # 2.88 N m at one end, none at the other; the hole of 4 mm half way: 1.44 N m on 8 x 12 mm.
    forces = np.zeros((1, 2, 3))
    forces[0, 0, 1] = 2.88
    half, hole = np.array([[0.5]]), np.array([[0.004]])
    found = float(rail_bolts.at_holes(forces, half, hole, sizes)[0])
    yield _result("rail-bending-at-bolt-hole", "1.44 N m on 8 x 12 mm at 100 MPa", found, 0.075, "", _HAND)


def _fastening() -> Iterator[Result]:
    ply, beech = material("birch ply"), material("beech")
    two = Fastening(2, 5e-3, 700.0, 0.2, 0.04, 10e-3, 3e-3, ply, 1, 6e-3, 0.0, beech, 3e-3, ply, 0, 0.0, 0.01)
    # 100 N at 60 mm behind the dowels, and a roll of 1 N m: bolts 200 mm behind take 30 N, 40 mm apart 25 N.
    bolt, dowel = fastening.shared(two, fastening.FasteningPull(100.0, -6.0, 1.0))
    yield _result("wing-bolt", "100 N, 60 of 200 mm behind the dowels, 1 N m roll", bolt, 40.0, "N", _HAND)
    yield _result("wing-dowel", "and on the dowel", dowel, 70.0, "N", _HAND)
    pressed, _ = fastening.shared(two, fastening.FasteningPull(100.0, 2.0, 0.0))
    yield _result("wing-bolt", "and none where it pitches up on its dowels", 1 + pressed, 1.0, "", _HAND)
    soft = replace(two, plate_material=replace(ply, shear=8e6), dowel_material=replace(beech, shear=12e6))
    _, plate, held = fastening.bears(soft)
    yield _result("wing-bolt-pulled-through", "10 mm wide on 3 mm at 8 MPa", plate, np.pi * 240, "N", _HAND)
    yield _result("wing-dowel", "6 mm at 12 MPa: 3/4 S A", held, 254.469, "N", _HAND, 1e-5, "six figures")
    bands = replace(two, bolts=0, bands=8, band_pull=12.0)
    yield _result("wing-off-its-seat", "8 bands of 12 N", fastening.bears(bands)[0], 96.0, "N", _HAND)


CASES: tuple[Case, ...] = (
    Case("joiner-bending", "Section of a joiner", _bending),
    Case("joiner-shear", "Shear force in a joiner", _shear),
    Case("joiner-bearing", "Wood round a dowel", _bearing),
    Case("joiner-box-shear", "A joiner's box sheared", _box),
    Case("joiner-box-glue", "The glue of a joiner's box", _glue),
    Case("joiner-box-burst", "A cap pushed off by a joiner", _burst),
    Case("rail-bending-at-bolt-hole", "A drilled rail bent", _holes),
    Case("wing-bolt", "Bolts that hold a wing", only(_fastening, "wing-bolt")),
    Case("wing-dowel", "Dowels that hold a wing", only(_fastening, "wing-dowel")),
    Case(
        "wing-bolt-pulled-through", "Bolts that are not pulled", only(_fastening, "wing-bolt-pulled-through")
    ),
    Case("wing-off-its-seat", "Rubber bands", only(_fastening, "wing-off-its-seat")),
)
