"""What a wing is made of: plain frozen records in SI, the result of reading a file.

Everything that varies along the span is a `Line` over the spanwise coordinate y of the starboard side (0 at
the centre line, or at the clamp of a specimen), so that one description serves a tapered swept wing and a
straight test spar. Axes: x aft, y to the starboard tip, z up. Lengths m, masses kg, angles rad.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from fea.arrays import Array
from models.woods.wood import Material

GRAIN_UPRIGHT = np.pi / 2
"""Grain angle of a web or post whose grain runs from the lower to the upper cap; 0 runs along the span."""

RIB_END = 0.02
"""Where ribs end from an edge of a wing that has no stick there, of the chord (chosen, no source)."""


class NotFlying(ValueError):
    """What is asked needs a wing that flies; a specimen does not."""


@dataclass(frozen=True, eq=False)
class Line:
    """A quantity along the span, linear between its points; two points at one y make a step.

    Parameters
    ----------
    y : (n_points,) float array
        Spanwise positions, m, not decreasing.
    value : (n_points,) float array
        The quantity there, in its own SI unit.
    """

    y: Array
    value: Array

    def at(self, y: Array | float) -> Array:
        """Value at y (m), held constant beyond the ends; at a step, the value inboard of it."""
        y = np.asarray(y, dtype=float)
        if not self._steps:
            return np.asarray(np.interp(y, self.y, self.value))
        span, divisor = self._spans
        left = np.minimum(np.maximum(np.searchsorted(self.y, y, side="left") - 1, 0), len(span) - 1)
        share = np.where(span[left] > 0, (y - self.y[left]) / divisor[left], 1.0)
        share = np.minimum(np.maximum(share, 0.0), 1.0)
        return np.asarray(self.value[left] * (1 - share) + self.value[left + 1] * share)

    @cached_property
    def _spans(self) -> tuple[Array, Array]:
        """Distances between points, m, and the same to divide by."""
        span = np.diff(self.y)
        return span, np.where(span > 0, span, 1.0)

    @cached_property
    def _steps(self) -> bool:
        return bool((self.y[1:] <= self.y[:-1]).any())

    @staticmethod
    def constant(value: float) -> Line:
        """The same value all along the span."""
        return Line(np.array([0.0]), np.array([float(value)]))


def aslant(run: Line) -> Line:
    """Size along x over size square to the run of what lies along a swept line without steps, seen from
    above: 1/cos of its sweep, at least 1.

    A stick keeps its sizes square to itself, and a rib cuts it along the stream. At a kink the mean slope
    counts.
    """
    if len(run.y) < 2:
        return Line.constant(1.0)
    slope = np.diff(run.value) / np.diff(run.y)
    beside = np.stack([np.concatenate([slope[:1], slope]), np.concatenate([slope, slope[-1:]])])
    return Line(run.y, np.hypot(1.0, beside.mean(axis=0)))


@dataclass(frozen=True, eq=False)
class Layer:
    """One layer of a cap: a solid stick, or a facing (a carbon strip, say) glued flat on it.

    `height` is the layer's size up and down. `material.cut` says how the annual rings lie.
    """

    height: Line
    material: Material


@dataclass(frozen=True, eq=False)
class Cap:
    """A spar cap: `width` fore and aft, square to the spar's run, and its layers from the outer face (next to
    the skin) inward."""

    width: Line
    layers: tuple[Layer, ...]

    def height(self, y: Array | float) -> Array:
        """Height over all layers at spanwise positions y (m, not negative), m."""
        return sum((layer.height.at(y) for layer in self.layers), np.zeros(np.shape(y)))


@dataclass(frozen=True, eq=False)
class Web:
    """A shear web in one bay of one spar, on one face of the caps or let in between them.

    `bay` is counted from the centre outward, 1 the first between two ribs of one side; 0 is the bay that
    straddles the centre line where no rib stands on it. `side` is "port" or "starboard" (both records are
    given where both sides carry the web). `face` is "front", "rear" or "between". `grain` is the angle of
    the (face) grain from the span towards upright, rad.
    """

    bay: int
    side: str
    face: str
    thickness: float
    material: Material
    grain: float
    glue: str


@dataclass(frozen=True, eq=False)
class Spar:
    """A spar: where it runs, its two caps and its webs.

    `x` is the caps' centre line fore and aft; `z_upper` the outer (upper) face of the upper cap, `z_lower`
    the outer (lower) face of the lower cap. A spar reaches from the centre line (or clamp) to `y_end`.
    `joint` says how its caps meet at the centre and at kinks: "through", "scarfed", "butted" or "joiner"; ""
    where the file does not say.
    """

    name: str
    x: Line
    z_upper: Line
    z_lower: Line
    upper: Cap
    lower: Cap
    webs: tuple[Web, ...]
    y_end: float
    joint: str = ""

    @cached_property
    def aslant(self) -> Line:
        """`aslant` of the spar's own run."""
        return aslant(self.x)


