"""Materials of a built-up wing: a wood's name, density and cut become orthotropic constants and strengths.

The figures, each with its source, lie in `woods.toml`; a density law turns those of the table into those of a
weighed piece, and classical lamination turns plies into plywood. Axes of a solid wood are L along the grain,
R along the rays and T along the growth rings; nu_ab is the shrinking along b of a piece pulled along a.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from models import units_out as say
from models.woods.data import cite, spread, tables

CUTS = ("flat-sawn", "quarter-sawn")
MODULI = ("E_L", "E_R", "E_T", "G_LR", "G_LT", "G_RT")
RATIOS = ("nu_LR", "nu_LT", "nu_RT")
STRENGTHS = (
    "tension",
    "compression",
    "bending",
    "shear",
    "tension_across",
    "compression_across",
    "rolling_shear",
)
FIGURES = (*MODULI, *RATIOS, *STRENGTHS)
WOOD_SUBSTANCE = 1500.0
"""Density of the walls of wood's cells, kg/m3, the same for all woods: Wood Handbook, FPL-GTR-190, chapter 4,
about 1.5 times that of water [from memory]. No wood is heavier."""
CELL_WALL_STIFFNESS, CELL_WALL_STRENGTH = 40e9, 500e6
"""Bounds beyond the walls of wood's cells, Pa: about 35 GPa and 350 MPa along the fibres, Gibson and Ashby,
Cellular Solids, 1997 [from memory]; rounded up."""
LEAST_STIFFNESS, LEAST_STRENGTH, LEAST_DENSITY = 1e5, 1e3, 10.0
"""Bounds below anything that a wing is built of, foam included, Pa and kg/m3 (chosen, no source)."""
NARROWED_BY_WEIGHING = ("E_L", "density", "tension", "bending", "compression", "shear")
GIVEN = "given by the builder [given]"


class WoodError(ValueError):
    """A wood that does not exist or figures that no wood can have.

    Attributes
    ----------
    key : str
        What was asked for: "name", "density", "cut" or a figure such as "E_L".
    value : object
        What came.
    expected : str
        What would have been right, with a close spelling where there is one.
    """

    def __init__(self, key: str, value: object, expected: str) -> None:
        super().__init__(f"{key}: {value!r}: {expected}")
        self.key = key
        self.value = value
        self.expected = expected

    def __reduce__(self) -> tuple[type[WoodError], tuple[str, object, str]]:
        return type(self), (self.key, self.value, self.expected)


@dataclass(frozen=True)
class SheetConstants:
    """Plane-stress constants of a sheet, Pa, axis 1 along its (face) grain.

    nu_12: pulled along 1, shrinks along 2.
    """

    E_1: float
    E_2: float
    G_12: float
    nu_12: float


@dataclass(frozen=True)
class StickConstants:
    """Constants of a stick lying along the span: `up` and `aft` are its directions across the grain; Pa.

    G_up is the shear modulus in the plane of span and height (vertical shear force), G_aft that in the plane
    of span and chord, G_cross that in the plane of the cross-section. nu_L_up: pulled along the stick,
    shrinks upward; nu_aft_up: pulled aft, shrinks upward.
    """

    E: float
    E_up: float
    E_aft: float
    G_up: float
    G_aft: float
    G_cross: float
    nu_L_up: float
    nu_L_aft: float
    nu_aft_up: float


@dataclass(frozen=True)
class Ply:
    """One ply of a plywood, of rotary veneer, so in the L-T plane of its wood.

    `fraction` is its share of the sheet's thickness, `crossed` says that its grain lies across the face
    grain. Constants and strengths are those of the veneer in its own grain axes, Pa.
    """

    fraction: float
    crossed: bool
    wood: str
    constants: SheetConstants
    tension: float
    compression: float
    shear: float
    tension_across: float
    compression_across: float


@dataclass(frozen=True)
class Material:
    """A material with its grain: density kg/m3, moduli and strengths Pa, scatter as variation coefficients.

    `kind` is "solid" (also pultruded carbon), "ply" or "isotropic". `cut` is "flat-sawn" if the faces of a
    sheet, or the vertical faces of a stick, lie in the L-T plane and "quarter-sawn" if in the L-R plane. Of a
    plywood, L is along the face grain, T across it in the sheet, R through the thickness. `scatter` has keys
    E_L, E_across, G, density and the strengths. `sources` has a line for every figure ("scatter.E_L" and so
    on for scatter): the source and, in square brackets, how far it can be trusted. `crushes_slowly` says that
    the material, pressed along its grain, goes on bearing its strength while it gives, as wood does; carbon
    kinks at once, and the strength of wire is where it begins to yield.

    References
    ----------
    Wood Handbook (USDA Forest Products Laboratory, 1999), chapter 8, on which modulus goes with which face.
    """

    name: str
    kind: str
    cut: str
    density: float
    E_L: float
    E_R: float
    E_T: float
    G_LR: float
    G_LT: float
    G_RT: float
    nu_LR: float
    nu_LT: float
    nu_RT: float
    tension: float
    compression: float
    bending: float
    shear: float
    tension_across: float
    compression_across: float
    rolling_shear: float
    scatter: Mapping[str, float] = field(hash=False)
    sources: Mapping[str, str] = field(hash=False)
    plies: tuple[Ply, ...] = ()
    crushes_slowly: bool = True

    def in_plane(self) -> SheetConstants:
        """Membrane constants of a sheet of this cut."""
        if self.cut == "quarter-sawn":
            return SheetConstants(self.E_L, self.E_R, self.G_LR, self.nu_LR)
        return SheetConstants(self.E_L, self.E_T, self.G_LT, self.nu_LT)

    def in_bending(self) -> SheetConstants:
        """Plate-bending constants of a sheet: those in plane, except for plywood, whose faces count most.

        If figures of a plywood were overridden, the ratio of bending to membrane constants stays that of its
        plies.
        """
        plane = self.in_plane()
        if not self.plies:
            return plane
        stretched, bent = laminate(self.plies)
        E_1 = bent.E_1 * plane.E_1 / stretched.E_1
        E_2 = bent.E_2 * plane.E_2 / stretched.E_2
        return SheetConstants(E_1, E_2, plane.G_12, bent.nu_12 * plane.nu_12 / stretched.nu_12)

    def through_thickness_shear(self) -> tuple[float, float]:
        """G_13 and G_23 of a sheet, 3 through its thickness and 1 along its (face) grain, Pa."""
        return (self.G_LT if self.cut == "quarter-sawn" else self.G_LR), self.G_RT

    def stick(self) -> StickConstants:
        """Constants of a stick along the span whose vertical faces are of this cut."""
        if self.cut == "quarter-sawn":
            nu_TR = self.nu_RT * self.E_T / self.E_R
            across = (self.E_R, self.E_T, self.G_LR, self.G_LT, self.G_RT, self.nu_LR, self.nu_LT, nu_TR)
        else:
            across = (self.E_T, self.E_R, self.G_LT, self.G_LR, self.G_RT, self.nu_LT, self.nu_LR, self.nu_RT)
        return StickConstants(self.E_L, *across)


def material(
    name: str,
    *,
    density: float | None = None,
    cut: str = "flat-sawn",
    overrides: Mapping[str, float] | None = None,
) -> Material:
    """Material by name, at the density of a weighed piece if one is given.

    Parameters
    ----------
    name : str
        One of `names()`.
    density : float, optional
        kg/m3. Balsa follows its density law from 55 to 385 kg/m3, and the scatter of E_L, density, shear and
        the strengths along the grain from piece to piece is halved (common practice, no source); the doubt of
        the table's figures stays, and so does all of it across the grain and in G. Other solid woods scale by
        the powers of density in `woods.toml`.
        Plywood, carbon and wire change their mass only.
    cut : str
        "flat-sawn" or "quarter-sawn"; only solid woods have one.
    overrides : mapping, optional
        Figures measured or given by the builder, by their names in `Material`, Pa or ratios.

    Raises
    ------
    WoodError
        Unknown name, cut or figure; density out of range; constants that give energy away.
    """
    if name in tables()["plywood"]["kinds"]:
        made = _named_ply(name, density)
    elif name in tables()["woods"]:
        made = _solid(name, density)
    else:
        raise WoodError("name", name, f"a wood; {closest(name, names())}")
    return _checked(_overridden(_cut(made, cut), overrides or {}))


def names() -> tuple[str, ...]:
    """Names that `material` knows, solid woods first."""
    return (*tables()["woods"], *tables()["plywood"]["kinds"])


def custom(name: str, constants: Mapping[str, Any]) -> Material:
    """Wood given by the builder: any figures he has; the rest follow a wood that is like it.

    Missing moduli keep their ratio to E_L in the wood it is like, rolling shear that to shear; other
    strengths, Poisson's ratios and scatter are that wood's at the density given, or at its usual density
    where the law does not reach.

    Parameters
    ----------
    name : str
        The builder's own name for it.
    constants : mapping
        Figures by their names in `Material` (Pa, kg/m3), and "like" (default "balsa"), "density" and "cut".
        Of an isotropic material ("like" music wire) only E_L, nu_LT and the strengths are asked; G follows.

    Raises
    ------
    WoodError
        Unknown key or base wood, a figure out of range, or constants that give energy away (their compliance
        matrix is not positive definite).
    """
    known = ("like", "density", "cut", *FIGURES)
    for key in constants:
        if key not in known:
            raise WoodError(key, constants[key], f"no such figure; {closest(key, known)}")
    like = constants.get("like", "balsa")
    if like not in names():
        raise WoodError("like", like, f"a wood; {closest(like, names())}")
    density = _base_density(like, constants.get("density"))
    base = material(like, cut=constants.get("cut", "flat-sawn"), density=density)
    if base.kind == "ply":
        raise WoodError("like", like, "a solid wood, carbon or wire; plywood is given by its plies")
    figures: dict[str, Any] = {key: _figure(key, constants[key]) for key in FIGURES if key in constants}
    own_density: dict[str, Any] = {}
    if constants.get("density") is not None:
        own_density["density"] = _positive("density", constants["density"])
        if base.kind == "solid" and own_density["density"] < LEAST_DENSITY:
            raise WoodError(
                "density", constants["density"], f"at least {LEAST_DENSITY:.0f} kg/m3; look at its unit"
            )
        if base.kind == "solid" and own_density["density"] > WOOD_SUBSTANCE:
            raise WoodError(
                "density", constants["density"],
                f"at most {say.density(WOOD_SUBSTANCE):.0f}, which is wood without any pores",
            )  # fmt: skip
    if base.kind == "solid" and base.E_L <= CELL_WALL_STIFFNESS:  # carbon is no wood
        for key, value in figures.items():
            most = CELL_WALL_STIFFNESS if key in MODULI else CELL_WALL_STRENGTH
            least = LEAST_STIFFNESS if key in MODULI else LEAST_STRENGTH
            if key in (*MODULI, *STRENGTHS) and value < least:
                limit = f"at least {say.quantity(least, 'stress')}; look at its unit"
                raise WoodError(key, constants[key], limit)
            if key in (*MODULI, *STRENGTHS) and value > most:
                limit = f"at most {say.quantity(most, 'stress')}, more than the walls of wood's cells have"
                raise WoodError(key, constants[key], limit)
    derived = _isotropic(base, figures) if base.kind == "isotropic" else _by_ratio(base, figures)
    sources = dict(base.sources)
    for key in derived:
        whole = "shear" if key == "rolling_shear" else "E_L"
        rule = "isotropic" if base.kind == "isotropic" else f"ratio to {whole} as in {like}"
        sources[key] = f"{rule} [computed]"
    sources |= dict.fromkeys((*figures, *own_density), GIVEN)
    return _checked(replace(base, name=name, sources=sources, **own_density, **derived, **figures))


def ply(
    veneer: str = "birch",
    n_plies: int = 3,
    face_fraction: float | None = None,
    *,
    density: float | None = None,
    shear_modulus: float | None = None,
    name: str | None = None,
) -> Material:
    """Plywood from its plies by classical lamination, alternate plies crossed.

    Parameters
    ----------
    veneer : str
        Solid wood of all plies.
    n_plies : int
        Odd, at least 3.
    face_fraction : float, optional
        Share of the thickness in the two outermost plies together; the rest is divided equally. Default:
        equal plies.
    density : float, optional
        kg/m3; mass only. Default 1.066 times the veneer's.
    shear_modulus : float, optional
        G in the plane at 0 and 90 degrees, Pa. Default 0.72 of the veneer's G_LT, a judgement between panel
        design values (0.60) and the plies (1).
    name : str, optional
        Default "3-ply birch" and the like.

    Returns
    -------
    Material
        Strengths along the stress count the plies whose grain lies along it; `tension_across` and
        `compression_across` are in the sheet, across the face grain.

    Raises
    ------
    WoodError
        Veneer, number of plies or fraction that make no plywood.

    References
    ----------
    Jones, Mechanics of Composite Materials, chapter 4 (from memory).
    """
    wood = material(veneer)
    if wood.kind != "solid":
        raise WoodError("veneer", veneer, "a solid wood")
    plies = _stack(wood, n_plies, face_fraction)
    along = math.fsum(one.fraction for one in plies if not one.crossed)
    stretched, _ = laminate(plies)
    rules = tables()["plywood"]
    computed = f"classical lamination of {n_plies} plies of {veneer} [computed]"
    sources = dict.fromkeys(FIGURES, computed)
    if density is None:
        density = wood.density * rules["density_ratio"]["value"]
        sources["density"] = cite(rules["density_ratio"])
    else:
        density = _positive("density", density)
        sources["density"] = GIVEN
    if shear_modulus is None:
        shear_modulus = wood.G_LT * rules["G_ratio"]["value"]
        sources["G_LT"] = cite(rules["G_ratio"])
    else:
        shear_modulus = _positive("shear_modulus", shear_modulus)
        sources["G_LT"] = GIVEN
    sources["shear"] = cite(rules["shear_ratio"])
    sources["rolling_shear"] = f"the veneer's: {wood.sources['rolling_shear']}"
    scatter, scatter_sources = _scatter(rules["scatter"])
    return _checked(
        Material(
            name=name or f"{n_plies}-ply {veneer}",
            kind="ply",
            cut="flat-sawn",
            density=density,
            E_L=stretched.E_1,
            E_R=wood.E_R,
            E_T=stretched.E_2,
            G_LR=1.0 / (along / wood.G_LR + (1.0 - along) / wood.G_RT),
            G_LT=shear_modulus,
            G_RT=1.0 / (along / wood.G_RT + (1.0 - along) / wood.G_LR),
            nu_LR=_thickness_ratio(wood, plies, stretched, along_face=True),
            nu_LT=stretched.nu_12,
            nu_RT=_thickness_ratio(wood, plies, stretched, along_face=False) * wood.E_R / stretched.E_2,
            tension=wood.tension * along,
            compression=wood.compression * along,
            bending=wood.bending * along,
            shear=wood.shear * rules["shear_ratio"]["value"],
            tension_across=wood.tension * (1.0 - along),
            compression_across=wood.compression * (1.0 - along),
            rolling_shear=wood.rolling_shear,
            scatter=scatter,
            sources=sources | scatter_sources,
            plies=plies,
        )
    )


def laminate(plies: tuple[Ply, ...]) -> tuple[SheetConstants, SheetConstants]:
    """Membrane (A/t) and plate-bending (12 D/t^3) constants, Pa, of a stack of plies at 0 and 90 degrees
    by classical lamination, with ply-by-ply G; from one face to the other, symmetric about the middle,
    fractions that add to 1."""
    stretch = [0.0, 0.0, 0.0, 0.0]
    bend = [0.0, 0.0, 0.0, 0.0]
    bottom = -0.5
    for one in plies:
        top = bottom + one.fraction
        stiffness = _plane_stress(one)
        for i in range(4):
            stretch[i] += stiffness[i] * one.fraction
            bend[i] += 4.0 * stiffness[i] * (top**3 - bottom**3)
        bottom = top
    return _engineering(stretch), _engineering(bend)


def closest(word: object, among: tuple[str, ...]) -> str:
    """End of a message: the close spelling if there is one, else all that is known."""
    import difflib  # only a mistake needs it

    close = difflib.get_close_matches(str(word), among, n=1)
    return f"did you mean {close[0]}?" if close else f"known: {', '.join(among)}"


def _positive(key: str, value: Any) -> float:
    if (
        isinstance(value, bool)
        or not isinstance(value, int | float)
        or not math.isfinite(value)
        or value <= 0
    ):
        raise WoodError(key, value, "a finite number above zero")
    return float(value)


_MOST_RATIO = 10.0
"""Far beyond any wood's: the square is at most E_L over E_T, up to 100 or so in `woods.toml`."""


