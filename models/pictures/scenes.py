"""The four scenes of a solved wing: deflection, stress in the caps, shear flow in the webs, reserves by bay.

Each function returns a `pyvista.Plotter` that is ready to be shown or saved, of a solved wing; `off_screen`
draws for a file rather than a window, `size` is in pixels.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Mapping
from typing import Any

import numpy as np

from fea.arrays import Array
from models import units_out as say
from models.analysis import Analysis, spar_motion, wing_twist
from models.pictures import fields, side_view, stage
from models.pictures.first import ShownReserves, elements_of
from models.pictures.surfaces import Surface, surfaces
from models.rounding import down
from models.strength import Margin
from models.structure.model import Model
from models.wing.words import spar_words

CLEAR = {"sheeting": 0.10, "webs": 0.2, "ribs": 0.3, "rail webs": 0.3, "cap strips": 0.2}
"""Opacity, where it is grey, of what would hide the spars."""
_NOTE = 64
"""Letters in a line of notes, so that it ends before the legend begins."""
_MARK = 19
"""Height of the words that mark the first failure, pixels of a picture 1000 high."""


def deflection(
    analysis: Analysis,
    *,
    factor: float | None = None,
    off_screen: bool = True,
    size: tuple[int, int] = stage.SIZE,
) -> Any:
    """The bent wing over the unbent, coloured by upward deflection.

    Parameters
    ----------
    analysis : Analysis
    factor : float or None
        How many times the true deflection is drawn; None picks a round number that shows it well.
    off_screen, size
        As of every scene.
    """
    model = analysis.model
    moves = fields.displacements(analysis)
    parts = surfaces(model)
    moved = {name: s.moves(model.structure.nodes, moves) for name, s in parts.items()}
    unbent = np.concatenate([s.points for s in parts.values()])
    every = np.concatenate(list(moved.values()))
    factor = drawn_factor(unbent, every) if factor is None else factor
    twin = model.half
    low, high = (float(end) * say.length.factor for end in (every[:, 2].min(), every[:, 2].max()))
    limits = round_limits(low, high)
    notes = [
        "Grey: unbent. Deflections are measured from the centre section." if twin else "Grey: unbent.",
        "Port half drawn as the mirror image of the starboard half." if twin else "",
        _twist_place(analysis),
    ]
    shown = np.concatenate([unbent, unbent + factor * every])
    if twin:
        shown = np.concatenate([shown, shown * [1, -1, 1]])
    plotter = stage.open_stage(
        tip_title(analysis),
        f"{model.wing.name}: {load_words(analysis)}: {_ends_words(analysis)}",
        off_screen=off_screen,
        size=size,
    )
    stage.words(plotter, _true(factor), 0.02, 0.868, 20, bold=True)
    view = stage.look(plotter, shown)
    colours = stage.paint(VIRIDIS)
    for name, surface in parts.items():
        for sign in (1, -1) if twin else (1,):
            flip = np.array([1.0, float(sign), 1.0])
            tag = name if sign > 0 else f"{name}, mirrored"
            add_surface(
                plotter, surface.points * flip, surface, f"unbent {tag}", color=stage.GHOST, opacity=0.18
            )
            add_surface(
                plotter,
                (surface.points + factor * moved[name]) * flip,
                surface,
                tag,
                clim=limits,
                cmap=colours,
                scalars=moved[name][:, 2] * say.length.factor,
                what=f"upward deflection, {say.length.unit}",
                opacity=0.5 if name == "sheeting" else 1.0,
            )
    labelled = stage.label_bays(
        plotter, model, view, shown, moves=factor * moves[:, :3], above=_labels_above(model)
    )
    stage.colour_bar(plotter, f"Upward deflection, {say.length.unit}", limits, colours)
    return finish_scene(plotter, view, analysis, [*notes, labelled])


def cap_stress(analysis: Analysis, *, off_screen: bool = True, size: tuple[int, int] = stage.SIZE) -> Any:
    """Axial stress over the surface of the caps, bending included, tension positive; see `deflection`.

    Of caps with facings the main stick is coloured; the words on top give the range in every material.
    """
    parts = surfaces(analysis.model)
    caps = parts["caps"]
    stress = fields.cap_stress(analysis, caps) * say.stress.factor
    main = fields.main_layer(analysis.model)
    coloured = caps.layer == main
    ranges = fields.range_by_material(analysis.model, caps, stress)
    drawn = float(np.abs(stress[coloured]).max())
    checked = fields.checked_cap_stress(analysis, main) * say.stress.factor
    most = _limit(drawn, checked)
    unit = say.stress.unit
    said = ", ".join(f"{name} {_three(low)} to {_three(high)} {unit}" for name, (low, high) in ranges.items())
    subtitle = f"{analysis.wing.name}: {load_words(analysis)}: {said}"
    title = f"Stress in the spar caps: the check counts {_three(checked)} {unit} at most"
    plotter, view, labelled = _ghosted(analysis, parts, {"caps"}, title, subtitle, off_screen, size)
    colours = stage.paint(stage.DIVERGING)
    sticks = caps.only(coloured)
    _scaled(plotter, sticks, "caps", stress[coloured], most, f"axial stress, {unit}")
    notes = ["Grey: all other parts, without colour."]
    if not coloured.all():
        facings = caps.only(~coloured)
        add_surface(plotter, facings.points, facings, "facings", color=stage.FAINT)
        notes = ["Colour: the caps' main sticks. Dark grey: their facings. Grey: all other parts."]
    notes += _peaks(drawn, most)
    words = f"Axial stress along the cap, bending included, {unit}"
    stage.colour_bar(plotter, words, (-most, most), colours, ("compression", "tension"))
    return finish_scene(plotter, view, analysis, [*notes, half_words(analysis), labelled])


def shear_flow(analysis: Analysis, *, off_screen: bool = True, size: tuple[int, int] = stage.SIZE) -> Any:
    """Shear flow in the webs, positive where a web hands the outer wing's lift inboard; see `deflection`.

    Raises
    ------
    ValueError
        The wing has no webs.
    """
    parts = surfaces(analysis.model)
    if "webs" not in parts:
        raise ValueError(f"{analysis.wing.name}: no webs, so no shear flow to draw")
    flow = fields.shear_flow(analysis) * say.shear_flow.factor
    drawn = float(np.abs(flow).max())
    checked = fields.checked_shear_flow(analysis) * say.shear_flow.factor
    most = _limit(drawn, checked)
    unit = say.shear_flow.unit
    ends = f"from {_three(flow.min())} to {_three(flow.max())} {unit}"
    subtitle = f"{analysis.wing.name}: {load_words(analysis)}; {ends}"
    title = f"Shear flow in the webs: the check counts {_three(checked)} {unit} at most"
    plotter, view, labelled = _ghosted(analysis, parts, {"webs"}, title, subtitle, off_screen, size)
    _scaled(plotter, parts["webs"], "webs", flow[parts["webs"].element], most, f"shear flow, {unit}")
    stage.colour_bar(
        plotter, f"Shear flow in the webs, {unit}", (-most, most), stage.paint(stage.DIVERGING),
        ("hands lift outboard", "hands lift inboard"),
    )  # fmt: skip
    webs = analysis.model.webs
    bays = list(zip(webs.spar.tolist(), webs.span.tolist()))
    behind = " Front webs hide those behind." if len(set(zip(bays, webs.face))) > len(set(bays)) else ""
    notes = [
        f"Webs are drawn over the clear height between the caps.{behind} Grey: all other parts.",
        *_peaks(drawn, most),
    ]
    return finish_scene(plotter, view, analysis, [*notes, half_words(analysis), labelled])


def reserve(
    analysis: Analysis,
    found: ShownReserves,
    *,
    off_screen: bool = True,
    size: tuple[int, int] = stage.SIZE,
) -> Any:
    """Reserve factor by bay and part in five bands; what fails first is coloured, outlined and named."""
    model, first = analysis.model, found.first
    parts = surfaces(model)
    by_part = {k: v for k, v in found.by_part.items() if k in parts}
    told = "nothing was checked" if first is None else f"least reserve factor {down(first.reserve_factor, 2)}"
    said = f"{model.wing.name}: {load_words(analysis)}; {told}"
    apart = {k for k in by_part if k in WITH_RESERVES}
    plotter, view, labelled = _ghosted(
        analysis, parts, apart, found.title, said, off_screen, size, room_on_top=True
    )
    for name in WITH_RESERVES:
        if name in by_part:
            _add_bands(plotter, parts[name], name, by_part[name])
    stage.band_legend(
        plotter,
        "Reserve factor (allowable / applied), least in each bay of each part",
        [*zip(fields.BAND_WORDS, stage.BAND_COLOURS), ("not checked", stage.UNCHECKED)],
    )
    notes = ["Pale grey: parts that are not coloured here."]
    if first is not None:
        own = own_surface(analysis, parts, first)
        if own is not None:
            name, one = own
            if name not in WITH_RESERVES:
                worst = np.full(len(model.structure.blocks[name].nodes), first.reserve_factor)
                _add_bands(plotter, one, f"{name}, the first", by_part.get(name, worst))
            colour = stage.BAND_COLOURS[int(fields.bands(np.array([first.reserve_factor]))[0])]
            _outline(plotter, view, one.points, colour)
            notes.insert(0, "Outlined, also through what stands before it: what fails first.")
            near = np.abs(one.points[:, 1] - first.y) <= np.abs(one.points[:, 1] - first.y).min() + 1e-6
            target = one.points[near].mean(axis=0)
        else:
            spars = [s.name for s in model.wing.spars]
            k = spars.index(first.spar) if first.spar in spars else None
            target = stage.on_spar(model, first.y, None, k)
            _blob(plotter, target, first.reserve_factor, 0.012 * float(np.ptp(model.structure.nodes[:, 1])))
        mark_with_words(plotter, view, target, f"Fails first, at {found.load}")
    return finish_scene(plotter, view, analysis, [*notes, half_words(analysis), labelled])


def own_surface(
    analysis: Analysis, parts: Mapping[str, Surface], margin: Margin
) -> tuple[str, Surface] | None:
    """Block and surface of the part that a margin is of; None where it is not drawn."""
    for name, mine in elements_of(analysis.model, margin.part).items():
        if name in parts:
            return name, parts[name].only(mine[parts[name].element])
    return None


def _outline(plotter: Any, view: stage.Camera, points: Array, colour: str) -> None:
    """What some points cover on the screen, filled and with a line round it, in front of everything."""
    from scipy.spatial import ConvexHull

    ring = ConvexHull(view.on_screen(points)).vertices
    stage.overlay(plotter, points[ring], colour, faces=np.arange(len(ring))[None], in_space=True)
    stage.overlay(plotter, points[[*ring, ring[0]]], stage.INK, width=3.0, in_space=True)


def _blob(plotter: Any, at: Array, factor: float, radius: float) -> None:
    """A ball in the colour of a reserve, for a part that has no surface of its own."""
    import pyvista as pv

    colour = stage.BAND_COLOURS[int(fields.bands(np.array([factor]))[0])]
    ball = pv.Sphere(radius=radius, center=tuple(at))
    plotter.add_mesh(ball, color=colour, name="the first", **LIT)


WITH_RESERVES = ("caps", "webs", "posts")
"""Blocks that the picture of reserves colours."""
VIRIDIS = ("#440154", "#3b528b", "#21918c", "#5ec962", "#fde725")
"""Five colours of the scale of that name, whose lightness grows evenly."""

LIT = {"ambient": 0.68, "diffuse": 0.38, "reset_camera": False}
"""How everything in a scene takes the light, the camera left where it is."""


def add_surface(
    plotter: Any,
    points: Array,
    surface: Surface,
    name: str,
    *,
    what: str = "",
    scalars: Array | None = None,
    **style: Any,
) -> None:
    """Add a surface to a scene.

    Parameters
    ----------
    plotter, points, surface, name
        Where its points are drawn, (n_points, 3), m; the name by which the plotter knows it.
    what, scalars : str and (n_points,) float array or None
        A figure by its name that colours it.
    **style
        Of the mesh.
    """
    see_through = style.get("opacity", 1.0) < 1
    if "color" in style:
        style["color"] = stage.shade(style["color"])
    mesh = stage.polygons(points, surface.shell if see_through else surface.quads)
    if scalars is not None:
        mesh.point_data[what] = scalars
        style.update(scalars=what, show_scalar_bar=False)
    plotter.add_mesh(mesh, name=name, specular=0.0, **LIT, **style)


def _scaled(plotter: Any, surface: Surface, name: str, scalars: Array, most: float, what: str) -> None:
    """Add a surface coloured on a scale from -most to most."""
    style = {"clim": (-most, most), "cmap": stage.paint(stage.DIVERGING)}
    add_surface(plotter, surface.points, surface, name, what=what, scalars=scalars, **style)


def _add_bands(plotter: Any, surface: Surface, name: str, factors: Array) -> None:
    import pyvista as pv

    band = fields.bands(factors)
    table = np.array([pv.Color(c).int_rgb for c in (*stage.BAND_COLOURS, stage.UNCHECKED)], dtype=np.uint8)
    mesh = stage.polygons(surface.points, surface.quads)
    mesh.point_data["reserve factor"] = factors[surface.element]
    mesh.point_data["colour"] = table[band[surface.element]]
    plotter.add_mesh(mesh, name=name, scalars="colour", rgb=True, specular=0.0, **LIT)


def _ghosted(
    analysis: Analysis,
    parts: Mapping[str, Surface],
    apart_from: Iterable[str],
    title: str,
    subtitle: str,
    off_screen: bool,
    size: tuple[int, int],
    *,
    room_on_top: bool = False,
) -> tuple[Any, stage.Camera, str]:
    """A stage with every part in grey but some, and the bays labelled; `room_on_top` is for a mark."""
    model = analysis.model
    drawn = np.concatenate([s.points for s in parts.values()])
    plotter = stage.open_stage(title, subtitle, off_screen=off_screen, size=size)
    view = stage.look(plotter, drawn, top=0.76 if room_on_top else None)
    ghosts(plotter, {name: surface for name, surface in parts.items() if name not in apart_from})
    above = _labels_above(model) and not room_on_top
    return plotter, view, stage.label_bays(plotter, model, view, drawn, above=above)


def ghosts(plotter: Any, parts: Mapping[str, Surface]) -> None:
    """Add parts in grey to a scene, clear where they would hide the spars."""
    for name, surface in parts.items():
        opacity = min(0.28, CLEAR.get(name, 1.0))
        add_surface(plotter, surface.points, surface, f"ghost {name}", color=stage.GHOST, opacity=opacity)


def _labels_above(model: Model) -> bool:
    """Whether bays are labelled above the wing: those of a bare spar."""
    return len(model.wing.spars) == 1 and model.wing.planform is None


def middle_of(surface: Surface, element: int) -> Array:
    """The middle of one element, (3,), m."""
    return np.asarray(surface.points[surface.element == element].mean(axis=0))


def mark_with_words(plotter: Any, view: stage.Camera, target: Array, words: str) -> None:
    """An arrow with words, broken into lines where they are long, at a point, (3,), m.

    Parameters
    ----------
    plotter, view
        The scene, and how it is looked at.
    target : (3,) float array
        Where the arrow points to, m.
    words : str
    """
    lines = textwrap.wrap(words, 44)
    unit = _MARK * view.pixels[1] / stage.SIZE[1]
    half = 0.5 * 0.6 * unit * max(len(line) for line in lines)
    pixel = view.on_screen(target[None])[0]
    goal = np.array([np.clip(pixel[0], half + unit, view.pixels[0] - half - unit), 0.85 * view.pixels[1]])
    in_plane = lambda shift: view.metres(shift[0]) * view.right + view.metres(shift[1]) * view.up  # noqa: E731
    foot = goal - [0.0, 0.65 * unit * len(lines)]
    towards = (pixel - foot) / np.linalg.norm(pixel - foot)
    across = np.array([-towards[1], towards[0]])
    head = [pixel, pixel - unit * towards + 0.4 * unit * across, pixel - unit * towards - 0.4 * unit * across]
    ends = [target + in_plane(foot - pixel), target + in_plane(-0.8 * unit * towards)]
    stage.overlay(plotter, np.array(ends), stage.INK, width=3.0, in_space=True)
    tip = np.array([target + in_plane(p - pixel) for p in head])
    stage.overlay(plotter, tip, stage.INK, faces=np.arange(3)[None], in_space=True)
    text = "\n".join(f"  {line}  " for line in lines)
    stage.pinned(plotter, text, target + in_plane(goal - pixel), height=_MARK, box=True)


def finish_scene(plotter: Any, view: stage.Camera, analysis: Analysis, notes: list[str]) -> Any:
    """Put the last words, from below upwards, and the axes on a scene.

    Parameters
    ----------
    plotter, view, analysis
        The scene, how it is looked at, and what it shows.
    notes : list of str
        Sentences, the uppermost first.
    """
    lines = [line for note in notes for line in textwrap.wrap(note, _NOTE)]
    for k, line in enumerate(reversed(lines)):
        stage.words(plotter, line, 0.02, 0.050 + 0.030 * k, 17, colour=stage.FAINT)
    stage.draw_axes(plotter, analysis.wing.clamped, view, (0.925, 0.205))
    return plotter


def _peaks(drawn: float, most: float) -> list[str]:
    """What is said where the drawn figures go beyond the scale, which is that of the checked ones."""
    if drawn <= most:
        return []
    return [f"Local peaks beyond the scale, up to {_three(drawn)}: the check averages them."]


def _three(value: float) -> str:
    """Three digits, without an exponent."""
    text = f"{value:.3g}"
    return say.plain(float(value), 3) if "e" in text else text


def tip_title(analysis: Analysis) -> str:
    """How far the wing's outer end goes, in one line; of several spars the one that goes farthest."""
    settled = fields.settled(analysis)
    ends = [float(spar_motion(settled, s).deflection[-1]) for s in range(len(analysis.wing.spars))]
    words = f"The outer end bends {_upward(max(ends, key=abs))}"
    twist = float(np.degrees(wing_twist(settled)[1][-1]))
    return f"{words} and does not twist" if abs(twist) < 1e-6 else f"{words} and twists {_nose(twist)}"


