"""Imports run one way. This test reads every import of the package and holds the house's plan of it."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

import webapp

PACKAGE = Path(webapp.__file__).parent
# From the bottom up: a room may import those above it in this list, and itself.
ROOMS = (
    "errors",
    "disk",
    "paths",
    "facts",
    "settings",
    "security",
    "certificates",
    "log",
    "static_files",
    "optics",
    "quantities",
    "worksheets",
    "plan",
    "pictures",
    "ledger",
    "records",
    "kit",
    "shoots",
    "recipes",
    "exports",
    "backups",
    "measuring_command",
    "live",
    "devices",
    "connections",
    "doors",
    "filling",
    "services",
    "web.words",
    "web.drawings",
    "web.gathering",
    "web.typed",
    "web.typed_kit",
    "web.recipe_form",
    "web.pages",
    "web.telling",
    "web.paper",
    "web.api",
    "error_handlers",
    "later",
    "allocator",
    "demo",
    "app",
    "backup_commands",
    "door_commands",
    "__main__",
)
# Closer than the list: what these rooms may import at all, besides errors, disk, facts and paths.
ONLY: dict[str, set[str]] = {
    "optics": set(),
    "quantities": {"optics"},
    "worksheets": {"optics", "quantities"},
    "plan": {"optics", "quantities"},
    "pictures": {"optics", "plan"},
    "ledger": {"optics", "quantities", "plan", "pictures"},
    "records": {"security", "optics", "quantities", "plan", "pictures", "ledger"},
    "live": set(),
    "security": set(),
    "certificates": set(),
    "log": set(),
    "devices": {"security", "records", "recipes"},
    "connections": set(),
    "doors": {"settings", "security", "certificates", "connections"},
    "static_files": set(),
}
FREE = {"errors", "disk", "facts", "paths"}


def _room(parts: tuple[str, ...]) -> str:
    return ".".join(parts[: 2 if parts[0] == "web" else 1])


def _imports(path: Path) -> Iterator[tuple[int, str]]:
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Import):
            yield from ((node.lineno, alias.name) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}:{node.lineno}: imports are absolute here"
            if node.module in ("webapp", "webapp.web"):
                yield from ((node.lineno, f"{node.module}.{alias.name}") for alias in node.names)
            elif node.module:
                yield node.lineno, node.module


MODULES = sorted(path for path in PACKAGE.rglob("*.py") if "_data" not in path.parts)


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_a_module_imports_only_what_lies_below_it(path: Path) -> None:
    room = _room(path.relative_to(PACKAGE).with_suffix("").parts)
    if room in ("__init__", "web.__init__"):
        return
    assert room in ROOMS, (
        f"{path.name}: the house has no room “{room}”; give it a place in this test and DEVELOPERS.md"
    )
    below = set(ROOMS[: ROOMS.index(room)])
    allowed = (ONLY[room] & below if room in ONLY else below) | FREE | {room}
    for line, name in _imports(path):
        if not name.startswith("webapp."):
            continue
        other = _room(tuple(name.split(".")[1:]))
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


ROUTERS = sorted([*(PACKAGE / "web" / "pages").glob("*.py"), *(PACKAGE / "web" / "api").glob("*.py")])
# Told to open pages by the records' notes alone; see webapp/web/telling.py.
TELLS = {"tell", "skip", "draw_anew", "end"}


@pytest.mark.parametrize("path", ROUTERS, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_no_router_tells_open_pages_what_changed(path: Path) -> None:
    tree = ast.parse(path.read_text())
    if not any(isinstance(node, ast.Name) and node.id == "router" for node in ast.walk(tree)):
        return
    for _, name in _imports(path):
        assert name not in ("webapp.web.telling", "webapp.web.gathering", "webapp.records.changes")
    for node in ast.walk(tree):
        if isinstance(node, ast.Attribute) and "live" in ast.unparse(node.value):
            assert node.attr not in TELLS, f"{path}:{node.lineno}: a router tells nobody what changed"


def test_no_use_case_tells_open_pages_what_changed() -> None:
    for room in ("records", "kit", "shoots", "recipes", "exports", "backups", "demo"):
        for path in (PACKAGE / room).rglob("*.py"):
            assert all(name != "webapp.live" for _, name in _imports(path)), path