@dataclass(frozen=True, eq=False)
class Rib:
    """A rib at one station: the panel over the chord, and the post that it makes between the caps of each
    spar.

    `panel` says how far the panel reaches: "chord" (leading to trailing edge), "between spars" (from the
    first spar's caps to the last's), or "none" (posts only). `grain` is the panel's grain angle from the
    chord line towards upright. A post fills the clear depth between two caps: `post_thickness` along the
    span, as wide as the caps, grain `post_grain` (from the chord line towards upright).
    Cap strips run along the upper and lower edge of the panel; zero width where there are none.
    """

    y: float
    thickness: float
    material: Material
    grain: float
    panel: str
    post_thickness: float
    post_material: Material
    post_grain: float
    cap_strip_width: float = 0.0
    cap_strip_thickness: float = 0.0
    cap_strip_material: Material | None = None


@dataclass(frozen=True, eq=False)
class Sheet:
    """Sheeting on the upper or lower surface, from one chordwise line to another, over some bays.

    `surface` is "upper" or "lower". `x_from` and `x_to` are its front and rear edges. `from_leading_edge`
    tells that its front edge is the leading edge itself, where it meets the other surface's sheet. `grain`
    is the angle of the (face) grain from the span towards aft. `bays` holds (side, bay) pairs.
    """

    surface: str
    x_from: Line
    x_to: Line
    from_leading_edge: bool
    thickness: float
    material: Material
    grain: float
    bays: frozenset[tuple[str, int]]


@dataclass(frozen=True, eq=False)
class Covering:
    """Film or doped tissue on one surface, from one chordwise line to another, over some bays.

    `surface` is "upper" or "lower"; `bays` holds (side, bay) pairs. `stretch` holds the plane-stress moduli
    times thickness along and across its grain, (3, 3), N/m; None where the file gives it mass alone. `grain`
    is from the span towards aft, rad. `pretension` is along the span and along the chord, N/m; `strength`
    N/m, None where it is not known. `stiffer` is by how much the film may be stiffer, where its stiffness is
    the list's. `mass_per_area` is 0 where `Wing.covering_mass_per_area` counts it.
    `doubts` says what was taken for granted, a sentence each.
    """

    surface: str
    x_from: Line
    x_to: Line
    bays: frozenset[tuple[str, int]]
    mass_per_area: float
    film: str
    stretch: Array | None = None
    grain: float = 0.0
    pretension: tuple[float, float] = (0.0, 0.0)
    strength: float | None = None
    stiffer: float = 1.0
    doubts: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False)
class Edge:
    """A leading or trailing edge: a stick running through the rib ends, `width` along the chord, `height`
    upright."""

    kind: str
    width: float
    height: float
    material: Material


@dataclass(frozen=True, eq=False)
class Brace:
    """A dihedral brace or spar joiner: a plate on one face of a spar, from the centre line to `y_end` on
    each side.

    `face` is "front", "rear" or "between"; `grain` is that of the face grain from the span towards upright.
    """

    spar: str
    face: str
    y_end: float
    thickness: float
    material: Material
    grain: float
    glue: str


@dataclass(frozen=True, eq=False)
class Joiner:
    """A rod, tube or blade that joins two parts of a spar at `at` (m from the centre line; 0: the halves).

    It reaches `reach` to each side of the joint, in a box that begins `box_from` beside it. `form` is "rod",
    "tube" or "blade"; `width` (fore and aft) and `height` of the section are the diameter where it is round,
    `wall` is a tube's, m. `filler` is the wood of the box between the caps, over, under and beside it, its
    grain along the span or `upright`. `wrapped` says that thread or cloth holds the caps on the box.
    """

    spar: str
    form: str
    at: float
    reach: float
    box_from: float
    width: float
    height: float
    wall: float
    material: Material
    filler: Material
    upright: bool
    glue: str
    wrapped: bool

    @property
    def area(self) -> float:
        """Of its section, m2."""
        if self.form == "blade":
            return self.width * self.height
        inner = 0.0 if self.form == "rod" else self.height - 2 * self.wall
        return float(np.pi * (self.height**2 - inner**2) / 4)

    @property
    def station(self) -> float | None:
        """Where its joint is, m; None on the centre line."""
        return self.at if self.at > 1e-9 else None


