"""Imports run one way. This test reads every import of the package and holds the house's plan of it."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

import webapp

PACKAGE = Path(webapp.__file__).parent
# Each room may import those named with it, and itself. Everybody may import errors and paths.
ALLOWED: dict[str, set[str]] = {
    "optics": set(),
    "worksheets": {"optics"},
    "pictures": {"optics"},
    "plan": {"optics"},
    "records": set(),
    "ledger": {"optics", "pictures", "plan", "records"},
    "recipes": {"optics", "pictures", "plan", "records", "ledger"},
    "demo": {"optics", "pictures", "records", "ledger", "recipes", "taking_in"},
    "taking_in": {"pictures", "records", "ledger", "settings"},
    "measuring_command": {"pictures", "ledger"},
    "light_table": {"ledger", "pictures", "settings"},
    "news": set(),
    "followers": set(),
    "house": {"followers", "light_table", "news", "pictures", "records", "settings", "taking_in"},
    "pages": {
        "optics",
        "worksheets",
        "pictures",
        "plan",
        "records",
        "ledger",
        "recipes",
        "house",
        "followers",
        "light_table",
        "news",
        "settings",
    },
    "paper": {"optics", "pictures", "plan", "records", "ledger", "recipes", "house", "pages"},
    "api": {
        "optics",
        "worksheets",
        "pictures",
        "plan",
        "records",
        "ledger",
        "recipes",
        "house",
        "paper",
        "light_table",
        "settings",
    },
    "refusals": {"pages"},
    "security": set(),
    "settings": set(),
    "errors": set(),
    "paths": set(),
}
FREE = {"errors", "paths"}
THE_TOP = {"app", "__main__"}


def _room(path: Path) -> str:
    return path.relative_to(PACKAGE).parts[0].removesuffix(".py")


def _imports(path: Path) -> Iterator[tuple[int, str]]:
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Import):
            yield from ((node.lineno, alias.name) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}:{node.lineno}: imports are absolute here"
            if node.module == "webapp":
                yield from ((node.lineno, f"webapp.{alias.name}") for alias in node.names)
            elif node.module:
                yield node.lineno, node.module


MODULES = sorted(path for path in PACKAGE.rglob("*.py") if "_data" not in path.parts)


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_a_module_imports_only_what_lies_below_it(path: Path) -> None:
    room = _room(path)
    if room in THE_TOP or room == "__init__":
        return
    assert room in ALLOWED, (
        f"{path.name}: the house has no room “{room}”; give it a place in this test and DEVELOPERS.md"
    )
    for line, name in _imports(path):
        if not name.startswith("webapp."):
            continue
        other = name.split(".")[1]
        allowed = ALLOWED[room] | FREE | {room}
        assert other in allowed, f"{path}:{line}: {room} may import {sorted(allowed)}, not {other}"


def test_optics_imports_no_framework() -> None:
    fine = {
        "__future__",
        "abc",
        "collections",
        "dataclasses",
        "enum",
        "functools",
        "itertools",
        "math",
        "numbers",
        "re",
        "typing",
        "numpy",
        "webapp",
    }
    for path in (PACKAGE / "optics").glob("*.py"):
        for line, name in _imports(path):
            assert name.split(".")[0] in fine, f"{path}:{line}: the physics needs no {name}"
