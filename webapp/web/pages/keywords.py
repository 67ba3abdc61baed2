"""Keywords: the trade terms that recipes are described and found by, on one page of chips, one of them open at a time."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Annotated

from fastapi import APIRouter, Query, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from webapp.errors import InvalidValue, StaleRecord
from webapp.quantities.reading import words_in
from webapp.recipes import terms
from webapp.recipes.search.vocabulary import VOCABULARIES, tokens
from webapp.records import recipes as recipe_records
from webapp.records.tables import VocabularyTerm
from webapp.security.identity import Right, owner_only
from webapp.services import InServices, Services
from webapp.web.pages.form_view import RevisionView, parted, revision_view
from webapp.web.pages.render import go_to, render, wants_partial
from webapp.web.pages.sessions import said_in

router = APIRouter()
_PAGE = "/recipes/vocabulary"
_NEW = "new"


@dataclass(frozen=True, slots=True)
class Chip:
    """A term with its other words."""

    id: str
    term: str
    others: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class TermForm:
    """The one term that is open to be edited, or a new one: its id is then empty. `merged_into` are those of its group
    that it may be merged into, by id and term."""

    id: str
    facet: str
    term: str
    others: str
    revision: RevisionView
    merged_into: tuple[tuple[str, str], ...] = ()
    problem: str = ""


@dataclass(frozen=True, slots=True)
class KeywordGroup:
    """The terms of one vocabulary, as far as they meet the filter; `of` is how many there are in all."""

    facet: str
    chips: tuple[Chip, ...]
    of: int


@dataclass(frozen=True, slots=True)
class Asked:
    """What of the page is asked for: a filter, and the term that is open ("new" with its group for one to add).
    `closed` is the one that was open before, where the keyboard goes back to ("add" with a group for its Add)."""

    q: str = ""
    opened: str = ""
    facet: str = ""
    closed: str = ""


@router.get(_PAGE)
def keywords_page(
    request: Request,
    services: InServices,
    q: Annotated[str, Query(max_length=200)] = "",
    opened: Annotated[str, Query(alias="open", max_length=60)] = "",
    facet: Annotated[str, Query(max_length=60)] = "",
    closed: Annotated[str, Query(max_length=60)] = "",
) -> Response:
    return _keywords(request, services, Asked(q, opened, facet, closed))


@router.post(_PAGE)
@owner_only
async def keep_term(request: Request, services: InServices) -> Response:
    """Keep a term, merge it into another, or delete it."""
    said = await said_in(request)
    return await run_in_threadpool(_keep_term, request, services, said)


def _keep_term(request: Request, services: Services, said: Mapping[str, str]) -> Response:
    term_id = said.get("term_id") or None
    fields, revision = parted(said)
    facet, term = fields.get("facet", ""), fields.get("term", "")
    asked = Asked(fields.get("q", ""), term_id or _NEW, facet)
    back_to = f"add {facet}"
    try:
        if term_id and "drop" in said:
            terms.drop_term(services.records, term_id)
            told = "Deleted."
        elif term_id and "merge" in said:
            back_to = fields.get("into", "")
            told = f"Merged into {terms.merge_terms(services.records, term_id, back_to)}."
        else:
            others = words_in(fields.get("others", ""))
            back_to = terms.keep_term(
                services.records, facet, term, others, term_id, revision, keep_old="keep_old" in said
            )
            told = f"Saved: {term.strip()}."
    except InvalidValue as error:
        return _keywords(request, services, asked, status=422, said=said, error=error)
    except StaleRecord as error:
        return _keywords(request, services, asked, status=409, said=said, error=error)
    if wants_partial(request):
        return _keywords(request, services, Asked(asked.q, closed=back_to), told=told)
    return go_to(request, _PAGE)


def _keywords(
    request: Request,
    services: Services,
    asked: Asked,
    *,
    status: int = 200,
    said: Mapping[str, str] | None = None,
    error: InvalidValue | StaleRecord | None = None,
    told: str = "",
) -> Response:
    with services.records.reading() as db:
        rows = recipe_records.vocabulary(db)
    form = _form(rows, asked, said, error)
    return render(
        request,
        "vocabulary.html",
        "keywords.html",
        status=status,
        groups=tuple(_group(facet, rows, asked.q, form) for facet in VOCABULARIES),
        q=asked.q,
        is_owner=request.scope["identity"].may(Right.OWN),
        form=form,
        closed=asked.closed,
        told=told,
        problem=str(error) if error and form is None else "",
    )


def _group(facet: str, rows: Sequence[VocabularyTerm], q: str, form: TermForm | None) -> KeywordGroup:
    of = [row for row in rows if row.facet == facet]
    wanted = tokens(q)
    chips = tuple(
        Chip(row.id, row.term, tuple(row.others.splitlines()))
        for row in of
        if (form and form.id == row.id) or _meets(row, wanted)
    )
    return KeywordGroup(facet, chips, len(of))


def _meets(row: VocabularyTerm, wanted: Sequence[str]) -> bool:
    """Whether every word that was typed begins one of a term's, or of its other words."""
    words = tokens(f"{row.term} {row.others}")
    return all(any(word.startswith(each) for word in words) for each in wanted)


def _form(
    rows: Sequence[VocabularyTerm],
    asked: Asked,
    said: Mapping[str, str] | None,
    error: InvalidValue | StaleRecord | None,
) -> TermForm | None:
    typed = said or {}
    problem = str(error) if isinstance(error, InvalidValue) else ""
    if asked.opened == _NEW and asked.facet in VOCABULARIES:
        return TermForm(
            "", asked.facet, typed.get("term", ""), typed.get("others", ""), revision_view(1, said), problem=problem
        )
    row = next((row for row in rows if row.id == asked.opened), None)
    if row is None:
        return None
    others = "; ".join(row.others.splitlines())
    term, typed_others = typed.get("term", row.term), typed.get("others", others)
    stale = error if isinstance(error, StaleRecord) else None
    texts = (("term", row.term, term), ("other words", others, typed_others))
    return TermForm(
        id=row.id,
        facet=row.facet,
        term=term,
        others=typed_others,
        revision=revision_view(row.revision, said, stale, texts),
        merged_into=tuple((each.id, each.term) for each in rows if each.facet == row.facet and each.id != row.id),
        problem=problem,
    )
