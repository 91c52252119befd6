"""Structures and their solutions as VTU files, through meshio, for any viewer; and such files read back.

Every element is drawn where its corners are, not where its nodes are: a point of the file is a node together
with the offset of the corners that hang on it there. Numbers that a kind of element does not have are NaN on
it. A file is written beside its place and put there whole.
"""

from __future__ import annotations

import os
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from fea.assembly import Assembly
from fea.offsets import corner_displacements
from fea.solve import Solution
from fea.structure import Array, Block, Ints, Structure

_CELL_OF_CORNERS = {1: "vertex", 2: "line", 3: "triangle", 4: "quad"}
_MOST_CORNERS = max(_CELL_OF_CORNERS)
_COMPONENTS = {
    ("beam", "forces"): ("N", "V_y", "V_z", "T", "M_y", "M_z"),
    ("spring", "force"): ("x", "y", "z", "about x", "about y", "about z"),
}
"""Names of the components that are written one by one; the others are written as vectors."""
_BLOCK, _PART = "block", "part"
_NAMES = {_BLOCK: "block names", _PART: "part names"}


@dataclass(frozen=True, eq=False)
class Exported:
    """What a file written by `write` holds.

    Parameters
    ----------
    points : (n_points, 3) float array
        Corner positions, m.
    blocks : dict of str to (n_elements, n_corners) int array
        Point numbers of every block's corners.
    part : dict of str to (n_elements,) int array
        Part of every element, a place in `parts`; -1 for none.
    parts : tuple of str
        Names of the parts.
    point_data : dict of str to (n_points, ...) float array
        Movements (m) and rotations (rad).
    cell_data : dict of str to dict of str to (n_elements, ...) float array
        For every field, the blocks that have it.
    """

    points: Array
    blocks: dict[str, Ints]
    part: dict[str, Ints]
    parts: tuple[str, ...]
    point_data: dict[str, Array]
    cell_data: dict[str, dict[str, Array]]


def write(
    path: str | os.PathLike[str],
    structure: Structure,
    solution: Solution | None = None,
    *,
    case: int = 0,
    fields: Mapping[str, Mapping[str, Array]] | None = None,
) -> None:
    """Write a structure, one case of its solution and other numbers of its elements to a VTU file.

    Parameters
    ----------
    path : str or path
        Where to; a file that is there is replaced.
    structure : Structure
        What to draw.
    solution : Solution or None
        Its displacements become point data `displacement` (m) and `rotation` (rad), what its blocks recover
        cell data.
    case : int
        Which case of the solution.
    fields : mapping of str to mapping of str to (n_elements,) or (n_elements, n) float array
        Further cell data: name, then block, then one row an element. Blocks left out get NaN.

    Raises
    ------
    ValueError
        A field names no block of the structure, has the wrong number of rows, or differs in width between
        blocks.
    OSError
        The file cannot be written; whatever was at its place before is still there.

    Notes
    -----
    Cell data `part` and `block` are numbers; their names stand in the field data `part names` and `block
    names` as the bytes (UTF-8) of a text with one name a line, counted from 0. An element of no part has -1.
    Forces of a beam are written one by one with the end of the beam they belong to, as `beam forces M_y, end
    1`.
    """
    import meshio

    points, cells, point_data = _points(structure, solution, case)
    every = _recovered_fields(structure, solution, case)
    for name, by_block in (fields or {}).items():
        every[name] = _checked(name, by_block, structure)
    cell_data: dict[str, list[NDArray[Any]]] = {
        name: _filled(name, by_block, structure) for name, by_block in every.items()
    }
    cell_data[_BLOCK] = [
        np.full(len(b.nodes), k, dtype=np.int32) for k, b in enumerate(structure.blocks.values())
    ]
    cell_data[_PART] = [_part_numbers(b) for b in structure.blocks.values()]
    kept = [k for k, (_, numbers) in enumerate(cells) if len(numbers)]
    mesh = meshio.Mesh(
        points,
        [cells[k] for k in kept],
        point_data=point_data,
        cell_data={name: [values[k] for k in kept] for name, values in cell_data.items()},
    )
    names = {_NAMES[_BLOCK]: tuple(structure.blocks), _NAMES[_PART]: structure.parts}
    _write_whole(Path(path), mesh, names)


