"""POST /balance: two exposures in, entries, balances and corrections out. No records, no kit but what the body says."""

from __future__ import annotations

from fastapi import APIRouter
from pydantic import BaseModel, Field

from webapp.ledger.corrections import suggest
from webapp.ledger.entries import compare
from webapp.ledger.ways import Means, Target
from webapp.web.api.answers import CorrectionAnswer, EntryAnswer, Stops, texts_of
from webapp.web.api.balance_bodies import BalanceBody
from webapp.web.api.requests import JsonRoute

router = APIRouter(tags=["balance"], route_class=JsonRoute)


class BalanceAnswer(BaseModel):
    """What changed, in stops; what it comes to for each light and for the "ambient" light; and the ways to put the
    flashes right, in the order a working photographer tries them."""

    entries: list[EntryAnswer]
    balances: dict[str, Stops | None] = Field(description="null where it is unknown; a note says why")
    corrections: list[CorrectionAnswer]
    notes: list[str] = Field(description="what was assumed, what is unknown, and the ways the dials do not reach")


@router.post("/balance")
def balance(body: BalanceBody) -> BalanceAnswer:
    """Hold one exposure against another."""
    before, after = body.exposures()
    compared = compare(before, after)
    means = Means(f_number_dial=body.dial.f_number, iso_dial=body.dial.iso)
    corrections, out_of_reach = suggest(after, compared.balances, Target(body.target_stops), means)
    notes = [*texts_of(compared.notes), *body.taken_as_unchanged(), *texts_of(out_of_reach)]
    return BalanceAnswer(
        entries=[EntryAnswer.of(entry) for entry in compared.entries],
        balances=compared.balances,
        corrections=[CorrectionAnswer.of(correction) for correction in corrections],
        notes=list(dict.fromkeys(notes)),
    )
