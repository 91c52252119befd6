"""Bodies in an air stream: divergence, reversal, flutter, from mass, stiffness and strips of unsteady air.

Knows no wing: a system is mass, stiffness and damping in any coordinates q, and the air's force on them,

    Q = rho [-mass q'' + V damping q' + V^2 stiffness q + V push C(W)],   W = V angle q + rate q',

dashes for time, with one downwash W a strip (m/s, at its three-quarter chord) and C the lag of its
circulation behind it: Theodorsen's function for harmonic movement (exact), or a sum of lags for any movement,
which makes the whole a plain eigenproblem in the states. Coordinates that neither structure nor air resist as
they stand (plunge, roll) are no states: their rate alone is, so that no eigenvalue is nought by itself, and
static answers of a free body are as plain as those of a held one.

Lift up and movement w up at the axis of a strip, nose-up angle; b half its chord, the axis (1 + a) b behind
its leading edge.

References
----------
Theodorsen, General Theory of Aerodynamic Instability and the Mechanism of Flutter, NACA TR 496, 1935 (from
memory).
R. T. Jones, The Unsteady Lift of a Wing of Finite Aspect Ratio, NACA TR 681, 1940: the two lags (looked up).
Bisplinghoff, Ashley, Halfman, Aeroelasticity, 1955: strips, divergence, reversal (from memory).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise
from typing import Any, NamedTuple

import numpy as np
import scipy.linalg as sl
from numpy.typing import NDArray

from fea.arrays import Array
from fea.cubic import Cubic, cubic
from fea.dense import solved

Complex = NDArray[np.complex128]

_NOTHING = 1e-9
"""Share of the largest below which a coordinate is taken as not resisted, or as no coordinate of its own."""
_CLOSE, _CLOSER = 1e-6, 1e-10
"""How near to one another, over themselves, the speeds and kappas of a search end."""
_STEPS = 40
_BELOW = 6
"""Halvings of the first speed that a search goes below it."""
_FINE = 240
"""Values of kappa that the search for a flutter point in harmonic movement goes through."""
_JUST = 1e-3
"""Growth over pace of a mode that has just begun to grow, at the end of the halvings."""
_RIGID = 0.1
"""Pace at which rigid movement counts among what the wake follows, of that of the lowest mode that swings."""
_WAY = 24
"""Steps of the way travelled in which what the wake follows and pushes is summed, at equal ratios."""
_UNFELT = 1e-12
"""States of the wake go that are felt by less than this share of the most felt."""
_ALIKE = 1e-10
"""How far, of the largest, forces of the states left may differ from those of all."""
_HELD = (0.0, 0.01, 0.03, 0.1, 0.3, 1.0, 3.0)
"""Reduced frequencies at which they are held against each other (all own choices, no source)."""


class NoFlutterPoint(ArithmeticError):
    """A search for a flutter point did not settle; the message says from where."""


@dataclass(frozen=True)
class Lags:
    """Circulation behind a sudden change: 1 - sum of amounts e^(-rates s), s in half chords travelled.

    Parameters
    ----------
    amounts, rates : tuple of float
        Pure numbers, per half chord.
    """

    amounts: tuple[float, ...]
    rates: tuple[float, ...]

    def wagner(self, travelled: Array) -> Array:
        """Share of the final circulation after a step, (n,), by half chords travelled, (n,)."""
        fading = [a * np.exp(-r * travelled) for a, r in zip(self.amounts, self.rates, strict=True)]
        return np.asarray(1 - sum(fading))

    def lag(self, reduced: Complex) -> Complex:
        """C of p b/V, any shape, as `theodorsen`."""
        terms = [a * reduced / (reduced + r) for a, r in zip(self.amounts, self.rates, strict=True)]
        return np.asarray(1 - sum(terms))


JONES = Lags((0.165, 0.335), (0.0455, 0.3))
"""R. T. Jones 1940 (looked up): off the exact function by 0.002 to 0.014 in C (`validate A4`); flutter speeds
move by 0.2 to 1 % (computed). `flutter` therefore ends on the exact function."""


def theodorsen(reduced: Any) -> Complex:
    """C, the lag of circulation in harmonic or growing movement e^(pt), by p b/V (i k for harmonic
    movement; not a real number below nought): K1/(K0 + K1), which is H1/(H1 + i H0) of the second kind at
    k; 1 at nought."""
    from scipy.special import kve

    s = np.asarray(reduced, dtype=complex)
    still = s == 0
    first, second = kve(0, np.where(still, 1, s)), kve(1, np.where(still, 1, s))
    return np.asarray(np.where(still, 1.0, second / (first + second)))


@dataclass(frozen=True, eq=False)
class Air:
    """What the air does to n coordinates through s strips, per unit of density; the module says how.

    Parameters
    ----------
    half_chord : (s,) float array
        b, m.
    mass, damping, stiffness : (n, n) float array
        Without the wake: of q'', V q', V^2 q.
    push : (n, s) float array
        Generalised force of V times the lagged downwash of each strip.
    angle, rate : (s, n) float array
        Downwash of V q and of q'.
    """

    half_chord: Array
    mass: Array
    damping: Array
    stiffness: Array
    push: Array
    angle: Array
    rate: Array

    def through(self, coordinates: Array) -> Air:
        """The same in other coordinates, q = coordinates @ new, (n, m)."""
        t = coordinates
        return replace(
            self,
            mass=t.T @ self.mass @ t,
            damping=t.T @ self.damping @ t,
            stiffness=t.T @ self.stiffness @ t,
            push=t.T @ self.push,
            angle=self.angle @ t,
            rate=self.rate @ t,
        )

    def beside(self, other: Air) -> Air:
        """Both together, on the same coordinates."""
        return Air(
            np.concatenate([self.half_chord, other.half_chord]),
            self.mass + other.mass,
            self.damping + other.damping,
            self.stiffness + other.stiffness,
            np.hstack([self.push, other.push]),
            np.vstack([self.angle, other.angle]),
            np.vstack([self.rate, other.rate]),
        )

    @property
    def steady(self) -> Array:
        """(n, n): force for density, V^2 and q standing still."""
        return np.asarray(self.stiffness + self.push @ self.angle)

    @property
    def steady_rate(self) -> Array:
        """(n, n): force for density, V and q' that lasts."""
        return np.asarray(self.damping + self.push @ self.rate)


