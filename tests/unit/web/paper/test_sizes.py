"""Texts made shorter by rule; nothing goes without being said."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from webapp.web.paper.sizes import ELLIPSIS, cut, fitted

words = st.text(st.characters(blacklist_categories=("Cs", "Cc", "Zs", "Zl", "Zp")), min_size=1, max_size=30)
texts = st.lists(words, min_size=1, max_size=25).map(" ".join)


@given(texts, st.integers(2, 200))
def test_a_text_is_cut_only_where_it_has_to_be_and_shows_it(text: str, most: int) -> None:
    shorter = cut(text, most)

    assert len(shorter) <= most
    if len(text) <= most:
        assert shorter == text
    else:
        assert shorter.endswith(ELLIPSIS)
        assert text.startswith(shorter.removesuffix(ELLIPSIS))


@given(st.lists(texts, max_size=12).map(tuple), st.integers(0, 14), st.integers(2, 200))
def test_a_list_keeps_to_its_members_and_counts_what_is_not_there(
    said: tuple[str, ...], most: int, letters: int
) -> None:
    found = fitted(said, most, letters)

    assert len(found.texts) <= most
    assert len(found.texts) + found.left_out == len(said)
    assert all(len(each) <= letters for each in found.texts)
    assert found.is_whole == (found.texts == said)


def test_only_what_is_long_is_cut() -> None:
    long = "polarising sheet over the strip box, turned until the glare on the enamel is gone and stays gone"

    found = fitted(("prove black", long, "rim first"), 4, 60)

    assert found.texts[0] == "prove black"
    assert found.texts[1].endswith(ELLIPSIS)
    assert found.texts[2] == "rim first"
    assert found.cut_short == 1
