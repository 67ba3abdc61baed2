"""Frames and their revisions: what was changed, and why."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Final

from webapp.facts import Fact
from webapp.ledger.fields import field_of
from webapp.ledger.file_values import FileValue
from webapp.optics.scales import Marked
from webapp.quantities.lengths import CENTIMETRES, Lengths
from webapp.quantities.marks import mark_text
from webapp.shoots.reasons import Reason
from webapp.web.words import explanations

if TYPE_CHECKING:
    from webapp.web.words.say import Say

VERDICTS: Final = {"hero": "Hero", "stands": "Keep", "fails": "Reject"}
"""What is thought of a frame, as its keys say it."""
_PARTS: Final = {
    "power": "power",
    "position": "place",
    "distance": "distance",
    "f_number": "f-number",
    "magnification": "magnification",
    "subject_distance": "subject distance",
    "things": "what else stands on the set",
}


def revision_words(told: Sequence[Fact], lengths: Lengths = CENTIMETRES) -> str:
    """What was done to a frame: "explained by the picture (A stood at 50 J): changed lights.A.power"."""
    causes = [each for each in told if each.reason in explanations.TITLES]
    said = []
    for each in told:
        if each.reason == Reason.EXPLAINED_BY_PICTURE and causes:
            said.append(f"explained by the picture ({explanations.titles_of(causes, lengths)})")
        elif each.reason in WORDS:
            said.append(WORDS[each.reason](each, lengths))
    return ": ".join(said)


def value_text(field: str, value: FileValue) -> str:
    """A value as the field would be typed."""
    return field_of(field).grammar.text(value, None, CENTIMETRES)


def shown_value(field: str, value: FileValue) -> str:
    """A value as a sentence says it: "f/11", "1/125", "ISO 100", "100 mm"."""
    return mark_text(value) if isinstance(value, Marked) else field_of(field).grammar.shown(value, None, CENTIMETRES)


def completed_words(field: str) -> str:
    """A field that was written into a frame before the set was struck: "place of A", "f-number"."""
    group, _, rest = field.partition(".")
    letter, _, part = rest.partition(".")
    return f"{_PARTS[part]} of {letter}" if part else _PARTS[group]


def _names(told: Fact) -> list[str]:
    fields = told["fields"]
    return [str(each) for each in fields] if isinstance(fields, tuple) else []


def _held(told: Fact, _: Lengths) -> str:
    return f"{told.about}: the {'file' if told['held'] == 'file' else 'set-up'} holds"


def _completed(told: Fact, _: Lengths) -> str:
    return "before the set was struck: " + ", ".join(map(completed_words, _names(told)))


WORDS: Final[Mapping[str, Say]] = {
    Reason.REVISION_NOTED: lambda told, _: told.text("text"),
    Reason.FIELDS_CHANGED: lambda told, _: "changed " + ", ".join(_names(told)),
    Reason.EXPLAINED_BY_PICTURE: lambda *_: "explained by the picture",
    Reason.VALUE_HELD: _held,
    Reason.FRAME_TAKEN_BACK: lambda *_: "taken back",
    Reason.FRAME_BROUGHT_BACK: lambda *_: "brought back",
    Reason.REVISION_PUT_BACK: lambda told, _: f"revision {told.number('revision'):.0f} put back",
    Reason.FILE_SETTINGS_TAKEN_OVER: lambda *_: "the file's settings were taken over",
    Reason.COMPLETED_BEFORE_STRIKING: _completed,
}
