"""The set-up now: load it with everything that is said about it, and change it.

Each use-case loads, lets the pure part decide, and saves, in one transaction; the answer is the state as it now
stands, ready to be drawn.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from typing import Final
from zoneinfo import ZoneInfo

from sqlmodel import Session as Database

from webapp.errors import Changed, Conflict, InvalidValue, NotFound, SeveralInvalid, StaleValue
from webapp.facts import Fact, fact
from webapp.kit import inventory
from webapp.kit.learned import with_crossed_pair
from webapp.kit.units import lengths_in
from webapp.ledger import field_values, fields, moves
from webapp.ledger.assessment import Assessment, Baselines, NumberedSetUp, assess
from webapp.ledger.grammars import Value
from webapp.ledger.moves import Move
from webapp.ledger.set_up import (
    HeadFigures,
    IncidentReading,
    Light,
    SetUp,
)
from webapp.optics.scales import Marked
from webapp.quantities.lengths import CENTIMETRES, Lengths
from webapp.records import shots as shot_records
from webapp.records.changes import keep_state
from webapp.records.engine import Records, as_of
from webapp.records.idempotency import answer_before, body_digest, keep_answer
from webapp.records.shots import AMBIENT_CHECK
from webapp.records.tables import FieldChange, Shot, Standing, new_id, now, whoever
from webapp.shoots.evidence import StandingEvidence, standing_evidence
from webapp.shoots.set_up_reasons import Reason
from webapp.shoots.shelf import RecordedShelf
from webapp.shoots.shot_context import context_in, numbered

ORDINARY: Final = "test"
"""What a frame is for, where nothing is said of it."""
STAYING: Final = frozenset({"stack", "comparison"})
"""What the next frames are for, too, until the set-up changes."""


@dataclass(frozen=True, slots=True)
class StandingState:
    """A shot's set-up now with all that is said about it; `says` is what the last change did, where it did more
    than was asked, `set_up_for` the frame made to be read that is set up, if any, `lengths` how the house reads
    lengths, `as_of` the last change that is in it."""

    shot: Shot
    set_up: SetUp
    versions: dict[str, int]
    assessment: Assessment
    previous: NumberedSetUp | None
    next_number: int
    purpose: str
    because: str
    says: tuple[Fact, ...]
    set_up_for: str
    evidence: StandingEvidence = StandingEvidence()
    last_move: Move | None = None
    lengths: Lengths = CENTIMETRES
    as_of: int = 0

    @property
    def checking_ambient(self) -> bool:
        return self.set_up_for == AMBIENT_CHECK


@dataclass(frozen=True, slots=True)
class Change:
    """One field of the set-up now, to be set to a typed value or moved from where it stands. `version` is that of
    the page it was typed on; None leaves the check out. `lengths` is how that page writes lengths."""

    field: str
    value: Value
    version: int | None = None
    lengths: Lengths = CENTIMETRES


def state(records: Records, shot_id: str) -> StandingState:
    """The set-up now."""
    with records.reading() as db:
        return state_in(db, shot_id, shot_records.standing_of(db, shot_id))


def reckon(records: Records, standing: Standing, number: int) -> StandingState:
    """What is said of a set-up that change `number` has just kept: worked out when the writers' lock is free again."""
    with records.reading() as db:
        found = replace(state_in(db, standing.shot_id, standing), as_of=number)
        keep_state(db, standing.shot_id, found)
        return found


@dataclass(frozen=True, slots=True)
class ActiveShot:
    """The shot on the set, by its title, with its set-up as it stands."""

    title: str
    set_up: SetUp


def active_shot(records: Records) -> ActiveShot | None:
    """The shot on the set; None where there is none."""
    with records.reading() as db:
        shot = shot_records.shot_on_the_set(db)
        return ActiveShot(shot.title, shot_records.standing_of(db, shot.id).set_up) if shot is not None else None


@contextmanager
def reading(records: Records, shot_id: str, lengths: Lengths | None = None) -> Iterator[field_values.Reader]:
    """A reader of what was typed for the set-up as it stands, in the lengths of the house where none are given. Nothing
    is kept."""
    with records.reading() as db:
        yield reader_in(db, shot_records.standing_of(db, shot_id).set_up, lengths)


