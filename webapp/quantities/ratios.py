"""Ratios: a magnification on the sensor, and key to fill."""

from __future__ import annotations

import math
import re
from typing import Final

from webapp.quantities.reading import NUMBER, UNKNOWN, plain, quoted

DISTANT: Final = 0.0
"""The magnification of a subject far away."""
GREATEST_MAGNIFICATION: Final = 100.0
_DISTANT_WORDS: Final = ("distant", "far", "infinity")
_MAGNIFICATION: Final = re.compile(rf"({NUMBER})(?:\s*[:/]\s*({NUMBER}))?\s*[x×]?")
_RATIO: Final = re.compile(rf"({NUMBER})\s*(?::|to)?\s*({NUMBER})?")


def read_magnification(text: str) -> float:
    """A magnification: "0.5", "1:2", "2:1", "0.5x"; "distant" and 0 are a subject far away.

    Raises ValueError for what is none, or more than 100.
    """
    typed = plain(text)
    if typed in _DISTANT_WORDS:
        return DISTANT
    match = _MAGNIFICATION.fullmatch(typed)
    below = float(match.group(2)) if match and match.group(2) else 1.0
    magnification = float(match.group(1)) / below if match and below else math.nan
    return checked_magnification(magnification, text)


def checked_magnification(magnification: float, typed: str = "") -> float:
    """A magnification that may be set. Raises ValueError below 0 and above 100."""
    if not 0.0 <= magnification <= GREATEST_MAGNIFICATION:
        shown = quoted(typed or f"{magnification:g}")
        raise ValueError(f"{shown} is no magnification: write it as 0.5, 1:2 or distant, up to 100.")
    return magnification


def stepped_magnification(magnification: float, steps: int) -> float:
    """The magnification `steps` clicks up or down: a twentieth below life size, a tenth above it."""
    size = 0.05 if magnification < 1 or (magnification == 1 and steps < 0) else 0.1
    stepped = max(0.0, round(magnification / size) * size + steps * size)
    return min(round(stepped, 2), GREATEST_MAGNIFICATION)


def magnification_text(magnification: float | None) -> str:
    """A magnification as it is spoken of: "0.5", or "distant" for 0.

    >>> magnification_text(0.5), magnification_text(0.0), magnification_text(None)
    ('0.5', 'distant', 'unknown')
    """
    if magnification is None:
        return UNKNOWN
    return "distant" if magnification == DISTANT else f"{magnification:.3g}"


def read_ratio(text: str) -> float:
    """A lighting ratio as a number: "3:1", "3 to 1", "3". Raises ValueError for what is none.

    >>> read_ratio("3:1"), read_ratio("1,5 : 1")
    (3.0, 1.5)
    """
    match = _RATIO.fullmatch(plain(text))
    above = float(match.group(1)) if match else 0.0
    below = float(match.group(2)) if match and match.group(2) else 1.0
    ratio = above / below if below > 0.0 else 0.0
    if not 0.0 < ratio < math.inf:
        raise ValueError(f"{quoted(text)} is no ratio: write it as 3:1.")
    return ratio


def ratio_text(ratio: float) -> str:
    """A lighting ratio as it is typed, 1 standing for the weaker side.

    >>> ratio_text(3.0), ratio_text(1.5), ratio_text(0.25)
    ('3:1', '1.5:1', '1:4')
    """
    return f"{ratio:g}:1" if ratio >= 1.0 else f"1:{1.0 / ratio:g}"
