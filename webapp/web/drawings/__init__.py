"""What a worksheet shows beside its figures, as a workshop would draw it, named and told to those who do not see it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, Final

from webapp.quantities.lengths import CENTIMETRES, Lengths
from webapp.web.drawings import (
    close_up,
    copying,
    exposure,
    filters,
    flash,
    formats,
    framing,
    glass,
    marks,
    mixing,
    placing,
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
    "sync-ambient": (mixing.under_flash,),
    "field-of-view": (framing.view_from_above,),
    "close-up": (close_up.increase,),
    "depth-of-field": (close_up.depth_against_f_number,),
    "sharpest-aperture": (close_up.blur_against_f_number,),
    "focus-stack": (close_up.slices,),
    "source-illuminance": (sources.against_distance, sources.over_the_subject),
    "softbox": (placing.softbox_from_above,),
    "feathering": (placing.light_across_the_row, placing.feathered_from_above),
    "shadow": (shadows.edge,),
    "family-of-angles": (reflections.family,),
    "copy-glare": (copying.barred,),
    "copy-pair": (copying.survey, copying.pair_from_above),
    "edge-cards": (glass.across_the_glass,),
    "background-card": (shadows.card_in_the_view,),
    "sweep": (framing.sweep_from_the_side, framing.light_along_the_sheet),
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
