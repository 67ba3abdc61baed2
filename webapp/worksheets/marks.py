"""What the marks of a dial, and the codes of a picture file, stand for."""

from __future__ import annotations

import math
from collections.abc import Mapping
from enum import StrEnum
from typing import Any, Final

from pydantic import Field

from webapp.facts import fact
from webapp.optics import tone
from webapp.optics.assumptions import Assumption
from webapp.optics.scales import Dial, Quantity, dial_steps_stops, other_readings
from webapp.optics.working import Relation, Step, Symbol
from webapp.quantities.marks import literal, read_mark
from webapp.quantities.powers import PowerDial, fraction_text
from webapp.worksheets.parameters import Number, OnADial, Parameters, mark_cautions
from webapp.worksheets.reasons import Reason
from webapp.worksheets.sheet import Gives, Sheet, Worksheet, at

# --- marked value


class MarkedQuantity(StrEnum):
    """What a dial may set."""

    F_NUMBER = "f_number"
    SHUTTER = "shutter"
    ISO = "iso"
    POWER = "power"


class MarkedValueAsks(OnADial):
    quantity: MarkedQuantity = Field(examples=["f_number"])
    mark: str = Field(examples=["f/13"])


_LITERAL_MINUS_EXACT: Final = Relation(
    result="literal minus exact",
    unit="stops",
    formula="Δ = log2(literal / exact), doubled for an f-number",
    latex=r"\Delta = k \log_2 \frac{x_{\mathrm{mark}}}{x_{\mathrm{exact}}}",
    symbols=(Symbol("literal", "the number that the mark says"), Symbol("exact", "the value that it names")),
    source="definition",
    assumptions=(
        Assumption.LITERAL_IS_LARGER,
        Assumption.FACTOR_TWO_FOR_F_NUMBERS,
    ),
)
_POWER_LITERAL_MINUS_EXACT: Final = Relation(
    result="literal minus exact",
    unit="stops",
    formula="Δ = literal − exact",
    latex=r"\Delta = p_{\mathrm{mark}} - p_{\mathrm{exact}}",
    symbols=(
        Symbol("literal", "the power that the mark says, stops below full", "stops"),
        Symbol("exact", "the power that it names", "stops"),
    ),
    source="definition",
)
_EXACT_F_NUMBER: Final = Relation(
    "exact f-number",
    "",
    "N = 2^(Av / 2)",
    r"N = 2^{A_v / 2}",
    (Symbol("Av", "place on the scale", "stops"),),
    "iso-517",
)
_EXACT_TIME: Final = Relation(
    "exact time",
    "s",
    "t = 2^(−Tv)",
    r"t = 2^{-T_v}",
    (Symbol("Tv", "place on the scale", "stops"),),
    "iso-516",
)
_EXACT_ISO: Final = Relation(
    "exact ISO",
    "",
    "S = 100 · 2^s",
    r"S = 100 \cdot 2^{s}",
    (Symbol("s", "stops above ISO 100", "stops"),),
    "iso-3-r10",
)
_EXACT: Final[dict[Quantity, tuple[Relation, str, float]]] = {
    Quantity.F_NUMBER: (_EXACT_F_NUMBER, "Av", 2.0),
    Quantity.SHUTTER: (_EXACT_TIME, "Tv", 1.0),
    Quantity.ISO: (_EXACT_ISO, "s", 1.0),
}
# The darkest that a power dial may name: a millionth.
_LOWEST_POWER_STOPS: Final = -20.0
# A smaller difference is the same mark read twice.
_NO_CHANGE_STOPS: Final = 1e-9
# So fine that what is typed is read to the last digit that matters.
_STEPLESS: Final = 1e-9
# A mark shows tenths or thirds of a stop: within half a tenth it names the step beside it.
_NAMES_WITHIN_STOPS: Final = 0.05 + 1e-9


