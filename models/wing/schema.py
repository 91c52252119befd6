"""The wing file's shape: every key with its kind, default and meaning, checked by pydantic where the file
comes in.

Two kinds of file: a flying wing (`[planform]`) and a specimen (`[specimen]`), one spar or a box clamped at
its root. Quantities are text with a unit and come out in SI; rules between keys are not here but in `flying`
and `specimen`.
"""

# Annotations stay what they are: pydantic would have to compile every one of them again from its text.
import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated, Any, Literal

import numpy as np
from pydantic import BaseModel, BeforeValidator, ConfigDict, Field
from pydantic_core import PydanticCustomError

from models.wing.units import KINDS, RANGE, QuantityError, read_quantity


@dataclass(frozen=True)
class Form:
    """What a key's value looks like, in words, for the key reference."""

    words: str

    def __get_pydantic_json_schema__(self, core: Any, handler: Any) -> dict[str, Any]:
        """What an editor may check of it (only `models.wing.editor` asks)."""
        from models.wing.editor import form_schema

        return form_schema(self) or handler(core)


def _refuse(expected: str) -> PydanticCustomError:
    return PydanticCustomError("wing_file", "{expected}", {"expected": expected})


def _quantity(kind: str, least: str = "any") -> Callable[[Any], float]:
    def check(value: Any) -> float:
        try:
            number = read_quantity(value, kind)
        except QuantityError as error:
            raise _refuse(str(error)) from None
        if least == "positive" and number <= 0:
            raise _refuse("must be more than zero.")
        if least == "zero" and number < 0:
            raise _refuse("must not be less than zero.")
        lowest, highest = RANGE[kind]
        if abs(number) > highest:
            raise _refuse(f"is beyond any wing: at most {highest:g} {KINDS[kind].si}; look at its unit.")
        if least == "positive" and number < lowest:
            raise _refuse(f"is beyond any wing: at least {lowest:g} {KINDS[kind].si}; look at its unit.")
        return number

    return check


def _pair(one: Callable[[Any], float]) -> Callable[[Any], tuple[float, float]]:
    """One quantity, or a list of two: at the root and at the tip."""

    def check(value: Any) -> tuple[float, float]:
        if not isinstance(value, list):
            return one(value), one(value)
        if len(value) != 2:
            raise _refuse("must be one quantity, or a list of two: at the root and at the tip.")
        return one(value[0]), one(value[1])

    return check


def _two_ways(value: Any) -> tuple[float, float]:
    """A tension per width, or a list of two: along the span and along the chord."""
    read = _quantity("force per length", "positive")
    if not isinstance(value, list):
        return read(value), read(value)
    if len(value) != 2:
        raise _refuse("must be one tension, or a list of two: along the span and along the chord.")
    return read(value[0]), read(value[1])


def _two(one: Callable[[Any], float]) -> Callable[[Any], tuple[float, float]]:
    """A list of two quantities, the lesser first."""

    def check(value: Any) -> tuple[float, float]:
        if not isinstance(value, list) or len(value) != 2:
            raise _refuse("must be a list of two: the foremost and the rearmost.")
        first, last = one(value[0]), one(value[1])
        if last <= first:
            raise _refuse("runs backwards; write the foremost (the lesser) first.")
        return first, last

    return check


_RANGE = re.compile(r"\s*(\d+)\s*(?:-\s*(\d+)\s*)?")


def _bays(value: Any) -> tuple[int, ...]:
    """Bay numbers in order; an empty tuple stands for all bays."""
    if value == "all":
        return ()
    items = value if isinstance(value, list) else [value]
    if not items:
        raise _refuse('names no bay; write "all", a range like "1-5", or a list.')
    found: set[int] = set()
    for item in items:
        match = (
            _RANGE.fullmatch(str(item))
            if isinstance(item, int | str) and not isinstance(item, bool)
            else None
        )
        if match is None:
            raise _refuse(
                'is not a choice of bays; write "all", a range like "1-5", or a list like [1, 2, "4-6"].'
            )
        first, last = int(match[1]), int(match[2] or match[1])
        if last < first:
            raise _refuse("runs backwards; write the inner bay first.")
        if last > 999:
            raise _refuse("is more bays than any wing has.")
        found.update(range(first, last + 1))
    return tuple(sorted(found))


def _grain(words: dict[str, float]) -> Callable[[Any], float]:
    read = _quantity("angle")

    def check(value: Any) -> float:
        if isinstance(value, str) and value in words:
            return words[value]
        if isinstance(value, str) and value.strip().isalpha():
            offered = " or ".join(f'"{word}"' for word in words)
            raise _refuse(f'is not a grain direction; write {offered}, or an angle like "45 deg".')
        return read(value)

    return check


def _of(kind: str, least: str = "any") -> Any:
    return BeforeValidator(_quantity(kind, least)), Form(KINDS[kind].name.split(" ", 1)[1])


UPRIGHT = float(np.pi / 2)
_ACROSS = float(np.pi / 2)

