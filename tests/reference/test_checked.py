"""The fixture that the reference tests lean on: it must be able to fail."""

from __future__ import annotations

from collections.abc import Callable

import pytest


def test_a_value_off_by_more_than_the_tolerance_fails(checked: Callable[..., None]) -> None:
    with pytest.raises(AssertionError, match="the source has 1"):
        checked("topic", "the source", "what", 1.0, 1.2, 0.1, "stop")


@pytest.mark.parametrize("got", [float("nan"), float("inf")])
def test_a_value_that_is_no_number_fails(checked: Callable[..., None], got: float) -> None:
    with pytest.raises(AssertionError):
        checked("topic", "the source", "what", 1.0, got, 0.1, "stop")


def test_a_relative_deviation_is_a_part_of_the_outside_value(checked: Callable[..., None]) -> None:
    with pytest.raises(AssertionError):
        checked("topic", "the source", "what", 0.001, 0.0011, 0.05, "relative")