def _upward(up: float) -> str:
    return f"{say.length(abs(up)):.3g} {'up' if up >= 0 else 'down'}"


def _nose(twist: float) -> str:
    return f"{abs(twist):.3g} degrees nose {'up' if twist >= 0 else 'down'}"


def load_words(analysis: Analysis) -> str:
    """The load in words."""
    case = analysis.wing.case
    if analysis.pull_up is not None:
        return f"{case.name[:1].upper()}{case.name[1:]}, load factor {down(analysis.load_factor)}"
    loads = []
    if case.tip_force:
        loads.append(f"tip force {say.force(case.tip_force):.4g}")
    if case.tip_torque:
        loads.append(f"tip torque {say.moment(case.tip_torque):.4g}")
    words = " and ".join(loads) or "no load"
    return f"Clamped at the root, {words}"


def half_words(analysis: Analysis) -> str:
    """That half of the wing is shown, in words; nothing where all of it is."""
    return "Starboard half shown." if analysis.model.half else ""


def tip_words(analysis: Analysis) -> str:
    """How far the spars' tips go, and the twist there, in words."""
    y, twists = wing_twist(fields.settled(analysis))
    twist = float(np.degrees(twists[-1]))
    where = "at the tip" if _is_tip(analysis, y[-1]) else f"at {say.length(y[-1]):.0f}"
    turned = "no twist" if abs(twist) < 1e-6 else f"twist {where} {_nose(twist)}"
    return f"{_ends_words(analysis)}; {turned}"


