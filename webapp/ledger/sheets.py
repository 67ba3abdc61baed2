"""Sheets in a beam: neutral density, or diffusion that softens the light as well, and the least of them that take what
is too much. A sheet more has to come a tenth of a stop nearer: nobody clips three pieces for a hundredth."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Final

from webapp.ledger.exposures import Filters, counted

_MOST_SHEETS: Final = 2
_A_SHEET_IS_WORTH_STOPS: Final = 0.1


@dataclass(frozen=True, slots=True)
class Sheet:
    """A filter that lies ready in the kit: what it takes away, in stops (positive), and whether it softens the light."""

    id: str
    name: str
    loss_stops: float
    softens: bool = False


@dataclass(frozen=True, slots=True)
class Fit:
    """Sheets that go into a beam. With a loss below 0 all that are in it come out, and it has no ids."""

    ids: tuple[str, ...]
    names: tuple[str, ...]
    loss_stops: float
    softens: bool = False


Left = Callable[[float], float]
"""By how much a balance is off once so much light is taken away, both in stops."""


def neutral(sheets: Iterable[Sheet]) -> tuple[Sheet, ...]:
    return tuple(sheet for sheet in sheets if not sheet.softens)


def softening(sheets: Iterable[Sheet]) -> tuple[Sheet, ...]:
    return tuple(sheet for sheet in sheets if sheet.softens)


def least(off: float, left: Left, fitted: Filters, sheets: tuple[Sheet, ...]) -> Fit | None:
    """The fewest sheets that bring a balance that is `off` near its target: put in where there is too much light, all
    that are `fitted` taken out where there is too little. None where that does not help by half at least, or, coming
    out, at all."""
    if fitted.loss_stops is None:
        return None
    if off < 0:
        out = Fit((), (fitted.name,), -fitted.loss_stops)
        return out if fitted.loss_stops and abs(left(out.loss_stops)) < abs(left(0.0)) - 1e-9 else None
    chosen = (
        each
        for count in range(1, _MOST_SHEETS + 1)
        for each in itertools.combinations_with_replacement(sheets, count)
    )
    helping = [each for each in chosen if abs(left(_loss(each))) <= abs(left(0.0)) / 2]
    if not helping:
        return None
    best = min(helping, key=lambda each: (_worth(left(_loss(each)), len(each)), _loss(each)))
    return Fit(
        tuple(sheet.id for sheet in best),
        tuple(counted([sheet.name for sheet in best])),
        _loss(best),
        any(sheet.softens for sheet in best),
    )


def _loss(sheets: tuple[Sheet, ...]) -> float:
    return sum(sheet.loss_stops for sheet in sheets)


def _worth(leaves: float, count: int) -> float:
    """What is left over and what is clipped on, in one figure: within a tenth of a stop nothing is left over."""
    return round(max(abs(leaves), _A_SHEET_IS_WORTH_STOPS) + _A_SHEET_IS_WORTH_STOPS * count, 2)
