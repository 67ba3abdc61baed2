"""Patches to readings.

Raw files: counts less the black level of their colour, over the white level less it; the level is that of green.
Nothing is demosaiced and no curve is applied. Counts below black stay negative in the mean, or the mean of a dark
frame would be too bright.

Rendered files: the codes of the patch are counted at all pixels and bits, and each code stands for its light by its
curve (`colours`), so that the mean is exact for the codes that are there. A mean of codes is no mean of light: where
there is texture finer than a reduced decoding shows, light would be read too dark.

The tolerances are common practice, no published figures: see `_rendered_tolerance_stops`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import numpy as np
from numpy.typing import NDArray

from webapp.errors import PictureRefused
from webapp.facts import Fact, fact
from webapp.pictures.colours import Colours, clipped_codes, luminance_of
from webapp.pictures.decode import STRIP_PX, RawPicture, raw_picture
from webapp.pictures.kinds import kind_of
from webapp.pictures.light_map import LightMap
from webapp.pictures.mapping import RAW_CLIPPED_FROM, SampledRows, map_of_raw
from webapp.pictures.metadata import turned
from webapp.pictures.previews import check_length, make_preview, preview_of_raw
from webapp.pictures.readings import HISTOGRAM_BINS, HISTOGRAM_LOW_STOPS, MIDDLE, ChannelReading, Patch, PatchReading
from webapp.pictures.reasons import Reason
from webapp.pictures.stored import StoredPicture, stored_picture

if TYPE_CHECKING:
    from webapp.pictures.kinds import Kind


def measure(path: Path, patches: Sequence[Patch] = ()) -> tuple[PatchReading, ...]:
    """Read patches of a picture file in linear light; without patches, the middle of the picture.

    Raises PictureRefused where the file is broken, TooLarge past the limit of pixels.
    """
    return examine(path, patches).readings


@dataclass(frozen=True, slots=True)
class Examined:
    """What was made of a picture: the readings, the preview where one was asked for, and the light of the whole picture
    likewise (None also for one of a few pixels)."""

    readings: tuple[PatchReading, ...]
    preview: bytes = b""
    light: LightMap | None = None


def examine(
    path: Path, patches: Sequence[Patch] = (), *, longest_px: int | None = None, light: bool = False
) -> Examined:
    """Readings, preview and light of a picture; see `measure`, `make_preview` and `LightMap`. Raises as they do."""
    if longest_px is not None:
        check_length(longest_px)
    kind = kind_of(path)
    wanted = tuple(patches) or (MIDDLE,)
    unasked = () if patches else (fact(Reason.NO_PATCH_DRAWN),)
    preview = b""
    if kind == "raw":
        with raw_picture(path) as raw:
            readings = tuple(_read_raw_patch(raw, patch, unasked) for patch in wanted)
            by_tiles = map_of_raw(raw) if light else None
            if longest_px is not None:
                preview = preview_of_raw(raw, longest_px)
        return Examined(readings, preview, by_tiles)
    # The preview is made from a reduced decoding, the light is read from all pixels: each takes a core of its own.
    with ThreadPoolExecutor(max_workers=1) as beside:
        making = None if longest_px is None else beside.submit(make_preview, path, longest_px)
        readings, by_tiles = _read_rendered(path, kind, wanted, unasked, light=light)
        return Examined(readings, making.result() if making is not None else b"", by_tiles)


# --- where a patch lies -------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Place:
    """A patch after clamping, and its corners in the stored picture, in pixels."""

    patch: Patch
    left: int
    top: int
    right: int
    bottom: int
    notes: tuple[Fact, ...]


def _place(patch: Patch, width_px: int, height_px: int, orientation: int, *, least_px: int) -> _Place:
    left, right = _clamped(patch.x), _clamped(patch.x + patch.width)
    top, bottom = _clamped(patch.y), _clamped(patch.y + patch.height)
    notes: tuple[Fact, ...] = ()
    outside = max(left - patch.x, top - patch.y, patch.x + patch.width - right, patch.y + patch.height - bottom)
    if outside > _ROUNDING:
        notes = (fact(Reason.PATCH_CUT_AT_EDGE, patch.name),)
        patch = Patch(patch.name, left, top, max(right - left, _NO_WIDTH), max(bottom - top, _NO_WIDTH))
    (x0, y0), (x1, y1) = _stored(left, top, orientation), _stored(right, bottom, orientation)
    stored_left, stored_right = _pixels(min(x0, x1), max(x0, x1), width_px, least_px)
    stored_top, stored_bottom = _pixels(min(y0, y1), max(y0, y1), height_px, least_px)
    return _Place(
        patch=patch,
        left=stored_left,
        top=stored_top,
        right=stored_right,
        bottom=stored_bottom,
        notes=notes,
    )


# A patch that lies wholly outside is cut down to the pixels of the edge.
_NO_WIDTH: Final = 1e-9
_ROUNDING: Final = 1e-9


def _clamped(fraction: float) -> float:
    return min(max(fraction, 0.0), 1.0)


def _stored(u: float, v: float, orientation: int) -> tuple[float, float]:
    """Where a point of the upright picture lies in the stored one, by the Exif orientation (cipa-dc-008)."""
    x, y = (v, u) if turned(orientation) else (u, v)
    if orientation in (2, 3, 7, 8):
        x = 1.0 - x
    if orientation in (3, 4, 6, 7):
        y = 1.0 - y
    return x, y


def _pixels(low: float, high: float, size_px: int, least_px: int) -> tuple[int, int]:
    """The pixels between two fractions of a side, at least `least_px` of them where there are so many."""
    start, end = round(low * size_px), round(high * size_px)
    if end - start < least_px:
        start = min(max(0, start), max(0, size_px - least_px))
        end = min(size_px, start + least_px)
    return start, end


# --- rendered files -----------------------------------------------------------------------------------------------


@dataclass(slots=True)
class _Gathered:
    """What is kept of a patch while the rows of a picture go by: the light of its channels and the counts of their
    clipped places, added up, the rows of its middle, and a sample of all."""

    place: _Place
    own_light: NDArray[np.float64]
    high: NDArray[np.float64]
    low: NDArray[np.float64]
    middle: list[NDArray[Any]] = field(default_factory=list)
    sample: list[NDArray[Any]] = field(default_factory=list)


def _read_rendered(
    path: Path, kind: Kind, patches: Sequence[Patch], notes: tuple[Fact, ...], *, light: bool
) -> tuple[tuple[PatchReading, ...], LightMap | None]:
    with stored_picture(path, kind) as picture:
        channels = len(picture.colours.curves)
        gathered = [
            _Gathered(
                _place(patch, picture.width_px, picture.height_px, picture.orientation, least_px=1),
                own_light=np.zeros(channels),
                high=np.zeros(channels),
                low=np.zeros(channels),
            )
            for patch in patches
        ]
        sampled = SampledRows(picture) if light else None
        end = picture.height_px if light else max(each.place.bottom for each in gathered)
        for top in range(0, end, STRIP_PX):
            _gather(picture, top, min(top + STRIP_PX, end), gathered, sampled)
        readings = tuple(_reading_of_rendered(picture, kind, each, notes) for each in gathered)
        return readings, sampled.light_map() if sampled is not None else None


def _gather(
    picture: StoredPicture, top: int, bottom: int, gathered: Sequence[_Gathered], sampled: SampledRows | None
) -> None:
    """Add what the rows between two hold of each patch, and of the whole picture."""
    here = [each for each in gathered if each.place.top < bottom and each.place.bottom > top]
    if sampled is not None:
        left, right = 0, picture.width_px
    elif here:
        left, right = min(each.place.left for each in here), max(each.place.right for each in here)
    else:
        return
    rows = picture.rows(left, top, right, bottom)
    if sampled is not None:
        sampled.add(rows, top)
    for each in here:
        place = each.place
        first, last = max(top, place.top), min(bottom, place.bottom)
        part = rows[first - top : last - top, place.left - left : place.right - left]
        _add(picture, each, part, first - place.top)


def _add(picture: StoredPicture, to: _Gathered, part: NDArray[Any], row: int) -> None:
    """Add the rows of a patch from its row so many on."""
    colours = picture.colours
    channels = len(colours.curves)
    codes, clipping = part[:, :, :channels], part[:, :, -channels:]
    blown, black = clipped_codes(picture.clipping_white)
    if colours.white_code is None:
        to.own_light += colours.own_light(codes).sum(axis=(0, 1))
        to.high += np.count_nonzero(clipping >= blown, axis=(0, 1))
        to.low += np.count_nonzero(clipping <= black, axis=(0, 1))
    else:
        counts = _counts(codes, colours.white_code)
        to.own_light += [counts[channel] @ colours.table(channel) for channel in range(channels)]
        if part.shape[2] > channels:
            counts = _counts(clipping, colours.white_code)
        to.high += counts[:, math.ceil(blown) :].sum(axis=1)
        to.low += counts[:, : math.floor(black) + 1].sum(axis=1)
    height, width = to.place.bottom - to.place.top, to.place.right - to.place.left
    top, left, bottom, right = _window(height, width)
    if row < bottom and row + len(part) > top:
        to.middle.append(codes[max(0, top - row) : bottom - row, left:right].copy())
    stride = _stride((height, width))
    to.sample.append(codes[-row % stride :: stride, ::stride].copy())


def _counts(codes: NDArray[Any], white_code: int) -> NDArray[Any]:
    """How often each code stands in each channel."""
    if codes.dtype != np.uint8:
        return np.stack(
            [np.bincount(channel.ravel(), minlength=white_code + 1) for channel in np.moveaxis(codes, 2, 0)]
        )
    from PIL import Image

    plain = np.ascontiguousarray(codes if codes.shape[2] > 1 else codes[:, :, 0])
    return np.array(Image.fromarray(plain).histogram(), dtype=np.float64).reshape(-1, 256)


def _reading_of_rendered(
    picture: StoredPicture, kind: Kind, gathered: _Gathered, notes: tuple[Fact, ...]
) -> PatchReading:
    place, colours = gathered.place, picture.colours
    place_count = (place.bottom - place.top) * (place.right - place.left)
    levels = colours.in_linear_srgb(gathered.own_light / place_count)
    level = float(luminance_of(levels))
    return _reading(
        place=place,
        kind=kind,
        channels=tuple(
            map(
                ChannelReading,
                colours.channel_names,
                levels.tolist(),
                (gathered.high / place_count).tolist(),
                (gathered.low / place_count).tolist(),
            )
        ),
        level=level,
        place_count=place_count,
        noise=_noise(colours.luminance(np.concatenate(gathered.middle)), lag=_RENDERED_LAG),
        untold=colours.step_of_light(0.0),
        file_tolerance_stops=_rendered_tolerance_stops(level, colours),
        histogram=_histogram(colours.luminance(np.concatenate(gathered.sample))),
        estimated=True,
        notes=notes + place.notes + picture.notes,
    )


_TONE_CURVE_STOPS: Final = 0.3
_TONE_CURVE_STOPS_AT_ENDS: Final = 1.0
_SHOULDER_BELOW_CLIPPING_STOPS: Final = -1.5
_TOE_BELOW_CLIPPING_STOPS: Final = -6.0
_TOE_END_STOPS: Final = -10.0


def _rendered_tolerance_stops(level: float, colours: Colours) -> float:
    """How far the level of a rendered file may be off: its unknown tone curve, and half a step of its codes.

    About 0.3 stop between 6 and 1.5 stops below clipping, rising in a straight line to 1 at clipping, where cameras
    round off the highlights, and 10 stops below it, where they sink the shadows (common practice).
    """
    stops = math.log2(max(level, 2.0**_TOE_END_STOPS))
    curve = float(
        np.interp(
            stops,
            (_TOE_END_STOPS, _TOE_BELOW_CLIPPING_STOPS, _SHOULDER_BELOW_CLIPPING_STOPS, 0.0),
            (_TONE_CURVE_STOPS_AT_ENDS, _TONE_CURVE_STOPS, _TONE_CURVE_STOPS, _TONE_CURVE_STOPS_AT_ENDS),
        )
    )
    light = min(2.0**stops, 1.0)
    return curve + math.log2(1.0 + colours.step_of_light(light) / light)


# --- raw files ----------------------------------------------------------------------------------------------------

_RAW_TOLERANCE_STOPS: Final = 0.02


@dataclass(slots=True)
class _Sum:
    """What is added up over the places of one colour."""

    light: float = 0.0
    count: int = 0
    high: int = 0
    low: int = 0


def _read_raw_patch(raw: RawPicture, patch: Patch, notes: tuple[Fact, ...]) -> PatchReading:
    height, width = raw.counts.shape[:2]
    period = 1 if raw.pattern is None else raw.pattern.shape[0]
    place = _place(patch, width, height, raw.orientation, least_px=period)
    sums: dict[str, _Sum] = {}
    level_plane: NDArray[np.uint16] | None = None
    level_black = 0.0
    for colour, plane in _planes(raw, place):
        black = raw.black[colour]
        scale = raw.white - black
        if scale < 1:
            raise PictureRefused("The raw file says that its white is no brighter than its black.")
        total = sums.setdefault(raw.channel_names[colour], _Sum())
        total.light += (float(plane.sum(dtype=np.float64)) - black * plane.size) / scale
        total.count += plane.size
        total.high += int(np.count_nonzero(plane >= black + RAW_CLIPPED_FROM * scale))
        total.low += int(np.count_nonzero(plane == 0))
        if raw.channel_names[colour] in _LEVEL_CHANNELS and level_plane is None:
            level_plane, level_black = plane, black
    name = next((name for name in _LEVEL_CHANNELS if name in sums), None)
    if name is None or level_plane is None:
        raise PictureRefused("The raw file is too small to be measured, or its colours are not red, green and blue.")
    scale = raw.white - level_black
    level = sums[name].light / sums[name].count
    stride = _stride(level_plane.shape)
    top, left, bottom, right = _window(*level_plane.shape)
    return _reading(
        place=place,
        kind="raw",
        channels=tuple(
            ChannelReading(channel, one.light / one.count, one.high / one.count, one.low / one.count)
            for channel, one in sums.items()
        ),
        level=level,
        place_count=sums[name].count,
        noise=_noise((level_plane[top:bottom, left:right] - level_black) / scale, lag=1),
        # The black level is written in whole counts.
        untold=0.5 / scale,
        file_tolerance_stops=_RAW_TOLERANCE_STOPS,
        histogram=_histogram((level_plane[::stride, ::stride] - level_black) / scale),
        estimated=False,
        notes=notes + place.notes,
    )


_LEVEL_CHANNELS: Final = ("green", "grey")


def _planes(raw: RawPicture, place: _Place) -> Iterator[tuple[int, NDArray[np.uint16]]]:
    """The places of a patch by colour: (index of the colour, its counts)."""
    block = raw.counts[place.top : place.bottom, place.left : place.right]
    if raw.pattern is None:
        for colour in range(len(raw.channel_names)):
            yield colour, block[:, :, colour]
        return
    period = raw.pattern.shape[0]
    for row in range(min(period, block.shape[0])):
        for column in range(min(period, block.shape[1])):
            colour = int(raw.pattern[(place.top + row) % period, (place.left + column) % period])
            yield colour, block[row::period, column::period]


# --- both ---------------------------------------------------------------------------------------------------------

_MOST_SAMPLED: Final = 250_000
_WINDOW_PX: Final = 512
# Neighbours in a rendered file were mixed by demosaicing and compression; the next but one hardly.
_RENDERED_LAG: Final = 2
_UNTRUSTED_CLIPPED_SHARE: Final = 0.01


def _reading(
    *,
    place: _Place,
    kind: Kind,
    channels: tuple[ChannelReading, ...],
    level: float,
    place_count: int,
    noise: float,
    untold: float,
    file_tolerance_stops: float,
    histogram: tuple[float, ...],
    estimated: bool,
    notes: tuple[Fact, ...],
) -> PatchReading:
    """Put a reading together. `untold` is the light by which the file's own black may be off."""
    standard_error = noise / math.sqrt(place_count)
    uncertain = untold + 2.0 * standard_error
    clipped_high = max(channel.clipped_high_share for channel in channels)
    clipped_low = max(channel.clipped_low_share for channel in channels)
    at_most_stops = math.log2(max(level, 0.0) + uncertain)
    level_stops: float | None = math.log2(level) if level > uncertain else None
    tolerance_stops: float | None = None
    if level_stops is None:
        notes += (fact(Reason.NOT_TOLD_FROM_BLACK, below_stops=-at_most_stops),)
    elif clipped_high > _UNTRUSTED_CLIPPED_SHARE:
        notes += (fact(Reason.PATCH_CLIPS, clipped_share=clipped_high),)
    else:
        tolerance_stops = file_tolerance_stops + uncertain / (level * math.log(2.0))
    return PatchReading(
        patch=place.patch,
        kind=kind,
        channels=channels,
        level=level,
        level_stops=level_stops,
        at_most_stops=at_most_stops,
        noise=noise,
        standard_error=standard_error,
        clipped_high_share=clipped_high,
        clipped_low_share=clipped_low,
        estimated=estimated,
        tolerance_stops=tolerance_stops,
        histogram=histogram,
        place_count=place_count,
        notes=notes,
    )


