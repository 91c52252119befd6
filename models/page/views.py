"""The wing in three dimensions for the page: what a browser turns with the mouse, and a still of the same.

The drawing library exports a scene as one HTML document that holds its own viewer. All views share one
viewer, so its document is kept once, with a mark where the data of a view go. The address of the viewer's
icon is taken out, and those in its comments lead nowhere: nothing in the page asks for anything outside. No
word of the wing file is in a scene.
"""

from __future__ import annotations

import base64
import re
from collections.abc import Iterable, Sequence
from contextlib import closing
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from fea.arrays import Array
from models import units_out as say
from models.analysis import Analysis
from models.pictures import fields, scenes, stage
from models.pictures.first import ShownReserves
from models.pictures.screen import NoRenderer, drawing_surface
from models.pictures.surfaces import Surface, surfaces

MARK = "%SCENE%"
"""Where in the viewer's document the data of a scene go."""
MOST_BYTES = 4_500_000
"""Of all scenes together, as text: with stills, viewer and figures the page stays below 8 MB."""
MISSING = (
    "the view that turns with the mouse needs trame-vtk; install it with: pip install trame-vtk. "
    "The page has still pictures instead."
)
_ICON = re.compile(r"https?://[^\s\"'`]*favicon[^\s\"'`]*")
_SCHEME = re.compile(r"https?://(?=[\w-]+\.)")
"""Before a real place; `http://any`, by which the viewer resolves names within its own data, is none."""
_DATA = re.compile(r'(const base64Str = ")([A-Za-z0-9+/=]*)(")')
_SIZE = (1400, 875)
_ANGLE, _ASPECT, _ROOM = 30.0, 2.0, 1.06
"""Of the view from top to bottom in degrees (the viewer knows no other), of the frame (wide over high), and
of the frame over the wing."""
_CLEAR = {"sheeting": 0.16, "ribs": 0.55, "cap strips": 0.4}
"""Opacity of what would hide the spars, where it is not grey."""


class StrangeViewer(RuntimeError):
    """The exported document is not as it is expected; the message says what the page has instead."""


@dataclass(frozen=True)
class Scale:
    """A legend: colours from low to high with the figures between them, or named bands.

    Parameters
    ----------
    title : str
        With its unit.
    colours : tuple of str
        Of the bands, or the corners of the ramp.
    words : tuple of str
        One a band; of a ramp, figures spread evenly from its low to its high end.
    banded : bool
        Bands rather than a ramp.
    """

    title: str
    colours: tuple[str, ...]
    words: tuple[str, ...]
    banded: bool


@dataclass(frozen=True)
class View:
    """One view of the wing.

    Parameters
    ----------
    key : str
        A word for the page's own use.
    name : str
        What it shows.
    words : str
        What is to be seen, for those who see no picture, and under it.
    scale : Scale
        Its legend.
    still : str
        PNG as a data address, "" where this machine draws none.
    night : str
        The same still on the page's paper in the dark.
    scene : str
        Data of the turning scene, "" where there are none.
    """

    key: str
    name: str
    words: str
    scale: Scale
    still: str
    night: str
    scene: str


@dataclass(frozen=True)
class Views:
    """All views and the viewer that they share.

    Parameters
    ----------
    views : tuple of View
        The first is shown first.
    viewer : str
        The viewer's document with `MARK` in it, "" where no scene turns.
    lacking : str
        What is missing and how to mend it, "" where nothing is.
    """

    views: tuple[View, ...]
    viewer: str
    lacking: str


@dataclass(frozen=True, eq=False)
class _Drawn:
    """A block of elements as it goes into a scene: points, faces, and one colour or a colour a point."""

    points: Array
    faces: NDArray[np.intp]
    colours: NDArray[np.uint8] | str
    opacity: float


