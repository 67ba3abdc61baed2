"""The formulas that stand beside the plan's figures: fit to be shown, with a source that is listed."""

from __future__ import annotations

import re

import pytest
from latex2mathml.converter import convert

from webapp.optics.working import Relation
from webapp.plan import cube, levels, moving, shadows, softness, suggestions, ways
from webapp.web.words.citations import CITATIONS

RELATIONS = {
    f"{module.__name__.rpartition('.')[2]}.{name}": value
    for module in (cube, levels, moving, shadows, softness, suggestions, ways)
    for name, value in vars(module).items()
    if isinstance(value, Relation)
}
relations = pytest.mark.parametrize("relation", RELATIONS.values(), ids=list(RELATIONS))


@relations
def test_a_relation_names_a_source_that_is_listed_and_can_be_set(relation: Relation) -> None:
    assert relation.source in CITATIONS
    assert convert(relation.latex).startswith("<math")


@relations
def test_every_symbol_can_be_a_keyword_and_has_its_words(relation: Relation) -> None:
    for symbol in relation.symbols:
        assert re.fullmatch(r"\w+", symbol.name)
        assert symbol.meaning
