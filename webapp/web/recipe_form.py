"""A recipe as a form: what of it may be rewritten by hand, field by field, and the document that the fields come to. Pure.

Steps, tolerances and what is done after the camera are rows, each with a key: "step-3-words", "post-0-left". A row that is
left empty is none.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Final, get_args

from webapp.errors import InvalidValue, SeveralInvalid
from webapp.quantities.reading import plain, quoted, words_in
from webapp.recipes.document import DIRECTIONS, ChangePart, Direction, PostStep, Recipe
from webapp.recipes.editing import rewritten

POST_KINDS: Final[tuple[str, ...]] = get_args(PostStep.model_fields["kind"].annotation)
UNITS: Final = ("stops", "mm", "°", "K", "%")
"""What a tolerance is told in."""
_TERMS: Final = ("subject_types", "surfaces", "looks", "tags")
_LINES: Final = ("title", "subject", "background", "why")
_STEP: Final = ("about", "whose", "words", "check", "otherwise")
_EDGES: Final = ("left", "top", "right", "bottom")
_POST_FIGURES: Final = ("rotation_deg", "kelvin", "width_px", "height_px")
_ROWS: Final = {"step": "steps", "tolerance": "tolerances", "post": "post"}
_BLANK_STEPS: Final = 2
_FIELDS: Final = {
    "step": (*_STEP, "place"),
    "tolerance": ("what", "within", "unit"),
    "post": ("kind", "words", "reason", *_EDGES, *_POST_FIGURES),
}
_NAMES_IN: Final = {
    "step": ("step", "steps"),
    "tolerance": ("tolerance", "tolerances"),
    "post": ("post",),
    "change": ("change", "changes"),
    "picture": ("caption", "result", "comparisons"),
}
"""By part of the form, what the names of its fields begin with, on the form and in the document."""
Fields = dict[str, str]


@dataclass(frozen=True, slots=True)
class FormPart:
    """A part of the form as it lies folded: how many of its rows are filled in, and whether something in it was refused
    and has to be seen."""

    filled: int
    refused: bool


def parts_of(said: Mapping[str, str], refused: Iterable[str]) -> dict[str, FormPart]:
    """The parts that fold; `refused` are the names of the fields that cannot be kept."""
    begin = {re.split("[-:]", name)[0] for name in refused}
    return {
        part: FormPart(
            sum(_is_filled(part, row) for _, row in rows_of(said, part)) if part in _ROWS else 0,
            not begin.isdisjoint(names),
        )
        for part, names in _NAMES_IN.items()
    }


def form_of(recipe: Recipe) -> Fields:
    """The recipe as a form holds it: terms with semicolons, a row's fields by its number."""
    said = {name: getattr(recipe, name) for name in _LINES}
    said |= {name: "; ".join(getattr(recipe, name)) for name in _TERMS}
    said |= {f"direction_{light.letter}": light.direction or "" for light in recipe.lights}
    for number, step in enumerate(recipe.steps):
        said |= {f"step-{number}-{name}": getattr(step, name) for name in _STEP}
        said[f"step-{number}-place"] = str(number + 1)
    for key, change in keyed(recipe.changes):
        said |= {f"change-{key}-listed": "1", f"change-{key}-kept": "1", f"change-{key}-learned": change.learned}
    for number, each in enumerate(recipe.tolerances):
        said |= _named("tolerance", number, what=each.what, within=f"{each.within:g}", unit=each.unit)
    for number, after in enumerate(recipe.post):
        said |= _post_fields(number, after)
    if recipe.result is not None:
        said["caption-result"] = recipe.result.words
    said |= {f"caption-{number}": each.words for number, each in enumerate(recipe.comparisons)}
    return said


def _named(group: str, number: int, **values: str) -> Fields:
    return {f"{group}-{number}-{name}": value for name, value in values.items()}


def _post_fields(number: int, step: PostStep) -> Fields:
    edges = {name: "" if (at := getattr(step, name)) is None else f"{100 * at:g}" for name in _EDGES}
    figures = {name: "" if (value := getattr(step, name)) is None else f"{value:g}" for name in _POST_FIGURES}
    return _named("post", number, kind=step.kind, words=step.words, reason=step.reason, **edges, **figures)


