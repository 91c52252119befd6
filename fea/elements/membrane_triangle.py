"""Plane triangles under forces in their own plane: the optimal one with drilling turns, and the plain one.

The first has three unknowns a corner (two displacements and the turn about the normal) and bends in its plane
without locking; it is the OPT member of the template of C. A. Felippa, 'A study of optimal membrane triangles
with drilling freedoms', Computer Methods in Applied Mechanics and Engineering 192, 2003 (from memory; it
repeats the source's figures for Cook's panel). The second is the constant-strain triangle. Neither resists
movement along the normal.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

import numpy as np
from numpy.typing import NDArray

from fea.elements.faults import DegenerateElement

Array = NDArray[np.float64]

# Least height of a triangle as a share of its longest side, below which its axes are rounding noise.
SMALLEST_HEIGHT_RATIO = 1e-9
# OPT: share of the drilling turns in the mean strain, and the nine weights of the bending strains.
ALPHA = 1.5
BETAS = (1.0, 2.0, 1.0, 0.0, 1.0, -1.0, -1.0, -1.0, -2.0)
# Bending stiffness never falls below this share, so that the matrix keeps its rank (the source's own floor).
SMALLEST_BETA0 = 0.01


def unit_stiffness(corners: Array, constitutive: Array, beta0: Array | None = None) -> Array:
    """Stiffness of the optimal membrane triangle with drilling rotations, in global axes, per unit thickness.

    Parameters
    ----------
    corners : (n_elements, 3, 3) float array
        Corner positions, m.
    constitutive : (n_elements, 3, 3) float array
        Plane stress matrix in the element's own axes (`local_axes`), Pa; strains eps1, eps2, gamma12.
    beta0 : (n_elements,) float array, optional
        Share of the bending stiffness; by default `bending_share`.

    Returns
    -------
    (n_elements, 18, 18) float array
        N/m per m of thickness (forces), N/rad and N m/rad per m where rotations come in; unknowns u v w rx ry
        rz at each corner. Rank 6: a membrane triangle resists six of its motions.

    Raises
    ------
    DegenerateElement
        The corners lie on one line; carries the element numbers.

    Notes
    -----
    Basic part L E L'/A: fixes the answer to constant strain for any alpha; alpha = 3/2. Bending part
    (3/4) beta0 T' [A sum Q' E_nat Q] T, with T the drilling turns less the mean turn, E_nat the material on
    the strains along the sides, Q the bending strains at the middles of the sides. Any orthotropy in any
    direction enters through `constitutive` alone. A drilling turn is a rotation of the corner itself, so
    a beam and a membrane may share a node's rotations.

    Measured: one rectangle in the depth of a slender beam under a transverse force is 5 % soft, two are 0.9 %
    stiff. Triangles skewed by 45 degrees and five times as long as deep lose half of the deflection; there,
    the quadrilateral or a finer mesh. Hold the drilling turns at a clamp only where the wall turns nothing.

    References
    ----------
    C. A. Felippa, A study of optimal membrane triangles with drilling freedoms, CMAME 192 (2003) 2125-2168,
    the OPT instance of the template (from memory).
    """
    axes, xy = _own_frame(corners)
    if beta0 is None:
        beta0 = bending_share(constitutive)
    area = _area(xy)
    lumping = _force_lumping(xy)
    basic = lumping @ constitutive @ lumping.transpose(0, 2, 1) / area[:, None, None]
    bending = _bending_stiffness(xy, constitutive)
    return _to_global_with_turns(basic + 0.75 * beta0[:, None, None] * bending, axes)


def constant_strain_stiffness(corners: Array, constitutive: Array) -> Array:
    """Stiffness of the constant-strain triangle in global axes, per unit thickness: A B' E B.

    Parameters
    ----------
    corners : (n_elements, 3, 3) float array
        Corner positions, m.
    constitutive : (n_elements, 3, 3) float array
        Plane stress matrix in the element's own axes, Pa.

    Returns
    -------
    (n_elements, 9, 9) float array
        N/m per m of thickness; unknowns u v w at each corner. Rank 3.

    Raises
    ------
    DegenerateElement
        The corners lie on one line.

    Notes
    -----
    Locks in bending in its plane: a slender beam one element deep is several times too stiff.

    References
    ----------
    M. J. Turner, R. W. Clough, H. C. Martin, L. J. Topp, Stiffness and deflection analysis of complex
    structures, Journal of the Aeronautical Sciences 23, 1956 (from memory).
    """
    axes, xy = _own_frame(corners)
    strain = _constant_strain(xy) @ _translations(axes)
    return _area(xy)[:, None, None] * (strain.transpose(0, 2, 1) @ constitutive @ strain)


def stresses(corners: Array, displacements: Array, constitutive: Array) -> Array:
    """Stress at the centroid of the triangle with drilling rotations, in the element's own axes.

    Parameters
    ----------
    corners : (n_elements, 3, 3) float array
        Corner positions, m.
    displacements : (n_elements, 18) float array
        u v w rx ry rz at each corner, m and rad.
    constitutive : (n_elements, 3, 3) float array
        Plane stress matrix in the element's own axes, Pa.

    Returns
    -------
    (n_elements, 3) float array
        sigma1, sigma2, tau12, Pa; tension positive. The bending strains vanish at the centroid, so this is
        also the mean over the element.

    Raises
    ------
    DegenerateElement
        The corners lie on one line.
    """
    axes, xy = _own_frame(corners)
    local = np.einsum("eij,ej->ei", _with_turns(axes), displacements)
    strain = np.einsum("eji,ej->ei", _force_lumping(xy), local) / _area(xy)[:, None]
    return np.einsum("eij,ej->ei", constitutive, strain)


def geometric_stiffness(corners: Array, membrane_forces: Array) -> Array:
    """Stiffness that a membrane force gives to displacement along the normal: A grad N_i . n grad N_j.

    Parameters
    ----------
    corners : (n_elements, 3, 3) float array
        Corner positions, m.
    membrane_forces : (n_elements, 3) float array
        n1, n2, n12 in the element's own axes, N/m; tension positive.

    Returns
    -------
    (n_elements, 9, 9) float array
        N/m; unknowns u v w at each corner; acts along the normal only. Tilting the element turns its corner
        forces.

    Raises
    ------
    DegenerateElement
        The corners lie on one line.

    References
    ----------
    O. C. Zienkiewicz, The Finite Element Method, chapter on geometrically non-linear problems: initial stress
    matrix with linear displacement (from memory).
    """
    axes, xy = _own_frame(corners)
    gradient = _shape_gradients(xy)
    n1, n2, n12 = membrane_forces.T
    tensor = np.stack([n1, n12, n12, n2], axis=1).reshape(-1, 2, 2)
    scalar = _area(xy)[:, None, None] * (gradient.transpose(0, 2, 1) @ tensor @ gradient)
    normal = axes[:, 2]
    return np.einsum("eij,ek,el->eikjl", scalar, normal, normal, optimize=True).reshape(-1, 9, 9)


def local_axes(corners: Array) -> Array:
    """Axes of the triangle: e1 along the side from corner 1 to 2, e3 the normal, e2 = e3 x e1.

    Parameters
    ----------
    corners : (n_elements, 3, 3) float array
        Corner positions, m.

    Returns
    -------
    (n_elements, 3, 3) float array
        Rows e1, e2, e3, unit vectors.

    Raises
    ------
    DegenerateElement
        The corners lie on one line.
    """
    side12, side13, side23 = (corners[:, b] - corners[:, a] for a, b in ((0, 1), (0, 2), (1, 2)))
    normal = np.cross(side12, side13)
    twice_area = np.linalg.norm(normal, axis=1)
    longest = np.max(np.linalg.norm([side12, side13, side23], axis=2), axis=0)
    flat = twice_area <= SMALLEST_HEIGHT_RATIO * longest**2
    if flat.any():
        raise DegenerateElement("triangle", np.flatnonzero(flat))
    e1 = side12 / np.linalg.norm(side12, axis=1)[:, None]
    e3 = normal / twice_area[:, None]
    return np.stack([e1, np.cross(e3, e1), e3], axis=1)


def bending_share(constitutive: Array) -> Array:
    """Share beta0 of the bending stiffness that is exact for bending along or across the material axes.

    Parameters
    ----------
    constitutive : (n_elements, 3, 3) float array
        Plane stress matrix in any axes, Pa.

    Returns
    -------
    (n_elements,) float array
        (1 - 4 nu12 nu21)/2 with Poisson's ratios in the material axes, not below 0.01.

    Notes
    -----
    A rectangle of two triangles bent along a material axis has (3/2 + beta0)/(2 (1 - nu12 nu21)) times the
    exact stiffness whatever its slenderness, which this value makes one; for an isotropic material it is the
    source's (1 - 4 nu^2)/2. Bent at an angle to the grain the element is too stiff, which refining cures
    (wood of E_L/E_T = 22 at 45 degrees: 5 % with four elements in the depth). The source's own choice for a
    general material is an average over all directions of bending; for such wood it would be the floor of
    0.01, a quarter too soft along the grain, where webs and caps work.

    References
    ----------
    C. A. Felippa, A study of optimal membrane triangles with drilling freedoms, CMAME 192 (2003), isotropic
    value (from memory). Invariants of the plane stress matrix: S. W. Tsai and N. J. Pagano, 1968 (from
    memory).
    """
    e11, e22, e33 = constitutive[:, 0, 0], constitutive[:, 1, 1], constitutive[:, 2, 2]
    e12, e13, e23 = constitutive[:, 0, 1], constitutive[:, 0, 2], constitutive[:, 1, 2]
    mean = (3 * e11 + 3 * e22 + 2 * e12 + 4 * e33) / 8
    coupling = (e11 + e22 + 6 * e12 - 4 * e33) / 8
    twofold = (e11 - e22) / 2 + 1j * (e13 + e23)
    fourfold = (e11 + e22 - 2 * e12 - 4 * e33) / 8 + 1j * (e13 - e23) / 2
    size = np.abs(twofold)
    # A ply as stiff across as along shows no axis in the twofold part; its axes are those of the fourfold
    # part.
    one_axis = size > 1e-9 * mean
    axis = np.where(one_axis, twofold, 1) / np.where(one_axis, size, 1)
    along_axes = np.where(one_axis, np.real(fourfold * np.conj(axis**2)), np.abs(fourfold))
    poisson_squared = (coupling - along_axes) ** 2 / ((mean + along_axes) ** 2 - size**2)
    return np.maximum(0.5 - 2 * poisson_squared, SMALLEST_BETA0)


def _own_frame(corners: Array) -> tuple[Array, Array]:
    """Axes (n, 3, 3) and corner positions in the plane (n, 3, 2), from corner 1."""
    axes = local_axes(corners)
    xy = (corners - corners[:, :1]) @ axes[:, :2].transpose(0, 2, 1)
    return axes, xy


def _area(xy: Array) -> Array:
    (x21, y21), (x31, y31) = (xy[:, 1] - xy[:, 0]).T, (xy[:, 2] - xy[:, 0]).T
    return (x21 * y31 - x31 * y21) / 2


def _shape_gradients(xy: Array) -> Array:
    """Gradients of the three linear functions, (n, 2, 3): row per direction, column per corner."""
    x, y = xy[:, :, 0], xy[:, :, 1]
    along = np.roll(y, -1, axis=1) - np.roll(y, -2, axis=1)
    across = np.roll(x, -2, axis=1) - np.roll(x, -1, axis=1)
    return np.stack([along, across], axis=1) / (2 * _area(xy))[:, None, None]


def _constant_strain(xy: Array) -> Array:
    """Strain per unit displacement in the plane, (n, 3, 6)."""
    dx, dy = _shape_gradients(xy).transpose(1, 0, 2)
    strain = np.zeros((len(xy), 3, 3, 2))
    strain[:, 0, :, 0] = dx
    strain[:, 1, :, 1] = dy
    strain[:, 2, :, 0] = dy
    strain[:, 2, :, 1] = dx
    return strain.reshape(-1, 3, 6)


def _force_lumping(xy: Array) -> Array:
    """Corner forces and couples of a unit constant stress, (n, 9, 3), per unit thickness: the source's L.

    The traction of a side goes to its ends by the work it does on the side's displacement: linear along the
    side, and across it linear plus alpha times the cubic described by the turns of the ends.
    """
    after, before = np.roll(xy, -1, axis=1), np.roll(xy, -2, axis=1)
    opposite_x, opposite_y = (before - after).transpose(2, 0, 1)
    in_x, in_y = (xy - before).transpose(2, 0, 1)
    out_x, out_y = (after - xy).transpose(2, 0, 1)
    lumping = np.zeros((len(xy), 3, 3, 3))
    lumping[:, :, 0, 0] = lumping[:, :, 1, 2] = -opposite_y
    lumping[:, :, 1, 1] = lumping[:, :, 0, 2] = opposite_x
    lumping[:, :, 2, 0] = -opposite_y * (in_y - out_y) * ALPHA / 6
    lumping[:, :, 2, 1] = -opposite_x * (in_x - out_x) * ALPHA / 6
    lumping[:, :, 2, 2] = (out_x * out_y - in_x * in_y) * ALPHA / 3
    return lumping.reshape(-1, 9, 3) / 2


def _bending_stiffness(xy: Array, constitutive: Array) -> Array:
    """Unscaled bending part T' [A sum over the sides' middles of Q' E_nat Q] T, (n, 9, 9)."""
    along = np.roll(xy, -1, axis=1) - xy
    length2 = (along**2).sum(axis=2)
    area = _area(xy)
    to_cartesian = _strain_from_side_strains(along, length2)
    on_sides = to_cartesian.transpose(0, 2, 1) @ constitutive @ to_cartesian
    b1, b2, b3, b4, b5, b6, b7, b8, b9 = BETAS
    at_corners = np.array(
        [
            [[b1, b2, b3], [b4, b5, b6], [b7, b8, b9]],
            [[b9, b7, b8], [b3, b1, b2], [b6, b4, b5]],
            [[b5, b6, b4], [b8, b9, b7], [b2, b3, b1]],
        ]
    )
    at_middles = (at_corners + np.roll(at_corners, -1, axis=0)) / 2
    per_turn = at_middles[:, None] * (2 * area[:, None] / (3 * length2))[None, :, :, None]
    by_turns = area[:, None, None] * (per_turn.transpose(0, 1, 3, 2) @ on_sides @ per_turn).sum(axis=0)
    turns = _turns_over_the_mean(xy)
    return turns.transpose(0, 2, 1) @ by_turns @ turns


