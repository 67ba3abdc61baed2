"""The standing set-up: load it with everything that is said about it, change it, write a correction in.

Each use-case loads, lets the pure part decide, and saves, in one transaction; the answer is the state as it now
stands, ready to be drawn.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from typing import Final, cast

from sqlmodel import Session as Database

from webapp.errors import Conflict, InvalidValue, NotFound, SeveralInvalid, StaleValue
from webapp.facts import Fact, fact
from webapp.kit import inventory
from webapp.kit.learned import with_crossed_pair, with_learned
from webapp.kit.units import lengths_in
from webapp.ledger import field_values, fields, moves, wishes
from webapp.ledger.assessment import Assessment, Baselines, NumberedSetUp, assess
from webapp.ledger.entries import Cause
from webapp.ledger.grammars import PutIn, Value
from webapp.ledger.moves import Move
from webapp.ledger.ratio import fill_power_for, key_minus_fill_stops
from webapp.ledger.reshoot_target import ReshootTarget
from webapp.ledger.set_up import (
    CameraFigures,
    FilterFigures,
    HeadFigures,
    IncidentReading,
    LensFigures,
    Light,
    ModifierFigures,
    SetUp,
)
from webapp.ledger.ways import LENS, Correction
from webapp.ledger.wishes import PowerWish
from webapp.optics.scales import Marked
from webapp.quantities.lengths import CENTIMETRES, Lengths
from webapp.records import kit as kit_records
from webapp.records import shots as shot_records
from webapp.records.changes import keep_state
from webapp.records.engine import Records, as_of, recall, remember
from webapp.records.idempotency import answer_before, body_digest, keep_answer
from webapp.records.shots import AMBIENT_CHECK, MADE_TO_BE_READ
from webapp.records.tables import Camera, Filter, Frame, Lens, LightHead, Modifier, Shot, Standing, new_id, now
from webapp.shoots.evidence import StandingEvidence, Witnesses, standing_evidence, target_of, witnesses
from webapp.shoots.set_up_reasons import Reason

ORDINARY: Final = "test"
"""What a frame is for, where nothing is said of it."""
STAYING: Final = frozenset({"stack", "comparison"})
"""What the next frames are for, too, until the set-up changes."""


@dataclass(frozen=True, slots=True)
class StandingState:
    """A shot's standing set-up with all that is said about it; `says` is what the last change did, where it did more
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
    """One field of the standing set-up, to be set to a typed value or moved from where it stands. `version` is that of
    the page it was typed on; None leaves the check out. `lengths` is how that page writes lengths."""

    field: str
    value: Value
    version: int | None = None
    lengths: Lengths = CENTIMETRES


class RecordedShelf:
    """The kit of the records, as the set-up's fields look it up."""

    def __init__(self, db: Database) -> None:
        self._db = db

    def camera(self, item_id: str) -> CameraFigures:
        return inventory.camera_figures(kit_records.item_of(self._db, Camera, item_id))

    def lens(self, item_id: str) -> LensFigures:
        return inventory.lens_figures(kit_records.item_of(self._db, Lens, item_id))

    def head(self, item_id: str) -> HeadFigures:
        return with_learned(self._db, inventory.head_figures(kit_records.item_of(self._db, LightHead, item_id)))

    def modifier(self, item_id: str) -> ModifierFigures:
        return inventory.modifier_figures(kit_records.item_of(self._db, Modifier, item_id))

    def filter(self, item_id: str) -> FilterFigures:
        return inventory.filter_figures(kit_records.item_of(self._db, Filter, item_id))

    def incident_reading(self, light_id: str, modifier_id: str | None) -> IncidentReading | None:
        return inventory.incident_reading(self._db, light_id, modifier_id)


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
            reference=_numbered(reference),
            target=target_of(db, row),
            previous=_numbered(shot_records.frame_before(db, shot_id)),
            next_number=shot_records.next_frame_number(db, shot_id),
            witnesses=witnesses(db, row),
            first_lit={},
        )
    asked = [each for each in _lit_anew(set_up, known.reference or known.target) if each not in known.first_lit]
    first = {letter: _numbered(shot_records.first_frame_lit_by(db, shot_id, letter)) for letter in asked}
    if first:
        known = replace(known, first_lit={**known.first_lit, **first})
    remember(db, shot_id, known)
    return known


