"""What is said of the set as geometry."""

from __future__ import annotations

import pytest

from webapp.facts import Fact, fact
from webapp.plan.reasons import Reason
from webapp.quantities.lengths import Lengths
from webapp.web.words.plan import WORDS
from webapp.web.words.say import say
from webapp.web.words.shadows import WORDS as OF_SHADOWS


@pytest.mark.parametrize(
    ("told", "sentence"),
    [
        (
            fact(Reason.NOT_REACHED, "A", something_between=True, on="lens"),
            "A does not reach the face to the lens: something stands between.",
        ),
        (
            fact(Reason.NOT_REACHED, "A", something_between=False, on="own:lid"),
            "A does not reach lid.",
        ),
        (fact(Reason.NO_POSITION, "A"), "A has no position."),
        (
            fact(Reason.NO_METER_READING, "A"),
            "A has no meter reading; joules rank the settings of one head only.",
        ),
        (
            fact(Reason.GUIDE_NOT_FOR_THIS, "A", reflector="wide reflector"),
            "A has no meter reading, and its guide number is stated for wide reflector, not for what is on it.",
        ),
        (
            fact(Reason.GUIDE_NOT_FOR_THIS, "A", reflector=""),
            "A has no meter reading, and its guide number is stated for the head as it comes, not for what is on it.",
        ),
        (fact(Reason.LIGHT_POWER_UNKNOWN, "A"), "The power of A is unknown."),
        (fact(Reason.FILTER_LOSS_UNKNOWN, "A"), "What the filters on A take is unknown."),
        (fact(Reason.ANOTHER_LIGHT_UNKNOWN), "another light of the set is unknown"),
        (fact(Reason.NO_SUCH_LIGHT, "Q"), "There is no light Q in the set."),
        (fact(Reason.PLACE_IT_FIRST, "A"), "A has no position: place it first."),
        (
            fact(Reason.AT_NO_DISTANCE, "A"),
            "A stands at no distance from the subject: place it first.",
        ),
        (
            fact(Reason.ROLES_NOT_LIT, roles=("key", "fill")),
            "There is no key and no fill that is lit: a ratio needs both.",
        ),
        (fact(Reason.OFF_ON_THE_PLAN, "B"), "B is off."),
        (fact(Reason.EDGE_NOT_SEEN, "B", on="table"), "No edge of a shadow of B is seen on the table."),
        (
            fact(Reason.EDGE_CUT_OFF, "B", on="table"),
            "The edge of the shadow of B runs past the end of the table: it has no width to tell.",
        ),
        (
            fact(Reason.EDGES_RUN_TOGETHER, "B", on="background"),
            "The edge of the shadow of B on the background runs into another shadow before the light is whole: it has no "
            "width to tell.",
        ),
        (
            fact(Reason.HAS_NO_SIZE, "A"),
            "A has no size: fit a modifier, or its shadow is hard at any distance.",
        ),
        (fact(Reason.IN_THE_MIDDLE, "A"), "A stands at no distance, in the middle of the subject."),
        (fact(Reason.INSIDE_SUBJECT, "A"), "A stands inside the subject."),
        (fact(Reason.AIMED_AWAY, "A"), "A is aimed away: its face sees nothing of the subject."),
        (fact(Reason.AIMED_PAST, "A", off_deg=72), "A is aimed 72° past the subject."),
        (fact(Reason.BEHIND_BACKGROUND, "A"), "A stands behind the background."),
        (fact(Reason.UNDER_TABLE, "A"), "A stands under the table."),
        (
            fact(Reason.PARTLY_HIDDEN, "A", hidden_share=0.25),
            "25\u00a0% of A is hidden from the subject by what stands between.",
        ),
        (
            fact(Reason.RING_OFF_LENS, "A", from_lens_mm=450.0, around_axis=False),
            "A is a ring light and has left the lens: it stands 45 cm from it, beside the lens axis.",
        ),
        (
            fact(Reason.RING_OFF_LENS, "A", from_lens_mm=450.0, around_axis=True),
            "A is a ring light and stands 45 cm before the lens, which still looks through it.",
        ),
        (
            fact(Reason.RING_TOO_NEAR, "A", fills_mm=80),
            "A stands within 8.0 cm, where the middle of its light is darker.",
        ),
        (fact(Reason.IN_ONE_PLACE, "A", other="B"), "A and B stand in one place."),
        (fact(Reason.IN_THE_PICTURE, "A", shines=True), "A stands in the picture and shines into the lens."),
        (fact(Reason.IN_THE_PICTURE, "A", shines=False), "A stands in the picture."),
        (
            fact(Reason.SHINES_INTO_LENS, "A", beside_deg=16),
            "A shines into the lens from 16° outside the picture: shade the lens from it.",
        ),
        (
            fact(Reason.SHINES_INTO_LENS, "A", beside_deg=0),
            "A shines into the lens from the edge of the picture: shade the lens from it.",
        ),
    ],
)
def test_each_reason_is_said(told: Fact, sentence: str) -> None:
    assert say(told) == sentence


def test_a_ring_too_near_is_told_in_the_readers_unit() -> None:
    told = fact(Reason.RING_TOO_NEAR, "A", fills_mm=76)

    assert "within 3 in," in say(told, Lengths(inches=True))


def test_every_reason_has_words() -> None:
    assert {*WORDS, *OF_SHADOWS} == set(Reason)
