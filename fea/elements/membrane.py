"""Plane quadrilateral membranes with two incompatible bending modes (QM6): orthotropic, free of
in-plane-bending locking.

The bilinear element of Taylor, Beresford and Wilson (A non-conforming element for stress analysis,
International Journal for Numerical Methods in Engineering 10, 1976, 1211-1219; from memory): two internal
parabolas a direction, whose gradients are taken with the Jacobian of the centre so that constant strain is
passed exactly, condensed element by element. Stiffness is linear in the thickness.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import ClassVar

import numpy as np
from numpy.typing import NDArray

from fea.arrays import Array
from fea.elements.faults import DegenerateElement
from fea.offsets import Bow
from fea.portions import each_portion

_G = 1 / np.sqrt(3)
_XI = np.array([-_G, _G, _G, -_G])
_ETA = np.array([-_G, -_G, _G, _G])
_CORNER_XI = np.array([-1.0, 1.0, 1.0, -1.0])
_CORNER_ETA = np.array([-1.0, -1.0, 1.0, 1.0])
_TANGENTS = np.stack([_CORNER_XI, _CORNER_ETA, _CORNER_XI * _CORNER_ETA], axis=1) / 4
_CHUNK, _TURNED = 3000, 250
"""Elements worked on together, and written together: few enough for what they need to stay in the
processor's cache, enough to make little of the cost of a call."""