def keyed(changes: Iterable[ChangePart]) -> list[tuple[str, ChangePart]]:
    """The steps of the history, each with what it is known by on a form: the number of its frame, or its place."""
    return [
        (str(each.first_frame) if each.first_frame is not None else f"n{place}", each)
        for place, each in enumerate(changes)
    ]


def rows_of(said: Mapping[str, str], group: str) -> list[tuple[str, Fields]]:
    """The rows of a group as they stand in a form, in their order, each with its key."""
    rows: dict[str, Fields] = {}
    for name, value in said.items():
        parts = name.split("-", 2)
        if len(parts) == 3 and parts[0] == group:
            rows.setdefault(parts[1], {})[parts[2]] = value
    return sorted(rows.items(), key=lambda row: _place(row[0], row[1]))


def _place(key: str, row: Fields) -> float:
    try:
        return float(row.get("place") or key)
    except ValueError:
        return math.inf


def with_blank_rows(said: Mapping[str, str]) -> dict[str, list[tuple[str, Fields]]]:
    """The rows of every group with empty ones behind them: two steps, a tolerance, and one of each kind of step after the
    camera that there is none of."""
    groups = {group: rows_of(said, group) for group in _ROWS}
    following = {
        group: 1 + max([-1, *(int(key) for key, _ in rows if key.isdecimal())]) for group, rows in groups.items()
    }
    for number in range(_BLANK_STEPS):
        groups["step"].append((str(following["step"] + number), {"about": "other"}))
    groups["tolerance"].append((str(following["tolerance"]), {"unit": UNITS[0]}))
    there = {row.get("kind") for _, row in groups["post"]}
    missing = [kind for kind in POST_KINDS if kind not in there or kind == "other"]
    for number, kind in enumerate(missing, following["post"]):
        groups["post"].append((str(number), {"kind": kind}))
    return {
        group: [(key, dict.fromkeys(_FIELDS[group], "") | row) for key, row in rows] for group, rows in groups.items()
    }


def filled_in(recipe: Recipe, said: Mapping[str, str] | None) -> Fields:
    """The form as it stands, or as it was sent: a box that was unticked there is not ticked again."""
    if said is None:
        return form_of(recipe)
    unticked = {
        name
        for name in form_of(recipe)
        if name.endswith("-kept") and f"{name.removesuffix('kept')}listed" in said and name not in said
    }
    return {name: value for name, value in (form_of(recipe) | dict(said)).items() if name not in unticked}


def edited(recipe: Recipe, said: Mapping[str, str]) -> Recipe:
    """The recipe with what was typed; what is not in `said` stays. Raises SeveralInvalid with every field that cannot
    be kept."""
    problems: list[InvalidValue] = []
    texts: dict[str, Any] = {name: said[name].strip() for name in _LINES if name in said}
    texts |= {name: words_in(said[name]) for name in _TERMS if name in said}
    keys: dict[str, list[str]] = {}
    for group, name in _ROWS.items():
        rows = rows_of(said, group)
        if rows:
            keys[name] = [key for key, row in rows if _is_filled(group, row)]
            read = [_read(group, key, row, problems) for key, row in rows if _is_filled(group, row)]
            texts[name] = [each for each in read if each is not None]
    if any(f"change-{key}-listed" in said for key, _ in keyed(recipe.changes)):
        texts["changes"] = _kept(recipe, said)
    texts |= _captions(recipe, said)
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
        problems += [_at_its_row(each, keys) for each in error.problems]
    if problems:
        raise SeveralInvalid(problems)
    return changed


def _at_its_row(problem: InvalidValue, keys: Mapping[str, list[str]]) -> InvalidValue:
    """A refusal of the document at the field of the form that it came from."""
    name, *rest = problem.where
    group = next((group for group, listed in _ROWS.items() if listed == name), None)
    if group is None or len(rest) < 2 or name not in keys or int(rest[0]) >= len(keys[name]):
        return problem
    return InvalidValue(f"{group}-{keys[name][int(rest[0])]}-{rest[1]}", str(problem))


