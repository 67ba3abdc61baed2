"""Frames against each other and added up: two frames beside each other, sharpness, the sum of lights, series."""

from __future__ import annotations

from typing import Annotated, Literal

from fastapi import APIRouter, Query
from pydantic import AliasPath, BaseModel, Field
from starlette.responses import Response

from webapp.errors import Conflict, InvalidValue
from webapp.ledger.mix_settings import marks_to_dial
from webapp.ledger.ratio import CONVENTIONS, KEY_TO_FILL, key_minus_fill_stops
from webapp.ledger.remix import MOST_STOPS, Mixed, Weights, mix, weights_for_ratio
from webapp.ledger.workings import working_of_sharpness
from webapp.pictures.aligning import Over
from webapp.quantities.ratios import read_ratio
from webapp.services import InServices, Services
from webapp.shoots import frames, mixes
from webapp.shoots.compare import Side, compared
from webapp.shoots.mixes import Mixing, mixing
from webapp.shoots.series import Series, in_series
from webapp.shoots.tiles import difference_of, held_over, lift_of, maps_of, nudged
from webapp.web.api.answers import ComparisonAnswer, StepAnswer, Stops
from webapp.web.api.facts import Answer, FactAnswer
from webapp.web.api.requests import Body, ItemId, JsonRoute, Number
from webapp.web.words.mix import mark_words
from webapp.web.words.say import maybe_say, say

router = APIRouter(tags=["comparing"], route_class=JsonRoute)

_SERIES_FRAMES = 200
Letter = Annotated[str, Field(max_length=4)]
Weight = Annotated[Number, Field(ge=-MOST_STOPS, le=MOST_STOPS)]
Weighed = Annotated[
    dict[Letter, Weight | None],
    Field(
        max_length=24,
        description="stops by letter; null leaves a light out, a light that is not named is as it was",
    ),
]


class OpticsAnswer(BaseModel):
    """What optics predicts for a frame; null where its f-number or magnification is unknown."""

    effective_f_number: float
    airy_disc_mm: float
    airy_disc_px: float
    depth_mm: float | None
    working: list[StepAnswer]


class SideAnswer(BaseModel):
    """One of two frames, with the picture that is shown of it."""

    frame_id: str
    number: int
    picture: str | None = Field(description="the digest of the picture")
    width_px: int | None
    height_px: int | None
    optics: OpticsAnswer | None

    @classmethod
    def of(cls, side: Side) -> SideAnswer:
        optics = side.optics
        return cls(
            frame_id=side.frame.row.id,
            number=side.frame.row.number,
            picture=side.picture.digest if side.picture else None,
            width_px=side.shown.width_px if side.shown else None,
            height_px=side.shown.height_px if side.shown else None,
            optics=OpticsAnswer(
                effective_f_number=optics.effective_f_number,
                airy_disc_mm=optics.airy_mm,
                airy_disc_px=optics.airy_px,
                depth_mm=optics.depth_mm,
                working=[StepAnswer.model_validate(step) for step in working_of_sharpness(side.frame.set_up)],
            )
            if optics
            else None,
        )


class MeasuredAnswer(Answer):
    """A patch in both frames; stops about mid-tone, and the difference. Null: not to be told from black."""

    patch: str = Field(validation_alias="name")
    first_stops: Stops | None = Field(validation_alias=AliasPath("first", "read_stops"))
    second_stops: Stops | None = Field(validation_alias=AliasPath("second", "read_stops"))
    difference_stops: Stops | None = Field(validation_alias="stops")
    estimated: bool
    by_eye: bool = Field(description="one of the two was judged by eye, without a file")


class SharpnessAnswer(BaseModel):
    """What the second picture gained and lost. `state` is "waiting" while the pictures are measured: ask again."""

    state: Literal["waiting", "made", "refused"]
    trouble: str
    columns: int | None = None
    rows: int | None = None
    gained_share: float | None = Field(default=None, description="of the tiles that show detail in either")
    lost_share: float | None = None
    median_stops: Stops | None = Field(default=None, description="change of local contrast of the middle tile")
    tiles: list[Stops | None] = Field([], description="stops of local contrast, row by row; null: no detail to tell")