def _strain_from_side_strains(along: Array, length2: Array) -> Array:
    """Strain eps1, eps2, gamma12 of strains along the sides 12, 23, 31, (n, 3, 3): the source's T_e."""
    dx, dy = along[:, :, 0], along[:, :, 1]
    side_strains = np.stack([dx**2, dy**2, dx * dy], axis=2) / length2[:, :, None]
    return np.asarray(np.linalg.inv(side_strains), dtype=np.float64)


def _turns_over_the_mean(xy: Array) -> Array:
    """Drilling turns less the rotation of the plain triangle, (n, 3, 9): the source's T_theta_u."""
    dx, dy = _shape_gradients(xy).transpose(1, 0, 2)
    turns = np.zeros((len(xy), 3, 3, 3))
    turns[:, :, :, 0] = (dy / 2)[:, None]
    turns[:, :, :, 1] = (-dx / 2)[:, None]
    turns[:, [0, 1, 2], [0, 1, 2], 2] = 1
    return turns.reshape(-1, 3, 9)


def _translations(axes: Array) -> Array:
    """In-plane displacements (u1 v1 u2 v2 u3 v3) from global ones, (n, 6, 9)."""
    change = np.zeros((len(axes), 3, 2, 3, 3))
    for corner in range(3):
        change[:, corner, :, corner] = axes[:, :2]
    return change.reshape(-1, 6, 9)


