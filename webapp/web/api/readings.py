"""Pictures as evidence: patches, readings, the unexplained difference with its causes, and the ambient proof."""

from __future__ import annotations

import datetime as dt
from dataclasses import asdict
from typing import Annotated, Literal

from fastapi import APIRouter
from pydantic import BaseModel, BeforeValidator, Field
from starlette.background import BackgroundTask
from starlette.responses import Response

from webapp.errors import InvalidValue
from webapp.kit.curves import KnownCurve, known_curves
from webapp.kit.learned import Run, learned_of_head
from webapp.ledger.ambient_proof import AmbientProof, Standing
from webapp.ledger.evidence import MID_TONE_STOPS, EyeReading
from webapp.ledger.explanations import Explanation
from webapp.ledger.left_over_map import LeftOverMap
from webapp.ledger.ratio import CONVENTIONS
from webapp.optics.tone_curve import LEVELS
from webapp.pictures.light_map import Place
from webapp.pictures.rule import scale_from_rule
from webapp.records import kit as kit_records
from webapp.records.tables import Camera, LightHead
from webapp.services import InServices, Services
from webapp.shoots import explain, frames, readings, set_up_now
from webapp.shoots.evidence import PatchTotal
from webapp.shoots.readings import PatchOfFrame
from webapp.web.api.answers import MaybeSaid, Said, Stops
from webapp.web.api.facts import Answer, FactAnswer
from webapp.web.api.forms import Revision
from webapp.web.api.frames import FrameAnswer
from webapp.web.api.requests import Body, ItemId, JsonRoute, Number
from webapp.web.typed import typed_ratio, typed_seen
from webapp.web.words.explanations import sentence_of, telling_frame_of, title_of
from webapp.web.words.proof import proof_line
from webapp.web.words.say import maybe_say, say
from webapp.web.words.set_up import says_words
from webapp.web.words.tone_curve import style_words

router = APIRouter(tags=["readings"], route_class=JsonRoute)

Side = Annotated[Number, Field(ge=-1, le=1)]
Size = Annotated[Number, Field(gt=0, le=2)]
Level = Annotated[Number, Field(ge=-12, le=6)]
Bearing = Annotated[Number, Field(ge=-180, le=180)]
Elevation = Annotated[Number, Field(ge=-90, le=90)]
Tap = Annotated[Number, Field(ge=0, le=1)]
Name = Annotated[str, Field(min_length=1, max_length=40)]


class NewPatch(Body):
    """A patch for every frame of a shot: its place in fractions of the upright picture from the top left, and the
    level it ought to have, in stops about mid-tone (18 % of clipping)."""

    name: Name
    x: Side
    y: Side
    width: Size
    height: Size
    wanted_stops: Level = 0.0
    bearing_deg: Bearing | None = Field(None, description="where its face of the subject points, as seen from above")
    elevation_deg: Elevation | None = Field(
        None, description="the same, above the level; left out beside a bearing, 0"
    )


class PatchChanges(Body):
    """What is left out stays."""

    name: Name | None = None
    x: Side | None = None
    y: Side | None = None
    width: Size | None = None
    height: Size | None = None
    wanted_stops: Level | None = None
    bearing_deg: Bearing | None = Field(None, description="null, where sent, takes the direction away")
    elevation_deg: Elevation | None = None
    revision: Revision = None


class PatchAnswer(Answer):
    """A patch as it is drawn for a shot."""

    id: str
    shot_id: str
    name: str
    x: float
    y: float
    width: float
    height: float
    wanted_stops: float
    bearing_deg: float | None
    elevation_deg: float | None
    retired: bool
    revision: int
    created_at: dt.datetime


class ChannelAnswer(Answer):
    """One colour: its linear level, 1 being clipping, and what part of its places is clipped."""

    channel: str
    level: float
    clipped_high_share: float
    clipped_low_share: float


class MeasuredAnswer(Answer):
    """What was measured, in linear light. `level_stops` is about clipping; null where the patch cannot be told from
    black: then it is at most `at_most_stops`. `histogram` has the shares in half stops from 16 below clipping."""

    kind: str
    level: float
    level_stops: float | None
    at_most_stops: float
    noise: float
    estimated: bool = Field(description="from a rendered file, whose tone curve is not known")
    tolerance_stops: float | None
    channels: list[ChannelAnswer]
    histogram: list[float]
    notes: list[Said]
    note_facts: list[FactAnswer] = Field(validation_alias="notes")


