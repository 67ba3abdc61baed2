"""What the set-up of a shot is compared with: its reference frame, the frame before, the first frames of its lights, and what its pictures prove."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from sqlmodel import Session as Database

from webapp.ledger.assessment import Baselines, NumberedSetUp
from webapp.ledger.reshoot_target import ReshootTarget
from webapp.ledger.set_up import (
    SetUp,
)
from webapp.records import shots as shot_records
from webapp.records.engine import recall, remember
from webapp.records.shots import MADE_TO_BE_READ
from webapp.records.tables import Frame, Shot
from webapp.shoots.evidence import Witnesses, target_of, witnesses


@dataclass(frozen=True, slots=True)
class ShotContext:
    """What the set-up of a shot is compared with: read once, and kept until something of it changes. `first_lit` has
    the first frame in which a light was lit, by the letters that were asked for; None where there is no such frame."""

    shot: Shot
    reference: NumberedSetUp | None
    target: ReshootTarget | None
    previous: NumberedSetUp | None
    next_number: int
    witnesses: Witnesses
    first_lit: Mapping[str, NumberedSetUp | None]

    def baselines(self, set_up: SetUp) -> Baselines:
        """What a set-up is compared with; `first_lit` must know its letters."""
        found = {letter: self.first_lit[letter] for letter in _lit_anew(set_up, self.reference or self.target)}
        return Baselines(
            self.reference, self.previous, {each: was for each, was in found.items() if was}, self.target
        )

    def after(self, frame: Frame, set_up: SetUp, *, is_reference: bool) -> ShotContext:
        """The same after a frame without a picture was logged: no reading has changed."""
        logged = NumberedSetUp(frame.number, set_up)
        lit = {letter: was or (logged if letter in frame.lit else None) for letter, was in self.first_lit.items()}
        counts = frame.purpose not in MADE_TO_BE_READ and frame.exposed_before is None
        return replace(
            self,
            reference=logged if is_reference else self.reference,
            target=None if is_reference else self.target,
            previous=logged if counts else self.previous,
            next_number=frame.number + 1,
            first_lit=lit,
        )


def context_in(db: Database, shot: Shot | str, set_up: SetUp) -> ShotContext:
    """The context of a shot, from what is kept where it still holds."""
    shot_id = shot if isinstance(shot, str) else shot.id
    known: ShotContext | None = recall(db, shot_id)
    if known is None:
        row = shot_records.shot_of(db, shot) if isinstance(shot, str) else shot
        reference = db.get(Frame, row.reference_frame_id) if row.reference_frame_id else None
        known = ShotContext(
            shot=row,
            reference=numbered(reference),
            target=target_of(db, row),
            previous=numbered(shot_records.frame_before(db, shot_id)),
            next_number=shot_records.next_frame_number(db, shot_id),
            witnesses=witnesses(db, row),
            first_lit={},
        )
    asked = [each for each in _lit_anew(set_up, known.reference or known.target) if each not in known.first_lit]
    first = {letter: numbered(shot_records.first_frame_lit_by(db, shot_id, letter)) for letter in asked}
    if first:
        known = replace(known, first_lit={**known.first_lit, **first})
    remember(db, shot_id, known)
    return known


def _lit_anew(set_up: SetUp, standard: NumberedSetUp | ReshootTarget | None) -> list[str]:
    """The lights that are lit now and were not in the frame that balances are taken against."""
    was = {light.letter for light in standard.set_up.lights if light.lit} if standard else set()
    return [light.letter for light in set_up.lights if light.lit and light.letter not in was]


def baselines_for(db: Database, shot: Shot, set_up: SetUp, number: int | None = None) -> Baselines:
    """What a set-up is compared with: for the standing one, all frames so far; for frame `number`, those up to it."""
    reference_row = db.get(Frame, shot.reference_frame_id) if shot.reference_frame_id else None
    reference, target = numbered(reference_row), target_of(db, shot)
    standard = reference or target
    previous = numbered(shot_records.frame_before(db, shot.id, number))
    first_lit: dict[str, NumberedSetUp] = {}
    for light in set_up.lights:
        was = standard.set_up.light(light.letter) if standard else None
        if light.lit and (was is None or not was.lit):
            first = numbered(shot_records.first_frame_lit_by(db, shot.id, light.letter, number))
            if first is not None:
                first_lit[light.letter] = first
    return Baselines(reference, previous, first_lit, target)


def numbered(frame: Frame | None) -> NumberedSetUp | None:
    """The set-up of a frame, with its number."""
    return None if frame is None else NumberedSetUp(frame.number, frame.set_up)
