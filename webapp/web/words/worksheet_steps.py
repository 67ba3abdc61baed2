"""One step up or down from what was typed: the next mark of a dial, of a tape, or the next round number."""

from __future__ import annotations

import math
from typing import Final

from webapp.optics.scales import Dial, Quantity
from webapp.quantities.lengths import Lengths
from webapp.quantities.marks import read_mark, stepped_mark, written
from webapp.quantities.numbers import number_text
from webapp.quantities.powers import fraction_text
from webapp.quantities.ratios import stepped_magnification
from webapp.quantities.stops import stops_text
from webapp.worksheets.parameters import Bare, Parameter, is_power, read_alone, unit_of

_STEP_STOPS: Final = 1.0 / 3.0
_STEP_DEGREES: Final = 5.0
_STEP_SHARE: Final = 0.05
_MARKED: Final = {
    "f_number": Quantity.F_NUMBER,
    "shutter": Quantity.SHUTTER,
    "iso": Quantity.ISO,
    "sync": Quantity.SHUTTER,
}
# Of the decade that a number lies in.
_ROUND: Final = 20.0


def marked_quantity(parameter: Parameter) -> Quantity | None:
    """What dial of the camera a mark is on; None for a parameter that is no mark."""
    if parameter.kind != "mark":
        return None
    return next(quantity for name, quantity in _MARKED.items() if parameter.name.endswith(name))


def can_step(parameter: Parameter) -> bool:
    """Whether a parameter has a next value: a number or a mark, and no time, which has a dial of its own."""
    return parameter.kind in ("number", "mark") and unit_of(parameter.name) != "s"


def stepped(parameter: Parameter, typed: str, steps: int, bare: Bare, dial: Dial) -> str:
    """What stands `steps` further than what was typed, as it would be typed; a bare length in the unit of `bare`.

    Of a mark that is a higher number on the dial. Raises ValueError for a text that cannot be read.
    """
    quantity = marked_quantity(parameter)
    if quantity is not None:
        mark = stepped_mark(read_mark(quantity, typed, dial), dial, steps)
        return written(quantity, mark.text)
    value = read_alone(parameter.name, typed, bare)
    if not math.isfinite(value):
        return typed
    if parameter.on_the_set:
        return number_text(_length(value, steps, bare.lengths) / bare.mm)
    if is_power(parameter.name):
        return fraction_text(min(0.0, _whole_steps(value, _STEP_STOPS, steps)))
    if parameter.unit == "stops":
        return stops_text(_whole_steps(value, _STEP_STOPS, steps))
    if parameter.unit == "°":
        return number_text(_whole_steps(value, _STEP_DEGREES, steps))
    if typed.rstrip().endswith("%"):
        return f"{number_text(max(0.0, 100.0 * _whole_steps(value, _STEP_SHARE, steps)))} %"
    if parameter.name.endswith("magnification"):
        return number_text(stepped_magnification(value, steps))
    return number_text(_round_number(value, steps))


def _length(length_mm: float, steps: int, lengths: Lengths) -> float:
    if length_mm <= 0.0:
        return length_mm + steps * lengths.mark_mm(fine=True)
    return lengths.stepped(length_mm, steps)


def _whole_steps(value: float, size: float, steps: int) -> float:
    # From between two steps the next one is the nearer way.
    rounded = math.floor(value / size + 1e-9) if steps > 0 else math.ceil(value / size - 1e-9)
    return round((rounded + steps) * size, 9) + 0.0


def _round_number(value: float, steps: int) -> float:
    if value == 0.0:
        return float(steps)
    inward = (steps < 0) == (value > 0.0)
    decade = math.floor(math.log10(abs(value)) - (1e-9 if inward else -1e-9))
    size = 10.0 ** (decade + 1) / _ROUND
    return _whole_steps(value, size, steps)
