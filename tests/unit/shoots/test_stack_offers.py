"""Frames that look like a stack: by the focus that their files tell, else by how soon they follow each other."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

import pytest

from webapp.shoots.stack_offers import Exposed, like_stacks

NOON = dt.datetime(2026, 11, 24, 12, tzinfo=dt.UTC)


def numbers(frames: Sequence[Exposed]) -> list[tuple[int, int]]:
    return [(run[0].number, run[-1].number) for run in like_stacks(frames)]


def focused(*mm: float | None) -> list[Exposed]:
    return [Exposed(str(n), n, NOON + dt.timedelta(minutes=n), each) for n, each in enumerate(mm, start=1)]


def timed(*seconds: float) -> list[Exposed]:
    return [Exposed(str(n), n, NOON + dt.timedelta(seconds=each)) for n, each in enumerate(seconds, start=1)]


@pytest.mark.parametrize(
    ("focus", "runs"),
    [
        pytest.param((300, 302, 304, 306), [(1, 4)], id="one way"),
        pytest.param((306, 304, 302, 300), [(1, 4)], id="the other way"),
        pytest.param((300, 302, 304), [], id="too few"),
        pytest.param((300, 300, 300, 300, 300), [], id="focus never moved"),
        pytest.param((300, 300, 302, 304, 306), [(2, 5)], id="a test before it at the same focus"),
        pytest.param((300, 302, 304, 306, 306, 306), [(1, 4)], id="tests after it at the same focus"),
        pytest.param((300, 302, 302, 304, 306), [(1, 5)], id="a step too small for the file to tell"),
        pytest.param((330, 300, 302, 304, 306), [(2, 5)], id="a test elsewhere before it"),
        pytest.param((300, 302, 304, 306, 300, 302, 304, 306), [(1, 4), (5, 8)], id="two, one after the other"),
        pytest.param((300, 302, None, 304, 306), [], id="a file that tells nothing between them"),
    ],
)
def test_a_stack_moves_the_focus_one_way(focus: tuple[float | None, ...], runs: list[tuple[int, int]]) -> None:
    assert numbers(focused(*focus)) == runs


@pytest.mark.parametrize(
    ("seconds", "runs"),
    [
        pytest.param((0, 3, 6, 9), [(1, 4)], id="every three seconds"),
        pytest.param((0, 60, 63, 66, 69, 200), [(2, 5)], id="with one before and one after"),
        pytest.param((0, 20, 40, 60), [], id="time to look at each"),
    ],
)
def test_without_a_focus_in_the_file_a_stack_is_quick(
    seconds: tuple[float, ...], runs: list[tuple[int, int]]
) -> None:
    assert numbers(timed(*seconds)) == runs