class NudgeAnswer(BaseModel):
    """How far the subject lies to the right and further down in the second picture, as shares of the first's width."""

    across: float
    down: float

    @classmethod
    def of(cls, over: Over) -> NudgeAnswer | None:
        return None if over.across is None or over.down is None else cls(across=over.across, down=over.down)


class BesideAnswer(BaseModel):
    """Two frames on equal terms: all differences are the second's against the first."""

    first: SideAnswer
    second: SideAnswer
    refused: str = Field(description="why the pictures cannot be laid over each other; empty where they can")
    refused_fact: FactAnswer | None
    laid: str = Field(description="what laying them over each other rests on")
    laid_fact: FactAnswer | None
    ledger: ComparisonAnswer
    measured: list[MeasuredAnswer]
    nudge: NudgeAnswer | None = Field(description="null: nothing in the pictures tells it")
    lift_stops: Stops | None = Field(description="brings the second to the brightness of the first, in linear light")
    sharpness: SharpnessAnswer


@router.get("/frames/{frame_id}/compare/{other_id}")
def two_frames(services: InServices, frame_id: ItemId, other_id: ItemId) -> BesideAnswer:
    """Two frames beside each other. What is missing of their maps of sharpness is begun."""
    found = compared(services.records, frame_id, other_id)
    maps = maps_of(services.light_table, found, make=True)
    over = held_over(services.intake, found)
    difference = difference_of(nudged(found, over), maps)
    trouble = maps.trouble or maybe_say(maps.refused)
    sharpness = SharpnessAnswer(state="refused" if trouble else "waiting", trouble=trouble, tiles=[])
    if difference is not None:
        sharpness = SharpnessAnswer(
            state="made",
            trouble="",
            columns=difference.columns,
            rows=difference.rows,
            gained_share=difference.gained_share,
            lost_share=difference.lost_share,
            median_stops=difference.median_stops,
            tiles=list(difference.stops),
        )
    return BesideAnswer(
        first=SideAnswer.of(found.first),
        second=SideAnswer.of(found.second),
        refused=maybe_say(found.refused),
        refused_fact=FactAnswer.maybe(found.refused),
        laid=say(found.laid.rests_on) if found.laid else "",
        laid_fact=FactAnswer.maybe(found.laid.rests_on if found.laid else None),
        ledger=ComparisonAnswer.of(found.ledger, found.second.frame.set_up),
        measured=[MeasuredAnswer.model_validate(each) for each in found.measured],
        nudge=NudgeAnswer.of(over),
        lift_stops=lift_of(found, over),
        sharpness=sharpness,
    )


# --- the sum of lights --------------------------------------------------------------------------------------------


class PartAnswer(BaseModel):
    """A light of the sum: the frame that it alone lit, and what brings that to the settings of the sum."""

    letter: str
    name: str
    frame_id: str
    frame: int
    correction_stops: Stops


class KeptAnswer(Answer):
    """A mixture that was kept, with the frames it was made of by letter."""

    id: str
    name: str
    kept_for: str
    weights: dict[str, float | None]
    frames: dict[str, str]


class SumAnswer(BaseModel):
    """What can be added up; with `refused` nothing can, and why."""

    parts: list[PartAnswer]
    settings_of_frame: int | None
    ambient_frame: int | None = Field(
        description="the check whose light is taken out of each picture and put in once"
    )
    refused: list[str]
    refused_facts: list[FactAnswer]
    notes: list[str]
    note_facts: list[FactAnswer]
    kept: list[KeptAnswer]


class RatioWanted(Body):
    """A ratio to bring about, by moving the fill."""

    ratio: Annotated[str, Field(max_length=20, examples=["3:1"])]
    convention: Annotated[str, Field(max_length=40, examples=list(CONVENTIONS))] = KEY_TO_FILL
    key: Letter
    fill: Letter
    patch: Annotated[str, Field(max_length=40)] = ""


