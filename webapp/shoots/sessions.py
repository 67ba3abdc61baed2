"""Sessions and shots: begin them, describe them, put one shot on the set."""

from __future__ import annotations

import datetime as dt
import zoneinfo
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from typing import Annotated, Any, TypeVar

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, ValidationError, field_validator
from sqlmodel import Session as Database

from webapp.errors import Conflict, InUse, InvalidValue, NotAllowed
from webapp.facts import fact
from webapp.kit import inventory
from webapp.ledger import placing
from webapp.ledger.set_up import SetUp, kit_in
from webapp.optics.scales import Quantity, read_value
from webapp.quantities.refused import invalid_fields
from webapp.records import arrivals as arrival_records
from webapp.records import kit as kit_records
from webapp.records import links as link_records
from webapp.records import readings as reading_records
from webapp.records import recipes as recipe_records
from webapp.records import reshoots as reshoot_records
from webapp.records import set_photos as photo_records
from webapp.records import shots as shot_records
from webapp.records.engine import Records
from webapp.records.revisions import revise
from webapp.records.tables import Camera, Kit, Lens, LightHead, Origin, Session, Shot, Standing
from webapp.security.identity import ASKING
from webapp.shoots.set_up_now import new_light
from webapp.shoots.set_up_reasons import Reason

Form = TypeVar("Form", bound=BaseModel)

PRIVATE_FIELDS = frozenset({"made_for", "place", "notes"})
"""What of a session stays in the house, and is shown to no assistant without leave."""
_LONGEST_NOTE = 8000
_LONGEST_LINE = 300
_FIRST_F_NUMBER = 8.0
_FIRST_SHUTTER_S = 1 / 125
_FIRST_ISO = 100.0
_HOW_A_DAY_IS_WRITTEN = "write a day as 2026-11-24"


def _today_if_empty(value: Any) -> Any:
    return dt.date.today() if value in (None, "") else _a_day(value)


def _a_day(value: Any) -> Any:
    if not isinstance(value, str):
        if isinstance(value, int | float):
            raise ValueError(_HOW_A_DAY_IS_WRITTEN)
        return value
    try:
        return dt.date.fromisoformat(value.strip())
    except ValueError:
        raise ValueError(_HOW_A_DAY_IS_WRITTEN) from None


class SessionForm(BaseModel):
    """What is said of a session. `made_for`, `place` and `notes` stay in the house."""

    model_config = ConfigDict(str_strip_whitespace=True, extra="forbid")

    name: str = Field(min_length=1, max_length=160, title="name")
    day: Annotated[dt.date, BeforeValidator(_today_if_empty)] = Field(default_factory=dt.date.today, title="day")
    zone: str = Field("UTC", max_length=60, title="time zone")
    place: str = Field("", max_length=200, title="place", description="private")
    made_for: str = Field("", max_length=200, title="client", description="private")
    brief: str = Field("", max_length=_LONGEST_NOTE, title="brief")
    used_for: str = Field("", max_length=_LONGEST_LINE, title="use", description="web shop, catalogue, poster")
    size: str = Field("", max_length=_LONGEST_LINE, title="size", description="A4 at 300 ppi, 2000 px wide")
    crop: str = Field(
        "", max_length=_LONGEST_LINE, title="crop", description="4:5 upright, room for text at the left"
    )
    deadline: Annotated[dt.date | None, BeforeValidator(lambda said: None if said == "" else _a_day(said))] = Field(
        None, title="deadline"
    )
    must_match: str = Field(
        "", max_length=_LONGEST_LINE, title="must match", description="the bottle of March: rim and label"
    )
    notes: str = Field("", max_length=_LONGEST_NOTE, title="notes", description="private")

    @field_validator("zone")
    @classmethod
    def _known_zone(cls, value: str) -> str:
        if value not in zoneinfo.available_timezones():
            raise ValueError("write a time zone by its IANA name, such as Europe/Vienna or UTC")
        return value


class ShotForm(BaseModel):
    """What is said of a shot."""

    model_config = ConfigDict(str_strip_whitespace=True, extra="forbid")

    title: str = Field(min_length=1, max_length=160, title="title")
    subject: str = Field("", max_length=400, title="subject", description="what stands there, and how large")
    subject_types: str = Field(
        "", max_length=200, title="subject types", description="with semicolons: timepiece; metalware"
    )
    surface: str = Field("", max_length=120, title="surface", description="matt, gloss, mirror, glass, translucent")
    look: str = Field("", max_length=200, title="look")
    subject_is_static: bool = Field(True, title="holds still", description="several pops on one frame are possible")
    wanted_depth_mm: Annotated[float | None, BeforeValidator(lambda v: None if v == "" else v)] = Field(
        None, gt=0, le=100_000, title="depth wanted", json_schema_extra={"unit": "mm"}
    )


def begin_session(records: Records, said: dict[str, Any], *, origin: Origin = Origin.OWN) -> str:
    """Begin a session; the answer is its id. Raises SeveralInvalid with every field that cannot be kept."""
    form = _checked(SessionForm, said)
    with records.writing() as db:
        session = Session(origin=origin, **form.model_dump())
        db.add(session)
    return session.id


