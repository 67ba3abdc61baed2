"""A balance put right or taken as meant: corrections written into the set-up, other ways to a power, a lighting ratio."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import cast

from sqlmodel import Session as Database

from webapp.errors import Conflict, InvalidValue
from webapp.facts import Fact, fact
from webapp.kit import inventory
from webapp.ledger import field_values, fields, wishes
from webapp.ledger.entries import Cause
from webapp.ledger.grammars import PutIn
from webapp.ledger.ratio import fill_power_for, key_minus_fill_stops
from webapp.ledger.set_up import (
    SetUp,
)
from webapp.ledger.ways import LENS, Correction
from webapp.ledger.wishes import PowerWish
from webapp.records import shots as shot_records
from webapp.records.engine import Records
from webapp.records.tables import Standing
from webapp.shoots.set_up_now import StandingState, count_change, rewritten, state_in
from webapp.shoots.set_up_reasons import Reason
from webapp.shoots.shelf import RecordedShelf
from webapp.shoots.shot_context import context_in


def ways_to_power(records: Records, shot_id: str, wish: PowerWish) -> tuple[Correction, ...]:
    """The other ways to the light of a power that a head does not have."""
    with records.reading() as db:
        return _ways_to_power(db, shot_records.standing_of(db, shot_id), wish)


def _ways_to_power(db: Database, standing: Standing, wish: PowerWish) -> tuple[Correction, ...]:
    set_up = standing.set_up
    context = context_in(db, standing.shot_id, set_up)
    means = inventory.means_with(db, set_up, subject_is_static=context.shot.subject_is_static)
    return wishes.ways_to_power(set_up, wish, context.previous.set_up if context.previous else None, means)


def write_correction(
    records: Records, shot_id: str, digest: str, wish: PowerWish | None = None, *, save_key: str | None = None
) -> StandingState:
    """Write a correction's marks into the set-up now. `digest` is that of the correction as it was offered, for
    what is off or for a `wish`; where the set-up has moved on and none like it is offered any more, nothing is written
    and Conflict says so."""

    def rewrite(
        db: Database, standing: Standing, set_up: SetUp, versions: dict[str, int]
    ) -> tuple[SetUp, tuple[Fact, ...]]:
        offered = (
            _ways_to_power(db, standing, wish) if wish else state_in(db, shot_id, standing).assessment.corrections
        )
        chosen = next((each for each in offered if each.digest == digest), None)
        if chosen is None:
            raise Conflict("The set-up has changed since this correction was worked out; look at the new ones.")
        corrected, fields = apply_correction(set_up, chosen, RecordedShelf(db))
        for name in fields:
            count_change(versions, name)
        moves = filter(None, (chosen.first, chosen.move))
        return corrected, tuple(
            Fact(Reason.CORRECTION_WRITTEN, each.about, {**each.values, "move": each.reason}) for each in moves
        )

    return rewritten(records, shot_id, rewrite, save_key=save_key, asked=("correction", digest))


def apply_correction(set_up: SetUp, chosen: Correction, shelf: fields.KitShelf) -> tuple[SetUp, list[str]]:
    """The set-up with a correction's marks in it, and the names of the fields that moved."""
    moved: list[str] = []
    powers = chosen.to.get("lights", {chosen.acts_on: chosen.to})
    assert isinstance(powers, dict)
    for letter, to in powers.items():
        light = set_up.light(letter)
        if light is not None and "power_stops" in to:
            set_up = set_up.with_light(replace(light, power_stops=float(to["power_stops"])))
            moved.append(f"lights.{letter}.power")
    for whose, sheets in chosen.sheets.items():
        field = "lens_filters" if whose == LENS else f"lights.{whose}.filters"
        moved.append(field)
        if not sheets:
            set_up = field_values.write(set_up, field, (), shelf)
        for sheet in sheets:
            set_up = field_values.write(set_up, field, PutIn(sheet), shelf)
    if chosen.cause is Cause.DISTANCE:
        field = f"lights.{chosen.acts_on}.distance"
        moved.append(field)
        set_up = field_values.write(set_up, field, round(cast("float", chosen.to["distance_mm"]), 3), shelf)
    if chosen.cause is Cause.POPS:
        moved.append("pops")
        set_up = field_values.write(set_up, "pops", cast("int", chosen.to["pops"]), shelf)
    if chosen.mark is not None:
        moved.append(chosen.mark.quantity)
        set_up = field_values.write(set_up, chosen.mark.quantity, chosen.mark, shelf)
    return set_up, moved


def mean_as_it_stands(
    records: Records, shot_id: str, letters: Sequence[str], *, save_key: str | None = None
) -> StandingState:
    """Take the balances of lights as they stand for their targets: the shifts are intended, and stay quiet."""

    def rewrite(
        db: Database, standing: Standing, set_up: SetUp, versions: dict[str, int]
    ) -> tuple[SetUp, tuple[Fact, ...]]:
        assessment = state_in(db, shot_id, standing).assessment
        told = []
        for letter in letters:
            light, line = set_up.light(letter), assessment.of(letter)
            if light is None or line is None or line.stops is None:
                raise Conflict("There is no balance of that light to be meant.")
            field = f"lights.{letter}.intended"
            count_change(versions, field)
            meant = round(line.stops, 2)
            set_up = set_up.with_light(replace(light, intended_stops=meant))
            told.append(fact(Reason.SHIFT_IS_MEANT, letter, meant_stops=meant))
        return set_up, tuple(told)

    return rewritten(records, shot_id, rewrite, save_key=save_key, asked=("intended", *letters))


def aim_at_ratio(
    records: Records, shot_id: str, ratio: float, convention: str, *, save_key: str | None = None
) -> StandingState:
    """Bring key and fill to a lighting ratio by the energy of the fill alone; the shift of the fill is then meant.

    Raises InvalidValue for a ratio without a meaning or out of the fill's reach, Conflict where no shares are measured.
    """

    def rewrite(
        db: Database, standing: Standing, set_up: SetUp, versions: dict[str, int]
    ) -> tuple[SetUp, tuple[Fact, ...]]:
        stands = state_in(db, shot_id, standing)
        at = stands.evidence.ratio
        if at is None or at.ratio is None:
            raise Conflict("The ratio is not known: a frame lit by the key alone and one by the fill alone give it.")
        try:
            wanted = key_minus_fill_stops(ratio, convention)
            fill, power = fill_power_for(set_up, at.ratio, wanted)
        except ValueError as problem:
            raise InvalidValue("ratio", str(problem)) from problem
        line = stands.assessment.of(fill.letter)
        moved = fill.head.learned_slope * (power - (fill.power_stops or 0.0))
        meant = fill.intended_stops if line is None or line.stops is None else round(line.stops + moved, 2)
        for name in ("power", "intended"):
            field = f"lights.{fill.letter}.{name}"
            count_change(versions, field)
        told = fact(
            Reason.RATIO_AIMED_AT,
            fill.letter,
            was=fill.power_mark(),
            now=fill.power_mark(power),
            ratio=ratio,
            patch=at.name,
        )
        return set_up.with_light(replace(fill, power_stops=power, intended_stops=meant)), (told,)

    return rewritten(records, shot_id, rewrite, save_key=save_key, asked=("ratio", str(ratio), convention))