def reader_in(db: Database, set_up: SetUp, lengths: Lengths | None = None) -> field_values.Reader:
    """The same for any set-up, inside a transaction."""
    return field_values.Reader(set_up, RecordedShelf(db), lengths or lengths_in(db))


def state_in(db: Database, shot: Shot | str, standing: Standing) -> StandingState:
    """The same inside a transaction that has already loaded the row of the set-up."""
    set_up = standing.set_up
    context = context_in(db, shot, set_up)
    means = inventory.means_with(db, set_up, subject_is_static=context.shot.subject_is_static)
    assessment = assess(set_up, context.baselines(set_up), means)
    return StandingState(
        shot=context.shot,
        set_up=set_up,
        versions=dict(standing.versions),
        assessment=assessment,
        previous=context.previous,
        next_number=context.next_number,
        purpose=standing.purpose,
        because=standing.because,
        says=standing.says,
        set_up_for=standing.kept.made_for if standing.kept is not None else "",
        evidence=standing_evidence(context.witnesses, context.shot, set_up, assessment),
        last_move=moves.last_move(standing.moves, set_up),
        lengths=means.tape,
        as_of=as_of(db),
    )


def change(
    records: Records, shot_id: str, changes: Sequence[Change], *, save_key: str | None = None
) -> StandingState:
    """Set fields of the set-up now: all of them, or, where one cannot be kept, none. The same `save_key` with the
    same changes makes them once.

    Raises SeveralInvalid with every field that cannot be kept, StaleValue where a field was changed by somebody
    else since it was read.
    """
    body = body_digest(shot_id, [[each.field, repr(each.value)] for each in changes]) if save_key else ""
    with records.writing() as db:
        standing, number = shot_records.standing_of(db, shot_id), as_of(db)
        if answer_before(db, save_key, body) is None:
            change_in(db, standing, changes)
            keep_answer(db, save_key, body, shot_id)
    return reckon(records, standing, number)


def change_in(db: Database, standing: Standing, changes: Sequence[Change]) -> None:
    """The same inside a transaction that has already loaded the row."""
    set_up = standing.set_up
    versions: dict[str, int] = dict(standing.versions)
    shelf = RecordedShelf(db)
    problems: list[InvalidValue] = []
    for each in changes:
        try:
            set_up = _changed(db, standing, set_up, each, versions, shelf)
        except InvalidValue as problem:
            problems.append(problem)
    if problems:
        raise SeveralInvalid(problems)
    _save(db, standing, with_crossed_pair(db, set_up), versions)


def _changed(
    db: Database, standing: Standing, set_up: SetUp, asked: Change, versions: dict[str, int], shelf: RecordedShelf
) -> SetUp:
    changed = field_values.write(set_up, asked.field, asked.value, shelf, asked.lengths)
    if asked.version is not None and asked.version != versions.get(asked.field, 0) and changed != set_up:
        raise StaleValue(
            tuple(asked.field.split(".")),
            fields.words_of(asked.field),
            field_values.text_of(set_up, asked.field, asked.lengths),
            field_values.text_of(changed, asked.field, asked.lengths),
            _changed_by(db, standing, asked.field),
        )
    if changed != set_up:
        count_change(versions, asked.field)
    return changed


def _changed_by(db: Database, standing: Standing, field: str) -> Changed:
    """Who changed a field last, and when, by the session's clock; nobody where that was not kept."""
    change = standing.changes.get(field)
    if change is None:
        return Changed()
    session = shot_records.session_of(db, shot_records.shot_of(db, standing.shot_id).session_id)
    at = f"{change.at.astimezone(ZoneInfo(session.zone)):%H:%M:%S}"
    return Changed(change.by, change.by == whoever(), change.frame, change.file, at)


