"""Strangers are refused: each door by itself, everything else right."""

from __future__ import annotations

import hmac
import json

import pytest

from models.live import guard
from models.live.guard import Guard

PORT = 50505
TOKEN = "a-token-for-tests-only"
HOST = f"127.0.0.1:{PORT}"

BODY = b'{"a": 1}'


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


class Inside:
    """An application that tells whether it was reached."""

    def __init__(self) -> None:
        self.reached = 0

    async def __call__(self, scope, receive, send):
        self.reached += 1
        await send(
            {"type": "http.response.start", "status": 200, "headers": [(b"content-security-policy", b"none")]}
        )
        await send({"type": "http.response.body", "body": b"in"})


@pytest.fixture
def inside() -> Inside:
    return Inside()


@pytest.fixture
def app(inside) -> Guard:
    return Guard(inside, port=PORT, token=TOKEN)


def changed(headers: dict[str, str], **changes: str | None) -> list[tuple[str, str]]:
    headers = headers | {key.replace("_", "-"): value for key, value in changes.items()}
    return [(key, value) for key, value in headers.items() if value is not None]


def test_the_pages_own_browser_is_let_in(asked, app, inside):
    assert asked(app, "/", headers=changed(good_headers())).status == 200
    assert asked(app, "/", headers=changed(good_headers(), host=f"localhost:{PORT}")).status == 200
    assert asked(app, "/x", method="POST", headers=changed(good_headers(BODY)), body=BODY).status == 200
    assert inside.reached == 3


@pytest.mark.parametrize(
    "cookie",
    [
        None, "", f"sparbay-{PORT}=", f"sparbay-{PORT}={TOKEN[:-1]}", f"sparbay-{PORT}={TOKEN}x",
        f"sparbay-{PORT + 1}={TOKEN}", f"sparbay={TOKEN}", f"sparbay-{PORT}=wrong; sparbay-{PORT}={TOKEN}",
        f"sparbay-{PORT}=\xe9",
    ],
    ids=repr,
)  # fmt: skip
@pytest.mark.parametrize("method", ["GET", "HEAD", "POST"])
def test_without_the_right_token_nobody_comes_in(asked, app, inside, cookie, method):
    headers = changed(good_headers(BODY if method == "POST" else None), cookie=cookie)
    reply = asked(app, "/answer", method=method, headers=headers, body=BODY)
    assert (reply.status, inside.reached) == (403, 0)


def test_cookies_of_other_servers_do_no_harm(asked, app):
    cookie = f'a="b; c; ={{}}; sparbay-{PORT}={TOKEN}; d=,'
    assert asked(app, "/", headers=changed(good_headers(), cookie=cookie)).status == 200


def test_tokens_are_compared_in_constant_time(asked, app, monkeypatch):
    seen, compare = [], hmac.compare_digest

    def watched(a, b):
        seen.append((a, b))
        return compare(a, b)

    monkeypatch.setattr(guard.hmac, "compare_digest", watched)
    asked(app, "/", headers=changed(good_headers()))
    assert (TOKEN.encode(), TOKEN.encode()) in seen


@pytest.mark.parametrize(
    "host",
    [None, "", "example.org", f"example.org:{PORT}", "127.0.0.1", f"127.0.0.1:{PORT + 1}", f"[::1]:{PORT}",
     f"0.0.0.0:{PORT}",
     f"{HOST}.example.org", f"localhost:{PORT}@example.org"],
    ids=repr,
)  # fmt: skip
def test_a_name_pointed_at_this_computer_is_refused(asked, app, inside, host):
    for path, query in (("/", ""), ("/", f"token={TOKEN}")):
        reply = asked(app, path, query=query, headers=changed(good_headers(), host=host))
        assert (reply.status, inside.reached) == (403, 0)


def test_two_hosts_are_refused(asked, app, inside):
    headers = [*changed(good_headers()), ("host", "example.org")]
    assert asked(app, "/", headers=headers).status == 403
    assert not inside.reached


