"""Facts below, words above: every reason has words, and no room below the page holds a sentence for it."""

from __future__ import annotations

import ast
import importlib
import re
from collections.abc import Iterator
from enum import StrEnum
from pathlib import Path

import pytest

import webapp
from tests.unit.test_import_directions import PACKAGE, ROOMS
from webapp.web.words import say as saying

# The texts of refusals live with the error: these rooms hold nothing else.
REFUSALS = ("errors", "disk", "security")
# Rooms that stand below the page. What is above it, or is the page, may hold sentences.
BELOW = tuple(room for room in ROOMS[: ROOMS.index("web.words")] if room not in REFUSALS)


def modules_below() -> Iterator[tuple[str, Path]]:
    for path in sorted(PACKAGE.rglob("*.py")):
        name = ".".join(path.relative_to(PACKAGE).with_suffix("").parts).removesuffix(".__init__")
        if any(name == room or name.startswith(f"{room}.") for room in BELOW):
            yield name, path


def reasons() -> Iterator[tuple[str, type[StrEnum]]]:
    for name, path in modules_below():
        for listed in re.findall(r"^class (Reason|Assumption)\(StrEnum\)", path.read_text(), re.MULTILINE):
            yield name, getattr(importlib.import_module(f"webapp.{name}"), listed)


def test_every_reason_has_words() -> None:
    unsaid = [
        f"{name}.{each.name}"
        for name, listed in reasons()
        for each in listed
        if not any(each.value in words for words in saying._ALL)
    ]

    assert unsaid == []


def test_no_reason_stands_in_two_lists() -> None:
    known: dict[str, str] = {}
    twice = []
    for name, listed in reasons():
        for each in listed:
            if known.setdefault(each.value, name) != name:
                twice.append(f"{each.value}: {known[each.value]}, {name}")

    assert twice == []


def test_no_words_are_left_for_a_reason_that_is_none() -> None:
    known = {each.value for _, listed in reasons() for each in listed}

    assert [str(each) for words in saying._ALL for each in words if str(each) not in known] == []


@pytest.mark.parametrize(("name", "listed"), [pytest.param(*each, id=each[0]) for each in reasons()])
def test_every_reason_is_given_somewhere(name: str, listed: type[StrEnum]) -> None:
    said = "\n".join(path.read_text() for each, path in modules_below() if each != name)
    # A migration writes what was said before there were reasons.
    kept = "\n".join(path.read_text() for path in (PACKAGE.parent / "migrations" / "versions").glob("*.py"))

    assert [each.name for each in listed if f".{each.name}" not in said and each.value not in kept] == []


# --- sentences ----------------------------------------------------------------------------------------------------

_WORD = re.compile(r"[A-Za-z][A-Za-z'’-]*")
# What is given to these is the text of a refusal, or is told to whoever reads a schema or the log of the server.
_NOT_FOR_THE_PAGE = re.compile(
    r"(Error|Exception|Conflict|NotFound|Invalid\w*|Refused|TooLarge|NotReadYet|StaleValue|Field|ConfigDict|deprecated|log\w*|refused|invalid"
    r"|warning|info|debug|error|exception|text|DDL|execute|exec_driver_sql|compile)$"
)
_FORMULA = re.compile(r"\S+(?: \S+\))? = ")
_BEGINS = re.compile(r"\s*[A-Z](?![A-Z])")
_SQL = re.compile(r"\s*(SELECT|INSERT|UPDATE|DELETE|CREATE|WITH|PRAGMA|DROP|BEGIN|VACUUM|AND|OR)\b")


def reads_like_a_sentence(text: str) -> bool:
    """At least four words and a full stop, or a capital at its start, which that of ISO is not, and five.

    >>> [reads_like_a_sentence(each) for each in ("A is off now.", "Put the light a little higher", "depth of field")]
    [True, True, False]
    """
    if _SQL.match(text) or _FORMULA.match(text):
        return False
    words = _WORD.findall(text)
    ends, begins = text.rstrip().endswith("."), _BEGINS.match(text) is not None
    return (ends and len(words) >= 4) or (begins and len(words) >= 5)


def sentences_in(tree: ast.Module) -> Iterator[tuple[int, str]]:
    yield from _sentences(tree)