def wing_views(analysis: Analysis, found: ShownReserves, *, most_bytes: int = MOST_BYTES) -> Views:
    """Draw the views of a solved wing.

    Parameters
    ----------
    analysis, found
        Solved, and its reserves.
    most_bytes : int
        Of all scenes together; those for which there is no room are left as stills.
    """
    makers = [_deflection, _cap_stress]
    if found.first is not None:
        makers.insert(0, _reserve)
    views: list[View] = []
    viewer, lacking, room = "", "", most_bytes
    for make in makers:
        view, drawn, still = make(analysis, found)
        picture, night, scene = "", "", ""
        try:
            picture = _still(still)
            with stage.at_night():
                night = _still(still)
            document = _exported(drawn)
            scene, document = _split(document)
        except (NoRenderer, StrangeViewer) as fault:
            lacking = str(fault)
        except ImportError:
            lacking = MISSING
        else:
            if len(scene) > room:
                lacking, scene = "This wing has too many parts for every view of it to turn.", ""
            else:
                viewer, room = document, room - len(scene)
        views.append(View(view.key, view.name, view.words, view.scale, picture, night, scene))
    return Views(tuple(views), viewer, lacking)


def _deflection(analysis: Analysis, found: ShownReserves) -> tuple[View, list[_Drawn], Any]:
    model = analysis.model
    moves = fields.displacements(analysis)
    parts = surfaces(model)
    moved = {name: s.moves(model.structure.nodes, moves) for name, s in parts.items()}
    every = np.concatenate(list(moved.values()))
    factor = scenes.drawn_factor(np.concatenate([s.points for s in parts.values()]), every)
    low, high = scenes.round_limits(
        say.length.factor * float(every[:, 2].min()), say.length.factor * float(every[:, 2].max())
    )
    drawn = []
    for name, surface in parts.items():
        drawn.append(_Drawn(surface.points, surface.shell, stage.GHOST, 0.12))
        colours = _ramp(scenes.VIRIDIS, (say.length.factor * moved[name][:, 2] - low) / ((high - low) or 1.0))
        opacity = _CLEAR.get(name, 1.0)
        faces = surface.quads if opacity == 1 else surface.shell
        drawn.append(_Drawn(surface.points + factor * moved[name], faces, colours, opacity))
    drawn_to = "to true scale" if factor == 1 else f"{factor:g} times true"
    figures = tuple(f"{value:g}" for value in np.linspace(low, high, 5).round(6))
    view = View(
        "deflection", "Deflection",
        f"{scenes.load_words(analysis)}: {scenes.tip_words(analysis)}. Deflection is drawn {drawn_to}; "
        "grey is the unbent wing.",
        Scale(f"Upward deflection, {say.length.unit}", scenes.VIRIDIS, figures, banded=False), "", "", "",
    )  # fmt: skip
    return view, _both(analysis, drawn), lambda: scenes.deflection(analysis, size=_SIZE)


def _reserve(analysis: Analysis, found: ShownReserves) -> tuple[View, list[_Drawn], Any]:
    parts = surfaces(analysis.model)
    table = _rgb((*stage.BAND_COLOURS, stage.UNCHECKED))
    own = None if found.first is None else scenes.own_surface(analysis, parts, found.first)
    drawn = []
    for name, surface in parts.items():
        if name in found.by_part and name in scenes.WITH_RESERVES:
            colours = table[fields.bands(found.by_part[name])][surface.element]
            drawn.append(_Drawn(surface.points, surface.quads, colours, 1.0))
        else:
            drawn.append(_ghost(name, surface))
    if own is not None and own[0] not in scenes.WITH_RESERVES and found.first is not None:
        band = int(fields.bands(np.array([found.first.reserve_factor]))[0])
        drawn.append(_Drawn(own[1].points, own[1].quads, stage.BAND_COLOURS[band], 1.0))
    words = (f"✗ {fields.BAND_WORDS[0]}", *fields.BAND_WORDS[1:], "not checked")
    view = View(
        "reserve", "Reserve factor",
        f"{found.sentence} Colour: least reserve factor of each part in each bay; pale grey: not part of "
        "this view.",
        Scale(
            "Reserve factor (allowable / applied)", (*stage.BAND_COLOURS, stage.UNCHECKED), words,
            banded=True,
        ),
        "", "", "",
    )  # fmt: skip
    still = lambda: scenes.reserve(analysis, found, size=_SIZE)  # noqa: E731
    return view, _both(analysis, drawn), still


