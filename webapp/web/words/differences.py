"""What a version of a recipe says otherwise than another, in words."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Final

from webapp.facts import Fact, Value
from webapp.quantities.lengths import Lengths
from webapp.recipes.document import LONGEST_LINE
from webapp.recipes.reasons import Reason
from webapp.web.words.figures import maybe_number, names, number_or_unknown, one_decimal

if TYPE_CHECKING:
    from webapp.web.words.say import Say

_MARKS: Final = {"f_number": "f-number", "shutter": "shutter", "iso": "ISO"}
_FIELDS: Final = {
    "subject_types": "subject types",
    "looks": "look",
    "why": "why it works",
    "changes": "list of changes",
    "post": "post-production steps",
    "open": "list of what is open",
    "result": "result picture",
    "comparisons": "comparison frames",
}


def _from_to(told: Fact, whose: str, nothing: str = "unknown") -> str:
    was, now = (told[name] or nothing for name in ("was", "now"))
    return f"{whose} {was} to {now}"


def _with_stops(text: str, told: Fact) -> str:
    return text if told["stops"] is None else f"{text} ({one_decimal(told.number('stops'))} stops)"


def _length(told: Fact, whose: str, lengths: Lengths) -> str:
    was, now = maybe_number(told, "was_mm"), maybe_number(told, "now_mm")
    size = "" if was is None or now is None else f" ({lengths.difference(now - was)})"
    return f"{whose} {lengths.text(was)} to {lengths.text(now)}{size}"


def _light_field(told: Fact, _: Lengths) -> str:
    return _from_to(told, f"{told.about} {told.text('field').replace('_', ' ')}", "none")


def _filters(told: Fact, _: Lengths) -> str:
    was, now = (" and ".join(names(told, each)) or "none" for each in ("was", "now"))
    return f"{told.about} filters {was} to {now}"


def _ambient(told: Fact, _: Lengths) -> str:
    was, now = (
        "unknown" if told[each] is None else f"{told.number(each):.1f} stops".replace("-", "−")
        for each in ("was_stops", "now_stops")
    )
    return f"ambient margin {was} to {now}"


def _wording(told: Fact, _: Lengths) -> str:
    was, now = (_joined(told[each]) for each in ("was", "now"))
    return f"{_FIELDS.get(told.about, told.about)} “{was}” to “{now}”"[:LONGEST_LINE]


def _joined(value: Value) -> str:
    return ", ".join(map(str, value)) if isinstance(value, tuple) else str(value)


WORDS: Final[Mapping[str, Say]] = {
    Reason.AS_WRITTEN: lambda told, _: told.text("text"),
    Reason.MARK_CHANGED: lambda told, _: _with_stops(_from_to(told, _MARKS[told.about]), told),
    Reason.MAGNIFICATION_CHANGED: lambda told, _: (
        f"magnification {number_or_unknown(told, 'was')} to {number_or_unknown(told, 'now')}"
    ),
    Reason.PIECE_CHANGED: lambda told, _: _from_to(told, told.about),
    Reason.CAMERA_MOVED: lambda told, lengths: _length(told, "camera distance", lengths),
    Reason.LIGHT_ADDED: lambda told, _: f"{told.about} is new",
    Reason.LIGHT_GONE: lambda told, _: f"{told.about} is gone",
    Reason.LIGHT_SWITCHED: lambda told, _: f"{told.about} {'on' if told['lit'] else 'off'}",
    Reason.HEAD_CHANGED: lambda told, _: _from_to(told, f"{told.about}:"),
    Reason.POWER_CHANGED: lambda told, _: _with_stops(_from_to(told, told.about), told),
    Reason.LIGHT_MOVED: lambda told, lengths: _length(told, f"{told.about} distance", lengths),
    Reason.LEVEL_CHANGED: lambda told, _: f"{told.about} incident level {one_decimal(told.number('stops'))} stops",
    Reason.LIGHT_FIELD_CHANGED: _light_field,
    Reason.FILTERS_CHANGED: _filters,
    Reason.AMBIENT_MARGIN_CHANGED: _ambient,
    Reason.WORDING_CHANGED: _wording,
    Reason.REWRITTEN: lambda told, _: f"{_FIELDS.get(told.about, told.about)} rewritten",
}