def _figure(key: str, value: Any) -> float:
    """A modulus or strength above zero; a Poisson's ratio of any sign, which the energy check bounds."""
    if key in RATIOS and not isinstance(value, bool) and isinstance(value, int | float):
        if abs(value) <= _MOST_RATIO:
            return float(value)
        raise WoodError(key, value, f"a finite number between {-_MOST_RATIO:g} and {_MOST_RATIO:g}")
    return _positive(key, value)


def _scatter(name: str, *, weighed: bool = False) -> tuple[dict[str, float], dict[str, str]]:
    """Variation coefficients of a family of woods, and sources; weighing narrows piece to piece alone."""
    entry = dict(tables()["scatter"][name])
    if "like" in entry:
        entry = {**tables()["scatter"][entry.pop("like")], **entry}
    sources = {f"scatter.{key}": cite(figure) for key, figure in entry.items()}
    if not weighed:
        return {key: spread(figure) for key, figure in entry.items()}, sources
    half = tables()["laws"]["balsa"]["weighed_scatter"]
    left = dict.fromkeys(NARROWED_BY_WEIGHING, float(half["value"]))
    sources |= {f"scatter.{key}": f"{cite(half)}, from {sources[f'scatter.{key}']}" for key in left}
    return {key: spread(figure, left.get(key, 1.0)) for key, figure in entry.items()}, sources