Length = Annotated[float, *_of("length", "positive")]
LengthOrZero = Annotated[float, *_of("length", "zero")]
Offset = Annotated[float, *_of("length")]
Angle = Annotated[float, *_of("angle")]
Mass = Annotated[float, *_of("mass", "positive")]
MassOrZero = Annotated[float, *_of("mass", "zero")]
Density = Annotated[float, *_of("density", "positive")]
MassPerArea = Annotated[float, *_of("mass per area", "positive")]
Force = Annotated[float, *_of("force")]
Torque = Annotated[float, *_of("torque")]
TorquePerAngle = Annotated[float, *_of("torque per angle", "positive")]
Stress = Annotated[float, *_of("stress", "positive")]
Stretch = Annotated[float, *_of("force per length", "positive")]
Speed = Annotated[float, *_of("speed", "positive")]
RateOfTurn = Annotated[float, *_of("rate of turn", "positive")]
Power = Annotated[float, *_of("power", "positive")]
MomentOfInertia = Annotated[float, *_of("moment of inertia", "positive")]
Fraction = Annotated[float, *_of("fraction")]
Share = Annotated[float, *_of("fraction"), Field(ge=0.5, le=0.999)]
Varying = Annotated[
    tuple[float, float],
    BeforeValidator(_pair(_quantity("length", "positive"))),
    Form("length, or [at the root, at the tip]"),
]
VaryingOffset = Annotated[
    tuple[float, float],
    BeforeValidator(_pair(_quantity("length"))),
    Form("length, or [at the root, at the tip]"),
]
VaryingFraction = Annotated[
    tuple[float, float],
    BeforeValidator(_pair(_quantity("fraction"))),
    Form("% of the chord, or [at the root, at the tip]"),
]
Places = Annotated[
    tuple[float, float],
    BeforeValidator(_two(_quantity("length"))),
    Form("[foremost, rearmost] length"),
]
Pretension = Annotated[
    tuple[float, float], BeforeValidator(_two_ways), Form("N/m, or [along the span, along the chord]")
]
Bays = Annotated[tuple[int, ...], BeforeValidator(_bays), Form('"all", "1-5", or a list like [1, 2, "4-6"]')]
WebGrain = Annotated[
    float, BeforeValidator(_grain({"upright": UPRIGHT, "span": 0.0})), Form('"upright", "span" or an angle')
]
RibGrain = Annotated[
    float, BeforeValidator(_grain({"chord": 0.0, "upright": UPRIGHT})), Form('"chord", "upright" or an angle')
]
SheetGrain = Annotated[
    float, BeforeValidator(_grain({"span": 0.0, "chord": _ACROSS})), Form('"span", "chord" or an angle')
]
Wood = Annotated[str, Form('wood: a name, or "name, density, cut"')]
Side = Literal["both", "port", "starboard"]
Glue = Literal["aliphatic", "cyanoacrylate", "epoxy", "polyurethane"]
Cut = Literal["flat-sawn", "quarter-sawn"]


def _key(meaning: str, default: Any = ..., *, alias: str | None = None) -> Any:
    """A key with a default written as the file would write it, or none: then it must be given."""
    return Field(default, description=meaning, alias=alias)


def _open(
    meaning: str, otherwise: str = "", *, unless: tuple[str, ...] = (), alias: str | None = None
) -> Any:
    """A key that may be left out; `otherwise` says what then happens (empty: the part is not there).

    `unless` names the keys that stand in its place, so that nothing is assumed where one of them is given.
    """
    extra: dict[str, Any] = {"otherwise": otherwise, "unless": list(unless)}
    return Field(None, description=meaning, alias=alias, json_schema_extra=extra)


class Table(BaseModel):
    """A table of the file."""

    model_config = ConfigDict(
        strict=True, extra="forbid", allow_inf_nan=False, frozen=True, validate_default=True, defer_build=True
    )


class Station(Table):
    y: LengthOrZero = _key("distance from the centre line")
    chord: Length = _key("chord there")
    leading_edge: Offset | None = _open(
        "leading edge's offset aft of the centre section's",
        "no sweep from the station inboard",
        unless=("sweep",),
    )
    sweep: Angle | None = _open("instead of leading_edge: sweep of the leading edge of the panel inboard")
    height: Offset | None = _open("leading edge's height", "no dihedral from the station inboard")
    dihedral: Angle | None = _open("instead of height: dihedral of the panel inboard")
    washout: Angle | None = _open(
        "nose-down twist against the centre", "as the station inboard; none at the first"
    )
    section: str | None = _open(
        '"NACA 2412" by formula, or a coordinate file beside this one', "as the station inboard"
    )


class PlanformTable(Table):
    stations: list[Station] = Field(
        min_length=2, description="from the centre line to the tip; straight between"
    )


class CapStrip(Table):
    width: Length = _key("along the span")
    thickness: Length = _key("up and down")
    wood: Wood = _key("wood, grain along the chord", "balsa medium")


class Post(Table):
    thickness: Length | None = _open("along the span", "the rib's own")
    wood: Wood | None = _open("wood", "the rib's own")
    grain: RibGrain = _key("grain from the chord line towards upright", "upright")


class RibException(Table):
    ribs: Bays = _key("numbers of the ribs, 1 the innermost")
    thickness: Length | None = _open("along the span", "as the other ribs")
    wood: Wood | None = _open("wood", "as the other ribs")
    grain: RibGrain | None = _open("grain from the chord line towards upright", "as the other ribs")