def note_changes(standing: Standing, versions: dict[str, int], frame: int | None = None, file: str = "") -> None:
    """Note who changed the fields whose versions are others now: whoever asks, or the file of a frame."""
    change = FieldChange(now(), "" if file else whoever(), frame, file)
    counted = {name: change for name, count in versions.items() if count != standing.versions.get(name, 0)}
    standing.changes = {**standing.changes, **counted}
    standing.versions = versions


def count_change(versions: dict[str, int], field: str) -> None:
    """A field was changed, and with it the one that it moves."""
    for name in (field, *fields.moves_with(field)):
        versions[name] = versions.get(name, 0) + 1


def purpose_over(db: Database, standing: Standing, set_up: SetUp) -> tuple[Fact, ...]:
    """A stack or a comparison is over when the set-up becomes another than its last frame had: the next frame is a test,
    and that is told. One of which no frame is logged yet waits for its first."""
    if standing.purpose not in STAYING or set_up == standing.set_up:
        return ()
    before = shot_records.frame_before(db, standing.shot_id)
    if before is None or before.purpose != standing.purpose:
        return ()
    if not assess(standing.set_up, Baselines(previous=numbered(before))).is_unchanged:
        return ()
    number = shot_records.next_frame_number(db, standing.shot_id)
    over = fact(Reason.PURPOSE_OVER, purpose=standing.purpose, frame=number)
    standing.purpose = ORDINARY
    return (over,)


def _save(
    db: Database, standing: Standing, set_up: SetUp, versions: dict[str, int], says: tuple[Fact, ...] = ()
) -> None:
    over = purpose_over(db, standing, set_up)
    move = moves.move_between(standing.set_up, set_up, new_id())
    if move is not None:
        standing.moves = moves.with_move(standing.moves, move)
    standing.set_up = set_up
    note_changes(standing, versions)
    standing.says = (*says, *over)
    standing.changed_at = now()
    db.add(standing)
    db.flush()


Rewrite = Callable[[Database, Standing, SetUp, dict[str, int]], tuple[SetUp, tuple[Fact, ...]]]
"""A change of the set-up now: the rows, the set-up and its versions in, the set-up and what was done out."""


def rewritten(
    records: Records, shot_id: str, rewrite: Rewrite, *, save_key: str | None = None, asked: Sequence[str] = ()
) -> StandingState:
    """Load, rewrite, save: the frame of every change that is more than a field. `rewrite` counts the fields
    that it changed in the versions it is given. The same `save_key` with the same things `asked` rewrites once."""
    body = body_digest(shot_id, list(asked)) if save_key else ""
    with records.writing() as db:
        standing, number = shot_records.standing_of(db, shot_id), as_of(db)
        if answer_before(db, save_key, body) is None:
            versions: dict[str, int] = dict(standing.versions)
            set_up, says = rewrite(db, standing, standing.set_up, versions)
            _save(db, standing, set_up, versions, says)
            keep_answer(db, save_key, body, shot_id)
    return reckon(records, standing, number)


def note_for_next(
    records: Records,
    shot_id: str,
    *,
    purpose: str | None = None,
    because: str | None = None,
    save_key: str | None = None,
) -> StandingState:
    """Say beforehand what the next frame is for, so that a file that arrives by itself is logged so."""

    def rewrite(
        _db: Database, standing: Standing, set_up: SetUp, _versions: dict[str, int]
    ) -> tuple[SetUp, tuple[Fact, ...]]:
        if purpose is not None:
            standing.purpose = purpose
        if because is not None:
            standing.because = because
        return set_up, standing.says

    asked = ("next", str(purpose), str(because))
    return rewritten(records, shot_id, rewrite, save_key=save_key, asked=asked)


def add_light(
    records: Records, shot_id: str, head_id: str, role: str = "", *, save_key: str | None = None
) -> StandingState:
    """Put a light into the set, lit, at its lowest mark, its distance unknown."""

    def rewrite(
        db: Database, _standing: Standing, set_up: SetUp, _versions: dict[str, int]
    ) -> tuple[SetUp, tuple[Fact, ...]]:
        head = RecordedShelf(db).head(head_id)
        added = new_light(set_up, head, role, inventory.incident_reading(db, head.id, None))
        told = fact(Reason.LIGHT_PUT_IN, added.letter, light=added.name, head=head.name)
        return replace(set_up, lights=(*set_up.lights, added)), (told,)

    return rewritten(records, shot_id, rewrite, save_key=save_key, asked=("another light", head_id, role))


