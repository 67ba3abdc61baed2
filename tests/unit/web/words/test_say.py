"""Every reason of every closed list has words, and no two lists share a name."""

from __future__ import annotations

from enum import StrEnum

import pytest

from webapp.facts import fact
from webapp.ledger import evidence_reasons
from webapp.plan import reasons as plan_reasons
from webapp.shoots import reasons as shoots_reasons
from webapp.web.words import say

LISTS: tuple[type[StrEnum], ...] = (evidence_reasons.Reason, plan_reasons.Reason, shoots_reasons.Reason)


@pytest.mark.parametrize("reasons", LISTS, ids=lambda each: each.__module__)
def test_every_reason_has_words_in_one_place(reasons: type[StrEnum]) -> None:
    for reason in reasons:
        assert sum(reason in words for words in say._ALL) == 1, reason


def test_no_two_lists_share_a_name() -> None:
    names = [str(reason) for reasons in LISTS for reason in reasons]

    assert len(names) == len(set(names))


def test_a_reason_without_words_is_told() -> None:
    with pytest.raises(KeyError, match="no words for nothing_of_the_kind"):
        say.say(fact("nothing_of_the_kind"))