@dataclass(frozen=True, eq=False)
class Membranes:
    """A block of quadrilateral membranes.

    Parameters
    ----------
    nodes : (n_elements, 4) int array
        Node numbers, in order round the element.
    thickness : (n_elements,) float array
        m.
    constitutive : (n_elements, 3, 3) float array
        Plane-stress moduli along the material axes 1, 2 and 12, Pa.
    grain : (n_elements, 3) float array
        Direction of material axis 1; its part in the element's plane counts.
    offsets : (n_elements, 4, 3) float array or None
        Node to corner, m.
    drilling : (n_elements, 4) float array or None
        Weight with which each node's turning in the plane follows that of the membrane (see
        `drilling_stiffness`), as a fraction of the shear stiffness; None for none.
    density : (n_elements,) float array or None
        kg/m3.
    extra_links : (n_elements, 4, 3, 3) float array or None
        Movement of each corner per rotation of its node besides that of the rigid offset, m: how a member's
        warping moves a panel that is glued to it.
    bow : Bow or None
        How corners move with the bow of members that they hang beside; needs offsets.
    part : (n_elements,) int array or None
        Which part of the structure each belongs to.
    give : (n_elements, 4, n_modes) float array or None
        What a panel's ends give, against what they hang on, along the element (the mean of its edges from
        corner 1 to 2 and 4 to 3): g with g g' the movements of the corners per force over thickness, m2/N.
    strain_map : (n_elements, 3, 3) float array or None
        Strains of the sheet per strain of the element between its corners, along 1, 2 and 12: where what
        holds its edges moves them as it stretches. None for the same.
    slopes : bool
        Recover how the stress varies across the elements, too.
    """

    nodes: NDArray[np.intp]
    thickness: Array
    constitutive: Array
    grain: Array
    offsets: Array | None = None
    drilling: Array | None = None
    density: Array | None = None
    extra_links: Array | None = None
    bow: Bow | None = None
    part: NDArray[np.intp] | None = None
    give: Array | None = None
    strain_map: Array | None = None
    slopes: bool = False
    kind: ClassVar[str] = "membrane"

    @property
    def freedoms(self) -> int:
        """Freedoms of a corner: 3, or 6 where nodes' turning is tied to the membrane."""
        return 3 if self.drilling is None else 6

    @property
    def scale(self) -> Array:
        """Factor (thickness, m) on the unit stiffness, (n_elements,)."""
        return self.thickness

    @property
    def effective(self) -> Array:
        """Moduli of the element between its corners, (n_elements, 3, 3), Pa: M' C M with the strain map M."""
        if self.strain_map is None:
            return self.constitutive
        return np.asarray(np.swapaxes(self.strain_map, 1, 2) @ self.constitutive @ self.strain_map)

    def unit_stiffness(self, corners: Array) -> Array:
        """Stiffness per unit thickness."""
        plain = unit_stiffness(corners, self.effective, self.grain)
        for on, left, amount in self._giving(corners, plain):
            # What the panel takes and what its ends take, each a sum of squares.
            series = np.swapaxes(left, 1, 2) @ plain[on] @ left + np.swapaxes(amount, 1, 2) @ amount
            plain[on] = (series + np.swapaxes(series, 1, 2)) / 2
        if self.drilling is None:
            return plain
        n = len(corners)
        out = drilling_stiffness(corners, self.constitutive[:, 2, 2], self.drilling)
        view = out.reshape(n, 4, 6, 4, 6)
        view[:, :, :3, :, :3] += plain.reshape(n, 4, 3, 4, 3)
        return out

    def _giving(self, corners: Array, plain: Array) -> list[tuple[NDArray[np.intp], Array, Array]]:
        """Elements whose ends give, what is left of their corners' movements for the panel, (n, 12, 12), and
        the amounts of the modes that its ends give, (n, n_modes, 12); nothing where no end gives."""
        on = np.zeros(0, dtype=np.intp) if self.give is None else np.flatnonzero(self.give.any(axis=(1, 2)))
        if self.give is None or not len(on):
            return []
        at, give = corners[on], self.give[on]
        along = at[:, 1] - at[:, 0] + at[:, 2] - at[:, 3]
        along /= np.linalg.norm(along, axis=1, keepdims=True)
        modes = (give[:, :, None, :] * along[:, None, :, None]).reshape(len(on), 12, -1)
        pull = plain[on] @ modes
        own = np.swapaxes(modes, 1, 2) @ pull + np.eye(modes.shape[2])
        amount = np.asarray(np.linalg.solve(own, np.swapaxes(pull, 1, 2)), dtype=np.float64)
        return [(on, np.eye(12) - modes @ amount, amount)]

    def unit_pairs(self, corners: Array, out: Array) -> None:
        """`unit_stiffness` written pair by pair (see `unit_pairs` of the module); for membranes without
        drilling, and whose ends do not give."""
        unit_pairs(corners, self.effective, self.grain, out)

    def mass(self, corners: Array) -> Array:
        """Lumped mass on the corners' movements."""
        density = np.zeros(len(corners)) if self.density is None else self.density
        return lumped_mass(corners, self.thickness * density, self.freedoms)

    def mass_times(self, corners: Array, moves: Array) -> Array | None:
        """Mass times movements (n_elements, 4, freedoms, ...) of the corners; None where there is none."""
        if self.density is None or not self.density.any():
            return None
        share = corner_masses(corners, self.thickness * self.density)
        out = np.zeros_like(moves)
        out[:, :, :3] = share.reshape(*share.shape, *[1] * (moves.ndim - 2)) * moves[:, :, :3]
        return out

    def recover(self, corners: Array, displacements: Array) -> dict[str, Array]:
        """Mean stress in material axes: {"stress": (n_elements, 3, ...)}, Pa, order 1, 2, 12.

        With `slopes` also "slope": half of the stress at the middle of the edge from corner 2 to 3 less that
        from 1 to 4, so that the edges have the mean plus and minus it.
        """
        found = self.stressed(corners, 3 if self.slopes else 1)(displacements)
        if not self.slopes:
            return {"stress": found[:, 0]}
        return {"stress": found[:, 0], "slope": (found[:, 2] - found[:, 1]) / 2}

    def stressed(self, corners: Array, n_points: int = 1) -> Callable[[Array], Array]:
        """Stresses from movements (n_elements, 4, freedoms, ...) of the corners, at the middle alone or at
        those of the two edges too, for movements without number: (n_elements, n_points, 3, ...)."""
        points = np.array([[0.0, 0.0], [-1.0, 0.0], [1.0, 0.0]])[:n_points]
        plain = Stressed(corners, self.effective, self.grain, points)
        giving = []
        if self.give is not None:
            giving = self._giving(corners, unit_stiffness(corners, self.effective, self.grain))

        def found(displacements: Array) -> Array:
            moves = displacements[:, :, :3]
            if giving:
                moves = moves.copy()
            for on, left, _ in giving:
                moves[on] = (left @ moves[on].reshape(len(on), 12, -1)).reshape(moves[on].shape)
            stress = plain(moves)
            if self.strain_map is None:
                return stress
            # Those of the sheet: work is the same either way.
            turned = np.swapaxes(self.strain_map, 1, 2)[:, None]
            own = np.linalg.solve(turned, stress.reshape(*stress.shape[:3], -1))
            return np.asarray(own, dtype=np.float64).reshape(stress.shape)

        return found

    def geometric_stiffness(self, corners: Array, recovered: dict[str, Array]) -> Array:
        """Stiffness of the stressed membrane against normal movement."""
        plain = geometric_stiffness(corners, self.thickness[:, None] * recovered["stress"], self.grain)
        if self.drilling is None:
            return plain
        out = np.zeros((len(corners), 4, 6, 4, 6))
        out[:, :, :3, :, :3] = plain.reshape(-1, 4, 3, 4, 3)
        return out.reshape(-1, 24, 24)


