"""Assembly of a structure that differs from another one in some blocks: what blocks have alike is taken over.

A study builds a structure again and again with one size changed. Blocks that are the same number by number
have the same matrices, inertia and forces, and are not worked out again; nothing is approximated.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from typing import Any

import numpy as np

from fea.arrays import Array
from fea.assembly import Assembly
from fea.structure import Block, Structure


class Known:
    """What is known of one structure under some movements, each block by itself, as it is first asked for.

    Parameters
    ----------
    assembly : Assembly
        Of the structure.
    moves : (n_nodes, 6) float array
        m and rad.
    """

    def __init__(self, assembly: Assembly, moves: Array) -> None:
        self.assembly, self.moves = assembly, moves
        self._rows: dict[str, Array] = {}
        self._masses: dict[str, Array | None] = {}
        self._pulls: dict[str, Array] = {}

    def rows(self) -> dict[str, Array]:
        """Unit stiffness of every block as the assembly keeps it, one row a pair of nodes."""
        if not self._rows:
            together, first = self.assembly._unit_by_pair(), 0
            for name, block in self.assembly.structure.blocks.items():
                n, k = block.nodes.shape
                self._rows[name] = together[first : first + n * k * k]
                first += n * k * k
        return self._rows

    def mass_times(self, name: str, motions: Array) -> Array | None:
        """Mass of a block's elements times the rigid motions; None where it has none."""
        if name not in self._masses:
            block = self.assembly.structure.blocks[name]
            self._masses[name] = self.assembly._mass_times(name, block, motions)
        return self._masses[name]

    def pull(self, name: str) -> Array:
        """Forces on the nodes that hold a block under the movements, (n_nodes, 6), N and N m."""
        if name not in self._pulls:
            self._pulls[name] = pull(self.assembly, name, self.moves)
        return self._pulls[name]


class Beside(Assembly):
    """Matrices of a structure beside a known one.

    Parameters
    ----------
    structure : Structure
        What to assemble.
    known : Known
        Of another one.

    Attributes
    ----------
    alike : frozenset of str
        Blocks that are the same in both, number by number.
    """

    def __init__(self, structure: Structure, known: Known) -> None:
        super().__init__(structure)
        self.known = known
        other = known.assembly
        self.alike = frozenset(
            name
            for name, block in structure.blocks.items()
            if (theirs := other.structure.blocks.get(name)) is not None
            and other.freedoms == self.freedoms
            and _same(block, theirs)
            and _same(structure.nodes[block.nodes], other.structure.nodes[block.nodes])
        )

    def _unit_by_pair(self) -> Array:
        if self._unit is None:
            rows = self.known.rows()
            self._unit = self._by_pair(
                lambda name, block: block.unit_stiffness(self.corners(name)),
                unit=True,
                known={name: rows[name] for name in self.alike},
            )
            self._unit.flags.writeable = False
        return self._unit

    def _mass_times(self, name: str, block: Block, motions: Array) -> Array | None:
        if name in self.alike:
            return self.known.mass_times(name, motions)
        return super()._mass_times(name, block, motions)

    def pull_less_known(self) -> Array:
        """Forces that hold this structure under the known movements, less those that hold the known one,
        (n_nodes, 6), N and N m."""
        moves = self.known.moves
        out = np.zeros((len(self.structure.nodes), 6))
        for name in {**self.known.assembly.structure.blocks, **self.structure.blocks}:
            if name in self.alike:
                continue
            if name in self.structure.blocks:
                out += pull(self, name, moves)
            if name in self.known.assembly.structure.blocks:
                out -= self.known.pull(name)
        return out

    def recover_beside(self, recovered: Mapping[str, dict[str, Array]]) -> Mapping[str, dict[str, Array]]:
        """What every block recovers from the known movements, where the known structure's is at hand."""
        return {
            name: recovered[name] if name in self.alike else self.recover_block(name, self.known.moves)
            for name in self.structure.blocks
        }


def pull(assembly: Assembly, name: str, moves: Array) -> Array:
    """Forces on the nodes that hold a block's elements under movements (n_nodes, 6): (n_nodes, 6)."""
    block = assembly.structure.blocks[name]
    n, k = block.nodes.shape
    if not n:
        return np.zeros((len(moves), 6))
    unit = block.unit_stiffness(assembly.corners(name)).reshape(n, k * block.freedoms, -1)
    at = assembly.element_displacements(name, moves).reshape(n, k * block.freedoms, 1)
    force = block.scale[:, None] * (unit @ at)[:, :, 0]
    return assembly.nodal_forces(name, force.reshape(n, k, block.freedoms))


def _same(one: Any, other: Any) -> bool:
    """Whether two blocks, or what they are made of, are the same number by number."""
    if one is other:
        return True
    if type(one) is not type(other):
        return False
    if isinstance(one, np.ndarray):
        return one.shape == other.shape and bool((one == other).all())
    if is_dataclass(one):
        return all(_same(getattr(one, f.name), getattr(other, f.name)) for f in fields(one))
    if isinstance(one, (tuple, list)):
        return len(one) == len(other) and all(map(_same, one, other))
    return bool(one == other)
