"""Files: what is written, where, and what is refused."""

from __future__ import annotations

import html
import os
import subprocess
import tempfile
from importlib.resources import files
from pathlib import Path

import pytest

from models.command.faults import InputFault
from models.live.cells import LiveState, WebChange, own_state
from models.live.saving import Desk, Refused, plain_name
from models.wing.faults import WingFileError

PLAIN = Path(__file__).with_name("remarked.toml").read_text(encoding="utf-8")
WINGS = Path(str(files("models.wings")))


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    (tmp_path / "away").mkdir()
    (tmp_path / "wing.toml").write_text(PLAIN)
    return Desk(tmp_path / "wing.toml", tmp_path, "wing.toml")


def opened_up(desk: Desk) -> LiveState:
    own = own_state(desk.opened.cells)
    return LiveState((0, *own.choices[1:]), own.changes)


def names(folder: Path) -> set[str]:
    return {path.name for path in folder.iterdir()}


def test_a_state_is_saved_with_the_comments(desk):
    assert desk.save(opened_up(desk)) == "Saved in wing.toml."
    text = desk.path.read_text()
    assert text == PLAIN.replace('bays = "1-4"', 'bays = "2-4"')
    assert names(desk.folder) == {"wing.toml", "away"}


def test_what_is_undone_and_saved_again_is_the_file_as_it_was(desk):
    desk.save(opened_up(desk))
    desk.save(own_state(desk.opened.cells))
    assert desk.path.read_text() == PLAIN


def test_a_file_that_changed_on_disk_is_left_alone(desk):
    desk.save(opened_up(desk))  # our own change is none
    other = desk.path.read_text() + "# by an editor\n"
    desk.path.write_text(other)
    with pytest.raises(Refused, match="has changed on disk"):
        desk.save(own_state(desk.opened.cells))
    assert desk.path.read_text() == other
    desk.path.unlink()
    with pytest.raises(Refused, match="is gone from its folder"):
        desk.save(own_state(desk.opened.cells))
    assert not desk.path.exists()


def test_what_happens_to_the_file_on_disk_is_told(desk, monkeypatch):
    assert desk.on_disk() == ""
    desk.save(opened_up(desk))
    assert desk.on_disk() == ""
    before = desk.path.read_text()
    desk.path.write_text(before + "#" * 100)
    assert "has changed on disk" in desk.on_disk()
    assert f"{len(before) + 100} bytes now" in desk.on_disk()
    looked = []
    monkeypatch.setattr(Desk, "_is_as_read", lambda self: looked.append(1))
    assert "has changed on disk" in desk.on_disk()
    assert not looked  # read again only once it is another
    monkeypatch.undo()
    desk.path.write_text(before)
    assert desk.on_disk() == ""
    desk.path.write_bytes(b"#" * 20_000_000)  # beyond what is ever read
    assert "has changed on disk" in desk.on_disk()
    desk.path.unlink()
    assert "is gone from its folder" in desk.on_disk()


def test_a_tab_saves_only_in_the_file_that_it_saw(desk):
    seen = (desk.path.name, desk.hash)
    desk.save(opened_up(desk), seen)
    saved = desk.path.read_text()
    with pytest.raises(Refused, match="another tab of this page has saved in it"):
        desk.save(own_state(desk.opened.cells), seen)
    with pytest.raises(Refused, match="another tab"):
        desk.save(own_state(desk.opened.cells), (None, None))
    assert desk.path.read_text() == saved
    seen = (desk.path.name, desk.hash)
    desk.save_as(own_state(desk.opened.cells), "next")
    with pytest.raises(Refused, match=r"has gone on with next\.toml"):
        desk.save(opened_up(desk), seen)
    assert desk.path.read_text() == PLAIN