class MixtureWanted(Body):
    """A mixture to work out; `mixture_id` takes the frames and weights of one that was kept."""

    weights: Weighed = Field(default_factory=dict)
    mixture_id: Annotated[str, Field(max_length=60)] = ""
    ratio: RatioWanted | None = None


class RatioAnswer(BaseModel):
    """One light against another at a patch, in both conventions."""

    of: str
    to: str
    key_to_fill: float
    sum_to_fill: float
    stops: Stops


class MixedPatch(BaseModel):
    """A patch of a mixture, in stops about mid-tone; null is black. `shares` are of its light, by letter."""

    name: str
    total_stops: Stops | None
    shares: dict[str, float]
    ratios: list[RatioAnswer]
    clipped_in_frames_of: list[str] = Field(description="then the total is at least so much")
    blown_share: float
    working: StepAnswer


class MarkAnswer(BaseModel):
    """What to set on a head, at the set-up as it stands. `leaves_stops` is what the nearest mark is off by."""

    letter: str
    mark: str
    power_stops: Stops | None
    leaves_stops: Stops
    stands: str
    out: bool
    words: str
    note_facts: list[FactAnswer]


class MixtureAnswer(BaseModel):
    """A mixture in figures. It is a preview: no camera made it."""

    weights: dict[str, float | None]
    patches: list[MixedPatch]
    marks: list[MarkAnswer]
    notes: list[str]
    note_facts: list[FactAnswer]


class NewMixture(Body):
    """A mixture to keep."""

    name: Annotated[str, Field(min_length=1, max_length=120)]
    kept_for: Literal["reshoot", "lesson"] = "reshoot"
    weights: Weighed = Field(default_factory=dict)
    mixture_id: Annotated[str, Field(max_length=60)] = ""


@router.get("/shots/{shot_id}/sum")
def sum_of_lights(services: InServices, shot_id: ItemId) -> SumAnswer:
    """What can be added up of a shot, and what was kept."""
    found = mixing(services.records, shot_id)
    return SumAnswer(
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
        kept=[KeptAnswer.model_validate(each) for each in found.kept],
    )


@router.post("/shots/{shot_id}/sum")
def work_out_mixture(services: InServices, shot_id: ItemId, body: MixtureWanted) -> MixtureAnswer:
    """Work a mixture out: totals and ratios by patch, and the marks to dial."""
    found = _mixing(services, shot_id, body.mixture_id)
    _refuse_without_sum(found)
    weights: Weights = _weights(found, body.weights, body.mixture_id)
    pictures = services.light_table.pictures_of(found.found)
    mixed = mix(found.found, weights, pictures, found.patches)
    if body.ratio is not None:
        weights = _with_ratio(mixed, weights, body.ratio)
        mixed = mix(found.found, weights, pictures, found.patches)
    return MixtureAnswer(
        weights=dict(weights),
        patches=[_patch_answer(mixed, index, found.found.letters) for index in range(len(mixed.patches))],
        marks=[
            MarkAnswer(
                letter=each.letter,
                mark=each.mark,
                power_stops=each.power_stops,
                leaves_stops=each.leaves_stops,
                stands=each.stands,
                out=each.out,
                words=mark_words(each),
                note_facts=FactAnswer.all_of(each.notes),
            )
            for each in marks_to_dial(found.found, weights, found.standing)
        ],
        notes=[say(each) for each in found.found.notes],
        note_facts=FactAnswer.all_of(found.found.notes),
    )


