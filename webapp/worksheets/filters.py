"""Filters and colour: what is taken away, and how the colour of light moves."""

from __future__ import annotations

from typing import Final

from pydantic import Field

from webapp.facts import fact
from webapp.optics import colour, filters
from webapp.worksheets.parameters import NotNegative, NotNegativeList, Number, Parameters, Positive, PositiveList
from webapp.worksheets.reasons import Reason
from webapp.worksheets.sheet import Gives, Sheet, Worksheet, at, one_of

# --- filter


class FilterAsks(Parameters):
    density: NotNegative | None = Field(None, examples=["0.9"])
    factor: Positive | None = None
    stops: NotNegative | None = None
    crossed_deg: NotNegative | None = None


def _filter(asked: FilterAsks) -> Sheet:
    given = one_of(asked, "density", "factor", "stops", "crossed_deg")
    with at(given):
        if asked.crossed_deg is not None:
            loss = filters.crossed_pair_stops(asked.crossed_deg)
            first = [filters.CROSSED_PAIR.worked(loss, θ=asked.crossed_deg)]
        elif asked.density is not None:
            loss = filters.stops_from_density(asked.density)
            first = [filters.STOPS_FROM_DENSITY.worked(loss, D=asked.density)]
        elif asked.factor is not None:
            loss = filters.stops_from_factor(asked.factor)
            first = [filters.STOPS_FROM_FACTOR.worked(loss, F=asked.factor)]
        else:
            assert asked.stops is not None
            loss, first = asked.stops, []
        if asked.crossed_deg == _CROSSED:
            return Sheet(
                {"density": None, "factor": None, "stops": None, "transmission": 0.0},
                tuple(first),
                (_PERFECT_PAIR, fact(Reason.CROSSED_PASSES_NOTHING)),
            )
        density = filters.density_from_stops(loss) if asked.density is None else asked.density
        factor = filters.factor_from_stops(loss) if asked.factor is None else asked.factor
        passed = filters.transmission_from_stops(loss)
    steps = [
        *first,
        filters.DENSITY_FROM_STOPS.worked(density, n=loss),
        filters.FACTOR_FROM_STOPS.worked(factor, n=loss),
        filters.TRANSMISSION.worked(passed, n=loss),
    ]
    return Sheet(
        {"density": density, "factor": factor, "stops": loss, "transmission": passed},
        tuple(steps),
        (_PERFECT_PAIR,) if asked.crossed_deg is not None else (),
    )


_CROSSED: Final = 90.0
_PERFECT_PAIR: Final = fact(Reason.BEYOND_PARALLEL_AXES)


FILTER: Final = Worksheet(
    name="filter",
    asks=FilterAsks,
    work=_filter,
    gives=(
        Gives("stops", may_be_none=True, loss=True),
        Gives("factor", may_be_none=True),
        Gives("density", may_be_none=True),
        Gives("transmission"),
    ),
    blame="density",
)

# --- colour shift


class ColourShiftAsks(Parameters):
    from_kelvin: Positive = Field(examples=["3200"])
    to_kelvin: Positive | None = Field(None, examples=["5500"])
    shift_mired: Number | None = None


def _colour_shift(asked: ColourShiftAsks) -> Sheet:
    given = one_of(asked, "to_kelvin", "shift_mired")
    with at("from_kelvin"):
        before = colour.mired(asked.from_kelvin)
    with at(given):
        if asked.to_kelvin is not None:
            to, shift = asked.to_kelvin, colour.mired_shift(asked.from_kelvin, asked.to_kelvin)
            step = colour.MIRED_SHIFT.worked(shift, T_1=asked.from_kelvin, T_2=to)
        else:
            assert asked.shift_mired is not None
            to, shift = colour.kelvin_after_shift(asked.from_kelvin, asked.shift_mired), asked.shift_mired
            step = colour.KELVIN_AFTER_SHIFT.worked(to, T_1=asked.from_kelvin, ΔM=shift)
    return Sheet(
        {"shift_mired": shift, "to_kelvin": to},
        (colour.MIRED.worked(before, T=asked.from_kelvin), step),
        (fact(Reason.SHIFT_IS_OF_THE_GEL),),
    )


COLOUR_SHIFT: Final = Worksheet(
    name="colour-shift",
    asks=ColourShiftAsks,
    work=_colour_shift,
    gives=(Gives("shift_mired"), Gives("to_kelvin")),
    blame="from_kelvin",
)

# --- colour mix


class ColourMixAsks(Parameters):
    kelvin: PositiveList = Field(examples=["3200; 5600"])
    shares: NotNegativeList = Field(examples=["50 %; 50 %"])


def _colour_mix(asked: ColourMixAsks) -> Sheet:
    with at("kelvin"):
        for each in asked.kelvin:
            colour.mired(each)
    with at("shares"):
        mixed = colour.mix(asked.kelvin, asked.shares)
    place, near = mixed.chromaticity, mixed.correlated.on_locus
    kelvin, duv = mixed.correlated.kelvin, mixed.correlated.duv
    return Sheet(
        {"kelvin": kelvin, "duv": duv},
        (
            colour.COLOUR_MIX.worked(kelvin, u=place.u, v=place.v),
            colour.DUV.worked(duv, u=place.u, v=place.v, u_0=near.u, v_0=near.v),
        ),
        (fact(Reason.TAKEN_ON_THE_LOCUS),),
    )


COLOUR_MIX: Final = Worksheet(
    name="colour-mix",
    asks=ColourMixAsks,
    work=_colour_mix,
    gives=(Gives("kelvin"), Gives("duv")),
    blame="kelvin",
)