@dataclass(frozen=True, eq=False)
class Fastening:
    """What holds a wing on its fuselage: bolts at `bolts_at` and dowels at `dowels_at` (x, m), or bands.

    `bolts` (0: none) of `thread` (diameter, m), each breaking at `breaking` (N), in two rows `across` (m; 0:
    one row), heads or washers `washer` wide on a plate `plate` thick; `dowels` of `dowel` (diameter, m) in a
    former `former` thick. `bands` of rubber (0: none) pull `band_pull` (N) each. `mass` of all of it, kg.
    """

    bolts: int
    thread: float
    breaking: float
    bolts_at: float
    across: float
    washer: float
    plate: float
    plate_material: Material
    dowels: int
    dowel: float
    dowels_at: float
    dowel_material: Material
    former: float
    former_material: Material
    bands: int
    band_pull: float
    mass: float


@dataclass(frozen=True)
class Bolts:
    """Holes for the engine's bolts in a rail and its twin, as measured on the engine.

    `across` is between the rows of the two rails (0 for a rail on the centre line), `along` between two bolts
    of a rail, `from_front` from its front end to the first; `hole` is their diameter. Lengths m.
    """

    across: float
    along: float
    from_front: float
    hole: float
    per_rail: int


@dataclass(frozen=True, eq=False)
class Rail:
    """An engine bearer: a straight hardwood stick at `y` (starboard; its twin at -y when y > 0), from
    `x_front` to `x_rear`.

    `z` is the height of its centre line. It is tied to each spar named in `ties` by a ply web of
    `tie_thickness` standing in its own fore-and-aft plane between the spar's caps and, where it passes two
    spars, between them.
    """

    name: str
    y: float
    x_front: float
    x_rear: float
    z: float
    width: float
    height: float
    material: Material
    ties: tuple[str, ...]
    tie_thickness: float
    tie_material: Material
    tie_grain: float
    glue: str
    bolts: Bolts | None = None


@dataclass(frozen=True, eq=False)
class PointMass:
    """Something heavy: engine, tank, battery, servo. `carried_by` is "rails", "fuselage" or "wing". Position
    in m, mass in kg.

    A mass at y > 0 with `paired` stands on both sides (two records of `mass` each); one at y = 0 is on the
    centre line. `empty` is what is left of it when it is used up (fuel; None: nothing is), kg; `places` its
    foremost and rearmost x where it may be moved, m.
    """

    name: str
    mass: float
    x: float
    y: float
    z: float
    carried_by: str
    paired: bool = False
    empty: float | None = None
    places: tuple[float, float] | None = None


@dataclass(frozen=True)
class Engine:
    """An engine or motor on rails, its propeller turning clockwise seen from behind.

    `name` is that of its mass. Thrust N; torque N m; `speed` of the shaft at full throttle, `idle` at its
    slowest, rad/s; `rotor_inertia` of all that
    turns, kg m2; `yaw_rate` rad/s. `firings` a revolution is 0 for an electric motor. `vibration`,
    `nose_over` and `hard_landing` are the stated factors of those load cases.
    """

    name: str
    thrust: float
    torque: float
    speed: float
    blades: int
    firings: float
    rotor_inertia: float
    yaw_rate: float
    vibration: float
    nose_over: float
    hard_landing: float
    idle: float


def section_ordinates(table: Array, fraction: Array | float) -> Array:
    """Ordinates of sections, (n_sections, ...), at fractions of the chord (...) between the points of
    their tables (n_sections, n_points) at `models.wing.airfoil.FRACTIONS`.

    The tables' points lie evenly in the angle whose cosine runs over the chord; in it a section is smooth,
    nose and all: cubics through four points (Catmull and Rom, A class of local interpolating splines, 1974,
    from memory), so that what hangs on a place along the chord has no corners.
    """
    last = table.shape[1] - 1
    at = np.arccos(1 - 2 * np.clip(np.asarray(fraction, dtype=np.float64), 0.0, 1.0)) / np.pi * last
    i = np.clip(np.nan_to_num(at), 0, last - 1).astype(np.intp)
    t = at - i
    one, two = table[:, i], table[:, i + 1]
    # The nose runs straight on, in the angle, and the tail turns back.
    zero = np.where(i > 0, table[:, np.maximum(i - 1, 0)], 2 * one - two)
    three = np.where(i + 2 <= last, table[:, np.minimum(i + 2, last)], one)
    slope, curve = (two - zero) / 2, zero - 2.5 * one + 2 * two - three / 2
    return np.asarray(one + t * (slope + t * (curve + t * ((three - zero) / 2 + 1.5 * (one - two)))))


