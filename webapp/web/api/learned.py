"""What frames have taught of the kit: the steps and spread of a head, and the tone curves of a camera."""

from __future__ import annotations

from dataclasses import asdict
from typing import Annotated

from fastapi import APIRouter
from pydantic import BaseModel, BeforeValidator

from webapp.kit.curves import KnownCurve, known_curves
from webapp.kit.learned import Run, learned_of_head
from webapp.optics.tone_curve import LEVELS
from webapp.records import kit as kit_records
from webapp.records.tables import Camera, LightHead
from webapp.services import InServices
from webapp.web.api.answers import Stops
from webapp.web.api.facts import Answer
from webapp.web.api.requests import ItemId, JsonRoute
from webapp.web.words.tone_curve import style_words

router = APIRouter(tags=["readings"], route_class=JsonRoute)


class RunAnswer(BaseModel):
    """A run of frames at one power, in stops."""

    power_stops: float
    count: int
    mean_stops: float
    deviation_stops: float
    range_stops: float
    drift_stops: float
    first_frame_stops: float

    @classmethod
    def of(cls, run: Run) -> RunAnswer:
        return cls(power_stops=run.power_stops, **asdict(run.spread))


class StepAnswer(Answer):
    """What one marked stop of a head gives."""

    slope: float
    scatter_stops: float
    count: int


class LearnedAnswer(Answer):
    """What frames have taught about a head; `step` is null until five changes of its power have been read."""

    spread_stops: float | None
    runs: list[Annotated[RunAnswer, BeforeValidator(RunAnswer.of)]]
    step: StepAnswer | None
    step_readings: int


class CurvePoint(BaseModel):
    """The curve at one level: the light there, and what it may be off by against mid-tone (a standard deviation)."""

    level_stops: float
    light_stops: Stops
    error_stops: Stops
    known: bool


class CurveAnswer(BaseModel):
    """The tone curve of a camera's rendered files of one picture style, in stops about mid-tone, with what it rests on."""

    style: str
    series: int
    frames: int
    readings: int
    stood_out: int
    points: list[CurvePoint]

    @classmethod
    def of(cls, known: KnownCurve) -> CurveAnswer:
        learned, curve = known.learned, known.learned.curve
        low, high = curve.known or (0.0, 0.0)
        return cls(
            style=style_words(known.kind, known.style),
            series=learned.series,
            frames=learned.frames,
            readings=learned.readings,
            stood_out=learned.stood_out,
            points=[
                CurvePoint(
                    level_stops=level,
                    light_stops=curve.light_stops(level),
                    error_stops=curve.error_stops(level),
                    known=low <= level <= high,
                )
                for level in LEVELS
            ],
        )


@router.get("/kit/lights/{light_id}/learned")
def learned(services: InServices, light_id: ItemId) -> LearnedAnswer:
    """The spread of a head over runs of frames, and what a marked stop of it really gives."""
    with services.records.reading() as db:
        kit_records.item_of(db, LightHead, light_id)
        return LearnedAnswer.model_validate(learned_of_head(db, light_id))


@router.get("/kit/cameras/{camera_id}/curves")
def curves(services: InServices, camera_id: ItemId) -> list[CurveAnswer]:
    """The tone curves of a camera's rendered files, by picture style, as far as exposure series have taught them."""
    with services.records.reading() as db:
        return [CurveAnswer.of(each) for each in known_curves(db, kit_records.item_of(db, Camera, camera_id))]
