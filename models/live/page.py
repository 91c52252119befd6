"""The server of the page, on this computer alone, and what it answers.

What the browser draws comes as one frame an answer: length and text of a JSON document, then the movements of
all drawn points as float32. Files of the page are a fixed handful, kept in memory: no address names a path.
"""

from __future__ import annotations

import asyncio
import json
import secrets
import socket
import struct
import sys
import threading
from collections.abc import Callable, Iterable
from dataclasses import asdict
from importlib.resources import files
from typing import TYPE_CHECKING, Any

import numpy as np

from fea.elements.faults import DegenerateElement
from fea.solve import Mechanism
from models import units_out as say
from models.analysis import Analysis
from models.cautions import CAUTIONS
from models.command.faults import InputFault, light_aeroplane, mechanism
from models.live.cells import BadState, LiveState, own_state, read_state
from models.live.engine import LiveEngine, largest_difference
from models.live.guard import Guard
from models.live.opened import NotWritten
from models.live.plan import WIDTH, plan
from models.live.saving import Desk, Refused
from models.live.solid import Solid, solid
from models.live.words import NO_ROOM, refused, state_word, told
from models.loads.pull_up import LightAeroplane
from models.wing.faults import WingFileError
from models.wing.intake import shown_all
from models.woods.wood import names

if TYPE_CHECKING:
    from starlette.requests import Request
    from starlette.responses import Response

    from models.live.aside import Aside

_KINDS = {
    "live.css": "text/css",
    "live.js": "text/javascript",
    "solid.js": "text/javascript",
    "icon.svg": "image/svg+xml",
}
_THICKNESSES = (
    "0.8 mm", "1 mm", "1.5 mm", "2 mm", "2.5 mm", "3 mm", "1/32 in", "1/16 in", "3/32 in", "1/8 in",
)  # fmt: skip
_GRAINS = ("upright", "span", "45 deg")
_SLICE = 5e-4
"""Seconds that one thread of Python may hold the others up."""
_MOST = 100.0
"""Load factor up to which may be asked."""
SENT_WITHIN = 10.0
"""Seconds in which a question must have come."""
ANSWERED_WITHIN = 700.0
"""Seconds that an answer may take, a report the longest of them."""

Notes = Callable[[Analysis], list[str]]