@router.post("/shots/{shot_id}/mixtures", status_code=201)
def keep_mixture(services: InServices, shot_id: ItemId, body: NewMixture) -> KeptAnswer:
    """Keep a mixture as the target of a reshoot, or a lesson."""
    found = _mixing(services, shot_id, body.mixture_id)
    _refuse_without_sum(found)
    weights = _weights(found, body.weights, body.mixture_id)
    said = {"name": body.name, "kept_for": body.kept_for}
    kept_id = mixes.keep_mixture(services.records, found, said, weights)
    return next(
        KeptAnswer.model_validate(each) for each in mixing(services.records, shot_id).kept if each.id == kept_id
    )


@router.delete("/shots/{shot_id}/mixtures/{mixture_id}", status_code=204)
def forget_mixture(services: InServices, shot_id: ItemId, mixture_id: ItemId) -> Response:
    """Forget a kept mixture; the frames it was made of stay."""
    mixes.forget_mixture(services.records, shot_id, mixture_id)
    return Response(status_code=204)


def _mixing(services: Services, shot_id: str, mixture_id: str) -> Mixing:
    found = mixing(services.records, shot_id)
    if mixture_id:
        if all(each.id != mixture_id for each in found.kept):
            raise InvalidValue("mixture_id", "There is no such mixture of this shot.")
        found = mixing(services.records, shot_id, mixture_id)
    return found


def _refuse_without_sum(found: Mixing) -> None:
    if not found.found.parts:
        raise Conflict(" ".join(map(say, found.found.refused)))


def _weights(found: Mixing, given: Weights, mixture_id: str) -> dict[str, float | None]:
    unknown = sorted(set(given) - set(found.found.letters))
    if unknown:
        raise InvalidValue(("weights", unknown[0]), f"No frame is lit by “{unknown[0]}” alone.")
    kept = next((each.weights for each in found.kept if each.id == mixture_id), {})
    start: dict[str, float | None] = {letter: kept.get(letter, 0.0) for letter in found.found.letters}
    return start | dict(given)


def _with_ratio(mixed: Mixed, weights: Weights, wanted: RatioWanted) -> Weights:
    patch = next((each for each in mixed.patches if each.name == wanted.patch), None)
    if patch is None:
        if wanted.patch:
            raise InvalidValue(("ratio", "patch"), f"There is no patch “{wanted.patch}” here.")
        patch = mixed.patches[0]
    try:
        stops = key_minus_fill_stops(read_ratio(wanted.ratio), wanted.convention)
        return weights_for_ratio(patch, weights, wanted.key, wanted.fill, stops)
    except ValueError as problem:
        raise InvalidValue(("ratio", "ratio"), str(problem)) from problem


def _patch_answer(mixed: Mixed, index: int, letters: tuple[str, ...]) -> MixedPatch:
    patch = mixed.patches[index]
    whole = sum(patch.levels.values())
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
        shares={letter: level / whole for letter, level in patch.levels.items()} if whole else {},
        ratios=ratios,
        clipped_in_frames_of=list(patch.clipped_alone),
        blown_share=patch.blown_share,
        working=StepAnswer.model_validate(patch.working),
    )


# --- series -------------------------------------------------------------------------------------------------------


class SeriesAnswer(BaseModel):
    """Frames that stand in the log as one: a stack, with nothing changed between them. Oldest first."""

    first: int
    last: int
    count: int
    frame_ids: list[str]
    positions_mm: list[float] = Field(description="where the words of every frame name one")
    step_mm: float | None


@router.get("/shots/{shot_id}/series")
def series(
    services: InServices,
    shot_id: ItemId,
    before: Annotated[int | None, Query(ge=1, le=2**31, description="frames older than this number")] = None,
) -> list[SeriesAnswer]:
    """The series among the newest 200 frames of a shot, or among those before a number."""
    found = in_series(frames.page_of(services.records, shot_id, limit=_SERIES_FRAMES, before_number=before))
    return [
        SeriesAnswer(
            first=each.first_number,
            last=each.last_number,
            count=each.count,
            frame_ids=[frame.row.id for frame in reversed(each.frames)],
            positions_mm=list(each.positions_mm),
            step_mm=each.step_mm,
        )
        for each in found
        if isinstance(each, Series)
    ]