def strips(
    up: Array, nose_up: Array, width: Array, half_chord: Array, axis: Array, slope: Array | float
) -> Air:
    """Air on strips that are rigid along the stream.

    Parameters
    ----------
    up, nose_up : (s, n) float array
        Movement of each strip's axis and its angle to the stream, by coordinates.
    width : (s,) float array
        Along the span, square to the stream, m.
    half_chord : (s,) float array
        Along the stream, m.
    axis : (s,) float array
        a: the axis is a b behind the middle of the chord.
    slope : (s,) float array or float
        Lift slope of the circulation, 1/rad; 2 pi of thin sections.

    References
    ----------
    Theodorsen, NACA TR 496 (from memory): lift pi b^2 (-w'' + V th' - b a th'') + slope V b C W, moment about
    the axis pi b^2 (-b a w'' - V b (1/2 - a) th' - b^2 (1/8 + a^2) th'') + slope V b^2 (1/2 + a) C W, with
    W = V th - w' + b (1/2 - a) th'.
    """
    b, a = half_chord, axis
    around = np.pi * b**2 * width
    w, th = up, nose_up

    def form(left: Array, amount: Array, right: Array) -> Array:
        return np.asarray((left.T * amount) @ right)

    mass = form(w, around, w) + form(w, around * b * a, th) + form(th, around * b * a, w)
    mass += form(th, around * b**2 * (1 / 8 + a**2), th)
    damping = form(w, around, th) - form(th, around * b * (0.5 - a), th)
    lift = np.broadcast_to(slope, b.shape) * b * width
    push = w.T * lift + th.T * (lift * b * (0.5 + a))
    rate = -w + (b * (0.5 - a))[:, None] * th
    return Air(b, mass, damping, np.zeros_like(mass), push, th.copy(), rate)


def flapped_section(half_chord: float, axis: float, hinge: float) -> Air:
    """Air on a section with a flap, per unit of span: plunge up (m), nose up, flap's rear edge down (rad).

    Parameters
    ----------
    half_chord : float
        b, m.
    axis, hinge : float
        a and c: axis and hinge are a b and c b behind the middle of the chord.

    Returns
    -------
    Air
        One strip; forces N and N m per metre.

    References
    ----------
    Theodorsen, NACA TR 496, functions T1 to T13 and forces (from memory; they meet the case A12 of
    `validation`).
    """
    a, b, c = axis, half_chord, hinge
    s, t = np.sqrt(1 - c**2), np.arccos(c)
    t1 = -s * (2 + c**2) / 3 + c * t
    t3 = -(1 / 8 + c**2) * t**2 + c * s * t * (7 + 2 * c**2) / 4 - (1 - c**2) * (5 * c**2 + 4) / 8
    t4 = -t + c * s
    t5 = -(1 - c**2) - t**2 + 2 * c * s * t
    t7 = -(1 / 8 + c**2) * t + c * s * (7 + 2 * c**2) / 8
    t8 = -s * (2 * c**2 + 1) / 3 + c * t
    t9 = (s**3 / 3 + a * t4) / 2
    t10 = s + t
    t11 = t * (1 - 2 * c) + s * (2 - c)
    t12 = s * (2 + c) - t * (2 * c + 1)
    t13 = (-t7 - (c - a) * t1) / 2
    pi = np.pi
    # His plunge is positive down: signs of first row and column turn at the end.
    mass = b**2 * np.array(
        [
            [pi, -pi * a * b, -t1 * b],
            [-pi * a * b, pi * b**2 * (1 / 8 + a**2), -(t7 + (c - a) * t1) * b**2],
            [-t1 * b, 2 * t13 * b**2, -t3 * b**2 / pi],
        ]
    )
    damping = -(b**2) * np.array(
        [
            [0.0, pi, -t4],
            [0.0, pi * (0.5 - a) * b, (t1 - t8 - (c - a) * t4 + t11 / 2) * b],
            [0.0, (-2 * t9 - t1 + t4 * (a - 0.5)) * b, -t4 * t11 * b / (2 * pi)],
        ]
    )
    stiffness = -(b**2) * np.array([[0.0, 0, 0], [0, 0, t4 + t10], [0, 0, (t5 - t4 * t10) / pi]])
    push = np.array([[-2 * pi * b], [2 * pi * b**2 * (a + 0.5)], [-(b**2) * t12]])
    angle = np.array([[0.0, 1.0, t10 / pi]])
    rate = np.array([[1.0, b * (0.5 - a), b * t11 / (2 * pi)]])
    return Air(np.array([b]), mass, damping, stiffness, push, angle, rate).through(np.diag([-1.0, 1.0, 1.0]))


