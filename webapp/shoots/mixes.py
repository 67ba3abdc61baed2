"""The mixtures of a shot: which frames can be added up, and the mixtures that are kept of them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from webapp.errors import InvalidValue, NotFound
from webapp.kit.inventory import invalid_fields
from webapp.ledger.remix import Alone, SumOfLights, Weights, sum_of
from webapp.ledger.set_up import SetUp
from webapp.pictures.readings import Patch
from webapp.records import mixes as mixture_records
from webapp.records import readings as reading_records
from webapp.records import shots as shot_records
from webapp.records.engine import Records
from webapp.records.shots import AMBIENT_CHECK
from webapp.records.tables import Frame, Mixture, Picture, Shot

KEPT_FOR: Final = ("reshoot", "lesson")


@dataclass(frozen=True, slots=True)
class KeptMixture:
    """A mixture that was kept."""

    id: str
    name: str
    kept_for: str
    weights: Weights
    frames: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Mixing:
    """A shot with what can be added up of it; `wanted` are the levels of its patches by name, in stops about mid-tone."""

    shot: Shot
    session_name: str
    found: SumOfLights
    patches: tuple[Patch, ...]
    wanted: Mapping[str, float]
    standing: SetUp
    kept: tuple[KeptMixture, ...]


class MixtureForm(BaseModel):
    """What is said of a mixture that is kept."""

    model_config = ConfigDict(str_strip_whitespace=True, extra="forbid")

    name: str = Field(min_length=1, max_length=120, title="name")
    kept_for: Literal["reshoot", "lesson"] = Field("reshoot", title="kept for")


def mixing(records: Records, shot_id: str, mixture_id: str = "") -> Mixing:
    """The sum of lights of a shot: of the newest frames, or of those that a kept mixture was made of."""
    with records.reading() as db:
        shot = shot_records.shot_of(db, shot_id)
        session = shot_records.session_of(db, shot.session_id)
        kept = tuple(_kept(row) for row in mixture_records.mixtures_in(db, shot_id))
        chosen = next((each for each in kept if each.id == mixture_id), None)
        if mixture_id and chosen is None:
            raise NotFound("There is no such mixture of this shot.")
        rows = list(mixture_records.frames_to_mix(db, shot_id))
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
    found = sum_of(
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
        kept,
    )


def kept_of(records: Records, shot_id: str) -> tuple[KeptMixture, ...]:
    """The mixtures that are kept of a shot."""
    with records.reading() as db:
        return tuple(_kept(row) for row in mixture_records.mixtures_in(db, shot_id))


def _readable(pictures: Sequence[Picture]) -> list[Picture]:
    return [each for each in pictures if not each.trouble]


def _alone(row: Frame, pictures: Sequence[Picture], *, raw: bool) -> Alone | None:
    """A frame with the picture of the kind that all have; any other where there is none of it."""
    picture = min(_readable(pictures), key=lambda each: (each.kind == "raw") != raw, default=None)
    if picture is None:
        return None
    is_clipped = row.purpose == AMBIENT_CHECK and row.seen.clips_at is not None
    return Alone(row.lit[:1], row.id, row.number, row.set_up, picture.digest, picture.kind, is_clipped)


def keep_mixture(records: Records, mixed: Mixing, said: Mapping[str, Any], weights: Weights) -> str:
    """Keep a mixture with the frames it was made of; the answer is its id. Raises SeveralInvalid, and InvalidValue
    where nothing is mixed."""
    try:
        form = MixtureForm.model_validate(dict(said))
    except ValidationError as error:
        raise invalid_fields(error) from error
    found, shot_id = mixed.found, mixed.shot.id
    if not found.parts or all(weights.get(letter) is None for letter in found.letters):
        raise InvalidValue("weights", "A mixture needs at least one light.")
    row = Mixture(
        shot_id=shot_id,
        name=form.name,
        kept_for=form.kept_for,
        weights={letter: weights.get(letter) for letter in found.letters},
        frames={part.letter: part.alone.frame_id for part in found.parts},
    )
    with records.writing() as db:
        shot_records.shot_of(db, shot_id)
        db.add(row)
    return row.id


def forget_mixture(records: Records, shot_id: str, mixture_id: str) -> None:
    """Forget a kept mixture; the frames that it was made of stay."""
    with records.writing() as db:
        row = mixture_records.mixture_of(db, mixture_id)
        if row.shot_id != shot_id:
            raise NotFound("There is no such mixture of this shot.")
        db.delete(row)


def _kept(row: Mixture) -> KeptMixture:
    return KeptMixture(row.id, row.name, row.kept_for, row.weights, row.frames)
