"""The lights of a shot re-mixed: what can be mixed, a mix in figures, and the mixes that are saved."""

from __future__ import annotations

from typing import Annotated, Literal

from fastapi import APIRouter
from pydantic import AliasChoices, BaseModel, Field
from starlette.responses import RedirectResponse, Response

from webapp.errors import Conflict, InvalidValue
from webapp.ledger.mix_settings import power_settings
from webapp.ledger.ratio import CONVENTIONS, KEY_TO_FILL, key_minus_fill_stops
from webapp.ledger.remix import MOST_STOPS, Levels, Mixed, levels_for_ratio, mix
from webapp.quantities.ratios import read_ratio
from webapp.services import InServices, Services
from webapp.shoots import mixes
from webapp.shoots.mixes import Mixing, mixing
from webapp.web.api.answers import StepAnswer, Stops
from webapp.web.api.facts import Answer, FactAnswer
from webapp.web.api.requests import Body, ItemId, JsonRoute, Number
from webapp.web.words.mix import mark_words
from webapp.web.words.say import say

router = APIRouter(tags=["comparing"], route_class=JsonRoute)

Letter = Annotated[str, Field(max_length=4)]
Level = Annotated[Number, Field(ge=-MOST_STOPS, le=MOST_STOPS)]
LevelsByLetter = Annotated[
    dict[Letter, Level | None],
    Field(
        max_length=24,
        description="stops by letter; null leaves a light out, a light that is not named is as it was",
    ),
]
# The names that a body may have from before: requests to the older addresses are led on with it.
_LEVELS = AliasChoices("levels", "weights")
_MIX_ID = AliasChoices("mix_id", "mixture_id")
_SAVED_FOR = AliasChoices("saved_for", "kept_for")


class PartAnswer(BaseModel):
    """A light that can be mixed: the frame that it alone lit, and what brings that to the settings of the mix."""

    letter: str
    name: str
    frame_id: str
    frame: int
    correction_stops: Stops


class SavedMixAnswer(Answer):
    """A saved mix, with the frames it was made of by letter."""

    id: str
    name: str
    saved_for: str
    levels: dict[str, float | None]
    frames: dict[str, str]


class RemixAnswer(BaseModel):
    """What can be mixed; with `refused` nothing can, and why."""

    parts: list[PartAnswer]
    settings_of_frame: int | None
    ambient_frame: int | None = Field(
        description="the check whose light is taken out of each picture and put in once"
    )
    refused: list[str]
    refused_facts: list[FactAnswer]
    notes: list[str]
    note_facts: list[FactAnswer]
    saved: list[SavedMixAnswer]


class RatioWanted(Body):
    """A ratio to bring about, by moving the fill."""

    ratio: Annotated[str, Field(max_length=20, examples=["3:1"])]
    convention: Annotated[str, Field(max_length=40, examples=list(CONVENTIONS))] = KEY_TO_FILL
    key: Letter
    fill: Letter
    patch: Annotated[str, Field(max_length=40)] = ""


class MixWanted(Body):
    """A mix to work out; `mix_id` takes the frames and levels of a saved one."""

    levels: LevelsByLetter = Field(default_factory=dict, validation_alias=_LEVELS)
    mix_id: Annotated[str, Field(max_length=60, validation_alias=_MIX_ID)] = ""
    ratio: RatioWanted | None = None


class RatioAnswer(BaseModel):
    """One light against another at a patch, in both conventions."""

    of: str
    to: str
    key_to_fill: float
    sum_to_fill: float
    stops: Stops


class MixedPatch(BaseModel):
    """A patch of a mix, in stops about mid-tone; null is black. `shares` are of its light, by letter."""

    name: str
    total_stops: Stops | None
    shares: dict[str, float]
    ratios: list[RatioAnswer]
    clipped_in_frames_of: list[str] = Field(description="then the total is at least so much")
    blown_share: float
    working: StepAnswer