def flapped_strips(
    up: Array, nose_up: Array, turn: Array, width: Array, half_chord: Array, hinge: float
) -> Air:
    """Air on strips with flaps, their axis at mid-chord.

    Parameters
    ----------
    up, nose_up, turn : (s, n) float array
        Movement of each strip's mid-chord, its angle to the stream, and its flap's rear edge down against it.
    width, half_chord : (s,) float array
        As `strips`.
    hinge : float
        Of the chord.

    References
    ----------
    As `flapped_section`.
    """
    n = up.shape[1]
    none = np.zeros((n, n))
    air = Air(np.zeros(0), none, none, none, np.zeros((n, 0)), np.zeros((0, n)), np.zeros((0, n)))
    for k, (span, b) in enumerate(zip(width, half_chord, strict=True)):
        section = flapped_section(float(b), 0.0, 2 * hinge - 1)
        whole = replace(
            section,
            mass=span * section.mass,
            damping=span * section.damping,
            stiffness=span * section.stiffness,
            push=span * section.push,
        )
        air = air.beside(whole.through(np.vstack([up[k], nose_up[k], turn[k]])))
    return air


@dataclass(frozen=True, eq=False)
class Wake:
    """Lagged downwash as states: x' = -V fade x + rate q' + V angle q; force on q of density V^2 push x.

    Parameters
    ----------
    fade : (x, x) float array
        1/m.
    push : (n, x) float array
        Generalised force.
    rate, angle : (x, n) float array
        Downwash of q' and V q.
    """

    fade: Array
    push: Array
    rate: Array
    angle: Array

    @classmethod
    def of(cls, air: Air, lags: Lags) -> Wake:
        """A state for each strip and lag."""
        paces = [rate / air.half_chord for rate in lags.rates]
        push = [air.push * (amount * pace) for amount, pace in zip(lags.amounts, paces, strict=True)]
        m = len(paces)
        return cls(
            np.diag(np.concatenate(paces)),
            np.hstack(push),
            np.tile(air.rate, (m, 1)),
            np.tile(air.angle, (m, 1)),
        )

    def at(self, p: complex) -> Complex:
        """(n, n): force for density, V^2 and q e^(p s), by metres s travelled."""
        swung = np.eye(len(self.fade)) * p + self.fade
        return np.asarray(self.push @ solved(swung, p * self.rate + self.angle))


@dataclass(frozen=True, eq=False)
class System:
    """A body in the air stream.

    Parameters
    ----------
    mass, stiffness, damping : (n, n) float array
        In its coordinates; the mass is positive definite.
    air : Air
        On the same coordinates.
    """

    mass: Array
    stiffness: Array
    damping: Array
    air: Air

    @cached_property
    def wake(self) -> Wake:
        """Lagged downwash by `JONES`, a state for each strip and lag."""
        return Wake.of(self.air, JONES)

    @cached_property
    def short_wake(self) -> Wake:
        """The same on as few states as push alike."""
        return _shortened(self)

    @cached_property
    def swung(self) -> dict[tuple[float, float], tuple[Complex, Complex]]:
        """What swings by density and speed, kept as it is found: sweeps of one body go by the same speeds."""
        return {}

    @cached_property
    def resisted(self) -> tuple[Array, Array]:
        """Coordinates whose place matters to structure or air, and those whose rate alone does.

        Returns
        -------
        placed : (n, r) float array
            q = placed y + neutral z, with y = placed' mass q.
        neutral : (n, n - r) float array
            Movements that nothing resists.
        """
        omega, modes = normal(self.mass, self.stiffness)
        rows = []
        for block in ((omega > 0)[:, None] * (modes.T @ self.mass), self.air.stiffness, self.air.angle):
            # In the metric of the mass, so that the units of the coordinates do not matter.
            scaled = block @ modes
            size = float(np.abs(scaled).max(initial=0.0))
            if size:
                rows.append(scaled / size)
        if not rows:
            return modes[:, :0], modes
        _, values, turned = np.linalg.svd(np.vstack(rows))
        full = np.zeros(len(omega))
        full[: len(values)] = values
        kept = full > 1e-6 * full[0]
        back = modes @ turned.T
        return np.asarray(back[:, kept]), np.asarray(back[:, ~kept])


def normal(mass: Array, stiffness: Array, most: int | None = None) -> tuple[Array, Array]:
    """Natural modes in a vacuum of a reduced body, coordinates that say the same left out.

    Parameters
    ----------
    mass, stiffness : (n, n) float array
        Symmetric; the mass may be nearly singular.
    most : int or None
        How many modes, lowest first; None for all.

    Returns
    -------
    omega : (m,) float array
        rad/s; 0 of rigid motions.
    modes : (n, m) float array
        Columns of unit modal mass.
    """
    size = np.sqrt(np.diag(mass))
    size = np.where(size > 0, size, 1.0)
    values, vectors = np.linalg.eigh(mass / np.outer(size, size))
    kept = values > 1e-13 * values[-1]
    whitened = (vectors[:, kept] / np.sqrt(values[kept])) / size[:, None]
    reduced = whitened.T @ stiffness @ whitened
    squared, turned = np.linalg.eigh((reduced + reduced.T) / 2)
    floor = max(_NOTHING * squared[min(6, len(squared) - 1)], 1e-15 * squared[-1], 0.0)
    squared = np.where(squared > floor, squared, 0.0)
    return np.sqrt(squared[:most]), np.asarray(whitened @ turned[:, :most])