def _window(height: int, width: int) -> tuple[int, int, int, int]:
    """The middle of a patch, large enough to tell its noise: its top, left, bottom and right."""
    top, left = max(0, (height - _WINDOW_PX) // 2), max(0, (width - _WINDOW_PX) // 2)
    return top, left, min(height, top + _WINDOW_PX), min(width, left + _WINDOW_PX)


def _stride(shape: tuple[int, ...]) -> int:
    return max(1, math.ceil(math.sqrt(shape[0] * shape[1] / _MOST_SAMPLED)))


_MAD_TO_SIGMA: Final = 1.4826  # of a normal distribution


def _noise(light: NDArray[np.floating[Any]], *, lag: int) -> float:
    """The spread of light from place to place, from differences of neighbours, so that a slope does not count.

    1.4826 times the median absolute deviation of the differences, over the root of two; their plain standard
    deviation where more than half of them are equal, as the codes of a smooth rendered patch are.
    """
    if light.shape[1] <= lag:
        light = light.T
    if light.shape[1] <= lag:
        return 0.0
    differences = light[:, lag:] - light[:, :-lag]
    deviation = _MAD_TO_SIGMA * float(np.median(np.abs(differences - np.median(differences))))
    return (deviation or float(differences.std())) / math.sqrt(2.0)


def _histogram(light: NDArray[np.floating[Any]]) -> tuple[float, ...]:
    """The shares of the places in each half stop below clipping."""
    stops = np.log2(np.clip(light, 2.0**HISTOGRAM_LOW_STOPS, 1.0))
    counts, _ = np.histogram(stops, bins=HISTOGRAM_BINS, range=(HISTOGRAM_LOW_STOPS, 0.0))
    return tuple((counts / light.size).tolist())
