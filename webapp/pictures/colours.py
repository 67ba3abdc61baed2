"""What the codes of a rendered picture mean: a curve a channel from codes to light, and a matrix to linear sRGB.

Light is averaged before the matrix or after it alike; so the codes of a patch are counted, each stands for its light by
its curve, and nothing is rounded on the way.

Source: iec-61966-2-1 for the curve where a file has no profile of its own.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any, Final

from webapp.facts import Fact, fact
from webapp.optics.arrays import Floats, np
from webapp.pictures.icc import Curve, adobe_rgb, matrix_profile_of, opened_profile
from webapp.pictures.readings import LUMINANCE_WEIGHTS
from webapp.pictures.reasons import Reason

if TYPE_CHECKING:
    from numpy.typing import NDArray

_SAME_WITHIN: Final = 2 / 255
# A JPEG's own rounding moves a blown or black code by one; with more than 8 bits the same part of the scale counts.
CLIPPED_HIGH: Final = 253.5 / 255.0
CLIPPED_LOW: Final = 1.5 / 255.0


def light_from_srgb(code: Floats) -> Floats:
    """Linear light from an sRGB value between 0 and 1.

    V / 12.92 up to 0.04045, ((V + 0.055) / 1.055)^2.4 above it, with V the value (source: iec-61966-2-1).

    >>> round(float(light_from_srgb(np.array(128 / 255))), 6)
    0.215861
    """
    light: Floats = np.where(code <= 0.04045, code / 12.92, ((np.maximum(code, 0.04045) + 0.055) / 1.055) ** 2.4)
    return light


def srgb_from_light(light: float) -> float:
    """The sRGB value between 0 and 1 of linear light; the inverse of `light_from_srgb` (source: iec-61966-2-1).

    12.92 L up to 0.0031308, 1.055 L^(1/2.4) - 0.055 above it, with L the light.

    >>> round(srgb_from_light(0.18) * 255, 3)
    117.646
    """
    return 12.92 * light if light <= 0.0031308 else 1.055 * math.pow(light, 1 / 2.4) - 0.055


def _is_light(code: Floats) -> Floats:
    return code


@dataclass(frozen=True, slots=True)
class Colours:
    """What the codes of a picture of one or three channels mean.

    `white_code` is the code of white, None where codes are floating-point numbers and 1.0 is white. `to_linear_srgb`
    is None where the channels are those of sRGB, or a grey.
    """

    curves: tuple[Curve, ...]
    white_code: int | None
    to_linear_srgb: Floats | None = None

    @property
    def channel_names(self) -> tuple[str, ...]:
        return ("red", "green", "blue") if len(self.curves) == 3 else ("grey",)

    def table(self, channel: int) -> Floats:
        """The light of each whole code of a channel."""
        assert self.white_code is not None
        return _table(self.curves[channel], self.white_code)

    def channel_light(self, channel: int, codes: NDArray[Any]) -> NDArray[Any]:
        """The light of the codes of one channel, before the matrix, as numbers of 32 bits."""
        if self.white_code is None:
            return self.curves[channel](codes).astype(np.float32)
        return self.table(channel).astype(np.float32).take(codes)

    def own_light(self, codes: NDArray[Any], dtype: type[np.floating[Any]] | None = None) -> NDArray[Any]:
        """The light of codes, whose channels are the last axis, before the matrix."""
        as_type = dtype or np.float64
        if self.white_code is None:
            alone = [curve(codes[..., channel].astype(as_type)) for channel, curve in enumerate(self.curves)]
            return np.stack(alone, axis=-1)
        tables = [self.table(channel).astype(as_type) for channel in range(len(self.curves))]
        if len(set(self.curves)) == 1:
            return tables[0].take(codes)
        return np.stack([table[codes[..., channel]] for channel, table in enumerate(tables)], axis=-1)

    def in_linear_srgb(self, light: Floats) -> Floats:
        """Light of the picture's own channels, which are the last axis, as linear sRGB, or grey as it was. Colours that
        sRGB does not have come out below 0, so that they still add up."""
        return light if self.to_linear_srgb is None else light @ self.to_linear_srgb.T

    def luminance(self, codes: NDArray[Any]) -> Floats:
        """The luminance of codes, whose channels are the last axis."""
        return luminance_of(self.in_linear_srgb(self.own_light(codes)))

    def step_of_light(self, level: float) -> float:
        """How much light half a step of code is, at a level between 0 and 1; 0 where the codes have no steps."""
        if self.white_code is None:
            return 0.0
        table = np.maximum.accumulate(self.table(len(self.curves) // 2))
        codes = np.arange(len(table))
        code = float(np.interp(level, table, codes))
        return float(np.interp(code + 0.5, codes, table)) - float(np.interp(code, codes, table))


def luminance_of(linear_srgb: Floats) -> Floats:
    """The luminance of linear sRGB, whose channels are the last axis; a grey is its own."""
    if linear_srgb.shape[-1] == 1:
        return linear_srgb[..., 0]
    weighed: Floats = linear_srgb @ np.array(LUMINANCE_WEIGHTS)
    return weighed


@lru_cache(maxsize=8)
def _table(curve: Curve, white_code: int) -> Floats:
    return curve(np.arange(white_code + 1) / white_code)


def plain_colours(channels: int, white_code: int | None) -> Colours:
    """What codes mean without a profile: sRGB, and light itself where they are floating-point numbers."""
    return Colours((_is_light if white_code is None else light_from_srgb,) * channels, white_code)


def profiled_colours(
    content: bytes, channels: int, white_code: int | None
) -> tuple[Colours | None, tuple[Fact, ...]]:
    """What codes mean by a profile, and what has to be said of it. None where the profile has tables, which the colour
    library has to look up."""
    broken = plain_colours(channels, white_code), (fact(Reason.PROFILE_BROKEN),)
    try:
        profile = opened_profile(content)
        by_matrix = matrix_profile_of(profile, content)
        name = " ".join((profile.profile.profile_description or "").split())[:80]
    # Broken profiles come out of the colour library as its own error, OSError, TypeError or ValueError.
    except Exception:
        return broken
    said = fact(Reason.ADOBE_RGB_BY_EXIF) if content == adobe_rgb() else fact(Reason.PROFILE_CONVERTED, profile=name)
    if by_matrix is None:
        return None, (said,)
    curves, to_linear_srgb = by_matrix.curves, by_matrix.to_linear_srgb
    if channels == 1:
        # A grey picture by the profile of a colour one: red, green and blue alike.
        curves, to_linear_srgb = (curves[len(curves) // 2],), None
    elif len(curves) == 1:
        return broken
    found = Colours(curves, white_code, to_linear_srgb)
    if _is_srgb(found):
        return Colours((light_from_srgb,) * channels, white_code), ()
    return found, (said,)


def _is_srgb(colours: Colours) -> bool:
    """Whether greys and three colours are within two codes of what they are in sRGB."""
    codes = np.arange(256)[:, np.newaxis].repeat(len(colours.curves), axis=1) / 255
    if len(colours.curves) == 3:
        codes[:3] = np.array([(160, 96, 96), (96, 160, 96), (96, 96, 160)]) / 255
    own = np.stack([curve(codes[:, channel]) for channel, curve in enumerate(colours.curves)], axis=1)
    apart = np.abs(colours.in_linear_srgb(own) - light_from_srgb(codes))
    return bool((apart <= light_from_srgb(codes + _SAME_WITHIN) - light_from_srgb(codes)).all())


def clipped_codes(white_code: int | None) -> tuple[float, float]:
    """From which code on one counts as blown, and up to which as black."""
    if white_code is None:
        return 1.0, 0.0
    return CLIPPED_HIGH * white_code, CLIPPED_LOW * white_code
