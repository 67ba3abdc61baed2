"""What the pictures prove: the unexplained difference with its causes, the ambient proof, and totals by measured shares."""

from __future__ import annotations

import datetime as dt
from typing import Annotated, Literal

from fastapi import APIRouter
from pydantic import BaseModel, Field

from webapp.ledger.ambient_proof import AmbientProof, Standing
from webapp.ledger.explanations import Explanation
from webapp.ledger.left_over_map import LeftOverMap
from webapp.ledger.ratio import CONVENTIONS
from webapp.pictures.light_map import Place
from webapp.services import InServices
from webapp.shoots import corrections, explain, frames, readings, set_up_now
from webapp.shoots.evidence import PatchTotal
from webapp.web.api.answers import MaybeSaid, Stops
from webapp.web.api.facts import Answer, FactAnswer
from webapp.web.api.forms import Revision
from webapp.web.api.frames import FrameAnswer
from webapp.web.api.requests import Body, ItemId, JsonRoute
from webapp.web.typed import typed_ratio
from webapp.web.words.explanations import sentence_of, telling_frame_of, title_of
from webapp.web.words.proof import proof_line
from webapp.web.words.say import maybe_say, say
from webapp.web.words.set_up import says_words

router = APIRouter(tags=["readings"], route_class=JsonRoute)


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
    state = corrections.aim_at_ratio(services.records, shot_id, typed_ratio(body.ratio), body.convention)
    return RatioAnswer(
        says=says_words(state.says, state.lengths),
        says_facts=FactAnswer.all_of(state.says),
        totals=[TotalAnswer.of(each) for each in state.evidence.totals],
    )