def _solid(name: str, density: float | None) -> Material:
    preset = tables()["woods"][name]
    entry = {**tables()["woods"][preset["like"]], **preset} if "like" in preset else preset
    table_density = entry.get("table_density", entry["density"])["value"]
    own_density = entry["density"]["value"] if density is None else _positive("density", density)
    if density is not None:
        _check_density(name, entry, table_density, own_density)
    values, sources = _table_figures(entry)
    sources["density"] = cite(entry["density"]) if density is None else GIVEN
    values = _at_density(values, entry["law"], own_density, table_density)
    weighed = density is not None and entry["law"] == "balsa"
    scatter, scatter_sources = _scatter(entry["scatter"], weighed=weighed)
    return Material(
        name=name,
        kind=entry["kind"],
        cut="flat-sawn",
        density=own_density,
        scatter=scatter,
        sources=sources | scatter_sources,
        crushes_slowly=entry["crushes_slowly"]["value"] if "crushes_slowly" in entry else True,
        **values,
    )


def _check_density(name: str, entry: Mapping[str, Any], table_density: float, density: float) -> None:
    law = entry["law"]
    if "lightest" in entry:
        lightest, heaviest = entry["lightest"]["value"], entry["heaviest"]["value"]
        hint = (
            f"{name} runs {say.density.each(lightest, heaviest, spec='g', by=' to ')}; write "
            f"{entry['like']} for a weighed piece"
        )
    elif law == "none":
        return
    else:
        scale = 1.0 if law == "balsa" else table_density
        lightest = tables()["laws"][law]["lightest"]["value"] * scale
        heaviest = tables()["laws"][law]["heaviest"]["value"] * scale
        hint = f"{name} runs {say.density.each(lightest, heaviest, spec='.0f', by=' to ')}"
    if not lightest <= density <= heaviest:
        raise WoodError("density", density, hint)