def _marked_value(asked: MarkedValueAsks) -> Sheet:
    if asked.quantity is MarkedQuantity.POWER:
        return _marked_power(asked)
    quantity = Quantity(asked.quantity.value)
    with at("mark"):
        marked = read_mark(quantity, asked.mark, asked.dial)
    # Of a mark and a part ("5.6+0.3") what it names; of any other the number that it says.
    said = literal(quantity, asked.mark) or marked.exact
    relation, symbol, factor = _EXACT[quantity]
    place: dict[str, Any] = {symbol: marked.stops}
    off_stops = factor * math.log2(said / marked.exact)
    return Sheet(
        {
            "exact": marked.exact,
            "literal_minus_exact_stops": off_stops,
            "other_readings": _other_readings(other_readings(quantity, marked)),
        },
        (
            relation.worked(marked.exact, **place),
            _LITERAL_MINUS_EXACT.worked(off_stops, literal=said, exact=marked.exact),
        ),
        tuple(mark_cautions(asked.dial, marked)),
    )


def _marked_power(asked: MarkedValueAsks) -> Sheet:
    with at("mark"):
        said = PowerDial(_LOWEST_POWER_STOPS, _STEPLESS).read(asked.mark, standing_stops=0.0)
    named = {dial: _power_named(said, dial) for dial in Dial}
    exact = named[asked.dial]
    cautions = []
    if exact is None:
        cautions.append(fact(Reason.POWER_ON_NO_DIAL, fraction_text(said), dial=asked.dial))
    read_as = said if exact is None else exact
    off_stops = said - read_as
    others = {
        dial: each for dial, each in named.items() if each is not None and abs(each - read_as) > _NO_CHANGE_STOPS
    }
    return Sheet(
        {
            "exact": read_as,
            "literal_minus_exact_stops": off_stops,
            "other_readings": _other_readings(others),
        },
        (_POWER_LITERAL_MINUS_EXACT.worked(off_stops, literal=said, exact=read_as),),
        tuple(cautions),
    )


def _power_named(said: float, dial: Dial) -> float | None:
    nearest = PowerDial(_LOWEST_POWER_STOPS, dial_steps_stops(dial)).nearest(said)
    return nearest if abs(nearest - said) <= _NAMES_WITHIN_STOPS else None


def _other_readings(found: Mapping[Dial, float]) -> list[Mapping[str, Any]]:
    return [{"dial": str(dial), "exact": exact} for dial, exact in found.items()]


MARKED_VALUE: Final = Worksheet(
    name="marked-value",
    asks=MarkedValueAsks,
    work=_marked_value,
    gives=(Gives("exact"), Gives("literal_minus_exact_stops"), Gives("other_readings")),
    blame="mark",
)

# --- pixel levels


class PixelLevelsAsks(Parameters):
    from_level: Number = Field(examples=["64"])
    to_level: Number = Field(examples=["128"])


def _pixel_levels(asked: PixelLevelsAsks) -> Sheet:
    with at("from_level"):
        from_uncertain = tone.quantisation_stops(asked.from_level)
    with at("to_level"):
        to_uncertain = tone.quantisation_stops(asked.to_level)
    difference = tone.level_difference_stops(asked.from_level, asked.to_level)
    lights = [tone.linear_from_srgb(level / TOP_CODE) for level in (asked.from_level, asked.to_level)]
    steps = [
        tone.SRGB.worked(light, V=level / TOP_CODE)
        for light, level in zip(lights, (asked.from_level, asked.to_level), strict=True)
    ]
    return Sheet(
        {"difference_stops": difference, "quantisation_stops": from_uncertain + to_uncertain},
        (
            *steps,
            tone.LEVEL_DIFFERENCE.worked(difference, L1=lights[0], L2=lights[1]),
            _uncertainty_step(asked.from_level, from_uncertain),
            _uncertainty_step(asked.to_level, to_uncertain),
        ),
        (fact(Reason.TONE_UNBENT),),
    )


TOP_CODE: Final = 255.0


def _uncertainty_step(level: float, uncertain_stops: float) -> Step:
    above, below = (tone.linear_from_srgb((level + half) / TOP_CODE) for half in (0.5, -0.5))
    return tone.QUANTISATION.worked(uncertain_stops, L_above=above, L_below=below)


PIXEL_LEVELS: Final = Worksheet(
    name="pixel-levels",
    asks=PixelLevelsAsks,
    work=_pixel_levels,
    gives=(Gives("difference_stops"), Gives("quantisation_stops", loss=True)),
    blame="from_level",
)
