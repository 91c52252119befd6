"""Membranes that cannot be pushed: taut, wrinkled or slack, from the strain they are given.

A film carries by its plane-stress moduli as long as both of its principal forces pull. Beyond that it lies in
wrinkles and pulls one way alone, along the direction in which it stores the most energy; strained in no
direction it is slack. Relaxed energy: Reissner 1938, Pipkin 1986 (from memory); the tension field of a sheet
between stiff edges: Wagner 1929 (NACA TM 604 to 606, names looked up). Forces are per width, N/m; strains are
of the film itself, with what it was shrunk by.
"""

from __future__ import annotations

import numpy as np

from fea.arrays import Array

_DIRECTIONS = 90
"""Directions tried over half a turn, of which the best is refined by a parabola."""


def principal(forces: Array) -> tuple[Array, Array]:
    """Greater and lesser principal force of N_1, N_2, N_12, (..., 3), N/m (Mohr's circle, textbook)."""
    one, two, both = np.moveaxis(np.asarray(forces, dtype=float), -1, 0)
    centre, radius = (one + two) / 2, np.hypot((one - two) / 2, both)
    return centre + radius, centre - radius


def factor_to(start: Array, change: Array, bound: float | Array = 0.0) -> Array:
    """Factor on a change of the forces at which a principal force comes to a bound.

    Parameters
    ----------
    start : (n, 3) float array
        Forces before anything is put on, whose principal ones both lie on one side of the bound, N/m.
    change : (n, 3) float array
        What the load adds, N/m.
    bound : float or (n,) float array, default 0
        0 for slack; for tearing the strength per width, N/m.

    Returns
    -------
    (n,) float array
        Least positive k with a principal force of start + k change at the bound, infinite where there is
        none: a root of det(start + k change - bound 1) = 0.
    """
    one, two, both = start[:, 0] - bound, start[:, 1] - bound, start[:, 2]
    d_one, d_two, d_both = change.T
    a = d_one * d_two - d_both**2
    b = one * d_two + two * d_one - 2 * both * d_both
    c = one * two - both**2
    # In this form nothing cancels: a root is 2c/(-b +- root) whatever the size of a.
    root = np.sqrt(np.maximum(b**2 - 4 * a * c, 0.0))
    with np.errstate(divide="ignore", invalid="ignore"):
        found = np.stack([2 * c / (-b + root), 2 * c / (-b - root)])
    found = np.where(np.isfinite(found) & (found > 0), found, np.inf)
    return np.asarray(found.min(axis=0))


def relaxed(strain: Array, moduli: Array) -> Array:
    """Forces of films that wrinkle.

    Parameters
    ----------
    strain : (n, 3) float array
        Of the film, with its pretension: along 1, along 2, engineering shear.
    moduli : (n, 3, 3) float array
        Plane-stress moduli times thickness in the film's axes, N/m.

    Returns
    -------
    (n, 3) float array
        N_1, N_2, N_12, N/m; never a push. Continuous in the strain, and never more than the moduli would give
        in stored energy.
    """
    out = np.einsum("eij,ej->ei", moduli, strain)
    loose = np.flatnonzero(principal(out)[1] < 0)
    if len(loose):
        out[loose] = _one_way(strain[loose], moduli[loose])
    return out


def _one_way(strain: Array, moduli: Array) -> Array:
    """Forces of the tension field: one tension s along t with the most of the energy (t.e t)^2/(2 t.C t)."""
    give = np.linalg.inv(moduli)

    def along(angle: Array) -> tuple[Array, Array, Array]:
        c, s = np.cos(angle), np.sin(angle)
        tensor = np.stack([c * c, s * s, c * s], axis=-1)
        stretch = np.einsum("ei,eki->ek", strain, tensor)
        soft = np.einsum("eki,eij,ekj->ek", tensor, give, tensor)
        pulled = np.maximum(stretch, 0.0)
        return pulled**2 / soft, pulled / soft, tensor

    step = np.pi / _DIRECTIONS
    angles = np.broadcast_to(step * np.arange(_DIRECTIONS), (len(strain), _DIRECTIONS))
    energy = along(angles)[0]
    row, best = np.arange(len(strain)), energy.argmax(axis=1)
    at = angles[row, best]
    for _ in range(6):  # a parabola through three points, each time a tenth as far apart
        near = at[:, None] + step * np.array([-1.0, 0.0, 1.0])
        left, middle, right = along(near)[0].T
        bent = left - 2 * middle + right
        with np.errstate(divide="ignore", invalid="ignore"):
            shift = np.where(bent < 0, 0.5 * (left - right) / bent, 0.0)
        at = at + step * np.clip(shift, -1, 1)
        step /= 10
    _, force, tensor = along(at[:, None])
    # Doubled shear strain in the energy: a tension s along t has N_12 = s t_1 t_2.
    return np.asarray(force * tensor[:, 0])
