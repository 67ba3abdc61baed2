"""Pauses that grow while a trouble lasts."""

from __future__ import annotations

import threading
from pathlib import Path

import pytest

from webapp.shoots import again
from webapp.shoots.again import Again


class Timer:
    """Keeps what it was asked to wait, and rings when it is told to."""

    waits: list[float]
    ring: object

    def __init__(self, seconds: float, work: object) -> None:
        type(self).waits.append(seconds)
        type(self).ring = work

    def start(self) -> None:
        pass

    def cancel(self) -> None:
        pass

    join = start


@pytest.fixture
def timer(monkeypatch: pytest.MonkeyPatch) -> type[Timer]:
    Timer.waits = []
    monkeypatch.setattr(threading, "Timer", Timer)
    return Timer


def test_the_pause_grows_while_the_trouble_lasts_and_begins_anew_for_another(
    timer: type[Timer], monkeypatch: pytest.MonkeyPatch
) -> None:
    tried: list[str] = []
    found = Again(lambda: tried.append("work"))

    firsts = []
    for _ in range(4):
        firsts.append(found.note(Path("a.jpg")))
        assert found.take() == []
        timer.ring()  # type: ignore[operator]
        assert found.take() == [Path("a.jpg")]
        assert found.take() == []

    assert timer.waits == [2.0, 4.0, 8.0, 16.0]
    assert firsts == [True, False, False, False]
    assert len(tried) == 4
    monkeypatch.setattr(again, "_LASTS_S", -100.0)
    assert found.note(Path("b.jpg"))
    assert timer.waits[-1] == 2.0


def test_one_pause_serves_all_that_had_trouble_meanwhile(timer: type[Timer]) -> None:
    found = Again(lambda: None)

    for name in ("b.jpg", "a.jpg"):
        found.note(Path(name))
    found.note()
    timer.ring()  # type: ignore[operator]

    assert timer.waits == [2.0]
    assert found.take() == [Path("a.jpg"), Path("b.jpg")]


def test_after_the_end_nothing_is_tried(timer: type[Timer]) -> None:
    tried: list[str] = []
    found = Again(lambda: tried.append("work"))
    found.note(Path("a.jpg"))

    found.close()
    timer.ring()  # type: ignore[operator]
    found.note(Path("a.jpg"))

    assert tried == []
    assert len(timer.waits) == 1