def plane_stress(e_1: Array, e_2: Array, g_12: Array, nu_12: Array) -> Array:
    """Plane-stress moduli of an orthotropic sheet in its own axes.

    Parameters
    ----------
    e_1, e_2, g_12 : (...) float array
        Moduli, Pa.
    nu_12 : (...) float array
        Shrinkage along 2 per stretch along 1.

    Returns
    -------
    (..., 3, 3) float array
        Pa; stresses 1, 2, 12 from strains 1, 2 and engineering shear.

    References
    ----------
    Jones, Mechanics of Composite Materials, ch. 2 (from memory).
    """
    e_1, e_2, g_12, nu_12 = np.broadcast_arrays(
        *(np.asarray(v, dtype=float) for v in (e_1, e_2, g_12, nu_12))
    )
    factor = 1 / (1 - nu_12**2 * e_2 / e_1)
    out = np.zeros((*e_1.shape, 3, 3))
    out[..., 0, 0], out[..., 1, 1] = e_1 * factor, e_2 * factor
    out[..., 0, 1] = out[..., 1, 0] = nu_12 * e_2 * factor
    out[..., 2, 2] = g_12
    return out


def element_axes(corners: Array, grain: Array) -> Array:
    """Axes of plane elements with the first along the part of a direction (n_elements, 3) in their plane,
    (n_elements, 3, 3): rows grain, across, normal; the corners (n_elements, 4, 3) run round the normal
    right-handed.

    Raises
    ------
    DegenerateElement
        No area, or the grain is square to the element.
    """
    return np.ascontiguousarray(_axes(_last(corners), _last(grain)).transpose(2, 0, 1))


def _last(rows: Array) -> Array:
    """The same numbers with the elements last: so small matrices are several times as fast that way."""
    return np.ascontiguousarray(np.moveaxis(rows, 0, -1))


def _axes(corners: Array, grain: Array) -> Array:
    """`element_axes` with the elements last: (4, 3, n) and (3, n) to (3, 3, n)."""
    diagonal_1, diagonal_2 = corners[2] - corners[0], corners[3] - corners[1]
    normal = _cross(diagonal_1, diagonal_2)
    size = _length(normal)
    flat = size <= 1e-12 * (_length(diagonal_1) * _length(diagonal_2))
    if flat.any():
        raise DegenerateElement("quadrilateral", np.flatnonzero(flat))
    normal /= size
    out = np.empty((3, *normal.shape))
    out[0] = grain - (grain[0] * normal[0] + grain[1] * normal[1] + grain[2] * normal[2]) * normal
    length = _length(out[0])
    square_on = length <= 1e-9 * _length(grain)
    if square_on.any():
        raise DegenerateElement("quadrilateral with its grain square to it", np.flatnonzero(square_on))
    out[0] /= length
    out[1], out[2] = _cross(normal, out[0]), normal
    return out


def _cross(a: Array, b: Array) -> Array:
    """Cross product of (3, n) vectors."""
    out = np.empty(np.broadcast_shapes(a.shape, b.shape))
    for i, j, k in ((0, 1, 2), (1, 2, 0), (2, 0, 1)):
        np.multiply(a[j], b[k], out=out[i])
        out[i] -= a[k] * b[j]
    return out


def _length(v: Array) -> Array:
    """Length of (3, n) vectors."""
    return np.asarray(np.sqrt(v[0] * v[0] + v[1] * v[1] + v[2] * v[2]))


def in_plane(corners: Array, axes: Array) -> Array:
    """Coordinates in the element's own axes about the first corner, (n_elements, 4, 2)."""
    plane: Array = (corners - corners[:, :1]) @ axes[:, :2].transpose(0, 2, 1)
    return plane