def _with_turns(axes: Array) -> Array:
    """In-plane unknowns (u v turn at each corner) from global u v w rx ry rz, (n, 9, 18)."""
    change = np.zeros((len(axes), 3, 3, 3, 6))
    for corner in range(3):
        change[:, corner, :2, corner, :3] = axes[:, :2]
        change[:, corner, 2, corner, 3:] = axes[:, 2]
    return change.reshape(-1, 9, 18)


def _to_global_with_turns(local: Array, axes: Array) -> Array:
    change = _with_turns(axes)
    stiffness: Array = change.transpose(0, 2, 1) @ local @ change
    return (stiffness + stiffness.transpose(0, 2, 1)) / 2


def strain_turn(corners: Array, grain: Array) -> Array:
    """Strain (or curvature) in material axes per strain in the element's own.

    Parameters
    ----------
    corners : (n_elements, 3, 3) float array
        Corner positions, m.
    grain : (n_elements, 3) float array
        Direction of material axis 1; its part in the element's plane counts.

    Returns
    -------
    (n_elements, 3, 3) float array
        Strains 1, 2 and engineering 12.

    Raises
    ------
    DegenerateElement
        The corners lie on one line, or the grain is square to the element.
    """
    axes = local_axes(corners)
    along, across = np.einsum("eij,ej->ei", axes[:, :2], grain).T
    length = np.hypot(along, across)
    square_on = length <= 1e-9 * np.linalg.norm(grain, axis=1)
    if square_on.any():
        raise DegenerateElement("triangle with its grain square to it", np.flatnonzero(square_on))
    c, s = along / length, across / length
    rows = [[c * c, s * s, c * s], [s * s, c * c, -c * s], [-2 * c * s, 2 * c * s, c * c - s * s]]
    return np.array(rows).transpose(2, 0, 1)


