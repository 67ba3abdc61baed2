"""The rest of the set-up, a press away from the set: camera, lens, distances, modifiers, filters, another light."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from webapp.kit.inventory import Choices
from webapp.ledger.cautions import cautions
from webapp.ledger.set_up import SHONE_ON, FilterFigures, Light
from webapp.shoots.set_up_now import StandingState
from webapp.web.pages.dial_view import DialMaker, DialView, Problem
from webapp.web.pages.figures import plural
from webapp.web.pages.form_view import Choice
from webapp.web.pages.place_view import held_choices
from webapp.web.words.cautions import NO_CLEARANCE
from webapp.web.words.dials import stack_words
from webapp.web.words.say import say


@dataclass(frozen=True, slots=True)
class FittedFilter:
    id: str
    name: str
    loss: str


@dataclass(frozen=True, slots=True)
class LightSheet:
    """What a light has beside its power; `is_open` where it is what the reader came for."""

    letter: str
    name: str
    head_name: str
    is_open: bool
    dials: tuple[DialView, ...]
    modelling_lamp: bool
    modelling_version: int
    modelling_changed: str
    modifiers: tuple[Choice, ...]
    modifier_version: int
    heads: tuple[Choice, ...]
    head_version: int
    shines_on: tuple[Choice, ...]
    shines_on_version: int
    held_by: tuple[Choice, ...]
    held_by_version: int
    filters: tuple[FittedFilter, ...]
    filters_version: int


@dataclass(frozen=True, slots=True)
class SetUpView:
    """All of the set-up that does not stand on the page for shooting."""

    shot_id: str
    as_of: int
    address: str
    dials: tuple[DialView, ...]
    cameras: tuple[Choice, ...]
    camera_version: int
    lenses: tuple[Choice, ...]
    lens_version: int
    lens_filters: tuple[FittedFilter, ...]
    lens_filters_version: int
    filters_for_lens: tuple[Choice, ...]
    filters_for_light: tuple[Choice, ...]
    lights: tuple[LightSheet, ...]
    heads: tuple[Choice, ...]
    cautions: tuple[str, ...]
    caution_words: str
    depth: str
    problem: str


def set_up_view(
    state: StandingState,
    choices: Choices,
    light: str = "",
    problems: Mapping[str, Problem] | None = None,
) -> SetUpView:
    """The set-up as it stands, opened at one light; a problem whose field has no dial here is told above them."""
    set_up, versions = state.set_up, state.versions
    maker = DialMaker(state, problems)
    dials = maker.of_camera("further")
    lights = tuple(_light_sheet(each, state, maker, choices, is_open=each.letter == light) for each in set_up.lights)
    shown = {dial.field for group in (dials, *(each.dials for each in lights)) for dial in group}
    return SetUpView(
        shot_id=state.shot.id,
        as_of=state.as_of,
        address=f"/shots/{state.shot.id}/set-up" + (f"?light={light}" if light else ""),
        dials=dials,
        cameras=kit_choices(choices.cameras, set_up.camera.id, set_up.camera.name),
        camera_version=versions.get("camera", 0),
        lenses=kit_choices(choices.lenses, set_up.lens.id, set_up.lens.name),
        lens_version=versions.get("lens", 0),
        lens_filters=_fitted(set_up.lens_filters),
        lens_filters_version=versions.get("lens_filters", 0),
        filters_for_lens=kit_choices(choices.lens_filters),
        filters_for_light=kit_choices(choices.light_filters),
        lights=lights,
        heads=kit_choices(choices.heads),
        cautions=tuple(say(each) for each in cautions(set_up)),
        caution_words=NO_CLEARANCE,
        depth=stack_words(set_up, state.shot.wanted_depth_mm),
        problem=next((each.message for name, each in (problems or {}).items() if name not in shown), ""),
    )


def _light_sheet(
    light: Light, state: StandingState, maker: DialMaker, choices: Choices, *, is_open: bool
) -> LightSheet:
    versions, prefix = state.versions, f"lights.{light.letter}."
    was = maker.light_before(light.letter)
    switched = was is not None and was.modelling_lamp != light.modelling_lamp
    modifier = light.modifier
    return LightSheet(
        letter=light.letter,
        name=light.name,
        head_name=light.head.name,
        is_open=is_open,
        dials=maker.of_light(light, "further"),
        modelling_lamp=light.modelling_lamp,
        modelling_version=versions.get(prefix + "modelling_lamp", 0),
        modelling_changed=f"was {'off' if light.modelling_lamp else 'on'}" if switched else "",
        modifiers=(
            Choice("bare", "bare", modifier is None),
            *kit_choices(choices.modifiers, modifier.id if modifier else "", modifier.name if modifier else ""),
        ),
        modifier_version=versions.get(prefix + "modifier", 0),
        heads=kit_choices(choices.heads, light.head.id, light.head.name),
        head_version=versions.get(prefix + "head", 0),
        shines_on=tuple(Choice(each, f"the {each}", each == light.shines_on) for each in SHONE_ON),
        shines_on_version=versions.get(prefix + "shines_on", 0),
        held_by=held_choices(light.held_by),
        held_by_version=versions.get(prefix + "held_by", 0),
        filters=_fitted(light.filters),
        filters_version=versions.get(prefix + "filters", 0),
    )


def _fitted(filters: tuple[FilterFigures, ...]) -> tuple[FittedFilter, ...]:
    return tuple(FittedFilter(each.id, each.name, _loss_words(each)) for each in filters)


def kit_choices(known: tuple[tuple[str, str], ...], chosen: str = "", chosen_name: str = "") -> tuple[Choice, ...]:
    """The kit in use, and the piece that is chosen, even where it has been retired since."""
    listed = tuple(Choice(item_id, name, item_id == chosen) for item_id, name in known)
    if chosen and not any(choice.chosen for choice in listed):
        return (Choice(chosen, f"{chosen_name} (retired)", True), *listed)
    return listed


def _loss_words(fitted: FilterFigures) -> str:
    if fitted.loss_stops is None:
        return "loss unknown"
    learned = f", crossed, learned from {plural(fitted.learned_from, 'reading')}" if fitted.learned_from else ""
    return f"{fitted.loss_stops:.1f} stops{learned}"
