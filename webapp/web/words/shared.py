"""A recipe as a reader reads it, made from a list of allowed fields, one by one: what is not named here stays in the house.

Kit is told by its figures, unless the photographer lets its names out.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from webapp.ledger.set_up import Light
from webapp.quantities.lengths import CENTIMETRES, Lengths
from webapp.quantities.stops import signed_stops
from webapp.recipes.document import (
    AmbientPart,
    ChangePart,
    LightPart,
    PatchPart,
    PicturePart,
    PostStep,
    Recipe,
    Tolerance,
    WorkingPart,
)
from webapp.recipes.open_points import how_known
from webapp.recipes.plain_kit import Named, told
from webapp.recipes.set_plan import drawn_plan
from webapp.recipes.share.links import CLIENT, Opened, pictures_shown
from webapp.recipes.written_frame import light_of, position_of
from webapp.web.words.drawing import captions
from webapp.web.words.figures import depth_words, level_words
from webapp.web.words.outside import told_outside
from webapp.web.words.plain_kit import plain_words
from webapp.web.words.say import say
from webapp.web.words.steps import steps_read

_FIGURE: Final = re.compile(r"\d")
_DELIVERED: Final = frozenset(("delivered size", "profile", "white balance"))


@dataclass(frozen=True, slots=True)
class SharedLight:
    """A light as a student reads it."""

    name: str
    kit: str
    direction: str
    distance: str
    angular_size: str
    incident: str
    from_key: str
    power: str


@dataclass(frozen=True, slots=True)
class SharedStep:
    """A step of building the set: what to do, what shows that it is right, what to look for where it is not."""

    words: str
    check: str
    otherwise: str


@dataclass(frozen=True, slots=True)
class SharedTolerance:
    """How closely one thing is to be met: "± 10 mm"."""

    what: str
    within: str


@dataclass(frozen=True, slots=True)
class SharedChange:
    """A step of how the picture was found; `frames` is "frame 6", "frames 7 to 18" or empty."""

    frames: str
    words: str
    learned: str


@dataclass(frozen=True, slots=True)
class SharedRecipe:
    """Everything that an address serves, and nothing besides. What a reader may not see is empty."""

    reader: str
    title: str
    subject: str
    looks: tuple[str, ...]
    surfaces: tuple[str, ...]
    expect: str
    pictures: tuple[PicturePart, ...]
    keep: str = ""
    delivery: tuple[tuple[str, str], ...] = ()
    settings: tuple[tuple[str, str], ...] = ()
    background: str = ""
    why: str = ""
    steps: tuple[SharedStep, ...] = ()
    changes: tuple[SharedChange, ...] = ()
    ratios: tuple[str, ...] = ()
    lights: tuple[SharedLight, ...] = ()
    patches: tuple[PatchPart, ...] = ()
    plan: str = ""
    ambient: str = ""
    tolerances: tuple[SharedTolerance, ...] = ()
    post: tuple[str, ...] = ()
    workings: tuple[WorkingPart, ...] = ()
    cautions: tuple[str, ...] = ()
    known: tuple[tuple[str, str], ...] = ()
    open: tuple[str, ...] = ()


def shared_recipe(
    recipe: Recipe,
    reader: str,
    *,
    figures: bool,
    expect: str = "",
    keep: str = "",
    kit_names: bool = False,
    named: Iterable[Named] = (),
    lengths: Lengths = CENTIMETRES,
) -> SharedRecipe:
    """What this reader sees of a recipe. A client sees picture and look, what was agreed and what to keep for the next
    time; how the picture is delivered and the settings only where figures are wanted, and without them no line of the
    record that has a figure in it. Without `kit_names` kit is told by its figures, and in drafted sentences plain words
    stand for the names of the document and those in `named`."""
    recipe = told_outside(recipe, kit_names=kit_names, named=named)
    if reader == CLIENT:
        return _for_client(recipe, figures=figures, expect=expect, keep=keep, lengths=lengths)
    return SharedRecipe(
        reader=reader,
        title=recipe.title,
        subject=recipe.subject,
        looks=recipe.looks,
        surfaces=recipe.surfaces,
        expect=expect,
        pictures=pictures_shown(recipe, reader),
        settings=settings_lines(recipe, lengths=lengths),
        background=recipe.background,
        why=recipe.why,
        steps=tuple(SharedStep(each.words, each.check, each.otherwise) for each in steps_read(recipe, lengths)),
        changes=tuple(SharedChange(frames_words(each), each.words, each.learned) for each in recipe.changes),
        ratios=recipe.ratios,
        lights=tuple(_shared_light(recipe, light, lengths, kit_names=kit_names) for light in recipe.lit),
        patches=recipe.patches,
        plan=_plan(recipe, lengths),
        ambient=ambient_words(recipe.ambient),
        tolerances=tuple(SharedTolerance(each.what, within_words(each, lengths)) for each in recipe.tolerances),
        post=tuple(post_words(step) for step in recipe.post),
        workings=recipe.workings,
        cautions=recipe.cautions,
        known=known_lines(recipe),
        open=open_lines(recipe),
    )


@lru_cache(maxsize=32)
def _plan(recipe: Recipe, lengths: Lengths) -> str:
    """The plan, drawn once: a version never changes, and a class reads it all at the same time."""
    return drawn_plan(recipe, captions(lengths))


def _for_client(recipe: Recipe, *, figures: bool, expect: str, keep: str, lengths: Lengths) -> SharedRecipe:
    def let_out(lines: Iterable[str]) -> tuple[str, ...]:
        return tuple(line for line in lines if figures or not _FIGURE.search(line))

    pictures = pictures_shown(recipe, CLIENT)
    return SharedRecipe(
        reader=CLIENT,
        title=recipe.title,
        subject="".join(let_out([recipe.subject])),
        looks=let_out(recipe.looks),
        surfaces=let_out(recipe.surfaces),
        expect=expect,
        keep=keep,
        pictures=tuple(each.model_copy(update={"words": "".join(let_out([each.words]))}) for each in pictures),
        delivery=tuple(_delivery(recipe, lengths)) if figures else (),
        settings=settings_lines(recipe, lengths=lengths) if figures else (),
    )


def _delivery(recipe: Recipe, lengths: Lengths) -> Iterator[tuple[str, str]]:
    """What of the picture as it is delivered a client has to know: the field, the size, the colour."""
    if recipe.field_seen_mm is not None:
        yield "field", _field_words(recipe.field_seen_mm, lengths)
    for step in recipe.post:
        if step.kind in _DELIVERED:
            yield step.kind, post_words(step).removeprefix(step.kind).lstrip(": ")


def shown_at(opened: Opened, lengths: Lengths = CENTIMETRES) -> SharedRecipe:
    """What an address shows."""
    return shared_recipe(
        opened.recipe,
        opened.reader,
        figures=opened.figures,
        expect=opened.expect,
        keep=opened.keep,
        kit_names=opened.kit_names,
        named=opened.named,
        lengths=lengths,
    )


def settings_lines(recipe: Recipe, *, lengths: Lengths = CENTIMETRES) -> tuple[tuple[str, str], ...]:
    """The frame's settings, name and value; what is unknown says so."""
    settings, field = recipe.settings, recipe.field_seen_mm
    effective = recipe.effective_f_number
    lines = [
        ("f-number", f"f/{settings.f_number.text}" if settings.f_number else "unknown"),
        ("shutter", f"{settings.shutter.text} s" if settings.shutter else "unknown"),
        ("ISO", settings.iso.text if settings.iso else "unknown"),
        ("magnification", _magnification(recipe)),
    ]
    if settings.magnification and effective is not None:
        lines.append(("effective f-number", f"f/{effective:.3g}"))
    if field is not None:
        lines.append(("field", _field_words(field, lengths)))
    if settings.focal_length_mm:
        lines.append(("focal length", f"{settings.focal_length_mm:g} mm"))
    lines.append(("camera distance", _camera_distance(recipe, lengths)))
    if recipe.camera:
        lines.append(("format", f"{recipe.camera.sensor_width_mm:g} × {recipe.camera.sensor_height_mm:g} mm"))
    if settings.lens_filters:
        lines.append(("on the lens", ", ".join(each.name for each in settings.lens_filters)))
    if settings.stack_frames:
        step = (
            ""
            if settings.stack_step_mm is None
            else f", {depth_words(settings.stack_step_mm, lengths)} from one to the next"
        )
        lines.append(("focus stack", f"{settings.stack_frames} frames{step}"))
    if settings.wanted_depth_mm:
        lines.append(("depth wanted", depth_words(settings.wanted_depth_mm, lengths)))
    return tuple(lines)


