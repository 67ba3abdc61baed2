"""Formulas: those of the program are all taken, and whatever else is written, nothing but a formula comes of it."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.unit.test_import_directions import PACKAGE
from webapp.recipes.formulas import UnsoundFormula, check_formula, mathml_of
from webapp.web.pages.figures import mathml

_MATHML = "{http://www.w3.org/1998/Math/MathML}"
# MathML Core, W3C: what sets a formula. Nothing in it leads anywhere or holds foreign text.
_ELEMENTS = re.compile(
    r"math|mrow|m[ino]|mspace|m(sub|sup|subsup)|mfrac|msqrt|m(over|under|underover)|mtext|mstyle|mpadded"
)
_ATTRIBUTES = re.compile(
    r"display|stretchy|fence|form|mathvariant|width|linethickness|movablelimits|minsize|maxsize|scriptlevel"
    r"|displaystyle|accent|lspace|rspace|separator|largeop"
)


def formulas_of_the_program() -> Iterator[str]:
    for path in PACKAGE.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.keyword) and node.arg == "latex" and isinstance(node.value, ast.Constant):
                yield str(node.value.value)


def test_every_formula_of_the_program_is_taken() -> None:
    found = list(formulas_of_the_program())

    assert len(found) > 50
    for each in found:
        check_formula(each)


_COMMANDS = [
    r"\frac",
    r"\sqrt",
    r"\left",
    r"\right",
    r"\log",
    r"\lceil",
    r"\mathrm",
    r"\,",
    r"\text",
    r"\href",
    r"\style",
    r"\begin",
    r"\\",
    r"\unknown",
    r"javascript:",
]
tokens = st.sampled_from([*"{}{}^_()[]|xyαΣ123+-=<>&\"'#%$~ ", *_COMMANDS])


@given(st.lists(tokens, max_size=14).map("".join) | st.text(max_size=30))
def test_what_is_set_is_a_formula_and_nothing_besides(latex: str) -> None:
    drawn = mathml_of(latex)
    if drawn is None:
        return
    for each in ElementTree.fromstring(drawn).iter():
        assert _ELEMENTS.fullmatch(each.tag.removeprefix(_MATHML))
        assert all(_ATTRIBUTES.fullmatch(name) for name in each.attrib)


@pytest.mark.parametrize("latex", [r"\href{javascript:alert(1)}{x}", r"\frac{1}{", r"\text{<img src=x>}", ""])
def test_what_is_no_formula_is_not_drawn(latex: str) -> None:
    assert mathml(latex) == ""
    with pytest.raises(UnsoundFormula):
        check_formula(latex)
