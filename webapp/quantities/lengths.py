"""How a length on the set is written and typed: in centimetres or in inches, as the tape in the house is marked."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Final

from webapp.quantities.reading import NUMBER, UNKNOWN, plain, quoted

MM_PER_INCH: Final = 25.4
"""The international inch, exact by its definition of 1959."""

UNITS: Final = ("cm", "in")
"""What a reader may like lengths in, as it stands behind a figure."""

# Within this of a quarter of an inch a length lies on that mark of the tape.
_ON_THE_MARK_INCHES: Final = 0.002
_UNITS_MM: Final = {
    "mm": 1.0,
    "cm": 10.0,
    "m": 1000.0,
    "in": MM_PER_INCH,
    "inch": MM_PER_INCH,
    "inches": MM_PER_INCH,
    '"': MM_PER_INCH,
    "''": MM_PER_INCH,
    "ft": 12.0 * MM_PER_INCH,
    "foot": 12.0 * MM_PER_INCH,
    "feet": 12.0 * MM_PER_INCH,
    "'": 12.0 * MM_PER_INCH,
}
# A number, one with a fraction behind it (18 1/2, 18-1/2), or a fraction alone; ½ is written out before.
_MIXED: Final = rf"(?:{NUMBER}(?:(?:\s+|\s*-\s*)\d+\s*/\s*\d+)?|\d+\s*/\s*\d+|\d+\.)"
_INCH: Final = r"(?:\"|''|in|inch|inches)"
_SIDE: Final = r"\s*(above|below|up|down)?"
_LENGTH: Final = re.compile(rf"([+-]?)\s*({_MIXED})\s*(mm|cm|m|in|inch|inches|\"|''|ft|foot|feet|')?{_SIDE}")
_FEET: Final = re.compile(rf"([+-]?)\s*(\d+)\s*(?:'|ft|foot|feet)\s*-?\s*({_MIXED})\s*{_INCH}?{_SIDE}")
_FRACTIONS: Final = {
    "¼": " 1/4", "½": " 1/2", "¾": " 3/4", "⅛": " 1/8", "⅜": " 3/8", "⅝": " 5/8", "⅞": " 7/8", "⅓": " 1/3", "⅔": " 2/3",
}  # fmt: skip
_QUARTERS: Final = ("", "¼", "½", "¾")
# The marks of feet and inches as keyboards and typesetters have them.
_PRIMES: Final = str.maketrans({"′": "'", "’": "'", "‘": "'", "″": '"', "”": '"', "“": '"', "⁄": "/"})
_FURTHEST_READ_MM: Final = 1e9
"""A thousand kilometres: past it a text is no length that anybody meant, nor one that can be told in a line."""
SHORTEST_MM: Final = 1.0
LONGEST_MM: Final = 100_000.0
"""What a distance on a set may be: from a millimetre to 100 m."""


@dataclass(frozen=True, slots=True)
class Lengths:
    """The way of one reader with lengths. Everything is kept in millimetres; this is how it is told and asked for."""

    inches: bool = False

    @property
    def unit(self) -> str:
        """As it stands behind a figure: "cm" or "in"."""
        return UNITS[self.inches]

    def text(self, length_mm: float | None) -> str:
        """A length as it is read off a tape: tenths of a centimetre or of an inch, quarters of an inch as they are marked.

        >>> Lengths().text(805.0), Lengths(inches=True).text(600.0), Lengths(inches=True).text(565.15)
        ('80.5 cm', '23.6 in', '22¼ in')
        >>> Lengths().text(None)
        'unknown'
        """
        if length_mm is None:
            return UNKNOWN
        return f"{self._in_inches(length_mm / MM_PER_INCH) if self.inches else _tenths(length_mm / 10.0)} {self.unit}"

    def read(self, text: str, *, bare_mm: float | None = None) -> float:
        """A distance in millimetres, as people write it: "60 cm", "0,5 m", "600 mm", "24 in", 2'6", 18 1/2", "18½ in", or
        a bare number in the reader's unit; where a form has its own unit, in that (`bare_mm`).

        Raises ValueError for what is none, and outside 1 mm to 100 m.

        >>> Lengths().read("60"), Lengths(inches=True).read("24,5"), Lengths(inches=True).read("60 cm")
        (600.0, 622.3, 600.0)
        >>> Lengths().read("2'6"), Lengths().read("2′ 6 1/2″"), Lengths().read('18½"'), Lengths().read("0,5 m")
        (762.0, 774.7, 469.9, 500.0)
        """
        signed_mm = self._signed_mm(text, bare_mm)
        if signed_mm is None or signed_mm[1]:
            raise self._no_distance(text)
        return checked_distance_mm(signed_mm[0], self._no_distance(text, signed_mm[0]))

    def read_offset(self, text: str, what: str = "a length", *, bare_mm: float | None = None) -> float:
        """A length with a side: "40", "-12 in", "5 cm below", 1'6" above. Raises ValueError for what is none, or more
        than 100 m; `what` is what it calls it.

        >>> Lengths().read_offset("5 below"), Lengths(inches=True).read_offset("−8")
        (-50.0, -203.2)
        """
        signed_mm = self._signed_mm(text, bare_mm)
        if signed_mm is None:
            examples = "16 in, −2½ in or 40 cm" if self.inches else "40 cm, −5 cm or 16 in"
            raise ValueError(f"{quoted(text)} is not {what}: write it as {examples}.")
        length_mm, _ = signed_mm
        if abs(length_mm) > LONGEST_MM:
            raise ValueError(f"{quoted(text)} is more than 100 m: it reads {self.text(abs(length_mm))}.")
        return round(length_mm, 3) + 0.0

    def _signed_mm(self, text: str, bare_mm: float | None) -> tuple[float, bool] | None:
        """The millimetres that a text says, and whether it says a sign or a side; None where it says no length."""
        typed = text.translate(_PRIMES)
        for sign, spelt in _FRACTIONS.items():
            typed = typed.replace(sign, spelt)
        typed = plain(typed)
        try:
            if feet := _FEET.fullmatch(typed):
                sign, whole, inches, side = feet.groups()
                length_mm = (12.0 * float(whole) + _mixed(inches)) * MM_PER_INCH
            elif match := _LENGTH.fullmatch(typed):
                sign, number, unit, side = match.groups()
                bare = _UNITS_MM[self.unit] if bare_mm is None else bare_mm
                length_mm = _mixed(number) * (bare if unit is None else _UNITS_MM[unit])
            else:
                return None
        except ZeroDivisionError:
            return None
        if not length_mm <= _FURTHEST_READ_MM:
            return None
        is_down = (sign == "-") != (side in ("below", "down"))
        return (-length_mm if is_down else length_mm), bool(sign or side)

    def _no_distance(self, text: str, read_mm: float | None = None) -> ValueError:
        examples = "24 in, 2'6\" or 60 cm" if self.inches else "60 cm, 0.6 m or 24 in"
        read = "" if read_mm is None else f" (it reads {self.text(read_mm)})"
        return ValueError(f"{quoted(text)} is no distance: write it as {examples}, from 1 mm to 100 m{read}.")

    def offset_text(self, length_mm: float) -> str:
        """A length with a side, as it is typed: "20 cm above".

        >>> Lengths().offset_text(-50.0), Lengths(inches=True).offset_text(203.2)
        ('5 cm below', '8 in above')
        """
        return f"{self.text(abs(length_mm))} {'below' if length_mm < 0.0 else 'above'}"

    def stepped(self, length_mm: float, steps: int) -> float:
        """The length `steps` marks of the tape further: whole marks from 30 cm, half of that nearer, five from 1 m."""
        size_mm = self.mark_mm(fine=length_mm < 300.0) * (5.0 if length_mm >= 1000.0 else 1.0)
        return min(max(size_mm, length_mm + steps * size_mm), LONGEST_MM)

    def sides(self, *sides_mm: float | None) -> str:
        """The size of a face by its sides, those that it has: "" where it has none.

        >>> Lengths().sides(300.0, 1200.0), Lengths(inches=True).sides(600.0, None), Lengths().sides(None)
        ('30 × 120 cm', '23.6 in', '')
        """
        figures = [self.text(side).removesuffix(f" {self.unit}") for side in sides_mm if side]
        return f"{' × '.join(figures)} {self.unit}" if figures else ""

    def difference(self, length_mm: float) -> str:
        """How much longer one length is than another, with its sign.

        >>> Lengths().difference(25.0), Lengths(inches=True).difference(-25.4)
        ('+2.5 cm', '−1.0 in')
        """
        return f"{length_mm / (MM_PER_INCH if self.inches else 10.0):+.1f} {self.unit}".replace("-", "−")

    def nearest_mark_mm(self, length_mm: float, *, fine: bool) -> float:
        """The mark of the tape that lies nearest, in millimetres: the whole centimetre or half an inch, and where the
        set is close (`fine`) half of that.

        >>> Lengths().nearest_mark_mm(567.0, fine=False), Lengths(inches=True).nearest_mark_mm(567.0, fine=False)
        (570.0, 571.5)
        """
        step_mm = self.mark_mm(fine=fine)
        return round(round(length_mm / step_mm) * step_mm, 4)

    def mark_mm(self, *, fine: bool) -> float:
        """From one mark of the tape to the next, in millimetres."""
        whole_mm = MM_PER_INCH / 2.0 if self.inches else 10.0
        return whole_mm / 2.0 if fine else whole_mm

    @staticmethod
    def _in_inches(inches: float) -> str:
        quarters = round(inches * 4.0)
        if abs(inches - quarters / 4.0) >= _ON_THE_MARK_INCHES:
            halves = round(round(inches, 1) * 2.0, 1)
            # A tenth that lies on a mark is written as that, since so it is written when it was read back.
            if halves != round(halves):
                return _tenths(inches)
            quarters = 2 * round(halves)
        whole, part = divmod(quarters, 4)
        return f"{whole or ('' if part else 0)}{_QUARTERS[part]}"


CENTIMETRES: Final = Lengths()
"""How lengths are written into the records, and told to whoever has not said otherwise."""


def _mixed(text: str) -> float:
    """A number with or without a fraction behind it.

    >>> _mixed("18 1/2"), _mixed("18-1/2"), _mixed("3/4"), _mixed("18.5")
    (18.5, 18.5, 0.75, 18.5)
    """
    above, slash, below = text.partition("/")
    if not slash:
        return float(text)
    whole, _, over = above.strip().replace("-", " ").rpartition(" ")
    return float(whole or 0.0) + float(over) / float(below)


def _tenths(length: float) -> str:
    return f"{length:.1f}".rstrip("0").rstrip(".")


def checked_distance_mm(length_mm: float, refusal: ValueError | None = None) -> float:
    """A distance that may be set, to a thousandth of a millimetre. Raises ValueError outside 1 mm to 100 m."""
    if not (math.isfinite(length_mm) and SHORTEST_MM <= length_mm <= LONGEST_MM):
        raise refusal or ValueError(f"{length_mm:g} mm is no distance: from 1 mm to 100 m.")
    return round(length_mm, 3)
