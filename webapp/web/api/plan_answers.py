"""How a plan reads in JSON: where everything stands, and what follows from it, each figure with its working."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Annotated

from pydantic import AliasPath, BaseModel, BeforeValidator, Field

from webapp.ledger.geometry import Follows, follows
from webapp.ledger.moves import Move, way_back
from webapp.ledger.set_up import Light, SetUp
from webapp.optics import mixed_light
from webapp.optics.arrays import Floats
from webapp.plan.cube import Cube
from webapp.plan.positions import HeldBy, Thing
from webapp.plan.shadows import Shadow
from webapp.quantities.places import Known
from webapp.shoots.measured_light import MeasuredShares, ReadOn
from webapp.web.api.answers import MaybeSaid, StepAnswer, Stops
from webapp.web.api.facts import Answer, FactAnswer
from webapp.web.words.moves import way_back_words
from webapp.web.words.say import say
from webapp.web.words.sides import named_side, side_words


class PointAnswer(Answer):
    """A place: x to the right as the camera sees it, y away from the camera, z up, from the middle of the subject."""

    x_mm: float
    y_mm: float
    z_mm: float


class PositionAnswer(Answer):
    """A place, also as a tape tells it, what is aimed at from there, and how well it is known."""

    x_mm: float = Field(validation_alias=AliasPath("at", "x_mm"))
    y_mm: float = Field(validation_alias=AliasPath("at", "y_mm"))
    z_mm: float = Field(validation_alias=AliasPath("at", "z_mm"))
    distance_mm: float = Field(
        validation_alias=AliasPath("at", "distance_mm"), description="slantwise, from the middle of the subject"
    )
    bearing_deg: float = Field(
        validation_alias=AliasPath("at", "bearing_deg"),
        description="in plan; 0 is towards the camera, positive to its right",
    )
    aim: PointAnswer
    known: Known
    carried_from: str = Field(
        description="the id of the shot or recipe that a place was carried over from; else empty"
    )


class PlacedLight(BaseModel):
    """A light of the set. Null is a place that nobody told; `version` goes back with a change of it."""

    letter: str
    name: str
    lit: bool
    position: PositionAnswer | None
    held_by: HeldBy
    version: int | None = Field(description="null in a frame, where nothing is moved")

    @classmethod
    def of(cls, light: Light, versions: Mapping[str, int] | None) -> PlacedLight:
        position = None if light.position is None else PositionAnswer.model_validate(light.position)
        version = None if versions is None else versions.get(f"lights.{light.letter}.position", 0)
        return cls(
            letter=light.letter,
            name=light.name,
            lit=light.lit,
            position=position,
            held_by=light.held_by,
            version=version,
        )


class PlacedThing(BaseModel):
    """What else stands on the set. `versions` go back with a change, by what is changed."""

    id: str
    kind: str
    position: PositionAnswer
    width_mm: float
    height_mm: float
    depth_mm: float
    turned_deg: float = Field(description="of the subject, about the upright, away from square to the lens")
    tilted_deg: float = Field(description="of the subject, back from there; below nothing forward")
    held_by: HeldBy
    versions: dict[str, int] | None

    @classmethod
    def of(cls, thing: Thing, versions: Mapping[str, int] | None) -> PlacedThing:
        told = None
        if versions is not None:
            told = {
                name: versions.get(f"things.{thing.id}.{name}", 0)
                for name in ("position", "size", "turned", "tilted", "held_by")
            }
        return cls(
            id=thing.id,
            kind=thing.kind,
            position=PositionAnswer.model_validate(thing.position),
            width_mm=thing.width_mm,
            height_mm=thing.height_mm,
            depth_mm=thing.depth_mm,
            turned_deg=thing.turned_deg,
            tilted_deg=thing.tilted_deg,
            held_by=thing.held_by,
            versions=told,
        )


class PlanShare(Answer):
    """What part of the light at the subject comes from one light: as geometry models it, and as pictures measured."""

    letter: str
    modelled: float | None
    by_guide: bool = Field(description="modelled from a guide number, for want of a meter reading")
    why: MaybeSaid = Field(description="why it is unknown")
    why_fact: FactAnswer | None = Field(validation_alias="why")
    measured: float | None
    measured_at: str = Field(description="the patch; empty where nothing is measured")
    modelled_against_measured_stops: Stops | None = Field(validation_alias="off_stops")
    working: list[StepAnswer] = Field(validation_alias="steps")


class SideAnswer(BaseModel):
    """The light on one side of the subject, in stops above f/1 at ISO 100. Null is dark: thirteen stops and more below the brightest."""

    name: str
    kind: str = Field(description="a side of a small cube; a face of the subject's own; a dome or a flat meter")
    words: str
    normal: tuple[float, float, float] | None = Field(description="where it faces; null: turned to each light")
    by_light: dict[str, Stops | None]
    total: Stops | None = Field(description="null, too, where a lit light is unknown, and of a meter turned to each")
    against_lens_stops: Stops | None
    working: list[StepAnswer]


class SurfaceAnswer(BaseModel):
    """A surface that shares and the ratio can be told of."""

    key: str
    words: str


class CardFillAnswer(Answer):
    """What a reflector, taken as a matt white card, gives each side that it reaches, in stops under the key."""

    card: str
    key: str
    under_key: Annotated[dict[str, Stops], BeforeValidator(dict)]
    working: StepAnswer = Field(validation_alias="step")


class CubeAnswer(BaseModel):
    """The light on each side of the subject."""

    is_absolute: bool = Field(description="as a meter reads it; else right only against each other")
    sides: list[SideAnswer]
    card_fills: list[CardFillAnswer]
    unknown: list[str]
    unknown_facts: list[FactAnswer]

    @classmethod
    def of(cls, cube: Cube) -> CubeAnswer:
        return cls(
            is_absolute=cube.is_absolute,
            sides=[
                SideAnswer(
                    name=each.surface.name,
                    kind=each.surface.kind,
                    words=side_words(each.surface),
                    normal=each.surface.normal,
                    by_light=dict(each.by_light),
                    total=each.total,
                    against_lens_stops=each.against_lens,
                    working=[StepAnswer.model_validate(step) for step in each.steps],
                )
                for each in cube.sides
            ],
            card_fills=[CardFillAnswer.model_validate(each) for each in cube.fills],
            unknown=[say(each) for each in cube.unknown],
            unknown_facts=FactAnswer.all_of(cube.unknown),
        )


class PlanRatio(Answer):
    """Key less fill, in stops and in both ways of writing a ratio (each to 1)."""

    key: str
    fill: str
    stops: Stops
    key_to_fill: Annotated[float, BeforeValidator(mixed_light.key_to_fill)] = Field(validation_alias="stops")
    sum_to_fill: Annotated[float | None, BeforeValidator(mixed_light.sum_to_fill)] = Field(validation_alias="stops")
    working: StepAnswer = Field(validation_alias="step")


class WorkedStops(BaseModel):
    stops: Stops
    working: StepAnswer


def _without_gaps(grid: Floats) -> list[list[float | None]]:
    return [[None if math.isnan(each) else each for each in row] for row in grid.tolist()]


class EvennessAnswer(Answer):
    """The light over the subject, in stops against its middle: rows from the bottom, each from the left. Null where the
    lens does not see it; the range is over what it sees."""

    width_mm: float
    height_mm: float
    range_stops: Stops
    stops: Annotated[list[list[Stops | None]], BeforeValidator(_without_gaps)]
    left_out: list[str] = Field(description="what parts of it lie behind, by kind: table, background, flag …")


class ApparentSize(Answer):
    """How large a light looks from the subject: the larger, the softer."""

    letter: str
    across_deg: float
    up_deg: float
    working: StepAnswer = Field(validation_alias="step")


class ShadowInPicture(Answer):
    """Where a shadow lies in the picture: from and to, to the right of and above its middle, at the subject."""

    across_mm: tuple[float, float]
    up_mm: tuple[float, float]
    sides: list[str] = Field(description="of the subject, at which it shows: left, right, below, above")
    part: tuple[float, float] | None = Field(
        description="its width and height, of the picture's; null where the field is unknown"
    )


class ShadowAnswer(Answer):
    """The shadow of the subject in one light, on one surface, as the lens sees it."""

    letter: str
    on: str = Field(description="table, background, or the subject itself")
    seen: bool
    why: MaybeSaid = Field(description="why it is not seen")
    why_fact: FactAnswer | None = Field(validation_alias="why")
    depth_stops: Stops | None = Field(
        description="at its deepest place in the picture, in this light alone; 10 where less than a thousandth of it is left"
    )
    in_all_stops: Stops | None = Field(description="the same in the light of all; null where one of them is unknown")
    edge_mm: float | None = Field(description="from 10 to 90 %; null where no width of it can be told")
    edge_why: MaybeSaid = Field(description="why it cannot")
    edge_why_fact: FactAnswer | None = Field(validation_alias="edge_why")
    full_mm: tuple[float, float] | None = Field(
        description="how long and wide the full shadow is that is seen of it; null where there is none"
    )
    picture: ShadowInPicture | None
    working: list[StepAnswer] = Field(validation_alias="steps")


class ShadowsAnswer(BaseModel):
    """The shadows of all lit lights that have a position, on every surface."""

    shadows: list[ShadowAnswer]

    @classmethod
    def of(cls, shadows: Sequence[Shadow]) -> ShadowsAnswer:
        return cls(shadows=[ShadowAnswer.model_validate(each) for each in shadows])


class FamilyAnswer(Answer):
    """Between which angles off the lens axis, counted at the middle of the subject, something at that distance shows."""

    from_deg: float
    to_deg: float
    side: str = Field(description="in the picture: above left; empty where the lens axis is among them")


class WhereInGloss(Answer):
    """The third of the gloss, as the lens sees it: low is left or below, all is from one side to the other."""

    across: str
    up: str


class MirroredAnswer(Answer):
    """What a flat glossy subject mirrors into the lens of a light, a card, a flag or another thing."""

    name: str
    kind: str
    fraction: float = Field(description="of the gloss that shows it")
    hidden: float = Field(description="of the gloss that would show it, were nothing before it")
    family: FamilyAnswer | None
    where: WhereInGloss | None


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
    surface: str = Field(description="what shares, ratio and key to fill are for: its name, as among the sides")
    surface_key: str = Field(description="by which it is chosen; a face of the subject's own stands behind own:")
    surface_words: str
    surfaces: list[SurfaceAnswer] = Field(description="what they can be told of on this set")
    cube: CubeAnswer | None
    shares: list[PlanShare]
    ratio: PlanRatio | None
    background_against_subject: WorkedStops | None
    evenness: EvennessAnswer | None
    apparent_sizes: list[ApparentSize]
    mirrored: list[MirroredAnswer] = Field(
        description="empty where the lens sees the edge of the subject, or its back"
    )
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
        read: ReadOn | None = None,
    ) -> PlanAnswer:
        own, chosen = ((), "") if read is None else (read.own, read.chosen)
        found = follows(set_up, measured.by_light, measured.at, own, chosen)
        return cls(
            lights=[PlacedLight.of(light, versions) for light in set_up.lights],
            things=[PlacedThing.of(thing, versions) for thing in set_up.things],
            surface=found.surface.name,
            surface_key=found.surface.key,
            surface_words=named_side(found.surface.key),
            surfaces=[SurfaceAnswer(key=each.key, words=side_words(each)) for each in found.surfaces],
            cube=None if found.cube is None else CubeAnswer.of(found.cube),
            shares=[PlanShare.model_validate(line) for line in found.shares],
            ratio=None if found.ratio is None else PlanRatio.model_validate(found.ratio),
            background_against_subject=_background(found),
            evenness=None if found.evenness is None else EvennessAnswer.model_validate(found.evenness),
            apparent_sizes=[ApparentSize.model_validate(each) for each in found.softness],
            mirrored=[MirroredAnswer.model_validate(each) for each in (found.gloss.mirrored if found.gloss else ())],
            card_behind=_card(found),
            rings_fill_in=[
                RingFillsIn(letter=letter, from_mm=from_mm, working=StepAnswer.model_validate(step))
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


def _background(found: Follows) -> WorkedStops | None:
    if found.background is None:
        return None
    stops, step = found.background
    return WorkedStops(stops=stops, working=StepAnswer.model_validate(step))


def _card(found: Follows) -> CardBehind | None:
    if found.card is None:
        return None
    width_mm, height_mm, step = found.card
    return CardBehind(width_mm=width_mm, height_mm=height_mm, working=StepAnswer.model_validate(step))
