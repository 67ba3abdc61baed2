"""How a worksheet, a parameter and a result are named."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final

from webapp.worksheets.parameters import words_of


@dataclass(frozen=True, slots=True)
class Named:
    """A parameter or a result: its title, what more is to be said, and, of a result, what it means to have none."""

    title: str = ""
    words: str = ""
    none: str = ""


@dataclass(frozen=True, slots=True)
class SheetWords:
    """A worksheet, and what is said of its parameters and results by their names."""

    name: str
    topic: str
    title: str
    purpose: str
    asks: Mapping[str, Named]
    gives: Mapping[str, Named]

    def asked(self, name: str) -> Named:
        """A parameter, under the title that it has here, or everywhere, or that its name is."""
        return _titled(name, self.asks.get(name) or EVERYWHERE.get(name, Named()))

    def given(self, name: str) -> Named:
        """A result, likewise."""
        return _titled(name, self.gives.get(name, Named()))


def _titled(name: str, named: Named) -> Named:
    return replace(named, title=named.title or words_of(name))


EVERYWHERE: Final[Mapping[str, Named]] = {
    "dial": Named(words="the step of the dial on which the marks are read"),
    "pupil_ratio": Named(words="exit over entrance pupil of the lens mounted normally"),
}
"""Parameters that mean the same wherever they are asked."""