def _ends_words(analysis: Analysis) -> str:
    settled = fields.settled(analysis)
    return ", ".join(
        f"{spar_words(spar.name)} end {_upward(float(spar_motion(settled, s).deflection[-1]))}"
        for s, spar in enumerate(analysis.wing.spars)
    )


def _twist_place(analysis: Analysis) -> str:
    """Where the twist of the title is, in words; "" at the tip."""
    last = float(wing_twist(fields.settled(analysis))[0][-1])
    told = f"The twist is that at {say.length(last):.0f}, where a spar ends."
    return "" if _is_tip(analysis, last) else told


def _is_tip(analysis: Analysis, y: float) -> bool:
    return y > analysis.wing.semispan - 1e-6


def _true(factor: float) -> str:
    return "Deflection drawn to true scale." if factor == 1 else f"Deflection drawn {factor:g} x true."


def drawn_factor(points: Array, moves: Array) -> float:
    """Greatest of 1, 2, 5, 10 ... that draws the largest movement within an eighth of the wing's size.

    Large movements are drawn to true scale, and reduced only beyond half the wing's size.
    """
    largest = float(np.linalg.norm(moves, axis=1).max())
    if largest == 0:
        return 1.0
    share = np.ptp(points, axis=0).max() / largest
    return _round_down(share / 8) if share >= 8 else min(1.0, _round_down(share / 2))


