"""Wings, and an application asked without any network."""

from __future__ import annotations

import asyncio
import json
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest

from models.live.page import WingPage, application
from models.live.saving import Desk

PORT = 50505
TOKEN = "a-token-for-tests-only"
HOST = f"127.0.0.1:{PORT}"

PLAIN = Path(__file__).with_name("remarked.toml").read_text(encoding="utf-8")


@dataclass
class Reply:
    """What came back of a request."""

    status: int = 0
    headers: dict[str, list[str]] = field(default_factory=dict)
    body: bytes = b""

    @property
    def document(self) -> Any:
        """The body as JSON."""
        return json.loads(self.body)


def _asked(
    app: Any,
    path: str,
    *,
    method: str = "GET",
    query: str = "",
    headers: Iterable[tuple[str, str]] = (),
    body: bytes | None = b"",
    kind: str = "http",
) -> Reply:
    """One request to an application, with just these headers; a body None never comes."""
    reply = Reply()
    sent = [{"type": "http.request", "body": body, "more_body": False}, {"type": "http.disconnect"}]

    async def receive() -> dict[str, Any]:
        if body is None:
            await asyncio.sleep(60)
        return {"type": "websocket.connect"} if kind == "websocket" else sent.pop(0)

    async def send(message: Any) -> None:
        if message["type"] == "http.response.start":
            reply.status = message["status"]
            for key, value in message["headers"]:
                reply.headers.setdefault(key.decode().lower(), []).append(value.decode())
        elif message["type"] == "http.response.body":
            reply.body += message.get("body", b"")
        elif message["type"] == "websocket.close":
            reply.status = message["code"]

    scope = {
        "type": kind,
        "asgi": {"version": "3.0"},
        "http_version": "1.1",
        "method": method,
        "path": path,
        "raw_path": path.encode(),
        "root_path": "",
        "scheme": "http",
        "query_string": query.encode(),
        "headers": [(k.lower().encode("latin-1"), v.encode("latin-1")) for k, v in headers],
        "client": ("127.0.0.1", 40000),
        "server": ("127.0.0.1", PORT),
    }
    asyncio.run(app(scope, receive, send))
    return reply


def good_headers(body: bytes | None = None) -> dict[str, str]:
    """Headers as the page's own browser sends them; with a body, those of a POST."""
    found = {"host": HOST, "cookie": f"sparbay-{PORT}={TOKEN}"}
    if body is not None:
        found |= {
            "origin": f"http://{HOST}",
            "content-type": "application/json",
            "content-length": str(len(body)),
        }
    return found


@dataclass
class Asking:
    """A page that is asked."""

    bench: WingPage
    app: Any
    stopped: list[bool]

    def get(self, path: str) -> Reply:
        """GET with the right headers."""
        return _asked(self.app, path, headers=good_headers().items())

    def post(self, path: str, data: Any) -> Reply:
        """POST with the right headers."""
        return self.send(path, json.dumps(data).encode())

    def send(self, path: str, body: bytes | None) -> Reply:
        """POST of whatever; None never comes."""
        return _asked(self.app, path, method="POST", headers=good_headers(body or b"").items(), body=body)

    def question(self, load_factor: float | None = None, **choices: int) -> dict[str, Any]:
        """The file's own state with the choices of some cells, `c3=0` say."""
        cells: list[dict[str, Any]] = [{"choice": cell.own} for cell in self.bench.opened.cells]
        for key, choice in choices.items():
            cells[int(key[1:])]["choice"] = choice
        return {"cells": cells} | ({} if load_factor is None else {"load_factor": load_factor})


@pytest.fixture
def page_of(tmp_path: Path) -> Callable[..., Asking]:
    """A page of a text in a folder of its own."""

    def make(text: str = PLAIN, name: str = "wing.toml") -> Asking:
        path = tmp_path / name
        path.write_text(text, encoding="utf-8")
        bench = WingPage(Desk(path, tmp_path, name), notes=lambda analysis: ["a remark"], per_bay=2)
        stopped: list[bool] = []
        app = application(bench, port=PORT, token=TOKEN, stop=lambda: stopped.append(True))
        return Asking(bench, app, stopped)

    return make


@pytest.fixture
def asked() -> Callable[..., Reply]:
    """One request to an application: application, path, and what `_asked` takes."""
    return _asked
