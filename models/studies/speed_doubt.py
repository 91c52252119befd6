"""How sure a flutter speed is: its 5th percentile from wood that scatters, by derivatives of the eigenvalue.

Every stick and sheet (`models.studies.scatter.pieces`) has its own stiffness, with the coefficient of
variation of its wood, and its own thickness, which moves stiffness and mass alike. The structure's loss
factor lies anywhere between the two of `models.studies.speed.LOSS`. To first order the speed is a sum of
these, taken as lognormal. Density beyond thickness, the masses of the file and the air are as they stand. By
strips.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.aeroelastic import Flutter, System, normal, onset, with_damping
from fea.arrays import Array, Ints
from fea.assembly import Assembly
from models.studies.scatter.pieces import pieces_of
from models.studies.speed import LOSS, Half, Reduced, Speeds

Complex = NDArray[np.complex128]

_FIFTH = 1.6448536
"""Standard deviations below the mean of the normal distribution's 5th percentile."""


@dataclass(frozen=True, eq=False)
class SpeedDoubt:
    """How a flutter speed scatters.

    Parameters
    ----------
    speed, fifth : float
        With mean wood and the lower loss factor; speed that nineteen wings in twenty pass; m/s.
    deviation : float
        Of its logarithm.
    names : tuple of str
        Pieces.
    by_stiffness, by_size : (n_pieces,) float array
        Change of the logarithm of the speed with that of a piece's stiffness, and of its thickness.
    """

    speed: float
    fifth: float
    deviation: float
    names: tuple[str, ...]
    by_stiffness: Array
    by_size: Array


def forms(
    assembly: Assembly, groups: Mapping[str, Ints], n: int, left: Complex, right: Complex
) -> tuple[Complex, Complex]:
    """left* K_g right and left* M_g right of groups of elements, summed over the columns.

    Parameters
    ----------
    assembly : Assembly
        Of the structure.
    groups : mapping of str to (n_elements,) int array
        Group of every element of a block, -1 for none.
    n : int
        How many groups.
    left, right : (size,) or (size, m) complex array
        On the structure's freedoms.

    Returns
    -------
    stiffness, mass : (n,) complex array
    """
    left, right = left.reshape(len(left), -1), right.reshape(len(right), -1)
    m = left.shape[1]
    moves = assembly.nodal(np.concatenate([left.real, left.imag, right.real, right.imag], axis=1))
    unit, d = assembly.unit_stiffness(), assembly.freedoms
    stiff, heavy = np.zeros(n, complex), np.zeros(n, complex)
    for name, numbers in groups.items():
        block = assembly.structure.blocks[name]
        mine = np.flatnonzero(numbers >= 0)
        if not len(mine):
            continue
        at = moves[block.nodes[mine]][:, :, :d]
        at = at.reshape(*at.shape[:3], 4, m)
        y, x = at[..., 0, :] - 1j * at[..., 1, :], at[..., 2, :] + 1j * at[..., 3, :]
        elastic = np.einsum("eaik,eaibj,ebjk->e", y, unit[name][mine], x, optimize=True) * block.scale[mine]
        mass = assembly.on_nodes(name, block.mass(assembly.corners(name)))[mine]
        inertia = np.einsum("eaik,eaibj,ebjk->e", y, mass, x, optimize=True)
        np.add.at(stiff, numbers[mine], elastic)
        np.add.at(heavy, numbers[mine], inertia)
    return stiff, heavy


def doubt(found: Speeds) -> SpeedDoubt | None:
    """Scatter of the lowest flutter speed. Modes are followed, so that its damped speed is known. None where
    nothing beats."""
    if not found.beating:
        return None
    first, reduced = found.beating[0], found.reduced
    half = next(one for one in reduced.halves if one.kind == first.kind)
    pieces = pieces_of(reduced.model)
    by_stiffness, by_size = slopes(
        reduced, half, pieces.groups, len(pieces.pieces), first.speed, first.frequency
    )
    variance = sum(
        (a * p.stiffness) ** 2 + (b * p.size) ** 2
        for a, b, p in zip(by_stiffness, by_size, pieces.pieces, strict=True)
    )
    damped = first.damped_speed if np.isfinite(first.damped_speed) else first.speed
    # Anywhere between the two, evenly: half of the way in the mean, 1/sqrt(12) of it as deviation.
    way = max(float(np.log(damped / first.speed)), 0.0)
    deviation = float(np.sqrt(variance + way**2 / 12))
    fifth = first.speed * float(np.exp(way / 2 - _FIFTH * deviation))
    return SpeedDoubt(
        first.speed, fifth, deviation, tuple(p.name for p in pieces.pieces), by_stiffness, by_size
    )