def shape_gradients(plane: Array, points: Array) -> tuple[Array, Array]:
    """Shape gradients (n_elements, n_points, 2, 4) and Jacobian determinants (n_elements, n_points)."""
    xi, eta = points[:, 0, None], points[:, 1, None]
    local = np.stack(
        [_CORNER_XI * (1 + eta * _CORNER_ETA) / 4, _CORNER_ETA * (1 + xi * _CORNER_XI) / 4], axis=1
    )  # (n_points, 2, 4)
    jacobian = np.einsum("pdc,eci->epdi", local, plane)
    determinant = jacobian[..., 0, 0] * jacobian[..., 1, 1] - jacobian[..., 0, 1] * jacobian[..., 1, 0]
    if (determinant <= 0).any():
        raise DegenerateElement("quadrilateral", np.flatnonzero((determinant <= 0).any(axis=1)))
    inverse = np.empty_like(jacobian)
    inverse[..., 0, 0], inverse[..., 1, 1] = jacobian[..., 1, 1], jacobian[..., 0, 0]
    inverse[..., 0, 1], inverse[..., 1, 0] = -jacobian[..., 0, 1], -jacobian[..., 1, 0]
    inverse /= determinant[..., None, None]
    return inverse @ local, determinant


GAUSS_POINTS = np.stack([_XI, _ETA], axis=1)


@dataclass(frozen=True, eq=False)
class _Modes:
    """The five strains of a quadrilateral and their stiffness per unit thickness.

    With h = xi eta, the bilinear movement is its mean gradient and the part `pattern` of h (Flanagan and
    Belytschko, A uniform strain hexahedron and quadrilateral, 1981, from memory). Let a, b be the gradients
    of xi, eta at the centre and j the Jacobian, j0 there. Then grad h = (j0/j)(eta a + xi b), its integral
    vanishes, and the gradients of the internal parabolas are (j0/j) times -2 xi a and -2 eta b: constant
    strain and the rest do not mix, in any shape.
    """

    area: Array
    gradient: Array  # (2, 4, n), mean gradient of the corners' shapes
    pattern: Array  # (4, n), amount of h per corner movement
    centre: Array  # (2, 2, n), rows a and b
    jacobian: Array  # (3, n): j = j0 + xi j1 + eta j2
    along: Array  # (3, 2, 2, n), moduli against movement varying along a, along both, along b
    bending: Array  # (2, 2, n), stiffness against the two amounts of h
    factors: list[Array]  # of the parabolas' elimination, see `_condense`


def _modes(plane: Array, constitutive: Array) -> _Modes:
    """Bending stiffness by 2 x 2 points, the internal parabolas condensed in closed form; elements last:
    (4, 2, n) and (3, 3, n).
    """
    one, two, three, four = plane
    # Tangents d/dxi, d/deta and the coefficient of xi eta, of x and y: `_TANGENTS` written out.
    (x_xi, y_xi), (x_eta, y_eta), (x_h, y_h) = tangents = np.stack(
        [two - one + (three - four), three - two + (four - one), one - two + (three - four)]
    )
    tangents *= 0.25
    j0 = x_xi * y_eta - x_eta * y_xi
    j1, j2 = x_xi * y_h - x_h * y_xi, x_h * y_eta - x_eta * y_h
    at_points = j0 + _XI[:, None] * j1 + _ETA[:, None] * j2
    if (at_points <= 0).any():
        raise DegenerateElement("quadrilateral", np.flatnonzero((at_points <= 0).any(axis=0)))
    centre = np.stack([np.stack([y_eta, -x_eta]), np.stack([-y_xi, x_xi])]) / j0
    weights = j0**2 / 3 / at_points
    even, odd = weights.sum(axis=0), np.sign(_XI * _ETA) @ weights
    along = _directional(constitutive, *centre)
    bending, *factors = _condense(even, odd, along)
    # Shape gradients at the centre: (a xi_i + b eta_i)/4, opposite corners opposite.
    ahead, behind = (centre[0] + centre[1]) / 4, (centre[0] - centre[1]) / 4
    gradient = np.stack([-ahead, behind, ahead, -behind], axis=1)
    pattern = _TANGENTS[:, 2, None] - (x_h * gradient[0] + y_h * gradient[1])
    return _Modes(4 * j0, gradient, pattern, centre, np.stack([j0, j1, j2]), along, bending, factors)