def _kept(recipe: Recipe, said: Mapping[str, str]) -> list[dict[str, Any]]:
    """The history without what was unticked; what the form did not list stays, as a frame that was picked with it."""
    return [
        change.model_dump() | {"learned": said.get(f"change-{key}-learned", change.learned).strip()}
        for key, change in keyed(recipe.changes)
        if f"change-{key}-listed" not in said or f"change-{key}-kept" in said
    ]


def _captions(recipe: Recipe, said: Mapping[str, str]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    if recipe.result is not None and "caption-result" in said:
        found["result"] = recipe.result.model_dump() | {"words": said["caption-result"].strip()}
    if any(f"caption-{number}" in said for number in range(len(recipe.comparisons))):
        found["comparisons"] = [
            each.model_dump() | {"words": said.get(f"caption-{number}", each.words).strip()}
            for number, each in enumerate(recipe.comparisons)
        ]
    return found


# --- one row ------------------------------------------------------------------------------------------------------


def _is_filled(group: str, row: Fields) -> bool:
    """Whether anything was typed into a row: the kind of a step, its place and the unit of a tolerance stand there
    anyhow."""
    typed = {"step": ("words", "check", "otherwise"), "tolerance": ("what", "within")}
    names = typed.get(group, ("words", "reason", *_EDGES, *_POST_FIGURES))
    return any(row.get(name, "").strip() for name in names)


def _read(group: str, key: str, row: Fields, problems: list[InvalidValue]) -> dict[str, Any] | None:
    try:
        return _READERS[group](row)
    except InvalidValue as problem:
        problems.append(InvalidValue(f"{group}-{key}-{problem.where[0]}", str(problem)))
        return None


def _step(row: Fields) -> dict[str, Any]:
    if not row.get("words", "").strip():
        raise InvalidValue("words", "A step says what to do: fill it in, or empty its check as well.")
    return {name: row[name].strip() for name in _STEP if name in row}


def _tolerance(row: Fields) -> dict[str, Any]:
    what, within = row.get("what", "").strip(), _number(row, "within")
    if not what:
        raise InvalidValue("what", "A tolerance is of something: each light's level, distances, angles.")
    if within is None or within <= 0.0:
        raise InvalidValue("within", f"{quoted(row.get('within', ''))} is no tolerance: it is a number above 0.")
    return {"what": what, "within": within, "unit": row.get("unit", "")}


def _post(row: Fields) -> dict[str, Any]:
    kind = row.get("kind", "")
    if kind not in POST_KINDS:
        raise InvalidValue("kind", f"It is one of: {', '.join(POST_KINDS)}.")
    said: dict[str, Any] = {"kind": kind} | {name: row.get(name, "").strip() for name in ("words", "reason")}
    edges = {name: _number(row, name) for name in _EDGES}
    if kind == "crop":
        if not _is_crop(edges):
            raise InvalidValue(
                "left", "A crop has four edges in per cent of the picture: left before right, top before bottom."
            )
        said |= {name: (at or 0.0) / 100.0 for name, at in edges.items()}
    said |= {name: _number(row, name) for name in _POST_FIGURES}
    if (
        kind == "rotation"
        and not -180.0 <= (said["rotation_deg"] if said["rotation_deg"] is not None else 999) <= 180.0
    ):
        raise InvalidValue("rotation_deg", "A rotation is an angle from −180° to 180°, clockwise positive.")
    for name in ("width_px", "height_px"):
        if said[name] is not None and said[name] != int(said[name]):
            raise InvalidValue(name, f"{quoted(row[name])} is no number of pixels.")
    return said


def _is_crop(edges: Mapping[str, float | None]) -> bool:
    left, top, right, bottom = (edges[name] for name in _EDGES)
    if left is None or top is None or right is None or bottom is None:
        return False
    return 0.0 <= left < right <= 100.0 and 0.0 <= top < bottom <= 100.0


def _number(row: Fields, name: str) -> float | None:
    """A number as it was typed; None for none. Raises InvalidValue."""
    text = row.get(name, "")
    if not text.strip():
        return None
    try:
        value = float(plain(text).replace(",", ".").rstrip("%°k").strip())
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise InvalidValue(name, f"{quoted(text)} is no number.")
    return value


_READERS: Final[Mapping[str, Callable[[Fields], dict[str, Any]]]] = {
    "step": _step,
    "tolerance": _tolerance,
    "post": _post,
}
