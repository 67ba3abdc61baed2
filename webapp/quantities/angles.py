"""Angles in degrees: bearings round the subject, and how large something looks."""

from __future__ import annotations

import re
from typing import Final

from webapp.quantities.reading import NUMBER, plain, quoted

_BEARING: Final = re.compile(rf"([+-]?)\s*({NUMBER})\s*(?:°|deg|degrees)?\s*(left|right|l|r)?")
_TILT: Final = re.compile(rf"([+-]?)\s*({NUMBER})\s*(?:°|deg|degrees)?\s*(back|forward)?")
_DEGREES: Final = re.compile(rf"({NUMBER})\s*(?:°|deg|degrees)?")


def read_bearing(text: str) -> float:
    """A bearing: "45 left", "-45", "in front", "behind"; from −180 (excluded) to 180, + to the camera's right.

    Raises ValueError for what is none, or beyond 360°.
    """
    typed = plain(text)
    if typed in ("in front", "front"):
        return 0.0
    if typed == "behind":
        return 180.0
    match = _BEARING.fullmatch(typed)
    if match is None or float(match.group(2)) > 360.0:
        raise ValueError(f"{quoted(text)} is no bearing: write it as 45 left, 30 right, in front or behind.")
    left = (match.group(1) == "-") != ((match.group(3) or "") in ("left", "l"))
    turned = float(match.group(2)) * (-1.0 if left else 1.0)
    return 180.0 - (180.0 - turned) % 360.0


def bearing_text(bearing: float) -> str:
    """A bearing as it is spoken of, to the degree.

    >>> bearing_text(-45.0), bearing_text(0.2), bearing_text(180.0)
    ('45° left', 'in front', 'behind')
    """
    turned = round(bearing)
    if turned == 0:
        return "in front"
    if abs(turned) == 180:
        return "behind"
    return f"{abs(turned)}° {'right' if turned > 0 else 'left'}"


def read_tilt(text: str) -> float:
    """How far something leans: "20 back", "15 forward", "upright"; + is back. Raises ValueError for what is none, or beyond
    90°."""
    typed = plain(text)
    if typed in ("upright", "none"):
        return 0.0
    match = _TILT.fullmatch(typed)
    if match is None or float(match.group(2)) > 90.0:
        raise ValueError(f"{quoted(text)} is no tilt: write it as 20 back, 15 forward or upright, at most 90°.")
    forward = (match.group(1) == "-") != (match.group(3) == "forward")
    return float(match.group(2)) * (-1.0 if forward else 1.0)


def tilt_text(tilt: float) -> str:
    """A tilt as it is spoken of, to the degree.

    >>> tilt_text(20.0), tilt_text(-15.2), tilt_text(0.0)
    ('20° back', '15° forward', 'upright')
    """
    leaning = round(tilt)
    return f"{abs(leaning)}° {'back' if leaning > 0 else 'forward'}" if leaning else "upright"


def read_degrees(text: str) -> float:
    """An angle without a side: "20", "20°". Raises ValueError for what is none."""
    match = _DEGREES.fullmatch(plain(text))
    if match is None:
        raise ValueError(f"{quoted(text)} is no size: write degrees between 0 and 180, or the letter of a light.")
    return float(match.group(1))


def degrees_text(degrees: float) -> str:
    """
    >>> degrees_text(20.0)
    '20°'
    """
    return f"{degrees:g}°"
