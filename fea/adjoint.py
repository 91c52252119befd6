"""Sensitivities by the adjoint: what every design variable does to a few figures, for one solve a figure.

A figure J that depends on the movements u has the gradient c = dJ/du; its adjoint movements are those under c
as a load, K a = c. Then dJ/dp = (dJ/dp with u held) - a' dr/dp, where r = K u - f is what is left over of the
forces when the variable moves and u does not: one product for each variable, however many there are. Of a
free body f has the inertia that balances the loads in it. If the adjoint movements are shifted by a rigid
motion until the mass takes no part in them (a' M R = 0, R the rigid motions), the change of the rigid
acceleration drops out, and r may be formed with the acceleration held as well. The shift is free, since the
forces left over are in balance to first order.

Source: Haftka and Guerdal, Elements of Structural Optimization, ch. 7, adjoint method for static response
(from memory); the shift for a free body follows from the balance of its loads (derived here).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from fea.arrays import Array, Ints
from fea.assembly import rigid_motions
from fea.reanalysis import pinned
from fea.solve import Factor, Solution, allowed_motions, factorise

_BALANCED = 1e-6
"""Largest part of a gradient, over its size, that may work on a rigid motion; central differences of a
gradient leave about the square of this."""


class UnbalancedGradient(ValueError):
    """A figure of a free body changes when the whole body is moved, which no support tells where to: carries
    the number of the row and the share of the gradient that works on rigid motions."""

    def __init__(self, row: int, share: float) -> None:
        self.row, self.share = row, share
        super().__init__(f"figure {row} changes with the rigid motion of a free body ({share:.1e} of it)")


@dataclass(frozen=True, eq=False)
class Adjoint:
    """Adjoint movements of some figures of one solved structure.

    Parameters
    ----------
    solution : Solution
        The structure as it was solved.
    case : int
        Column of the solution that the figures are of.
    factor : Factor
        Of its stiffness, the pins of a free body included.
    moves : (n_nodes, 6, n_figures) float array
        Adjoint movements, in the figure's unit per newton and per newton metre.
    """

    solution: Solution
    case: int
    factor: Factor
    moves: Array

    def of_residual(self, change: Array) -> Array:
        """Change of the figures with forces that the variable leaves over when the movements are held.

        Parameters
        ----------
        change : (n_nodes, 6, n_variables) float array
            d(K u - f)/dp with u held, N and N m per unit of the variable; of a free body the rigid
            acceleration may be held too, as its inertia counts in f.

        Returns
        -------
        (n_figures, n_variables) float array
            -a' dr/dp, to which what the figures change with u held has to be added.
        """
        return np.asarray(-np.einsum("nif,niv->fv", self.moves, change))

    def of_scales(self, groups: Mapping[str, Ints], n_groups: int, *, with_mass: bool = False) -> Array:
        """Change of the figures with factors on the stiffness of groups of elements, at a factor of 1.

        K = K_fixed + sum of s_g K_g: the property-linear case, which needs no difference at all.

        Parameters
        ----------
        groups : mapping of str to (n_elements,) int array
            Group of every element of a block, -1 for those that stay; blocks left out stay.
        n_groups : int
            How many groups there are.
        with_mass : bool
            The factor is on the mass too, whose inertia (in a free body) changes with it.

        Returns
        -------
        (n_figures, n_groups) float array
        """
        assembly = self.solution.assembly
        moved = self.solution.displacements[:, :, self.case]
        rigid = rigid_motions(assembly.structure.nodes) @ self.solution.acceleration[:, [self.case]]
        out = np.zeros((self.moves.shape[2], n_groups))
        unit_stiffness = assembly.unit_stiffness()
        for name, numbers in groups.items():
            block = assembly.structure.blocks[name]
            mine = np.flatnonzero(numbers >= 0)
            if not len(mine):
                continue
            d, nodes = assembly.freedoms, block.nodes[mine]
            left, right = self.moves[nodes][:, :, :d], moved[nodes][:, :, :d]
            pull = np.einsum("eaibj,ebj->eai", unit_stiffness[name][mine], right)
            work = np.einsum("eaif,eai->ef", left, pull * block.scale[mine][:, None, None])
            if with_mass:
                mass = assembly.on_nodes(name, block.mass(assembly.corners(name)))[mine]
                fast = rigid.reshape(-1, 6)[nodes][:, :, :d]
                work += np.einsum("eaif,eaibj,ebj->ef", left, mass, fast)
            np.add.at(out.T, numbers[mine], -work)
        return out


def adjoint(solution: Solution, gradients: Array, case: int = 0, factor: Factor | None = None) -> Adjoint:
    """Solve for the adjoint movements of some figures.

    Parameters
    ----------
    solution : Solution
        From `fea.solve.statics` on the structure's own supports, or from `fea.solve.free_body`.
    gradients : (n_nodes, 6, n_figures) float array
        dJ/du of each figure: its change per metre and per radian. For J = c' u it is c.
    case : int
        Column of the solution that the figures are of.
    factor : Factor or None
        Of the structure's stiffness with pins, if there is one already.

    Raises
    ------
    UnbalancedGradient
        A figure of a free body is not indifferent to its rigid motions.
    fea.solve.Mechanism
        Something can move freely.
    """
    assembly = solution.assembly
    factor = factorise(assembly, pinned(assembly)) if factor is None else factor
    load = assembly.vector(gradients)
    motions = rigid_motions(assembly.structure.nodes, assembly.freedoms)
    allowed = allowed_motions(assembly, assembly.structure.supports, motions)
    rigid = motions @ allowed  # none where the supports hold it
    arm = max(float(np.ptp(assembly.structure.nodes, axis=0).max()), 1e-300)
    for row in range(load.shape[1] if rigid.shape[1] else 0):
        size = float((np.abs(load[:, row]) @ np.abs(rigid)).max())
        share = float(np.abs(rigid.T @ load[:, row]).max()) / max(size, 1e-300 * arm)
        if share > _BALANCED:
            raise UnbalancedGradient(row, share)
    moves = factor.turn @ factor.solve(np.asarray(factor.turn.T @ load))
    if rigid.shape[1] and solution.acceleration.any():
        carried = assembly.rigid_inertia() @ allowed
        moves = moves - rigid @ np.linalg.solve(rigid.T @ carried, carried.T @ moves)
    return Adjoint(solution, case, factor, assembly.nodal(np.asarray(moves)))