def _table_figures(entry: Mapping[str, Any]) -> tuple[dict[str, Any], dict[str, str]]:
    values: dict[str, Any] = {}
    for key in FIGURES:
        whole = entry["shear" if key == "rolling_shear" else "E_L"]["value"]
        figure = entry[key]
        values[key] = figure["value"] if "value" in figure else figure["ratio"] * whole
    return values, {key: cite(entry[key]) for key in FIGURES}


def _at_density(values: dict[str, Any], law: str, density: float, table_density: float) -> dict[str, Any]:
    if law == "none" or density == table_density:
        return values
    exponents = {key: figure["value"] for key, figure in tables()["laws"][law]["exponents"].items()}
    if law == "balsa":
        exponents["compression"] = _light_exponent(density, exponents["compression"])
    relative = density / table_density
    return {key: value * relative ** exponents.get(key, 0.0) for key, value in values.items()}


def _light_exponent(density: float, ordinary: float) -> float:
    light = {key: figure["value"] for key, figure in tables()["laws"]["balsa"]["light_compression"].items()}
    share = (light["above"] - density) / (light["above"] - light["below"])
    return ordinary + (light["exponent"] - ordinary) * min(max(share, 0.0), 1.0)


def _named_ply(name: str, density: float | None) -> Material:
    entry = tables()["plywood"]["kinds"][name]
    own_density = entry["density"]["value"] if density is None else density
    made = ply(entry["veneer"], density=own_density, name=name)
    if density is None:
        made = replace(made, sources={**made.sources, "density": cite(entry["density"])})
    return made


