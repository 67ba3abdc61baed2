"""Figures of worksheets and their drawings as a page prints them: three digits, a mark where there is a scale, and the
unit that the reader likes."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, replace
from typing import Final

from webapp.optics.scales import Dial, Quantity, marks, nearest_mark, stops_of
from webapp.optics.working import Given, Step
from webapp.quantities.lengths import MM_PER_INCH, Lengths
from webapp.quantities.powers import fraction_text
from webapp.worksheets.parameters import is_in_millimetres, is_power, unit_of, words_of

MINUS: Final = "−"
# Shorter than this a length is told in millimetres, whoever reads it; one of lens and sensor up to the second.
_SHORT_MM: Final = 10.0
_SHORT_IN_THE_LENS_MM: Final = 100.0
# From here on in metres or feet.
_FAR_MM: Final = {False: 10_000.0, True: 40.0 * 12.0 * MM_PER_INCH}
_MM_PER_FOOT: Final = 12.0 * MM_PER_INCH


@dataclass(frozen=True, slots=True)
class Ruler:
    """A unit of length: its name, and how many millimetres it is."""

    unit: str
    mm: float

    def __call__(self, length_mm: float) -> float:
        return length_mm / self.mm

    def text(self, length_mm: float) -> str:
        return f"{digits(length_mm / self.mm)} {self.unit}"


_MILLIMETRES: Final = Ruler("mm", 1.0)


def ruler(lengths: Lengths, longest_mm: float, *, in_the_lens: bool = False) -> Ruler:
    """The unit in which lengths up to this are told.

    >>> ruler(Lengths(), 600.0).unit, ruler(Lengths(inches=True), 600.0).unit, ruler(Lengths(), 1.9).unit
    ('cm', 'in', 'mm')
    """
    longest_mm = abs(longest_mm)
    if 0.0 < longest_mm < (_SHORT_IN_THE_LENS_MM if in_the_lens else _SHORT_MM):
        return _MILLIMETRES
    if math.isfinite(longest_mm) and longest_mm >= _FAR_MM[lengths.inches]:
        return Ruler("ft", _MM_PER_FOOT) if lengths.inches else Ruler("m", 1000.0)
    return Ruler("in", MM_PER_INCH) if lengths.inches else Ruler("cm", 10.0)


def length_text(length_mm: float, lengths: Lengths, *, in_the_lens: bool = False) -> str:
    """A length to three digits.

    >>> length_text(605.4, Lengths()), length_text(600.0, Lengths(inches=True)), length_text(26_300.0, Lengths())
    ('60.5 cm', '23.6 in', '26.3 m')
    """
    return ruler(lengths, length_mm, in_the_lens=in_the_lens).text(length_mm)


def digits(value: float, count: int = 3) -> str:
    """A number to so many significant digits, with a true minus.

    >>> digits(19.63), digits(81_920.0), digits(-0.005767), digits(0.0), digits(2e-7)
    ('19.6', '81 900', '−0.00577', '0', '2e−07')
    """
    if not math.isfinite(value):
        return "∞"
    rounded = float(f"{value:.{count}g}") + 0.0
    if rounded and not 1e-4 <= abs(rounded) < 1e9:
        return f"{rounded:g}".replace("-", MINUS)
    text = f"{rounded:,.9f}".rstrip("0").rstrip(".")
    return text.replace(",", " " if abs(rounded) >= 1e4 else "").replace("-", MINUS)


def f_number_text(f_number: float, dial: Dial = Dial.THIRD) -> str:
    """The nearest mark of the scale, and beyond its ends the number.

    >>> f_number_text(19.6), f_number_text(600.0)
    ('f/20', 'f/600')
    """
    stops = stops_of(Quantity.F_NUMBER, f_number)
    ends = marks(Quantity.F_NUMBER, dial)
    if not ends[0].stops - 0.5 <= stops <= ends[-1].stops + 0.5:
        return f"f/{digits(f_number)}"
    return f"f/{nearest_mark(Quantity.F_NUMBER, stops, dial).text}"


_PARTS_OF_A_WHOLE: Final = ("shares", "transmission", "edge_share")


def figure(name: str, value: object, lengths: Lengths, *, loss: bool = False) -> tuple[str, str]:
    """A result by its name, and the unit behind it.

    >>> figure("change_stops", -4.0, Lengths()), figure("far_mm", 2630.0, Lengths()), figure("pops", 30, Lengths())
    (('−4.00', 'stops'), ('263', 'cm'), ('30', ''))
    >>> figure("f_number", 19.6, Lengths()), figure("to_power_stops", -5.0, Lengths())
    (('f/20', ''), ('1/32', ''))
    """
    unit = unit_of(name)
    if isinstance(value, bool):
        return ("yes" if value else "no"), ""
    if not isinstance(value, (int, float)):
        return str(value).replace("_", " "), ""
    if isinstance(value, int):
        return f"{value:,}".replace(",", " "), unit
    if name.endswith("f_number"):
        return f_number_text(value), ""
    if is_power(name):
        return fraction_text(value), ""
    if name in _PARTS_OF_A_WHOLE:
        return f"{digits(100.0 * value)} %", ""
    if unit == "stops":
        return (f"{value:.2f}" if loss else signed_stops(value)), unit
    if unit == "mm":
        measure = ruler(lengths, value, in_the_lens=is_in_millimetres(words_of(name)))
        return digits(measure(value)), measure.unit
    if name.endswith("iso") and value > 0.0:
        return nearest_mark(Quantity.ISO, stops_of(Quantity.ISO, value), Dial.THIRD).text, ""
    if unit == "°":
        return f"{digits(value)}°", ""
    return digits(value), unit


def signed_stops(stops: float) -> str:
    """Stops to the hundredth, with their sign.

    >>> signed_stops(-4.0), signed_stops(0.001)
    ('−4.00', '0.00')
    """
    return "0.00" if abs(stops) < 0.005 else f"{stops:+.2f}".replace("-", MINUS)


def read_in(step: Step, lengths: Lengths) -> Step:
    """A working with the lengths of the set in the reader's unit; those of lens and sensor stay in millimetres.

    A formula holds in any unit, so that only what was put in and what came out is told anew.
    """
    value, unit = _told(step.result, step.value, step.unit, lengths)
    return replace(step, value=value, unit=unit, given=tuple(_given(each, lengths) for each in step.given))


def _given(given: Given, lengths: Lengths) -> Given:
    value, unit = _told(given.meaning, given.value, given.unit, lengths)
    return replace(given, value=value, unit=unit)


def _told(words: str, value: float | None, unit: str, lengths: Lengths) -> tuple[float | None, str]:
    if unit != "mm" or value is None:
        return value, unit
    measure = ruler(lengths, value, in_the_lens=is_in_millimetres(words))
    return measure(value), measure.unit


_TOLD_MM: Final = re.compile(r"(-?[\d.]+(?:e[+-]?\d+)?) mm\b")


def refusal_in(message: str, lengths: Lengths) -> str:
    """A refusal with its lengths in the reader's unit; what is told of a lens stays in millimetres.

    >>> refusal_in("The width must be above 0, not -20 mm.", Lengths())
    'The width must be above 0, not −2 cm.'
    """
    in_the_lens = is_in_millimetres(message)
    return _TOLD_MM.sub(lambda found: length_text(float(found.group(1)), lengths, in_the_lens=in_the_lens), message)
