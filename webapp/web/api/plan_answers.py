"""How a plan reads in JSON: where everything stands, and what follows from it, each figure with its working."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Self

from pydantic import BaseModel, ConfigDict, Field

from webapp.ledger.geometry import Follows, ShareLine, follows
from webapp.ledger.moves import Move, way_back
from webapp.ledger.set_up import Light, SetUp
from webapp.optics import mixed_light
from webapp.optics.working import Step
from webapp.plan.levels import LightMap
from webapp.plan.positions import Position, Thing
from webapp.plan.reflections import Mirrored
from webapp.plan.softness import Shadow, Softness
from webapp.quantities.places import Known
from webapp.shoots.measured_light import MeasuredShares
from webapp.web.api.answers import StepAnswer, exact_stops, maybe_stops
from webapp.web.api.facts import FactAnswer
from webapp.web.words.moves import way_back_words
from webapp.web.words.say import maybe_say, say


def _working(steps: Iterable[Step | None]) -> list[StepAnswer]:
    return [StepAnswer.of(step) for step in steps if step is not None]


class PointAnswer(BaseModel):
    """A place: x to the right as the camera sees it, y away from the camera, z up, from the middle of the subject."""

    model_config = ConfigDict(from_attributes=True)

    x_mm: float
    y_mm: float
    z_mm: float


class PositionAnswer(PointAnswer):
    """A place, also as a tape tells it, what is aimed at from there, and how well it is known."""

    distance_mm: float = Field(description="slantwise, from the middle of the subject")
    bearing_deg: float = Field(description="in plan; 0 is towards the camera, positive to its right")
    aim: PointAnswer
    known: Known

    @classmethod
    def of(cls, position: Position) -> PositionAnswer:
        at = position.at
        return cls(
            x_mm=at.x_mm,
            y_mm=at.y_mm,
            z_mm=at.z_mm,
            distance_mm=at.distance_mm,
            bearing_deg=at.bearing_deg,
            aim=PointAnswer.model_validate(position.aim),
            known=position.known,
        )


class PlacedLight(BaseModel):
    """A light of the set. Null is a place that nobody told; `version` goes back with a change of it."""

    letter: str
    name: str
    lit: bool
    position: PositionAnswer | None
    version: int | None = Field(description="null in a frame, where nothing is moved")

    @classmethod
    def of(cls, light: Light, versions: Mapping[str, int] | None) -> PlacedLight:
        position = None if light.position is None else PositionAnswer.of(light.position)
        version = None if versions is None else versions.get(f"lights.{light.letter}.position", 0)
        return cls(letter=light.letter, name=light.name, lit=light.lit, position=position, version=version)


class PlacedThing(BaseModel):
    """What else stands on the set. `versions` go back with a change, by what is changed."""

    id: str
    kind: str
    position: PositionAnswer
    width_mm: float
    height_mm: float
    depth_mm: float
    turned_deg: float = Field(description="of the subject, about the upright, away from square to the lens")
    versions: dict[str, int] | None

    @classmethod
    def of(cls, thing: Thing, versions: Mapping[str, int] | None) -> PlacedThing:
        told = None
        if versions is not None:
            told = {name: versions.get(f"things.{thing.id}.{name}", 0) for name in ("position", "size", "turned")}
        return cls(
            id=thing.id,
            kind=thing.kind,
            position=PositionAnswer.of(thing.position),
            width_mm=thing.width_mm,
            height_mm=thing.height_mm,
            depth_mm=thing.depth_mm,
            turned_deg=thing.turned_deg,
            versions=told,
        )


class PlanShare(BaseModel):
    """What part of the light at the subject comes from one light: as geometry models it, and as pictures measured."""

    letter: str
    modelled: float | None
    by_guide: bool = Field(description="modelled from a guide number, for want of a meter reading")
    why: str = Field(description="why it is unknown")
    why_fact: FactAnswer | None
    measured: float | None
    measured_at: str = Field(description="the patch; empty where nothing is measured")
    modelled_against_measured_stops: float | None
    working: list[StepAnswer]

    @classmethod
    def of(cls, line: ShareLine) -> PlanShare:
        return cls(
            letter=line.letter,
            modelled=line.modelled,
            by_guide=line.by_guide,
            why=maybe_say(line.why),
            why_fact=FactAnswer.maybe(line.why),
            measured=line.measured,
            measured_at=line.measured_at,
            modelled_against_measured_stops=maybe_stops(line.off_stops),
            working=_working(line.steps),
        )


class PlanRatio(BaseModel):
    """Key less fill, in stops and in both ways of writing a ratio (each to 1)."""

    key: str
    fill: str
    stops: float
    key_to_fill: float
    sum_to_fill: float | None
    working: StepAnswer


class WorkedStops(BaseModel):
    stops: float
    working: StepAnswer


class EvennessAnswer(BaseModel):
    """The light over the subject, in stops against its middle: rows from the bottom, each from the left."""

    width_mm: float
    height_mm: float
    range_stops: float
    stops: list[list[float]]

    @classmethod
    def of(cls, found: LightMap) -> EvennessAnswer:
        rows = [[exact_stops(float(each)) for each in row] for row in found.stops]
        return cls(
            width_mm=found.width_mm, height_mm=found.height_mm, range_stops=exact_stops(found.range_stops), stops=rows
        )


class ApparentSize(BaseModel):
    """How large a light looks from the subject: the larger, the softer."""

    letter: str
    across_deg: float
    up_deg: float
    working: StepAnswer

    @classmethod
    def of(cls, found: Softness) -> ApparentSize:
        return cls(
            letter=found.letter,
            across_deg=found.across_deg,
            up_deg=found.up_deg,
            working=StepAnswer.of(found.step),
        )


class ShadowAnswer(BaseModel):
    """The shadow of one light: how soft its edge is, and where it falls as the lens sees it."""

    letter: str
    on: str = Field(description="support or background")
    penumbra_mm: float
    shift_mm: float | None
    halo_mm: tuple[float, float] | None = Field(description="from and to, around the outline of the subject")
    working: list[StepAnswer]

    @classmethod
    def of(cls, found: Shadow) -> ShadowAnswer:
        return cls(
            letter=found.letter,
            on=found.on,
            penumbra_mm=found.penumbra_mm,
            shift_mm=found.shift_mm,
            halo_mm=found.halo_mm,
            working=_working(found.steps),
        )


class MirroredAnswer(BaseModel):
    """What a flat glossy subject mirrors into the lens of a light or a card, and from which bearings it would."""

    model_config = ConfigDict(from_attributes=True)

    name: str
    fraction: float
    from_deg: float | None
    to_deg: float | None

    @classmethod
    def of(cls, found: Mirrored) -> Self:
        return cls.model_validate(found)


class CardBehind(BaseModel):
    """The card that just fills the view at the background's place, with 1 cm on every side."""

    width_mm: float
    height_mm: float
    working: StepAnswer