def _shortened(system: System) -> Wake:
    """A body's lagged downwash on as few states as give the same forces, by balanced truncation: what neither
    follows the movement nor pushes goes (B. C. Moore 1981, IEEE Trans. Automatic Control 26, from memory).

    Movement and force count by the natural modes of the body, of equal energy: a strip of a long wing's
    fifty, its neighbours beside it, has next to no downwash of its own. What follows and what pushes are
    summed over steps of the way travelled; the forces left are held against all states' in harmonic
    movement, and all states stay where they differ.
    """
    wake = system.wake
    n, x = wake.push.shape
    if x <= n:
        return wake
    fades, length = np.diag(wake.fade), float(np.mean(system.air.half_chord))
    omega, modes = normal(system.mass, system.stiffness)
    swings = omega[omega > 0]
    rest = _RIGID * float(swings.min()) if len(swings) else 1.0
    sized = modes / np.sqrt(omega**2 + rest**2)
    moved = np.hstack([wake.rate @ sized / length, wake.angle @ sized])
    pushed = wake.push.T @ sized
    way = np.geomspace(0.03 / fades.max(), 30 / fades.min(), _WAY)
    left = np.sqrt(way) * np.exp(-fades[:, None] * way)
    follow, push = (_root((left[:, :, None] * side[:, None, :]).reshape(x, -1)) for side in (moved, pushed))
    to, sizes, back = np.linalg.svd(push.T @ follow, full_matrices=False)
    kept = sizes > _UNFELT * sizes[0]
    scale = 1 / np.sqrt(sizes[kept])
    out, into = follow @ (back[kept].T * scale), (to[:, kept] * scale).T @ push.T
    few = Wake(into @ wake.fade @ out, wake.push @ out, into @ wake.rate, into @ wake.angle)
    for reduced in _HELD:
        p = 1j * reduced / length
        whole = sized.T @ (wake.push / (p + fades)) @ ((p * wake.rate + wake.angle) @ sized)
        apart = np.abs(sized.T @ few.at(p) @ sized - whole).max()
        if not apart <= _ALIKE * np.abs(whole).max():
            return wake
    return few


def _root(summands: Array) -> Array:
    """Matrix L with L L' the product of (x, m) summands and their transpose."""
    return np.asarray(np.linalg.qr(summands.T, mode="r")).T


def with_damping(system: System, loss: float) -> System:
    """The same body with its structural damping as viscous damping of its modes in a vacuum, and what
    damping it has; `loss` is the loss factor g, twice the share of critical damping of each mode."""
    omega, modes = normal(system.mass, system.stiffness)
    moved = system.mass @ modes
    return replace(system, damping=system.damping + loss * (moved * omega) @ moved.T)


def state_matrix(system: System, density: float, speed: float, wake: Wake | None = None) -> Array:
    """Matrix A of x' = A x; states are rates, places (those that are resisted), lagged downwash.

    Parameters
    ----------
    system : System
        The body.
    density, speed : float
        kg/m3, m/s.
    wake : Wake or None
        Of the system; None for that of a state for each strip and lag. On fewer states movements that the
        wake alone makes are others.

    Returns
    -------
    (N, N) float array
        N = n + r + states of the wake, 1/s.
    """
    air, v = system.air, speed
    wake = system.wake if wake is None else wake
    n, x = wake.push.shape
    placed, _ = system.resisted
    r = placed.shape[1]
    at_once = 1 - sum(JONES.amounts)
    inertia = system.mass + density * air.mass
    by_rate = -system.damping + density * v * (air.damping + at_once * air.push @ air.rate)
    by_place = -system.stiffness + density * v**2 * (air.stiffness + at_once * air.push @ air.angle)
    matrix = np.zeros((n + r + x, n + r + x))
    matrix[:n, :n] = by_rate
    matrix[:n, n : n + r] = by_place @ placed
    matrix[:n, n + r :] = density * v**2 * wake.push
    matrix[n + r :, :n] = wake.rate
    matrix[n + r :, n : n + r] = v * wake.angle @ placed
    matrix[n + r :, n + r :] = -v * wake.fade
    matrix[:n] = solved(inertia, matrix[:n])
    matrix[n : n + r, :n] = placed.T @ system.mass
    return matrix


@dataclass(frozen=True, eq=False)
class FollowedModes:
    """Eigenvalues followed by speed.

    Parameters
    ----------
    speeds : (v,) float array
        m/s.
    values : (v, m) complex array
        1/s, one column a mode, lowest first at the first speed; NaN from where it ceases to oscillate.
    shapes : (v, n, m) complex array
        Coordinates, of unit length.
    """

    speeds: Array
    values: Complex
    shapes: Complex

    @property
    def damping(self) -> Array:
        """Share of critical damping, (v, m); below nought it grows."""
        return np.asarray(-self.values.real / np.maximum(np.abs(self.values), 1e-30))


def _oscillating(system: System, density: float, speed: float, m: int) -> tuple[Complex, Complex]:
    """Eigenvalues that swing, lowest first, and shapes; some more than m."""
    known = system.swung
    if (density, speed) not in known:
        values, vectors = np.linalg.eig(state_matrix(system, density, speed))
        up = np.flatnonzero(values.imag > 1e-3 * np.abs(values))
        order = up[np.argsort(np.abs(values[up]), kind="stable")]
        shapes = vectors[: len(system.mass), order] / values[order]
        known[density, speed] = values[order], shapes / np.linalg.norm(shapes, axis=0)
    values, shapes = known[density, speed]
    return values[: 2 * m + 4], shapes[:, : 2 * m + 4]