def _sentences(node: ast.AST) -> Iterator[tuple[int, str]]:
    if isinstance(node, ast.Raise | ast.Assert):
        return
    if isinstance(node, ast.Call) and _NOT_FOR_THE_PAGE.search(_name_of(node.func)):
        return
    if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
        return
    if isinstance(node, ast.JoinedStr):
        text = "".join(each.value if isinstance(each, ast.Constant) else "X" for each in node.values)
        if reads_like_a_sentence(text):
            yield node.lineno, text
        return
    if isinstance(node, ast.Constant):
        if isinstance(node.value, str) and reads_like_a_sentence(node.value):
            yield node.lineno, node.value
        return
    for child in ast.iter_child_nodes(node):
        yield from _sentences(child)


def _name_of(called: ast.expr) -> str:
    return called.attr if isinstance(called, ast.Attribute) else called.id if isinstance(called, ast.Name) else ""


# --- printed values -----------------------------------------------------------------------------------------------

# Where a value is printed below the page, since it is read back there: the grammars of the fields.
GRAMMARS = ("quantities", "ledger.grammars", "ledger.placing")
# The name that a place has on its dial is no print: it is how a mark is told.
_NAMES_A_MARK = "fraction_text"
_PRINTERS_OF_LENGTHS = ("text", "offset_text", "sides", "difference")
_LENGTHS = re.compile(r"(?:.*\.)?(?:lengths|tape|CENTIMETRES)|Lengths\(.*\)")


def printed_in(tree: ast.Module) -> Iterator[tuple[int, str]]:
    """Where a mark or another value is put into text as a reader sees it, by a printer of `quantities`, and a length in
    a reader's unit."""
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("webapp.quantities."):
            names = [each.name for each in node.names]
            printers = (name for name in names if name.endswith("_text") or name == "written")
            yield from ((node.lineno, name) for name in printers if name != _NAMES_A_MARK)
        if (
            isinstance(node, ast.Attribute)
            and node.attr in _PRINTERS_OF_LENGTHS
            and _LENGTHS.fullmatch(ast.unparse(node.value))
        ):
            yield node.lineno, ast.unparse(node)


@pytest.mark.parametrize(("name", "path"), [pytest.param(*each, id=each[0]) for each in modules_below()])
def test_no_value_is_printed_below_the_page(name: str, path: Path) -> None:
    if any(name == each or name.startswith(f"{each}.") for each in GRAMMARS):
        return
    assert list(printed_in(ast.parse(path.read_text()))) == []


@pytest.mark.parametrize(
    ("code", "found"),
    [
        ("from webapp.quantities.marks import mark_text, read_mark", 1),
        ("lengths.text(at.distance_mm)", 1),
        ("Lengths(inches).offset_text(z_mm)", 1),
        ("dial.mark(stops)", 0),
        ("from webapp.quantities.powers import fraction_text", 0),
        ("grammar.text(value, owner, lengths)", 0),
    ],
)
def test_a_printed_value_is_known_by_its_printer(code: str, found: int) -> None:
    assert len(list(printed_in(ast.parse(code)))) == found


# --- the list -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("name", "path"), [pytest.param(*each, id=each[0]) for each in modules_below()])
def test_no_sentence_stands_below_the_page(name: str, path: Path) -> None:
    assert [f"line {line}: {text}" for line, text in sentences_in(ast.parse(path.read_text()))] == []


@pytest.mark.parametrize(
    ("code", "found"),
    [
        ('x = "A light is off now."', 1),
        ('x = f"{a} is off now, and {b}."', 1),
        ('raise ValueError("A light is off now.")', 0),
        ('def f():\n    """A docstring that says what it does."""', 0),
        ('x = "depth of field"', 0),
        ('x = fact(Reason.LIGHT_IS_OFF, "A", light="key A")', 0),
    ],
)
def test_a_sentence_is_known_by_how_it_reads(code: str, found: int) -> None:
    assert len(list(sentences_in(ast.parse(code)))) == found


def test_the_package_is_read() -> None:
    assert Path(webapp.__file__).parent == PACKAGE
    assert len(list(modules_below())) > 100
