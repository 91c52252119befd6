"""One meaning for every class name, and no module that reaches for another's private names."""

from __future__ import annotations

import ast
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).parents[2]
STOREYS = ("fea", "models", "validation")
TWICE: frozenset[str] = frozenset()
"""Class names that stand for two things. It may only shrink."""
REACHED = frozenset(
    {
        "argparse._ActionsContainer",
        "argparse._ArgumentGroup",
        "argparse._SubParsersAction",
        "atexit._run_exitfuncs",
        "os._exit",
    }
)
"""Private names of other modules that are used: what the standard library has no other name for. It may only
shrink."""


def classes(trees: dict[str, ast.Module]) -> dict[str, list[str]]:
    """Modules that define each class name."""
    out = defaultdict(list)
    for module, tree in trees.items():
        for node in ast.walk(tree):
            if isinstance(node, ast.ClassDef):
                out[node.name].append(module)
    return out


def private(name: str) -> bool:
    return name.startswith("_") and not name.startswith("__")


def dotted(node: ast.expr) -> str:
    """A name, or one after dots, as it is written; "" for anything else."""
    if isinstance(node, ast.Attribute):
        return f"{dotted(node.value)}.{node.attr}"
    return node.id if isinstance(node, ast.Name) else ""


def reached(tree: ast.Module) -> Iterator[str]:
    """Private names of other modules that a module imports, or takes from a module that it imported."""
    modules = {}
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            modules |= {one.asname or one.name: one.name for one in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.module is not None
            modules |= {one.asname or one.name: f"{node.module}.{one.name}" for one in node.names}
            yield from (f"{node.module}.{one.name}" for one in node.names if private(one.name))
    for node in ast.walk(tree):
        if isinstance(node, ast.Attribute) and private(node.attr) and (of := dotted(node.value)) in modules:
            yield f"{modules[of]}.{node.attr}"


def trees() -> dict[str, ast.Module]:
    return {
        path.relative_to(ROOT).as_posix(): ast.parse(path.read_text(encoding="utf-8"))
        for storey in STOREYS
        for path in sorted((ROOT / storey).rglob("*.py"))
    }


HOUSE = trees()


def test_a_class_name_stands_for_one_thing():
    assert {name: where for name, where in classes(HOUSE).items() if len(where) > 1}.keys() == TWICE


def test_private_names_stay_in_their_module():
    assert {name for tree in HOUSE.values() for name in reached(tree)} == REACHED


def test_planted_names_are_found():
    one, two = ast.parse("class Sheet: ...\nclass Web: ..."), ast.parse("def f():\n    class Sheet: ...")
    found = classes({"one": one, "two": two})
    assert found == {"Sheet": ["one", "two"], "Web": ["one"]}
    planted = ast.parse(
        "from one import _a, b\nimport two.three\nfrom four import five as six\nimport seven as eight\n"
        "x = two.three._c + six._d + eight._e + b.__doc__ + self._f\n"
    )
    assert sorted(reached(planted)) == ["four.five._d", "one._a", "seven._e", "two.three._c"]