def sweep(
    system: System, density: float, speeds: Array, n_modes: int, *, near: complex | None = None
) -> FollowedModes:
    """Eigenvalues of the lowest modes by speed, each followed by its shape and its pace.

    Parameters
    ----------
    system : System
        The body.
    density : float
        kg/m3.
    speeds : (v,) float array
        Rising or falling, above 0, m/s; the finer, the surer the following.
    n_modes : int
        How many, lowest first at the first speed.
    near : complex or None
        Those nearest to this value at the first speed instead, 1/s.

    Returns
    -------
    FollowedModes
        NaN where a mode ceases to oscillate, from there on.
    """
    from scipy.optimize import linear_sum_assignment

    n = len(system.mass)
    root = np.linalg.cholesky(system.mass).T
    values, shapes = _oscillating(system, density, float(speeds[0]), n if near else n_modes)
    if near:
        order = np.argsort(np.abs(values - near), kind="stable")
        values, shapes = values[order], shapes[:, order]
    values, shapes = values[:n_modes], shapes[:, :n_modes]
    m = len(values)
    all_values = np.full((len(speeds), m), np.nan + 0j)
    all_shapes = np.full((len(speeds), n, m), np.nan + 0j)
    all_values[0], all_shapes[0] = values, shapes
    alive = np.arange(m)
    for i in range(1, len(speeds)):
        new, forms = _oscillating(system, density, float(speeds[i]), n_modes + 6)
        if not len(new) or not len(alive):
            break
        old = all_values[i - 1, alive]
        before = all_values[i - 2, alive] if i > 1 else old
        step = (speeds[i] - speeds[i - 1]) / (speeds[i - 1] - speeds[i - 2]) if i > 1 else 0.0
        expected = old + step * (old - before)
        x, y = root @ all_shapes[i - 1][:, alive], root @ forms
        x, y = x / np.linalg.norm(x, axis=0), y / np.linalg.norm(y, axis=0)
        alike = np.abs(x.conj().T @ y) ** 2
        apart = np.abs(expected[:, None] - new[None, :]) / np.abs(expected)[:, None]
        rows, columns = linear_sum_assignment(np.minimum(apart, 2.0) + 0.5 * (1 - alike))
        sure = apart[rows, columns] < 0.6
        alive_now = alive[rows[sure]]
        all_values[i, alive_now] = new[columns[sure]]
        all_shapes[i][:, alive_now] = forms[:, columns[sure]]
        alive = np.sort(alive_now)
    return FollowedModes(np.asarray(speeds, float), all_values, all_shapes)


@dataclass(frozen=True, eq=False)
class Flutter:
    """A speed at which the body swings by itself without dying out.

    Parameters
    ----------
    speed : float
        m/s.
    omega : float
        rad/s.
    shape : (n,) complex array
        Coordinates, of unit length.
    """

    speed: float
    omega: float
    shape: Complex


class _Bound(NamedTuple):
    """Of a search: where, above 0, what changes its sign between two ends, and a root that goes with it."""

    at: float
    value: float
    root: complex


def _closed_in(
    asked: Callable[[float, complex, complex], _Bound], ends: list[_Bound], close: float
) -> list[_Bound]:
    """Ends so near to one another, over themselves, between which a value turns from 0 or below to above.

    By false position with the value of an end that stays halved (Dowell and Jarratt, A modified regula falsi
    method, BIT 11, 1971, from memory), just beyond the place that it gives, so that both ends close in; by
    halves where that does not at least halve what is left in three steps, and where a value is not finite.

    Parameters
    ----------
    asked : callable
        From a place and the roots of both ends to a new end.
    ends : list of two _Bound
        With a value of 0 or below, and above.
    close : float
        How near.
    """
    ends, values, widths, stayed = list(ends), [end.value for end in ends], [np.inf] * 3, -1
    while (width := abs(ends[1].at - ends[0].at)) > close * max(ends[0].at, ends[1].at):
        share = 0.5
        if np.isfinite(values).all() and values[1] > values[0] and width < 0.5 * widths[-3]:
            share = -values[0] / (values[1] - values[0])
            beyond = 0.3 * close * max(ends[0].at, ends[1].at) / width
            share = min(max(share + (beyond if share < 0.5 else -beyond), beyond), 1 - beyond)
        widths.append(width)
        new = asked(ends[0].at + share * (ends[1].at - ends[0].at), ends[0].root, ends[1].root)
        side = int(new.value > 0)
        ends[side], values[side] = new, new.value
        if stayed == 1 - side:
            values[1 - side] /= 2
        stayed = 1 - side
    return ends


def _growing(system: System, density: float, speed: float) -> Complex:
    """Eigenvalues that swing, fastest growing first."""
    values = np.linalg.eigvals(state_matrix(system, density, speed, system.short_wake))
    values = values[values.imag > 1e-3 * np.abs(values)]
    return np.asarray(values[np.argsort(-values.real, kind="stable")])


def flutter(
    system: System, density: float, speeds: Array, *, exact: bool = True, most: int = 1
) -> list[Flutter]:
    """Flutter points: speeds at which one more mode begins to grow.

    Parameters
    ----------
    system, density
        As for `sweep`.
    speeds : (v,) float array
        Rising, above 0, m/s: searched from the first to the last, in these steps, and below the first if a
        mode grows there; one that grows only between two of them is not seen.
    exact : bool
        End on Theodorsen's function; else the answer is that of Jones's lags, by which it is searched.
    most : int
        How many points, lowest first.

    Returns
    -------
    list of Flutter
        Empty where nothing flutters up to the last speed.
    """

    def at(speed: float) -> Array:
        return np.asarray(_growing(system, density, speed).real)

    def count(growth: Array) -> int:
        return int(np.count_nonzero(growth > 0))

    def next_to(before: int, speed: float, growth: Array) -> _Bound:
        """Growth of the mode that grows where more than `before` do."""
        return _Bound(speed, float(growth[before]) if len(growth) > before else -np.inf, 0j)

    found: list[Flutter] = []
    slow = at(float(speeds[0]))
    if count(slow):  # begun already: where?
        speeds = np.concatenate([float(speeds[0]) * 2.0 ** -np.arange(_BELOW, 0.0, -1.0), speeds])
        slow = at(float(speeds[0]))
    for low, high in pairwise(speeds.tolist()):
        fast, before = at(high), count(slow)
        if count(fast) > before:
            ends = [next_to(before, low, slow), next_to(before, high, fast)]

            def growing(speed: float, *_: complex, before: int = before) -> _Bound:
                return next_to(before, speed, at(speed))

            b = _closed_in(growing, ends, _CLOSE)[1].at
            values = _growing(system, density, b)
            values = values[values.real > 0]
            # Two plain roots that meet and begin to swing grew before: no flutter begins here.
            begins = values.size and np.min(values.real / np.abs(values)) < _JUST
            if begins:
                found.append(_settle(system, density, b, exact=exact))
            if len(found) == most:
                break
        slow = fast
    return found