def describe_session(records: Records, session_id: str, said: dict[str, Any], revision: int | None = None) -> None:
    """Change what is said of a session; what is left out stays. `revision` is the one that was read.

    Raises SeveralInvalid, NotAllowed for whoever cannot see everything that is said of it, and StaleRecord.
    """
    if not ASKING.get().sees_private:
        raise NotAllowed(
            "The client and the notes of this session are not shown to this browser, so what is said of the session is "
            "changed by its owner."
        )
    with records.writing() as db:
        _describe(shot_records.session_of(db, session_id), SessionForm, said, revision)


def as_seen(session: Session) -> Session:
    """What is said of a session as whoever asks may see it: without client, place and notes where those are private."""
    if ASKING.get().sees_private:
        return session
    return Session.model_validate(session.model_dump() | dict.fromkeys(PRIVATE_FIELDS, ""))


@dataclass(frozen=True, slots=True)
class StillThere:
    """Which of the places that were measured in a shot still hold, as fields; `of_shot` is its id."""

    of_shot: str
    fields: frozenset[str]


def begin_shot(records: Records, session_id: str, said: dict[str, Any], still_there: StillThere | None = None) -> str:
    """Begin a shot and put it on the set. Its set-up carries on from the shot of the session that was active, else from
    the last one of it, else from the active one anywhere; on a new desk, or where that one is of none of one's own kit
    or of the demo, from the kit. Within a session places stay taped, or those that are `still_there`; into another session
    none comes as taped. What is carried over is told, and knows from where."""
    form = _checked(ShotForm, said)
    with records.writing() as db:
        session = shot_records.session_of(db, session_id)
        last, before = shot_records.last_shot_in(db, session_id), _carried_from(db, session_id)
        standing = shot_records.standing_of(db, before.id) if before else _standing_elsewhere(db, session.origin)
        shot = Shot(session_id=session_id, number=(last.number if last else 0) + 1, **form.model_dump())
        db.add(shot)
        db.flush()
        if standing is None:
            db.add(Standing(shot_id=shot.id, set_up=_first_set_up(db)))
        else:
            there = still_there or StillThere(standing.shot_id, frozenset(placing.measured_places(standing.set_up)))
            left = there.fields if before and there.of_shot == before.id else frozenset()
            was = shot_records.shot_of(db, standing.shot_id)
            db.add(
                _carried_over(shot.id, standing.set_up, left, was.id)
                if before
                else _elsewhere(shot.id, was, standing.set_up)
            )
        put_on_set_in(db, shot)
    return shot.id


def places_to_ask_of(records: Records, session_id: str) -> tuple[Shot, SetUp] | None:
    """The shot of a session that the next one carries on from, with its set-up: the places that were measured in it are
    to be asked about. None where it has no such shot."""
    with records.reading() as db:
        before = _carried_from(db, session_id)
        return None if before is None else (before, shot_records.standing_of(db, before.id).set_up)


def names_of_sets(records: Records, set_up: SetUp) -> dict[str, str]:
    """The names of the sets that places of this one were carried over from, by id; without those that are gone."""
    asked = placing.carried_from(set_up)
    if not asked:
        return {}
    with records.reading() as db:
        named = {each: shot_records.name_of_set(db, each) or recipe_records.title_of(db, each) for each in asked}
    return {each: name for each, name in named.items() if name}


def describe_shot(records: Records, shot_id: str, said: dict[str, Any], revision: int | None = None) -> None:
    """Change what is said of a shot; what is left out stays. `revision` is the one that was read. Raises SeveralInvalid
    and StaleRecord."""
    with records.writing() as db:
        _describe(shot_records.shot_of(db, shot_id), ShotForm, said, revision)


def _describe(row: Session | Shot, form: type[BaseModel], said: dict[str, Any], revision: int | None) -> None:
    stands = {name: getattr(row, name) for name in form.model_fields}
    revise(row, _checked(form, stands | said).model_dump(), revision)


def put_on_set(records: Records, shot_id: str) -> None:
    """One shot at a time is on the set: it holds the watched folder. Raises Conflict for a closed one."""
    with records.writing() as db:
        shot = shot_records.shot_of(db, shot_id)
        if shot.closed_at is not None:
            raise Conflict(f"{shot.title} is closed: its set was struck. Open it again to put it on the set.")
        put_on_set_in(db, shot)


def delete_shot(records: Records, shot_id: str) -> str:
    """Forget a shot without frames; the answer is its session's id. Raises InUse where it has frames."""
    with records.writing() as db:
        shot = shot_records.shot_of(db, shot_id)
        if count := shot_records.next_frame_number(db, shot_id) - 1:
            raise InUse(f"{shot.title} cannot be deleted: {count} frame{'s' * (count != 1)} of it are in the log.")
        if photos := len(photo_records.of_shot(db, shot_id)):
            raise InUse(f"{shot.title} cannot be deleted: {photos} photo{'s' * (photos != 1)} of its set are kept.")
        db.delete(shot_records.standing_of(db, shot_id))
        for notice in shot_records.notices_of(db, shot_id, limit=10_000):
            db.delete(notice)
        reading_records.forget_patches(db, shot_id)
        arrival_records.forget_shot(db, shot_id)
        reshoot_records.forget_reshoot(db, shot_id)
        db.flush()
        db.delete(shot)
        return shot.session_id


