"""Hostile text: refused before it is parsed, quickly, within little memory; what steers is written out."""

import csv
import io
import os
import resource
import subprocess
import sys
import time
import tomllib
from pathlib import Path

import pytest

import models.wings
from models.wing import intake
from models.wing.faults import MOST_LINES
from models.wing.intake import IntakeError, cell, file_text, measure, shown, shown_all
from models.wing.reading import WingFileError, read, read_text

ROOT = Path(__file__).parents[3]
TRAINER = (Path(models.wings.__file__).parent / "trainer.toml").read_text(encoding="utf-8")

HOSTILE = {
    "an integer of 5,000 digits": "name = " + "9" * 5000,
    "a decimal of 5,000 digits": "name = 0." + "9" * 5000,
    "5,000 lists": "name = " + "[" * 5000,
    "5,000 lists, closed": "name = " + "[" * 5000 + "]" * 5000,
    "5,000 tables": "name = " + "{a=" * 5000 + "1" + "}" * 5000,
    "50,000 dotted keys": "a." * 50_000 + "a = 1",
    "50,000 quoted dotted keys": '"a".' * 50_000 + "a = 1",
    "a heading of 50,000 parts": "[" + "a." * 50_000 + "a]",
    "headings with dots": "\n".join(f"[a{i}.b.c.d]" for i in range(15_000)),
    "unclosed texts": '"""\\' * 60_000,
    "quotes": "'\"" * 100_000,
    "a long text": f'name = "{"x" * 100_000}"',
    "unknown keys": "\n".join(f"k{i} = 1" for i in range(20_000)),
    "spars without end": "[[spars]]\n" * 25_000,
    "a long unit": TRAINER.replace('"220 mm"', f'"220 {"m" * 900}"'),
    "a tower of powers": TRAINER.replace('"0 mm"', '"0 m**9**9**9"', 1),
    "blanks in a quantity": TRAINER.replace('"0 mm"', f'"0 {" " * 900}x"', 1),
    "1e308 m": TRAINER.replace('"0 mm"', '"1e308 m"', 1),
    "a large file": "# " + "x" * 2_000_000,
    "a null byte": "name = \0",
}


@pytest.fixture(scope="module")
def _imported():
    """What reading imports the first time is not the text's."""
    read_text(TRAINER)


@pytest.mark.usefixtures("_imported")
@pytest.mark.parametrize("text", HOSTILE.values(), ids=HOSTILE)
def test_refused_within_a_second_in_ten_lines(text, tmp_path):
    path = tmp_path / "wing.toml"
    path.write_text(text, encoding="utf-8")
    start = time.process_time()
    with pytest.raises(WingFileError) as caught:
        read(path, source="wing.toml")
    assert time.process_time() - start < 1.0
    lines = str(caught.value).splitlines()
    assert 1 <= len(lines) <= MOST_LINES
    assert all(len(line) < 400 for line in lines)


@pytest.mark.parametrize("name", ["1e308", "1e-308", "1e999", "-1e308", "5" * 41])
@pytest.mark.parametrize("key", ["load_factor", "moment_coefficient", "lift_coefficient"])
def test_numbers_beyond_any_wing(key, name):
    if name == "1e-308" and key == "moment_coefficient":
        return
    with pytest.raises(WingFileError):
        read_text(TRAINER.replace("[case]", f"[case]\n{key} = {name}").replace("load_factor = 4", ""))


@pytest.mark.parametrize("what", ["zero", "fifo", "folder", "missing", "null in the name"])
def test_what_is_no_file(what, tmp_path):
    path = tmp_path / "wing.toml"
    if what == "zero":
        path = Path("/dev/zero")
        if not path.exists():
            pytest.skip("no such device here")
    elif what == "fifo":
        os.mkfifo(path)
    elif what == "folder":
        path.mkdir()
    elif what == "null in the name":
        path = tmp_path / "a\0b"
    start = time.process_time()  # of a device without end not even a part is read
    with pytest.raises(WingFileError):
        read(path)
    with pytest.raises(IntakeError):
        file_text(path)
    assert time.process_time() - start < 1.0