@dataclass(frozen=True, eq=False)
class Planform:
    """Outline and sections along the span.

    `leading_edge_x`, `leading_edge_z`, `chord` and `washout` (nose down positive, rad) are lines over y;
    `section_upper` and `section_lower` are ordinates over the chord (fractions of chord) at `section_x`
    (fractions), one row a section, for the sections at `section_y`; between them the ordinates vary linearly.
    """

    semispan: float
    chord: Line
    leading_edge_x: Line
    leading_edge_z: Line
    washout: Line
    section_y: Array
    section_x: Array
    section_upper: Array
    section_lower: Array

    @property
    def area(self) -> float:
        """Projected area of both sides, m2."""
        y = np.unique(np.concatenate([self.chord.y, [0.0, self.semispan]]))
        return float(2 * np.trapezoid(self.chord.at(y), y))

    def surface(self, y: float, fraction: Array, upper: bool) -> tuple[Array, Array]:
        """As `surface_at`, of the points of one station y, m."""
        return self.surface_at(np.full(np.shape(fraction), y), fraction, upper)

    def surface_at(self, y: Array, fraction: Array, upper: bool) -> tuple[Array, Array]:
        """Points of the airfoil's surface, one a station, with washout and dihedral.

        Parameters
        ----------
        y : (n,) float array
            Stations, m.
        fraction : (n,) float array
            Position along the chord at each, fraction.
        upper : bool
            The upper surface, or the lower.

        Returns
        -------
        x, z : (n,) float arrays
            Coordinates, m.
        """
        table = self.section_upper if upper else self.section_lower
        ordinates = section_ordinates(table, fraction)
        if len(self.section_y) == 1:
            ordinate = ordinates[0]
        else:
            i = np.clip(np.searchsorted(self.section_y, y) - 1, 0, len(self.section_y) - 2)
            s = np.clip((y - self.section_y[i]) / (self.section_y[i + 1] - self.section_y[i]), 0.0, 1.0)
            row = np.arange(len(y))
            ordinate = ordinates[i, row] * (1 - s) + ordinates[i + 1, row] * s
        return self._placed(y, fraction, ordinate)

    def _placed(self, y: Array | float, fraction: Array, ordinate: Array) -> tuple[Array, Array]:
        """Section points turned by the washout about the quarter chord, nose down, and put in their place."""
        chord, twist = self.chord.at(y), self.washout.at(y)
        along, up = chord * (np.asarray(fraction) - 0.25), chord * ordinate
        x = self.leading_edge_x.at(y) + 0.25 * chord + along * np.cos(twist) - up * np.sin(twist)
        return x, self.leading_edge_z.at(y) + along * np.sin(twist) + up * np.cos(twist)


@dataclass(frozen=True, eq=False)
class LoadCase:
    """What is asked of the wing.

    `kind` is "pull-up" (a wing in flight) or "bench" (a specimen clamped at its root). A pull-up has a load
    factor (already worked out where the file gives speed and radius), a flying mass (0: the sum of structure
    and point masses) and the section's pitching moment coefficient about `lift_line` (fraction of chord),
    positive nose up; None: each section's own, by its mean line. `air_density` and `speed` give the dynamic
    pressure that the pitching moment needs; a speed of 0 stands for "not given" and the moment then follows
    from lift and `lift_coefficient`.
    `lift_method` says how lift is spread along the span: "schrenk" or "surface" (the vortex lattice).
    `survive` is the share of such wings that must survive all that is asked.
    A bench case has an upward force at the tip of `tip_spar` shared by both caps and a nose-up torque about
    +y there.
    """

    name: str
    kind: str
    load_factor: float = 1.0
    flying_mass: float = 0.0
    moment_coefficient: float | None = None
    lift_line: float = 0.25
    lift_coefficient: float = 1.0
    air_density: float = 1.225
    speed: float = 0.0
    radius: float = 0.0
    lift_method: str = "schrenk"
    survive: float = 0.95
    tip_force: float = 0.0
    tip_torque: float = 0.0
    tip_spar: str = ""