class RingFillsIn(BaseModel):
    """The distance from which the middle of a ring's light is no dark spot."""

    letter: str
    from_mm: float
    working: StepAnswer


class LastMove(BaseModel):
    """The last move, which can be taken back."""

    id: str
    words: str
    facts: list[FactAnswer]


class PlanAnswer(BaseModel):
    """A set as geometry, and what follows from it. Null is unknown."""

    lights: list[PlacedLight]
    things: list[PlacedThing]
    shares: list[PlanShare]
    ratio: PlanRatio | None
    background_against_subject: WorkedStops | None
    evenness: EvennessAnswer | None
    apparent_sizes: list[ApparentSize]
    shadows: list[ShadowAnswer]
    mirrored: list[MirroredAnswer]
    card_behind: CardBehind | None
    rings_fill_in: list[RingFillsIn]
    cautions: list[str]
    caution_facts: list[FactAnswer]
    last_move: LastMove | None

    @classmethod
    def of(
        cls,
        set_up: SetUp,
        measured: MeasuredShares,
        versions: Mapping[str, int] | None = None,
        last_move: Move | None = None,
    ) -> PlanAnswer:
        found = follows(set_up, measured.by_light, measured.at)
        return cls(
            lights=[PlacedLight.of(light, versions) for light in set_up.lights],
            things=[PlacedThing.of(thing, versions) for thing in set_up.things],
            shares=[PlanShare.of(line) for line in found.shares],
            ratio=_ratio(found),
            background_against_subject=_background(found),
            evenness=None if found.evenness is None else EvennessAnswer.of(found.evenness),
            apparent_sizes=[ApparentSize.of(each) for each in found.softness],
            shadows=[ShadowAnswer.of(each) for each in found.shadows],
            mirrored=[MirroredAnswer.of(each) for each in found.mirrored],
            card_behind=_card(found),
            rings_fill_in=[
                RingFillsIn(letter=letter, from_mm=from_mm, working=StepAnswer.of(step))
                for letter, from_mm, step in found.rings
            ],
            cautions=[say(each.told) for each in found.cautions],
            caution_facts=FactAnswer.all_of(each.told for each in found.cautions),
            last_move=None
            if last_move is None
            else LastMove(
                id=last_move.id, words=way_back_words(last_move), facts=FactAnswer.all_of(way_back(last_move))
            ),
        )


def _ratio(found: Follows) -> PlanRatio | None:
    ratio = found.ratio
    if ratio is None:
        return None
    return PlanRatio(
        key=ratio.key,
        fill=ratio.fill,
        stops=exact_stops(ratio.stops),
        key_to_fill=mixed_light.key_to_fill(ratio.stops),
        sum_to_fill=mixed_light.sum_to_fill(ratio.stops),
        working=StepAnswer.of(ratio.step),
    )


def _background(found: Follows) -> WorkedStops | None:
    if found.background is None:
        return None
    stops, step = found.background
    return WorkedStops(stops=exact_stops(stops), working=StepAnswer.of(step))


def _card(found: Follows) -> CardBehind | None:
    if found.card is None:
        return None
    width_mm, height_mm, step = found.card
    return CardBehind(width_mm=width_mm, height_mm=height_mm, working=StepAnswer.of(step))