def known_lines(recipe: Recipe) -> tuple[tuple[str, str], ...]:
    """The figures by how well they are known, what was set, measured, planned, carried over and estimated apart."""
    known = how_known(recipe)
    named = (
        ("set on dials", known.set),
        ("measured", known.measured),
        ("planned, not taped", known.planned),
        ("carried over from another set", known.carried_over),
        ("estimated", known.estimated),
    )
    return tuple((name, ", ".join(map(say, facts))) for name, facts in named if facts)


def open_lines(recipe: Recipe) -> tuple[str, ...]:
    """What is open: what was stated so, and what nobody measured."""
    missing = f"Not measured: {', '.join(recipe.not_measured)}." if recipe.not_measured else ""
    return (*recipe.open, *([missing] if missing else []))


def frames_words(change: ChangePart) -> str:
    """The frames that a step of the history is of."""
    first, last = change.first_frame, change.last_frame
    if first is None:
        return ""
    return f"frame {first}" if last in (None, first) else f"frames {first} to {last}"


def _field_words(field_mm: tuple[float, float], lengths: Lengths) -> str:
    in_cm = f"{field_mm[0] / 10:.3g} × {field_mm[1] / 10:.3g} cm"
    return lengths.sides(*field_mm) if lengths.inches else in_cm