def _directional(constitutive: Array, a: Array, b: Array) -> Array:
    """Stiffness of movement varying along a, a with b, and along b, (3, 2, 2, n)."""
    c = constitutive
    voigt = ((0, 2), (2, 1))

    # Stresses (1, 2, 12) of the two directions of movement; movement k along p strains as `voigt` says.
    stress = [[c[voigt[k][0]] * p[0] + c[voigt[k][1]] * p[1] for k in (0, 1)] for p in (a, b)]
    out = np.empty((3, 2, 2, c.shape[-1]))
    for at, left, q in ((0, stress[0], a), (1, stress[0], b), (2, stress[1], b)):
        for i in (0, 1):
            for j in (0, 1):
                out[at, i, j] = left[i][voigt[j][0]] * q[0] + left[i][voigt[j][1]] * q[1]
    return out


def _condense(even: Array, odd: Array, along: Array) -> tuple[Array, Array, Array]:
    """Stiffness against h with the parabolas free, (2, 2, n), and the factors that eliminate them; `even`,
    `odd` weigh xi^2 = eta^2 and xi eta.

    The four amounts of the parabolas (first along a, then along b) are eliminated one by one as L D L' of
    their own stiffness. Returned are also the rows of L' with D taken out, (4, 4, n), and what h puts into
    each amount as it is eliminated, (4, 2, n), over its pivot.
    """
    aa, ab, bb = along
    even_aa, even_bb, odd_ab = even * aa, even * bb, odd * ab
    # Each row: the stiffness of an amount with those after it, and with the two of h.
    left = np.empty((4, 6, len(even)))
    left[:2, :2], left[:2, 2:4], left[2:, 2:4] = even_aa, odd_ab, even_bb
    even_ab = even * ab
    np.add(odd * aa, even_ab, out=left[:2, 4:])
    np.add(odd * bb, even_ab.transpose(1, 0, 2), out=left[2:, 4:])
    np.negative(left[:, 4:], out=left[:, 4:])
    h = np.empty((2, 2, len(even)))
    np.add(odd_ab, odd_ab.transpose(1, 0, 2), out=h)
    h += even_aa
    h += even_bb
    over = np.empty_like(left)
    for k in range(4):
        np.divide(left[k, k + 1 :], left[k, k], out=over[k, k + 1 :])
        for i in range(k + 1, 4):
            left[i, i:] -= over[k, i] * left[k, i:]
        h -= over[k, 4:, None] * left[k, 4:]
    return h, over[:, :4], over[:, 4:]


def _internal(upper: Array, carried: Array) -> Array:
    """Amounts of the parabolas per amount of h, (4, 2, n), from what `_condense` gives."""
    out = -carried
    for k in (2, 1, 0):
        for i in range(k + 1, 4):
            out[k] -= upper[k, i] * out[i]
    return out


def unit_stiffness(corners: Array, constitutive: Array, grain: Array) -> Array:
    """Stiffness of quadrilateral membranes per unit thickness, in global axes.

    Parameters
    ----------
    corners : (n_elements, 4, 3) float array
        Corner positions in a plane, in order round the element, m.
    constitutive, grain
        As for `Membranes`.

    Returns
    -------
    (n_elements, 12, 12) float array
        N/m per m of thickness; unknowns u v w of each corner. Rank 5.

    Raises
    ------
    DegenerateElement
        No area, a corner turned inside out, or the grain square to the element.

    References
    ----------
    Taylor, Beresford and Wilson, A non-conforming element for stress analysis, 1976 (from memory).
    """
    n = len(corners)
    pairs = unit_pairs(corners, constitutive, grain, np.empty((n, 144)))
    return pairs.reshape(n, 4, 4, 3, 3).transpose(0, 1, 3, 2, 4).reshape(n, 12, 12)


def unit_pairs(corners: Array, constitutive: Array, grain: Array, out: Array) -> Array:
    """`unit_stiffness` written pair of corners by pair of corners.

    Parameters
    ----------
    corners, constitutive, grain
        As for `unit_stiffness`.
    out : (n_elements, 144) float array
        Where to write: for every pair of corners, the first the slower, its 3 x 3 square.

    Returns
    -------
    (n_elements, 144) float array
        `out`.
    """

    def work(cut: slice) -> None:
        points, moduli = _last(corners[cut]), _last(constitutive[cut])
        try:
            axes = _axes(points, _last(grain[cut]))
            modes = _modes(_in_axes(points, axes), moduli)
        except DegenerateElement as fault:
            raise DegenerateElement(fault.kind, fault.elements + cut.start) from None
        _in_space(modes, axes, out[cut])

    each_portion(work, len(corners), _CHUNK)
    return out