def test_the_changes_that_make_it_fit_are_written_as_a_new_file(desk, monkeypatch):
    asked = []
    own = own_state(desk.opened.cells)
    wanted = LiveState((3, *own.choices[1:]), (WebChange(wood="light ply"), *own.changes[1:]))
    better = desk.opened.text_of(wanted)

    def made(arguments, **more):
        asked.append(arguments)
        Path(arguments[arguments.index("--out") + 1]).write_text(better)
        done = '{"answer": {"sentences": ["One change makes it fit: a thicker web."]}}'
        return subprocess.CompletedProcess(arguments, 0, done, "")

    monkeypatch.setattr(subprocess, "run", made)
    words, state = desk.mended(opened_up(desk), "better")
    assert state == wanted
    assert asked[0][3] == "mend"
    assert "--json" in asked[0]
    assert "--quiet" not in asked[0]  # one or the other
    assert words.startswith("One change makes it fit: a thicker web.\n")
    assert "open it with: sparbay live better.toml\n" in words
    assert words.endswith("they are put in on this page now; Undo takes them out.")
    better = PLAIN.replace('width = "8 mm"', 'width = "9 mm"')
    words, state = desk.mended(opened_up(desk), "thicker")
    assert state is None  # caps too, which the page cannot change
    assert words.endswith("open it with: sparbay live thicker.toml")
    with pytest.raises(Refused, match="exists already"):
        desk.mended(opened_up(desk), "better")


def test_a_link_put_in_the_files_place_is_not_followed(desk):
    victim = desk.folder / "away" / "victim"
    victim.write_text(PLAIN)
    desk.path.unlink()
    desk.path.symlink_to(victim)
    with pytest.raises(Refused):
        desk.save(opened_up(desk))
    assert victim.read_text() == PLAIN


def test_a_state_that_is_no_wing_leaves_the_file_alone(desk):
    own = own_state(desk.opened.cells)
    with pytest.raises(WingFileError):
        desk.save(LiveState(own.choices, (WebChange(wood="oak"), *own.changes[1:])))
    assert desk.path.read_text() == PLAIN


@pytest.mark.skipif(os.geteuid() == 0, reason="root writes everywhere")
def test_a_file_that_cannot_be_written_is_whole_still(desk):
    desk.folder.chmod(0o500)
    try:
        with pytest.raises(InputFault, match="cannot be written"):
            desk.save(opened_up(desk))
    finally:
        desk.folder.chmod(0o700)
    assert desk.path.read_text() == PLAIN


def test_a_fault_while_writing_leaves_the_file_whole(desk, monkeypatch):
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", full)
    with pytest.raises(InputFault, match="No space left"):
        desk.save(opened_up(desk))
    assert desk.path.read_text() == PLAIN


def test_shipped_wings_are_never_overwritten(tmp_path):
    desk = Desk(WINGS / "trainer.toml", tmp_path, "trainer")
    before = desk.path.read_bytes()
    with pytest.raises(Refused, match="never overwritten"):
        desk.save(opened_up(desk))
    assert (WINGS / "trainer.toml").read_bytes() == before
    assert desk.save_as(opened_up(desk), "mine").startswith("Saved as mine.toml")
    assert not desk.is_shipped
    desk.save(own_state(desk.opened.cells))  # from here on the new file is the one
    assert (tmp_path / "mine.toml").read_bytes() == before


def test_save_as_writes_over_nothing(desk):
    (desk.folder / "there.toml").write_text("mine")
    (desk.folder / "link.toml").symlink_to(desk.folder / "away" / "victim")
    for name in ("there", "there.toml", "link.toml", "wing"):
        with pytest.raises(InputFault, match="exists already"):
            desk.save_as(opened_up(desk), name)
    assert (desk.folder / "there.toml").read_text() == "mine"
    assert not (desk.folder / "away" / "victim").exists()
    assert desk.path.read_text() == PLAIN


def test_a_wing_that_needs_its_folder_is_not_saved_elsewhere(tmp_path):
    home, work = tmp_path / "home", tmp_path / "work"
    home.mkdir()
    work.mkdir()
    points = "flat\n" + "".join(f" {x:.3f} {0.4 * x * (1 - x):.4f}\n" for x in (1.0, 0.7, 0.4, 0.2, 0.1, 0.0))
    points += "".join(f" {x:.3f} {-0.1 * x * (1 - x):.4f}\n" for x in (0.1, 0.2, 0.4, 0.7, 1.0))
    (home / "flat.dat").write_text(points)
    (home / "wing.toml").write_text(PLAIN.replace('"NACA 2412"', '"flat.dat"'))
    desk = Desk(home / "wing.toml", work, "wing.toml")
    with pytest.raises(WingFileError, match=r"flat\.dat"):
        desk.save_as(opened_up(desk), "copy")
    assert not names(work)
    desk.save(opened_up(desk))


