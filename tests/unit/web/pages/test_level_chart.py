"""The level chart: one scale for every patch, clipping where a file clips, and words that never overprint."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from webapp.web.drawings.drawing import Drawing, text_width
from webapp.web.pages.level_chart import CLIPPING_STOPS, Level, level_chart


def chart_of(*levels: Level) -> Drawing:
    drawn = level_chart(levels, "levels")
    assert drawn is not None
    return drawn


def test_without_a_patch_there_is_no_chart() -> None:
    assert level_chart([], "levels") is None


def test_clipping_lies_two_and_a_half_stops_above_mid_tone() -> None:
    # An 18 % card exposed to its own level clips at log2(100 / 18) stops above it: common practice.
    assert round(CLIPPING_STOPS, 2) == 2.47


def test_what_is_wanted_predicted_and_read_is_said_in_words_too() -> None:
    drawn = chart_of(
        Level("card", 0.0, -0.5, predicted_stops=0.1, tolerance_stops=0.3, unexplained_stops=-0.6), Level("rim", 2.0)
    )

    assert "card: wanted 0.0, predicted +0.1 ± 0.3, read −0.5, unexplained −0.6; rim: wanted +2.0, not read." in (
        drawn.description
    )


def test_a_clipped_patch_is_at_least_what_it_reads_and_a_black_one_at_most() -> None:
    drawn = chart_of(Level("white", 2.0, 2.4, is_least=True), Level("black", -3.0, None, at_most_stops=-7.0))

    words = [each.words for each in drawn.texts]
    assert "read at least +2.4" in words
    assert "read below −7.0" in words
    assert len(drawn.rings) == 1


def test_what_an_eye_judged_is_told_apart_from_what_was_read() -> None:
    assert "read −0.3 by eye" in [each.words for each in chart_of(Level("card", 0.0, -0.33, by_eye=True)).texts]


def test_the_same_level_in_two_patches_stands_at_the_same_place() -> None:
    first, second = chart_of(Level("a", -1.0, 0.5), Level("b", 2.0, 0.5)).rings

    assert first.x == second.x


@given(
    st.lists(
        st.builds(
            Level,
            st.just("patch"),
            st.floats(-12, 6),
            st.floats(-12, 2.4),
            predicted_stops=st.none() | st.floats(-12, 6),
            tolerance_stops=st.none() | st.floats(0.1, 2),
        ),
        min_size=1,
        max_size=4,
    )
)
def test_no_label_leaves_the_sheet_or_stands_on_another(levels: list[Level]) -> None:
    drawn = chart_of(*levels)

    lines: dict[float, list[tuple[float, float]]] = {}
    for each in drawn.texts:
        if each.anchor == "middle" and each.words[:1].isalpha():
            half = text_width(each.words) / 2
            assert each.x - half >= 0
            assert each.x + half <= drawn.width
            lines.setdefault(each.y, []).append((each.x - half, each.x + half))
    for spans in lines.values():
        for (_, right), (left, _) in zip(sorted(spans), sorted(spans)[1:], strict=False):
            assert right <= left


@given(st.floats(1.0, 2.4), st.none() | st.floats(0.0, 2.4))
def test_no_label_stands_on_the_line_of_clipping(wanted: float, read: float | None) -> None:
    drawn = chart_of(Level("rim", wanted, read, predicted_stops=wanted))
    (clipping,) = [each.x for each in drawn.texts if each.words == "clipping"]

    for each in drawn.texts:
        if each.words.startswith(("wanted", "read", "not read")):
            half = text_width(each.words) / 2
            assert not each.x - half < clipping < each.x + half, each.words