def _cut(made: Material, cut: str) -> Material:
    if cut not in CUTS:
        raise WoodError("cut", cut, f"flat-sawn or quarter-sawn; {closest(cut, CUTS)}")
    if cut == "quarter-sawn" and (made.kind != "solid" or made.E_R == made.E_T):
        raise WoodError("cut", cut, f"no cut for {made.name}: only solid wood is sawn")
    return replace(made, cut=cut)


def _overridden(made: Material, overrides: Mapping[str, float]) -> Material:
    for key in overrides:
        if key not in FIGURES:
            raise WoodError(key, overrides[key], f"no such figure; {closest(key, FIGURES)}")
    if not overrides:
        return made
    figures: dict[str, Any] = {key: _figure(key, value) for key, value in overrides.items()}
    isotropic = made.kind == "isotropic"
    derived = _isotropic(made, figures) if isotropic else _rolling(made, figures)
    rule = "isotropic" if isotropic else f"ratio to shear as in {made.name}"
    sources = {
        **made.sources,
        **dict.fromkeys(derived, f"{rule} [computed]"),
        **dict.fromkeys(figures, GIVEN),
    }
    return replace(made, sources=sources, **derived, **figures)


def _checked(made: Material) -> Material:
    """Refuse constants whose strain energy could be negative, by the minors of the unitless compliance."""
    a = made.nu_LR**2 * made.E_R / made.E_L
    b = made.nu_LT**2 * made.E_T / made.E_L
    c = made.nu_RT**2 * made.E_T / made.E_R
    coupled = made.nu_LR * made.nu_RT * made.nu_LT * made.E_T / made.E_L
    for key, left in (("nu_LR", 1.0 - a), ("nu_LT", 1.0 - b), ("nu_RT", 1.0 - c)):
        if left <= 0.0:
            raise WoodError(key, getattr(made, key), "smaller: with these moduli the wood gives energy away")
    if 1.0 - a - b - c - 2.0 * coupled <= 0.0:
        ratios = tuple(getattr(made, key) for key in RATIOS)
        raise WoodError(
            "nu_LR, nu_LT, nu_RT", ratios, "smaller: with these moduli the wood gives energy away"
        )
    for key in RATIOS:
        if not -1.0 < getattr(made, key) < 2.0:
            raise WoodError(key, getattr(made, key), "a ratio between -1 and 2")
    return made


