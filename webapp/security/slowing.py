"""Guessing is slowed: who was wrong too often waits, longer each time."""

from __future__ import annotations

import math
import threading
import time
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Final

_MOST_WHO: Final = 10_000
_MOST_DOUBLINGS: Final = 30


@dataclass(slots=True)
class _Wrong:
    # By their hash: what was typed is kept nowhere.
    guesses: set[int] = field(default_factory=set)
    until: float = 0.0
    last: float = 0.0


class Slowing:
    """Counts the wrong guesses of each address; may be shared by threads.

    `free` different ones cost nothing (a class that reloads a page which has ended guesses once). After that each
    doubles the wait from one second up to `longest_s`, and what was wrong is forgotten after `forgets_s` of peace.
    """

    def __init__(
        self,
        free: int,
        longest_s: float = 900.0,
        forgets_s: float = 3600.0,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self._free, self._longest_s, self._forgets_s = free, longest_s, forgets_s
        self._clock = clock
        self._lock = threading.Lock()
        self._by_who: OrderedDict[str, _Wrong] = OrderedDict()

    def wait_s(self, who: str) -> int:
        """For how many whole seconds an address may not guess; 0 where it may."""
        with self._lock:
            wrong = self._by_who.get(who)
            return max(0, math.ceil(wrong.until - self._clock())) if wrong else 0

    def was_wrong(self, who: str, guess: str) -> None:
        """Note a wrong guess."""
        with self._lock:
            at = self._clock()
            wrong = self._by_who.get(who)
            if wrong is None or at - wrong.last > self._forgets_s:
                wrong = self._by_who[who] = _Wrong()
            self._by_who.move_to_end(who)
            while len(self._by_who) > _MOST_WHO:
                self._by_who.popitem(last=False)
            wrong.last = at
            if len(wrong.guesses) < self._free + _MOST_DOUBLINGS:
                wrong.guesses.add(hash(guess))
            over = len(wrong.guesses) - self._free
            if over > 0:
                wrong.until = at + min(2.0 ** (over - 1), self._longest_s)

    def was_right(self, who: str) -> None:
        """Forget what an address guessed before."""
        with self._lock:
            self._by_who.pop(who, None)
