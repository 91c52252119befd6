"""Storeys import only downward, and what draws is imported only where a picture is asked for. Read from the
source.
"""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
STOREYS = ("fea", "models", "validation")
DRAWING = {"pyvista", "matplotlib", "vtk", "vtkmodules", "trame"}
MAY_DRAW = ("models/pictures", "models/report")
MODULES = sorted(path for storey in STOREYS for path in (ROOT / storey).rglob("*.py"))


def imported(tree: ast.AST) -> list[str]:
    """Every module named in an import anywhere in a tree, `from a import b` as `a` and `a.b`."""
    found = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            found += [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            found += [node.module or "", *(f"{node.module or ''}.{alias.name}" for alias in node.names)]
    return found


def at_once(tree: ast.AST) -> list[str]:
    """Modules imported when this one is: all but those inside functions and under TYPE_CHECKING."""

    class Prune(ast.NodeTransformer):
        def visit_FunctionDef(self, node):
            return None

        visit_AsyncFunctionDef = visit_FunctionDef
        visit_Lambda = visit_FunctionDef

        def visit_If(self, node):
            return None if "TYPE_CHECKING" in ast.unparse(node.test) else self.generic_visit(node)

    return imported(Prune().visit(tree))


def upward(storey: str, names: list[str]) -> list[str]:
    above = STOREYS[STOREYS.index(storey) + 1 :]
    return [name for name in names if name.split(".")[0] in (*above, "tests")]


def drawing(names: list[str]) -> list[str]:
    return [name for name in names if name.split(".")[0] in DRAWING]


def test_there_is_something_to_read():
    assert {path.relative_to(ROOT).parts[0] for path in MODULES} == set(STOREYS)


@pytest.mark.parametrize("path", MODULES, ids=lambda p: str(p.relative_to(ROOT)))
def test_imports_point_downward(path):
    relative = path.relative_to(ROOT)
    tree = ast.parse(path.read_text(encoding="utf-8"))
    assert not any(isinstance(n, ast.ImportFrom) and n.level for n in ast.walk(tree)), (
        "relative imports hide the storey"
    )
    assert not upward(relative.parts[0], imported(tree))


@pytest.mark.parametrize("path", MODULES, ids=lambda p: str(p.relative_to(ROOT)))
def test_drawing_is_imported_where_a_picture_is_asked_for(path):
    relative = path.relative_to(ROOT).as_posix()
    if relative.startswith(MAY_DRAW):
        return
    assert not drawing(at_once(ast.parse(path.read_text(encoding="utf-8"))))


def test_the_readers_see_what_they_must():
    source = """
import numpy
from models.structure import wing
if TYPE_CHECKING:
    import pyvista
try:
    import matplotlib.pyplot
except ImportError:
    pass
class A:
    from vtkmodules import vtkCommonCore
    def draw(self):
        import pyvista
"""
    tree = ast.parse(source)
    assert upward("fea", imported(tree)) == ["models.structure", "models.structure.wing"]
    assert upward("models", imported(tree)) == []
    assert drawing(imported(tree)).count("pyvista") == 2
    assert drawing(at_once(ast.parse(source))) == [
        "matplotlib.pyplot",
        "vtkmodules",
        "vtkmodules.vtkCommonCore",
    ]
