"""Straight three-dimensional beams with bending about both axes, shear (Timoshenko) and torsion.

Built from the flexibility of the six natural deformations (stretch, twist, and the rotations of both ends
from the chord about both axes), which is exact for end loads and takes the give of a joint at either end as
one more term. Distributed loads enter through their exact consistent forces, and section forces are recovered
by statics from one end, so that neither depends on the number of elements. Source: Przemieniecki, Theory of
Matrix Structural Analysis, 1968, ch. 5 and 6 (from memory).

Local axes: x from end 1 to end 2; z the part of `up` square to x; y = z x x.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from functools import cache
from typing import ClassVar

import numpy as np
from numpy.typing import NDArray

from fea.arrays import Array
from fea.elements.faults import DegenerateElement, NonPositiveRigidity

_GAUSS_X = np.array([0.5 - np.sqrt(0.15), 0.5, 0.5 + np.sqrt(0.15)])
_GAUSS_W = np.array([5.0, 8.0, 5.0]) / 18


@dataclass(frozen=True, eq=False)
class Sections:
    """Rigidities of beam sections, one entry an element, about the centroid and principal local axes.

    Parameters
    ----------
    axial : (n_elements,) float array
        E A, N.
    bending_y, bending_z : (n_elements,) float array
        E I about local y (bending up and down) and local z (sideways), N m2.
    torsion : (n_elements,) float array
        G J, N m2.
    shear_y, shear_z : (n_elements,) float array
        kappa G A for shear along local y and z, N; `np.inf` leaves shear out.
    s_bending_z : (n_elements,) float array or None
        E I against an S shape about local z (moments at the ends that balance a shear force), where what is
        glued to the beam's sides hinders it, N m2; `np.inf` leaves that bending out, None takes `bending_z`.
        Not for beams with a load along them.
    """

    axial: Array
    bending_y: Array
    bending_z: Array
    torsion: Array
    shear_y: Array
    shear_z: Array
    s_bending_z: Array | None = None


@dataclass(frozen=True, eq=False)
class Beams:
    """A block of beams.

    Parameters
    ----------
    nodes : (n_elements, 2) int array
        Node numbers.
    sections : Sections
        Rigidities.
    up : (n_elements, 3) float array
        Direction whose part square to the beam is local z.
    offsets : (n_elements, 2, 3) float array or None
        Node to beam end (on the centroid line), m.
    end_flexibility : (n_elements, 2, 6, 6) float array or None
        Give of the joint at each end in local axes: movement (m) and rotation (rad) of the beam's end against
        the corner per unit force (N) and moment (N m) carried.
    line_load : (n_elements, 2, 3) float array or None
        Force per length at both ends, global axes, linear between, N/m.
    mass_per_length : (n_elements,) float array or None
        kg/m.
    polar_inertia : (n_elements,) float array or None
        Mass moment of inertia per length about the beam's axis, kg m.
    polar_radius2 : (n_elements,) float array or None
        Polar radius of gyration squared of the section, m2: weight of the axial force in the twisting term of
        the geometric stiffness.
    part : (n_elements,) int array or None
        Which part of the structure each belongs to.
    """

    nodes: NDArray[np.intp]
    sections: Sections
    up: Array
    offsets: Array | None = None
    end_flexibility: Array | None = None
    line_load: Array | None = None
    mass_per_length: Array | None = None
    polar_inertia: Array | None = None
    polar_radius2: Array | None = None
    part: NDArray[np.intp] | None = None
    freedoms: ClassVar[int] = 6
    kind: ClassVar[str] = "beam"

    @property
    def scale(self) -> Array:
        """Factor on the unit stiffness, (n_elements,): one, since rigidities do not scale together."""
        return np.ones(len(self.nodes))

    def unit_stiffness(self, corners: Array) -> Array:
        """Stiffness, (n_elements, 12, 12)."""
        return stiffness(corners, self.sections, self.up, self.end_flexibility)

    def equivalent_loads(self, corners: Array) -> Array | None:
        """Nodal loads of the distributed load, (n_elements, 2, 6), N and N m; None where there is none."""
        if self.line_load is None:
            return None
        return equivalent_loads(corners, self.sections, self.up, self.line_load, self.end_flexibility)

    def mass(self, corners: Array) -> Array:
        """Consistent mass, (n_elements, 12, 12)."""
        n = len(self.nodes)
        per_length = np.zeros(n) if self.mass_per_length is None else self.mass_per_length
        polar = np.zeros(n) if self.polar_inertia is None else self.polar_inertia
        return consistent_mass(corners, self.up, per_length, polar)

    def recover(self, corners: Array, displacements: Array) -> dict[str, Array]:
        """Section forces at both ends: {"forces": (n_elements, 2, 6, ...)}, order N, V_y, V_z, T, M_y,
        M_z."""
        return {"forces": self.forces_along(corners, displacements, np.array([0.0, 1.0]))}

    def forces_along(self, corners: Array, displacements: Array, positions: Array) -> Array:
        """Section forces at fractions of the length, (n_elements, n_positions, 6, ...); see `forces_along`.

        Displacements are of all loads together only if one case is asked for, or the block carries no line
        load.
        """
        return forces_along(
            corners, displacements, positions, self.sections, self.up, self.line_load, self.end_flexibility
        )

    def geometric_stiffness(self, corners: Array, recovered: dict[str, Array]) -> Array:
        """Stiffness of the stressed beam, (n_elements, 12, 12)."""
        n = len(self.nodes)
        radius2 = np.zeros(n) if self.polar_radius2 is None else self.polar_radius2
        return geometric_stiffness(corners, self.up, recovered["forces"], radius2)


def local_axes(ends: Array, up: Array) -> tuple[Array, Array]:
    """Length and local axes of beams.

    Parameters
    ----------
    ends : (n_elements, 2, 3) float array
        End positions, m.
    up : (n_elements, 3) float array
        Direction whose part square to the beam is local z.

    Returns
    -------
    length : (n_elements,) float array
        m.
    axes : (n_elements, 3, 3) float array
        Rows are the local x, y, z directions.

    Raises
    ------
    DegenerateElement
        Ends coincide, or `up` lies along the beam.
    """
    span = ends[:, 1] - ends[:, 0]
    length = np.linalg.norm(span, axis=1)
    if not length.all():
        raise DegenerateElement("beam", np.flatnonzero(length == 0))
    x = span / length[:, None]
    y = np.cross(up, x)
    size = np.linalg.norm(y, axis=1)
    along = size <= 1e-9 * np.linalg.norm(up, axis=1)
    if along.any():
        raise DegenerateElement("beam", np.flatnonzero(along))
    y = y / size[:, None]
    return length, np.stack([x, y, np.cross(x, y)], axis=1)


def _equilibrium(length: Array) -> Array:
    """End forces (12) carried by unit natural forces N, T, M_y1, M_y2, M_z1, M_z2, (n_elements, 12, 6)."""
    out = np.zeros((len(length), 12, 6))
    out[:, 0, 0], out[:, 6, 0] = -1.0, 1.0
    out[:, 3, 1], out[:, 9, 1] = -1.0, 1.0
    inverse = 1 / length
    for column, row in ((2, 4), (3, 10)):
        out[:, row, column] = 1.0
        out[:, 2, column], out[:, 8, column] = -inverse, inverse
    for column, row in ((4, 5), (5, 11)):
        out[:, row, column] = 1.0
        out[:, 1, column], out[:, 7, column] = inverse, -inverse
    return out


def _natural_flexibility(length: Array, sections: Sections, end_flexibility: Array | None) -> Array:
    """Natural deformations per unit natural force, (n_elements, 6, 6)."""
    out = np.zeros((len(length), 6, 6))
    out[:, 0, 0] = length / sections.axial
    out[:, 1, 1] = length / sections.torsion
    s_bending_z = sections.bending_z if sections.s_bending_z is None else sections.s_bending_z
    for at, bending, s_bending, shear in (
        (2, sections.bending_y, sections.bending_y, sections.shear_z),
        (4, sections.bending_z, s_bending_z, sections.shear_y),
    ):
        # Even bending along the whole length, and the S with its shear.
        even, odd = length / (4 * bending), length / (12 * s_bending) + 1 / (shear * length)
        out[:, at, at] = out[:, at + 1, at + 1] = even + odd
        out[:, at, at + 1] = out[:, at + 1, at] = odd - even
    if end_flexibility is not None:
        ends = _equilibrium(length).reshape(-1, 2, 6, 6)
        out += np.einsum("epqi,epqr,eprj->eij", ends, end_flexibility, ends, optimize=True)
    return out


def _to_local(axes: Array) -> Array:
    """Matrix from global to local end freedoms, (n_elements, 12, 12)."""
    out = np.zeros((len(axes), 12, 12))
    for k in range(4):
        out[:, 3 * k : 3 * k + 3, 3 * k : 3 * k + 3] = axes
    return out


def line_load_share(bending: Array, shear: Array, length: Array) -> Array:
    """How far a beam's face follows its chord rather than its ends' rotations, for what is glued along it.

    A shear flow handed to a beam beside its axis is a couple m on its length. Spread evenly it bends nothing:
    the beam carries the shear force -m and its section shears by m/(kappa G A). Put on as couples at nodes it
    bends the beam into a saw: with a = (chord's rotation - mean of the ends'), whose stiffness is
    kappa G A phi/(1 + phi), phi = 12 E I/(kappa G A l2), the flow would see that much more give. Let the face
    turn with the ends and a share s of a: then the flow sees (1 - s)2 (1 + phi)/(kappa G A phi), which is
    1/(kappa G A) for 1 - s = sqrt(phi/(1 + phi)), whatever the length.

    Parameters
    ----------
    bending : (n_elements,) float array
        E I, N m2.
    shear : (n_elements,) float array
        kappa G A, N.
    length : (n_elements,) float array
        m.

    Returns
    -------
    (n_elements,) float array
        s, from 0 (stocky) to 1 (slender).

    References
    ----------
    Stiffness of the beam: Przemieniecki, Theory of Matrix Structural Analysis, 1968, eq. 5.116 (from memory);
    the share is derived here.
    """
    phi = 12 * bending / (shear * length**2)
    return np.asarray(1 - np.sqrt(phi / (1 + phi)))


def stiffness(ends: Array, sections: Sections, up: Array, end_flexibility: Array | None = None) -> Array:
    """Stiffness of beams in global axes: H F^-1 H', F the flexibility of the natural deformations, H
    equilibrium.

    Parameters
    ----------
    ends : (n_elements, 2, 3) float array
        End positions, m.
    sections, up
        As for `Beams`.
    end_flexibility : (n_elements, 2, 6, 6) float array or None
        Give of the joints at the ends, local axes.

    Returns
    -------
    (n_elements, 12, 12) float array
        N/m, N, N m; unknowns u v w rx ry rz of end 1, then of end 2.

    Raises
    ------
    DegenerateElement
        Ends coincide, or `up` lies along the beam.
    NonPositiveRigidity
        A rigidity is zero, negative or no number.

    References
    ----------
    Przemieniecki, Theory of Matrix Structural Analysis, 1968, ch. 5 (from memory).
    """
    for rigidity in fields(sections):
        value = getattr(sections, rigidity.name)
        wrong = np.flatnonzero(np.zeros(0) if value is None else ~(value > 0))
        if len(wrong):
            raise NonPositiveRigidity("beam", rigidity.name, wrong)
    length, axes = local_axes(ends, up)
    natural = np.linalg.inv(_natural_flexibility(length, sections, end_flexibility))
    carry = np.swapaxes(_to_local(axes), 1, 2) @ _equilibrium(length)
    return carry @ natural @ np.swapaxes(carry, 1, 2)


def _load_on_simple_supports(length: Array, load: Array) -> tuple[Array, Array]:
    """A beam on simple supports (the pull along it taken at end 1) under a linear load, in local axes.

    Returns the section forces at the Gauss points, (n_elements, 3, 6), and the forces of the supports on the
    ends, (n_elements, 12).
    """
    first, last = load[:, 0], load[:, 1]
    reactions = np.zeros((len(length), 12))
    for axis in (1, 2):
        reactions[:, axis] = -(2 * first[:, axis] + last[:, axis]) * length / 6
        reactions[:, axis + 6] = -(first[:, axis] + 2 * last[:, axis]) * length / 6
    reactions[:, 0] = -(first[:, 0] + last[:, 0]) * length / 2
    inner = _statics_from_end_1(length, load, reactions[:, :6, None], _GAUSS_X)[..., 0]
    return inner, reactions


def _statics_from_end_1(length: Array, load: Array | None, end_1: Array, positions: Array) -> Array:
    """Section forces at fractions of the length from the forces on end 1, (n_elements, n_positions, 6,
    n_cases).
    """
    s = positions[None, :] * length[:, None]
    forces = -np.repeat(end_1[:, None], len(positions), axis=1)
    # A cut at s feels end 1's force at arm s: M = -m1 + s x (e_x x f1), e_x x f = (0, -f_z, f_y).
    forces[:, :, 4] += -s[..., None] * end_1[:, None, 2]
    forces[:, :, 5] += s[..., None] * end_1[:, None, 1]
    if load is not None:
        slope = (load[:, 1] - load[:, 0]) / length[:, None]
        total = load[:, None, 0] * s[..., None] + slope[:, None] * s[..., None] ** 2 / 2
        moment = load[:, None, 0] * s[..., None] ** 2 / 2 + slope[:, None] * s[..., None] ** 3 / 6
        forces[:, :, :3] -= total[..., None]
        forces[:, :, 4] -= moment[:, :, 2, None]
        forces[:, :, 5] += moment[:, :, 1, None]
    return forces


def _fixed_end_forces(length: Array, sections: Sections, load: Array, end_flexibility: Array | None) -> Array:
    """Forces of the clamps on a loaded beam with both ends held, local axes, (n_elements, 12)."""
    inner, reactions = _load_on_simple_supports(length, load)
    unit = _equilibrium(length)
    weight = _GAUSS_W[None] * length[:, None]
    virtual = np.stack(
        [_statics_from_end_1(length, None, unit[:, :6, k, None], _GAUSS_X)[..., 0] for k in range(6)], axis=-1
    )
    rigidity = np.stack(
        [
            sections.axial,
            sections.shear_y,
            sections.shear_z,
            sections.torsion,
            sections.bending_y,
            sections.bending_z,
        ],
        axis=1,
    )
    deform = np.einsum("eg,egf,egfk,ef->ek", weight, inner, virtual, 1 / rigidity, optimize=True)
    if end_flexibility is not None:
        give = np.einsum("epqr,epr->epq", end_flexibility, reactions.reshape(-1, 2, 6))
        deform += np.einsum("epqk,epq->ek", unit.reshape(-1, 2, 6, 6), give)
    natural = np.linalg.solve(_natural_flexibility(length, sections, end_flexibility), -deform[..., None])[
        ..., 0
    ]
    return reactions + np.einsum("eik,ek->ei", unit, natural)


def equivalent_loads(
    ends: Array, sections: Sections, up: Array, line_load: Array, end_flexibility: Array | None = None
) -> Array:
    """Loads on the ends that stand for a distributed load exactly: the clamps' forces of a held beam,
    reversed.

    Parameters
    ----------
    ends, sections, up
        As for `stiffness`.
    line_load, end_flexibility
        As for `Beams`.

    Returns
    -------
    (n_elements, 2, 6) float array
        Forces (N) and moments (N m) on the ends, global axes.

    Raises
    ------
    ValueError
        The beams have an `s_bending_z` of their own.
    """
    if sections.s_bending_z is not None:
        raise ValueError("a beam held along its sides takes no load along its length")
    length, axes = local_axes(ends, up)
    local = np.einsum("eij,epj->epi", axes, line_load)
    clamps = _fixed_end_forces(length, sections, local, end_flexibility).reshape(-1, 4, 3)
    return -np.einsum("eji,ekj->eki", axes, clamps).reshape(-1, 2, 6)


def forces_along(
    ends: Array,
    displacements: Array,
    positions: Array,
    sections: Sections,
    up: Array,
    line_load: Array | None = None,
    end_flexibility: Array | None = None,
) -> Array:
    """Section forces at any points along beams, exact under end and linear distributed loads.

    Parameters
    ----------
    ends : (n_elements, 2, 3) float array
        End positions, m.
    displacements : (n_elements, 2, 6, ...) float array
        Movements (m) and rotations (rad) of the ends, global axes.
    positions : (n_positions,) float array
        Fractions of the length, 0 to 1.
    sections, up, line_load, end_flexibility
        As for `equivalent_loads`.

    Returns
    -------
    (n_elements, n_positions, 6, ...) float array
        N (tension positive), V_y, V_z (N), T, M_y, M_z (N m), as they act on the face that looks along +x;
        the axial stress is N/A + M_y z/I_y - M_z y/I_z.
    """
    length, axes = local_axes(ends, up)
    trailing = displacements.shape[3:]
    flat = displacements.reshape(len(ends), 12, -1)
    local = _to_local(axes) @ flat
    carry = _equilibrium(length)
    natural = np.linalg.inv(_natural_flexibility(length, sections, end_flexibility))
    end_forces = carry @ (natural @ (np.swapaxes(carry, 1, 2) @ local))
    load = None
    if line_load is not None:
        load = np.einsum("eij,epj->epi", axes, line_load)
        end_forces = end_forces + _fixed_end_forces(length, sections, load, end_flexibility)[..., None]
    out = _statics_from_end_1(length, load, end_forces[:, :6], positions)
    return out.reshape(*out.shape[:3], *trailing)


def _hermite(positions: Array, length: Array) -> tuple[Array, Array, Array]:
    """Cubic shapes of a slender beam and their first and second derivatives, (n_elements, n_positions, 4).

    Order: movement and slope at end 1, movement and slope at end 2.
    """
    s, span = positions[None, :], length[:, None]
    one = np.ones_like(span)
    shape = np.stack(
        [one * (1 - 3 * s**2 + 2 * s**3), span * (s - 2 * s**2 + s**3), one * (3 * s**2 - 2 * s**3),
         span * (s**3 - s**2)], axis=-1,
    )  # fmt: skip
    first = np.stack(
        [(-6 * s + 6 * s**2) / span, one * (1 - 4 * s + 3 * s**2), (6 * s - 6 * s**2) / span,
         one * (3 * s**2 - 2 * s)], axis=-1,
    )  # fmt: skip
    second = np.stack(
        [(-6 + 12 * s) / span**2, (-4 + 6 * s) / span, (6 - 12 * s) / span**2, (6 * s - 2) / span], axis=-1
    )
    return shape, first, second


# Where the cubic's freedoms sit among the twelve, and the sign of slope against rotation: v' = rz, w' = -ry.
_V_ROWS, _V_SIGNS = [1, 5, 7, 11], np.array([1.0, 1.0, 1.0, 1.0])
_W_ROWS, _W_SIGNS = [2, 4, 8, 10], np.array([1.0, -1.0, 1.0, -1.0])


@cache
def _gauss(n: int) -> tuple[Array, Array]:
    x, w = np.polynomial.legendre.leggauss(n)
    return (x + 1) / 2, w / 2


def geometric_stiffness(ends: Array, up: Array, forces: Array, polar_radius2: Array) -> Array:
    """Stiffness of stressed slender beams against bending, twisting and their combination.

    Second variation of the work of the section forces:
    int N (v'^2 + w'^2 + r^2 phi'^2) + 2 (M_y phi v'' + M_z phi w'') + T (v' w'' - w' v'') - 2 u' (V_y v_c' +
    V_z w_c') dx, forces linear along x; v_c', w_c' are the slopes of the chord, whose turning turns the shear
    forces.

    Parameters
    ----------
    ends, up
        As for `local_axes`.
    forces : (n_elements, 2, 6) float array
        Section forces at both ends, N and N m, order N, V_y, V_z, T, M_y, M_z.
    polar_radius2 : (n_elements,) float array
        Polar radius of gyration squared, m2.

    Returns
    -------
    (n_elements, 12, 12) float array
        N/m, N, N m.

    References
    ----------
    Timoshenko and Gere, Theory of Elastic Stability, 1961, ch. 6 (lateral buckling), from memory.
    """
    length, axes = local_axes(ends, up)
    points, weights = _gauss(4)
    n, g = len(ends), len(points)
    _, slope, curve = _hermite(points, length)
    v1, v2, w1, w2 = (np.zeros((n, g, 12)) for _ in range(4))
    v1[..., _V_ROWS], v2[..., _V_ROWS] = slope * _V_SIGNS, curve * _V_SIGNS
    w1[..., _W_ROWS], w2[..., _W_ROWS] = slope * _W_SIGNS, curve * _W_SIGNS
    twist, rate = np.zeros((n, g, 12)), np.zeros((n, g, 12))
    twist[..., 3], twist[..., 9] = 1 - points, points
    rate[..., 3], rate[..., 9] = -1 / length[:, None], 1 / length[:, None]
    along = forces[:, 0, None] * (1 - points)[None, :, None] + forces[:, 1, None] * points[None, :, None]
    along = along * (weights * length[:, None])[..., None]
    axial, v_y, v_z, torque, m_y, m_z = np.moveaxis(along, -1, 0)
    stretch, chord_v, chord_w = np.zeros((n, g, 12)), np.zeros((n, g, 12)), np.zeros((n, g, 12))
    for rows, first in ((stretch, 0), (chord_v, 1), (chord_w, 2)):
        rows[..., first], rows[..., first + 6] = -1 / length[:, None], 1 / length[:, None]

    def product(left: Array, weight: Array, right: Array) -> Array:
        return np.swapaxes(left * weight[..., None], 1, 2) @ right

    direct = (
        product(v1, axial, v1) + product(w1, axial, w1) + product(rate, axial * polar_radius2[:, None], rate)
    )
    mixed = product(twist, m_y, v2) + product(twist, m_z, w2)
    mixed += (product(v1, torque, w2) - product(w1, torque, v2)) / 2
    mixed -= product(stretch, v_y, chord_v) + product(stretch, v_z, chord_w)
    to_local = _to_local(axes)
    return np.swapaxes(to_local, 1, 2) @ (direct + mixed + np.swapaxes(mixed, 1, 2)) @ to_local


def consistent_mass(ends: Array, up: Array, mass_per_length: Array, polar_inertia: Array) -> Array:
    """Consistent mass of slender beams: cubic sideways, linear along and in twist; no rotary inertia of
    bending.

    Parameters
    ----------
    ends, up
        As for `local_axes`.
    mass_per_length, polar_inertia
        As for `Beams`.

    Returns
    -------
    (n_elements, 12, 12) float array
        kg, kg m, kg m2.
    """
    length, axes = local_axes(ends, up)
    points, weights = _gauss(4)
    n, g = len(ends), len(points)
    shape, _, _ = _hermite(points, length)
    u, v, w, phi = (np.zeros((n, g, 12)) for _ in range(4))
    u[..., 0], u[..., 6] = 1 - points, points
    phi[..., 3], phi[..., 9] = 1 - points, points
    v[..., _V_ROWS], w[..., _W_ROWS] = shape * _V_SIGNS, shape * _W_SIGNS
    weight = weights * length[:, None]
    per_length, polar = mass_per_length[:, None] * weight, polar_inertia[:, None] * weight
    pairs = ((u, per_length), (v, per_length), (w, per_length), (phi, polar))
    local = sum(np.swapaxes(shapes * m[..., None], 1, 2) @ shapes for shapes, m in pairs)
    to_local = _to_local(axes)
    return np.swapaxes(to_local, 1, 2) @ np.asarray(local) @ to_local