@dataclass(frozen=True)
class Loading:
    """A way to load the aeroplane: `mass` is the whole's (0: it follows from the masses), `masses` what named
    point masses weigh instead of what the file says, kg; `used_up`: of what is used up the rest is left.
    """

    name: str
    mass: float
    masses: tuple[tuple[str, float], ...]
    used_up: bool = False


@dataclass(frozen=True, eq=False)
class Flight:
    """Limits of flight, for the envelope: what the wing can lift, how fast it is flown, in what air.

    Speeds and the inverted load factor that the file leaves out are 0: they follow from the load case.
    `assumed` lists (key path, value in words) of the defaults, whether or not the file has the table. Speeds
    m/s, density kg/m3; `inverted_load_factor` is a size, without its minus.
    """

    max_lift_coefficient: float
    max_lift_coefficient_inverted: float
    cruise_speed: float
    never_exceed_speed: float
    gust_velocity: float
    never_exceed_gust_velocity: float
    inverted_load_factor: float
    loadings: tuple[Loading, ...]
    air_density: float
    assumed: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, eq=False)
class WantedBalance:
    """Where the aeroplane is wanted to balance, and what the file says about balancing it.

    Static margins are shares of the mean aerodynamic chord; `datum`, `neutral_point` (None: of the bare wing)
    and `ballast_at` (None: the foremost or rearmost point) m aft of the centre section's leading edge;
    `glue_spread` kg/m2 of glue line. `assumed` lists (key path, value in words) of the defaults, whether or
    not the file has the table.
    """

    least_static_margin: float
    most_static_margin: float
    datum: float
    neutral_point: float | None
    ballast_at: float | None
    glue_spread: float
    assumed: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True)
class Elevons:
    """Elevons or ailerons of both sides, and how they are thrown.

    They reach from `y_from` to `y_to` (m) behind `hinge` (fraction of the chord); `deflection` is the
    largest, rad. `acts` is "roll and pitch", "roll" or "pitch". A `speed` of 0 (m/s) is the manoeuvring
    speed; a `load_factor` (in roll) of nan two thirds of the case's. `linkage` is the servo's arm over the
    control horn's; one servo a side, of `servo_torque` (N m; nan: not said). For flutter: `servo_stiffness`
    of one side, N m/rad, 0 where the elevon stands still; `mass` of one side's elevon (kg, 0 what the wing
    has behind the hinge), its centre of gravity `balance` behind the hinge (m, nan for half its chord), and
    `slack` from one stop to the other, rad.
    """

    y_from: float
    y_to: float
    hinge: float
    deflection: float
    acts: str
    speed: float
    load_factor: float
    servo_stiffness: float = 0.0
    mass: float = 0.0
    balance: float = float("nan")
    slack: float = 0.0
    linkage: float = 1.0
    servo_torque: float = float("nan")


@dataclass(frozen=True)
class Landing:
    """Landing on tip, belly or legs, and carrying.

    Forces are multiples of the weight; friction is push aft over push upward. A `tip_speed` more than 0 (m/s)
    stands instead of `tip_force`, with `tip_stop` (m). `belly_x` is nan under the centre of gravity; `legs`
    is the name of masses, "" without; `body_length` and `body_width` are 0 where the file is silent. Lengths
    m. `assumed` lists (key path, value in words) of the defaults, whether or not the file has the table.
    """

    lift: float
    tip_force: float
    tip_speed: float
    tip_stop: float
    tip_friction: float
    tip_at: float
    belly_load_factor: float
    belly_friction: float
    belly_x: float
    belly_on: str
    legs: str
    leg_load_factor: float
    leg_friction: float
    leg_length: float
    carrying_load_factor: float
    body_length: float
    body_width: float
    assumed: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True)
class Launch:
    """Launch on a line, by a bungee, by hand, and a motor on its bulkhead.

    Tensions and thrust N, 0 where there is none; angles of the line below the line of flight, rad; the hook's
    place m, nan where the file is silent; `motor` is the name of masses, "" without; torque N m.
    """

    tow_tension: float
    tow_angle: float
    tow_load_factor: float
    bungee_tension: float
    bungee_angle: float
    hook_x: float
    hook_z: float
    hand_push: float
    motor: str
    motor_thrust: float
    motor_torque: float


