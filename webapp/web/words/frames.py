"""Frames and their revisions: what was changed, and why."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Final

from webapp.errors import NotFound
from webapp.facts import Fact
from webapp.ledger.all_along import PLACE, AllAlong
from webapp.ledger.field_values import shown
from webapp.ledger.fields import field_of, words_of
from webapp.ledger.file_values import FileValue
from webapp.ledger.set_up import SetUp
from webapp.optics.scales import Marked
from webapp.quantities.lengths import CENTIMETRES, Lengths
from webapp.quantities.marks import mark_text
from webapp.shoots.reasons import Reason
from webapp.web.words import explanations
from webapp.web.words.listing import begun, joined

if TYPE_CHECKING:
    from webapp.web.words.say import Say

VERDICTS: Final = {"hero": "Hero", "stands": "Keep", "fails": "Reject"}
"""What is thought of a frame, as its keys say it."""
_PARTS: Final = {
    "power": "power",
    "position": "place",
    "place": "place",
    "reading": "meter reading",
    "distance": "distance",
    "f_number": "f-number",
    "magnification": "magnification",
    "subject_distance": "subject distance",
    "things": "what else stands on the set",
}


def not_written_words(tapped: Mapping[str, str], set_up: SetUp, lengths: Lengths) -> str:
    """What was tapped before a frame and refused, beside what the frame has; "" where nothing was."""
    parts = [
        f"{words_of(path)} {meant} (the frame has {_had(set_up, path, lengths)})" for path, meant in tapped.items()
    ]
    return f"Tapped before it and not written: {joined(parts)}." if parts else ""


def _had(set_up: SetUp, path: str, lengths: Lengths) -> str:
    try:
        return shown(set_up, path, lengths)
    except NotFound:
        return "no such light"


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
    """A field that was written into a frame after it was logged: "place of A", "meter reading of A", "f-number"."""
    group, _, rest = field.partition(".")
    name, _, part = rest.partition(".")
    return f"{_PARTS[part]} of {name.replace('-', ' ')}" if part else _PARTS[group]


def frames_words(numbers: Sequence[int]) -> str:
    """Frames by their numbers: "frame 3", "frames 1 to 4", "frames 1 to 2, 4 and 7"."""
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    told = [f"{run[0]} to {run[-1]}" if len(run) > 1 else f"{run[0]}" for run in runs]
    return f"frame{'s' * (len(numbers) > 1)} {joined(told)}"


def all_along_words(late: AllAlong) -> str:
    """What earlier frames do not know: "Frames 1 to 4 were logged without the place of A."."""
    return f"{begun(frames_words(late.frames))} {_were(late)} logged without the {completed_words(late.field)}."


def written_back_words(late: AllAlong) -> str:
    """What was written into them since: "The place of A was entered later in frames 1 to 4."."""
    return f"The {completed_words(late.field)} was entered later in {frames_words(late.frames)}."


def all_along_key(late: AllAlong) -> str:
    """What the key says that writes it into them."""
    return "Stood there all along" if late.field.endswith(PLACE) else "The same all along"


def _were(late: AllAlong) -> str:
    return "were" if len(late.frames) > 1 else "was"


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
    Reason.FRAME_TAKEN_BACK: lambda *_: "excluded",
    Reason.FRAME_BROUGHT_BACK: lambda *_: "included again",
    Reason.REVISION_PUT_BACK: lambda told, _: f"revision {told.number('revision'):.0f} put back",
    Reason.FRAME_MOVED: lambda told, _: f"moved here from {told['shot']}, where it was frame {told['number']}",
    Reason.FILE_SETTINGS_TAKEN_OVER: lambda *_: "the file's settings were taken over",
    Reason.COMPLETED_BEFORE_STRIKING: _completed,
    Reason.ENTERED_LATE: lambda told, _: f"{completed_words(told.about)} entered later, as it was all along",
}