def _cap_stress(analysis: Analysis, found: ShownReserves) -> tuple[View, list[_Drawn], Any]:
    parts = surfaces(analysis.model)
    caps = parts["caps"]
    stress = fields.cap_stress(analysis, caps) * say.stress.factor
    main = caps.layer == fields.main_layer(analysis.model)
    checked = fields.checked_cap_stress(analysis, fields.main_layer(analysis.model)) * say.stress.factor
    most = scenes.round_limit(min(float(np.abs(stress[main]).max()), checked))
    drawn = [_ghost(name, surface) for name, surface in parts.items() if name != "caps"]
    sticks = caps.only(main)
    colours = _ramp(stage.DIVERGING, (stress[main] + most) / (2 * most))
    drawn.append(_Drawn(sticks.points, sticks.quads, colours, 1.0))
    if not main.all():
        facings = caps.only(~main)
        drawn.append(_Drawn(facings.points, facings.quads, stage.FAINT, 1.0))
    ranges = fields.range_by_material(analysis.model, caps, stress)
    said = ", ".join(
        f"{name} {low:.3g} to {high:.3g} {say.stress.unit}" for name, (low, high) in ranges.items()
    )
    figures = [f"{value:g}" for value in np.linspace(-most, most, 5).round(9)]
    figures[0], figures[-1] = f"{figures[0]} compression", f"{figures[-1]} tension"
    view = View(
        "cap-stress", "Stress in the caps",
        f"{scenes.load_words(analysis)}; stress along the caps, bending included: {said}.",
        Scale(f"Axial stress, {say.stress.unit}", stage.DIVERGING, tuple(figures), banded=False), "", "", "",
    )  # fmt: skip
    return view, _both(analysis, drawn), lambda: scenes.cap_stress(analysis, size=_SIZE)


def _ghost(name: str, surface: Surface) -> _Drawn:
    return _Drawn(surface.points, surface.shell, stage.GHOST, min(0.3, scenes.CLEAR.get(name, 1.0)))


def _both(analysis: Analysis, drawn: Iterable[_Drawn]) -> list[_Drawn]:
    """Both sides of a wing of which half is modelled."""
    if not analysis.model.half:
        return list(drawn)
    out = []
    for one in drawn:
        n = len(one.points)
        colours = one.colours if isinstance(one.colours, str) else np.concatenate([one.colours, one.colours])
        points = np.concatenate([one.points, one.points * [1.0, -1.0, 1.0]])
        # Mirrored faces run the other way round, so that they still look outward.
        out.append(_Drawn(points, np.concatenate([one.faces, one.faces[:, ::-1] + n]), colours, one.opacity))
    return out


def _ramp(corners: Iterable[str], at: Array) -> NDArray[np.uint8]:
    """Colours between evenly spaced corners at fractions from 0 to 1, (n, 3)."""
    table = _rgb(corners).astype(float)
    place = np.linspace(0.0, 1.0, len(table))
    return np.stack([np.interp(at, place, column) for column in table.T], axis=1).round().astype(np.uint8)


def _rgb(colours: Iterable[str]) -> NDArray[np.uint8]:
    return np.array([[int(c[k : k + 2], 16) for k in (1, 3, 5)] for c in colours], dtype=np.uint8)


def _still(make: Any) -> str:
    """The PNG of a scene as a data address."""
    with closing(make()) as plotter:
        pixels = plotter.screenshot(None, return_img=True)
    return "data:image/png;base64," + base64.b64encode(_few_colours(pixels)).decode("ascii")


def _few_colours(pixels: NDArray[np.uint8]) -> bytes:
    """A picture, (height, width, 3), as a PNG of 256 colours: a third of the size, and no eye tells them
    apart."""
    import io

    from PIL import Image

    held = io.BytesIO()
    Image.fromarray(pixels).quantize(256, dither=Image.Dither.NONE).save(held, "PNG", optimize=True)
    return held.getvalue()


