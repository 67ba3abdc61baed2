"""A figure with its formula, the numbers put into it and the source behind it.

A `Relation` is written once, beside the function that computes it. `Relation.worked` puts numbers in and
gives a `Step`; a list of steps is the working that a page shows beside a figure and the API returns.
The formula stands twice, as plain text (for the API, for print, for a reader without MathML) and as LaTeX,
from which the page sets MathML.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from webapp.facts import Fact, fact
from webapp.optics.assumptions import Assumption


@dataclass(frozen=True, slots=True)
class Symbol:
    """One letter of a formula: what it stands for and its unit ("" for a pure ratio)."""

    name: str
    meaning: str
    unit: str = ""


@dataclass(frozen=True, slots=True)
class Given:
    """A number that was put into a formula. `value` None is unknown, or infinite where `meaning` says so."""

    symbol: str
    meaning: str
    value: float | None
    unit: str


@dataclass(frozen=True, slots=True)
class Step:
    """One line of a working; its source is a key of the citations."""

    result: str
    value: float | None
    unit: str
    formula: str
    latex: str
    given: tuple[Given, ...]
    assumptions: tuple[Fact, ...]
    source: str


@dataclass(frozen=True, slots=True)
class Relation:
    """A formula with the nouns of its symbols: what it gives, in which unit, from what, assuming what, and who says so
    (a key of the citations in `web.words`)."""

    result: str
    unit: str
    formula: str
    latex: str
    symbols: tuple[Symbol, ...]
    source: str
    assumptions: tuple[Assumption, ...] = ()

    def worked(self, value: float | None, *, assuming: tuple[Fact, ...] = (), **given: float | None) -> Step:
        """Put numbers in. The keywords are the symbols' names; each symbol needs its number.

        A number that is not finite is given as None: a page says "to infinity", never "inf".
        Raises KeyError where a symbol has no number or a number has no symbol.
        """
        names = {symbol.name for symbol in self.symbols}
        if names != given.keys():
            raise KeyError(f"{self.result}: needs {sorted(names)}, was given {sorted(given)}")
        return Step(
            result=self.result,
            value=_finite(value),
            unit=self.unit,
            formula=self.formula,
            latex=self.latex,
            given=tuple(
                Given(symbol.name, symbol.meaning, _finite(given[symbol.name]), symbol.unit)
                for symbol in self.symbols
            ),
            assumptions=tuple(map(fact, self.assumptions)) + assuming,
            source=self.source,
        )


def _finite(value: float | None) -> float | None:
    return value if value is not None and math.isfinite(value) else None