class WingPage:
    """The page of one wing.

    Parameters
    ----------
    desk : Desk
        The opened file and the working folder.
    notes : callable
        Sentences that `check` adds to the first two.
    per_bay : int
        Elements along a bay.
    aside : Aside or None
        A second process that has been started for it.
    """

    def __init__(self, desk: Desk, *, notes: Notes, per_bay: int = 4, aside: Aside | None = None) -> None:
        self.desk, self.notes, self.per_bay = desk, notes, per_bay
        self.opened = desk.opened
        self.engine = LiveEngine(self.opened, per_bay=per_bay, aside=aside)
        self.solid: Solid = solid(self.engine.with_every_web(), per_bay)
        self._files = threading.Lock()

    def own_state(self) -> LiveState:
        """The file's own layout."""
        return own_state(self.opened.cells)

    # ---- what the page asks ---------------------------------------------------------------------------

    def described(self) -> dict[str, Any]:
        """The wing for the page: cells, choices, how webs are made, what may be chosen."""
        wing, cells = self.opened.wing, self.opened.cells
        makes = [make for cell in cells for make in cell.makes.values()]
        return {
            "name": wing.name,
            "file": self.desk.path.name,
            "hash": self.desk.hash,
            "shipped": self.desk.is_shipped,
            "flying": wing.flies,
            "length": [say.length.unit, say.length.factor / 1e3],
            "mass": [say.mass.unit, say.mass.factor],
            "case": {"load_factor": self.engine.case, "name": wing.case.name},
            "both_sides": any(len(cell.sides) == 2 for cell in cells),
            "why_whole": self.engine.why_whole,
            "sheeted": bool(wing.sheets) and wing.flies,
            "cells": [
                {
                    "spar": cell.spar,
                    "bay": cell.bay,
                    "side": cell.sides[0] if len(cell.sides) == 1 and wing.flies else "",
                    "choices": [{"word": state_word(faces), "faces": list(faces)} for faces in cell.choices],
                    "own": cell.own,
                    "makes": {
                        face: {"thickness": make.thickness, "wood": make.wood, "grain": make.grain}
                        for face, make in cell.makes.items()
                    },
                }
                for cell in cells
            ],
            "woods": _once((make.wood for make in makes), self._own_woods(), names()),
            "thicknesses": _once((make.thickness for make in makes), _THICKNESSES),
            "grains": _once((make.grain for make in makes), _GRAINS),
        }

    def _own_woods(self) -> list[str]:
        import tomllib

        return list(shown_all(tomllib.loads(self.opened.text)).get("woods", {}))

    def asked(self, data: Any) -> tuple[LiveState, float]:
        """State and load factor of a question.

        Raises
        ------
        BadState
            They do not fit the wing.
        """
        if not isinstance(data, dict):
            raise BadState("a question is an object with cells and a load factor.")
        state = read_state(self.opened.cells, data.get("cells"))
        n = data.get("load_factor", self.engine.case)
        number = isinstance(n, int | float) and not isinstance(n, bool)
        if not number or not 0 < n <= _MOST * max(1.0, self.engine.case):
            raise BadState(f"{n!r} is not a load factor above 0.")
        return state, float(n)

    def answer(self, data: Any) -> bytes:
        """The answer of a state as a frame."""
        state, n = self.asked(data)
        found = self.engine.answer(state, n)
        said = told(self.opened.wing, self.opened.cells, state, found, self.solid)
        moved = self.solid.moved(found)
        return frame(said, None if moved is None else 1e3 * moved)

    def proof(self, data: Any) -> dict[str, Any]:
        """The same by the whole solve of the file as it would be saved, and what `check` says besides."""
        state, n = self.asked(data)
        found, notes, residual = self.engine.proof(state, n, self.notes)
        difference = largest_difference(self.engine.answer(state, n), found)
        return {
            "sentence": found.sentence,
            "notes": notes,
            "largest_difference": difference if np.isfinite(difference) else None,
            "residual": residual,
            "seconds": found.seconds,
        }

    def file(self, what: str, data: Any) -> dict[str, Any]:
        """Save, save as, report, drawings or mend."""
        state, _ = self.asked(data)
        better: LiveState | None = None
        with self._files:
            if what == "mend":
                words, better = self.desk.mended(state, data.get("name"))
            elif what == "save":
                words = self.desk.save(state, (data.get("file"), data.get("hash")))
            else:
                desk = self.desk
                make = {"save-as": desk.save_as, "report": desk.report, "drawings": desk.drawings}[what]
                words = make(state, data.get("name"))
        return {
            "words": words,
            "file": self.desk.path.name,
            "hash": self.desk.hash,
            "shipped": self.desk.is_shipped,
            "cells": None if better is None else _sent(better),
        }

    def progress(self) -> dict[str, Any]:
        """How far the work ahead is, and the file on the disk."""
        (left, wanted), (first, of) = self.engine.left_to_do(), self.engine.first_left()
        return {
            "left": left, "wanted": wanted, "first_left": first, "first_wanted": of,
            "disk": self.desk.on_disk(),
        }  # fmt: skip

    def html(self) -> str:
        """The page."""
        from jinja2 import Environment, PackageLoader, StrictUndefined, select_autoescape

        environment = Environment(
            loader=PackageLoader("models.live"),
            autoescape=select_autoescape(enabled_extensions=("html.j2",), default=True),
            undefined=StrictUndefined,
            trim_blocks=True,
            lstrip_blocks=True,
        )
        wing = self.opened.wing
        return environment.get_template("page.html.j2").render(
            wing=wing,
            described=self.described(),
            cautions=CAUTIONS,
            plan=plan(wing, self.opened.cells),
            width=WIDTH,
            cells=self.opened.cells,
            mirrored=self.solid.mirrored,
            folder=self.desk.folder,
            length=say.length.unit,
            mass=say.mass.unit,
        )


def _once(*lists: Iterable[str]) -> list[str]:
    """Words of all lists in their order, each once."""
    return list(dict.fromkeys(word for words in lists for word in words))


def _sent(state: LiveState) -> list[dict[str, Any]]:
    """A state as the page sends it, what is not changed left out."""
    return [
        {"choice": choice, **{key: value for key, value in asdict(change).items() if value}}
        for choice, change in zip(state.choices, state.changes)
    ]


def frame(said: dict[str, Any], moved: Any) -> bytes:
    """Length and text of a JSON document, blanks up to a multiple of four bytes, then float32 numbers."""
    text = json.dumps(said, allow_nan=False, separators=(",", ":")).encode("utf-8")
    text += b" " * (-len(text) % 4)
    tail = b"" if moved is None else np.ascontiguousarray(moved, dtype="<f4").tobytes()
    return struct.pack("<I", len(text)) + text + tail


