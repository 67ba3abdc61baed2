"""The ambient check as a proof, as it is said."""

from __future__ import annotations

import datetime as dt
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from webapp.facts import Fact, fact
from webapp.ledger.ambient_proof import AmbientProof, Standing
from webapp.ledger.evidence_reasons import Reason
from webapp.web.words.proof import age_words, proof_line
from webapp.web.words.say import say


@pytest.mark.parametrize(
    ("reason", "bound", "line"),
    [
        (fact(Reason.PROOF_HOLDS), False, "Ambient proven 8.0 stops below · still holds"),
        (fact(Reason.PROOF_HOLDS), True, "Ambient proven at least 8.0 stops below · still holds"),
        (
            fact(Reason.PROOF_FALLS, now_stops=6.0),
            False,
            "Ambient proven 8.0 stops below · falls to 6.0: prove it again",
        ),
        (
            fact(Reason.CHECK_TOO_BRIGHT, frame=2, brighter_stops=1.2),
            False,
            "Ambient not proven: the check, frame 2, reads 1.2 stops brighter than the reference frame. A flash fired, or "
            "the room is lit: check again",
        ),
    ],
)
def test_the_proof_in_a_line(reason: Fact, bound: bool, line: str) -> None:
    proof = AmbientProof("f", 2, "card", 8.0, 8.0, bound, Standing.HOLDS, reason, None, None, None, ())

    assert proof_line(proof) == line


@pytest.mark.parametrize(
    ("told", "words"),
    [
        (fact(Reason.PROOF_IS_VOID, lamps=("A",)), "void: modelling lamp of A is on now"),
        (fact(Reason.PROOF_IS_VOID, lamps=("A", "B")), "void: modelling lamps of A and B are on now"),
        (
            fact(Reason.CHECK_IS_CLIPPED, frame=6, patch="", x=0.1, y=0.2),
            "the check, frame 6, is clipped at the upper left, and the room gave at least so much. Check again with a "
            "shorter shutter",
        ),
        (
            fact(Reason.CHECK_IS_CLIPPED, frame=6, patch="rim", x=None, y=None),
            "the check, frame 6, is clipped at rim, and the room gave at least so much. Check again with a shorter "
            "shutter",
        ),
        (fact(Reason.PROOF_NOT_CARRIED, what=("camera",)), "the camera is not as in the ambient check"),
        (
            fact(Reason.PROOF_NOT_CARRIED, what=("view", "A", "things")),
            "the view, A and the things in the set are not as in the ambient check",
        ),
        (fact(Reason.PROOF_NOT_CARRIED, what=("things",)), "the things in the set are not as in the ambient check"),
        (
            fact(Reason.ROOM_COMES_NEAREST, patch="rim", x=0.5, y=0.5),
            "Of the whole picture the room comes nearest inside rim: the mark on the picture shows where.",
        ),
        (
            fact(Reason.ROOM_COMES_NEAREST, patch="", x=0.9, y=0.9),
            "Of the whole picture the room comes nearest at the lower right, outside every patch: the mark on the picture "
            "shows where. There the margin is taken below mid-tone.",
        ),
        (fact(Reason.PROOF_UNTOLD, cause="iso"), "cannot be carried over: ISO is unknown"),
        (fact(Reason.ROOM_LIKE_FLASH), "The room's light has the colour of the flash."),
        (
            fact(Reason.ROOM_UNLIKE_FLASH, warmth_stops=0.9),
            "The room's light is warmer than the flash: red over blue differs by 0.9 stops.",
        ),
        (
            fact(Reason.ROOM_UNLIKE_FLASH, warmth_stops=-0.4),
            "The room's light is cooler than the flash: red over blue differs by 0.4 stops.",
        ),
        (
            fact(
                Reason.WIDEN_MARGIN,
                short_stops=2.0,
                wanted_stops=7.0,
                sync="1/200",
                gives_stops=0.68,
                close_stops=1.32,
            ),
            "2.0 stops short of 7: darken the room, or shorten the shutter, up to 1/200 (gives 0.7, flash unchanged), or "
            "close down by 1.3 and give the flash as much more.",
        ),
        (
            fact(
                Reason.WIDEN_MARGIN, short_stops=0.5, wanted_stops=7.0, sync=None, gives_stops=None, close_stops=None
            ),
            "0.5 stops short of 7: darken the room.",
        ),
        (
            fact(Reason.LOOK_WITH_THE_EYE),
            "Look with the eye as well: a shiny surface shows the room, however dark the patch beside it is.",
        ),
    ],
)
def test_what_is_said_beside_it(told: Fact, words: str) -> None:
    assert say(told) == words


def aged(**over: Any) -> AmbientProof:
    reason = over.pop("reason", fact(Reason.PROOF_HOLDS))
    return AmbientProof("f", 2, "card", 8.0, 8.0, False, Standing.HOLDS, reason, None, None, None, (), **over)


def test_a_proof_of_another_shot_says_which() -> None:
    not_carried = fact(Reason.PROOF_NOT_CARRIED, what=("lens",))

    assert proof_line(aged(shot="dial")) == "Ambient proven 8.0 stops below (carried from “dial”) · still holds"
    assert (
        proof_line(aged(shot="dial", reason=not_carried))
        == "Ambient not proven: the lens is not as in the ambient check of “dial”"
    )


def test_an_old_proof_is_not_said_to_hold() -> None:
    assert proof_line(aged(is_old=True)) == "Ambient proven 8.0 stops below · old: check again"


def test_its_age_is_told_by_the_clock_of_the_session() -> None:
    made = dt.datetime(2026, 11, 29, 10, 12, tzinfo=ZoneInfo("Europe/Vienna"))

    assert age_words(aged()) == ""
    assert age_words(aged(made_at=made)) == "checked 10:12"
    assert age_words(aged(made_at=made, repeat_at=made + dt.timedelta(hours=2.5))) == "checked 10:12, again by 12:42"
    assert age_words(aged(made_at=made, repeat_at=made, is_old=True)) == "checked on 29 November, 10:12"