class EyeAnswer(Answer):
    """What was seen by eye, in stops about mid-tone. `read_stops` is null where nothing was to be seen: the patch then
    is at most `at_most_stops`."""

    read_stops: Stops | None
    at_most_stops: Stops
    tolerance_stops: Stops | None

    @classmethod
    def of(cls, seen: EyeReading) -> EyeAnswer:
        return cls(
            read_stops=seen.read_stops,
            at_most_stops=seen.at_most_stops - MID_TONE_STOPS,
            tolerance_stops=seen.tolerance_stops,
        )


class FrameReadingAnswer(BaseModel):
    """A patch of a frame with its reading; null where it is not measured yet or could not be. A file's reading holds
    before the eye's."""

    patch_id: str | None = Field(description="null for the middle of the picture, where no patch is drawn")
    name: str
    wanted_stops: float
    picture: str
    reading: MeasuredAnswer | None
    trouble: str
    by_eye: EyeAnswer | None

    @classmethod
    def of(cls, found: PatchOfFrame) -> FrameReadingAnswer:
        return cls(
            patch_id=found.patch.id if found.patch else None,
            name=found.name,
            wanted_stops=found.wanted_stops,
            picture=found.picture_name,
            reading=MeasuredAnswer.model_validate(found.reading) if found.reading else None,
            trouble=found.trouble,
            by_eye=EyeAnswer.of(found.by_eye) if found.by_eye else None,
        )


class TypedSeen(Body):
    """What is seen by eye of a patch, as it would be typed; the patch may be left out where there is one or none.
    "unknown" takes back what was typed before."""

    typed: Annotated[
        str,
        Field(min_length=1, max_length=80, examples=["card -0.3", "card a third too bright", "black by eye"]),
    ]


class PatchEvidenceAnswer(Answer):
    """Prediction against evidence at one patch, in stops: levels about mid-tone, differences to the reference frame."""

    patch_id: str | None
    name: str
    wanted_stops: float
    read_stops: Stops | None
    predicted_stops: Stops | None
    measured_stops: Stops | None
    unexplained_stops: Stops | None
    tolerance_stops: Stops | None
    told: bool = Field(validation_alias="is_told", description="whether the difference is past the tolerance")
    by_eye: bool = Field(description="judged by eye, not measured in a file")
    light_stops: Stops | None = Field(description="the light read: by the camera's curve where it is known")
    estimated: bool = Field(description="from a rendered file, through a tone curve that is not known here")
    shares: dict[str, float]
    why_not: MaybeSaid
    why_not_fact: FactAnswer | None = Field(validation_alias="why_not")


class ExplanationAnswer(BaseModel):
    """A likely cause. `key` is sent back to take it into the frame, where it has `changes`."""

    key: str
    title: str
    sentence: str
    leaves: dict[str, Stops]
    fits: bool
    changes: list[str] = Field(description="the fields that would be put right")
    contradicted: bool = Field(description="whether the colour speaks against it; then it is not taken")
    set_apart: bool = Field(description="whether the evidence leaves room for no other")
    facts: list[FactAnswer] = Field(description="what title and sentence are made of: one cause, or two at once")
    colour_fact: FactAnswer | None = Field(description="what the colour of the patches says of a gel that is missing")

    @classmethod
    def of(cls, found: Explanation) -> ExplanationAnswer:
        return cls(
            key=found.key,
            title=title_of(found),
            sentence=sentence_of(found),
            leaves=dict(found.leaves),
            fits=found.fits,
            changes=[field for field, _ in found.changes],
            contradicted=found.contradicted,
            set_apart=found.set_apart,
            facts=FactAnswer.all_of(found.causes),
            colour_fact=FactAnswer.maybe(found.colour),
        )


class PlaceAnswer(BaseModel):
    """A place in the upright picture, in fractions of its sides from the top left."""

    x: float
    y: float
    width: float
    height: float

    @classmethod
    def of(cls, place: Place) -> PlaceAnswer:
        return cls(x=place.x, y=place.y, width=place.width, height=place.height)


