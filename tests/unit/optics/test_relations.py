"""The formulas that stand beside the functions: they must be fit to be shown, and say what the function does."""

from __future__ import annotations

import re
from importlib import import_module
from pathlib import Path
from pkgutil import iter_modules

import pytest
from latex2mathml.converter import convert

from webapp import optics
from webapp.optics import depth, macro
from webapp.optics.working import Relation
from webapp.web.words.citations import CITATIONS
from webapp.web.words.workings import assumed

MODULES = [import_module(f"webapp.optics.{found.name}") for found in iter_modules(optics.__path__)]
RELATIONS = {
    f"{module.__name__.rpartition('.')[2]}.{name}": value
    for module in MODULES
    for name, value in vars(module).items()
    if isinstance(value, Relation)
}
relations = pytest.mark.parametrize("relation", RELATIONS.values(), ids=list(RELATIONS))


@relations
def test_a_relation_names_a_source_that_is_listed(relation: Relation) -> None:
    assert relation.source in CITATIONS


def test_every_citation_is_of_a_source_that_is_named() -> None:
    package = Path(optics.__path__[0]).parent
    named = "\n".join(path.read_text() for path in package.rglob("*.py") if path.name != "citations.py")

    assert [key for key in CITATIONS if key not in named] == []


@relations
def test_every_symbol_stands_in_the_formula_and_can_be_a_keyword(relation: Relation) -> None:
    for symbol in relation.symbols:
        assert symbol.name.isidentifier()
        assert re.search(rf"(?<![A-Za-z_]){re.escape(symbol.name)}(?![A-Za-z])", relation.formula), symbol.name


@relations
def test_the_formula_can_be_set_as_mathml(relation: Relation) -> None:
    assert convert(relation.latex).startswith("<math")


def test_a_working_carries_its_numbers_and_its_source() -> None:
    step = macro.EFFECTIVE_F_NUMBER.worked(macro.effective_f_number(16, 1, 1), N=16, m=1, P=1)

    assert step.value == 32
    assert [given.value for given in step.given] == [16, 1, 1]
    assert "pupil magnification" in CITATIONS[step.source]


def test_depth_to_infinity_is_told_without_a_number() -> None:
    step = depth.FAR_LIMIT.worked(depth.far_limit_mm(50, 8, 0.03, 20_000), f=50, N=8, c=0.03, m=0.0025, P=1)

    assert step.value is None
    assert any("infinity" in assumption for assumption in assumed(step))