class PowerSettingAnswer(BaseModel):
    """What to set on a head, at the set-up as it stands. `leaves_stops` is what the nearest mark is off by."""

    letter: str
    mark: str
    power_stops: Stops | None
    leaves_stops: Stops
    stands: str
    out: bool
    words: str
    note_facts: list[FactAnswer]


class MixAnswer(BaseModel):
    """A mix in figures. It is a preview: no camera made it."""

    levels: dict[str, float | None]
    patches: list[MixedPatch]
    power_settings: list[PowerSettingAnswer]
    notes: list[str]
    note_facts: list[FactAnswer]


class NewMix(Body):
    """A mix to save."""

    name: Annotated[str, Field(min_length=1, max_length=120)]
    saved_for: Annotated[Literal["reshoot", "lesson"], Field(validation_alias=_SAVED_FOR)] = "reshoot"
    levels: LevelsByLetter = Field(default_factory=dict, validation_alias=_LEVELS)
    mix_id: Annotated[str, Field(max_length=60, validation_alias=_MIX_ID)] = ""


@router.get("/shots/{shot_id}/remix")
def remix(services: InServices, shot_id: ItemId) -> RemixAnswer:
    """What can be mixed of a shot, and the mixes that are saved of it."""
    found = mixing(services.records, shot_id)
    return RemixAnswer(
        parts=[
            PartAnswer(
                letter=part.letter,
                name=part.alone.light.name,
                frame_id=part.alone.frame_id,
                frame=part.alone.number,
                correction_stops=part.correction_stops,
            )
            for part in found.found.parts
        ],
        settings_of_frame=found.found.settings_of or None,
        ambient_frame=found.found.ambient.number if found.found.ambient else None,
        refused=[say(each) for each in found.found.refused],
        refused_facts=FactAnswer.all_of(found.found.refused),
        notes=[say(each) for each in found.found.notes],
        note_facts=FactAnswer.all_of(found.found.notes),
        saved=[SavedMixAnswer.model_validate(each) for each in found.saved],
    )


@router.post("/shots/{shot_id}/remix")
def work_out(services: InServices, shot_id: ItemId, body: MixWanted) -> MixAnswer:
    """Work a mix out: totals and ratios by patch, and the power settings that make it."""
    found = _mixing(services, shot_id, body.mix_id)
    _refuse_without_lights(found)
    levels: Levels = _levels(found, body.levels, body.mix_id)
    pictures = services.light_table.pictures_of(found.found)
    mixed = mix(found.found, levels, pictures, found.patches)
    if body.ratio is not None:
        levels = _with_ratio(mixed, levels, body.ratio)
        mixed = mix(found.found, levels, pictures, found.patches)
    return MixAnswer(
        levels=dict(levels),
        patches=[_patch_answer(mixed, index, found.found.letters) for index in range(len(mixed.patches))],
        power_settings=[
            PowerSettingAnswer(
                letter=each.letter,
                mark=each.mark,
                power_stops=each.power_stops,
                leaves_stops=each.leaves_stops,
                stands=each.stands,
                out=each.out,
                words=mark_words(each),
                note_facts=FactAnswer.all_of(each.notes),
            )
            for each in power_settings(found.found, levels, found.standing)
        ],
        notes=[say(each) for each in found.found.notes],
        note_facts=FactAnswer.all_of(found.found.notes),
    )


@router.post("/shots/{shot_id}/mixes", status_code=201)
def save_mix(services: InServices, shot_id: ItemId, body: NewMix) -> SavedMixAnswer:
    """Save a mix as the target of a reshoot, or a lesson."""
    found = _mixing(services, shot_id, body.mix_id)
    _refuse_without_lights(found)
    levels = _levels(found, body.levels, body.mix_id)
    said = {"name": body.name, "saved_for": body.saved_for}
    saved_id = mixes.save_mix(services.records, found, said, levels)
    return next(
        SavedMixAnswer.model_validate(each) for each in mixing(services.records, shot_id).saved if each.id == saved_id
    )


