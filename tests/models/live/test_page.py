"""What the page is told, and that its addresses name no files."""

from __future__ import annotations

import json
import re
import struct
import threading
from html.parser import HTMLParser
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest

from fea.elements.faults import DegenerateElement
from models.live.page import frame
from models.page import render
from models.rounding import down

PLAIN = Path(__file__).with_name("remarked.toml").read_text(encoding="utf-8")
LOPSIDED = PLAIN.replace('face = "rear"\n', 'face = "rear"\nside = "port"\n')
WINGS = Path(str(files("models.wings")))


def unframed(body: bytes):
    (n,) = struct.unpack("<I", body[:4])
    return json.loads(body[4 : 4 + n]), np.frombuffer(body[4 + n :], dtype="<f4").reshape(-1, 3)


@pytest.fixture
def page(page_of):
    return page_of()


def test_a_frame_is_read_back():
    said, moved = unframed(frame({"a": "é"}, np.arange(6.0).reshape(2, 3)))
    assert said == {"a": "é"}
    np.testing.assert_array_equal(moved, np.arange(6.0).reshape(2, 3))
    assert len(frame({"a": 1}, None)) % 4 == 0


def test_an_answer_says_what_the_check_says(page):
    said, moved = unframed(page.post("/answer", page.question(c4=0)).body)
    shape = page.get("/shape").document
    assert moved.shape == (len(shape["points"]) // 3, 3)
    assert len(said["reserve_of_part"]) == len(shape["parts"])
    assert said["rows"][4]["state"] == "open"
    assert [row["state"] for row in said["rows"]] == ["rear"] * 4 + ["open"] + ["both"] * 2
    least = min(row["reserve_factor"] for row in said["rows"])
    assert said["rows"][said["first_cell"]]["reserve_factor"] == least
    assert f"{down(said['load_factor_at_first_failure'])} g" in said["sentence"]
    assert ("survives" in said["verdict"]) == said["survives"]


def test_points_move_with_the_wing(page):
    said, moved = unframed(page.post("/answer", page.question()).body)
    points = np.array(page.get("/shape").document["points"]).reshape(-1, 3)
    tip = moved[points[:, 1] > 0.99 * points[:, 1].max()]
    assert moved[points[:, 1] < 10, 2].max() < 0.1 * tip[:, 2].max()
    # The spar's middle; leading and trailing edges go further by the twist.
    assert tip[:, 2].min() - 0.5 < 1e3 * said["tip_deflection_m"] < tip[:, 2].max() + 0.5


def test_half_the_load_is_half_the_answer(page):
    one, half = (unframed(page.post("/answer", page.question(n)).body)[0] for n in (6.0, 3.0))
    assert half["tip_deflection_m"] == pytest.approx(one["tip_deflection_m"] / 2, rel=1e-12)
    assert half["rows"][0]["fails"] == one["rows"][0]["fails"]
    assert half["rows"][0]["reserve_factor"] == pytest.approx(2 * one["rows"][0]["reserve_factor"], rel=1e-12)


def test_the_proof_is_the_whole_solve(page):
    found = page.post("/proof", page.question(c0=0)).document
    assert found["largest_difference"] < 1e-7
    assert found["notes"] == ["a remark"]


@pytest.mark.parametrize(
    ("path", "data", "words"),
    [
        ("/answer", [], "a question is an object"),
        ("/answer", {}, "7 cells"),
        ("/answer", {"load_factor": 0}, "not a load factor"),
        ("/answer", {"load_factor": "6"}, "not a load factor"),
        ("/answer", {"load_factor": 1e9}, "not a load factor"),
        ("/save-as", {"name": "../x"}, "names no folder"),
        ("/report", {"name": "a/b"}, "names no folder"),
        ("/drawings", {"name": None}, "names no folder"),
    ],
)
def test_what_is_wrong_is_said(page, path, data, words):
    if words not in ("a question is an object", "7 cells"):
        data = page.question() | data
    reply = page.post(path, data)
    assert reply.status == 422
    assert words in reply.document["fault"]


def test_a_wood_that_is_not_known_is_named(page):
    question = page.question()
    question["cells"][0]["wood"] = "oak"
    reply = page.post("/answer", question)
    assert reply.status == 422
    assert '"oak" is not a wood that is known' in reply.document["fault"]


def test_a_fault_of_ours_is_owned_without_a_traceback(page, monkeypatch):
    monkeypatch.setattr(page.bench, "described", lambda: 1 / 0)
    with pytest.raises(ZeroDivisionError):  # the server's log has it; the page gets one line
        page.get("/wing")


@pytest.mark.parametrize(
    "path",
    [
        "/wing.toml", "/../wing.toml", "/live.css/../page.html.j2", "/page.html.j2", "//etc/passwd",
        "/etc/passwd",
        "/%2e%2e/wing.toml", "/templates/live.css", "/live.css%00", "/..%2fwing.toml", "/static/live.js",
    ],
)  # fmt: skip
def test_no_address_names_a_file(page, path):
    assert page.get(path).status == 404
    assert page.post(path, {}).status in (404, 405)


@pytest.mark.parametrize(
    "path", ["/save", "/save-as", "/report", "/drawings", "/mend", "/stop", "/answer", "/proof"]
)
def test_what_changes_something_is_not_got(page, path):
    assert page.get(path).status == 405
    assert not page.stopped


def test_saving_through_the_page(page):
    described = page.get("/wing").document
    seen = {"file": described["file"], "hash": described["hash"]}
    assert "another tab" in page.post("/save", page.question(c0=0)).document["fault"]
    reply = page.post("/save", page.question(c0=0) | seen).document
    assert reply["words"] == "Saved in wing.toml."
    assert "another tab" in page.post("/save", page.question() | seen).document["fault"]
    assert page.get("/progress").document["disk"] == ""
    assert page.bench.desk.path.read_text() == PLAIN.replace('"1-4"', '"2-4"')
    reply = page.post("/save-as", page.question() | {"name": "other"}).document
    assert reply["file"] == "other.toml"


def test_a_fault_of_a_layout_is_said_in_the_pages_words(page):
    question = page.question()
    question["cells"][0]["thickness"] = "1000 mm"
    fault = page.post("/answer", question).document["fault"]
    assert fault.startswith('Webs of the main spar, thickness: "1000 mm" is more than')
    assert "spars[" not in fault


def test_a_web_that_leaves_no_room_is_no_fault_of_ours(page, monkeypatch):
    def degenerate(*_):
        raise DegenerateElement("quadrilateral", np.array([3]))

    monkeypatch.setattr(page.bench.engine, "answer", degenerate)
    reply = page.post("/answer", page.question())
    assert reply.status == 422
    assert "take a thinner one" in reply.document["fault"]


def test_the_page_can_end_the_program(page):
    assert "ended" in page.post("/stop", {}).document["words"]
    assert page.stopped == [True]


class Page(HTMLParser):
    """Elements and their attributes."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.found: list[tuple[str, dict[str, str | None]]] = []
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.found.append((tag, dict(attrs)))


@pytest.mark.parametrize(
    "text", [PLAIN, LOPSIDED, (WINGS / "spar-c.toml").read_text()], ids=["wing", "sides", "spar"]
)
def test_the_page_has_a_button_for_every_cell_and_keeps_the_policy(page_of, text):
    asking = page_of(text)
    html = asking.get("/").body.decode()
    found = Page(html).found
    buttons = [a for tag, a in found if tag == "g" and a.get("role") == "button"]
    assert len(buttons) == len(asking.bench.opened.cells)
    assert all(a["aria-label"] for a in buttons)
    assert [a["tabindex"] for a in buttons].count("0") == 1
    for _, attributes in found:
        assert not [key for key in attributes if key == "style" or key.startswith("on")]
        for key in ("src", "href"):
            assert attributes.get(key) is None or attributes[key].startswith(("/", "#"))
    assert "<style" not in html
    assert not re.search(r"<script[^>]*>[^<]", html)
    named = {a["for"] for tag, a in found if tag == "label" and "for" in a}
    inside = {"scope", "factor"}  # within their labels
    for tag, attributes in found:
        if tag in ("input", "select"):
            assert attributes.get("id") in named | inside or attributes.get("name") in inside
    for caution in ("never for anything that carries people", "static proof test"):
        assert caution in html


def test_what_the_page_loads_is_there_and_loads_nothing_else(page):
    html = page.get("/").body.decode()
    for path in re.findall(r'(?:src|href)="(/[^"#]+)"', html):
        reply = page.get(path)
        assert reply.status == 200
        text = re.sub(r"http://www\.w3\.org/2000/svg", "", reply.body.decode())
        assert not re.search(r"https?://|@import|url\(", text)
        assert "innerHTML" not in text
        assert "eval(" not in text


def test_a_name_in_the_file_is_no_markup(page_of):
    asking = page_of(
        PLAIN.replace('"Remarked"', "'<script>alert(1)</script>'").replace('"main"', "'<b>main'")
    )
    html = asking.get("/").body.decode()
    assert "<script>alert" not in html
    assert "<b>main" not in html


def test_the_palette_is_that_of_the_report():
    def colours(package: str, name: str) -> list[dict[str, str]]:
        text = (files(package) / "templates" / name).read_text()
        return [
            dict(re.findall(r"(--[\w-]+):\s*([^;]+);", block))
            for block in re.findall(r":root \{(.*?)\}", text, flags=re.S)[:2]
        ]

    assert render
    assert colours("models.live", "live.css") == colours("models.page", "style.css")


def test_a_question_that_does_not_come_is_not_waited_for(page, monkeypatch):
    monkeypatch.setattr("models.live.page.SENT_WITHIN", 0.05)
    assert page.send("/answer", None).status == 408


def test_an_answer_without_end_is_not_waited_for(page_of, monkeypatch):
    over = threading.Event()
    monkeypatch.setattr("models.live.page.ANSWERED_WITHIN", 0.05)
    monkeypatch.setattr("models.live.page.WingPage.answer", lambda self, data: over.wait(30))
    page = page_of()
    threading.Timer(0.5, over.set).start()  # the loop waits for its threads in the end
    reply = page.post("/answer", {})
    assert reply.status == 503
    assert "is not waited for" in reply.document["fault"]


def test_nested_beyond_measure_is_no_question(page):
    assert page.send("/answer", b"[" * 100_000).status == 400
