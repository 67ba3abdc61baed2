"""Worksheets: one question each, answered away from any session, with the working behind every figure.

A worksheet is a model of its parameters and a pure function from them to a `Sheet`; the pages and the interface
both ask through `worksheet(name)`. A new one is written beside its neighbours and named in the list below; its words
are in `web.words.worksheets`, its drawings in `web.drawings`.
"""

from __future__ import annotations

from typing import Any, Final

from webapp.errors import NotFound
from webapp.worksheets import (
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
    shadows,
    sources,
)
from webapp.worksheets.sheet import Worksheet

WORKSHEETS: Final[dict[str, Worksheet[Any]]] = {
    each.name: each
    for each in (
        exposure.EXPOSURE_DIFFERENCE,
        exposure.LIGHT_METER,
        marks.MARKED_VALUE,
        marks.PIXEL_LEVELS,
        flash.FLASH_ENERGY,
        flash.GUIDE_NUMBER,
        flash.FLASH_DURATION,
        mixing.MIXED_LIGHT,
        mixing.LIGHTING_RATIO,
        mixing.AMBIENT_SHARE,
        mixing.SYNC_AMBIENT,
        framing.FIELD_OF_VIEW,
        close_up.CLOSE_UP,
        close_up.DEPTH_OF_FIELD,
        close_up.SHARPEST_APERTURE,
        close_up.FOCUS_STACK,
        sources.SOURCE_ILLUMINANCE,
        placing.SOFTBOX,
        placing.FEATHERING,
        shadows.SHADOW,
        shadows.FAMILY_OF_ANGLES,
        copying.COPY_GLARE,
        copying.COPY_PAIR,
        glass.EDGE_CARDS,
        shadows.BACKGROUND_CARD,
        framing.SWEEP,
        filters.FILTER,
        filters.COLOUR_SHIFT,
        filters.COLOUR_MIX,
        formats.FORMAT_EQUIVALENCE,
    )
}


def worksheet(name: str) -> Worksheet[Any]:
    """A worksheet by its name. Raises NotFound."""
    if name not in WORKSHEETS:
        raise NotFound("There is no worksheet of this name; the list of worksheets has them all.")
    return WORKSHEETS[name]