@router.delete("/shots/{shot_id}/mixes/{mix_id}", status_code=204)
def forget_mix(services: InServices, shot_id: ItemId, mix_id: ItemId) -> Response:
    """Forget a saved mix; the frames it was made of stay."""
    mixes.forget_mix(services.records, shot_id, mix_id)
    return Response(status_code=204)


@router.api_route("/shots/{shot_id}/sum", methods=["GET", "POST"], include_in_schema=False)
def older_address(shot_id: ItemId) -> Response:
    """Where the re-mix stood before."""
    return RedirectResponse(f"/api/v1/shots/{shot_id}/remix", 308)


@router.post("/shots/{shot_id}/mixtures", include_in_schema=False)
def older_mixes(shot_id: ItemId) -> Response:
    """Where a mix was saved before."""
    return RedirectResponse(f"/api/v1/shots/{shot_id}/mixes", 308)


@router.delete("/shots/{shot_id}/mixtures/{mix_id}", include_in_schema=False)
def older_mix(shot_id: ItemId, mix_id: ItemId) -> Response:
    """Where a saved mix stood before."""
    return RedirectResponse(f"/api/v1/shots/{shot_id}/mixes/{mix_id}", 308)


def _mixing(services: Services, shot_id: str, mix_id: str) -> Mixing:
    found = mixing(services.records, shot_id)
    if mix_id:
        if all(each.id != mix_id for each in found.saved):
            raise InvalidValue("mix_id", "There is no such mix of this shot.")
        found = mixing(services.records, shot_id, mix_id)
    return found


def _refuse_without_lights(found: Mixing) -> None:
    if not found.found.parts:
        raise Conflict(" ".join(map(say, found.found.refused)))


def _levels(found: Mixing, given: Levels, mix_id: str) -> dict[str, float | None]:
    unknown = sorted(set(given) - set(found.found.letters))
    if unknown:
        raise InvalidValue(("levels", unknown[0]), f"No frame is lit by “{unknown[0]}” alone.")
    saved = next((each.levels for each in found.saved if each.id == mix_id), {})
    start: dict[str, float | None] = {letter: saved.get(letter, 0.0) for letter in found.found.letters}
    return start | dict(given)


def _with_ratio(mixed: Mixed, levels: Levels, wanted: RatioWanted) -> Levels:
    patch = next((each for each in mixed.patches if each.name == wanted.patch), None)
    if patch is None:
        if wanted.patch:
            raise InvalidValue(("ratio", "patch"), f"There is no patch “{wanted.patch}” here.")
        patch = mixed.patches[0]
    try:
        stops = key_minus_fill_stops(read_ratio(wanted.ratio), wanted.convention)
        return levels_for_ratio(patch, levels, wanted.key, wanted.fill, stops)
    except ValueError as problem:
        raise InvalidValue(("ratio", "ratio"), str(problem)) from problem


def _patch_answer(mixed: Mixed, index: int, letters: tuple[str, ...]) -> MixedPatch:
    patch = mixed.patches[index]
    whole = sum(patch.light.values())
    ratios = [
        RatioAnswer(
            of=key,
            to=fill,
            key_to_fill=ratio.key_to_fill,
            sum_to_fill=ratio.sum_to_fill,
            stops=ratio.key_minus_fill_stops,
        )
        for key in letters
        for fill in letters
        if (ratio := patch.ratio(key, fill)) is not None
    ]
    return MixedPatch(
        name=patch.name,
        total_stops=patch.total_stops,
        shares={letter: level / whole for letter, level in patch.light.items()} if whole else {},
        ratios=ratios,
        clipped_in_frames_of=list(patch.clipped_alone),
        blown_share=patch.blown_share,
        working=StepAnswer.model_validate(patch.working),
    )