def read(path: str | os.PathLike[str]) -> Exported:
    """Read a file written by `write`.

    Raises
    ------
    ValueError
        The file is no VTU file, or not one written by `write`.
    OSError
        The file cannot be read.
    """
    from xml.etree.ElementTree import ParseError

    import meshio

    try:
        mesh = meshio.vtu.read(os.fspath(path))
    except (meshio.ReadError, ParseError) as fault:
        raise ValueError(f"{path}: not a VTU file that can be read") from fault
    if _BLOCK not in mesh.cell_data or _NAMES[_BLOCK] not in mesh.field_data:
        raise ValueError(f"{path}: a VTU file without blocks of elements; it was not written here")
    names = _named(mesh.field_data[_NAMES[_BLOCK]])
    blocks: dict[str, Ints] = {}
    part: dict[str, Ints] = {}
    cell_data: dict[str, dict[str, Array]] = {}
    for k, cell in enumerate(mesh.cells):
        number = mesh.cell_data[_BLOCK][k]
        for b in np.unique(number):
            mine, name = number == b, names[b]
            blocks[name] = cell.data[mine].astype(np.intp)
            part[name] = mesh.cell_data[_PART][k][mine].astype(np.intp)
            for field, values in mesh.cell_data.items():
                if field not in (_BLOCK, _PART) and not np.isnan(values[k][mine]).all():
                    cell_data.setdefault(field, {})[name] = values[k][mine]
    parts = _named(mesh.field_data.get(_NAMES[_PART], np.zeros(0, dtype=np.uint8)))
    return Exported(mesh.points, blocks, part, parts, dict(mesh.point_data), cell_data)


def _points(
    structure: Structure, solution: Solution | None, case: int
) -> tuple[Array, list[tuple[str, Ints]], dict[str, Array]]:
    """Points of the file, cells on them, and their movements: one point for every node and offset in use."""
    keys, shapes = [np.zeros((0, 4))], []
    for block in structure.blocks.values():
        # Of a panel that slips its corners are drawn, not what measures the slip.
        nodes = block.nodes[:, :_MOST_CORNERS]
        offsets = np.zeros((*nodes.shape, 3)) if block.offsets is None else block.offsets[:, :_MOST_CORNERS]
        keys.append(np.concatenate([nodes[..., None], offsets + 0.0], axis=2).reshape(-1, 4))
        shapes.append(nodes.shape)
    unique, inverse = np.unique(np.concatenate(keys), axis=0, return_inverse=True)
    node, offset = unique[:, 0].astype(np.intp), unique[:, 1:]
    cells, first = [], 0
    for n, k in shapes:
        cells.append((_CELL_OF_CORNERS[k], inverse.reshape(-1)[first : first + n * k].reshape(n, k)))
        first += n * k
    point_data = {}
    if solution is not None:
        moves = solution.displacements[node, :, case][:, None]
        moved = corner_displacements(moves, offset[:, None], 6)[:, 0]
        point_data = {"displacement": moved[:, :3], "rotation": moved[:, 3:]}
    return structure.nodes[node] + offset, cells, point_data


def _recovered_fields(
    structure: Structure, solution: Solution | None, case: int
) -> dict[str, dict[str, Array]]:
    """Cell data from what the blocks recover: name with the kind of element, then block."""
    out: dict[str, dict[str, Array]] = {}
    if solution is None:
        return out
    for block_name, recovered in _recover(structure, solution, case).items():
        kind = structure.blocks[block_name].kind
        for name, values in recovered.items():
            for label, column in _columns(kind, name, values):
                out.setdefault(label, {})[block_name] = column
    return out


