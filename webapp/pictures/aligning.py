"""Two previews held over each other: how far one was nudged against the other, and how much brighter it is.

The nudge is the peak of the phase correlation of the two (Kuglin and Hines 1975): the inverse Fourier transform of the
cross-power spectrum, whose phase alone counts. What goes into it is how steep the logarithm of light is, so that
neither exposure nor which light is lit takes part. A nudge is believed where its peak stands well above every other.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Final, TypeVar

from webapp.optics.arrays import np
from webapp.pictures.colours import light_from_srgb

if TYPE_CHECKING:
    from numpy.typing import NDArray

    _Kind = TypeVar("_Kind", bound=np.generic)

MOST_NUDGED: Final = 0.05
"""Of the width; pictures further apart were framed anew, and are laid by hand."""
_LONGEST_PX: Final = 768
_LEAST_PX: Final = 32
# Codes this dark are noise more than light.
_DARKEST: Final = 2.0**-8
_CLIPPED: Final = 254
# How many times higher than the next peak, well away from it, that of a nudge stands.
_STANDS_OUT: Final = 2.0
_PEAK_PX: Final = 4
# A smaller one is what the correlation itself may be off by.
_LEAST_NUDGE_PX: Final = 1.0
_LEAST_COMPARED: Final = 0.02


@dataclass(frozen=True, slots=True)
class Over:
    """The second picture against the first: how far its subject lies to the right and further down, in units of the
    first picture's width, and how much brighter it is in stops of linear light. None: that cannot be told."""

    across: float | None = None
    down: float | None = None
    brighter_stops: float | None = None


def held_over(first: Path, second: Path, *, scale: float = 1.0) -> Over:
    """Hold two JPEGs of ours over each other, middle on middle; `scale` is the width of the second in units of the
    first's."""
    before, clipped = _light(first, None)
    width_px = before.shape[1]
    after, also = _light(second, max(_LEAST_PX, round(width_px * scale)))
    before, clipped = _middle(before, after.shape), _middle(clipped, after.shape)
    after, also = _middle(after, before.shape), _middle(also, before.shape)
    nudge = _nudge_px(before, after)
    if nudge is None or max(map(abs, nudge)) > MOST_NUDGED * width_px:
        return Over(None, None, _brighter(before, after, ~(clipped | also)))
    down, across = (each if abs(each) >= _LEAST_NUDGE_PX else 0.0 for each in nudge)
    moved = tuple(-round(each) for each in (down, across))
    after, also = np.roll(after, moved, (0, 1)), np.roll(also, moved, (0, 1))
    return Over(across / width_px, down / width_px, _brighter(before, after, ~(clipped | also)))


def _light(path: Path, width_px: int | None) -> tuple[NDArray[np.float32], NDArray[np.bool_]]:
    """The linear light of a preview, and where it is clipped."""
    from PIL import Image

    with Image.open(path, formats=("JPEG",)) as image:
        grey = image.convert("L")
    if width_px is None:
        width_px = round(grey.width * min(1.0, _LONGEST_PX / max(grey.size)))
    size = (width_px, max(1, round(grey.height * width_px / grey.width)))
    codes = np.asarray(grey.resize(size, Image.Resampling.BOX))
    return light_from_srgb(np.arange(256) / 255.0).astype(np.float32)[codes], codes >= _CLIPPED


def _middle(of: NDArray[_Kind], shape: tuple[int, ...]) -> NDArray[_Kind]:
    """The middle of an array, no larger than `shape` either way."""
    rows, columns = (min(own, other) for own, other in zip(of.shape, shape, strict=True))
    top, left = (of.shape[0] - rows) // 2, (of.shape[1] - columns) // 2
    return of[top : top + rows, left : left + columns]


def _nudge_px(before: NDArray[np.float32], after: NDArray[np.float32]) -> tuple[float, float] | None:
    """How far `after` lies below and to the right of `before`; None where no peak stands out."""
    if min(before.shape) < _LEAST_PX:
        return None
    window = np.outer(np.hanning(before.shape[0]), np.hanning(before.shape[1]))
    one, other = (np.fft.rfft2(_steepness(each) * window) for each in (before, after))
    crossed = other * one.conj()
    size = np.abs(crossed)
    found = np.fft.irfft2(crossed / np.maximum(size, 1e-3 * size.max() + 1e-12), s=before.shape)
    peak = np.unravel_index(int(found.argmax()), found.shape)
    near = tuple(
        np.arange(at - _PEAK_PX, at + _PEAK_PX + 1) % length for at, length in zip(peak, found.shape, strict=True)
    )
    highest = float(found[peak])
    others = found.copy()
    others[np.ix_(*near)] = 0.0
    if highest <= 0.0 or highest < _STANDS_OUT * float(others.max()):
        return None
    down, across = (_wrapped(at + _between(found, peak, axis), found.shape[axis]) for axis, at in enumerate(peak))
    return down, across


def _steepness(light: NDArray[np.float32]) -> NDArray[np.float64]:
    down, across = np.gradient(np.log2(np.maximum(light, _DARKEST).astype(np.float64)))
    steep = np.hypot(down, across)
    level: NDArray[np.float64] = steep - steep.mean()
    return level


def _between(found: NDArray[np.float64], peak: tuple[np.intp, ...], axis: int) -> float:
    """Where between the pixels a peak lies, by the parabola through it and its neighbours."""
    along = np.take(found, peak[1 - axis], axis=1 - axis)
    at = int(peak[axis])
    low, mid, high = (float(along[(at + step) % len(along)]) for step in (-1, 0, 1))
    bend = low - 2.0 * mid + high
    return 0.0 if bend >= 0.0 else 0.5 * (low - high) / bend


def _wrapped(at: float, length: int) -> float:
    return at - length if at > length / 2 else at


def _brighter(before: NDArray[np.float32], after: NDArray[np.float32], told: NDArray[np.bool_]) -> float | None:
    """The median over the places that are neither black nor clipped in either; None where they are too few."""
    told = told & (before > _DARKEST) & (after > _DARKEST)
    if told.mean() < _LEAST_COMPARED:
        return None
    return float(np.median(np.log2(after[told] / before[told])))