@pytest.mark.parametrize(
    "origin",
    [None, "", "null", "http://example.org", f"https://{HOST}", f"http://127.0.0.1:{PORT + 1}", f"http://localhost:{PORT}",
     f"http://{HOST}.example.org"],
    ids=repr,
)  # fmt: skip
def test_another_page_may_not_post(asked, app, inside, origin):
    reply = asked(app, "/save", method="POST", headers=changed(good_headers(BODY), origin=origin), body=BODY)
    assert (reply.status, inside.reached) == (403, 0)


def test_a_form_of_another_page_is_no_json(asked, app, inside):
    for kind in (None, "text/plain", "application/x-www-form-urlencoded", "multipart/form-data"):
        headers = changed(good_headers(BODY), content_type=kind)
        assert asked(app, "/save", method="POST", headers=headers, body=BODY).status == 415
    assert not inside.reached


def test_too_much_is_refused(asked, app, inside):
    most = str(guard.LARGEST)
    assert (
        asked(app, "/x", method="POST", headers=changed(good_headers(BODY), content_length=most)).status
        == 200
    )
    for length in (str(guard.LARGEST + 1), None, "-1", "1e3", "many"):
        headers = changed(good_headers(BODY), content_length=length)
        assert asked(app, "/x", method="POST", headers=headers, body=BODY).status == 413
    assert inside.reached == 1


@pytest.mark.parametrize("method", ["PUT", "DELETE", "OPTIONS", "PATCH", "TRACE", "CONNECT"])
def test_other_methods_are_refused(asked, app, inside, method):
    assert asked(app, "/", method=method, headers=changed(good_headers(BODY))).status == 405
    assert not inside.reached


def test_web_sockets_are_refused(asked, app, inside):
    for headers in ([], changed(good_headers())):
        assert asked(app, "/", kind="websocket", headers=headers).status == 1008
    assert not inside.reached


def test_the_token_goes_from_the_address_into_a_cookie(asked, app, inside):
    reply = asked(app, "/", query=f"token={TOKEN}", headers=[("host", HOST)])
    assert reply.status == 200
    assert b'content="0; url=/"' in reply.body
    assert TOKEN.encode() not in reply.body
    assert reply.headers["content-type"] == ["text/html; charset=utf-8"]
    assert "content-security-policy" in reply.headers
    (cookie,) = reply.headers["set-cookie"]
    parts = [part.strip() for part in cookie.split(";")]
    assert parts[0] == f"sparbay-{PORT}={TOKEN}"
    assert {"HttpOnly", "SameSite=Strict", "Path=/"} <= set(parts)
    assert not any(part.lower().startswith("domain") for part in parts)
    assert not inside.reached
    for query in ("token=", "token=wrong", f"token={TOKEN}&token={TOKEN}", f"Token={TOKEN}"):
        assert asked(app, "/", query=query, headers=[("host", HOST)]).status == 403


def test_every_answer_forbids_what_lies_outside(asked, app):
    allowed = asked(app, "/", headers=changed(good_headers()))
    refused = asked(app, "/", headers=[("host", "example.org")])
    for reply in (allowed, refused):
        (policy,) = reply.headers["content-security-policy"]
        rules = dict(rule.strip().split(" ", 1) for rule in policy.split(";"))
        assert rules["default-src"] == "'none'"
        assert set(" ".join(rules.values()).split()) == {"'none'", "'self'"}
        for closed in ("base-uri", "form-action", "frame-ancestors"):
            assert rules[closed] == "'none'"
        assert reply.headers["x-content-type-options"] == ["nosniff"]
        assert reply.headers["referrer-policy"] == ["no-referrer"]
        assert reply.headers["cache-control"] == ["no-store"]
        assert "access-control-allow-origin" not in reply.headers


def test_words_of_a_refusal_hold_no_secret(asked, app):
    reply = asked(app, "/", headers=changed(good_headers(), cookie=None))
    assert TOKEN not in reply.body.decode()
    assert TOKEN not in json.dumps(reply.headers)