def _round_down(value: float) -> float:
    power = 10.0 ** np.floor(np.log10(value) + 1e-9)
    return float(max(step for step in (1, 2, 5) if step * power <= value * (1 + 1e-9)) * power)


def _limit(drawn: float, checked: float) -> float:
    """End of a scene's scale: peaks that the check smooths do not eat it."""
    return round_limit(min(drawn, checked))


def flow_from_the_side(analysis: Analysis) -> side_view.Painted:
    """Shear flow of every web as the scene colours it, for the spars from the side below it."""
    flow = fields.shear_flow(analysis) * say.shear_flow.factor
    checked = fields.checked_shear_flow(analysis) * say.shear_flow.factor
    most = _limit(float(np.abs(flow).max()), checked)
    return {"webs": flow}, _diverging(
        most, f"figures: greatest shear flow of each web, {say.shear_flow.unit}, worse side"
    )


def stress_from_the_side(analysis: Analysis) -> side_view.Painted:
    """Axial stress of every cap as the scene colours it, for the spars from the side below it."""
    caps = surfaces(analysis.model)["caps"]
    main = fields.main_layer(analysis.model)
    stress = fields.cap_stress(analysis, caps) * say.stress.factor
    there = caps.layer == main
    most = _limit(
        float(np.abs(stress[there]).max()), fields.checked_cap_stress(analysis, main) * say.stress.factor
    )
    greatest = np.full(len(analysis.model.caps.span), np.nan)
    for element, value in zip(caps.element[there].tolist(), stress[there].tolist()):
        if not abs(greatest[element]) >= abs(value):
            greatest[element] = value
    return {"caps": greatest}, _diverging(most, "colours: greatest stress of each bay of a cap, worse side")


