"""Where a web or a sheet is glued along a cap: what the cap with its glued-on strips does in twist and in
shear.

A web laps the cap over its whole height, so that its shear flow enters the cap over that height and not at a
line; the lapped strip shears, and in rolling shear (across the grain) it shears a good deal. Twist of the
cap warps its section, which moves the edge of the panel along the span. Both follow from the antiplane
problem of Saint-Venant on the section cap + strips: minimise the shear energy of an axial warping field
under (a) unit rate of twist, (b) unit shear flow at the edge of a strip, balanced by an axial stress
gradient in proportion to the moduli. Solved here with polynomials of high order in every rectangle of one
material, for many sections at once.

Sources: Saint-Venant's torsion and flexure problems, Timoshenko and Goodier, Theory of Elasticity, ch. 11
and 12 (from memory); no constant in here is fitted to anything.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from fea import dense
from fea.arrays import Array, Ints


@dataclass(frozen=True, eq=False)
class CapSections:
    """Sections made of rectangles: a grid of columns (fore to aft) and rows (from the web side outward to
    the skin).

    Parameters
    ----------
    widths : (n, n_columns) float array
        Of the columns, m. A column of zero width must be left out (a grid of another type).
    heights : (n, n_rows) float array
        Of the rows, m.
    shear_across, shear_up : (n, n_columns, n_rows) float array
        Shear moduli against slopes of the warping fore and aft, and up and down, Pa; zero where there is no
        material (in all sections alike).
    modulus : (n, n_columns, n_rows) float array
        Modulus along the span, Pa.
    centre : (n, 2) float array
        Beam axis (centroid of the cap), from the fore lower corner of the grid, m.
    """

    widths: Array
    heights: Array
    shear_across: Array
    shear_up: Array
    modulus: Array
    centre: Array


@dataclass(frozen=True, eq=False)
class CapResponse:
    """What `respond` finds.

    Parameters
    ----------
    torsion : (n,) float array
        G J of cap and strips together, N m2.
    torsion_above : (n,) float array
        The part of it above the rows set apart: the energy of the twisting field there, N m2.
    warping : (n, n_edges) float array
        Axial movement of each loaded edge per unit rate of twist, m2.
    give : (n, n_edges, n_edges) float array
        Axial movement of one loaded edge per unit shear flow at another, against the plane section, m2/N.
    """

    torsion: Array
    torsion_above: Array
    warping: Array
    give: Array


@lru_cache(maxsize=32)
def _cell(across: int, up: int) -> tuple[Array, Array, Array]:
    """Of a rectangle with these degrees, on [0, 1] both ways: its energies of slopes across and up, and the
    integrals of its polynomials."""
    ((mass_x, _), (_, stiff_x)), ((mass_z, _), (_, stiff_z)) = _two_lines(across, across), _two_lines(up, up)
    pairs = ((stiff_x, mass_z), (mass_x, stiff_z), (_moments(across)[0, 0], _moments(up)[0, 0]))
    one, two, three = (np.asarray(np.kron(a, b), dtype=np.float64) for a, b in pairs)
    return one, two, three


_KNOWN: dict[tuple[object, ...], tuple[Array, ...]] = {}
"""Answers of `respond` by grid and figures of a section: builds of a wing ask for the same ones."""
_MOST_KNOWN = 8192


def respond(
    sections: CapSections,
    edges: tuple[tuple[str, int, int], ...],
    degrees_across: tuple[int, ...],
    degrees_up: tuple[int, ...],
    apart: int = 0,
) -> CapResponse:
    """Torsion constant, and warping and give at the loaded edges, of many sections on one grid; what was
    answered is kept.

    Parameters
    ----------
    sections : CapSections
        All on one grid of columns and rows.
    edges : tuple of (side, column, row)
        Loaded edges: side "inner" (the edge of a column that looks to the web side), "fore" or "aft".
    degrees_across : tuple of int
        Polynomial degree of each column.
    degrees_up : tuple of int
        Polynomial degree of each row.
    apart : int
        How many rows from the web side are left out of `torsion_above`.

    Notes
    -----
    Twice the energy of the twisting field, int G_across (psi_x + z)^2 + G_up (psi_z - x)^2, is G J. It is a
    sum of squares, so that its share in any of the cells is positive whatever the others are (from the
    variational form of Saint-Venant's torsion, Timoshenko and Goodier, ch. 11, from memory).
    """
    figures = [getattr(sections, one.name) for one in fields(sections)]
    n = len(sections.widths)
    table = np.concatenate([value.reshape(n, -1) for value in figures], axis=1)
    grid = (sections.widths.shape[1], sections.heights.shape[1], edges, degrees_across, degrees_up, apart)
    keys = [(*grid, row.tobytes()) for row in table]
    fresh = {key: k for k, key in enumerate(keys) if key not in _KNOWN}
    if fresh:
        if len(_KNOWN) > _MOST_KNOWN:
            _KNOWN.clear()
            fresh = {key: k for k, key in enumerate(keys)}
        at = list(fresh.values())
        found = _respond(CapSections(*(v[at] for v in figures)), edges, degrees_across, degrees_up, apart)
        _KNOWN.update(zip(fresh, zip(found.torsion, found.torsion_above, found.warping, found.give)))
    return CapResponse(*(np.array(column) for column in zip(*(_KNOWN[key] for key in keys))))


class _Grid(NamedTuple):
    """Numbers of a field's freedoms on a grid of cells, and where each column and row of cells begins."""

    across: Ints
    up: Ints
    number: Ints

    def cell(self, column: int, row: int) -> Ints:
        """Of one cell, fore to aft and upward."""
        along = slice(self.across[column], self.across[column + 1] + 1)
        return self.number[along, self.up[row] : self.up[row + 1] + 1]


def _grid(degrees_across: tuple[int, ...], degrees_up: tuple[int, ...], first: int = 0) -> _Grid:
    across, up = (np.cumsum([0, *degrees]) for degrees in (degrees_across, degrees_up))
    shape = int(across[-1] + 1), int(up[-1] + 1)
    return _Grid(across, up, first + np.arange(shape[0] * shape[1]).reshape(shape))


def _edge_flows(
    n: int, size: int, grid: _Grid, edges: tuple[tuple[str, int, int], ...],
    degrees_across: tuple[int, ...], degrees_up: tuple[int, ...],
) -> Array:  # fmt: skip
    """Work of a unit shear flow on each edge, (n, size, n_edges)."""
    flows = np.zeros((n, size, len(edges)))
    for k, (side, c, r) in enumerate(edges):
        line = grid.cell(c, r)
        if side == "inner":
            flows[:, line[:, 0], k] = _moments(degrees_across[c])[0, 0]
        else:
            flows[:, line[0 if side == "fore" else -1], k] = _moments(degrees_up[r])[0, 0]
    return flows


def _twisting(cells: list[tuple[Ints, Array, Array, Array]], field: Array) -> Array:
    """Twice the energy of the twisting field (n, size) in some cells, (n,); of each its freedoms, stiffness,
    the work of the twist's own strains on it, and twice the energy of these."""
    total = np.zeros(len(field))
    for at, block, pull, own in cells:
        # Section by section in memory: else the order of the sums hangs on how many sections come at once.
        here = np.ascontiguousarray(field[:, at])
        total += own + 2 * np.einsum("ni,ni->n", here, pull)
        total += np.einsum("ni,ni->n", here, (block @ here[:, :, None])[:, :, 0])
    return total


def _respond(
    sections: CapSections,
    edges: tuple[tuple[str, int, int], ...],
    degrees_across: tuple[int, ...],
    degrees_up: tuple[int, ...],
    apart: int,
) -> CapResponse:
    n, n_columns = sections.widths.shape
    n_rows = sections.heights.shape[1]
    grid = _grid(degrees_across, degrees_up)
    size = grid.number.size
    stiff = np.zeros((n, size, size))
    twist = np.zeros((n, size))
    weight = np.zeros((n, size))
    stretch = np.zeros(n)
    polar = np.zeros(n)
    above: list[tuple[NDArray[np.intp], Array, Array, Array]] = []
    left = np.cumsum(sections.widths, axis=1) - sections.widths - sections.centre[:, :1]
    below = np.cumsum(sections.heights, axis=1) - sections.heights - sections.centre[:, 1:]
    for c in range(n_columns):
        px = degrees_across[c]
        (int_x, first_x), (slope_x, _) = _moments(px)
        for r in range(n_rows):
            pz = degrees_up[r]
            (int_z, first_z), (slope_z, _) = _moments(pz)
            energy_across, energy_up, mean = _cell(px, pz)
            at = grid.cell(c, r).ravel()
            a, b = sections.widths[:, c], sections.heights[:, r]
            across, up, young = (
                sections.shear_across[:, c, r],
                sections.shear_up[:, c, r],
                sections.modulus[:, c, r],
            )
            block = (across * b / a)[:, None, None] * energy_across
            block += (up * a / b)[:, None, None] * energy_up
            stiff[:, at[:, None], at[None, :]] += block
            mid_z = (below[:, r, None] * int_z + b[:, None] * first_z) * b[:, None]
            mid_x = (left[:, c, None] * int_x + a[:, None] * first_x) * a[:, None]
            pull = -across[:, None, None] * slope_x[None, :, None] * mid_z[:, None, :]
            pull += up[:, None, None] * mid_x[:, :, None] * slope_z[None, None, :]
            twist[:, at] += pull.reshape(n, -1)
            weight[:, at] += (young * a * b)[:, None] * mean
            stretch += young * a * b
            second_z = ((below[:, r] + b) ** 3 - below[:, r] ** 3) / 3
            second_x = ((left[:, c] + a) ** 3 - left[:, c] ** 3) / 3
            own_polar = across * a * second_z + up * b * second_x
            polar += own_polar
            if r >= apart > 0:
                above.append((at, block, -pull.reshape(n, -1), own_polar))
    flows = _edge_flows(n, size, grid, edges, degrees_across, degrees_up)
    right = np.concatenate([twist[:, :, None], flows - (weight / stretch[:, None])[:, :, None]], axis=2)
    # Freedoms without material (cut-out corners of the grid) are held; so is one freedom of the rest.
    dead = np.abs(np.diagonal(stiff, axis1=1, axis2=2)).max(axis=0) == 0
    alive = np.flatnonzero(~dead)
    keep = alive[1:]
    solved = np.zeros_like(right)
    solved[:, keep] = dense.solved(stiff[:, keep[:, None], keep[None, :]], right[:, keep])
    moved_whole = np.einsum("ni,nik->nk", weight, solved) / stretch[:, None]
    solved[:, alive] -= moved_whole[:, None]
    torsion = polar - np.einsum("ni,ni->n", solved[:, :, 0], twist)
    torsion_above = _twisting(above, solved[:, :, 0]) if apart else torsion
    moved = np.ascontiguousarray(flows.transpose(0, 2, 1)) @ solved
    warping, give = moved[:, :, 0], moved[:, :, 1:]
    return CapResponse(torsion, torsion_above, warping, give)


@dataclass(frozen=True, eq=False)
class StripResponse:
    """What `respond_coupled` finds.

    Parameters
    ----------
    cap : CapResponse
        As from `respond`; its torsion is that of strips free to stretch along the span.
    stretch : (n, n_strips) float array
        Force of a strip per unit strain along the span of the cap it is glued on, N.
    turn : (n, n_strips) float array
        Strain along the span that a strip wants per unit rate of twist, reversed: it pulls with `stretch`
        times (strain of the cap + `turn` x rate of twist), m.
    slip : (n, n_strips) float array
        Axial movement of the edge of a strip that looks to the web side per unit strain of the cap, m.
    """

    cap: CapResponse
    stretch: Array
    turn: Array
    slip: Array


_ROW = {("x", 0): 0, ("x", 1): 4, ("y", 0): 5, ("y", 1): 3, ("z", 0): 4, ("z", 1): 2}
"""Which strain (xx, yy, zz, yz, xz, xy) a movement's slope fore and aft (0) or up (1) makes."""


@lru_cache(maxsize=32)
def _two_lines(one: int, other: int) -> tuple[tuple[Array, Array], tuple[Array, Array]]:
    """int of polynomials of one degree (rows) and another on [0, 1]: [slope of one][slope of the other]."""
    x, w = np.polynomial.legendre.leggauss(max(one, other) + 1)
    x, w = (x + 1) / 2, w / 2
    (v, s), (v_other, s_other) = _at(one, x), _at(other, x)
    return (
        (v.T @ (w[:, None] * v_other), v.T @ (w[:, None] * s_other)),
        (s.T @ (w[:, None] * v_other), s.T @ (w[:, None] * s_other)),
    )


def _points(degree: int) -> Array:
    """Gauss-Lobatto points on [0, 1]."""
    inner = np.polynomial.legendre.Legendre.basis(degree).deriv().roots()
    return np.asarray((np.concatenate([[-1.0], np.sort(inner.real), [1.0]]) + 1) / 2)


def _at(degree: int, x: Array) -> tuple[Array, Array]:
    """Lagrange polynomials at Gauss-Lobatto points on [0, 1] and their slopes at x, (n_x, degree + 1)."""
    back = np.linalg.inv(np.vander(_points(degree), increasing=True))
    power = np.arange(degree + 1)
    slopes = np.where(power > 0, power * x[:, None] ** np.maximum(power - 1, 0), 0.0)
    return np.vander(x, degree + 1, increasing=True) @ back, slopes @ back


@lru_cache(maxsize=32)
def _moments(degree: int) -> Array:
    """int of the polynomials and of their slopes, by themselves and times x, on [0, 1]: (slope, power,
    degree + 1)."""
    x, w = np.polynomial.legendre.leggauss(degree + 1)
    x, w = (x + 1) / 2, w / 2
    values, slopes = _at(degree, x)
    # x is the polynomial that is each point's own place there.
    return np.stack([[w @ f, f.T @ (w[:, None] * values) @ _points(degree)] for f in (values, slopes)])


def respond_coupled(
    sections: CapSections,
    stiffness: Array,
    edges: tuple[tuple[str, int, int], ...],
    strips: tuple[tuple[int, int], ...],
    degrees_across: tuple[int, ...],
    degrees_up: tuple[int, ...],
    apart: int,
    plane_degrees: tuple[int, int] = (4, 6),
) -> StripResponse:
    """`respond` where a strip's grain lies between span and height, so that stretching shears it.

    Parameters
    ----------
    sections : CapSections
        All on one grid; `modulus` weighs the axial stress that balances a flow, as in `respond`.
    stiffness : (n, n_columns, n_rows, 6, 6) float array
        Of the material of each cell, strains xx, yy, zz, yz, xz, xy; zero where there is none, Pa. A cell may
        have the rows of yy, yz and xy alone: it then follows the section's plane without force.
    edges : tuple of (side, column, row)
        As for `respond`.
    strips : tuple of (int, int)
        Column of each strip, one or two, and which of the edges is its own.
    degrees_across, degrees_up, apart
        As for `respond`; `apart` at least 1: the stubs, which are held along the span.
    plane_degrees : (int, int), default (4, 6)
        Highest degrees, in strips' columns and in any other cells, of the movements in the section's plane.

    Notes
    -----
    The antiplane problem is exact only while shear along the span asks for nothing else. A sheet with its
    grain askew wants to stretch both along the span and upright as it shears; the cap, many times as stiff
    along the span, holds the first altogether, and its wood across the grain holds the second a good deal.
    So the section's movements in its plane are unknowns besides the warping: the energy per length

        1/2 int e' C e,  e = grad(a_x, a_y, a_z) + theta' (xy: z, yz: -x) + eps m(x) (yy)

    is made least over a for unit rate of twist theta', for unit strain eps of one strip (m linear fore and
    aft, 1 in the middle of the strip and 0 in that of the other; cap and strip stretch alike), and for unit
    shear flow on an edge, balanced as in `respond`. That is Saint-Venant's problem for an anisotropic section
    (Lekhnitskii, Theory of Elasticity of an Anisotropic Body, ch. 3; from memory) with the change of the
    stretch along the span left out. Energies of the section in theta', eps and the flow q of a strip's edge:

        1/2 J theta'^2 + B eps theta' + 1/2 (k + cap) eps^2 - 1/2 g q^2 - q (w theta' + h eps)

    `stretch` is k: what is there beyond the cap's own stretch without its strips. It is positive, as is
    J - B k^-1 B: no field of movements at a strain along the span has less energy than the cap's free pull,
    so that what is beyond it is a sum of squares. `turn` is B/k; with the strip's force k (eps + turn
    theta'), the torsion left for the beam is J - B k^-1 B. `slip` is h; the flow in return pulls the strip
    with -h q.
    """
    grid = stiffness.shape[1:3]
    degrees = degrees_across, degrees_up, plane_degrees
    tables = [getattr(sections, f.name).reshape(len(stiffness), -1) for f in fields(CapSections)]
    rows = np.concatenate([*tables, stiffness.reshape(len(stiffness), -1)], axis=1, dtype=np.float64)
    found = [_remembered(row.tobytes(), grid, edges, strips, degrees, apart) for row in rows]
    torsion, above, warping, give, stretch, turn, slip = (np.concatenate(v) for v in zip(*found))
    return StripResponse(CapResponse(torsion, above, warping, give), stretch, turn, slip)


@lru_cache(maxsize=4096)
def _remembered(
    figures: bytes,
    grid: tuple[int, int],
    edges: tuple[tuple[str, int, int], ...],
    strips: tuple[tuple[int, int], ...],
    degrees: tuple[tuple[int, ...], tuple[int, ...], tuple[int, int]],
    apart: int,
) -> tuple[Array, ...]:
    """`_coupled` of one section, kept: studies build the same sections over and over."""
    columns, rows = grid
    shapes: list[tuple[int, ...]] = [(columns,), (rows,), grid, grid, grid, (2,), (*grid, 6, 6)]
    ends = np.cumsum([int(np.prod(shape)) for shape in shapes])[:-1]
    cut = np.split(np.frombuffer(figures), ends)
    *tables, stiffness = [piece.reshape(1, *shape) for piece, shape in zip(cut, shapes)]
    return _coupled(CapSections(*tables), stiffness, edges, strips, degrees, apart)


def _coupled(
    sections: CapSections,
    stiffness: Array,
    edges: tuple[tuple[str, int, int], ...],
    strips: tuple[tuple[int, int], ...],
    degrees: tuple[tuple[int, ...], tuple[int, ...], tuple[int, int]],
    apart: int,
) -> tuple[Array, ...]:
    """`respond_coupled` of some sections: torsion, torsion above, warping, give, stretch, turn and slip."""
    degrees_across, degrees_up, plane_degrees = degrees
    widths, heights, modulus, centre = sections.widths, sections.heights, sections.modulus, sections.centre
    n, n_columns = widths.shape
    n_rows = heights.shape[1]
    of_strips = [column for column, _ in strips]
    columns = [plane_degrees[0] if c in of_strips else plane_degrees[1] for c in range(n_columns)]
    across = {"y": degrees_across, "x": tuple(np.minimum(columns, degrees_across).tolist())}
    up = {"y": degrees_up, "x": tuple(min(d, plane_degrees[1]) for d in degrees_up)}
    across["z"], up["z"] = across["x"], up["x"]
    at: dict[str, _Grid] = {}
    size = 0
    for f in "yxz":
        at[f] = _grid(across[f], up[f], size)
        size += at[f].number.size
    left = np.cumsum(widths, axis=1) - widths - centre[:, :1]
    below = np.cumsum(heights, axis=1) - heights - centre[:, 1:]
    modes = _strip_modes(left + widths / 2, of_strips)
    n_modes = len(strips)
    stiff, pulls = np.zeros((n, size, size)), np.zeros((n, size, 1 + n_modes))
    weight, stretched = np.zeros((n, size)), np.zeros(n)
    own = np.zeros((n, 1 + n_modes, 1 + n_modes))  # energies of the strains themselves: twist, then modes
    cells = []
    for c in range(n_columns):
        for r in range(n_rows):
            moduli = stiffness[:, c, r]
            if not moduli.any():
                continue
            a, b = widths[:, c], heights[:, r]
            where = {f: at[f].cell(c, r).ravel() for f in "yxz"}
            dof = np.concatenate([where[f] for f in "yxz"])
            held = r < apart  # a stub's own stretch is the panel's business
            block = _block(moduli, a, b, {f: (across[f][c], up[f][r]) for f in "yxz"})
            linear = _strains(modes, held)
            sizes = left[:, c], below[:, r], a, b
            pulled = [_pull(moduli, linear, f, *sizes, across[f][c], up[f][r]) for f in "yxz"]
            moved = np.concatenate(pulled, axis=1)
            energy = _given(moduli, linear, *sizes)
            if not held and (c not in of_strips or not moduli[:, 0, 0].any()):
                # The caps' own stretch, and that of sheeting on them, is carried elsewhere.
                base = np.zeros_like(moduli)
                base[:, 1, 1] = modulus[:, c, r]
                share = _given(base, linear, *sizes)
                energy[:, 1:, 1:] -= share[:, 1:, 1:]
            stiff[:, dof[:, None], dof[None, :]] += block
            pulls[:, dof] += moved
            own += energy
            if modulus[:, c, r].any():
                mean = np.kron(_moments(across["y"][c])[0, 0], _moments(up["y"][r])[0, 0])
                weight[:, where["y"]] += (modulus[:, c, r] * a * b)[:, None] * mean
                stretched += modulus[:, c, r] * a * b
            if not held:
                cells.append((dof, block, moved[:, :, 0], energy[:, 0, 0]))
    flows = _edge_flows(n, size, at["y"], edges, degrees_across, degrees_up)
    right = np.concatenate([-pulls, flows - (weight / stretched[:, None])[:, :, None]], axis=2)
    there = np.abs(np.diagonal(stiff, axis1=1, axis2=2)).max(axis=0) > 0
    still = np.flatnonzero(~there | _held(at, there))
    stiff[:, still], stiff[:, :, still], right[:, still] = 0.0, 0.0, 0.0
    stiff[:, still, still] = 1.0
    solved = dense.solved(stiff, right)
    of_y = np.flatnonzero(there[: at["y"].number.size])
    solved[:, of_y] -= (np.einsum("ni,nik->nk", weight, solved) / stretched[:, None])[:, None]
    whole = own + np.einsum("nij,nik->njk", pulls, solved[:, :, : 1 + n_modes])
    coupled, beyond = whole[:, 0, 1:], whole[:, 1:, 1:]
    freed = np.einsum("ni,ni->n", coupled, np.linalg.solve(beyond, coupled[:, :, None])[:, :, 0])
    above = _twisting(cells, solved[:, :, 0])
    edge_moves = np.einsum("nie,nik->nek", flows, solved)
    stretch = np.einsum("nkk->nk", beyond)
    turn = coupled / stretch
    own_edges = [edge for _, edge in strips]
    return (
        whole[:, 0, 0] - freed,
        above - freed,
        edge_moves[:, :, 0],
        edge_moves[:, :, 1 + n_modes :],
        stretch,
        turn,
        edge_moves[:, own_edges, [1 + k for k in range(n_modes)]],
    )


def _strains(modes: Array, held: bool) -> Array:
    """Strains given: of unit twist, then of each strip, which what is `held` does not follow; each a sum of a
    row of the stiffness and a polynomial p0 + px x + pz z, (n, 1 + n_strips, 6, 3)."""
    linear = np.zeros((len(modes), 1 + modes.shape[1], 6, 3))
    linear[:, 0, 3, 1], linear[:, 0, 5, 2] = -1.0, 1.0
    if not held:
        linear[:, 1:, 1, :2] = modes
    return linear


def _strip_modes(middle: Array, strips: list[int]) -> Array:
    """Strain fields linear fore and aft, one a strip: 1 at its middle, 0 at the other's, (n, n_strips, 2)."""
    out = np.zeros((len(middle), len(strips), 2))
    if len(strips) == 1:
        out[:, 0, 0] = 1.0
        return out
    one, two = middle[:, strips[0]], middle[:, strips[1]]
    for k, (here, other) in enumerate(((one, two), (two, one))):
        out[:, k, 0], out[:, k, 1] = -other / (here - other), 1 / (here - other)
    return out


def _held(at: dict[str, _Grid], there: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Freedoms that hold the section's rigid motion: one along the span, two and a turn in its plane."""
    out = np.zeros(len(there), dtype=bool)
    y, x, z = (at[f].number for f in "yxz")
    out[y.ravel()[np.argmax(there[y.ravel()])]] = True
    columns = there[x]
    column = int(np.argmax(columns.sum(axis=1)))
    rows = np.flatnonzero(columns[column])
    out[[x[column, rows[0]], z[column, rows[0]], x[column, rows[-1]]]] = True
    return out


def _block(moduli: Array, a: Array, b: Array, degrees: dict[str, tuple[int, int]]) -> Array:
    """Stiffness of one cell on its movements y, x, z, (n, m, m)."""
    rows = []
    for f in "yxz":
        row = []
        for g in "yxz":
            lines_x = _two_lines(degrees[f][0], degrees[g][0])
            lines_z = _two_lines(degrees[f][1], degrees[g][1])
            total: Array | None = None
            for d in (0, 1):
                for e in (0, 1):
                    factor = moduli[:, _ROW[f, d], _ROW[g, e]]
                    if not factor.any():
                        continue
                    size = (b / a) if d == e == 0 else (a / b) if d == e == 1 else np.ones_like(a)
                    shape = np.kron(lines_x[1 - d][1 - e], lines_z[d][e])
                    part = (factor * size)[:, None, None] * shape
                    total = part if total is None else total + part
            if total is None:
                height = (degrees[f][0] + 1) * (degrees[f][1] + 1)
                total = np.zeros((len(a), height, (degrees[g][0] + 1) * (degrees[g][1] + 1)))
            row.append(total)
        rows.append(np.concatenate(row, axis=2))
    return np.concatenate(rows, axis=1)


def _pull(
    moduli: Array, linear: Array, f: str, left: Array, below: Array, a: Array, b: Array, across: int, up: int
) -> Array:
    """Work of the stresses of given strains (n, n_fields, 6, [1, x, z]) on a cell's movements f, (n, m,
    n_fields)."""
    of_x, of_z = _moments(across), _moments(up)
    total = np.zeros((len(a), (across + 1) * (up + 1), linear.shape[1]))
    for d in (0, 1):
        stress = np.einsum("nj,nfjp->npf", moduli[:, _ROW[f, d]], linear)
        size_x, size_z = (np.ones_like(a), b) if d == 0 else (a, np.ones_like(b))
        plain_x, plain_z = of_x[1 - d, 0], of_z[d, 0]
        first_x = left[:, None] * plain_x + a[:, None] * of_x[1 - d, 1]
        first_z = below[:, None] * plain_z + b[:, None] * of_z[d, 1]
        size = (size_x * size_z)[:, None]
        shapes = (
            size * np.kron(plain_x, plain_z),
            (size[:, :, None] * first_x[:, :, None] * plain_z).reshape(len(a), -1),
            (size[:, :, None] * plain_x[None, :, None] * first_z[:, None, :]).reshape(len(a), -1),
        )
        for p, shape in enumerate(shapes):
            total += shape[:, :, None] * stress[:, p, None, :]
    return total


def _given(moduli: Array, linear: Array, left: Array, below: Array, a: Array, b: Array) -> Array:
    """Twice the energies of given strains over a cell, (n, n_fields, n_fields)."""
    x_0, x_1, z_0, z_1 = left, left + a, below, below + b
    means = np.zeros((len(a), 3, 3))  # int of the products of 1, x, z
    one, x, z = a * b, (x_1**2 - x_0**2) / 2 * b, (z_1**2 - z_0**2) / 2 * a
    means[:, 0, 0], means[:, 0, 1], means[:, 0, 2] = one, x, z
    means[:, 1, 0], means[:, 1, 1], means[:, 1, 2] = x, (x_1**3 - x_0**3) / 3 * b, x * z / one
    means[:, 2, 0], means[:, 2, 1], means[:, 2, 2] = z, x * z / one, (z_1**3 - z_0**3) / 3 * a
    stress = np.einsum("nij,nfjp->nfip", moduli, linear)
    weighed = np.einsum("npq,nfiq->nfip", means, stress)
    return np.einsum("ngip,nfip->ngf", linear, weighed)


def foot_rotation_flexibility(
    modulus_along: Array, modulus_up: Array, shear: Array, nu_along_up: Array, thickness: Array, width: Array
) -> Array:
    """Rotation of a thin rib's foot on a cap per unit moment: a rigid strip rocking on an orthotropic
    half-plane.

    Under a rigid strip of half-length a, pressed by a moment M a unit width, an elastic half-plane gives the
    rotation 4 M/(pi a^2 E*); for an orthotropic one with its axes along and square to the surface, 2/E* =
    sqrt(s11 s22) sqrt(2 sqrt(s22/s11) + (2 s12 + s66)/s11), s the compliances (1 along the surface). Plane
    stress: the cap is free fore and aft. The wood across the grain is so soft that the foot of an
    upright-grained post counts as rigid; a cap several times deeper than the foot is long counts as a
    half-plane.

    Parameters
    ----------
    modulus_along, modulus_up, shear, nu_along_up : (n,) float array
        Of the cap: E along the span, E up and down, G between them (Pa), Poisson's ratio.
    thickness : (n,) float array
        Of the rib along the span, 2 a, m.
    width : (n,) float array
        Of the foot fore and aft, m.

    Returns
    -------
    (n,) float array
        rad per N m.

    References
    ----------
    Muskhelishvili, Some Basic Problems of the Mathematical Theory of Elasticity, and Johnson, Contact
    Mechanics, ch. 2 (rigid tilted punch); Lekhnitskii, Theory of Elasticity of an Anisotropic Body
    (half-plane): all from memory.
    """
    s11, s22, s66, s12 = 1 / modulus_along, 1 / modulus_up, 1 / shear, -nu_along_up / modulus_along
    twice_over_contact = np.sqrt(s11 * s22) * np.sqrt(2 * np.sqrt(s22 / s11) + (2 * s12 + s66) / s11)
    contact = 2 / twice_over_contact
    half = thickness / 2
    return 4 / (np.pi * half**2 * contact * width)


_WAVES = np.exp(np.linspace(np.log(0.05), np.log(1e4), 700))
"""Wave numbers of the load along a stick, times its depth: at the least the give stands still, at the
greatest it is a half-plane's."""


@lru_cache(maxsize=64)
def _wave_give(modulus_along: float, modulus_aft: float, shear: float, nu: float) -> Array:
    """Movement of a stick's loaded face per pressure in waves along it, over its depth, less what the stick
    does as a beam, 1/Pa, at `_WAVES`.

    The stick is a strip in plane stress, loaded on one face and free on the other. Its stress function
    f(x) cos(k y) has four terms exp(+-r k x), a22 r^4 - (2 a12 + a66) r^2 + a11 = 0; for long waves its face
    moves by 12 a22/(k d)^4 (bending), and by (1.2 a66 + 2.4 a12)/(k d)^2 (shear, and the swelling of the
    bent stick), which beams have; the rest is positive at all waves for every wood of the list (a test holds
    it). Timoshenko and Goodier, Theory of Elasticity, solution in Fourier series, and Lekhnitskii's
    compliances: from memory; the terms for long waves computed from the same solution.
    """
    a11, a22, a12, a66 = 1 / modulus_aft, 1 / modulus_along, -nu / modulus_along, 1 / shear
    middle = 2 * a12 + a66
    root = np.sqrt(complex(middle**2 - 4 * a11 * a22))
    if abs(root) < 1e-3 * middle:  # twin roots, as of a metal: a hair apart
        root = complex(1e-3 * middle)
    r = np.sqrt(np.array([middle + root, middle - root]) / (2 * a22))
    rate = np.concatenate([r, -r])
    fade = np.exp(-_WAVES[:, None] * r)
    one = np.ones_like(fade)
    loaded, free = np.concatenate([one, fade], axis=1), np.concatenate([fade, one], axis=1)
    ends = np.stack([loaded, loaded * rate, free, free * rate], axis=1)
    pressed = np.zeros((len(_WAVES), 4, 1), dtype=complex)
    pressed[:, 0] = 1.0
    amount = np.linalg.solve(ends, pressed)[:, :, 0]
    whole = np.abs((amount * loaded * rate**3).sum(axis=1).real) * a22 / _WAVES
    return np.asarray(whole - 12 * a22 / _WAVES**4 - (1.2 * a66 + 2.4 * a12) / _WAVES**2)


def _rigid_strip(x: Array) -> Array:
    """Bessel's J0(x) squared for x above 0, its swings smoothed away between 8 and 32, where they matter no
    more and a coarse row of waves would not follow them.

    Polynomials 9.4.1 and 9.4.3 of Abramowitz and Stegun, Handbook of Mathematical Functions (from memory; a
    test holds them to 1e-7): no kink is left that slopes would feel.
    """
    near = np.polynomial.polynomial.polyval((np.minimum(x, 3.0) / 3) ** 2, _NEAR) ** 2
    inverse = 3 / np.maximum(x, 3.0)
    size = np.polynomial.polynomial.polyval(inverse, _FAR_SIZE) ** 2 * inverse / 3
    phase = 3 / inverse + np.polynomial.polynomial.polyval(inverse, _FAR_PHASE)
    done = np.clip(np.log(np.maximum(x, 8.0) / 8) / np.log(4), 0.0, 1.0)
    left = 1 - done**3 * (10 - 15 * done + 6 * done**2)
    return np.where(x < 3.0, near, size * (1 + left * np.cos(2 * phase)) / 2)


_NEAR = (1.0, -2.2499997, 1.2656208, -0.3163866, 0.0444479, -0.0039444, 0.0002100)
_FAR_SIZE = (0.79788456, -0.00000077, -0.00552740, -0.00009512, 0.00137237, -0.00072805, 0.00014476)
_FAR_PHASE = (-0.78539816, -0.04166397, -0.00003954, 0.00262573, -0.00054125, -0.00029333, 0.00013558)
"""Polynomials of J0 below 3, in (x/3)^2, and of its size times sqrt(x) and its phase less x above, in 3/x."""


def foot_press_flexibility(
    modulus_along: float, modulus_aft: float, shear: float, nu: float, thickness: float, depth: float
) -> float:
    """How far a rib's end, pressed along the chord against the side of a stick, goes into its wood.

    A rigid strip as long along the stick as the rib is thick presses on its side, as in
    `foot_rotation_flexibility`: along its grain a rib is several times stiffer than a stick across its own.
    Its pressure is that of a rigid strip on a half-plane, whose waves are Bessel's J0. What the stick does as
    a beam is left out. Positive by construction: a sum over waves, each positive.

    Parameters
    ----------
    modulus_along, modulus_aft, shear : float
        Of the stick: E along the span, E aft, G between them, Pa.
    nu : float
        Pulled along the stick, shrinks aft.
    thickness : float
        Of the rib along the span, m.
    depth : float
        Of the stick fore and aft, m.

    Returns
    -------
    float
        Movement of the foot per force a unit height, m2/N.

    References
    ----------
    As `_wave_give`; the rigid strip's pressure: Johnson, Contact Mechanics, ch. 2, from memory. Held by a
    test against plane finite elements of another library.
    """
    give = np.maximum(_wave_give(modulus_along, modulus_aft, shear, nu), 0.0)
    spread = _rigid_strip(_WAVES * thickness / (2 * depth))
    # Even steps of the waves' logarithm; below the first wave the give is that of the first, beyond the last
    # what it adds falls as one over the wave number.
    step = np.log(_WAVES[1] / _WAVES[0])
    weighed = give * spread * _WAVES
    inner = step * (weighed.sum() - (weighed[0] + weighed[-1]) / 2)
    return float((inner + weighed[0] + weighed[-1]) / np.pi)
