"""A structure: nodes, blocks of elements of one kind each, supports and named parts; immutable once built."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from fea.arrays import Array, Ints
from fea.offsets import flattened

_FEW = 3_000
"""Elements made flat together: few enough for a processor's cache."""


class Block(Protocol):
    """What every block of elements offers; see the classes in `fea.elements`.

    `freedoms` is 3 where its matrices act on the movements of the corners alone, 6 with their rotations.
    """

    @property
    def nodes(self) -> Ints: ...
    @property
    def offsets(self) -> Array | None: ...
    @property
    def part(self) -> Ints | None: ...
    @property
    def freedoms(self) -> int: ...
    @property
    def kind(self) -> str: ...
    @property
    def scale(self) -> Array: ...
    def unit_stiffness(self, corners: Array) -> Array: ...
    def mass(self, corners: Array) -> Array: ...
    def recover(self, corners: Array, displacements: Array) -> dict[str, Array]: ...
    def geometric_stiffness(self, corners: Array, recovered: dict[str, Array]) -> Array: ...


class BadStructure(ValueError):
    """The description of a structure does not hold together; the message says which array and what is
    wrong."""


@dataclass(frozen=True, eq=False)
class Supports:
    """Held or prescribed movements and rotations, one row each.

    Parameters
    ----------
    node : (n_supports,) int array
        Node numbers.
    turns : (n_supports,) bool array
        False: the movement along `direction`; True: the rotation about it.
    direction : (n_supports, 3) float array
        Unit vectors; those of one node and kind must be square to each other.
    value : (n_supports,) float array
        Prescribed movement (m) or rotation (rad); 0 for a fixed support.
    """

    node: Ints
    turns: NDArray[np.bool_]
    direction: Array
    value: Array

    @staticmethod
    def none() -> Supports:
        """No support at all: a free body."""
        return Supports(np.zeros(0, dtype=np.intp), np.zeros(0, dtype=bool), np.zeros((0, 3)), np.zeros(0))

    @staticmethod
    def fixed(nodes: Ints | list[int], freedoms: str = "xyzXYZ") -> Supports:
        """Hold nodes (n,) along the axes named, in any order: x y z for movements, X Y Z for
        rotations."""
        nodes = np.asarray(nodes, dtype=np.intp)
        index = np.array(["xyzXYZ".index(f) for f in freedoms], dtype=np.intp)
        which = np.tile(index, len(nodes))
        return Supports(np.repeat(nodes, len(index)), which >= 3, np.eye(3)[which % 3], np.zeros(len(which)))

    def __add__(self, other: Supports) -> Supports:
        return Supports(
            np.concatenate([self.node, other.node]),
            np.concatenate([self.turns, other.turns]),
            np.concatenate([self.direction, other.direction]),
            np.concatenate([self.value, other.value]),
        )


