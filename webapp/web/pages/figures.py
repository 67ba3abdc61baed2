"""How figures are written on the page."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from markupsafe import Markup

from webapp.optics.working import Given, Step
from webapp.web.words.citations import CITATIONS

if TYPE_CHECKING:
    from webapp.recipes.document import GivenPart, WorkingPart

MINUS = "−"


def signed(stops: float | None, decimals: int = 1) -> str:
    """Stops with their sign and a true minus; an open dash where they are unknown.

    >>> signed(1.0), signed(-4.0), signed(0.04), signed(None)
    ('+1.0', '−4.0', '0.0', '–')
    """
    if stops is None:
        return "–"
    rounded = round(stops, decimals)
    if rounded == 0:
        return f"{0:.{decimals}f}"
    return f"{rounded:+.{decimals}f}".replace("-", MINUS)


def tone(stops: float | None, target: float = 0.0) -> str:
    """over, under, even or unknown: the word that the colour repeats."""
    if stops is None:
        return "unknown"
    off = stops - target
    return "even" if abs(off) < 0.05 else "over" if off > 0 else "under"


@dataclass(frozen=True, slots=True)
class Balance:
    """The balance of a light, or of the ambient light, as a summary has it."""

    name: str
    figure: str
    tone: str


def plural(count: int, noun: str) -> str:
    """
    >>> plural(1, "frame"), plural(3, "frame")
    ('1 frame', '3 frames')
    """
    return f"{count} {noun}{'' if count == 1 else 's'}"


def quantity(step_or_given: Step | WorkingPart | Given | GivenPart) -> str:
    """A number of a working with its unit, to as many figures as it deserves; an open end where it has none."""
    value, unit = step_or_given.value, step_or_given.unit
    if value is None:
        return "unbounded"
    if unit == "stops" and not hasattr(step_or_given, "symbol"):
        return f"{signed(value, 2)} stops"
    return f"{value:.5g} {unit}".strip().replace("-", MINUS)


def assumed(working: Step | WorkingPart) -> tuple[str, ...]:
    """What stands under a formula."""
    # The front page shows no working, and the words of every room hang on it.
    from webapp.web.words import workings

    return workings.assumed(working)


def mathml(latex: str) -> Markup:
    """A formula as MathML, which browsers set and screen readers speak; empty where it is none that is taken."""
    # The front page shows no working.
    from webapp.recipes.formulas import mathml_of

    return Markup(mathml_of(latex) or "")


def size(bytes_: int) -> str:
    """A size on the disk.

    >>> size(2_500_000_000), size(4_200_000)
    ('2.5 GB', '4.2 MB')
    """
    return f"{bytes_ / 1e9:.3g} GB" if bytes_ >= 1e9 else f"{bytes_ / 1e6:.3g} MB"


FILTERS: dict[str, Callable[..., Any]] = {
    "signed": signed,
    "tone": tone,
    "plural": plural,
    "size": size,
    "quantity": quantity,
    "mathml": mathml,
    "assumed": assumed,
    "citation": CITATIONS.__getitem__,
}
