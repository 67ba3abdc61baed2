"""How a length on the set is written and typed: in centimetres or in inches, as the tape in the house is marked."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final

MM_PER_INCH: Final = 25.4
"""The international inch, exact by its definition of 1959."""

UNITS: Final = ("cm", "in")
"""What a reader may like lengths in, as it stands behind a figure."""

# Within this of a quarter of an inch a length lies on that mark of the tape.
_ON_THE_MARK_INCHES: Final = 0.002
_CENTIMETRES: Final = re.compile(r"(-?\d+(?:\.\d+)?) cm")
_BARE_NUMBER: Final = re.compile(r"([+-]?(?:\d+\.?\d*|\.\d+))\s*(above|below|up|down)?", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Lengths:
    """The way of one reader with lengths. Everything is kept in millimetres; this is how it is told and asked for."""

    inches: bool = False

    @property
    def unit(self) -> str:
        """As it stands behind a figure: "cm" or "in"."""
        return UNITS[self.inches]

    def text(self, length_mm: float | None) -> str:
        """A length as it is read off a tape: tenths of a centimetre or of an inch, quarters of an inch as they are.

        >>> Lengths().text(805.0), Lengths(inches=True).text(600.0), Lengths(inches=True).text(565.15)
        ('80.5 cm', '23.6 in', '22.25 in')
        >>> Lengths().text(None)
        'unknown'
        """
        if length_mm is None:
            return "unknown"
        return f"{self._in_inches(length_mm / MM_PER_INCH) if self.inches else _tenths(length_mm / 10.0)} {self.unit}"

    def retold(self, text: str) -> str:
        """A text that was saved as a length in centimetres, in the reader's unit; any other text as it is.

        >>> Lengths(inches=True).retold("80 cm"), Lengths(inches=True).retold("disc 60 cm")
        ('31.5 in', 'disc 60 cm')
        """
        found = _CENTIMETRES.fullmatch(text) if self.inches else None
        return self.text(float(found.group(1)) * 10.0) if found else text

    def typed(self, text: str) -> str:
        """What was typed, with the reader's unit behind a number that has none. Without a unit a number is in
        centimetres wherever lengths are read, so those stay as they are.

        >>> Lengths(inches=True).typed("−12,5"), Lengths(inches=True).typed("8 above"), Lengths().typed("30")
        ('-12.5 in', '8 in above', '30')
        """
        plain = text.strip().replace("−", "-").replace(",", ".")
        found = _BARE_NUMBER.fullmatch(plain) if self.inches else None
        return f"{found.group(1)} in {found.group(2) or ''}".strip() if found else plain

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
        quarter = round(inches * 4.0) / 4.0
        return f"{quarter:.7g}" if abs(inches - quarter) < _ON_THE_MARK_INCHES else _tenths(inches)


CENTIMETRES: Final = Lengths()
"""How lengths are written into the records, and told to whoever has not said otherwise."""


def _tenths(length: float) -> str:
    return f"{length:.1f}".rstrip("0").rstrip(".")