class RegionAnswer(BaseModel):
    """A place in the picture that shows other light than the lights together make: in stops, brighter above 0."""

    place: PlaceAnswer = Field(description="the bounds of its tiles")
    stops: Stops
    redder_stops: Stops | None = Field(description="red against blue; null for a grey picture")


class LeftOverAnswer(BaseModel):
    """Every tile of the picture solved as the sum of the lights and the room."""

    fits: bool = Field(description="false: as a whole the picture is no sum of these frames")
    tolerance_stops: Stops = Field(description="what the middle one of the tiles may be off by besides its noise")
    regions: list[RegionAnswer]
    says: list[str]
    says_facts: list[FactAnswer]

    @classmethod
    def of(cls, found: LeftOverMap) -> LeftOverAnswer:
        return cls(
            fits=found.fits,
            tolerance_stops=found.tolerance_stops,
            regions=[
                RegionAnswer(place=PlaceAnswer.of(each.place), stops=each.stops, redder_stops=each.redder_stops)
                for each in found.regions
            ],
            says=list(map(say, found.says)),
            says_facts=FactAnswer.all_of(found.says),
        )


class EvidenceAnswer(BaseModel):
    """What a frame's picture says. Within the tolerance there are no explanations."""

    patches: list[PatchEvidenceAnswer]
    gave: list[str] = Field(description="what each light gave by the picture, or which frame would tell")
    gave_facts: list[FactAnswer]
    left_over: LeftOverAnswer | None = Field(
        description="null where no frame of each light alone shows the same view"
    )
    explanations: list[ExplanationAnswer]
    test_frame: str = Field(description="the cheapest frame that would tell the first two apart")
    test_frame_fact: FactAnswer | None


class Chosen(Body):
    key: Annotated[str, Field(max_length=400)]
    revision: Revision = None


class ProofAnswer(BaseModel):
    """The newest ambient check, compared with the current set-up. Margins are stops below the wanted level."""

    line: str
    frame: int
    frame_id: str
    patch: str = Field(description="the patch where the margin is least; empty outside all")
    nearest: PlaceAnswer | None = Field(description="where in the whole picture; null where no picture was measured")
    shot: str = Field(description="the other shot of the session that the check is carried from; empty for its own")
    made_at: dt.datetime | None
    repeat_at: dt.datetime | None = Field(description="when the check is to be made again")
    is_old: bool = Field(description="that is past")
    proven_stops: Stops
    now_stops: Stops | None
    is_bound: bool = Field(description="at least so much: the room cannot be told from black")
    by_eye: bool = Field(description="the check was judged by eye, not measured in a file")
    standing: Standing
    mid_tone_lift_stops: Stops | None
    shadow_lift_stops: Stops | None = Field(description="of a shadow five stops down")
    colour: str
    advice: list[str]
    fact: FactAnswer = Field(description="why it stands or falls")
    colour_fact: FactAnswer | None
    advice_facts: list[FactAnswer]

    @classmethod
    def of(cls, proof: AmbientProof) -> ProofAnswer:
        return cls(
            line=proof_line(proof),
            frame=proof.number,
            frame_id=proof.frame_id,
            patch=proof.patch,
            nearest=PlaceAnswer.of(proof.nearest) if proof.nearest else None,
            shot=proof.shot,
            made_at=proof.made_at,
            repeat_at=proof.repeat_at,
            is_old=proof.is_old,
            proven_stops=proof.proven_stops,
            now_stops=proof.now_stops,
            is_bound=proof.is_bound,
            by_eye=proof.by_eye,
            standing=proof.standing,
            mid_tone_lift_stops=proof.mid_tone_lift_stops,
            shadow_lift_stops=proof.shadow_lift_stops,
            colour=maybe_say(proof.colour),
            advice=[say(each) for each in proof.advice],
            fact=FactAnswer.model_validate(proof.reason),
            colour_fact=FactAnswer.maybe(proof.colour),
            advice_facts=FactAnswer.all_of(proof.advice),
        )


