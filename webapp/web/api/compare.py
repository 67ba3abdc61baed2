"""Frames against each other: two frames compared, sharpness, series."""

from __future__ import annotations

from typing import Annotated, Literal

from fastapi import APIRouter, Query
from pydantic import AliasPath, BaseModel, Field

from webapp.ledger.workings import working_of_sharpness
from webapp.pictures.aligning import Over
from webapp.services import InServices
from webapp.shoots import frames
from webapp.shoots.compare import Side, compared
from webapp.shoots.series import Series, in_series
from webapp.shoots.tiles import difference_of, held_over, lift_of, maps_of, nudged
from webapp.web.api.answers import ComparisonAnswer, StepAnswer, Stops
from webapp.web.api.facts import Answer, FactAnswer
from webapp.web.api.requests import ItemId, JsonRoute
from webapp.web.words.say import maybe_say, say

router = APIRouter(tags=["comparing"], route_class=JsonRoute)

_SERIES_FRAMES = 200


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


class TwoFramesAnswer(BaseModel):
    """Two frames compared: all differences are the second's against the first."""

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
def two_frames(services: InServices, frame_id: ItemId, other_id: ItemId) -> TwoFramesAnswer:
    """Two frames compared. What is missing of their maps of sharpness is begun."""
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
    return TwoFramesAnswer(
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
