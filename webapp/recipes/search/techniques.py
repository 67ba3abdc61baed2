"""How a recipe was lit, read off its record: techniques, families of modifiers, the way each light meets the subject, and the
key-to-fill ratio. Pure.

A technique is one where the record shows it (a polariser on the lens and sheets on the lights), or where the photographer
named it: in the title, a tag, a look, the name of a piece, or a step that does not deny it. What is only talked about in
the reasons is none.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from webapp.optics.depth import circle_of_confusion_mm
from webapp.optics.diffraction import airy_disc_mm
from webapp.quantities.powers import end_of_dial
from webapp.recipes.document import FilterPart, LightPart, Recipe
from webapp.recipes.drafting import key_of

# Each with the words for it in what is typed. Colours and roles make the names of gels.
ROLES: Final = ("key", "fill", "rim", "kicker", "hair", "accent", "edge", "background", "backdrop")
_ROLE: Final = r"(?P<role>key|fill|rim|kicker|hair|accent|edge|back ?ground|backdrop)"
TECHNIQUES: Final[Mapping[str, re.Pattern[str]]] = {
    name: re.compile(rf"(?<![\w-])(?:{words})(?![\w-])")
    for name, words in {
        "cross-polarised": r"cross(?:ed)?[ -]?polari[sz](?:ed|ation|ing|ers?)(?: light)?|polari[sz]ers? crossed",
        "polarised": r"polari[sz](?:ed|ers?|ing|ation)(?: filters?| sheets?| light)?",
        "dark-field": r"dark[ -]?field",
        "bright-field": r"bright[ -]?field",
        "raking": r"(?:raking|grazing)(?: lights?)?|raked",
        "on the lens axis": r"on(?: the)?(?: lens)? axis|(?:along|down) the lens(?: axis)?|axial(?: lights?)?",
        "ring light": r"ring[ -]?(?:lights?|flash(?:es)?)",
        "through a panel": (
            r"(?:light )?through (?:an? |the )?(?:\w+ )?(?:panels?|scrims?|diffusers?|silks?|diffusion(?: \w+)?"
            r"|tracing paper)|diffus(?:ion|ing) panels?"
        ),
        "warm gel": r"(?:(?:full|half|quarter|eighth) )?(?:warm|orange|amber|straw|cto)(?: gels?| cto)|cto",
        "cool gel": r"(?:(?:full|half|quarter|eighth) )?(?:cool|cold|blue|steel|ctb)(?: gels?| ctb)|ctb",
        "gelled": r"gels?|gelled|colou?red lights?",
        "neutral density": r"nd(?: filters?| sheets?)?|neutral[ -]density(?: filters?| sheets?)?",
        "focus stack": r"(?:focus[ -]?)?stack(?:s|ed|ing)?(?: shots?| pictures?)?",
        "long exposure": r"(?:long|slow|time) exposures?|(?:slow|open) shutter",
        "several pops": r"(?:several|multiple|many|more than one) (?:pops|flashes|bursts)|multi[ -]?pop",
        "camera overhead": (
            r"overhead camera|camera (?:is |hangs |stands )?(?:straight |directly )?(?:above|overhead|looking down)"
            r"|top[ -]down|flat[ -]?lay"
        ),
        "sharp at its aperture": r"(?:kept |still )?sharp(?:ness)?(?: (?:is )?kept)?(?= at f)",
    }.items()
}
GEL_ON: Final = (
    re.compile(rf"(?<![\w-])gel(?:s|led)? (?:on|over|for) (?:the )?{_ROLE}(?: light)?(?![\w-])"),
    re.compile(rf"(?<![\w-]){_ROLE}(?: light)? with an? (?:\w+ ){{0,2}}gel(?![\w-])"),
)
FAMILIES: Final[Mapping[str, re.Pattern[str]]] = {
    name: re.compile(rf"(?<![\w-])(?:{words})(?![\w-])")
    for name, words in {
        "strip box": r"strip[ -]?(?:soft)?box(?:es)?|strip[ -]?lights?|strips?",
        "softbox": r"(?<!strip )soft[ -]?box(?:es)?|octa(?:box(?:es)?|s)?",
        "snoot": r"snoots?",
        "grid spot": r"grid(?:ded)?[ -]?spots?|honeycombs?|grids|gridded",
        "umbrella": r"umbrellas?|brolly|brollies",
        "scrim": r"scrims?|diffusion frames?",
        "light tent": r"(?:light )?tents?",
        "barn doors": r"barn ?doors?",
        "beauty dish": r"beauty dish(?:es)?",
        "fresnel spot": r"fresnels?(?: spots?)?",
    }.items()
}
_DENIED: Final = re.compile(r"\b(?:no|not|without|never|instead of|unlike|nor)\s+(?:\w+\s+){0,2}$")
_POLARISER: Final = re.compile(r"polari[sz]")
_GEL: Final = re.compile(r"\bgels?\b|\bct[ob]\b")
_WARM: Final = re.compile(r"\b(?:warm|orange|amber|straw|cto)\b")
_COOL: Final = re.compile(r"\b(?:cool|cold|blue|steel|ctb)\b")
_PANEL: Final = re.compile(r"\b(?:scrim|panel|diffus\w*|silk|tracing paper|opal|shoot-through)\b")

# What is called a long exposure, and how far a light may lie off the axis and still be on it, or how near to the plane
# of the subject to rake it: common practice.
LONG_EXPOSURE_S: Final = 0.25
_ON_AXIS_DEG, _RAKING_FROM_DEG, _BEHIND_FROM_DEG = 15.0, 70.0, 105.0
_STRAIGHT_DOWN: Final = math.cos(math.radians(30.0))
_FLOOR: Final = re.compile(
    r"\b(?P<long>\d(?:\.\d)?|one|two|three|four|five|six)\s*(?:m\s*)?(?:x|×|by)\s*"
    r"(?P<short>\d(?:\.\d)?|one|two|three|four|five|six)\s*(?:m|metres?|meters?)\b"
)
_NUMBERS: Final = {"one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "eight": 8}
_NUMBER: Final = rf"(?P<number>\d{{1,2}}(?:\.\d)?|{'|'.join(_NUMBERS)})"
_RATIO: Final = (
    re.compile(
        rf"\b(?:key[- ](?:to|and)[- ]fill|lighting ratio|ratio)\b[^\d.;]{{0,24}}?{_NUMBER}\s*(?::|to)\s*(?:1|one)\b"
    ),
    re.compile(rf"\bkey[- ](?:to|and)[- ]fill\b[^\d.;]{{0,12}}?{_NUMBER}\s*(?P<stops>stops?)\b"),
    re.compile(rf"\bfill\b[^.;]{{0,12}}?\b{_NUMBER}\s*(?P<stops>stops?) (?:under|below|down)\b"),
)


class Meeting(StrEnum):
    """How a light meets the subject, as the camera sees it."""

    ON_AXIS = "on the axis"
    FRONT = "from the front"
    RAKING = "raking"
    SIDE = "from the side"
    ABOVE = "from above"
    BELOW = "from below"
    BEHIND = "from behind"


@dataclass(frozen=True, slots=True)
class _Axis:
    """Towards the camera from what it looks at, a unit vector. `overhead`: it looks down."""

    x: float
    y: float
    z: float

    @property
    def overhead(self) -> bool:
        return self.z >= _STRAIGHT_DOWN


_LEVEL: Final = _Axis(0.0, -1.0, 0.0)
_DOWN: Final = _Axis(0.0, 0.0, 1.0)


def camera_axis(recipe: Recipe) -> _Axis:
    """Which way the camera looks: by its place on the plan, else by what is said of it; level where nothing is."""
    for thing in recipe.things:
        if thing.kind == "camera":
            at, aim = thing.position.at, thing.position.aim
            x, y, z = at.x_mm - aim.x_mm, at.y_mm - aim.y_mm, at.z_mm - aim.z_mm
            if length := math.hypot(x, y, z):
                return _Axis(x / length, y / length, z / length)
    said = "\n".join((recipe.title, *recipe.tags, *_written_steps(recipe))).casefold()
    return _DOWN if TECHNIQUES["camera overhead"].search(said) else _LEVEL


def off_axis_deg(light: LightPart, axis: _Axis) -> float | None:
    """The angle at the subject between a light and the camera; None where the light's place is unknown."""
    if light.position is None or light.position.known == "unknown":
        return None
    at = light.position.at
    length = math.hypot(at.x_mm, at.y_mm, at.z_mm)
    if not length:
        return None
    cosine = (at.x_mm * axis.x + at.y_mm * axis.y + at.z_mm * axis.z) / length
    return math.degrees(math.acos(min(max(cosine, -1.0), 1.0)))