class TotalAnswer(BaseModel):
    """The total of a patch by its measured shares, and the lighting ratio there, in both conventions."""

    patch: str
    total_stops: Stops | None
    why_not: str
    why_not_fact: FactAnswer | None
    shares: dict[str, float]
    by_eye: bool = Field(description="one of the frames behind the shares was judged by eye")
    origin: dict[str, str]
    origin_facts: dict[str, FactAnswer]
    sum_off_stops: Stops | None = Field(description="the frames lit by one light alone against the frame lit by all")
    key_minus_fill_stops: Stops | None
    key_to_fill: float | None
    sum_to_fill: float | None

    @classmethod
    def of(cls, found: PatchTotal) -> TotalAnswer:
        ratio = found.ratio
        return cls(
            patch=found.name,
            total_stops=found.total.stops,
            why_not=maybe_say(found.total.reason),
            why_not_fact=FactAnswer.maybe(found.total.reason),
            shares=dict(found.shares.by_light),
            by_eye=found.shares.by_eye,
            origin={letter: say(told) for letter, told in found.shares.origin.items()},
            origin_facts={letter: FactAnswer.model_validate(told) for letter, told in found.shares.origin.items()},
            sum_off_stops=found.shares.sum_off_stops,
            key_minus_fill_stops=ratio.key_minus_fill_stops if ratio else None,
            key_to_fill=ratio.key_to_fill if ratio else None,
            sum_to_fill=ratio.sum_to_fill if ratio else None,
        )


class StandingEvidenceAnswer(BaseModel):
    """What the pictures say about the current set-up."""

    ambient: ProofAnswer | None = Field(description="null where no ambient check has been read")
    totals: list[TotalAnswer]
    still_to_measure: int


class RatioAim(Body):
    ratio: Annotated[str, Field(min_length=1, max_length=20, examples=["3:1"])]
    convention: Literal["key : fill", "(key + fill) : fill"] = CONVENTIONS[0]


class RatioAnswer(BaseModel):
    says: str
    says_facts: list[FactAnswer]
    totals: list[TotalAnswer]


class RuleTaps(Body):
    """Two taps on a rule, in fractions of the upright picture, and the length between them."""

    first: Annotated[list[Tap], Field(min_length=2, max_length=2)]
    second: Annotated[list[Tap], Field(min_length=2, max_length=2)]
    length_mm: Annotated[Number, Field(gt=0, le=100_000)]


class ScaleAnswer(Answer):
    """The scale of the picture; the magnification holds where the file shows the whole sensor."""

    mm_per_pixel: float
    field_width_mm: float
    field_height_mm: float
    magnification: float | None


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


@router.get("/shots/{shot_id}/patches")
def list_patches(services: InServices, shot_id: ItemId) -> list[PatchAnswer]:
    """The patches of a shot, in their order."""
    return [PatchAnswer.model_validate(each) for each in readings.patches_of(services.records, shot_id)]


@router.post("/shots/{shot_id}/patches", status_code=201, response_model=PatchAnswer)
def draw_patch(services: InServices, shot_id: ItemId, body: NewPatch) -> Response:
    """Draw a patch. Earlier pictures are measured at it off this request."""
    patch_id = readings.draw_patch(services.records, shot_id, body.model_dump())
    return _measured_anew(services, patch_id, 201)


@router.patch("/patches/{patch_id}", response_model=PatchAnswer)
def change_patch(services: InServices, patch_id: ItemId, body: PatchChanges) -> Response:
    """Change a patch. One that moved is measured anew in every picture."""
    said = body.model_dump(exclude_none=True, exclude={"revision"})
    if "bearing_deg" in body.model_fields_set and body.bearing_deg is None:
        said |= {"bearing_deg": None, "elevation_deg": None}
    readings.change_patch(services.records, patch_id, said, body.revision)
    return _measured_anew(services, patch_id)


@router.post("/patches/{patch_id}/retire", response_model=PatchAnswer)
def retire_patch(services: InServices, patch_id: ItemId) -> Response:
    """Measure a patch no more; its readings stay on record."""
    readings.retire_patch(services.records, patch_id)
    return _measured_anew(services, patch_id)


def _measured_anew(services: Services, patch_id: str, status: int = 200) -> Response:
    patch = readings.patch(services.records, patch_id)
    return Response(
        PatchAnswer.model_validate(patch).model_dump_json(),
        status,
        media_type="application/json",
        background=BackgroundTask(services.intake.catch_up, patch.shot_id),
    )