def _in_axes(corners: Array, axes: Array) -> Array:
    """Coordinates in the element's own axes about the first corner, elements last, (4, 2, n)."""
    return _onto((corners - corners[0])[:, None], axes[:2])


def _onto(vectors: Array, axes: Array) -> Array:
    """Components of vectors (..., 1, 3, n) along axes (m, 3, n)."""
    return np.asarray(
        vectors[..., 0, :] * axes[:, 0] + vectors[..., 1, :] * axes[:, 1] + vectors[..., 2, :] * axes[:, 2]
    )


def _in_space(modes: _Modes, axes: Array, out: Array) -> None:
    """Stiffness between corners and directions in space, written pair by pair into (n, 144).

    Shape gradients of opposite corners are opposite, (-p, q, p, -q) with p, q = (a + b)/4, (a - b)/4, so that
    three products of p and q serve all pairs of corners; to each comes pattern_i pattern_j (bending).
    """
    aa, ab, bb = modes.along * (modes.area / 16)
    ba = ab.transpose(1, 0, 2)
    sums, mixed = aa + bb, ab + ba
    flat = np.stack([sums + mixed, aa - bb - ab + ba, sums - mixed, modes.bending])
    one, two = axes[0], axes[1]
    half = flat[:, :, 0, None] * one
    half += flat[:, :, 1, None] * two
    turned = half[:, 0, None] * one[:, None]
    turned += half[:, 1, None] * two[:, None]
    pp, pq, qq, bending = turned
    of = ((pp, pq), (pq.transpose(1, 0, 2), qq))
    sign = (-1, 1, 1, -1)
    rows = np.empty((4, 4, 3, 3, len(out)))
    for i in range(4):
        row = rows[i]
        row[:i] = rows[:i, i].transpose(0, 2, 1, 3)
        np.multiply(bending, (modes.pattern[i] * modes.pattern[i:])[:, None, None], out=row[i:])
        for j in range(i, 4):
            (np.add if sign[i] == sign[j] else np.subtract)(row[j], of[i % 2][j % 2], out=row[j])
        _turn(row.reshape(36, -1), out[:, 36 * i : 36 * i + 36])


def _turn(columns: Array, out: Array) -> None:
    """Write columns as rows, few at a time so that what is read stays in the processor's cache."""
    for start in range(0, len(out), _TURNED):
        out[start : start + _TURNED] = columns[:, start : start + _TURNED].T


def _strain_rows(modes: _Modes, axes: Array) -> Array:
    """Mean strains 1, 2, 12 and the two amounts of h per movement u v w of each corner, (n_elements, 5,
    12); from modes and axes with the elements last."""
    local = np.zeros((axes.shape[-1], 5, 4, 2))
    (g_0, g_1), pattern = modes.gradient.transpose(0, 2, 1), modes.pattern.T
    local[:, 0, :, 0] = local[:, 2, :, 1] = g_0
    local[:, 1, :, 1] = local[:, 2, :, 0] = g_1
    local[:, 3, :, 0] = local[:, 4, :, 1] = pattern
    return (local.reshape(-1, 20, 2) @ axes[:2].transpose(2, 0, 1)).reshape(-1, 5, 12)


def stresses(corners: Array, displacements: Array, constitutive: Array, grain: Array, points: Array) -> Array:
    """Stresses in material axes at points of the reference square.

    Parameters
    ----------
    corners : (n_elements, 4, 3) float array
        Corner positions, m.
    displacements : (n_elements, 4, 3, ...) float array
        Corner movements, m.
    constitutive, grain
        As for `unit_stiffness`.
    points : (n_points, 2) float array
        Where, -1 to 1 in both directions; (0, 0) gives the mean of a parallelogram.

    Returns
    -------
    (n_elements, n_points, 3, ...) float array
        Pa; along the grain, across it, shear.
    """
    return Stressed(corners, constitutive, grain, points)(displacements)