def _base_density(like: str, density: Any) -> float | None:
    """Density at which the base wood fills the gaps: the builder's, where its law reaches."""
    if density is None:
        return None
    density = _positive("density", density)
    try:
        material(like, density=density)
    except WoodError as fault:
        if fault.key != "density":
            raise
        return None
    return density


def _by_ratio(base: Material, figures: Mapping[str, float]) -> dict[str, Any]:
    stiffer = figures.get("E_L", base.E_L) / base.E_L
    moduli = {key: getattr(base, key) * stiffer for key in MODULI if key not in figures}
    return (moduli if "E_L" in figures else {}) | _rolling(base, figures)


def _rolling(base: Material, figures: Mapping[str, float]) -> dict[str, Any]:
    """Rolling shear strength of a solid wood whose shear strength was given: it keeps its ratio to that."""
    if "shear" not in figures or "rolling_shear" in figures or base.kind != "solid":
        return {}
    return {"rolling_shear": base.rolling_shear * figures["shear"] / base.shear}


def _isotropic(base: Material, figures: Mapping[str, float]) -> dict[str, Any]:
    for key in figures:
        if key in (*MODULI, *RATIOS) and key not in ("E_L", "nu_LT"):
            raise WoodError(
                key, figures[key], "only E_L and nu_LT: the rest follows in an isotropic material"
            )
    E, nu = figures.get("E_L", base.E_L), figures.get("nu_LT", base.nu_LT)
    if not -1.0 < nu < 0.5:
        raise WoodError("nu_LT", nu, "above -1 and below 0.5 for an isotropic material")
    G = E / (2.0 * (1.0 + nu))
    return {"E_R": E, "E_T": E, "G_LR": G, "G_LT": G, "G_RT": G, "nu_LR": nu, "nu_RT": nu}


