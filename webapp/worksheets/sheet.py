"""What a worksheet is and what it answers."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Generic

from webapp.errors import InvalidValue
from webapp.facts import Fact
from webapp.optics.working import Step
from webapp.worksheets.parameters import P, Parameter, parameters_of, unit_of, words_of

Result = float | int | bool | str | None | Sequence[float] | Sequence[Mapping[str, Any]]


@dataclass(frozen=True, slots=True)
class Gives:
    """A result, by its name. `may_be_none` where infinity has a meaning or the question may not arise; `loss` is for
    stops that are a loss or an extra exposure, told without a sign."""

    name: str
    may_be_none: bool = False
    loss: bool = False

    @property
    def unit(self) -> str:
        return unit_of(self.name)


@dataclass(frozen=True, slots=True)
class Sheet:
    """A worksheet filled in: the figures, how they came about, and what to be careful of."""

    results: dict[str, Result]
    working: tuple[Step, ...]
    cautions: tuple[Fact, ...] = ()

    def number(self, name: str) -> float:
        """A result that is a number; without end where it is None."""
        result = self.results[name]
        assert result is None or isinstance(result, (int, float))
        return math.inf if result is None else float(result)


@dataclass(frozen=True)
class Worksheet(Generic[P]):
    """A page and an address of its own. `work` is pure.

    `blame` names the parameter at which a refusal stands that concerns several of them.
    """

    name: str
    asks: type[P]
    work: Callable[[P], Sheet]
    gives: tuple[Gives, ...]
    blame: str

    @cached_property
    def parameters(self) -> tuple[Parameter, ...]:
        return parameters_of(self.asks)

    @cached_property
    def _may_be_none(self) -> set[str]:
        return {each.name for each in self.gives if each.may_be_none}

    def examples(self) -> dict[str, str]:
        """What a page that was asked nothing fills in."""
        return {each.name: each.example or each.default for each in self.parameters}

    def answer(self, parameters: P) -> Sheet:
        """Work it out. Every number in the results is finite; None is where infinity has a meaning, or where the
        question does not arise. Raises InvalidValue at the parameter that leads nowhere.
        """
        try:
            sheet = self.work(parameters)
        except ValueError as problem:
            raise InvalidValue(self.blame, str(problem)) from problem
        except ArithmeticError as problem:
            raise self._beyond_counting() from problem
        return Sheet(
            {name: self._told(name, each) for name, each in sheet.results.items()},
            sheet.working,
            sheet.cautions,
        )

    def _told(self, name: str, result: Result) -> Result:
        if not isinstance(result, float) or math.isfinite(result):
            # Never −0, which some readers of JSON print.
            return result + 0.0 if isinstance(result, float) else result
        if name in self._may_be_none and result > 0:
            return None
        raise self._beyond_counting()

    def _beyond_counting(self) -> InvalidValue:
        return InvalidValue(
            self.blame, "Together these values lead beyond anything that can be counted; give less extreme ones."
        )


@contextmanager
def at(parameter: str) -> Iterator[None]:
    """What the optics refuse in here is told at this parameter."""
    try:
        yield
    except ValueError as problem:
        raise InvalidValue(parameter, str(problem)) from problem


def one_of(parameters: P, *names: str) -> str:
    """The one of several parameters that was given. Raises InvalidValue where it is none of them, or more."""
    given = [name for name in names if getattr(parameters, name) is not None]
    listed = " or ".join(words_of(name) for name in names)
    if not given:
        raise InvalidValue(names[0], f"One of these is needed: {listed}.")
    if len(given) > 1:
        raise InvalidValue(given[1], f"Give one of these and leave the others empty: {listed}.")
    return given[0]