class Stressed:
    """`stresses` of any movements, with all that does not hang on them worked out once."""

    def __init__(self, corners: Array, constitutive: Array, grain: Array, points: Array) -> None:
        at = _last(corners)
        axes = _axes(at, _last(grain))
        modes = _modes(_in_axes(at, axes), _last(constitutive))
        xi, eta = points.T
        j0, j1, j2 = modes.jacobian[:, :, None]
        # Turn of h and the parabolas into slopes along a and b (j0/j of the docstring of `_Modes`), then into
        # strains.
        self._ratio = (j0 / (j0 + xi * j1 + eta * j2))[:, :, None, None]
        self._rows = _strain_rows(modes, axes)
        self._internal = _internal(*modes.factors).transpose(2, 0, 1)
        self._xi, self._eta = xi[:, None, None], eta[:, None, None]
        self._sides = modes.centre.transpose(0, 2, 1)[:, :, None, :, None, None]
        self._constitutive = constitutive[:, None]

    def __call__(self, displacements: Array) -> Array:
        """Of corners' movements (n_elements, 4, 3, ...)."""
        n, trailing = len(displacements), displacements.shape[3:]
        amounts = self._rows @ displacements.reshape(n, 12, -1)
        h, parabola_1, parabola_2 = np.split(
            np.concatenate([amounts[:, 3:], self._internal @ amounts[:, 3:]], axis=1), 3, axis=1
        )
        ratio, xi, eta = self._ratio, self._xi, self._eta
        along_a = ratio * (eta * h[:, None] - xi * parabola_1[:, None])
        along_b = ratio * (xi * h[:, None] - eta * parabola_2[:, None])
        a, b = self._sides
        slope = a * along_a[:, :, None] + b * along_b[:, :, None]  # (n, points, derivative, component, cases)
        strain = np.stack(
            [slope[:, :, 0, 0], slope[:, :, 1, 1], slope[:, :, 0, 1] + slope[:, :, 1, 0]], axis=2
        )
        stress = self._constitutive @ (amounts[:, None, :3] + strain)
        return np.asarray(stress.reshape(n, stress.shape[1], 3, *trailing))


def areas(corners: Array) -> Array:
    """Areas of plane quadrilaterals, m2, from (n_elements, 4, 3) corner positions."""
    diagonals = np.cross(corners[:, 2] - corners[:, 0], corners[:, 3] - corners[:, 1])
    return np.linalg.norm(diagonals, axis=1) / 2


def corner_masses(corners: Array, mass_per_area: Array) -> Array:
    """Mass of plate-like quadrilaterals with corners (n_elements, 4, 3), m, from (n_elements,) kg/m2: a share
    at each corner in proportion to the area near it, (n_elements, 4), kg."""
    normal_axes = element_axes(corners, corners[:, 1] - corners[:, 0])
    _, determinant = shape_gradients(in_plane(corners, normal_axes), GAUSS_POINTS)
    xi, eta = GAUSS_POINTS[:, 0, None], GAUSS_POINTS[:, 1, None]
    shape = (1 + xi * _CORNER_XI) * (1 + eta * _CORNER_ETA) / 4
    share: Array = (determinant @ shape) * mass_per_area[:, None]
    return share


def lumped_mass(corners: Array, mass_per_area: Array, freedoms: int) -> Array:
    """`corner_masses` as diagonal element matrices, (n_elements, 4 freedoms, 4 freedoms), kg; of 6
    freedoms a corner the rotations get none."""
    share = corner_masses(corners, mass_per_area)
    out = np.zeros((len(corners), 4, freedoms, 4, freedoms))
    for c in range(4):
        for k in range(3):
            out[:, c, k, c, k] = share[:, c]
    return out.reshape(len(corners), 4 * freedoms, 4 * freedoms)


def geometric_stiffness(corners: Array, forces: Array, grain: Array) -> Array:
    """Stiffness of stressed membranes against normal movement: int grad(w)' N grad(w) dA.

    Parameters
    ----------
    corners : (n_elements, 4, 3) float array
        Corner positions, m.
    forces : (n_elements, 3) float array
        Membrane forces per length in material axes, N/m, tension positive.
    grain : (n_elements, 3) float array
        Direction of material axis 1.

    Returns
    -------
    (n_elements, 12, 12) float array
        N/m on the corners' movements.
    """
    axes = element_axes(corners, grain)
    gradients, determinant = shape_gradients(in_plane(corners, axes), GAUSS_POINTS)
    tensor = np.stack([forces[:, [0, 2]], forces[:, [2, 1]]], axis=1)
    slopes = np.swapaxes(gradients, 2, 3) @ tensor[:, None] @ gradients
    normal_part = np.einsum("ep,epcd->ecd", determinant, slopes)
    normal = axes[:, 2]
    out = normal_part[:, :, None, :, None] * (normal[:, :, None] * normal[:, None, :])[:, None, :, None, :]
    return out.reshape(len(corners), 12, 12)