def new_light(set_up: SetUp, head: HeadFigures, role: str, incident: IncidentReading | None) -> Light:
    """A light as it comes into a set."""
    taken = {light.role for light in set_up.lights}
    free = next((each for each in fields.ROLES if each not in taken), "light")
    return Light(
        letter=fields.next_letter(set_up),
        role=role or free,
        head=head,
        power_stops=head.lowest_power_stops,
        incident=incident,
    )


def remove_light(records: Records, shot_id: str, letter: str, *, save_key: str | None = None) -> StandingState:
    """Take a light out of the set. Frames that had it keep it."""

    def rewrite(
        _db: Database, _standing: Standing, set_up: SetUp, _versions: dict[str, int]
    ) -> tuple[SetUp, tuple[Fact, ...]]:
        if set_up.light(letter) is None:
            raise NotFound(f"The set-up has no light {letter[:10]}.")
        left = tuple(light for light in set_up.lights if light.letter != letter)
        return replace(set_up, lights=left), (fact(Reason.LIGHT_TAKEN_OUT, letter),)

    return rewritten(records, shot_id, rewrite, save_key=save_key, asked=("take out", letter))


def take_move_back(records: Records, shot_id: str, move_id: str) -> StandingState:
    """Put back what the last move on the plan moved, turned or took away. `move_id` is the move that the page offered
    to take back; where it is not the last any more, or what it left was changed since, Conflict says so."""
    with records.writing() as db:
        standing, number = shot_records.standing_of(db, shot_id), as_of(db)
        set_up = standing.set_up
        move = moves.last_move(standing.moves, set_up)
        if move is None or move.id != move_id:
            raise Conflict("Something was moved since this was offered: look at the plan as it stands now.")
        versions: dict[str, int] = dict(standing.versions)
        for name in moves.fields_of(move):
            count_change(versions, name)
        left = standing.moves[:-1]
        _save(db, standing, moves.taken_back(move, set_up), versions)
        standing.moves = left
        db.add(standing)
    return reckon(records, standing, number)


def stand_as_frame(
    records: Records, shot_id: str, frame_id: str, only: str = "", f_number: Marked | None = None
) -> StandingState:
    """Take an earlier frame's set-up as the standing one, or with `only` one of its lights lit, or at another aperture; a
    shift that is meant now stays meant. Raises InvalidValue for a light that it does not have."""

    def rewrite(
        db: Database, _standing: Standing, set_up: SetUp, versions: dict[str, int]
    ) -> tuple[SetUp, tuple[Fact, ...]]:
        frame = shot_records.frame_of(db, frame_id)
        if frame.shot_id != shot_id:
            raise NotFound("That frame belongs to another shot.")
        meant = {light.letter: light.intended_stops for light in set_up.lights}
        earlier, told = frame.set_up, fact(Reason.AS_FRAME_AGAIN, frame=frame.number)
        if only:
            if earlier.light(only) is None:
                raise InvalidValue("only", "That frame has no such light.")
            lit = tuple(replace(light, lit=light.letter == only) for light in earlier.lights)
            earlier = replace(earlier, lights=lit)
            told = fact(Reason.AS_FRAME_WITH_ONE_LIGHT, only, frame=frame.number)
        if f_number is not None:
            earlier = replace(earlier, f_number=f_number)
            told = fact(Reason.AS_FRAME_AT_APERTURE, frame=frame.number, f_number=f_number.text)
        lights = tuple(replace(light, intended_stops=meant.get(light.letter, 0.0)) for light in earlier.lights)
        for field in {*versions, *fields.paths_of(set_up), *fields.paths_of(earlier)}:
            versions[field] = versions.get(field, 0) + 1
        return replace(earlier, lights=lights), (told,)

    return rewritten(records, shot_id, rewrite)
