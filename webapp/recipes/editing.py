"""A recipe as a form: what may be rewritten by hand, as text, and the document that the text comes to. Pure.

Figures of the set-up come from the ledger and are not typed here; another frame gives another version.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any, get_args

from pydantic import ValidationError

from webapp.errors import InvalidValue, SeveralInvalid
from webapp.kit.inventory import invalid_fields
from webapp.recipes.document import (
    DIRECTIONS,
    LightPart,
    PostStep,
    Recipe,
    Tolerance,
    unknown_of,
    unknown_what,
)

_KINDS: tuple[str, ...] = get_args(PostStep.model_fields["kind"].annotation)
_POST = re.compile(
    rf"(?P<kind>{'|'.join(map(re.escape, _KINDS))})\b\s*(?P<figures>[^:]*):?\s*(?P<reason>.*)", re.IGNORECASE
)
_TOLERANCE = re.compile(r"(?P<what>[^:]+):\s*(?P<within>\d+(?:\.\d+)?)\s*(?P<unit>\S+)")
_FIGURE = re.compile(r"[-−+]?\d+(?:\.\d+)?")
_TERMS = ("subject_types", "surfaces", "looks", "tags")
_LINES = ("title", "subject", "background", "why")
_LISTS = ("steps", "changes")


def form_of(recipe: Recipe) -> dict[str, str]:
    """The recipe's texts as a form holds them: terms with commas, steps a line each."""
    said = {name: getattr(recipe, name) for name in _LINES}
    said |= {name: ", ".join(getattr(recipe, name)) for name in _TERMS}
    said |= {name: "\n".join(getattr(recipe, name)) for name in _LISTS}
    said["tolerances"] = "\n".join(f"{each.what}: {each.within:g} {each.unit}" for each in recipe.tolerances)
    said["post"] = "\n".join(post_words(each) for each in recipe.post)
    said |= {f"direction_{light.letter}": light.direction or "" for light in recipe.lights}
    return said


def post_words(step: PostStep) -> str:
    """A step after the camera on one line: "crop 3 3 97 97 %: the card's edge"."""
    figures = ""
    edges = (step.left, step.top, step.right, step.bottom)
    if step.kind == "crop" and None not in edges:
        figures = " " + " ".join(f"{100 * edge:g}" for edge in edges if edge is not None) + " %"
    if step.rotation_deg is not None:
        figures = f" {step.rotation_deg:+g}°".replace("-", "−")
    told = ": ".join(each for each in (step.words, step.reason) if each)
    return f"{step.kind}{figures}" + (f": {told}" if told else "")


def edited(recipe: Recipe, said: Mapping[str, str]) -> Recipe:
    """The recipe with what was typed; what is not in `said` stays. Raises SeveralInvalid with every field that cannot
    be kept."""
    problems: list[InvalidValue] = []
    over: dict[str, Any] = {name: said[name].strip() for name in _LINES if name in said}
    over |= {name: _terms(said[name]) for name in _TERMS if name in said}
    over |= {name: _lines(said[name]) for name in _LISTS if name in said}
    for name, read in (("post", _post_steps), ("tolerances", _tolerances)):
        if name in said:
            try:
                over[name] = read(said[name])
            except InvalidValue as problem:
                problems.append(problem)
    lights = tuple(_turned(light, said, problems) for light in recipe.lights)
    over["lights"] = lights
    over["not_measured"] = _still_missing(recipe, lights)
    try:
        changed = Recipe.model_validate(recipe.model_dump() | {name: _plain(value) for name, value in over.items()})
    except ValidationError as error:
        problems.extend(invalid_fields(error).problems)
    if problems:
        raise SeveralInvalid(problems)
    return changed


def _plain(value: Any) -> Any:
    if isinstance(value, tuple):
        return tuple(each.model_dump() if hasattr(each, "model_dump") else each for each in value)
    return value


def _terms(text: str) -> tuple[str, ...]:
    return tuple(dict.fromkeys(each.strip() for each in text.split(",") if each.strip()))


def _lines(text: str) -> tuple[str, ...]:
    return tuple(line.strip() for line in text.splitlines() if line.strip())


def _turned(light: LightPart, said: Mapping[str, str], problems: list[InvalidValue]) -> LightPart:
    name = f"direction_{light.letter}"
    if name not in said:
        return light
    if said[name] and said[name] not in DIRECTIONS:
        problems.append(InvalidValue(name, f"A light comes from one of: {', '.join(DIRECTIONS)}."))
        return light
    return light.model_copy(update={"direction": said[name] or None})


def _still_missing(recipe: Recipe, lights: Sequence[LightPart]) -> tuple[str, ...]:
    kept = [each for each in recipe.not_measured if unknown_what(each) != "direction"]
    missing = [unknown_of("direction", light.letter) for light in lights if light.lit and light.direction is None]
    return (*kept, *missing)


def _post_steps(text: str) -> tuple[PostStep, ...]:
    return tuple(_post_step(line) for line in _lines(text))


def _post_step(line: str) -> PostStep:
    found = _POST.fullmatch(line)
    if found is None:
        raise InvalidValue("post", f"“{line[:60]}” begins with none of: {', '.join(_KINDS)}.")
    kind = found.group("kind").lower()
    figures = [float(each.replace("−", "-")) for each in _FIGURE.findall(found.group("figures"))]
    said: dict[str, Any] = {"kind": kind, "reason": found.group("reason").strip()}
    if kind == "crop":
        said |= _crop(figures, line)
    elif kind == "rotation":
        if len(figures) != 1 or abs(figures[0]) > 180:
            raise InvalidValue(
                "post", f"“{line[:60]}”: a rotation needs one angle from −180 to 180, as in rotation 0.8."
            )
        said["rotation_deg"] = figures[0]
    elif found.group("figures").strip():
        said["words"] = found.group("figures").strip()
    try:
        return PostStep.model_validate(said)
    except ValidationError as error:
        raise InvalidValue("post", f"“{line[:60]}”: {error.errors()[0]['msg']}.") from error


def _crop(figures: list[float], line: str) -> dict[str, float]:
    left, top, right, bottom = figures if len(figures) == 4 else (1.0, 1.0, 0.0, 0.0)
    if not (0 <= left < right <= 100 and 0 <= top < bottom <= 100):
        raise InvalidValue(
            "post", f"“{line[:60]}”: a crop needs left, top, right and bottom in per cent, as in crop 3 3 97 97 %."
        )
    return {"left": left / 100, "top": top / 100, "right": right / 100, "bottom": bottom / 100}


def _tolerances(text: str) -> tuple[Tolerance, ...]:
    kept = []
    for line in _lines(text):
        found = _TOLERANCE.fullmatch(line)
        if found is None or float(found.group("within")) <= 0:
            raise InvalidValue("tolerances", f"“{line[:60]}” is no tolerance: write it as distances: 10 mm.")
        kept.append(
            Tolerance(
                what=found.group("what").strip()[:200],
                within=float(found.group("within")),
                unit=found.group("unit")[:200],
            )
        )
    return tuple(kept)