def meeting_of(light: LightPart, axis: _Axis, raked: bool = False) -> Meeting | None:
    """How one light meets the subject; None where nothing says it. `raked`: the recipe is called a raking one."""
    if light.head.form == "ring" or light.direction == "on the lens axis":
        return Meeting.ON_AXIS
    if (angle := off_axis_deg(light, axis)) is not None:
        if angle <= _ON_AXIS_DEG:
            return Meeting.ON_AXIS
        if angle >= _BEHIND_FROM_DEG:
            return Meeting.BEHIND
        if angle >= _RAKING_FROM_DEG:
            return _across(light, axis, raked)
        return Meeting.FRONT
    return _by_word(light, axis, raked)


def _across(light: LightPart, axis: _Axis, raked: bool) -> Meeting:
    assert light.position is not None
    at = light.position.at
    if raked or axis.overhead:
        return Meeting.RAKING
    steep = abs(at.z_mm) > math.hypot(at.x_mm, at.y_mm)
    return (Meeting.ABOVE if at.z_mm > 0 else Meeting.BELOW) if steep else Meeting.SIDE


def _by_word(light: LightPart, axis: _Axis, raked: bool) -> Meeting | None:
    """From the word for its direction. A camera that looks down has its axis where the light from above is, and every
    light at the level of the subject rakes it."""
    match light.direction:
        case "top":
            return Meeting.ON_AXIS if axis.overhead else Meeting.ABOVE
        case "below":
            return Meeting.BEHIND if axis.overhead else Meeting.BELOW
        case "side":
            return Meeting.RAKING if raked or axis.overhead else Meeting.SIDE
        case "front":
            return Meeting.RAKING if axis.overhead else Meeting.FRONT
        case "back":
            return Meeting.RAKING if axis.overhead else Meeting.BEHIND
    return None


