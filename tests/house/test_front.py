"""The front door: `import sparbay` anywhere, its names with a line each, and examples that run."""

from __future__ import annotations

import ast
import doctest
import os
import re
import runpy
import subprocess
import sys
from pathlib import Path

import pytest

import fea
import sparbay

ROOT = Path(__file__).resolve().parents[2]
FRONT = ROOT / "models" / "front"
EXAMPLES = sorted((ROOT / "tests" / "examples").glob("*.py"))
FUNCTIONS = [
    name
    for name in sparbay.__all__
    if callable(getattr(sparbay, name)) and not isinstance(getattr(sparbay, name), type)
]
ROW = re.compile(r"^\| `(\w+)` \| (.*?) \|$", re.M)


def told() -> dict[str, str]:
    """Public names and their words, as the package's docstring lists them."""
    lines = (sparbay.__doc__ or "").splitlines()
    return dict(line.split(" : ", 1) for line in lines if re.match(r"\w+ : ", line))


def script(text: str, folder: Path) -> subprocess.CompletedProcess[str]:
    """Run a script that lies in a folder, with nothing but the package's own folder on the path besides."""
    (folder / "script.py").write_text(text, encoding="utf-8")
    return subprocess.run(
        [sys.executable, "script.py"],
        cwd=folder, env={**os.environ, "PYTHONPATH": str(FRONT)}, text=True, capture_output=True,
    )  # fmt: skip


def test_every_public_name_has_one_line_in_the_package_and_the_readme() -> None:
    public = set(sparbay.__all__) - {"__version__"}
    assert set(told()) == public
    assert dict(ROW.findall((ROOT / "README.md").read_text(encoding="utf-8"))) == told()
    assert public <= set(dir(sparbay))


def test_a_type_checker_sees_the_names_that_there_are() -> None:
    tree = ast.parse((FRONT / "sparbay" / "__init__.py").read_text(encoding="utf-8"))
    block = next(n for n in tree.body if isinstance(n, ast.If) and ast.unparse(n.test) == "TYPE_CHECKING")
    seen = {
        alias.asname or alias.name: (node.module, alias.name)
        for node in block.body
        if isinstance(node, ast.ImportFrom)
        for alias in node.names
    }
    assert set(seen) == set(sparbay.__all__)
    for name, (module, own) in seen.items():
        assert module is not None
        __import__(module)
        assert getattr(sys.modules[module], own) is getattr(sparbay, name), name


def test_a_name_that_is_not_there_says_which_are() -> None:
    with pytest.raises(AttributeError, match=r"'analyze'; it has .*analyse"):
        _ = sparbay.analyze  # type: ignore[attr-defined]


@pytest.mark.parametrize("name", ["the package", "fea", *FUNCTIONS])
def test_examples_in_docstrings_run(name: str) -> None:
    of = {"the package": sparbay, "fea": fea}.get(name) or getattr(sparbay, name)
    (example,) = doctest.DocTestFinder(recurse=False).find(of, name, globs={}, module=False)
    assert example.examples
    said: list[str] = []
    doctest.DocTestRunner().run(example, out=said.append)
    assert not said, "".join(said)


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_longer_examples_run(
    path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    runpy.run_path(str(path), run_name="__main__")
    out = capsys.readouterr().out
    if path.stem == "beam_by_fea_alone":
        computed, by_hand = re.findall(r"(\S+) mm", out)
        assert computed == by_hand
    elif path.stem == "parametric_study":
        assert (tmp_path / "webs.png").read_bytes().startswith(b"\x89PNG")
        tips = [float(line.split()[2]) for line in out.splitlines()[1:]]
        assert tips[:6] == sorted(tips[:6], reverse=True)
    else:
        assert "fails first" in out
        assert sparbay.read(tmp_path / "tapered.toml").name == "Tapered wing of 1.5 m"


def test_it_works_beside_a_file_named_models_and_loads_nothing_before_it_is_used(tmp_path: Path) -> None:
    for name in ("models", "fea"):
        (tmp_path / f"{name}.py").write_text("raise SystemExit('the wrong one')", encoding="utf-8")
    done = script(
        "import sys, sparbay\n"
        "assert not {'numpy', 'models.wing', 'models.analysis'} & set(sys.modules)\n"
        "print(sparbay.__version__, sparbay.read('spar-c').name)\n"
        "import models.wing.parts\n"
        "print(models.wing.parts.Wing is sparbay.Wing)\n",
        tmp_path,
    )
    assert done.stderr == ""
    assert done.stdout.splitlines() == [
        f"{sparbay.__version__} {sparbay.read('spar-c').name}", "True",
    ]  # fmt: skip


def test_a_module_of_the_same_name_that_is_loaded_already_is_named(tmp_path: Path) -> None:
    (tmp_path / "models.py").write_text("mine = 1", encoding="utf-8")
    done = script("import models\nimport sparbay\n", tmp_path)
    assert done.returncode == 1
    last = done.stderr.splitlines()[-1]
    assert last.startswith("ImportError: sparbay: the module `models`")
    assert str(tmp_path / "models.py") in last
    assert str(ROOT / "models") in last
