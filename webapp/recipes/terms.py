"""The trade terms of the house, by which recipes are described and found: laid out, kept, merged, dropped."""

from __future__ import annotations

from collections.abc import Iterable

from webapp.errors import InvalidValue
from webapp.recipes.search.vocabulary import STARTING_TERMS
from webapp.records import recipes as recipe_records
from webapp.records.engine import Records
from webapp.records.revisions import revise
from webapp.records.tables import VocabularyTerm

_MOST_WORDINGS = 40


def lay_out_vocabulary(records: Records) -> bool:
    """Give an empty house the plain trade terms to start with; whether it was empty."""
    with records.writing() as db:
        if recipe_records.vocabulary(db):
            return False
        db.add_all(
            VocabularyTerm(facet=facet, term=term, others="\n".join(others))
            for facet, terms in STARTING_TERMS.items()
            for term, others in terms.items()
        )
        return True


def keep_term(
    records: Records,
    facet: str,
    term: str,
    wordings: Iterable[str],
    term_id: str | None = None,
    revision: int | None = None,
    *,
    keep_old: bool = False,
) -> str:
    """Keep a term of a vocabulary with its other wordings; the answer is its id. `revision` is the one of an earlier
    wording that was read. With `keep_old` a term that is renamed keeps the old word among the others, so that recipes
    that have it are found. Raises InvalidValue where it is empty or there already, and StaleRecord."""
    term, wordings = term.strip(), [each.strip() for each in wordings if each.strip()]
    _check(term, wordings)
    if facet not in STARTING_TERMS:
        raise InvalidValue("facet", f"A term belongs to one of: {', '.join(STARTING_TERMS)}.")
    with records.writing() as db:
        stands = recipe_records.vocabulary(db)
        if any(each.facet == facet and each.term == term and each.id != term_id for each in stands):
            raise InvalidValue("term", f"“{term}” is in the list already.")
        others = "\n".join(wordings)
        if term_id is None:
            row = VocabularyTerm(facet=facet, term=term, others=others)
            db.add(row)
        else:
            row = recipe_records.vocabulary_term(db, term_id)
            if keep_old and row.term != term and row.term not in wordings:
                others = "\n".join([*wordings, row.term])
            revise(row, {"facet": facet, "term": term, "others": others}, revision)
        return row.id


def _check(term: str, wordings: list[str]) -> None:
    if not term or len(term) > 60 or any(len(each) > 60 for each in wordings) or len(wordings) > _MOST_WORDINGS:
        raise InvalidValue(
            "term", f"A term and its other words have 1 to 60 letters each, and there are {_MOST_WORDINGS} at most."
        )


def merge_terms(records: Records, term_id: str, into_id: str) -> str:
    """Make a term, with its other wordings, another wording of one of the same vocabulary; the answer is that term.
    Raises NotFound, and InvalidValue where it cannot be that."""
    with records.writing() as db:
        gone, into = recipe_records.vocabulary_term(db, term_id), recipe_records.vocabulary_term(db, into_id)
        if gone.id == into.id or gone.facet != into.facet:
            raise InvalidValue("into", "A term is merged into another of the same group.")
        wordings = dict.fromkeys([*into.others.splitlines(), gone.term, *gone.others.splitlines()])
        wordings.pop(into.term, None)
        _check(into.term, list(wordings))
        db.delete(gone)
        revise(into, {"facet": into.facet, "term": into.term, "others": "\n".join(wordings)}, None)
        return into.term


def drop_term(records: Records, term_id: str) -> None:
    """Take a term out of its vocabulary; recipes keep the words they were published with."""
    with records.writing() as db:
        db.delete(recipe_records.vocabulary_term(db, term_id))