def goes_through(light: LightPart) -> bool:
    """Whether a panel or a diffusing sheet stands before a light."""
    return (
        light.modifier_diffuses
        or bool(light.modifier and _PANEL.search(light.modifier.casefold()))
        or any(each.kind == "diffusion" for each in light.filters)
    )


def techniques_of(recipe: Recipe) -> tuple[str, ...]:
    """The techniques that the record shows or its photographer named, in the order of the list, each once; "gel on the
    fill" beside the plain ones."""
    said = _said(recipe)
    shown = set(_shown(recipe))
    named = {name for name, pattern in TECHNIQUES.items() if _names(pattern, said)}
    if named & {"warm gel", "cool gel"} or any(_names(pattern, said) for pattern in GEL_ON):
        named.add("gelled")
    if "cross-polarised" in named:
        named.add("polarised")
    placed = {
        gel_on(found.group("role"))
        for pattern in GEL_ON
        for each in said
        for found in pattern.finditer(each)
        if not _DENIED.search(each[: found.start()])
    }
    every = shown | named
    if not any(light.head.form == "ring" for light in recipe.lit):
        # A ring of gold is no ring light: that one is told by the head alone.
        every.discard("ring light")
    return (*(name for name in TECHNIQUES if name in every), *sorted(placed | (every - TECHNIQUES.keys())))


