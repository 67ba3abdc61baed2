"""The steps by which a sheet gives way: a closed list, each with less than the one before."""

from __future__ import annotations

import pytest

from webapp.web.paper.giving_way import LAST, STEPS, first_on_one_page


@pytest.mark.parametrize("found", range(LAST + 1))
def test_the_first_step_of_one_page_is_found_with_few_tries(found: int) -> None:
    tried: list[int] = []

    def is_one_page(step: object) -> bool:
        tried.append(STEPS.index(step))  # type: ignore[arg-type]
        return tried[-1] >= found

    assert first_on_one_page(is_one_page) == STEPS[found]
    assert len(tried) <= 6


def test_the_last_step_is_taken_where_none_is_one_page() -> None:
    assert first_on_one_page(lambda _: False) == STEPS[LAST]


@pytest.mark.parametrize("figure", ["lights", "facts", "steps", "cautions", "slips", "notes", "letters"])
def test_no_step_has_more_than_the_one_before(figure: str) -> None:
    counts = [getattr(step, figure) for step in STEPS]

    assert counts == sorted(counts, reverse=True)


def test_every_step_has_words_of_its_own() -> None:
    assert len({step.words for step in STEPS}) == len(STEPS)