def _exported(drawn: Sequence[_Drawn]) -> str:
    """The viewer's document with one scene in it."""
    with drawing_surface(off_screen=True):
        import pyvista as pv

        plotter: Any = pv.Plotter(off_screen=True, window_size=[320, 200], lighting="light kit")
    with closing(plotter):
        plotter.set_background("white")
        for one in drawn:
            mesh = stage.polygons(one.points.astype(np.float32), one.faces)
            if isinstance(one.colours, str):
                style: dict[str, Any] = {"color": one.colours}
            else:
                mesh.point_data["colour"] = one.colours
                style = {"scalars": "colour", "rgb": True, "show_scalar_bar": False}
            plotter.add_mesh(mesh, opacity=one.opacity, specular=0.0, **scenes.LIT, **style)
        _look(plotter, np.concatenate([one.points for one in drawn]))
        plotter.show(auto_close=False)
        return _document(plotter.render_window)


def _document(window: Any) -> str:
    """The viewer's document with what a window shows.

    The exporter's own command starts a server and patches the event loop for what is, in the end, these few
    calls of its parts.
    """
    import io
    import json
    import zipfile

    from trame_vtk.modules.vtk import serializers
    from trame_vtk.tools.vtksz2html import write_html

    serializers.initialize_serializers()
    context = serializers.SynchronizationContext()
    context.set_ignore_last_dependencies(True)
    name = serializers.reference_id(window)
    camera = window.GetRenderers().GetFirstRenderer().GetActiveCamera()
    scene = serializers.serialize(None, window, name, context, 1)
    scene["extra"] = {
        "vtkRefId": name,
        "centerOfRotation": camera.GetFocalPoint(),
        "camera": serializers.reference_id(camera),
    }
    arrays = {
        one["hash"]: {**one, "content": context.get_cached_data_array(one["hash"], False)}
        for one in serializers.extract_array_hash(scene)
    }
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED, compresslevel=9) as file:
        file.writestr("index.json", json.dumps({"hashes": arrays, "scene": scene}))
    page = io.StringIO()
    write_html(held.getvalue(), page)
    return page.getvalue()


def _look(plotter: Any, points: Array) -> None:
    """From ahead, above and starboard, so near that the points fill a frame of `_ASPECT`."""
    right, up, back = stage.from_ahead()
    half = np.tan(np.radians(_ANGLE / 2))
    middle = (points.min(axis=0) + points.max(axis=0)) / 2
    distance = 2 * float(np.linalg.norm(np.ptp(points, axis=0)))
    for _ in range(12):  # nearer parts look larger, so that middle and distance hang on each other
        seen = points - middle
        depth = distance - seen @ back
        across, high = seen @ right / depth, seen @ up / depth
        middle = middle + distance * (
            (across.min() + across.max()) / 2 * right + (high.min() + high.max()) / 2 * up
        )
        distance *= _ROOM * max(np.ptp(across) / (2 * _ASPECT * half), np.ptp(high) / (2 * half))
    camera = plotter.camera
    camera.view_angle = _ANGLE
    camera.focal_point = tuple(middle)
    camera.position = tuple(middle + distance * back)
    camera.up = tuple(up)
    plotter.reset_camera_clipping_range()


def _split(document: str) -> tuple[str, str]:
    """The data of a scene, and the viewer's document without them and without any address.

    Raises
    ------
    StrangeViewer
        The exporter writes its document in another way than this program knows.
    """
    found = _DATA.search(document)
    if found is None:
        raise StrangeViewer(
            "the trame-vtk that is installed writes its view in a way that this program does not know. The "
            "page has still pictures instead."
        )
    scene = found.group(2)
    viewer = document[: found.start(2)] + MARK + document[found.end(2) :]
    return scene, _SCHEME.sub("", _ICON.sub("data:,", viewer))