def gel_on(role: str) -> str:
    """The name of the technique that puts a gel on the light of a role."""
    return f"gel on the {role.replace(' ', '')}"


def _said(recipe: Recipe) -> list[str]:
    pieces = (
        each for light in recipe.lights for each in (light.modifier or "", *(one.name for one in light.filters))
    )
    on_lens = (each.name for each in recipe.settings.lens_filters)
    texts = (recipe.title, recipe.background, *recipe.tags, *recipe.looks, *_written_steps(recipe), *pieces, *on_lens)
    return [text.casefold() for text in texts if text]


def _written_steps(recipe: Recipe) -> tuple[str, ...]:
    """The steps that somebody wrote; those in the words of the program say what the record shows."""
    return tuple(step.words for step in recipe.steps if not step.drafted)


def _names(pattern: re.Pattern[str], said: Iterable[str]) -> bool:
    return any(not _DENIED.search(text[: found.start()]) for text in said for found in pattern.finditer(text))


def _shown(recipe: Recipe) -> Iterator[str]:
    lit, settings = recipe.lit, recipe.settings
    on_lens = any(map(_polarises, settings.lens_filters))
    on_lights = any(any(map(_polarises, light.filters)) or _polarises_by_name(light.modifier) for light in lit)
    if on_lens or on_lights:
        yield "polarised"
    if on_lens and on_lights:
        yield "cross-polarised"
    axis = camera_axis(recipe)
    if axis.overhead:
        yield "camera overhead"
    raked = any(TECHNIQUES["raking"].search(each.casefold()) for each in recipe.looks)
    meetings = {meeting_of(light, axis, raked) for light in lit}
    if Meeting.ON_AXIS in meetings:
        yield "on the lens axis"
    if raked or ("textured" in recipe.surfaces and any(_grazes(light, axis) for light in lit)):
        yield "raking"
    if any(light.head.form == "ring" for light in lit):
        yield "ring light"
    if any(map(goes_through, lit)):
        yield "through a panel"
    yield from _gels(lit)
    every_filter = (*settings.lens_filters, *(each for light in lit for each in light.filters))
    if any(each.kind == "neutral" for each in every_filter):
        yield "neutral density"
    if settings.stack_frames:
        yield "focus stack"
    if settings.pops > 1:
        yield "several pops"
    if settings.shutter is not None and 2.0**-settings.shutter.stops >= LONG_EXPOSURE_S:
        yield "long exposure"
    if is_sharp(recipe):
        yield "sharp at its aperture"


def _grazes(light: LightPart, axis: _Axis) -> bool:
    angle = off_axis_deg(light, axis)
    return angle is not None and _RAKING_FROM_DEG <= angle < _BEHIND_FROM_DEG


def _polarises(part: FilterPart) -> bool:
    return part.kind == "polariser" or _polarises_by_name(part.name)


def _polarises_by_name(name: str | None) -> bool:
    return bool(name and _POLARISER.search(name.casefold()))


def _gels(lit: Iterable[LightPart]) -> Iterator[str]:
    for light in lit:
        for each in light.filters:
            name = each.name.casefold()
            if each.kind != "gel" and not _GEL.search(name):
                continue
            yield "gelled"
            if light.role in ROLES:
                yield gel_on(light.role)
            if each.shift_mired > 0 or (not each.shift_mired and _WARM.search(name)):
                yield "warm gel"
            if each.shift_mired < 0 or (not each.shift_mired and _COOL.search(name)):
                yield "cool gel"