class RibsTable(Table):
    stations: list[LengthOrZero] | None = _open(
        "distance of each rib from the centre line, from the centre outward"
    )
    count: Annotated[int, Field(ge=2, le=1000)] | None = _open(
        "instead of stations: number of ribs a side, evenly spaced"
    )
    from_: LengthOrZero | None = _open(
        "with count: the first rib", "the centre line", unless=("stations",), alias="from"
    )
    to: Length | None = _open("with count: the last rib", "the tip", unless=("stations",))
    thickness: Length = _key("thickness along the span")
    wood: Wood = _key("wood", "balsa medium")
    grain: RibGrain = _key("grain from the chord line towards upright", "chord")
    cap_strip: CapStrip | None = _open("strips along the upper and lower edge of every rib")
    post: Post | None = _open(
        "what stands between the spar caps at a rib", "the rib itself, with its own grain"
    )
    exceptions: list[RibException] = _key("ribs that differ from the others", [])


class SpecimenRibs(Table):
    stations: list[Length] | None = _open("distance of each rib from the clamp; the last at the tip")
    pitch: Length | None = _open("instead of stations: distance from rib to rib, the last at the tip")
    thickness: Length = _key("thickness along the span; each centred at its station")
    wood: Wood = _key("wood", "balsa medium")
    last_rib_flush: bool = _key("last rib's outer face at the tip (else its middle)", True)
    grain: RibGrain = _key(
        "grain of the panel between two spars, from the chord line towards upright", "chord"
    )
    post: Post = Field(
        default_factory=lambda: Post(),
        description="block between the caps of each spar",
        validate_default=False,
    )


class Facing(Table):
    wood: Wood = _key("material, a carbon strip say", "carbon")
    thickness: Length = _key("thickness up and down, on top of the cap's height")
    face: Literal["outer", "inner"] = _key("next to the skin, or facing the other cap", "outer")
    to: Length | None = _open("where it ends", "as the cap")


class Step(Table):
    from_: Length = _key("where the step is; its sizes hold from there outward", alias="from")
    width: Length | None = _open("fore and aft, square to the run", "as inboard of the step")
    height: Length | None = _open("up and down", "as inboard of the step")


class CapTable(Table):
    width: Varying = _key("fore and aft, square to the run of the spar")
    height: Varying = _key("up and down, without facings")
    wood: Wood = _key("wood, grain along the span", "spruce")
    steps: list[Step] = _key("where the stick gets smaller, from the centre outward", [])
    facings: list[Facing] = _key("strips glued flat on the cap", [])


class WebTable(Table):
    bays: Bays = _key("bays that carry it; 1 lies between the first two ribs, 0 straddles the centre line")
    side: Side = _key("both, port or starboard", "both")
    face: Literal["front", "rear", "both", "between"] = _key(
        "face of the caps it is glued on: front, rear, both; or let in between the caps"
    )
    thickness: Length = _key("thickness")
    wood: Wood = _key("wood", "balsa medium")
    grain: WebGrain = _key("(face) grain from the span towards upright", "upright")
    glue: Glue = _key("aliphatic (wood glue), cyanoacrylate, epoxy or polyurethane", "aliphatic")


class SparTable(Table):
    name: str = _key("name")
    at: VaryingFraction | None = _open("where the caps' middle lies, of the chord from the leading edge")
    x: VaryingOffset | None = _open(
        "instead of at: straight line aft of the centre section's leading edge, at the centre and at the tip"
    )
    to: Length | None = _open("where it ends: at a rib", "the tip")
    inset: LengthOrZero | None = _open(
        "depth of the caps' outer faces under the surface", "the thickest sheeting or cap strip over the spar"
    )
    caps: CapTable | None = _open("both caps")
    upper_cap: CapTable | None = _open("upper cap alone")
    lower_cap: CapTable | None = _open("lower cap alone")
    webs: list[WebTable] = _key("shear webs, any number of entries", [])
    joint: Literal["through", "scarfed", "butted", "joiner"] | None = _open(
        "how the caps meet at the centre and at kinks: through, scarfed (no steeper than 1 in 12), "
        "butted, so that braces carry all, or cut on a joiner (`[[joiners]]`)",
        "on its joiner where it has one, butted on its brace where the spar kinks, through elsewhere",
    )


class SpecimenSpar(Table):
    name: str = _key("name")
    x: Offset = _key("where the caps' middle lies, aft of the first spar's", "0 mm")
    caps: CapTable | None = _open("both caps")
    upper_cap: CapTable | None = _open("upper cap alone")
    lower_cap: CapTable | None = _open("lower cap alone")
    webs: list[WebTable] = _key("shear webs, any number of entries", [])


class EdgeTable(Table):
    width: Length = _key("along the chord")
    height: Length = _key("up and down")
    wood: Wood = _key("wood, grain along the span", "balsa medium")


class SheetTable(Table):
    from_: str | None = _open(
        'front edge: "leading edge", "30 %", a spar\'s name (middle of its caps), or "NAME front" or "NAME '
        'rear" '
        "(outermost face, webs included)",
        "the leading edge; of a specimen the first spar's front",
        alias="from",
    )
    to: str | None = _open(
        'rear edge, as from, or "trailing edge"', "the trailing edge; of a specimen the last spar's rear"
    )
    surface: Literal["both", "upper", "lower"] = _key("both, upper or lower", "both")
    bays: Bays = _key("bays that carry it", "all")
    side: Side = _key("both, port or starboard", "both")
    thickness: Length = _key("thickness")
    wood: Wood = _key("wood", "balsa medium")
    grain: SheetGrain = _key("(face) grain from the span towards the chord", "span")


