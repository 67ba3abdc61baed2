"""Formulas as they are written (LaTeX), and as a browser sets them (MathML).

A document from elsewhere may hold any text for one. Taken for a formula is what is built of letters, numbers, signs and
the commands named here, balanced and not deeply nested: none of them takes an address, a style or a text, so that
nothing but a formula comes of it.
"""

from __future__ import annotations

import re
from functools import lru_cache
from typing import Final

from webapp.recipes.document import LONGEST_LINE

_DEEPEST: Final = 16

_GREEK: Final = (
    "alpha beta gamma delta epsilon varepsilon zeta eta theta vartheta iota kappa lambda mu nu xi pi varpi rho varrho "
    "sigma varsigma tau upsilon phi varphi chi psi omega Gamma Delta Theta Lambda Xi Pi Sigma Upsilon Phi Psi Omega ell"
)
_FUNCTIONS: Final = (
    "log ln lg exp sin cos tan cot sec csc arcsin arccos arctan sinh cosh tanh min max lim det gcd sup inf"
)
_SIGNS: Final = (
    "cdot times div pm mp le leq ge geq ne neq lt gt approx equiv sim simeq propto ll gg to rightarrow leftarrow infty "
    "partial nabla sum prod int ldots cdots dots circ degree prime ast star in notin subset cup cap forall exists angle "
    "perp parallel lceil rceil lfloor rfloor langle rangle vert Vert quad qquad"
)
# How many groups, or single signs, each takes.
_TAKING: Final = {
    **dict.fromkeys(("frac", "tfrac", "dfrac", "binom"), 2),
    **dict.fromkeys(("sqrt", "mathrm", "mathit", "mathbf", "bar", "hat", "vec", "dot", "overline", "underline"), 1),
}
_COMMANDS: Final = frozenset(f"{_GREEK} {_FUNCTIONS} {_SIGNS}".split())
_SPACES: Final = frozenset(("\\,", "\\;", "\\:", "\\!", "\\ "))
_DELIMITERS: Final = frozenset(
    (
        "(",
        ")",
        "[",
        "]",
        "|",
        ".",
        "/",
        "\\{",
        "\\}",
        "\\lceil",
        "\\rceil",
        "\\lfloor",
        "\\rfloor",
        "\\langle",
        "\\rangle",
    )
)
_TOKEN: Final = re.compile(r"\\[A-Za-z]+|\\.|.", re.DOTALL)
# Of what is on a keyboard, what means something else to LaTeX or to a browser.
_OTHER: Final = frozenset('\\<>&#%$~"`@')


class UnsoundFormula(ValueError):
    """The text is no formula that is taken; says why."""


def check_formula(latex: str) -> None:
    """Raises UnsoundFormula for what is no formula of those that are taken, or cannot be set."""
    _set(latex)


def mathml_of(latex: str) -> str | None:
    """A formula as MathML; None where it is none that is taken."""
    try:
        return _set(latex)
    except UnsoundFormula:
        return None


@lru_cache(maxsize=512)
def _set(latex: str) -> str:
    from latex2mathml.converter import convert

    if len(latex) > LONGEST_LINE:
        raise UnsoundFormula("the formula is too long")
    _Reader([each for each in _TOKEN.findall(latex) if not each.isspace()]).read()
    try:
        return convert(latex)
    except Exception as problem:
        # The converter raises errors of many kinds on what it cannot read.
        raise UnsoundFormula("the formula cannot be set") from problem


class _Reader:
    """Reads a formula from left to right, and raises where it cannot go on."""

    def __init__(self, tokens: list[str]) -> None:
        self._tokens = tokens
        self._at = 0

    def read(self) -> None:
        if not self._tokens:
            raise UnsoundFormula("the formula is empty")
        self._row(0)
        if self._at < len(self._tokens):
            raise UnsoundFormula(f"the formula closes “{self._tokens[self._at]}” where nothing was opened")

    def _next(self) -> str | None:
        return self._tokens[self._at] if self._at < len(self._tokens) else None

    def _take(self) -> str:
        token = self._next()
        if token is None:
            raise UnsoundFormula("the formula ends before it is whole")
        self._at += 1
        return token

    def _row(self, depth: int) -> None:
        """What stands side by side, up to what closes it."""
        if depth > _DEEPEST:
            raise UnsoundFormula("the formula is nested too deeply")
        raised: set[str] = set()
        is_based = False
        while (token := self._next()) not in (None, "}", "\\right"):
            if token in ("^", "_"):
                if not is_based or token in raised:
                    raise UnsoundFormula(f"the formula has “{token}” with nothing before it")
                self._at += 1
                raised.add(token)
                self._one(depth)
            else:
                is_based = token not in _SPACES
                raised.clear()
                self._one(depth)

    def _one(self, depth: int) -> None:
        """A sign, a group, or a command with what it takes."""
        token = self._take()
        if token == "{":
            self._row(depth + 1)
            self._closed("}")
        elif token == "\\left":
            self._delimiter()
            self._row(depth + 1)
            self._closed("\\right")
            self._delimiter()
        elif token.startswith("\\") and token[1:] in _TAKING:
            if token == "\\sqrt" and self._next() == "[":
                raise UnsoundFormula("the formula has a root of another order than two")
            for _ in range(_TAKING[token[1:]]):
                if depth >= _DEEPEST:
                    raise UnsoundFormula("the formula is nested too deeply")
                self._one(depth + 1)
        elif token in ("}", "^", "_", "\\right"):
            raise UnsoundFormula(f"the formula has “{token}” where a sign is missing")
        elif token.startswith("\\"):
            if token[1:] not in _COMMANDS and token not in _SPACES and token not in _DELIMITERS:
                raise UnsoundFormula(f"the formula has “{token[:40]}”, which is not taken")
        elif token in _OTHER or not token.isprintable():
            raise UnsoundFormula(f"the formula has “{token[:40]}”, which is not taken")

    def _closed(self, by: str) -> None:
        if self._next() != by:
            raise UnsoundFormula("the formula opens something that is never closed")
        self._at += 1

    def _delimiter(self) -> None:
        if self._take() not in _DELIMITERS:
            raise UnsoundFormula("the formula has a bracket that is none")