@pytest.mark.parametrize("name", ["an integer of 5,000 digits", "50,000 dotted keys", "5,000 lists", "zero"])
def test_the_command_ends_with_2_under_500_mb(name, tmp_path):
    path = tmp_path / "wing.toml"
    if name == "zero":
        path = Path("/dev/zero")
    else:
        path.write_text(HOSTILE[name], encoding="utf-8")

    def limited():
        resource.setrlimit(resource.RLIMIT_DATA, (500_000_000, 500_000_000))

    done = subprocess.run(
        [sys.executable, "-m", "models.command", "check", str(path)],
        cwd=ROOT, capture_output=True, text=True, preexec_fn=limited, timeout=300,
        env={**os.environ, "OPENBLAS_NUM_THREADS": "1"},
    )  # fmt: skip
    assert done.returncode == 2, done.stderr
    assert done.stdout == ""
    assert len(done.stderr.splitlines()) == 1


def test_every_limit_lets_the_shipped_files_through():
    for path in Path(models.wings.__file__).parent.glob("*.toml"):
        text = path.read_text(encoding="utf-8")
        measure(text)
        assert len(text) < intake.MOST_BYTES / 20
        assert shown_all(tomllib.loads(text)) == tomllib.loads(text)


def test_texts_and_comments_are_not_counted():
    measure("a = \"[[[[[[[[[[[[[[[[[[[[[[[[[[[[[\"\nb = 'a.a.a.a.a.a.a.a.a.a.a.a.a.a.a.a.a'")
    measure("# " + "[" * 500 + "\n" + 'c = """' + "[" * 500 + '"""')
    measure("x = [" + ", ".join(["1.5"] * 500) + "]")


def test_letters_that_steer_are_shown():
    assert shown("Flügel 翼 ½") == "Flügel 翼 ½"
    assert shown("\x1b[2J\u202e\u200f\x07\x9b") == "\\u001b[2J\\u202e\\u200f\\u0007\\u009b"
    wing = read_text('name = "a\\u001b[31m\\u202Eb"\n' + TRAINER.replace("name =", "# name =", 1))
    assert wing.name == "a\\u001b[31m\\u202eb"


def test_a_message_shows_what_steers(tmp_path):
    with pytest.raises(WingFileError) as caught:
        read_text('"\\u001b[2J" = 1\n' + TRAINER, source="a\x1bb.toml")
    assert str(caught.value).startswith('a\\u001bb.toml: "\\u001b[2J": no such key; ')


def test_cells_are_no_formulas():
    assert [cell(value) for value in ("=1+1", "+a", "-b", "@c", "d", 3, "-3.5")] == [
        "'=1+1", "'+a", "'-b", "'@c", "d", 3, "-3.5",
    ]  # fmt: skip


def test_a_spar_named_as_a_formula_is_defused_in_the_cut_list(make_wing):
    from models.drawings.cut_list import COLUMNS, csv_text, rows, shapes
    from models.drawings.web_pieces import web_pieces

    wing = make_wing(
        spars='[[spars]]\nname = "=cmd|x"\nat = "30 %"\n'
        'caps = { width = "8 mm", height = "4 mm", wood = "spruce" }\n'
        '[[spars.webs]]\nbays = "all"\nface = "rear"\nthickness = "1.5 mm"\n'
    )
    table = list(csv.reader(io.StringIO(csv_text(COLUMNS, rows(shapes(web_pieces(wing)))))))
    assert not any(one.startswith(("=", "+", "@")) for row in table for one in row)


def test_control_letters_do_not_break_svg(make_wing):
    from xml.etree import ElementTree

    wing = make_wing(head='name = "a\\u0007\\u0000b"')
    assert wing.name == "a\\u0007\\u0000b"
    ElementTree.fromstring(f"<title>{wing.name}</title>")


def test_the_mark_of_an_encoding_is_no_text():
    assert intake.decoded(b"\xef\xbb\xbfa\r\nb\rc") == "a\nb\nc"
    with pytest.raises(IntakeError, match="is text in UTF-16; save it in UTF-8"):
        intake.decoded("a".encode("utf-16"))
