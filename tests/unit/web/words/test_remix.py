"""The lights re-mixed, as it is said: why it cannot be, and what it rests on."""

from __future__ import annotations

import pytest

from webapp.facts import Fact, Value, fact
from webapp.ledger.evidence_reasons import Reason
from webapp.web.words.say import say

SETTINGS: dict[str, Value] = {
    "light": "key A",
    "frame": 3,
    "settings_frame": 1,
    "causes": ("aperture", "iso"),
    "was": ("8", "100"),
    "now": ("11", None),
}
PAIR: dict[str, Value] = {"first": 2, "second": 3}


@pytest.mark.parametrize(
    ("told", "sentence"),
    [
        (
            fact(Reason.NO_SOLO_FRAME),
            "There is no frame with a picture that one light alone lit: switch all others off, and log one for each light.",
        ),
        (
            fact(Reason.CAMERAS_DIFFER, **PAIR),
            "Frames 2 and 3 were made with different cameras, so their pictures cannot be added up.",
        ),
        (
            fact(Reason.LENSES_DIFFER, **PAIR),
            "Frames 2 and 3 were made with different lenses, so their pictures do not lie over each other.",
        ),
        (
            fact(Reason.MAGNIFICATIONS_DIFFER, **PAIR),
            "Frames 2 and 3 were made at different magnifications, so their pictures do not lie over each other.",
        ),
        (
            fact(Reason.KINDS_OF_FILE_DIFFER, **PAIR),
            "Frames 2 and 3: one is a raw file and the other is not, so their light is not on one scale.",
        ),
        (
            fact(Reason.SETTINGS_NOT_BRIDGED, "A", **SETTINGS),
            "key A cannot be brought from the settings of frame 3 to those of frame 1: aperture f/8 to f/11, ISO ISO 100 "
            "to unknown.",
        ),
        (
            fact(Reason.SETTINGS_CORRECTED, "A", **SETTINGS, stops=-1.0),
            "Frame 3 of key A was made at other settings than frame 1; its light is corrected by -1.00 stops (aperture f/8 "
            "to f/11, ISO ISO 100 to unknown).",
        ),
        (
            fact(Reason.AMBIENT_NOT_PROVEN),
            "The ambient light is not proven: no ambient check has a picture, and what the room adds is counted once for "
            "each light.",
        ),
        (
            fact(Reason.AMBIENT_TAKEN_OUT, frame=4),
            "The ambient light of frame 4 is taken out of each picture and put in once.",
        ),
        (
            fact(Reason.AMBIENT_LEFT_IN, frame=4, why="clipped"),
            "The ambient check, frame 4, is not taken out of the pictures: it is clipped, and the room gave more than it "
            "shows.",
        ),
        (
            fact(Reason.AMBIENT_LEFT_IN, frame=4, why="settings"),
            "The ambient check, frame 4, is not taken out of the pictures: it cannot be carried over to their settings.",
        ),
        (
            fact(Reason.AMBIENT_LEFT_IN, frame=4, why="kind"),
            "The ambient check, frame 4, is not taken out of the pictures: it is not of the same kind of file.",
        ),
        (
            fact(Reason.AMBIENT_LEFT_IN, frame=4, why="view"),
            "The ambient check, frame 4, is not taken out of the pictures: it shows another view.",
        ),
    ],
)
def test_each_reason_is_said(told: Fact, sentence: str) -> None:
    assert say(told) == sentence