def is_sharp(recipe: Recipe) -> bool:
    """Whether diffraction leaves the picture sharp: the Airy disc at the effective f-number is within the usual circle
    of confusion of the sensor. False where the camera or the f-number is unknown."""
    if recipe.camera is None or recipe.effective_f_number is None:
        return False
    allowed = circle_of_confusion_mm(recipe.camera.sensor_width_mm, recipe.camera.sensor_height_mm)
    return airy_disc_mm(recipe.effective_f_number) <= allowed


def families_of(recipe: Recipe) -> dict[str, int]:
    """The families of modifiers on the set, each with the number of lit lights that have one; 0 where it is only named
    in what is done."""
    counts: dict[str, int] = {}
    for name, pattern in FAMILIES.items():
        on_lights = sum(bool(light.modifier and pattern.search(light.modifier.casefold())) for light in recipe.lit)
        if on_lights or _names(pattern, _said(recipe)):
            counts[name] = on_lights
    return counts


def at_an_end(light: LightPart) -> str | None:
    """Whether a light's dial stands at its "floor" or its "ceiling"; None for in between, or unknown."""
    return end_of_dial(light.power_stops, light.head.lowest_power_stops, light.head.step_stops)


def fill_under_key_stops(recipe: Recipe) -> float | None:
    """How far the fill lies under the key, in stops: by the levels, of the light called fill or else the brightest
    other one; where they are unknown, by what was written."""
    key = key_of(recipe.lights)
    under = [
        (light.role != "fill", -light.from_key_stops)
        for light in recipe.lit
        if light is not key and light.from_key_stops is not None and light.role in ("fill", "key", "")
    ]
    if under:
        return min(under)[1]
    for text in (*recipe.tags, *recipe.ratios, *_written_steps(recipe), recipe.why):
        if (stops := ratio_in(text.casefold())) is not None:
            return stops
    return None


def ratio_in(text: str) -> float | None:
    """The key-to-fill ratio that a text states, in stops.

    >>> ratio_in("fill three stops under"), ratio_in("key to fill 4:1"), ratio_in("at 4:1")
    (3.0, 2.0, None)
    """
    for pattern in _RATIO:
        if found := pattern.search(text):
            number = _number(found.group("number"))
            if "stops" in found.groupdict() and found.group("stops"):
                return number
            return math.log2(number) if number >= 1 else None
    return None


def _number(said: str) -> float:
    return float(_NUMBERS[said]) if said in _NUMBERS else float(said)


def room_mm(recipe: Recipe) -> tuple[float, float] | None:
    """The longer and the shorter side of the floor that the set takes, from the places of the lights, the things and the
    camera; where one of the lit lights has no place, as it was written; else None."""
    placed = [light.position.at for light in recipe.lit if light.position and light.position.known != "unknown"]
    if not placed or len(placed) < len(recipe.lit):
        return _written_room(recipe)
    corners = [(0.0, 0.0), *((at.x_mm, at.y_mm) for at in placed)]
    for thing in recipe.things:
        at = thing.position.at
        corners += [(at.x_mm - thing.width_mm / 2, at.y_mm), (at.x_mm + thing.width_mm / 2, at.y_mm)]
    if recipe.settings.subject_distance_mm and not any(thing.kind == "camera" for thing in recipe.things):
        axis = camera_axis(recipe)
        corners.append((axis.x * recipe.settings.subject_distance_mm, axis.y * recipe.settings.subject_distance_mm))
    wide = max(x for x, _ in corners) - min(x for x, _ in corners)
    deep = max(y for _, y in corners) - min(y for _, y in corners)
    return max(wide, deep), min(wide, deep)


def _written_room(recipe: Recipe) -> tuple[float, float] | None:
    for text in (recipe.title, *recipe.tags, *_written_steps(recipe), recipe.why):
        if found := _FLOOR.search(text.casefold()):
            sides = sorted(1000.0 * _number(found.group(name)) for name in ("long", "short"))
            return sides[1], sides[0]
    return None
