"""Patches and readings: draw a patch, take in what was measured or seen by eye, and work out what rests on it."""

from __future__ import annotations

from collections.abc import Container, Sequence
from dataclasses import dataclass
from typing import Any, Self

from pydantic import BaseModel, ConfigDict, Field, ValidationError, ValidationInfo, field_validator, model_validator
from sqlmodel import Session as Database

from webapp.errors import Conflict, InvalidValue
from webapp.kit.learned import learn_from
from webapp.ledger.evidence import EyeReading, Read
from webapp.pictures.light_map import LightMap
from webapp.pictures.readings import MIDDLE, PatchReading
from webapp.pictures.readings import Patch as Place
from webapp.quantities.by_eye import BLACK, Seen
from webapp.quantities.refused import invalid_fields
from webapp.records import readings as reading_records
from webapp.records import shots as shot_records
from webapp.records.engine import Records
from webapp.records.revisions import revise
from webapp.records.tables import Frame, Patch, Picture, PictureLight, Reading, ReadingByEye, Shot
from webapp.shoots.evidence import renew_by_curve, renew_evidence

MOST_PATCHES = 24


class PatchForm(BaseModel):
    """A patch: its name, its place in fractions of the upright picture from the top left, and the level it ought to
    have, in stops about mid-tone. A patch may reach past the edge: what lies inside is measured, and that is said. Where
    it lies on a face of the subject, it may say where that points, from the subject: a bearing, and a height angle (0
    where a bearing alone is said)."""

    model_config = ConfigDict(str_strip_whitespace=True, extra="forbid")

    name: str = Field(min_length=1, max_length=40, title="name")
    x: float = Field(ge=-1, le=1, title="left", allow_inf_nan=False)
    y: float = Field(ge=-1, le=1, title="top", allow_inf_nan=False)
    width: float = Field(gt=0, le=2, title="width", allow_inf_nan=False)
    height: float = Field(gt=0, le=2, title="height", allow_inf_nan=False)
    wanted_stops: float = Field(0.0, ge=-12, le=6, title="wanted level", allow_inf_nan=False)
    bearing_deg: float | None = Field(None, ge=-180, le=180, title="bearing that it faces", allow_inf_nan=False)
    elevation_deg: float | None = Field(None, ge=-90, le=90, title="height that it faces", allow_inf_nan=False)

    @field_validator("elevation_deg")
    @classmethod
    def _beside_a_bearing(cls, value: float | None, info: ValidationInfo) -> float | None:
        if value is not None and info.data.get("bearing_deg", value) is None:
            raise ValueError("a height angle needs its bearing: 0 in front, + to the right")
        return value

    @model_validator(mode="after")
    def _points_whole(self) -> Self:
        if self.bearing_deg is not None and self.elevation_deg is None:
            self.elevation_deg = 0.0
        return self

    @field_validator("name")
    @classmethod
    def _printable(cls, value: str) -> str:
        if not value.isprintable():
            raise ValueError("a patch's name is one line of letters")
        return value


@dataclass(frozen=True, slots=True)
class WantedReadings:
    """What is still to be made of a picture: its preview, the map of its light, and the patches it has no reading at. `patches` is empty
    where none is drawn and the middle serves."""

    picture_id: str
    frame_id: str
    digest: str
    preview: bool
    light: bool
    patch_ids: tuple[str | None, ...]
    patches: tuple[Place, ...]

    @property
    def measures(self) -> bool:
        return bool(self.patch_ids)


def draw_patch(records: Records, shot_id: str, said: dict[str, Any]) -> str:
    """Draw a patch for all frames of a shot; the answer is its id. Raises SeveralInvalid, and Conflict where there
    are as many as are kept or one has the name already."""
    form = _checked(said)
    with records.writing() as db:
        shot_records.shot_of(db, shot_id)
        there = reading_records.patches_in(db, shot_id)
        _refuse_name(there, form.name, None)
        if len(there) >= MOST_PATCHES:
            raise Conflict(f"A shot has at most {MOST_PATCHES} patches; retire one that is not needed.")
        patch = Patch(shot_id=shot_id, place=max((each.place for each in there), default=0) + 1, **form.model_dump())
        db.add(patch)
        db.flush()
        renew_evidence(db, shot_records.shot_of(db, shot_id))
    return patch.id


