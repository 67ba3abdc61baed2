"""A reading held against another: why there is no difference to take, and evidence as it is stored."""

from __future__ import annotations

import pytest
from pydantic import TypeAdapter

from webapp.facts import Fact, fact
from webapp.ledger.evidence import FrameEvidence, HeldAgainst, weigh
from webapp.ledger.evidence_reasons import Reason
from webapp.ledger.totals import Total
from webapp.pictures.readings import MIDDLE, PatchReading

KNOWN = HeldAgainst(-3.0, 0.1)


def reading(level_stops: float | None = -2.0, tolerance_stops: float | None = 0.1) -> PatchReading:
    return PatchReading(
        MIDDLE, "raw", (), 0.25, level_stops, -12.0, 0.0, 0.0, 0.0, 0.0, False, tolerance_stops, (), 100, ()
    )


@pytest.mark.parametrize(
    ("read", "reference", "predicted", "reason"),
    [
        (reading(), None, Total(0.0), fact(Reason.NO_REFERENCE_READING)),
        (reading(), None, Total(None, fact(Reason.NO_REFERENCE_FRAME)), fact(Reason.NO_REFERENCE_FRAME)),
        (reading(level_stops=None), KNOWN, Total(0.0), fact(Reason.PATCH_IS_BLACK)),
        (reading(tolerance_stops=None), KNOWN, Total(0.0), fact(Reason.PATCH_IS_CLIPPED)),
        (reading(), HeldAgainst(None, 0.1), Total(0.0), fact(Reason.BLACK_IN_REFERENCE, in_recipe=False)),
        (
            reading(),
            HeldAgainst.of_recipe(0.0, None, None),
            Total(0.0),
            fact(Reason.CLIPPED_IN_REFERENCE, in_recipe=True),
        ),
        (reading(), KNOWN, Total(0.0), None),
    ],
)
def test_why_there_is_no_difference(
    read: PatchReading, reference: HeldAgainst | None, predicted: Total, reason: Fact | None
) -> None:
    seen = weigh("p", 0.0, read, reference, predicted)

    assert seen.why_not == reason
    assert (seen.measured_stops is None) is (reason is not None)


def test_a_difference_that_cannot_be_predicted_is_measured_all_the_same() -> None:
    seen = weigh("p", 0.0, reading(), KNOWN, Total(None, fact(Reason.CHECK_PREDICTS_NOTHING)))

    assert seen.measured_stops == 1.0
    assert seen.unexplained_stops is None
    assert seen.why_not == fact(Reason.CHECK_PREDICTS_NOTHING)


def test_stored_evidence_holds_facts_and_is_read_back_the_same() -> None:
    told = weigh("p", 0.0, reading(), HeldAgainst(None, 0.1), Total(0.0), shares={"A": 1.0})
    stored = TypeAdapter(FrameEvidence).dump_json(FrameEvidence((told,)))

    assert b'"reason":"black_in_reference"' in stored
    assert TypeAdapter(FrameEvidence).validate_json(stored) == FrameEvidence((told,))
