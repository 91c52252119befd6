"""Who may ask: only the browser that was given the token, on this computer, for this page.

Four doors, each tested on its own: the `Host` must be this server's own loopback address (a name that a
stranger's page points at 127.0.0.1 is refused); a request that changes anything must come from this page
(`Origin`) and be JSON; the token must be right, compared in constant time; and what is sent must be small.
Answers forbid the browser to load anything from elsewhere or to be shown inside another page.

Sources: Fetch and Content Security Policy Level 3 (W3C), RFC 6265bis for cookies (from memory).
"""

from __future__ import annotations

import hmac
from collections.abc import Awaitable, Callable, MutableMapping
from typing import Any
from urllib.parse import parse_qs

Scope = MutableMapping[str, Any]
Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

LARGEST = 256 * 1024
"""Bytes of a request; a state of the largest wing is a tenth of it."""
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; "
    "base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)
HEADERS = (
    (b"content-security-policy", POLICY.encode()),
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"no-referrer"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"cache-control", b"no-store"),
)


_ONWARD = (
    '<!doctype html><html lang="en"><meta charset="utf-8"><meta http-equiv="refresh" content="0; url=/">'
    '<title>sparbay live</title><link rel="icon" href="/icon.svg"><p><a href="/">To the page</a></p></html>'
)


class Guard:
    """Stands before an application and refuses strangers.

    Parameters
    ----------
    app : ASGI application
        What is guarded.
    port : int
        Of the server.
    token : str
        The secret.
    """

    def __init__(self, app: App, *, port: int, token: str) -> None:
        self.app, self.token = app, token
        self.hosts = {f"127.0.0.1:{port}", f"localhost:{port}"}
        self.cookie = f"sparbay-{port}"

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] not in ("http", "websocket"):
            return
        headers: dict[str, list[str]] = {}
        for key, value in scope["headers"]:
            headers.setdefault(key.decode("latin-1").lower(), []).append(value.decode("latin-1"))
        if scope["type"] == "websocket":  # the page uses none
            await receive()
            await send({"type": "websocket.close", "code": 1008})
            return
        hosts = headers.get("host", [])
        if len(hosts) != 1 or hosts[0] not in self.hosts:
            await _say(send, 403, "this address is not the page's own")
            return
        method = scope["method"]
        if method not in ("GET", "HEAD", "POST"):
            await _say(send, 405, "not that way")
            return
        given = parse_qs(scope["query_string"].decode("latin-1")).get("token", [])
        by_address = len(given) == 1 and self._right(given[0])
        if not (by_address or self._right(self._kept(headers))):
            await _say(send, 403, "open the page by the address that the program printed")
            return
        if method == "POST":
            origins = headers.get("origin", [])
            if len(origins) != 1 or origins[0] != f"http://{hosts[0]}":
                await _say(send, 403, "only the page itself may ask for that")
                return
            if headers.get("content-type", [""])[0].split(";")[0].strip() != "application/json":
                await _say(send, 415, "send JSON")
                return
            if not self._small(headers):
                await _say(send, 413, f"more than {LARGEST} bytes, or of unknown length")
                return
        if by_address and method == "GET":
            # Out of the address bar and the history, into a cookie that no script reads. Not by a redirect: a
            # browser that came here by a link of another site would leave a strict cookie out of that.
            cookie = f"{self.cookie}={self.token}; Path=/; HttpOnly; SameSite=Strict"
            html = (b"content-type", b"text/html; charset=utf-8")
            await _say(send, 200, _ONWARD, [html, (b"set-cookie", cookie.encode())])
            return

        async def with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                own = {key for key, _ in HEADERS}
                kept = [(k, v) for k, v in message.get("headers", ()) if k.lower() not in own]
                message = {**message, "headers": [*kept, *HEADERS]}
            await send(message)

        await self.app(scope, receive, with_headers)

    def _right(self, given: str) -> bool:
        return hmac.compare_digest(given.encode("utf-8", "surrogateescape"), self.token.encode())

    def _kept(self, headers: dict[str, list[str]]) -> str:
        # Cookies of other servers on this computer come too, whatever is in them.
        pairs = [
            pair.strip().partition("=") for line in headers.get("cookie", []) for pair in line.split(";")
        ]
        mine = [value for name, _, value in pairs if name == self.cookie]
        return mine[0] if len(mine) == 1 else ""

    @staticmethod
    def _small(headers: dict[str, list[str]]) -> bool:
        length = headers.get("content-length", [])
        return len(length) == 1 and length[0].isdecimal() and int(length[0]) <= LARGEST


async def _say(send: Send, status: int, words: str, headers: list[tuple[bytes, bytes]] | None = None) -> None:
    body = words.encode()
    await send({
        "type": "http.response.start",
        "status": status,
        "headers": [
            (b"content-length", str(len(body)).encode()),
            *HEADERS,
            *(headers or [(b"content-type", b"text/plain; charset=utf-8")]),
        ],
    })  # fmt: skip
    await send({"type": "http.response.body", "body": body})