def change_patch(records: Records, patch_id: str, said: dict[str, Any], revision: int | None = None) -> Patch:
    """Change a patch; fields that are left out stay. Where its place moved, it is measured anew in every picture.
    `revision` is the one that was read. Raises SeveralInvalid, Conflict where the name is taken, and StaleRecord."""
    with records.writing() as db:
        patch = reading_records.patch_of(db, patch_id)
        stands = {name: getattr(patch, name) for name in PatchForm.model_fields}
        form = _checked(stands | said)
        _refuse_name(reading_records.patches_in(db, patch.shot_id), form.name, patch.id)
        moved = any(getattr(form, side) != stands[side] for side in ("x", "y", "width", "height"))
        revise(patch, form.model_dump(), revision)
        if moved:
            for reading in reading_records.readings_at_patch(db, patch.id):
                db.delete(reading)
        db.flush()
        renew_evidence(db, shot_records.shot_of(db, patch.shot_id))
    return patch


def retire_patch(records: Records, patch_id: str) -> Patch:
    """Measure a patch no more. Its readings stay on record."""
    with records.writing() as db:
        patch = reading_records.patch_of(db, patch_id)
        patch.retired = True
        db.add(patch)
        db.flush()
        renew_evidence(db, shot_records.shot_of(db, patch.shot_id))
    return patch


def patches_of(records: Records, shot_id: str) -> tuple[Patch, ...]:
    """The patches of a shot in their order."""
    with records.reading() as db:
        shot_records.shot_of(db, shot_id)
        return tuple(reading_records.patches_in(db, shot_id))


def patch(records: Records, patch_id: str) -> Patch:
    with records.reading() as db:
        return reading_records.patch_of(db, patch_id)


def _checked(said: dict[str, Any]) -> PatchForm:
    try:
        return PatchForm.model_validate(said)
    except ValidationError as error:
        raise invalid_fields(error) from error


def _refuse_name(there: Sequence[Patch], name: str, own_id: str | None) -> None:
    if any(each.name.casefold() == name.casefold() and each.id != own_id for each in there):
        raise Conflict(f"This shot has a patch “{name}” already; give it another name.")


def still_to_examine(records: Records, shot_id: str | None = None) -> tuple[str, ...]:
    """The pictures of a shot (or of all) that want a preview or a reading, oldest first."""
    with records.reading() as db:
        return tuple(reading_records.pictures_to_examine(db, shot_id))


def count_to_examine(records: Records, shot_id: str) -> int:
    """How many pictures of a shot are still to be measured."""
    with records.reading() as db:
        return reading_records.count_to_examine(db, shot_id)


def try_again(records: Records, previews: Container[str]) -> None:
    """Have made again what was lost (`previews` are those that there are, by digest), and what could not be read for a
    trouble that passes."""
    with records.writing() as db:
        for picture in reading_records.pictures_to_try_again(db):
            picture.trouble, picture.trouble_passes = "", False
            for reading in reading_records.troubled_readings_of(db, picture.id):
                db.delete(reading)
            light = reading_records.light_at(db, picture.id)
            if light is not None and light.map is None:
                db.delete(light)
        for picture_id, preview in reading_records.previews(db).items():
            if preview not in previews:
                db.get_one(Picture, picture_id).preview = ""