def drilling_stiffness(corners: Array, shear_modulus: Array, weights: Array) -> Array:
    """Ties the nodes' turning in the plane to the rotation of the membrane's movement at its centre.

    Penalty energy weight x G x area/4 x (theta_n - (v,x - u,y)/2)^2 a corner, so that rigid motion and
    constant strain cost nothing. It only keeps a node of nothing but coplanar membranes and plates from
    turning freely.

    Parameters
    ----------
    corners : (n_elements, 4, 3) float array
        Corner positions, m.
    shear_modulus : (n_elements,) float array
        G, Pa.
    weights : (n_elements, 4) float array
        Fraction of the shear stiffness at each corner; 0 leaves that corner free.

    Returns
    -------
    (n_elements, 24, 24) float array
        Per unit thickness; unknowns u v w rx ry rz of each corner.

    References
    ----------
    After Hughes and Brezzi, On drilling degrees of freedom, 1989 (from memory), with one point.
    """
    n = len(corners)
    axes = element_axes(corners, corners[:, 1] - corners[:, 0])
    gradients, _ = shape_gradients(in_plane(corners, axes), np.zeros((1, 2)))
    spin = (
        gradients[:, 0, 0, :, None] * axes[:, None, 1] - gradients[:, 0, 1, :, None] * axes[:, None, 0]
    ) / 2
    rows = np.zeros((n, 4, 4, 6))
    rows[:, :, :, :3] = -spin[:, None]
    for c in range(4):
        rows[:, c, c, 3:] = axes[:, 2]
    flat = rows.reshape(n, 4, 24)
    factor = weights * (shear_modulus * areas(corners) / 4)[:, None]
    return np.swapaxes(flat * factor[..., None], 1, 2) @ flat


def forces_at_corners(corners: Array, forces: Array, grain: Array) -> Array:
    """Forces on the corners that are in equilibrium with constant membrane forces.

    Parameters
    ----------
    corners : (n_elements, 4, 3) float array
        Corner positions in a plane, m.
    forces : (n_elements, 3) float array
        Forces per width in material axes, N/m.
    grain : (n_elements, 3) float array
        Direction of material axis 1.

    Returns
    -------
    (n_elements, 4, 3) float array
        What holds the element, N: its work on any movement is that of the forces on the mean strains.
    """
    at = _last(corners)
    axes = _axes(at, _last(grain))
    gradients, determinant = shape_gradients(
        in_plane(corners, np.ascontiguousarray(axes.transpose(2, 0, 1))), np.zeros((1, 2))
    )
    along, across = gradients[:, 0, 0], gradients[:, 0, 1]
    one = forces[:, :1] * along + forces[:, 2:] * across
    two = forces[:, 1:2] * across + forces[:, 2:] * along
    plane = one[:, :, None] * axes[0].T[:, None] + two[:, :, None] * axes[1].T[:, None]
    return np.asarray(4 * determinant[:, 0, None, None] * plane)


def mean_strain_rows(corners: Array, grain: Array) -> tuple[Array, Array]:
    """Mean strains of quadrilaterals by their corners' movements, and their areas.

    Parameters
    ----------
    corners : (n_elements, 4, 3) float array
        Corner positions in a plane, m.
    grain : (n_elements, 3) float array
        Direction of axis 1.

    Returns
    -------
    rows : (n_elements, 3, 12) float array
        Strains 1, 2 and engineering shear per u v w of each corner, 1/m.
    area : (n_elements,) float array
        m2.
    """
    at = _last(corners)
    axes = _axes(at, _last(grain))
    unit = np.broadcast_to(np.eye(3)[:, :, None], (3, 3, len(corners)))
    modes = _modes(_in_axes(at, axes), np.ascontiguousarray(unit))
    return _strain_rows(modes, axes)[:, :3], modes.area
