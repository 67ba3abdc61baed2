"""The form in which a reader types in their own kit, as a template may print it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from webapp.errors import InvalidValue, SeveralInvalid
from webapp.optics.equivalence import Measure
from webapp.quantities.lengths import UNITS, Lengths
from webapp.recipes.document import Recipe
from webapp.recipes.written_frame import light_of
from webapp.web.pages.form_view import Choice, FieldView, fields_of, in_millimetres, is_bare, is_by_tape
from webapp.web.pages.worksheet_view import LENGTHS_FIELD, UNIT_FIELD
from webapp.web.typed_kit import CAMERA, LENS, OF_A_LIGHT, ROOM, Asked, field_of, held_measure, is_told, of_light
from webapp.web.words.shared import kit_of_light

# As the house's forms call these, they would not be understood beside the fields of a head.
_TITLES = {
    "shape": "face of its modifier",
    "f_number": "it meters alone",
    "power": "at power",
    "distance_mm": "from a distance of",
    "loss_stops": "it takes",
}
_HINTS = {
    "shape": "point where it is bare",
    "f_number": "f-number at ISO 100, with its modifier: this is what tells the power",
    "full_energy_j": "names the marks of its dial",
    "guide_number_m": "at ISO 100, bare: an estimate where there is no meter",
    "loss_stops": "for a guide number: how much less light comes out than of the bare head",
}


@dataclass(frozen=True, slots=True)
class LightForm:
    """The fields for what stands in for one light; `written` is what the recipe has there."""

    name: str
    written: str
    fields: tuple[FieldView, ...]
    is_open: bool


@dataclass(frozen=True, slots=True)
class VisitorForm:
    """Everything that a reader is asked. `problem` is what stands at no field of its own."""

    fields: tuple[FieldView, ...]
    lights: tuple[LightForm, ...]
    problem: str


def in_unit(said: Mapping[str, str]) -> tuple[dict[str, str], Lengths]:
    """What an address says, with the unit of its bare lengths, which is that of the form: the one that it was drawn in, or
    the other, where a key of it asks for that (`LENGTHS_FIELD`); what stands there is then told in it. In an address that
    does not say its unit they are in millimetres, as they were when it was sent; that is written out."""
    told = dict(said)
    asked, stood = told.pop(LENGTHS_FIELD, ""), told.get(UNIT_FIELD, "")
    before = Lengths(inches=stood == UNITS[1])
    lengths = Lengths(inches=(asked or stood) == UNITS[1])
    if not told:
        return told, lengths
    for name in filter(_is_length, list(told)):
        if stood not in UNITS and name.rpartition("_")[0] != ROOM and is_bare(told[name]):
            told[name] = f"{told[name]} mm"
        if before != lengths:
            told[name] = _told_in(told[name], before, lengths)
    return {**told, UNIT_FIELD: lengths.unit}, lengths


def _told_in(text: str, before: Lengths, lengths: Lengths) -> str:
    try:
        return lengths.text(before.read(text)).removesuffix(lengths.unit).rstrip()
    except ValueError:
        return text


def typed_light(said: Mapping[str, str], letter: str, lengths: Lengths) -> dict[str, Any]:
    """The fields of one light by their own names, as their models take them; `lengths` are those of the form."""
    theirs = of_light(said, letter)
    typed = {
        name: in_millimetres(asked.form, theirs, lengths, {})[name]
        for asked in OF_A_LIGHT
        for name in asked.names
        if name in theirs
    }
    if theirs.get(ROOM):
        try:
            typed[ROOM] = lengths.read(theirs[ROOM])
        except ValueError:
            # Refused at its field.
            typed[ROOM] = theirs[ROOM]
    return theirs | typed


def _is_length(name: str) -> bool:
    own = name.rpartition("_")[0]
    return own == ROOM or any(own in asked.names and is_by_tape(asked.form.model_fields[own]) for asked in OF_A_LIGHT)


def visitor_form(
    recipe: Recipe, said: Mapping[str, str], lengths: Lengths, error: InvalidValue | None
) -> VisitorForm:
    """The form with what was typed; a field that the address leaves out stands as it is reckoned with."""
    fields = (*_asked(CAMERA, said, lengths, error), *_asked(LENS, said, lengths, error), _held(said, error))
    lights = tuple(_light_form(recipe, place, said, lengths, error) for place in range(len(recipe.lit)))
    names = {each.name for each in (*fields, *(each for light in lights for each in light.fields))}
    return VisitorForm(fields, lights, _problem_words(error, names))


def _asked(
    asked: Asked, said: Mapping[str, str], lengths: Lengths, error: InvalidValue | None
) -> tuple[FieldView, ...]:
    values: dict[str, Any] = {name: said.get(name, info.default) for name, info in asked.form.model_fields.items()}
    fields = {each.name: each for each in fields_of(asked.form, values, error, lengths=lengths)}
    return tuple(
        replace(
            fields[name],
            label=_TITLES.get(name, fields[name].label),
            hint=_HINTS.get(name, fields[name].hint),
            # Not every form has the field that another hangs on.
            only="",
        )
        for name in asked.names
    )


def _held(said: Mapping[str, str], error: InvalidValue | None) -> FieldView:
    problem = next((str(each) for each in _problems(error) if each.where[0] == "held"), "")
    held = held_measure(said.get("held", ""), [])
    choices = tuple(Choice(each.value, each.value, each is held) for each in Measure)
    return FieldView("held", "side of the field that is held", "choice", held.value, problem=problem, choices=choices)


def _light_form(
    recipe: Recipe, place: int, said: Mapping[str, str], lengths: Lengths, error: InvalidValue | None
) -> LightForm:
    light = recipe.lit[place]
    theirs = of_light(said, light.letter)
    wrong = _of_letter(error, light.letter)
    room = FieldView(
        ROOM,
        "distance, if the room decides",
        "text",
        theirs.get(ROOM, ""),
        unit=lengths.unit,
        problem=next((str(each) for each in _problems(wrong) if each.where[0] == ROOM), ""),
    )
    fields = (*(field for asked in OF_A_LIGHT for field in _asked(asked, theirs, lengths, wrong)), room)
    return LightForm(
        name=light.name,
        written=f"{kit_of_light(light_of(light), kit_names=False, lengths=lengths)}; {lengths.text(light.distance_mm)}",
        fields=tuple(replace(each, name=f"{each.name}_{light.letter}") for each in fields),
        is_open=len(recipe.lit) == 1 or is_told(theirs) or wrong is not None,
    )


def _problems(error: InvalidValue | None) -> list[InvalidValue]:
    return error.problems if error else []


def _of_letter(error: InvalidValue | None, letter: str) -> SeveralInvalid | None:
    found = [
        InvalidValue(each.where[2:], str(each).removeprefix(f"{letter}: "))
        for each in _problems(error)
        if each.where[:2] == ("lights", letter)
    ]
    return SeveralInvalid(found) if found else None


def _problem_words(error: InvalidValue | None, names: set[str]) -> str:
    if error is None:
        return ""
    stray = " ".join(str(each) for each in _problems(error) if field_of(each) not in names)
    return stray or "No figures until the fields marked are put right."
