"""What a worksheet shows beside its figures, as a workshop would draw it, named and told to those who do not see it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, Final

from webapp.quantities.lengths import CENTIMETRES, Lengths
from webapp.web.drawings import (
    close_up,
    exposure,
    filters,
    flash,
    formats,
    marks,
    mixing,
    reflections,
    shadows,
    sources,
)
from webapp.web.drawings.drawing import Drawing
from webapp.worksheets.sheet import Sheet

DRAWN: Final[Mapping[str, tuple[Callable[[Any, Sheet, Lengths], Drawing | None], ...]]] = {
    "exposure-difference": (exposure.gaps,),
    "light-meter": (exposure.same_exposure,),
    "marked-value": (marks.on_each_dial,),
    "pixel-levels": (marks.tone_curve,),
    "flash-energy": (flash.power_way,),
    "guide-number": (flash.reach,),
    "flash-duration": (flash.pulse,),
    "mixed-light": (mixing.contributions,),
    "lighting-ratio": (mixing.sides,),
    "ambient-share": (mixing.against_shutter,),
    "close-up": (close_up.increase,),
    "depth-of-field": (close_up.depth_against_f_number,),
    "sharpest-aperture": (close_up.blur_against_f_number,),
    "focus-stack": (close_up.slices,),
    "source-illuminance": (sources.against_distance, sources.over_the_subject),
    "shadow": (shadows.edge,),
    "family-of-angles": (reflections.family,),
    "background-card": (shadows.card_in_the_view,),
    "filter": (filters.what_passes, filters.malus),
    "colour-shift": (filters.mired_way,),
    "colour-mix": (filters.on_the_locus,),
    "format-equivalence": (formats.both_formats,),
}
"""By the name of the worksheet."""


def drawings_of(name: str, parameters: Any, sheet: Sheet, lengths: Lengths = CENTIMETRES) -> tuple[Drawing, ...]:
    """The drawings of a worksheet filled in, lengths in the reader's unit; none where the figures are too extreme for any
    paper."""
    try:
        drawn = [draw(parameters, sheet, lengths) for draw in DRAWN.get(name, ())]
    except (ValueError, ArithmeticError):
        return ()
    return tuple(filter(None, drawn))
