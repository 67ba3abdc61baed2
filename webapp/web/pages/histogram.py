"""A patch's histogram as a workshop drawing: shares in half stops about the wanted level."""

from __future__ import annotations

import math
from typing import Final

from webapp.ledger.evidence import MID_TONE_STOPS
from webapp.pictures.readings import HISTOGRAM_BINS, HISTOGRAM_LOW_STOPS, PatchReading
from webapp.web.drawings.drawing import Drawing, Pencil
from webapp.web.pages.figures import signed

_WIDTH: Final = 460.0
_HEIGHT: Final = 150.0
_LEFT, _RIGHT, _TOP, _GROUND = 16.0, 444.0, 26.0, 116.0
_DARKEST_STOPS: Final = -9
_BIN_STOPS: Final = -HISTOGRAM_LOW_STOPS / HISTOGRAM_BINS


def histogram(reading: PatchReading, wanted_stops: float) -> Drawing:
    """The share of the patch's places in each half stop, from nine stops below the wanted level up to clipping."""
    clipping = -MID_TONE_STOPS - wanted_stops
    brightest = max(math.ceil(clipping), 1)
    pencil = Pencil()

    def across(stops: float) -> float:
        part = (stops - _DARKEST_STOPS) / (brightest - _DARKEST_STOPS)
        return _LEFT + min(max(part, 0.0), 1.0) * (_RIGHT - _LEFT)

    tallest = max(reading.histogram) or 1.0
    outline = [(_LEFT, _GROUND)]
    for index, share in enumerate(reading.histogram):
        low = HISTOGRAM_LOW_STOPS + index * _BIN_STOPS + clipping
        height = _GROUND - share / tallest * (_GROUND - _TOP)
        outline += [(across(low), height), (across(low + _BIN_STOPS), height)]
    outline.append((_RIGHT, _GROUND))
    pencil.line(outline)
    pencil.line([(_LEFT, _GROUND), (_RIGHT, _GROUND)], "rule")
    for stops in range(_DARKEST_STOPS + 1, brightest + 1, 2):
        pencil.line([(across(stops), _GROUND), (across(stops), _GROUND + 4)], "rule")
        pencil.text(across(stops), _GROUND + 16, signed(float(stops), 0), "middle", "quiet")
    pencil.text(_RIGHT, _GROUND + 30, "stops about the wanted level", "end", "quiet")
    pencil.line([(across(0.0), _TOP - 8), (across(0.0), _GROUND)], "dashed")
    pencil.text(across(0.0) - 4, _TOP - 8, "wanted", "end", "quiet")
    pencil.line([(across(clipping), _TOP - 8), (across(clipping), _GROUND)], "dotted")
    pencil.text(across(clipping) + 0, _TOP - 12, "clipping", "end", "quiet")
    read = None if reading.level_stops is None else reading.level_stops + clipping
    if read is not None:
        pencil.ring(across(read), _GROUND)
    said = "not to be told from black" if read is None else f"{signed(read)} stops about the wanted level"
    return pencil.done(
        f"histogram-{reading.patch.name}".replace(" ", "-"),
        f"Histogram of {reading.patch.name}",
        f"How the places of the patch lie in half stops; the mean is {said}.",
        _WIDTH,
        _HEIGHT,
    )