def wanted_of(records: Records, picture_id: str) -> WantedReadings | None:
    """What is still to be made of a picture; None where nothing is, or the picture is gone."""
    with records.reading() as db:
        picture = db.get(Picture, picture_id)
        if picture is None or picture.trouble:
            return None
        frame = shot_records.frame_of(db, picture.frame_id)
        drawn = reading_records.patches_in(db, frame.shot_id)
        read = reading_records.measured_patch_ids(db, picture_id)
        light = reading_records.light_at(db, picture_id) is None
    new = [each for each in drawn if each.id not in read]
    ids: tuple[str | None, ...] = tuple(each.id for each in new)
    if not drawn and None not in read:
        ids = (None,)
    if not ids and picture.preview and not light:
        return None
    places = tuple(_place(each) for each in new)
    return WantedReadings(picture_id, picture.frame_id, picture.digest, not picture.preview, light, ids, places)


def keep_readings(
    records: Records,
    wanted: WantedReadings,
    readings: Sequence[PatchReading],
    *,
    light: LightMap | None = None,
    trouble: str = "",
    trouble_passes: bool = False,
) -> bool:
    """Keep what was made of a picture, and work out what rests on it; False where it is gone meanwhile. `trouble` says why it could not be measured; one
    that passes is no verdict on the file, and the next start tries again.

    A reading of a patch that was moved or retired in the meantime is dropped.
    """
    with records.writing() as db:
        picture = db.get(Picture, wanted.picture_id)
        if picture is None or picture.digest != wanted.digest:
            return False
        picture.trouble_passes = trouble_passes
        if wanted.preview:
            picture.preview, picture.trouble = ("" if trouble else picture.digest), trouble
        if wanted.light:
            _keep_light(db, picture.id, light)
        frame = shot_records.frame_of(db, picture.frame_id)
        documents: list[PatchReading | None] = [*readings] or [None] * len(wanted.patch_ids)
        places = wanted.patches or (MIDDLE,) * len(wanted.patch_ids)
        for patch_id, place, document in zip(wanted.patch_ids, places, documents, strict=True):
            if _still_wanted(db, frame.shot_id, patch_id, place):
                _keep_one(db, wanted.picture_id, patch_id, document, trouble)
        db.flush()
        renew_by_curve(db, frame)
        _renew_read(db, frame)
        learn_from(db, frame)
    return True


def names_to_read(records: Records, frame_id: str) -> tuple[str, ...]:
    """The patches that a frame can be read at, by name: the middle where none is drawn."""
    with records.reading() as db:
        return names_in(db, shot_records.shot_id_of_frame(db, frame_id))


def names_in(db: Database, shot_id: str) -> tuple[str, ...]:
    """The same of any frame of a shot, inside a transaction."""
    return tuple(each.name for each in reading_records.patches_in(db, shot_id)) or (MIDDLE.name,)


def keep_by_eye(records: Records, frame_id: str, seen: Seen) -> Frame:
    """Keep what was seen by eye of a patch, and work out what rests on it. A reading of a file at that patch holds before
    it. Raises InvalidValue for a level that no eye can tell, and Conflict where the patch is gone."""
    with records.writing() as db:
        frame = shot_records.frame_of(db, frame_id)
        patches = reading_records.patches_in(db, frame.shot_id)
        patch = next((each for each in patches if each.name == seen.patch), None)
        if patch is None and (patches or seen.patch != MIDDLE.name):
            raise Conflict(f"This shot has no patch “{seen.patch}” any more.")
        document = _judged(seen, patch.wanted_stops if patch else 0.0)
        db.add(ReadingByEye(frame_id=frame.id, patch_id=patch.id if patch else None, document=document))
        _renew_read(db, frame)
    return frame


def _judged(seen: Seen, wanted_stops: float) -> EyeReading | None:
    """The reading; None where one is taken back."""
    if seen.stops is None:
        return None
    try:
        return EyeReading(None if seen.stops == BLACK else seen.stops + (wanted_stops if seen.about_wanted else 0.0))
    except ValueError as problem:
        raise InvalidValue("typed", str(problem)) from problem


