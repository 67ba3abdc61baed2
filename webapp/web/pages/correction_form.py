"""A frame's entry as a form: every setting that a slip can be in, its kit chosen from lists."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, Final

from pydantic import BaseModel, Field, create_model

from webapp.kit.inventory import Choices
from webapp.ledger import field_values, fields
from webapp.ledger.fields import BARE
from webapp.ledger.grammars import Switch
from webapp.ledger.set_up import FilterFigures, Light, SetUp
from webapp.quantities.lengths import Lengths
from webapp.quantities.ratios import DISTANT
from webapp.shoots.log_frame import FrameWords
from webapp.web.pages.form_view import Choice
from webapp.web.pages.set_up_view import kit_choices

_OF_CAMERA: Final = ("f_number", "shutter", "iso", "magnification", "subject_distance", "pops")
_OF_LIGHT: Final = ("lit", "power", "distance")
_AS_IT_WAS: Final = ""


def stands_in(set_up: SetUp, lengths: Lengths) -> dict[str, str]:
    """What each field of the form holds before anything is typed, as the page writes it."""
    texts = {_name(path): field_values.text_of(set_up, path, lengths) for path in _dials(set_up)}
    if set_up.magnification == DISTANT:
        texts["magnification"] = field_values.shown(set_up, "magnification", lengths)
    return texts | {_name(path): chosen for path, chosen in _kit_in(set_up)}


def correction_form(set_up: SetUp) -> type[BaseModel]:
    """The words of a frame and its settings, as a form: made for the lights that the frame had."""
    paths = [*_dials(set_up), *(path for path, _ in _kit_in(set_up))]
    settings: dict[str, Any] = {_name(path): (str, Field("", title=_title(path))) for path in paths}
    return create_model("Correction", __base__=FrameWords, **settings)


def kit_choices_for(set_up: SetUp, kit: Choices, said: Mapping[str, str]) -> dict[str, tuple[Choice, ...]]:
    """The list of each field of kit; `said` is what was chosen and could not be kept."""
    camera, lens = set_up.camera, set_up.lens
    listed = {
        "camera": kit_choices(kit.cameras, camera.id, camera.name),
        "lens": kit_choices(kit.lenses, lens.id, lens.name),
        "lens_filters": _filter_choices(kit.lens_filters, set_up.lens_filters),
    }
    for light in set_up.lights:
        listed |= _of_light(light, kit)
    return {
        name: tuple(Choice(each.value, each.text, each.value == said.get(name, _chosen(choices))) for each in choices)
        for name, choices in listed.items()
    }


def path_of(name: str) -> str:
    """The path of the set-up's field behind a field of the form."""
    return name.replace("-", ".")


def _of_light(light: Light, kit: Choices) -> dict[str, tuple[Choice, ...]]:
    modifier = light.modifier
    fitted = kit_choices(kit.modifiers, modifier.id if modifier else "", modifier.name if modifier else "")
    return {
        _name(f"lights.{light.letter}.head"): kit_choices(kit.heads, light.head.id, light.head.name),
        _name(f"lights.{light.letter}.modifier"): (Choice(BARE, BARE, modifier is None), *fitted),
        _name(f"lights.{light.letter}.filters"): _filter_choices(kit.light_filters, light.filters),
    }


def _filter_choices(known: tuple[tuple[str, str], ...], fitted: tuple[FilterFigures, ...]) -> tuple[Choice, ...]:
    """As it was, and one more in or one out: a slip is one sheet."""
    was = " + ".join(each.name for each in fitted) or "none"
    out = tuple(Choice(f"-{each.id}", f"without {each.name}") for each in dict.fromkeys(fitted))
    more = tuple(Choice(f"+{item_id}", f"and {name}") for item_id, name in known)
    return (Choice(_AS_IT_WAS, was, True), *out, *more)


def _chosen(choices: tuple[Choice, ...]) -> str:
    return next((each.value for each in choices if each.chosen), _AS_IT_WAS)


def _dials(set_up: SetUp) -> list[str]:
    """The paths of what is typed, in the order of the form."""
    return [*_OF_CAMERA, *(f"lights.{light.letter}.{name}" for light in set_up.lights for name in _OF_LIGHT)]


def _kit_in(set_up: SetUp) -> Iterator[tuple[str, str]]:
    """The paths of what is chosen from the kit, each with what is chosen."""
    yield "camera", set_up.camera.id
    yield "lens", set_up.lens.id
    yield "lens_filters", _AS_IT_WAS
    for light in set_up.lights:
        yield f"lights.{light.letter}.head", light.head.id
        yield f"lights.{light.letter}.modifier", light.modifier.id if light.modifier else BARE
        yield f"lights.{light.letter}.filters", _AS_IT_WAS


def _name(path: str) -> str:
    return path.replace(".", "-")


def _title(path: str) -> str:
    """As the form names a field: "f-number", "A power", "A lit or off"."""
    field = fields.field_of(path)
    label = f"{field.grammar.on} or {field.grammar.off}" if isinstance(field.grammar, Switch) else field.label
    return " ".join([*path.split(".")[1:-1], label])