@dataclass(frozen=True, eq=False)
class Structure:
    """Nodes, blocks of elements and supports.

    Parameters
    ----------
    nodes : (n_nodes, 3) float array
        Positions, m.
    blocks : mapping of str to Block
        Named blocks of elements.
    supports : Supports
        What is held.
    parts : tuple of str
        Names that the blocks' `part` numbers refer to.

    Raises
    ------
    BadStructure
        A shape does not fit, a node number does not exist, a number is not finite, or a node is held twice
        the same way.
    """

    nodes: Array
    blocks: Mapping[str, Block]
    supports: Supports = field(default_factory=Supports.none)
    parts: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if self.nodes.ndim != 2 or self.nodes.shape[1] != 3:
            raise BadStructure(f"nodes: shape {self.nodes.shape}, expected (n, 3)")
        if not np.isfinite(self.nodes).all():
            raise BadStructure(
                f"nodes: node {int(np.argwhere(~np.isfinite(self.nodes))[0, 0])} is not finite"
            )
        for name, block in self.blocks.items():
            if block.nodes.size and (block.nodes.min() < 0 or block.nodes.max() >= len(self.nodes)):
                raise BadStructure(
                    f"{name}: node {int(block.nodes.max())} of {len(self.nodes)} does not exist"
                )
            if block.offsets is not None and block.offsets.shape != (*block.nodes.shape, 3):
                raise BadStructure(
                    f"{name}: offsets {block.offsets.shape}, expected {(*block.nodes.shape, 3)}"
                )
            if not np.isfinite(block.scale).all():
                raise BadStructure(
                    f"{name}: a property of element {int(np.argmin(np.isfinite(block.scale)))} is not finite"
                )
        held = self.supports.node
        if held.size and (held.min() < 0 or held.max() >= len(self.nodes)):
            bad = int(held.min() if held.min() < 0 else held.max())
            raise BadStructure(f"supports: node {bad} of {len(self.nodes)} does not exist")
        _check_square(self.supports)
        self.nodes.flags.writeable = False

    @property
    def freedoms(self) -> int:
        """Freedoms of a node: 3 where nothing turns (no rotation, no offset), else 6."""
        turning = any(b.freedoms == 6 or b.offsets is not None for b in self.blocks.values())
        return 6 if turning else 3

    def corners(self, block: Block) -> tuple[Array, Array | None]:
        """Corner positions of a block's elements, and the links from node to corner.

        Warped quadrilaterals are flattened onto their mean plane (see `fea.offsets.flattening_matrix`).

        Returns
        -------
        corners : (n_elements, n_corners, 3) float array
            m.
        offsets : (n_elements, n_corners, 3) float array or None
            m, to the true corners; None where every corner is its node.
        """
        return self.flat_corners(block)[0], block.offsets

    def flat_corners(self, block: Block) -> tuple[Array, Array | None]:
        """Corner positions of a block's elements, (n_elements, n_corners, 3), m, and the stubs from the true
        corners to them where any quadrilateral is warped, else None.
        """
        corners = self.true_corners(block)
        if block.nodes.shape[1] != 4 or block.kind in ("shear panel", "tie", "mass"):
            return corners, None
        parts = [corners[first : first + _FEW] for first in range(0, len(corners), _FEW)]
        found = [flattened(part) for part in parts]
        if all(flat is part for (flat, _), part in zip(found, parts)):
            return corners, None
        flat, stubs = (np.concatenate(rows) for rows in zip(*found))
        return flat, stubs

    def true_corners(self, block: Block) -> Array:
        """Corner positions of a block's elements where they are, warped or not, (n_elements, n_corners, 3),
        m.
        """
        at = np.take(self.nodes, block.nodes, axis=0)
        return at if block.offsets is None else at + block.offsets


def _check_square(supports: Supports) -> None:
    """Directions held at one node must be unit and square to each other."""
    length = np.linalg.norm(supports.direction, axis=1)
    if supports.node.size and not np.allclose(length, 1, rtol=1e-9, atol=0):
        raise BadStructure(
            f"supports: direction of row {int(np.argmax(np.abs(length - 1)))} is not a unit vector"
        )
    order = np.lexsort((supports.turns, supports.node))
    for back in (1, 2, 3):
        if len(order) <= back:
            break
        here, there = order[back:], order[:-back]
        same = (supports.node[here] == supports.node[there]) & (supports.turns[here] == supports.turns[there])
        along = np.abs(np.einsum("ij,ij->i", supports.direction[here], supports.direction[there]))
        if (same & (along > 1e-9)).any() or (back == 3 and same.any()):
            bad = int(supports.node[here[np.argmax(same & (along > 1e-9))]])
            raise BadStructure(
                f"supports: node {bad} is held twice in one direction, or in directions not square"
            )


@dataclass(frozen=True, eq=False)
class Loads:
    """Forces and moments on nodes, any number of cases side by side.

    Parameters
    ----------
    nodal : (n_nodes, 6, n_cases) float array
        Forces (N) and moments (N m) in global axes.
    """

    nodal: Array

    @staticmethod
    def zero(structure: Structure) -> Loads:
        """No load, in one case."""
        return Loads(np.zeros((len(structure.nodes), 6, 1)))

    @staticmethod
    def forces(structure: Structure, rows: list[tuple[int, tuple[float, ...]]]) -> Loads:
        """One case from rows of a node's number and its force (N) and moment (N m), or three floats,
        a force alone."""
        nodal = np.zeros((len(structure.nodes), 6, 1))
        for node, components in rows:
            nodal[node, : len(components), 0] += components
        return Loads(nodal)