class BraceTable(Table):
    spar: str = _key("the spar it is glued on")
    face: Literal["front", "rear", "between"] = _key("face of the caps, or let in between them")
    to: Length = _key("how far it reaches to each side of the centre line")
    thickness: Length = _key("thickness")
    wood: Wood = _key("wood", "birch ply")
    grain: WebGrain = _key("(face) grain from the span towards upright", "span")
    glue: Glue = _key("aliphatic (wood glue), cyanoacrylate, epoxy or polyurethane", "epoxy")


class JoinerTable(Table):
    spar: str = _key("the spar whose parts it joins")
    form: Literal["rod", "tube", "blade"] = _key("rod, tube or blade (a flat bar that stands upright)")
    diameter: Length | None = _open("of a rod or tube")
    wall: Length | None = _open("of a tube: thickness of its wall")
    width: Length | None = _open("of a blade: fore and aft")
    height: Length | None = _open("of a blade: up and down")
    wood: Wood = _key("what it is of: carbon, music wire, aluminium 6061, a hardwood, or a wood of your own")
    at: LengthOrZero = _key("where the joint is, from the centre line; off it on both sides", "0 mm")
    reach: Length = _key("how far it reaches to each side of the joint")
    box_from: LengthOrZero = _key(
        "where its box begins to each side of the joint: beyond the fuselage, if that lies between", "0 mm"
    )
    box_wood: Wood = _key("what fills the box between the caps, over, under and beside it", "birch ply")
    box_grain: Literal["span", "upright"] = _key("grain of that", "span")
    glue: Glue = _key("aliphatic (wood glue), cyanoacrylate, epoxy or polyurethane", "epoxy")
    wrapped: bool = _key("thread or cloth binds the caps on the box, so that they are not pushed off", False)


class FasteningTable(Table):
    bolts: Annotated[int, Field(ge=1, le=12)] | None = _open(
        "bolts that hold the wing's rear on the fuselage, with dowels ahead of them"
    )
    thread: Literal["M3", "M4", "M5", "M6", "M8", "M10"] | None = _open("with bolts: their thread")
    bolts_of: Literal["nylon", "steel"] = _key("what they are of; steel of class 4.8", "nylon")
    breaking_load: Annotated[float, *_of("force", "positive")] | None = _open(
        "instead of bolts_of's: pull at which one breaks", "by thread and bolts_of"
    )
    bolts_at: Offset | None = _open("with bolts: their x, aft of the centre section's leading edge")
    across: LengthOrZero = _key("from bolt to bolt across the fuselage, where there are two rows", "0 mm")
    plate: Length | None = _open("with bolts: thickness of the plate under their heads")
    plate_wood: Wood = _key("wood of that", "birch ply")
    washer: Length | None = _open(
        "with bolts: width of their heads or washers", "twice their diameter (common practice, no source)"
    )
    dowels: Annotated[int, Field(ge=1, le=6)] = _key("with bolts: dowels at the wing's front", 1)
    dowel_diameter: Length | None = _open("with bolts: of a dowel")
    dowels_at: Offset | None = _open("with bolts: x at which the fuselage's former holds the dowels")
    dowel_wood: Wood = _key("of the dowels", "beech")
    former: Length | None = _open("with bolts: thickness of the former that holds the dowels")
    former_wood: Wood = _key("of that", "birch ply")
    bands: Annotated[int, Field(ge=1, le=60)] | None = _open("instead of bolts: rubber bands over the wing")
    band_pull: Annotated[float, *_of("force", "positive")] | None = _open(
        "with bands: force with which one pulls the wing down, both strands, stretched as it lies there; "
        "weigh it with a luggage scale"
    )
    mass: Mass = _key("bolts, dowels, plates or bands together (a guess; weigh them)", "10 g")


class BoltsTable(Table):
    across: Length | None = _open(
        "from the bolts of this rail to those of its twin, square to the rails; on the centre line left out",
        "the rail is on the centre line",
    )
    along: Length = _key("from bolt to bolt along a rail")
    from_front: Length = _key("first bolt behind the rail's front end")
    hole: Length = _key("diameter of the holes")
    per_rail: Annotated[int, Field(ge=1, le=12)] = _key("bolts in one rail", 2)


class RailTable(Table):
    name: str = _key("name")
    y: LengthOrZero = _key("distance from the centre line; off it there is a twin on the other side")
    x_front: Offset = _key("front end aft of the centre section's leading edge (ahead of it: negative)")
    x_rear: Offset = _key("rear end")
    z: Offset = _key("height of its middle line", "0 mm")
    width: Length = _key("along the span")
    height: Length = _key("up and down")
    wood: Wood = _key("wood, grain along the rail", "beech")
    ties: list[str] = Field(min_length=1, description="names of the spars it is tied to, front to rear")
    tie_thickness: Length = _key("thickness of the upright plate that ties it to the spars")
    tie_wood: Wood = _key("the plate's wood", "birch ply")
    tie_grain: RibGrain = _key("the plate's (face) grain from fore-and-aft towards upright", "chord")
    glue: Glue = _key("aliphatic (wood glue), cyanoacrylate, epoxy or polyurethane", "epoxy")
    bolts: BoltsTable | None = _open("holes for the engine's bolts as measured on it, for `sparbay draw`")


