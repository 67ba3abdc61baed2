"""Guessing is slowed, longer each time; whoever guesses once and repeats it is not."""

from __future__ import annotations

from webapp.security.slowing import Slowing


class Clock:
    at = 0.0

    def __call__(self) -> float:
        return self.at


def test_each_wrong_guess_past_the_free_ones_doubles_the_wait() -> None:
    slowing = Slowing(free=3, longest_s=60, clock=Clock())

    waits = []
    for guess in range(12):
        slowing.was_wrong("a", str(guess))
        waits.append(slowing.wait_s("a"))

    assert waits == [0, 0, 0, 1, 2, 4, 8, 16, 32, 60, 60, 60]
    assert slowing.wait_s("b") == 0


def test_the_same_guess_again_costs_nothing() -> None:
    slowing = Slowing(free=3, clock=Clock())

    for _ in range(100):
        slowing.was_wrong("a", "ended")

    assert slowing.wait_s("a") == 0


def test_a_wait_passes_and_an_hour_of_peace_forgets() -> None:
    clock = Clock()
    slowing = Slowing(free=0, clock=clock)
    slowing.was_wrong("a", "1")
    assert slowing.wait_s("a") == 1
    clock.at = 1.5
    assert slowing.wait_s("a") == 0

    clock.at = 4000.0
    slowing.was_wrong("a", "2")

    assert slowing.wait_s("a") == 1


def test_what_is_right_clears_it_and_memory_is_bounded() -> None:
    slowing = Slowing(free=0, clock=Clock())
    slowing.was_wrong("a", "1")
    slowing.was_right("a")
    assert slowing.wait_s("a") == 0

    for who in range(20_000):
        slowing.was_wrong(str(who), "1")

    assert slowing.wait_s("0") == 0
    assert slowing.wait_s("19999") == 1
