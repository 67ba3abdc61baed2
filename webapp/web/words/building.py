"""The steps in which the set of a recipe is built, in words."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Final

from webapp.facts import Fact
from webapp.plan.positions import Place
from webapp.quantities.angles import tilt_text
from webapp.quantities.lengths import Lengths
from webapp.recipes.reasons import Reason
from webapp.web.words.figures import depth_words, level_words, maybe_number, names, percent
from webapp.web.words.listing import begun, joined, signed_tenth
from webapp.web.words.places import held_words, where_words

if TYPE_CHECKING:
    from webapp.web.words.say import Say

_SAME_MM: Final = 2.5
_OVERHEAD: Final = 3.0
"""A camera whose height is so many times its way along the floor looks down."""
_KINDS: Final = {"reflector": "reflector or panel", "flag": "flag", "background": "background"}


def _at(told: Fact, prefix: str = "") -> Place | None:
    x, y, z = (maybe_number(told, f"{prefix}{axis}_mm") for axis in "xyz")
    return None if x is None or y is None or z is None else Place(x, y, z)


def _subject(told: Fact, lengths: Lengths) -> str:
    width, height, depth = (maybe_number(told, f"{each}_mm") for each in ("width", "height", "depth"))
    size = f"{lengths.sides(width, height)} wide and high" if width else "size unknown"
    deep = f", {lengths.text(depth)} deep" if depth else ""
    turned = told.number("turned_deg")
    facing = f", turned {abs(turned):.0f}° to the {'right' if turned > 0 else 'left'}" if abs(turned) >= 0.5 else ""
    tilted = maybe_number(told, "tilted_deg") or 0.0
    leaning = f", tilted {tilt_text(tilted)}" if abs(tilted) >= 0.5 else ""
    return f"Subject: {told.text('subject') or 'as described'}; {size}{deep}{facing}{leaning}."


def _table(told: Fact, lengths: Lengths) -> str:
    below = told.number("below_mm")
    side = "under" if below >= 0 else "above"
    size = lengths.sides(told.number("width_mm"), maybe_number(told, "depth_mm"))
    return f"Support: {size}, its top {lengths.text(abs(below))} {side} the middle of the subject."


def _camera(told: Fact, lengths: Lengths) -> str:
    at = _at(told)
    assert at is not None
    if abs(at.z_mm) >= _OVERHEAD * max(at.floor_mm, _SAME_MM):
        way = "looking straight down" if at.z_mm > 0 else "looking straight up"
        where = f"{lengths.text(at.distance_mm)} from the subject, {way}"
    else:
        height = "level with its middle" if abs(at.z_mm) < _SAME_MM else lengths.offset_text(at.z_mm)
        where = f"{lengths.text(at.distance_mm)} from the subject, {height}"
    return f"Lens {where}{_known(told)}."


def _known(told: Fact) -> str:
    return f" ({told['known']})"


def _held(told: Fact) -> str:
    """What holds it, after where it stands."""
    held = held_words(told.text("held_by"))
    return f", {held}" if held else ""


def _thing(told: Fact, lengths: Lengths) -> str:
    at = _at(told)
    assert at is not None
    size = lengths.sides(told.number("width_mm"), maybe_number(told, "height_mm"))
    kind, name = _KINDS[told.text("kind")], told.about
    called = begun(kind) if name == told["kind"] else f"{begun(name)} ({kind})"
    if told["known"] == "unknown":
        return f"{called}: {size}, place unknown{_held(told)}."
    return f"{called}: {size}, {where_words(at, lengths)}{_known(told)}{_held(told)}."


def _light(told: Fact, lengths: Lengths) -> str:
    size = lengths.sides(maybe_number(told, "face_width_mm"), maybe_number(told, "face_height_mm"))
    modifier = told["modifier"]
    # Many a modifier has its size in its name; in inches it is told beside it.
    beside = f" ({size})" if size and modifier is not None and size not in str(modifier) else ""
    fitted = f" with {modifier}{beside}" if modifier is not None else ""
    filters = "".join(f", {each}" for each in names(told, "filters"))
    power = "power unknown" if told["mark"] is None else told.text("mark")
    lamp = "; modelling lamp on" if told["lamp"] else ""
    return f"{begun(told.text('light'))}: {told.text('head')}{fitted}{filters}. {_stands(told, lengths)}{_held(told)}. Power {power}{lamp}."


def _stands(told: Fact, lengths: Lengths) -> str:
    distance, at = maybe_number(told, "distance_mm"), _at(told)
    direction = f", from the {told['direction']}" if told["direction"] else ""
    if told["shines_on"] == "subject":
        if at is None:
            over = " (carried over)" if told["carried"] else ""
            far = "distance unknown" if distance is None else f"{lengths.text(distance)} from the subject{over}"
            return begun(f"{far}{_from(told)}")
        aim = _at(told, "aim_")
        aimed = f", aimed at a point {where_words(aim, lengths)}" if aim is not None else ""
        return begun(f"{where_words(at, lengths)}{_known(told)}{aimed}")
    onto = told.text("onto")
    what = f"the {told['shines_on']}" + (f" ({onto})" if onto and onto != told["shines_on"] else "")
    over = " (carried over)" if told["carried"] else ""
    far = "distance unknown" if distance is None else f"{lengths.text(distance)} from it{over}"
    stands = "" if at is None else f"; that is {where_words(at, lengths)}{_known(told)}"
    return f"It shines on {what}, {far}{stands}" + (direction if at is None and told["direction"] else "")


def _from(told: Fact) -> str:
    direction = told["direction"]
    if not direction:
        return ", direction unknown"
    return f", {direction}" if direction in ("on the lens axis", "below") else f", from the {direction}"


def _room(told: Fact, _: Lengths) -> str:
    least = "at least " if told["at_least"] else ""
    how = ", judged by eye" if told["by_eye"] else ""
    margin = f"{told.number('margin_stops'):.1f}".replace("-", "−")
    return f"The room lies {least}{margin} stops below the wanted level at {told.about}{how}."


def _reads_alone(told: Fact, _: Lengths) -> str:
    return f"With it alone {told.text('patch')} reads {_level(told)}."


def _level(told: Fact) -> str:
    return f"{signed_tenth(told.number('level_stops'))} ± {told.number('within'):.1f}"


def _filters(told: Fact, _: Lengths) -> str:
    shift, fitted = told.number("shift_mired"), joined(names(told, "filters"))
    # A filter that warms hides blue light: without it the picture is bluer.
    colour = "" if abs(shift) < 1.0 else " and bluer" if shift > 0 else " and warmer"
    return f"{told.number('stops'):.1f} stops over{colour}: is {fitted} on {told.about}?"


def _distance(told: Fact, lengths: Lengths) -> str:
    stops = signed_tenth(told.number("stops"))
    return f"{told.about} {lengths.text(told.number('off_mm'))} too near gives {stops} stops."


def _stack(told: Fact, lengths: Lengths) -> str:
    depth, step, most = (maybe_number(told, f"{each}_mm") for each in ("depth", "step", "most_step"))
    through = "" if depth is None else f" through {depth_words(depth, lengths)}"
    every = (
        ", the step was not logged"
        if step is None
        else f", focus moved {depth_words(step, lengths)} from one to the next"
    )
    least = (
        ""
        if most is None
        else f" {depth_words(most, lengths)} is the most at this f-number, with a third to overlap."
    )
    return f"Focus stack: {told['frames']} frames{through}{every}. Nothing else changes between them.{least}"


def _together(told: Fact, _: Lengths) -> str:
    lights = names(told, "lights")
    if len(lights) < 2:
        return "Expose with everything as it stands."
    return f"Light {joined(lights)} together, as they stand, and expose."


def _share(told: Fact, _: Lengths) -> str:
    return f"{begun(told.text('patch'))} off alone: look at {told.about} first, which gives {percent(told.number('share'))} of its light."


def _resized(told: Fact, lengths: Lengths) -> str:
    was, now = (lengths.sides(*map(float, _sides(told, each))) for each in ("was_mm", "now_mm"))
    return f"{told.about} {was} to {now}"


def _sides(told: Fact, name: str) -> tuple[float, ...]:
    value = told[name]
    assert isinstance(value, tuple)
    return tuple(float(each or 0.0) for each in value)


def _read(told: Fact, _: Lengths) -> str:
    was, now = (signed_tenth(told.number(each)) for each in ("was_stops", "now_stops"))
    return f"{told.about} read {was}, now {now}"


WORDS: Final[Mapping[str, Say]] = {
    Reason.STEP_SUBJECT: _subject,
    Reason.STEP_TABLE: _table,
    Reason.CAMERA_STANDS: _camera,
    Reason.CAMERA_UPRIGHT: lambda *_: "The picture is upright.",
    Reason.SET_POPS: lambda told, _: f"{told['pops']} pops for each frame.",
    Reason.STEP_PROVE_AMBIENT: lambda *_: "Every lamp off: prove the light of the room at these settings.",
    Reason.ROOM_LIES_BELOW: _room,
    Reason.LOOK_FOR_ROOM_LIGHT: lambda *_: (
        "Brighter than that: windows, house lights, screens, modelling lamps; then a shorter shutter up to sync speed."
    ),
    Reason.STEP_THING: _thing,
    Reason.STEP_LIGHT: _light,
    Reason.METERS_ALONE: lambda told, _: (
        f"{begun(told.text('light'))} alone meters {level_words(told.number('level_av'))} at the subject, at ISO 100"
        f"{'' if told['here'] else ' (by the kit, not metered on this set)'}."
    ),
    Reason.READS_ALONE: _reads_alone,
    Reason.LOOK_FOR_FILTERS: _filters,
    Reason.LOOK_FOR_DISTANCE: _distance,
    Reason.STEP_STACK: _stack,
    Reason.STEP_TOGETHER: _together,
    Reason.READS_TOGETHER: lambda told, _: f"{begun(told.about)} reads {_level(told)}.",
    Reason.LOOK_FOR_CAMERA: lambda *_: (
        "All off by the same: f-number, ISO, filters on the lens, magnification. Each off by its own: the lights."
    ),
    Reason.LOOK_FOR_LIGHT: _share,
    Reason.THING_RESIZED: _resized,
    Reason.READ_CHANGED: _read,
    Reason.STACK_TAKEN: lambda told, _: f"a focus stack of {told['frames']} frames",
}