def delete_session(records: Records, session_id: str) -> None:
    """Forget a session without shots. Raises InUse where it has some."""
    with records.writing() as db:
        session = shot_records.session_of(db, session_id)
        if shots := shot_records.shots_in(db, session_id):
            raise InUse(f"{session.name} cannot be deleted: it has {len(shots)} shot{'s' * (len(shots) != 1)}.")
        for page in link_records.live_pages_of(db, session_id):
            db.delete(page)
        db.flush()
        db.delete(session)


def put_on_set_in(db: Database, shot: Shot) -> None:
    """Put a shot on the set inside a transaction; the one that was there leaves it."""
    standing_there = shot_records.shot_on_the_set(db)
    if standing_there is not None and standing_there.id != shot.id:
        standing_there.on_set = False
        db.add(standing_there)
        db.flush()
    shot.on_set = True
    db.add(shot)


def _carried_from(db: Database, session_id: str) -> Shot | None:
    """The shot of a session that its next one carries on from: the active one, else the last."""
    active = shot_records.shot_on_the_set(db)
    return active if active and active.session_id == session_id else shot_records.last_shot_in(db, session_id)


def _standing_elsewhere(db: Database, origin: str) -> Standing | None:
    """The set-up of the active shot, else the one that was touched last, among those of an origin: one's own day does not
    begin with the demo's set. None, where nothing in it is one's own and there is kit that is."""
    active = shot_records.shot_on_the_set(db)
    if active is not None and shot_records.session_of(db, active.session_id).origin != origin:
        active = None
    standing = shot_records.standing_of(db, active.id) if active else shot_records.newest_standing(db, origin)
    tables: tuple[type[Kit], ...] = (Camera, Lens, LightHead)
    own = {row.id for table in tables for row in kit_records.items_in(db, table) if row.origin == Origin.OWN}
    return None if standing and own and own.isdisjoint(kit_in(standing.set_up)) else standing


def _first_set_up(db: Database) -> SetUp:
    cameras, lenses = kit_records.items_in(db, Camera), kit_records.items_in(db, Lens)
    heads = kit_records.items_in(db, LightHead)
    if not cameras or not lenses:
        raise InvalidValue("kit", "A shot needs a camera and a lens in the kit: add them under Kit first.")
    camera, lens = inventory.camera_figures(cameras[0]), inventory.lens_figures(lenses[0])
    set_up = SetUp(
        camera=camera,
        lens=lens,
        f_number=read_value(Quantity.F_NUMBER, _FIRST_F_NUMBER, lens.f_number_dial),
        shutter=read_value(Quantity.SHUTTER, _FIRST_SHUTTER_S, camera.shutter_dial),
        iso=read_value(Quantity.ISO, _FIRST_ISO, camera.iso_dial),
        focal_length_mm=lens.shortest_focal_mm,
    )
    if heads:
        first = new_light(
            set_up, inventory.head_figures(heads[0]), "", inventory.incident_reading(db, heads[0].id, None)
        )
        set_up = replace(set_up, lights=(first,))
    return set_up


def _elsewhere(shot_id: str, was: Shot, set_up: SetUp) -> Standing:
    """The set-up of a new shot in another session, where nobody has taped anything yet, the camera's place neither."""
    figures = {"magnification": set_up.magnification, "subject_distance": set_up.subject_distance_mm}
    carried = placing.places_from_elsewhere(set_up, was.id)
    carried = replace(carried, carried=tuple(name for name, value in figures.items() if value))
    return _carried_over(shot_id, carried, (), was.id, placing.measured_places(set_up))


def _carried_over(
    shot_id: str, set_up: SetUp, left: Collection[str], carried_from: str, measured: Sequence[str] | None = None
) -> Standing:
    """The set-up of a new shot, carried from another: what the photographer meant as a shift there is not meant here, and
    of what was `measured` there (by the set-up itself, where it is not told) only what was `left` is measured here."""
    moved = [each for each in (placing.measured_places(set_up) if measured is None else measured) if each not in left]
    meant = tuple(replace(light, intended_stops=0.0) for light in set_up.lights)
    return Standing(
        shot_id=shot_id,
        set_up=placing.carried(replace(set_up, lights=meant), left, carried_from),
        says=(fact(Reason.PLACES_CARRIED_OVER, names=tuple(map(placing.name_of_place, moved))),) if moved else (),
    )


def _checked(form: type[Form], said: dict[str, Any]) -> Form:
    try:
        return form.model_validate(said)
    except ValidationError as error:
        raise invalid_fields(error) from error