def within_words(tolerance: Tolerance, lengths: Lengths = CENTIMETRES) -> str:
    """A tolerance with its unit; one of a length as its reader likes them.

    >>> within_words(Tolerance(what="distances", within=10, unit="mm"), Lengths(inches=True))
    '± 0.4 in'
    >>> [within_words(Tolerance(what="", within=1, unit=unit)) for unit in ("mm", "°", "stops")]
    ['± 1 mm', '± 1°', '± 1 stops']
    """
    if tolerance.unit == "mm" and lengths.inches:
        return f"± {lengths.text(tolerance.within)}"
    return f"± {tolerance.within:g}{'' if tolerance.unit == '°' else ' '}{tolerance.unit}"


def ambient_words(ambient: AmbientPart | None) -> str:
    """The ambient margin as a sentence; empty where it was not proven."""
    if ambient is None:
        return ""
    bound = "at least " if ambient.at_least else ""
    margin = f"{ambient.margin_stops:.1f}".replace("-", "−")
    where = f" at {ambient.patch}" if ambient.patch else ""
    how = "by eye" if ambient.by_eye else "as measured"
    return f"The room's light lies {bound}{margin} stops below the wanted level{where}, {how}."


def post_words(step: PostStep) -> str:
    """A step after the camera on one line: "crop to 94 × 94 % of the picture: 3 % off the left, …"."""
    told = ": ".join(each for each in (step.words, step.reason) if each)
    return f"{step.kind}{_post_figures(step)}" + (f": {told}" if told else "")


def _post_figures(step: PostStep) -> str:
    if step.left is not None and step.top is not None and step.right is not None and step.bottom is not None:
        off = zip(
            ("left", "top", "right", "bottom"), (step.left, step.top, 1 - step.right, 1 - step.bottom), strict=True
        )
        told = [f"{100 * part:.3g} % off the {edge}" for edge, part in off if part > 1e-6]
        return f" {', '.join(told)}" if told else " none"
    if step.rotation_deg is not None:
        way = "clockwise" if step.rotation_deg >= 0 else "counter-clockwise"
        return f" {abs(step.rotation_deg):g}° {way}"
    if step.kelvin is not None:
        return f" {step.kelvin:g} K"
    if step.width_px is not None or step.height_px is not None:
        return f" {step.width_px or 'any'} × {step.height_px or 'any'} px"
    return ""


def _camera_distance(recipe: Recipe, lengths: Lengths) -> str:
    """As the set-up has it, else as the camera stands on the plan."""
    carried = " (carried over)" if "subject_distance" in recipe.settings.carried else ""
    if recipe.settings.subject_distance_mm is not None:
        return lengths.text(recipe.settings.subject_distance_mm) + carried
    stands = next((each.position for each in recipe.things if each.kind == "camera"), None)
    if stands is None or stands.known == "unknown":
        return lengths.text(None)
    return f"{lengths.text(position_of(stands).at.distance_mm)} ({stands.known_as})"


def _magnification(recipe: Recipe) -> str:
    value = recipe.settings.magnification
    if value is None:
        return "unknown"
    guessed = " (estimated)" if recipe.settings.magnification_estimated else ""
    carried = " (carried over)" if "magnification" in recipe.settings.carried else ""
    return ("distant" if value == 0 else f"{value:.3g}") + guessed + carried


def kit_of_light(light: Light, *, kit_names: bool, lengths: Lengths = CENTIMETRES) -> str:
    """What a light is made of: by the names in the house, or by figures alone."""
    if not kit_names:
        return "; ".join(plain_words(told(each)) for each in light.pieces)
    face, modifier = light.face, light.modifier.name if light.modifier else ""
    sides_mm = (face.width_mm, face.height_mm) if face.width_mm else ()
    # Many a modifier has its size in its name.
    size_told = "" if CENTIMETRES.sides(*sides_mm) in modifier else lengths.sides(*sides_mm)
    parts = [light.head.name, modifier, size_told, *(each.name for each in light.filters)]
    return ", ".join(each for each in parts if each)


def metered_words(light: LightPart) -> str:
    """What a meter reads of a light, and whether it was read on this set."""
    carried = light.incident_av is not None and not light.metered_here
    return level_words(light.incident_av) + (" (by the kit)" if carried else "")


def distance_of(recipe: Recipe, light: LightPart, lengths: Lengths) -> str:
    """How far a light is from what it shines on, and that it was carried over where it was."""
    over = " (carried over)" if light.position is None and recipe.settings.distance_is_carried(light.letter) else ""
    return lengths.text(light.distance_mm) + over


def _shared_light(recipe: Recipe, light: LightPart, lengths: Lengths, *, kit_names: bool) -> SharedLight:
    return SharedLight(
        name=light.name,
        kit=kit_of_light(light_of(light), kit_names=kit_names, lengths=lengths),
        direction=light.direction or "unknown",
        distance=distance_of(recipe, light, lengths),
        angular_size="unknown" if light.angular_size_deg is None else f"{light.angular_size_deg:.3g}°",
        incident=metered_words(light),
        from_key="" if light.from_key_stops is None else signed_stops(light.from_key_stops, 1),
        power=light.power_mark,
    )
