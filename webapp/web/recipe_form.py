"""A recipe as a form: what of it may be rewritten by hand, as text, and the document that the text comes to. Pure."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any, Final, get_args

from pydantic import ValidationError

from webapp.errors import InvalidValue, SeveralInvalid
from webapp.recipes.document import DIRECTIONS, Direction, PostStep, Recipe
from webapp.recipes.editing import rewritten
from webapp.web.words.shared import post_words

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


def edited(recipe: Recipe, said: Mapping[str, str]) -> Recipe:
    """The recipe with what was typed; what is not in `said` stays. Raises SeveralInvalid with every field that cannot
    be kept."""
    problems: list[InvalidValue] = []
    texts: dict[str, Any] = {name: said[name].strip() for name in _LINES if name in said}
    texts |= {name: _terms(said[name]) for name in _TERMS if name in said}
    texts |= {name: _lines(said[name]) for name in _LISTS if name in said}
    for name, read in _READ.items():
        if name in said:
            try:
                texts[name] = [read(line) for line in _lines(said[name])]
            except InvalidValue as problem:
                problems.append(problem)
    directions: dict[str, Direction | None] = {}
    for light in recipe.lights:
        name = f"direction_{light.letter}"
        told = next((each for each in DIRECTIONS if each == said.get(name)), None)
        if told is None and said.get(name):
            problems.append(InvalidValue(name, f"A light comes from one of: {', '.join(DIRECTIONS)}."))
        elif name in said:
            directions[light.letter] = told
    try:
        changed = rewritten(recipe, texts, directions)
    except SeveralInvalid as error:
        problems += error.problems
    if problems:
        raise SeveralInvalid(problems)
    return changed


def _terms(text: str) -> tuple[str, ...]:
    return tuple(dict.fromkeys(each.strip() for each in text.split(",") if each.strip()))


def _lines(text: str) -> tuple[str, ...]:
    return tuple(line.strip() for line in text.splitlines() if line.strip())


def _post_step(line: str) -> dict[str, Any]:
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
        return PostStep.model_validate(said).model_dump()
    except ValidationError as error:
        raise InvalidValue("post", f"“{line[:60]}”: {error.errors()[0]['msg']}.") from error


def _crop(figures: list[float], line: str) -> dict[str, float]:
    left, top, right, bottom = figures if len(figures) == 4 else (1.0, 1.0, 0.0, 0.0)
    if not (0 <= left < right <= 100 and 0 <= top < bottom <= 100):
        raise InvalidValue(
            "post", f"“{line[:60]}”: a crop needs left, top, right and bottom in per cent, as in crop 3 3 97 97 %."
        )
    return {"left": left / 100, "top": top / 100, "right": right / 100, "bottom": bottom / 100}


def _tolerance(line: str) -> dict[str, Any]:
    found = _TOLERANCE.fullmatch(line)
    if found is None or float(found.group("within")) <= 0:
        raise InvalidValue("tolerances", f"“{line[:60]}” is no tolerance: write it as distances: 10 mm.")
    what, within, unit = found.groups()
    return {"what": what.strip()[:200], "within": float(within), "unit": unit[:200]}


_READ: Final = {"post": _post_step, "tolerances": _tolerance}
"""What has a grammar of its own, a line each."""