@dataclass(frozen=True, eq=False)
class MembraneTriangles:
    """A block of optimal membrane triangles with drilling rotations.

    Parameters
    ----------
    nodes : (n_elements, 3) int array
        Node numbers, in order round the element.
    thickness : (n_elements,) float array
        m.
    constitutive : (n_elements, 3, 3) float array
        Plane-stress moduli along the material axes 1, 2 and 12, Pa.
    grain : (n_elements, 3) float array
        Direction of material axis 1; its part in the element's plane counts.
    offsets : (n_elements, 3, 3) float array or None
        Node to corner, m.
    density : (n_elements,) float array or None
        kg/m3.
    part : (n_elements,) int array or None
        Which part of the structure each belongs to.
    """

    nodes: NDArray[np.intp]
    thickness: Array
    constitutive: Array
    grain: Array
    offsets: Array | None = None
    density: Array | None = None
    part: NDArray[np.intp] | None = None
    freedoms: ClassVar[int] = 6
    kind: ClassVar[str] = "membrane triangle"

    @property
    def scale(self) -> Array:
        """Factor (thickness, m) on the unit stiffness, (n_elements,)."""
        return self.thickness

    def unit_stiffness(self, corners: Array) -> Array:
        """Stiffness per unit thickness, (n_elements, 18, 18)."""
        return unit_stiffness(corners, self._in_own_axes(corners))

    def mass(self, corners: Array) -> Array:
        """Lumped mass, a third at each corner's movements, (n_elements, 18, 18), kg."""
        density = np.zeros(len(corners)) if self.density is None else self.density
        share = density * self.thickness * _area(_own_frame(corners)[1]) / 3
        return share[:, None, None] * np.diag(np.tile([1.0, 1, 1, 0, 0, 0], 3))

    def recover(self, corners: Array, displacements: Array) -> dict[str, Array]:
        """Mean stress in material axes: {"stress": (n_elements, 3, ...)}, Pa, order 1, 2, 12."""
        own = self._in_own_axes(corners)
        columns = displacements.reshape(len(corners), 18, -1)
        stress = np.stack([stresses(corners, column, own) for column in np.moveaxis(columns, 2, 0)], axis=2)
        # Stress turns by the transpose of the inverse of the strain's turn.
        turn = self._strain_turn(corners).transpose(0, 2, 1)
        turned = np.asarray(np.linalg.solve(turn, stress), dtype=np.float64)
        return {"stress": turned.reshape(len(corners), 3, *displacements.shape[3:])}

    def geometric_stiffness(self, corners: Array, recovered: dict[str, Array]) -> Array:
        """Stiffness of the stressed membrane against normal movement, (n_elements, 18, 18)."""
        own = np.einsum("eji,ej->ei", self._strain_turn(corners), recovered["stress"])
        out = np.zeros((len(corners), 3, 6, 3, 6))
        plain = geometric_stiffness(corners, self.thickness[:, None] * own)
        out[:, :, :3, :, :3] = plain.reshape(-1, 3, 3, 3, 3)
        return out.reshape(-1, 18, 18)

    def _strain_turn(self, corners: Array) -> Array:
        return strain_turn(corners, self.grain)

    def _in_own_axes(self, corners: Array) -> Array:
        turn = self._strain_turn(corners)
        return turn.transpose(0, 2, 1) @ self.constitutive @ turn