def _place(row: Patch) -> Place:
    return Place(row.name, row.x, row.y, row.width, row.height)


def _still_wanted(db: Database, shot_id: str, patch_id: str | None, place: Place) -> bool:
    if patch_id is None:
        return not reading_records.patches_in(db, shot_id)
    row = reading_records.patch_of(db, patch_id)
    sides = (place.x, place.y, place.width, place.height)
    return not row.retired and sides == (row.x, row.y, row.width, row.height)


def _keep_one(
    db: Database, picture_id: str, patch_id: str | None, document: PatchReading | None, trouble: str
) -> None:
    if trouble and document is None and reading_records.reading_at(db, picture_id, patch_id) is not None:
        return
    row = reading_records.reading_at(db, picture_id, patch_id) or Reading(picture_id=picture_id, patch_id=patch_id)
    row.document, row.trouble = document, trouble
    db.add(row)


def _keep_light(db: Database, picture_id: str, light: LightMap | None) -> None:
    row = reading_records.light_at(db, picture_id) or PictureLight(picture_id=picture_id)
    if light is not None:
        row.columns, row.rows, row.channels, row.figures = light.columns, light.rows, light.channels, light.figures
    db.add(row)


def _renew_read(db: Database, frame: Frame) -> None:
    """Work out what rests on a reading of a frame."""
    db.flush()
    shot = shot_records.shot_of(db, frame.shot_id)
    renew_evidence(db, shot, None if _others_rest_on(db, shot, frame) else frame)


def _others_rest_on(db: Database, shot: Shot, frame: Frame) -> bool:
    """Whether other frames are read against this one: the reference, or a frame lit by one of its lights alone."""
    reference = db.get(Frame, shot.reference_frame_id) if shot.reference_frame_id else None
    return frame is reference or (len(frame.lit) == 1 and reference is not None and frame.lit != reference.lit)


@dataclass(frozen=True, slots=True)
class PatchOfFrame:
    """A patch of a frame with its reading in full, from the picture that the evidence used, and what was seen of it by
    eye."""

    patch: Patch | None
    reading: PatchReading | None
    picture_name: str
    trouble: str = ""
    by_eye: EyeReading | None = None

    @property
    def read(self) -> Read | None:
        """The reading that holds: a file's before the eye's."""
        return self.reading or self.by_eye

    @property
    def name(self) -> str:
        return self.patch.name if self.patch else "middle"

    @property
    def wanted_stops(self) -> float:
        return self.patch.wanted_stops if self.patch else 0.0


def readings_of_frame(records: Records, frame_id: str) -> tuple[PatchOfFrame, ...]:
    """Every patch of the shot with its reading in this frame; the middle where none is drawn."""
    with records.reading() as db:
        frame = shot_records.frame_of(db, frame_id)
        drawn: list[Patch | None] = list(reading_records.patches_in(db, frame.shot_id)) or [None]
        rows = reading_records.readings_of(db, [frame_id])[frame_id]
        by_eye = reading_records.by_eye_of(db, [frame_id])[frame_id]
    used = {each.patch_id: each.kind for each in frame.seen.patches}
    found = []
    for row in drawn:
        patch_id = row.id if row else None
        own = [(picture, reading) for picture, reading in rows if reading.patch_id == patch_id]
        own.sort(key=lambda pair: (pair[0].kind != used.get(patch_id), not pair[1].document))
        if not own:
            found.append(PatchOfFrame(row, None, "", by_eye=by_eye.get(patch_id)))
            continue
        picture, reading = own[0]
        found.append(PatchOfFrame(row, reading.document, picture.name, reading.trouble, by_eye=by_eye.get(patch_id)))
    return tuple(found)


def picture_size(picture: Picture) -> tuple[int, int]:
    """Width and height of the upright picture in pixels; 0 where the file does not say."""
    return picture.facts.width_px or 0, picture.facts.height_px or 0
