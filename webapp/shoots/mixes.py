"""The mixes of a shot: which frames can be added up, and the mixes that are saved of them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from webapp.errors import InvalidValue, NotFound
from webapp.ledger.remix import Alone, Levels, LightsToMix, lights_to_mix
from webapp.ledger.set_up import SetUp
from webapp.pictures.readings import Patch
from webapp.quantities.refused import invalid_fields
from webapp.records import mixes as mix_records
from webapp.records import readings as reading_records
from webapp.records import shots as shot_records
from webapp.records.engine import Records
from webapp.records.shots import AMBIENT_CHECK
from webapp.records.tables import Frame, Picture, SavedMix, Shot

SAVED_FOR: Final = ("reshoot", "lesson")


@dataclass(frozen=True, slots=True)
class Mixing:
    """A shot with what can be added up of it; `wanted` are the levels of its patches by name, in stops about mid-tone."""

    shot: Shot
    session_name: str
    found: LightsToMix
    patches: tuple[Patch, ...]
    wanted: Mapping[str, float]
    standing: SetUp
    saved: tuple[SavedMix, ...]


class MixForm(BaseModel):
    """What is said of a mix that is saved."""

    model_config = ConfigDict(str_strip_whitespace=True, extra="forbid")

    name: str = Field(min_length=1, max_length=120, title="name")
    saved_for: Literal["reshoot", "lesson"] = Field("reshoot", title="saved for")


def mixing(records: Records, shot_id: str, mix_id: str = "") -> Mixing:
    """What can be mixed of a shot: of the newest frames, or of those that a saved mix was made of."""
    with records.reading() as db:
        shot = shot_records.shot_of(db, shot_id)
        session = shot_records.session_of(db, shot.session_id)
        saved = tuple(mix_records.saved_mixes_in(db, shot_id))
        chosen = next((each for each in saved if each.id == mix_id), None)
        if mix_id and chosen is None:
            raise NotFound("There is no such mix of this shot.")
        rows = list(mix_records.frames_to_mix(db, shot_id))
        if chosen is not None:
            checks = [row for row in rows if row.purpose == AMBIENT_CHECK]
            rows = [shot_records.frame_of(db, frame_id) for frame_id in chosen.frames.values()] + checks
        pictures = shot_records.pictures_of(db, [row.id for row in rows])
        reference = db.get(Frame, shot.reference_frame_id) if shot.reference_frame_id else None
        standing = shot_records.standing_of(db, shot_id).set_up
        patches = reading_records.patches_in(db, shot_id)
    lights = [row for row in rows if row.purpose != AMBIENT_CHECK]
    raw = all(any(each.kind == "raw" for each in _readable(pictures[row.id])) for row in lights)
    alone = [each for row in lights if (each := _alone(row, pictures[row.id], raw=raw)) is not None]
    checks = [row for row in rows if row.purpose == AMBIENT_CHECK]
    check = _alone(checks[-1], pictures[checks[-1].id], raw=raw) if checks else None
    found = lights_to_mix(
        sorted(alone, key=lambda each: each.letter),
        reference.set_up if reference is not None else None,
        reference.number if reference is not None else 0,
        check,
    )
    return Mixing(
        shot,
        session.name,
        found,
        tuple(Patch(each.name, each.x, each.y, each.width, each.height) for each in patches),
        {each.name: each.wanted_stops for each in patches},
        standing,
        saved,
    )


def saved_of(records: Records, shot_id: str) -> tuple[SavedMix, ...]:
    """The mixes that are saved of a shot."""
    with records.reading() as db:
        return tuple(mix_records.saved_mixes_in(db, shot_id))


def _readable(pictures: Sequence[Picture]) -> list[Picture]:
    return [each for each in pictures if not each.trouble]


def _alone(row: Frame, pictures: Sequence[Picture], *, raw: bool) -> Alone | None:
    """A frame with the picture of the kind that all have; any other where there is none of it."""
    picture = min(_readable(pictures), key=lambda each: (each.kind == "raw") != raw, default=None)
    if picture is None:
        return None
    is_clipped = row.purpose == AMBIENT_CHECK and row.seen.clips_at is not None
    return Alone(row.lit[:1], row.id, row.number, row.set_up, picture.digest, picture.kind, is_clipped)


def save_mix(records: Records, mixed: Mixing, said: Mapping[str, Any], levels: Levels) -> str:
    """Save a mix with the frames it was made of; the answer is its id. Raises SeveralInvalid, and InvalidValue
    where nothing is mixed."""
    try:
        form = MixForm.model_validate(dict(said))
    except ValidationError as error:
        raise invalid_fields(error) from error
    found, shot_id = mixed.found, mixed.shot.id
    if not found.parts or all(levels.get(letter) is None for letter in found.letters):
        raise InvalidValue("levels", "A mix needs at least one light.")
    row = SavedMix(
        shot_id=shot_id,
        name=form.name,
        saved_for=form.saved_for,
        levels={letter: levels.get(letter) for letter in found.letters},
        frames={part.letter: part.alone.frame_id for part in found.parts},
    )
    with records.writing() as db:
        shot_records.shot_of(db, shot_id)
        db.add(row)
    return row.id


def forget_mix(records: Records, shot_id: str, mix_id: str) -> None:
    """Forget a saved mix; the frames that it was made of stay."""
    with records.writing() as db:
        row = mix_records.saved_mix_of(db, mix_id)
        if row.shot_id != shot_id:
            raise NotFound("There is no such mix of this shot.")
        db.delete(row)
