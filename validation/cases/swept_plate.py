"""A wooden wing swept by 45 degrees that was brought to flutter in a tunnel, as a plate in a lattice.

Root and tip chord, sweep, moduli and mass are those published for the weakened wing; the plate has the
depth of its airfoil at every place, wood throughout, the grain along the quarter chord. Air without
compressibility: at the Mach number of the test, 0.499, part of the miss is that.
"""

from __future__ import annotations

from functools import cache, partial

import numpy as np
from scipy.interpolate import RectBivariateSpline

from fea.aeroelastic import HarmonicAir, harmonic_flutter
from fea.arrays import Array
from fea.elements.membrane import Membranes, areas
from fea.elements.plate import Plates
from fea.structure import Structure, Supports
from fea.vibration import natural_modes
from models.loads.unsteady_lattice import Lattice
from validation.case import Case, Result
from validation.meshes import grid, moduli

SPAN, ROOT, TIP = 0.762, 0.5587, 0.3682
SWEEP = np.pi / 4
E_ALONG, E_ACROSS, SHEAR, POISSON = 3.151e9, 0.4162e9, 0.4392e9, 0.31
MASS, DENSITY = 1.866, 0.42777
MODES = (9.60, 38.17, 48.35, 91.54)
SPEED, FREQUENCY = 172.46, 20.39
_ROWS, _COLUMNS = 30, 45
"""Plates along the chord and the span."""
_X = (0, 1.25, 2.5, 5, 10, 15, 20, 25, 30, 35, 40, 45, 50, 55, 60, 65, 70, 75, 80, 85, 90, 95, 100)
_HALF = (
    0, 0.718, 0.981, 1.313, 1.824, 2.194, 2.474, 2.687, 2.842, 2.945, 2.996, 2.992,
    2.925, 2.793, 2.602, 2.364, 2.087, 1.775, 1.437, 1.083, 0.727, 0.370, 0.013,
)  # fmt: skip
"""Half depths of NACA 65A006 in percent of the chord (NACA TR 903, from memory); two thirds for 65A004."""
SOURCE = (
    "weakened wing 3 of Yates, AGARD R-765 and NASA TM-100492, in air at Mach 0.499; numbers looked up in "
    "public files that quote it"
)


def _chord(y: Array) -> Array:
    return ROOT + (TIP - ROOT) * y / SPAN


def _leading(y: Array) -> Array:
    return ROOT / 4 + y * np.tan(SWEEP) - _chord(y) / 4


@cache
def _plate() -> tuple[Array, Array, Array, Array]:
    """Lines along the chord (of it) and the span (m), frequencies (Hz), movements up of unit modal mass."""
    share, y = np.linspace(0, 1, _ROWS + 1), np.linspace(0, SPAN, _COLUMNS + 1)
    across, along = np.meshgrid(share, y)
    x = _leading(along) + across * _chord(along)
    nodes = np.stack([x, along, np.zeros_like(x)], axis=2).reshape(-1, 3)
    quads = grid(_COLUMNS, _ROWS)
    n = len(quads)
    # Mean of the depth and of its cube over each plate, from points within it.
    fine = (np.arange(_ROWS * 8) + 0.5) / (_ROWS * 8)
    half = np.interp(100 * fine, _X, _HALF) / 100
    depth = (4 / 3 * half).reshape(_ROWS, 8)
    mid = _chord((y[1:] + y[:-1]) / 2)
    mean = (mid[:, None] * depth.mean(axis=1)).ravel()
    stiff = (mid[:, None] * np.cbrt((depth**3).mean(axis=1))).ravel()
    wood = moduli((E_ALONG, E_ACROSS, SHEAR, POISSON), n)
    grain = np.tile([np.sin(SWEEP), np.cos(SWEEP), 0.0], (n, 1))
    volume = float((mean * areas(nodes[quads])).sum())
    sheet = Membranes(quads, mean, wood, grain, density=np.full(n, MASS / volume))
    held = Supports.fixed(np.arange(_ROWS + 1))
    structure = Structure(nodes, {"sheet": sheet, "bending": Plates(quads, stiff, wood, grain)}, held)
    hertz, forms = natural_modes(structure, 12)
    up = forms[:, 2].reshape(_COLUMNS + 1, _ROWS + 1, -1)
    bends = np.abs(up).max(axis=(0, 1)) > 1e-6
    return share, y, hertz[bends], up[..., bends]


@cache
def _air(rows: int, columns: int) -> HarmonicAir:
    share, y, hertz, up = _plate()
    edges = np.linspace(0, SPAN, columns + 1)
    lattice = Lattice(edges, _leading(edges), _chord(edges), rows)
    at, *lines = lattice.places
    local = [(x - _leading(at)) / _chord(at) for x in lines]
    forms = [RectBivariateSpline(y, share, up[..., k]) for k in range(len(hertz))]
    wide = np.broadcast_to(at, local[0].shape)
    moves = [np.stack([form.ev(wide, x) for form in forms], axis=2) for x in local]
    slope = np.stack([form.ev(wide, local[0], dy=1) for form in forms], axis=2) / _chord(at)[:, None]
    kappa = np.concatenate([[0.0], np.geomspace(0.05, 1.5, 12)]) / (ROOT / 2)
    force = [lattice.work(float(k), 1, 1j * k * moves[0] + slope, moves[1], moves[2]) for k in kappa]
    return HarmonicAir(kappa, np.array(force))


def _flutter(hertz: Array) -> tuple[float, float]:
    n = len(hertz)
    found = harmonic_flutter(np.eye(n), np.diag((2 * np.pi * hertz) ** 2), _air(10, 16), DENSITY)
    assert found is not None, "it flutters within the reduced frequencies tried"
    return found.speed, found.omega / (2 * np.pi)


def swept_wing() -> list[Result]:
    """Frequencies and flutter, computed and measured."""
    hertz = _plate()[2]
    ritz = (9.19, 38.57, 48.32, 93.1)
    why = "a plate of its airfoil's depth against a Ritz plate, whose sums end from above; depths from memory"
    row = partial(Result, source=SOURCE, kind="theory")
    out = [
        row(f"mode {k + 1} by another plate", float(hertz[k]), f, "Hz", 1e-2, why=why)
        for k, f in enumerate(ritz)
    ]
    why = "measured; the wood's moduli are published as fitted, the holes and foam in it as plain wood"
    out += [
        row(f"mode {k + 1}, measured", float(hertz[k]), f, "Hz", 5e-2, why=why) for k, f in enumerate(MODES)
    ]
    speed, often = _flutter(hertz)
    with_theirs = hertz.copy()
    with_theirs[:4] = MODES
    theirs, _ = _flutter(with_theirs)
    why = "another lattice with another plate, incompressible (computed); ours moves by 0.2 % from there on"
    out += [
        row("flutter speed by another lattice", speed, 187.0, "m/s", 2e-2, why=why),
        row("flutter by another lattice", often, 23.5, "Hz", 2e-2, why=why),
        row("the same, frequencies measured", theirs, 185.0, "m/s", 2e-2, why=why),
    ]
    why = "incompressible air at Mach 0.5, and the plate's moduli"
    return [
        *out,
        row("flutter speed, measured", speed, SPEED, "m/s", 0.1, why=why),
        row("flutter, measured", often, FREQUENCY, "Hz", None, why=why, kind="information"),
    ]


CASES = (Case("A14", "Flutter of a swept wooden wing in a tunnel", swept_wing),)