def _stack(wood: Material, n_plies: int, face_fraction: float | None) -> tuple[Ply, ...]:
    if isinstance(n_plies, bool) or not isinstance(n_plies, int) or n_plies < 3 or n_plies % 2 == 0:
        raise WoodError("n_plies", n_plies, "an odd whole number, 3 or more")
    faces = 2.0 / n_plies if face_fraction is None else face_fraction
    if not 0.0 < faces < 1.0:
        raise WoodError("face_fraction", face_fraction, "between 0 and 1: share of both face plies together")
    fractions = [faces / 2.0, *[(1.0 - faces) / (n_plies - 2)] * (n_plies - 2), faces / 2.0]
    constants = SheetConstants(wood.E_L, wood.E_T, wood.G_LT, wood.nu_LT)
    strengths = (wood.tension, wood.compression, wood.shear, wood.tension_across, wood.compression_across)
    return tuple(
        Ply(fraction, i % 2 == 1, wood.name, constants, *strengths) for i, fraction in enumerate(fractions)
    )


def _plane_stress(one: Ply) -> tuple[float, float, float, float]:
    """Q_11, Q_22, Q_12, Q_66 of a ply in the sheet's axes, Pa."""
    own = one.constants
    rest = 1.0 - own.nu_12**2 * own.E_2 / own.E_1
    along, across = own.E_1 / rest, own.E_2 / rest
    if one.crossed:
        along, across = across, along
    return along, across, own.nu_12 * own.E_2 / rest, own.G_12


def _engineering(stiffness: list[float]) -> SheetConstants:
    along, across, coupling, shear = stiffness
    return SheetConstants(
        along - coupling**2 / across, across - coupling**2 / along, shear, coupling / across
    )


def _thickness_ratio(
    wood: Material, plies: tuple[Ply, ...], sheet: SheetConstants, *, along_face: bool
) -> float:
    """Shrinking of the sheet's thickness per unit stretch along (or across) the face grain.

    Each ply thins by its own in-plane stresses: e_R = -(nu_LR s_L/E_L + nu_RT s_T/E_R), since
    nu_TR/E_T = nu_RT/E_R.
    """
    e_1, e_2 = (1.0, -sheet.nu_12) if along_face else (-sheet.nu_12 * sheet.E_2 / sheet.E_1, 1.0)
    thinning = 0.0
    for one in plies:
        q_11, q_22, q_12, _ = _plane_stress(one)
        s_1, s_2 = q_11 * e_1 + q_12 * e_2, q_12 * e_1 + q_22 * e_2
        s_L, s_T = (s_2, s_1) if one.crossed else (s_1, s_2)
        thinning += one.fraction * (wood.nu_LR * s_L / wood.E_L + wood.nu_RT * s_T / wood.E_R)
    return thinning
