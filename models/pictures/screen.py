"""Which drawing surface a machine without a screen offers, found out before it can crash the program.

With neither a screen nor a software renderer the drawing library takes the whole process down. So a small
process of its own tries first, once, while this one is still importing.
"""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from functools import lru_cache

from models import system

_CHOICE = "VTK_DEFAULT_OPENGL_WINDOW"
"""The drawing library's own variable for the kind of window."""
_KINDS = ("vtkEGLRenderWindow", "vtkOSOpenGLRenderWindow")
"""Windows that need no screen: a surface of the graphics driver, and one in plain memory."""
_TRY = (
    "from vtkmodules.vtkRenderingCore import vtkRenderWindow\n"
    "import vtkmodules.vtkRenderingOpenGL2\n"
    "window = vtkRenderWindow()\n"
    "window.SetOffScreenRendering(1)\n"
    "window.SetSize(8, 8)\n"
    "window.Render()\n"
    "raise SystemExit(0 if window.SupportsOpenGL() else 1)\n"
)


class NoRenderer(RuntimeError):
    """This machine can draw no pictures; the message says what is missing."""


@contextmanager
def drawing_surface(*, off_screen: bool) -> Iterator[None]:
    """Let a window be made, `off_screen` for a file, on the surface that this machine has, and nothing be
    said about those it has not.

    Raises
    ------
    NoRenderer
        Nothing here can draw, or a window was asked for where there is no screen.
    """
    if not os.access(os.path.expanduser("~"), os.W_OK):
        # The driver keeps its shaders at home and complains where it cannot (Mesa's manual, from memory).
        os.environ.setdefault("MESA_SHADER_CACHE_DISABLE", "true")
    kind = _kind(off_screen=off_screen)
    with system.unbroken():
        import pyvista.plotting  # noqa: F401
        import vtkmodules.vtkCommonCore as core

    before = core.vtkLogger.GetCurrentVerbosityCutoff(), os.environ.get(_CHOICE)
    core.vtkLogger.SetStderrVerbosity(core.vtkLogger.VERBOSITY_OFF)
    if kind:
        os.environ[_CHOICE] = kind
    try:
        yield
    finally:
        core.vtkLogger.SetStderrVerbosity(before[0])
        if before[1] is None:
            os.environ.pop(_CHOICE, None)
        else:
            os.environ[_CHOICE] = before[1]


def _kind(*, off_screen: bool) -> str:
    """Name of the window to make, "" for the library's own choice."""
    if not sys.platform.startswith("linux") or _CHOICE in os.environ:
        return ""
    screen = bool(os.environ.get("DISPLAY"))
    if not off_screen:
        if not screen:
            raise NoRenderer("no screen to open a window on (DISPLAY is not set); draw into a file instead")
        return ""
    kind = _without_screen()
    if not kind and not screen:
        raise NoRenderer(
            "pictures need a graphics driver that works without a screen; "
            "on Debian or Ubuntu install libegl1 and libgl1-mesa-dri, or libosmesa6"
        )
    return kind


@lru_cache(maxsize=1)
def _without_screen() -> str:
    """The first kind of window that works without a screen, "" for none."""
    for kind in _KINDS:
        trial = subprocess.Popen(
            [sys.executable, "-c", _TRY],
            env={**os.environ, _CHOICE: kind},
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        import pyvista  # noqa: F401  # takes as long as the trial, so both go on at once

        if trial.wait() == 0:
            return kind
    return ""
