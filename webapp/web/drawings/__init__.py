"""What a worksheet shows beside its figures, as a workshop would draw it, named and told to those who do not see it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, Final

from webapp.web.drawings import close_up, exposure, filters, flash, formats, marks, mixing, shadows, sources
from webapp.web.drawings.drawing import Drawing
from webapp.worksheets.sheet import Sheet

DRAWN: Final[Mapping[str, Callable[[Any, Sheet], tuple[Drawing, ...]]]] = {
    "exposure-difference": exposure.gaps,
    "pixel-levels": marks.tone_curve,
    "flash-energy": flash.power_way,
    "guide-number": flash.reach,
    "flash-duration": flash.pulse,
    "mixed-light": mixing.contributions,
    "lighting-ratio": mixing.sides,
    "ambient-share": mixing.against_shutter,
    "close-up": close_up.increase,
    "depth-of-field": close_up.depth_drawn,
    "sharpest-aperture": close_up.blur_drawn,
    "focus-stack": close_up.slices,
    "source-illuminance": sources.source_drawn,
    "shadow": shadows.edge,
    "background-card": shadows.card_drawn,
    "filter": filters.malus,
    "format-equivalence": formats.formats_drawn,
}
"""By the name of the worksheet; the others have nothing that is better looked at than read."""


def drawings_of(name: str, parameters: Any, sheet: Sheet) -> tuple[Drawing, ...]:
    """The drawings of a worksheet filled in; none where the figures are too extreme for any paper."""
    if name not in DRAWN:
        return ()
    try:
        return DRAWN[name](parameters, sheet)
    except (ValueError, ArithmeticError):
        return ()