@dataclass(frozen=True, eq=False)
class Layout:
    """A named layout for comparison: for every spar, which faces carry a web in which bay of which side.

    `webs` maps (spar name, side, bay) to the faces ("front", "rear", "between"); a bay that is not named is
    open. `grain` overrides the grain of every web (rad); None keeps the file's.
    """

    name: str
    webs: dict[tuple[str, str, int], tuple[str, ...]]
    grain: float | None = None


@dataclass(frozen=True)
class Hung:
    """A bag of the hand test: mass in kg, a spar's name or an edge, the rib's number; None where the file
    says nothing."""

    mass: float
    at: str | None = None
    rib: int | None = None


@dataclass(frozen=True)
class HandTest:
    """The wing held by hand: up to which rib (None: at the centre line), and what is hung from it in turn."""

    held_at: int | None = None
    hang: tuple[Hung, ...] = ()


@dataclass(frozen=True, eq=False)
class Wing:
    """A whole wing, or a specimen.

    Parameters
    ----------
    name, source : str
        Of the wing, and of the file that it was read from.
    root : str
        "symmetry": a flying wing; "clamped": a spar or box held at y = 0.
    semispan : float
        Of a specimen its length, m.
    planform : Planform or None
        Outline and sections; None of a specimen.
    spars : tuple of Spar
        With their caps and webs.
    ribs : tuple of Rib
        Those of the starboard side from the centre outward.
    sheets, edges, braces, rails, masses
        Parts of these kinds, a tuple each.
    case : LoadCase
        What the wing is checked for.
    layouts : tuple of Layout
        Those of the file, to be compared.
    whole : bool
        Both sides are to be modelled; where every part is the same on both sides half the wing is enough.
    covering_mass_per_area : float
        Of covering which lies everywhere, kg/m2.
    coverings : tuple of Covering
        What has stiffness, and what lies on parts of the wing only.
    engine, flight, elevons, landing, launch, balance, hand_test
        Tables of the file of these names, None where it has none.
    joiners : tuple of Joiner
        What joins parts of its spars.
    fastening : Fastening or None
        What holds it on the fuselage, where the file says so.
    assumed : tuple of (str, str)
        Key path and value in words of every default that the reader filled in.
    cautions : tuple of str
        What is odd but can be built, a sentence each.
    units : str
        "metric" or "imperial": in which answers are told, where no option says.
    """

    name: str
    source: str
    root: str
    semispan: float
    planform: Planform | None
    spars: tuple[Spar, ...]
    ribs: tuple[Rib, ...]
    sheets: tuple[Sheet, ...]
    edges: tuple[Edge, ...]
    braces: tuple[Brace, ...]
    rails: tuple[Rail, ...]
    masses: tuple[PointMass, ...]
    case: LoadCase
    layouts: tuple[Layout, ...] = ()
    whole: bool = False
    covering_mass_per_area: float = 0.0
    coverings: tuple[Covering, ...] = ()
    engine: Engine | None = None
    flight: Flight | None = None
    elevons: Elevons | None = None
    landing: Landing | None = None
    launch: Launch | None = None
    balance: WantedBalance | None = None
    hand_test: HandTest | None = None
    joiners: tuple[Joiner, ...] = ()
    fastening: Fastening | None = None
    assumed: tuple[tuple[str, str], ...] = field(default=())
    cautions: tuple[str, ...] = ()
    units: str = "metric"

    @property
    def clamped(self) -> bool:
        """Whether it is a specimen, held at its root."""
        return self.root == "clamped"

    @property
    def flies(self) -> bool:
        """Whether it is a wing, whose root is the plane of symmetry."""
        return self.root == "symmetry"

    @property
    def bay_edges(self) -> Array:
        """Spanwise positions that bound the bays of one side, m: bay number `first_bay + i` lies between i
        and i + 1."""
        stations = np.array([rib.y for rib in self.ribs])
        if len(stations) == 0 or stations[0] > 1e-9:
            stations = np.concatenate([[0.0], stations])
        if self.semispan - stations[-1] > 1e-9 and self.flies:
            stations = np.concatenate([stations, [self.semispan]])
        return stations

    def rib_number(self, y: float) -> int:
        """Number of the rib nearest to a place (m, of either side), from 1 at the centre."""
        return int(np.abs(np.array([rib.y for rib in self.ribs]) - abs(y)).argmin()) + 1

    @property
    def first_bay(self) -> int:
        """Number of the innermost bay: 0 where it straddles the centre line of a flying wing, else 1."""
        return 0 if self.flies and (not self.ribs or self.ribs[0].y > 1e-9) else 1