class MassTable(Table):
    name: str = _key("name")
    mass: Mass = _key("mass; of one, where it is paired")
    x: Offset = _key("aft of the centre section's leading edge")
    y: Offset = _key("starboard of the centre line (port: negative)", "0 mm")
    z: Offset = _key("height", "0 mm")
    carried_by: Literal["wing", "rails", "fuselage"] = _key(
        "what carries it: wing (the ribs to both sides of it), rails, or fuselage (the spars on the centre "
        "line); what lies beyond the chord on the centre line, and no rail reaches, is taken as carried by "
        "the fuselage, and off the centre line it must be said",
        "wing",
    )
    paired: bool = _key("another one of the same mass on the other side", False)
    empty: MassOrZero | None = _open("what is left when it is used up, as fuel is", "nothing is used up")
    moves_between: Places | None = _open(
        "movable to balance the model: its foremost and its rearmost x", "not marked as movable"
    )


class EngineTable(Table):
    name: str = _key("which of the masses it is; rails carry it")
    thrust: Annotated[float, *_of("force", "positive")] = _key("largest static thrust, forward")
    rpm: RateOfTurn = _key("speed of the propeller at that thrust")
    idle: RateOfTurn | None = _open(
        "slowest speed at which it runs", "a quarter of rpm (common practice, no source)"
    )
    torque: Annotated[float, *_of("torque", "positive")] | None = _open("torque of the shaft at that thrust")
    power: Power | None = _open("instead of torque: shaft power at that thrust")
    blades: Annotated[int, Field(ge=1, le=12)] = _key("blades of the propeller", 2)
    firings_per_revolution: Annotated[float, Field(ge=0, le=12)] = _key(
        "one-cylinder two-stroke 1, four-stroke 0.5, electric motor 0", 1.0
    )
    rotor_inertia: MomentOfInertia | None = _open("moment of inertia of propeller and shaft")
    propeller_diameter: Length | None = _open("instead of rotor_inertia, with propeller_mass")
    propeller_mass: Mass | None = _open("instead of rotor_inertia, with propeller_diameter")
    yaw_rate: RateOfTurn = _key("fastest yaw; common practice, no source", "180 deg/s")
    vibration: Annotated[float, Field(ge=0, le=1000)] = _key(
        "shaking force / weight of the engine; common practice, no source", 5.0
    )
    nose_over: Annotated[float, Field(ge=0, le=1000)] = _key(
        "push aft on the engine / weight of the aeroplane; common practice, no source", 5.0
    )
    hard_landing: Annotated[float, Field(ge=0, le=1000)] = _key(
        "load factor of a hard landing; common practice, no source", 8.0
    )


class CoveringPiece(Table):
    mass_per_area: MassPerArea | None = _open(
        "of the film or tissue as it lies on the wing; with film, its density times thickness if left out, "
        "without adhesive"
    )
    film: str | None = _open(
        "polyester film, polypropylene film, or tissue and dope: gives it stiffness (with mass_per_area "
        "alone it has none)"
    )
    thickness: Length | None = _open("thickness of the film")
    E: Stress | None = _open("instead of film, or of its figure: modulus of the film along its grain")
    E_across: Stress | None = _open("modulus across its grain")
    stretch_stiffness: Stretch | None = _open("instead of E and thickness: force per width and strain")
    stretch_stiffness_across: Stretch | None = _open("the same across its grain")
    nu: Annotated[float, Field(ge=0, lt=1)] | None = _open("Poisson's ratio: pulled along the grain")
    strength: Stress | None = _open("stress at which the film tears")
    pretension: Pretension | None = _open(
        "tension per width when it is shrunk and the wing lies still; with film, the low end of what is said "
        "of it, if left out"
    )
    grain: SheetGrain | None = _open("grain of film or paper from the span towards the chord; span")
    surface: Literal["both", "upper", "lower"] | None = _open("both, upper or lower; both if left out")
    bays: Bays | None = _open("bays that it covers; all if left out")
    side: Side | None = _open("both, port or starboard; both if left out")
    from_: str | None = _open("where it begins: leading edge, or a spar's name", alias="from")
    to: str | None = _open("where it ends: a spar's name, or trailing edge")


class CoveringTable(CoveringPiece):
    pieces: list[CoveringPiece] = _key("other covering elsewhere, with the same keys", [])


class Piece(Table):
    length: Length = _key("length")
    width: Length = _key("width")
    thickness: Length = _key("thickness")
    mass: Mass = _key("what it weighs")


