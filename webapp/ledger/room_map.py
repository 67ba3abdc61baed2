"""The ambient check as a map: where in the whole picture the room comes nearest to the level that is wanted there.

A patch tells its own place. A window mirrored in a glaze lies beside all of them, and is what the picture will show: so
the brightest cell of every tile is looked at, and the place with the smallest margin speaks for the check. Inside a patch
the level wanted is the patch's, elsewhere mid-tone.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from webapp.ledger.evidence import MID_TONE_STOPS, RoomPlace
from webapp.optics.arrays import np
from webapp.optics.tone_curve import ToneCurve
from webapp.pictures.light_map import CELLS_ON_SIDE, Extra, LightMap, Place

MID_TONE_WANTED: Final = 0.0
# Of some ten thousand cells the brightest lies four standard deviations of pure noise above none.
_DEVIATIONS: Final = 5.0
_NOTHING: Final = 2.0**-24


@dataclass(frozen=True, slots=True)
class WantedAt:
    """A patch and the level that is wanted there, in stops about mid-tone."""

    name: str
    place: Place
    wanted_stops: float


def nearest_place(
    light: LightMap, patches: Sequence[WantedAt], *, of_raw: bool, curve: ToneCurve | None = None
) -> RoomPlace:
    """The place of a check's picture with the smallest margin; where any clips, the one that clips most. A cell counts
    for itself where it stands out of its tile by more than noise, else for what the tile is. Levels are those of the
    file, or of the scene where the camera's curve is known."""
    peak, error = light.extra(Extra.PEAK), light.extra(Extra.PEAK_ERROR)
    whole = light.brightness(of_raw=of_raw)
    peak = np.where(peak > whole + _DEVIATIONS * error, peak, whole)
    clipped = light.extra(Extra.PEAK_CLIPPED)
    is_told = peak > _DEVIATIONS * error
    bound = np.maximum(peak, 0.0) + np.where(is_told, 0.0, _DEVIATIONS * error)
    stops = np.log2(np.maximum(bound, _NOTHING)) - MID_TONE_STOPS
    down, across = np.divmod(light.extra(Extra.PEAK_AT), CELLS_ON_SIDE)
    x = (np.arange(light.columns)[np.newaxis, :] + (across + 0.5) / CELLS_ON_SIDE) / light.columns
    y = (np.arange(light.rows)[:, np.newaxis] + (down + 0.5) / CELLS_ON_SIDE) / light.rows
    wanted = np.full(stops.shape, math.inf)
    which = np.full(stops.shape, -1)
    for index, patch in enumerate(patches):
        at = patch.place
        there = (at.x <= x) & (x <= at.x + at.width) & (at.y <= y) & (y <= at.y + at.height)
        there &= patch.wanted_stops < wanted
        wanted[there], which[there] = patch.wanted_stops, index
    wanted[which < 0] = MID_TONE_WANTED
    if curve is not None:
        stops, wanted = curve.lights_stops(stops), curve.lights_stops(wanted)
    clips = clipped > RoomPlace.CLIPS_FROM
    worst = np.where(clips, clipped, -math.inf) if clips.any() else stops - wanted
    row, column = (int(each) for each in np.unravel_index(int(worst.argmax()), worst.shape))
    index = int(which[row, column])
    return RoomPlace(
        place=light.brightest_cell(row, column),
        patch=patches[index].name if index >= 0 else "",
        wanted_stops=float(wanted[row, column]),
        read_stops=float(stops[row, column]) if is_told[row, column] else None,
        at_most_stops=float(stops[row, column]),
        clipped_share=float(clipped[row, column]),
    )