def _settle(system: System, density: float, speed: float, *, exact: bool) -> Flutter:
    """Newton's steps from the search's point on the dynamic stiffness of harmonic movement."""
    matrix = state_matrix(system, density, speed)
    values, vectors = np.linalg.eig(matrix)
    swinging = np.flatnonzero(values.imag > 1e-3 * np.abs(values))
    critical = swinging[np.argmin(np.abs(values[swinging].real) / np.abs(values[swinging]))]
    shape = vectors[: len(system.mass), critical]
    point = np.array([speed, values[critical].imag])
    shape = shape / np.linalg.norm(shape)
    try:
        point, shape = _newton(system, density, point, shape, JONES, fixed=None)
        if exact:
            point, shape = _newton(system, density, point, shape, None, fixed=None)
    except (NoFlutterPoint, np.linalg.LinAlgError):
        pass  # where two modes meet the search's own answer, by the lags to 1e-6, is all there is
    return Flutter(float(point[0]), float(point[1]), shape)


def root(system: System, density: float, speed: float, start: complex, lags: Lags | None = None) -> complex:
    """An eigenvalue at one speed, with the exact function of growing and dying movement.

    Parameters
    ----------
    system, density, speed
        As for `state_matrix`.
    start : complex
        From where, 1/s.
    lags : Lags or None
        None for the exact function.

    Returns
    -------
    complex
        1/s.
    """
    stiff = dynamic_stiffness(system, density, speed, start, lags)
    shape = np.linalg.svd(stiff)[2][-1].conj()
    point, _ = _newton(system, density, np.array([start.real, start.imag]), shape, lags, fixed=speed)
    return complex(point[0], point[1])


def dynamic_stiffness(
    system: System, density: float, speed: float, p: complex, lags: Lags | None = None
) -> Complex:
    """Forces for movement q e^(pt).

    Parameters
    ----------
    system, density, speed
        As for `state_matrix`.
    p : complex
        1/s.
    lags : Lags or None
        None for the exact function.

    Returns
    -------
    (n, n) complex array
        Force for each q.
    """
    air, v = system.air, speed
    reduced = np.asarray(p * air.half_chord / v, dtype=np.complex128)
    lagged = theodorsen(reduced) if lags is None else lags.lag(reduced)
    wake = v * (air.push * lagged) @ (v * air.angle + p * air.rate)
    force = -(p**2) * air.mass + p * v * air.damping + v**2 * air.stiffness + wake
    return np.asarray(p**2 * system.mass + p * system.damping + system.stiffness - density * force)


def _newton(
    system: System, density: float, point: Array, shape: Complex, lags: Lags | None, *, fixed: float | None
) -> tuple[Array, Complex]:
    """Speed and omega (or, at a fixed speed, the two parts of p) that make the dynamic stiffness singular."""
    scale = np.diag(1 / np.sqrt(np.diag(system.mass)))

    def matrix(at: Array) -> Complex:
        if fixed is None:
            return np.asarray(
                scale @ dynamic_stiffness(system, density, float(at[0]), 1j * at[1], lags) @ scale
            )
        p = complex(at[0], at[1])
        return np.asarray(scale @ dynamic_stiffness(system, density, fixed, p, lags) @ scale)

    n = len(scale)
    right = np.linalg.solve(scale, shape)
    right = right / np.linalg.norm(right)
    left = np.linalg.svd(matrix(point))[0][:, -1]

    def gap(at: Array) -> tuple[complex, Complex]:
        size = np.abs(matrix(at)).max()
        bordered = np.zeros((n + 1, n + 1), complex)
        bordered[:n, :n], bordered[:n, n], bordered[n, :n] = matrix(at) / size, left, right.conj()
        answer = np.linalg.solve(bordered, np.eye(n + 1)[n])
        return complex(answer[n] * size), answer[:n]

    unit = max(abs(point[0]), abs(point[1])) if fixed is not None else 0.0
    for _ in range(_STEPS):
        value, vector = gap(point)
        steps = np.full(2, 1e-6 * unit) if unit else 1e-6 * np.abs(point)
        slopes = []
        for i in range(2):
            ahead, behind = point.copy(), point.copy()
            ahead[i] += steps[i]
            behind[i] -= steps[i]
            slopes.append((gap(ahead)[0] - gap(behind)[0]) / (2 * steps[i]))
        jacobian = np.array([[s.real for s in slopes], [s.imag for s in slopes]])
        change = np.linalg.solve(jacobian, [-value.real, -value.imag])
        allowed = 0.1 * (np.full(2, unit) if unit else np.abs(point))
        change *= min(1.0, float(np.min(allowed / np.maximum(np.abs(change), 1e-300))))
        point = point + change
        right = vector / np.linalg.norm(vector)
        if np.all(np.abs(change) < 1e-10 * (unit if unit else np.abs(point))):
            shape = scale @ vector
            return point, np.asarray(shape / np.linalg.norm(shape))
    raise NoFlutterPoint(f"no flutter point found from {point[0]:.4g}, {point[1]:.4g}")