def by_web(found: Speeds) -> dict[tuple[str, str, int, str], float]:
    """Change of the lowest flutter speed with the logarithm of every web's thickness, by the adjoint. By
    (spar, face, bay, side), m/s, stiffness and mass of the web together; empty where nothing beats. Its plate
    stiffness is taken to grow as its thickness does, not as the cube."""
    if not found.beating:
        return {}
    first, model = found.beating[0], found.reduced.model
    half = next(one for one in found.reduced.halves if one.kind == first.kind)
    keys = [
        (part.spar, part.place.split()[0], part.bay or 0, part.side)
        if part.kind in ("web", "web strip")
        else None
        for part in model.parts
    ]
    names = list(dict.fromkeys(key for key in keys if key is not None))
    of_part = np.array([-1 if key is None else names.index(key) for key in keys], dtype=np.intp)
    groups = {
        name: of_part[block.part] for name, block in model.structure.blocks.items() if block.part is not None
    }
    _, by_size = slopes(found.reduced, half, groups, len(names), first.speed, first.frequency)
    return dict(zip(names, (first.speed * by_size).tolist(), strict=True))


def slopes(
    reduced: Reduced, half: Half, groups: Mapping[str, Ints], n: int, speed: float, frequency: float
) -> tuple[Array, Array]:
    """Change of ln of a flutter speed with ln of every group's stiffness, and of its thickness.

    Parameters
    ----------
    reduced : Reduced
        From `models.studies.speed.condense`.
    half : Half
        The kind of movement that beats.
    groups : mapping of str to (n_elements,) int array
        Group of every element of a block, -1 for none.
    n : int
        How many groups.
    speed, frequency : float
        Where it begins, m/s and Hz.

    Returns
    -------
    by_stiffness, by_size : (n,) float array
    """
    system = half.swinging.system
    damped = with_damping(system, LOSS[0])
    near = Flutter(speed, 2 * np.pi * frequency, np.zeros(len(system.mass), dtype=np.complex128))
    at = onset(damped, reduced.wing.case.air_density, near)
    m = half.by_free.shape[1]

    def moved(amounts: Complex) -> Complex:
        """Of the whole structure, by the coordinates that it flies with."""
        return np.asarray(half.every @ (half.by_free @ amounts[:m]))

    stiff, mass = forms(reduced.assembly, groups, n, moved(at.left), moved(at.right))
    none = np.zeros(len(stiff), dtype=np.complex128)
    damps = [none, none]
    for k, (ours, theirs) in enumerate(_damping_pairs(system, at.left, at.right, LOSS[0])):
        found = forms(reduced.assembly, groups, n, moved(ours), moved(theirs))
        damps[k] = found[k]
    by_stiffness = at.by(stiff, none, damps[0]) / speed
    return by_stiffness, by_stiffness + at.by(none, mass, damps[1]) / speed


def _damping_pairs(
    system: System, left: Complex, right: Complex, loss: float
) -> list[tuple[Complex, Complex]]:
    """Columns y, x by which the structural damping C = g M (M^-1 K)^(1/2) moves with stiffness and with mass:
    left* dC right = sum y* dK x, and with dM likewise.

    With modes of unit modal mass and S^2 = M^-1 K, S dS + dS S = phi' dK phi - phi' dM phi omega^2, so that
    dC_ij is g times phi_i' dK phi_j/(omega_i + omega_j), and with mass omega_i omega_j times as much. The
    table of divisors is nearly of low rank: a few columns tell it to 1e-10.
    """
    omega, modes = normal(system.mass, system.stiffness)
    both = omega[:, None] + omega
    # What moves rigidly has no stiffness to change.
    divisor = np.divide(loss, both, out=np.zeros_like(both), where=both > 0)
    moved = system.mass @ modes
    ours, theirs = moved.T @ left, moved.T @ right
    out = []
    for weight in (divisor, divisor * np.outer(omega, omega)):
        u, size, vt = np.linalg.svd(weight)
        kept = size > 1e-10 * max(float(size[0]), 1e-300)
        y = modes @ (ours[:, None] * u[:, kept] * size[kept])
        out.append((y, modes @ (theirs[:, None] * vt[kept].T)))
    return out