def application(bench: WingPage, *, port: int, token: str, stop: Callable[[], None]) -> Guard:
    """The guarded application of a page.

    Parameters
    ----------
    bench, port, token, stop
        The port on which it will be asked, the secret in its address, and what ends the server.
    """
    from starlette.applications import Starlette
    from starlette.responses import HTMLResponse, JSONResponse, Response
    from starlette.routing import Route

    static = {name: (files("models.live") / "templates" / name).read_bytes() for name in _KINDS}

    def kept(name: str) -> Callable[[Request], Response]:
        return lambda request: Response(static[name], media_type=_KINDS[name])

    def filed(what: str) -> Callable[[Any], Any]:
        return lambda data: bench.file(what, data)

    def ended(data: Any) -> dict[str, str]:
        stop()
        return {"words": "The program has ended; this page can be closed."}

    def failed(request: Request, error: Exception) -> Response:
        words = f"a fault of ours, not of your file: {type(error).__name__}: {error}"
        return JSONResponse({"fault": words}, 500)

    asked: dict[str, Callable[[Any], Any]] = {"answer": bench.answer, "proof": bench.proof, "stop": ended}
    asked |= {what: filed(what) for what in ("save", "save-as", "report", "drawings", "mend")}
    routes = [
        Route("/", lambda request: HTMLResponse(bench.html())),
        Route("/wing", lambda request: JSONResponse(bench.described())),
        Route("/shape", lambda request: JSONResponse(bench.solid.described())),
        Route("/progress", lambda request: JSONResponse(bench.progress())),
        *(Route(f"/{name}", kept(name)) for name in _KINDS),
        *(Route(f"/{what}", _asking(bench, work), methods=["POST"]) for what, work in asked.items()),
    ]
    app = Starlette(routes=routes, exception_handlers={Exception: failed})
    return Guard(app, port=port, token=token)


def _asking(bench: WingPage, work: Callable[[Any], Any]) -> Callable[[Request], Any]:
    """What answers a question of the page, in a thread of its own, with what works on its data."""
    from starlette.responses import JSONResponse, Response

    def refusal(words: str, status: int) -> Response:
        return JSONResponse({"fault": words}, status)

    async def answered(request: Request) -> Response:
        try:
            body = await asyncio.wait_for(request.body(), SENT_WITHIN)
        except TimeoutError:
            return refusal(f"was not sent within {SENT_WITHIN:.0f} s.", 408)
        try:
            data = json.loads(body)
        except (ValueError, RecursionError):
            return refusal("that is no JSON.", 400)
        try:
            found = await asyncio.wait_for(asyncio.to_thread(work, data), ANSWERED_WITHIN)
        except TimeoutError:
            return refusal(f"took longer than {ANSWERED_WITHIN:.0f} s and is not waited for.", 503)
        except asyncio.CancelledError:
            return refusal("the program is ending.", 503)
        except Exception as fault:
            words = _fault_of_theirs(fault, bench)
            if words is None:
                raise
            return refusal(words, 422)
        if isinstance(found, bytes):
            return Response(found, media_type="application/octet-stream")
        return JSONResponse(found)

    return answered


def _fault_of_theirs(fault: Exception, bench: WingPage) -> str | None:
    """What is said of a fault of the file or of the question; None for one of ours."""
    match fault:
        case WingFileError():
            return refused(fault, bench.opened.wing)
        case BadState() | Refused() | NotWritten() | InputFault():
            return str(fault)
        case DegenerateElement():
            return NO_ROOM
        case LightAeroplane():
            return str(light_aeroplane(bench.desk.source, fault))
        case Mechanism():
            return str(mechanism(bench.desk.source, fault))
    return None


class Server:
    """A page served on a free port of the loopback address."""

    def __init__(self, bench: WingPage) -> None:
        import uvicorn

        self.bench = bench
        self.socket = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
        self.socket.bind(("127.0.0.1", 0))
        # A browser that comes before the server runs waits for it, and is not refused.
        self.socket.listen(128)
        self.port = int(self.socket.getsockname()[1])
        self.token = secrets.token_urlsafe(32)
        app = application(bench, port=self.port, token=self.token, stop=self.stop)
        self._server = uvicorn.Server(
            uvicorn.Config(
                app, log_level="error", access_log=False, server_header=False, lifespan="off", ws="none",
                timeout_graceful_shutdown=2,
            )
        )  # fmt: skip
        closing = self._server.shutdown

        async def shutdown(sockets: list[socket.socket] | None = None) -> None:
            # What the second process is asked for would else be waited for.
            bench.engine.stop()
            await closing(sockets)

        self._server.shutdown = shutdown  # type: ignore[method-assign]

    @property
    def address(self) -> str:
        """With the token; who knows it may use the page."""
        return f"http://127.0.0.1:{self.port}/?token={self.token}"

    def run(self) -> None:
        """Serve until `stop`, or until the terminal interrupts."""
        # A question must not wait for whole time slices of the work ahead.
        interval = sys.getswitchinterval()
        sys.setswitchinterval(_SLICE)
        self.bench.engine.work_ahead()
        self.bench.engine.begin_first()
        try:
            self._server.run(sockets=[self.socket])
        finally:
            sys.setswitchinterval(interval)
            self.bench.engine.stop()
            self.socket.close()

    def stop(self) -> None:
        """End the server after what it is answering."""
        self._server.should_exit = True