@dataclass(frozen=True, eq=False)
class Onset:
    """What a flutter point hangs on, by the derivative of its eigenvalue.

    Parameters
    ----------
    left, right : (n,) complex array
        Vectors that the dynamic stiffness takes to nought from either side.
    omega : float
        rad/s.
    slopes : (2, 2) float array
        Real and imaginary part of left* D right by speed and by omega.
    """

    left: Complex
    right: Complex
    omega: float
    slopes: Array

    def by(self, stiffness: Complex, mass: Complex, damping: Complex | float = 0.0) -> Array:
        """Change of the speed, (p,), m/s, by left* dK right, left* dM right and left* dC right of p
        changes."""
        change = stiffness - self.omega**2 * mass + 1j * self.omega * damping
        return np.asarray(np.linalg.solve(self.slopes, -np.stack([change.real, change.imag]))[0])


def onset(system: System, density: float, point: Flutter, lags: Lags | None = None) -> Onset:
    """What a flutter point hangs on.

    Parameters
    ----------
    system, density
        As for `sweep`.
    point : Flutter
        From `flutter`.
    lags : Lags or None
        None for the exact function, as `flutter` ends on it.

    References
    ----------
    Derivative of an eigenvalue by left and right vectors: Fox and Kapoor 1968, for more than one unknown by
    the implicit function (from memory).
    """

    def stiff(speed: float, omega: float) -> Complex:
        return dynamic_stiffness(system, density, speed, 1j * omega, lags)

    v, w = point.speed, point.omega
    left, _, right = np.linalg.svd(stiff(v, w))
    y, x = left[:, -1], right[-1].conj()
    step = 1e-5
    by_speed = (stiff(v * (1 + step), w) - stiff(v * (1 - step), w)) / (2 * step * v)
    by_omega = (stiff(v, w * (1 + step)) - stiff(v, w * (1 - step))) / (2 * step * w)
    values = [y.conj() @ d @ x for d in (by_speed, by_omega)]
    return Onset(y, x, w, np.array([[q.real for q in values], [q.imag for q in values]]))


@dataclass(frozen=True, eq=False)
class HarmonicAir:
    """Air that is known for harmonic movement alone, at some kappa = omega/V; between them by cubics.

    Parameters
    ----------
    kappa : (k,) float array
        Rising from 0, 1/m.
    force : (k, n, n) complex array
        Generalised force over density V^2 by coordinates.
    """

    kappa: Array
    force: Complex

    @cached_property
    def _cubics(self) -> Cubic:
        return cubic(self.kappa, self.force)

    def at(self, kappa: Array | float) -> Complex:
        """Force at one kappa, (n, n), or at some, (k, n, n)."""
        return np.asarray(self._cubics(kappa))


def harmonic_flutter(
    mass: Array, stiffness: Array, air: HarmonicAir, density: float, loss: float = 0.0
) -> Flutter | None:
    """Lowest flutter point of a body whose air is known for harmonic movement.

    For every kappa the loss factor is found with which each mode would just keep swinging; where that passes
    the structure's own, it does. Of these points the slowest is the onset, since at rest all modes die out.

    Parameters
    ----------
    mass, stiffness : (n, n) float array
        Of the body.
    air : HarmonicAir
        On the same coordinates.
    density : float
        kg/m3.
    loss : float
        Loss factor of the structure, its stiffness being (1 + i loss) times that given.

    Returns
    -------
    Flutter or None
        None where there is none between the first and the last kappa.

    References
    ----------
    Theodorsen and Garrick, NACA TR 685, 1940: the artificial damping (from memory).
    """

    def modes(kappas: Array) -> list[Complex]:
        moving = mass + density * air.at(kappas) / kappas[:, None, None] ** 2
        every = np.linalg.eigvals(solved(moving, stiffness))
        return [values[values.real > 1e-6 * np.abs(values)] for values in every]

    def asked(value: Any) -> Any:
        return -value.imag / value.real - loss

    path = np.geomspace(air.kappa[-1], air.kappa[-1] / 100, _FINE)
    found: list[tuple[float, float, float]] = []
    for (high, before), (low, now) in pairwise(zip(path.tolist(), modes(path))):
        if not (len(now) and len(before)):
            continue
        apart = np.abs(np.log(now / before[:, None]))
        nearest = np.argmin(apart, axis=1)
        close = apart[np.arange(len(before)), nearest] <= 0.5
        turns = (asked(before) > 0) != (asked(now[nearest]) > 0)
        for k in np.flatnonzero(turns & close).tolist():
            rising = 1.0 if asked(now[nearest[k]]) > 0 else -1.0

            def lacking(kappa: float, value: complex, rising: float = rising) -> _Bound:
                return _Bound(kappa, float(rising * asked(value)), value)

            def followed(kappa: float, one: complex, other: complex, lacking: Any = lacking) -> _Bound:
                values = modes(np.array([kappa]))[0]
                return lacking(kappa, values[np.argmin(np.abs(values - (one + other) / 2))])

            ends = [lacking(high, before[k]), lacking(low, now[nearest[k]])]
            _, (b, _, at_b) = _closed_in(followed, ends, _CLOSER)
            # omega^2/(1 + i g) at the loss factor g.
            omega = float(np.sqrt(abs(1 + 1j * loss) ** 2 * at_b.real))
            if abs(asked(at_b)) < 1e-4:
                found.append((omega / b, omega, b))
    if not found:
        return None
    speed, omega, kappa = min(found)
    stiff = (1 + 1j * loss) * stiffness - omega**2 * (mass + density * air.at(kappa) / kappa**2)
    shape = np.linalg.svd(stiff)[2][-1].conj()
    return Flutter(speed, omega, np.asarray(shape))


