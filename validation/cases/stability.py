"""Columns, a deep strip that buckles sideways, a column on soft ground, a beam under thrust, plates in
compression, the open test spar, and a box whose sheeting bows.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from functools import partial

import numpy as np
import scipy.linalg

from fea.assembly import Assembly
from fea.buckling import linear_buckling
from fea.elements.beam import Beams
from fea.elements.membrane import Membranes
from fea.elements.plate import Plates
from fea.elements.spring import Springs
from fea.solve import factorise, pinned, statics
from fea.structure import Block, Loads, Structure, Supports
from models.analysis import Analysis, analyse
from models.section import rectangle_torsion
from models.strength.sheet_buckling import compression_flow, panel_limits
from models.strength.solved import Solved
from models.studies.bowed import Sheeting
from models.studies.buckling import buckle
from models.wing.parts import Wing
from models.wing.reading import read_text
from validation.case import Case, Result
from validation.cases.solids import shipped
from validation.meshes import along_y, beams, chain, grid, moduli, moved, rectangle, section
from validation.units import MM, MPA

GERE = "Timoshenko and Gere, Theory of Elastic Stability, from memory; evaluated here"
CUBIC = "cubic shapes between the nodes: error falls as h^4"
# A slender member that bends in the y-z plane alone.
YOUNG = 10_000 * MPA

ENDS = {
    "clamped and free": (2.0, "xyzXYZ", "xXYZ"),
    "pinned": (1.0, "xyzYZ", "xzYZ"),
    "clamped and pinned": (0.699155, "xyzXYZ", "xzYZ"),
    "clamped": (0.5, "xyzXYZ", "xzXYZ"),
}


def column(ends: str, n: int) -> float:
    """Buckling force of a column of n elements times L^2/EI."""
    inertia, length = 100 * MM**4, 0.6
    rigidity = YOUNG * inertia
    made = section(1e6 * rigidity / length**2, rigidity, rigidity, rigidity)
    _, first, last = ENDS[ends]
    last = last.replace("X", "") if ends == "clamped and free" else last
    supports = Supports.fixed([0], first) + Supports.fixed(np.arange(1, n), "xYZ") + Supports.fixed([n], last)
    structure = chain(along_y(np.linspace(0, length, n + 1)), made, supports)
    _, solution = moved(structure, [(n, (0, -1.0, 0))])
    factors, _ = linear_buckling(structure, solution)
    return float(factors[0]) * length**2 / rigidity


def euler() -> Iterator[Result]:
    """Four kinds of ends with four elements, with eight where the waves are too short; order of the error."""
    short = (
        "a half wave over two elements of cubics is 0.75 % stiff whatever the ends, which is what four "
        "elements of a clamped column have; eight meet it"
    )
    row = partial(Result, unit="", tolerance=1e-3, source=GERE, why=CUBIC, kind="mesh")
    for ends, (factor, _, _) in ENDS.items():
        exact = np.pi**2 / factor**2
        quantity = f"P L^2/EI, {ends}"
        missed = {"clamped and pinned": (0.2, 3e-3), "clamped": (0.75, 8e-3)}.get(ends)
        if missed is None:
            yield row(quantity, column(ends, 4), exact)
            continue
        why = f"asked for 0.1 % with four elements, missed by {missed[0]} %: {short}"
        four = row(quantity, column(ends, 4), exact, why=why, known_miss=missed[1])
        eight = row(f"{quantity}, eight elements", column(ends, 8), exact)
        yield four
        yield eight
    # K of the propped column is rounded; its root tan u = u is not needed for the order.
    errors = [column("clamped", n) / (4 * np.pi**2) - 1 for n in (4, 8, 16)]
    order = float(np.log2(errors[0] / errors[2]) / 2)
    theory = "order of a cubic in an eigenvalue is 4; within 0.1 of it"
    yield row("order of the error, 4 to 16 elements", order, 4.0, tolerance=2.5e-2, why=theory)


def deep_strip() -> Iterator[Result]:
    """Cantilever strip under a force at the centroid of its tip, sixteen elements."""
    young, shear, width, depth, length, n = 70_000 * MPA, 26_000 * MPA, 2 * MM, 40 * MM, 500 * MM, 16
    torsion = float(rectangle_torsion(width, depth, shear, shear))
    made = rectangle(young, shear, width, depth, torsion, shear=False)
    structure = chain(along_y(np.linspace(0, length, n + 1)), made, Supports.fixed([0]))
    _, solution = moved(structure, [(n, (0, 0, 1.0))])
    factors, _ = linear_buckling(structure, solution)
    sideways = young * depth * width**3 / 12
    exact = 4.0126 * np.sqrt(sideways * torsion) / length**2
    # The source's formula takes the strip as infinitely stiff in its own plane.
    why = "sixteen elements, linear twist; the formula leaves out the strip's bending before it buckles"
    yield Result("tip force at buckling", float(factors[0]), exact, "N", 5e-3, GERE, why, "mesh")


def on_soft_ground() -> Iterator[Result]:
    """Pinned column held up by springs at every node, as a cap by a soft web."""
    inertia, length, ground, n = 100 * MM**4, 600 * MM, 0.002 * MPA, 24
    rigidity = YOUNG * inertia
    made = section(1e6 * rigidity / length**2, rigidity, rigidity, rigidity)
    points = along_y(np.linspace(0, length, n + 1))
    pairs = np.stack([np.arange(n), np.arange(1, n + 1)], axis=1)
    inner = np.arange(1, n)
    still = np.arange(n + 1, 2 * n)
    rates = np.zeros((n - 1, 6))
    rates[:, 2] = ground * length / n
    blocks: dict[str, Block] = {
        "column": beams(pairs, [made] * n, np.array([0, 0, 1.0])),
        "ground": Springs(np.stack([still, inner], axis=1), rates, np.broadcast_to(np.eye(3), (n - 1, 3, 3))),
    }
    supports = Supports.fixed([0], "xyzYZ") + Supports.fixed([n], "xzYZ") + Supports.fixed(inner, "xYZ")
    structure = Structure(np.concatenate([points, points[inner]]), blocks, supports + Supports.fixed(still))
    _, solution = moved(structure, [(n, (0, -1.0, 0))])
    factors, _ = linear_buckling(structure, solution, 2)
    source = f"(pi^2 EI/L^2)[m^2 + k L^4/(m^2 pi^4 EI)]: {GERE}"
    euler_force = np.pi**2 * rigidity / length**2
    for m, found in zip((1, 2), factors):
        exact = euler_force * (m**2 + ground * length**4 / (m**2 * np.pi**4 * rigidity))
        why = "ground as springs at the nodes, exact for these shapes; column of cubics"
        yield Result(f"force of {m} half wave(s)", float(found), exact, "N", 2e-3, source, why, "mesh")


def under_thrust() -> Iterator[Result]:
    """Simply supported beam under a centre force and half of Euler's thrust: stiffness with its stress."""
    inertia, length, n = 10 * 20**3 / 12 * MM**4, 600 * MM, 8
    rigidity = YOUNG * inertia
    made = section(1e6 * rigidity / length**2, rigidity, rigidity, rigidity)
    inner = Supports.fixed(np.arange(1, n), "xYZ")
    supports = Supports.fixed([0], "xyzYZ") + inner + Supports.fixed([n], "xzYZ")
    structure = chain(along_y(np.linspace(0, length, n + 1)), made, supports)
    thrust = np.pi**2 * rigidity / length**2 / 2
    _, pressed = moved(structure, [(n, (0, -thrust, 0))])
    assembly = Assembly(structure)
    stressed = assembly.stiffness() + assembly.geometric_stiffness(pressed.recover(0))
    centre = Loads.forces(structure, [(n // 2, (0, 0, 10.0))])
    plain = float(statics(assembly, centre).displacements[n // 2, 2, 0])
    bent = float(statics(factorise(assembly, stiffness=stressed), centre).displacements[n // 2, 2, 0])
    u = length / 2 * np.sqrt(thrust / rigidity)
    exact = 3 * (np.tan(u) - u) / u**3
    source = f"3(tan u - u)/u^3: {GERE}"
    row = partial(Result, tolerance=1e-3, source=source, why=CUBIC, kind="mesh")
    yield row("factor on the deflection", bent / plain, exact, "")
    yield row("deflection under thrust", bent / MM, 1.340744, "mm")


LEKHNITSKII = (
    "(pi^2/(t b^2)) min over m of [D1 (m b/a)^2 + 2 D3 + D2 (a/(m b))^2]: Lekhnitskii, Anisotropic Plates, "
    "from memory"
)
FLAT_SAWN = (3250 * MPA, 0.015 * 3250 * MPA, 0.037 * 3250 * MPA, 0.488)
"""Balsa of 160 kg/m3, ratios of the Wood Handbook, tables 5-1 and 5-2 (from memory): E_L, E_T, "
"G_LT, Pa; nu."""


def plate_in_compression(
    sheet: tuple[float, float, float, float], across: bool, ratio: float, mesh: tuple[int, int]
) -> float:
    """Buckling stress, Pa, of a simply supported sheet of 1.5 x 100 mm pressed along its length.

    Parameters
    ----------
    sheet : tuple of float
        E_1, E_2, G_12, Pa, and nu_12.
    across : bool
        Grain across the compression.
    ratio : float
        Length over width.
    mesh : (int, int)
        Elements along and across.
    """
    width, t = 100 * MM, 1.5 * MM
    n, k = mesh
    s, w = np.linspace(0, ratio * width, n + 1), np.linspace(0, width, k + 1)
    x, y = (v.ravel() for v in np.meshgrid(s, w, indexing="ij"))
    quads = grid(n, k)
    grain = np.tile([0.0, 1.0, 0.0] if across else [1.0, 0.0, 0.0], (len(quads), 1))
    of_sheet = (quads, np.full(len(quads), t), moduli(sheet, len(quads)), grain)
    rim = np.flatnonzero((x == 0) | (x == x.max()) | (y == 0) | (y == y.max()))
    held = Supports.fixed(rim, "z") + Supports.fixed([0], "xy") + Supports.fixed([k], "x")
    structure = Structure(
        np.column_stack([x, y, 0 * x]), {"sheet": Membranes(*of_sheet), "plate": Plates(*of_sheet)}, held
    )
    nodal = np.zeros((len(x), 6, 1))
    for end, sign in ((0.0, 1.0), (x.max(), -1.0)):
        row = np.flatnonzero(x == end)
        nodal[row, 0, 0] = sign * t * width / k
        nodal[row[[0, -1]], 0, 0] /= 2
    factors, _ = linear_buckling(structure, statics(structure, Loads(nodal)))
    return float(factors[0])


def formula_in_compression(sheet: tuple[float, float, float, float], across: bool, ratio: float) -> float:
    """The same by `models.strength.sheet_buckling.compression_flow`, Pa."""
    e_1, e_2, g, nu = sheet
    t, width = 1.5 * MM, 100 * MM
    bend = t**3 / 12 / (1 - nu**2 * e_2 / e_1)
    d_1, d_2 = (e_2 * bend, e_1 * bend) if across else (e_1 * bend, e_2 * bend)
    d_3 = nu * e_2 * bend + 2 * g * t**3 / 12
    rigidity = np.array([[[d_1, d_3, 0.0], [d_3, d_2, 0.0], [0.0, 0.0, 0.0]]])
    return float(compression_flow(np.array([ratio * width]), np.array([width]), rigidity)[0] / t)


def plates() -> Iterator[Result]:
    """An isotropic square; grained sheets of three lengths and both grain directions; coefficients."""
    bryan = "4 pi^2 E/(12 (1 - nu^2)) (t/b)^2 of a square (Bryan 1891), from memory"
    e, nu = 3000 * MPA, 0.3
    same = (e, e, e / 2 / (1 + nu), nu)
    exact = 4 * np.pi**2 * e / 12 / (1 - nu**2) * 0.015**2
    why = "16 x 16 elements, four corners of a bilinear slope in the work of the stress: error falls as h^2"
    found = plate_in_compression(same, False, 1.0, (16, 16))
    row = partial(Result, unit="MPa", tolerance=1e-2, kind="mesh")
    yield row("isotropic square", found / MPA, exact / MPA, source=bryan, why=why)
    for across in (False, True):
        for ratio in (0.5, 1.0, 2.0):
            along = max(16, int(48 * ratio)) if across else 16
            mesh = (along, 16)
            which = "across" if across else "along"
            found = plate_in_compression(FLAT_SAWN, across, ratio, mesh)
            exact = formula_in_compression(FLAT_SAWN, across, ratio)
            why = f"{along} x 16 elements: eight and more to a half wave, as for the square"
            quantity = f"balsa, grain {which} the compression, length/width {ratio:g}"
            yield row(quantity, found / MPA, exact / MPA, source=LEKHNITSKII, why=why)
    printed = "coefficient of E_L (t/b)^2 of flat-sawn balsa, computed by the same formula elsewhere"
    for ratio, figure, digits in ((200.0, 0.336, 2e-3), (1.0, 0.97, 6e-3), (0.5, 3.4, 1.5e-2)):
        value = formula_in_compression(FLAT_SAWN, False, ratio) / FLAT_SAWN[0] / 0.015**2
        quantity = f"coefficient, length/width {ratio:g}"
        yield row(
            quantity,
            value,
            figure,
            unit="",
            tolerance=digits,
            source=printed,
            why="digits of the figure",
            kind="rounding",
        )


def open_spar() -> list[Result]:
    """The open test spar: sideways as a whole, and its pressed cap bowing up and down between posts."""
    analysis = analyse(shipped("spar-open"), per_bay=8)
    found = buckle(analysis, 6)
    whole = found.modes[0].factor
    bowed = next(m.factor for m in found.modes if m.way == "bows up and down")
    caps = analysis.model.structure.blocks["caps"]
    assert isinstance(caps, Beams)
    one = caps.sections
    depth, length = float(analysis.model.depth[0, 0]), analysis.wing.semispan
    sideways, torsion = 2 * float(one.bending_z[0]), 2 * float(one.torsion[0])
    flanges = flanged_cantilever(sideways, torsion, sideways * depth**2 / 4, length)
    source = (
        "E I_w phi(4) - G J phi(2) = M^2 phi/(E I_z) with two caps as flanges, Ritz with eight powers: "
        f"{GERE}"
    )
    why = (
        "a hand estimate, asked for 15 %: it lets both caps twist alike and leaves out how the posts' "
        "bending couples them, which stiffens: 6 % at eight elements a bay and at sixteen"
    )
    row = partial(Result, unit="N", tolerance=0.15, kind="theory")
    out = [row("sideways, tip force", whole, flanges, source=source, why=why)]
    why = (
        "a hand estimate, asked for 15 %: it holds the cap rigidly in place at every post and leaves out the "
        "bending that the spar's shear makes in it; the posts give: 10 % at eight elements a bay and at "
        "sixteen"
    )
    source = "column through six bays, slope-deflection, Engesser's shear: Timoshenko and Gere, from memory"
    column = continuous_column(analysis)
    quantity = "cap between posts, tip force"
    return [*out, row(quantity, bowed, column, source=source, why=why)]


def flanged_cantilever(sideways: float, torsion: float, warping: float, length: float) -> float:
    """Tip force, N, at which a cantilever of two flanges buckles sideways; N m2, N m2, N m4, m."""
    x, w = np.polynomial.legendre.leggauss(24)
    x, w = (x + 1) / 2, w / 2 * length
    power = np.arange(2, 10)[:, None]
    phi, first, second = x**power, power * x ** (power - 1), power * (power - 1) * x ** (power - 2)
    stiff = warping / length**4 * (second * w) @ second.T + torsion / length**2 * (first * w) @ first.T
    moment = length * (1 - x)
    turned = (phi * w * moment**2) @ phi.T / sideways
    return float(1 / np.sqrt(scipy.linalg.eigh(turned, stiff, eigvals_only=True)[-1]))


def continuous_column(analysis: Analysis) -> float:
    """Factor at which the pressed cap of the open spar buckles as a column on rigid posts, its "
    "root clamped."""
    model = analysis.model
    caps = model.structure.blocks["caps"]
    assert isinstance(caps, Beams)
    rigidity, shear = float(caps.sections.bending_y[0]), float(caps.sections.shear_z[0])
    up = model.caps.upper
    push = -analysis.recovered["caps"]["forces"][up][:, :, 0].mean(axis=1)
    bay = model.bay[model.caps.span[up]]
    forces = np.array([push[bay == b].mean() for b in np.unique(bay)])
    length = analysis.wing.semispan / len(forces)

    def least(factor: float) -> float:
        stiff = np.zeros((len(forces) + 1, len(forces) + 1))
        for i, force in enumerate(factor * forces):
            bends = rigidity * (1 - force / shear)
            u = length * np.sqrt(force / bends)
            below = 2 - 2 * np.cos(u) - u * np.sin(u)
            near, far = u * (np.sin(u) - u * np.cos(u)) / below, u * (u - np.sin(u)) / below
            stiff[i : i + 2, i : i + 2] += bends / length * np.array([[near, far], [far, near]])
        return float(np.linalg.eigvalsh(stiff[1:, 1:])[0])

    low = high = 10.0
    while least(high) > 0:
        low, high = high, 1.02 * high
    for _ in range(40):
        middle = (low + high) / 2
        low, high = (middle, high) if least(middle) > 0 else (low, middle)
    return low


BOWED_BOX = """
name = "A box whose sheeting bows"

[specimen]
length = "900 mm"
depth = "30 mm"

[ribs]
pitch = "60 mm"
thickness = "2 mm"
wood = "balsa medium"

[[spars]]
name = "front"
x = "0 mm"
caps = { width = "6 mm", height = "4 mm", wood = "spruce" }

[[spars.webs]]
bays = "all"
face = "both"
thickness = "1.5 mm"
wood = "birch ply"
grain = "upright"

[[spars]]
name = "rear"
x = "100 mm"
caps = { width = "6 mm", height = "4 mm", wood = "spruce" }

[[spars.webs]]
bays = "all"
face = "both"
thickness = "1.5 mm"
wood = "birch ply"
grain = "upright"

[[sheeting]]
thickness = "1 mm"
wood = "birch ply"
grain = "span"

[case]
tip_force = "1 N"
tip_spar = "SPAR"
"""
"""Its file, with the spar that is pushed up."""


def bowed_box() -> Iterator[Result]:
    """Half a newton up at the tip of each spar, times what lets the upper sheeting bow: what the tip goes up
    more than with all sheeting whole."""
    pushed = [analyse(box(end)) for end in ("front", "rear")]
    analysis = pushed[0]
    spar, sheet = analysis.wing.spars[0], analysis.wing.sheets[0].material
    moduli = sheet.E_L, spar.upper.layers[0].material.E_L, spar.webs[0].material.E_T
    assembly = analysis.solution.assembly
    loads = sum(one.solution.loads[:, :, 0] for one in pushed) / 2
    factor, at = pinned(assembly), Solved(analysis)
    whole = statics(factor, Loads(np.asarray(loads)[:, :, None])).displacements
    sheeting = Sheeting(at, factor, whole)
    bears = float(panel_limits(at).straight.min())
    why = (
        "plane sections, bay by bay; the model's sheeting lags behind its spars in shear, which keeps the "
        "first bays from bowing 4 % longer, and that is most of the growth at twice the load"
    )
    source = (
        "effective width b sqrt(s_cr/s): von Karman, Sechler and Donnell 1932, from memory; plane sections "
        "of caps, webs and what is left of the sheeting, evaluated here"
    )
    first = bears / bent_box(moduli, 1.0, bears)[1]
    for times in (2.0, 4.0, 8.0):
        force = times * first
        found = sheeting.settle(np.array([force])).moves - whole
        up = float(np.abs(found[:, 2, 0]).max()) * force
        by_hand = bent_box(moduli, force, bears)[0] - force * bent_box(moduli, 1.0, np.inf)[0]
        quantity = f"tip goes up more, at {times:g} times the load that bows the first bay"
        yield Result(
            quantity, up / MM, by_hand / MM, unit="mm", tolerance=0.05, kind="theory", source=source, why=why
        )


def box(end: str = "front") -> Wing:
    """The box, pushed up at the tip of one spar."""
    return read_text(BOWED_BOX.replace("SPAR", end), source="box")


def bent_box(moduli: tuple[float, float, float], force: float, bears: float) -> tuple[float, float]:
    """The box as a beam without shear under a tip force, N, its upper panels bowing at a stress, Pa.

    Parameters
    ----------
    moduli : tuple of float
        Of sheeting, caps and webs along the span, Pa.
    force, bears : float
        The force and the stress.

    Returns
    -------
    tuple of float
        Tip deflection, m, and mean stress of the upper sheeting of the first bay if it does not bow, Pa.
    """
    sheet, cap, web = moduli
    length, bays = 0.9, 15
    panel, over_spars = 91e-6, 18e-6  # m2: between the spars, and on caps and webs, of one surface
    out, pressed = 0.0, 0.0
    ends = np.linspace(0, length, bays + 1)
    for y0, y1 in itertools.pairwise(ends):
        left = 1.0
        for _ in range(200):
            # stiffness and height of each: sheeting above, below; caps; webs
            pieces = [
                (sheet * (panel * left + over_spars), 15.5e-3),
                (sheet * (panel + over_spars), -15.5e-3),
            ]
            pieces += [(cap * 48e-6, 13e-3), (cap * 48e-6, -13e-3), (web * 180e-6, 0.0)]
            stretch, height = np.array(pieces).T
            own = cap * 4 * 6e-3 * 4e-3**3 / 12 + web * 4 * 1.5e-3 * 30e-3**3 / 12
            middle = stretch @ height / stretch.sum()
            rigidity = own + stretch @ (height - middle) ** 2
            edge = sheet * force * (length - (y0 + y1) / 2) / rigidity * (15.5e-3 - middle)
            left = (left + 1 / np.sqrt(max(edge / bears, 1.0))) / 2
        pressed = max(pressed, edge)
        out += force / rigidity * ((length - y0) ** 3 - (length - y1) ** 3) / 3
    return float(out), float(pressed)


CASES = (
    Case("B13", "Euler columns", euler),
    Case("B14", "Sideways buckling of a deep cantilever strip", deep_strip),
    Case("B15", "Column on soft ground", on_soft_ground),
    Case("B17", "Beam under thrust", under_thrust),
    Case("B18", "Simply supported plates in compression", plates),
    Case("B19", "Buckling of the open test spar", open_spar),
    Case("B20", "A box in bending whose sheeting bows", bowed_box, box),
)
