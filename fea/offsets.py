"""Rigid links between an element's corners and the nodes they hang on.

A corner at distance r from its node moves by u + theta x r and turns with it, so a matrix on corner freedoms
becomes one on node freedoms by the congruence T' K T. Also flattens warped quadrilaterals: the plane element
lives on the mean plane, and the tilt of its true corners carries the short normal stubs between the two,
which keeps rigid motions free of force and asks nothing of the nodes' rotations.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.arrays import Array


def cross_matrix(r: Array) -> Array:
    """Skew matrix S of the map theta -> theta x r, (..., 3, 3), for links r from node to corner, (...,
    3), m."""
    out = np.zeros((*r.shape, 3))
    out[..., 0, 1], out[..., 0, 2] = r[..., 2], -r[..., 1]
    out[..., 1, 0], out[..., 1, 2] = -r[..., 2], r[..., 0]
    out[..., 2, 0], out[..., 2, 1] = r[..., 1], -r[..., 0]
    return out


def link_matrix(offsets: Array, freedoms: int, extra: Array | None = None) -> Array:
    """Matrix T from node freedoms to corner freedoms of every element.

    Parameters
    ----------
    offsets : (n_elements, n_corners, 3) float array
        Node to corner, m.
    freedoms : int
        Freedoms of a corner: 3 (movement) or 6 (movement and rotation).
    extra : (n_elements, n_corners, 3, 3) float array or None
        Movement of the corner per rotation of the node besides that of the rigid link, m.

    Returns
    -------
    (n_elements, n_corners, freedoms, 6) float array
        One block a corner; corners do not mix.
    """
    n_elements, n_corners, _ = offsets.shape
    link = np.zeros((n_elements, n_corners, freedoms, 6))
    link[..., :3, :3] = np.eye(3)
    link[..., :3, 3:] = cross_matrix(offsets)
    if extra is not None:
        link[..., :3, 3:] += extra
    if freedoms == 6:
        link[..., 3:, 3:] = np.eye(3)
    return link


@dataclass(frozen=True, eq=False)
class Bow:
    """How corners that hang beside a member move with its bow between two nodes.

    What is glued along a member hands its shear flow over all the way and not at the nodes alone. The flow
    works on the mean movement of the member's face, and the mean rotation of a member that bends into an S
    between its nodes is not that of its ends.

    Parameters
    ----------
    mates : (n_elements, n_corners) int array
        The corner at the other end of the member's piece.
    links : (n_elements, n_corners, 3, 6) float array
        Movement of the corner per difference of the nodes' movements, the mate's less its own, and per sum of
        their rotations (m). Nought for rigid motion and for constant curvature.
    """

    mates: NDArray[np.intp]
    links: Array

    def of(self, some: slice | NDArray[np.intp]) -> Bow:
        """Those of some elements."""
        return Bow(self.mates[some], self.links[some])


def bow_links(offsets: Array, chords: Array, up: Array, share_up: Array, share_aside: Array) -> Array:
    """Links of a `Bow` for members that are beams.

    With a the rotation of the chord between the nodes less the mean rotation of its ends, the face turns by a
    share of a more than the nodes do, and a corner at r from its node moves along the member by that.

    Parameters
    ----------
    offsets : (..., 3) float array
        Node to corner, m.
    chords : (..., 3) float array
        From the corner's own node to its mate's, m.
    up : (3,) float array
        Direction whose part square to the member is that of its local z.
    share_up, share_aside : (...) float array
        Shares of a that count, of bending up and down and of bending sideways; from
        `fea.elements.beam.line_load_share`, or 0.

    Returns
    -------
    (..., 3, 6) float array
        1 and m.
    """
    length = np.linalg.norm(chords, axis=-1, keepdims=True)
    along = chords / length
    above = up - (along @ up)[..., None] * along
    above /= np.linalg.norm(above, axis=-1, keepdims=True)
    aside = np.cross(along, above)
    arm = np.einsum("...i,...ij->...j", along, cross_matrix(offsets))
    # Bending up and down turns about the sideways axis.
    counts = share_up[..., None] * np.einsum("...i,...i->...", arm, aside)[..., None] * aside
    counts += share_aside[..., None] * np.einsum("...i,...i->...", arm, above)[..., None] * above
    chord_turn = np.cross(counts, along) / length
    rows = np.concatenate([chord_turn, -counts / 2], axis=-1)
    return np.asarray(along[..., :, None] * rows[..., None, :])


def corner_matrix(
    offsets: Array,
    freedoms: int,
    extra: Array | None = None,
    flatten: Array | None = None,
    bow: Bow | None = None,
) -> Array:
    """One matrix an element from the freedoms of its nodes to those of its (flattened) corners.

    Parameters
    ----------
    offsets : (n_elements, n_corners, 3) float array
        Node to corner, m.
    freedoms : int
        Freedoms of a corner, 3 or 6.
    extra : (n_elements, n_corners, 3, 3) float array or None
        As for `link_matrix`.
    flatten : (n_elements, n_corners * freedoms, n_corners * freedoms) float array or None
        From `flattening_matrix`, for warped quadrilaterals.
    bow : Bow or None
        Of the members beside.

    Returns
    -------
    (n_elements, n_corners * freedoms, n_corners * 6) float array
        Link, bow and flattening in one.
    """
    n_elements, n_corners, _ = offsets.shape
    out = np.zeros((n_elements, n_corners, freedoms, n_corners, 6))
    np.einsum("ecicj->ecij", out)[...] = link_matrix(offsets, freedoms, extra)
    if bow is not None:
        e = np.arange(n_elements)
        for c in range(n_corners):
            mate, link = bow.mates[:, c], bow.links[:, c]
            out[e, c, :3, mate] += link
            out[:, c, :3, c, :3] -= link[..., :3]
            out[:, c, :3, c, 3:] += link[..., 3:]
    whole: Array = out.reshape(n_elements, n_corners * freedoms, n_corners * 6)
    return whole if flatten is None else flatten @ whole


def to_nodes(matrices: Array, at_corners: Array) -> Array:
    """Carry element matrices from corner freedoms to node freedoms, T' K T with T from `corner_matrix`:
    (n_elements, n_corners freedoms, ...) to (n_elements, 6 n_corners, ...).

    One dense product for each element: small products by the thousand cost more than the zeros in T.
    """
    return np.asarray(np.swapaxes(at_corners, 1, 2) @ (matrices @ at_corners))


def corner_displacements(
    node_displacements: Array,
    offsets: Array,
    freedoms: int,
    extra: Array | None = None,
    bow: Bow | None = None,
) -> Array:
    """Movement of the corners from that of the nodes.

    Parameters
    ----------
    node_displacements : (n_elements, n_corners, 6, ...) float array
        Movement (m) and rotation (rad) of each element's nodes.
    offsets, freedoms, extra, bow
        As for `corner_matrix`.

    Returns
    -------
    (n_elements, n_corners, freedoms, ...) float array
        Movement (m) and, with 6, rotation (rad) of the corners.
    """
    return linked(node_displacements, link_matrix(offsets, freedoms, extra), bow)


def linked(node_displacements: Array, link: Array, bow: Bow | None = None) -> Array:
    """`corner_displacements` by links that are there, from `link_matrix`."""
    out = np.einsum("ecij,ecj...->eci...", link, node_displacements)
    if bow is not None:
        mates = node_displacements[np.arange(len(link))[:, None], bow.mates]
        change = np.concatenate(
            [(mates - node_displacements)[:, :, :3], (mates + node_displacements)[:, :, 3:]], axis=2
        )
        out[:, :, :3] += np.einsum("ecij,ecj...->eci...", bow.links, change)
    return np.asarray(out)


def node_forces(
    corner_forces: Array, offsets: Array, freedoms: int, extra: Array | None = None, bow: Bow | None = None
) -> Array:
    """Forces on nodes from those on corners, the transpose of `corner_displacements`.

    Parameters
    ----------
    corner_forces : (n_elements, n_corners, freedoms, ...) float array
        Forces (N) and, with 6, moments (N m) on the corners.
    offsets, freedoms, extra, bow
        As for `corner_matrix`.

    Returns
    -------
    (n_elements, n_corners, 6, ...) float array
        Forces (N) and moments (N m) on the nodes.
    """
    out = np.einsum("ecij,eci...->ecj...", link_matrix(offsets, freedoms, extra), corner_forces)
    if bow is not None:
        change = np.einsum("ecij,eci...->ecj...", bow.links, corner_forces[:, :, :3])
        e = np.arange(len(offsets))
        for c in range(offsets.shape[1]):
            out[e, bow.mates[:, c]] += change[:, c]
            out[:, c, :3] -= change[:, c, :3]
            out[:, c, 3:] += change[:, c, 3:]
    return np.asarray(out)


def flattened(corners: Array) -> tuple[Array, Array]:
    """Corners of quadrilaterals, (n_elements, 4, 3), m, moved to their mean plane, and the stubs from the
    true corner to the flat one, m, zero for plane elements.

    The mean plane passes through the centroid of the corners, square to the cross product of the diagonals;
    warped corners lie alternately above and below it by the same distance.
    """
    # Elements last: so short vectors are several times as fast that way.
    at = np.ascontiguousarray(corners.transpose(1, 2, 0))
    (a, b, c), (d, e, f) = at[2] - at[0], at[3] - at[1]
    normal = np.stack([b * f - c * e, c * d - a * f, a * e - b * d])
    normal /= np.sqrt((normal * normal).sum(axis=0))
    at -= at.mean(axis=0)
    height = at[:, 0] * normal[0] + at[:, 1] * normal[1] + at[:, 2] * normal[2]
    warped = np.abs(height).max(axis=0) >= 1e-12 * np.abs(at).max(axis=(0, 1))
    if not warped.any():
        return corners, np.zeros_like(corners)
    stubs = np.where(warped, -height[:, None] * normal, 0.0).transpose(2, 0, 1)
    return corners + stubs, np.ascontiguousarray(stubs)


def flattening_matrix(flat: Array, stubs: Array, freedoms: int) -> Array:
    """Matrix from the freedoms of the true corners of warped quadrilaterals to those of the flattened ones.

    The stubs turn with the plane fitted to the normal movement of the four corners: u_flat = u + h grad(n .
    u), with h the height of the true corner above the plane. Transposed, it balances the couple of forces
    that act h off their corners by the least set of four forces along the normal.

    Parameters
    ----------
    flat : (n_elements, 4, 3) float array
        Corners in the plane, m.
    stubs : (n_elements, 4, 3) float array
        From the true corner to the flat one, along the normal, m.
    freedoms : int
        Freedoms of a corner, 3 or 6; rotations are the same for both.

    Returns
    -------
    (n_elements, 4 * freedoms, 4 * freedoms) float array
        The unit matrix where there is no stub.
    """
    n_elements = len(flat)
    normal = np.cross(flat[:, 2] - flat[:, 0], flat[:, 3] - flat[:, 1])
    normal = normal / np.linalg.norm(normal, axis=1, keepdims=True)
    arm = flat - flat.mean(axis=1, keepdims=True)
    # Arms have no part along the normal; n n' of their own size only makes the matrix invertible.
    size2 = (arm**2).sum(axis=(1, 2))
    moment = np.swapaxes(arm, 1, 2) @ arm + size2[:, None, None] * normal[:, :, None] * normal[:, None, :]
    gradient = arm @ np.linalg.inv(moment)
    height = -(stubs @ normal[:, :, None])[..., 0]
    tilt = height[:, :, None, None] * gradient[:, None]  # corner, node, direction
    out = np.zeros((n_elements, 4, freedoms, 4, freedoms))
    out[:, :, :3, :, :3] = tilt.transpose(0, 1, 3, 2)[..., None] * normal[:, None, None, None, :]
    whole = out.reshape(n_elements, 4 * freedoms, 4 * freedoms)
    whole[:, np.arange(4 * freedoms), np.arange(4 * freedoms)] += 1
    return whole