@router.get("/frames/{frame_id}/readings")
def frame_readings(services: InServices, frame_id: ItemId) -> list[FrameReadingAnswer]:
    """Every patch with its reading in this frame; the middle of the picture where none is drawn."""
    return [FrameReadingAnswer.of(each) for each in readings.readings_of_frame(services.records, frame_id)]


@router.post("/frames/{frame_id}/readings", status_code=201)
def read_by_eye(services: InServices, frame_id: ItemId, body: TypedSeen) -> list[FrameReadingAnswer]:
    """Keep what is seen by eye of a patch of this frame, with a picture or without; the answer is every reading."""
    seen = typed_seen(body.typed, readings.names_to_read(services.records, frame_id))
    readings.keep_by_eye(services.records, frame_id, seen)
    return frame_readings(services, frame_id)


@router.get("/frames/{frame_id}/evidence")
def frame_evidence(services: InServices, frame_id: ItemId) -> EvidenceAnswer:
    """Predicted and measured difference, what is unexplained, and its likely causes in order."""
    frame = frames.one(services.records, frame_id)
    explained = explain.explain(services.records, frame_id)
    found = explained.attribution
    return EvidenceAnswer(
        patches=[PatchEvidenceAnswer.model_validate(each) for each in frame.evidence.patches],
        gave=list(map(say, explained.says)),
        gave_facts=FactAnswer.all_of(explained.says),
        left_over=LeftOverAnswer.of(explained.left_over) if explained.left_over else None,
        explanations=[ExplanationAnswer.of(each) for each in found.explanations],
        test_frame=telling_frame_of(found),
        test_frame_fact=FactAnswer.maybe(found.test_frame),
    )


@router.post("/frames/{frame_id}/explanations")
def take_explanation(services: InServices, frame_id: ItemId, body: Chosen) -> FrameAnswer:
    """Take an explanation into the frame; what stood before is kept as a revision."""
    frame = explain.take_into_frame(services.records, frame_id, body.key, body.revision)
    return FrameAnswer.of_frame(frame)


@router.post("/frames/{frame_id}/scale")
def take_scale(services: InServices, frame_id: ItemId, body: RuleTaps) -> ScaleAnswer:
    """Millimetres per pixel, the field and the magnification from two taps on a rule. Nothing is kept."""
    frame = frames.one(services.records, frame_id)
    sizes = [readings.picture_size(each) for each in frame.pictures]
    width_px, height_px = next((size for size in sizes if all(size)), (0, 0))
    camera = frame.set_up.camera
    try:
        scale = scale_from_rule(
            (body.first[0], body.first[1]),
            (body.second[0], body.second[1]),
            body.length_mm,
            width_px=width_px,
            height_px=height_px,
            pixel_pitch_mm=max(camera.sensor_width_mm, camera.sensor_height_mm) / max(width_px, height_px, 1),
        )
    except ValueError as problem:
        raise InvalidValue("first", str(problem)) from problem
    return ScaleAnswer.model_validate(scale)


@router.get("/shots/{shot_id}/evidence")
def standing_evidence(services: InServices, shot_id: ItemId) -> StandingEvidenceAnswer:
    """The ambient proof, the totals by measured shares and the lighting ratio, at the current set-up."""
    found = set_up_now.state(services.records, shot_id).evidence
    return StandingEvidenceAnswer(
        ambient=ProofAnswer.of(found.proof) if found.proof else None,
        totals=[TotalAnswer.of(each) for each in found.totals],
        still_to_measure=readings.count_to_examine(services.records, shot_id),
    )


@router.post("/shots/{shot_id}/ratio")
def aim_at_ratio(services: InServices, shot_id: ItemId, body: RatioAim) -> RatioAnswer:
    """Bring key and fill to a ratio by the energy of the fill alone."""
    state = set_up_now.aim_at_ratio(services.records, shot_id, typed_ratio(body.ratio), body.convention)
    return RatioAnswer(
        says=says_words(state.says, state.lengths),
        says_facts=FactAnswer.all_of(state.says),
        totals=[TotalAnswer.of(each) for each in state.evidence.totals],
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