def _steady_forms(system: System) -> tuple[Array, Array, Array]:
    """Stiffness on resisted places, (n, r); the air's steady force on them, and on lasting rates over V."""
    placed, neutral = system.resisted
    air = system.air
    return system.stiffness @ placed, air.steady @ placed, air.steady_rate @ neutral


def divergence(system: System) -> float:
    """Dynamic pressure at which the air undoes the stiffness, Pa; infinite where it never does.

    A free body plunges and rolls as steadily as it likes meanwhile.
    """
    stiff, steady, lasting = _steady_forms(system)
    none = np.zeros_like(lasting)
    return _lowest(np.hstack([stiff, none]), 2 * np.hstack([steady, lasting]))


def reversal(system: System, control: Array) -> float:
    """Dynamic pressure at which a control no longer turns a body that is free to roll, Pa; infinite if never.

    Parameters
    ----------
    system : System
        With one coordinate whose rate alone is resisted: roll.
    control : (n,) float array
        Generalised force of the control for unit dynamic pressure and angle, m2 or m3 per rad.
    """
    stiff, steady, lasting = _steady_forms(system)
    if lasting.shape[1] != 1:
        raise ValueError(f"a body free to roll has one neutral coordinate, this one {lasting.shape[1]}")
    return _lowest(np.hstack([stiff, 0 * lasting]), np.hstack([2 * steady, control[:, None]]))


def steady(system: System, pressure: float, force: Array) -> tuple[Array, Array]:
    """Steady answer to forces in the stream.

    Parameters
    ----------
    system : System
        Held, or free to plunge and roll.
    pressure : float
        Dynamic pressure, Pa.
    force : (n,) float array
        Generalised, N or N m.

    Returns
    -------
    place : (n,) float array
        Coordinates that are resisted.
    pace : (n,) float array
        Lasting rates over V, 1/m times the coordinates' unit.
    """
    stiff, by_place, lasting = _steady_forms(system)
    placed, neutral = system.resisted
    matrix = np.hstack([stiff - 2 * pressure * by_place, -2 * pressure * lasting])
    answer = solved(matrix, force)
    r = placed.shape[1]
    return np.asarray(placed @ answer[:r]), np.asarray(neutral @ answer[r:])


def trimmed(
    stiffness: Array, force: Array, push: Array, by_place: Array, by_trim: Array, sums: Array
) -> tuple[Array, Array, Array]:
    """A body under given forces in a stream whose pressure follows its movement, kept in balance by trim.

    Parameters
    ----------
    stiffness : (n, n) float array
        Of the body.
    force : (n,) float array
        Generalised, at places of nought.
    push : (n, m) float array
        Generalised force of pressures.
    by_place : (m, n) float array
        Pressures more for each coordinate.
    by_trim : (m, k) float array
        Pressures more for each means of trim.
    sums : (k, m) float array
        What of those further pressures must vanish together.

    Returns
    -------
    place : (n,) float array
        Coordinates.
    trim : (k,) float array
        Of each means.
    more : (m,) float array
        Further pressures.
    """
    n = len(stiffness)
    matrix = np.block([[stiffness - push @ by_place, -push @ by_trim], [sums @ by_place, sums @ by_trim]])
    answer = solved(matrix, np.concatenate([force, np.zeros(len(sums))]))
    place, trim = answer[:n], answer[n:]
    return place, trim, by_place @ place + by_trim @ trim


def trim_limit(stiffness: Array, push: Array, by_place: Array, by_trim: Array, sums: Array) -> float:
    """How much more stream a body can be trimmed in: beyond, answers of `trimmed` mean nothing.

    Parameters
    ----------
    stiffness, push, by_place, by_trim, sums
        As for `trimmed`.

    Returns
    -------
    float
        Times the pressure that `by_place` and `by_trim` are for; infinite where trim holds it at any.
    """
    n, k = len(stiffness), len(sums)
    firm = np.block([[stiffness, np.zeros((n, k))], [sums @ by_place, sums @ by_trim]])
    soft = np.block([[push @ by_place, push @ by_trim], [np.zeros((k, n + k))]])
    return _lowest(firm, soft)


def _lowest(stiff: Array, soft: Array) -> float:
    """Least q above nought at which stiff - q soft is singular."""
    # Rows and columns to one size, so that rounding does not pass for a root.
    rows = 1 / np.maximum(np.abs(stiff).max(axis=1), 1e-300)
    rows[np.abs(stiff).max(axis=1) < 1e-9 * np.abs(stiff).max()] = 1 / np.abs(stiff).max()
    with np.errstate(divide="ignore", invalid="ignore"):
        top, bottom = sl.eig(
            stiff * rows[:, None], soft * rows[:, None], right=False, homogeneous_eigvals=True
        )
        values = np.where(np.abs(bottom) > 1e-12 * np.abs(bottom).max(), top / bottom, np.inf)
    plain = np.isfinite(values) & (np.abs(values.imag) < 1e-6 * np.abs(values)) & (values.real > 0)
    real = values.real[plain]
    floor = 1e-9 * np.median(np.abs(values[np.isfinite(values)])) if real.size else 0.0
    real = real[real > floor]
    return float(real.min()) if real.size else float("inf")
