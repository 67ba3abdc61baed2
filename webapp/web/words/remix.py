"""The lights re-mixed: why pictures cannot be added up, and what a mix rests on."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Final

from webapp.facts import Fact
from webapp.ledger.entries import Cause, Told
from webapp.ledger.evidence_reasons import Reason
from webapp.quantities.lengths import Lengths
from webapp.web.words.entries import CAUSE_WORDS, setting_words

if TYPE_CHECKING:
    from webapp.web.words.say import Say

_LEFT_IN: Final = {
    "settings": "it cannot be carried over to their settings",
    "kind": "it is not of the same kind of file",
    "view": "it shows another view",
    "clipped": "it is clipped, and the room gave more than it shows",
}


def _pair(told: Fact) -> str:
    return f"Frames {told['first']} and {told['second']}"


def _causes(told: Fact) -> str:
    causes, was, now = (
        each if isinstance(each, tuple) else () for each in (told["causes"], told["was"], told["now"])
    )
    changes = zip(causes, was, now, strict=True)
    return ", ".join(_change(Cause(str(cause)), before, after) for cause, before, after in changes)


def _change(cause: Cause, was: Told, now: Told) -> str:
    return f"{CAUSE_WORDS[cause]} {setting_words(cause, was)} to {setting_words(cause, now)}"


def _not_bridged(told: Fact, _: Lengths) -> str:
    return (
        f"{told.text('light')} cannot be brought from the settings of frame {told['frame']} to those of frame "
        f"{told['settings_frame']}: {_causes(told)}."
    )


def _corrected(told: Fact, _: Lengths) -> str:
    return (
        f"Frame {told['frame']} of {told.text('light')} was made at other settings than frame "
        f"{told['settings_frame']}; its light is corrected by {told.number('stops'):+.2f} stops ({_causes(told)})."
    )


WORDS: Final[Mapping[str, Say]] = {
    Reason.NO_SOLO_FRAME: lambda *_: (
        "There is no frame with a picture that one light alone lit: switch all others off, and log one for each light."
    ),
    Reason.CAMERAS_DIFFER: lambda told, _: (
        f"{_pair(told)} were made with different cameras, so their pictures cannot be added up."
    ),
    Reason.LENSES_DIFFER: lambda told, _: (
        f"{_pair(told)} were made with different lenses, so their pictures do not lie over each other."
    ),
    Reason.MAGNIFICATIONS_DIFFER: lambda told, _: (
        f"{_pair(told)} were made at different magnifications, so their pictures do not lie over each other."
    ),
    Reason.KINDS_OF_FILE_DIFFER: lambda told, _: (
        f"{_pair(told)}: one is a raw file and the other is not, so their light is not on one scale."
    ),
    Reason.SETTINGS_NOT_BRIDGED: _not_bridged,
    Reason.SETTINGS_CORRECTED: _corrected,
    Reason.AMBIENT_NOT_PROVEN: lambda *_: (
        "The ambient light is not proven: no ambient check has a picture, and what the room adds is counted once for "
        "each light."
    ),
    Reason.AMBIENT_TAKEN_OUT: lambda told, _: (
        f"The ambient light of frame {told['frame']} is taken out of each picture and put in once."
    ),
    Reason.AMBIENT_LEFT_IN: lambda told, _: (
        f"The ambient check, frame {told['frame']}, is not taken out of the pictures: {_LEFT_IN[told.text('why')]}."
    ),
}
