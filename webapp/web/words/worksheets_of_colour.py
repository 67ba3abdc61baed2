"""What the worksheets of filters, colour and formats say."""

from __future__ import annotations

from typing import Final

from webapp.web.words.worksheet_names import Named, SheetWords

_FILTERS_AND_COLOUR: Final = "Filters and colour"
_FORMATS: Final = "Formats"

SHEETS: Final = (
    SheetWords(
        "filter",
        _FILTERS_AND_COLOUR,
        "Filter",
        "Density, factor and stops of one filter, and what a pair of polarisers takes away.",
        asks={
            "density": Named(words="as in ND 0.9"),
            "factor": Named(words="as in ND8"),
            "stops": Named("loss", "positive"),
            "crossed_deg": Named("polarisers crossed by", "angle between the axes of a pair; 0° is parallel"),
        },
        gives={
            "density": Named(none="nothing passes"),
            "factor": Named(words="by which the exposure is multiplied", none="nothing passes"),
            "stops": Named("loss", none="without end"),
            "transmission": Named(words="part of the light that passes"),
        },
    ),
    SheetWords(
        "colour-shift",
        _FILTERS_AND_COLOUR,
        "Colour shift",
        "The mired shift between two colour temperatures, or where a gel of known shift leads.",
        asks={
            "to_kelvin": Named(words="wanted; or give the shift"),
            "shift_mired": Named(words="of the gel or filter, + is warmer"),
        },
        gives={
            "shift_mired": Named(words="+ is warmer"),
            "to_kelvin": Named("colour temperature after it"),
        },
    ),
    SheetWords(
        "colour-mix",
        _FILTERS_AND_COLOUR,
        "Colour mix",
        "What becomes of several colour temperatures on one place: neither the mean in kelvin nor in mired.",
        asks={
            "kelvin": Named("colour temperatures", "one for each light, with semicolons between"),
            "shares": Named(words="of each light, by luminance; any total"),
        },
        gives={
            "kelvin": Named("correlated colour temperature"),
            "duv": Named("Duv", "from the locus, + above it"),
        },
    ),
    SheetWords(
        "format-equivalence",
        _FORMATS,
        "Format equivalence",
        "The same picture on another format: same framing, same depth, same diffraction, same light.",
        asks={
            "f_number": Named(words="as marked, on the first format"),
            "focal_length_mm": Named(words="for a distant subject; or give the magnification"),
            "magnification": Named(words="close up, on the first format"),
        },
        gives={
            "f_number": Named("f-number to mark"),
            "total_light_stops": Named("change of total light", "at the converted f-number and the same time"),
            "total_light_at_same_f_number_stops": Named("change of total light at the same mark"),
            "scale": Named(words="size of the new format over the old, by the diagonal"),
        },
    ),
)
