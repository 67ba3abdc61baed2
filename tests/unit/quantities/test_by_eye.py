"""What is seen by eye: the trade's ways to say it are read, what is printed is read back, and the rest is refused."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from webapp.quantities.by_eye import BLACK, Seen, read_seen, seen_text

NAMES = st.lists(
    st.from_regex(r"[A-Za-z][A-Za-z0-9 ]{0,10}[A-Za-z0-9]", fullmatch=True).map(lambda name: " ".join(name.split())),
    min_size=1,
    max_size=4,
    unique_by=str.casefold,
)
SIZES = st.builds(lambda count, parts: count / parts, st.integers(-15, 15), st.sampled_from([1, 2, 3, 4, 10]))
LEVELS = st.one_of(
    st.tuples(st.one_of(SIZES, st.just(BLACK), st.none()), st.just(False)), st.tuples(SIZES, st.just(True))
)


@given(NAMES, st.data(), LEVELS)
def test_what_is_printed_is_read_back(
    names: list[str], data: st.DataObject, level: tuple[float | None, bool]
) -> None:
    stops, about_wanted = level
    seen = Seen(data.draw(st.sampled_from(names)), stops, about_wanted)

    read = read_seen(seen_text(seen), names)

    assert (read.patch, read.about_wanted) == (seen.patch, seen.about_wanted)
    assert read.stops == (None if stops is None else pytest.approx(stops, abs=1e-5))


@given(LEVELS)
def test_the_patch_may_be_left_out_where_there_is_one(level: tuple[float | None, bool]) -> None:
    seen = Seen("", *level)

    assert read_seen(seen_text(seen), ["card"]) == read_seen(f"card {seen_text(seen)}", ["card"])


@pytest.mark.parametrize(
    ("typed", "stops", "about_wanted"),
    [
        ("card -0.3", -0.3, False),
        ("Card: −0,3", -0.3, False),
        ("0.0", 0.0, False),
        ("+1 1/3", 4 / 3, False),
        ("card a third too bright", 1 / 3, True),
        ("a third too bright", 1 / 3, True),
        ("half a stop under", -0.5, True),
        ("1/2 stop under", -0.5, True),
        ("two thirds of a stop too dark", -2 / 3, True),
        ("a stop and a half over", 1.5, True),
        ("one and a third stops too hot", 4 / 3, True),
        ("2 1/2 stops down", -2.5, True),
        ("two stops up", 2.0, True),
        ("over by a quarter", 0.25, True),
        ("on target", 0.0, True),
        ("black by eye", BLACK, False),
        ("card: nothing to be seen", BLACK, False),
        ("-0.3 by eye", -0.3, False),
        ("card ?", None, False),
    ],
)
def test_what_a_photographer_says_is_read(typed: str, stops: float | None, about_wanted: bool) -> None:
    assert read_seen(typed, ["card"]) == Seen("card", stops, about_wanted)


@pytest.mark.parametrize(
    "typed", ["", "card", "too bright", "a third", "-0.3 under", "rim -0.3", "under over", "by eye", "1/5 over", "a"]
)
def test_what_says_no_level_is_refused(typed: str) -> None:
    with pytest.raises(ValueError, match=r"says no level: type −0.3, “a third too bright” or “black”"):
        read_seen(typed, ["card"])


def test_of_several_patches_one_is_named() -> None:
    with pytest.raises(ValueError, match="leaves the patch open: begin with card or rim light"):
        read_seen("a third too bright", ["card", "rim light"])

    assert read_seen("rim light a third too bright", ["card", "rim light"]).patch == "rim light"


def test_the_longer_of_two_names_is_meant() -> None:
    assert read_seen("card 2 -1/2", ["card", "card 2"]) == Seen("card 2", -0.5)
    assert read_seen("card 2", ["card", "card 2"]) == Seen("card", 2.0)