@pytest.mark.parametrize("name", ["a", "wing 2.toml", "my-wing_3+4", "A" * 100])
def test_plain_names(name):
    assert plain_name(f" {name} ", ".toml") == (name if name.endswith(".toml") else name + ".toml")


@pytest.mark.parametrize(
    "name",
    [
        "", " ", ".", "..", "../wing", "a/b", "a\\b", "/etc/passwd", ".hidden", "a..b", "-rf", "C:wing",
        "a\0b",
        "a\nb", "~", "wing;", "é", "A" * 101, None, 3, ["a"], "%2e%2e",
    ],
    ids=repr,
)  # fmt: skip
def test_names_that_could_lead_elsewhere_are_refused(name, desk):
    with pytest.raises(Refused):
        plain_name(name, ".toml")
    before = names(desk.folder), names(desk.folder.parent)
    for write in (desk.save_as, desk.report, desk.drawings):
        with pytest.raises(Refused):
            write(opened_up(desk), name)
    assert (names(desk.folder), names(desk.folder.parent)) == before


def test_drawings_are_those_of_the_state(desk):
    own = own_state(desk.opened.cells)
    bare = LiveState((0, 0, 0, 0, 1, 0, 0), own.changes)  # one web a side is left
    words = desk.drawings(bare, "cut here")
    assert "cut here" in words
    rows = (desk.folder / "cut here" / "cut-list.csv").read_text().splitlines()
    assert len(rows) == 2
    assert desk.path.read_text() == PLAIN
    with pytest.raises(Refused, match="exists already"):
        desk.drawings(bare, "cut here")
    (desk.folder / "link").symlink_to(desk.folder / "away")
    with pytest.raises(Refused, match="exists already"):
        desk.drawings(bare, "link")


def test_what_the_command_says_against_it_is_passed_on(desk):
    own = own_state(desk.opened.cells)
    with pytest.raises(Refused, match="there is no web to draw"):
        desk.drawings(LiveState((0,) * 7, own.changes), "none")
    assert names(desk.folder) == {"wing.toml", "away"}


@pytest.mark.long
@pytest.mark.slow
def test_the_report_is_written_for_the_state(desk):
    assert "mine.html" in desk.report(opened_up(desk), "mine")
    text = html.unescape((desk.folder / "mine.html").read_text(encoding="utf-8"))
    assert 'bays = "2-4"' in text
    assert 'bays = "1-4"' not in text
    assert str(desk.folder) not in text
    assert tempfile.gettempdir() + os.sep not in text


def test_a_file_that_vanished_or_grew_is_not_what_is_reported(desk, monkeypatch):
    """The page's own text is: the command gets it in a file of its own."""
    seen = []

    def run(words, *, cwd, **_):
        seen.append((Path(cwd) / words[4]).read_text())
        return subprocess.CompletedProcess(words, 0, "", "")

    monkeypatch.setattr(subprocess, "run", run)
    own = own_state(desk.opened.cells)
    desk.path.write_bytes(b"#" * 1_000_000)
    desk.drawings(own, "one")
    desk.path.unlink()
    desk.drawings(own, "two")
    assert seen == [PLAIN, PLAIN]


def test_a_command_that_takes_too_long_is_refused(desk, monkeypatch):
    def run(words, *, timeout, **_):
        raise subprocess.TimeoutExpired(words, timeout)

    monkeypatch.setattr(subprocess, "run", run)
    with pytest.raises(Refused, match="took longer than 600 s and was ended; nothing was written"):
        desk.drawings(own_state(desk.opened.cells), "drawn")


@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
def test_line_ends_and_the_mark_of_a_file_stay(tmp_path, mark):
    raw = mark + PLAIN.replace("\n", "\r\n").encode()
    path = tmp_path / "wing.toml"
    path.write_bytes(raw)
    desk = Desk(path, tmp_path, "wing.toml")
    desk.save(opened_up(desk))
    after = path.read_bytes()
    assert after != raw
    assert after.startswith(mark + raw[len(mark) : len(mark) + 3])
    assert after.count(b"\r\n") == after.count(b"\n") == after.count(b"\r")
    desk.save(own_state(desk.opened.cells))
    assert path.read_bytes() == raw