def _diverging(most: float, words: str) -> side_view.Look:
    """Brown through white to indigo, as the scene has them."""
    from matplotlib.colors import to_hex

    colours = stage.paint(stage.DIVERGING)

    def colour(value: float) -> str:
        return stage.UNCHECKED if np.isnan(value) else str(to_hex(colours(0.5 + 0.5 * value / most)))

    def ink(value: float) -> str:
        return stage.ON_BAND[0] if abs(value) > 0.6 * most else stage.ON_BAND[1]

    # All to the same place, that of the third digit of the greatest: more has no room in a short bay.
    places = max(0, 2 - int(np.floor(np.log10(most))))

    def figure(value: float) -> str:
        return "" if np.isnan(value) else f"{round(value, places) + 0.0:.{places}f}"

    return side_view.Look(colour, ink, figure, words)


def round_limit(value: float) -> float:
    """The least round number (one or two digits) that is not below a value; 1 for zero."""
    if value == 0:
        return 1.0
    power = 10.0 ** np.floor(np.log10(value) + 1e-9)
    steps = (1, 1.2, 1.6, 2, 2.4, 3, 4, 5, 6, 8, 10)
    return float(round(next(s for s in steps if s * power >= value * (1 - 1e-9)) * power, 12))


def round_limits(low: float, high: float) -> tuple[float, float]:
    """Limits of a scale that holds two values and zero, in four equal round steps with zero among them.

    A value beyond zero by less than a twentieth of the other is let go.
    """
    if low >= -0.05 * high:
        return 0.0, round_limit(high)
    if high <= -0.05 * low:
        return -round_limit(-low), 0.0
    step = round_limit((high - low) / 4)
    while np.floor(low / step) * step + 4 * step < high * (1 - 1e-9):
        step = round_limit(step * 1.01)
    first = float(np.floor(low / step))
    return round(first * step, 12), round((first + 4) * step, 12)
