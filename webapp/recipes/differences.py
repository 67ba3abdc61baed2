"""What a new version of a recipe says otherwise than the one before: in stops, in centimetres and in words. Pure."""

from __future__ import annotations

from collections.abc import Iterator

from webapp.plan import positions
from webapp.quantities.lengths import CENTIMETRES
from webapp.recipes.document import LightPart, Recipe, Setting
from webapp.recipes.set_plan import named_places

_SAME = 1e-6
_WORDS = (
    ("title", "title"),
    ("subject", "subject"),
    ("background", "background"),
    ("subject_types", "subject types"),
    ("surfaces", "surfaces"),
    ("looks", "look"),
    ("tags", "tags"),
)
_REWRITTEN = (
    ("why", "why it works"),
    ("steps", "steps"),
    ("changes", "list of changes"),
    ("tolerances", "tolerances"),
    ("patches", "patches"),
    ("post", "steps after the camera"),
    ("result", "result picture"),
    ("comparisons", "comparison frames"),
    ("cautions", "cautions"),
)


def differences(before: Recipe, after: Recipe) -> tuple[str, ...]:
    """Every difference, a sentence each; empty where the two say the same."""
    return (
        *_settings(before, after),
        *_lights(before, after),
        *_places(before, after),
        *_ambient(before, after),
        *_said(before, after),
    )


def _settings(before: Recipe, after: Recipe) -> Iterator[str]:
    was, now = before.settings, after.settings
    dials = (("f-number", was.f_number, now.f_number, -1), ("ISO", was.iso, now.iso, 1))
    for name, old, new, sign in (*dials, ("shutter", was.shutter, now.shutter, -1)):
        yield from _mark(name, old, new, sign)
    if was.magnification != now.magnification:
        yield f"magnification {_number(was.magnification)} to {_number(now.magnification)}"
    yield from _length("camera distance", was.subject_distance_mm, now.subject_distance_mm)
    for name, old_name, new_name in (
        ("camera", before.camera and before.camera.name, after.camera and after.camera.name),
        ("lens", before.lens and before.lens.name, after.lens and after.lens.name),
    ):
        if old_name != new_name:
            yield f"{name} {old_name or 'unknown'} to {new_name or 'unknown'}"


def _mark(name: str, was: Setting | None, now: Setting | None, sign: int) -> Iterator[str]:
    if was is None or now is None:
        if was is not now:
            yield f"{name} {was.text if was else 'unknown'} to {now.text if now else 'unknown'}"
    elif abs(was.stops - now.stops) > _SAME:
        yield f"{name} {was.text} to {now.text} ({_signed(sign * (now.stops - was.stops))} stops)"


def _lights(before: Recipe, after: Recipe) -> Iterator[str]:
    old, new = ({light.letter: light for light in each.lights} for each in (before, after))
    for letter in sorted(old.keys() | new.keys()):
        was, now = old.get(letter), new.get(letter)
        if was is None or now is None:
            yield f"{letter} {'is new' if was is None else 'is gone'}"
            continue
        yield from _light(was, now)


def _light(was: LightPart, now: LightPart) -> Iterator[str]:
    letter = now.letter
    if was.lit != now.lit:
        yield f"{letter} {'on' if now.lit else 'off'}"
    if was.head != now.head:
        yield f"{letter}: {was.head.name} to {now.head.name}"
    elif was.power_stops != now.power_stops:
        size = (
            ""
            if was.power_stops is None or now.power_stops is None
            else f" ({_signed(now.power_stops - was.power_stops)} stops)"
        )
        yield f"{letter} {was.power_mark} to {now.power_mark}{size}"
    yield from _length(f"{letter} distance", was.distance_mm, now.distance_mm)
    if was.incident_av is not None and now.incident_av is not None and abs(was.incident_av - now.incident_av) > _SAME:
        yield f"{letter} incident level {_signed(now.incident_av - was.incident_av)} stops"
    for name in ("role", "modifier", "direction"):
        old, new = getattr(was, name), getattr(now, name)
        if old != new:
            yield f"{letter} {name} {old or 'none'} to {new or 'none'}"
    if was.filters != now.filters:
        yield f"{letter} filters {_names(was)} to {_names(now)}"


def _places(before: Recipe, after: Recipe) -> Iterator[str]:
    yield from (each[:600] for each in positions.differences(named_places(before), named_places(after)))


def _ambient(before: Recipe, after: Recipe) -> Iterator[str]:
    was, now = (
        "unknown" if each.ambient is None else f"{each.ambient.margin_stops:.1f} stops".replace("-", "−")
        for each in (before, after)
    )
    if was != now:
        yield f"ambient margin {was} to {now}"


def _said(before: Recipe, after: Recipe) -> Iterator[str]:
    for name, words in _WORDS:
        old, new = getattr(before, name), getattr(after, name)
        if old != new:
            yield f"{words} “{_joined(old)}” to “{_joined(new)}”"[:600]
    for name, words in _REWRITTEN:
        if getattr(before, name) != getattr(after, name):
            yield f"{words} rewritten"


def _length(name: str, was_mm: float | None, now_mm: float | None) -> Iterator[str]:
    if was_mm is None or now_mm is None:
        if was_mm is not now_mm:
            yield f"{name} {CENTIMETRES.text(was_mm)} to {CENTIMETRES.text(now_mm)}"
    elif abs(was_mm - now_mm) > _SAME:
        yield f"{name} {CENTIMETRES.text(was_mm)} to {CENTIMETRES.text(now_mm)} ({_signed((now_mm - was_mm) / 10)} cm)"


def _signed(value: float) -> str:
    return f"{value:+.1f}".replace("-", "−")


def _number(value: float | None) -> str:
    return "unknown" if value is None else f"{value:.3g}"


def _names(light: LightPart) -> str:
    return " and ".join(each.name for each in light.filters) or "none"


def _joined(value: str | tuple[str, ...]) -> str:
    return value if isinstance(value, str) else ", ".join(value)