def _lit_anew(set_up: SetUp, standard: NumberedSetUp | ReshootTarget | None) -> list[str]:
    """The lights that are lit now and were not in the frame that balances are taken against."""
    was = {light.letter for light in standard.set_up.lights if light.lit} if standard else set()
    return [light.letter for light in set_up.lights if light.lit and light.letter not in was]


def state(records: Records, shot_id: str) -> StandingState:
    """The standing set-up as it stands."""
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


def baselines_for(db: Database, shot: Shot, set_up: SetUp, number: int | None = None) -> Baselines:
    """What a set-up is compared with: for the standing one, all frames so far; for frame `number`, those up to it."""
    reference_row = db.get(Frame, shot.reference_frame_id) if shot.reference_frame_id else None
    reference, target = _numbered(reference_row), target_of(db, shot)
    standard = reference or target
    previous = _numbered(shot_records.frame_before(db, shot.id, number))
    first_lit: dict[str, NumberedSetUp] = {}
    for light in set_up.lights:
        was = standard.set_up.light(light.letter) if standard else None
        if light.lit and (was is None or not was.lit):
            first = _numbered(shot_records.first_frame_lit_by(db, shot.id, light.letter, number))
            if first is not None:
                first_lit[light.letter] = first
    return Baselines(reference, previous, first_lit, target)


def _numbered(frame: Frame | None) -> NumberedSetUp | None:
    return None if frame is None else NumberedSetUp(frame.number, frame.set_up)


def change(
    records: Records, shot_id: str, changes: Sequence[Change], *, save_key: str | None = None
) -> StandingState:
    """Set fields of the standing set-up: all of them, or, where one cannot be kept, none. The same `save_key` with the
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
            set_up = _changed(set_up, each, versions, shelf)
        except InvalidValue as problem:
            problems.append(problem)
    if problems:
        raise SeveralInvalid(problems)
    _save(db, standing, with_crossed_pair(db, set_up), versions)


def _changed(set_up: SetUp, asked: Change, versions: dict[str, int], shelf: RecordedShelf) -> SetUp:
    changed = field_values.write(set_up, asked.field, asked.value, shelf, asked.lengths)
    if asked.version is not None and asked.version != versions.get(asked.field, 0) and changed != set_up:
        raise StaleValue(
            tuple(asked.field.split(".")),
            fields.words_of(asked.field),
            field_values.text_of(set_up, asked.field, asked.lengths),
            field_values.text_of(changed, asked.field, asked.lengths),
        )
    if changed != set_up:
        _count_change(versions, asked.field)
    return changed


def _count_change(versions: dict[str, int], field: str) -> None:
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
    if not assess(standing.set_up, Baselines(previous=_numbered(before))).is_unchanged:
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
    standing.versions = versions
    standing.says = (*says, *over)
    standing.changed_at = now()
    db.add(standing)
    db.flush()


Rewrite = Callable[[Database, Standing, SetUp, dict[str, int]], tuple[SetUp, tuple[Fact, ...]]]
"""A change of a standing set-up: the rows, the set-up and its versions in, the set-up and what was done out."""


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
            _count_change(versions, name)
        left = standing.moves[:-1]
        _save(db, standing, moves.taken_back(move, set_up), versions)
        standing.moves = left
        db.add(standing)
    return reckon(records, standing, number)


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
    """Write a correction's marks into the standing set-up. `digest` is that of the correction as it was offered, for
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
            _count_change(versions, name)
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
            versions[field] = versions.get(field, 0) + 1
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
            versions[field] = versions.get(field, 0) + 1
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