def _recover(structure: Structure, solution: Solution, case: int) -> dict[str, dict[str, Array]]:
    if solution.assembly.structure is structure:
        return solution.recover(case)
    return Assembly(structure).recover(solution.displacements[:, :, case])


def _columns(kind: str, name: str, values: Array) -> list[tuple[str, Array]]:
    """One recovered array (n_elements, ...) as labelled fields."""
    components = _COMPONENTS.get((kind, name))
    label = f"{kind} {name}".replace("_", " ")
    if components is None:
        return [(label, values.reshape(len(values), -1) if values.ndim > 1 else values)]
    if values.ndim == 2:
        return [(f"{label} {c}", values[:, k]) for k, c in enumerate(components)]
    return [
        (f"{label} {c}, end {end + 1}", values[:, end, k])
        for end in range(values.shape[1])
        for k, c in enumerate(components)
    ]


def _checked(name: str, by_block: Mapping[str, Array], structure: Structure) -> dict[str, Array]:
    out = {}
    for block, values in by_block.items():
        if block not in structure.blocks:
            raise ValueError(f"{name}: no block {block!r}; there are {', '.join(structure.blocks)}")
        values = np.asarray(values, dtype=float)
        expected = len(structure.blocks[block].nodes)
        if values.ndim not in (1, 2) or len(values) != expected:
            raise ValueError(f"{name}: {block} has {expected} elements, the field's shape is {values.shape}")
        out[block] = values
    return out


def _filled(name: str, by_block: Mapping[str, Array], structure: Structure) -> list[Array]:
    """A field on all blocks, NaN where it does not apply."""
    shapes = {values.shape[1:] for values in by_block.values()}
    if len(shapes) > 1:
        raise ValueError(f"{name}: rows of different widths {sorted(shapes)} in {', '.join(by_block)}")
    shape = shapes.pop() if shapes else ()
    return [
        by_block[b] if b in by_block else np.full((len(block.nodes), *shape), np.nan)
        for b, block in structure.blocks.items()
    ]


def _part_numbers(block: Block) -> NDArray[np.int32]:
    if block.part is None:
        return np.full(len(block.nodes), -1, dtype=np.int32)
    return np.asarray(block.part, dtype=np.int32)


def _named(codes: NDArray[np.uint8]) -> tuple[str, ...]:
    text = bytes(np.asarray(codes, dtype=np.uint8)).decode()
    return tuple(text.split("\n")) if text else ()


def _write_whole(path: Path, mesh: object, names: Mapping[str, tuple[str, ...]]) -> None:
    """Write beside the place, then move there in one step."""
    import meshio

    handle, beside = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.", suffix=".vtu")
    os.close(handle)
    try:
        meshio.vtu.write(beside, mesh, header_type="UInt64")
        _insert_names(Path(beside), names)
        # A temporary file is for its owner alone; a result is for everyone the user lets see his files.
        umask = os.umask(0)
        os.umask(umask)
        os.chmod(beside, 0o666 & ~umask)
        os.replace(beside, path)
    except BaseException:
        os.unlink(beside)
        raise


def _insert_names(path: Path, names: Mapping[str, tuple[str, ...]]) -> None:
    """Add the names as field data, which meshio reads but does not write."""
    arrays = []
    for label, entries in names.items():
        codes = "\n".join(entries).encode()
        if codes:
            arrays.append(
                f'<DataArray type="UInt8" Name="{label}" NumberOfTuples="{len(codes)}" format="ascii">'
                f"{' '.join(map(str, codes))}</DataArray>"
            )
    head, mark, rest = path.read_text(encoding="utf-8").partition("<UnstructuredGrid>")
    path.write_text(f"{head}{mark}<FieldData>{''.join(arrays)}</FieldData>{rest}", encoding="utf-8")
