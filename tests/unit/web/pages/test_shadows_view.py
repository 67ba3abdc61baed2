"""The shadows of a plan and its cards as a template prints them."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.unit.plan.lights import light
from webapp.facts import Fact, fact
from webapp.optics.sources import Disc
from webapp.plan.positions import ORIGIN, Place, Position, Thing
from webapp.plan.reasons import Reason
from webapp.plan.shadows import InPicture, Shadow
from webapp.plan.staging import Plan
from webapp.quantities.lengths import Lengths
from webapp.web.pages.shadows_view import Asked, ShadowsView, shadows_view

LAMP = light("A", Place(600.0, -300.0, 400.0), Disc(100.0))
SUBJECT = Thing("subject", "subject", Position(ORIGIN), 80.0, 120.0, 50.0)
TABLE = Thing("table", "table", Position(Place(0.0, 0.0, -60.0)), 900.0, 0.0, 900.0)
HIGH = Thing("camera", "camera", Position(Place(0.0, -800.0, 800.0)), 80.0, 80.0)
ASKED = Asked("shot", "/shots/shot/plan", "v=1", None, "")
SEEN = Shadow(
    "A",
    "table",
    None,
    10.0,
    1.83,
    42.0,
    (120.0, 60.0),
    InPicture((-90.0, -40.0), (-60.0, -20.0), ("left",), (0.17, 0.12)),
)


def view(plan: Plan, shadows: tuple[Shadow, ...] = (SEEN,), unknown: Fact | None = None) -> ShadowsView:
    return shadows_view(ASKED, plan, shadows, unknown, Lengths())


def unseen(on: str, reason: Reason, **values: object) -> Shadow:
    return Shadow("A", on, fact(reason, "A", on=on, **values))  # type: ignore[arg-type]


def test_a_shadow_is_told_by_its_depth_edge_and_place() -> None:
    (line,) = view(Plan((LAMP,), (SUBJECT, TABLE, HIGH))).lines

    assert (line.name, line.figure) == ("shadow of A on the table", "1.8 stops deep")
    assert line.words == (
        "in the light of all; full in A alone; edge 4.2 cm from 10 to 90\N{NO-BREAK SPACE}%; full shadow 12 × 6 cm; "
        "left of the subject, 17 × 12\N{NO-BREAK SPACE}% of the picture"
    )


@pytest.mark.parametrize(
    ("reason", "words"),
    [
        (Reason.EDGE_CUT_OFF, "its edge runs past the end of the table"),
        (Reason.EDGES_RUN_TOGETHER, "its edge runs into another shadow"),
        (Reason.EDGE_NOT_SEEN, "no edge of it in the picture"),
    ],
)
def test_why_no_width_of_an_edge_is_told_stands_in_its_place(reason: Reason, words: str) -> None:
    told = replace(SEEN, edge_mm=None, edge_why=fact(reason, "A", on="table"))

    (line,) = view(Plan((LAMP,), (SUBJECT, TABLE, HIGH)), (told,)).lines

    assert words in line.words.split("; ")


def test_in_one_light_alone_its_depth_is_told_once() -> None:
    alone = replace(SEEN, depth_stops=0.42, in_all_stops=0.42, full_mm=None)

    (line,) = view(Plan((LAMP,), (SUBJECT, TABLE, HIGH)), (alone,)).lines

    assert line.figure == "0.4 stop deep"
    assert line.words.startswith("edge 4.2 cm")


def test_what_is_not_seen_is_one_line_a_light_with_the_reasons() -> None:
    shadows = (
        unseen("table", Reason.HIDDEN_FROM_LENS, by="subject"),
        unseen("background", Reason.NO_SUCH_SURFACE),
        unseen("subject", Reason.TOO_SHALLOW, depth_stops=0.1),
    )

    (line,) = view(Plan((LAMP,), (SUBJECT, TABLE, HIGH)), shadows).lines

    assert (line.name, line.figure) == ("other shadows of A", "not seen")
    assert line.words == (
        "on the table: hidden from the lens by the subject; on the subject itself: less than 0.2 stop deep"
    )


@pytest.mark.parametrize(
    ("camera", "shadows", "looks"),
    [
        (HIGH, (SEEN,), ["lens"]),
        (replace(HIGH, position=Position(Place(0.0, -800.0, 0.0))), (SEEN,), ["lens", "above"]),
        (HIGH, (unseen("table", Reason.OUTSIDE_PICTURE),), ["lens", "above"]),
    ],
)
def test_a_card_from_above_helps_where_the_lens_is_level_or_misses_something(
    camera: Thing, shadows: tuple[Shadow, ...], looks: list[str]
) -> None:
    cards = view(Plan((LAMP,), (SUBJECT, TABLE, camera)), shadows).cards

    assert [next(look for look in ("lens", "above") if f"look={look}" in each.src) for each in cards] == looks


def test_the_subject_can_be_shown_as_another_shape() -> None:
    shapes = view(Plan((LAMP,), (SUBJECT, TABLE, HIGH))).shapes

    assert [(each.words, bool(each.href)) for each in shapes] == [
        ("block", False),
        ("ball", True),
        ("ridged disc", True),
    ]


def test_a_card_is_shown_only_where_all_that_is_lit_is_known() -> None:
    unread = light("B", Place(0.0, -900.0, 0.0), reading=None)
    lacking = view(Plan((LAMP, unread)), (), fact(Reason.NO_METER_READING, "B"))
    dark = view(Plan((replace(LAMP, lit=False),)), ())

    assert (lacking.cards, dark.cards) == ((), ())
    assert lacking.no_card == "No card. B has no meter reading; joules rank the settings of one head only."
    assert dark.no_card == "No card: no light is lit."