class WoodTable(Table):
    like: str = _key("a wood of the list, which gives whatever is not given here", "balsa")
    density: Density | None = _open("density", "as the wood it is like", unless=("piece",))
    piece: Piece | None = _open("instead of density: a piece that was weighed")
    cut: Cut = _key(
        "flat-sawn: a sheet's faces, a stick's upright faces lie along the annual rings; or quarter-sawn",
        "flat-sawn",
    )
    E_L: Stress | None = _open("modulus along the grain")
    E_R: Stress | None = _open("modulus along the rays")
    E_T: Stress | None = _open("modulus along the annual rings")
    G_LR: Stress | None = _open("shear modulus, grain and rays")
    G_LT: Stress | None = _open("shear modulus, grain and rings")
    G_RT: Stress | None = _open("rolling-shear modulus")
    nu_LR: float | None = _open("Poisson's ratio: pulled along the grain, shrinks along the rays")
    nu_LT: float | None = _open("Poisson's ratio: pulled along the grain, shrinks along the rings")
    nu_RT: float | None = _open("Poisson's ratio: pulled along the rays, shrinks along the rings")
    tension: Stress | None = _open("strength in tension along the grain")
    compression: Stress | None = _open("strength in compression along the grain")
    bending: Stress | None = _open("strength in bending along the grain")
    shear: Stress | None = _open("strength in shear along the grain")
    rolling_shear: Stress | None = _open("strength in rolling shear, fibres rolling over each other")
    tension_across: Stress | None = _open("strength in tension across the grain")
    compression_across: Stress | None = _open("strength in compression across the grain")


class PullUpTable(Table):
    name: str = _key("name", "pull-up")
    load_factor: Annotated[float, Field(gt=0, ge=1e-6, le=1e5)] | None = _open(
        "lift / weight", "1", unless=("radius",)
    )
    speed: Speed | None = _open("speed", "the lift coefficient is taken instead")
    radius: Length | None = _open("radius of the pull-up; with speed it gives the load factor 1 + V2/(g R)")
    mass: Mass | None = _open("flying mass", "the structure and all masses of this file")
    moment_coefficient: Annotated[float, Field(ge=-10, le=10)] | None = _open(
        "pitching moment coefficient about lift_line, nose up positive",
        "that of each section's mean line about the quarter chord, by thin-aerofoil theory",
    )
    lift_line: Fraction = _key("where the lift acts, of the chord", "25 %")
    lift_coefficient: Annotated[float, Field(gt=0, ge=1e-3, le=10)] | None = _open(
        "instead of speed: lift coefficient in the pull-up, which ties the pitching moment to the lift",
        "1.0, or flight.max_lift_coefficient where that is less",
    )
    air_density: Density = _key("air density, with speed", "1.225 kg/m3")
    lift: Literal["schrenk", "surface"] | None = _open(
        "how lift is spread along the span: schrenk, or surface (vortex lattice of the planform)",
        "surface where the quarter-chord line is swept or washout or section vary the angle of no lift; "
        "else schrenk",
    )
    survive: Share = _key(
        "share of wings built from this file that must survive every case asked of them for it to be fit "
        "(95 %: common practice, no source)",
        "95 %",
    )


class LoadingTable(Table):
    mass: Mass | None = _open(
        "flying mass of the whole aeroplane", "the case's, changed by what the masses change"
    )
    masses: Annotated[dict[str, MassOrZero], Form("masses by name")] = _key(
        'what entries of [[masses]] weigh then, as { "tank" = "80 g" }; of one, where it is paired', {}
    )


class FlightTable(Table):
    max_lift_coefficient: Annotated[float, Field(gt=0, ge=1e-3, le=10)] | None = _open(
        "lift coefficient at which the whole wing stalls, upright and trimmed",
        "1.2, and 0.9 of a tailless wing: elevons that act in pitch, or no flying mass and no fuselage "
        "(common practice, no source)",
    )
    max_lift_coefficient_inverted: Annotated[float, Field(gt=0, ge=1e-3, le=10)] = _key(
        "the same when it flies inverted, as a positive number (0.8: common practice, no source)", 0.8
    )
    cruise_speed: Speed | None = _open(
        "fastest speed in rough air",
        "the case's speed, else that at which its load factor takes the greatest lift",
    )
    never_exceed_speed: Speed | None = _open("speed never exceeded, in a dive", "1.4 times the cruise")
    gust_velocity: Speed = _key(
        "upward or downward gust met at the cruise speed (6 m/s: common practice, no source)", "6 m/s"
    )
    never_exceed_gust_velocity: Speed | None = _open(
        "gust met at the never-exceed speed", "half of gust_velocity (14 CFR 23.333, from memory)"
    )
    inverted_load_factor: Annotated[float, Field(gt=0, le=1000)] | None = _open(
        "load factor of the hardest push or inverted pull, as a positive number",
        "half of the case's load factor (14 CFR 23.337, acrobatic, from memory)",
    )
    loadings: dict[str, LoadingTable] = _key(
        "further loadings to try, by name (with ballast, without payload); the file's own, and that with "
        "fuel used up, are tried anyway",
        {},
    )
    air_density: Density | None = _open("air density", "as the case's, 1.225 kg/m3 where it has none")


class BalanceTable(Table):
    least_static_margin: Fraction = _key(
        "least wanted static margin, of the mean aerodynamic chord (5 %: common practice, no source)", "5 %"
    )
    most_static_margin: Fraction = _key(
        "greatest wanted static margin (15 %: common practice, no source)", "15 %"
    )
    datum: Offset = _key("where the range counts from, aft of the centre section's leading edge", "0 mm")
    neutral_point: Offset | None = _open(
        "neutral point of the whole aeroplane, with its tail: aft of the centre section's leading edge",
        "that of the bare wing, by the vortex lattice",
    )
    ballast_at: Offset | None = _open(
        "x at which ballast would be fixed", "the foremost or the rearmost point of what the file describes"
    )
    glue_spread: MassPerArea = _key(
        "set glue on a glue line, per area (150 g/m2: common practice, no source)", "150 g/m2"
    )


