"""Docstrings against signatures, read from the source of `fea` and `models`: every public name has words, and
where its parameters are listed they are those of the signature (of a frozen record: its fields), in order.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
MODULES = sorted(path for storey in ("fea", "models") for path in (ROOT / storey).rglob("*.py"))
MOST_UNLISTED = 3
"""Parameters that a sentence can tell; more need a list."""

DRAWING = "arguments are those of one drawing call, named after what they draw"
READER = "the draft and the place in the file are what every part of the reader gets"
FILE = "keys of the file, described in the schema itself, which the command prints"
EXCEPTIONS = {
    "fea.structure.Block": "what every block offers; the class's own docstring says it for all",
    "models.pictures.scenes.reserve": "options of every scene stand at the head of the module",
    "models.pictures.stage.overlay": DRAWING,
    "models.pictures.stage.words": DRAWING,
    "models.pictures.stage.colour_bar": DRAWING,
    "models.pictures.stage.pinned": DRAWING,
    "models.pictures.stage.open_stage": DRAWING,
    "models.pictures.stage.draw_axes": DRAWING,
    "models.strength.cap_tension.worst_fibre": "the stress, mode and source are those of every finding",
    "models.wing.draft.caps": READER,
    "models.wing.draft.known_spar": READER,
    "models.wing.schema": FILE,
}
"""Names (a class stands for its methods, a module for its names) that need not keep the rules, and why."""


def functions(tree: ast.Module) -> Iterator[tuple[str, ast.FunctionDef | ast.ClassDef]]:
    """Public functions, classes and methods, by their name within the module."""
    for node in tree.body:
        if isinstance(node, ast.FunctionDef | ast.ClassDef) and not node.name.startswith("_"):
            yield node.name, node
            if isinstance(node, ast.ClassDef):
                for inner in node.body:
                    if isinstance(inner, ast.FunctionDef) and not inner.name.startswith("_"):
                        yield f"{node.name}.{inner.name}", inner


def signature(node: ast.FunctionDef | ast.ClassDef) -> list[str]:
    """Parameters of a function; fields of a frozen record, those without class-wide constants."""
    if isinstance(node, ast.ClassDef):
        fields = [n for n in node.body if isinstance(n, ast.AnnAssign) and isinstance(n.target, ast.Name)]
        return [n.target.id for n in fields if "ClassVar" not in ast.unparse(n.annotation)]
    every = [*node.args.posonlyargs, *node.args.args, *node.args.kwonlyargs]
    more = [a for a in (node.args.vararg, node.args.kwarg) if a is not None]
    return [a.arg for a in (*every, *more) if a.arg not in ("self", "cls")]


def documented(doc: str) -> list[str] | None:
    """Names under "Parameters" in a docstring; None where it has no such section."""
    lines = doc.splitlines()
    heads = [i for i in range(len(lines) - 1) if re.fullmatch(r"-{3,}", lines[i + 1].strip())]
    for head, after in zip(heads, (*heads[1:], len(lines))):
        if lines[head].strip() == "Parameters":
            rows = [line for line in lines[head + 2 : after] if line and not line.startswith(" ")]
            return [name.strip(" *") for row in rows for name in row.split(" : ")[0].split(",")]
    return None


def is_record(node: ast.AST) -> bool:
    """A class whose fields make its signature."""
    return isinstance(node, ast.ClassDef) and any("dataclass" in ast.unparse(d) for d in node.decorator_list)


def faults(tree: ast.Module) -> dict[str, str]:
    """What is wrong with the docstring of every name that has a fault."""
    out = {}
    for name, node in functions(tree):
        doc = ast.get_docstring(node)
        names = signature(node)
        if doc is None:
            out[name] = "has no docstring"
            continue
        listed = documented(doc)
        if isinstance(node, ast.ClassDef):
            if is_record(node) and listed is not None and listed != names:
                out[name] = f"lists {listed}, has fields {names}"
        elif listed is None and len(names) > MOST_UNLISTED:
            out[name] = f"lists none of {names}"
        elif listed is not None and listed != names:
            out[name] = f"lists {listed}, takes {names}"
    return out


def module_of(path: Path) -> str:
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def excused(name: str) -> str | None:
    """The exception that covers a full name."""
    return next((e for e in EXCEPTIONS if name == e or name.startswith(f"{e}.")), None)


FAULTS = {
    module_of(path): {
        f"{module_of(path)}.{name}": fault
        for name, fault in faults(ast.parse(path.read_text(encoding="utf-8"))).items()
    }
    for path in MODULES
}


@pytest.mark.parametrize("module", FAULTS)
def test_documented_parameters_are_those_of_the_signature(module):
    assert not {name: fault for name, fault in FAULTS[module].items() if not excused(name)}


@pytest.mark.parametrize("name", EXCEPTIONS)
def test_no_exception_is_stale(name):
    assert any(excused(fault) == name for of in FAULTS.values() for fault in of), (
        "keeps the rules by now: take it off the list"
    )


def test_the_reader_sees_what_it_must():
    source = '''
@dataclass(frozen=True)
class Record:
    """A record.

    Parameters
    ----------
    a, b : float
        m.
    """
    kind: ClassVar[str] = "r"
    a: float
    c: float
    def bare(self): ...
def good(x, *, y=1):
    """Good.

    Parameters
    ----------
    x : (n,) float array
        m.
    y : float, default 1

    Returns
    -------
    x : float
    """
def swapped(x, y):
    """Swapped.

    Parameters
    ----------
    y, x : float
    """
def short(a, b, c):
    """Of a, b and c."""
def long(a, b, c, d):
    """Of many."""
def _hidden(a): ...
'''
    assert set(faults(ast.parse(source))) == {"Record", "Record.bare", "swapped", "long"}
