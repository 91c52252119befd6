"""Plane quadrilateral panels that carry shear flow only, in equilibrium in any convex shape.

The stress in the panel is the projective image of pure shear in a square: along every line through the
meeting point of two opposite edges there is shear flow and no other force, q = c/d^2 with d the distance from
the line that joins the two meeting points. It satisfies equilibrium exactly and loads the edges along
themselves alone. The source of the panel is M. Garvey, 'The quadrilateral shear panel', Aircraft Engineering,
1951 (from memory); the closed forms are derived in `unit_stiffness`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

import numpy as np
from numpy.typing import NDArray

from fea.arrays import Array
from fea.elements.faults import DegenerateElement
from fea.elements.membrane import lumped_mass

# A corner whose triangle is this small a share of the panel makes it a triangle or worse.
SMALLEST_CORNER_SHARE = 1e-6
# Points on 0 to 1; the integrands are rational, so that many leave only rounding for a taper of two to one.
POINTS, WEIGHTS = (part / 2 for part in np.polynomial.legendre.leggauss(8))
POINTS = POINTS + 0.5
EDGE_POINTS, EDGE_WEIGHTS = (part / 2 for part in np.polynomial.legendre.leggauss(20))
EDGE_POINTS = EDGE_POINTS + 0.5
SERIES_TERMS = np.arange(18)


def unit_stiffness(corners: Array, shear_modulus: Array) -> Array:
    """Stiffness of shear panels in global axes per unit thickness: (G/A) s s', s the forces of a unit flow.

    Parameters
    ----------
    corners : (n_elements, 4, 3) float array
        Corner positions in order round the panel, m; nearly plane.
    shear_modulus : (n_elements,) float array
        G, Pa.

    Returns
    -------
    (n_elements, 12, 12) float array
        N/m per m of thickness; unknowns u v w at each corner. Rank 1.

    Raises
    ------
    DegenerateElement
        Not a convex quadrilateral; carries the element numbers.

    Notes
    -----
    Let a_i be the area of the triangle of the corners other than i. Equilibrium of four forces along the
    edges leaves one free; it gives mean flows along the edges 12, 23, 34, 41 in the ratio a1 a2 : a2 a3 : a3
    a4 : a4 a1, hence q12 q34 = q23 q41 = q0^2. The flow inside is q = c/d^2, with d linear and d_i = 1/a_i at
    the corners. Its energy is the integral of q^2/2Gt, in closed form q0^2 A/2Gt. Each edge's force is given
    to its two ends by the work it does on a displacement that is linear along the edge.

    Exact: equilibrium, the distribution of the flow within the panel, and the integral. Approximate: the
    energy counts shear flow alone. Where the two families of lines cross at theta and not at a right angle
    the same field holds direct stress, which would multiply the flexibility of an isotropic panel by 1 + 2
    cot^2(theta)/(1 + nu) locally: 0.2 % for a spar web whose flanges slope at 1 in 16, but 2.5 times for a
    parallelogram of 45 degrees, for which a membrane is the right element. Edge members of constant force
    take the flow in steps; their part of a deflection converges from the stiff side as 1/n^2
    (`stiffness_with_edges` restores it).

    A warped panel works on its projection on the mean plane (that of its two diagonals). Its corners lie in
    turn above and below it, so the forces, which stay parallel to the plane, leave a couple; it is taken
    by the least set of four forces along the normal that balances it exactly.

    References
    ----------
    M. Garvey, The quadrilateral shear panel, Aircraft Engineering 23, 1951 (from memory). That statics keeps
    under a projective change of shape: W. J. M. Rankine, transformation of structures, 1863 (from memory).
    """
    panel = _Panel(corners)
    per_length = shear_modulus / panel.area
    return per_length[:, None, None] * panel.corner_forces[:, :, None] * panel.corner_forces[:, None, :]


def stiffness_with_edges(
    corners: Array, shear_modulus: Array, thickness: Array, edge_axial_rigidity: Array
) -> Array:
    """Stiffness of shear panels that also count how the force in their edge members varies.

    Parameters
    ----------
    corners : (n_elements, 4, 3) float array
        Corner positions, m.
    shear_modulus, thickness : (n_elements,) float array
        G, Pa, and t, m.
    edge_axial_rigidity : (n_elements, 4) float array
        E A of the members along 12, 23, 34, 41, N; infinite where the edge has none of its own to count. A
        member that has a panel on both sides must be left infinite: its flow is the difference of the two.

    Returns
    -------
    (n_elements, 12, 12) float array
        N/m. The members themselves (constant force) are not contained. Not proportional to the thickness.

    Raises
    ------
    DegenerateElement
        Not a convex quadrilateral.

    Notes
    -----
    With bars that carry a constant force this makes a chain of panels exact with one panel a bay.
    """
    panel = _Panel(corners)
    flexibility = panel.area / (shear_modulus * thickness)
    flexibility = flexibility + (panel.force_variation / edge_axial_rigidity).sum(axis=1)
    return panel.corner_forces[:, :, None] * panel.corner_forces[:, None, :] / flexibility[:, None, None]


def edge_flows(corners: Array, displacements: Array, shear_modulus: Array, thickness: Array) -> Array:
    """Mean shear flow along each of the four edges.

    Parameters
    ----------
    corners : (n_elements, 4, 3) float array
        Corner positions, m.
    displacements : (n_elements, 12) float array
        u v w at each corner, m.
    shear_modulus, thickness : (n_elements,) float array
        G, Pa, and t, m.

    Returns
    -------
    (n_elements, 4) float array
        N/m along 12, 23, 34, 41. All of one sign: positive where the diagonal from corner 1 to 3 is
        stretched, that is where what holds the panel pulls it along its edges towards corners 1 and 3.

    Raises
    ------
    DegenerateElement
        Not a convex quadrilateral.

    Notes
    -----
    Belongs to `unit_stiffness`; with `stiffness_with_edges` the edges' flexibility makes the flow smaller.
    """
    panel = _Panel(corners)
    stretch = np.einsum("ei,ei->e", panel.corner_forces, displacements)
    return (shear_modulus * thickness * stretch / panel.area)[:, None] * panel.flow_ratios


def flow_at(corners: Array, flows: Array, points: Array) -> Array:
    """Shear flow q = c/d^2 at points (n_elements, n_points, 3), m, in or on the edge of panels with
    corners (n_elements, 4, 3), m: (n_elements, n_points), N/m, along the lines through the meeting points
    of opposite edges, from the mean flows along the edges by `edge_flows` (n_elements, 4).

    Raises
    ------
    DegenerateElement
        Not a convex quadrilateral.
    """
    panel = _Panel(corners)
    xy = (points - panel.centre[:, None]) @ panel.axes[:, :2].transpose(0, 2, 1)
    # The weight 1/d is of size one; d is linear and fixed by three of the corners (the fourth agrees).
    homogeneous = np.concatenate([panel.xy, np.ones((*panel.xy.shape[:2], 1))], axis=2)
    plane = np.linalg.solve(homogeneous[:, :3], 1 / panel.weights[:, :3, None])[:, :, 0]
    distance = np.einsum("epk,ek->ep", xy, plane[:, :2]) + plane[:, 2:]
    return panel.mean_flow(flows)[:, None] / (distance**2 * panel.weight_product[:, None])


def geometric_stiffness(corners: Array, flows: Array) -> Array:
    """Stiffness that the panel's shear gives to displacement along its normal: integral of grad w . N grad w.

    Parameters
    ----------
    corners, flows
        As for `flow_at`.

    Returns
    -------
    (n_elements, 12, 12) float array
        N/m; unknowns u v w at each corner; acts along the normal of the mean plane only.

    Raises
    ------
    DegenerateElement
        Not a convex quadrilateral.

    Notes
    -----
    w is interpolated by the projective image of the bilinear functions, in which it is linear along the
    edges and any plane is exact: since N is in equilibrium, tilting the panel turns its corner forces
    exactly. A panel alone cannot show its own plate buckling (that is a strength formula or a mesh of
    plates); this is its part in the buckling of what it connects.
    """
    panel = _Panel(corners)
    scalar = panel.mean_flow(flows)[:, None, None] * panel.tilt_stiffness()
    normal = panel.axes[:, 2]
    return np.einsum("eij,ek,el->eikjl", scalar, normal, normal, optimize=True).reshape(-1, 12, 12)


class _Panel:
    """Geometry of panels: mean plane, weights 1/d of the corners, flows and corner forces of a unit q0."""

    def __init__(self, corners: Array) -> None:
        self.axes = _mean_plane(corners)
        self.centre = corners.mean(axis=1)
        local = (corners - self.centre[:, None]) @ self.axes.transpose(0, 2, 1)
        self.xy, height = local[:, :, :2], local[:, :, 2]
        triangles = _triangles_without_corner(self.xy)
        self.area = triangles.sum(axis=1) / 2
        bad = ~(triangles > SMALLEST_CORNER_SHARE * np.abs(self.area)[:, None]).all(axis=1)
        if bad.any():
            raise DegenerateElement("shear panel", np.flatnonzero(bad))
        self.weights = triangles / (self.area / 2)[:, None]
        self.weight_product = np.sqrt(self.weights.prod(axis=1))
        following = np.roll(self.weights, -1, axis=1)
        self.flow_ratios = self.weights * following / self.weight_product[:, None]
        self.edges = np.roll(self.xy, -1, axis=1) - self.xy
        self.corner_forces = self._corner_forces(height)

    def mean_flow(self, flows: Array) -> Array:
        """q0 of given mean flows along the edges."""
        return np.mean(flows / self.flow_ratios, axis=1)

    @property
    def taper(self) -> Array:
        """d at the second end of each edge over d at the first."""
        return self.weights / np.roll(self.weights, -1, axis=1)

    @property
    def force_variation(self) -> Array:
        """Integral of (N - mean N)^2 along each edge member, per unit q0, (n, 4)."""
        length = np.linalg.norm(self.edges, axis=2)
        growth = self.taper[:, :, None]
        force = EDGE_POINTS * growth / (1 + (growth - 1) * EDGE_POINTS)
        variation = (force**2) @ EDGE_WEIGHTS - (force @ EDGE_WEIGHTS) ** 2
        return variation * self.flow_ratios**2 * length**3

    def tilt_stiffness(self) -> Array:
        """Integral of grad w . N grad w for a unit q0, (n, 4, 4).

        In the square's coordinates N is q0 W^2/(mean weight) times the two cross terms and the functions are
        w_i L_i/W, with L_i bilinear and W = sum w_i L_i.
        """
        xi, eta = (grid.ravel() for grid in np.meshgrid(POINTS, POINTS, indexing="ij"))
        bilinear = np.stack([(1 - xi) * (1 - eta), xi * (1 - eta), xi * eta, (1 - xi) * eta])
        by_xi = np.stack([eta - 1, 1 - eta, eta, -eta])
        by_eta = np.stack([xi - 1, -xi, xi, 1 - xi])
        total, total_xi, total_eta = (self.weights @ part for part in (bilinear, by_xi, by_eta))
        weight = self.weights[:, :, None]
        slope_xi = weight * (by_xi * total[:, None] - bilinear * total_xi[:, None])
        slope_eta = weight * (by_eta * total[:, None] - bilinear * total_eta[:, None])
        at_points = np.outer(WEIGHTS, WEIGHTS).ravel() / total**2 / self.weight_product[:, None]
        half = (slope_xi * at_points[:, None]) @ slope_eta.transpose(0, 2, 1)
        return half + half.transpose(0, 2, 1)

    def _corner_forces(self, height: Array) -> Array:
        """Forces on the corners for q0 = 1 in global axes, (n, 12)."""
        towards_one_and_three = np.array([-1.0, 1.0, -1.0, 1.0])
        force = (towards_one_and_three * self.flow_ratios)[:, :, None] * self.edges
        second = _share_of_second_end(self.taper)[:, :, None]
        in_plane = force * (1 - second) + np.roll(force * second, 1, axis=1)
        along_normal = _balance_of_couple(self.xy, height, in_plane)
        local = np.concatenate([in_plane, along_normal[:, :, None]], axis=2)
        return (local @ self.axes).reshape(-1, 12)


def _mean_plane(corners: Array) -> Array:
    """Rows: along the diagonal from corner 1 to 3, across it in the mean plane, normal to both diagonals."""
    normal = np.cross(corners[:, 2] - corners[:, 0], corners[:, 3] - corners[:, 1])
    size = np.linalg.norm(normal, axis=1)
    if not (size > 0).all():
        raise DegenerateElement("shear panel", np.flatnonzero(~(size > 0)))
    normal = normal / size[:, None]
    diagonal = corners[:, 2] - corners[:, 0]
    e1 = diagonal / np.linalg.norm(diagonal, axis=1)[:, None]
    return np.stack([e1, np.cross(normal, e1), normal], axis=1)


def _triangles_without_corner(xy: Array) -> Array:
    """Areas of the triangles of the other three corners, positive in a convex panel, (n, 4)."""
    following, opposite, before = (np.roll(xy, -k, axis=1) for k in (1, 2, 3))
    one, two = opposite - following, before - following
    return (one[:, :, 0] * two[:, :, 1] - one[:, :, 1] * two[:, :, 0]) / 2


def _share_of_second_end(taper: Array) -> Array:
    """Part of the force of a flow 1/d^2 along an edge that goes to the second end, d2/d1 = taper.

    (1/mean) integral of s/d^2 = (r ln r + 1 - r)/(r - 1)^2, a half at r = 1.
    """
    excess = taper - 1
    near_one = np.abs(excess) < 0.1
    safe = np.where(near_one, 1.0, excess)
    closed = ((1 + safe) * np.log1p(safe) - safe) / safe**2
    small = np.where(near_one, excess, 0.0)[..., None]
    series = ((-small) ** SERIES_TERMS / ((SERIES_TERMS + 1) * (SERIES_TERMS + 2))).sum(axis=-1)
    return np.where(near_one, series, closed)


def _balance_of_couple(xy: Array, height: Array, in_plane: Array) -> Array:
    """Least four forces along the normal that balance the couple of in-plane forces at their heights."""
    balance = np.concatenate([np.ones((len(xy), 1, 4)), xy.transpose(0, 2, 1)], axis=1)
    couple = np.einsum("ei,eik->ek", height, in_plane)
    needed = np.concatenate([np.zeros((len(xy), 1)), couple], axis=1)
    gram = balance @ balance.transpose(0, 2, 1)
    return np.einsum("eji,ej->ei", balance, np.linalg.solve(gram, needed[:, :, None])[:, :, 0])


@dataclass(frozen=True, eq=False)
class ShearPanels:
    """A block of shear panels.

    Parameters
    ----------
    nodes : (n_elements, 4) int array
        Node numbers, in order round the panel.
    thickness : (n_elements,) float array
        m.
    shear_modulus : (n_elements,) float array
        G, Pa.
    offsets : (n_elements, 4, 3) float array or None
        Node to corner, m.
    edge_axial_rigidity : (n_elements, 4) float array or None
        E A of the members along the edges whose linear part of the force the panels count, N; see
        `stiffness_with_edges`. None leaves the stiffness proportional to the thickness.
    density : (n_elements,) float array or None
        kg/m3.
    part : (n_elements,) int array or None
        Which part of the structure each belongs to.
    """

    nodes: NDArray[np.intp]
    thickness: Array
    shear_modulus: Array
    offsets: Array | None = None
    edge_axial_rigidity: Array | None = None
    density: Array | None = None
    part: NDArray[np.intp] | None = None
    freedoms: ClassVar[int] = 3
    kind: ClassVar[str] = "shear panel"

    @property
    def scale(self) -> Array:
        """Factor on the unit stiffness, (n_elements,): thickness, m, or 1 if the edges' force is counted."""
        return self.thickness if self.edge_axial_rigidity is None else np.ones(len(self.nodes))

    def unit_stiffness(self, corners: Array) -> Array:
        """Stiffness per unit scale, (n_elements, 12, 12)."""
        if self.edge_axial_rigidity is None:
            return unit_stiffness(corners, self.shear_modulus)
        return stiffness_with_edges(corners, self.shear_modulus, self.thickness, self.edge_axial_rigidity)

    def mass(self, corners: Array) -> Array:
        """Lumped mass on the corners' movements."""
        density = np.zeros(len(corners)) if self.density is None else self.density
        return lumped_mass(corners, self.thickness * density, self.freedoms)

    def recover(self, corners: Array, displacements: Array) -> dict[str, Array]:
        """Mean shear flow along the edges 12, 23, 34, 41: {"shear_flow": (n_elements, 4, ...)}, N/m."""
        panel = _Panel(corners)
        moves = displacements.reshape(len(corners), 12, *displacements.shape[3:])
        stretch = np.einsum("ei,ei...->e...", panel.corner_forces, moves)
        flexibility = panel.area / (self.shear_modulus * self.thickness)
        if self.edge_axial_rigidity is not None:
            flexibility = flexibility + (panel.force_variation / self.edge_axial_rigidity).sum(axis=1)
        return {"shear_flow": np.einsum("ek,e...->ek...", panel.flow_ratios / flexibility[:, None], stretch)}

    def geometric_stiffness(self, corners: Array, recovered: dict[str, Array]) -> Array:
        """Stiffness of the stressed panel against normal movement, (n_elements, 12, 12)."""
        return geometric_stiffness(corners, recovered["shear_flow"])