class ElevonsTable(Table):
    from_: LengthOrZero = _key("inner end, from the centre line", alias="from")
    to: Length = _key("outer end")
    hinge: Fraction = _key("hinge line, of the chord from the leading edge")
    deflection: Angle = _key("largest deflection to either side; common practice, no source", "20 deg")
    acts: Literal["roll and pitch", "roll", "pitch"] = _key(
        "elevons turn both ways, ailerons in roll alone", "roll and pitch"
    )
    speed: Speed | None = _open(
        "speed at full deflection",
        "the manoeuvring speed, at which the greatest lift gives the case's load factor (14 CFR 23.455)",
    )
    load_factor: Annotated[float, Field(ge=0, le=1000)] | None = _open(
        "load factor at full deflection in roll", "two thirds of the case's (14 CFR 23.349(b), from memory)"
    )
    servo_stiffness: TorquePerAngle | None = _open(
        "stiffness of servo, horn and rod of one side: torque about the hinge for each angle that the elevon "
        "gives way, for `sparbay speed`",
        "the elevon stands still against the wing",
    )
    mass: Mass | None = _open(
        "mass of one side's elevon (with servo_stiffness); part of the wing's, not beside it",
        "what the wing as built has behind the hinge",
    )
    balance: Offset | None = _open(
        "centre of gravity of the elevon behind its hinge, before it negative (with servo_stiffness)",
        "half the elevon's own chord",
    )
    slack: Angle = _key(
        "free turn of the elevon from stop to stop with the servo held (with servo_stiffness)", "0 deg"
    )
    servo_arm: Length | None = _open(
        "length of the servo's arm, with control_horn", "as long as control_horn"
    )
    control_horn: Length | None = _open("from the hinge to the rod, with servo_arm", "as long as servo_arm")
    servo_torque: Annotated[float, *_of("torque", "positive")] | None = _open(
        "what the servo of each side can hold", "told as what is needed"
    )


class HungTable(Table):
    mass: Mass = _key("mass of the bag")
    at: str | None = _open("a spar's name, leading edge or trailing edge", "the first spar")
    rib: Annotated[int, Field(ge=1, le=10_000)] | None = _open(
        "number of the rib, 1 the innermost", "the outermost"
    )


class HandTestTable(Table):
    held_at: Annotated[int, Field(ge=1, le=10_000)] | None = _open(
        "number of the rib up to which the wing is held, 1 the innermost", "held at the centre line"
    )
    hang: list[HungTable] = _key("bags, each hung by itself", [])


class LandingTable(Table):
    lift: Annotated[float, Field(ge=0, le=1)] = _key(
        "share of the weight that the wing still lifts (two thirds: 14 CFR 23.473(e), from memory)", 0.67
    )
    tip_force: Annotated[float, Field(ge=0, le=1000)] | None = _open(
        "upward push of the ground on a wing tip / weight of the aeroplane",
        "1.0 (common practice, no source)",
        unless=("tip_speed",),
    )
    tip_speed: Speed | None = _open("instead of tip_force, with tip_stop: speed at which the tip comes down")
    tip_stop: Length | None = _open("way over which the ground stops the tip by an even push")
    tip_friction: Annotated[float, Field(ge=0, le=10)] = _key(
        "push aft on the tip / upward push; common practice, no source", 0.5
    )
    tip_at: Fraction = _key("where the tip strikes, of its chord; common practice, no source", "25 %")
    belly_load_factor: Annotated[float, Field(ge=0, le=1000)] = _key(
        "push of the ground on the belly / weight; common practice, no source", 5.0
    )
    belly_friction: Annotated[float, Field(ge=0, le=10)] = _key(
        "push aft on the belly / upward push; common practice, no source", 0.5
    )
    belly_x: Offset | None = _open(
        "where the belly strikes, aft of the centre section's leading edge", "under the centre of gravity"
    )
    belly_on: Literal["centre section", "rails"] = _key("what the ground pushes on", "centre section")
    legs: str | None = _open("which of the masses are undercarriage legs, by their name")
    leg_load_factor: Annotated[float, Field(ge=0, le=1000)] | None = _open(
        "with legs: push of the ground on all of them / weight", "3.0 (common practice, no source)"
    )
    leg_friction: Annotated[float, Field(ge=0, le=10)] | None = _open(
        "with legs: push aft on a wheel / upward push", "0.3 (common practice, no source)"
    )
    leg_length: LengthOrZero | None = _open(
        "with legs: how far the ground lies under the leg's mass", "100 mm (common practice, no source)"
    )
    carrying_load_factor: Annotated[float, Field(ge=0, le=1000)] = _key(
        "load factor of the wing carried by its tips; common practice, no source", 1.5
    )
    body_length: Length | None = _open(
        "length of fuselage and tail, which resist turning as an even cylinder does",
        "0.7 of the span (common practice, no source)",
    )
    body_width: Length | None = _open(
        "width of that cylinder", "0.12 of body_length (common practice, no source)"
    )


class LaunchTable(Table):
    tow_tension: Annotated[float, *_of("force", "positive")] | None = _open(
        "largest tension of the line on tow or winch"
    )
    tow_angle: Angle | None = _open(
        "with tow_tension: line below the line of flight", "70 deg (common practice, no source)"
    )
    tow_load_factor: Annotated[float, Field(ge=0, le=1000)] | None = _open(
        "with tow_tension: lift beyond what the line pulls / weight", "1.0"
    )
    bungee_tension: Annotated[float, *_of("force", "positive")] | None = _open(
        "largest tension of a bungee, from a stand"
    )
    bungee_angle: Angle | None = _open(
        "with bungee_tension: line below the line of flight", "10 deg (common practice, no source)"
    )
    hook_x: Offset | None = _open(
        "hook of tow or bungee, aft of the centre section's leading edge", "under the centre of gravity"
    )
    hook_z: Offset | None = _open("height of the hook", "that of the spars")
    hand_push: Annotated[float, Field(ge=0, le=1000)] = _key(
        "push of a hand launch / weight; common practice, no source", 2.0
    )
    motor: str | None = _open("which of the masses is a motor on a bulkhead, by its name; not one on rails")
    motor_thrust: Annotated[float, *_of("force", "positive")] | None = _open(
        "with motor: largest thrust of one, forward"
    )
    motor_torque: Torque | None = _open("with motor: torque at that thrust", "0 N m")


class BenchTable(Table):
    name: str = _key("name", "bench test")
    tip_force: Force = _key("upward force at the tip, half on each cap", "0 N")
    tip_torque: Torque = _key("nose-up torque at the tip", "0 N mm")
    tip_spar: str | None = _open("the spar that is loaded", "the first")


class LayoutWeb(Table):
    spar: str | None = _open("the spar", "every spar")
    bays: Bays = _key("bays that carry a web")
    side: Side = _key("both, port or starboard", "both")
    face: Literal["front", "rear", "both", "between"] = _key("front, rear, both or between")


class LayoutTable(Table):
    grain: WebGrain | None = _open("grain of all its webs", "as each web of the file")
    webs: list[LayoutWeb] = _key("which bays carry which webs; all others are open", [])


class SpecimenTable(Table):
    length: Length = _key("from the clamp to the tip")
    depth: Varying = _key("over the outer faces of the caps")


class WingFile(Table):
    """A flying wing."""

    name: str | None = _open("name of the wing", "the file's name")
    units: Literal["metric", "imperial"] | None = _open(
        "units in which answers, drawings and pages are told, where --units does not say; left out: as "
        "most of the file's lengths are written"
    )
    whole: bool = _key("model both sides even where they are the same", False)
    planform: PlanformTable = _key("outline and sections")
    ribs: RibsTable = _key("ribs of one side")
    spars: list[SparTable] = Field(min_length=1, description="spars, from the front to the rear")
    leading_edge: EdgeTable | None = _open("leading edge stick")
    trailing_edge: EdgeTable | None = _open("trailing edge stick")
    sheeting: list[SheetTable] = _key("sheeting", [])
    braces: list[BraceTable] = _key("dihedral braces and spar joiners", [])
    joiners: list[JoinerTable] = _key("rods, tubes and blades on which halves or outer panels come off", [])
    fastening: FasteningTable | None = _open("what holds the wing on its fuselage")
    rails: list[RailTable] = _key("engine bearers", [])
    masses: list[MassTable] = _key("engine, tank, battery, servos", [])
    engine: EngineTable | None = _open("the engine on its rails, for `sparbay loads --rails`")
    covering: CoveringTable | None = _open("covering")
    woods: dict[str, WoodTable] = _key("woods of one's own, by name", {})
    case: PullUpTable = Field(
        default_factory=lambda: PullUpTable(), description="load case: a pull-up", validate_default=False
    )
    flight: FlightTable | None = _open("limits of flight, for the envelope of manoeuvres and gusts")
    elevons: ElevonsTable | None = _open("elevons or ailerons of both sides, for `sparbay loads`")
    landing: LandingTable | None = _open(
        "landing and carrying, for `sparbay loads`, which takes the defaults where it is left out"
    )
    launch: LaunchTable | None = _open("launch, for `sparbay loads`")
    balance: BalanceTable | None = _open("wanted balance, for `sparbay balance`")
    hand_test: HandTestTable | None = _open("the wing held by hand, for `sparbay bench --by-hand`")
    layouts: dict[str, LayoutTable] = _key("web layouts to compare, by name", {})


class SpecimenFile(Table):
    """One spar, or a box of several, clamped at its root."""

    name: str | None = _open("name of the specimen", "the file's name")
    units: Literal["metric", "imperial"] | None = _open(
        "units in which answers, drawings and pages are told, where --units does not say; left out: as "
        "most of the file's lengths are written"
    )
    specimen: SpecimenTable = _key("one spar or a box, clamped at its root")
    ribs: SpecimenRibs = _key("ribs")
    spars: list[SpecimenSpar] = Field(min_length=1, description="spars, from the front to the rear")
    sheeting: list[SheetTable] = _key("sheeting", [])
    woods: dict[str, WoodTable] = _key("woods of one's own, by name", {})
    case: BenchTable = _key("load case: a bench test")
    layouts: dict[str, LayoutTable] = _key("web layouts to compare, by name", {})
